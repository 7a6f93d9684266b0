// What a file holds: its signatures, nothing that acts or that nothing refers to, and the files embedded in it.

const ACTING = [
  "AA",
  "JS",
  "JavaScript",
  "OpenAction",
  "XFA",
  "RichMediaContent",
  "Requirements",
  "Collection",
  "Alternates",
];
const LAYERS = ["OC", "OCProperties", "OCGs", "OCMD", "Properties", "Usage"];
const OUTSIDE = ["F", "FFilter", "Ref", "OPI"];
const ACTIONS = new Set(
  (
    "JavaScript Launch GoToR GoToE GoToDp SubmitForm ResetForm ImportData Hide Named Rendition Movie Sound Thread " +
    "SetOCGState Trans GoTo3DView RichMediaExecute"
  ).split(" "),
);
const KINDS = ["Type", "Subtype", "S"]; // by which a reader knows what a dictionary is

function refuseContent(revisions, view, placed) {
  const fields = new Set(placed.map((one) => one.number));
  for (const revision of revisions) {
    for (const object of revision.objects.values()) {
      for (const part of dictionaries(object.value)) {
        refusePart(part, object, view, fields);
        refuseAction(part, object, view);
      }
      const streamed = object.stream && object.value;
      if (streamed && (OUTSIDE.some((key) => streamed.has(key)) || isName(streamed.get("Subtype"), "PS"))) {
        refuse("CONTENT", `object ${object.number}`);
      }
    }
  }
}

function refusePart(part, object, view, fields) {
  const wrong = (what) => refuse("CONTENT", `object ${object.number}: ${what}`);
  for (const key of KINDS) if (part.has(key) && !(part.get(key) instanceof Name)) wrong(`/${key}`);
  const [type, subtype, action] = KINDS.map((key) => part.get(key));
  for (const key of [...ACTING, ...LAYERS]) if (part.has(key)) wrong(`/${key}`);
  // whatever it calls itself besides: who follows a link asks for no type
  if (action && ACTIONS.has(action.text)) wrong(`/${action.text}`);
  if (["ObjStm", "XRef"].some((one) => isName(type, one))) refuse("STRUCTURE", `object ${object.number}`);
  if (["OCG", "OCMD"].some((one) => isName(type, one))) wrong(`/${type.text}`);
  if (isName(action, "URI") && !/^(https?:\/\/|mailto:)/.test(textOf(part.get("URI")) ?? "")) wrong("/URI");
  if (["Filespec", "F"].some((one) => isName(type, one)) && !part.has("EF")) wrong("/Filespec");
  for (const one of [view.entry(part, "Annots") ?? []].flat()) {
    const held = view.get(one);
    if (!(held instanceof Map && held.has("Rect") && held.has("Subtype"))) wrong("/Annots");
  }
  if (isName(type, "Annot") || (part.has("Rect") && subtype !== undefined)) {
    const field = isName(subtype, "Widget") && part === object.value && fields.has(object.number);
    if (!field && !(isName(subtype, "Link") && drawsNothing(part))) wrong("/Annot");
  }
}

const LINK = ["Type", "Subtype", "Rect", "Border", "Contents", "Dest", "A", "F", "StructParent"];

// Whether a link is what our pages have: without a frame, which is drawn where none is stated, too.
function drawsNothing(link) {
  const border = link.get("Border");
  const none = Array.isArray(border) && border.length === 3 && border.every((one) => one instanceof Num && one.value === 0);
  return none && [...link.keys()].every((key) => LINK.includes(key));
}

// What stands in the place of an action goes to a place in this file, or to an address that is shown, and does no more.
// Attributes of the structure stand under the same key, but have an owner and no kind.
function refuseAction(part, object, view) {
  for (const key of ["A", "PA"]) {
    const stated = view.get(part.get(key));
    for (const one of Array.isArray(stated) ? stated : [stated]) {
      const held = view.get(one);
      if (held === undefined || (held instanceof Map && held.has("O") && !held.has("S"))) continue;
      const plain = held instanceof Map && ["GoTo", "URI"].some((kind) => isName(held.get("S"), kind));
      if (!plain || held.has("Next")) refuse("CONTENT", `object ${object.number}: /${key}`);
    }
  }
}

// The pages hang on one tree: each there once, each under the node that it names, as many as each node says.
function pagesIn(view) {
  const pages = [];
  const seen = new Set();
  const wrong = () => refuse("CONTENT", "/Pages");
  const count = (reference, parent, depth) => {
    const node = reference instanceof Ref && !seen.has(reference.number) ? view.get(reference) : undefined;
    if (!(node instanceof Map) || depth > DEEPEST || node.get("Parent")?.number !== parent) wrong();
    seen.add(reference.number);
    if (isName(node.get("Type"), "Page") && !node.has("Kids")) return pages.push(node) && 1;
    const kids = view.entry(node, "Kids");
    if (!isName(node.get("Type"), "Pages") || !Array.isArray(kids)) wrong();
    const all = kids.reduce((sum, kid) => sum + count(kid, reference.number, depth + 1), 0);
    return node.get("Count")?.text === String(all) ? all : wrong();
  };
  if (!count(view.catalog.get("Pages"), undefined, 0)) wrong();
  return { pages, seen };
}

// What our catalog and pages have, each in the form in which our writer puts it, and nothing of what else a reader may
// heed when it shows or prints them: what is of another form, some read as damage, and signing would write otherwise.
const isRef = (value) => value instanceof Ref;
const named =
  (...kinds) =>
  (value) =>
    kinds.some((kind) => isName(value, kind));
const isWholeNumber = (value) => value instanceof Num && isWhole(value.text);
const isMap = (value, view) => view.get(value) instanceof Map;
const isList = (value, view) => Array.isArray(view.get(value));
const isFlag = (value) => typeof value === "boolean";
const isLanguage = (value) => /^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$/.test(textOf(value) ?? "");
const CATALOG = {
  ...{ Type: named("Catalog"), Pages: isRef, Metadata: isRef, Names: isMap, AF: isList, Lang: isLanguage, MarkInfo: isMap },
  ...{ StructTreeRoot: isRef, Outlines: isMap, OutputIntents: isList, PageMode: named("UseNone"), ViewerPreferences: isMap },
  // as signing wrote them
  ...{ DSS: isRef, AcroForm: isRef, Extensions: isMap, Perms: isMap, Version: named("1.7") },
};
const PAGE = {
  ...{ Type: named("Page"), Parent: isRef, MediaBox: isBox, Resources: isMap, Contents: isDrawn, Annots: isList },
  ...{ Rotate: (value) => value instanceof Num && value.value === 0, StructParents: isWholeNumber, Tabs: named("S") },
  Trans: isMap,
};
const NODE = { Type: named("Pages"), Parent: isRef, Kids: isList, Count: isWholeNumber };
const TREE = { Type: named("StructTreeRoot"), K: isStructure, ParentTree: isMap, ParentTreeNextKey: isWholeNumber };

function isDrawn(value, view) {
  const held = view.get(value);
  return view.stream(value) !== undefined || (Array.isArray(held) && held.every((one) => view.stream(one)));
}

function isStructure(value, view) {
  const held = view.get(value);
  return held instanceof Map || (Array.isArray(held) && held.every((one) => isRef(one) && isMap(one, view)));
}

// A page begins at its lower left corner and is no larger than a reader shows: ISO 32000-1, annex C.
const LARGEST_SIDE = 14_400;

function isBox(value) {
  if (!Array.isArray(value) || value.length !== 4 || !value.every((one) => one instanceof Num)) return false;
  const [left, bottom, ...sides] = value.map((one) => one.value);
  return left === 0 && bottom === 0 && sides.every((one) => one > 0 && one <= LARGEST_SIDE);
}

function refuseOddities(view, nodes, pages) {
  const plain = (held, forms, what) => {
    for (const [key, value] of held?.entries() ?? [])
      if (!(Object.hasOwn(forms, key) && forms[key](value, view))) refuse("CONTENT", `/${what}/${key}`);
  };
  const { catalog } = view;
  plain(catalog, CATALOG, "Root");
  if (!catalog.has("Type")) refuse("CONTENT", "/Root/Type");
  plain(view.entry(catalog, "Names"), { EmbeddedFiles: isMap }, "Names");
  plain(view.entry(catalog, "ViewerPreferences"), { DisplayDocTitle: isFlag }, "ViewerPreferences");
  plain(view.entry(catalog, "MarkInfo"), { Marked: isFlag }, "MarkInfo");
  plain(view.entry(catalog, "StructTreeRoot"), TREE, "StructTreeRoot");
  for (const node of nodes) {
    const isPage = isName(node.get("Type"), "Page");
    plain(node, isPage ? PAGE : NODE, isPage ? "Page" : "Pages");
    plain(view.entry(node, "Trans"), {}, "Trans");
  }
  // all pages of a report have one size: a smaller one hides what is drawn beyond it
  const sizes = pages.map((page) => page.get("MediaBox")?.map((one) => one.value).join());
  if (sizes.some((one) => !one || one !== sizes[0])) refuse("CONTENT", "/MediaBox");
  if (!pages.every((page) => page.has("Resources"))) refuse("CONTENT", "/Resources");
}

// No page but those of the tree; and what is drawn on them can be unpacked, within a bound.
async function refusePages(revisions, view) {
  const { pages, seen } = pagesIn(view);
  refuseOddities(view, [...seen].map((one) => view.get(new Ref(one))), pages);
  for (const revision of revisions) {
    for (const object of revision.objects.values()) {
      for (const part of dictionaries(object.value)) {
        const isPage = ["Page", "Pages"].some((kind) => isName(part.get("Type"), kind));
        if (isPage && !(part === object.value && seen.has(object.number))) refuse("CONTENT", `object ${object.number}`);
      }
    }
  }
  let left = LARGEST;
  for (const revision of revisions) {
    for (const object of revision.objects.values()) if (object.stream) left -= await unpackedSize(object, left);
  }
}

// How much a stream holds that is stored as it is, packed with Flate alone, or a picture as a camera packs it.
async function unpackedSize(object, left) {
  const wrong = () => refuse("CONTENT", `object ${object.number}: /Filter`);
  const stated = object.value.get("Filter") ?? [];
  const [filter, ...more] = Array.isArray(stated) ? stated : [stated];
  if (more.length || (object.value.has("DecodeParms") && !isName(object.value.get("Subtype"), "Image"))) wrong();
  if (isName(filter, "FlateDecode")) return inflated(object, left, "CONTENT", () => {});
  const picture = isName(filter, "DCTDecode") && isName(object.value.get("Subtype"), "Image");
  return filter === undefined || picture ? object.stream.length : wrong();
}

// Every object is reached from the trailer: none waits for its turn.
function refuseUnreached(view) {
  const reached = new Set();
  const waiting = [...view.trailer.values()];
  while (waiting.length) {
    const value = waiting.pop();
    if (value instanceof Map) {
      waiting.push(...value.values());
    } else if (Array.isArray(value)) {
      for (const item of value) waiting.push(item);
    } else if (value instanceof Ref && !reached.has(value.number)) {
      reached.add(value.number);
      const object = view.object(value.number) ?? refuse("STRUCTURE", `object ${value.number}`);
      waiting.push(object.value);
    }
  }
  for (const revision of view.revisions) {
    for (const one of revision.objects.keys()) if (!reached.has(one)) refuse("CONTENT", `object ${one}`);
  }
}

const isSignature = (part) =>
  part.has("ByteRange") || ["Sig", "DocTimeStamp"].some((one) => isName(part.get("Type"), one));

// The fields of the form in their order; and the signatures, in the order of their revisions: each the value of one
// field, and no other anywhere.
function signaturesIn(revisions, view) {
  const values = new Map();
  revisions.forEach((revision, index) => {
    for (const object of revision.objects.values()) {
      for (const part of dictionaries(object.value)) {
        if (!isSignature(part)) continue;
        if (part !== object.value || values.has(object.number)) refuse("SIGNATURE_COUNT");
        values.set(object.number, { value: part, index });
      }
    }
  });
  if (!values.size) refuse("NOT_SIGNED");
  const listed = view.entry(view.entry(view.catalog, "AcroForm"), "Fields");
  if (!Array.isArray(listed)) refuse("SIGNATURE_COUNT");
  const found = [];
  const placed = [];
  for (const reference of listed) {
    const field = view.get(reference);
    const title = field instanceof Map ? textOf(field.get("T")) : undefined;
    const again = placed.some((one) => one.title === title);
    if (!(reference instanceof Ref) || !isName(field?.get("FT"), "Sig") || !title || again)
      refuse("CONTENT", "/Fields");
    const held = field.get("V");
    const own = {
      title,
      description: textOf(field.get("TU")) ?? "",
      number: reference.number,
      open: held === undefined,
    };
    placed.push(own);
    if (own.open) continue;
    const signature = held instanceof Ref ? values.get(held.number) : undefined;
    if (!signature) refuse("SIGNATURE_COUNT");
    values.delete(held.number);
    const kind = signature.value.get("Type")?.text;
    found.push({ ...signature, ...own, kind });
  }
  if (values.size) refuse("SIGNATURE_COUNT");
  found.sort((one, other) => one.index - other.index);
  return { signatures: found, fields: placed };
}

// What a signature covers: the file up to the end of its revision, all but its own value.
function coveredBytes(bytes, revisions, signature) {
  const range = signature.value.get("ByteRange");
  const contents = signature.value.get("Contents");
  const { end } = revisions[signature.index];
  const whole =
    Array.isArray(range) && range.length === 4 && range.every((one) => one instanceof Num && isWhole(one.text));
  if (!whole || !(contents instanceof Text && contents.hexadecimal)) refuse("RANGES");
  // no signature covers how its own digits are spelled
  if (bytes.subarray(contents.start, contents.end).some((byte) => byte > 0x60)) badForm("/Contents");
  const [first, length, second, rest] = range.map((one) => one.value);
  if (first !== 0 || length !== contents.start || second !== contents.end || second + rest !== end) refuse("RANGES");
  const form = signature.kind === "DocTimeStamp" ? "ETSI.RFC3161" : "ETSI.CAdES.detached";
  if (!isName(signature.value.get("SubFilter"), form)) badForm("/SubFilter");
  const node = element(contents.bytes);
  if (contents.bytes.subarray(node.end).some((byte) => byte !== 0)) badForm("/Contents");
  return { data: joined([bytes.subarray(0, length), bytes.subarray(second, end)]), cms: node.all };
}

// --- embedded files

const SPECIFICATION = ["Type", "F", "UF", "Desc", "AFRelationship", "EF"];

// The embedded files by name. Each has one name, one content and one place in the list; `relations` are theirs.
async function embeddedFiles(view) {
  const waiting = [view.entry(view.entry(view.catalog, "Names"), "EmbeddedFiles")];
  const found = new Map();
  const listed = [];
  let left = LARGEST;
  for (const [i, reference] of waiting.entries()) {
    const node = view.get(reference);
    if (i > 1000 || !(node instanceof Map)) refuse("EMBEDDED", "/EmbeddedFiles");
    const pairs = view.entry(node, "Names") ?? [];
    if (!Array.isArray(pairs) || pairs.length % 2) refuse("EMBEDDED", "/Names");
    for (let k = 0; k < pairs.length; k += 2) {
      const title = textOf(view.get(pairs[k]));
      const file = specifiedFile(view, title, pairs[k + 1]);
      if (found.has(title)) refuse("EMBEDDED", title);
      const content = await unpacked(file.stream, left);
      left -= content.length;
      listed.push(file);
      found.set(title, { content, relation: file.relation });
    }
    const kids = view.entry(node, "Kids") ?? [];
    for (const kid of Array.isArray(kids) ? kids : refuse("EMBEDDED", "/Kids")) waiting.push(kid);
  }
  refuseOtherFiles(view, listed);
  return found;
}

function specifiedFile(view, title, reference) {
  const specification = view.get(reference);
  const wrong = () => refuse("EMBEDDED", title);
  if (!title || !(reference instanceof Ref) || !(specification instanceof Map)) wrong();
  if ([...specification.keys()].some((key) => !SPECIFICATION.includes(key))) wrong();
  const held = view.entry(specification, "EF");
  const content = held?.get("F");
  const stream = view.stream(content) ?? wrong();
  if (!isName(specification.get("Type"), "Filespec") || !isName(stream.value.get("Type"), "EmbeddedFile")) wrong();
  if (held.size !== 2 || held.get("UF")?.number !== content.number) wrong();
  if (textOf(specification.get("F")) !== title || textOf(specification.get("UF")) !== title) wrong();
  const relation = specification.get("AFRelationship");
  return { number: reference.number, stream, relation: relation instanceof Name ? relation.text : "" };
}

// No file but those of the list, whichever way a reader may come upon it.
function refuseOtherFiles(view, listed) {
  const numbers = listed.map((one) => one.number).sort();
  const belonging = view.entry(view.catalog, "AF") ?? [];
  const those = Array.isArray(belonging) ? belonging.map((one) => one.number).sort() : [];
  if (those.join() !== numbers.join()) refuse("EMBEDDED", "/AF");
  const streams = new Set(listed.map((one) => one.stream.number));
  if (streams.size !== listed.length) refuse("EMBEDDED");
  for (const revision of view.revisions) {
    for (const object of revision.objects.values()) {
      for (const part of dictionaries(object.value)) {
        const own = part === object.value && numbers.includes(object.number);
        if (part.has("EF") && !own) refuse("EMBEDDED", `object ${object.number}`);
        const content = isName(part.get("Type"), "EmbeddedFile");
        if (content && !(part === object.value && streams.has(object.number)))
          refuse("EMBEDDED", `object ${object.number}`);
      }
    }
  }
}

// --- JSON with its digits as written; a field named twice is refused

class Digits {
  constructor(text) {
    this.text = text;
  }
}

class JsonReader {
  constructor(text) {
    this.text = text;
    this.at = 0;
  }

  static read(bytes) {
    let text;
    try {
      text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
    } catch {
      refuse("EMBEDDED", "UTF-8");
    }
    const reader = new JsonReader(text);
    const value = reader.value(0);
    return reader.see() === undefined ? value : reader.bad();
  }

  bad() {
    refuse("EMBEDDED", `JSON ${this.at}`);
  }

  see() {
    while (" \n\r\t".includes(this.text[this.at] ?? "x")) this.at++;
    return this.text[this.at];
  }

  take(sign) {
    return this.see() === sign ? this.text[this.at++] : this.bad();
  }

  value(depth) {
    if (depth > DEEPEST) this.bad();
    const next = this.see();
    if (next === "{") return this.members(depth);
    if (next === "[") return this.items(depth);
    if (next === '"') return this.string();
    for (const [word, meaning] of [
      ["true", true],
      ["false", false],
    ]) {
      if (this.text.startsWith(word, this.at)) {
        this.at += word.length;
        return meaning;
      }
    }
    const found = /^-?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?/.exec(this.text.slice(this.at, this.at + 60)) ?? this.bad();
    this.at += found[0].length;
    return new Digits(found[0]);
  }

  members(depth) {
    const map = Object.create(null);
    this.take("{");
    if (this.see() === "}") return (this.at++, map);
    for (;;) {
      if (this.see() !== '"') this.bad();
      const key = this.string();
      if (key in map) this.bad();
      this.take(":");
      map[key] = this.value(depth + 1);
      if (this.see() === "}") return (this.at++, map);
      this.take(",");
    }
  }

  items(depth) {
    const items = [];
    this.take("[");
    if (this.see() === "]") return (this.at++, items);
    for (;;) {
      items.push(this.value(depth + 1));
      if (this.see() === "]") return (this.at++, items);
      this.take(",");
    }
  }

  string() {
    const start = this.at++;
    while (this.text[this.at] !== '"') {
      if (this.at >= this.text.length) this.bad();
      this.at += this.text[this.at] === "\\" ? 2 : 1;
    }
    this.at++;
    try {
      const text = JSON.parse(this.text.slice(start, this.at));
      if (!/\p{Cs}/u.test(text)) return text; // half of a letter is none
    } catch {
      // told below
    }
    return this.bad();
  }
}

// --- the lists of files and of reports, with each of their members and no other

const isText = (value) => typeof value === "string";
const isDigits = (value) => value instanceof Digits && isWhole(value.text);
const isHash = (value) => isText(value) && /^[0-9a-f]{64}$/.test(value);
const isAmong = (words) => (value) => isText(value) && words.includes(value);
const isMembers = (value) => typeof value === "object" && !Array.isArray(value) && !(value instanceof Digits);
const listOf = (isItem) => (value) => Array.isArray(value) && value.every((one) => isItem(one));
const isTexts = listOf(isText);

// A path within its folder, as every system writes it.
const isPath = (value) =>
  isText(value) && !/[\\\0]/.test(value) && value.split("/").every((part) => !["", ".", ".."].includes(part));

const ENTRY = { name: isPath, role: isText, sha256: isHash };
const FILES = {
  ...{ day: isPath, format: isDigits, generator: isText, rules_edition: isDigits },
  files: listOf((one) => hasMembers(one, ENTRY) || hasMembers(one, { ...ENTRY, attachment: isPath })),
};

const LISTED = {
  ...{ copied_pages: isDigits, date: isText, doubts: isTexts, later_doubts: isTexts, notices: isTexts },
  file: (value) => isText(value) && /^[A-Z0-9][A-Z0-9.-]{0,60}(?:-r\d{1,4})?(?:-[0-9a-f]{8})?\.pdf$/.test(value),
  ...{ number: isText, revision: isDigits, sha256: isHash, size: isDigits },
};
const COVER = {
  ...{ language: isAmong(["de", "en", "es"]), page: isAmong(["A4", "letter"]), status: isAmong(["demonstration", "issue"]) },
  ...{ recipient: isText, remarks: isText, role: isText, signer: isText },
};
const isListed = (one) => hasMembers(one, LISTED) || hasMembers(one, { ...LISTED, registered_as: isText });
const isCover = (value) => {
  const said = Object.keys(value ?? {}).filter((key) => key === "organisation" || key === "partial");
  return hasMembers(value, { ...COVER, ...Object.fromEntries(said.map((key) => [key, isText])) });
};
const LIST = {
  ...{ cover: isCover, format: isDigits, generator: isText, issued_at: isText, reference: isText },
  made_with: (value) => isMembers(value) && Object.values(value).every(isText),
  reports: listOf(isListed),
};

function hasMembers(value, members) {
  const keys = (one) => Object.keys(one).sort().join();
  const held = isMembers(value) && keys(value) === keys(members);
  return held && Object.entries(members).every(([key, fits]) => fits(value[key]));
}

const isListOfReports = (list) => hasMembers(list, LIST);

// What a release page says of whoever signs it; of the rest nothing is read.
const isReleasePage = ({ signer, role, organisation, status, generator, released }) =>
  [signer, role, status, generator, released?.area, organisation ?? ""].every(isText);
