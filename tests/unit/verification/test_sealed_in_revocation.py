"""Revocation data that a report carries with it: what verification makes of it."""

from __future__ import annotations

import io

import pikepdf
import pytest

from reportgen.increments import RevocationData
from reportgen.verification import Verification, verify_report
from reportgen.verification.policy import Policy, with_required
from tests.e2e.tamper.controls import crl
from tests.unit.seal.authorities import answer
from tests.unit.verification import signed_material as made


def verified(report: bytes) -> Verification:
    return verify_report(report, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)


def test_sealed_in_data_that_cover_the_signer() -> None:
    report = made.sealed(revocation=RevocationData(crls=(crl(),)))
    answer = verified(report)
    assert answer.overall == "passed", answer.reasons
    assert answer.signers[0].revocation == "checked with the data at hand"
    with pikepdf.open(io.BytesIO(report)) as pdf:
        assert len(pdf.Root.DSS.CRLs) == 1


def test_sealed_in_data_that_say_revoked() -> None:
    data = RevocationData(crls=(crl(made.inspector().certificate.serial_number),))
    assert [one.name for one in verified(made.sealed(revocation=data)).reasons] == ["REVOKED_NO_POE"]


def test_sealed_in_data_that_cannot_be_read() -> None:
    def junk(pdf: pikepdf.Pdf) -> None:
        pdf.Root["/DSS"] = pikepdf.Dictionary(CRLs=pikepdf.Array([pdf.make_stream(b"junk")]))

    answer = verified(made.sealed(made.unsigned(edit=junk)))
    assert answer.overall == "failed"
    assert "the store of validation data holds something else" in [reason.sentence for reason in answer.reasons]


REQUIRED = Policy(require=("revocation",))
OWN = answer(made.engineer().certificate, made.root(), made.AT)


@pytest.mark.parametrize(
    "before", [None, RevocationData(ocsps=(answer(made.inspector().certificate, made.root(), made.AT),))]
)
def test_what_a_countersignature_brings_is_enough_where_revocation_is_required(before: RevocationData | None) -> None:
    waiting = made.sealed(countersigners=(made.ENGINEER,), revocation=before)
    data = RevocationData(crls=(crl(),), ocsps=(OWN,))
    signed = made.countersigned(waiting, made.engineer(), revocation=data)
    assert signed.startswith(waiting)
    found = verified(signed)
    assert (found.overall, found.time) == ("passed", "claimed"), found.reasons
    required = with_required(found, REQUIRED, confined=True, rebuilding=True)
    assert (required.overall, required.reasons) == ("passed", ())
    alone = with_required(
        verified(made.countersigned(waiting, made.engineer())), REQUIRED, confined=True, rebuilding=True
    )
    assert [one.name for one in alone.reasons] == ["REQUIRED"]


def test_a_countersignature_brings_nothing_that_no_chain_needs() -> None:
    other = made.certify(made.named("Another"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    data = RevocationData(ocsps=(answer(made.engineer().certificate, other, made.AT),))
    found = verified(made.countersigned(made.sealed(countersigners=(made.ENGINEER,)), made.engineer(), revocation=data))
    assert [one.name for one in found.reasons] == ["CHANGED_AFTER_SIGNING"]


def test_a_list_of_a_root_that_only_the_verifier_has_damages_no_report() -> None:
    """Neither with that root nor without it: then nobody can tell what its list is for."""
    alone = made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), made.root()))
    answers = RevocationData(crls=(crl(),), ocsps=(answer(alone.certificate, made.root(), made.AT),))
    report = made.sealed(who=alone, revocation=answers)
    assert verified(report).overall == "passed"
    found = verify_report(report, at=made.LATER, **made.CHECKS)
    assert found.overall == "indeterminate"
    assert {one.name for one in found.reasons} == {"NO_CERTIFICATE_CHAIN_FOUND"}
    told = "the store of validation data holds 2 by an authority whose certificate is neither in the file nor trusted"
    assert told in [one.sentence for one in found.reasons]


def test_a_list_that_only_bears_the_name_of_a_root_fails() -> None:
    forger = made.certify(made.root().certificate.subject, made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    from tests.unit.seal.authorities import crl as lists

    report = made.sealed(revocation=RevocationData(crls=(lists(forger, made.AT),)))
    assert [one.name for one in verified(report).reasons] == ["CHANGED_AFTER_SIGNING"]
