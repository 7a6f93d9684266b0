"""The next shift's day file: areas due, what each still needs, and the rows to fill, from today's evaluation."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from reportgen.job import Places
from reportgen.results.codes.coating import ToCoat
from reportgen.results.codes.follow_up import ENTER_REINSPECTION, INSPECT_PREPARED
from reportgen.rules.due import AreaDue, areas_due, first_grade, is_in_part, open_nonconformances
from reportgen.sheet.plan import gauge_of
from reportgen.starter.contract import SCHEMAS
from reportgen.starter.examples import examples
from reportgen.starter.left_bare import apparatus_due, blasted_again, left_bare, same_steel, stated_again
from reportgen.starter.template import at_rest, filled, of_gauge, written
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from reportgen.job import Job, Surface
    from reportgen.results import Evaluation, Task

_LAST_NUMBER: Final = re.compile(r"(\d+)(?!.*\d)")
_WIDTH: Final = 106


@dataclass(frozen=True, slots=True)
class NextDay:
    """Name and content of the next day file, its report number, and the ids of the areas due, also by a former id."""

    name: str
    data: bytes
    number: str
    areas: tuple[str, ...]


def next_day(
    job: Job,
    evaluation: Evaluation,
    *,
    date: dt.date | None = None,
    taken: Collection[str] = (),
    inspector: str | None = None,
) -> NextDay:
    """Return the day file of the shift after a job's; ``date`` is the next day unless given, ``taken`` numbers in use.

    ``inspector`` is who inspects, by the key in the project file; unless given, who did on the shift before.

    Due are areas not inspected, not released, cleaned in part, with something still to measure, or with an open
    nonconformance. What is owed on one that left the project file is told, and it is named among them, last.
    """
    steps = [_on_the_next_day(step, evaluation.report.date) for step in evaluation.measure_next]
    evaluation = replace(evaluation, measure_next=tuple(steps))
    wanted: set[str | None] = {area.id for area in evaluation.areas if area.decision != "release"}
    wanted |= {step.area for step in steps} | set(open_nonconformances(evaluation))
    wanted |= {area.id for area in evaluation.areas if is_in_part(area)}
    known = [area.id for structure in job.project.structures for area in structure.areas]
    ids = [name for name in known if name in wanted]
    gone = sorted(filter(None, wanted.difference(known)))
    due = areas_due(job, evaluation, ids) if ids else []
    date = date or job.day.report.date + dt.timedelta(days=1)
    number = next_number(job.day.report.number, job.project.project.report_numbers, taken)
    name = f"{date.isoformat()}.yaml"
    own = {"file": name, "date": date.isoformat(), "number": number}
    own |= {"inspector_id": inspector} if inspector else {}
    text = filled("day", _values(job, evaluation, due) | own)
    return NextDay(name, text.encode(), number, (*(area.plan.id for area in due), *gone))


def next_number(number: str, pattern: str | None, taken: Collection[str] = ()) -> str:
    """Return the report number after ``number``: by the contract's pattern, else by its last run of digits.

    >>> next_number("AB-12-IR-009", "AB-12-IR-###")
    'AB-12-IR-010'
    >>> next_number("AB-12-IR-009", None, {"AB-12-IR-010"})
    'AB-12-IR-011'
    """
    found = None
    if pattern is not None:
        before, _, after = re.sub("#+", "#", pattern).partition("#")
        found = re.fullmatch(re.escape(before) + r"(\d+)" + re.escape(after), number)
    found = found or _LAST_NUMBER.search(number)
    if found is None:
        return next_number(f"{number}-1", None, taken)
    start, end = found.span(1)
    count = int(found[1])
    while True:
        count += 1
        following = f"{number[:start]}{count:0{end - start}d}{number[end:]}"
        if following not in taken:
            return following


def _values(job: Job, evaluation: Evaluation, due: list[AreaDue]) -> dict[str, str]:
    gauge = gauge_of(job)
    gauge_id = gauge[0] if gauge else "g1"
    report, instruments = job.day.report, job.project.instruments
    listed = "".join(filled("reason", {"area_id": area.plan.id}) for area in due)
    before = ", ".join(map(written, report.present))
    present = {"present": f"  # present: [{before}]    # those of the shift before"} if before else {}
    # one instrument for the air and one for the steel, as an entry of the conditions names them
    kinds = (("hygrometer", "psychrometer"), ("surface thermometer",))
    found = [next((name for name, one in instruments.items() if one.kind in kind), None) for kind in kinds]
    named = ", ".join(name for name in found if name is not None)
    # where the contract has several places, that of the first area due is the example
    places = Places(job.project.structures, ())
    own = next((place for area in due if (place := places.of(area.plan.id)) is not None), None)
    place = own or next(iter(places.stated), None)
    everywhere = [
        sentences().say("note", "open-everywhere", nonconformance=one.id, description=one.description)
        for one in open_nonconformances(evaluation).get(None, ())
    ]
    gone = [*_gone(job, evaluation)]
    raised = [one.id for day in (*job.earlier, job) for one in day.day.nonconformances]
    shown = examples(job.project.units)
    return shown | present | {
        "at_rest": at_rest("" if gauge is None else gauge[1].kind, shown["preset"]),
        "schema": SCHEMAS["day"], "start": _clock(report.shift.start), "end": _clock(report.shift.end),
        "inspector_id": report.inspector, "gauge": gauge_id,
        "countersigners": f"\n  countersigners: [{', '.join(report.countersigners)}]" if report.countersigners else "",
        "roll": _first_roll(job) or "x1", "instruments": f", instruments: [{named}]" if named else "",
        "reminder": "Due today:" if due else "Nothing more is owed." if gone else "Nothing is owed from before.",
        "surfaces": "".join(_area(job, evaluation, area, gauge_id) for area in due),
        "not_inspected": f"not_inspected:\n{listed}" if listed else "not_inspected: []\n",
        "nonconformance": next_number(raised[-1], None, raised) if raised else "NCR-001",
        "at_place": f"place: {written(place)}, " if place is not None and len(places.stated) > 1 else "",
        "still_open": "".join(f"# {line}\n" for one in (*gone, *everywhere) for line in _wrapped(one)),
    }  # fmt: skip


def _on_the_next_day(step: Task, date: str) -> Task:
    """Return a step as it is on the next day: a time until which to coat is of ``date``, today's entry is issued."""
    if isinstance(step.facts, ToCoat) and step.facts.until[len("18")] == ":":
        return replace(step, facts=replace(step.facts, date=date))
    return replace(step, code=INSPECT_PREPARED.name) if step.code == ENTER_REINSPECTION.name else step


def _gone(job: Job, evaluation: Evaluation) -> Iterator[str]:
    """Yield what is owed on areas that are not in the project file."""
    known = {area.id for structure in job.project.structures for area in structure.areas}
    for step in evaluation.measure_next:
        if step.area is not None and step.area not in known:
            yield f"{step.area}: {sentences().task(step)} ({sentences().because(step)})."


def _clock(time: dt.time | dt.datetime) -> str:
    return f'"{time:%H:%M}"' if isinstance(time, dt.time) else f'"{time.isoformat(timespec="minutes")}"'


def _area(job: Job, evaluation: Evaluation, due: AreaDue, gauge: str) -> str:
    """Return the commented entry of an area: what it needs, and the rows of readings to fill."""
    plan = due.plan
    per_location = job.project.specification.profile.readings_needed
    spots = "spot" if per_location == 1 else "spots"
    head = ["#", f"# {plan.id}, {plan.name}: {len(due.locations)} locations of {per_location} {spots}"]
    head += [f"#   {part}" for note in sentences().notes(due) for part in _wrapped(note)]
    reinspects = f"#    reinspects: [{', '.join(one.id for one in due.open)}]\n" if due.open else ""
    lasts = apparatus_due(job, due)
    bare = left_bare(job, due, evaluation)
    rework = any(one.disposition == "rework" for one in due.open)  # what an earlier report has bare is then of that
    entries = [
        _entry(job, due, gauge, one.apparatus, one, blasted_again(job, one)) + reinspects if rework
        else _entry(job, due, gauge, one.apparatus, one, same_steel(day, one))
        for day, one in bare
    ]  # fmt: skip
    stated = {name: stated_again(job, due, evaluation, last) for name, last in lasts.items()}
    known = {one.apparatus for _, one in bare}
    entries += [
        _entry(job, due, gauge, name, lasts[name], again) + reinspects
        for name, again in stated.items() if name not in known or (again and not rework)
    ]  # fmt: skip
    return "\n".join([*head, ""]) + "".join(entries)


def _entry(
    job: Job, due: AreaDue, gauge: str, apparatus: str | None, last: Surface | None, again: Mapping[str, str]
) -> str:  # fmt: skip
    """Return the commented entry of what one apparatus blasts on an area, as it was ``last`` time.

    ``again`` has the times of steel that is only entered again, or what to state of steel that is blasted again.
    """
    known = {"again": "", **again, **({} if apparatus is None else {"apparatus": written(apparatus)})}
    if last is not None:
        known["abrasive"] = written(last.blasted.abrasive)
        known["condition"] = "coated" if last.coated is not None else last.initial_condition
    on = gauge_of(job)
    keys = {"depth micrometer": "depth", "comparator": "grade"}
    key = keys.get("" if on is None else on[1].kind) or _first_roll(job) or "x1"
    needed = job.project.specification.profile.readings_needed
    spots = [f"spot: {chr(ord('a') + index % 26)}, " for index in range(needed)]
    if key == "grade" and needed == 1:
        spots = [""]
    rows = [f"#        - {{location: {place}, {spot}{key}: }}" for place in due.locations for spot in spots]
    film = last.profile.film if last and last.profile else "subtracted"
    entry = filled("area", known | {"area_id": due.plan.id, "gauge": gauge, "film": film, "rows": "\n".join(rows)})
    return of_gauge(entry, "thickness gauge" if on is None else on[1].kind)


def _first_roll(job: Job) -> str | None:
    """Return the roll to begin with; None where the contract has none."""
    rolls = job.project.tape_rolls
    first = first_grade(job.project, gauge_of(job))
    return next((name for name, roll in rolls.items() if roll.grade == first), next(iter(rolls), None))


def _wrapped(text: str) -> list[str]:
    import textwrap

    return textwrap.wrap(text, _WIDTH)
