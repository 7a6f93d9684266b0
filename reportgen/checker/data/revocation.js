// Lists of revoked certificates (RFC 5280, 5) and answers about some (RFC 6960), each read to its last byte.

// Extensions of what only those who know all that is critical in it may go by.
function knownExtensions(listed, forms) {
  for (const [id, { critical }] of extensionsIn(listed, forms)) if (critical && !forms[id]) badForm(id);
}

// A list of revoked certificates: who issued it, its date, and when each serial number was revoked.
function revocationList(bytes) {
  const [statement, algorithm, value, ...more] = sequence(onlyElement(bytes));
  const parts = [...sequence(statement)];
  if (more.length) badForm("CRL"); // nobody signed that
  const second = parts[0]?.tag === INTEGER && hex(parts.shift().body) === "01";
  const [inner, issuer, date, ...rest] = parts;
  if (!inner || !algorithm || !same(inner.all, algorithm.all)) badForm("CRL");
  readAlgorithm(inner);
  nameParts(issuer);
  if (isMoment(rest[0])) moment(rest.shift()); // when the next one comes
  const entries = new Map();
  const revoked = rest[0]?.tag === SEQUENCE ? rest.shift().kids : [];
  for (const entry of revoked) {
    const [serial, since, extensions, ...others] = sequence(entry);
    const number = hex(wholeNumber(serial));
    if (others.length || entries.has(number) || (extensions && !second)) badForm("CRL");
    if (extensions) knownExtensions(extensions, FORMS.ofEntries);
    entries.set(number, moment(isMoment(since) ? since : badForm("CRL")));
  }
  const [listed, ...others] = rest;
  if (others.length || (listed && (!second || listed.tag !== 0xa0 || listed.kids.length !== 1))) badForm("CRL");
  if (listed) knownExtensions(listed.kids[0], FORMS.ofLists);
  return {
    statement: statement.all,
    algorithm,
    signature: bitString(value),
    issuer: issuer.all,
    date: moment(isMoment(date) ? date : badForm("CRL")),
    entries,
  };
}

const isMoment = (node) => node?.tag === 0x17 || node?.tag === 0x18;

async function listIsOf(list, issuer) {
  return (
    sameName(list.issuer, issuer.subject) &&
    quietly(() => holds(issuer, signing(list.algorithm), list.signature, list.statement))
  );
}

async function quietly(work) {
  try {
    return await work();
  } catch (fault) {
    if (fault instanceof Refused) return false;
    throw fault;
  }
}

// An answer, which may be about several certificates.
async function revocationAnswer(bytes) {
  const [status, wrapped, ...after] = sequence(onlyElement(bytes));
  if (!status || hex(status.all) !== "0a0100" || after.length) badForm("OCSP");
  const [kind, response, ...beside] = sequence(within(wrapped, 0xa0));
  if (objectId(kind) !== "1.3.6.1.5.5.7.48.1.1" || beside.length) badForm("OCSP");
  const [statement, algorithm, value, brought, ...more] = sequence(onlyElement(want(response, OCTETS).body));
  if (more.length) badForm("OCSP");
  readAlgorithm(algorithm);
  // a version is stated where it is another than the first, which alone is known
  const [responder, produced, singles, listed, ...others] = sequence(statement);
  if (responder?.tag === 0xa1) nameParts(within(responder, 0xa1));
  else if (want(within(responder, 0xa2), OCTETS).body.length !== 20) badForm("OCSP"); // by SHA-1: 4.2.1
  moment(want(produced, 0x18));
  if (others.length || !sequence(singles).length) badForm("OCSP");
  if (listed) knownExtensions(within(listed, 0xa1), FORMS.ofAnswers);
  const certificates = await certificatesOf(brought ? sequence(within(brought, 0xa0)) : []);
  return {
    statement: statement.all,
    algorithm,
    signature: bitString(value),
    words: singles.kids.map(wordOf),
    certificates,
  };
}

// The one element in another of this tag.
const within = (node, tag) => (want(node, tag).kids.length === 1 ? node.kids[0] : badForm("OCSP"));

// What an answer says of one certificate, and which.
function wordOf(single) {
  const [about, state, date, ...rest] = sequence(single);
  const [hash, issuerName, issuerKey, serial, ...more] = sequence(about);
  moment(want(date, 0x18));
  if (rest[0]?.tag === 0xa0) moment(want(within(rest.shift(), 0xa0), 0x18)); // when the next one comes
  if (rest[0]?.tag === 0xa1) knownExtensions(within(rest.shift(), 0xa1), FORMS.ofWords);
  if (more.length || rest.length) badForm("OCSP");
  return {
    hash: plainAlgorithm(hash) === "1.3.14.3.2.26" ? "SHA-1" : hashOf(hash),
    issuerName: want(issuerName, OCTETS).body,
    issuerKey: want(issuerKey, OCTETS).body,
    serial: wholeNumber(serial),
    revoked: revokedBy(state),
  };
}

// Since when something is revoked, by its state: good and unknown are empty.
function revokedBy(state) {
  if (!state) badForm("OCSP");
  if (["8000", "8200"].includes(hex(state.all))) return undefined;
  const [since, reason, ...more] = want(state, 0xa1).kids;
  if (more.length || (reason && !isReason(want(within(reason, 0xa0), ENUMERATED).body))) badForm("OCSP");
  return moment(want(since, 0x18));
}

// What an answer says of `one`: all of it by `issuer`, or by one whom that certified for nothing but this.
async function wordsAbout(answer, one, issuer) {
  if (!same(one.issuer, issuer.subject)) return [];
  const found = [];
  for (const word of answer.words) {
    const named = same(word.issuerName, await digest(word.hash, issuer.subject));
    const known = named && same(word.issuerKey, await digest(word.hash, issuer.key.value));
    if (known && same(word.serial, one.serial)) found.push(word);
  }
  return found.length && (await answersFor(answer, issuer)) ? found : [];
}

async function answersFor(answer, issuer) {
  const responders = [issuer];
  for (const held of answer.certificates) {
    if (held.purposes?.includes("1.3.6.1.5.5.7.3.9") && (await issued(issuer, held))) responders.push(held);
  }
  for (const held of responders) {
    if (await quietly(() => holds(held, signing(answer.algorithm), answer.signature, answer.statement))) return true;
  }
  return false;
}

// When the first of a chain was revoked, by what the file itself brings; undefined where nothing says so.
async function revokedSince(path, store) {
  const moments = [];
  for (let i = 0; i + 1 < path.length; i++) {
    for (const list of store.lists) {
      const since = list.entries.get(hex(path[i].serial));
      if (since && (await listIsOf(list, path[i + 1]))) moments.push(since);
    }
    for (const answer of store.answers) {
      for (const word of await wordsAbout(answer, path[i], path[i + 1])) if (word.revoked) moments.push(word.revoked);
    }
  }
  return moments.length ? new Date(Math.min(...moments)) : undefined;
}
