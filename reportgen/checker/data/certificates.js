// Certificates, read strictly; the arithmetic is the browser's own (WebCrypto).
// Certificates: RFC 5280. Algorithms: RFC 4055, 5480, 8410.

const HASHES = {
  "2.16.840.1.101.3.4.2.1": "SHA-256",
  "2.16.840.1.101.3.4.2.2": "SHA-384",
  "2.16.840.1.101.3.4.2.3": "SHA-512",
};
const CURVES = { "1.2.840.10045.3.1.7": ["P-256", 32], "1.3.132.0.34": ["P-384", 48], "1.3.132.0.35": ["P-521", 66] };
const [RSA, PSS, EC_KEY, ED25519] = [
  "1.2.840.113549.1.1.1",
  "1.2.840.113549.1.1.10",
  "1.2.840.10045.2.1",
  "1.3.101.112",
];
const SIGNING = {
  "1.2.840.113549.1.1.11": ["RSA", "SHA-256"],
  "1.2.840.113549.1.1.12": ["RSA", "SHA-384"],
  "1.2.840.113549.1.1.13": ["RSA", "SHA-512"],
  "1.2.840.10045.4.3.2": ["ECDSA", "SHA-256"],
  "1.2.840.10045.4.3.3": ["ECDSA", "SHA-384"],
  "1.2.840.10045.4.3.4": ["ECDSA", "SHA-512"],
};

const RSA_SHA1 = "1.2.840.113549.1.1.5";

// The name of an algorithm that has no parameters, or NULL; those of elliptic curves have none: RFC 5758, 8410.
function plainAlgorithm(node) {
  const kids = sequence(node);
  const id = objectId(kids[0]);
  const bare = id === ED25519 || id.startsWith("1.2.840.10045.4.");
  if (kids.length !== 1 && !(kids.length === 2 && hex(kids[1].all) === "0500" && !bare)) badForm("ASN.1");
  return id;
}

const hashOf = (node) => HASHES[plainAlgorithm(node)] ?? refuse("ALGORITHM");

// How a signature was made: kind and hash, and the salt of RSA-PSS. `hashed`: the hash where the algorithm names none.
function signing(node, hashed) {
  if (objectId(sequence(node)[0]) === PSS) return pssSigning(node);
  const id = plainAlgorithm(node);
  if (id === ED25519) {
    if (hashed && hashed !== "SHA-512") refuse("ALGORITHM", "Ed25519"); // RFC 8419, 3.1
    return { kind: "Ed25519", hash: hashed };
  }
  if (id === RSA) return { kind: "RSA", hash: hashed ?? refuse("ALGORITHM") };
  const [kind, hash] = SIGNING[id] ?? refuse("ALGORITHM", id);
  return { kind, hash };
}

// How certificates, lists and answers say that they were signed: read also where nobody asks for it.
function readAlgorithm(node) {
  if (objectId(sequence(node)[0]) === PSS) pssSigning(node);
  else plainAlgorithm(node);
}

const MASK = "1.2.840.113549.1.1.8";
const LONGEST_SALT = 512; // bytes: no key in use has room for more

// Hash, mask and salt are stated, each once and in this order, and nothing else: RFC 4055, 3.1. What is as usual is not
// stated in DER (X.690, 11.5): so it is with the last field, of which there is one value.
function pssSigning(node) {
  const [, stated, ...more] = sequence(node);
  const fields = sequence(stated);
  if (more.length || fields.length !== 3) badForm("RSA-PSS");
  const [hashed, mask, salted] = fields.map((field, i) =>
    want(field, 0xa0 + i).kids.length === 1 ? field.kids[0] : badForm("RSA-PSS"),
  );
  const [hash, salt] = [hashOf(hashed), smallNumber(salted)];
  const [generator, under, ...others] = sequence(mask);
  if (others.length || objectId(generator) !== MASK || hashOf(under) !== hash) refuse("ALGORITHM", "RSA-PSS");
  if (8 * salt < Number(hash.slice(4)) || salt > LONGEST_SALT) refuse("ALGORITHM", "RSA-PSS");
  return { kind: "RSA-PSS", hash, salt };
}

// Whether the key of `certificate` made `signature` over `data`.
async function holds(certificate, how, signature, data) {
  const { key } = certificate;
  const algorithm = algorithmFor(key, how);
  const raw = how.kind === "ECDSA" ? joinedPair(signature, CURVES[key.curve][1]) : signature;
  let imported;
  try {
    imported = await crypto.subtle.importKey("spki", key.whole, algorithm, false, ["verify"]);
  } catch {
    refuse("ALGORITHM", how.kind);
  }
  return crypto.subtle.verify(algorithm, imported, raw, data);
}

function algorithmFor(key, how) {
  if (how.kind === "ECDSA") {
    const [namedCurve] = CURVES[key.curve] ?? refuse("ALGORITHM", "curve");
    return { name: "ECDSA", namedCurve, hash: how.hash };
  }
  if (how.kind === "Ed25519") return key.kind === ED25519 ? { name: "Ed25519" } : refuse("ALGORITHM", "Ed25519");
  if (key.kind !== RSA || key.bits < 2048) refuse("ALGORITHM", "RSA"); // NIST SP 800-131A Rev. 2, table 2
  return how.kind === "RSA-PSS"
    ? { name: "RSA-PSS", hash: how.hash, saltLength: how.salt }
    : { name: "RSASSA-PKCS1-v1_5", hash: how.hash };
}

// The two numbers of an ECDSA signature, as WebCrypto wants them.
function joinedPair(signature, size) {
  const pair = sequence(onlyElement(signature));
  const raw = new Uint8Array(2 * size);
  if (pair.length !== 2) badForm("ECDSA");
  pair.forEach((part, i) => {
    let { body } = want(part, INTEGER);
    const shortest = body.length === 1 || body[0] !== 0 || body[1] & 0x80;
    if (!body.length || body[0] & 0x80 || !shortest) badForm("ECDSA");
    if (body[0] === 0) body = body.subarray(1);
    if (body.length > size) badForm("ECDSA");
    raw.set(body, (i + 1) * size - body.length);
  });
  return raw;
}

const BASIC = "2.5.29.19";
const USAGE = "2.5.29.15";
const PURPOSES = "2.5.29.37";
// Limits that no certificate here is judged by, whether it calls them critical or not: of names, of policies
const LIMITS = ["2.5.29.30", "2.5.29.33", "2.5.29.36", "2.5.29.54"];
const [OWN_KEY, KEY_ABOVE] = ["2.5.29.14", "2.5.29.35"];
const JUDGED = new Set([BASIC, USAGE, PURPOSES]);
const CERTIFIES = 5; // bits of the key usage: RFC 5280, 4.2.1.3
const SIGNS = [0, 1];

async function certificate(node) {
  const [statement, algorithm, value, ...more] = sequence(node);
  const [version, serial, inner, issuer, validity, subject, key, ...rest] = sequence(statement);
  if (more.length || version?.tag !== 0xa0 || hex(version.body) !== "020102") badForm("X.509");
  if (!inner || !algorithm || !same(inner.all, algorithm.all) || sequence(validity).length !== 2) badForm("X.509");
  readAlgorithm(inner);
  const held = {
    whole: node.all,
    statement: statement.all,
    algorithm,
    signature: bitString(value),
    serial: wholeNumber(serial),
    issuer: want(issuer, SEQUENCE).all,
    subject: want(subject, SEQUENCE).all,
    name: nameParts(subject),
    issuerName: nameParts(issuer),
    from: moment(validity.kids[0]),
    until: moment(validity.kids[1]),
    key: await publicKey(key),
    fingerprint: hex(await digest("SHA-256", node.all)).toUpperCase(),
  };
  // numbers of issuer and subject, which nobody uses any more; then the extensions, and nothing after them
  for (const tag of [0x81, 0x82]) if (rest[0]?.tag === tag) bitsOf({ ...rest.shift(), tag: BITS });
  const [listed, ...others] = rest;
  if (others.length || (listed && (listed.tag !== 0xa3 || listed.kids.length !== 1))) badForm("X.509");
  return Object.assign(held, extensionsOf(listed));
}

const MOST_CERTIFICATES = 30; // in one place: each is tried as the issuer of each

async function certificatesOf(nodes, most = MOST_CERTIFICATES) {
  if (nodes.length > most) refuse("LIMIT", "X.509");
  const found = [];
  for (const node of nodes) found.push(await certificate(node));
  return found;
}

// A key with its parameters, of a kind that is known here, and such that arithmetic is possible with it: also where
// nothing is signed with it. RFC 3279, 2.3.1; RFC 5480, 2; RFC 8410, 3 and 4.
async function publicKey(node) {
  const [algorithm, value, ...more] = sequence(node);
  const [id, ...parameters] = sequence(algorithm);
  const key = { whole: node.all, kind: objectId(id), value: bitString(value) };
  if (more.length || parameters.length > 1) badForm("X.509");
  if (key.kind === ED25519) {
    if (parameters.length || key.value.length !== 32) badForm("Ed25519");
    return key;
  }
  if (key.kind === RSA) Object.assign(key, { bits: bitsOfRsa(key.value, parameters) });
  else if (key.kind === EC_KEY) key.curve = objectId(parameters[0]);
  else refuse("ALGORITHM", key.kind);
  const [namedCurve, size] = key.kind === EC_KEY ? (CURVES[key.curve] ?? refuse("ALGORITHM", "curve")) : [];
  // RFC 5480, 2.2: the point in full, which alone every reader has to know
  if (size && (key.value[0] !== 4 || key.value.length !== 1 + 2 * size)) badForm("ECDSA");
  const use = size ? { name: "ECDSA", namedCurve } : { name: "RSASSA-PKCS1-v1_5", hash: "SHA-256" };
  try {
    await crypto.subtle.importKey("spki", key.whole, use, false, ["verify"]);
  } catch {
    refuse("ALGORITHM", "X.509");
  }
  return key;
}

// How many bits the modulus of an RSA key has; the exponent is odd and no 1.
function bitsOfRsa(value, parameters) {
  const [modulus, exponent, ...more] = sequence(onlyElement(value)).map(wholeNumber);
  if (!parameters.length || hex(parameters[0].all) !== "0500" || !exponent || more.length) badForm("RSA");
  if (modulus[0] & 0x80 || exponent[0] & 0x80 || !(exponent.at(-1) & 1) || hex(exponent) === "01") badForm("RSA");
  const significant = modulus[0] === 0 ? modulus.subarray(1) : modulus;
  return 8 * significant.length - Math.clz32(significant[0]) + 24;
}

// Extensions by kind, each there once, with their form where `forms` has one: RFC 5280, 4.2.
function extensionsIn(listed, forms = FORMS.ofCertificates) {
  const extensions = new Map();
  if (!sequence(listed).length) badForm("X.509");
  for (const item of listed.kids) {
    const [kind, ...rest] = sequence(item);
    const id = objectId(kind);
    const critical = rest.length === 2 && isTrue(rest[0]);
    if (extensions.has(id) || rest.length > 2) badForm("X.509");
    const value = valueOf(id, want(rest.at(-1), OCTETS).body, forms);
    extensions.set(id, { critical, value });
  }
  return extensions;
}

function extensionsOf(listed) {
  const extensions = listed ? extensionsIn(listed.kids[0]) : new Map();
  const unjudged = ([id, { critical }]) => LIMITS.includes(id) || (critical && !JUDGED.has(id));
  const held = { extensions, unjudged: [...extensions].some(unjudged), authority: false, below: Infinity };
  const basic = extensions.get(BASIC);
  if (basic) {
    const parts = [...sequence(basic.value)];
    held.authority = parts[0]?.tag === BOOLEAN && isTrue(parts.shift());
    if (parts.length) held.below = smallNumber(parts.shift());
    // a depth is stated of authorities alone: RFC 5280, 4.2.1.9
    if (parts.length || (!held.authority && held.below !== Infinity)) badForm("X.509");
  }
  const usage = extensions.get(USAGE);
  const bits = usage ? bitsOf(usage.value) : [];
  held.may = (bit) => Boolean(bits[bit >> 3] & (0x80 >> (bit & 7)));
  held.purposes = extensions.has(PURPOSES) ? sequence(extensions.get(PURPOSES).value).map(objectId) : undefined;
  return held;
}

const alive = (one, at) => at >= one.from && at <= one.until;
const isSame = (one, other) => same(one.whole, other.whole);
const namesIn = (name, kind) => name.filter(([label]) => label === kind).map(([, value]) => value);

// Whether `issuer` signed the certificate `one`: by arithmetic, whatever names say.
async function issued(issuer, one) {
  if (!same(issuer.subject, one.issuer)) return false;
  try {
    return await holds(issuer, signing(one.algorithm), one.signature, one.statement);
  } catch (fault) {
    if (fault instanceof Refused) return false;
    throw fault;
  }
}

// Whether a certificate is signed with its own key, with SHA-1 too: many roots are, and nobody else could be.
async function signedItself(one) {
  if (await issued(one, one)) return true;
  if (!same(one.subject, one.issuer) || objectId(sequence(one.algorithm)[0]) !== RSA_SHA1) return false;
  try {
    return await holds(one, { kind: "RSA", hash: "SHA-1" }, one.signature, one.statement);
  } catch (fault) {
    if (fault instanceof Refused) return false;
    throw fault;
  }
}

// `leaves` and every one of `others` that, by its signature, issued one of the chain.
async function issuers(leaves, others) {
  const chain = [...leaves];
  for (const one of chain) {
    for (const other of others) {
      if (!chain.some((held) => isSame(held, other)) && (await issued(other, one))) chain.push(other);
    }
  }
  return chain;
}

// `tops` and every one of `pool` that an authority among them issued, through whichever others.
async function issuedBelow(tops, pool) {
  const found = [...tops];
  for (const issuer of found) {
    for (const one of (await isAuthority(issuer)) ? pool : []) {
      if (!found.some((held) => isSame(held, one)) && (await issued(issuer, one))) found.push(one);
    }
  }
  return found;
}

const SIGNING_PURPOSES = [
  "2.5.29.37.0", // any
  "1.3.6.1.5.5.7.3.4", // e-mail
  "1.3.6.1.5.5.7.3.36", // documents: RFC 9336
  "1.2.840.113583.1.1.5", // authentic documents
  "1.3.6.1.4.1.311.10.3.12", // documents, older
];
const STAMPING = "1.3.6.1.5.5.7.3.8";
const STAMPING_PURPOSES = [SIGNING_PURPOSES[0], STAMPING];

const MOST_ISSUERS = 100; // tried in one search
const LONGEST_CHAIN = 8;

// Follow signatures from a certificate to one of `roots`, all judged at the moment `at`: an authority may have several
// certificates, so each way is tried. Returns the chain up to that root; or why there is none, and whether one `leads`
// there that is not as it should be.
async function chainOf(leaf, others, roots, at, purposes) {
  let left = MOST_ISSUERS;
  let doubted;
  let unfinished;
  const follow = async (path, earlier) => {
    const tip = path.at(-1);
    const doubt = earlier ?? doubtAbout(tip, tip === leaf ? undefined : purposes, at);
    if (roots.some((root) => isSame(root, tip))) {
      doubted ??= doubt;
      return doubt ? undefined : { root: tip, path };
    }
    unfinished ??= doubt;
    if (path.length === LONGEST_CHAIN) return undefined;
    for (const next of [...roots, ...others]) {
      if (path.some((one) => isSame(one, next)) || !(await issued(next, tip)) || left-- <= 0) continue;
      const may = next.authority && next.may(CERTIFIES) && path.length - 1 <= next.below;
      const fault = may ? undefined : "CHAIN_ISSUER";
      const found = await follow([...path, next], doubt ?? fault ?? (pointsTo(tip, next) ? undefined : "CHAIN_UNKNOWN"));
      if (found) return found;
    }
    return undefined;
  };
  return (
    (await follow([leaf])) ?? { doubt: doubted ?? unfinished ?? "CHAIN_NO_ROOT", leads: doubted !== undefined }
  );
}

// Whether what a certificate says of the key above it is so of `issuer`: RFC 5280, 4.2.1.1.
function pointsTo(one, issuer) {
  const stated = one.extensions.get(KEY_ABOVE)?.value;
  if (!stated) return true;
  const own = issuer.extensions.get(OWN_KEY)?.value;
  return sequence(stated).every(({ tag, body, kids }) => {
    if (tag === 0x80) return !own || same(body, want(own, OCTETS).body);
    if (tag === 0xa1) return kids.some((name) => name.tag === 0xa4 && same(name.body, issuer.issuer));
    return tag === 0x82 && same(body, issuer.serial);
  });
}

// Those of `pool` that state another key above them (RFC 5280, 4.2.1.1) of which no certificate is there.
function withoutRoot(pool) {
  const keys = new Map(pool.map((one) => [one, statedKeys(one)]));
  const mayIssue = (other, one) => {
    const { own } = keys.get(other);
    return sameName(other.subject, one.issuer) && (!own || same(own, keys.get(one).above));
  };
  const tops = pool.filter((one) => {
    const { own, above } = keys.get(one);
    return own && above && !same(own, above);
  });
  return tops.filter((one) => !pool.some((other) => mayIssue(other, one)));
}

// What a certificate states of its own key, and of that above it.
function statedKeys(one) {
  const [own, stated] = [OWN_KEY, KEY_ABOVE].map((id) => one.extensions.get(id)?.value);
  const above = stated && sequence(stated).find(({ tag }) => tag === 0x80);
  return { own: own && want(own, OCTETS).body, above: above?.body };
}

function doubtAbout(one, purposes, at) {
  if (one.unjudged) return "CHAIN_UNKNOWN";
  if (!alive(one, at)) return "CHAIN_DATES";
  return purposes && one.purposes && !one.purposes.some((held) => purposes.includes(held)) ? "CHAIN_ISSUER" : undefined;
}

// Those of `given` that vouch for others, or for themselves with none above them.
async function authoritiesAmong(given) {
  const found = [];
  for (const one of given) if (await isAuthority(one)) found.push(one);
  return found;
}

const isAuthority = async (one) => one.authority || (await issued(one, one));

const BLOCK = /-----BEGIN CERTIFICATE-----([A-Za-z0-9+/=\s]+)-----END CERTIFICATE-----/g;
const BEGUN = /BEGIN [A-Z0-9 ]*CERTIFICATE/gi; // also of another kind, or with a slip in it
const TEXT_ALONE = /^[\t\n\r\x20-\x7e\x80-\xff]*$/;

// The certificates in a file that is nothing but DER, or in a text: PEM, whatever words stand around it (RFC 7468, 2).
// What readers open as a PDF is none.
async function certificatesIn(bytes) {
  const text = latin(bytes);
  const blocks = [...text.matchAll(BLOCK)];
  if (!blocks.length) return certificatesOf([onlyElement(bytes)]);
  if (!TEXT_ALONE.test(text) || text.includes("%PDF-") || text.match(BEGUN).length !== blocks.length) badForm("PEM");
  const binary = (block) => Uint8Array.from(atob(block.replace(/\s/g, "")), (one) => one.charCodeAt(0));
  return certificatesOf(blocks.map(([, block]) => onlyElement(binary(block))));
}

const LONGEST_PASTED = 4000;
const WORD = /[\p{L}\p{N}]*(?![a-f])\p{L}[\p{L}\p{N}]*/giu; // with a letter that is no digit
const LABEL = /^\s*[0-9a-f\s-]{1,12}(?:=|:\s)/i; // what a word of digits alone may be: "CA: "

// Fingerprints as they are printed: in one, or in groups of two, four or eight with the same sign between them all.
const PRINTED = new RegExp(
  ["[0-9a-f]{64}", ...["[0-9a-f]{2}", "[0-9a-f]{4}", "[0-9a-f]{8}"].flatMap((group, i) => {
    const [most, alone] = [32 >> i, `(?![0-9a-z]|:\\s*[0-9a-f]{2}\\b)`];
    return [":\\s*", "\\s+", "-\\s*"].map((sign) => `(?:${group}${sign}){${most - 1}}${group}${alone}`);
  })]
    .map((form) => `(?<![0-9a-z])${form}(?![0-9a-z])`)
    .join("|"),
  "gi",
);

// The fingerprints in a text: 64 digits each, whatever words stand around them and however they are parted.
// `odd`: how many digits there are that make none, and `left` which; `mistyped`: whether letters that look like digits
// stand where there would be one. Digits of full width are digits.
function fingerprintsIn(text) {
  const typed = text.slice(0, LONGEST_PASTED).normalize("NFKC").slice(0, LONGEST_PASTED);
  const found = digitsIn(typed);
  const meant = digitsIn(typed.replace(/o/gi, "0").replace(/[il]/gi, "1"));
  return { ...found, mistyped: meant.published.length > found.published.length };
}

function digitsIn(text) {
  const digitsOf = (part) => (part.match(/[0-9a-f]/gi) ?? []).join("").toUpperCase();
  const published = [];
  let odd = 0;
  const left = [];
  const rest = text
    .replace(/SHA-?\s?256/gi, " word ")
    .replace(PRINTED, (whole) => (published.push(digitsOf(whole)), " word "));
  for (const group of rest.split(WORD)) {
    const all = digitsOf(group);
    const digits = all.length % 64 ? digitsOf(group.replace(LABEL, "")) : all;
    if (digits.length % 64) {
      odd += digits.length;
      left.push(digits);
    } else published.push(...(digits.match(/.{64}/g) ?? []));
  }
  const counts = odd > 0 && !(published.length && odd < 16);
  return { published: [...new Set(published)], odd: counts ? odd : 0, left: counts ? left.join(" ") : "" };
}
