"""What is found about the signatures of one file, gathered by step while the checks go along."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from reportgen.verification import outer_bytes
from reportgen.verification.verdict import Reason, Step, not_done, step_of

if TYPE_CHECKING:
    from cryptography import x509

    from reportgen.verification.replay import Signing
    from reportgen.verification.verdict import Signer

STEPS = range(2, 7)


@dataclass(slots=True)
class SignatureFindings:
    """Reasons and details of steps 2 to 6, where the signatures lie, who signed, and which fields wait."""

    gaps: list[outer_bytes.Gap] = field(default_factory=list)
    reasons: dict[int, list[Reason]] = field(default_factory=lambda: {number: [] for number in STEPS})
    details: dict[int, list[str]] = field(default_factory=lambda: {number: [] for number in STEPS})
    signers: list[Signer] = field(default_factory=list)
    certificates: list[x509.Certificate] = field(default_factory=list)
    """That of each signer."""
    signing: Signing | None = None
    """What the revision of the first signature states, as far as it could be read."""
    unfilled: list[str] = field(default_factory=list)
    judged: bool = False
    """Whether every signature was looked at; else steps 3, 5 and 6 have nothing to say."""

    def steps(self) -> list[Step]:
        """Return steps 2 to 6."""
        return [self._step(number) for number in STEPS]

    def _step(self, number: int) -> Step:
        found = self.reasons[number]
        if not found and not self.judged:
            return not_done(
                number, "the signatures cannot be told apart" if self.gaps else "there is no signature to look at"
            )
        return step_of(number, found, self.details[number])


def look_at_envelope(pdf: bytes) -> SignatureFindings:
    """Return what the bytes alone say about the signatures: their number, form and coverage."""
    found = SignatureFindings()
    found.gaps, found.reasons[2] = outer_bytes.byte_ranges(pdf)
    found.reasons[4] += outer_bytes.coverage_faults(pdf, found.gaps)
    for gap in found.gaps:
        found.reasons[4] += outer_bytes.gap_faults(pdf, gap)
    return found
