"""What can be stated about the number of locations and the bounds of what failed: facts, findings, things to do."""

from typing import Annotated, Final

from reportgen.results.codes.order import Made
from reportgen.results.codes.profile import TapeGrade
from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import Code, GapCode, TaskCode, missing
from reportgen.results.values import Period, Towards

Unstated = Annotated[Word, "lacking", ("size", "weld-length")]
ChangeSide = Annotated[Word, "change-side", ("before", "after")]


class PerShift(Facts):
    """So many locations for each apparatus in each of its periods; ``periods`` where there are several."""

    locations: int
    apparatus: int
    periods: int | None = None


class PerArea(Facts):
    """So many locations for each area."""

    locations: int


class PerSize(Facts):
    """So many locations for each length of weld or size of area, or part of it."""

    locations: int
    size: Amount


class FirstAndFurther(Facts):
    """So many locations for the first size of area, and so many for each further one or part of it."""

    locations: int
    size: Amount
    further: int
    further_size: Amount


class Plan(Facts):
    """The sampling plan as it applies to an area, with what was added to it.

    ``changes`` are locations around changes of the process, ``least`` those on each surface that was blasted, ``each``
    those for each of ``failing`` locations.
    """

    rule: PerShift | PerArea | PerSize | FirstAndFurther
    changes: tuple[int, ...] = ()
    least: int | None = None
    each: int | None = None
    failing: int | None = None


class BeginWith(Facts):
    """The grade of tape to begin with: its mid-range is nearest to the middle of the specified range."""

    grade: TapeGrade
    middle: Amount


class AreaShort(Facts):
    """An area has fewer locations than its plan requires."""

    taken: int
    required: int
    plan: Plan


class PartShort(Facts):
    """What one apparatus blasted, in one period where there are several, has fewer locations than it needs.

    ``unplaced`` lie on steel of either of two periods, which meet at ``boundary``.
    """

    apparatus: str
    period: Period | None
    taken: int
    required: int
    plan: Plan
    unplaced: int | None = None
    boundary: str | None = None


class PlanUnknown(Facts):
    """The plan needs something that the project does not state."""

    taken: int
    lacking: Unstated


class ChangeNotMeasured(Facts):
    """The location before or after a change of the process was not measured."""

    change: str
    when: ChangeSide


class Unmeasured(Facts):
    """A surface that was blasted and not measured, and how many locations it needs at least."""

    apparatus: str
    start: str
    end: str
    least: int


class SizeUnstated(Facts):
    """Steel blasted on an area whose locations are counted by size, of an entry that states none."""

    apparatus: str
    start: str
    end: str


class Untested(Facts):
    """Steel of an area of which another part was blasted again, and what it has no test of; ``count`` is 1."""

    what: Made
    count: int
    apparatus: str
    start: str
    end: str


class UntestedInTime(Facts):
    """Steel that was not blasted yet when its area was tested, or was primed by then; ``count`` is 1.

    ``untimed`` is how many tests of the area may be of it, and do not say when they were made.
    """

    what: Made
    count: int
    apparatus: str
    start: str
    end: str
    coated: str | None = None
    untimed: int | None = None


class TooFewOfIt(Facts):
    """Steel of an area that the tests of the rest do not speak of, and that has fewer than its share of them.

    It is of a ``size``; ``made`` speak of it, ``count`` more are needed.
    """

    what: Made
    count: int
    made: int
    required: int
    size: Amount
    apparatus: str
    start: str
    end: str


class Lacking(Facts):
    """What the plan needs and the project does not state."""

    lacking: Unstated


class MoreOnArea(Facts):
    """Why an area needs more locations, and the tape to begin with."""

    plan: Plan
    advice: BeginWith | None = None


class MoreOnPart(Facts):
    """Why what one apparatus blasted needs more locations; members as in ``PartShort``."""

    apparatus: str
    period: Period | None
    plan: Plan
    boundary: str | None = None
    advice: BeginWith | None = None


class NoWalkOut(Facts):
    """No walk-out was made."""


class WalkOutOpen(Facts):
    """Directions of a walk-out in which the bounds are not reached; ``before`` was read before the failing location.

    ``between`` bounds no side of its own: it lies between two of them, or another is written to the same.
    """

    towards: tuple[Towards, ...]
    before: tuple[str, ...] = ()
    between: tuple[str, ...] | None = None


class NextStep(Facts):
    """The next location of a walk-out, counted from the failing one."""

    step: int
    towards: Towards


LOCATIONS_MISSING: Final[Code[AreaShort | PartShort | PlanUnknown | SizeUnstated | ChangeNotMeasured]] = missing(
    "locations-missing", "entry", AreaShort, PartShort, PlanUnknown, SizeUnstated, ChangeNotMeasured
)
SURFACE_NOT_MEASURED: Final = missing("surface-not-measured", "entry", Unmeasured)
PART_NOT_TESTED: Final[Code[Untested | UntestedInTime | TooFewOfIt]] = missing(
    "part-not-tested", "entry", Untested, UntestedInTime, TooFewOfIt
)
WALK_OUT_MISSING: Final[Code[NoWalkOut | WalkOutOpen]] = missing("walk-out-missing", "entry", NoWalkOut, WalkOutOpen)
MEASURE_AREA: Final = TaskCode("measure-area", MoreOnArea, answers=LOCATIONS_MISSING.name, on_bare=True)
MEASURE_PART: Final = TaskCode("measure-part", MoreOnPart, answers=LOCATIONS_MISSING.name, on_bare=True)
STATE_SIZE: Final = TaskCode("state-size", SizeUnstated, answers=LOCATIONS_MISSING.name)
MEASURE_SURFACE: Final = TaskCode("measure-surface", Unmeasured, answers=SURFACE_NOT_MEASURED.name, on_bare=True)
TEST_PART: Final = TaskCode("test-part", Untested, answers=PART_NOT_TESTED.name, on_bare=True)
TEST_IN_TIME: Final = TaskCode("test-in-time", UntestedInTime, answers=PART_NOT_TESTED.name, on_bare=True)
TEST_MORE: Final = TaskCode("test-more", TooFewOfIt, answers=PART_NOT_TESTED.name, on_bare=True)
WALK_OUT: Final = TaskCode("walk-out", NoWalkOut, answers=WALK_OUT_MISSING.name, on_bare=True)
WALK_ON: Final = TaskCode("walk-on", NextStep, on_bare=True)
"""One step: no single one settles the walk-out."""
PLAN_UNKNOWN: Final = GapCode("sampling-plan-unknown", Lacking)
