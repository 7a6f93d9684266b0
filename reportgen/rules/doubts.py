"""Doubts: entries that are mostly slips are asked about before they are believed, and hold what depends on them.

Until the entry is corrected, or its record says ``confirmed: yes``, what follows from it is not known: nothing that
depends on it is released, and nothing is failed by it. After that it counts as written, and the report shows that it
was asked and confirmed. Where nothing depends on it, it is only noted.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Final, NamedTuple, Protocol

from reportgen.metrology.plausibility import (
    FEWEST_NEIGHBOURS,
    LARGEST_PATCH,
    MOVED_POINT,
    SMALLEST_PATCH,
    air_doubt,
    blast_pressure_doubt,
    digits_doubt,
    moved_temperature_doubt,
    neighbour_doubt,
    patch_doubt,
    steel_doubt,
    warmest_doubt,
)
from reportgen.rules.covering import at_words, standing
from reportgen.rules.outcome import Outcome, found, shown
from reportgen.units import Quantity, render_quantity

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from reportgen.job import Condition, Reading
    from reportgen.job.day import GaugeCheck, TapeCheck
    from reportgen.measurements.slice import Standing
    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

MOVED_WORDS: Final = "like the values beside it"
BESIDE: Final = 8
"""Values before and after one, in the order written, that count as its neighbours."""


class _Record(Protocol):
    """A record whose values can be confirmed."""

    @property
    def confirmed(self) -> bool:
        """Whether the inspector looked again."""


@dataclass(frozen=True, slots=True, eq=False)
class _Entry:
    """A value with what it is called, the records it stands in, their fields, and the areas that depend on it."""

    words: str
    value: Quantity
    records: tuple[_Record, ...]
    fields: tuple[str, ...]
    areas: tuple[str | None, ...]
    location: str | None = None

    @property
    def confirmed(self) -> bool:
        """Whether the inspector looked again."""
        return all(record.confirmed for record in self.records)

    def doubted(self, observed: str, usual: str) -> Iterator[_Doubted]:
        """Yield the doubt about this entry."""
        yield _Doubted(self, observed, usual)


class _Doubted(NamedTuple):
    """An entry with the sentence that doubts it."""

    entry: _Entry
    observed: str
    usual: str

    def findings(self) -> Iterator[Finding]:
        """Yield the findings: asked and open, asked and confirmed, or open while nothing depends on it."""
        entry, words = self.entry, f"usually {self.usual}"
        if entry.confirmed:
            code, observed = "entry-confirmed", f"{self.observed}, confirmed"
        else:
            code, observed = "entry-doubtful" if entry.areas else "entry-unlikely", self.observed
        for area in entry.areas or (None,):
            yield found(code, observed, words, area=area, location=entry.location)


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
        reading, areas = one.record, _concerned(view, one.areas)
        entries = {
            name: _Entry(f"{at_words(view, reading)}: {name} {shown(value)}", value, (reading,), (name,), areas)
            for name in series
            if (value := getattr(reading, name)) is not None
        }
        for name, entry in entries.items():
            series[name].append(entry)
        asked = [*_temperatures(view, one, areas)]
        yield from asked
        known += [entries[name] for name in ("air", "steel") if asked]
    yield from _unlike(series["humidity"], fewest=1)
    for name in ("air", "steel"):
        yield from _moved(series[name], asked=known)


def _temperatures(view: JobView, one: Standing[Condition], areas: tuple[str | None, ...]) -> Iterator[_Doubted]:
    """Doubt the temperatures of one reading by each other."""
    reading, at = one.record, at_words(view, one.record)
    air = _Entry(f"{at}: air {shown(reading.air)}", reading.air, (reading,), ("air",), areas)
    if (hot := air_doubt(reading.air)) is not None:
        yield from air.doubted(air.words, f"air at most {shown(hot.bound)}")
        return
    for name, field in (("steel", "steel"), ("warmest steel", "steel_warmest")):
        steel = getattr(reading, field)
        if steel is None:
            continue
        entry = _Entry(f"{at}: {name} {shown(steel)}", steel, (reading,), ("air", field), areas)
        if (doubt := steel_doubt(steel, reading.air)) is not None:
            apart = render_quantity(Quantity(abs(doubt.observed.exact), doubt.observed.unit), 1)
            yield from entry.doubted(
                f"{entry.words}, {apart} from the air", f"steel within {shown(doubt.bound)} of the air"
            )
        elif moved_temperature_doubt(steel, [reading.air]) or moved_temperature_doubt(reading.air, [steel]):
            yield from entry.doubted(f"{entry.words}, air {shown(reading.air)}", MOVED_WORDS)
    if reading.steel_warmest is not None and (doubt := warmest_doubt(reading.steel_warmest, reading.steel)) is not None:
        warmest = _Entry(
            f"{at}: warmest steel {shown(reading.steel_warmest)}, steel {shown(reading.steel)}", reading.steel_warmest,
            (reading,), ("steel", "steel_warmest"), areas,
        )  # fmt: skip
        yield from warmest.doubted(warmest.words, "the warmest steel is no colder than the coldest")


def _in_pressures(view: JobView) -> Iterator[_Doubted]:
    """Doubt the pressure of the compressed air where it was checked, and where it blasted."""
    entries = []
    for check in view.job.day.air_checks:
        if check.pressure is not None:
            areas = {one.area for one in view.job.day.surfaces if one.apparatus == check.apparatus}
            words = f"{view.printed(view.at(check.time))}, {check.apparatus}: air pressure {shown(check.pressure)}"
            entries.append(_Entry(words, check.pressure, (check,), ("pressure",), _concerned(view, areas)))
    for surface in view.job.day.surfaces:
        blasted = surface.blasted
        if blasted.pressure is not None:
            words = f"{surface.apparatus}: blasted at {shown(blasted.pressure)}"
            entries.append(_Entry(words, blasted.pressure, (blasted,), ("pressure",), (surface.area,)))
    low = {entry: doubt for entry in entries if (doubt := blast_pressure_doubt(entry.value)) is not None}
    for entry, doubt in low.items():
        yield from entry.doubted(entry.words, f"at least {shown(doubt.bound)}")
    yield from _unlike(entries, asked=low)


def _in_checks(view: JobView) -> Iterator[_Doubted]:
    """Doubt checks of the gauge and of the tape with more digits than the gauge shows."""
    day = view.job.day
    for check in day.gauge_checks:
        areas = {one.area for one in day.surfaces if one.profile is not None and one.profile.gauge == check.gauge}
        for name, field in (("pre-set", "preset"), ("shim read as", "shim_reading")):
            yield from _fine_check(view, check, name, field, areas)
    for tape in day.tape_checks:
        areas = {
            surface.record.area
            for area in view.areas
            for surface in area.surfaces
            if any(reading.roll == tape.roll for reading in surface.readings)
        }
        yield from _fine_check(view, tape, f"unused tape of {tape.roll}", "thickness", areas)


def _fine_check(
    view: JobView, check: GaugeCheck | TapeCheck, name: str, field: str, areas: Collection[str]
) -> Iterator[_Doubted]:  # fmt: skip
    value, step = getattr(check, field), view.project.instruments[check.gauge].resolution
    if value is not None and step is not None and digits_doubt(value, step) is not None:
        words = f"{view.printed(view.at(check.time))}: {name} {shown(value)} on {check.gauge}"
        entry = _Entry(words, value, (check,), (field,), _concerned(view, areas))
        yield from entry.doubted(words, f"in steps of {shown(step)}")


def _in_salts(view: JobView) -> Iterator[_Doubted]:
    series: dict[str, list[_Entry]] = {name: [] for name in ("area", "volume", "blank", "sample", "chloride")}
    for area in view.areas:
        for test in (test for surface in area.surfaces for test in surface.record.salts):
            for name, entries in series.items():
                value = getattr(test, name)
                if value is not None:
                    words = f"{'patch of' if name == 'area' else name} {shown(value)}"
                    entries.append(_Entry(words, value, (test,), (name,), (area.id,), test.location))
    patches = [entry for entry in series["area"] if patch_doubt(entry.value) is not None]
    for entry in patches:
        yield from entry.doubted(entry.words, f"{shown(SMALLEST_PATCH)} to {shown(LARGEST_PATCH)}")
    for name, entries in series.items():
        alike = name in {"area", "volume"}  # of one kit, so that two are enough to ask
        yield from _unlike(entries, asked=patches, fewest=1 if alike else FEWEST_NEIGHBOURS)


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
    value = Quantity(reading.value, unit)
    on = f" on {reading.roll}" if reading.roll is not None else ""
    words = f"spot {reading.spot}{on}: {shown(value)}"
    return _Entry(words, value, (reading,), ("value",), (area,), reading.location)


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
            words, first = _listed([one.value for one in taken], unit), Quantity(taken[0].value, unit)
            entry = _Entry(words, first, taken, ("value",), (surface.record.area,))
            yield from entry.doubted(f"{entry.words} on {profile.gauge}", f"in steps of {shown(step)}")


def _listed(values: Sequence[Decimal], unit: str) -> str:
    first = shown(Quantity(values[0], unit))
    more = len(values) - 1
    return f"{first} and {more} more reading{'' if more == 1 else 's'} with as many digits" if more else first


def _unlike(
    entries: Sequence[_Entry], asked: Iterable[_Entry] = (), fewest: int = FEWEST_NEIGHBOURS
) -> Iterator[_Doubted]:  # fmt: skip
    """Doubt values ten times or a tenth of those beside them; what was ``asked`` about already is not asked again."""
    known = set(asked)
    for entry, beside in _beside(entries):
        doubt = neighbour_doubt(entry.value, beside, fewest=fewest)
        if doubt is not None and entry not in known:
            usual = render_quantity(doubt.bound, max(doubt.bound.places, entry.value.places))
            yield from entry.doubted(f"{entry.words}, beside others of about {usual}", "like the values beside it")


def _moved(entries: Sequence[_Entry], asked: Sequence[_Entry]) -> Iterator[_Doubted]:
    """Doubt temperatures that a point one place off brings to those beside them."""
    known = set(asked)
    for entry, beside in _beside(entries):
        doubt = moved_temperature_doubt(entry.value, beside) if len(beside) >= FEWEST_NEIGHBOURS else None
        if doubt is not None and entry not in known:
            usual = render_quantity(doubt.bound, max(doubt.bound.places, entry.value.places))
            yield from entry.doubted(f"{entry.words}, beside others of about {usual}", MOVED_WORDS)


def _beside(entries: Sequence[_Entry]) -> Iterator[tuple[_Entry, list[Quantity]]]:
    """Yield each entry with the values beside it."""
    for index, entry in enumerate(entries):
        beside = (*entries[max(0, index - BESIDE) : index], *entries[index + 1 : index + 1 + BESIDE])
        yield entry, [other.value for other in beside]
