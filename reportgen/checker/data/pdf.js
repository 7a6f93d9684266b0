// A strict reader of PDF for exactly the files that reportgen writes.
//
// It reads from the first byte to the last. Nothing is searched for, nothing is repaired, no byte is passed over: what
// it does not know, it refuses, and so it does what is spelled otherwise than the libraries of reportgen spell it. So
// there is no place in which another reader could see something else.
// Structure of files: ISO 32000-1, clause 7.

class Refused extends Error {
  constructor(code, detail) {
    super(code);
    this.code = code;
    this.detail = detail ?? "";
  }
}

function refuse(code, detail) {
  throw new Refused(code, detail);
}

const MOST_REVISIONS = 50;
const MOST_OBJECTS = 200_000;
const DEEPEST = 40;
const MOST_VALUES = 3_000_000; // in a file: reading them takes seconds
const LARGEST = 64 << 20; // bytes of a file, and of all that is unpacked from it
const LONGEST_TEXT = 1 << 20;
const LONGEST_NAME = 127; // ISO 32000-1, annex C
const LONGEST_BLANK = 62; // the ranges of a signature are filled up with blanks

const WHITE = new Set([10, 32]); // no other stands in a report
const DELIMITERS = new Set([..."()<>[]{}/%"].map((one) => one.charCodeAt(0)));
const isDigit = (byte) => byte >= 48 && byte <= 57;

// One character for each byte.
function latin(bytes) {
  let text = "";
  for (let at = 0; at < bytes.length; at += 8192) text += String.fromCharCode(...bytes.subarray(at, at + 8192));
  return text;
}

class Name {
  constructor(text) {
    this.text = text;
  }
}

class Text {
  constructor(bytes, start, end, hexadecimal) {
    Object.assign(this, { bytes, start, end, hexadecimal });
  }
}

class Ref {
  constructor(number) {
    this.number = number;
  }
}

class Num {
  constructor(text) {
    this.text = text;
    this.value = Number(text);
  }
}

const LONGEST_NUMBER = 20;
const NUMBER = /^-?(?:(?:0|[1-9]\d{0,9})(?:\.\d{1,6})?|\.\d{1,6})$/;
const isWhole = (text) => /^(?:0|[1-9]\d{0,9})$/.test(text);
const isName = (value, text) => value instanceof Name && value.text === text;

const ESCAPES = { n: 10, r: 13, t: 9, b: 8, f: 12, "(": 40, ")": 41, "\\": 92 };

class Reader {
  constructor(bytes) {
    this.bytes = bytes;
    this.at = 0;
    this.values = 0;
  }

  white() {
    const start = this.at;
    while (WHITE.has(this.bytes[this.at])) this.at++;
    if (this.at - start > LONGEST_BLANK) refuse("STRUCTURE", `byte ${start}: white space`);
  }

  // Where a word ends: nothing that a reader might take for part of it may follow.
  ends(at) {
    const byte = this.bytes[at];
    return byte === undefined || WHITE.has(byte) || DELIMITERS.has(byte);
  }

  // Take these bytes and no others.
  exactly(word) {
    if (!this.sees(word)) refuse("STRUCTURE", `byte ${this.at}: ${word.trim()}`);
    this.at += word.length;
  }

  sees(word) {
    for (let i = 0; i < word.length; i++) if (this.bytes[this.at + i] !== word.charCodeAt(i)) return false;
    return true;
  }

  // Take a word that ends where it ends, after white space.
  takes(word) {
    this.white();
    if (!this.sees(word) || !this.ends(this.at + word.length)) return false;
    this.at += word.length;
    return true;
  }

  expect(word) {
    if (!this.takes(word)) refuse("STRUCTURE", `byte ${this.at}: ${word}`);
  }

  // A whole number of at most ten digits, the first of them no zero.
  whole() {
    const start = this.at;
    while (isDigit(this.bytes[this.at])) this.at++;
    const digits = this.at - start;
    if (!digits || digits > 10 || !this.ends(this.at) || (digits > 1 && this.bytes[start] === 48))
      refuse("STRUCTURE", `byte ${start}: number`);
    return Number(latin(this.bytes.subarray(start, this.at)));
  }

  value(depth = 0) {
    if (depth > DEEPEST || ++this.values > MOST_VALUES) refuse("LIMIT", `byte ${this.at}`);
    this.white();
    switch (this.bytes[this.at]) {
      case 0x2f:
        return this.name();
      case 0x28:
        return this.literal();
      case 0x5b:
        return this.array(depth);
      case 0x3c:
        return this.bytes[this.at + 1] === 0x3c ? this.dictionary(depth) : this.hexadecimal();
    }
    if (this.takes("true")) return true;
    if (this.takes("false")) return false;
    return this.number(); // there is no `null` in a report
  }

  array(depth) {
    const items = [];
    this.at++;
    for (this.white(); this.bytes[this.at] !== 0x5d; this.white()) {
      if (this.at >= this.bytes.length) refuse("STRUCTURE", "[");
      items.push(this.value(depth + 1));
    }
    this.at++;
    return items;
  }

  dictionary(depth) {
    const map = new Map();
    this.at += 2;
    for (this.white(); !this.sees(">>"); this.white()) {
      if (this.bytes[this.at] !== 0x2f) refuse("STRUCTURE", `byte ${this.at}: key`);
      const key = this.name().text;
      if (map.has(key)) refuse("STRUCTURE", `/${key} twice`);
      map.set(key, this.value(depth + 1));
    }
    this.at += 2;
    return map;
  }

  // A number, or the reference that two numbers and an R make. A number is read whole or not at all.
  number() {
    const start = this.at;
    while (!this.ends(this.at) && this.at - start <= LONGEST_NUMBER) this.at++;
    const text = latin(this.bytes.subarray(start, this.at));
    if (!NUMBER.test(text) || Object.is(Number(text), -0)) refuse("STRUCTURE", `byte ${start}: number`);
    if (!isWhole(text) || !this.sees(" 0 R") || !this.ends(this.at + 4)) return new Num(text);
    this.at += 4;
    return new Ref(Number(text));
  }

  // The letters that may stand in a name as they are must; of the others none but delimiters is in a name of a report.
  name() {
    const start = this.at++;
    let text = "";
    for (; !this.ends(this.at); this.at++) {
      const byte = this.bytes[this.at];
      if (byte < 0x21 || byte > 0x7e || text.length === LONGEST_NAME) refuse("STRUCTURE", `byte ${start}: name`);
      if (byte !== 0x23) {
        text += String.fromCharCode(byte);
        continue;
      }
      const pair = latin(this.bytes.subarray(this.at + 1, this.at + 3));
      const code = /^[0-9A-F]{2}$/.test(pair) ? parseInt(pair, 16) : 0;
      if (!DELIMITERS.has(code) && code !== 0x23) refuse("STRUCTURE", `byte ${start}: name`);
      text += String.fromCharCode(code);
      this.at += 2;
    }
    return new Name(text);
  }

  literal() {
    const start = this.at++;
    const out = [];
    for (let open = 1; ;) {
      const byte = this.bytes[this.at++];
      // the end of a line would be read as another by some
      if (byte === undefined || byte === 13) refuse("STRUCTURE", `byte ${start}: (`);
      if (out.length > LONGEST_TEXT) refuse("LIMIT", `byte ${start}`);
      if (byte === 0x5c) {
        this.escape(out);
        continue;
      }
      if (byte === 0x28) open++;
      if (byte === 0x29 && --open === 0) break;
      out.push(byte);
    }
    return new Text(Uint8Array.from(out), start, this.at, false);
  }

  escape(out) {
    const next = String.fromCharCode(this.bytes[this.at++]);
    if (next in ESCAPES) {
      out.push(ESCAPES[next]);
    } else if (/[0-7]/.test(next)) {
      let digits = next;
      while (digits.length < 3 && this.bytes[this.at] >= 48 && this.bytes[this.at] <= 55) {
        digits += String.fromCharCode(this.bytes[this.at++]);
      }
      const code = parseInt(digits, 8);
      if (code > 255) refuse("STRUCTURE", `byte ${this.at}: \\`);
      out.push(code);
    } else {
      refuse("STRUCTURE", `byte ${this.at}: \\`);
    }
  }

  hexadecimal() {
    const start = this.at++;
    const end = this.bytes.indexOf(0x3e, this.at);
    if (end < 0) refuse("STRUCTURE", `byte ${start}: <`);
    if (end - start > LONGEST_TEXT) refuse("LIMIT", `byte ${start}`);
    const digits = latin(this.bytes.subarray(this.at, end));
    this.at = end + 1;
    if (!/^([0-9A-Fa-f]{2})*$/.test(digits)) refuse("STRUCTURE", `byte ${start}: <`);
    const out = Uint8Array.from({ length: digits.length / 2 }, (_, i) => parseInt(digits.substr(2 * i, 2), 16));
    return new Text(out, start, this.at, true);
  }

  object() {
    const start = this.at;
    const number = this.whole();
    this.exactly(" 0 obj");
    if (!this.ends(this.at) || number === 0) refuse("STRUCTURE", `object ${number}`);
    const object = { number, start, value: this.value() };
    // a name, a number or a text stands where it is used: behind a reference, a rule that asks for it would not see it
    if (!(object.value instanceof Map || Array.isArray(object.value))) refuse("STRUCTURE", `object ${number}`);
    if (this.sees("\nstream\n")) object.stream = this.stream(object);
    this.expect("endobj");
    return object;
  }

  stream(object) {
    const length = object.value instanceof Map ? object.value.get("Length") : undefined;
    if (!(length instanceof Num && isWhole(length.text))) refuse("STRUCTURE", `object ${object.number}: /Length`);
    this.exactly("\nstream\n");
    const content = this.bytes.subarray(this.at, this.at + length.value);
    if (content.length !== length.value) refuse("STRUCTURE", `object ${object.number}: /Length`);
    this.at += length.value;
    this.exactly("\nendstream\n");
    return content;
  }

  // The table of objects, the trailer and the mark of the end, of one revision.
  table() {
    const place = this.at;
    const offsets = new Map();
    this.exactly("xref\n");
    let next = 0;
    while (isDigit(this.bytes[this.at])) {
      const first = this.whole();
      this.exactly(" ");
      const count = this.whole();
      this.exactly("\n");
      if (count > MOST_OBJECTS || offsets.size > MOST_OBJECTS) refuse("LIMIT");
      if (count === 0 || (next === 0 ? first !== 0 : first < next)) refuse("STRUCTURE", "xref");
      next = first + count;
      for (let number = first; number < next; number++) this.row(number, offsets);
    }
    if (next === 0) refuse("STRUCTURE", "xref");
    this.expect("trailer");
    const trailer = this.value();
    if (!(trailer instanceof Map)) refuse("STRUCTURE", "trailer");
    this.exactly("\nstartxref\n");
    if (this.whole() !== place) refuse("STRUCTURE", "startxref");
    this.exactly("\n%%EOF\n");
    return { place, offsets, trailer };
  }

  // One row of 20 bytes. Number 0 heads the list of what was deleted, and nothing ever was.
  row(number, offsets) {
    const row = latin(this.bytes.subarray(this.at, this.at + 20));
    this.at += 20;
    const stated = number === 0 ? row === "0000000000 65535 f \n" : /^\d{10} 00000 n \n$/.test(row);
    if (!stated) refuse("STRUCTURE", `object ${number} in xref`);
    if (number > 0) offsets.set(number, Number(row.slice(0, 10)));
  }
}

// Return the revisions of a file: each with its objects by number, its trailer, where it starts and where it ends.
function readPdf(bytes) {
  const reader = new Reader(bytes);
  // its version, and the comment of high bytes that marks it as binary
  const head = /^%PDF-1\.([3-7])\n%[\x80-\xff]{4}\n/.exec(latin(bytes.subarray(0, 15)));
  if (!head) refuse(latin(bytes.subarray(0, 5)) === "%PDF-" ? "STRUCTURE" : "NOT_PDF", "byte 0");
  reader.at = head[0].length;
  const revisions = [];
  while (reader.at < bytes.length) {
    if (revisions.length === MOST_REVISIONS) refuse("LIMIT");
    revisions.push(readRevision(reader, revisions.at(-1)));
  }
  if (!revisions.length) refuse("STRUCTURE");
  revisions.version = Number(head[1]);
  return revisions;
}

const IN_TRAILER = new Set(["Size", "Root", "Info", "ID", "Prev"]);

function readRevision(reader, before) {
  const { bytes } = reader;
  const start = reader.at;
  const objects = new Map();
  for (; isDigit(bytes[reader.at]); reader.white()) {
    if (objects.size > MOST_OBJECTS) refuse("LIMIT");
    const object = reader.object();
    if (objects.has(object.number)) refuse("STRUCTURE", `object ${object.number} twice`);
    objects.set(object.number, object);
  }
  if (!reader.sees("xref")) refuse(before && !objects.size ? "TRAILING" : "STRUCTURE", `byte ${reader.at}`);
  const { place, offsets, trailer } = reader.table();
  const previous = trailer.get("Prev");
  const size = trailer.get("Size");
  if (!(size instanceof Num && isWhole(size.text))) refuse("STRUCTURE", "/Size");
  if (trailer.has("Encrypt")) refuse("ENCRYPTED");
  for (const key of trailer.keys()) if (!IN_TRAILER.has(key)) refuse("STRUCTURE", `/${key}`);
  for (const key of ["Root", "Info"]) {
    if (trailer.has(key) && !(trailer.get(key) instanceof Ref)) refuse("STRUCTURE", `/${key}`);
  }
  const identifier = trailer.get("ID") ?? [new Text(), new Text()];
  if (!Array.isArray(identifier) || identifier.length !== 2 || !identifier.every((one) => one instanceof Text))
    refuse("STRUCTURE", "/ID");
  if (before ? !(previous instanceof Num && previous.value === before.place) : previous !== undefined) {
    refuse("STRUCTURE", "/Prev");
  }
  if (offsets.size !== objects.size) refuse("STRUCTURE", "xref");
  for (const [number, offset] of offsets) {
    // what lies beyond the stated size is no object to other readers
    if (objects.get(number)?.start !== offset || number >= size.value) refuse("STRUCTURE", `object ${number} in xref`);
  }
  // Others drop an object whose number is far beyond what is listed: numbers leave no gap. But the library of signing
  // passes one number over.
  for (let number = before ? before.size + 1 : 1; number < size.value; number++) {
    if (!offsets.has(number)) refuse("STRUCTURE", `object ${number} not in xref`);
  }
  if (before && size.value < before.size) refuse("STRUCTURE", "/Size");
  return { objects, trailer, place, size: size.value, start, end: reader.at };
}

// A file as it stands after its revision `last`: the newest copy of each object.
class View {
  constructor(revisions, last = revisions.length - 1) {
    this.revisions = revisions;
    this.last = last;
    this.trailer = revisions[last].trailer;
  }

  object(number) {
    for (let i = this.last; i >= 0; i--) {
      const found = this.revisions[i].objects.get(number);
      if (found) return found;
    }
    return undefined;
  }

  get(value) {
    if (!(value instanceof Ref)) return value;
    return (this.object(value.number) ?? refuse("STRUCTURE", `object ${value.number}`)).value;
  }

  entry(map, key) {
    return map instanceof Map ? this.get(map.get(key)) : undefined;
  }

  stream(value) {
    const found = value instanceof Ref ? this.object(value.number) : undefined;
    return found?.stream ? found : undefined;
  }

  get catalog() {
    const found = this.entry(this.trailer, "Root");
    return found instanceof Map ? found : refuse("STRUCTURE", "/Root");
  }
}

// Each dictionary in a value, itself first.
function* dictionaries(value) {
  if (value instanceof Map) {
    yield value;
    for (const item of value.values()) yield* dictionaries(item);
  } else if (Array.isArray(value)) {
    for (const item of value) yield* dictionaries(item);
  }
}

// Letters of PDFDocEncoding that are not those of Latin-1: ISO 32000-1, annex D.3.
const DOC_LETTERS = new Map();
[
  [0x18, "˘ˇˆ˙˝˛˚˜"],
  [0x80, "•†‡…—–ƒ⁄‹›−‰„“”‘’‚™ﬁﬂŁŒŠŸŽıłœšž"],
  [0xa0, "€"],
].forEach(([from, letters]) => [...letters].forEach((letter, i) => DOC_LETTERS.set(from + i, letter)));
const DOC_CODES = new Map([...DOC_LETTERS].map(([code, letter]) => [letter, code]));
const undefinedInDoc = (byte) => byte < 0x18 || byte === 0x7f || byte === 0x9f || byte === 0xad;

// The text of a string, or undefined for bytes that are no text.
function decoded(bytes) {
  const mark = latin(bytes.subarray(0, 3));
  try {
    if (mark.startsWith("\xfe\xff"))
      return new TextDecoder("utf-16be", { fatal: true, ignoreBOM: true }).decode(bytes.subarray(2));
    if (mark === "\xef\xbb\xbf")
      return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes.subarray(3));
  } catch {
    return undefined;
  }
  if (mark.startsWith("\xff\xfe") || bytes.some(undefinedInDoc)) return undefined;
  return [...bytes].map((byte) => DOC_LETTERS.get(byte) ?? String.fromCharCode(byte)).join("");
}

function textOf(value) {
  if (!(value instanceof Text)) return undefined;
  return decoded(value.bytes) ?? refuse("STRUCTURE", `byte ${value.start}`);
}

// The content of a stream that is stored as it is or packed with Flate alone, at most `most` bytes of it.
async function unpacked(object, most) {
  const stated = object.value.get("Filter");
  const filter = Array.isArray(stated) && stated.length === 1 ? stated[0] : stated;
  if (object.value.has("DecodeParms") || object.value.has("F")) refuse("EMBEDDED", `object ${object.number}`);
  if (filter === undefined) return object.stream.length > most ? refuse("LIMIT") : object.stream;
  if (!isName(filter, "FlateDecode")) refuse("EMBEDDED", `object ${object.number}: /Filter`);
  const parts = [];
  await inflated(object, most, "EMBEDDED", (part) => parts.push(part));
  return joined(parts);
}

// Unpack a stream and give each part to `take`; returns how many bytes there are, at most `most`.
async function inflated({ stream, number }, most, code, take) {
  const reader = new Blob([stream]).stream().pipeThrough(new DecompressionStream("deflate")).getReader();
  let size = 0;
  for (;;) {
    let step;
    try {
      step = await reader.read();
    } catch {
      refuse(code, `object ${number}`);
    }
    if (step.done) return size;
    size += step.value.length;
    take(step.value);
    if (size > most) {
      reader.cancel().catch(() => {});
      refuse("LIMIT", `object ${number}`);
    }
  }
}

function joined(parts) {
  const whole = new Uint8Array(parts.reduce((size, part) => size + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}
