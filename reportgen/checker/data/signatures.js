// Signatures and timestamps.
// CMS: RFC 5652; signatures of documents: ETSI EN 319 122-1 (from memory); timestamps: RFC 3161.

const [DATA, SIGNED_DATA, STAMP_INFO] = ["1.2.840.113549.1.7.1", "1.2.840.113549.1.7.2", "1.2.840.113549.1.9.16.1.4"];
const STATEMENTS = {
  "1.2.840.113549.1.9.3": "type",
  "1.2.840.113549.1.9.4": "digest",
  "1.2.840.113549.1.9.5": "time",
  "1.2.840.113549.1.9.52": "protection",
  "1.2.840.113549.1.9.16.2.47": "signer",
  "1.2.840.113549.1.9.16.2.12": "signer1",
};
const STAMP_STATEMENT = "1.2.840.113549.1.9.16.2.14";

// Read one SignedData of one signer. `data`: what is signed, where it is not inside.
// Returns what it says, or what is `wrong` about it; refuses what it does not know.
async function signedData(bytes, data) {
  const [kind, wrapped, ...after] = sequence(onlyElement(bytes));
  if (objectId(kind) !== SIGNED_DATA || after.length || want(wrapped, 0xa0).kids.length !== 1) badForm("CMS");
  const [version, hashes, content, ...rest] = sequence(wrapped.kids[0]);
  const type = objectId(sequence(content)[0]);
  const signers = rest.pop();
  const [listed] = rest;
  if (rest.length > 1 || (listed && listed.tag !== 0xa0)) badForm("CMS");
  if (hex(want(version, INTEGER).body) !== (type === DATA ? "01" : "03")) badForm("CMS");
  let inside = data;
  if (data === undefined) {
    if (content.kids.length !== 2 || want(content.kids[1], 0xa0).kids.length !== 1) badForm("CMS");
    inside = want(content.kids[1].kids[0], OCTETS).body;
  } else if (content.kids.length !== 1 || type !== DATA) {
    badForm("CMS");
  }
  const certificates = await certificatesOf(listed?.kids ?? []);
  if (new Set(certificates.map((one) => one.fingerprint)).size < certificates.length) badForm("CMS");
  if (want(signers, SET).kids.length !== 1) badForm("CMS");
  const signature = await signerInfo(signers.kids[0], certificates, type, inside);
  const [hashed, ...more] = want(hashes, SET).kids;
  if (more.length || hashOf(hashed) !== signature.hash) badForm("CMS");
  return signature;
}

async function signerInfo(node, certificates, type, data) {
  const [version, id, algorithm, statements, how, value, unsigned, ...more] = sequence(node);
  if (hex(want(version, INTEGER).body) !== "01" || more.length) badForm("CMS");
  const hash = hashOf(algorithm);
  const said = signedStatements(statements);
  // timestamps may name their certificate by SHA-1: RFC 2634; what stands beside is about the same one
  const named = said.signer ?? (type === STAMP_INFO ? said.signer1 : undefined);
  if (!said.type || objectId(said.type) !== type || !said.digest || !named) badForm("CMS");
  const [issuer, serial, ...others] = sequence(id);
  if (!issuer || others.length) badForm("CMS");
  const own = certificates.filter(
    (one) => sameName(one.issuer, issuer.all) && same(one.serial, want(serial, INTEGER).body),
  );
  if (own.length !== 1) badForm("CMS");
  const [signer] = own;
  const found = { signer, certificates, hash, type, content: data, value: want(value, OCTETS).body };
  found.how = signing(how, hash);
  found.stated = said.time && moment(said.time);
  if (found.how.hash !== hash) badForm("CMS");
  if (said.protection && !protects(said.protection, algorithm, how)) badForm("RFC 6211");
  if (type === STAMP_INFO && unsigned) badForm("RFC 3161"); // no signature covers what would stand there
  found.stamps = stampsIn(unsigned);
  for (const [statement, older] of [[said.signer, false], [said.signer1, true]]) {
    if (!statement || (await namesItself(statement, older, signer))) continue;
    const others = await some(certificates, (one) => namesItself(statement, older, one));
    return { ...found, wrong: others ? "SIGNER_MISNAMED" : "SIGNER_SWAPPED" };
  }
  if (!same(want(said.digest, OCTETS).body, await digest(hash, data))) return { ...found, wrong: "HASH" };
  const covered = Uint8Array.from(statements.all);
  covered[0] = SET; // signed as a set: RFC 5652, 5.4
  if (!(await holds(signer, found.how, found.value, covered))) return { ...found, wrong: "CRYPTO" };
  return found;
}

// Signed statements by name, each known, each there once.
function signedStatements(node) {
  const said = {};
  for (const statement of want(node, 0xa0).kids) {
    const [kind, values, ...more] = sequence(statement);
    const name = STATEMENTS[objectId(kind)] ?? badForm(objectId(kind));
    if (name in said || more.length || want(values, SET).kids.length !== 1) badForm("CMS");
    said[name] = values.kids[0];
  }
  return said;
}

// Whether the algorithms that are signed for (RFC 6211) are those in use. A parameter NULL may be there or not.
function protects(statement, hashed, how) {
  const told = (kids) => kids.map((kid) => hex(kid.all)).filter((text) => text !== "0500").join();
  const [first, second, ...more] = sequence(statement);
  if (more.length || second?.tag !== 0xa1) return false;
  return told(sequence(first)) === told(sequence(hashed)) && told(second.kids) === told(sequence(how));
}

// The timestamps on a signature: nothing else may stand where no signature covers it.
function stampsIn(unsigned) {
  if (unsigned === undefined) return [];
  const found = want(unsigned, 0xa1).kids.map((statement) => {
    const [kind, values, ...more] = sequence(statement);
    if (objectId(kind) !== STAMP_STATEMENT || more.length || want(values, SET).kids.length !== 1) badForm("CMS");
    return values.kids[0].all;
  });
  return found.length === 1 ? found : badForm("CMS");
}

// Whether the signed statement of the signer's certificate (RFC 5035) is about `signer`: by its hash and, where they are
// stated, by issuer and serial number. The first named is the signer's (5.4); those after it limit what may certify
// attributes of the signer, and no attribute is read here. A policy is not judged.
// The older statement (`older`; RFC 2634, 5.4) knows one hash, and names none.
async function namesItself(statement, older, signer) {
  const [named, ...policies] = sequence(statement);
  if (policies.length || !sequence(named).length) badForm("RFC 5035");
  const [{ hash, value, name, serial }] = named.kids.map((one) => statedIn(sequence(one), older));
  if (name && !sameName(name.all, signer.issuer) && alikeName(name.all, signer.issuer)) badForm("RFC 5035");
  if (name && !(sameName(name.all, signer.issuer) && same(serial, signer.serial))) return false;
  return same(value, await digest(hash, signer.whole));
}

// A certificate as it is stated: by its hash, and by who issued it, one name of a directory, and its number.
function statedIn(parts, older) {
  const hashed = !older && parts[0]?.tag === SEQUENCE ? hashOf(parts[0]) : undefined;
  const [value, from, ...more] = hashed ? parts.slice(1) : parts;
  const hash = hashed ?? (older ? "SHA-1" : "SHA-256");
  const size = older ? 20 : Number(hash.slice(4)) / 8;
  if (more.length || want(value, OCTETS).body.length !== size) badForm("RFC 5035");
  if (!from) return { hash, value: value.body };
  const [names, serial, ...others] = sequence(from);
  const [directory, ...further] = sequence(names);
  if (others.length || further.length || want(directory, 0xa4).kids.length !== 1) badForm("RFC 5035");
  return { hash, value: value.body, name: directory.kids[0], serial: wholeNumber(serial) };
}

// No signature covers the certificates beside it. Whoever has the name and the public key of an authority can write a
// certificate for it with any words in it, and each signature below still fits; two keys fit each signature of ECDSA.
// So each but the signer's, whose hash is signed for, is `trusted`, or issued one of the chain and is proven: one that
// is trusted issued it, through whichever authorities. Where nothing that is trusted issued the
// signer's, or one stands above what is trusted, it is proven if it signed itself, or stands below one that did, or
// below one that states another key above it which is not there, as where an authority leaves out its root; and no
// other is named as it is. `beside`: others in the file.
async function refuseUnproven({ signer, certificates }, beside, trusted) {
  const heldIn = (held, one) => held.some((other) => isSame(one, other));
  const pool = [];
  for (const one of [...certificates, ...beside, ...trusted]) if (!heldIn(pool, one)) pool.push(one);
  const alone = [];
  for (const one of pool) if (await signedItself(one)) alone.push(one);
  const [chain, anchored, grounded] = [
    await issuers([signer], certificates),
    await issuedBelow(trusted, pool),
    await issuedBelow([...alone, ...withoutRoot(pool)], pool),
  ];
  const above = heldIn(anchored, signer) ? await issuers(trusted, pool) : chain;
  const isOnly = (one) => {
    const named = pool.filter((other) => !isSame(one, other) && same(other.subject, one.subject));
    const alike = named.filter(({ key }) => same(key.whole, one.key.whole));
    const strange = named.some((other) => !alike.includes(other) && heldIn(certificates, other));
    return !strange && (heldIn(alone, one) || !alike.length);
  };
  const isProven = (one) =>
    heldIn(chain, one) && (heldIn(anchored, one) || (heldIn(grounded, one) && heldIn(above, one) && isOnly(one)));
  const textOf = (name) => name.map(([, text]) => text).join(", ");
  for (const one of certificates) {
    if (isSame(one, signer) || heldIn(trusted, one) || isProven(one)) continue;
    refuse("UNPROVEN", `${textOf(one.name)} ← ${textOf(one.issuerName)}`);
  }
}

// A timestamp by RFC 3161: when, and by whom. `wrong` is STAMP where it is sound, but not over `data`.
async function timestamp(token, data) {
  const found = await signedData(token);
  if (found.wrong) return found;
  if (found.type !== STAMP_INFO) badForm("RFC 3161");
  const [version, policy, imprint, serial, time, ...rest] = sequence(onlyElement(found.content));
  const [hash, value, ...more] = sequence(imprint);
  if (hex(want(version, INTEGER).body) !== "01" || !objectId(policy) || !wholeNumber(serial) || more.length)
    badForm("RFC 3161");
  if (!same(want(value, OCTETS).body, await digest(hashOf(hash), data))) return { ...found, wrong: "STAMP" };
  return { ...found, time: momentStamped(time), fit: stamps(found.signer), ...limitsOf(rest) };
}

// What may follow the time in a timestamp (RFC 3161, 2.4.2): by how many milliseconds that may be wrong, and who tells
// it, by one name. Beyond that, it may be qualified, as EU law has it: ETSI EN 319 422, 9.1 (from memory).
function limitsOf(rest) {
  const parts = [...rest];
  const next = (tag) => (parts[0]?.tag === tag ? parts.shift() : undefined);
  const accuracy = accuracyIn(next(SEQUENCE)?.kids ?? []);
  const [ordered, request, authority, listed] = [BOOLEAN, INTEGER, 0xa0, 0xa1].map(next);
  if (ordered) isTrue(ordered);
  if (request) wholeNumber(request);
  const named = authority?.kids.length === 1 && FORMS.ofCertificates["2.5.29.17"]({ ...authority, tag: SEQUENCE });
  if (parts.length || (authority && !named)) badForm("RFC 3161");
  const extensions = listed ? extensionsIn({ ...listed, tag: SEQUENCE }, FORMS.ofStamps) : new Map();
  for (const [id, { critical }] of extensions) if (critical || !FORMS.ofStamps[id]) badForm("RFC 3161");
  return { accuracy };
}

// Seconds, thousandths and millionths of one, each there or not, in this order; of parts there are 1 to 999.
function accuracyIn(stated) {
  const parts = [...stated];
  const sum = [[INTEGER, 1000], [0x80, 1], [0x81, 0.001]].reduce((all, [tag, milliseconds]) => {
    if (parts[0]?.tag !== tag) return all;
    const count = smallNumber({ ...parts.shift(), tag: INTEGER });
    return tag === INTEGER || (count > 0 && count < 1000) ? all + milliseconds * count : badForm("RFC 3161");
  }, 0);
  return parts.length ? badForm("RFC 3161") : sum;
}

// The time of a timestamp may have parts of a second; nothing is judged by those here. After the last second of all
// there is none: clocks round up.
function momentStamped(node) {
  const whole = latin(want(node, 0x18).body).replace(/\.\d*[1-9](?=Z$)/, "");
  const time = momentOf(node.tag, whole);
  return +time === LATEST && whole.length < node.body.length ? badForm("time") : time;
}

// Whether a certificate is for stamping the time alone, stated as critical (RFC 3161, 2.3), and may sign.
function stamps({ authority, purposes, extensions, may }) {
  const alone = purposes?.length === 1 && purposes[0] === STAMPING && extensions.get(PURPOSES).critical;
  return !authority && alone && (!extensions.has(USAGE) || SIGNS.some(may));
}
