"""What the page of air and checks shows: gauge and tape, and every log of the shift that the contract asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.browser.area_views import measured_fields, only_instruments, places
from reportgen.browser.beside_views import function_checks, hold_points
from reportgen.browser.fields import Field, beginning, choices, field, row, section, to_fill_in
from reportgen.browser.sight import Sight, result_text, seen
from reportgen.intake.changes import Address, address_of
from reportgen.measurements import LOGS
from reportgen.sheet.plan import gauge_of

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.measurements import Measurement
    from reportgen.results import CheckResult

_CLEAN: Final = ("clean", "cleaned", "not checked")


def checks_view(day: Path, language: str) -> dict[str, Any]:
    """Return what the page of air and checks shows.

    Raises:
        InputError: the day file cannot be used.
    """
    sight = seen(day, language)
    return sight.common("checks") | {
        "sections": [
            *_gauge_sections(sight), *(_log(sight, kind) for kind in LOGS), function_checks(sight), hold_points(sight),
        ],
        "next": sight.next_area(),
    }  # fmt: skip


def _gauge_sections(sight: Sight) -> list[dict[str, Any]]:
    """Return the checks of gauge and tape, for the kind of gauge that the contract's method is read with."""
    gauge = gauge_of(sight.job)
    if gauge is None or gauge[1].kind == "comparator":
        return []
    name, unit, tape = gauge[0], gauge[1].unit or "", gauge[1].kind == "thickness gauge"
    gauges = [each for each, one in sight.project.instruments.items() if one.kind == gauge[1].kind]
    rolls = list(sight.project.tape_rolls)
    at_rest = ("anvils", "preset") if tape else ("tip", "zero")
    options = tuple((one, sight.say.named("clean", one)) for one in _CLEAN)
    how: dict[str, dict[str, Any]] = {
        "time": {"kind": "clock", "wanted": True},
        "gauge": {"kind": "choice", "options": choices(gauges), "wanted": True},
        at_rest[0]: {"kind": "choice", "options": options, "wanted": True},
        **{key: {"kind": "number", "unit": unit, "wanted": True} for key in (at_rest[1], "shim", "shim_reading")},
    }
    checks = _section(sight, "gauge_checks", how, [({"gauge": name}, sight.say("check.begin", name=name))], "gauge")
    if not tape:
        return [checks]
    how = {
        "time": how["time"],
        "roll": {"kind": "choice", "options": choices(rolls), "wanted": True},
        "gauge": how["gauge"],
        "thickness": {"kind": "number", "unit": unit, "wanted": True},
    }
    starts = [
        ({"roll": roll, "gauge": name}, sight.say(
            "check.begin-roll", roll=roll, grade=sight.said.say("tape-grade", sight.project.tape_rolls[roll].grade)
        )) for roll in rolls
    ]  # fmt: skip
    return [checks, _section(sight, "tape_checks", how, starts, "tape")]


def _section(
    sight: Sight, key: str, how: dict[str, dict[str, Any]], starts: list[tuple[dict[str, str], str]], kind: str
) -> dict[str, Any]:
    """Return the rows of one list of checks, and the fields that begin one more."""
    rows, subject = [], "gauge" if kind == "gauge" else "roll"
    for index, entry in enumerate(sight.data.get(key) or []):
        at = address_of(sight.data, (key, index))
        fields = [
            field(sight.data, Address((*at.steps, name)), sight.say(f"field.{key}-{name}"), **more)
            for name, more in how.items()
        ]  # fmt: skip
        found = [one for one in sight.evaluation.checks
                 if (one.kind, one.subject, one.time) == (kind, entry.get(subject), entry.get("time"))]  # fmt: skip
        rows.append(row(at, fields, _shown(sight, found[0]) if found else None))
    missing = any(one.code == f"{kind}-check-missing" for one in sight.evaluation.findings)
    known = {str(entry.get(subject)) for entry in sight.data.get(key) or []}
    fresh = [
        beginning(Address((key,)), names, label, "time", kind="clock",
                  wanted=names[subject] not in known if kind == "tape" else missing or not rows)
        for names, label in starts
    ]  # fmt: skip
    return _listed(key, sight.say(f"check.{key}"), "", rows, fresh)


def _shown(sight: Sight, one: CheckResult) -> dict[str, str]:
    text = f"{sight.said.checked(one)}; {sight.said.check_required(one)}"
    return {"text": text, **sight.verdict(one.verdict)}


def _listed(
    key: str, title: str, note: str, rows: list[dict[str, Any]], fresh: list[Field]
) -> dict[str, Any]:  # fmt: skip
    fields = [one for each in rows for one in each["fields"]]
    made = section(key, title, [*fields, *(one for one in fresh if one.wanted)], note)
    return made | {"rows": rows, "fresh": fresh}


def _log(sight: Sight, kind: Measurement[Any, Any, Any]) -> dict[str, Any]:
    """Return the entries of a log with their results, and a field that begins one at each place, or for each thing."""
    say, said = sight.say, sight.said
    limit = getattr(sight.project.specification, kind.limit_key)
    results = {
        (one.time, getattr(one, kind.subject or "place", None)): one for one in getattr(sight.evaluation, kind.key)
    }
    rows, title = [], said.name(kind.key) or kind.key
    for index, entry in enumerate(sight.data.get(kind.day_key) or []):
        at = address_of(sight.data, (kind.day_key, index))
        found = results.get((entry.get("time"), entry.get(kind.subject or "place")))
        shown = (
            None
            if found is None
            else {
                "text": result_text(said, kind, found),
                **sight.verdict(found.verdict),
            }
        )
        rows.append(row(at, measured_fields(sight, kind, at, entry), shown))
    note = ""
    if limit is not None:
        told, open_ = said.say("limit", kind.key, kind.limit_facts(limit)), to_fill_in("clause", limit.clause)
        note = say("check.usual", limit=told) if open_ else say("area.limit", limit=told, clause=limit.clause)
    return _listed(kind.day_key, title, note, rows, _starts(sight, kind, title))


def _starts(sight: Sight, kind: Measurement[Any, Any, Any], title: str) -> list[Field]:
    """Return what begins an entry: its time, at each place of the contract or for each thing in use today."""
    say, at = sight.say, Address((kind.day_key,))
    asked = getattr(sight.project.specification, kind.limit_key) is not None
    entries = sight.data.get(kind.day_key) or []
    tools = only_instruments(sight, kind)
    if not kind.subject:
        names = [{"place": place, **tools} for place in places(sight)] or [tools]
        seen_at = {entry.get("place") for entry in entries}
        return [
            beginning(at, one, say("check.at-place", where=one.get("place"), what=title), "time", kind="clock",
                      wanted=asked and (one.get("place") not in seen_at or not entries))
            for one in names
        ]  # fmt: skip
    used = _in_use(sight, kind.subject)
    there = {entry.get(kind.subject) for entry in entries}
    fresh = [
        beginning(at, {kind.subject: name, **tools}, say("check.begin", name=name), "time", kind="clock",
                  wanted=asked and name not in there)
        for name in used
    ]  # fmt: skip
    other = say(f"check.other-{kind.subject}") if say.knows(f"check.other-{kind.subject}") else title
    return [*fresh, beginning(at, tools, other, kind.subject, wanted=asked and not entries and not used)]


def _in_use(sight: Sight, subject: str) -> list[str]:
    """Return the apparatus, or abrasives, that the areas of the day name."""
    surfaces = sight.data.get("surfaces") or []
    found = [one.get(subject) or (one.get("blasted") or {}).get(subject) for one in surfaces]
    return list(dict.fromkeys(str(one) for one in found if one))
