"""What is found about the signatures of one file; and who signed, held against whom the embedded job names.

Each field belongs to one person, each key to one.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from reportgen import certificates
from reportgen.formats import ENGINEER_FIELD, Signatory
from reportgen.increments import described
from reportgen.names import spelling, spelt_alike
from reportgen.verification.verdict import Reason, Step, not_done, step_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from cryptography import x509

    from reportgen.names import Pin
    from reportgen.verification.outer_bytes import Gap
    from reportgen.verification.replay import Signing
    from reportgen.verification.verdict import Signer

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
    unfilled: list[str] = field(default_factory=list)
    judged: bool = False
    """Whether every signature was looked at; else steps 3, 5 and 6 have nothing to say."""

    def steps(self) -> list[Step]:
        """Return steps 2 to 6."""
        why_not = "the signatures cannot be told apart" if self.gaps else "there is no signature to look at"
        return [
            step_of(number, self.reasons[number], self.details[number])
            if self.reasons[number] or self.judged
            else not_done(number, why_not)
            for number in _STEPS
        ]


def compare_names(
    found: SignatureFindings, signatories: Sequence[Signatory], location: str, people: Mapping[str, Pin]
) -> None:
    """Add to ``found`` where fields, signers and place of signing are not those of the job.

    ``signatories`` and ``location`` are what the embedded job states, in the order of the fields; ``people`` whom the
    policy pins, by the job's id of a person or by name.
    """
    if found.signing is not None:
        found.reasons[4] += _field_faults(found.signing, signatories, location)
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
    head = f"the signature in {signer.field} is not that of the person the report names"
    if person is None:
        return Reason("SIGNER_NOT_NAMED", f"{head}: it names nobody there")
    binding = certificates.bound(
        certificate,
        found.issuers[place],
        name=person.name,
        organisation=person.organisation,
        policy=pinned(people, person),
        project=person.signs_with,
    )
    if binding.why is None:
        found.signers[place] = replace(signer, bound_by=binding.by)
        found.details[5].append(f"{signer.field}: {_BOUND[binding.by]}")
        return None
    if binding.by == "name":
        return Reason("SIGNER_NOT_NAMED", f"{head}: {binding.why}")
    source = {"policy": "the policy", "project": "the report's own project file"}[binding.by]
    return Reason(
        "SIGNER_NOT_PINNED", f"{head}: by {source} {person.name} signs with another certificate: {binding.why}"
    )


def compare_certificate(found: SignatureFindings, stated: str | None) -> None:
    """Add to ``found`` where the first signature is not made with the certificate that the pages state."""
    if stated is not None and found.certificates and certificates.pin_of(found.certificates[0]) != stated:
        own = certificates.pin_of(found.certificates[0])
        sentence = f"the report states that its inspector signs with the certificate {stated}, it is signed with {own}"
        found.reasons[5].append(Reason("SIGNER_NOT_PINNED", sentence))


def compare_sender(found: SignatureFindings, people: Mapping[str, Pin]) -> None:
    """Add to ``found`` where a submittal is signed by another than the policy pins: of its sender no job speaks."""
    for place, signer in enumerate(found.signers):
        if signer.field == ENGINEER_FIELD and SENDER in people:
            name = certificates.common_name(found.certificates[place])
            reason = bind(found, place, Signatory(ENGINEER_FIELD, SENDER, name, id=SENDER), people)
            found.reasons[5] += [reason] if reason is not None else []


SENDER = "sender"
"""Under this id a policy pins who signs submittals."""

_BOUND = {
    "policy": "pinned by the policy",
    "project": "pinned by the report's own project file, which proves that the report agrees with itself and no more",
    "name": "bound by the name in the certificate",
}


def pinned(people: Mapping[str, Pin], person: Signatory) -> Pin | None:
    """Return the pin of a person in a policy: by the job's id, or by the name, which whoever wrote the job cannot
    evade by another id.
    """
    by_name = (pin for name, pin in people.items() if spelt_alike(name, person.name))
    return people.get(person.id) or next(by_name, None)


def signed_in_several_roles(signatories: Sequence[Signatory], signers: Sequence[Signer]) -> Iterator[str]:
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
            yield f"{same[0].name} signed as {' and as '.join(roles)}: by the name, one person in {len(same)} roles"


def _field_faults(signing: Signing, signatories: Sequence[Signatory], location: str) -> list[Reason]:
    differing = []
    placed, named = [one.name for one in signing.fields], [signatory.field for signatory in signatories]
    if placed != named:
        differing.append(f"the report has fields to sign for {', '.join(placed)}, its job for {', '.join(named)}")
    for waiting, who in zip(signing.fields[1:], signatories[1:], strict=False):  # the first is that of its signer
        expected, told = described(who.field, who.role, who.name), waiting.description
        if told != expected:
            differing.append(f"the field {waiting.name} is described as `{told}`, its job makes it `{expected}`")
    if signing.location != location:
        differing.append(f"the first signature states the place `{signing.location}`, the job `{location}`")
    return [Reason("CHANGED_WHEN_SIGNING", sentence) for sentence in differing]


def signed_twice(found: SignatureFindings) -> Iterator[Reason]:
    """Yield SIGNED_TWICE for each signature whose key made an earlier one: one person signed for two."""
    first: dict[bytes, str] = {}
    for signer, certificate in zip(found.signers, found.certificates, strict=True):
        try:
            key = certificate.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
        except Exception:  # noqa: BLE001 - a key that is not supported made no valid signature either
            key = certificate.tbs_certificate_bytes
        before = first.setdefault(key, signer.field)
        if before != signer.field:
            sentence = f"the signatures in {before} and {signer.field} were made with one key, by one person for two"
            yield Reason("SIGNED_TWICE", sentence)
