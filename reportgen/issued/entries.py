"""What a report enters that an audit compares across files: areas planned, instruments in use, conditions, photos."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import replace
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
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
from reportgen.verification.pageread import drawn_pictures

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.fields import Clock
    from reportgen.issued.record import ReportRecord
    from reportgen.job import Job, Reading, Surface
    from reportgen.results import Evaluation
    from reportgen.units import Quantity


def entries_of(job: Job, files: Mapping[str, bytes]) -> dict[str, Any]:
    """Return these members of the record of a report, with its project file and the moments of its shift."""
    view, manifest = JobView(job), read_manifest(files[MANIFEST_NAME])
    project = next(entry.name for entry in manifest.files if entry.role == "project")
    began, ended = job.clock.shift()
    return {
        "site": str(job.project.project.site),
        "project_sha256": hashlib.sha256(files[project]).hexdigest(),
        "began": _moment(began),
        "ended": _moment(ended),
        "planned": planned_areas(job),
        "instruments": instruments(job),
        "uses": (*gauge_uses(view), *other_uses(view)),
        "conditions": tuple(
            ConditionRecord(
                str(one.place or ""), tuple(sorted(view.places.covered(one) or ())), _moment(view.at(one.time)),
                str(one.air), str(one.humidity or ""), str(one.wet_bulb or ""), str(one.steel),
                tuple(map(str, one.instruments)),
            )
            for one in job.day.conditions
        ),
        "photos": photos(job, files),
    }  # fmt: skip


def planned_areas(job: Job) -> tuple[PlannedAreaRecord, ...]:
    """Return the areas that the project file lists."""
    return tuple(
        PlannedAreaRecord(
            str(area.id), str(area.name), str(structure.id), str(structure.name),
            "" if size is None else f"{_decimal(size, size.unit):f}", "" if size is None else size.unit,
        )
        for structure in job.project.structures
        for area in structure.areas
        for size in (area.size or area.weld_length,)
    )  # fmt: skip


def instruments(job: Job) -> tuple[InstrumentRecord, ...]:
    """Return the instruments that the project file lists."""
    return tuple(
        InstrumentRecord(
            str(name), str(one.serial), one.kind, one.unit or "", str(one.resolution or ""), str(one.accuracy or ""),
            str(one.certificate or ""), str(one.calibrated or ""), str(one.calibration_due or ""),
        )
        for name, one in job.project.instruments.items()
    )  # fmt: skip


def photos(job: Job, files: Mapping[str, bytes]) -> tuple[PhotoRecord, ...]:
    """Return the photos of a report, each with the hash of its original and the moment that its camera noted."""
    manifest = read_manifest(files[MANIFEST_NAME])
    originals = {entry.name: entry.sha256 for entry in manifest.files if entry.role == "photo-hash"}
    zone, noted = ZoneInfo(job.clock.zone), read_issue(files).camera or {}
    taken = {
        name: _moment(dt.datetime.fromisoformat(one.taken).replace(tzinfo=zone))
        for name, one in noted.items()
        if one.taken
    }
    return tuple(
        PhotoRecord(
            str(surface.area), str(one.file), str(one.caption), moment_of(job, one.time), str(one.location or ""),
            originals.get(str(one.file), ""), taken.get(str(one.file), ""),
        )
        for surface in job.day.surfaces
        for one in surface.photos
    )  # fmt: skip


def other_uses(view: JobView) -> Iterator[UseRecord]:
    """Yield each use of what is no gauge: on which area, and on which day."""
    gauges = {surface.profile.gauge for surface in view.job.day.surfaces if surface.profile is not None}
    for name, area, date, _ in dict.fromkeys(instrument_uses(view)):
        if name not in gauges:
            yield UseRecord(str(name), area or "", "other", f"{date}", f"{date}", 1)


def readings_told(view: JobView, surface: Surface, readings: Sequence[Reading]) -> dict[str, Any]:
    """Return of the readings of a surface by which digit, on which spots and rolls, and when each was taken."""
    kept = [(one, one.value) for one in readings if one.value is not None]
    return {
        "digit": _digit(view, surface, [value for _, value in kept]) if kept else "",
        "spots": tuple(str(one.spot) for one, _ in kept),
        "rolls": tuple(str(one.roll or "") for one, _ in kept),
        "times": tuple("" if one.time is None else _moment(view.at_text(one.time)) for one, _ in kept),
    }


def _digit(view: JobView, surface: Surface, values: Sequence[Decimal]) -> str:
    """Return the step of which all readings are whole numbers: the gauge's, where they are, else their last digit."""
    assert surface.profile is not None  # noqa: S101 - it has readings
    gauge = view.project.instruments[surface.profile.gauge]
    if gauge.resolution is not None and gauge.unit is not None:
        step = _decimal(gauge.resolution, gauge.unit)
        if all(value % step == 0 for value in values):
            return f"{step.normalize():f}"
    places = max(-int(value.as_tuple().exponent) for value in values)
    return f"{Decimal(1).scaleb(-max(places, 0)):f}"


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


def gauge_uses(view: JobView) -> Iterator[UseRecord]:
    """Yield each use of a gauge on a surface, with the moments of its readings, and its checks."""
    for surface in view.surfaces:
        record = surface.record
        if record.profile is not None:
            times = sorted(_moment(view.at_text(one.time)) for one in surface.readings if one.time is not None)
            times = times or [_moment(surface.blasted[1])]
            gauge, count = str(record.profile.gauge), len(surface.readings)
            yield UseRecord(gauge, record.area, "readings", times[0], times[-1], count)
    day = view.job.day
    checks = [(str(one.gauge), _moment(view.at(one.time))) for one in day.gauge_checks]
    checks += [(str(one.gauge), _moment(view.at(one.time))) for one in day.tape_checks]
    for gauge, same in groupby(sorted(checks), key=itemgetter(0)):
        moments = [moment for _, moment in same]
        yield UseRecord(gauge, "", "checks", moments[0], moments[-1], len(moments))


def with_looks(record: ReportRecord, pdf: bytes, evaluation: Evaluation | None) -> ReportRecord:
    """Return a record with the look of each photo, as the pages show it; as it is where they show others, or none."""
    if not record.photos or evaluation is None:
        return record
    from reportgen.screens.pictures import look_of_jpeg

    areas = [area.id for area in evaluation.areas]
    order = sorted((one for one in record.photos if one.area in areas), key=lambda one: areas.index(one.area))
    looks: dict[tuple[str, str], str] = {}
    try:
        pages = drawn_pictures(pdf)
        shown = ([picture for page in pages for picture in page[skipped:]] for skipped in (0, 1))  # a logo at the head
        there = next((one for one in shown if len(one) == len(order)), [])
        looks = {(one.area, one.file): look_of_jpeg(jpeg) for one, jpeg in zip(order, there, strict=False)}
    except (ValueError, OSError, LookupError, TypeError, AttributeError):  # of a file that its verification objects to
        return record
    photos = tuple(replace(one, look=looks.get((one.area, one.file), "")) for one in record.photos)
    return replace(record, photos=photos)
