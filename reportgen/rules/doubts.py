"""Doubts: entries that are mostly slips are asked about before they are believed, and hold what depends on them.

A doubt does not change a verdict: values count as written. Until the entry is corrected, or its record says
``confirmed: yes``, nothing that depends on it is released; after that the report shows that it was asked and confirmed.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from reportgen.metrology.plausibility import (
    LARGEST_PATCH,
    MOVED_POINT,
    SMALLEST_PATCH,
    air_doubt,
    blast_pressure_doubt,
    digits_doubt,
    neighbour_doubt,
    patch_doubt,
    steel_doubt,
)
from reportgen.rules.conditions import at_words
from reportgen.rules.outcome import Outcome, found, shown
from reportgen.units import Quantity, render_quantity

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from reportgen.job import Reading
    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

BESIDE: Final = 8
"""Values before and after one, in the order written, that count as its neighbours."""


@dataclass(frozen=True, slots=True)
class _Entry:
    """A value with what it is called, where it stands, whether it was confirmed, and the areas that depend on it."""

    words: str
    value: Quantity
    confirmed: bool
    areas: tuple[str | None, ...]
    location: str | None = None

    def doubted(self, observed: str, usual: str) -> Iterator[Finding]:
        """Yield the findings for a doubt about this entry: asked and open, or asked and confirmed."""
        code = "entry-confirmed" if self.confirmed else "entry-doubtful"
        observed += ", confirmed" if self.confirmed else ""
        for area in self.areas:
            yield found(code, observed, f"usually {usual}", area=area, location=self.location)


def doubts(view: JobView) -> Outcome[Finding]:
    """Find every entry that is to be asked about."""
    return Outcome((), (*_in_conditions(view), *_in_pressures(view), *_in_salts(view), *_in_readings(view)))


def _concerned(view: JobView, areas: Collection[str] | None) -> tuple[str | None, ...]:
    """Return the inspected ones of some areas; the whole report, where that is all of them, none, or nobody can say."""
    inspected = [area.id for area in view.areas if areas is None or area.id in areas]
    return tuple(inspected) if 0 < len(inspected) < len(view.areas) else (None,)


def _in_conditions(view: JobView) -> Iterator[Finding]:
    humidities = []
    for reading in view.job.day.conditions:
        areas = _concerned(view, view.places.covered(reading))
        at = at_words(view, reading)
        entry = _Entry(f"{at}: air {shown(reading.air)}", reading.air, reading.confirmed, areas)
        if (hot := air_doubt(reading.air)) is not None:
            yield from entry.doubted(entry.words, f"air at most {shown(hot.bound)}")
        else:
            for name, steel in (("steel", reading.steel), ("warmest steel", reading.steel_warmest)):
                doubt = None if steel is None else steel_doubt(steel, reading.air)
                if steel is not None and doubt is not None:
                    apart = render_quantity(Quantity(abs(doubt.observed.exact), doubt.observed.unit), 1)
                    words = f"{at}: {name} {shown(steel)}, {apart} from the air"
                    yield from entry.doubted(words, f"steel within {shown(doubt.bound)} of the air")
        if reading.humidity is not None:
            words = f"{at}: humidity {shown(reading.humidity)}"
            humidities.append(_Entry(words, reading.humidity, reading.confirmed, areas))
    yield from _unlike(humidities)


def _in_pressures(view: JobView) -> Iterator[Finding]:
    """Doubt the pressure of the compressed air where it was checked, and where it blasted."""
    entries = []
    for check in view.job.day.air_checks:
        if check.pressure is not None:
            areas = {one.area for one in view.job.day.surfaces if one.apparatus == check.apparatus}
            words = f"{view.printed(view.at(check.time))}, {check.apparatus}: air pressure {shown(check.pressure)}"
            entries.append(_Entry(words, check.pressure, check.confirmed, _concerned(view, areas)))
    for surface in view.job.day.surfaces:
        blasted = surface.blasted
        if blasted.pressure is not None:
            words = f"{surface.apparatus}: blasted at {shown(blasted.pressure)}"
            entries.append(_Entry(words, blasted.pressure, blasted.confirmed, (surface.area,)))
    low = {entry: doubt for entry in entries if (doubt := blast_pressure_doubt(entry.value)) is not None}
    for entry, doubt in low.items():
        yield from entry.doubted(entry.words, f"at least {shown(doubt.bound)}")
    yield from _unlike(entries, asked=low)


def _in_salts(view: JobView) -> Iterator[Finding]:
    series: dict[str, list[_Entry]] = {name: [] for name in ("volume", "blank", "sample", "chloride")}
    for area in view.areas:
        for test in (test for surface in area.surfaces for test in surface.record.salts):
            if test.area is not None and patch_doubt(test.area) is not None:
                entry = _Entry(f"patch of {shown(test.area)}", test.area, test.confirmed, (area.id,), test.location)
                yield from entry.doubted(entry.words, f"{shown(SMALLEST_PATCH)} to {shown(LARGEST_PATCH)}")
            for name, entries in series.items():
                value = getattr(test, name)
                if value is not None:
                    words = f"{name} {shown(value)}"
                    entries.append(_Entry(words, value, test.confirmed, (area.id,), test.location))
    for entries in series.values():
        yield from _unlike(entries)


def _in_readings(view: JobView) -> Iterator[Finding]:
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
    return _Entry(f"spot {reading.spot}{on}: {shown(value)}", value, reading.confirmed, (area,), reading.location)


def _apart(readings: Sequence[Reading]) -> bool:
    """Whether any two readings are so far apart that a neighbour could be doubted; most surfaces have none."""
    values = {reading.value for reading in readings}
    return bool(values) and not max(values) < MOVED_POINT * min(values)


def _too_fine(view: JobView, surface: SurfaceView) -> Iterator[Finding]:
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
        taken = [one.value for one in surface.readings if str(one.value) in fine and one.confirmed == confirmed]
        if taken:
            entry = _Entry(_listed(taken, unit), Quantity(taken[0], unit), confirmed, (surface.record.area,))
            yield from entry.doubted(f"{entry.words} on {profile.gauge}", f"in steps of {shown(step)}")


def _listed(values: Sequence[Decimal], unit: str) -> str:
    first = shown(Quantity(values[0], unit))
    more = len(values) - 1
    return f"{first} and {more} more reading{'' if more == 1 else 's'} with as many digits" if more else first


def _unlike(entries: Sequence[_Entry], asked: Iterable[_Entry] = ()) -> Iterator[Finding]:
    """Doubt values ten times or a tenth of those beside them; what was ``asked`` about already is not asked again."""
    known = set(asked)
    for index, entry in enumerate(entries):
        beside = (*entries[max(0, index - BESIDE) : index], *entries[index + 1 : index + 1 + BESIDE])
        doubt = neighbour_doubt(entry.value, [other.value for other in beside])
        if doubt is not None and entry not in known:
            usual = render_quantity(doubt.bound, max(doubt.bound.places, entry.value.places))
            yield from entry.doubted(f"{entry.words}, beside others of about {usual}", "like the values beside it")
