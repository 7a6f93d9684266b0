"""Revocation data that a report carries with it: what verification makes of it."""

from __future__ import annotations

import io

import pikepdf

from reportgen.increments import RevocationData
from reportgen.verification import Verification, verify_report
from tests.e2e.tamper.controls import crl
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
