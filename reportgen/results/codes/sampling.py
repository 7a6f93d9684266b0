"""What can be stated about the number of locations and the bounds of what failed: facts, findings, things to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import GapCode, TaskCode, missing

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results.values import Period, Towards


@dataclass(frozen=True, slots=True)
class PerShift(Facts):
    """So many locations for each apparatus in each of its periods; ``periods`` where there are several."""

    locations: int
    apparatus: int
    periods: int | None = None


@dataclass(frozen=True, slots=True)
class PerArea(Facts):
    """So many locations for each area."""

    locations: int


@dataclass(frozen=True, slots=True)
class PerSize(Facts):
    """So many locations for each length of weld or size of area, or part of it."""

    locations: int
    size: Amount


@dataclass(frozen=True, slots=True)
class FirstAndFurther(Facts):
    """So many locations for the first size of area, and so many for each further one or part of it."""

    locations: int
    size: Amount
    further: int
    further_size: Amount


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class BeginWith(Facts):
    """The grade of tape to begin with: its mid-range is nearest to the middle of the specified range."""

    grade: Annotated[Word, "tape-grade"]
    middle: Amount


@dataclass(frozen=True, slots=True)
class LocationsMissing(Facts):
    """What was measured of the locations required."""


@dataclass(frozen=True, slots=True)
class AreaShort(LocationsMissing):
    """An area has fewer locations than its plan requires."""

    taken: int
    required: int
    plan: Plan


@dataclass(frozen=True, slots=True)
class PartShort(LocationsMissing):
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


@dataclass(frozen=True, slots=True)
class PlanUnknown(LocationsMissing):
    """The plan needs something that the project does not state."""

    taken: int
    lacking: Annotated[Word, "lacking"]


@dataclass(frozen=True, slots=True)
class ChangeNotMeasured(LocationsMissing):
    """The location before or after a change of the process was not measured."""

    change: str
    when: Annotated[Word, "change-side"]


@dataclass(frozen=True, slots=True)
class Unmeasured(Facts):
    """A surface that was blasted and not measured, and how many locations it needs at least."""

    apparatus: str
    start: str
    end: str
    least: int


@dataclass(frozen=True, slots=True)
class Lacking(Facts):
    """What the plan needs and the project does not state."""

    lacking: Annotated[Word, "lacking"]


@dataclass(frozen=True, slots=True)
class MoreOnArea(Facts):
    """Why an area needs more locations, and the tape to begin with."""

    plan: Plan
    advice: BeginWith | None = None


@dataclass(frozen=True, slots=True)
class MoreOnPart(Facts):
    """Why what one apparatus blasted needs more locations; members as in ``PartShort``."""

    apparatus: str
    period: Period | None
    plan: Plan
    boundary: str | None = None
    advice: BeginWith | None = None


@dataclass(frozen=True, slots=True)
class Unbounded(Facts):
    """What is not known of the bounds of the area around a failing location."""


@dataclass(frozen=True, slots=True)
class NoWalkOut(Unbounded):
    """No walk-out was made."""


@dataclass(frozen=True, slots=True)
class WalkOutOpen(Unbounded):
    """Directions of a walk-out in which the bounds are not reached."""

    towards: tuple[Towards, ...]


@dataclass(frozen=True, slots=True)
class NextStep(Facts):
    """The next location of a walk-out, counted from the failing one."""

    step: int
    towards: Towards


LOCATIONS_MISSING: Final = missing("locations-missing", AreaShort, PartShort, PlanUnknown, ChangeNotMeasured)
SURFACE_NOT_MEASURED: Final = missing("surface-not-measured", Unmeasured)
WALK_OUT_MISSING: Final = missing("walk-out-missing", NoWalkOut, WalkOutOpen)
MEASURE_AREA: Final = TaskCode("measure-area", MoreOnArea, answers=LOCATIONS_MISSING.name)
MEASURE_PART: Final = TaskCode("measure-part", MoreOnPart, answers=LOCATIONS_MISSING.name)
MEASURE_SURFACE: Final = TaskCode("measure-surface", Unmeasured, answers=SURFACE_NOT_MEASURED.name)
WALK_OUT: Final = TaskCode("walk-out", NoWalkOut, answers=WALK_OUT_MISSING.name)
WALK_ON: Final = TaskCode("walk-on", NextStep)
"""One step: no single one settles the walk-out."""
PLAN_UNKNOWN: Final = GapCode("sampling-plan-unknown", Lacking)
STATEMENTS: Final = (
    LOCATIONS_MISSING, SURFACE_NOT_MEASURED, WALK_OUT_MISSING, MEASURE_AREA, MEASURE_PART, MEASURE_SURFACE,
    WALK_OUT, WALK_ON, PLAN_UNKNOWN,
)  # fmt: skip
WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "lacking": ("size", "weld-length"),
    "change-side": ("before", "after"),
    "walk-end": ("no-room",),
}
"""Closed lists of words, by their group."""
