"""What a report enters that an audit compares across files: areas planned, instruments in use, conditions, photos."""

from __future__ import annotations

import datetime as dt
import hashlib
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from reportgen.formats import MANIFEST_NAME, read_issue, read_manifest
from reportgen.issued.record import (
    ConditionRecord,
    InstrumentRecord,
    PhotoRecord,
    PlannedAreaRecord,
    UseRecord,
)
from reportgen.rules.equipment import instrument_uses
from reportgen.rules.scene import JobView
from reportgen.units import later

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.fields import Clock
    from reportgen.job import Job, Reading, Surface
    from reportgen.units import Quantity

OF_ENTRIES = ("planned", "instruments", "uses", "conditions", "photos")
"""Members of a record that hold these: empty where project and day file cannot be read."""


def entries_of(job: Job, files: Mapping[str, bytes]) -> dict[str, Any]:
    """Return these members of the record of a report, with its project file and the moments of its shift."""
    manifest = read_manifest(files[MANIFEST_NAME])
    project = next(entry.name for entry in manifest.files if entry.role == "project")
    originals = {entry.name: entry.sha256 for entry in manifest.files if entry.role == "photo-hash"}
    began, ended = job.clock.shift()
    return {
        "site": str(job.project.project.site),
        "project_sha256": hashlib.sha256(files[project]).hexdigest(),
        "began": _moment(began),
        "ended": _moment(ended),
        "planned": tuple(_planned(job)),
        "instruments": tuple(_instruments(job)),
        "uses": tuple(_uses(job)),
        "conditions": tuple(_conditions(job)),
        "photos": tuple(_photos(job, originals, _taken(job, files))),
    }


def readings_told(view: JobView, surface: Surface, readings: Sequence[Reading]) -> dict[str, Any]:
    """Return of the readings of a surface by which digit, on which spots and rolls, and when each was taken."""
    job = view.job
    kept = [one for one in readings if one.value is not None]
    values = [one.value for one in kept if one.value is not None]
    gauge = None if surface.profile is None else job.project.instruments[surface.profile.gauge]
    stated = None if gauge is None or gauge.resolution is None or gauge.unit is None else gauge.resolution
    return {
        "digit": _digit(values, None if stated is None else _decimal(stated, str(gauge.unit))) if gauge else "",
        "spots": tuple(str(one.spot) for one in kept),
        "rolls": tuple(str(one.roll or "") for one in kept),
        "times": tuple("" if one.time is None else _moment(view.at_text(one.time)) for one in kept),
    }


def moment_of(job: Job, clock: Clock | None) -> str:
    """Return a clock time as an instant in UTC; empty for none."""
    return "" if clock is None else _moment(job.clock.instant(clock))


def prime_by(job: Job, surface: Surface) -> str:
    """Return until when the steel of a surface is to be primed, in UTC; empty where it is, or no time is stated."""
    stated = job.project.specification.time_to_coat
    if stated is None or surface.coated is not None or not surface.steel_known:
        return ""
    return _moment(later(job.clock.instant(surface.blasted.end), stated.maximum))


def _moment(instant: dt.datetime) -> str:
    return instant.astimezone(dt.UTC).isoformat(timespec="minutes")


def _decimal(quantity: Quantity, unit: str) -> Decimal:
    exact = quantity.in_unit(unit)
    return Decimal(exact.numerator) / Decimal(exact.denominator)


def _digit(values: Sequence[Decimal], resolution: Decimal | None) -> str:
    """Return the step of which all readings are whole numbers: the gauge's, where they are, else their last digit."""
    if not values:
        return ""
    if resolution and all(value % resolution == 0 for value in values):
        return f"{resolution.normalize():f}"
    places = max(-int(value.as_tuple().exponent) for value in values)
    return f"{Decimal(1).scaleb(-max(places, 0)):f}"


def _planned(job: Job) -> Iterator[PlannedAreaRecord]:
    for structure in job.project.structures:
        for area in structure.areas:
            size = area.size or area.weld_length
            told = ("", "") if size is None else (f"{_decimal(size, size.unit):f}", size.unit)
            yield PlannedAreaRecord(str(area.id), str(area.name), str(structure.id), str(structure.name), *told)


def _instruments(job: Job) -> Iterator[InstrumentRecord]:
    for name, one in job.project.instruments.items():
        yield InstrumentRecord(
            str(name), str(one.serial), one.kind, one.unit or "", str(one.resolution or ""), str(one.accuracy or ""),
            str(one.certificate or ""), str(one.calibrated or ""), str(one.calibration_due or ""),
        )  # fmt: skip


def _uses(job: Job) -> Iterator[UseRecord]:
    """Yield each use of an instrument: of a gauge on a surface with the moments of its readings, of others the date."""
    view = JobView(job)
    gauges = set()
    for surface in view.surfaces:
        record = surface.record
        if record.profile is not None:
            gauge = record.profile.gauge
            gauges.add(gauge)
            times = sorted(_moment(view.at_text(one.time)) for one in surface.readings if one.time is not None)
            first, last = (times[0], times[-1]) if times else (_moment(surface.blasted[1]),) * 2
            yield UseRecord(str(gauge), record.area, "readings", first, last, len(surface.readings))
    day = job.day
    checks = [(str(one.gauge), _moment(view.at(one.time))) for one in day.gauge_checks]
    checks += [(str(one.gauge), _moment(view.at(one.time))) for one in day.tape_checks]
    for gauge, same in groupby(sorted(checks), key=lambda one: one[0]):
        moments = [moment for _, moment in same]
        yield UseRecord(gauge, "", "checks", moments[0], moments[-1], len(moments))
    others = [one for one in dict.fromkeys(instrument_uses(view)) if one[0] not in gauges]
    for name, area, date, _ in others:
        yield UseRecord(str(name), area or "", "other", date.isoformat(), date.isoformat(), 1)


def _conditions(job: Job) -> Iterator[ConditionRecord]:
    view = JobView(job)
    for one in job.day.conditions:
        covered = view.places.covered(one)
        yield ConditionRecord(
            str(one.place or ""),
            tuple(sorted(covered)) if covered else (),
            _moment(view.at(one.time)),
            str(one.air),
            str(one.humidity or ""),
            str(one.wet_bulb or ""),
            str(one.steel),
            tuple(map(str, one.instruments)),
        )


def _taken(job: Job, files: Mapping[str, bytes]) -> dict[str, str]:
    """Return by photo when it was taken, as its camera noted by what is taken for the clock of the site."""
    zone, noted = ZoneInfo(job.clock.zone), read_issue(files).camera or {}
    taken = {name: one.taken for name, one in noted.items() if one.taken}
    return {name: _moment(dt.datetime.fromisoformat(text).replace(tzinfo=zone)) for name, text in taken.items()}


def _photos(job: Job, originals: Mapping[str, str], taken: Mapping[str, str]) -> Iterator[PhotoRecord]:
    for surface in job.day.surfaces:
        for one in surface.photos:
            yield PhotoRecord(
                str(surface.area), str(one.file), str(one.caption), moment_of(job, one.time), str(one.location or ""),
                originals.get(str(one.file), ""), taken.get(str(one.file), ""),
            )  # fmt: skip
