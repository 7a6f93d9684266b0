"""Walk-outs from failing locations: how far the failing area reaches, and what must be measured to know."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.metrology.sampling import DIRECTIONS, Walk, bounded_extent, walk_out
from reportgen.results import MeasureNext
from reportgen.rules.outcome import Outcome, found, shown_number

if TYPE_CHECKING:
    from reportgen.job import WalkOut
    from reportgen.metrology.sampling import WalkOut as JudgedWalkOut
    from reportgen.results import Finding, Task, Verdict
    from reportgen.rules.profile import AreaProfile

_REQUIREMENT = "four directions, each until two consecutive locations conform"


def walk_outs(profile: AreaProfile) -> Outcome[str]:
    """Judge the walk-out of every failing location; the results are the bounded areas in words."""
    verdicts: dict[int, dict[str, Verdict]] = {}
    for location in profile.locations:
        verdicts.setdefault(location.surface, {})[location.result.id] = location.result.verdict
    records = [{walk.failing: walk for walk in surface.record.walk_outs} for surface in profile.surfaces]
    bounds: list[str] = []
    findings: list[Finding] = []
    todo: list[MeasureNext | Task] = []
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
) -> Outcome[str]:  # fmt: skip
    area = profile.area.id
    if record is None:
        finding = found("walk-out-missing", "no walk-out", _REQUIREMENT, area=area, location=failing)
        what = f"walk-out from location {failing}: two locations in each of four directions"
        return Outcome((), (finding,), measure_next=(MeasureNext(area, what, "its bounds are not known"),))
    judged = walk_out(_walks(record, verdicts), _directions(record))
    extent = bounded_extent(judged, record.interval)
    if extent is None:
        return _incomplete(area, failing, judged)
    ends = {result.direction: result.state for result in judged.directions}
    places = record.interval.places
    parts = [
        f"{towards} {shown_number(reach.exact, reach.unit, places)}{'' if ends[towards] == 'bounded' else ' (no room)'}"
        for towards, reach in extent.items()
    ]
    return Outcome((f"around location {failing}: {', '.join(parts)}",))


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


def _directions(record: WalkOut) -> tuple[str, ...]:
    """All four directions: those recorded, the others by number."""
    named = [direction.towards for direction in record.directions]
    others = [f"direction {number}" for number in DIRECTIONS[len(named) :]]
    return (*named, *others)


def _incomplete(area: str, failing: str, judged: JudgedWalkOut) -> Outcome[str]:
    open_ends = [result.direction for result in judged.directions if result.state == "continue"]
    finding = found(
        "walk-out-missing", f"not complete towards {', '.join(open_ends)}", _REQUIREMENT, area=area, location=failing
    )
    reason = "two consecutive locations must conform"
    todo = tuple(
        MeasureNext(area, f"step {step} towards {direction} from location {failing}", reason, 1)
        for direction, step in judged.next_steps
    )
    return Outcome((), (finding,), measure_next=todo)
