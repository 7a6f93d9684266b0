"""What can be stated about the rules that were applied to the profile: those of the contract, and published ones."""

from typing import Annotated, Final

from reportgen.results.codes.ranges import Range
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import StepCode

ValueOfSpots = Annotated[Word, "value-of-spots", ("mean", "maximum")]
Psychrometer = Annotated[Word, "psychrometer", ("wmo", "ams")]
Topic = Annotated[
    Word, "topic",
    (
        "profile", "location-value", "method", "profile-grade", "two-tape-grades", "ranges-of-the-tape-grades", "film",
        "decision-rule", "rounding", "area", "sampling", "uncertainty", "budget", "probability-of-conformity",
        "repeatability", "outliers", "time-to-coat", "dew-point", "humidity-from-wet-bulb", "dew-point-margin",
    ),
]  # fmt: skip


class RangeOf(Facts):
    """The specified range."""

    range: Range


class ProfileRequired(Facts):
    """The range of the profile, and the method with its edition."""

    range: Range
    method: str
    edition: str


class LocationValue(Facts):
    """How the value of a location follows from its spots."""

    value: ValueOfSpots
    spots: int


class MethodEdition(Facts):
    """What the edition of the method itself says of that."""

    value: ValueOfSpots
    spots: int
    edition: str


class MethodUnknown(Facts):
    """A method in an edition of which nothing is known here."""

    method: str
    edition: str


class Comparisons(Facts):
    """How many comparisons with a reference comparator make a location."""

    comparisons: int


class ComparisonEdition(Facts):
    """What the edition of the method itself says of that."""

    comparisons: int
    edition: str


class GradeStated(Facts):
    """A grade of a reference comparator, as written."""

    grade: str


class FilmThickness(Facts):
    """Thickness of the film of replica tape, in the unit of each kind of gauge."""

    in_mil: Amount
    in_um: Amount


class RepeatabilityStated(Facts):
    """The standard deviation of spots that the contract states, where it comes from, and its degrees of freedom."""

    value: Amount
    freedom: int
    source: str


class OutlierTest(Facts):
    """The least number of locations for a test on outliers."""

    least: int


class ByPsychrometer(Facts):
    """Whose coefficient gives the humidity from the wet bulb."""

    psychrometer: Psychrometer


class MarginJudged(Facts):
    """By how much the steel must be above the dew point."""

    margin: Amount


def _applied(name: str) -> StepCode[Nothing]:
    return StepCode(name, Nothing, "applied")


PROFILE_REQUIRED: Final = StepCode("profile-required", ProfileRequired, "applied")
LOCATION_VALUE: Final = StepCode("location-value", LocationValue, "applied")
METHOD_EDITION: Final = StepCode("method-edition", MethodEdition, "applied")
METHOD_UNKNOWN: Final = StepCode("method-unknown", MethodUnknown, "applied")
COMPARISONS: Final = StepCode("comparisons", Comparisons, "applied")
COMPARISON_EDITION: Final = StepCode("comparison-edition", ComparisonEdition, "applied")
GRADES_COMPARED: Final = _applied("grades-compared")
GRADE_STATED: Final = StepCode("profile-grade", GradeStated, "applied")
OVERLAP: Final = {
    rule: _applied(f"two-tape-grades-{rule}") for rule in ("average", "non-averaging", "single-grade")
}  # fmt: skip
TAPE_RANGES: Final = _applied("ranges-of-the-tape-grades")
FILM: Final = StepCode("film-taken-off", FilmThickness, "applied")
DECISION: Final = {rule: _applied(f"decision-rule-{rule}") for rule in ("simple", "guarded", "banded")}
ROUNDING: Final = {rule: _applied(f"rounding-{rule}") for rule in ("half-even", "half-up", "none")}
ROUNDING_BESIDE_U: Final = {
    "half-even": _applied("rounding-half-even-beside-u"), "half-up": _applied("rounding-half-up-beside-u"),
    "none": ROUNDING["none"],
}  # fmt: skip
"""The same where the distance to the limit is compared with the uncertainty."""
EVERY_LOCATION: Final = _applied("every-location")
SAMPLING: Final = {
    plan: _applied(f"sampling-{plan}") for plan in ("per-shift-and-apparatus", "area-rate", "length-rate", "fixed")
}  # fmt: skip
OWN_PLACE: Final = _applied("readings-at-own-place")
MAGNUS: Final = _applied("magnus-over-water")
PSYCHROMETER: Final = StepCode("psychrometer-coefficient", ByPsychrometer, "applied")
MARGIN: Final = StepCode("margin-judged", MarginJudged, "applied")
UNCERTAINTY: Final = _applied("uncertainty-combined")
BUDGET: Final = _applied("budget-common")
REPEATABILITY_STATED: Final = StepCode("repeatability-stated", RepeatabilityStated, "applied")
PROBABILITY: Final = _applied("probability-of-t")
OUTLIERS: Final = StepCode("outlier-test", OutlierTest, "applied")
