"""How findings are told whose facts are not data yet; it goes with the last of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results import Finding
    from reportgen.results.statements import Part

SENTENCES: Final[Mapping[str, tuple[Part, str]]] = {
    "grade-not-met": ("out of limits", "cleaned to {observed}; {requirement} required"),
    "stain-above-limit": ("out of limits", "{observed}; {requirement} required"),
    "cleanliness-missing": ("missing", "cleanliness {observed}; {requirement} required"),
    "salts-above-maximum": ("out of limits", "soluble salts {observed}; {requirement} required"),
    "salts-missing": ("missing", "soluble salts: {observed}; {requirement} required"),
}
"""Part and sentence of every finding code."""


def sentence(finding: Finding) -> str:
    """Return how a finding is told whose facts are not data yet."""
    return SENTENCES[finding.code][1].format(observed=finding.observed, requirement=finding.requirement)
