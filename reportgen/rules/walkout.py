"""Walk-outs from failing locations: how far the failing area reaches, and what must be measured to know."""

from __future__ import annotations

from itertools import chain, takewhile
from typing import TYPE_CHECKING

from reportgen.metrology.sampling import DIRECTIONS, Walk, bounded_extent, walk_out
from reportgen.results import Amount, Outcome, Word
from reportgen.results.codes import sampling as codes
from reportgen.results.facts import Place
from reportgen.results.values import Bounded, Extent, Towards

if TYPE_CHECKING:
    from reportgen.job import WalkOut
    from reportgen.results import Verdict
    from reportgen.rules.profile import AreaProfile, JudgedLocation


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
    named = {direction.towards: Towards(direction.towards) for direction in record.directions}
    others = DIRECTIONS[len(record.directions) :]  # those not recorded, by number
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
        for direction in record.directions
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
        facts = codes.WalkOutOpen(ends, tuple(filter(before.__contains__, listed)))
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
