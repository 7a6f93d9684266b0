// The questions and their answers: "yes"; "no", a contradiction was found; "cannot", something was not understood, is
// missing or proves nothing. An answer has a code, for which each language has a sentence, and facts for that.

const yes = (code, facts) => ({ answer: "yes", code, facts });
const no = (code, facts) => ({ answer: "no", code, facts });
const cannot = (code, facts) => ({ answer: "cannot", code, facts });

const MINUTE = 60e3;
const DAY = 86_400e3;
const CLOCK = 5 * MINUTE; // by how much clocks may disagree
const DEMONSTRATION = "demonstration, not valid for issue";

// What a file says by itself, whoever signed it.
async function readReport(bytes) {
  const found = {
    sha256: "",
    signers: [],
    open: [],
    intact: cannot("NOT_READ"),
    after: cannot("NOT_READ"),
    files: cannot("NOT_READ"),
  };
  if (!globalThis.crypto?.subtle || typeof DecompressionStream === "undefined")
    return { found: { ...found, intact: cannot("BROWSER") } };
  if (bytes.length > LARGEST) return { found: { ...found, intact: cannot("LIMIT") } };
  found.sha256 = hex(await digest("SHA-256", bytes));
  const file = await answered(found, "intact", () => readFile(bytes, found));
  if (found.intact.answer !== "yes") {
    if (found.after.code === "NOT_READ" && found.intact.code === "TRAILING") found.after = found.intact;
    else if (found.after.answer === "yes") found.after = cannot("NOT_READ");
    return { found };
  }
  await answered(found, "files", () => readEmbedded(file, found));
  const place = textOf(file.signatures[0].value.get("Location")) ?? "";
  const differs = (code) => ({ found: { ...found, intact: cannot(code), after: cannot("NOT_READ") } });
  if (found.unread) return differs("FACTS_UNKNOWN");
  for (const facts of [found.issue, found.stated].filter(Boolean)) {
    if (!fieldsAreTheirs(file.placed, facts.signers)) return differs("FIELDS_DIFFER");
    if (!found.files.envelope && place !== facts.site) return differs("PLACE_DIFFERS");
  }
  return { found, file };
}

// The answers on a file that was read. `roots`: certificates given; `published`: fingerprints typed; `unread`: whether
// something typed is none; `now`: the moment to judge at.
async function judge({ found, file }, { roots = [], published = [], unread = false, now = new Date() } = {}) {
  const judged = { ...found, signers: [] };
  if (!file) return judged;
  await answered(judged, "intact", () => refuseBrought(file, roots, published));
  if (judged.intact.answer !== "yes") return { ...judged, after: cannot("NOT_READ") };
  await answered(judged, "who", () => judgeSigners(file, judged, { roots, published, unread, now }));
  return judged;
}

// Refuse what a file brings along that no chain of it needs, or that nothing proves.
async function refuseBrought(file, roots, published) {
  const { signatures, store } = file;
  await refuseIdle(file, roots);
  const signed = signatures.flatMap(({ cms, tokens }) => [cms, ...tokens]);
  const held = [...signed.flatMap((one) => one.certificates), ...store.certificates];
  const typed = held.filter((one) => published.includes(one.fingerprint));
  for (const one of signed) await refuseUnproven(one, held, [...roots, ...typed]);
}

// Do a part of the work; what it refuses is its answer, and so is whatever breaks off.
async function answered(found, part, work) {
  try {
    return await work();
  } catch (fault) {
    const code = fault instanceof Refused ? fault.code : "BROKE_OFF";
    const facts = { detail: fault instanceof Refused ? fault.detail : String(fault.name) };
    found[part] = code === "TRAILING" ? no(code, facts) : cannot(code, facts);
    return undefined;
  }
}

// --- is every byte as it was signed, and was anything added?

async function readFile(bytes, found) {
  const revisions = readPdf(bytes);
  const view = new View(revisions);
  const { signatures, fields } = signaturesIn(revisions, view);
  for (const signature of signatures) {
    const wrong = await readSignature(bytes, revisions, signature);
    if (wrong) {
      found.intact = no(wrong, { field: signature.title });
      return undefined;
    }
  }
  const last = revisions.length - 1;
  const counts = signatures.at(-1).index === last ? await writeAgain(bytes, revisions, signatures) : { added: last };
  if (counts.added) {
    found.intact = found.after = no("ADDED");
    return undefined;
  }
  // a renewal adds a field of its own, written again as the others were
  const placed = fields.slice(0, fields.length - counts.renewals);
  refuseContent(revisions, view, fields);
  refuseUnreached(view);
  await refusePages(revisions, view);
  const store = await storeIn(view);
  found.after = yes(counts.renewals ? "RENEWED" : counts.countersignatures ? "COUNTERSIGNED" : "NOTHING_AFTER", counts);
  found.open = placed.filter((one) => one.open).map((one) => one.title);
  refuseDamaged(signatures);
  found.intact = yes("INTACT");
  return { view, signatures, placed, store };
}

// Read the value of a signature and the timestamp on it. Returns what contradicts itself.
async function readSignature(bytes, revisions, signature) {
  const { data, cms } = coveredBytes(bytes, revisions, signature);
  signature.tokens = [];
  if (signature.kind === "DocTimeStamp") {
    signature.cms = await timestamp(cms, data);
    return signature.cms.wrong === "STAMP" ? "HASH" : signature.cms.wrong;
  }
  signature.cms = await signedData(cms, data);
  for (const token of signature.cms.stamps) signature.tokens.push(await timestamp(token, signature.cms.value));
  return signature.cms.wrong;
}

// No signature of the report covers the timestamp on it, so one that is damaged says nothing against what was signed;
// but not every byte is as it was. A sound one over something else is for the question when.
function refuseDamaged(signatures) {
  const isDamaged = ({ wrong }) => wrong && wrong !== "STAMP";
  const found = signatures.find(({ tokens }) => tokens.some(isDamaged));
  if (found) refuse("STAMP_DAMAGED", found.title);
}

// --- do the data inside match their list?

const MANIFEST = "manifest.json";
const ROLES = {
  day: "Source",
  project: "Source",
  csv: "Source",
  "earlier-day": "Source",
  "earlier-project": "Source",
  "earlier-basis": "Source",
  evaluation: "Data",
  issue: "Data",
  readings: "Data",
  readme: "Supplement",
  slip: "Source",
  "photo-hash": undefined,
};
const MEMBERS = { 1: FILES };

const [ISSUE, SUBMITTAL, RELEASE] = ["issue.json", "submittal.json", "release.json"];

async function readEmbedded(file, found) {
  found.unread = true; // fields and place are held against the facts of the issue, whatever else is wrong
  const files = await embeddedFiles(file.view);
  const read = (name) => JsonReader.read(files.get(name).content);
  found.stated = files.has(ISSUE) ? await quietly(() => issueOf(read(ISSUE))) : undefined;
  found.unread = files.has(ISSUE) && !found.stated;
  const engineer = file.placed[0].title === "Engineer";
  if (engineer && files.has(RELEASE) && files.size === 1) {
    const page = read(RELEASE);
    found.files = isFormat(page, 1) && isReleasePage(page) ? cannot("RELEASE_PAGE") : cannot("OTHER_FORMAT");
    if (found.files.code === "RELEASE_PAGE") found.issue = issueOf(sentBy({ ...page, cover: page }));
    found.files.envelope = true;
    return;
  }
  if (files.has(SUBMITTAL) !== engineer) refuse("FILES_DISAGREE");
  if (files.has(SUBMITTAL)) {
    const list = read(SUBMITTAL);
    found.files = await compareSubmittal(list, files);
    if (found.files.answer === "yes") found.issue = issueOf(sentBy(list));
    return;
  }
  found.files = await compareFiles(files);
  if (found.files.answer !== "yes") return;
  const { evaluation, issue } = found.files;
  found.issue = issueOf(read(issue));
  const data = reportOf(read(evaluation));
  if (data && found.issue) refuseOthers(data, found.issue);
  found.data = data; // where they contradict each other, neither is believed
}

async function compareFiles(files) {
  if (!files.has(MANIFEST)) return cannot("NO_MANIFEST");
  const manifest = JsonReader.read(files.get(MANIFEST).content);
  const members = isFormat(manifest, 1) ? MEMBERS[1] : undefined;
  if (!members || !hasMembers(manifest, members)) return cannot("OTHER_FORMAT");
  const rows = [];
  const listed = new Set([MANIFEST]);
  const paths = new Set();
  for (const entry of manifest.files) {
    const embedded = entry.role !== "photo-hash";
    const known = Object.hasOwn(ROLES, entry.role) && embedded === Object.hasOwn(entry, "attachment");
    if (!known || paths.has(entry.name) || listed.has(entry.attachment)) return cannot("OTHER_FORMAT");
    paths.add(entry.name);
    if (embedded) listed.add(entry.attachment);
    rows.push(await comparedFile(entry, files.get(entry.attachment)));
  }
  const relations = [...rows, { relation: "Data", held: files.get(MANIFEST) }];
  if (relations.some((row) => row.held && row.held.relation !== row.relation)) refuse("EMBEDDED", "/AFRelationship");
  for (const name of files.keys()) if (!listed.has(name)) rows.push({ name, state: "unlisted" });
  const of = (role) => rows.filter((row) => row.role === role);
  if (of("project").length !== 1 || of("day")[0]?.name !== manifest.day || of("day").length !== 1)
    return cannot("OTHER_FORMAT");
  if (of("evaluation").length !== 1 || of("issue").length !== 1) return cannot("OTHER_FORMAT");
  const wrong = rows.filter((row) => !["same", "hash"].includes(row.state)).length;
  const answer = wrong ? no("FILES_DIFFER", { wrong }) : yes("FILES_SAME", { count: files.size });
  return {
    ...answer,
    rows,
    generator: manifest.generator,
    evaluation: of("evaluation")[0].attachment,
    issue: of("issue")[0].attachment,
  };
}

// A submittal lists whole reports: each is to be taken out and checked by itself.
async function compareSubmittal(list, files) {
  if (!isFormat(list, 1) || !isListOfReports(list)) return cannot("OTHER_FORMAT");
  const rows = [];
  for (const { file, sha256, size, number, revision, date } of list.reports) {
    const held = files.get(file);
    const row = await comparedFile({ name: file, role: "report", sha256, attachment: file }, held);
    if (row.state === "same" && held.content.length !== Number(digitsOf(size))) row.state = "differs";
    if (row.state === "same" && latin(held.content.subarray(0, 5)) !== "%PDF-") row.state = "no-report";
    rows.push({ ...row, report: { number, revision: digitsOf(revision), date } });
  }
  const listed = new Set([SUBMITTAL, ...rows.map((row) => row.name)]);
  for (const name of files.keys()) if (!listed.has(name)) rows.push({ name, state: "unlisted" });
  if (listed.size !== list.reports.length + 1) return cannot("OTHER_FORMAT");
  const wrong = rows.filter((row) => row.state !== "same").length;
  return {
    ...(wrong ? no("FILES_DIFFER", { wrong }) : yes("REPORTS_SAME", { count: rows.length })),
    rows,
    submittal: true,
    envelope: true,
  };
}

// What the cover of a submittal, or a release page, says of its sender, as the facts of an issue say it of signers.
function sentBy({ format, issued_at, generator, cover = {} }) {
  const sender = { field: "Engineer", name: cover.signer, role: cover.role, organisation: cover.organisation };
  return { format, issued_at, generator, status: cover.status, signers: [sender] };
}

async function comparedFile({ name, role, sha256, attachment }, held) {
  const row = { name, role, sha256, attachment, relation: ROLES[role], held };
  if (role === "photo-hash") return { ...row, state: "hash" };
  if (!held) return { ...row, state: "missing" };
  return { ...row, state: hex(await digest("SHA-256", held.content)) === sha256 ? "same" : "differs" };
}

// The evaluation and the facts of the issue, of each format there is; undefined for a later one.
// What they call by words, they call by these: any other could be a sentence of its own where it is shown.
const VERDICTS = ["conforms", "does not conform", "inconclusive", "not evaluated"];
const DECISIONS = ["release", "hold", "rework"];
const MOMENT = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)(?:Z|[+-]([01]\d|2[0-3]):[0-5]\d)$/;

function reportOf(data) {
  if (!isFormat(data, 1) || !data.report) return undefined;
  const areas = Array.isArray(data.areas) ? data.areas : refuse("EMBEDDED", "areas");
  const judged = [data, ...areas, ...areas.flatMap((one) => one.locations ?? [])].map((one) => one.verdict);
  if (judged.some((one) => !VERDICTS.includes(one))) refuse("EMBEDDED", "verdict");
  if (areas.some((one) => !DECISIONS.includes(one.decision))) refuse("EMBEDDED", "decision");
  return data;
}

// A number as it is written, of what is a number.
const digitsOf = (value) => (value instanceof Digits ? value.text : undefined);
const isFormat = ({ format }, number) => digitsOf(format) === String(number);

// A report replaces the revision right before its own; the first of them, none.
function replacesAnEarlier({ revision, supersedes }) {
  const replaced = digitsOf(supersedes?.revision);
  return supersedes === undefined || (isWhole(replaced ?? "") && Number(replaced) < Number(digitsOf(revision)));
}

function issueOf(facts) {
  if (!isFormat(facts, 1)) return undefined;
  const parts = MOMENT.exec(facts.issued_at)?.slice(1, 7).map(Number);
  const sound = parts && dateOf(parts) && Array.isArray(facts.signers) && replacesAnEarlier(facts);
  return sound ? facts : refuse("EMBEDDED", "issue.json");
}

// The evaluation follows from the job, and the program computes it again: its number, and whom it names to sign, are
// the job's. A statement of issue that says otherwise is somebody else's. A slip is signed by the first of them alone.
function refuseOthers(data, issue) {
  const told = (one) => [one.number, digitsOf(one.revision), one.date].join();
  const named = Array.isArray(data.signers) ? data.signers : [];
  const expected = issue.slip === undefined ? named : named.slice(0, 1);
  // a slip is of one area of its day, and lets it be primed: none of that is primed yet
  const primed = (data.coating_times ?? []).filter((one) => one.hours !== undefined).map((one) => one.area);
  const free = data.areas.filter((one) => isReleasedWhole(one) && !primed.includes(one.id));
  if (issue.slip !== undefined && !free.some((one) => one.id === issue.slip)) refuse("FILES_DISAGREE");
  if (told(data.report) !== told(issue) || inOrder(expected) !== inOrder(issue.signers)) refuse("FILES_DISAGREE");
}

const isReleasedWhole = (area) =>
  area.decision === "release" && !isReleasedInPart(area) && area.not_inspected === undefined;

// Whether a release is of what was cleaned alone: less than the size of the area.
function isReleasedInPart({ decision, cleaned }) {
  const [done, size] = [cleaned?.by_now, cleaned?.size].map((one) => Number(digitsOf(one?.value)));
  return decision === "release" && cleaned?.size !== undefined && !(done >= size);
}

// A value as one text, whatever the order of its members.
function inOrder(value) {
  if (Array.isArray(value)) return `[${value.map(inOrder)}]`;
  if (value instanceof Digits) return value.text;
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  const members = Object.keys(value).sort();
  return `{${members.map((key) => `${JSON.stringify(key)}:${inOrder(value[key])}`)}}`;
}

// --- who signed, and when?

async function judgeSigners(file, found, given) {
  const { signatures, store } = file;
  given.authorities = await authoritiesAmong(given.roots);
  // a certificate chosen in place of its authority's would take that one's limits away; a fingerprint typed names whom
  const held = signatures.flatMap(({ cms, tokens }) => [cms, ...tokens]).flatMap((one) => one.certificates);
  const named = [...held, ...store.certificates].filter((one) => given.published.includes(one.fingerprint));
  given.trusted = [...given.authorities, ...named];
  for (const signature of signatures) signature.above = await keysAbove(signature, store, given);
  found.compared = Boolean(given.authorities.length || given.published.length);
  const moments = await momentsOf(file, given);
  const misdated = moments.told.filter((one) => MISDATED.includes(one.code));
  found.intact = { ...(misdated.find((one) => one.answer === "no") ?? misdated[0] ?? found.intact) };
  for (const [place, signature] of signatures.entries()) {
    if (signature.kind === "DocTimeStamp") continue;
    found.signers.push({ order: place, ...(await judgeSigner(signature, moments[place], store, given)) });
  }
  found.renewals = moments.told;
  // what was typed says who signed only where it is of who is confirmed, or of what stands above him
  found.confirmed = found.signers.flatMap((one) => one.path ?? []);
  found.unmatched = given.published.filter((digits) => !found.confirmed.includes(digits));
  found.typed = given.published.length ? "read" : given.unread ? "unread" : undefined;
  // of the report, that has to be so; of who came after it, where something typed is of nobody
  const [first, ...later] = found.signers;
  const asked = [first, ...(found.unmatched.length ? later.filter((one) => one.path) : [])];
  found.fits = asked.every((one) => given.published.some((digits) => one?.path?.includes(digits)));
  nameSigners(found);
  found.signers.forEach(doubtWhoNamed);
  compareTimes(found);
}

// The keys of all that stand above a signer. Whoever holds one of them makes a clock of his own below it.
async function keysAbove({ cms }, store, given) {
  const chain = await issuers([cms.signer], [...cms.certificates, ...store.certificates, ...given.trusted]);
  return chain.slice(1).map(({ key }) => key.whole);
}

// At which moment each signature is judged: the newest renewal now, what a renewal covers at the moment it proves.
async function momentsOf({ signatures, store }, given) {
  const moments = [];
  moments.told = [];
  let reached = { at: given.now };
  // none of those who signed proves when they did
  store.signing = signatures.filter(({ kind }) => kind !== "DocTimeStamp").map(({ cms }) => cms.signer.key.whole);
  for (let place = signatures.length - 1; place >= 0; place--) {
    const { kind, cms, title } = signatures[place];
    moments[place] = reached;
    if (kind !== "DocTimeStamp") continue;
    const people = signatures.slice(0, place).filter((one) => one.kind !== "DocTimeStamp");
    const above = people.flatMap((one) => one.above);
    const { doubt, since, states } = await stampDoubt(cms, above, given, store, reached.at);
    const counts = !doubt || states;
    const late = cms.time > +reached.at + CLOCK; // whoever says so
    const early = people.some((one) => statedTime(textOf(one.value.get("M")))?.at > +cms.time + CLOCK);
    const answer = late ? lateBy(reached) : doubt ? cannot(doubt) : yes("RENEWAL_PROVES");
    const facts = { field: title, time: cms.time, stamped: cms.time, by: cms.signer.name, since };
    moments.told.push({ ...answer, facts, order: place, proven: counts ? cms.time : undefined });
    if (!late && !early && !doubt) reached = { at: new Date(Math.min(latestOf(cms), reached.at)), by: cms.signer.name };
  }
  return moments;
}

// What a time is that lies after the moment reached: after what covers it, or after now by a clock that may be wrong.
const lateBy = ({ by }) => (by ? no("RENEWAL_LATE") : cannot("RENEWAL_FUTURE"));
const MISDATED = ["RENEWAL_LATE", "RENEWAL_FUTURE"];

// The latest moment that a timestamp may be of, as its authority says: RFC 3161, 2.4.2.
const latestOf = ({ time, accuracy }) => new Date(+time + accuracy);

// Why a timestamp proves nothing, judged at the moment `at`, and since when a certificate of its chain is revoked; and
// whether its authority, which is trusted, `states` its time all the same: that can contradict. `above`: keys that stand
// above whom it speaks for.
async function stampDoubt(stamp, above, given, store, at) {
  const others = [...stamp.certificates, ...store.certificates];
  const trusted = await authoritiesAmong(given.trusted);
  const path = await chainOf(stamp.signer, others, trusted, at, STAMPING_PURPOSES);
  if (!path.root) return path;
  if (!stamp.fit) return { doubt: "STAMP_UNFIT" };
  const chain = await issuers(path.path, [...others, ...trusted]);
  const among = (keys) => chain.some(({ key }) => keys.some((one) => same(one, key.whole)));
  if (among(store.signing)) return { doubt: "STAMP_OWN_KEY" };
  const since = await revokedSince(path.path, store);
  if (since && since <= at) return { doubt: "REVOKED", since };
  if (stamp.accuracy > CLOCK) return { doubt: "STAMP_COARSE" };
  if (!alive(stamp.signer, stamp.time)) return { doubt: "STAMP_DATES", states: true };
  return among(above) ? { doubt: "STAMP_OWN_HOUSE", states: true } : {};
}

async function judgeSigner(signature, reached, store, given) {
  const { cms, title, value } = signature;
  const { signer } = cms;
  const others = [...cms.certificates, ...store.certificates];
  const text = (key) => textOf(value.get(key));
  const judged = {
    field: title,
    certificate: signer,
    reason: text("Reason"),
    place: text("Location"),
    above: await issuers([signer], others),
  };
  judged.algorithm = `${cms.how.kind === "ECDSA" ? `ECDSA ${CURVES[signer.key.curve][0]}` : cms.how.kind}, ${cms.hash}`;
  judged.claimed = statedTime(text("M"))?.at;
  judged.when = await judgeTime(signature, judged.claimed, reached, store, given);
  judged.who = await judgeCertificate(judged, others, store, reached, given);
  return judged;
}

async function judgeTime({ cms, tokens, above }, claimed, reached, store, given) {
  const { now } = given;
  if (!claimed) return cannot("NO_TIME");
  if (cms.stated && Math.abs(cms.stated - claimed) >= 1000) return no("TWO_TIMES", { time: claimed, stamped: cms.stated });
  if (claimed > +now + CLOCK) return no("IN_FUTURE", { time: claimed });
  if (!alive(cms.signer, claimed)) return no("OUTSIDE_LIFE", { time: claimed });
  const [token] = tokens;
  const renewed = reached.by ? yes("PROVEN_SINCE", { time: claimed, stamped: reached.at, by: reached.by }) : undefined;
  if (!token) return renewed ?? cannot("CLAIMED", { time: claimed });
  const by = token.signer.name;
  if (token.wrong) return cannot("STAMP_WRONG", { time: claimed, by }); // anyone can put one of another there
  const facts = { time: claimed, stamped: token.time, by };
  const { doubt, since, leads, states } = await stampDoubt(token, above, given, store, reached.at);
  if (since) return renewed ?? cannot("STAMP_REVOKED", { ...facts, since });
  if (doubt && !states) return renewed ?? cannot(stampCode(doubt, token, leads, given), facts);
  if (token.time > +now + CLOCK) return cannot("STAMP_FUTURE", facts);
  if (claimed > +token.time + CLOCK) return no("AFTER_STAMP", facts);
  if (token.time - claimed > DAY) return cannot("LATE_STAMP", facts);
  if (doubt) return { ...(renewed ?? cannot(doubt, facts)), stamped: token.time };
  return { ...yes("PROVEN", { ...facts, time: token.time }), stamped: token.time, proven: latestOf(token) };
}

// What is told of a timestamp in doubt. One under no root given is a stranger's, unless its certificate fits nothing;
// one that leads there through a certificate that is not as it should be is not called a stranger's.
function stampCode(doubt, { fit }, leads, { roots, published }) {
  if (doubt.startsWith("STAMP_")) return doubt;
  if (!fit) return "STAMP_UNFIT";
  if (leads) return doubt === "CHAIN_DATES" ? "STAMP_DATES" : "STAMP_CHAIN";
  return published.length && !roots.length ? "STAMP_NOT_TYPED" : "STAMP_UNKNOWN";
}

async function judgeCertificate(judged, others, store, reached, given) {
  const { certificate } = judged;
  const { trusted } = given;
  const { name, issuerName, purposes } = certificate;
  const at = judged.when.proven ?? reached.at;
  const fit =
    !certificate.authority &&
    SIGNS.some(certificate.may) &&
    (!purposes || purposes.some((one) => SIGNING_PURPOSES.includes(one)));
  const path = trusted.length ? await chainOf(certificate, others, trusted, at, SIGNING_PURPOSES) : {};
  judged.leads = Boolean(path.root || path.leads);
  judged.ends = await some(judged.above, signedItself); // at a root of its own
  if ([...name, ...issuerName].some(([kind, text]) => kind === "O" && text === DEMONSTRATION))
    return cannot("DEMONSTRATION");
  if (!fit) return cannot("UNFIT");
  if (!trusted.length && given.roots.length) return cannot("NO_AUTHORITY");
  if (!trusted.length) return cannot(given.published.length ? "FINGERPRINT_DIFFERS" : "NOT_COMPARED");
  if (!path.root) return cannot(path.doubt);
  const since = await revokedSince([...path.path, ...judged.above], store);
  if (since && !(at < since && (judged.when.proven || reached.by))) return cannot("REVOKED", { since });
  // all that stands above him, wherever trust begins
  judged.path = (await issuers([certificate], [...others, ...given.roots])).map((one) => one.fingerprint);
  return isSame(path.root, certificate) ? yes("FINGERPRINT") : yes("CHAIN", { root: path.root.name });
}

// --- is the signer whom the report names?

const UNSEEN = /[\p{C}\p{Zl}\p{Zp}]/u;

// One letter without its case: full case folding, as Unicode has it (CaseFolding.txt, C and F). The way over capitals
// goes astray for two: the letter ı, which has no capital of its own, and Cherokee, which is folded to capitals.
function folded(letter) {
  if (letter === "ı") return letter;
  return /\p{Script=Cherokee}/u.test(letter) ? letter.toUpperCase() : letter.toLowerCase().toUpperCase().toLowerCase();
}

// How a name is compared: composed, in small letters, blanks joined; undefined where it has what no page shows.
function spelling(name) {
  if (UNSEEN.test(name)) return undefined;
  const small = [...name.normalize("NFC")].map(folded).join("").normalize("NFC");
  return small.split(/\s+/u).filter(Boolean).join(" ");
}

const alike = (one, other) => spelling(one) !== undefined && spelling(one) === spelling(other);

function nameSigners(found) {
  if (!found.issue || !(found.data || found.files.envelope)) {
    for (const signer of found.signers) signer.named = cannot("NAMES_UNKNOWN");
    return;
  }
  for (const signer of found.signers) {
    const person = found.issue.signers.find((one) => one.field === signer.field);
    signer.named = namedBy(person, signer, found);
  }
  oneKeyEach(found.signers);
}

// Whether the fields to sign are those of the people whom the report names, in their order and described as theirs.
// The first is described by the name in its signer's certificate, which is compared by itself.
function fieldsAreTheirs(placed, people) {
  const described = ({ role, name }) => `Countersignature of the ${role}, ${name}`;
  return (
    placed.length === people.length &&
    placed.every((one, i) => one.title === people[i].field && (i === 0 || one.description === described(people[i])))
  );
}

function namedBy(person, signer, found) {
  const names = namesIn(signer.certificate.name, "CN");
  const bodies = namesIn(signer.certificate.name, "O");
  const facts = { person: person.name };
  const pin = person.signs_with;
  const own = signer.certificate.fingerprint.toLowerCase();
  const first = signer === found.signers[0];
  if (first && found.issue.certificate && found.issue.certificate !== own) return no("NAMED_ANOTHER", facts);
  // the report's own pin narrows and makes nobody another: whoever signs could write it
  if (pin?.certificate && pin.certificate !== own) return no("NAMED_ANOTHER", facts);
  if (pin && !pin.certificate) return cannot("NAMED_BY_ISSUER", facts);
  if (names.length !== 1 || !alike(names[0], person.name)) return cannot("NAMED_OTHERWISE", facts);
  const body =
    !person.organisation ||
    bodies.join() === DEMONSTRATION ||
    (bodies.length === 1 && alike(bodies[0], person.organisation));
  return body ? yes(pin ? "NAMED_PINNED" : "NAMED", facts) : cannot("NAMED_OTHERWISE", facts);
}

// Names that agree say who signed only where something confirms whose certificate it is: anyone makes one of any name.
function doubtWhoNamed(signer) {
  const { who, named } = signer;
  if (named.answer === "yes" && who.answer !== "yes") signer.named = cannot("NAMES_AGREE", named.facts);
}

// Each field belongs to one person, each key to one.
function oneKeyEach(signers) {
  const keys = new Set();
  for (const signer of signers) {
    const key = hex(signer.certificate.key.whole);
    if (keys.has(key)) signer.named = no("SIGNED_TWICE");
    keys.add(key);
  }
}

// What report and signatures say of the time.
function compareTimes(found) {
  const [first, ...others] = found.signers;
  const stated = found.issue && Date.parse(found.issue.issued_at);
  if (first.claimed && Number.isFinite(stated) && Math.abs(stated - first.claimed) >= 1000) {
    first.when = no("ISSUED_AT_OTHER_TIME", { time: first.claimed });
  }
  for (const one of others) {
    if (one.claimed && first.claimed && one.claimed < first.claimed)
      one.when = no("BEFORE_REPORT", { time: one.claimed });
  }
  compareOrder(found);
}

// What a later revision brings was not there before an earlier one: where its time lies before, one of the two is
// wrong. Of two that are merely claimed neither proves anything.
function compareOrder({ signers, renewals }) {
  const dated = [
    ...signers.map((one) => ({ one, at: one.claimed, claim: true })),
    ...signers.map((one) => ({ one, at: one.when.stamped })),
    ...renewals.map((one) => ({ one, at: one.proven })),
  ].filter(({ at }) => at);
  for (const later of dated) {
    for (const earlier of dated) {
      if (earlier.one.order >= later.one.order || (earlier.claim && later.claim)) continue;
      if (+later.at + CLOCK >= earlier.at) continue;
      contradict(later, "BEFORE_EARLIER", earlier.at);
      contradict(earlier, "AFTER_LATER", later.at);
    }
  }
}

function contradict({ one, at }, code, stamped) {
  if (!one.when && one.answer !== "no") Object.assign(one, no(code, { ...one.facts, time: at, stamped }));
  else if (one.when && one.when.answer !== "no") one.when = { ...no(code, { time: at, stamped }), stamped: one.when.stamped };
}

// --- all in one line

const IN_DOUBT = ["NO_TIME", "LATE_STAMP", "STAMP_FUTURE", "STAMP_WRONG"];

// What is wrong with a certificate itself, so that comparing digits is of no help.
const FAULTS = {
  REVOKED: { key: "revoked" },
  UNFIT: { key: "unfit" },
  CHAIN_ISSUER: { key: "unfit" },
  CHAIN_DATES: { key: "dates" },
  CHAIN_UNKNOWN: { key: "limits" },
  NO_AUTHORITY: { key: "authority" },
};

// The weakest of the answers: its key in the words, and what it weighs. A time merely claimed does not weaken it. A
// doubt about the time of one who came after the report and is not confirmed takes away nobody else's name.
function headline(found) {
  const whole = headlineOf(found);
  // it repeats what a report says, which is not compared here
  if (whole.key === "signed" && found.files.answer !== "yes") return { answer: "cannot", key: "release" };
  if (whole.key !== "time") return whole;
  const [first, ...others] = found.signers;
  const timed = others.map((one) => (one.who.answer === "yes" ? one : { ...one, when: cannot("CLAIMED") }));
  const rest = headlineOf({ ...found, signers: [first, ...timed] });
  return rest.key === "partly" ? { ...whole, key: "partly-time" } : whole;
}

function headlineOf(found) {
  const times = [...found.signers.map((one) => one.when), ...(found.renewals ?? [])];
  const contradicted = times.some((one) => one?.answer === "no");
  if (MISDATED.includes(found.intact.code))
    return { answer: contradicted ? "no" : found.intact.answer, key: "renewal" };
  if (found.intact.answer === "no") return { answer: "no", key: "altered" };
  if (found.intact.code === "NOT_SIGNED") return { answer: "cannot", key: "unsigned" };
  if (found.intact.answer !== "yes") return { answer: "cannot", key: "unknown" };
  if (found.who) return { answer: "cannot", key: "unknown" };
  if (contradicted) return { answer: "no", key: "time" };
  const other = found.signers.find((one) => one.named.answer === "no");
  if (other) return { answer: "no", key: "another", field: other.field };
  if (times.some((one) => IN_DOUBT.includes(one.code))) return { answer: "cannot", key: "time" };
  const listed = found.files.answer === "yes" || found.files.code === "RELEASE_PAGE";
  if (!listed) return { answer: found.files.answer, key: "files" };
  if (found.issue && !["issue", "demonstration"].includes(found.issue.status)) return { answer: "no", key: "unissued" };
  const [first] = found.signers;
  const confirmed = found.signers.filter((one) => one.who.answer === "yes");
  if (first.who.code === "DEMONSTRATION") return { answer: "cannot", key: "demonstration" };
  // a trusted authority revoked it: told whoever holds it; another fault where the report itself was signed so, and a
  // fault of a chain where that leads to what was given: else it is a stranger's
  const revoked = found.signers.find((one) => one.who.code === "REVOKED");
  const own = Object.hasOwn(FAULTS, first.who.code) && (first.leads || !first.who.code.startsWith("CHAIN_"));
  const faulty = revoked ?? (own ? first : undefined);
  if (faulty) return { answer: "cannot", ...FAULTS[faulty.who.code], field: faulty.field };
  // whoever countersigns comes after the report: what he brings makes nobody else a stranger, and confirms nobody else
  if (!confirmed.length) {
    if (!found.compared || found.signers.some((one) => one.leads)) return { answer: "cannot", key: "who" };
    // a chain that ends at another root leads nowhere else; one that breaks off before may
    const elsewhere = found.signers.every((one) => one.ends);
    return elsewhere ? { answer: "cannot", key: "stranger" } : { answer: "cannot", key: "absent" };
  }
  if (first.who.answer !== "yes") return { answer: "cannot", key: "countersigned" };
  if (found.typed === "unread") return { answer: "cannot", key: "unread" };
  if (found.typed && !found.fits) return { answer: "cannot", key: "torn" };
  if (found.issue?.status === "demonstration") return { answer: "cannot", key: "demonstration" };
  if (confirmed.some((one) => one.named.answer !== "yes")) return { answer: "cannot", key: "named" };
  if (confirmed.length < found.signers.length) return { answer: "cannot", key: "partly" };
  return { answer: "yes", key: "signed" };
}
