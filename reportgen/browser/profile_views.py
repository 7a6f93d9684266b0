"""What the profile of an area shows: its locations with what they came to, and the one that is being read."""

from __future__ import annotations

import re
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote, urlencode

from reportgen.browser.fields import Field, choices, field, section
from reportgen.browser.follow_up_views import to_measure, walk_outs
from reportgen.browser.shift_views import limits_text
from reportgen.browser.strips import scale_of, strip
from reportgen.intake.changes import Address, Entry, content_at, reading_at
from reportgen.metrology.tape import tape_scheme
from reportgen.pipeline.looking import SINGLE
from reportgen.readings.rows import DEPTH, GRADE
from reportgen.references import COMPARATOR_GRADES
from reportgen.results.codes.profile import READ_OTHER_GRADE, NoneByTape
from reportgen.results.codes.records import RECORD_MISSING, RECORD_NOT_STATED
from reportgen.rules.due import areas_due, first_grade
from reportgen.sheet.plan import gauge_of
from reportgen.units import DISPLAY, decimal_mark, render_number
from reportgen.words.catalogue import catalogue

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from reportgen.browser.area_views import AreaSight
    from reportgen.browser.sight import Sight
    from reportgen.browser.texts import Texts
    from reportgen.charts import ProfileScale
    from reportgen.results import Finding, LocationResult, Task
    from reportgen.words.sentences import Sentences

NOT_READINGS: Final = ("location", "spot", "time", "confirmed")


def profile_view(
    here: AreaSight, location: str = "", roll: str = "", number: int = 0, *, onward: bool = False
) -> dict[str, Any]:
    """Return the readings of an area: what each location came to, and the one that is being entered.

    That is ``location``; with ``onward`` one that lacks a reading where that one does not.
    ``number`` is that of the entry in the addresses of its locations, 0 where the area alone names it.
    """
    sight = here.sight
    rows = (here.entry.get("profile") or {}).get("readings") or []
    if isinstance(rows, dict):
        return _profile_of_file(here, rows, number)
    names = list(dict.fromkeys(str(one.get("location", "")) for one in rows))
    due = next((due.locations for due in areas_due(sight.job, sight.evaluation, [here.plan.id])), ())
    others = _others(here)
    planned = _free(due, others)
    wanted, walks = _lit(here), walk_outs(here)
    doubted = _doubted(here)
    lacking = _lacking(here, names, (*planned, *to_measure(walks)), wanted.keys() - doubted)
    asked = {place for place, _ in doubted}
    usual = [*(name for name in names if name in lacking or name in asked), *lacking, *names[-1:], _fresh_name(others)]
    if onward and location and lacking and location not in lacking:
        location = lacking[0]
    current = location or usual[0]
    found, scale = {one.id: one for one in here.locations}, scale_of(sight)
    blocks = [
        _block(sight, scale, name, found.get(name))
        | {"current": name == current, "to": _to(here, number, name), "raw": _raw(here, rows, name)}
        for name in dict.fromkeys([*names, current])
    ]
    spots = [
        _spot(here, rows, current, spot, wanted.get((current, spot)), roll) for spot in _spot_names(here, rows, current)
    ]
    fields = [*(one for spot in spots for one in spot["fields"]), _position(here, current)]
    missing = bool(wanted) or len(names) < len(planned) or any(one.wanted for one in fields)
    shown = {*(str(key) for one in rows for key in one), roll, *_rolls(here)}
    return section("profile", sight.say("area.profile"), fields, _profile_note(here, names, planned)) | {
        "state": "none" if not names else "open" if missing else "entered",
        "blocks": blocks, "spots": spots, "current": current, "file": "", "next": _fresh_name([*names, *others]),
        "to_next": _to(here, number, _fresh_name([*names, *others])),
        "onward": next(
            ({"to": _to(here, number, name), "name": sight.say("walk.read", location=name)}
             for name in lacking if name != current), None,
        ),
        "no_reading": beginning_of_no_reading(here, current), "position": _position(here, current),
        "rolls": [
            {"name": name, "to": _to(here, number, current, name)}
            for name in sight.project.tape_rolls if name not in shown
        ], "walks": [_with_addresses(here, number, walk) for walk in walks],
    }  # fmt: skip


def _with_addresses(here: AreaSight, number: int, walk: dict[str, Any]) -> dict[str, Any]:
    """Return a walk-out with where its locations are read that have no readings."""
    directions = [
        one | {"unmeasured": [{"name": name, "to": _to(here, number, name)} for name in one["unmeasured"]]}
        for one in walk["directions"]
    ]  # fmt: skip
    return walk | {"directions": directions}


def _block(sight: Sight, scale: ProfileScale | None, name: str, one: LocationResult | None) -> dict[str, Any]:
    """Return what a location came to."""
    return {
        "id": name, "current": False, "to": "", "raw": [], "strip": strip(scale, [] if one is None else [one]),
        "value": _value(sight.say, one), "verdict": sight.verdict("not evaluated" if one is None else one.verdict),
    }  # fmt: skip


def _profile_of_file(here: AreaSight, rows: Mapping[str, Any], number: int) -> dict[str, Any]:
    """Return readings that stand in a table of their own: they are shown, and changed where they stand."""
    scale, found = scale_of(here.sight), {one.id: one for one in here.locations}
    job, say = here.sight.job, here.sight.say
    pairs = zip(job.day.surfaces, job.readings, strict=True)
    readings = next((several for record, several in pairs if record is here.record), ())
    raw: dict[str, dict[str, list[str]]] = {}
    for one in readings:
        shown = one.grade if one.value is None else say.number(one.value)
        raw.setdefault(one.location, {}).setdefault(one.spot, []).append(shown or "")
    blocks = [
        _block(here.sight, scale, name, found.get(name))
        | {"raw": [f"{spot} {', '.join(values)}" for spot, values in spots.items()]}
        for name, spots in raw.items()
    ]
    made = section("profile", say("area.profile"), [], _profile_note(here, [*raw], ()))
    return made | {
        "state": "entered" if blocks else "open", "blocks": blocks, "spots": [], "current": "", "rolls": [],
        "file": say("area.in-table", file=str(rows.get("csv", "")), count=len(readings)),
        "next": "", "no_reading": None, "position": None, "onward": None,
        "to_next": "", "walks": [_with_addresses(here, number, walk) for walk in walk_outs(here)],
    }  # fmt: skip


def _raw(here: AreaSight, rows: list[dict[str, str]], location: str) -> list[str]:
    """Return the readings of a location as they stand in the file, spot by spot, and where it is."""
    found = []
    for one in rows:
        if one.get("location") == location:
            readings = ", ".join(str(value) for key, value in one.items() if key not in NOT_READINGS)
            found.append(f"{one.get('spot', '')} {readings}".strip())
    return [*found, *filter(None, [(here.entry.get("positions") or {}).get(location)])]


def _value(say: Texts, one: LocationResult | None) -> str:
    if one is None:
        return ""
    if one.profile is None:
        return one.observed or ""
    about = "" if one.expanded_uncertainty is None else f" ± {say.number(one.expanded_uncertainty)}"
    return f"{say.number(one.profile)}{about}"


def _profile_note(here: AreaSight, names: list[str], planned: tuple[str, ...]) -> str:
    sight = here.sight
    required = here.result.required_locations if here.result is not None else len(planned)
    taken = sight.say("area.taken", required=required, taken=len(names)) if names or required else ""
    return " · ".join(filter(None, (limits_text(sight), taken)))


def _lit(here: AreaSight) -> dict[tuple[str, str], Any]:
    """Return the spots that need a reading on the other grade, with the task."""
    return {
        (one.place.location or "", one.place.spot or ""): one for one in here.sight.evaluation.measure_next
        if one.code == READ_OTHER_GRADE.name and one.area == here.plan.id
    }  # fmt: skip


def _lacking(
    here: AreaSight, names: list[str], planned: tuple[str, ...], wanted: Collection[tuple[str, str]]
) -> list[str]:
    """Return the locations to enter: those that lack a reading, then those of the plan that have none."""
    spots = _needed_spots(here)
    rows = (here.entry.get("profile") or {}).get("readings") or []
    lit = {place for place, _ in wanted}
    there = {name: {str(one.get("spot", "a")) for one in rows if one.get("location") == name} for name in names}
    found = [name for name in names if len(there[name]) < len(spots) or name in lit]
    return [*found, *(name for name in planned if name not in names)]


def _doubted(here: AreaSight) -> set[tuple[str, str]]:
    """Return location and spot of the readings that are asked about; what follows from them is wanted of nobody yet."""
    findings = here.sight.evaluation.findings
    return {
        (one.place.location or "", one.place.spot or "") for one in findings
        if one.code in SINGLE and one.area == here.plan.id
    }  # fmt: skip


def _to(here: AreaSight, number: int, location: str, roll: str = "") -> str:
    """Return the address where a location of the entry is entered."""
    given = {"entry": str(number) if number else "", "location": location, "roll": roll}
    query = urlencode({name: value for name, value in given.items() if value})
    return f"{here.sight.address}/area/{quote(here.plan.id)}{'?' if query else ''}{query}#profile"


def _others(here: AreaSight) -> list[str]:
    """Return the locations that other entries have of the same apparatus on the area: their names are taken.

    Of an entry that does not name its apparatus yet every name may be.
    """
    own, found = here.entry.get("apparatus"), list[str]()
    for one in here.sight.data.get("surfaces") or []:
        if one is not here.entry and one.get("area") == here.plan.id and own in (None, one.get("apparatus")):
            found += [str(each.get("location", "")) for each in _inline(one)]
    return list(dict.fromkeys(found))


def _free(planned: Sequence[str], taken: Sequence[str]) -> tuple[str, ...]:
    """Return the locations of a plan; those whose names are taken get the numbers that follow."""
    if not taken:
        return tuple(planned)
    first = int(_fresh_name([*taken]))
    return tuple(str(first + number) for number in range(len(planned)))


def _fresh_name(names: list[str]) -> str:
    numbers = [int(name) for name in names if re.fullmatch(r"\d{1,6}", name)]
    return str(max(numbers, default=0) + 1)


def _needed_spots(here: AreaSight) -> list[str]:
    needed = here.sight.project.specification.profile.readings_needed
    return list(ascii_lowercase[:needed]) if needed <= len(ascii_lowercase) else [str(n + 1) for n in range(needed)]


def _spot_names(here: AreaSight, rows: list[dict[str, str]], location: str) -> list[str]:
    """Return the spots of a location: those that were read, then those that the contract wants."""
    known = [str(one["spot"]) for one in rows if one.get("location") == location and "spot" in one]
    return list(dict.fromkeys([*known, *_needed_spots(here)]))


def _rolls(here: AreaSight) -> list[str]:
    """Return the rolls in use: those read on this day, else the first of each grade, that to begin with in front."""
    project = here.sight.project
    used = {
        str(key) for surface in here.sight.data.get("surfaces") or [] for each in _inline(surface) for key in each
    }  # fmt: skip
    in_use = [name for name in project.tape_rolls if name in used]
    grades = {project.tape_rolls[name].grade for name in in_use}
    for name, roll in project.tape_rolls.items():
        if roll.grade not in grades:
            in_use.append(name)
            grades.add(roll.grade)
    first = first_grade(project, gauge_of(here.sight.job))
    return sorted(in_use, key=lambda name: project.tape_rolls[name].grade != first)


def _inline(surface: Mapping[str, Any]) -> list[dict[str, str]]:
    rows = (surface.get("profile") or {}).get("readings") or []
    return rows if isinstance(rows, list) else []


def _spot(
    here: AreaSight, rows: list[dict[str, str]], location: str, spot: str, task: Any, roll: str
) -> dict[str, Any]:  # fmt: skip
    """Return a spot with a field for each roll; the tape that was read first stands first."""
    sight = here.sight
    entry = next((one for one in rows if one.get("location") == location and one.get("spot", "a") == spot), {})
    found = next((one for one in here.locations if one.id == location), None)
    result = next((one for one in (found.spots if found else ()) if one.id == spot), None)
    own = [str(key) for key in entry if key not in NOT_READINGS]
    columns = _columns(here, own, roll)
    wanted = "" if task is None else str(task.facts.wanted.key)
    fields = [
        _reading(
            here, reading_at(here.at, location, spot, column), column, first=not own and number == 0, wanted=wanted
        )
        for number, column in enumerate(columns)
    ]
    why = "" if task is None else why_second(sight.say, sight.said, task, sight.evaluation.findings)
    told = ("", "") if result is None or result.profile is None else (
        sight.say.number(result.profile), sight.said.say("how", result.how)
    )  # fmt: skip
    return {
        "id": spot, "fields": fields, "value": told[0], "how": told[1], "why": why,
    }  # fmt: skip


def why_second(say: Texts, said: Sentences, task: Task, findings: Iterable[Finding]) -> str:
    """Return why a reading on the other tape is asked for: the reading, and the contract's rule with its numbers."""
    told = f"{said.task(task)}: {said.because(task)}."
    told = told[:1].upper() + told[1:]
    found = next((one for one in findings if (one.code, one.place) == (task.answers, task.place)), None)
    if found is None or not isinstance(found.facts, NoneByTape):
        return told
    rule, unit, why = found.facts.rule.key, found.facts.readings[0].net.unit, found.facts.why.key
    scheme = tape_scheme(rule, unit)
    coarse, extra = scheme.ranges["coarse"], scheme.ranges["extra coarse"]
    ends = {
        "low": scheme.window.minimum, "high": scheme.window.maximum, "change": scheme.changeover,
        "coarse_low": coarse.minimum, "coarse_high": coarse.maximum,
        "extra_low": extra.minimum, "extra_high": extra.maximum,
    }  # fmt: skip
    with decimal_mark(catalogue(say.language).decimal):
        numbers = {name: render_number(value, 1 if unit == "mil" else 0) for name, value in ends.items()}
    rule = why if why in ("needs-second", "other-grade-alone") else "ranges"
    return f"{told} {say(f'second_tape.{rule}', **numbers, unit=DISPLAY.get(unit, unit), clause=found.clause)}"


def _columns(here: AreaSight, own: list[str], roll: str) -> list[str]:
    """Return what a spot is read on: the rolls of its row first, then those in use; or the one thing of its gauge."""
    gauge = gauge_of(here.sight.job)
    of_gauge = {"depth micrometer": DEPTH, "comparator": GRADE}.get("" if gauge is None else gauge[1].kind)
    if of_gauge is not None:
        return [of_gauge]
    return list(dict.fromkeys([*own, *_rolls(here), *([roll] if roll else [])]))


def _reading(here: AreaSight, at: Address, column: str, *, first: bool, wanted: str) -> Field:
    """Return the field of one reading: on a roll of tape, by depth, or a grade beside a comparator."""
    sight, data = here.sight, here.sight.data
    if column == GRADE:
        options = choices(COMPARATOR_GRADES)
        return field(data, at, sight.say("reading.grade"), kind="choice", options=options, wanted=first)
    gauge, roll = gauge_of(sight.job), sight.project.tape_rolls.get(column)
    unit = "" if gauge is None else gauge[1].unit or ""
    if roll is None:
        label = sight.say("reading.depth") if column == DEPTH else column
        return field(data, at, label, unit=unit, kind="number", bare=True, wanted=first)
    label = sight.say("reading.tape", grade=sight.said.say("tape-grade", roll.grade), roll=column)
    lit = roll.grade == wanted and content_at(data, at) is None
    sure = (at.named("location") or "", at.named("spot") or "") not in _doubted(here)
    return field(
        data, at, label, unit=unit, kind="number", bare=True, grade=roll.grade, lit=lit, wanted=(lit and sure) or first
    )  # fmt: skip


def _position(here: AreaSight, location: str) -> Field:
    """Return the field for where a location is; wanted where the contract wants it on record."""
    wanted = any(
        one.code in (RECORD_MISSING.name, RECORD_NOT_STATED.name) and one.area == here.plan.id
        and one.facts.record.key == "positions"  # type: ignore[attr-defined] # both codes have it
        for one in here.sight.evaluation.findings
    )  # fmt: skip
    at = Address((*here.at.steps, "positions", location))
    return field(here.sight.data, at, here.sight.say("area.position"), wide=True, wanted=wanted)


def beginning_of_no_reading(here: AreaSight, location: str) -> Field:
    """Return the field for the reason why there is no reading at a location."""
    at = Address((*here.at.steps, Entry("no_reading", (("location", location),)), "reason"))
    return field(here.sight.data, at, here.sight.say("area.no-reading"), kind="text", wide=True)
