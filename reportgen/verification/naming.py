"""Who signed, held against whom the embedded job names: each field belongs to one person, each key to one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from reportgen import certificates
from reportgen.increments import described
from reportgen.names import spelling
from reportgen.verification.verdict import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from cryptography import x509

    from reportgen.increments import Signatory
    from reportgen.verification.findings import SignatureFindings
    from reportgen.verification.replay import Signing
    from reportgen.verification.verdict import Signer


def compare_names(found: SignatureFindings, signatories: Sequence[Signatory], location: str) -> None:
    """Add to ``found`` where fields, signers and place of signing are not those of the job.

    ``signatories`` and ``location`` are what the embedded job states, in the order of the fields.
    """
    if found.signing is not None:
        found.reasons[4] += _field_faults(found.signing, signatories, location)
    by_field = {signatory.field: signatory for signatory in signatories}
    for place, (signer, certificate) in enumerate(zip(found.signers, found.certificates, strict=True)):
        why = _not_named(certificate, by_field.get(signer.field))
        if why is not None:
            found.signers[place] = replace(signer, kind="not named")
            sentence = f"the signature in {signer.field} is not that of the person the report names: {why}"
            found.reasons[5].append(Reason("SIGNER_NOT_NAMED", sentence))
    found.details[5] += signed_in_several_roles(signatories, found.signers)


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


def _not_named(certificate: x509.Certificate, person: Signatory | None) -> str | None:
    if person is None:
        return "it names nobody there"
    return certificates.misnamed(certificate, person.name, person.organisation)


def _field_faults(signing: Signing, signatories: Sequence[Signatory], location: str) -> Iterator[Reason]:
    placed, named = [field.name for field in signing.fields], [signatory.field for signatory in signatories]
    if placed != named:
        sentence = f"the report has fields to sign for {', '.join(placed)}, its job for {', '.join(named)}"
        yield Reason("CHANGED_WHEN_SIGNING", sentence)
    for field, who in zip(signing.fields[1:], signatories[1:], strict=False):  # the first is that of its signer
        expected = described(who.field, who.role, who.name)
        if field.description != expected:
            sentence = f"the field {field.name} is described as `{field.description}`, its job makes it `{expected}`"
            yield Reason("CHANGED_WHEN_SIGNING", sentence)
    if signing.location != location:
        sentence = f"the first signature states the place `{signing.location}`, the job `{location}`"
        yield Reason("CHANGED_WHEN_SIGNING", sentence)


def signed_twice(found: SignatureFindings) -> Iterator[Reason]:
    """Yield SIGNED_TWICE for each signature whose key made an earlier one: one person signed for two."""
    first: dict[bytes, str] = {}
    for signer, certificate in zip(found.signers, found.certificates, strict=True):
        before = first.setdefault(_key(certificate), signer.field)
        if before != signer.field:
            sentence = f"the signatures in {before} and {signer.field} were made with one key, by one person for two"
            yield Reason("SIGNED_TWICE", sentence)


def _key(certificate: x509.Certificate) -> bytes:
    try:
        return certificate.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    except Exception:  # noqa: BLE001 - a key that is not supported made no valid signature either
        return certificate.tbs_certificate_bytes
