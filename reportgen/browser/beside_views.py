"""What an inspector records beside measurements: function checks, hold points, replicas, changes, others' readings."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

from reportgen.browser.fields import NEW, Field, beginning, choices, field, row, section
from reportgen.browser.head_views import head_fields
from reportgen.intake.changes import Address, Entry, address_of
from reportgen.job.recorded import CHECKED_KINDS
from reportgen.sheet.plan import gauge_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from reportgen.browser.area_views import AreaSight
    from reportgen.browser.sight import Sight

_GRAIN: Final = ("uniform", "not uniform")
_RUBBED: Final = ("fully", "not fully", "slid")
_KEPT: Final = ("affixed", "kept")
_SITE: Final = ("weather", "wind", "high", "low", "blasters", "equipment", "agreements", "deviations")


def function_checks(sight: Sight) -> dict[str, Any]:
    """Return the checks on site that an instrument shows what it should, and a field that begins one of each."""
    how: dict[str, dict[str, Any]] = {
        "time": {"kind": "clock", "wanted": True}, "reference": {"wanted": True}, "shown": {"wanted": True},
        "tolerance": {}, "against": {"wide": True},
    }  # fmt: skip
    rows = []
    for index, entry in enumerate(sight.data.get("function_checks") or []):
        at = address_of(sight.data, ("function_checks", index))
        fields = [
            field(sight.data, at / name, sight.say(f"beside.check-{name}"), **more) for name, more in how.items()
        ]  # fmt: skip
        rows.append(row(at, fields, _judged(sight, "function", entry.get("instrument"), entry.get("time"))))
    fresh = []
    for name, one in sight.project.instruments.items():
        if one.kind in CHECKED_KINDS:
            at = Address((Entry("function_checks", (("time", NEW), ("instrument", name))),))
            begin = json.dumps({"time": NEW, "instrument": name})
            fresh.append(Field(str(at), sight.say("check.begin", name=name), begin=begin, kind="clock"))
    return section("function_checks", sight.say("beside.function_checks"), []) | {"rows": rows, "fresh": fresh}


def _judged(sight: Sight, kind: str, subject: Any, *times: Any) -> dict[str, str] | None:
    """Return what a check, or a hold point, came to."""
    found = [
        one for one in sight.evaluation.checks
        if one.kind == kind and one.subject == subject and str(one.time) in map(str, times)
    ]  # fmt: skip
    if not found:
        return None
    return {"text": sight.said.checked(found[0]), **sight.verdict(found[0].verdict)}


def hold_points(sight: Sight) -> dict[str, Any]:
    """Return the hold points as they were asked for and answered, and a field that begins one of each step."""
    listed = {one.step: one for one in sight.project.specification.hold_points}
    areas = choices([plan.id for structure in sight.project.structures for plan in structure.areas])
    rows = []
    for index, entry in enumerate(sight.data.get("hold_points") or []):
        at = address_of(sight.data, ("hold_points", index))
        answered = entry.get("released") or entry.get("refused")
        how: dict[str, dict[str, Any]] = {
            "asked": {"kind": "clock"}, "released": {"kind": "clock", "wanted": not answered},
            "refused": {"kind": "clock"}, "by": {"wanted": bool(answered)},
            "areas": {"kind": "several", "options": areas}, "remarks": {"kind": "long", "wide": True},
        }  # fmt: skip
        if entry.get("step") not in listed:
            words = tuple((one, sight.say(f"beside.work-{one}")) for one in ("blasting", "coating", "other"))
            how["before"] = {"kind": "choice", "options": words}
        fields = [
            field(sight.data, at / name, sight.say(f"beside.hold-{name}"), **more) for name, more in how.items()
        ]  # fmt: skip
        shown = _judged(sight, "hold-point", entry.get("step"), answered or entry.get("asked"))
        rows.append(row(at, fields, shown) | {"name": entry.get("step", "")})
    fresh = []
    for step in listed:
        at = Address((Entry("hold_points", (("step", step), ("asked", NEW))),))
        label = sight.say("beside.hold-begin", step=step)
        fresh.append(Field(str(at), label, begin=json.dumps({"step": step, "asked": NEW}), kind="clock"))
    fresh.append(beginning(Address(("hold_points",)), {}, sight.say("beside.hold-other"), "step"))
    return section("hold_points", sight.say("beside.hold_points"), []) | {"rows": rows, "fresh": fresh}


def report_fields(sight: Sight) -> dict[str, Any]:
    """Return what the day file says of the report itself: the shift, who was there, who signs too, the site."""
    say, data, units = sight.say, sight.data, sight.project.units
    report, site = Address(("report",)), Address(("site",))
    inspector = sight.job.day.report.inspector
    people = tuple((key, one.name) for key, one in sight.project.people.items() if key != inspector)
    how: dict[str, dict[str, Any]] = {
        "high": {"kind": "number", "unit": units.temperature}, "low": {"kind": "number", "unit": units.temperature},
    }  # fmt: skip
    fields = [
        *head_fields(sight),
        *(field(data, report / "shift" / name, say(f"beside.shift-{name}"), kind="clock") for name in ("start", "end")),
        field(data, report / "present", say("beside.present"), kind="names", wide=True),
        *([field(data, report / "countersigners", say("beside.countersigners"), kind="several", options=people)]
          if people else []),
        *(field(data, site / name, say(f"beside.{name}"), wide=name not in ("high", "low", "blasters"),
                **how.get(name, {})) for name in _SITE),
        field(data, Address(("remarks",)), say("entry.remarks"), kind="long", wide=True),
    ]  # fmt: skip
    return section("report", say("beside.report"), fields)


# Of an area


def replicas(here: AreaSight, location: str, spots: list[str]) -> dict[str, Any]:
    """Return how the replicas of an area came out: of all of it, of the location that is read, and those recorded."""
    sight, say = here.sight, here.sight.say
    gauge = gauge_of(sight.job)
    if gauge is None or gauge[1].kind != "thickness gauge":
        return {"rows": [], "fresh": [], "any": False}
    at = Address((*here.at.steps,))
    recorded = here.entry.get("replicas") or []
    rows = [
        _replica(here, index, entry) for index, entry in enumerate(recorded)
    ]  # fmt: skip
    fresh = [_thrown_away(here, location, spot) for spot in spots if location]
    if not any("location" not in one for one in recorded):
        options = tuple((one, say(f"beside.grain-{one}")) for one in _GRAIN)
        whole = beginning(at / "replicas", {}, say("beside.grain-all"), "grain", kind="choice", options=options)
        fresh.insert(0, whole)
    return {"rows": rows, "fresh": fresh, "any": bool(recorded)}


def _thrown_away(here: AreaSight, location: str, spot: str) -> Field:
    """Return the field for why a replica of a spot was thrown away: one more, however many there are."""
    names = {"location": location, "spot": spot, "thrown_away": NEW}
    at = Address((*here.at.steps, Entry("replicas", tuple(names.items()))))
    label = here.sight.say("beside.thrown-away-at", location=location, spot=spot)
    return Field(str(at), label, begin=json.dumps(names), wide=True)


def _replica(here: AreaSight, index: int, entry: Mapping[str, Any]) -> dict[str, Any]:
    sight, say = here.sight, here.sight.say
    at = _entry(here, "replicas", index)
    length = gauge_of(sight.job)
    unit = "" if length is None else length[1].unit or ""
    how: dict[str, dict[str, Any]] = {
        "grain": {"kind": "choice", "options": tuple((one, say(f"beside.grain-{one}")) for one in _GRAIN)},
        "rubbed": {"kind": "choice", "options": tuple((one, say(f"beside.rubbed-{one}")) for one in _RUBBED)},
        "kept": {"kind": "choice", "options": tuple((one, say(f"beside.kept-{one}")) for one in _KEPT)},
    }  # fmt: skip
    if "location" in entry:
        how |= {
            "thrown_away": {"wide": True}, "read": {"kind": "number", "unit": unit},
            "roll": {"kind": "choice", "options": choices(list(sight.project.tape_rolls))},
        }  # fmt: skip
    fields = [field(sight.data, at / name, say(f"beside.{name}"), **more) for name, more in how.items()]
    where = (
        say("area.spot-of", spot=entry.get("spot", ""), location=entry["location"])
        if "location" in entry
        else say("beside.all-replicas")
    )
    text = ", ".join(str(entry[name]) for name in ("thrown_away", "grain", "rubbed", "kept") if name in entry)
    return row(at, fields, {"state": "entered", "word": "", "text": text}) | {"name": where, "open": False}


def _entry(here: AreaSight, key: str, index: int) -> Address:
    """Return the address of an entry of a list of the area."""
    surfaces = here.sight.data.get("surfaces") or []
    number = next(n for n, one in enumerate(surfaces) if one is here.entry)
    return address_of(here.sight.data, ("surfaces", number, key, index))


def changes_of_process(here: AreaSight) -> dict[str, Any]:
    """Return the changes of the blasting during the shift, each with a location before and after it."""
    sight, say = here.sight, here.sight.say
    rows = []
    for index, _ in enumerate(here.entry.get("process_changes") or []):
        at = _entry(here, "process_changes", index)
        how: dict[str, dict[str, Any]] = {
            "time": {"kind": "clock"},
            "change": {"wide": True},
            "before": {},
            "after": {},
        }
        fields = [
            field(sight.data, at / name, say(f"beside.process-{name}"), wanted=True, **more)
            for name, more in how.items()
        ]  # fmt: skip
        rows.append(row(at, fields, None) | {"result": {"state": "entered", "word": "", "text": ""}})
    fresh = beginning(
        Address((*here.at.steps, "process_changes")), {}, say("beside.process-begin"), "time", kind="clock"
    )
    return {"rows": rows, "fresh": [fresh], "any": bool(rows)}


def comparison(here: AreaSight) -> dict[str, Any]:
    """Return somebody else's readings at locations of the area: who took them, with what, and a value for each."""
    sight, say = here.sight, here.sight.say
    unit, at = sight.project.units.height, Address((*here.at.steps, "comparison"))
    entry = here.entry.get("comparison") or {}
    how: dict[str, dict[str, Any]] = {
        "by": {"wanted": bool(entry)}, "organisation": {}, "gauge": {}, "time": {"kind": "clock"},
        "gauge_accuracy": {"kind": "number", "unit": unit}, "expanded_uncertainty": {"kind": "number", "unit": unit},
        "coverage_factor": {},
        "same_replicas": {"kind": "choice", "options": tuple((one, say(f"beside.{one}")) for one in ("yes", "no"))},
    }  # fmt: skip
    fields = [field(sight.data, at / name, say(f"beside.compared-{name}"), **more) for name, more in how.items()]
    if not entry:
        return {"fields": fields[:1], "any": False}
    fields += [
        field(sight.data, at / step / "profile", label, kind="number", unit=unit)
        for step, label in _compared(here, entry)
    ]
    return {"fields": fields, "any": True}


def _compared(here: AreaSight, entry: Mapping[str, Any]) -> Iterator[tuple[Entry, str]]:
    """Yield where a value of a comparison stands: at the spots that have one, else at the location as a whole."""
    say, values = here.sight.say, entry.get("values") or []
    for name in dict.fromkeys([*(str(one.get("location")) for one in values), *(one.id for one in here.locations)]):
        spots = [str(one["spot"]) for one in values if one.get("location") == name and "spot" in one]
        for spot in spots:
            label = say("area.spot-of", spot=spot, location=name)
            yield Entry("values", (("location", name), ("spot", spot))), label
        if not spots:
            yield Entry("values", (("location", name),)), say("area.location", location=name)
