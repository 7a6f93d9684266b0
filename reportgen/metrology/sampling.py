"""How many places must be measured, and how far around a failing one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal

from reportgen.errors import RangeError
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

DirectionState = Literal["bounded", "no-room", "continue"]

DIRECTIONS: Final = ("1", "2", "3", "4")
"""Names of the four equally spaced directions where the record gives no others."""
CONSECUTIVE: Final = 2
"""Locations in a row that must conform before a direction ends."""


@dataclass(frozen=True, slots=True)
class Walk:
    """One direction outward from a failing location: verdict words in order, and whether the surface ends there."""

    direction: str
    verdicts: tuple[str, ...] = ()
    no_room: bool = False


@dataclass(frozen=True, slots=True)
class DirectionResult:
    """State of one direction: how many steps outward the bounded area reaches, and how many more must conform."""

    direction: str
    state: DirectionState
    reach: int | None
    still_needed: int


@dataclass(frozen=True, slots=True)
class WalkOutSteps:
    """All directions around one failing location; ``next_steps`` are (direction, step) pairs to measure next."""

    directions: tuple[DirectionResult, ...]
    complete: bool
    next_steps: tuple[tuple[str, int], ...]


def locations_per_shift(locations: int, apparatus: int, shifts: int = 1) -> int:
    """Locations for a plan per shift and apparatus.

    Parameters:
        locations : int [1], for each apparatus and shift, 1 or more.
        apparatus : int [1], that worked on the area in the shift, 0 or more.
        shifts : int [1], or 12-hour periods, whichever are shorter, 0 or more.
    Returns:
        Number of locations [1].
    Raises:
        RangeError: a number outside its range.
    Source: sspc-pa-17-locations
    Examples:
        >>> locations_per_shift(3, 2)
        6
    """
    return _count(locations, 1) * _count(apparatus, 0) * _count(shifts, 0)


def locations_by_area(size: Quantity, first: Quantity, first_count: int, step: Quantity, step_count: int = 1) -> int:
    """Locations for an area rate: so many for the first size, so many more for each further step or part of one.

    Parameters:
        size : Quantity [area], above 0.
        first : Quantity [area], above 0, in the contract's unit.
        first_count : int [1], 1 or more.
        step : Quantity [area], above 0, in the same unit as first.
        step_count : int [1], 1 or more.
    Returns:
        Number of locations [1].
    Raises:
        RangeError: a number outside its range, or two units.
    Valid range: all; computed in the contract's unit, whose round numbers are not conversions of each other.
    Source: ufgs-09971-profile
    Examples:
        >>> from decimal import Decimal
        >>> m2 = lambda text: Quantity(Decimal(text), "m2")
        >>> locations_by_area(m2("250"), m2("100"), 3, m2("100"))
        5
    """
    if first.unit != step.unit:
        raise RangeError(f"first and further steps must be stated in one unit, got {first} and {step}")
    beyond = _positive(size, first.unit) - _positive(first, first.unit)
    steps = max(0, _parts(beyond, _positive(step, first.unit)))
    return _count(first_count, 1) + steps * _count(step_count, 1)


def locations_per_size(size: Quantity, each: Quantity, count: int) -> int:
    """Locations for a rate per area or per length: ``count`` for each ``each`` or part of it.

    Parameters:
        size : Quantity [area or length], above 0.
        each : Quantity [the same kind], above 0, in the contract's unit.
        count : int [1], 1 or more.
    Returns:
        Number of locations [1].
    Raises:
        RangeError: a number outside its range.
        QuantityError: two kinds of quantity.
    Valid range: all; a part counts as a whole, which the contract may say otherwise.
    Source: ufgs-09971a-profile
    Examples:
        >>> from decimal import Decimal
        >>> locations_per_size(Quantity(Decimal(46), "m2"), Quantity(Decimal(45), "m2"), 3)
        6
    """
    return _count(count, 1) * _parts(_positive(size, each.unit), _positive(each, each.unit))


def locations_after_failures(required: int, failing: int, each: int) -> int:
    """Locations where the contract asks for more tests per failing one.

    Parameters:
        required : int [1], before failures, 0 or more.
        failing : int [1], locations that do not conform, 0 or more.
        each : int [1], further tests for each of them, 0 or more.
    Returns:
        Number of locations [1].
    Raises:
        RangeError: a negative number.
    Source: ufgs-09971-profile
    Examples:
        >>> locations_after_failures(3, 1, 2)
        5
    """
    return _count(required, 0) + _count(failing, 0) * _count(each, 0)


def locations_for_changes(changes: int) -> int:
    """Locations for changes of the process within an area: one on either side of the first, one after each further.

    Parameters:
        changes : int [1], changes of listed process items, 0 or more.
    Returns:
        Number of locations [1], counted among those the plan requires.
    Raises:
        RangeError: a negative number.
    Valid range: where the contract says nothing else.
    Source: sspc-pa-17-process-change
    Examples:
        >>> [locations_for_changes(n) for n in (0, 1, 2)]
        [0, 2, 3]
    """
    return _count(changes, 0) + 1 if changes else 0


def chance_of_passing(locations: int, low: Fraction, possible: int | None = None) -> Fraction:
    """Chance that none of the locations measured is low, where at least a share ``low`` of all of them is.

    Parameters:
        locations : int [1], measured, 0 or more.
        low : exact number [1], share of all possible locations whose value does not conform, 0 to 1.
        possible : int [1], number of all possible locations, as many as are measured or more; None for very many.
    Returns:
        Chance [1], exactly: (1 - low)ⁿ, or without replacement where the number of possible locations is known, of
        which then the least whole number is low that is ``low`` or more of them.
    Raises:
        RangeError: a number outside its range.
    Valid range: locations chosen at random; each low one is found low. A plan that looks where steel is likely to be
        low finds more.
    Accuracy: exact; against scipy.stats.hypergeom and scipy.stats.binom.
    Source: acceptance-by-attributes
    Examples:
        >>> float(chance_of_passing(3, Fraction(1, 5))), chance_of_passing(3, Fraction(1, 5), 10)
        (0.512, Fraction(7, 15))
    """
    if not 0 <= low <= 1:
        raise RangeError(f"a share of 0 to 1 is needed, got {low}")
    n = _count(locations, 0)
    if possible is None:
        return (1 - low) ** n
    conforming = _count(possible, n) - math.ceil(low * possible)
    return Fraction(math.comb(conforming, n), math.comb(possible, n))


def walk_out(walks: Sequence[Walk], directions: Sequence[str] = DIRECTIONS) -> WalkOutSteps:
    """Judge the measurements taken outward from a failing location, direction by direction.

    Parameters:
        walks : sequence of Walk, at most one per direction; missing ones have not begun.
        directions : names of all directions: four, or two along repeating elements.
    Returns:
        WalkOut: complete where each direction is bounded by two consecutive conforming locations or has no room.
        A direction's reach counts the steps up to the last location that does not conform; the area ends before the
        next one. Without room the area reaches to the end of the surface.
    Raises:
        RangeError: an unknown direction, or one given twice.
    Valid range: regular intervals; an inconclusive location does not count as conforming.
    Source: sspc-pa-17-walk-out
    Examples:
        >>> done = ("conforms", "conforms")
        >>> walk_out([Walk(d, done) for d in ("1", "2", "3")]).next_steps
        (('4', 1), ('4', 2))
    """
    given: dict[str, Walk] = {}
    for walk in walks:
        if walk.direction not in directions or walk.direction in given:
            raise RangeError(f"`{walk.direction}` is not a direction of this walk-out, or is given twice")
        given[walk.direction] = walk
    results = tuple(_direction(given.get(name, Walk(name))) for name in directions)
    steps = tuple(
        (result.direction, len(given.get(result.direction, Walk("")).verdicts) + ahead)
        for result in results
        for ahead in range(1, result.still_needed + 1)
    )
    return WalkOutSteps(results, all(result.state != "continue" for result in results), steps)


def _direction(walk: Walk) -> DirectionResult:
    """Follow one direction to its first two consecutive conforming locations."""
    run = 0
    for step, verdict in enumerate(walk.verdicts, 1):
        run = run + 1 if verdict == "conforms" else 0
        if run == CONSECUTIVE:
            return DirectionResult(walk.direction, "bounded", step - CONSECUTIVE, 0)
    if walk.no_room:
        return DirectionResult(walk.direction, "no-room", len(walk.verdicts), 0)
    return DirectionResult(walk.direction, "continue", None, CONSECUTIVE - run)


def bounded_extent(of: WalkOutSteps, interval: Quantity) -> Mapping[str, Quantity] | None:
    """How far the area that does not conform reaches in each direction, on the safe side.

    Parameters:
        of : WalkOut.
        interval : Quantity [length], between locations, above 0.
    Returns:
        Direction → Quantity [length] up to the first conforming location, in the interval's unit (to the last
        location measured where there was no room); None while the walk-out is not complete.
    Raises:
        RangeError: an interval of 0 or less.
    Valid range: regular intervals.
    Source: sspc-pa-17-walk-out
    Examples:
        >>> from decimal import Decimal
        >>> done = walk_out([Walk(d, ("conforms", "conforms")) for d in DIRECTIONS])
        >>> float(bounded_extent(done, Quantity(Decimal("1.5"), "m"))["1"].exact)
        1.5
    """
    spacing = _positive(interval, interval.unit)
    if not of.complete:
        return None
    extent: dict[str, Quantity] = {}
    for result in of.directions:
        steps = (result.reach or 0) + (1 if result.state == "bounded" else 0)
        extent[result.direction] = Quantity(spacing * steps, interval.unit)
    return extent


def _count(number: int, least: int) -> int:
    if number < least:
        raise RangeError(f"a count of at least {least} is needed, got {number}")
    return number


def _positive(quantity: Quantity, unit: str) -> Fraction:
    value = quantity.in_unit(unit)
    if value <= 0:
        raise RangeError(f"a size above 0 is needed, got {quantity}")
    return value


def _parts(whole: Fraction, part: Fraction) -> int:
    """Return how many parts cover a whole, a started part counting as one."""
    return -(-whole // part)
