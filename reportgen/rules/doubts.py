"""Doubts: entries that are mostly slips are asked about before they are believed, and hold what depends on them.

Until the entry is corrected, or its record says ``confirmed: yes``, what follows from it is not known: nothing that
depends on it is released, and nothing is failed by it. After that it counts as written, and the report shows that it
was asked and confirmed. Where nothing depends on it, it is only noted.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, NamedTuple, Protocol

from reportgen.metrology.plausibility import (
    FEWEST_NEIGHBOURS,
    LARGEST_PATCH,
    LARGEST_VOLUME,
    MOVED_POINT,
    SMALLEST_PATCH,
    SMALLEST_VOLUME,
    air_doubt,
    blast_pressure_doubt,
    digits_doubt,
    moved_temperature_doubt,
    neighbour_doubt,
    patch_doubt,
    steel_doubt,
    volume_doubt,
    warmest_doubt,
)
from reportgen.results import Amount, Outcome, Place, Word
from reportgen.results.codes.doubts import ENTRY_CONFIRMED, ENTRY_DOUBTFUL, ENTRY_UNLIKELY, DoubtedEntry
from reportgen.results.facts import EVERYWHERE
from reportgen.rules.covering import standing
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

    from reportgen.job import Condition, Reading
    from reportgen.job.day import GaugeCheck, TapeCheck
    from reportgen.measurements.slice import Covering
    from reportgen.metrology.plausibility import Doubt, DoubtKind
    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

BESIDE: Final = 8
"""Values before and after one, in the order written, that count as its neighbours."""


class _Record(Protocol):
    """A record whose values can be confirmed."""

    @property
    def confirmed(self) -> bool:
        """Whether the inspector looked again."""


@dataclass(frozen=True, slots=True, eq=False)
class _Entry:
    """A value with what it is, the records it stands in, their fields, and the areas that depend on it.

    ``told`` are the facts by which it is known beside its place.
    """

    what: str
    value: Quantity
    records: tuple[_Record, ...]
    fields: tuple[str, ...]
    areas: tuple[str | None, ...]
    place: Place = EVERYWHERE
    told: Mapping[str, Any] = field(default_factory=dict)

    @property
    def confirmed(self) -> bool:
        """Whether the inspector looked again."""
        return all(record.confirmed for record in self.records)

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
        (*_in_conditions(view), *_in_pressures(view), *_in_checks(view), *_in_salts(view), *_in_readings(view))
    )


def _concerned(view: JobView, areas: Collection[str]) -> tuple[str | None, ...]:
    """Return the inspected ones of some areas; the whole report, where that is all of them."""
    inspected = [area.id for area in view.areas if area.id in areas]
    return tuple(inspected) if len(inspected) < len(view.areas) else (None,)


def _in_conditions(view: JobView) -> Iterator[_Doubted]:
    series: dict[str, list[_Entry]] = {"air": [], "steel": [], "humidity": []}
    known: list[_Entry] = []
    for one in standing(view):
        areas = _concerned(view, one.areas)
        entries = {
            name: _of_reading(view, one.record, name, value, areas)
            for name in series
            if (value := getattr(one.record, name)) is not None
        }
        for name, entry in entries.items():
            series[name].append(entry)
        asked = [*_temperatures(view, one, areas)]
        yield from asked
        known += [entries[name] for name in ("air", "steel") if asked]
    yield from _unlike(series["humidity"], fewest=1)
    for name in ("air", "steel"):
        yield from _moved(series[name], asked=known)


def _of_reading(
    view: JobView, reading: Condition, what: str, value: Quantity, areas: tuple[str | None, ...],
    fields: tuple[str, ...] | None = None,
) -> _Entry:  # fmt: skip
    """Return an entry of a reading of the conditions; ``fields`` are those that the doubt is about, where several."""
    place = Place(time=view.printed(view.at(reading.time)))
    return _Entry(what, value, (reading,), fields or (what,), areas, place, {"where": reading.taken_at or None})


def _temperatures(view: JobView, one: Covering[Condition], areas: tuple[str | None, ...]) -> Iterator[_Doubted]:
    """Doubt the temperatures of one reading by each other."""
    reading = one.record
    if (hot := air_doubt(reading.air)) is not None:
        yield _of_reading(view, reading, "air", reading.air, areas).doubted(hot.kind, Amount.of(hot.bound))
        return
    air = Amount.of(reading.air)
    for name in ("steel", "steel_warmest"):
        steel = getattr(reading, name)
        if steel is None:
            continue
        entry = _of_reading(view, reading, name.replace("_", "-"), steel, areas, ("air", name))
        if (doubt := steel_doubt(steel, reading.air)) is not None:
            apart = Amount.of(Quantity(abs(doubt.observed.exact), doubt.observed.unit), 1)
            yield entry.doubted(doubt.kind, Amount.of(doubt.bound), "from-air", apart=apart)
        elif moved_temperature_doubt(steel, [reading.air]) or moved_temperature_doubt(reading.air, [steel]):
            yield entry.doubted("point-moved", air, "air")
    if reading.steel_warmest is not None and (doubt := warmest_doubt(reading.steel_warmest, reading.steel)) is not None:
        both = ("steel", "steel_warmest")
        warmest = _of_reading(view, reading, "steel-warmest", reading.steel_warmest, areas, both)
        yield warmest.doubted(doubt.kind, Amount.of(doubt.bound), "steel")


def _in_pressures(view: JobView) -> Iterator[_Doubted]:
    """Doubt the pressure of the compressed air where it was checked, and where it blasted."""
    entries = []
    for check in view.job.day.air_checks:
        if check.pressure is not None:
            areas = {one.area for one in view.job.day.surfaces if one.apparatus == check.apparatus}
            place, told = Place(time=view.printed(view.at(check.time))), {"apparatus": check.apparatus}
            entries.append(
                _Entry("air-pressure", check.pressure, (check,), ("pressure",), _concerned(view, areas), place, told)
            )
    for surface in view.job.day.surfaces:
        blasted = surface.blasted
        if blasted.pressure is not None:
            told = {"apparatus": surface.apparatus}
            entries.append(
                _Entry("blasting-pressure", blasted.pressure, (blasted,), ("pressure",), (surface.area,), told=told)
            )
    low = {entry: doubt for entry in entries if (doubt := blast_pressure_doubt(entry.value)) is not None}
    for entry, doubt in low.items():
        yield entry.doubted(doubt.kind, Amount.of(doubt.bound))
    yield from _unlike(entries, asked=low)


def _in_checks(view: JobView) -> Iterator[_Doubted]:
    """Doubt checks of the gauge and of the tape with more digits than the gauge shows."""
    day = view.job.day
    for check in day.gauge_checks:
        areas = {one.area for one in day.surfaces if one.profile is not None and one.profile.gauge == check.gauge}
        for name in ("preset", "shim_reading"):
            yield from _fine_check(view, check, name, areas)
    for tape in day.tape_checks:
        areas = {
            surface.record.area
            for area in view.areas
            for surface in area.surfaces
            if any(reading.roll == tape.roll for reading in surface.readings)
        }
        yield from _fine_check(view, tape, "thickness", areas, roll=tape.roll)


def _fine_check(
    view: JobView, check: GaugeCheck | TapeCheck, name: str, areas: Collection[str], roll: str | None = None
) -> Iterator[_Doubted]:  # fmt: skip
    value, step = getattr(check, name), view.project.instruments[check.gauge].resolution
    if value is not None and step is not None and (doubt := digits_doubt(value, step)) is not None:
        place, told = Place(time=view.printed(view.at(check.time))), {"gauge": check.gauge, "roll": roll}
        entry = _Entry(name.replace("_", "-"), value, (check,), (name,), _concerned(view, areas), place, told)
        yield entry.doubted(doubt.kind, Amount.of(step))


def _in_salts(view: JobView) -> Iterator[_Doubted]:
    series: dict[str, list[_Entry]] = {name: [] for name in ("area", "volume", "blank", "sample", "chloride")}
    for area in view.areas:
        for test in (test for surface in area.surfaces for test in surface.record.salts):
            for name, entries in series.items():
                value = getattr(test, name)
                if value is not None:
                    place = Place(location=test.location)
                    entries.append(_Entry(name, value, (test,), (name,), (area.id,), place))
    patches = [entry for entry in series["area"] if patch_doubt(entry.value) is not None]
    volumes = [entry for entry in series["volume"] if volume_doubt(entry.value) is not None]
    for entry in patches:
        yield entry.doubted("patch-area", Amount.of(LARGEST_PATCH), least=Amount.of(SMALLEST_PATCH))
    for entry in volumes:
        yield entry.doubted("test-volume", Amount.of(LARGEST_VOLUME), least=Amount.of(SMALLEST_VOLUME))
    for name, entries in series.items():
        alike = name in {"area", "volume"}  # of one kit, so that two are enough to ask
        yield from _unlike(entries, asked=(*patches, *volumes), fewest=1 if alike else FEWEST_NEIGHBOURS)


def _in_readings(view: JobView) -> Iterator[_Doubted]:
    for area in view.areas:
        for surface in area.surfaces:
            profile = surface.record.profile
            unit = None if profile is None else view.project.instruments[profile.gauge].unit
            if unit is not None:
                yield from _too_fine(view, surface)
                if _apart(surface.readings):
                    yield from _unlike([_entry_of(one, unit, area.id) for one in surface.readings])


def _entry_of(reading: Reading, unit: str, area: str) -> _Entry:
    place = Place(location=reading.location, spot=reading.spot)
    value = Quantity(reading.value, unit)
    return _Entry("reading", value, (reading,), ("value",), (area,), place, {"roll": reading.roll})


def _apart(readings: Sequence[Reading]) -> bool:
    """Whether any two readings are so far apart that a neighbour could be doubted; most surfaces have none."""
    values = {reading.value for reading in readings}
    return bool(values) and not max(values) < MOVED_POINT * min(values)


def _too_fine(view: JobView, surface: SurfaceView) -> Iterator[_Doubted]:
    """Doubt readings with more digits than the gauge shows: one finding for those of a surface."""
    profile = surface.record.profile
    gauge = None if profile is None else view.project.instruments[profile.gauge]
    if profile is None or gauge is None or gauge.resolution is None:
        return
    step, unit = gauge.resolution, gauge.unit or ""
    # by the digits as written: 2.80 says more than 2.8, which it equals
    texts = {str(one.value) for one in surface.readings}
    fine = {text for text in texts if digits_doubt(Quantity(Decimal(text), unit), step)}
    for confirmed in (False, True):
        taken = tuple(one for one in surface.readings if str(one.value) in fine and one.confirmed == confirmed)
        if taken:
            told = {"gauge": profile.gauge, "more": len(taken) - 1 or None}
            first = Quantity(taken[0].value, unit)
            entry = _Entry("readings", first, taken, ("value",), (surface.record.area,), told=told)
            yield entry.doubted("finer-than-gauge", Amount.of(step))


def _unlike(
    entries: Sequence[_Entry], asked: Iterable[_Entry] = (), fewest: int = FEWEST_NEIGHBOURS
) -> Iterator[_Doubted]:  # fmt: skip
    """Doubt values ten times or a tenth of those beside them; what was ``asked`` about already is not asked again."""
    known = set(asked)
    for entry, beside in _beside(entries):
        doubt = neighbour_doubt(entry.value, beside, fewest=fewest)
        if doubt is not None and entry not in known:
            yield entry.unlike(doubt)


def _moved(entries: Sequence[_Entry], asked: Sequence[_Entry]) -> Iterator[_Doubted]:
    """Doubt temperatures that a point one place off brings to those beside them."""
    known = set(asked)
    for entry, beside in _beside(entries):
        doubt = moved_temperature_doubt(entry.value, beside) if len(beside) >= FEWEST_NEIGHBOURS else None
        if doubt is not None and entry not in known:
            yield entry.unlike(doubt)


def _beside(entries: Sequence[_Entry]) -> Iterator[tuple[_Entry, list[Quantity]]]:
    """Yield each entry with the values beside it."""
    for index, entry in enumerate(entries):
        beside = (*entries[max(0, index - BESIDE) : index], *entries[index + 1 : index + 1 + BESIDE])
        yield entry, [other.value for other in beside]
