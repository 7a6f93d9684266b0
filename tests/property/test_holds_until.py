"""Until when a verdict holds is the last second at which the file alone still passes, by each policy there is."""

from __future__ import annotations

import functools
import itertools
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko_certvalidator.registry import SimpleCertificateStore

from reportgen.increments import RevocationData
from reportgen.seal import renew_report
from reportgen.verification import verify_report
from reportgen.verification.policy import Policy, with_required
from tests.unit.seal.authorities import answer, crl
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.verification import Verification

DAY, YEAR, SECOND = timedelta(days=1), timedelta(days=365), timedelta(seconds=1)
AT = made.AT
POLICIES = [
    Policy(require=wanted)
    for count in range(3)
    for wanted in itertools.combinations(("revocation", "timestamp"), count)
]


@functools.cache
def time_root() -> made.Pair:
    return made.certify(
        made.named("Root of Time"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY, end=AT + 12 * YEAR
    )


@functools.cache
def time(begins: float, ends: float) -> made.Pair:
    return made.certify(
        made.named(f"Time until {ends}"), made.rsa_key(number=20), time_root(), begin=AT + begins * YEAR - DAY,
        key_usage=made.usage("digital_signature"), purposes=("1.3.6.1.5.5.7.3.8",), end=AT + ends * YEAR,
    )  # fmt: skip


def stamping(after: float, begins: float, ends: float) -> Any:
    store = SimpleCertificateStore()
    store.register(asn1_x509.Certificate.load(time_root().certificate.public_bytes(Encoding.DER)))
    return made.timestamper(AT + after * YEAR, time(begins, ends), certs_to_embed=store)


def lists(after: float, life: timedelta = 60 * DAY) -> RevocationData:
    at = AT + after * YEAR
    return RevocationData(crls=(crl(made.root(), at, life=life), crl(time_root(), at, life=3 * life)))


@functools.cache
def person(name: str, years: float) -> made.Identity:
    pair = made.certify(made.named(name), made.ec_key(), made.root(), end=AT + years * YEAR)
    return made.identity_of(pair, made.root())


def sealed(years: float = 2, **more: Any) -> bytes:
    return made.sealed(who=person("Ines Perk", years), **more)


def own(data: RevocationData) -> RevocationData:
    """Return the list about the signer alone: nobody stamps."""
    return RevocationData(crls=data.crls[:1])


def countersigned(years: float, **more: Any) -> bytes:
    waiting = sealed(3, countersigners=(made.ENGINEER,), revocation=own(lists(0, 90 * DAY)))
    return made.countersigned(waiting, person(made.ENGINEER.name, years), **more)


def renewed(pdf: bytes, after: float, begins: float, ends: float, data: RevocationData | None = None) -> bytes:
    known = [time_root().certificate]
    return renew_report(pdf, stamping(after, begins, ends), given=data or lists(after), known=known).pdf


def answered() -> RevocationData:
    return RevocationData(ocsps=(answer(person("Ines Perk", 2).certificate, made.root(), AT),))


FILES: dict[str, Callable[[], bytes]] = {
    "signed": sealed,
    "signed, a list": lambda: sealed(revocation=own(lists(0))),
    "signed, an answer": lambda: sealed(revocation=answered()),
    "signed, a list that outlives the certificate": lambda: sealed(revocation=own(lists(0, 3 * YEAR))),
    "stamped, the authority outlives the signer": lambda: sealed(timestamper=stamping(0, 0, 4)),
    "stamped, the signer outlives the authority": lambda: sealed(4, timestamper=stamping(0, 0, 1)),
    "stamped, lists": lambda: sealed(timestamper=stamping(0, 0, 4), revocation=lists(0)),
    "countersigned by one who ends before": lambda: countersigned(1),
    "countersigned, a further list": lambda: countersigned(5, revocation=own(lists(0.0001, 120 * DAY))),
    "countersigned, stamped, lists": lambda: countersigned(2, timestamper=stamping(3e-4, 0, 4), revocation=lists(0)),
    "renewed": lambda: renewed(sealed(), 1, 0, 4),
    "renewed, the signer outlives the authority": lambda: renewed(sealed(5), 1, 0, 2),
    "stamped and renewed": lambda: renewed(sealed(timestamper=stamping(0, 0, 2)), 1, 0.5, 5),
    "renewed twice": lambda: renewed(renewed(sealed(), 1, 0, 3), 2, 1, 6),
    "renewed twice, the first outlives the second": lambda: renewed(renewed(sealed(), 1, 0, 6), 2, 1, 3),
    "renewed too late": lambda: renewed(renewed(sealed(5), 1, 0, 2), 3, 1, 6),
    "renewed twice, beyond the root of time": lambda: renewed(renewed(sealed(), 1, 0, 3), 2, 1, 20),
}


@functools.cache
def file_of(name: str) -> bytes:
    return FILES[name]()


@functools.cache
def judged(name: str, at: datetime) -> Verification:
    roots = [made.root().certificate, time_root().certificate]
    return verify_report(file_of(name), at=at, roots=roots, **made.CHECKS)


def verified(name: str, at: datetime, policy: Policy) -> Verification:
    return with_required(judged(name, at), policy, confined=True, rebuilding=True)


@pytest.mark.parametrize("name", FILES)
def test_a_verdict_holds_to_the_second_it_says_and_no_longer(name: str) -> None:
    held = 0
    for policy, after in itertools.product(POLICIES, (0.01, 1.6, 3.5)):
        now = AT + after * YEAR
        found = verified(name, now, policy)
        if found.overall != "passed":
            assert found.holds_until is None
            continue
        held += 1
        assert found.holds_until is not None
        until = datetime.fromisoformat(found.holds_until)
        assert until >= now
        for add, overall in ((-1, "passed"), (1, "indeterminate")):
            other = verified(name, until + add * SECOND, policy)
            assert other.overall == overall, (policy.require, after, found.holds_until)
            assert other.holds_until == (found.holds_until if add < 0 else None)
    assert held
