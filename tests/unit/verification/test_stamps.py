"""What a timestamp says of its own time, and of which there may be one on a signature."""

from __future__ import annotations

import asyncio
import hashlib
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.sign.timestamps import DummyTimeStamper

from reportgen.increments import PreparedRevision, RevocationData
from reportgen.seal import renew_report, signing
from reportgen.verification import verify_report
from tests.e2e.tamper.ranges import revalued
from tests.unit.seal.authorities import crl
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from reportgen.verification import Verification

HOUR = timedelta(hours=1)
WIDE = "its authority says that its time may be wrong by 301 seconds, more than two clocks may differ"
UNBOUND = "it does not sign which certificate it is of, so that another could be put in its place"


class Service(DummyTimeStamper):
    """States an accuracy, and may leave out whose certificate its timestamps are of."""

    accuracy: dict[str, int]
    bound = True

    def _build_tst_info(self, message_imprint: Any, dt: Any, req: Any) -> Any:
        info = super()._build_tst_info(message_imprint, dt, req)
        if self.accuracy:
            info["accuracy"] = self.accuracy
        return info

    def _sign_tst_info(self, tst_info_data: bytes, md_algorithm: str, dt: Any) -> Any:
        """Return the signature over the attributes as they are wanted."""
        import pyhanko.sign.timestamps.dummy_client as library

        kept = library.cms.CMSAttributes
        if not self.bound:
            library.cms.CMSAttributes = lambda given: kept(
                [one for one in given if "certificate" not in str(one["type"].native)]
            )
        try:
            return super()._sign_tst_info(tst_info_data, md_algorithm, dt)
        finally:
            library.cms.CMSAttributes = kept


def service(moment: datetime = made.AT, *, bound: bool = True, **accuracy: int) -> Any:
    made_of = made.timestamper(moment)
    made_of.__class__ = Service
    made_of.accuracy, made_of.bound = accuracy, bound
    return made_of


def verified(pdf: bytes, at: datetime = made.AT + HOUR, **more: Any) -> Verification:
    return verify_report(pdf, at=at, roots=[made.root().certificate], **made.CHECKS, **more)


def names(found: Verification) -> list[str]:
    return [one.name for one in found.reasons]


@pytest.mark.parametrize(("how", "why"), [({"seconds": 301}, WIDE), ({"bound": False}, UNBOUND)])
def test_a_clock_that_may_be_minutes_wrong_or_anybodys_proves_nothing(how: dict[str, Any], why: str) -> None:
    found = verified(made.sealed(timestamper=service(**how)))
    refused = [] if why == WIDE else ["SIG_CONSTRAINTS_FAILURE"]  # anybody could exchange its certificate
    assert (found.time, names(found)) == ("claimed", refused)
    assert any(f"its timestamp proves nothing: {why}" in one for one in found.steps[5].details)
    renewed = renew_report(made.report(), service(made.AT + HOUR, **how)).pdf
    (said,) = verified(renewed, made.AT + 2 * HOUR).steps[5].unproven
    assert said.endswith(f"proves nothing: {why}")


@pytest.mark.parametrize("beyond", [-60, 60])
def test_a_clock_tells_no_time_outside_the_dates_of_its_own_certificate(beyond: int) -> None:
    """Nobody could ask it then: RFC 5280, 4.1.2.5."""
    own = made.timestamp_authority().certificate
    edge = own.not_valid_before_utc if beyond < 0 else own.not_valid_after_utc
    inside, outside = (
        verified(made.sealed(timestamper=service(edge + timedelta(seconds=by)))) for by in (-beyond, beyond)
    )
    why = "its timestamp proves nothing: its authority states a time at which its own certificate was not valid"
    assert any(why in one for one in outside.steps[5].details)
    assert not any(why in one for one in inside.steps[5].details)


@pytest.mark.parametrize(
    ("accuracy", "reasons"),
    [({}, []), ({"seconds": 1, "millis": 999, "micros": 999}, []), ({"seconds": 200}, ["REVOKED_NO_POE"])],
)
def test_what_was_revoked_within_a_clocks_accuracy_is_not_proven_to_be_older(
    accuracy: dict[str, int], reasons: list[str]
) -> None:
    """The latest moment that a timestamp speaks of is its time and its accuracy: RFC 3161, 2.4.2."""
    revoked = made.AT + timedelta(seconds=100)
    lists = crl(made.root(), made.AT + HOUR, revoked=[(made.inspector(), revoked)])
    stamped = made.sealed(timestamper=service(**accuracy))
    assert names(verified(stamped, crls=(lists,))) == reasons
    renewed = renew_report(made.report(), service(**accuracy), given=RevocationData()).pdf
    assert names(verified(renewed, crls=(lists,))) == reasons


@pytest.mark.parametrize("moments", [(0, -90), (-90, 0), (0, 0)])
def test_of_two_timestamps_on_a_signature_none_is_chosen(moments: Sequence[int]) -> None:
    """Whichever stands first would decide, and what the other says would be told nowhere."""

    def value(digest: bytes) -> bytes:
        first, second = (made.timestamper(made.AT + timedelta(days=days)) for days in moments)
        whole = signing._value(made.inspector(), PreparedRevision(digest, None), first)
        (signer,) = whole["content"]["signer_infos"]
        imprint = hashlib.sha256(signer["signature"].native).digest()
        signer["unsigned_attrs"][0]["values"].append(asyncio.run(second.async_timestamp(imprint, "sha256")))
        return bytes(whole.dump(force=True))

    found = verified(revalued(made.sealed(timestamper=made.timestamper()), value))
    assert found.overall == "indeterminate"
    assert "the signature bears more than one timestamp, of which only one can be told here" in [
        one.sentence for one in found.reasons
    ]


def test_a_list_that_speaks_for_another_is_told_where_it_names_the_signer() -> None:
    """It may not decide (RFC 5280, 6.3.3), but whoever gave it wants to know."""
    own = made.inspector().certificate
    clock = made.timestamp_authority()
    issuer = x509.CertificateIssuer([x509.DirectoryName(own.issuer)])
    entry = x509.RevokedCertificateBuilder(own.serial_number, made.AT).add_extension(issuer, critical=True).build()
    builder = x509.CertificateRevocationListBuilder(clock.certificate.subject, made.AT, made.AT + 9 * HOUR)
    listed = builder.add_revoked_certificate(entry).sign(clock.key, hashes.SHA256()).public_bytes(Encoding.DER)
    found = verified(made.report(), crls=(listed,))
    assert names(found) == []
    assert [line for line in found.steps[4].details if "a list of Harbour Time" in line and "is not used" in line]
