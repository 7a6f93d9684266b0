"""What is found about the signatures of one file; and who signed, held against whom the embedded job names.

Each field belongs to one person, each key to one.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from reportgen import certificates
from reportgen.formats import ENGINEER_FIELD, Signatory
from reportgen.increments import described
from reportgen.names import look_alike, shown, spelling, spelt_alike, told_apart
from reportgen.verification.verdict import Reason, Step, not_done, step_of
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from cryptography import x509

    from reportgen.names import Pin
    from reportgen.verification.outer_bytes import Gap
    from reportgen.verification.replay import Signing
    from reportgen.verification.verdict import End, Signer

_STEPS = range(2, 7)


@dataclass(slots=True)
class SignatureFindings:
    """Reasons and details of steps 2 to 6, where the signatures lie, who signed, and which fields wait."""

    gaps: list[Gap] = field(default_factory=list)
    reasons: dict[int, list[Reason]] = field(default_factory=lambda: {number: [] for number in _STEPS})
    details: dict[int, list[str]] = field(default_factory=lambda: {number: [] for number in _STEPS})
    signers: list[Signer] = field(default_factory=list)
    certificates: list[x509.Certificate] = field(default_factory=list)
    """That of each signer."""
    issuers: list[tuple[x509.Certificate, ...]] = field(default_factory=list)
    """Those that came with each signature, and the trusted roots."""
    signing: Signing | None = None
    """What the revision of the first signature states, as far as it could be read."""
    idle: list[str] = field(default_factory=list)
    """A sentence for each renewal that proves nothing."""
    unfilled: list[str] = field(default_factory=list)
    ends: tuple[End, ...] = ()
    judged: bool = False
    """Whether every signature was looked at; else steps 3, 5 and 6 have nothing to say."""

    def add(self, signer: Signer, certificate: x509.Certificate, issuers: tuple[x509.Certificate, ...]) -> None:
        """Add one who signed, with the certificate and those that may have issued it."""
        by = certificates.pins_of_issuers(certificate, issuers)
        subject = certificates.distinguished_name(certificate)
        self.signers.append(replace(signer, issued_by=by, distinguished_name=subject))
        self.certificates.append(certificate)
        self.issuers.append(issuers)

    def steps(self) -> list[Step]:
        """Return steps 2 to 6."""
        why_not = told("signatures-not-told-apart" if self.gaps else "no-signature-to-look-at")
        steps = [
            step_of(number, self.reasons[number], self.details[number])
            if self.reasons[number] or self.judged
            else not_done(number, why_not)
            for number in _STEPS
        ]
        return [*steps[:-1], replace(steps[-1], unproven=tuple(self.idle))]


def compare_names(found: SignatureFindings, signatories: Sequence[Signatory], people: Mapping[str, Pin]) -> None:
    """Add to ``found`` where the signers are not those of the job.

    ``signatories`` are whom the embedded job names, in the order of the fields; ``people`` whom the policy pins, by the
    job's id of a person or by name.
    """
    by_field = {signatory.field: signatory for signatory in signatories}
    for place, signer in enumerate(found.signers):
        person = by_field.get(signer.field)
        reason = bind(found, place, person, people)
        if reason is not None:
            found.signers[place] = replace(found.signers[place], kind="not named")
            found.reasons[5].append(reason)
    found.details[5] += signed_in_several_roles(signatories, found.signers)


def bind(found: SignatureFindings, place: int, person: Signatory | None, people: Mapping[str, Pin]) -> Reason | None:
    """Note by what the signer at ``place`` is the ``person`` who is to sign there, or return why that is not so."""
    signer, certificate = found.signers[place], found.certificates[place]
    if person is None:
        return Reason("SIGNER_NOT_NAMED", told("signer-of-no-field", field=signer.field))
    binding = certificates.bound(
        certificate,
        found.issuers[place],
        name=person.name,
        organisation=person.organisation,
        policy=pinned(people, person),
        project=person.signs_with,
    )
    if binding.why is None and binding.by != "policy" and (alike := _pinned_alike(person.name, people)):
        return Reason("SIGNER_NOT_NAMED", told("signer-perhaps-pinned", field=signer.field, why=alike))
    if binding.why is None and binding.by != "own word":
        found.signers[place] = replace(signer, bound_by=binding.by)
        # as it is spelt, where letters of two scripts look the same
        spelt = shown(person.name)
        found.details[5].append(
            told(f"bound-by-{binding.by}", field=signer.field, name=None if spelt == person.name else spelt)
        )
        return None
    if binding.by in ("name", "own word"):
        code = "signer-is-another" if binding.by == "name" else "signer-by-own-word"
        return Reason("SIGNER_NOT_NAMED", told(code, field=signer.field, why=binding.why))
    code = f"signer-not-pinned-by-{binding.by}"
    return Reason("SIGNER_NOT_PINNED", told(code, field=signer.field, name=person.name, why=binding.why))


def compare_certificate(found: SignatureFindings, stated: str | None) -> None:
    """Add to ``found`` where the first signature is not made with the certificate that the pages state."""
    if stated is not None and found.certificates and certificates.pin_of(found.certificates[0]) != stated:
        own = certificates.pin_of(found.certificates[0])
        found.reasons[5].append(Reason("SIGNER_NOT_PINNED", told("certificate-not-as-stated", stated=stated, own=own)))


def compare_sender(found: SignatureFindings, people: Mapping[str, Pin]) -> None:
    """Add to ``found`` where a submittal is signed by another than the policy pins, as its sender or by the name in
    the certificate: of its sender no job speaks.
    """
    senders = [place for place, signer in enumerate(found.signers) if signer.field == ENGINEER_FIELD and people]
    for place in senders:
        certificate = found.certificates[place]
        spelt = {spelling(one) for one in certificates.common_names(certificate)} - {None}
        pins = [pin for key, pin in people.items() if key == SENDER or spelling(key) in spelt]
        name = certificates.common_name(certificate)
        sender = Signatory(ENGINEER_FIELD, SENDER, name, id=SENDER)
        reasons = [bind(found, place, sender, {SENDER: pin}) for pin in pins]
        found.reasons[5] += filter(None, reasons)
        why = certificates.misnamed(certificate, name) or _pinned_alike(name, people, by="certificate")
        if not pins and why:
            found.reasons[5].append(Reason("SIGNER_NOT_NAMED", told("sender-perhaps-pinned", why=why)))


def _pinned_alike(name: str, people: Mapping[str, Pin], by: Literal["report", "certificate"] = "report") -> Told | None:
    """Return a clause on whom the policy pins by a name that looks like ``name`` and is another; else nothing."""
    other = next((one for one in people if look_alike(one, name)), None)
    if other is None:
        return None
    return told(f"pinned-alike-by-{by}", name=told_apart(name, other), other=told_apart(other, name))


SENDER = "sender"
"""Under this id a policy pins who signs submittals."""


def pinned(people: Mapping[str, Pin], person: Signatory) -> Pin | None:
    """Return the pin of a person in a policy: by the name, which whoever wrote the job cannot evade by another id,
    not even by that of somebody who is pinned too; else by the job's id.
    """
    by_name = (pin for name, pin in people.items() if spelt_alike(name, person.name))
    return next(by_name, None) or people.get(person.id)


def signed_in_several_roles(signatories: Sequence[Signatory], signers: Sequence[Signer]) -> Iterator[Told]:
    """Yield a sentence for each name under which the job has several fields that were signed by whom it names.

    Each signature is that of whom the job names, so this is no fault of the file: whoever relies on a second pair of
    eyes is told that there may have been one.
    """
    signed = {signer.field for signer in signers if signer.kind != "not named"}
    by_name: dict[str | None, list[Signatory]] = {}
    for signatory in signatories:
        if signatory.field in signed:
            by_name.setdefault(spelling(signatory.name), []).append(signatory)
    for spelt, same in by_name.items():
        if spelt is not None and len(same) > 1:
            roles = [one.role + (f" ({one.organisation})" if one.organisation else "") for one in same]
            yield told("one-person-in-roles", name=same[0].name, roles=tuple(roles), count=len(same))


def compare_fields(found: SignatureFindings, file: str, signatories: Sequence[Signatory], location: str) -> None:
    """Add to ``found`` where fields and place of signing are not those that a ``file`` inside gives."""
    signing = found.signing
    if signing is None:
        return
    differing = []
    placed, named = [one.name for one in signing.fields], [signatory.field for signatory in signatories]
    if placed != named:
        differing.append(told("fields-of-others", file=file, placed=tuple(placed), named=tuple(named) or ("–",)))
    for waiting, who in zip(signing.fields[1:], signatories[1:], strict=False):  # the first is that of its signer
        expected, stated = described(who.field, who.role, who.name), waiting.description
        if stated != expected:
            differing.append(told("field-described", file=file, field=waiting.name, stated=stated, expected=expected))
    if signing.location != location:
        differing.append(told("place-of-signing", file=file, stated=signing.location, expected=location))
    found.reasons[4] += [Reason("CHANGED_WHEN_SIGNING", sentence) for sentence in differing]


def signed_twice(found: SignatureFindings) -> Iterator[Reason]:
    """Yield SIGNED_TWICE for each signature whose key made an earlier one: one person signed for two."""
    first: dict[bytes, str] = {}
    for signer, certificate in zip(found.signers, found.certificates, strict=True):
        before = first.setdefault(certificates.key_of(certificate), signer.field)
        if before != signer.field:
            yield Reason("SIGNED_TWICE", told("signed-with-one-key", field=before, other=signer.field))
