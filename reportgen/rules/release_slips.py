"""Release slips against the report of their shift: all that a slip said or rested on must stand there as it was."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.job import Condition
from reportgen.job.places import Places
from reportgen.measurements import LOGS, MEASUREMENTS, Measurement
from reportgen.results import Place, Word
from reportgen.results.codes import records as codes

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.job import Job, Slip, Surface
    from reportgen.results import AreaResult, Finding, LocationResult
    from reportgen.rules.scene import JobView

_NO_DATA: Final = {"remarks", "confirmed"}
"""Fields of an entry in which nothing is stated of the steel."""


def slips_not_upheld(view: JobView, areas: Sequence[AreaResult]) -> Iterator[Finding]:
    """Find release slips of which the report says otherwise, with what.

    What was measured or filled in since is no contradiction.
    """
    found = {area.id: area for area in areas}
    for slip in view.job.slips:
        if differs := tuple(_differs(slip, view, found.get(slip.area))):
            place = Place(slip.area, time=view.printed(slip.at))
            yield codes.SLIP_NOT_UPHELD.found(codes.SlipNotUpheld(slip.file, differs), place)


def _differs(slip: Slip, view: JobView, now: AreaResult | None) -> Iterator[Word]:
    """Yield in what the report differs from a slip."""
    job, area = view.job, slip.area
    then = next(one for one in slip.evaluation.areas if one.id == area)
    here = now.locations if now else ()
    read = {_read(one) for one in then.locations} <= {_read(one) for one in here}
    judged = {_judged(one) for one in then.locations} <= {_judged(one) for one in here}
    limited = slip.job.project.specification == job.project.specification
    checked = not judged and _checked_otherwise(slip.job, job, area, alike=read)
    differs = {
        "release": now is None or now.decision != "release",
        "primed": _primed_before(slip, view),
        "project": _named(slip.job, area) != _named(job, area),
        "steel": _steel(slip.job, area) != _steel(job, area),
        "limits": not limited,
        "checks": checked,
        "readings": not read or (limited and not judged and not checked),
    }
    for kind in MEASUREMENTS:
        entries = _entries(job, kind, area)
        differs[kind.key] = not all(any(_holds(one, own) for one in entries) for own in _entries(slip.job, kind, area))
    yield from (Word("slip-difference", what) for what, so in differs.items() if so)


def _primed_before(slip: Slip, view: JobView) -> bool:
    """Whether the report has steel of the area as primed before the minute in which the slip said it is to be."""
    minute = slip.at.replace(second=0, microsecond=0)
    surfaces = (one for area in view.areas if area.id == slip.area for one in area.surfaces)
    return any(
        one.coated is not None and "coated" not in one.record.pending and one.coated < minute for one in surfaces
    )


def _named(job: Job, area: str) -> tuple[object, ...]:
    """Return what names the area and the contract, and the zone of all times."""
    project = job.project.project
    try:
        structure, plan = job.project.area(area)
    except KeyError:
        return (project.name, project.contract, project.time_zone)
    return (project.name, project.contract, project.time_zone, structure.name, plan.name)


def _steel(job: Job, area: str) -> list[object]:
    """Return what was blasted on an area, in which condition it came, by what, and when."""
    own = (one for one in job.day.surfaces if one.area == area)
    return [(one.apparatus, one.initial_condition, one.blasted, one.blasted_again) for one in own]


def _read(one: LocationResult) -> tuple[object, ...]:
    """Return the readings of a location with what came of them; U may rest on more readings by now."""
    return one.id, one.apparatus, one.profile, one.compared, one.spots


def _judged(one: LocationResult) -> tuple[object, ...]:
    """Return the same with the verdict, which rests on the checks of the gauge and on the limits too."""
    return *_read(one), one.verdict


def _checked_otherwise(then: Job, now: Job, area: str, *, alike: bool) -> bool:
    """Whether a check of gauge or tape is not there as it was, or a later one is while the readings are ``alike``."""
    before, since = _checks(then, area), _checks(now, area)
    kept = all(any(_holds(one, own) for one in since) for own in before)
    return not kept or (alike and len(since) > len(before))


def _checks(job: Job, area: str) -> list[dict[str, object]]:
    """Return the checks of the gauges with which an area was read, and of the tape beside them."""
    gauges = {one.profile.gauge for one in job.day.surfaces if one.area == area and one.profile is not None}
    of_gauge = (_stated(one) for one in job.day.gauge_checks if one.gauge in gauges)
    return [*of_gauge, *(_stated(one) for one in job.day.tape_checks if one.gauge in gauges)]


def _entries(job: Job, kind: Measurement[Any, Any, Any], area: str) -> list[dict[str, object]]:
    """Return what the entries of a kind that speak of an area state, field by field."""
    surfaces = [one for one in job.day.surfaces if one.area == area]
    if kind not in LOGS:
        return [{"apparatus": one.apparatus} | _stated(entry) for one in surfaces for entry in kind.entries_on(one)]
    return [_stated(one) for one in kind.entries_in(job.day) if _speaks_of(job, one, area, surfaces)]


def _speaks_of(job: Job, entry: Any, area: str, surfaces: Sequence[Surface]) -> bool:
    """Whether an entry of a log is of an area: of its place, or of the apparatus and abrasive that it was blasted with.

    One that does not say of which it is may be of each.
    """
    if isinstance(entry, Condition):
        covered = Places(job.project.structures, job.day.conditions).covered(entry)
        return covered is None or area in covered
    apparatus, abrasive = (getattr(entry, name, None) for name in ("apparatus", "abrasive"))
    return any(apparatus in (None, one.apparatus) and abrasive in (None, one.blasted.abrasive) for one in surfaces)


def _stated(entry: Any) -> dict[str, object]:
    return {name: value for name, value in entry if name not in _NO_DATA and value not in (None, [])}


def _holds(one: dict[str, object], own: dict[str, object]) -> bool:
    """Whether an entry states all that another one does; what was filled in since is more."""
    return all(
        set(value) <= set(here) if isinstance(value, list) and isinstance(here := one.get(name), list)
        else one.get(name) == value
        for name, value in own.items()
    )  # fmt: skip
