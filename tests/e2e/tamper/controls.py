"""Files that must pass: every form a genuine report takes."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pikepdf
from cryptography.hazmat.primitives.asymmetric import ec

from tests.e2e.tamper.rows import Row, passed
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Iterator


def rows() -> Iterator[Row]:
    yield passed("a report", made.report)
    yield passed("RSA-2048", lambda: made.sealed(who=_with_key(made.rsa_key())))
    yield passed("P-384", lambda: made.sealed(who=_with_key(made.ec_key(ec.SECP384R1()))))
    yield passed("P-521", lambda: made.sealed(who=_with_key(made.ec_key(ec.SECP521R1()))))
    unknown = "its cryptographic library does not know this kind of key"
    yield passed("Ed25519", lambda: made.sealed(who=_with_key(made.ed_key())), pdfsig="invalid", why=unknown)
    yield passed("twelve pages", lambda: made.sealed(made.unsigned(count=12)))
    yield passed("tagged", lambda: made.sealed(made.unsigned(count=2, edit=made.tagged)))
    streams = {"object_stream_mode": pikepdf.ObjectStreamMode.generate}
    yield passed("object streams", lambda: made.sealed(made.unsigned(count=2, edit=made.tagged, **streams)))
    yield passed("plain streams", lambda: made.sealed(made.unsigned(compress_streams=False)))
    yield passed("written for people to read", lambda: made.sealed(made.unsigned(qdf=True)))
    yield passed("no document information", lambda: _countersigned(edit=_without_information))
    yield passed("bookmarks and links", lambda: made.sealed(made.unsigned(count=2, edit=_links)))
    yield passed("the word endobj in a text", lambda: made.sealed(made.unsigned(edit=_odd_title)))
    yield passed("awaits countersignatures", made.open_report)
    yield passed("one of two countersigned", lambda: made.countersigned(made.open_report(), made.owner()))
    yield passed("both countersigned", made.complete_report)
    yield passed("both countersigned, other order", _other_order)
    yield passed("countersigned, tagged", lambda: _countersigned(count=2, edit=made.tagged))
    yield passed("countersigned, object streams", lambda: _countersigned(**streams))
    yield passed("a countersignature cut off again", _rolled_back)
    yield passed("timestamped", lambda: made.sealed(timestamper=made.timestamper()))
    later = made.AT + timedelta(days=2000)
    yield passed(
        "timestamped, certificate expired since", lambda: made.sealed(timestamper=made.timestamper()), at=later
    )
    yield passed("countersigned, all timestamped", _timestamped_all, at=later)
    stranger = made.certify(made.named("Other Time"), made.rsa_key(number=2), None, purposes=("1.3.6.1.5.5.7.3.8",))
    yield passed(
        "timestamp of an unknown authority", lambda: made.sealed(timestamper=made.timestamper(authority=stranger))
    )
    yield passed("lower-case digits in the signature's value", _lower_case)
    yield passed("an intermediate authority", _intermediate)
    yield passed("revocation data: not revoked", made.report, options={"crls": (crl(),)})


def _with_key(key: object) -> made.Identity:
    return made.identity_of(made.certify(made.named("Ines Perk"), key, made.root()), made.root())


def _links(pdf: pikepdf.Pdf) -> None:
    inside = pikepdf.Dictionary(S=pikepdf.Name("/GoTo"), D=pikepdf.Array([pdf.pages[1].obj, pikepdf.Name("/Fit")]))
    outside = pikepdf.Dictionary(S=pikepdf.Name("/URI"), URI="https://example.org/")
    kinds = [
        pikepdf.Dictionary(
            Type=pikepdf.Name("/Annot"),
            Subtype=pikepdf.Name("/Link"),
            Rect=pikepdf.Array([72, 690, 200, 710]),
            A=action,
            Border=pikepdf.Array([0, 0, 0]),
        )
        for action in (inside, outside)
    ]
    pdf.pages[0].obj["/Annots"] = pikepdf.Array([pdf.make_indirect(kind) for kind in kinds])
    with pdf.open_outline() as outline:
        outline.root.append(pikepdf.OutlineItem("Summary", 0))


def _without_information(pdf: pikepdf.Pdf) -> None:
    del pdf.trailer["/Info"]


def _odd_title(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo["/Keywords"] = pdf.make_indirect(pikepdf.String("a text of its own"))
    pdf.docinfo["/Subject"] = "endobj 5 0 obj (stream) xref startxref"


def _other_order() -> bytes:
    return made.countersigned(made.countersigned(made.open_report(), made.owner()), made.engineer())


def _countersigned(**form: Any) -> bytes:
    people = (made.ENGINEER, made.OWNER)
    waiting = made.sealed(made.unsigned(countersigners=people, **form), countersigners=people)
    return made.countersigned(made.countersigned(waiting, made.owner()), made.engineer())


def _timestamped_all() -> bytes:
    waiting = made.sealed(countersigners=(made.ENGINEER,), timestamper=made.timestamper())
    moment = made.AT + timedelta(hours=2)
    return made.countersigned(waiting, made.engineer(), at=moment, timestamper=made.timestamper(moment))


def _rolled_back() -> bytes:
    """Return the report before its last countersignature; that one existed, only the register knows."""
    whole = made.complete_report()
    return whole[: whole.rfind(b"%%EOF", 0, -10) + len(b"%%EOF\n")]


def _lower_case() -> bytes:
    """Return the report with letters of the value in lower case: the same value, in bytes no signature covers."""
    report = made.report()
    start, stop = report.index(b"<3082"), report.index(b">", report.index(b"<3082"))
    return report[:start] + report[start:stop].lower() + report[stop:]


def _intermediate() -> bytes:
    middle = made.certify(made.named("Middle"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY)
    leaf = made.certify(made.named("Ines Perk"), made.ec_key(), middle)
    return made.sealed(who=made.identity_of(leaf, middle, made.root()))


def crl(*revoked: int) -> bytes:
    """Return the root's list of revoked serial numbers, as DER."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization

    builder = x509.CertificateRevocationListBuilder(
        made.root().certificate.subject, made.AT - timedelta(days=1), made.AT + timedelta(days=30)
    )
    for number in revoked:
        entry = x509.RevokedCertificateBuilder(number, made.AT - timedelta(hours=5)).build()
        builder = builder.add_revoked_certificate(entry)
    return builder.sign(made.root().key, hashes.SHA256()).public_bytes(serialization.Encoding.DER)
