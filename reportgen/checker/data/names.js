// What a certificate says in words, and the form of its extensions: RFC 5280, 4.1.2.4, 4.2, 7.1 and appendix A.
// Names: X.501, 9.3. Letters: X.680, 41; RFC 4518 with the tables of RFC 3454.

const NAME_PARTS = { "2.5.4.3": "CN", "2.5.4.10": "O" };
const LETTERS = { 0x0c: "utf-8", 0x1e: "utf-16be", 0x13: "ascii", 0x14: "ascii", 0x16: "ascii" };
const [PRINTABLE, PLAIN, UTF8] = [0x13, 0x16, 0x0c];
// Parts of a name with letters of one kind alone; of a number that says who is meant none is known here.
const [MAIL, DOMAIN, UNIQUE] = ["1.2.840.113549.1.9.1", "0.9.2342.19200300.100.1.25", "2.5.4.45"];
const KIND_OF = { [MAIL]: PLAIN, [DOMAIN]: PLAIN, "2.5.4.20": PRINTABLE, [UNIQUE]: BITS };
const OF_MACHINES = /^2\.23\.133\.(2|5\.1)\.\d+$/; // UTF-8 alone: TCG, from memory

// Common names and organisations of a distinguished name, in its order; no part of it but is a text. One of no parts is
// nobody's: it cannot be compared.
function nameParts(node) {
  const all = sequence(node).flatMap(partsOfSet);
  if (!all.length) badForm("name");
  return all.filter(([id]) => NAME_PARTS[id]).map(([id, text]) => [NAME_PARTS[id], text]);
}

// The parts of a name that stand in one set, each of another kind: what kind, and its text.
function partsOfSet(set) {
  requireOrder(set);
  const found = new Map();
  for (const pair of set.kids) {
    const [kind, value, ...more] = sequence(pair);
    const id = objectId(kind);
    if (more.length || found.has(id)) badForm("name");
    found.set(id, partOf(id, value));
  }
  return [...found];
}

// Whether two distinguished names have the same texts in the same places, whatever kind of letters each is written in:
// RFC 5280, 7.1, but for capitals and blanks, which count here.
function sameName(one, other) {
  return same(one, other) || speltName(one) === speltName(other);
}

function speltName(bytes, letters = (text) => text) {
  const parts = (set) => partsOfSet(set).map(([id, text]) => [id, letters(text)]);
  return JSON.stringify(sequence(onlyElement(bytes)).map((set) => parts(set).sort()));
}

// Whether two names may be one, by the rules that count neither capitals nor how many blanks there are (RFC 5280, 7.1):
// which of them is meant is not said here.
function alikeName(one, other) {
  const plain = (text) => text.normalize("NFKC").toUpperCase().toLowerCase().split(/\s+/u).filter(Boolean).join(" ");
  return speltName(one, plain) === speltName(other, plain);
}

// A set in the order of its bytes: X.690, 11.6.
function requireOrder(set) {
  const written = want(set, SET).kids.map((one) => hex(one.all));
  if (!written.length || written.some((one, i) => i && one <= written[i - 1])) badForm("name");
}

function partOf(id, value) {
  const kind = OF_MACHINES.test(id) ? UTF8 : KIND_OF[id];
  const text = lettersOf(kind === undefined ? value : want(value, kind));
  if (id === MAIL) hostIn(text.slice(text.lastIndexOf("@") + 1));
  return id === DOMAIN ? hostIn(text) : text;
}

// The name of a machine as it is; one that stands for another is not translated here: RFC 3490.
function hostIn(text) {
  return text.split(".").some((one) => /^xn--/i.test(one) || one.length > 63) ? badForm("name") : text;
}

function lettersOf(value) {
  const text = writtenIn(value);
  return isPrepared(text) ? text : badForm("name");
}

// A text in the letters of its kind. For browsers "ascii" is another set of letters, with 256 of them.
function writtenIn(value) {
  const letters = LETTERS[value?.tag] ?? badForm("name");
  if (!value.body.length || (letters === "ascii" && value.body.some((byte) => byte > 127))) badForm("name");
  if (value.tag === PRINTABLE && !/^[A-Za-z0-9 '()+,\-./:=?]*$/.test(latin(value.body))) badForm("name");
  try {
    return new TextDecoder(letters, { fatal: true, ignoreBOM: true }).decode(value.body);
  } catch {
    return badForm("name");
  }
}

// How many letters there are in Unicode 3.2, how many follow that are not, or are nobody's, and so on by turns, in
// base 36: RFC 3454, tables A.1, C.3 to C.5, and what these become when they are compared.
const KNOWN_LETTERS = `
  f5 1 i s 2m 2 1r h 28 g g 4 2 4 1 3 1 5 7 1 1 1 k 1 18 1 13 9 3r 1 1k 1 e 1 12 2 2 6 g x 12 2 7 1 13 1 2 6 h 1 n 1 a
  b r 5 5 n 1 e 1 3 1 1 q 5 m a 3y 2 f 1 e 1 u 3 r 1h 1e 9b 3 1 1h 2 i 2 5 3 p g 3 1 8 2 2 2 m 1 7 1 1 3 4 2 1 1 7 2 2
  2 3 9 1 4 2 1 5 2 l 7 1 2 6 4 2 2 m 1 7 1 2 1 2 1 2 2 1 1 5 4 2 2 3 b 4 1 1 7 f c 3 1 7 1 1 1 3 1 m 1 7 1 2 1 5 2 a
  1 3 1 3 2 1 f 1 5 a h 3 1 8 2 2 2 m 1 7 1 2 2 4 2 8 3 2 2 3 8 2 4 2 1 3 4 b h 2 1 6 3 3 1 4 3 2 1 1 1 2 3 2 3 3 3 8
  1 3 4 5 3 3 1 4 9 1 f c e 3 1 8 1 3 1 n 1 a 1 5 4 7 1 3 1 4 7 2 9 2 4 a i 2 1 8 1 3 1 n 1 a 1 5 4 7 1 3 1 4 7 2 7 1
  1 2 4 a i 2 1 8 1 3 1 n 1 g 4 6 2 3 1 4 9 1 8 2 4 a i 2 1 i 3 o 1 9 1 1 2 7 3 1 4 6 1 1 1 8 i 3 c 1m 4 t 11 2 1 1 2
  2 1 1 2 1 6 4 1 7 1 3 1 1 1 1 2 2 1 d 1 3 2 5 1 1 1 6 2 a 2 2 y 20 1 y 6 r 4 8 1 10 1 f 2 1 1c y 1 5 1 2 1 7 3 4 6 q
  3a 15 2 1 4 2i 5 1w 5 2a 6 7 1 1r 1 1 1 4 2 7 1 1 1 4 2 13 1 1 1 4 2 v 1 1 1 4 2 7 1 1 1 4 2 7 1 7 1 n 1 v 1 1 1 4 2
  7 1 13 1 j 6 s 3o hi 9 t 3 29 f d 1 7 b n 9 k c d 1 3 1 2 c 2l 3 a m f 1 a 6 2g 8 16 11y 4c 4 2i 6 m 2 6 2 12 2 6 2
  8 1 1 1 1 1 1 1 v 2 1h 1 f 1 e 2 6 1 j 2 3 1 9 1 2b 4 1 7 5 6 8 2 r h i u r l 1e 1 8 2 f 7 1c d fz 1d 13 p b l 4f 1
  7o 2 2 1 2t 2 a 3b 4 1 4 2 s 1 z 1 1 1 4 3 1 1 7 2 1g 3 o 1 e h s 4 ls ow q 1 2h c 5y q c 4 1s 1 2e 2 2v 5 14 4 2m 1
  14 1k 19 3 10 d 17 3 25 4 1b 1 3b 4 2r 2 v 1 52u 22 g4m 2i wd 3 1j 1fd 8mc 6l8 8e 2 1n 45 7 c 5 5 q 1 5 1 1 1 2 1 2
  1 30 x a5 g 1s 2 1i 14 d 3 g g 4 c n 2 a 1 j 1 4 4 5 1 3r 2 1 1 5a 3 6 2 6 2 6 2 3 3 7 1 7 a 4 lf v 1 4 c r 51 12 2
  12 148i 6u a 13 3 50 f6 2d 1 1z 1 2 2 1 2 2 2 4 1 c 1 1 1 4 1 2 1 1t 1 4 2 8 1 7 1 s 1 4 1 5 1 1 3 7 1 9e 4 82 4 1e
  7wg wyf g15 f2 fher 1 u 2o 47ls
`
  .trim()
  .split(/\s+/)
  .map((one) => parseInt(one, 36));
const LEFTWARD = /[\u0590-\u08ff\u200f\ufb1d-\ufdff\ufe70-\ufefc]/u;
const FROM_RIGHT =
  "[\\u05d0-\\u05ea\\u0621-\\u063a\\u0640-\\u064a\\u0671-\\u06d3\\u0710\\u0712-\\u072c\\u0780-\\u07a5]";
const ALL_FROM_RIGHT = new RegExp(`^${FROM_RIGHT}(?:(?:[ -@[-\`{-~]|${FROM_RIGHT})*${FROM_RIGHT})?$`, "u");

// Whether a text can be compared with another as names are: RFC 4518, 2. One that is written from the right has
// nothing else in it but signs between its letters.
function isPrepared(text) {
  const whole = text.normalize("NFKC");
  const known = (letter) => {
    let left = letter.codePointAt(0);
    const place = KNOWN_LETTERS.findIndex((count) => (left -= count) < 0);
    return place % 2 === 0;
  };
  if (![...text].every(known)) return false;
  return !LEFTWARD.test(text + whole) || ALL_FROM_RIGHT.test(whole);
}

// The form of an extension, by its kind: RFC 5280, 4.2.1, 4.2.2, 5.2 and 5.3; RFC 6960, 4.2.2.2.1 and 4.4; RFC 6962, 3.3.
// Of one that is not listed here nothing is known, nor to `verify`: it is mere bytes.
const FORMS = extensionForms();
const STRANGE = ["1.3.6.1.5.5.7.1.24", "1.2.840.113533.7.65.0", "1.3.36.8.3.3"]; // known to some readers, not here

// What an extension says, in its form; undefined where that is not known.
function valueOf(id, bytes, forms) {
  if (STRANGE.includes(id)) badForm("X.509");
  if (!forms[id]) return undefined;
  const value = onlyElement(bytes);
  return forms[id](value) ? value : badForm("X.509");
}

function extensionForms() {
  const some = (form) => (node) => sequence(node).length > 0 && node.kids.every(form);
  const of = (tag) => (node) => node.tag === tag;
  const id = (node) => objectId(node) !== "";
  const count = (node) => smallNumber({ ...node, tag: INTEGER }) >= 0;
  // for which reasons: RFC 5280, 4.2.1.13, where the first bit means nothing
  const reasons = (node) => !(namedBits({ ...node, tag: BITS }, 8)[0] & 0x80);
  const two = (form) => (node) => sequence(node).length === 2 && id(node.kids[0]) && form(node.kids[1]);
  const moment = ({ body }) => momentOf(0x18, latin(body)) !== undefined;
  // parts in their order, each there or not
  const parts = (...forms) => ({ kids }) => {
    const places = kids.map((kid) => forms.findIndex(([tag]) => tag === kid.tag));
    return places.every((place, i) => place > (i ? places[i - 1] : -1) && forms[place][1](kids[i]));
  };

  const text = (body) => lettersOf({ tag: PLAIN, body });
  const oneName = (node, sizes = [4, 16]) => {
    const { tag, body, kids } = node;
    if (tag === 0xa0) return kids.length === 2 && id(kids[0]) && kids[1].tag === 0xa0 && kids[1].kids.length === 1;
    if (tag === 0xa4) return kids.length === 1 && nameParts(kids[0]).length >= 0;
    if (tag === 0x87) return sizes.includes(body.length);
    if (tag === 0x88) return id({ tag: OBJECT, body });
    if (![0x81, 0x82, 0x86].includes(tag)) return false;
    return tag === 0x86 ? text(body) !== "" : hostIn(text(body).split("@").at(-1)) !== undefined;
  };
  const names = ({ kids }) => kids.length > 0 && kids.every((kid) => oneName(kid));
  // an address with its mask, which is all ones and then all zeros: RFC 4632, 5.1
  const mask = (body) => /^1*0*$/.test(Array.from(body, (byte) => byte.toString(2).padStart(8, "0")).join(""));
  const limit = (node) => {
    const [base, ...more] = sequence(node);
    if (!base || more.length || !oneName(base, [8, 32])) return false;
    return base.tag !== 0x87 || mask(base.body.subarray(base.body.length / 2));
  };
  const limits = ({ kids }) => kids.length > 0 && kids.every(limit);
  // in full, or by what follows the name of who issued the list
  const called = (node) => (node.tag === 0xa1 ? partsOfSet({ ...node, tag: SET }).length > 0 : names(node));
  const place = ({ kids }) => kids.length === 1 && [0xa0, 0xa1].includes(kids[0].tag) && called(kids[0]);
  const point = parts([0xa0, place], [0x81, reasons], [0xa2, names]);
  // reasons alone are no place: 4.2.1.13
  const points = some((node) => sequence(node).some(({ tag }) => tag !== 0x81) && point(node));
  const policies = some((node) => policyIn(sequence(node)));
  const distinct = (node) => new Set(node.kids.map((kid) => hex(kid.kids[0].all))).size === node.kids.length;
  const filled = ({ body }) => body.length > 0;
  const number = (node) => wholeNumber({ ...node, tag: INTEGER }).length > 0;
  // whoever issued the certificate above, and its number: both or neither (4.2.1.1)
  const issuers = (node) => names(node) && node.kids[0].tag === 0xa4; // `verify` looks for it by the first
  const keyAbove = parts([0x80, filled], [0xa1, issuers], [0x82, number]);
  const both = ({ kids }) => kids.filter(({ tag }) => tag !== 0x80).length !== 1;
  const listed = (form) => (node) => sequence(node).length > 0 && form(node);
  const nothing = (node) => hex(node.all) === "0500";
  // by which template it was made, and which version of that: MS-WCCE, 2.2.2.7.7.2, from memory
  const template = ([kind, ...versions]) =>
    id(kind) && versions.length < 3 && versions.every((one) => smallNumber(one) >= 0);
  const access = some(two((place) => oneName(place)));
  const lists = (node) => node.tag === OCTETS && areTimestamped(node.body);
  const values = (node) => node.tag === SET && node.kids.length > 0;

  const ofCertificates = {
    "2.5.29.19": (node) => sequence(node).length >= 0,
    "2.5.29.9": some(two(values)),
    "2.5.29.14": of(OCTETS),
    "2.5.29.15": isUsage,
    "2.5.29.16": listed(parts([0x80, moment], [0x81, moment])),
    "2.5.29.17": listed(names),
    "2.5.29.18": listed(names),
    "2.5.29.30": listed(parts([0xa0, limits], [0xa1, limits])),
    "2.5.29.31": points,
    "2.5.29.32": (node) => policies(node) && distinct(node),
    "2.5.29.33": some(two(id)),
    "2.5.29.35": (node) => listed(keyAbove)(node) && both(node),
    "2.5.29.36": listed(parts([0x80, count], [0x81, count])),
    "2.5.29.37": some(id),
    "2.5.29.46": points,
    "2.5.29.54": (node) => smallNumber(node) >= 0,
    "1.3.6.1.5.5.7.1.1": access,
    "1.3.6.1.5.5.7.1.11": access,
    "1.3.6.1.5.5.7.48.1.5": nothing,
    "1.3.6.1.4.1.11129.2.4.2": lists,
    "1.3.6.1.4.1.11129.2.4.3": nothing,
    "1.3.6.1.4.1.311.21.7": (node) => template(sequence(node)),
    "1.3.6.1.4.1.311.20.2": (node) => node.tag === 0x1e && lettersOf(node) !== "",
    "2.16.840.1.113730.1.1": (node) => bitsOf(node).length >= 0,
  };

  const never = () => false; // entries of certificates that others issued
  const natural = (node) => !(wholeNumber(node)[0] & 0x80);
  const reason = (node) => node.tag === ENUMERATED && isReason(node.body);
  const date = (node) => node.tag === 0x18 && moment(node);
  const set = ({ body }) => hex(body) === "ff";
  const address = (node) => node.tag === PLAIN && lettersOf(node) !== "";
  const source = parts([0xa0, place], [0x81, set], [0x82, set], [0x83, reasons], [0x84, never], [0x85, set]);
  const ofOneKind = ({ kids }) => kids.filter(({ tag }) => [0x81, 0x82, 0x85].includes(tag)).length < 2; // 5.2.5
  const one = (form) => ({ kids }) => kids.length === 1 && form(kids[0]);
  const ofEntries = { "2.5.29.21": reason, "2.5.29.23": id, "2.5.29.24": date, "2.5.29.29": never };
  return {
    ofCertificates,
    ofLists: {
      "2.5.29.18": ofCertificates["2.5.29.18"],
      "2.5.29.20": natural,
      "2.5.29.27": natural,
      "2.5.29.28": (node) => listed(source)(node) && ofOneKind(node),
      "2.5.29.35": ofCertificates["2.5.29.35"],
      "2.5.29.46": points,
      "1.3.6.1.5.5.7.1.1": access,
    },
    ofEntries,
    // the number of the request has no form here: RFC 8954, 2.1, wants an OCTET STRING; RFC 2560, 4.4.1, says nothing of
    // it, and it comes back as it was sent
    ofAnswers: { "1.3.6.1.5.5.7.48.1.9": nothing },
    ofWords: {
      ...ofEntries,
      "1.3.6.1.5.5.7.48.1.3": listed(parts([0xa0, one(address)], [0xa1, one(natural)], [0xa2, one(date)])),
      "1.3.6.1.5.5.7.48.1.6": date,
      "1.3.6.1.4.1.11129.2.4.5": lists,
    },
    ofStamps: { "1.3.6.1.5.5.7.1.3": (node) => hex(node.all) === "300b30090607040081975e0101" },
  };
}

// What a key may be used for: to encipher or to decipher alone is said of what agrees on keys (RFC 5280, 4.2.1.3).
function isUsage(node) {
  const [first, second = 0] = namedBits(node, 8);
  return !((first & 1 || second & 0x80) && !(first & 8));
}

const [ADDRESS_OF_RULES, NOTICE] = ["1.3.6.1.5.5.7.2.1", "1.3.6.1.5.5.7.2.2"];
const VISIBLE = 0x1a;

// A policy, with where its rules are and what to tell whoever relies on it: RFC 5280, 4.2.1.4. Of further kinds nothing
// is known.
function policyIn([kind, qualifiers, ...more]) {
  if (!objectId(kind) || more.length) return false;
  if (!qualifiers) return true;
  return sequence(qualifiers).length > 0 && qualifiers.kids.every((one) => isQualifier(sequence(one)));
}

function isQualifier([kind, value, ...more]) {
  const id = objectId(kind);
  if (more.length || !value) return false;
  return id === ADDRESS_OF_RULES ? writtenIn(want(value, PLAIN)) !== "" : id === NOTICE && isNotice(value);
}

function isNotice(node) {
  const parts = [...sequence(node)];
  if (parts[0]?.tag === SEQUENCE) {
    const [body, numbers, ...more] = parts.shift().kids;
    if (more.length || !isShown(body) || sequence(numbers).some((one) => wholeNumber(one)[0] & 0x80)) return false;
  }
  return parts.length < 2 && parts.every(isShown);
}

function isShown(node) {
  if (node?.tag === VISIBLE) return node.body.length > 0 && node.body.every((byte) => byte > 31 && byte < 127);
  return [PLAIN, UTF8, 0x1e].includes(node?.tag) && writtenIn(node) !== "";
}

// Whether bytes are a list of words by logs of certificates, each as the first version has it: RFC 6962, 3.2 and 3.3;
// lengths and algorithms: RFC 5246, 4.3 and 7.4.1.4.1.
function areTimestamped(bytes) {
  let at = 0;
  const take = (count) => (at + count <= bytes.length ? bytes.subarray(at, (at += count)) : badForm("RFC 6962"));
  const number = (count) => take(count).reduce((sum, byte) => sum * 256 + byte, 0);
  if (number(2) !== bytes.length - 2 || at === bytes.length) return false;
  while (at < bytes.length) {
    const end = number(2) + at;
    const version = number(1);
    take(32); // which log
    const late = number(8) > LATEST;
    take(number(2));
    const [hash, kind] = take(2);
    const signature = take(number(2));
    if (version || late || hash !== 4 || ![1, 3].includes(kind) || !signature.length || at !== end) return false;
  }
  return true;
}

const LATEST = Date.UTC(9999, 11, 31, 23, 59, 59);

// Why something was revoked: RFC 5280, 5.3.1, where 7 is nothing.
const isReason = ([number, ...more]) => !more.length && number <= 10 && number !== 7;
