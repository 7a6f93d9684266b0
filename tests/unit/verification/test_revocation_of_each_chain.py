"""Revocation data about one chain says nothing of another: each is judged by what is about itself."""

from __future__ import annotations

import functools
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko_certvalidator.registry import SimpleCertificateStore

from reportgen.increments import RevocationData
from reportgen.seal import renew_report
from reportgen.verification import verify_report
from reportgen.verification.policy import Policy, with_required
from tests.unit.seal.authorities import LIFE, answer, crl
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from reportgen.verification import Verification

DAY, YEAR = timedelta(days=1), timedelta(days=365)
REQUIRED = Policy(require=("revocation",))
LONG = {"end": made.AT + 20 * YEAR}


def published(name: str) -> x509.CRLDistributionPoints:
    """Return where a list of an authority is to be had: such a certificate states that it can be revoked."""
    point = x509.UniformResourceIdentifier(f"http://lists.example/{name}.crl")
    return x509.CRLDistributionPoints([x509.DistributionPoint([point], None, None, None)])


@functools.cache
def person(name: str) -> made.Identity:
    pair = made.certify(made.named(name), made.ec_key(), made.root(), extra=published("people"), **LONG)
    return made.identity_of(pair, made.root())


@functools.cache
def time_root() -> made.Pair:
    return made.certify(
        made.named("Root of Time"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY, begin=made.AT - YEAR, **LONG
    )


@functools.cache
def time(years: int) -> made.Pair:
    """Return an authority of time, under a root of its own, that can be revoked and ends after some years."""
    return made.certify(
        made.named("Some Time"), made.rsa_key(number=20), time_root(), key_usage=made.usage("digital_signature"),
        purposes=("1.3.6.1.5.5.7.3.8",), extra=published("time"), end=made.AT + years * YEAR,
    )  # fmt: skip


def stamping(at: datetime) -> Any:
    """Return a service that gives the certificates of its chain with each timestamp."""
    store = SimpleCertificateStore()
    store.register(asn1_x509.Certificate.load(time_root().certificate.public_bytes(Encoding.DER)))
    return made.timestamper(at, time(6), certs_to_embed=store)


@functools.cache
def stamped() -> bytes:
    return made.sealed(who=person("Ines Perk"), timestamper=stamping(made.AT))


@functools.cache
def renewed() -> bytes:
    """Return a report renewed with lists for every chain, as an authority gives them: for sixty days."""
    at = made.AT + YEAR
    given = RevocationData(crls=(crl(made.root(), at), crl(time_root(), at)))
    return renew_report(stamped(), stamping(at), given=given).pdf


def verified(pdf: bytes, after: timedelta = 3 * DAY, policy: Policy | None = None, **given: Any) -> Verification:
    roots = [made.root().certificate, time_root().certificate]
    found = verify_report(pdf, at=made.AT + after, roots=roots, **made.CHECKS, **given)
    return found if policy is None else with_required(found, policy, confined=True, rebuilding=True)


def names(found: Verification) -> list[str]:
    return [one.name for one in found.reasons]


def missing(found: Verification) -> list[str]:
    """Return what a policy that requires revocation finds missing."""
    (reason,) = found.reasons
    assert reason.name == "REQUIRED"
    return reason.sentence.partition("and this is missing: ")[2].split("; ")


def countersigned(data: Sequence[bytes] = ()) -> bytes:
    waiting = made.sealed(
        who=person("Ines Perk"),
        countersigners=(made.ENGINEER,),
        revocation=RevocationData(ocsps=tuple(data)) if data else None,
    )
    return made.countersigned(waiting, person("Edda Falk"))


def about(name: str, at: datetime = made.AT, **more: Any) -> bytes:
    return answer(person(name).certificate, made.root(), at, **more)


def test_an_answer_about_the_inspector_leaves_the_countersigner_unchecked() -> None:
    sealed_in = verified(countersigned([about("Ines Perk")]))
    given = verified(countersigned(), ocsps=(about("Ines Perk"),))
    for found in (sealed_in, given):
        assert (names(found), found.revocation) == ([], "not checked")
        assert [one.revocation for one in found.signers] == [
            "checked with the data at hand", "not checked (no data at hand)",
        ]  # fmt: skip


def test_answers_about_both_are_needed_where_revocation_is_required() -> None:
    own, both = (about("Ines Perk"),), (about("Ines Perk"), about("Edda Falk"))
    assert missing(verified(countersigned(), policy=REQUIRED, ocsps=own)) == [
        "a revocation list or answer of Root of Harbour Works, Harbour Works that is current on 2026-03-05"
    ]
    assert names(verified(countersigned(), policy=REQUIRED, ocsps=both)) == []


@pytest.mark.parametrize("sealed_in", [True, False])
def test_a_countersigner_who_is_revoked_is_so_by_whichever_data(*, sealed_in: bool) -> None:
    bad = (about("Edda Falk", revoked=made.AT),)
    if sealed_in:
        at = made.AT + DAY
        pdf = renew_report(countersigned(), stamping(at), given=RevocationData(ocsps=bad)).pdf
        assert names(verified(pdf)) == ["REVOKED_NO_POE"]
    else:
        assert names(verified(countersigned(), ocsps=bad)) == ["REVOKED_NO_POE"]


def test_a_list_of_the_signers_authority_leaves_the_authority_of_time_unchecked() -> None:
    found = verified(stamped(), crls=(crl(made.root(), made.AT),))
    assert (names(found), found.time) == ([], "proven")
    assert any("whether that authority was revoked was not checked" in one for one in found.steps[5].details)
    lists = (crl(made.root(), made.AT), crl(time_root(), made.AT))
    found = verified(stamped(), crls=lists)
    assert (found.time, any("not checked" in one for one in found.steps[5].details)) == ("proven", False)


def test_an_authority_of_time_that_is_revoked_proves_nothing() -> None:
    gone = crl(time_root(), made.AT + 2 * DAY, [(time(6), made.AT + DAY)])
    for lists in ((gone,), (crl(made.root(), made.AT), gone)):
        assert verified(stamped(), crls=lists).time == "claimed"


def test_where_revocation_is_required_that_of_the_authority_of_time_is_too() -> None:
    lists = (crl(made.root(), made.AT),)
    (lacking,) = missing(verified(stamped(), policy=REQUIRED, crls=lists))
    assert lacking == "a revocation list or answer of Root of Time, Harbour Works that is current on 2026-03-05"
    assert names(verified(stamped(), policy=REQUIRED, crls=(*lists, crl(time_root(), made.AT)))) == []


def test_an_old_list_does_not_do_where_revocation_is_required() -> None:
    lists = (crl(made.root(), made.AT), crl(time_root(), made.AT))
    after = LIFE + DAY
    found = verified(stamped(), after, REQUIRED, crls=lists)
    last = "(its last is dated 2026-03-02)"
    assert missing(found) == [
        f"a revocation list or answer of Root of Time, Harbour Works that is current on 2026-05-02 {last}"
    ], "the signer's is judged at the moment that is proven"
    assert names(verified(made.sealed(who=person("Ines Perk")), after, REQUIRED, crls=lists)) == ["REQUIRED"]


@pytest.mark.parametrize("years", [1.5, 3, 5.9])
def test_a_renewal_holds_though_the_lists_in_it_have_ended(years: float) -> None:
    found = verified(renewed(), years * YEAR)
    assert (names(found), found.time) == ([], "proven")
    proven = verified(renewed(), years * YEAR, Policy(require=("timestamp",)))
    assert proven.holds_until == (made.AT + 6 * YEAR).isoformat(timespec="seconds")
    assert found.holds_until == made.root().certificate.not_valid_after_utc.isoformat(), "the signer's outlives it"
    (told,) = [one for one in found.steps[5].details if one.startswith("Renewal-1")]
    assert told.endswith("; whether that authority was revoked was not checked after 2027-03-02")


def test_the_lists_of_a_renewal_judge_what_it_covers() -> None:
    """The chains below a renewal are judged at its moment: no list that is current today can be had of them."""
    today = crl(time_root(), made.AT + 5 * YEAR)
    assert names(verified(renewed(), 5 * YEAR, REQUIRED, crls=(today,))) == []
    lacking = "a revocation list or answer of Root of Time, Harbour Works that is current on 2031-03-01"
    assert missing(verified(renewed(), 5 * YEAR, REQUIRED)) == [f"{lacking} (its last is dated 2027-03-02)"]


def test_an_authority_of_time_that_ended_is_not_said_to_be_a_stranger() -> None:
    found = verified(renewed(), 7 * YEAR)
    (told,) = found.steps[5].unproven
    assert "its authority is not trusted" not in told
    assert "no longer valid" in told


def below_an_authority() -> tuple[made.Pair, made.Pair, bytes]:
    """Return an authority under the root, one whom it certified, and what he signed; neither says where to ask."""
    middle = made.certify(made.named("Middle"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY, **LONG)
    leaf = made.certify(made.named("Ines Perk"), made.ec_key(), middle)
    return middle, leaf, made.sealed(who=made.identity_of(leaf, middle, made.root()))


@pytest.mark.parametrize("where", ["given", "sealed in"])
def test_the_list_of_an_authority_below_the_root_is_heard(where: str) -> None:
    """Whoever issued the signer's certificate revokes it, though a root stands above: RFC 5280, 6.3."""
    middle, leaf, pdf = below_an_authority()
    own, root = crl(middle, made.AT), crl(made.root(), made.AT)
    gone = crl(middle, made.AT, [(leaf, made.AT - DAY)])

    def judged(*lists: bytes) -> Verification:
        if where == "given":
            return verified(pdf, policy=REQUIRED, crls=lists)
        renewed = renew_report(pdf, stamping(made.AT + DAY), given=RevocationData(crls=lists)).pdf
        return verified(renewed, policy=REQUIRED, crls=(crl(time_root(), made.AT + DAY),))

    assert (names(judged(own, root)), judged(own, root).revocation) == ([], f"checked until {made.AT.isoformat()}")
    assert "REVOKED_NO_POE" in names(judged(gone))
    assert names(judged(gone, root)) == ["REVOKED_NO_POE"]
    (lacking,) = [one for one in missing(judged(own)) if "Middle" not in one]
    assert lacking.startswith("a revocation list or answer of Root of Harbour Works"), "only of what is lacking"


def listed(issuer: made.Pair, key: made.Pair | None = None, *more: x509.ExtensionType, at: datetime = made.AT) -> bytes:
    builder = x509.CertificateRevocationListBuilder(issuer.certificate.subject, at, at + LIFE)
    for one in more:
        builder = builder.add_extension(one, critical=True)
    return builder.sign((key or issuer).key, hashes.SHA256()).public_bytes(Encoding.DER)


def test_what_was_given_and_is_not_used_is_named_with_the_reason() -> None:
    root, time_of_list = made.root(), made.AT + 9 * YEAR
    powerless = made.certify(
        made.named("No Lists"), made.ec_key(), None, ca=True, key_usage=made.usage("key_cert_sign"), **LONG
    )
    of_powerless = made.certify(made.named("Ines Perk"), made.ec_key(), powerless)
    signed = made.sealed(who=made.identity_of(of_powerless, powerless))
    stranger = about("Ines Perk")[:-1] + bytes([about("Ines Perk")[-1] ^ 1])
    for pdf, given, roots, why in (
        (signed, {"crls": (crl(powerless, made.AT),)}, powerless, "does not permit it to sign lists"),
        (made.report(), {"crls": (listed(root, time_root()),)}, root, "not signed by the key of this authority"),
        (made.report(), {"crls": (listed(root, None, x509.DeltaCRLIndicator(1)),)}, root, "some certificates"),
        (made.report(), {"crls": (listed(root, at=time_of_list),)}, root, "its date is in the future"),
        (made.sealed(who=person("Ines Perk")), {"ocsps": (stranger,)}, root, "is not signed by this authority"),
    ):
        found = verify_report(pdf, at=made.AT + 3 * DAY, roots=[roots.certificate], **made.CHECKS, **given)
        assert found.signers[0].revocation == "not checked (the data at hand cannot be used)"
        (told,) = [one for one in found.steps[4].details if "is not used" in one]
        assert why in told
        (lacking,) = missing(with_required(found, REQUIRED, confined=True, rebuilding=True))
        assert why in lacking
