"""What a list or an answer says of a certificate, and what it leaves open: a signer chooses what he seals in."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import crl as asn1_crl
from asn1crypto import ocsp as asn1_ocsp
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp

from reportgen.errors import UsageError
from reportgen.increments import RevocationData
from reportgen.verification import verify_report
from reportgen.verification.policy import Policy, read_crl, with_required
from tests.unit.seal.authorities import answer, crl, responder
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.verification import Verification

POINT = x509.UniformResourceIdentifier("http://lists.example/1.crl")
REQUIRED = Policy(require=("revocation",))


def verified(pdf: bytes, **given: Any) -> Verification:
    answered = verify_report(pdf, at=made.LATER, roots=[made.root().certificate], **made.CHECKS, **given)
    return with_required(answered, REQUIRED, confined=True, rebuilding=True)


def listing(*extensions: x509.ExtensionType, at: datetime = made.AT) -> bytes:
    """Return a list of the root with these extensions, all critical."""
    root = made.root()
    builder = x509.CertificateRevocationListBuilder(root.certificate.subject, at, at + timedelta(days=30))
    for one in extensions:
        builder = builder.add_extension(one, critical=True)
    return builder.sign(root.key, hashes.SHA256()).public_bytes(Encoding.DER)


def scope(**limits: Any) -> x509.IssuingDistributionPoint:
    none = {
        "full_name": None, "relative_name": None, "only_contains_user_certs": False, "only_contains_ca_certs": False,
        "only_some_reasons": None, "indirect_crl": False, "only_contains_attribute_certs": False,
    }  # fmt: skip
    return x509.IssuingDistributionPoint(**{**none, **limits})


def holder(*points: x509.GeneralName) -> made.Identity:
    """Return the inspector by a certificate whose revocation is published at ``points``."""
    where = [x509.DistributionPoint([point], None, None, None) for point in points]
    extra = x509.CRLDistributionPoints(where) if where else None
    return made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), made.root(), extra=extra), made.root())


WHOLE = {
    "a plain list": (listing(), ()),
    "a list of signers": (listing(scope(only_contains_user_certs=True)), ()),
    "the part where the certificate is published": (listing(scope(full_name=[POINT])), (POINT,)),
}
PARTIAL = {
    "a list of authorities": (listing(scope(only_contains_ca_certs=True)), ()),
    "a list of attributes": (listing(scope(only_contains_attribute_certs=True)), ()),
    "a list of some reasons": (listing(scope(only_some_reasons=frozenset({x509.ReasonFlags.key_compromise}))), ()),
    "a list for other authorities": (listing(scope(indirect_crl=True)), ()),
    "the part where other certificates are published": (
        listing(scope(full_name=[x509.UniformResourceIdentifier("http://lists.example/2.crl")])), (POINT,),
    ),
    "a part, of a certificate that is published nowhere": (listing(scope(full_name=[POINT])), ()),
    "what is new since another list": (listing(x509.DeltaCRLIndicator(1)), ()),
    "a list with an extension that nobody knows": (
        listing(x509.UnrecognizedExtension(x509.ObjectIdentifier("1.2.3.4"), b"\x05\x00")), (),
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", WHOLE)
def test_a_list_that_would_name_the_signer_proves_that_he_was_not_revoked(what: str) -> None:
    data, points = WHOLE[what]
    found = verified(made.sealed(who=holder(*points), revocation=RevocationData(crls=(data,))))
    assert (found.overall, found.revocation) == ("passed", f"checked until {made.AT.isoformat()}")


@pytest.mark.parametrize("what", PARTIAL)
def test_a_list_that_would_not_name_the_signer_proves_nothing(what: str) -> None:
    data, points = PARTIAL[what]
    found = verified(made.sealed(who=holder(*points), revocation=RevocationData(crls=(data,))))
    assert [(one.name, found.revocation) for one in found.reasons] == [("REQUIRED", "not checked")]


def said(status: ocsp.OCSPCertStatus, *further: x509.Certificate) -> bytes:
    """Return what the root answers about the inspector, and in the same answer about ``further`` ones."""
    good = answer(made.inspector().certificate, made.root(), made.AT)
    held = asn1_ocsp.OCSPResponse.load(good)
    basic = held["response_bytes"]["response"].parsed
    told = basic["tbs_response_data"]["responses"]
    if status is ocsp.OCSPCertStatus.UNKNOWN:
        told[0]["cert_status"] = asn1_ocsp.CertStatus("unknown", asn1_ocsp.StatusUnknown())
    for one in further:
        other = asn1_ocsp.OCSPResponse.load(answer(one, made.root(), made.AT))
        told.append(other["response_bytes"]["response"].parsed["tbs_response_data"]["responses"][0].copy())
    signed = basic["tbs_response_data"].dump(force=True)
    basic["signature"] = made.root().key.sign(signed, ec.ECDSA(hashes.SHA256()))
    body = {"response_type": "basic_ocsp_response", "response": basic}
    return bytes(asn1_ocsp.OCSPResponse({"response_status": "successful", "response_bytes": body}).dump(force=True))


GOOD, UNKNOWN = ocsp.OCSPCertStatus.GOOD, ocsp.OCSPCertStatus.UNKNOWN


@pytest.mark.parametrize(
    ("data", "revocation"),
    [
        (said(GOOD), f"checked until {made.AT.isoformat()}"),
        (said(GOOD, made.engineer().certificate), f"checked until {made.AT.isoformat()}"),
        (said(UNKNOWN), "not checked"),
    ],
    ids=["good", "about several", "unknown"],
)
def test_an_answer_counts_only_where_the_certificate_is_known(data: bytes, revocation: str) -> None:
    found = verified(made.sealed(revocation=RevocationData(ocsps=(data,))))
    assert found.revocation == revocation
    assert [one.name for one in found.reasons] == ([] if revocation != "not checked" else ["REQUIRED"])


def test_an_answer_about_several_that_was_given_damages_no_report() -> None:
    """Its own file cannot make a report of a stranger a damaged one."""
    found = verified(made.report(), ocsps=(said(GOOD, made.engineer().certificate),))
    assert found.overall != "failed"


@pytest.mark.parametrize("kind", ["P-256", "RSA", "Ed25519"])
def test_an_answer_that_was_given_counts_though_the_certificate_names_nobody_to_ask(kind: str) -> None:
    """Whatever kind of key its authority has: that it is revoked is not to be missed."""
    key: Any = {"P-256": made.ec_key, "RSA": made.rsa_key, "Ed25519": made.ed_key}[kind]()
    authority = made.certify(
        made.named("Own Authority"), key, None, ca=True, key_usage=made.AUTHORITY, end=made.AT + timedelta(days=900)
    )
    signer = made.certify(made.named("Ines Perk"), made.ec_key(), authority)
    for status, overall in ((GOOD, "passed"), (ocsp.OCSPCertStatus.REVOKED, "indeterminate")):
        moment = made.AT if status is not GOOD else None
        builder = ocsp.OCSPResponseBuilder().add_response(
            signer.certificate, authority.certificate, hashes.SHA256(), status, made.AT,
            made.AT + timedelta(days=9), moment, None,
        )  # fmt: skip
        builder = builder.responder_id(ocsp.OCSPResponderEncoding.HASH, authority.certificate)
        word = builder.sign(key, None if kind == "Ed25519" else hashes.SHA256()).public_bytes(Encoding.DER)
        pdf = made.sealed(who=made.identity_of(signer, authority))
        found = verify_report(pdf, at=made.LATER, roots=[authority.certificate], ocsps=(word,), **made.CHECKS)
        found = with_required(found, REQUIRED, confined=True, rebuilding=True)
        assert (found.overall, found.revocation) == (overall, f"checked until {made.AT.isoformat()}")


def test_what_is_dated_in_the_future_says_nothing_yet() -> None:
    ahead = listing(at=made.LATER + timedelta(hours=1))
    word = answer(made.inspector().certificate, made.root(), made.LATER + timedelta(hours=1))
    for data in ({"crls": (ahead,)}, {"ocsps": (word,)}):
        found = verified(made.report(), **data)
        assert (found.revocation, [one.name for one in found.reasons]) == ("not checked", ["REQUIRED"])
    assert verified(made.report(), crls=(listing(at=made.LATER + timedelta(minutes=4)),)).overall == "passed"


def test_a_list_by_an_authority_that_may_sign_none_says_only_who_is_revoked() -> None:
    usage = made.usage("key_cert_sign")
    authority = made.certify(made.named("No Lists"), made.ec_key(), None, ca=True, key_usage=usage)
    signer = made.certify(made.named("Ines Perk"), made.ec_key(), authority)
    pdf = made.sealed(who=made.identity_of(signer, authority))
    for revoked, reasons in (((), ["REQUIRED"]), (((signer, made.AT),), ["REVOKED_NO_POE", "REQUIRED"])):
        given = {"at": made.LATER, "roots": [authority.certificate], "crls": (crl(authority, made.AT, revoked),)}
        found = with_required(verify_report(pdf, **given, **made.CHECKS), REQUIRED, confined=True, rebuilding=True)
        assert [one.name for one in found.reasons] == reasons


def test_an_answer_by_one_whose_certificate_had_ended_proves_nothing() -> None:
    ended = made.certify(
        made.named("Answered Once"), made.ec_key(), made.root(), key_usage=made.usage("digital_signature"),
        purposes=("1.3.6.1.5.5.7.3.9",), end=made.AT - timedelta(days=1),
    )  # fmt: skip
    found = verified(made.report(), ocsps=(answer(made.inspector().certificate, made.root(), made.AT, ended),))
    assert found.revocation == "not checked"


LOST, REPLACED = x509.ReasonFlags.key_compromise, x509.ReasonFlags.superseded


@pytest.mark.parametrize("kind", ["crls", "ocsps"])
def test_what_is_older_than_the_certificate_could_not_name_it(kind: str) -> None:
    signer = made.inspector().certificate
    for days, overall in ((-1, "indeterminate"), (0, "passed")):
        at = signer.not_valid_before_utc + timedelta(days=days)
        builder = x509.CertificateRevocationListBuilder(
            made.root().certificate.subject, at, made.LATER + timedelta(days=365)
        )
        word = builder.sign(made.root().key, hashes.SHA256()).public_bytes(Encoding.DER)
        if kind == "ocsps":
            answered = ocsp.OCSPResponseBuilder().add_response(
                signer, made.root().certificate, hashes.SHA256(), GOOD, at, made.LATER + timedelta(days=365), None, None
            )
            answered = answered.responder_id(ocsp.OCSPResponderEncoding.HASH, made.root().certificate)
            word = answered.sign(made.root().key, hashes.SHA256()).public_bytes(Encoding.DER)
        found = verified(made.report(), **{kind: (word,)})
        assert found.overall == overall
        told = " ".join(one.sentence for one in found.reasons)
        assert ("it is older than the certificate and could not name it" in told) is (days < 0)


@pytest.mark.parametrize(
    ("days", "reason", "overall"),
    [(-9, None, "indeterminate"), (-9, LOST, "indeterminate"), (900, LOST, "indeterminate"), (900, REPLACED, "passed")],
)
def test_an_answer_by_one_whom_a_list_names_as_revoked_is_not_used(
    days: int, reason: x509.ReasonFlags | None, overall: str
) -> None:
    """However old the list is: in other hands, his key gives any date to an answer."""
    one, dated = responder("One Who Answers"), made.inspector().certificate.not_valid_before_utc - timedelta(days=1)
    word = answer(made.inspector().certificate, made.root(), made.AT, one)
    produced = ocsp.load_der_ocsp_response(word).produced_at_utc
    assert verified(made.report(), ocsps=(word,)).overall == "passed"
    found = verified(
        made.report(),
        ocsps=(word,),
        crls=(crl(made.root(), dated, [(one, produced + timedelta(days))], reason=reason),),
    )
    assert found.overall == overall
    told = " ".join(one.sentence for one in found.reasons)
    assert ("the certificate of who gave it is revoked" in told) is (overall == "indeterminate")


@pytest.mark.parametrize(
    ("reason", "since", "overall"),
    [(LOST, -1, "indeterminate"), (LOST, 1, "passed"), (REPLACED, -1, "passed"), (None, -1, "passed")],
)
def test_a_key_that_was_in_other_hands_before_it_signed(
    reason: x509.ReasonFlags | None, since: int, overall: str
) -> None:
    """RFC 5280, 5.3.2: revoked after the proven time, its key held to be lost since before."""
    on, later = made.AT + timedelta(days=since), made.AT + timedelta(days=2)
    word = crl(made.root(), later, [(made.inspector(), later)], reason=reason, invalid=on)
    stamped = made.sealed(timestamper=made.timestamper(made.AT))
    found = verify_report(stamped, at=made.LATER, roots=[made.root().certificate], crls=(word,), **made.CHECKS)
    assert found.overall == overall
    told = f"its key is held to be in other hands since {on:%Y-%m-%d}"
    assert any(told in one.sentence for one in found.reasons) is (overall != "passed")


def built_otherwise(change: str) -> bytes:
    if change == "an extension that is none":
        return listing(x509.UnrecognizedExtension(x509.oid.ExtensionOID.ISSUING_DISTRIBUTION_POINT, b"\xff\xff"))
    held = asn1_crl.CertificateList.load(listing(x509.DeltaCRLIndicator(1)))
    told = held["tbs_cert_list"]
    if change == "version 1":
        told["version"] = 0
        del told["crl_extensions"]
    else:
        told["crl_extensions"].append(told["crl_extensions"][0].copy())
    return bytes(held.dump(force=True))


@pytest.mark.parametrize("change", ["version 1", "an extension twice", "an extension that is none"])
def test_a_list_that_cannot_be_read_is_named_in_a_sentence(change: str, tmp_path: Path) -> None:
    path = tmp_path / "odd.crl"
    path.write_bytes(built_otherwise(change))
    with pytest.raises(UsageError, match=r"odd\.crl cannot be used: it is .* list") as refused:
        read_crl(path)
    assert ("version 1" in str(refused.value)) is (change == "version 1")


def test_a_reason_that_nobody_knows_makes_a_revocation_no_milder() -> None:
    """Code 7 is not used (RFC 5280, 5.3.1)."""
    signer, later = made.inspector(), made.AT + timedelta(days=2)
    root = made.root()
    unknown = x509.UnrecognizedExtension(x509.ObjectIdentifier("2.5.29.21"), b"\x0a\x01\x07")
    entry = x509.RevokedCertificateBuilder(signer.certificate.serial_number, made.AT).add_extension(unknown, False)
    builder = x509.CertificateRevocationListBuilder(root.certificate.subject, later, later + timedelta(days=30))
    word = builder.add_revoked_certificate(entry.build()).sign(root.key, hashes.SHA256()).public_bytes(Encoding.DER)
    assert "REVOKED_NO_POE" in [one.name for one in verified(made.report(), crls=(word,)).reasons]
