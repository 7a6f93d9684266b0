"""How much of each area was cleaned: today, and by now over the reports, against the size of the area.

What one entry says counts once: not where a later report enters the same blasting again, nor where the steel was
blasted again since.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from reportgen.names import spelling
from reportgen.results import Amount, Outcome, Place
from reportgen.results.codes import records as codes
from reportgen.results.values import Cleaned
from reportgen.rules.scene import at_hand, replaced_surfaces
from reportgen.units import rounded

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from reportgen.job import Job, Surface
    from reportgen.results import Finding
    from reportgen.rules.scene import AreaView, JobView
    from reportgen.units import Quantity

_PLACES = 1


def cleaned_area(view: JobView, area: AreaView) -> Cleaned | None:
    """Return how much of an area was cleaned; None where the day does not say."""
    stated = [one.record.cleaned for one in area.surfaces if one.record.cleaned is not None]
    if not stated:
        return None
    size = view.plan(area.id)[1].size
    unit = stated[0].unit if size is None else size.unit
    entries = _entries(view, area.id, unit)
    number = view.job.day.report.number
    today = sum((part for report, part in entries.values() if report == number), Fraction(0))
    by_now = sum((part for _, part in entries.values()), Fraction(0))
    share = None if size is None or not size.exact else rounded(100 * by_now / size.exact, 0)
    places = max(_PLACES, *(one.places for one in stated))
    return Cleaned(
        Amount(rounded(today, places), unit), Amount(rounded(by_now, places), unit),
        None if size is None else Amount.of(size), share,
    )  # fmt: skip


def _entries(
    view: JobView, area: str, unit: str
) -> dict[tuple[str, dt.datetime, dt.datetime], tuple[str, Fraction]]:  # fmt: skip
    """Return what each blasting of an area cleaned, in the unit, with the report that says so first."""
    found: dict[tuple[str, dt.datetime, dt.datetime], tuple[str, Fraction]] = {}
    for job in at_hand(view.job):
        for one in (each for each in job.day.surfaces if each.area == area):
            found = _less(found, one, unit)
        for key, size in _stated(job, area):
            found.setdefault(key, (job.day.report.number, size.in_unit(unit)))
    return found


def _less(
    found: dict[tuple[str, dt.datetime, dt.datetime], tuple[str, Fraction]], surface: Surface, unit: str
) -> dict[tuple[str, dt.datetime, dt.datetime], tuple[str, Fraction]]:  # fmt: skip
    """Return what each blasting cleaned, less what an entry says was blasted again; all where it states no size."""
    own = (surface.apparatus,) if surface.reinspects else ()
    names = {_spelt(name) for name in (*surface.blasted_again, *own)}
    left, less = {}, None if surface.cleaned is None else surface.cleaned.in_unit(unit)
    for key, (report, size) in found.items():
        taken = Fraction(0) if key[0] not in names else size if less is None else min(size, less)
        less = None if less is None else less - taken
        if size > taken:
            left[key] = (report, size - taken)
    return left


def _stated(job: Job, area: str) -> Iterator[tuple[tuple[str, dt.datetime, dt.datetime], Quantity]]:
    """Yield what a report says of each blasting of an area that was not blasted again in it."""
    again = replaced_surfaces(job.day)
    for index, one in enumerate(job.day.surfaces):
        if one.area == area and index not in again and one.cleaned is not None:
            start, end = (job.clock.instant(clock) for clock in (one.blasted.start, one.blasted.end))
            yield (_spelt(one.apparatus), start, end), one.cleaned


def _spelt(apparatus: str) -> str:
    return spelling(apparatus) or apparatus


def cleaned_findings(view: JobView) -> Outcome[Finding]:
    """Find areas of which more was cleaned than there is, and name those of which only a part was."""
    findings: list[Finding] = []
    for area in view.areas:
        cleaned, size = cleaned_area(view, area), view.plan(area.id)[1].size
        if cleaned is None or size is None or cleaned.size is None:
            continue
        place = Place(area.id)
        if cleaned.today.value > cleaned.size.value:
            findings.append(codes.CLEANED_TOO_MUCH.found(codes.CleanedTooMuch(cleaned.today, cleaned.size), place))
        elif cleaned.by_now.value > cleaned.size.value:
            findings.append(codes.CLEANED_AGAIN.found(codes.AreaCleaned(cleaned), place))
        elif cleaned.by_now.value < cleaned.size.value:
            findings.append(codes.PARTLY_CLEANED.found(codes.AreaCleaned(cleaned), place))
    return Outcome((), tuple(findings))
