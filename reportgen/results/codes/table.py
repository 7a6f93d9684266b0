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


def _holds(meaning: str, rule: str, remedy: str) -> FindingCode:
    return FindingCode("nonconformance", "holds", meaning, rule, remedy)


def _missing(meaning: str, rule: str, remedy: str) -> FindingCode:
    """Something to be completed: an observation that holds the area, without a nonconformance being raised."""
    return FindingCode("observation", "holds", meaning, rule, remedy)


def _defers(meaning: str, rule: str, remedy: str) -> FindingCode:
    """Something to be settled before release that says nothing about the steel."""
    return FindingCode("observation", "defers", meaning, rule, remedy)


def _notes(meaning: str, rule: str, remedy: str) -> FindingCode:
    return FindingCode("observation", "none", meaning, rule, remedy)


_EQUIPMENT: Final = {
    "gauge-check-missing": _missing(
        "The gauge was not checked before the first or after the last reading.",
        "A gauge is proven by checks before and after the readings: anvils, pre-set, shim.",
        "Check the gauge now; readings between two good checks stand.",
    ),
    "gauge-check-failed": _holds(
        "A check of the gauge failed.",
        "The pre-set must show its nominal value and the shim its thickness, within the gauge's limits of error.",
        "Take the gauge out of use; measure again what was read since the last good check.",
    ),
    "film-contradicted": _missing(
        "The pre-set of the gauge and the entry `film` contradict each other.",
        "With a pre-set of minus the film the readings have it subtracted; with a pre-set of zero they include it.",
        "Correct `film` or the pre-set; where it was set anew during the shift, record a check before and after.",
    ),
    "gauge-drift": _notes(
        "The gauge moved between two checks by more than its limits of error.",
        "A drift within one shift points to dirt on the anvils or a damaged gauge.",
        "Clean the anvils, check again, and have the gauge looked at.",
    ),
    "calibration-overdue": _holds(
        "An instrument was used after its calibration had fallen due.",
        "The certificate must be valid on the date of the reading.",
        "Have the instrument calibrated; measure again with a valid one, or have its last readings confirmed.",
    ),
    "tape-expired": _holds(
        "A roll of replica tape was used after its date of expiry.",
        "The roll must be valid on the date of the reading.",
        "Measure again with a valid roll.",
    ),
    "tape-check-missing": _notes(
        "The thickness of unused tape of a roll was not checked.",
        "Good practice: unused tape of each roll is measured at the start of the shift.",
        "Measure unused tape of the roll and record it.",
    ),
    "tape-check-outside-range": _holds(
        "Unused tape of a roll is not as thick as its grade should be.",
        "Unused tape of a grade lies within a published range on a pre-set gauge.",
        "Do not use the roll; measure again with another one.",
    ),
    "certificate-expired": _holds(
        "The inspector's certificate had expired on the date of the report.",
        "The inspector must hold a valid certificate on the date of the readings.",
        "Have the readings taken or confirmed by a certified inspector.",
    ),
}  # fmt: skip

_FOLLOW_UP: Final = {
    "nonconformance-missing": _defers(
        "A failing finding is covered by no nonconformance.",
        "Every deviation from the specification is documented with its disposition.",
        "Raise a nonconformance for it in the day file.",
    ),
    "failed-earlier": _defers(
        "The area failed in an earlier report, no nonconformance covers that, and this inspection is not shown to be "
        "of steel reworked after it.",
        "What failed stays failed until the steel is blasted again, or washed or cleaned and tested again, and passes; "
        "measuring it again does not undo what was found.",
        "Raise a nonconformance for what failed, here or in a revision of that report, and inspect the reworked steel; "
        "where it was reworked, correct the times.",
    ),
    "nonconformance-open": _defers(
        "A nonconformance is not closed.",
        "A nonconformance stays open until a re-inspection that passes, or a decision with evidence, closes it. A "
        "re-inspection is of steel blasted again after what failed; of salts and dust also of steel washed or cleaned, "
        "tested again later and at the location that failed. That steel stays as it is, or as repaired, is never the "
        "inspector's decision.",
        "Inspect the area again, or record the decision, whose it was, and its evidence.",
    ),
}  # fmt: skip

FINDING_CODES: Final[Mapping[str, FindingCode]] = {
    **_EQUIPMENT, **_FOLLOW_UP,
}  # fmt: skip
"""Every code a finding can carry; a day file's nonconformances may name only these."""
