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


_PROFILE: Final = {
    "profile-below-minimum": _fails(
        "A location's profile is below the specified minimum.",
        "Every location must lie within the specified range, under the decision and rounding rule the contract states.",
        "Find the bounds by a walk-out, blast it again, inspect it again: on one shift in a new entry with "
        "`blasted_again`.",
    ),
    "profile-above-maximum": _fails(
        "A location's profile is above the specified maximum.",
        "Every location must lie within the specified range, under the decision and rounding rule the contract states.",
        "Find the bounds by a walk-out; have the disposition decided, as blasting again rarely lowers a profile.",
    ),
    "comparator-grade-not-met": _fails(
        "A reference comparator shows a grade of profile outside what is required.",
        "The grade seen at the location must be the grade, or lie within the limits, that the contract states.",
        "Measure the profile at the location; blast the area again where it does not conform.",
    ),
    "profile-in-guard-band": _missing(
        "A location's profile is within the limits but nearer to one of them than its uncertainty: it is not accepted.",
        "Under the guarded rule a location conforms when it lies inside the limits by at least U, the guard band.",
        "Measure the location again with more spots or a gauge of smaller error, or have its acceptance decided.",
    ),
    "profile-inconclusive": _missing(
        "A location is neither shown to conform nor to fail: its readings or its uncertainty do not allow a verdict.",
        "A verdict needs complete readings on a proven gauge and, under the banded rule, a value outside the bands.",
        "Measure the location again, or settle with the contract's parties how values near the limit are accepted.",
    ),
    "locations-missing": _missing(
        "Fewer locations were measured than the sampling plan requires.",
        "The plan states how many locations an area needs, each apparatus and each period of 12 h by itself where it "
        "counts by them (blasting that reaches into another period by up to 30 min is of one; no source); failing ones "
        "and process changes add to them.",
        "Measure the missing locations before the area is coated.",
    ),
    "surface-not-measured": _missing(
        "What one apparatus blasted on the area was not measured, while other steel of the area was.",
        "Every surface that was blasted is measured: no location stands for what another apparatus blasted.",
        "Measure it before it is coated, as many locations as the sampling plan asks for each apparatus and period.",
    ),
    "spots-missing": _missing(
        "A location has fewer spots than the method requires.",
        "The contract states the readings per location.",
        "Measure the missing spots at the same location.",
    ),
    "second-reading-missing": _missing(
        "A reading lies where the two tape grades overlap and the reading with the other grade is missing.",
        "The contract's rule for two tape grades asks for a reading with the other grade at the same spot.",
        "Take the reading with the other grade at the same spot.",
    ),
    "outside-grade-range": _missing(
        "A reading lies outside the range of the tape grade it was taken on.",
        "A tape grade measures only within its range.",
        "Measure the spot again with the grade whose range holds the value.",
    ),
    "contradictory-readings": _missing(
        "The readings of a spot contradict each other and no rule says which counts.",
        "Where the published rule is silent, the spot has no value.",
        "Measure the spot again.",
    ),
    "spots-disagree": _missing(
        "The spots of a location differ by more than the agreement the contract allows.",
        "The contract states an agreement tolerance between the spots of a location.",
        "Take further spots at the location, or choose the location again.",
    ),
    "outlier": _notes(
        "One location lies far from the others of its area by Grubbs' test at 5 %.",
        "An outlier test flags, from six locations on and beyond the gauge's resolution; it never removes a reading.",
        "Look for a cause: a wrong entry, dirt on the anvils, a worn nozzle. The value stays.",
    ),
    "walk-out-missing": _missing(
        "The bounds of the area around a failing location are not known.",
        "From a failing location, measure outward in four directions until two consecutive locations comply.",
        "Measure the walk-out, or treat the whole area as failing.",
    ),
}  # fmt: skip

_CONDITIONS: Final = {
    "dew-point-margin": _fails(
        "The steel was too near to the dew point while the area was blasted or coated.",
        "The contract states by how much the coldest steel must be above the dew point, in its own unit.",
        "Stop until the margin is back; blast again what may have been wet.",
    ),
    "humidity-above-maximum": _fails(
        "The air was too humid while the area was blasted or coated.",
        "The contract states the highest relative humidity.",
        "Stop or dry the air; check the surface for flash rust and blast again where needed.",
    ),
    "steel-too-cold": _fails(
        "The steel was colder than allowed while the area was blasted or coated.",
        "The contract states the lowest steel temperature.",
        "Wait or heat the steel, then measure again.",
    ),
    "steel-too-warm": _fails(
        "The steel was warmer than allowed while the area was blasted or coated.",
        "The contract states the highest steel temperature.",
        "Wait or shade the steel, then measure again.",
    ),
    "air-temperature-outside-limits": _fails(
        "The air was colder or warmer than allowed while the area was blasted or coated.",
        "The contract states the limits of the air temperature.",
        "Wait until the air is within the limits.",
    ),
    "conditions-interval": _missing(
        "The conditions were not measured as often as required while the area was blasted or coated.",
        "The contract states the longest time between two readings of the conditions, the first before work begins.",
        "State what is known of the missing time; measure on time from now on.",
    ),
    "conditions-missing": _missing(
        "The area was blasted or coated and no reading of the conditions was taken at its place.",
        "A reading tells the conditions of the areas of its own place, or of those it lists, and of no others.",
        "Measure where the work is; where it was measured, state the place of the readings and of the area.",
    ),
    "conditions-unplaced": _missing(
        "A reading of the conditions does not say where it was taken, and the contract has several places.",
        "A reading tells the conditions of its own place alone, so it must name it.",
        "Add the place of the reading, or the areas it covers.",
    ),
    "conditions-outside-range": _missing(
        "A conditions reading lies outside the validity of the formula for the dew point.",
        "Dew point and psychrometer formulas hold within stated temperatures and pressures.",
        "Measure the humidity with an instrument that covers these conditions.",
    ),
}  # fmt: skip

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

_SURFACE: Final = {
    "time-to-coat-exceeded": _fails(
        "The primer came later after blasting than allowed.",
        "The contract states the longest time from the end of blasting to the primer.",
        "Have the disposition decided; a surface not yet coated is prepared again.",
    ),
    "coating-overdue": _missing(
        "The time to coat has passed and no primer is recorded.",
        "The contract states the longest time from the end of blasting to the primer; by the end of the shift it is "
        "known whether that was kept.",
        "Prepare the surface again and inspect it, on one shift in a new entry with `blasted_again`; or record when it "
        "was primed, or that the shift ended before.",
    ),
    "blasted-again": _notes(
        "Steel was blasted again within the shift; what was found on it before is on record and no longer counts.",
        "The surface is judged as it was last blasted.",
        "None: the entry that says so in `blasted_again` is the one that is judged.",
    ),
    "coated-without-release": _notes(
        "The area was coated although its release is not recommended.",
        "Release comes before the primer.",
        "Record who decided to coat; the coating covers what stands against the area.",
    ),
    "times-contradictory": _missing(
        "The times recorded for the area contradict each other.",
        "Blasting begins before it ends and ends before the primer.",
        "Correct the times.",
    ),
}  # fmt: skip

_ORDER: Final = {
    "measured-before-blasting": _missing(
        "The surface was measured or graded before it was blasted, which does not count, or while it still was.",
        "What is measured describes the steel as it is then, so it is measured after the blasting.",
        "Correct the times, enter a part that was finished as a surface of its own, or measure again.",
    ),
    "measured-after-primer": _missing(
        "The surface was measured or tested after the primer was applied.",
        "Primer hides the steel, so it is measured before.",
        "Correct the times; what was not measured before the primer is not known.",
    ),
    "test-before-blasting": _notes(
        "A salt or dust test was made before the surface was blasted; it does not count.",
        "A test describes the steel as it is then: it neither clears nor fails what was blasted after it.",
        "Test the blasted surface, as often as the contract asks.",
    ),
    "readings-too-fast": _missing(
        "Readings of one gauge followed each other faster than anybody can take them.",
        "A gauge needs some seconds for each reading: common practice, without a published source.",
        "Correct the times, or measure again.",
    ),
    "instrument-in-two-places": _missing(
        "One instrument was used in the same minute at two places of the contract.",
        "An instrument is in one place at a time.",
        "Correct the time, the place or the instrument; else measure again.",
    ),
    "entry-doubtful": _missing(
        "An entry is unlikely here and may be a slip of the point, the unit or the column.",
        "What is mostly a slip is asked about before it is believed; the bounds are common practice.",
        "Look again; correct the entry, or write `confirmed: yes` beside it where it is true.",
    ),
    "entry-confirmed": _notes(
        "An entry is unlikely here; the inspector looked again and confirmed it.",
        "What is mostly a slip is asked about before it is believed; the bounds are common practice.",
        "None: the value counts as written.",
    ),
    "entry-unlikely": _notes(
        "An entry is unlikely here and may be a slip; nothing in this report depends on it.",
        "What is mostly a slip is asked about before it is believed; the bounds are common practice.",
        "Look again; correct the entry, or write `confirmed: yes` beside it where it is true.",
    ),
    "inspector-in-two-places": _notes(
        "Measurements by hand were made in the same minute at two places of the contract.",
        "A person is in one place at a time.",
        "State under remarks who took which, or correct the times.",
    ),
}  # fmt: skip

_SUPPLIES: Final = {
    "air-check-missing": _missing(
        "The compressed air was not checked as required before or during blasting.",
        "The contract states when the blotter test is made and how long it lasts.",
        "Make the blotter test now and at the stated interval.",
    ),
    "air-not-clean": _fails(
        "The blotter test showed oil or water in the compressed air.",
        "Air that marks the blotter must not be used for blasting.",
        "Stop, service separators and dryer, test again; blast again what was blasted with this air.",
    ),
    "abrasive-check-missing": _missing(
        "The abrasive was not checked as the contract requires.",
        "The contract states the tests of the abrasive and their interval.",
        "Make the missing test.",
    ),
    "abrasive-not-clean": _fails(
        "The abrasive carries oil, or its leachate conducts more than allowed.",
        "The contract states the highest conductivity, its method, and whether oil is excluded.",
        "Replace the abrasive; blast again what was blasted with it.",
    ),
}  # fmt: skip

_FOLLOW_UP: Final = {
    "nonconformance-missing": _defers(
        "A failing finding is covered by no nonconformance.",
        "Every deviation from the specification is documented with its disposition.",
        "Raise a nonconformance for it in the day file.",
    ),
    "nonconformance-open": _defers(
        "A nonconformance is not closed.",
        "A nonconformance stays open until a re-inspection that passes, or a decision with evidence, closes it; that "
        "steel stays as it is, or as repaired, is never the inspector's decision.",
        "Inspect the area again, or record the decision, whose it was, and its evidence.",
    ),
}  # fmt: skip

FINDING_CODES: Final[Mapping[str, FindingCode]] = {
    **_PROFILE, **_CONDITIONS, **_EQUIPMENT, **_SURFACE, **_ORDER, **_SUPPLIES, **_FOLLOW_UP,
}  # fmt: skip
"""Every code a finding can carry; a day file's nonconformances may name only these."""
