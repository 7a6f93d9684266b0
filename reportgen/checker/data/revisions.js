// What signing writes, written again.
//
// Each revision after the first is written anew upon the bytes before it, from what signing is given: fields, words,
// stored certificates. All but the value of the signature must come out the same, byte for byte. So there is no list of
// what may follow a signature: whatever signing does not write was put there by somebody. What is taken from the
// revision itself is judged first: nothing is written again merely because it stands there.

const REASONS = {
  Inspector: "inspection report, issued by the inspector",
  Engineer: "submittal of inspection reports",
};
const name = (text) => new Name(text);
const number = (value) => new Num(String(value));
const entries = (pairs) => new Map(Object.entries(pairs));

// --- how values are spelled

const hexText = (bytes) => `<${hex(bytes)}>`;

function spelled(value) {
  if (value instanceof Map)
    return `<<\n${[...value].map(([key, item]) => `${spelledName(key)} ${spelled(item)}\n`).join("")}>>`;
  if (Array.isArray(value)) return `[${value.map((item) => ` ${spelled(item)}`).join("")} ]`;
  if (value instanceof Name) return spelledName(value.text);
  if (value instanceof Ref) return `${value.number} 0 R`;
  if (value instanceof Num) return spelledNumber(value.text);
  if (value instanceof Text) return spelledText(value.bytes);
  return String(value); // true, false, and what is spelled already
}

function spelledName(text) {
  const isPlain = (one) => /[!-~]/.test(one) && !/[()<>[\]{}/%#]/.test(one);
  const code = (one) => `#${one.charCodeAt(0).toString(16).toUpperCase()}`;
  return `/${[...text].map((one) => (isPlain(one) ? one : code(one))).join("")}`;
}

function spelledNumber(text) {
  const [, sign, whole, fraction] = /^([+-]?)(\d*)(?:\.(\d*))?$/.exec(text);
  const digits = whole.replace(/^0+(?=\d)/, "") || "0";
  const minus = sign === "-" && /[1-9]/.test(text) ? "-" : "";
  return fraction && /[1-9]/.test(fraction) ? `${minus}${digits}.${fraction}` : minus + digits;
}

// A text is written in PDFDocEncoding where that has its letters, else in UTF-16; bytes that are no text as such.
function spelledText(bytes) {
  const text = decoded(bytes);
  if (text === undefined) return hexText(bytes);
  const octal = (one) => `\\${one.charCodeAt(0).toString(8).padStart(3, "0")}`;
  return `(${latin(encoded(text)).replace(/[^A-Za-z0-9 ]/g, octal)})`;
}

// A text that would begin like the mark of an encoding goes in UTF-16, too.
const LIKE_A_MARK = /^(\u00fe\u00ff|\u00ff\u00fe|\u00ef\u00bb\u00bf)/;

function encoded(text) {
  if (text.includes("\0")) refuse("REVISIONS", "U+0000");
  const own = (code) => (DOC_LETTERS.has(code) || code > 255 || undefinedInDoc(code) ? undefined : code);
  const codes = [...text].map((letter) => DOC_CODES.get(letter) ?? own(letter.codePointAt(0)));
  if (!codes.includes(undefined) && !LIKE_A_MARK.test(text)) return Uint8Array.from(codes);
  const units = Array.from({ length: text.length }, (_, i) => text.charCodeAt(i));
  return Uint8Array.from([0xfe, 0xff, ...units.flatMap((unit) => [unit >> 8, unit & 255])]);
}

// --- one revision

class Writing {
  // `view` is the file before. New numbers begin one after the first free one, as the library of signing counts.
  constructor(view) {
    this.view = view;
    this.objects = new Map(); // number -> value, or { value, stream }
    this.changed = new Set();
    this.next = view.trailer.get("Size").value + 1;
  }

  // The value of an object, to be changed.
  own(number) {
    if (!this.objects.has(number)) this.objects.set(number, { value: copied(this.view.get(new Ref(number))) });
    return this.objects.get(number).value;
  }

  change(number) {
    this.changed.add(number);
    return this.own(number);
  }

  add(value, stream) {
    this.objects.set(this.next, { value, stream });
    this.changed.add(this.next);
    return new Ref(this.next++);
  }

  // A value behind a reference or in place, with the number of the object that it stands in.
  follow(value, home) {
    return value instanceof Ref ? { value: this.own(value.number), home: value.number } : { value, home };
  }

  get root() {
    return this.view.trailer.get("Root").number;
  }
}

function copied(value) {
  if (value instanceof Map) return new Map([...value].map(([key, item]) => [key, copied(item)]));
  if (Array.isArray(value)) return value.map(copied);
  if (value instanceof Text && !isKept(value.bytes)) refuse("REVISIONS", `byte ${value.start}`);
  return value;
}

// Whether signing writes a text as it stood: not one with a zero, nor one that begins like the mark of an encoding.
function isKept(bytes) {
  const text = decoded(bytes);
  return text === undefined ? !latin(bytes).startsWith("\xff\xfe") : !text.includes("\0") && !LIKE_A_MARK.test(text);
}

// The bytes of a revision; `identifier` and `gap` as they are to be.
function revisionText(writing, start, identifier, before) {
  const parts = [];
  const places = new Map();
  let at = start;
  const put = (text) => {
    parts.push(text);
    at += text.length;
  };
  for (const one of [...writing.changed].sort((a, b) => a - b)) {
    const { value, stream } = writing.objects.get(one);
    places.set(one, at);
    put(`${one} 0 obj\n${spelled(value)}`);
    if (stream !== undefined) put(`\nstream\n${stream}\nendstream`);
    put("\nendobj\n");
  }
  const table = at;
  put("xref\n");
  for (const [first, ...rest] of runs([...places.keys()])) {
    if (first === 1) {
      put(`0 ${rest.length + 2}\n0000000000 65535 f \n`);
    } else {
      if (first === [...places.keys()][0]) put("0 1\n0000000000 65535 f \n");
      put(`${first} ${rest.length + 1}\n`);
    }
    for (const one of [first, ...rest]) put(`${String(places.get(one)).padStart(10, "0")} 00000 n \n`);
  }
  const trailer = new Map(writing.view.trailer);
  for (const key of ["Root", "Info"]) if (trailer.has(key)) trailer.set(key, writing.view.trailer.get(key));
  trailer.set("ID", identifier).set("Prev", number(before.place)).set("Size", number(writing.next));
  put(`trailer\n${spelled(trailer)}\nstartxref\n${table}\n%%EOF\n`);
  return parts.join("");
}

// Numbers in order, those that follow each other together.
function runs(numbers) {
  const found = [];
  for (const one of numbers) {
    if (one - 1 === found.at(-1)?.at(-1)) found.at(-1).push(one);
    else found.push([one]);
  }
  return found;
}

// Identifier of the file: that of the first revision, and a hash of what is before and the time of signing.
async function identifierOf(bytes, before, time) {
  const first = before.trailer.get("ID");
  const own = (
    await digest("SHA-256", joined([bytes.subarray(0, before.end), new TextEncoder().encode(time)]))
  ).subarray(0, 16);
  const kept = Array.isArray(first) && first[0] instanceof Text ? first[0].bytes : own;
  return [hexText(kept), hexText(own)];
}

// --- what a signature states

// The moment that a signature states, as its text and as that is written in the identifier; undefined for any but the
// one way in which signing spells a moment: an offset of less than a day, and that of UTC as Z.
function statedTime(text) {
  const offset = "Z|([+-])(?!00'00')([01]\\d|2[0-3])'([0-5]\\d)'";
  const found = new RegExp(`^D:([12]\\d{3})(\\d\\d)(\\d\\d)(\\d\\d)(\\d\\d)(\\d\\d)(?:${offset})$`).exec(text ?? "");
  const date = found && dateOf(found.slice(1, 7).map(Number));
  if (!date) return undefined;
  const [, year, month, day, hour, minute, second, sign = "+", hours = "00", minutes = "00"] = found;
  const ahead = Number(`${sign}1`) * (60 * Number(hours) + Number(minutes));
  const written = `${year}-${month}-${day}T${hour}:${minute}:${second}${sign}${hours}:${minutes}`;
  return { at: new Date(date - ahead * 60e3), written };
}

// The value of a signature as signing writes it, from its own words.
function signatureValue(value, kind, form, extra) {
  const contents = value.get("Contents");
  const range = value
    .get("ByteRange")
    .map((one) => one.text)
    .join(" ");
  const again = new Map([
    ["Contents", `<${"\0".repeat(contents.end - contents.start - 2)}>`],
    ["ByteRange", `[${range}]`.padEnd(62)],
    ["Type", name(kind)],
    ["Filter", name("Adobe.PPKLite")],
    ["SubFilter", name(form)],
  ]);
  for (const [key, item] of extra) if (item !== undefined) again.set(key, item);
  return again;
}

const LONGEST_WORDS = 4000; // letters of a reason or a place

// The words of a signature: its time, the one name in its certificate, the reason, the place. What is empty, signing
// leaves out. A reason of its own has whoever countersigns.
function words({ value, cms }, reason) {
  if (value.has("M") && !statedTime(textOf(value.get("M")))) refuse("REVISIONS", "/M");
  const text = (said) => (said ? new Text(encoded(said)) : undefined);
  const [own, place] = ["Reason", "Location"].map((key) => textOf(value.get(key)) ?? "");
  if (reason === undefined && [own, place].some((one) => [...one].length > LONGEST_WORDS)) refuse("REVISIONS", "/Reason");
  return [
    ["M", value.get("M")],
    ["Name", text(nameIn(cms.signer))],
    ["Location", text(place)],
    ["Reason", text(reason ?? own)],
  ];
}

const nameIn = (certificate) => namesIn(certificate.name, "CN")[0] ?? "";

// --- the revision of the first signature

const TRANSPARENT = { Type: name("XObject"), Subtype: name("Form") };

function appendFirst(writing, view, signature) {
  const { value } = signature;
  const stated = fieldsOf(view, signature);
  if (SIGNING_ADDS.some((key) => writing.view.catalog.has(key))) refuse("REVISIONS", "/Root");
  if (view.revisions.version < 7) writing.change(writing.root).set("Version", name("1.7"));
  const fields = stated.map((one) => placeField(writing, one));
  const form = writing.add(entries({ Fields: fields, SigFlags: number(3) }));
  const catalog = writing.change(writing.root);
  catalog.set("AcroForm", form);
  const level = { Type: name("DeveloperExtensions"), BaseVersion: name("1.7"), ExtensionLevel: number(1) };
  catalog.set("Extensions", entries({ ESIC: entries(level) }));
  addStore(writing, view);
  const certified = entries({
    Type: name("SigRef"),
    TransformMethod: name("DocMDP"),
    TransformParams: entries({ Type: name("TransformParams"), V: name("1.2"), P: number(fields.length > 1 ? 2 : 1) }),
  });
  const extra = [...words(signature, REASONS[textOf(stated[0].get("T"))]), ["Reference", [certified]]];
  const made = writing.add(signatureValue(value, "Sig", "ETSI.CAdES.detached", extra));
  writing.own(fields[0].number).set("V", made);
  catalog.set("Perms", entries({ DocMDP: made }));
}

// What the catalog of pages that nobody signed has none of.
const SIGNING_ADDS = ["AcroForm", "Extensions", "Perms", "Version"];

// The fields of the first signature's revision: that of the inspector and those of countersigners, or the one of a
// submittal's engineer. The first is described by the name in its signer's certificate; the others as the report says,
// which is compared where that is read.
function fieldsOf(view, { cms }) {
  const listed = view.entry(view.entry(view.catalog, "AcroForm"), "Fields");
  const fields = Array.isArray(listed) ? listed.map((one) => view.get(one)) : [];
  const titles = fields.map((one) => textOf(one.get("T")));
  const waiting = titles.slice(1).map((_, i) => `Countersigner-${i + 1}`);
  const expected = titles[0] === "Engineer" ? ["Engineer"] : ["Inspector", ...waiting];
  if (titles.join() !== expected.join()) refuse("REVISIONS", "/T");
  const own = titles[0] === "Engineer" ? "Signature of" : "Signature of the inspector,";
  if (textOf(fields[0].get("TU")) !== `${own} ${nameIn(cms.signer)}`) refuse("REVISIONS", "/TU");
  return fields;
}

// One field over a block of a page, with its place in the page's list and in the structure of the file.
function placeField(writing, stated) {
  const [title, description, rectangle, page] = ["T", "TU", "Rect", "P"].map((key) => stated.get(key));
  const corners = Array.isArray(rectangle) ? rectangle.map((one) => thousandths(one)) : [];
  if (!(title instanceof Text && description instanceof Text && page instanceof Ref) || corners.length !== 4)
    refuse("REVISIONS", "field");
  requireOnPage(writing.view, page, corners);
  const sides = [corners[2] - corners[0], corners[3] - corners[1]].map((one) => number((one / 1000).toFixed(3)));
  const box = { ...TRANSPARENT, BBox: [number(0), number(0), ...sides], Resources: new Map(), Length: number(0) };
  const appearance = writing.add(entries(box), "");
  const widget = entries({
    Type: name("Annot"),
    Subtype: name("Widget"),
    FT: name("Sig"),
    T: title,
    TU: description,
    F: number(132),
    Rect: corners.map((one) => number((one / 1000).toFixed(3))),
    P: page,
    AP: entries({ N: appearance }),
  });
  const reference = writing.add(widget);
  onPage(writing, page, reference);
  inStructure(writing, widget, reference, page, description);
  return reference;
}

function thousandths(value) {
  const found = value instanceof Num ? /^(-?\d+)(?:\.(\d{1,3}))?$/.exec(value.text) : undefined;
  if (!found) refuse("REVISIONS", "/Rect");
  return Math.round(value.value * 1000);
}

// A field lies within its page and has a size.
function requireOnPage(view, page, [left, bottom, right, top]) {
  const held = view.get(page);
  const box = held instanceof Map && isName(held.get("Type"), "Page") ? view.entry(held, "MediaBox") : undefined;
  if (!Array.isArray(box) || box.length !== 4 || !box.every((one) => one instanceof Num)) refuse("REVISIONS", "/P");
  const [x0, y0, x1, y1] = box.map((one) => 1000 * one.value);
  if (!(x0 <= left && left < right && right <= x1 && y0 <= bottom && bottom < top && top <= y1))
    refuse("REVISIONS", "/Rect");
}

function onPage(writing, page, reference) {
  const held = writing.own(page.number);
  const listed = held.get("Annots");
  if (listed === undefined) held.set("Annots", []);
  const { value, home } = writing.follow(held.get("Annots"), page.number);
  value.push(reference);
  writing.change(home);
}

function inStructure(writing, widget, reference, page, description) {
  const root = writing.own(writing.root).get("StructTreeRoot");
  if (root === undefined) return;
  if (!(root instanceof Ref)) refuse("REVISIONS", "/StructTreeRoot");
  const tree = writing.own(root.number);
  const parents = tree.has("ParentTree") ? writing.follow(tree.get("ParentTree"), root.number) : undefined;
  const numbers = parents ? keysOf(writing, parents, new Set()) : [];
  const next = tree.get("ParentTreeNextKey");
  const key = Math.max(next === undefined ? 0 : wholeIn(next), ...numbers.map((one) => one + 1));
  const parent = topElement(writing, tree, root);
  const pointing = entries({ Type: name("OBJR"), Obj: reference, Pg: page });
  const tag = { Type: name("StructElem"), S: name("Form"), P: parent, Pg: page, Alt: description, K: pointing };
  const element = writing.add(entries(tag));
  widget.set("StructParent", number(key));
  const above = writing.own(parent.number);
  const kids = above.has("K") ? writing.follow(above.get("K"), parent.number) : undefined;
  if (Array.isArray(kids?.value)) {
    kids.value.push(element);
    writing.change(kids.home);
  } else {
    above.set("K", kids ? [above.get("K"), element] : [element]);
    writing.change(parent.number);
  }
  inParentTree(writing, tree, root, parents, key, element);
  tree.set("ParentTreeNextKey", number(key + 1));
  writing.change(root.number);
}

function inParentTree(writing, tree, root, parents, key, element) {
  const pair = [number(key), element];
  if (!parents) {
    tree.set("ParentTree", writing.add(entries({ Nums: pair })));
    return;
  }
  if (parents.value.has("Kids")) {
    const leaf = writing.add(entries({ Limits: [number(key), number(key)], Nums: pair }));
    const grown = writing.follow(parents.value.get("Kids"), parents.home);
    grown.value.push(leaf);
    writing.change(grown.home);
  } else {
    const grown = writing.follow(parents.value.get("Nums"), parents.home);
    grown.value.push(...pair);
    writing.change(grown.home);
  }
}

const wholeIn = (one) => (one instanceof Num && isWhole(one.text) ? one.value : refuse("REVISIONS", "/ParentTree"));

// The numbers in a tree: a node that hangs on two would be walked as often as there are ways to it.
function keysOf(writing, node, seen, depth = 0) {
  if (depth > DEEPEST || seen.has(node.value)) refuse("LIMIT", "/ParentTree");
  seen.add(node.value);
  const numbers = node.value.has("Nums") ? writing.follow(node.value.get("Nums"), node.home).value : [];
  const kids = node.value.has("Kids") ? writing.follow(node.value.get("Kids"), node.home) : { value: [] };
  const own = numbers.filter((_, i) => i % 2 === 0).map(wholeIn);
  return [...own, ...kids.value.flatMap((kid) => keysOf(writing, writing.follow(kid, kids.home), seen, depth + 1))];
}

// The single element below the root of the structure, or that root where there are several.
function topElement(writing, tree, root) {
  const { value } = writing.follow(tree.get("K"), root.number);
  const only = Array.isArray(value) && value.length === 1 ? value[0] : tree.get("K");
  return only instanceof Ref && writing.own(only.number) instanceof Map ? only : root;
}

// --- the store of what proves certificates

const STORED = ["Certs", "OCSPs", "CRLs"];
const MOST_STORED = 200; // of each kind: each is tried with each certificate

// Write what a revision adds to the store, which is what its own holds and the one before does not, each item once; a
// renewal writes a store in any case.
function addStore(writing, view, always = false) {
  const before = storedIn(writing.view);
  const added = storedIn(view).map((items, i) => [...items].filter(([key]) => !before[i].has(key)));
  if (!always && !added.some((items) => items.length)) return;
  const old = writing.own(writing.root).get("DSS");
  if (old !== undefined && !(old instanceof Ref)) refuse("REVISIONS", "/DSS");
  const store = old ? writing.own(old.number) : new Map();
  const more = added.map((items) =>
    items.map(([, stream]) => writing.add(entries({ Length: number(stream.length) }), latin(stream))),
  );
  for (const [i, kind] of STORED.entries()) {
    const all = [...referencesIn(writing.view, store, kind), ...more[i]];
    if (all.length || kind === "Certs") store.set(kind, all);
  }
  if (!old) writing.change(writing.root).set("DSS", writing.add(store));
  else if (more.flat().length) writing.change(old.number);
}

// What the store holds, of each kind: item by item, by their digits.
function storedIn(view) {
  const store = view.entry(view.catalog, "DSS") ?? new Map();
  if (!(store instanceof Map) || [...store.keys()].some((key) => !STORED.includes(key))) refuse("STORE", "/DSS");
  return STORED.map((kind) => {
    const listed = referencesIn(view, store, kind);
    if (listed.length > MOST_STORED) refuse("LIMIT", `/${kind}`);
    const streams = listed.map((one) => view.stream(one)?.stream ?? refuse("STORE", `/${kind}`));
    return new Map(streams.map((stream) => [hex(stream), stream]));
  });
}

function referencesIn(view, store, kind) {
  const listed = view.get(store.get(kind)) ?? [];
  return Array.isArray(listed) && listed.every((one) => one instanceof Ref) ? listed : refuse("REVISIONS", `/${kind}`);
}

// What the file carries beside its signatures, each item once.
async function storeIn(view) {
  const store = view.entry(view.catalog, "DSS") ?? new Map();
  const [certificates, answers, lists] = storedIn(view).map((items) => [...items.values()]);
  const found = { certificates: [], lists: lists.map((one) => revocationList(one)), answers: [] };
  found.certificates = await certificatesOf(certificates.map((one) => onlyElement(one)), MOST_STORED);
  for (const one of answers) found.answers.push(await revocationAnswer(one));
  const named = new Set(found.certificates.map((one) => hex(one.issuer) + hex(one.serial)));
  const held = [named.size, answers.length, lists.length];
  if (STORED.some((kind, i) => referencesIn(view, store, kind).length !== held[i])) refuse("STORE");
  return found;
}

// Everything in the store is needed by a chain of this file, up to one of `roots`.
async function refuseIdle({ signatures, store }, roots) {
  const leaves = signatures.flatMap((one) => [one.cms.signer, ...one.tokens.map((token) => token.signer)]);
  const brought = signatures.flatMap((one) => [one.cms, ...one.tokens]).flatMap((one) => one.certificates);
  const chain = await issuers(leaves, [...brought, ...store.certificates, ...roots]);
  const needed = async (items, test) => {
    for (const item of items) if (!(await test(item))) refuse("STORE");
  };
  await needed(store.certificates, (item) => chain.some((one) => isSame(one, item)));
  // a list by who issued none of them is of no use: a signer could bring along what he likes in one of his own
  const issuing = [];
  for (const issuer of chain) if (await some(chain, (one) => issued(issuer, one))) issuing.push(issuer);
  await needed(store.lists, (list) => some(issuing, (one) => listIsOf(list, one)));
  await needed(store.answers, (answer) =>
    some(chain, (issuer) => some(chain, async (one) => (await wordsAbout(answer, one, issuer)).length > 0)),
  );
}

async function some(items, test) {
  for (const item of items) if (await test(item)) return true;
  return false;
}

// --- revisions after the first signature

function appendFurther(writing, view, signature) {
  const field = writing.own(signature.number);
  if (field.has("V")) refuse("REVISIONS", "/V");
  addStore(writing, view);
  const made = writing.add(signatureValue(signature.value, "Sig", "ETSI.CAdES.detached", words(signature)));
  writing.change(signature.number).set("V", made);
}

function appendRenewal(writing, view, signature, count) {
  addStore(writing, view, true);
  const field = entries({
    Type: name("Annot"),
    Subtype: name("Widget"),
    FT: name("Sig"),
    T: ascii(`Renewal-${count}`),
    TU: ascii(`Timestamp of renewal ${count}`),
    F: number(132),
    Rect: [number(0), number(0), number(0), number(0)],
  });
  const reference = writing.add(field);
  const form = writing.follow(writing.own(writing.root).get("AcroForm"), writing.root);
  const listed = writing.follow(form.value.get("Fields"), form.home);
  listed.value.push(reference);
  writing.change(listed.home);
  field.set("V", writing.add(signatureValue(signature.value, "DocTimeStamp", "ETSI.RFC3161", [])));
}

const ascii = (text) => new Text(Uint8Array.from(text, (one) => one.charCodeAt(0)));

// Refuse a file of which a revision is not what signing writes. Returns what was added after the first signature.
// A change that came with a later signature is told by `added`: nobody has signed for it before.
async function writeAgain(bytes, revisions, signatures) {
  if (signatures[0].index !== 1) refuse("REVISIONS", "revision 1");
  const counts = { countersignatures: 0, renewals: 0 };
  for (const [place, signature] of signatures.entries()) {
    if (signature.index !== place + 1) return { added: place + 1 };
    const view = new View(revisions, signature.index);
    const writing = new Writing(new View(revisions, place));
    const renewal = signature.kind === "DocTimeStamp";
    if (place === 0) appendFirst(writing, view, signature);
    else if (renewal) appendRenewal(writing, view, signature, ++counts.renewals);
    else appendFurther(writing, view, signature, ++counts.countersignatures);
    const identifier = await identifierOf(
      bytes,
      revisions[place],
      renewal ? "" : (statedTime(textOf(signature.value.get("M")))?.written ?? ""),
    );
    if (
      !isWritten(bytes, revisions, signature, revisionText(writing, revisions[place].end, identifier, revisions[place]))
    ) {
      return place > 0 && touchesMore(writing, revisions[signature.index])
        ? { added: signature.index }
        : refuse("REVISIONS", `revision ${place + 1}`);
    }
  }
  return counts;
}

function isWritten(bytes, revisions, signature, again) {
  const { start, end } = revisions[signature.index];
  const contents = signature.value.get("Contents");
  if (again.length !== end - start) return false;
  for (let at = start; at < end; at++) {
    const inValue = at > contents.start && at < contents.end - 1;
    if (!inValue && bytes[at] !== again.charCodeAt(at - start)) return false;
  }
  return true;
}

// Whether a revision holds another object, or one with another value, than signing writes.
function touchesMore(writing, revision) {
  if (revision.objects.size !== writing.changed.size) return true;
  for (const [one, object] of revision.objects) {
    if (!writing.changed.has(one)) return true;
    const { value } = writing.objects.get(one);
    const isSignature = value instanceof Map && typeof value.get("Contents") === "string";
    if (!isSignature && spelled(value) !== spelled(object.value)) return true;
  }
  return false;
}
