"""What is told of a signer's certificate: for each state of its chain, in every text that names the signer."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from reportgen.cli.verification_text import render_proof
from reportgen.report.record import render_record
from reportgen.seal import renew_report
from reportgen.verification import render_verification, verify_report
from reportgen.verification.pageread import page_texts
from tests.unit.seal.authorities import crl
from tests.unit.verification import signed_material as made

DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
ENDED = made.AT + 30 * DAY
AUTHORITY = "a certificate that an authority you trust has issued, and that"


def by(*, force: bool = False, **certificate: Any) -> bytes:
    pair = made.certify(made.named("Ines Perk"), made.ec_key(), made.root(), **certificate)
    seal = made.force_sealed if force else made.sealed
    return seal(who=made.identity_of(pair, made.root()))


def renewed() -> bytes:
    return renew_report(made.report(), made.timestamper(made.AT + 2 * HOUR)).pdf


def revoked(after: timedelta) -> dict[str, Any]:
    signer = made.Pair(made.inspector().certificate, None)
    return {"crls": (crl(made.root(), made.AT + 2 * DAY, [(signer, made.AT + after)]),)}


def of_one_below_an_ended_authority() -> bytes:
    middle = made.certify(
        made.named("Middle"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY, end=ENDED
    )
    pair = made.certify(made.named("Ines Perk"), made.ec_key(), middle)
    return made.sealed(who=made.identity_of(pair, middle, made.root()))


LATE = {"at": made.AT + 40 * DAY}
CASES: list[tuple[str, Any, dict[str, Any], str, str, str]] = [
    ("trusted", made.report, {}, "trusted", "a certificate you trust", "vertraut über"),
    ("no root", made.report, {"roots": ()}, "unknown", "a certificate that nobody you trust has issued", "von keiner"),
    (
        "ended", lambda: by(end=ENDED), LATE, "ended", f"{AUTHORITY} ended on 2026-04-01",
        "am 2026-04-01 abgelaufen",
    ),
    (
        "authority ended", of_one_below_an_ended_authority, LATE, "ended", f"{AUTHORITY} ended on 2026-04-01",
        "am 2026-04-01 abgelaufen",
    ),
    (
        "revoked", made.report, revoked(HOUR), "revoked", f"{AUTHORITY} was revoked on 2026-03-02",
        "am 2026-03-02 gesperrt",
    ),
    (
        "revoked after it was proven", renewed, revoked(DAY), "revoked", f"{AUTHORITY} was revoked on 2026-03-03",
        "am 2026-03-03 gesperrt",
    ),
    (
        "another purpose", lambda: by(purposes=("1.3.6.1.5.5.7.3.1",), force=True), {}, "unfit",
        f"{AUTHORITY} cannot be believed for this signature", "nicht zu glauben",
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("build", "given", "chain", "told", "german"), [one[1:] for one in CASES], ids=[one[0] for one in CASES]
)
def test_a_certificate_is_told_as_what_it_is(
    build: Any, given: dict[str, Any], chain: str, told: str, german: str
) -> None:
    wanted = {"at": made.LATER, "roots": [made.root().certificate], **made.CHECKS, **given}
    found = verify_report(build(), **wanted)
    (signer,) = found.signers
    assert signer.chain == chain, found.reasons
    said = " ".join(render_proof(found, "r.pdf").split())
    assert f"(inspector), with {told}, at " in said
    whole = " ".join((said, *render_verification(found, "r.pdf").split()))
    assert ("you trust, at" in said) == (chain == "trusted")
    assert ("issuer unknown" in whole) == (chain == "unknown")
    page = " ".join(" ".join(page_texts(render_record(found.plain(), "r.pdf", language="de"))).split())
    assert german in page
