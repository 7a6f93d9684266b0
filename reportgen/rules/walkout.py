"""Walk-outs from failing locations: how far the failing area reaches, and what must be measured to know."""

from __future__ import annotations

import re
from itertools import chain, takewhile
from typing import TYPE_CHECKING, Final

from reportgen.metrology.sampling import DIRECTIONS, Walk, bounded_extent, walk_out
from reportgen.results import Amount, Outcome, Word
from reportgen.results.codes import sampling as codes
from reportgen.results.facts import Place
from reportgen.results.values import Bounded, Extent, Towards

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job import WalkOut
    from reportgen.job.day import Direction
    from reportgen.results import Verdict
    from reportgen.rules.profile import AreaProfile, JudgedLocation


_OF_BETWEEN: Final = 2
"""Sides that a direction between them names; each side has two such of four."""
_SIDES: Final = {
    word: words[0]
    for words in (
        ("up", "upward", "upwards", "above", "oben", "aufwärts"),
        ("down", "downward", "downwards", "below", "unten", "abwärts"),
        ("left", "links"),
        ("right", "rechts"),
        ("north", "n", "northward", "northwards", "northern", "nord", "norden"),
        ("east", "e", "eastward", "eastwards", "eastern", "o", "ost", "osten"),
        ("south", "s", "southward", "southwards", "southern", "süd", "süden", "sued"),
        ("west", "w", "westward", "westwards", "western", "westen"),
    )
    for word in words
}
"""The sides that a direction may be written with, English or German, each by its first word."""
_BETWEEN: Final = re.compile("(north|nord|n|south|süd|sued|s)(east|ost|e|o|west|w)|[nseow]([ns][eow])")
"""A word that names two of them: as `NE`, `southwest` or `NNE`."""


def _sides(towards: str) -> frozenset[str]:
    """Return the sides that a direction names; none where it is in words of its own, as `to the sump`."""
    sides: set[str] = set()
    for word in re.findall(r"[^\W\d_]+", towards.casefold()):
        between = _BETWEEN.fullmatch(word)
        parts = [word] if between is None else filter(None, (*between.groups()[:2], *(between[3] or "")))
        sides |= {_SIDES[part] for part in parts if part in _SIDES}
    return frozenset(sides)


def _counted(directions: Sequence[Direction]) -> tuple[list[Direction], tuple[str, ...] | None]:
    """Return the directions of a walk-out that bound a side of their own, and what the others are written as.

    One between two sides bounds neither of them, unless all four are so and no side has more than two of them; one of
    a side that another names already bounds nothing more.
    """
    sides = [_sides(one.towards) for one in directions]
    between = all(len(one) == _OF_BETWEEN for one in sides)
    most = max((sum(side in one for one in sides) for side in chain(*sides)), default=0)
    diagonal = between and most <= _OF_BETWEEN
    counted = [
        one for at, one in enumerate(directions)
        if not sides[at] or (sides[at] not in sides[:at] and (diagonal or len(sides[at]) == 1))
    ]  # fmt: skip
    return counted, tuple(one.towards for one in directions if all(one is not each for each in counted)) or None


def walk_outs(profile: AreaProfile) -> Outcome[Bounded]:
    """Judge the walk-out of every failing location; the results are the bounded areas."""
    outcomes = []
    for surface in profile.surfaces:
        verdicts = {one.result.id: one.result.verdict for one in profile.locations if one.surface is surface}
        records = {walk.failing: walk for walk in surface.record.walk_outs}
        outcomes += [
            _judged(profile, one, records.get(one.result.id), verdicts)
            for one in profile.regular
            if one.surface is surface and one.result.verdict == "does not conform"
        ]
    return Outcome.joined(outcomes)


def _judged(
    profile: AreaProfile, low: JudgedLocation, record: WalkOut | None, verdicts: dict[str, Verdict]
) -> Outcome[Bounded]:  # fmt: skip
    failing = profile.located(low)
    place = Place(profile.area.id, failing)
    if record is None:
        none = codes.NoWalkOut()
        todo = codes.WALK_OUT.due(none, place)
        return Outcome((), (codes.WALK_OUT_MISSING.found(none, place),), measure_next=(todo,))
    counted, uncounted = _counted(record.directions)
    named = {direction.towards: Towards(direction.towards) for direction in counted}
    others = DIRECTIONS[len(counted) :]  # those not recorded, by number
    directions = named | {f"direction {number}": Towards(None, int(number)) for number in others}
    # a location named but not measured ends its direction there, as does one of the plan, that was read before
    before = low.surface.read_before(record.failing)
    there = verdicts.keys() - before
    walks = [
        Walk(
            direction.towards,
            tuple(verdicts[name] for name in takewhile(there.__contains__, direction.locations)),
            direction.no_room,
        )
        for direction in counted
    ]
    judged = walk_out(walks, tuple(directions))
    extent = bounded_extent(judged, record.interval)
    if extent is None:
        ends = tuple(directions[result.direction] for result in judged.directions if result.state == "continue")
        steps = tuple(
            codes.WALK_ON.due(codes.NextStep(step, directions[towards]), place, count=1)
            for towards, step in judged.next_steps
        )
        listed = chain(*(direction.locations for direction in record.directions))
        facts = codes.WalkOutOpen(ends, tuple(filter(before.__contains__, listed)), uncounted)
        return Outcome((), (codes.WALK_OUT_MISSING.found(facts, place),), measure_next=steps)
    states = {result.direction: result.state for result in judged.directions}
    extents = tuple(
        Extent(
            directions[towards],
            Amount.of_number(reach.exact, reach.unit, record.interval.places),
            None if states[towards] == "bounded" else Word("walk-end", "no-room"),
        )
        for towards, reach in extent.items()
    )
    return Outcome((Bounded(failing, extents),))
