"""The finding codes whose facts are not data yet: what each means, what it does to an area, what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results.statements import Effect
    from reportgen.results.values import Severity


@dataclass(frozen=True, slots=True)
class FindingCode:
    """Meaning of a code: usual severity, effect on the area, what it means, the rule behind it, the remedy."""

    severity: Severity
    effect: Effect
    meaning: str
    rule: str
    remedy: str


def _fails(meaning: str, rule: str, remedy: str) -> FindingCode:
    return FindingCode("nonconformance", "fails", meaning, rule, remedy)


def _missing(meaning: str, rule: str, remedy: str) -> FindingCode:
    """Something to be completed: an observation that holds the area, without a nonconformance being raised."""
    return FindingCode("observation", "holds", meaning, rule, remedy)


def _notes(meaning: str, rule: str, remedy: str) -> FindingCode:
    return FindingCode("observation", "none", meaning, rule, remedy)


_SURFACE: Final = {
    "grade-not-met": _fails(
        "The surface is not as clean as specified.",
        "Grade specified and grade observed are compared within one system.",
        "Blast again and inspect again: on one shift in a new entry with `blasted_again`.",
    ),
    "stain-above-limit": _fails(
        "Stains cover more of a unit area than the grade allows.",
        "The grade, or the contract, states the highest share of stain per unit area.",
        "Blast again and inspect again: on one shift in a new entry with `blasted_again`.",
    ),
    "cleanliness-missing": _missing(
        "The grade of cleanliness was not recorded, or not in the system of the specification.",
        "Grades of different systems are only roughly equivalent and are never translated.",
        "Record the grade observed in the system the contract names, with the stain percent where it has a limit.",
    ),
    "salts-above-maximum": _fails(
        "Soluble salts exceed the specified maximum.",
        "The contract states the highest areal density and what it expresses.",
        "Wash, blast again and test again, with the additional tests the contract asks for.",
    ),
    "salts-missing": _missing(
        "Fewer salt tests were made than required, or they express another quantity than the limit.",
        "The contract states the number of tests; conductivity and chloride results are never mixed.",
        "Make the missing tests before the area is coated.",
    ),
}  # fmt: skip

FINDING_CODES: Final[Mapping[str, FindingCode]] = {
    **_SURFACE,
}  # fmt: skip
"""Every code a finding can carry; a day file's nonconformances may name only these."""
