"""Doubts: entries that are mostly slips are asked about before they are believed, and hold what depends on them.

Until the entry is corrected, or its record says ``confirmed: yes``, what follows from it is not known: nothing that
depends on it is released, and nothing is failed by it. After that it counts as written, and the report shows that it
was asked and confirmed. Where nothing depends on it, it is only noted.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NamedTuple, Protocol

from reportgen.errors import QuantityError, RangeError
from reportgen.job.day import GaugeCheck
from reportgen.measurements import TESTS
from reportgen.metrology.plausibility import (
    APART,
    FEWEST_NEIGHBOURS,
    LARGEST_PATCH,
    LARGEST_VOLUME,
    MOVED_POINT,
    RESTORED,
    SMALLEST_CLEANED,
    SMALLEST_PATCH,
    SMALLEST_VOLUME,
    air_doubt,
    blank_doubt,
    blast_pressure_doubt,
    cold_air_doubt,
    cold_rows,
    digits_doubt,
    humidity_doubt,
    moved_temperature_doubt,
    neighbour_doubt,
    other_unit_doubt,
    patch_doubt,
    restored_doubt,
    steel_doubt,
    tolerance_doubt,
    volume_doubt,
    warmest_doubt,
)
from reportgen.results import Amount, Outcome, Place, Word
from reportgen.results.codes.doubts import (
    ENTRY_CONFIRMED,
    ENTRY_DOUBTFUL,
    ENTRY_NOT_TAKEN,
    ENTRY_UNLIKELY,
    DoubtedEntry,
    DoubtedSize,
    EntryNotTaken,
)
from reportgen.results.facts import EVERYWHERE
from reportgen.rules.checked_instruments import shown_doubt
from reportgen.rules.covering import standing
from reportgen.rules.equipment import instrument_uses, perhaps_used, tape_doubt
from reportgen.rules.gauges import preset_doubt, shim_doubt
from reportgen.rules.scene import counts, scene_of
from reportgen.units import Quantity, kind_of, parse_quantity, unit_of_difference

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

    from reportgen.job import Condition, Project
    from reportgen.job.day import TapeCheck
    from reportgen.measurements.slice import Covering
    from reportgen.metrology.plausibility import Doubt, DoubtKind
    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView
    from reportgen.units import Kind

BESIDE: Final = 8
"""Values before and after one, in the order written, that count as its neighbours."""

_STEEL: Final = ("steel", "steel_warmest")


class _Record(Protocol):
    """A record whose values can be confirmed."""

    @property
    def confirmed(self) -> bool:
        """Whether the inspector looked again."""


@dataclass(frozen=True, slots=True, eq=False)
class _Entry:
    """A value with what it is, the records it stands in, their fields, and the areas that depend on it.

    ``told`` are the facts by which it is known beside its place. Of rows that are asked about ``together`` one
    confirmation is that of all.
    """

    what: str
    value: Quantity
    records: tuple[_Record, ...]
    fields: tuple[str, ...]
    areas: tuple[str | None, ...]
    place: Place = EVERYWHERE
    told: Mapping[str, Any] = field(default_factory=dict)
    together: bool = False

    @property
    def confirmed(self) -> bool:
        """Whether the inspector looked again."""
        sure = [record.confirmed for record in self.records]
        return any(sure) if self.together else bool(sure) and all(sure)

    def doubted(self, kind: DoubtKind, bound: Amount, beside: str | None = None, **more: Any) -> _Doubted:
        """Return the doubt about this entry: what is usual, and what it was compared with."""
        compared = None if beside is None else Word("beside", beside)
        facts = DoubtedEntry(
            Word("entered", self.what), Amount.of(self.value), Word("usual", kind), bound, beside=compared,
            **more, **self.told,
        )  # fmt: skip
        return _Doubted(self, facts)

    def unlike(self, doubt: Doubt) -> _Doubted:
        """Return the doubt about this entry by the values beside it."""
        places = max(doubt.bound.places, self.value.places)
        return self.doubted(doubt.kind, Amount.of(doubt.bound, places), "values")


class _Doubted(NamedTuple):
    """An entry with the facts of the doubt about it."""

    entry: _Entry
    facts: DoubtedEntry

    def findings(self) -> Iterator[Finding]:
        """Yield the findings: asked and open, asked and confirmed, or open while nothing depends on it."""
        entry = self.entry
        code = ENTRY_CONFIRMED if entry.confirmed else ENTRY_DOUBTFUL if entry.areas else ENTRY_UNLIKELY
        for area in entry.areas or (None,):
            yield code.found(self.facts, replace(entry.place, area=area))


class Doubts:
    """The doubts of a day: what is found about them, and which fields of which records are open to doubt."""

    def __init__(self, doubted: Iterable[_Doubted]) -> None:
        told = tuple(doubted)
        self.outcome: Outcome[Finding] = Outcome((), tuple(finding for one in told for finding in one.findings()))
        self._open = {
            (id(record), field)  # the job holds its records as long as it is evaluated
            for entry in (one.entry for one in told if not one.entry.confirmed)
            for record in entry.records
            for field in entry.fields
        }

    def about(self, record: object, fields: Iterable[str]) -> bool:
        """Whether one of some fields of a record is doubted and not confirmed: what follows from it is not known."""
        return bool(self._open) and any((id(record), field) in self._open for field in fields)


def doubts(view: JobView) -> Doubts:
    """Find every entry that is to be asked about."""
    return Doubts(
        (
            *_in_conditions(view),
            *_in_pressures(view),
            *_in_checks(view),
            *_in_function_checks(view),
            *_in_salts(view),
            *_in_readings(view),
            *_in_sizes(view),
        )
    )


def _concerned(view: JobView, areas: Collection[str]) -> tuple[str | None, ...]:
    """Return the inspected ones of some areas; the whole report, where that is all of them."""
    inspected = [area.id for area in view.areas if area.id in areas]
    return tuple(inspected) if len(inspected) < len(view.areas) else (None,)


def _in_conditions(view: JobView) -> Iterator[_Doubted]:
    series: dict[str, list[_Entry]] = {"air": [], "steel": [], "humidity": []}
    known: list[_Entry] = []
    rows = [each for each in standing(view) if not each.known]
    cold = cold_rows([(each.record.air, _steel_of(each.record)) for each in rows], lowest_allowed(view.project))
    yield from (_in_celsius(view, [rows[each] for each in cold], cold[at]) for at in list(cold)[:1])
    for at, one in enumerate(rows):
        areas = _concerned(view, one.areas)
        asked = [] if at in cold else [*_temperatures(view, one, areas)]
        yield from asked
        for name, entries in series.items():
            value = getattr(one.record, name)
            if value is not None:
                entries.append(_of_reading(view, one.record, name, value, areas))
                known += [entries[-1]] * (bool(asked) or at in cold)
    yield from _in_humidity(series["humidity"])
    yield from _moved(series["air"], asked=known)
    yield from _moved(series["steel"], asked=known)


def _steel_of(reading: Condition) -> list[Quantity]:
    return [one for one in (reading.steel, reading.steel_warmest) if one is not None]


def _in_celsius(view: JobView, cold: Sequence[Covering[Condition]], doubt: Doubt) -> _Doubted:
    """Return the doubt about rows that may have been read in °C and were written as °F: asked about once."""
    areas = dict.fromkeys(area for one in cold for area in _concerned(view, one.areas))
    first = _of_reading(view, cold[0].record, "air", cold[0].record.air, (None,) if None in areas else tuple(areas))
    records = tuple(one.record for one in cold)
    row = replace(first, records=records, fields=("air", *_STEEL), together=True)
    return row.doubted(doubt.kind, in_units_of(view.project, doubt.bound))


def _in_humidity(entries: Sequence[_Entry]) -> Iterator[_Doubted]:
    """Doubt a humidity that is low, or unlike the others.

    Of two that is the lower, for a point that was lost makes no value so much larger.
    """
    several = len(entries) > FEWEST_NEIGHBOURS
    for found in _alone_or_unlike(entries, humidity_doubt, fewest=1):
        if several or found.facts.beside is None or found.facts.bound.value > found.facts.value.value:
            yield found


def _of_reading(
    view: JobView, reading: Condition, what: str, value: Quantity, areas: tuple[str | None, ...],
    fields: tuple[str, ...] | None = None,
) -> _Entry:  # fmt: skip
    """Return an entry of a reading of the conditions; ``fields`` are those that the doubt is about, where several.

    With the coldest steel the warmest is in doubt: it was read with the same thermometer and written in the same row.
    """
    place = Place(time=view.printed(view.at(reading.time)))
    own = fields or (_STEEL if what == "steel" else (what,))
    return _Entry(what, value, (reading,), own, areas, place, {"where": reading.taken_at or None})


def in_units_of(project: Project, bound: Quantity) -> Amount:
    """Return a bound of what is usual in the units that the contract is written in."""
    kind, told = kind_of(bound.unit), bound.unit
    if bound.unit.startswith("delta_"):
        told = unit_of_difference(project.units.temperature)
    elif kind in ("temperature", "pressure"):
        told = project.units.temperature if kind == "temperature" else project.units.air
    shown = bound.to(told)
    return Amount.of(shown) if shown.exact.denominator == 1 else Amount.of(shown, 1)


def lowest_allowed(project: Project) -> list[Quantity]:
    """Return what a contract allows as the lowest temperature of air and steel."""
    limits = project.specification.conditions
    return [] if limits is None else [one for one in (limits.minimum_air, limits.minimum_steel) if one is not None]


def temperature_doubt(steel: Quantity, air: Quantity) -> Doubt | None:
    """Return the doubt about a temperature of the steel by the air beside it; where it may be the air's, by that."""
    found = steel_doubt(steel, air) or moved_temperature_doubt(steel, [air]) or other_unit_doubt(steel, air)
    return found or moved_temperature_doubt(air, [steel])


def _temperatures(view: JobView, one: Covering[Condition], areas: tuple[str | None, ...]) -> Iterator[_Doubted]:
    """Doubt the temperatures of one reading by each other; where the air was read in another unit, the steel was too.

    The air is in doubt with the steel that is unlike it, but not with the warmest alone where the coldest is like it.
    """
    reading, project = one.record, view.project
    if (odd := air_doubt(reading.air)) is not None:
        row = _of_reading(view, reading, "air", reading.air, areas, ("air", *_STEEL))
        yield row.doubted(odd.kind, in_units_of(project, odd.bound))
        return
    for name in ("steel", "steel_warmest"):
        steel = getattr(reading, name)
        doubt = None if steel is None else temperature_doubt(steel, reading.air)
        if doubt is not None:
            own = ("air", *_STEEL) if name == "steel" else (name,) if _like_air(reading, doubt) else ("air", name)
            entry = _of_reading(view, reading, name.replace("_", "-"), steel, areas, own)
            yield _from_air(project, entry, doubt, Amount.of(reading.air))
    if reading.steel_warmest is not None and (doubt := warmest_doubt(reading.steel_warmest, reading.steel)) is not None:
        warmest = _of_reading(view, reading, "steel-warmest", reading.steel_warmest, areas, _STEEL)
        yield warmest.doubted(doubt.kind, Amount.of(doubt.bound), "steel")


def _from_air(project: Project, entry: _Entry, doubt: Doubt, air: Amount) -> _Doubted:
    """Return the doubt about a temperature of the steel by the air beside it, as it is told."""
    if doubt.kind != "steel-far-from-air":
        return entry.doubted(doubt.kind, air, "air")
    degrees = unit_of_difference(project.units.temperature)
    apart = Amount.of(Quantity(abs(doubt.observed.exact), doubt.observed.unit).to(degrees), 1)
    return entry.doubted(doubt.kind, in_units_of(project, doubt.bound), "from-air", apart=apart)


def _like_air(reading: Condition, doubt: Doubt) -> bool:
    """Whether the coldest steel says that the air is none of the slip which its warmest is asked about."""
    near = RESTORED if doubt.kind == "point-moved" else APART
    return abs(reading.steel.in_unit("degC") - reading.air.in_unit("degC")) <= near.exact


def of_itself(project: Project, block: str, field: str, text: str) -> DoubtedEntry | None:
    """Return the doubt about one value of an entry that is not whole yet, by itself; None where it is no number."""
    if (block, field) not in _ALONE:
        return None
    what, kind, doubted, least = _ALONE[block, field]
    try:
        value = parse_quantity(text, kind)
    except (QuantityError, RangeError):
        return None
    doubt = doubted(value) or (cold_air_doubt(value, lowest_allowed(project)) if what == "air" else None)
    if doubt is None:
        return None
    told = Word("entered", what), Amount.of(value), Word("usual", doubt.kind)
    if least is None:
        return DoubtedEntry(*told, in_units_of(project, doubt.bound))
    return DoubtedEntry(*told, Amount.of(LARGEST_PATCH if what == "area" else LARGEST_VOLUME), least=Amount.of(least))


_ALONE: Final[Mapping[tuple[str, str], tuple[str, Kind, Callable[[Quantity], Doubt | None], Quantity | None]]] = {
    ("conditions", "air"): ("air", "temperature", air_doubt, None),
    ("air_checks", "pressure"): ("air-pressure", "pressure", blast_pressure_doubt, None),
    ("surfaces", "pressure"): ("blasting-pressure", "pressure", blast_pressure_doubt, None),
    ("salts", "area"): ("area", "area", patch_doubt, SMALLEST_PATCH),
    ("salts", "volume"): ("volume", "volume", volume_doubt, SMALLEST_VOLUME),
    ("salts", "blank"): ("blank", "conductivity", blank_doubt, None),
    ("conditions", "humidity"): ("humidity", "share", humidity_doubt, None),
}
"""Fields whose value is unlikely by itself: what is entered, of which kind, its doubt, the lower of two ends."""


def _in_pressures(view: JobView) -> Iterator[_Doubted]:
    """Doubt the pressure of the compressed air where it was checked, and where it blasted."""
    entries = []
    surfaces = view.job.day.surfaces
    for check in view.job.day.air_checks:
        if check.pressure is not None:
            areas = _concerned(view, {one.area for one in surfaces if one.apparatus == check.apparatus})
            place, told = Place(time=view.printed(view.at(check.time))), {"apparatus": check.apparatus}
            entries.append(_Entry("air-pressure", check.pressure, (check,), ("pressure",), areas, place, told))
    for surface in surfaces:
        told, pressure = {"apparatus": surface.apparatus}, surface.blasted.pressure
        if pressure is not None:
            of = (surface.blasted,), ("pressure",), (surface.area,)
            entries.append(_Entry("blasting-pressure", pressure, *of, told=told))
    low = {entry: doubt for entry in entries if (doubt := blast_pressure_doubt(entry.value)) is not None}
    for entry, doubt in low.items():
        yield entry.doubted(doubt.kind, in_units_of(view.project, doubt.bound))
    yield from _unlike(entries, asked=low)


def _in_checks(view: JobView) -> Iterator[_Doubted]:
    """Doubt checks of the gauge and of the tape: more digits than the gauge shows, a shim unlike that of the others."""
    asked = list(_in_shims(view))
    yield from asked
    shims = [record for one in asked for record in one.entry.records]
    for one, name, roll, areas in _checked(view):
        value, step = getattr(one, name), view.project.instruments[one.gauge].resolution
        place, told = Place(time=view.printed(view.at(one.time))), {"gauge": one.gauge, "roll": roll}
        if value is None:
            continue
        entry = _Entry(name.replace("_", "-"), value, (one,), (name,), _concerned(view, areas), place, told)
        if (unlike := None if one in shims and name == "shim_reading" else _misread(view, one, name)) is not None:
            yield entry.doubted(unlike.kind, Amount.of(unlike.bound), "reference")
        elif step is not None and (doubt := digits_doubt(value, step)) is not None:
            yield entry.doubted(doubt.kind, Amount.of(step))


def _checked(view: JobView) -> Iterator[tuple[GaugeCheck | TapeCheck, str, str | None, set[str]]]:
    """Yield what checks of gauges and tape showed: the check, its field, the roll, and the areas it concerns."""
    for check in view.job.day.gauge_checks:
        areas = {one.area for one in view.job.day.surfaces if getattr(one.profile, "gauge", None) == check.gauge}
        yield from ((check, name, None, areas) for name in ("preset", "zero", "shim_reading"))
    for tape in view.job.day.tape_checks:
        areas = {one.record.area for one in view.surfaces if tape.roll in (reading.roll for reading in one.readings)}
        yield tape, "thickness", tape.roll, areas


def _misread(view: JobView, check: GaugeCheck | TapeCheck, name: str) -> Doubt | None:
    """Return the doubt about what a check showed at rest, of its shim or of unused tape, by what it should be."""
    if isinstance(check, GaugeCheck):
        return {"shim_reading": shim_doubt(check), "preset": preset_doubt(view, check)}.get(name)
    return tape_doubt(view, check)


def _in_shims(view: JobView) -> Iterator[_Doubted]:
    """Doubt a shim about ten times or a tenth of those in other checks of its gauge; what is read off it is judged."""
    checks: dict[str, list[GaugeCheck]] = {}
    for one in view.job.day.gauge_checks:
        checks.setdefault(one.gauge, []).append(one)
    for gauge, own in checks.items():
        used = {one.area for one in view.job.day.surfaces if getattr(one.profile, "gauge", None) == gauge}
        areas, told = _concerned(view, used), {"gauge": gauge}
        entries = [
            _Entry("shim", one.shim, (one,), ("shim",), areas, Place(time=view.printed(view.at(one.time))), told)
            for one in own if one.shim is not None
        ]  # fmt: skip
        yield from _unlike(entries, fewest=1, doubted=restored_doubt)


def _in_function_checks(view: JobView) -> Iterator[_Doubted]:
    """Doubt a tolerance by which a check could hardly fail, and what was shown, unlike its reference.

    It concerns the areas that rest on the instrument, or may do so.
    """
    for check in view.job.day.function_checks:
        if (shown := shown_doubt(view, check)) is not None:
            place, told = Place(time=view.printed(view.at(check.time))), {"gauge": check.instrument}
            areas = _resting_on(view, check.instrument)
            entry = _Entry("shown", check.shown, (check,), ("shown",), areas, place, told)
            yield entry.doubted(shown.kind, Amount.of(shown.bound), "reference")
        doubt = None if check.tolerance is None else tolerance_doubt(check.tolerance, check.reference)
        if doubt is not None:
            place, told = Place(time=view.printed(view.at(check.time))), {"gauge": check.instrument}
            areas = _resting_on(view, check.instrument)
            entry = _Entry("tolerance", doubt.observed, (check,), ("tolerance",), areas, place, told)
            yield entry.doubted(doubt.kind, Amount.of(doubt.bound))


def _resting_on(view: JobView, instrument: str) -> tuple[str | None, ...]:
    """Return the areas for which an instrument was used, or may have been where a reading names none."""
    uses = (*instrument_uses(view), *perhaps_used(view))
    used = {area for name, area, _, severity in uses if name == instrument and severity is None}
    if None in used:
        return (None,)
    return _concerned(view, {area for area in used if area is not None}) if used else ()


def _of_salts(tests: Iterable[tuple[Any, Any]], name: str) -> list[_Entry]:
    """Return what salt tests state under a name, each test with its surface."""
    stated = [(surface.record.area, test) for surface, test in tests if getattr(test, name) is not None]
    return [
        _Entry(name, getattr(test, name), (test,), (name,), (area,), Place(location=test.location))
        for area, test in stated
    ]


def _in_salts(view: JobView) -> Iterator[_Doubted]:
    tests = [(surface, test) for surface in view.surfaces for test in surface.record.salts]
    # of tests that speak of the steel as it stands: before it was blasted again more salt is no slip
    of_now = [one for one in tests if counts(view, one[0], one[1].time)]

    entries = partial(_of_salts, tests)
    areas, volumes = entries("area"), entries("volume")
    patches = [entry for entry in areas if patch_doubt(entry.value) is not None]
    amounts = [entry for entry in volumes if volume_doubt(entry.value) is not None]
    for entry in patches:
        yield entry.doubted("patch-area", Amount.of(LARGEST_PATCH), least=Amount.of(SMALLEST_PATCH))
    for entry in amounts:
        yield entry.doubted("test-volume", Amount.of(LARGEST_VOLUME), least=Amount.of(SMALLEST_VOLUME))
    # patch, water and blank are chosen, and a slip in them is one wherever it leads
    for several in (areas, volumes):
        yield from _unlike(several, asked=(*patches, *amounts), fewest=1, doubted=restored_doubt)
    yield from _alone_or_unlike(_of_salts(of_now, "blank"), blank_doubt, doubted=restored_doubt)
    unlike = [
        found for name in ("sample", "chloride") for found in _unlike(_of_salts(of_now, name), doubted=restored_doubt)
    ]
    # a failing test beside others that pass may be where the salts are: only what is odd by itself holds it
    failing = _failing_salts(view) if unlike else frozenset()
    yield from (found for found in unlike if not failing.intersection(map(id, found.entry.records)))


def _failing_salts(view: JobView) -> frozenset[int]:
    """Return the salt tests that fail as they are written, by identity."""
    kind = next(one for one in TESTS if one.limit_key == "soluble_salts")
    scene = scene_of(view, kind, Doubts(()))
    made = [test.record for area in scene.areas for test in area.tests]
    results = kind.judge(view.specification.soluble_salts, scene).results
    return frozenset(
        id(test) for test, result in zip(made, results, strict=True) if result.verdict == "does not conform"
    )


def _in_readings(view: JobView) -> Iterator[_Doubted]:
    for surface in view.surfaces:
        profile = surface.record.profile
        gauge = None if profile is None else view.project.instruments[profile.gauge]
        if profile is None or gauge is None or gauge.unit is None:
            continue
        if gauge.resolution is not None:
            yield from _too_fine(surface, profile.gauge, gauge.unit, gauge.resolution)
        values = {value for _, value in surface.numbers}
        if values and max(values) >= MOVED_POINT * min(values):  # else no two are so far apart, as on most surfaces
            yield from _unlike([
                _Entry(
                    "reading", Quantity(value, gauge.unit), (one,), ("value",), (surface.record.area,),
                    Place(location=one.location, spot=one.spot), {"roll": one.roll},
                )
                for one, value in surface.numbers
            ])  # fmt: skip


def _in_sizes(view: JobView) -> Iterator[_Doubted]:
    """Doubt what was cleaned where it is less than a location takes, of an area that is larger."""
    for surface in view.surfaces:
        cleaned, size = surface.record.cleaned, view.plan(surface.record.area)[1].size
        if cleaned is None or (size is not None and size.exact and cleaned.in_unit(size.unit) >= size.exact):
            continue
        least = next(one for one in SMALLEST_CLEANED if kind_of(one.unit) == kind_of(cleaned.unit))
        if cleaned.in_unit(least.unit) < least.exact:
            told = Word("entered", "cleaned"), Amount.of(cleaned), Word("usual", "cleaned-small"), Amount.of(least)
            entry = _Entry("cleaned", cleaned, (), (), (surface.record.area,))
            yield _Doubted(entry, DoubtedSize(*told, apparatus=surface.record.apparatus))


def _too_fine(surface: SurfaceView, gauge: str, unit: str, step: Quantity) -> Iterator[_Doubted]:
    """Doubt readings with more digits than the gauge shows: one finding for those of a surface."""
    # by the digits as written: 2.80 says more than 2.8, which it equals
    texts = {str(one.value) for one in surface.readings}
    fine = {text for text in texts if digits_doubt(Quantity(Decimal(text), unit), step)}
    for confirmed in (False, True):
        taken = tuple(one for one in surface.readings if str(one.value) in fine and one.confirmed == confirmed)
        if taken and taken[0].value is not None:
            told = {"gauge": gauge, "more": len(taken) - 1 or None}
            first = Quantity(taken[0].value, unit)
            entry = _Entry("readings", first, taken, ("value",), (surface.record.area,), told=told)
            yield entry.doubted("finer-than-gauge", Amount.of(step))


def _unlike(
    entries: Sequence[_Entry], asked: Iterable[_Entry] = (), fewest: int = FEWEST_NEIGHBOURS,
    doubted: Callable[..., Doubt | None] = neighbour_doubt,
) -> Iterator[_Doubted]:  # fmt: skip
    """Doubt values by those beside them; what was ``asked`` about already is not asked again, and measures no other."""
    known = set(asked)
    for entry, beside in _beside([one for one in entries if one not in known]):
        doubt = doubted(entry.value, beside, fewest=fewest)
        if doubt is not None:
            yield entry.unlike(doubt)


def _alone_or_unlike(
    entries: Sequence[_Entry], alone: Callable[[Quantity], Doubt | None], **how: Any
) -> Iterator[_Doubted]:  # fmt: skip
    """Doubt values by themselves, and the others by those beside them."""
    odd = {one: doubt for one in entries if (doubt := alone(one.value)) is not None}
    yield from (one.doubted(doubt.kind, Amount.of(doubt.bound)) for one, doubt in odd.items())
    yield from _unlike(entries, odd, **how)


def _moved(entries: Sequence[_Entry], asked: Sequence[_Entry]) -> Iterator[_Doubted]:
    """Doubt temperatures that a point one place off brings to those beside them."""
    for entry, beside in _beside([one for one in entries if one not in asked]):
        doubt = moved_temperature_doubt(entry.value, beside) if len(beside) >= FEWEST_NEIGHBOURS else None
        if doubt is not None:
            yield entry.unlike(doubt)


def _beside(entries: Sequence[_Entry]) -> Iterator[tuple[_Entry, list[Quantity]]]:
    """Yield each entry with the values beside it; one that was made twice counts once."""
    once: list[_Entry] = []
    at = [_place_in(once, entry) for entry in entries]
    for index, entry in zip(at, entries, strict=True):
        beside = (*once[max(0, index - BESIDE) : index], *once[index + 1 : index + 1 + BESIDE])
        yield entry, [other.value for other in beside]


def _place_in(once: list[_Entry], entry: _Entry) -> int:
    """Return where an entry stands among those that differ; a copy stands where the first does, near as it is."""
    for index in range(len(once) - 1, max(-1, len(once) - 2 * BESIDE), -1):
        if (once[index].place, once[index].records) == (entry.place, entry.records):
            return index
    once.append(entry)
    return len(once) - 1


# Entries that were not taken


def entries_not_taken(view: JobView) -> Outcome[Finding]:
    """State each entry from the site that was not taken, for its area: nobody knows what it would have said.

    One without an area concerns the whole report; an area that was not inspected is on hold as it is.
    """
    inspected = {None, *(area.id for area in view.areas)}
    findings = (
        ENTRY_NOT_TAKEN.found(EntryNotTaken(one.where, one.entry, one.written, one.reason), Place(one.area))
        for one in view.job.day.not_taken
        if one.area in inspected
    )
    return Outcome((), tuple(findings))
