// DER, read strictly: ITU-T X.690, clauses 8, 10 and 11.

const badForm = (detail) => refuse("SIGNATURE_FORM", detail);

// One element of DER, with those inside it. Every length has its shortest form.
function element(bytes, start = 0, end = bytes.length, depth = 0) {
  if (depth > 30 || end - start < 2) badForm("DER");
  const tag = bytes[start];
  let at = start + 1;
  let length = bytes[at++];
  if ((tag & 0x1f) === 0x1f || length === 0x80) badForm("DER");
  if (length > 0x80) {
    const count = length & 0x7f;
    if (count > 4 || at + count > end) badForm("DER");
    length = 0;
    for (let i = 0; i < count; i++) length = length * 256 + bytes[at++];
    if (length < 0x80 || (count > 1 && length < 256 ** (count - 1))) badForm("DER");
  }
  if (at + length > end) badForm("DER");
  const node = {
    tag,
    end: at + length,
    all: bytes.subarray(start, at + length),
    body: bytes.subarray(at, at + length),
    kids: [],
  };
  if (tag & 0x20) {
    for (let place = at; place < node.end;) {
      const kid = element(bytes, place, node.end, depth + 1);
      node.kids.push(kid);
      place = kid.end;
    }
  }
  return node;
}

function onlyElement(bytes) {
  const node = element(bytes);
  return node.end === bytes.length ? node : badForm("DER");
}

const [BOOLEAN, INTEGER, BITS, OCTETS, OBJECT, ENUMERATED, SEQUENCE, SET] = [1, 2, 3, 4, 6, 0x0a, 0x30, 0x31];
const want = (node, tag) => (node?.tag === tag ? node : badForm("ASN.1"));
const sequence = (node) => want(node, SEQUENCE).kids;

const LONGEST_ID = 63; // bytes: readers that keep them in a fixed place read no more

function objectId(node) {
  const numbers = [];
  let number = 0;
  const { body } = want(node, OBJECT);
  if (!body.length || body.length > LONGEST_ID || body.at(-1) & 0x80) badForm("ASN.1");
  for (const byte of body) {
    if (number === 0 && byte === 0x80) badForm("ASN.1");
    number = number * 128 + (byte & 0x7f);
    if (number > 2 ** 46) badForm("ASN.1");
    if (!(byte & 0x80)) {
      numbers.push(number);
      number = 0;
    }
  }
  const first = Math.min(Math.floor(numbers[0] / 40), 2);
  return [first, numbers[0] - 40 * first, ...numbers.slice(1)].join(".");
}

function smallNumber(node) {
  const { body } = want(node, INTEGER);
  if (!isShortest(body) || body.length > 4 || body[0] & 0x80) badForm("ASN.1");
  return body.reduce((number, byte) => number * 256 + byte, 0);
}

const bitString = (node) => (want(node, BITS).body[0] === 0 ? node.body.subarray(1) : badForm("ASN.1"));
const wholeNumber = (node) => (isShortest(want(node, INTEGER).body) ? node.body : badForm("ASN.1"));

// Whether a number has no idle byte: X.690, 8.3.2.
function isShortest([first, second]) {
  return first !== undefined && (second === undefined || !(second & 0x80 ? first === 0xff : first === 0));
}

// Bits that need not fill their last byte: what is left over there is zero.
function bitsOf(node) {
  const [unused, ...bytes] = want(node, BITS).body;
  if (!(unused < 8) || (unused && !(bytes.length && bytes.at(-1) % (1 << unused) === 0))) badForm("ASN.1");
  return bytes;
}

// Bits that each have a meaning, the first of them at place 0: one of them at least is set, none beyond `most`, and
// none is written after the last that is set (X.690, 11.2.2).
function namedBits(node, most) {
  const bytes = bitsOf(node);
  const [unused] = node.body;
  const lowest = bytes.at(-1) & -bytes.at(-1);
  if (!bytes.length || lowest !== 1 << unused || 8 * bytes.length - 1 - unused > most) badForm("ASN.1");
  return bytes;
}

const isTrue = (node) => (want(node, BOOLEAN).body.length === 1 && node.body[0] === 0xff ? true : badForm("ASN.1"));
const same = (one, other) => one.length === other.length && one.every((byte, i) => byte === other[i]);
const hex = (bytes) => Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
const digest = async (name, bytes) => new Uint8Array(await crypto.subtle.digest(name, bytes));

// A moment without parts of a second: RFC 5280, 4.1.2.5, and RFC 5652, 11.3.
const moment = ({ tag, body }) => momentOf(tag, latin(body));

function momentOf(tag, text) {
  const long = tag === 0x18;
  const form = long ? /^(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z$/ : /^(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z$/;
  const parts = [0x17, 0x18].includes(tag) ? form.exec(text)?.slice(1).map(Number) : undefined;
  if (!parts) badForm("time");
  if (!long) parts[0] += parts[0] < 50 ? 2000 : 1900;
  return dateOf(parts) ?? badForm("time");
}

// A moment of UTC from year, month, day, hour, minute, second; undefined for a day that does not exist.
function dateOf([year, month, day, hour, minute, second]) {
  const date = new Date(Date.UTC(year, month - 1, day, hour, minute, second)); // which takes the year 0 for 1900
  const kept = date.getUTCFullYear() === year && date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
  return kept && hour < 24 && minute < 60 && second < 60 ? date : undefined;
}
