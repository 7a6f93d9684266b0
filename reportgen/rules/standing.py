"""Where a day stands: its evaluation in the order in which a colleague would tell it, each cause once."""

from __future__ import annotations

import datetime as dt
from dataclasses import fields
from operator import attrgetter
from types import MappingProxyType
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from reportgen.measurements import CODES
from reportgen.results import Cause, Deadline, Standing, TaskOnPrimed
from reportgen.results.codes.coating import COAT_BY, ToCoat
from reportgen.results.codes.equipment import GaugeUnchecked
from reportgen.results.codes.follow_up import MISSING
from reportgen.rules.blasted_again import perhaps_blasted_again, perhaps_washed
from reportgen.rules.primed_since import answered, primed_since
from reportgen.rules.scene import as_evaluated

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Mapping

    from reportgen.job import Job
    from reportgen.results import AtTime, Evaluation, Finding, Task
    from reportgen.results.statements import Part
    from reportgen.rules.scene import JobView


def standing(job: Job, evaluation: Evaluation) -> Standing:
    """Return where a day stands, from its evaluation."""
    view = as_evaluated(job, evaluation)
    parts: dict[Part, list[tuple[int, Finding]]] = {}
    accepted = _accepted(evaluation)
    for index, finding in enumerate(evaluation.findings):
        part = part_of(finding)
        settled = part in {"missing", "past"} and index in accepted
        parts.setdefault("noted" if settled else part, []).append((index, finding))
    missing, primed = parts.get("missing", []), _primed(view, evaluation)
    told = {(finding.area or "", finding.code) for _, finding in (*missing, *parts.get("past", []))}
    steps = (step for step in evaluation.measure_next if (step.area, step.answers) not in told)
    return Standing(
        causes(parts.get("wrong", []), primed),
        causes(parts.get("out of limits", []), primed),
        causes(missing, primed),
        (*perhaps_blasted_again(view, evaluation.findings), *perhaps_washed(view, evaluation)),
        tuple(_on_primed(view, evaluation, step) for step in steps if step.code != COAT_BY.name),  # deadlines are apart
        coating_deadlines(job, evaluation),
        causes(parts.get("noted", [])),
        evaluation.not_evaluated,
        causes(parts.get("past", [])),
    )


def _accepted(evaluation: Evaluation) -> set[int]:
    """Return the findings, by index, that decisions accept on every area that they count for: nobody has to go back."""
    counted = [one for area in evaluation.areas for one in area.reasons]
    return {one.finding for one in counted if one.accepted} - {one.finding for one in counted if not one.accepted}


def part_of(finding: Finding) -> Part:
    """Return where a finding belongs; one that is merely observed fails nothing."""
    part = CODES[finding.code].part
    if isinstance(finding.facts, GaugeUnchecked) and finding.facts.side.key == "before":
        return "past"  # nobody can check a gauge before what was read
    return "noted" if part == "out of limits" and finding.severity == "observation" else part


def _primed(view: JobView, evaluation: Evaluation) -> dict[int, AtTime]:
    """Return when the steel was primed that findings ask to be measured bare, by their index."""
    tasks: dict[tuple[str, str | None], list[Task]] = {}
    for step in evaluation.measure_next:
        tasks.setdefault((step.area, step.answers), []).append(step)
    return {
        index: at
        for index, one in enumerate(evaluation.findings) if one.area is not None
        for step in tasks.get((one.area, one.code), []) if step.place.location in (None, one.location)
        if (at := primed_since(view, step, [one])) is not None
    }  # fmt: skip


def _on_primed(view: JobView, evaluation: Evaluation, step: Task) -> Task:
    """Return a step as one on steel that was primed since, where it was."""
    at = primed_since(view, step, answered(evaluation.findings, step))
    return (
        step if at is None else TaskOnPrimed(**{one.name: getattr(step, one.name) for one in fields(step)}, primed=at)
    )


def causes(
    found: Iterable[tuple[int, Finding]], primed: Mapping[int, AtTime] = MappingProxyType({})
) -> tuple[Cause, ...]:
    """Return findings with their indices by cause, in the order of the first of each.

    Locations of one area stand together; areas of one cause, too, where no location is named. To raise nonconformances
    is one thing to do, whatever they are for; so is one check of a gauge, told with the first or the last reading that
    it is for. ``primed`` is when the steel was primed that nobody can measure bare any more, by the index.
    """
    alike: dict[tuple[Hashable, ...], list[tuple[int, Finding]]] = {}
    for index, one in found:
        alike.setdefault((*_cause_of(one), primed.get(index)), []).append((index, one))
    return tuple(
        Cause(
            _first_or_last([one for _, one in several]), tuple(index for index, _ in several),
            tuple(dict.fromkeys(one.place for _, one in several)), primed.get(several[0][0]),
        )
        for several in alike.values()
    )  # fmt: skip


def _cause_of(one: Finding) -> tuple[Hashable, ...]:
    if isinstance(one.facts, GaugeUnchecked):
        return one.code, one.facts.gauge, one.facts.side, one.clause, one.nonconformance
    facts = None if one.code == MISSING.name else one.facts
    area = one.area if one.location is not None else None
    return one.code, facts, one.clause, one.nonconformance, area, one.place.spot, one.place.time


def _first_or_last(alike: list[Finding]) -> Finding:
    """Return by which finding a cause is told: of a check after readings by that of the last of them."""
    facts = alike[0].facts
    if not isinstance(facts, GaugeUnchecked):
        return alike[0]
    # a time with its date, as printed, lies on the day after, or before the shift
    timed = sorted(alike, key=lambda one: ((one.place.time or "")[4:5] == "-", one.place.time or ""))
    return timed[-1] if facts.side.key == "after" else timed[0]


def coating_deadlines(job: Job, evaluation: Evaluation) -> tuple[Deadline, ...]:
    """Return the end of the time to coat of every area that is released and not coated yet, the next one first.

    One that this report does not inspect has a task alone.
    """
    found: dict[str, Deadline] = {}
    by_time = attrgetter("instant")
    tasks = [(one.area, one.facts.until) for one in evaluation.measure_next if isinstance(one.facts, ToCoat)]
    for area, until in (*tasks, *((time.area, time.coat_by) for time in evaluation.coating_times)):
        if until is None or area is None:
            continue
        dated = until[len("2026") :].startswith("-")
        at = dt.datetime.fromisoformat(until if dated else f"{job.clock.date} {until}")
        instant = job.clock.instant(at if at.tzinfo is not None else at.replace(tzinfo=ZoneInfo(job.clock.zone)))
        deadline = Deadline(area, until, instant)
        found[area] = min(found.get(area, deadline), deadline, key=by_time)
    return tuple(sorted(found.values(), key=by_time))
