"""Whoever signs: certificates that do not carry a report, times that cannot be, and signatures of other kinds."""

from __future__ import annotations

import dataclasses
import functools
import io
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from unittest import mock

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import padding
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter

from reportgen.increments import Statement, writing
from reportgen.seal import demo_identity, renew_report, signing
from tests.e2e.tamper.appended import appended, dictionary, name, numbers, page, stream
from tests.e2e.tamper.controls import crl
from tests.e2e.tamper.rows import (
    CERTIFICATES,
    LATER_REVISION,
    MATHEMATICS,
    NOT_FOUND,
    RENEWED,
    Row,
    doubtful,
    failed,
    passed,
)
from tests.unit.seal.authorities import answer
from tests.unit.seal.authorities import crl as listing
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from cryptography.hazmat.primitives.asymmetric import rsa

DAY = timedelta(days=1)


def rows() -> Iterator[Row]:
    yield from _issuers()
    yield from _certificates()
    yield from _times()
    yield from _order_of_times()
    yield from _revocation()
    yield from _permissions()
    yield from _second_signatures()
    yield failed("never signed", made.unsigned, "NO_SIGNATURE", pdfsig="none", why=NOT_FOUND)


def _as(pair: made.Pair, *chain: made.Pair, **more: Any) -> Callable[[], bytes]:
    """Return how to seal a report as the holder of ``pair`` without the checks that would refuse it."""
    return lambda: made.force_sealed(who=made.identity_of(pair, *chain), **more)


def _leaf(**more: Any) -> made.Pair:
    return made.certify(made.named("Ines Perk"), more.pop("key", None) or made.ec_key(), made.root(), **more)


def _issuers() -> Iterator[Row]:
    unknown = "NO_CERTIFICATE_CHAIN_FOUND"
    namesake = made.certify(made.named("Root of Harbour Works"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    forged = made.certify(made.named("Ines Perk"), made.ec_key(), namesake)
    self_signed = made.certify(made.named("Ines Perk"), made.ec_key(), None)
    middle = made.certify(made.named("Middle"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY)
    below = made.certify(made.named("Ines Perk"), made.ec_key(), middle)
    own_leaf = _leaf()
    by_leaf = made.certify(made.named("Ines Perk"), made.ec_key(), own_leaf)
    demo = functools.partial(demo_identity, "Ines Perk", made.AT)
    yield doubtful("same names, other keys", _as(forged, namesake), unknown, why=CERTIFICATES)
    yield doubtful("self-signed", _as(self_signed), unknown, why=CERTIFICATES)
    yield doubtful("intermediate certificate not embedded", _as(below), unknown, why=CERTIFICATES)
    bad_chain = "CHAIN_CONSTRAINTS_FAILURE CERTIFICATE_CHAIN_GENERAL_FAILURE"
    yield doubtful(
        "a signer's certificate used as an authority", _as(by_leaf, own_leaf, made.root()), bad_chain, why=CERTIFICATES
    )
    yield doubtful(
        "a signer's certificate used as an authority, revocation data given",
        _as(by_leaf, own_leaf, made.root()),
        bad_chain,
        options={"crls": (crl(),)},
        why=CERTIFICATES,
    )
    yield doubtful("no trusted roots given", made.report, unknown, roots=tuple, why=CERTIFICATES)
    yield doubtful(
        "another root trusted", made.report, unknown, roots=lambda: (namesake.certificate,), why=CERTIFICATES
    )
    yield doubtful("demonstration", lambda: made.sealed(who=demo()), f"DEMONSTRATION {unknown}", why=CERTIFICATES)
    known = demo()
    yield doubtful(
        "demonstration whose root is trusted",
        lambda: made.sealed(who=known),
        "DEMONSTRATION",
        roots=lambda: known.chain,
        why=CERTIFICATES,
    )


def _certificates() -> Iterator[Row]:
    wrong = "CHAIN_CONSTRAINTS_FAILURE"
    weak = "CRYPTO_CONSTRAINTS_FAILURE"
    web = ("1.3.6.1.5.5.7.3.1",)
    yield doubtful("certificate of a web server", _as(_leaf(purposes=web), made.root()), wrong, why=CERTIFICATES)
    yield doubtful("no key usage", _as(_leaf(key_usage=None), made.root()), wrong, why=CERTIFICATES)
    enciphering = made.usage("key_encipherment")
    yield doubtful("key usage without signing", _as(_leaf(key_usage=enciphering), made.root()), wrong, why=CERTIFICATES)
    authority = _leaf(ca=True, key_usage=made.usage("key_cert_sign", "digital_signature"))
    yield doubtful("certificate of an authority", _as(authority, made.root()), wrong, why=CERTIFICATES)
    yield doubtful("RSA-1024", _as(_leaf(key=made.rsa_key(1024)), made.root()), weak, why=CERTIFICATES)
    for algorithm in ("sha1", "md5"):
        build = functools.partial(_weakly_certified, algorithm)
        older = {"roots": lambda: (_older_root().certificate,)}
        # a chain that rests on such a hash leads nowhere
        yield doubtful(
            f"certificate signed with {algorithm}",
            build,
            f"{weak} NO_CERTIFICATE_CHAIN_FOUND",
            why=CERTIFICATES,
            **older,
        )
        build = functools.partial(_weakly_signed, algorithm)
        opinion = "valid" if algorithm == "sha1" else "invalid"
        yield doubtful(f"report signed with {algorithm}", build, weak, pdfsig=opinion, why=CERTIFICATES)


@functools.cache
def _older_root() -> made.Pair:
    begin = made.AT - 400 * DAY
    name_of_root = made.named("Root of Harbour Works")
    return made.certify(name_of_root, made.rsa_key(number=5), None, ca=True, key_usage=made.AUTHORITY, begin=begin)


def _weakly_certified(algorithm: str) -> bytes:
    """Return a report whose signer's certificate is signed with a broken hash, made below the library's guard."""
    from asn1crypto import algos, core
    from asn1crypto import x509 as structure

    leaf = made.certify(made.named("Ines Perk"), made.ec_key(), _older_root())
    form = structure.Certificate.load(leaf.certificate.public_bytes(serialization.Encoding.DER))
    name_of = algos.SignedDigestAlgorithm({"algorithm": f"{algorithm}_rsa", "parameters": core.Null()})
    form["tbs_certificate"]["signature"] = name_of
    form["signature_algorithm"] = name_of
    kind = hashes.SHA1() if algorithm == "sha1" else hashes.MD5()  # noqa: S303 - broken on purpose
    signed = form["tbs_certificate"].dump(force=True)
    form["signature_value"] = _older_root().key.sign(signed, padding.PKCS1v15(), kind)
    certificate = x509.load_der_x509_certificate(form.dump(force=True))
    return made.force_sealed(who=made.identity_of(made.Pair(certificate, leaf.key), _older_root()))


def _weakly_signed(algorithm: str) -> bytes:
    key: rsa.RSAPrivateKey = made.rsa_key()
    pair = _leaf(key=key)
    kind = hashes.SHA1() if algorithm == "sha1" else hashes.MD5()  # noqa: S303 - broken on purpose
    identity = dataclasses.replace(
        made.identity_of(pair, made.root()),
        digest=algorithm,
        sign=lambda data: key.sign(data, padding.PKCS1v15(), kind),
    )
    with mock.patch("pyhanko.sign.signers.pdf_cms.Signer._check_digest_algorithm"):
        return made.force_sealed(who=identity)


def _times() -> Iterator[Row]:
    short = made.AT + DAY
    expired = _leaf(begin=made.AT - 60 * DAY, end=made.AT - DAY)
    not_yet = _leaf(begin=made.AT + DAY, end=made.AT + 90 * DAY)
    gone = "EXPIRED OUT_OF_BOUNDS_NO_POE"
    yield failed("certificate expired when signing", _as(expired, made.root()), gone, why=CERTIFICATES)
    yield failed("certificate not yet valid when signing", _as(not_yet, made.root()), "NOT_YET_VALID", why=CERTIFICATES)
    yield doubtful(
        "certificate expired since", _as(_leaf(end=short), made.root()), "OUT_OF_BOUNDS_NO_POE", why=CERTIFICATES
    )
    early = functools.partial(made.sealed, at=made.AT + 60 * DAY)
    yield failed("claims a time in the future", early, "CLAIMED_TIME_IN_FUTURE", why=MATHEMATICS)
    yield failed(
        "claims a time before the certificate existed",
        functools.partial(made.force_sealed, at=datetime(2020, 1, 1, tzinfo=made.AT.tzinfo)),
        "NOT_YET_VALID TIMES_DISAGREE",
        why=CERTIFICATES,
    )
    before = made.timestamper(made.AT - DAY)
    yield doubtful(
        "timestamp older than the claimed time",
        lambda: made.sealed(timestamper=before),
        "SIG_CONSTRAINTS_FAILURE",
        why=MATHEMATICS,
    )
    yield doubtful("claims no time", _without_time, "SIG_CONSTRAINTS_FAILURE", why=MATHEMATICS)
    yield doubtful("timestamp of another signature", _foreign_timestamp, "SIG_CONSTRAINTS_FAILURE", why=MATHEMATICS)


def _order_of_times() -> Iterator[Row]:
    """Each revision was made after the one below it: a time that says otherwise is wrong, and proves nothing."""
    hour, minute = timedelta(hours=1), timedelta(minutes=1)
    wrong, later = "SIG_CONSTRAINTS_FAILURE", {"pdfsig": "invalid", "why": RENEWED}
    stamped = lambda: made.sealed(timestamper=made.timestamper(made.AT + 3 * hour))  # noqa: E731
    seen = lambda at: made.countersigned(made.open_report(), made.engineer(), at=made.AT + at)  # noqa: E731
    gone = listing(made.root(), made.AT, [(made.Pair(made.inspector().certificate, None), made.AT - hour)])
    for what, at, pdf, more in (
        ("a report before it was signed", -DAY, made.report, {}),
        ("a report six minutes before it was signed", -6 * minute, made.report, {}),
        ("a report before its own timestamp", hour, stamped, {}),
        ("a report before it was countersigned", hour, lambda: seen(2 * hour), {}),
    ):
        yield doubtful(f"renewed: {what}", functools.partial(_renewed_at, at, pdf), wrong, **later, **more)
    back = functools.partial(_renewed_at, -DAY, made.report)
    revoked = {"options": {"crls": (gone,)}, **later}
    yield doubtful("renewed before it was signed, and revoked", back, f"{wrong} REVOKED_NO_POE", **revoked)
    ended = {"at": made.AT + 800 * DAY, **later}
    yield doubtful("renewed before it was signed, and ended since", back, f"{wrong} OUT_OF_BOUNDS_NO_POE", **ended)
    for what, at, row, reasons in (
        ("before the renewal below it", 2 * hour, doubtful, (wrong,)),
        ("after the renewal below it", DAY + hour, passed, ()),
    ):
        renewed = functools.partial(_renewed_at, DAY, made.open_report)
        build = functools.partial(_countersigned_over, renewed, made.engineer, at)
        yield row(f"countersigned {what}", build, *reasons, **later)
    slow = functools.partial(_renewed_at, -4 * minute, made.report)
    yield passed("renewed by a clock that is slow by minutes", slow, **later)


def _renewed_at(after: timedelta, pdf: Callable[[], bytes]) -> bytes:
    return renew_report(pdf(), made.timestamper(made.AT + after)).pdf


def _countersigned_over(pdf: Callable[[], bytes], who: Callable[[], Any], after: timedelta) -> bytes:
    return made.countersigned(pdf(), who(), at=made.AT + after)


def _without_time() -> bytes:
    def timeless(name_of_signer: str, _: datetime, reason: str, location: str) -> Statement:
        return Statement(name_of_signer, None, reason, location)

    with mock.patch.object(signing, "Statement", timeless):
        return made.sealed()


def _foreign_timestamp() -> bytes:
    """Return a report whose timestamp was made for the value of another signature."""

    class Careless(type(made.timestamper())):  # type: ignore[misc] # the base is only known when it runs
        async def async_timestamp(self, message_digest: bytes, md_algorithm: str) -> Any:
            return await super().async_timestamp(message_digest[::-1], md_algorithm)

    honest = made.timestamper()
    careless = Careless(honest.tsa_cert, honest.tsa_key, fixed_dt=made.AT)
    return made.sealed(timestamper=careless)


def _revocation() -> Iterator[Row]:
    serial = made.inspector().certificate.serial_number
    yield doubtful("revoked", made.report, "REVOKED_NO_POE", options={"crls": (crl(serial),)}, why=CERTIFICATES)
    for owner in ("Root of Harbour Works", "Other Root"):
        other = made.certify(made.named(owner), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
        with mock.patch.object(made, "root", lambda other=other: other):
            foreign = crl()
        what = f"revocation data with another key by {owner}"
        yield passed(f"{what}, which says nothing of the signer", made.report, options={"crls": (foreign,)})
    pair = made.certify(made.named("Ines Perk"), made.ec_key(), made.root(), extra=_revocable())
    for what, pdf in (
        ("countersigned", lambda: made.countersigned(_by_revocable(pair, (made.ENGINEER,)), made.engineer())),
        ("timestamped by a stranger to the list", lambda: _by_revocable(pair, timestamper=made.timestamper())),
    ):
        about = (answer(pair.certificate, made.root(), made.AT),)
        yield passed(f"{what}, an answer about the inspector given", pdf, options={"ocsps": about})


def _revocable() -> x509.CRLDistributionPoints:
    """Return where the list of an authority is to be had: such a certificate states that it can be revoked."""
    point = x509.UniformResourceIdentifier("http://lists.example/1.crl")
    return x509.CRLDistributionPoints([x509.DistributionPoint([point], None, None, None)])


def _by_revocable(pair: made.Pair, people: tuple[Any, ...] = (), **more: Any) -> bytes:
    return made.sealed(who=made.identity_of(pair, made.root()), countersigners=people, **more)


def _permissions() -> Iterator[Row]:
    wrong = "CHANGED_WHEN_SIGNING"
    yield failed("no certification", _approval_only, wrong, why=MATHEMATICS)
    for level, base in ((2, ()), (3, ()), (1, (made.ENGINEER,)), (3, (made.ENGINEER,))):
        build = functools.partial(_permitting, level, base)
        yield failed(f"permits level {level} with {len(base)} fields to sign", build, wrong, why=MATHEMATICS)
    yield failed("not of the PAdES form", _plain_pkcs7, f"{wrong} SIG_CONSTRAINTS_FAILURE", why=MATHEMATICS)
    yield failed("the field has a second appearance", _second_appearance, wrong, why=MATHEMATICS)
    yield failed("a field of another kind beside the signature's", _extra_field, wrong, why=MATHEMATICS)
    drawing = f"{wrong} ORPHAN_OBJECTS"
    yield failed("the field draws over the page", _drawing_field, drawing, why=MATHEMATICS)


def _approval_only() -> bytes:
    with mock.patch.object(writing, "SigMDPSetup", return_value=None):
        return made.sealed()


def _permitting(level: int, countersigners: tuple[Any, ...]) -> bytes:
    setup = writing.SigMDPSetup

    def lenient(**words: Any) -> Any:
        return setup(**{**words, "docmdp_perms": MDPPerm(level)})

    with mock.patch.object(writing, "SigMDPSetup", lenient):
        return made.sealed(countersigners=countersigners)


def _plain_pkcs7() -> bytes:
    kind = writing.SignatureObject

    def older(**words: Any) -> Any:
        return kind(**{**words, "subfilter": SigSeedSubFilter.ADOBE_PKCS7_DETACHED})

    with mock.patch.object(writing, "SignatureObject", older):
        return made.sealed()


def _extra_field() -> bytes:
    place = writing.place_fields

    def more(writer: Any, wanted: list[Any]) -> None:
        place(writer, wanted)
        text = dictionary(
            Type=name("Annot"),
            Subtype=name("Widget"),
            FT=name("Tx"),
            T=signing_text("note"),
            Rect=numbers(9, 9, 99, 30),
        )
        reference = writer.add_object(text)
        writer.register_annotation(page(writer), reference)
        writer.root["/AcroForm"]["/Fields"].append(reference)

    with mock.patch.object(writing, "place_fields", more):
        return made.sealed()


def signing_text(text: str) -> Any:
    from pyhanko.pdf_utils.generic import pdf_string

    return pdf_string(text)


def _drawing_field() -> bytes:
    place = writing.place_fields

    def drawing(writer: Any, wanted: list[Any]) -> None:
        place(writer, wanted)
        box = {"Type": name("XObject"), "Subtype": name("Form"), "BBox": numbers(0, 0, 200, 70)}
        writer.root["/AcroForm"]["/Fields"][0]["/AP"]["/N"] = stream(b"1 g 0 0 200 70 re f", **box)(writer)

    with mock.patch.object(writing, "place_fields", drawing):
        return made.sealed()


def _second_appearance() -> bytes:
    place = writing.place_fields

    def placing(writer: Any, wanted: list[Any]) -> None:
        place(writer, wanted)
        appearance = writer.root["/AcroForm"]["/Fields"][0]["/AP"]
        appearance["/D"] = appearance.raw_get("/N")

    with mock.patch.object(writing, "place_fields", placing):
        return made.sealed()


def _second_signatures() -> Iterator[Row]:
    stranger = made.identity_of(made.certify(made.named("Edda Falk"), made.ec_key(), None))
    yield doubtful(
        "countersigned by a stranger of the same name",
        lambda: made.countersigned(made.open_report(), stranger),
        "NO_CERTIFICATE_CHAIN_FOUND",
        why=CERTIFICATES,
    )
    for base, label in ((made.report, "no changes"), (made.open_report, "countersignatures only")):
        build = functools.partial(_another_signature, base)
        reasons = "CHANGED_AFTER_SIGNING SIGNER_NOT_NAMED"
        yield failed(f"signature in a new field, {label} permitted", build, reasons, why=LATER_REVISION)
    tampered: tuple[tuple[str, Callable[[Any], None], str], ...] = (
        ("page content", _exchange_content, "ORPHAN_OBJECTS"),
        ("title", _exchange_title, ""),
        ("place of the field", _move_field, ""),
        ("script", _add_script, "ACTIVE_CONTENT"),
        ("document information", _exchange_information, "ORPHAN_OBJECTS"),
        ("the form, by a field of its own", _add_field, "ANNOTATIONS SIGNER_NOT_NAMED"),
        ("the field's own wishes", _add_wishes, ""),
        ("metadata, replaced by the signature itself", _take_number, "FORMAT_FAILURE"),
    )
    for what, edit, more in tampered:
        build = functools.partial(_countersigned_while, edit)
        yield failed(
            f"countersignature that also changes: {what}", build, f"CHANGED_AFTER_SIGNING {more}", why=LATER_REVISION
        )
    for what, edit, more in tampered[:2]:
        build = functools.partial(_countersigned_after, edit)
        yield failed(
            f"countersigned after a change: {what}", build, f"CHANGED_AFTER_SIGNING {more}", why=LATER_REVISION
        )
    yield failed(
        "timestamped after a change",
        _laundered,
        "CHANGED_AFTER_SIGNING",
        pdfsig="invalid",
    )
    yield failed("countersignature sets permissions of its own", _locking, "CHANGED_AFTER_SIGNING", why=MATHEMATICS)


def _exchange_content(writer: Any) -> None:
    page(writer).get_object()["/Contents"] = stream(b"BT /F1 12 Tf 72 700 Td (conforms) Tj ET")(writer)
    writer.mark_update(page(writer))


def _exchange_title(writer: Any) -> None:
    info = writer.trailer["/Info"]
    info["/Title"] = signing_text("Another report")
    writer.update_container(info)


def _add_wishes(writer: Any) -> None:
    field = writer.root["/AcroForm"]["/Fields"][1]
    field["/SV"] = dictionary(Reasons=signing_text("none"))
    writer.update_container(field)


def _add_field(writer: Any) -> None:
    """Put a new field in the place of the one that waits for the engineer."""
    from pyhanko.sign.fields import SigFieldSpec, append_signature_field

    append_signature_field(writer, SigFieldSpec("Approved", box=(60, 600, 300, 720)))
    form = writer.root["/AcroForm"]["/Fields"]
    form[1] = form.raw_get(len(form) - 1)
    del form[len(form) - 1]
    form[1]["/TU"] = signing_text("Countersignature of the coating engineer, Edda Falk")


def _exchange_information(writer: Any) -> None:
    writer.set_info(dictionary(Title=signing_text("Another report")))


def _take_number(writer: Any) -> None:
    """Let the signature's value take the number of the metadata, so that only permitted objects are touched."""
    metadata = writer.root.raw_get("/Metadata")

    def add_object(thing: Any) -> Any:
        writer.objects[(0, metadata.idnum)] = thing
        return metadata

    writer.add_object = add_object


def _move_field(writer: Any) -> None:
    field = writer.root["/AcroForm"]["/Fields"][1]
    field["/Rect"] = numbers(0, 0, 500, 700)
    writer.update_container(field)


def _add_script(writer: Any) -> None:
    writer.root["/OpenAction"] = dictionary(S=name("JavaScript"), JS=signing_text("app.alert(1)"))
    writer.update_root()


def _countersigned_while(edit: Callable[[Any], None]) -> bytes:
    report, opened = made.open_report(), writing._opened

    def tampering(file: Any, at: datetime) -> Any:
        writer = opened(file, at)
        edit(writer)
        return writer

    field = "Approved" if edit is _add_field else "Countersigner-1"
    with mock.patch.object(writing, "_opened", tampering):
        return made.countersigned(report, made.engineer(), field)


def _countersigned_after(edit: Callable[[Any], None]) -> bytes:
    return made.countersigned(appended(made.open_report(), edit), made.engineer())


def _another_signature(base: Callable[[], bytes]) -> bytes:
    from pyhanko.sign.fields import SigFieldSpec, append_signature_field

    spec = SigFieldSpec("Approved", box=(60, 600, 300, 720))
    with_field = appended(base(), lambda writer: append_signature_field(writer, spec))
    return made.countersigned(with_field, made.engineer(), field="Approved")


def _laundered() -> bytes:
    """Return a report with an exchanged title and a trusted document timestamp over everything."""
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign.signers import PdfTimeStamper

    changed = appended(made.report(), _exchange_title)
    stamper = PdfTimeStamper(made.timestamper())
    output = stamper.timestamp_pdf(IncrementalPdfFileWriter(io.BytesIO(changed)), "sha256")
    return bytes(output.getvalue())


def _locking() -> bytes:
    from pyhanko.sign.fields import FieldMDPAction, FieldMDPSpec

    report, signature = made.open_report(), writing._signature
    lock = writing.SigMDPSetup(md_algorithm="sha256", field_lock=FieldMDPSpec(FieldMDPAction.ALL))

    def locking(*given: Any) -> Any:
        return signature(*given[:3], lock, *given[4:])

    with mock.patch.object(writing, "_signature", locking):
        return made.countersigned(report, made.engineer())
