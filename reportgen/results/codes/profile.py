"""What can be stated about the profile of locations and areas: facts, findings, things to do, gaps, closed lists."""

from decimal import Decimal
from typing import Annotated, Final, get_args

from reportgen.results.codes.comparator import GradeShown
from reportgen.results.codes.ranges import Limit
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import Code, GapCode, TaskCode, fails, missing, notes
from reportgen.results.values import How

TapeGrade = Annotated[Word, "tape-grade", ("coarse", "extra coarse")]
OverlapRule = Annotated[Word, "overlap-rule", ("average", "non-averaging", "single-grade")]
DecisionRule = Annotated[Word, "decision-rule", ("simple", "guarded", "banded")]
GuardBand = Annotated[Word, "guard-band", ("pass", "conditional pass", "conditional fail", "fail")]
UncertaintyLacking = Annotated[Word, "uncertainty-lacking", ("limits-of-error", "repeatability")]
CameAbout = Annotated[Word, "how", get_args(How)]
SpotReason = Annotated[
    Word, "why",
    (
        "as-taken", "first-stands", "second-decides", "both-in-window", "needs-second", "other-grade-alone",
        "beyond-grade", "grades-disagree", "grade-read-twice", "read-twice",
    ),
]  # fmt: skip


class ProfileJudged(Facts):
    """A location's value and the limit on the side that decides; ``rounded`` where the rounding method shows.

    ``expanded`` is U where it is known, ``guard`` the same as guard band of the limit.
    """

    profile: Amount
    limit: Limit
    expanded: Amount | None = None
    rounded: Amount | None = None
    guard: Amount | None = None


class InBand(Facts):
    """Its value lies nearer to a limit than its uncertainty; members as in ``ProfileJudged``."""

    profile: Amount
    limit: Limit
    band: GuardBand
    expanded: Amount | None = None
    rounded: Amount | None = None
    guard: Amount | None = None


class UncertaintyUnknown(Facts):
    """The decision rule needs an uncertainty, and something that it is made of is not known."""

    profile: Amount
    rule: DecisionRule
    lacking: UncertaintyLacking


class SpotsMissing(Facts):
    """Spots of a location, and those required."""

    spots: int
    required: int


class SpotsTooMany(Facts):
    """Spots of a location, and those that make one; ``first`` is what those taken first gave, where that counts."""

    spots: int
    required: int
    first: Amount | None = None


class SpotsDisagree(Facts):
    """By how much the spots of a location differ, and the agreement that the contract asks for."""

    spread: Amount
    tolerance: Amount


class OnTape(Facts):
    """One net reading on tape of a grade."""

    grade: TapeGrade
    net: Amount


class ByDepth(Facts):
    """One reading of a depth micrometer."""

    depth: Amount


class NoneByTape(Facts):
    """Readings on tape; ``grade`` is the one that the reason speaks of, ``rule`` the contract's for two grades."""

    readings: tuple[OnTape, ...]
    why: SpotReason
    rule: OverlapRule
    grade: TapeGrade | None = None


class NoneByDepth(Facts):
    """Readings of a depth micrometer, by the method of the contract."""

    readings: tuple[ByDepth, ...]
    why: SpotReason
    method: str


NoProfile = NoneByTape | NoneByDepth
"""Readings of a spot that has no profile, and why."""


class Why(Facts):
    """Why a spot is read again; ``grade`` is the one that the reason speaks of."""

    why: SpotReason
    grade: TapeGrade | None = None


class OtherGrade(Facts):
    """The grade of tape to take, and why."""

    wanted: TapeGrade
    why: SpotReason
    grade: TapeGrade | None = None


class MoreSpots(Facts):
    """How many spots a location lacks."""

    missing: int


class Outlier(Facts):
    """A location's value with Grubbs' statistic, its critical value, and what entered it."""

    profile: Amount
    statistic: Decimal
    critical: Decimal
    locations: int
    resolution: Amount


class ScatterAbove(Facts):
    """Scatter of an area's own spots, greater than the repeatability that the contract states, with both d.o.f."""

    scatter: Amount
    own: int
    stated: Amount
    freedom: int


class SpotCame(Facts):
    """How a spot came about: its profile, where it has one, and why; ``grade`` is the one the reason speaks of."""

    how: CameAbout
    why: SpotReason
    grade: TapeGrade | None = None
    profile: Amount | None = None


BELOW_MINIMUM: Final = fails("profile-below-minimum", "blasting", ProfileJudged)
ABOVE_MAXIMUM: Final = fails("profile-above-maximum", "blasting", ProfileJudged)
IN_GUARD_BAND: Final = missing("profile-in-guard-band", "surer", ProfileJudged)
INCONCLUSIVE: Final[Code[InBand | UncertaintyUnknown | GradeShown]] = missing(
    "profile-inconclusive", "surer", InBand, UncertaintyUnknown, GradeShown
)
SPOTS_MISSING: Final = missing("spots-missing", "entry", SpotsMissing)
SPOTS_TOO_MANY: Final = missing("spots-too-many", "blasting", SpotsTooMany)
SECOND_READING_MISSING: Final = missing("second-reading-missing", "entry", NoneByTape)
OUTSIDE_GRADE_RANGE: Final = missing("outside-grade-range", "measuring", NoneByTape)
CONTRADICTORY: Final[Code[NoProfile]] = missing("contradictory-readings", "measuring", NoneByTape, NoneByDepth)
SPOTS_DISAGREE: Final = missing("spots-disagree", "measuring", SpotsDisagree)
OUTLIER: Final = notes("outlier", Outlier)
SCATTER_ABOVE_STATED: Final = notes("scatter-above-stated", ScatterAbove)
READ_OTHER_GRADE: Final = TaskCode("read-other-grade", OtherGrade, on_bare=True)
READ_SPOT_AGAIN: Final = TaskCode("read-spot-again", Why, on_bare=True)
MEASURE_LOCATION_AGAIN: Final = TaskCode("measure-location-again", Nothing, on_bare=True)
MEASURE_SPOTS: Final = TaskCode("measure-spots", MoreSpots, answers=SPOTS_MISSING.name, on_bare=True)
NOT_MEASURED: Final = GapCode("profile-not-measured", Nothing)
NOT_INSPECTED: Final = GapCode("area-not-inspected", Nothing)
