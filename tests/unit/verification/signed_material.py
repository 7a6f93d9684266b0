"""Small reports, certificates and signatures for the tests of signing and verification, built once per process."""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import io
import json
import warnings
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from unittest import mock

import pikepdf
from asn1crypto import algos, core
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa
from reportlab import rl_config
from reportlab.pdfgen import canvas

from reportgen.formats import MANIFEST_NAME, IssueFacts, Signatory, build_manifest, encode, encode_issue, entry_of
from reportgen.names import Pin
from reportgen.results import Evaluation, ReportIdentity
from reportgen.seal import Countersigner, Identity, countersign, seal_report, signing
from reportgen.seal.identity import _signing_operation
from reportgen.verification import Evidence, Outcome, Recomputed

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

AT = datetime(2026, 3, 2, 14, 30, tzinfo=UTC)
LATER = AT + timedelta(days=3)
BEGAN = AT - timedelta(hours=8)
BOX = (1, 72.0, 72.0, 272.0, 142.0)
ENGINEER = Countersigner("coating engineer", "Edda Falk", (1, 72.0, 200.0, 272.0, 240.0))
OWNER = Countersigner("owner's representative", "Olin Marsh", (1, 300.0, 200.0, 500.0, 240.0))

SITE = "Harbour shed"
WHO = ("inspector", "Ines Perk", None)

RESULTS = Evaluation(ReportIdentity("HS-1", 0, "2026-03-02"), "conforms", ())
DAY = "days/2026-03-02.yaml"


def day_naming(*people: tuple[Any, ...]) -> bytes:
    """Return a day file that names people to sign, inspector first: role, name, organisation; id and pin or none."""
    return json.dumps({"date": "2026-03-02", "people": people}).encode()


def inputs(countersigners: Sequence[Countersigner] = (), **facts: Any) -> dict[str, Any]:
    """Return the embedded files of a report that names the inspector and these people to sign."""
    return inputs_naming(WHO, *((who.role, who.name, None) for who in countersigners), **facts)


def signatories(people: Sequence[tuple[Any, ...]]) -> tuple[Signatory, ...]:
    """Return whom a job with these people names to sign."""
    fields = ["Inspector", *(f"Countersigner-{number}" for number in range(1, len(people)))]
    return tuple(_signatory(field, *who) for field, who in zip(fields, people, strict=True))


def _signatory(field: str, role: str, name: str, body: str | None, who: str = "", pin: Any = None) -> Signatory:
    return Signatory(field, role, name, body, who, Pin(**pin) if pin else None)


def evaluation_naming(people: Sequence[tuple[Any, ...]], revision: int = 0, **other: Any) -> bytes:
    """Return the evaluation of a job with these people; ``other`` says otherwise than its rules do."""
    report = dataclasses.replace(RESULTS.report, revision=revision)
    return encode(dataclasses.replace(RESULTS, **{"report": report, "signers": signatories(people), **other}))


def issue_facts(*people: tuple[Any, ...], at: datetime = AT, **other: Any) -> bytes:
    """Return how a report that names these people was issued; ``other`` says otherwise than it was."""
    facts = IssueFacts("HS-1", 0, "2026-03-02", at.strftime("%Y-%m-%dT%H:%M:%SZ"), "issue", "reportgen 0.1.0")
    return encode_issue(dataclasses.replace(facts, **{"site": SITE, "signers": signatories(people), **other}))


def inputs_naming(*people: tuple[Any, ...], **facts: Any) -> dict[str, Any]:
    """Return the embedded files of a report that names these people to sign, the inspector first.

    ``facts`` are those of its issue, where they are not as usual.
    """
    return {
        "issue.json": (issue_facts(*people, **facts), "issue"),
        "project.yaml": (b"project: harbour shed\n", "project"),
        DAY: (day_naming(*people), "day"),
        "days/readings.csv": (b"location,mil\nL1,2.4\n", "csv"),
        "evaluation.json": (evaluation_naming(people), "evaluation"),
    }


INPUTS = inputs()


def recompute(files: Mapping[str, bytes]) -> Recomputed:
    """Evaluate as the pipeline would: the same input gives the same bytes, other input other bytes."""
    kept = ("project.yaml", "days/readings.csv")
    same = all(files.get(name) == INPUTS[name][0] for name in kept)
    day = json.loads(files[DAY])
    revision = day.get("revision", 0)
    evaluation = evaluation_naming(day["people"], revision, **({} if same else {"verdict": "does not conform"}))
    replaces = tuple(day["replaces"]) if "replaces" in day else None
    told = signatories(day["people"]), SITE, "HS-1", revision, day["date"], replaces, BEGAN
    return Recomputed(RESULTS, evaluation, *told)


def agreed(_: Evidence) -> Outcome:
    """Say that pages agree: those of this material are no pages of a report."""
    return Outcome("passed")


def _signatory(field: str, role: str, name: str, body: str | None, who: str = "", pin: Any = None) -> Signatory:
    return Signatory(field, role, name, body, who, Pin(**pin) if pin else None)


@functools.cache
def rsa_key(bits: int = 2048, number: int = 0) -> rsa.RSAPrivateKey:
    return rsa.generate_private_key(public_exponent=65537, key_size=bits)


def ec_key(curve: ec.EllipticCurve | None = None) -> ec.EllipticCurvePrivateKey:
    return ec.generate_private_key(curve or ec.SECP256R1())


def ed_key() -> ed25519.Ed25519PrivateKey:
    return ed25519.Ed25519PrivateKey.generate()


def named(common: str, organisation: str = "Harbour Works") -> x509.Name:
    return x509.Name(
        [
            x509.NameAttribute(x509.NameOID.COMMON_NAME, common),
            x509.NameAttribute(x509.NameOID.ORGANIZATION_NAME, organisation),
        ]
    )


def usage(*names: str) -> x509.KeyUsage:
    every = [
        "digital_signature",
        "content_commitment",
        "key_encipherment",
        "data_encipherment",
        "key_agreement",
        "key_cert_sign",
        "crl_sign",
        "encipher_only",
        "decipher_only",
    ]
    return x509.KeyUsage(**{name: name in names for name in every})


SIGNING = usage("digital_signature", "content_commitment")
AUTHORITY = usage("key_cert_sign", "crl_sign")


@dataclasses.dataclass(frozen=True)
class Pair:
    """A certificate and its key."""

    certificate: x509.Certificate
    key: Any


def certify(
    subject: x509.Name,
    key: Any,
    issuer: Pair | None,
    *,
    begin: datetime = AT - timedelta(days=30),
    end: datetime = AT + timedelta(days=700),
    ca: bool = False,
    key_usage: x509.KeyUsage | None = SIGNING,
    purposes: tuple[str, ...] = (),
    algorithm: Any = None,
    length: int | None = None,
    extra: x509.ExtensionType | None = None,
) -> Pair:
    """Return a certificate for ``key``, signed by ``issuer`` or by itself."""
    signing_key = issuer.key if issuer else key
    builder = x509.CertificateBuilder(
        issuer.certificate.subject if issuer else subject,
        subject,
        key.public_key(),
        x509.random_serial_number(),
        begin,
        end,
    )
    builder = builder.add_extension(x509.BasicConstraints(ca=ca, path_length=length), critical=True)
    builder = builder.add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    if issuer:
        identifier = x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer.key.public_key())
        builder = builder.add_extension(identifier, critical=False)
    if key_usage is not None:
        builder = builder.add_extension(key_usage, critical=True)
    if extra is not None:
        # where to ask is never critical: RFC 5280, 4.2.2.1 and 4.2.1.13
        places = (x509.AuthorityInformationAccess, x509.CRLDistributionPoints)
        builder = builder.add_extension(extra, critical=not isinstance(extra, places))
    if purposes:
        oids = [x509.ObjectIdentifier(purpose) for purpose in purposes]
        alone = purposes == ("1.3.6.1.5.5.7.3.8",)  # stamping the time: RFC 3161, 2.3
        builder = builder.add_extension(x509.ExtendedKeyUsage(oids), critical=alone)
    if algorithm is None and not isinstance(signing_key, ed25519.Ed25519PrivateKey):
        algorithm = hashes.SHA256()
    return Pair(builder.sign(signing_key, algorithm), key)


@functools.cache
def root() -> Pair:
    return certify(
        named("Root of Harbour Works"),
        ec_key(),
        None,
        ca=True,
        key_usage=AUTHORITY,
        begin=AT - timedelta(days=400),
        end=AT + timedelta(days=7000),
    )


CHECKS: dict[str, Any] = {
    "recompute": recompute,
    "page_text_check": agreed,
    "rebuild_check": agreed,
    "timestamp_roots": (root().certificate,),
}
"""What stands in for the pipeline's checks, and the policy that the root is believed about the time as well."""


def signed_with_sha1(*, soundly: bool = True) -> Pair:
    """Return a root that signed itself with SHA-1, as older ones did."""
    key = rsa_key(2048, 4)
    plain = certify(named("Older"), key, None, ca=True, key_usage=AUTHORITY)
    form = asn1_x509.Certificate.load(plain.certificate.public_bytes(serialization.Encoding.DER))
    form["signature_algorithm"] = algos.SignedDigestAlgorithm({"algorithm": "sha1_rsa", "parameters": core.Null()})
    form["tbs_certificate"]["signature"] = form["signature_algorithm"]
    told = form["tbs_certificate"].dump(force=True)
    form["signature_value"] = key.sign(told, padding.PKCS1v15(), hashes.SHA1()) if soundly else bytes(256)  # noqa: S303
    return Pair(x509.load_der_x509_certificate(form.dump(force=True)), key)


def identity_of(pair: Pair, *chain: Pair) -> Identity:
    """Return an identity without any of the checks that loading one makes."""
    digest, sign = _signing_operation(pair.key)
    return Identity(pair.certificate, tuple(link.certificate for link in chain), digest, sign)


@functools.cache
def inspector() -> Identity:
    return identity_of(certify(named("Ines Perk"), ec_key(), root()), root())


@functools.cache
def engineer() -> Identity:
    return identity_of(certify(named(ENGINEER.name), ec_key(), root()), root())


@functools.cache
def owner() -> Identity:
    return identity_of(certify(named(OWNER.name), ec_key(), root()), root())


rl_config.useA85 = 0  # as our writer does, whichever test is first


def pages(count: int = 1, draw: Callable[[canvas.Canvas], None] | None = None) -> bytes:
    stream = io.BytesIO()
    page = canvas.Canvas(stream, invariant=1)
    for number in range(count):
        page.drawString(72, 700, f"Report R-1, {number + 1} of {count}: conforms")
        if draw:
            draw(page)
        page.showPage()
    page.save()
    return stream.getvalue()


def manifest_of(files: Mapping[str, tuple[bytes, Any]], generator: str = "reportgen 0.1.0") -> bytes:
    entries = [entry_of(name, content, role) for name, (content, role) in files.items()]
    return build_manifest(entries, generator=generator, day="days/2026-03-02.yaml")


def with_files(pdf: pikepdf.Pdf, contents: Mapping[str, bytes]) -> None:
    """Embed files as the archival room does: one name tree leaf, names without folders, Flate."""
    leaf, belonging = pikepdf.Array(), pikepdf.Array()
    for name, content in sorted((path.rsplit("/", 1)[-1], content) for path, content in contents.items()):
        stream = pdf.make_stream(content)
        stream["/Type"] = pikepdf.Name("/EmbeddedFile")
        specification = pikepdf.Dictionary(
            Type=pikepdf.Name("/Filespec"), F=name, UF=name, EF=pikepdf.Dictionary(F=stream, UF=stream)
        )
        specification["/AFRelationship"] = pikepdf.Name("/Data" if name.endswith(".json") else "/Source")
        leaf.append(pikepdf.String(name))
        leaf.append(pdf.make_indirect(specification))
        belonging.append(leaf[-1])
    pdf.Root["/AF"] = belonging
    pdf.Root["/Names"] = pikepdf.Dictionary(EmbeddedFiles=pdf.make_indirect(pikepdf.Dictionary(Names=leaf)))


XMP = (
    b"<?xpacket begin='' id='W5M0MpCehiHzreSzNTczkc9d'?><x:xmpmeta xmlns:x='adobe:ns:meta/'>"
    b"<rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'/></x:xmpmeta><?xpacket end='w'?>"
)


def saved(pdf: pikepdf.Pdf, **options: Any) -> bytes:
    stream = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", pikepdf.PageCopyWarning)  # fields without a form are what some tests need
        pdf.save(stream, deterministic_id=True, **{"compress_streams": True, **options})
    return stream.getvalue()


def unsigned(
    *,
    count: int = 1,
    edit: Callable[[pikepdf.Pdf], None] | None = None,
    files: Mapping[str, tuple[bytes, Any]] | None = None,
    countersigners: Sequence[Countersigner] = (),
    contents: Mapping[str, bytes] | None = None,
    **options: Any,
) -> bytes:
    """Return an unsigned report; ``contents`` replaces what is embedded, ``edit`` changes the file before saving."""
    files = inputs(countersigners) if files is None else files
    embedded = {name: content for name, (content, _) in files.items()} | {MANIFEST_NAME: manifest_of(files)}
    with pikepdf.open(io.BytesIO(pages(count))) as pdf:
        with_files(pdf, embedded if contents is None else contents)
        xmp = pdf.make_stream(XMP)
        xmp["/Type"], xmp["/Subtype"] = pikepdf.Name("/Metadata"), pikepdf.Name("/XML")
        pdf.Root["/Metadata"] = xmp
        pdf.docinfo["/Title"] = "Report R-1"
        if edit:
            edit(pdf)
        return saved(pdf, **options)


def tagged(pdf: pikepdf.Pdf) -> None:
    """Make the file a tagged one: a document element with one paragraph per page."""
    tree = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name("/StructTreeRoot")))
    document = pdf.make_indirect(
        pikepdf.Dictionary(Type=pikepdf.Name("/StructElem"), S=pikepdf.Name("/Document"), P=tree, K=pikepdf.Array())
    )
    numbers = pikepdf.Array()
    for key, page in enumerate(pdf.pages):
        paragraph = pdf.make_indirect(
            pikepdf.Dictionary(Type=pikepdf.Name("/StructElem"), S=pikepdf.Name("/P"), P=document, Pg=page.obj, K=0)
        )
        document.K.append(paragraph)
        page.obj["/StructParents"], page.obj["/Tabs"] = key, pikepdf.Name("/S")
        numbers.append(key)
        numbers.append(pdf.make_indirect(pikepdf.Array([paragraph])))
    tree["/K"] = document
    tree["/ParentTree"] = pdf.make_indirect(pikepdf.Dictionary(Nums=numbers))
    tree["/ParentTreeNextKey"] = len(pdf.pages)
    pdf.Root["/StructTreeRoot"] = tree
    pdf.Root["/MarkInfo"] = pikepdf.Dictionary(Marked=True)


def sealed(
    pdf: bytes | None = None, who: Identity | None = None, *, at: datetime = AT, countersigners: Any = (), **more: Any
) -> bytes:
    pdf = unsigned(countersigners=countersigners, files=inputs(countersigners, at=at)) if pdf is None else pdf
    more = {"location": SITE, **more}
    return seal_report(pdf, who or inspector(), at=at, box=BOX, countersigners=countersigners, **more)


def force_sealed(pdf: bytes | None = None, who: Identity | None = None, **more: Any) -> bytes:
    """Seal as a dishonest or careless signer would: without the checks of the identity."""
    with (
        mock.patch.object(signing, "require_signing_certificate"),
        mock.patch.object(signing, "require_valid_at"),
    ):
        return sealed(pdf, who, **more)


@functools.cache
def report() -> bytes:
    """A report that permits no changes."""
    return sealed()


@functools.cache
def open_report() -> bytes:
    """A report that waits for two countersignatures."""
    return sealed(countersigners=(ENGINEER, OWNER))


def countersigned(pdf: bytes, who: Identity, field: str | None = None, **more: Any) -> bytes:
    """Fill the field whose description ends in the signer's name, or the one named."""
    words = {"reason": "Seen and agreed", "location": SITE}
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        own = [str(one.T) for one in opened.Root.AcroForm.Fields if str(one.get("/TU", "")).endswith(f", {who.name}")]
    return countersign(pdf, who, field or own[0], at=more.pop("at", AT + timedelta(hours=2)), **words, **more)


@functools.cache
def complete_report() -> bytes:
    """A report with both countersignatures."""
    return countersigned(countersigned(open_report(), engineer()), owner())


@functools.cache
def timestamp_authority() -> Pair:
    purpose = ("1.3.6.1.5.5.7.3.8",)
    long = {"begin": AT - timedelta(days=30), "end": AT + timedelta(days=6000)}
    return certify(
        named("Harbour Time"), rsa_key(), root(), key_usage=usage("digital_signature"), purposes=purpose, **long
    )


def timestamper(moment: datetime = AT, authority: Pair | None = None, **more: Any) -> Any:
    from asn1crypto import keys
    from asn1crypto import x509 as asn1_x509
    from pyhanko.sign.timestamps import DummyTimeStamper

    pair = authority or timestamp_authority()
    certificate = asn1_x509.Certificate.load(pair.certificate.public_bytes(serialization.Encoding.DER))
    form = (serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    key = keys.PrivateKeyInfo.load(pair.key.private_bytes(*form))
    return DummyTimeStamper(certificate, key, fixed_dt=moment, **more)


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
