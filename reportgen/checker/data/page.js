// What the page shows. Text of strangers is never markup: everything is set as text of elements made here.

const languages = Object.keys(WORDS);
const isOfReader = (one) => navigator.language?.toLowerCase().startsWith(one);
let language = languages.find((one) => isOfReader(one) && !WORDS[one].draft) ?? "en"; // a draft is only for who asks
let current; // the file: bytes, name, what was typed and, once checked, the result and when
let roots = [];
let told; // what was last chosen in vain: a word, and the file

const filled = (text, facts) => text.replace(/\{(\w+)\}/g, (_, key) => facts[key] ?? "");
const say = (key, facts = {}) => filled(WORDS[language][key] ?? WORDS.en[key] ?? key, facts);
const held = (map, key) => (map && Object.hasOwn(map, key) ? map[key] : undefined);
const label = (group, key) => held(LABELS[language]?.[group], key) ?? held(LABELS.en[group], key) ?? asWritten(key);

// What cannot be seen, or turns the direction of writing, is shown as its code point.
const codePoint = (letter) => `U+${letter.codePointAt(0).toString(16).toUpperCase().padStart(4, "0")}`;
const INVISIBLE = /[\p{C}\p{Zl}\p{Zp}\p{Default_Ignorable_Code_Point}]/gu;
const visible = (text) => String(text).replace(INVISIBLE, (letter) => `⟨${codePoint(letter)}⟩`);
const LONGEST = 120;
// What nobody takes for another: ASCII, its letters with marks, the other letters of languages written with them.
const isPlain = (letter) =>
  /^(?:[ -~]|[A-Za-z]\p{Mn}*)$/u.test(letter.normalize("NFD")) || "ßẞæÆœŒøØđĐðÐþÞłŁħĦŋŊ’–—€°".includes(letter);
const cutTo = (text) => (text.length > LONGEST ? [[...text].slice(0, LONGEST).join(""), "…"] : [text, ""]);

// A name as it is; letters that may be taken for others follow as code points, kept apart from the text around them.
function shown(text) {
  const [cut, more] = cutTo(text.normalize("NFC"));
  const unusual = [...cut.replace(INVISIBLE, "")].filter((letter) => !isPlain(letter));
  const whole = visible(cut) + more;
  return unusual.length ? `\u2068${whole}\u2069 (${unusual.map(codePoint).join(" ")})` : whole;
}

// Words of a stranger within a sentence of this page, in quotation marks: nothing in them can look like the end of
// those. Letters of other scripts stay, and follow as code points; other signs give way to theirs.
function quoted(text) {
  const [cut, more] = cutTo(String(text).normalize("NFC"));
  const isLetter = (one) => /^[\p{Lu}\p{Ll}\p{Lt}\p{Lo}\p{M}\p{Nd}]$/u.test(one) && !one.match(INVISIBLE);
  const letters = [...cut].map((one) => (/["„“”«»]/.test(one) ? "'" : one));
  const told = letters.map((one) => (isPlain(one) || isLetter(one) ? one : `⟨${codePoint(one)}⟩`)).join("") + more;
  const unusual = letters.filter((one) => !isPlain(one) && isLetter(one));
  const mark = say("quoted", { text: told });
  return unusual.length ? `\u2068${mark}\u2069 (${unusual.map(codePoint).join(" ")})` : mark;
}

const MOST_NAMED = 5;

// Several words of strangers: the first of them, and how many there are.
function severalQuoted(texts, each = quoted) {
  const more = texts.length > MOST_NAMED ? ` … (${texts.length})` : "";
  return texts.slice(0, MOST_NAMED).map(each).join(", ") + more;
}

const nameOf = (name) => name.map(([, text]) => shown(text)).join(", ") || "–";

// Inspector, Countersigner-2, Renewal-1: the names of fields in the file, in words.
function fieldName(title) {
  const [, kind, number] = /^([A-Z][a-z]+)(?:-(\d+))?$/.exec(title) ?? [];
  return kind && held(WORDS.en, `field.${kind}`) ? say(`field.${kind}`, { number }) : visible(title);
}

const timeText = (date) => (date ? `${new Date(date).toISOString().replace("T", " ").slice(0, 19)} UTC` : "–");
const dayText = (date) => date.toISOString().slice(0, 10);
const asWritten = (value) => (value === undefined ? "–" : value instanceof Digits ? value.text : visible(value));
const unitText = (unit) => (unit === undefined ? "" : (held(UNITS, unit) ?? visible(unit)));

function sentence({ code, facts = {} }) {
  const said = { ...facts };
  for (const [key, value] of Object.entries(facts)) {
    if (Array.isArray(value)) said[key] = nameOf(value);
    else if (value instanceof Date) said[key] = timeText(value);
    else if (key === "field") said[key] = fieldName(value);
    else if (key === "person") said[key] = shown(value);
  }
  return say(`code.${code}`, said);
}

function make(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) if (value !== undefined) made.setAttribute(key, value);
  made.append(...children.flat(3).filter((child) => child !== undefined && child !== ""));
  return made;
}

const SHAPES = { no: "M10 1.5 18.5 10 10 18.5 1.5 10Z", cannot: "M3 3H17V17H3Z" };

function mark(answer) {
  const drawing = (tag, attributes) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  };
  const svg = drawing("svg", { viewBox: "0 0 20 20", class: `mark ${answer}`, "aria-hidden": "true" });
  svg.append(answer === "yes" ? drawing("circle", { cx: 10, cy: 10, r: 7.5 }) : drawing("path", { d: SHAPES[answer] }));
  return svg;
}

const ANSWER_OF = { conforms: "yes", release: "yes", "does not conform": "no", rework: "no" };
const marked = (group, key) =>
  make("span", { class: "nowrap" }, mark(held(ANSWER_OF, key) ?? "cannot"), label(group, key));
const hashText = (text) => (text.match(/.{1,8}/g) ?? []).map((part) => make("span", {}, part));

function table(caption, heads, rows, numeric = []) {
  const kind = (i) => (numeric.includes(i) ? "number" : undefined);
  const cell = (content, i) => make(i ? "td" : "th", { scope: i ? undefined : "row", class: kind(i) }, content);
  const head = heads.map((text, i) => make("th", { scope: "col", class: kind(i) }, text));
  const body = rows.slice(0, MOST_ROWS).map((cells) => make("tr", {}, cells.map(cell)));
  const whole = make(
    "table",
    {},
    make("caption", {}, caption),
    make("thead", {}, make("tr", {}, head)),
    make("tbody", {}, body),
  );
  const left = rows.length - body.length;
  return [
    make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption }, whole),
    left ? make("p", { class: "note" }, say("rows-left", { count: left })) : "",
  ];
}

const MOST_ROWS = 5000; // of a table: more would take a browser minutes

const answerLine = (answer, word) => make("p", { class: "word" }, mark(answer.answer), word ?? say(answer.answer));
const detailOf = ({ facts }) => (facts?.detail ? make("small", {}, ` (${visible(facts.detail)})`) : "");

function question(key, answer, { word, more = [] } = {}) {
  const told = make(
    "div",
    { class: "answer" },
    answerLine(answer, word),
    make("p", {}, sentence(answer), detailOf(answer)),
    more,
  );
  return section(key, told, answer);
}

function section(key, content, answer) {
  const attributes = { class: "question", id: key, "data-answer": answer?.answer, "data-code": answer?.code };
  return make("section", attributes, make("h2", {}, say(`question.${key}`)), content);
}

// --- parts of the result

// A release slip is no report: its data are those of a day that goes on, and it speaks of one area alone.
const ofSlip = (issue) => (issue?.slip === undefined ? "" : say("result.slip", { area: quoted(issue.slip) }));

// Whose signature is still to come, as the report names him.
function stillToSign(title, { issue }) {
  const person = issue?.signers.find((one) => one.field === title);
  return person ? say("unconfirmed", { field: fieldName(title), name: quoted(person.name) }) : fieldName(title);
}

// A name that nothing confirms, set apart: it could be a sentence of its own.
function calledHimself({ field, certificate }) {
  const name = certificate.name.map(([, text]) => text).join(", ") || "–";
  return say("unconfirmed", { field: fieldName(field), name: quoted(name) });
}

const TOLD = { rework: "tally.rework", hold: "tally.hold", release: "tally.release" }; // the gravest first

// What is said of the steel, as the program says it: the verdict, what was decided of how many areas, and what nobody
// inspected.
function ofTheSteel({ verdict, areas }) {
  const inspected = areas.filter((area) => area.not_inspected === undefined);
  const missed = areas.filter((area) => area.not_inspected !== undefined).map((area) => area.id);
  const counted = Object.keys(TOLD).map((decision) => [decision, inspected.filter((area) => area.decision === decision).length]);
  const [first, ...others] = counted
    .filter(([, count]) => count)
    .map(([decision, count], i) => say(i ? "tally" : "tally.first", { count, all: inspected.length, what: say(TOLD[decision]) }));
  const part = inspected.filter(isReleasedInPart).length;
  const told = [first ?? say("tally.none"), ...others, ...(part ? [say("tally.part", { count: part })] : [])].join(", ");
  const unseen = missed.length ? `; ${say("tally.missed", { areas: severalQuoted(missed) })}` : "";
  return `${label("verdict", verdict)}: ${told}${unseen}`;
}

function head(result) {
  const { answer, key, field: whose } = headline(result);
  const [confirmed, others] = [true, false].map((is) => result.signers.filter((one) => (one.who.answer === "yes") === is));
  const about = result.signers.find((one) => one.field === whose);
  const facts = {
    who: confirmed.map((one) => nameOf(one.certificate.name)).join("; "),
    others: severalQuoted(others, calledHimself),
    field: whose ? fieldName(whose) : "",
    someone: about ? calledHimself(about) : "",
    since: timeText(about?.who.facts?.since),
  };
  const signed = result.intact.answer === "yes" && answer !== "no" && result.open.length > 0;
  const people = severalQuoted(result.open, (one) => stillToSign(one, result));
  const missing = signed ? ` ${say("open", { people })}` : "";
  const paper = result.files.submittal ? "envelope" : result.files.code === "RELEASE_PAGE" && "release-page";
  const envelope = result.intact.answer === "yes" && paper ? ` ${say(paper)}` : "";
  const verdict =
    result.data && result.intact.answer === "yes"
      ? [ofSlip(result.issue), say(result.issue?.slip === undefined ? "result" : "result.day", { verdict: ofTheSteel(result.data) })]
      : [];
  const checked = {
    file: quoted(current.name),
    size: current.size.toLocaleString(language),
    time: timeText(current.at),
  };
  return make(
    "section",
    { class: `head ${answer}`, id: "head", "data-key": key, "data-answer": answer },
    make("h1", { tabindex: "-1" }, mark(answer), say(`head.${key}`, facts), missing, envelope),
    make("p", {}, [say(`under.${key}`, facts), ...verdict.filter(Boolean).map((one) => [" ", make("strong", {}, one)])]),
    result.intact.answer === "yes" ? make("p", { class: "note" }, say("pages")) : "",
    make("p", { class: "note" }, say("checked", checked)),
    current.others ? make("p", {}, say("others", { count: current.others, file: quoted(current.name) })) : "",
    result.sha256 && make("p", { class: "note hash" }, "SHA-256 ", hashText(result.sha256)),
  );
}

function afterQuestion(result) {
  const { answer, code } = result.after;
  const word = answer === "cannot" ? undefined : say(answer === "no" ? "yes" : `after.${code}`);
  const open =
    answer === "yes" && result.open.length
      ? make("p", { class: "note" }, say("waiting", { fields: result.open.map(fieldName).join(", ") }))
      : "";
  return question("after", result.after, { word, more: [open] });
}

const isRoot = (certificate) => same(certificate.issuer, certificate.subject);

function signerPart(signer) {
  const { certificate, above } = signer;
  const [name = "–"] = namesIn(certificate.name, "CN");
  const bodies = namesIn(certificate.name, "O").map(shown).join(", ");
  const stated = [signer.reason, signer.place].filter(Boolean).map((words, i) => [
    i ? "; " : "",
    // words that the program writes are English, whatever the language of this page
    make("span", { lang: Object.values(REASONS).includes(words) ? "en" : undefined }, quoted(words)),
  ]);
  const dates = { from: dayText(certificate.from), until: dayText(certificate.until), algorithm: signer.algorithm };
  return make(
    "div",
    { class: "signer", "data-answer": signer.who.answer, "data-code": signer.who.code },
    make(
      "p",
      { class: "name" },
      make("strong", {}, shown(name)),
      bodies && `, ${bodies}`,
      " ",
      make("small", {}, fieldName(signer.field)),
    ),
    answerLine(signer.who, sentence(signer.who)),
    stated.length ? make("p", { class: "note" }, say("stated"), " ", stated) : "",
    make("p", { class: "note" }, say("fingerprint")),
    make("p", { class: "hash" }, hashText(certificate.fingerprint)),
    above
      .slice(1)
      .map((one) => [
        make("p", { class: "note" }, say(isRoot(one) ? "fingerprint.root" : "fingerprint.above", { name: nameOf(one.name) })),
        make("p", { class: "hash" }, hashText(one.fingerprint)),
      ]),
    make("p", { class: "note" }, say("issued-by", { name: nameOf(certificate.issuerName), ...dates })),
  );
}

function whoQuestion(result) {
  const field = comparison();
  const each = (kind, those, words) =>
    those.map((digits) =>
      make("div", { class: kind }, make("p", {}, make("strong", {}, say(words))), make("p", { class: "hash" }, hashText(digits))),
    );
  const [fitting, vain] = [true, false].map((is) => current.published.filter((digits) => is !== result.unmatched.includes(digits)));
  const told = [
    ...each("printed", fitting, "compared-with"),
    ...roots.map(({ name, fingerprint }) => {
      const serves = result.confirmed.includes(fingerprint);
      const word = serves ? "compared-with.root" : "compared-in-vain.root";
      return make("p", { class: serves ? "printed" : "note" }, say(word, { name: nameOf(name), digits: fingerprint }));
    }),
    ...each("vain", vain, "compared-in-vain"),
    typing.status.textContent && make("p", { class: "printed" }, typing.status.textContent),
  ];
  return section("who", make("div", { class: "answer" }, result.signers.map(signerPart), field, told));
}

// The part with the field for a fingerprint is one element for good, laid around whatever else changes: whoever types
// there keeps his place.
let typing;
function comparison() {
  if (!typing) {
    const field = make("input", {
      id: "published",
      type: "text",
      autocomplete: "off",
      spellcheck: "false",
      "aria-describedby": "published-help",
    });
    field.addEventListener("input", typed);
    const parts = [
      make("label", { for: "published" }),
      field,
      make("div", { role: "status", class: "note" }),
      make("p", { id: "published-help", class: "note" }),
    ];
    typing = { whole: make("div", { class: "compare" }, parts), field, label: parts[0], status: parts[2], help: parts[3] };
  }
  setText(typing.label, say("published"));
  setText(typing.help, say("published.help"));
  const none = typing.field.value.trim() && !current.published.length ? say("published.none") : "";
  const odd = current.odd ? say("published.digits", { count: current.odd, digits: current.left }) : none;
  const left = current.cut ? say("published.long", { count: LONGEST_PASTED }) : odd;
  setText(typing.status, current.mistyped ? say("published.letters") : left);
  return make("div", { "data-slot": "" });
}

// A status is read out when it changes, and only then.
function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

// Put `parts` in a place: around the part with the field where both have it, so that this stays where it is.
function lay(place, parts) {
  const kept = typing && [...place.children].find((one) => one.contains(typing.whole));
  const slot = parts.findIndex((one) => one.matches?.("[data-slot]") || one.querySelector?.("[data-slot]"));
  if (!kept || slot < 0) {
    place.replaceChildren(...parts);
    place.querySelector("[data-slot]")?.replaceWith(typing.whole);
    return;
  }
  for (const one of [...place.childNodes]) if (one !== kept) one.remove();
  kept.before(...parts.slice(0, slot));
  kept.after(...parts.slice(slot + 1));
  if (kept !== typing.whole) lay(kept, [...parts[slot].childNodes]);
}

const perSigner = (result, part) =>
  result.signers.map((signer) => {
    const whose = result.signers.length > 1 ? make("small", {}, ` ${fieldName(signer.field)}`) : "";
    return part(signer, whose);
  });

function namedQuestion(result) {
  const answers = perSigner(result, ({ named }, whose) => [
    make(
      "p",
      { class: "word", "data-answer": named.answer, "data-code": named.code },
      mark(named.answer),
      say(named.answer),
      whose,
    ),
    make("p", {}, sentence(named)),
  ]);
  return section("named", make("div", { class: "answer" }, answers));
}

function whenQuestion(result) {
  const answers = perSigner(result, ({ when }, whose) => [
    make(
      "p",
      { class: "word", "data-answer": when.answer, "data-code": when.code },
      mark(when.answer),
      timeText(when.facts?.time),
      whose,
    ),
    make("p", {}, sentence(when)),
  ]);
  const renewals = result.renewals.map((one) => {
    const at = one.answer === "no" ? `${timeText(one.facts.time)}. ` : "";
    const own = one.code.startsWith("RENEWAL_"); // which names field and time itself
    const reason = own ? sentence(one) : `${fieldName(one.facts.field)}: ${at}${sentence(one)}`;
    return make("p", { class: "note", "data-answer": one.answer, "data-code": one.code }, mark(one.answer), reason);
  });
  return section("when", make("div", { class: "answer" }, answers, renewals));
}

function filesQuestion(result) {
  const rows = (result.files.rows ?? []).map((row) => [
    visible(row.name),
    row.role ? say(`role.${row.role}`) : "–",
    row.sha256 ? make("span", { class: "hash" }, hashText(row.sha256)) : "–",
    say(`state.${row.state}`),
  ]);
  const heads = [say("file"), say("role"), "SHA-256", say("state")];
  const inside = rows.length
    ? make("details", {}, make("summary", {}, say("inside")), table(say("inside"), heads, rows))
    : "";
  return question("files", result.files, { more: [inside] });
}

// --- what the data say

function dataPart(result) {
  const parts = [make("h2", { class: "major" }, say("data"))];
  if (result.files.submittal) parts.push(reportsTable(result));
  else if (result.files.code === "RELEASE_PAGE") parts.push(make("p", {}, sentence(result.files)));
  else if (!result.data) parts.push(make("p", {}, say("data.unknown")));
  else parts.push(make("p", {}, say("data.lead")), ...dataTables(result.data, result.issue));
  return make("section", { id: "data" }, parts);
}

function reportsTable({ files }) {
  const whole = (text) => make("span", { class: "nowrap" }, text);
  const rows = files.rows.filter((row) => row.report);
  const heads = [say("report"), say("revision"), say("date"), say("file"), "SHA-256"];
  const cells = ({ report, name, sha256 }) => [
    whole(visible(report.number)),
    asWritten(report.revision),
    whole(asWritten(report.date)),
    visible(name),
    make("span", { class: "hash" }, hashText(sha256)),
  ];
  return table(say("reports"), heads, rows.map(cells));
}

function dataTables(data, issue) {
  const { number, revision, date } = data.report;
  const title = say("data.head", {
    number: visible(number),
    revision: asWritten(revision),
    date: visible(date),
    verdict: label("verdict", data.verdict),
  });
  const replaced = issue?.supersedes;
  return [
    make("p", { class: "big" }, mark(held(ANSWER_OF, data.verdict) ?? "cannot"), title),
    issue
      ? make(
          "p",
          { class: "note" },
          say("data.issued", { time: visible(issue.issued_at), generator: visible(issue.generator) }),
        )
      : "",
    ofSlip(issue) ? make("p", {}, ofSlip(issue)) : "",
    replaced
      ? make(
          "p",
          {},
          say("data.supersedes", { revision: asWritten(replaced.revision), reason: visible(replaced.reason) }),
        )
      : "",
    areasTable(data),
    findingsTable(data),
    data.not_evaluated.length
      ? make("p", { class: "note" }, say("data.not-evaluated", { count: data.not_evaluated.length }))
      : "",
    readingsTable(data),
  ];
}

function areasTable(data) {
  const heads = ["area", "name", "decision", "range", "mean", "unit", "locations", "reasons"].map((key) => say(key));
  const rows = data.areas.map((area) => {
    const reasons = area.reasons.map((reason) => label("finding", data.findings[Number(reason.finding?.text)]?.code));
    return [
      visible(area.id),
      visible(area.name),
      marked("decision", area.decision),
      area.minimum ? `${asWritten(area.minimum)} – ${asWritten(area.maximum)}` : "–",
      asWritten(area.mean),
      unitText(area.unit),
      `${asWritten(area.n_locations)} (${asWritten(area.required_locations)})`,
      [...new Set(reasons), ...(area.not_inspected ? [visible(area.not_inspected)] : [])].join("; "),
    ];
  });
  return table(say("areas"), heads, rows, [3, 4, 6]);
}

function findingsTable(data) {
  if (!data.findings.length) return make("p", {}, say("findings.none"));
  const heads = ["where", "finding", "stored", "clause", "nonconformance"].map((key) => say(key));
  const rows = data.findings.map((finding) => [
    Object.values(finding.place).map(visible).join(" · ") || "–",
    label("finding", finding.code),
    storedFacts(finding.facts),
    asWritten(finding.clause),
    asWritten(finding.nonconformance),
  ]);
  return table(say("findings"), heads, rows);
}

// Numbers with their units, each after the name of its member.
function storedFacts(facts, name = "") {
  const found = [];
  for (const [key, value] of Object.entries(facts)) {
    const path = name && key !== name ? `${name} ${key}` : key;
    if (value?.value instanceof Digits) found.push(`${path} ${value.value.text} ${unitText(value.unit)}`.trim());
    else if (value instanceof Digits || typeof value === "string") found.push(`${path} ${asWritten(value)}`);
    else if (value && typeof value === "object" && !Array.isArray(value)) found.push(storedFacts(value, path));
  }
  return found.map(visible).join(" · ");
}

function readingsTable(data) {
  const heads = ["area", "location", "spot", "as-read", "spot.value", "location.value", "unit", "verdict"].map((key) =>
    say(key),
  );
  const rows = [];
  for (const area of data.areas) {
    for (const location of area.locations) {
      for (const spot of location.spots) {
        const readings = spot.readings.map((one) =>
          [asWritten(one.gross), one.grade && visible(one.grade)].filter(Boolean).join(" "),
        );
        const values = [
          asWritten(spot.profile),
          asWritten(location.profile),
          unitText(area.unit),
          label("verdict", location.verdict),
        ];
        rows.push([visible(area.id), visible(location.id), visible(spot.id), readings.join(", "), ...values]);
      }
    }
  }
  return make(
    "details",
    {},
    make("summary", {}, `${say("readings")} (${rows.length})`),
    table(say("readings"), heads, rows, [4, 5]),
  );
}

function limitsPart() {
  const points = [1, 2, 3, 4, 5, 6, 7].map((number) => make("li", {}, say(`limits.${number}`)));
  return make(
    "section",
    { class: "limits", id: "limits" },
    make("h2", { class: "major" }, say("limits")),
    make("ul", {}, points),
    make("p", {}, say("limits.lead")),
    make("p", { class: "note" }, say("forged")),
  );
}

function resultParts(result) {
  const known = result.intact.answer === "yes" && !result.who;
  const lifted = result.intact.code === "UNPROVEN" ? { more: [comparison()] } : {};
  const questions = [question("intact", result.intact, lifted), afterQuestion(result)];
  if (known) questions.push(whoQuestion(result), namedQuestion(result), whenQuestion(result), filesQuestion(result));
  return [
    head(result),
    make("div", {}, questions),
    known && (result.data || result.files.answer === "yes") ? dataPart(result) : "",
    limitsPart(),
  ];
}

// --- the page

function show() {
  document.documentElement.lang = language;
  document.title = say("title");
  for (const element of document.querySelectorAll("[data-say]")) element.textContent = say(element.dataset.say);
  document.body.classList.toggle("checked", Boolean(current));
  showRoots();
  const others = languages
    .filter((one) => one !== language)
    .map((one) => button(WORDS[one].language, () => speak(one), one));
  document
    .getElementById("tools")
    .replaceChildren(...(current?.result ? [button(say("print"), () => window.print())] : []), ...others);
  const view = document.getElementById("result");
  if (!current) view.replaceChildren();
  else if (!current.result)
    view.replaceChildren(make("p", { role: "status" }, say("checking", { file: visible(current.name) })));
  else lay(view, resultParts(current.result).filter(Boolean));
}

// The roots that were given, each with what tells it from another of the same name, and a way to take it back.
function showRoots() {
  const word = told ? make("p", {}, say(told.word, { file: visible(told.file) })) : "";
  const each = roots.map((root) =>
    make(
      "li",
      {},
      make("span", {}, nameOf(root.name)),
      make("span", { class: "hash" }, hashText(root.fingerprint)),
      button(say("root.remove"), () => give(roots.filter((one) => one !== root)), undefined, nameOf(root.name)),
    ),
  );
  const given = roots.length ? [make("p", {}, say("roots")), make("ul", {}, each), make("p", {}, say("root.source"))] : "";
  document.getElementById("roots").replaceChildren(...make("div", {}, word, given).childNodes);
}

async function give(those) {
  roots = those;
  if (current?.read) await check();
  else show();
  document.getElementById("root").focus();
}

function button(text, act, lang, about) {
  const made = make("button", { type: "button", lang, "aria-label": about && `${text}: ${about}` }, text);
  made.addEventListener("click", act);
  return made;
}

function speak(one) {
  language = one;
  show();
  document.querySelector("#tools button:last-child")?.focus();
}

let turn = 0;

// Judge the current file, which was read, by what is given now; of several times begun the last one counts.
async function check() {
  const mine = ++turn;
  const file = current;
  const at = new Date();
  const result = await judge(file.read, { roots, published: file.published, unread: file.unread, now: at });
  if (mine !== turn) return;
  Object.assign(file, { at, result });
  try {
    show();
  } catch {
    Object.assign(result, { signers: [], data: undefined, intact: cannot("BROKE_OFF"), after: cannot("NOT_READ") });
    show();
  }
}

const PAUSE = 400; // milliseconds after the last key
let pause;

function typed() {
  clearTimeout(pause);
  const file = current;
  pause = setTimeout(() => {
    if (file !== current) return;
    const text = typing.field.value;
    const { published, odd, left, mistyped } = fingerprintsIn(text);
    const cut = text.length > LONGEST_PASTED;
    const unread = Boolean(odd || cut || (text.trim() && !published.length));
    const before = file.unread;
    Object.assign(file, { odd, mistyped, cut, unread, left: left.length > LONGEST ? `${left.slice(0, LONGEST)}…` : left });
    const as = (list) => list.join();
    if (as(published) === as(file.published) && unread === before) return void comparison();
    file.published = published;
    check();
  }, PAUSE);
}

// Check a file, of several the last. What was answered before goes first, and there always is a word.
async function take(files) {
  const mine = ++turn;
  const [file] = files.slice(-1);
  if (told?.word !== "no-certificate") told = undefined; // that root still lacks
  current = { name: file.name, size: file.size, others: files.length - 1, published: [], odd: 0, unread: false };
  show();
  await rest();
  const bytes = await contentOf(file);
  const certificates = bytes && (await rootsIn(bytes));
  if (mine !== turn) return;
  if (certificates) {
    // whoever brings a report could bring a root with it: a root has a place of its own
    const others = files.slice(0, -1);
    current = undefined;
    if (others.length) await take(others);
    told = { word: "dropped-root", file: file.name };
    return show();
  }
  const read = bytes ? await readReport(bytes) : { found: { ...unread, intact: cannot("UNREADABLE") } };
  if (mine !== turn) return;
  current.read = read;
  if (typing) typing.field.value = "";
  await check();
  document.querySelector("#head h1")?.focus();
}

const unread = { sha256: "", signers: [], open: [], after: cannot("NOT_READ"), files: cannot("NOT_READ") };

// Let the browser draw, and buttons work.
const rest = () => new Promise((done) => setTimeout(done));

// The bytes of a file; undefined for a folder, and for what cannot be read.
async function contentOf(file) {
  try {
    return new Uint8Array(await file.slice(0, LARGEST + 1).arrayBuffer());
  } catch {
    return undefined;
  }
}

// Take certificates as roots, each once.
async function takeRoots(files) {
  told = undefined;
  const found = [];
  for (const file of files) {
    const bytes = await contentOf(file);
    const held = bytes && (await rootsIn(bytes));
    if (held) found.push(...held);
    else told = { word: "no-certificate", file: told ? `${told.file}, ${file.name}` : file.name };
  }
  const more = found.filter((one, i) => ![...roots, ...found.slice(0, i)].some((other) => isSame(one, other)));
  await give([...roots, ...more]);
}

async function rootsIn(bytes) {
  if (bytes.length > 1 << 20) return undefined;
  try {
    return await certificatesIn(bytes);
  } catch {
    return undefined;
  }
}

function listen() {
  const zone = document.documentElement;
  const over = (is) => document.body.classList.toggle("over", is);
  zone.addEventListener("dragover", (event) => {
    event.preventDefault();
    over(true);
  });
  zone.addEventListener("dragleave", () => over(false));
  zone.addEventListener("drop", (event) => {
    event.preventDefault();
    over(false);
    const files = [...event.dataTransfer.files];
    if (files.length) take(files);
  });
  for (const id of ["report", "root"]) {
    document.getElementById(id).addEventListener("change", (event) => {
      const files = [...event.target.files];
      event.target.value = ""; // the same file can be chosen again
      if (id === "root") takeRoots(files);
      else take(files);
    });
  }
  let opened = [];
  window.addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("details:not([open])")];
    for (const one of opened) one.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const one of opened) one.open = false;
  });
}

listen();
show();
