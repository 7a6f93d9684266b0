"""Whom a certificate belongs to by policy and by pin; and what a trusted root's own limits forbid those below it."""

from __future__ import annotations

import dataclasses
import functools
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from cryptography import x509

from reportgen.certificates import pin_of
from reportgen.names import Pin
from tests.e2e.tamper.rows import CERTIFICATES, MATHEMATICS, Row, doubtful, failed, passed
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportgen.seal import Identity

CN = x509.NameOID.COMMON_NAME
EMAIL, SERVER = "1.3.6.1.5.5.7.3.4", "1.3.6.1.5.5.7.3.1"


def rows() -> Iterator[Row]:
    yield from _pinned()
    yield from _limits_of_roots()


@functools.cache
def namesake() -> Identity:
    """Another holder of a certificate of the trusted authority in the inspector's name."""
    return made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), made.root()), made.root())


@functools.cache
def renamed() -> Identity:
    """The inspector by a certificate in another name."""
    return made.identity_of(made.certify(made.named("Ines Perk-Falk"), made.ec_key(), made.root()), made.root())


def own(who: Identity) -> Pin:
    return Pin(certificate=pin_of(who.certificate))


def by_issuer(who: Identity, issuer: x509.Certificate | None = None) -> Pin:
    issuer = issuer or made.root().certificate
    return Pin(issuer=pin_of(issuer), subject=who.certificate.subject.rfc4514_string())


def _of(who: Identity, pin: Pin | None = None) -> Callable[[], bytes]:
    """Return how ``who`` seals the report of Ines Perk, whose project file pins her certificate."""
    stated = (*made.WHO, "ines", dataclasses.asdict(pin) if pin else None)
    return lambda: made.sealed(made.unsigned(files=made.inputs_naming(stated)), who)


def _policy(name: str, pin: Pin) -> dict[str, Any]:
    return {"options": {"people": {name: pin}}}


def _pinned() -> Iterator[Row]:
    ines, other, married = made.inspector(), namesake(), renamed()
    wrong = "SIGNER_NOT_PINNED"
    elsewhere = by_issuer(ines, made.certify(made.named("Other root"), made.ec_key(), None, ca=True).certificate)
    for what, pin in {
        "certificate": own(ines),
        "issuer, and another subject": by_issuer(married),
        "subject, and another issuer": elsewhere,
    }.items():
        yield failed(f"a namesake; the policy pins {what}", _of(other), wrong, why=MATHEMATICS, **_policy("ines", pin))
        yield failed(f"a namesake; the project file pins {what}", _of(other, pin), wrong, why=MATHEMATICS)
    evaded = _policy("INES  Perk", own(ines))
    yield failed("a namesake under another id; the policy pins the name", _of(other), wrong, why=MATHEMATICS, **evaded)
    # under the id of another who is pinned too, and with that one's certificate
    edda = made.engineer()
    borrowed = lambda: made.sealed(made.unsigned(files=made.inputs_naming((*made.WHO, "edda", None))), edda)  # noqa: E731
    both = {"options": {"people": {"edda": own(edda), "Ines Perk": own(ines)}}}
    yield failed("under the id of another; the policy pins her, and the name", borrowed, wrong, why=MATHEMATICS, **both)
    contrary = _policy("ines", own(ines))
    yield failed(
        "a namesake pinned by the project file alone", _of(other, own(other)), wrong, why=MATHEMATICS, **contrary
    )
    yield passed("pinned by the policy, in another name", _of(married), **_policy("ines", own(married)))
    yield passed("pinned by the policy, by issuer and subject", _of(ines), **_policy("ines", by_issuer(ines)))
    yield passed(
        "pinned by the policy and the project file", _of(married, own(married)), **_policy("ines", own(married))
    )
    yield passed("pinned by the project file, by issuer and subject", _of(ines, by_issuer(ines)))
    yield passed("pinned by the policy, otherwise by the project file", _of(ines, own(other)), **contrary)
    yield passed("a policy that pins somebody else", _of(ines), **_policy("edda", own(other)))
    unnamed = "a married name without a pin"
    yield doubtful(unnamed, _of(married), "SIGNER_NOT_NAMED", why=MATHEMATICS)
    # whoever signs writes the project file too
    for what, pin in {"certificate": own(married), "issuer and subject": by_issuer(married)}.items():
        alone = f"in another name, which the project file alone pins by {what}"
        yield doubtful(alone, _of(married, pin), "SIGNER_NOT_NAMED", why=MATHEMATICS)
    elsewhere_too = (*made.WHO[:2], "Rival Works", "ines", dataclasses.asdict(own(ines)))
    body = lambda: made.sealed(made.unsigned(files=made.inputs_naming(elsewhere_too)), ines)  # noqa: E731
    yield doubtful("of another organisation, which the project file pins", body, "SIGNER_NOT_NAMED", why=MATHEMATICS)
    # a name that only looks like the pinned one: a Cyrillic letter in it
    cyrillic = "In\u0435s Perk"
    alike = made.identity_of(made.certify(made.named(cyrillic), made.ec_key(), made.root()), made.root())
    who = (made.WHO[0], cyrillic, *made.WHO[2:], "", None)
    seen = lambda: made.sealed(made.unsigned(files=made.inputs_naming(who)), alike)  # noqa: E731
    ines_alone = _policy("Ines Perk", own(ines))
    yield doubtful("a look-alike of a pinned name", seen, "SIGNER_NOT_NAMED", why=MATHEMATICS, **ines_alone)
    two = {"options": {"people": {"Ines Perk": own(ines), cyrillic: own(alike)}}}
    yield passed("a look-alike of a pinned name, pinned too", seen, **two)
    yield passed("a look-alike where nobody is pinned", seen)


def _authority(name: str, issuer: made.Pair | None = None, **more: Any) -> made.Pair:
    return made.certify(made.named(name), made.ec_key(), issuer, **{"ca": True, "key_usage": made.AUTHORITY, **more})


def _below(*chain: made.Pair) -> dict[str, Any]:
    """Return how the inspector signs under ``chain``, nearest issuer first, the last of it being the trusted root."""
    subject = x509.Name([*_organisation("Harbour Works"), *made.named("Ines Perk").get_attributes_for_oid(CN)])
    leaf = made.certify(subject, made.ec_key(), chain[0])
    who = made.identity_of(leaf, *chain)
    return {"build": lambda: made.sealed(who=who), "roots": lambda: (chain[-1].certificate,)}


def _limits_of_roots() -> Iterator[Row]:
    limits = "CHAIN_CONSTRAINTS_FAILURE"
    ended = _authority("Ended", begin=made.AT - timedelta(days=90), end=made.AT + timedelta(days=1))
    within = x509.NameConstraints([x509.DirectoryName(_organisation("Harbour Works"))], None)
    apart = x509.NameConstraints([x509.DirectoryName(_organisation("Rival Works"))], None)
    forbids = x509.NameConstraints(None, [x509.DirectoryName(_organisation("Harbour Works"))])
    plain = _authority("Plain")
    for what, chain, reasons in (
        ("a root that has ended", (ended,), "OUT_OF_BOUNDS_NO_POE"),
        ("a root that is no authority", (_authority("None", ca=False),), limits),
        ("a root that may not sign certificates", (_authority("Signer", key_usage=made.SIGNING),), limits),
        ("a root for web servers", (_authority("Web", purposes=(SERVER,)),), limits),
        ("an authority for web servers", (_authority("Below", plain, purposes=(SERVER,)), plain), limits),
        ("a path longer than its root allows", _path(0), limits),
        ("a root for other names", (_authority("Apart", extra=apart),), "CERTIFICATE_CHAIN_GENERAL_FAILURE"),
        ("a root that forbids the name", (_authority("Forbids", extra=forbids),), "CERTIFICATE_CHAIN_GENERAL_FAILURE"),
    ):
        yield doubtful(what, reasons=reasons, why=CERTIFICATES, **_below(*chain))
    for what, chain in (
        ("a root for these names", (_authority("Within", extra=within),)),
        ("a path as long as its root allows", _path(1)),
        ("an authority for signing e-mail", (_authority("Below", plain, purposes=(EMAIL,)), plain)),
    ):
        yield passed(what, **_below(*chain))


def _path(length: int) -> tuple[made.Pair, made.Pair]:
    above = _authority("Above", length=length)
    return _authority("Between", above), above


def _organisation(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(x509.NameOID.ORGANIZATION_NAME, name)])
