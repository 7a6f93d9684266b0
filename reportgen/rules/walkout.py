"""Walk-outs from failing locations: how far the failing area reaches, and what must be measured to know."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.metrology.sampling import DIRECTIONS, Walk, bounded_extent, walk_out
from reportgen.results import Amount, Outcome, Word
from reportgen.results.codes import sampling as codes
from reportgen.results.facts import Place
from reportgen.results.values import Bounded, Extent, Towards

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.job import WalkOut
    from reportgen.metrology.sampling import WalkOut as JudgedWalkOut
    from reportgen.results import Finding, Task, Verdict
    from reportgen.rules.profile import AreaProfile


def walk_outs(profile: AreaProfile) -> Outcome[Bounded]:
    """Judge the walk-out of every failing location; the results are the bounded areas."""
    verdicts: dict[int, dict[str, Verdict]] = {}
    for location in profile.locations:
        verdicts.setdefault(location.surface, {})[location.result.id] = location.result.verdict
    records = [{walk.failing: walk for walk in surface.record.walk_outs} for surface in profile.surfaces]
    bounds: list[Bounded] = []
    findings: list[Finding] = []
    todo: list[Task] = []
    for location in profile.regular:
        if location.result.verdict != "does not conform":
            continue
        record = records[location.surface].get(location.result.id)
        judged = _judged(profile, profile.located(location), record, verdicts[location.surface])
        bounds.extend(judged.results)
        findings.extend(judged.findings)
        todo.extend(judged.measure_next)
    return Outcome(tuple(bounds), tuple(findings), measure_next=tuple(todo))


def _judged(
    profile: AreaProfile, failing: str, record: WalkOut | None, verdicts: dict[str, Verdict]
) -> Outcome[Bounded]:  # fmt: skip
    place = Place(profile.area.id, failing)
    if record is None:
        none = codes.NoWalkOut()
        todo = codes.WALK_OUT.due(none, place)
        return Outcome((), (codes.WALK_OUT_MISSING.found(none, place),), measure_next=(todo,))
    directions = _directions(record)
    judged = walk_out(_walks(record, verdicts), tuple(directions))
    extent = bounded_extent(judged, record.interval)
    if extent is None:
        return _incomplete(place, judged, directions)
    ends = {result.direction: result.state for result in judged.directions}
    extents = tuple(
        Extent(
            directions[towards],
            Amount.of_number(reach.exact, reach.unit, record.interval.places),
            None if ends[towards] == "bounded" else Word("walk-end", "no-room"),
        )
        for towards, reach in extent.items()
    )
    return Outcome((Bounded(failing, extents),))


def _walks(record: WalkOut, verdicts: dict[str, Verdict]) -> list[Walk]:
    """Directions as judged; a location named but not measured ends its direction there."""
    walks = []
    for direction in record.directions:
        seen: list[Verdict] = []
        for location in direction.locations:
            if location not in verdicts:
                break
            seen.append(verdicts[location])
        walks.append(Walk(direction.towards, tuple(seen), direction.no_room))
    return walks


def _directions(record: WalkOut) -> dict[str, Towards]:
    """All four directions: those recorded by name, the others by number."""
    named = {direction.towards: Towards(direction.towards) for direction in record.directions}
    others = DIRECTIONS[len(record.directions) :]
    return {**named, **{f"direction {number}": Towards(None, int(number)) for number in others}}


def _incomplete(place: Place, judged: JudgedWalkOut, directions: Mapping[str, Towards]) -> Outcome[Bounded]:
    ends = tuple(directions[result.direction] for result in judged.directions if result.state == "continue")
    todo = tuple(
        codes.WALK_ON.due(codes.NextStep(step, directions[towards]), place, count=1)
        for towards, step in judged.next_steps
    )
    return Outcome((), (codes.WALK_OUT_MISSING.found(codes.WalkOutOpen(ends), place),), measure_next=todo)
