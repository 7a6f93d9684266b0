"""What the page of one area shows: its entries part by part, each field with what stands in the file."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from reportgen.browser import follow_up_views as follow_up
from reportgen.browser.fields import NEW, Field, beginning, carried_over, choices, field, row, section, to_fill_in
from reportgen.browser.fields import Kind as FieldKind
from reportgen.browser.shift_views import reasons_of
from reportgen.browser.sight import Sight, result_text, seen
from reportgen.errors import UsageError
from reportgen.intake.carried import carried
from reportgen.intake.changes import Address, Entry, address_of, surface_at
from reportgen.intake.readings import only_gauge
from reportgen.measurements import OF_A_SURFACE, TESTS
from reportgen.rules.explain import tests_with_results
from reportgen.rules.scene import as_evaluated
from reportgen.sheet.plan import gauge_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from reportgen.job import AreaPlan, Surface
    from reportgen.measurements import Entry as Value
    from reportgen.measurements import Measurement
    from reportgen.results import AreaResult, LocationResult
    from reportgen.rules.scene import JobView

_RUST: Final = ("A", "B", "C", "D", "coated")


@dataclass(frozen=True)
class AreaSight:
    """An area on a day: its plan, its entry in the file, and the address of that."""

    sight: Sight
    plan: AreaPlan
    at: Address
    entry: Mapping[str, Any]
    result: AreaResult | None

    def field(self, path: str, label: str, **how: Any) -> Field:
        """Return a field of the entry; ``path`` names it, ``blasted/start``."""
        return field(self.sight.data, Address((*self.at.steps, *path.split("/"))), label, **how)

    @cached_property
    def record(self) -> Surface | None:
        """The entry as it is evaluated; None while it is set aside, so that nothing is known of it yet."""
        job, surfaces = self.sight.job, self.sight.data.get("surfaces") or []
        aside = {one.place[1] for one in job.unfinished if one.place[:1] == ("surfaces",) and len(one.place) == 2}
        counted = [one for index, one in enumerate(surfaces) if index not in aside]
        at = next((number for number, one in enumerate(counted) if one is self.entry), None)
        return None if at is None or len(counted) != len(job.day.surfaces) else job.day.surfaces[at]

    @cached_property
    def _view(self) -> JobView:
        return as_evaluated(self.sight.job, self.sight.evaluation)

    @cached_property
    def locations(self) -> tuple[LocationResult, ...]:
        """Locations that have a result and are of this entry, where several share the area."""
        found = () if self.result is None else self.result.locations
        own = next((one for one in self._view.surfaces if one.record is self.record), None)
        names = set() if own is None else set(own.locations)
        return tuple(
            one for one in found
            if own is not None and one.id in names and one.apparatus in (None, own.record.apparatus)
        )  # fmt: skip

    def results(self, kind: Measurement[Any, Any, Any]) -> list[Any]:
        """Return the results of a kind of measurement of this entry, in the order of its tests."""
        if self.record is None:
            return []
        found = tests_with_results(self._view, self.sight.evaluation, self.plan.id)
        return [result for each, record, _, result in found if each is kind and record is self.record]


def area_view(
    day: Path, language: str, area: str, apparatus: str = "", location: str = "", roll: str = "", number: str = "",
    onward: str = "",
) -> dict[str, Any]:  # fmt: skip
    """Return what the page of an area shows; ``location`` is the one to enter, ``roll`` one more to read on.

    With any ``onward`` another is entered where that one wants no reading any more and others do. ``number`` says
    which of its entries on the shift, from 1.

    Raises:
        InputError: the day file cannot be used. UsageError: it is no area of the contract.
    """
    sight = seen(day, language)
    here = place_of(sight, area, apparatus, number)
    several = _entries(sight, area)
    chosen = next((n for n, one in enumerate(several, 1) if one is here.entry), 1)
    parts = [_setup(here), *(_stated(here, kind) for kind in OF_A_SURFACE)]
    from reportgen.browser import beside_views as beside
    from reportgen.browser.profile_views import profile_view

    profile = profile_view(here, location, roll, chosen if chosen > 1 else 0, onward=bool(onward))
    recorded = {
        "replicas": beside.replicas(here, profile["current"], [spot["id"] for spot in profile["spots"]]),
        "process_changes": beside.changes_of_process(here),
    }  # fmt: skip
    tests = [
        _tests(here, kind) for kind in TESTS if getattr(sight.project.specification, kind.limit_key) is not None
    ]  # fmt: skip
    result = here.result
    return sight.common("shift", area) | {
        "area": area, "name": here.plan.name, "sub": _sub(here), "profile": profile,
        "parts": parts, "tests": tests, "rest": _rest(here),
        "not_inspected": follow_up.not_inspected(here),
        "resting": any(
            one.area == area and not to_fill_in("reason", one.reason) for one in sight.job.day.not_inspected
        ),
        "recorded": recorded, "comparison": beside.comparison(here), "again": _again(here) if several else None,
        "several": [
            {"to": f"?entry={n}", "here": one is here.entry,
             "name": " ".join(filter(None, (one.get("apparatus"), (one.get("blasted") or {}).get("start"))))}
            for n, one in enumerate(several, 1)
        ] if len(several) > 1 else [],
        "decision": None if result is None else sight.verdict(result.decision),
        "reasons": [] if result is None else reasons_of(sight, result),
        "address": f"{sight.address}/area/{area}", "at": str(here.at), "next": sight.next_area(area),
    }  # fmt: skip


def _again(here: AreaSight) -> Field:
    """Return the field that begins a further entry of an area: steel that was blasted again on the same shift."""
    at = Address((Entry("surfaces", (("area", here.plan.id), ("blasted.start", NEW))),))
    begin = json.dumps({"area": here.plan.id, "blasted": {"start": NEW}})
    return Field(str(at), here.sight.say("area.again"), begin=begin, kind="clock")


def place_of(sight: Sight, area: str, apparatus: str = "", number: str = "") -> AreaSight:
    """Return an area on the day; its entry is empty where nothing was entered.

    Raises:
        UsageError: it is no area of the contract.
    """
    plans = {plan.id: plan for structure in sight.project.structures for plan in structure.areas}
    if area not in plans:
        raise UsageError(f"`{area}` is not an area of this contract")
    surfaces = sight.data.get("surfaces") or []
    found = [
        (index, one) for index, one in enumerate(surfaces)
        if one.get("area") == area and apparatus in ("", one.get("apparatus"))
    ]  # fmt: skip
    index, entry = found[_chosen(number, len(found))] if found else (None, {})
    named = apparatus if _entries(sight, area) else None
    at = surface_at(area, apparatus=named or None) if index is None else address_of(sight.data, ("surfaces", index))
    result = next((one for one in sight.evaluation.areas if one.id == area), None)
    return AreaSight(sight, plans[area], at, entry, None if result is None or result.not_inspected else result)


def _chosen(number: str, count: int) -> int:
    """Return the index of the entry that an address names, from 1; the first where it names none."""
    return int(number) - 1 if number.isascii() and number.isdigit() and 0 < int(number) <= count else 0


def _entries(sight: Sight, area: str) -> list[dict[str, Any]]:
    return [one for one in sight.data.get("surfaces") or [] if one.get("area") == area]


def _sub(here: AreaSight) -> str:
    plan, blasted = here.plan, here.entry.get("blasted") or {}
    size = str(plan.size).replace("m2", "m²").replace("ft2", "ft²") if plan.size is not None else ""
    times = "–".join(filter(None, (blasted.get("start"), blasted.get("end"))))
    said = here.sight.say("area.blasted", times=times) if times else ""
    return " · ".join(filter(None, (size, here.entry.get("apparatus"), said, blasted.get("abrasive"))))


def _setup(here: AreaSight) -> dict[str, Any]:
    sight, say = here.sight, here.sight.say
    units, spec = sight.project.units, sight.project.specification
    gauges = [name for name, one in sight.project.instruments.items() if one.kind in spec.profile.gauges]
    tape = gauge_of(sight.job)
    fields = [
        here.field("apparatus", say("entry.apparatus"), wanted=True),
        here.field("blasted/start", say("entry.start"), kind="clock", wanted=True),
        here.field("blasted/end", say("entry.end"), kind="clock", wanted=True),
        here.field("blasted/abrasive", say("entry.abrasive"), wanted=True, wide=True),
        here.field("initial_condition", say("entry.condition"), kind="choice", wanted=True,
                   options=tuple((one, say(f"rust.{one}")) for one in _RUST)),
        # the only gauge of the contract goes with the first reading
        here.field("profile/gauge", say("entry.gauge"), kind="choice", options=choices(gauges),
                   wanted=only_gauge(sight.project) is None),
    ]  # fmt: skip
    if tape is not None and tape[1].kind == "thickness gauge":
        options = tuple((one, say(f"film.{one}")) for one in ("subtracted", "included"))
        fields.append(here.field("profile/film", say("entry.film"), kind="choice", options=options))
    fields += [
        here.field("blasted/nozzle", say("entry.nozzle")),
        here.field("blasted/pressure", say("entry.pressure"), kind="number", unit=units.air),
        *follow_up.again_fields(here),
    ]
    offers = {one.part: one for one in carried(sight.data, here.at) if one.part != "salts"}
    values = {f"{here.at}/{path}": (text, one.origin) for one in offers.values() for path, text in one.values.items()}
    fields = [carried_over(one, *values[one.at]) if one.at in values else one for one in fields]
    confirm = [
        {
            "part": part,
            "text": say("area.confirm", what=say(f"carried.{part}"), count=len(one.values), origin=one.origin),
        }
        for part, one in offers.items()
        if one.changes
    ]
    return section("setup", say("area.setup"), fields, confirm=confirm)


def measured_fields(
    sight: Sight, kind: Measurement[Any, Any, Any], at: Address, entry: Mapping[str, Any]
) -> list[Field]:
    """Return the fields of one entry of a kind of measurement, as its limit asks for them."""
    limit = getattr(sight.project.specification, kind.limit_key)
    asked: tuple[Value, ...] = kind.entries if kind.asked is None else kind.asked(limit)
    wet = any(one.kind == "psychrometer" for one in sight.project.instruments.values())
    dry = _WITH_WET_BULB - entry.keys() if "wet_bulb" in kind.test.model_fields and not wet else frozenset()
    fields = [_measured_field(sight, kind, one, at, entry) for one in asked if not one.tick and one.field not in dry]
    ticked = list(_ticked(sight, kind, at))
    before = next((number for number, one in enumerate(asked) if one.tick), len(asked))
    return [*fields[:before], *ticked, *fields[before:]]


def _measured_field(
    sight: Sight, kind: Measurement[Any, Any, Any], one: Value, at: Address, entry: Mapping[str, Any]
) -> Field:
    limit = getattr(sight.project.specification, kind.limit_key)
    own = f"field.{kind.key}-{one.field}"
    facts = None if limit is None else kind.limit_facts(limit)
    label = sight.say(own) if sight.say.knows(own) else sight.said.say("entry", f"{kind.key}.{one.field}", facts)
    unit = getattr(sight.project.units, one.unit, one.unit)
    options = _known_names(sight, one)
    usual: FieldKind = "choice" if options and not one.several else "number" if one.quantity else "text"
    name = _KINDS.get(one.field, usual)
    place = Address((*at.steps, one.field))
    return field(sight.data, place, label, unit=unit, kind=name, options=options, wanted=_wanted(kind, one, entry))


def _ticked(sight: Sight, kind: Measurement[Any, Any, Any], at: Address) -> Iterator[Field]:
    """Yield what a sheet ticks as one choice each."""
    for name, meanings in kind.ticks.items():
        options = tuple((value, sight.say.named("seen", value)) for value in meanings.values())
        label = sight.say(f"field.{kind.key}-{name}")
        wanted = kind.test.model_fields[name].is_required()
        yield field(sight.data, Address((*at.steps, name)), label, kind="choice", options=options, wanted=wanted)


def _known_names(sight: Sight, one: Value) -> tuple[tuple[str, str], ...]:
    if one.field in ("instrument", "instruments"):
        return choices([name for name, each in sight.project.instruments.items() if each.kind in one.usual])
    if one.field == "place":
        return choices(places(sight))
    return ()


def only_instruments(sight: Sight, kind: Measurement[Any, Any, Any]) -> dict[str, str]:
    """Return the only instruments that the contract has of their usual kinds: which they were is no question then."""
    found = {}
    for one in kind.entries:
        by_kind = [
            [name for name, each in sight.project.instruments.items() if each.kind == tool] for tool in one.usual
        ]
        if by_kind and max(map(len, by_kind)) == 1:
            found[one.field] = " ".join(names[0] for names in by_kind if names)
    return found


def places(sight: Sight) -> list[str]:
    """Return the places of the contract that have weather of their own; empty where there is one."""
    from reportgen.job import Places

    stated = list(Places(sight.project.structures, ()).stated)
    return stated if len(stated) > 1 else []


def _wanted(kind: Measurement[Any, Any, Any], one: Value, entry: Mapping[str, Any]) -> bool:
    """Whether an entry of its kind says nothing without a value: it must be there, or the result follows from it."""
    if one.field == "humidity":
        return "wet_bulb" not in entry
    if one.field == "place":
        return False
    required = kind.test.model_fields[one.field].is_required()
    return required or one.field in kind.depends_on or f"{kind.key}.{one.field}" in _ASKED


_KINDS: Final[dict[str, FieldKind]] = {"time": "clock", "instruments": "list"}
_ASKED: Final = frozenset({"cleanliness.staining"})
_WITH_WET_BULB: Final = frozenset({"wet_bulb", "pressure"})
"""Fields that only a psychrometer fills, where they do not stand in the file."""


def _stated(here: AreaSight, kind: Measurement[Any, Any, Any]) -> dict[str, Any]:
    """Return the part of what each surface has one entry of: the grade seen, and what belongs to it."""
    sight, limit = here.sight, getattr(here.sight.project.specification, kind.limit_key)
    at = Address((*here.at.steps, kind.key))
    fields = measured_fields(sight, kind, at, here.entry.get(kind.key) or {})
    if fields and limit is not None and hasattr(limit, "grade"):
        fields[0] = replace(fields[0], same=(limit.grade, sight.say("area.as-specified", grade=limit.grade)))
    note = "" if limit is None else _limit(sight, kind, limit)
    return section(
        kind.key, sight.said.name(kind.key) or kind.key, fields, note, result=_result(sight, kind, here.results(kind)),
    )  # fmt: skip


def _limit(sight: Sight, kind: Measurement[Any, Any, Any], limit: Any) -> str:
    text = sight.said.say("limit", kind.key, kind.limit_facts(limit))
    return sight.say("area.limit", limit=text, clause=limit.clause)


def _result(sight: Sight, kind: Measurement[Any, Any, Any], results: list[Any]) -> dict[str, Any] | None:
    """Return the last of some results in words, with its mark."""
    if not results:
        return None
    return {
        "text": result_text(sight.said, kind, results[-1]),
        **sight.verdict(results[-1].verdict),
    }


def _tests(here: AreaSight, kind: Measurement[Any, Any, Any]) -> dict[str, Any]:
    """Return the tests of a kind on an area, and the field that begins one more."""
    sight, say = here.sight, here.sight.say
    limit = getattr(sight.project.specification, kind.limit_key)
    entries = here.entry.get(kind.key) or []
    rows = [_test_row(here, kind, index, entry) for index, entry in enumerate(entries)]
    own = {one.name for one in kind.statements if one.name.endswith("-missing")}
    missing = any(one.area == here.plan.id and one.code in own for one in sight.evaluation.findings)
    label = say("area.new-test", what=sight.said.say("entry", kind.key))
    fresh = beginning(
        Address((*here.at.steps, kind.key)), only_instruments(sight, kind), label, "location",
        wanted=missing or not entries,
    )  # fmt: skip
    fields = [*(one for each in rows for one in each["fields"]), *([fresh] if missing else [])]
    made = section(kind.key, sight.said.name(kind.key) or kind.key, fields, _limit(sight, kind, limit))
    return made | {"rows": rows, "fresh": [fresh]}


def _test_row(
    here: AreaSight, kind: Measurement[Any, Any, Any], index: int, entry: Mapping[str, Any]
) -> dict[str, Any]:
    """Return one test with its result, and what is offered to it from the one before."""
    sight, every = here.sight, here.results(kind)
    at = address_of(sight.data, (*sight_loc(sight, here), kind.key, index))
    loc = (*sight_loc(sight, here), kind.key)
    aside = {one.place[len(loc)] for one in sight.job.unfinished if one.place[: len(loc)] == loc != one.place}
    whole = len(every) + len(aside) == len(here.entry.get(kind.key) or ())  # else by its location
    before = index - sum(int(one) < index for one in aside)
    results = every[before : before + 1] if whole else [one for one in every if one.location == entry.get("location")]
    results = [] if index in aside else results
    values = _carried_to_test(here, kind, entry)
    fields = []
    for one in measured_fields(sight, kind, at, entry):
        name = one.at.rpartition("/")[2]
        fields.append(carried_over(one, *values[name]) if name in values else one)
    return row(at, fields, _result(sight, kind, results), sum(bool(one.origin) for one in fields))


def _carried_to_test(
    here: AreaSight, kind: Measurement[Any, Any, Any], entry: Mapping[str, Any]
) -> dict[str, tuple[str, str]]:  # fmt: skip
    """Return what a test that was begun is offered from the one before: patch, water, meter; never what was read."""
    offers = [one for one in carried(here.sight.data, here.at) if one.part == kind.key]
    found = {path.rpartition("/")[2]: (text, one.origin) for one in offers for path, text in one.values.items()}
    return {name: told for name, told in found.items() if name not in entry}


def sight_loc(sight: Sight, here: AreaSight) -> tuple[int | str, ...]:
    """Return where the entry of an area stands in the file."""
    surfaces = sight.data.get("surfaces") or []
    return ("surfaces", next((n for n, one in enumerate(surfaces) if one is here.entry), len(surfaces)))


def _rest(here: AreaSight) -> dict[str, Any]:
    say = here.sight.say
    limit = here.sight.project.specification.time_to_coat
    awaited = limit is not None and here.result is not None and here.result.decision != "rework"
    fields = [
        here.field("coated", say("entry.coated"), kind="clock", wanted=awaited),
        here.field("remarks", say("entry.remarks"), kind="long", wide=True),
    ]
    return section("rest", say("area.rest"), fields)
