"""What can be stated about the profile of locations and areas: facts, findings, things to do, gaps, closed lists."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from reportgen.results.codes.comparator import GradeShown
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import GapCode, TaskCode, fails, missing, notes

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

    from reportgen.results.codes.ranges import Limit


@dataclass(frozen=True, slots=True)
class ProfileJudged(Facts):
    """A location's value and the limit on the side that decides; ``rounded`` where the rounding method shows.

    ``expanded`` is U where the decision rule asks for it, ``guard`` the same as guard band of the limit.
    """

    profile: Amount
    limit: Limit
    expanded: Amount | None = None
    rounded: Amount | None = None
    guard: Amount | None = None


@dataclass(frozen=True, slots=True)
class Undecided(Facts):
    """Why a location has no verdict."""


@dataclass(frozen=True, slots=True)
class InBand(Undecided):
    """Its value lies nearer to a limit than its uncertainty; members as in ``ProfileJudged``."""

    profile: Amount
    limit: Limit
    band: Annotated[Word, "guard-band"]
    expanded: Amount | None = None
    rounded: Amount | None = None
    guard: Amount | None = None


@dataclass(frozen=True, slots=True)
class UncertaintyUnknown(Undecided):
    """The decision rule needs an uncertainty, and the gauge's limits of error are not on record."""

    profile: Amount
    rule: Annotated[Word, "decision-rule"]


@dataclass(frozen=True, slots=True)
class SpotsMissing(Facts):
    """Spots of a location, and those required."""

    spots: int
    required: int


@dataclass(frozen=True, slots=True)
class SpotsDisagree(Facts):
    """By how much the spots of a location differ, and the agreement that the contract asks for."""

    spread: Amount
    tolerance: Amount


@dataclass(frozen=True, slots=True)
class OnTape(Facts):
    """One net reading on tape of a grade."""

    grade: Annotated[Word, "tape-grade"]
    net: Amount


@dataclass(frozen=True, slots=True)
class ByDepth(Facts):
    """One reading of a depth micrometer."""

    depth: Amount


@dataclass(frozen=True, slots=True)
class NoProfile(Facts):
    """Readings of a spot that has no profile, and why."""


@dataclass(frozen=True, slots=True)
class NoneByTape(NoProfile):
    """Readings on tape; ``grade`` is the one that the reason speaks of, ``rule`` the contract's for two grades."""

    readings: tuple[OnTape, ...]
    why: Annotated[Word, "why"]
    rule: Annotated[Word, "overlap-rule"]
    grade: Annotated[Word, "tape-grade"] | None = None


@dataclass(frozen=True, slots=True)
class NoneByDepth(NoProfile):
    """Readings of a depth micrometer, by the method of the contract."""

    readings: tuple[ByDepth, ...]
    why: Annotated[Word, "why"]
    method: str


@dataclass(frozen=True, slots=True)
class Why(Facts):
    """Why a spot is read again; ``grade`` is the one that the reason speaks of."""

    why: Annotated[Word, "why"]
    grade: Annotated[Word, "tape-grade"] | None = None


@dataclass(frozen=True, slots=True)
class OtherGrade(Facts):
    """The grade of tape to take, and why."""

    wanted: Annotated[Word, "tape-grade"]
    why: Annotated[Word, "why"]
    grade: Annotated[Word, "tape-grade"] | None = None


@dataclass(frozen=True, slots=True)
class MoreSpots(Facts):
    """How many spots a location lacks."""

    missing: int


@dataclass(frozen=True, slots=True)
class Outlier(Facts):
    """A location's value with Grubbs' statistic, its critical value, and what entered it."""

    profile: Amount
    statistic: Decimal
    critical: Decimal
    locations: int
    resolution: Amount


@dataclass(frozen=True, slots=True)
class SpotCame(Facts):
    """How a spot came about: its profile, where it has one, and why; ``grade`` is the one the reason speaks of."""

    how: Annotated[Word, "how"]
    why: Annotated[Word, "why"]
    grade: Annotated[Word, "tape-grade"] | None = None
    profile: Amount | None = None


BELOW_MINIMUM: Final = fails("profile-below-minimum", ProfileJudged)
ABOVE_MAXIMUM: Final = fails("profile-above-maximum", ProfileJudged)
IN_GUARD_BAND: Final = missing("profile-in-guard-band", ProfileJudged)
INCONCLUSIVE: Final = missing("profile-inconclusive", InBand, UncertaintyUnknown, GradeShown)
SPOTS_MISSING: Final = missing("spots-missing", SpotsMissing)
SECOND_READING_MISSING: Final = missing("second-reading-missing", NoneByTape)
OUTSIDE_GRADE_RANGE: Final = missing("outside-grade-range", NoneByTape)
CONTRADICTORY: Final = missing("contradictory-readings", NoneByTape, NoneByDepth)
SPOTS_DISAGREE: Final = missing("spots-disagree", SpotsDisagree)
OUTLIER: Final = notes("outlier", Outlier)
READ_OTHER_GRADE: Final = TaskCode("read-other-grade", OtherGrade)
READ_SPOT_AGAIN: Final = TaskCode("read-spot-again", Why)
MEASURE_LOCATION_AGAIN: Final = TaskCode("measure-location-again", Nothing)
MEASURE_SPOTS: Final = TaskCode("measure-spots", MoreSpots, answers=SPOTS_MISSING.name)
NOT_MEASURED: Final = GapCode("profile-not-measured", Nothing)
NOT_INSPECTED: Final = GapCode("area-not-inspected", Nothing)
STATEMENTS: Final = (
    BELOW_MINIMUM, ABOVE_MAXIMUM, IN_GUARD_BAND, INCONCLUSIVE, SPOTS_MISSING, SECOND_READING_MISSING,
    OUTSIDE_GRADE_RANGE, CONTRADICTORY, SPOTS_DISAGREE, OUTLIER, READ_OTHER_GRADE, READ_SPOT_AGAIN,
    MEASURE_LOCATION_AGAIN, MEASURE_SPOTS, NOT_MEASURED, NOT_INSPECTED,
)  # fmt: skip

WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "tape-grade": ("coarse", "extra coarse"),
    "overlap-rule": ("average", "non-averaging", "single-grade"),
    "decision-rule": ("simple", "guarded", "banded"),
    "guard-band": ("pass", "conditional pass", "conditional fail", "fail"),
    "how": (
        "recorded-as-taken", "averaged", "second-governs", "second-missing", "outside-grade-range", "contradictory",
    ),
    "why": (
        "as-taken", "first-stands", "second-decides", "both-in-window", "needs-second", "other-grade-alone",
        "beyond-grade", "grades-disagree", "grade-read-twice", "read-twice",
    ),
    "component": (
        "gauge accuracy", "gauge resolution", "film thickness", "shim check", "shim", "repeatability",
        "scatter of locations",
    ),
    "distribution": ("normal", "rectangular", "triangular", "u-shaped"),
    "budget-source": ("type-a", "calibration-certificate", "last-digit", "shim-checks", "shim-certificate"),
}  # fmt: skip
"""Closed lists of words, by their group."""
