"""How much of each area was cleaned: today, and by now over the reports, against the size of the area.

What one entry says counts once: not where a later report enters the same blasting again, nor where the steel was
blasted again since. An entry that does not say is of all that was not cleaned before it, or of what it blasts again.
"""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from typing import TYPE_CHECKING

from reportgen.names import spelling
from reportgen.results import Amount, Outcome, Place
from reportgen.results.codes import records as codes
from reportgen.results.values import Cleaned
from reportgen.rules.extent import written_finer
from reportgen.rules.scene import at_hand, replaced_surfaces
from reportgen.units import rounded

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.job import Job, Surface
    from reportgen.results import Finding
    from reportgen.rules.scene import AreaView, JobView
    from reportgen.units import Quantity

_PLACES = 1
_MEASURED_AS = Fraction(1, 100)
"""By how much of its size an area may be exceeded, as parts are measured by themselves; our choice."""

_Blasting = tuple[str, "dt.datetime", "dt.datetime"]
"""An apparatus as names are compared, and from when to when it blasted."""


def cleaned_area(view: JobView, area: AreaView) -> Cleaned | None:
    """Return how much of an area was cleaned; None where the day does not say."""
    stated = _sizes(area)
    if not stated:
        return None
    size = view.plan(area.id)[1].size
    unit = stated[0].unit if size is None else size.unit
    entries = _entries(view, area.id, unit, size)
    number = view.job.day.report.number
    today = sum((part for report, part in entries.values() if report == number), Fraction(0))
    by_now = sum((part for _, part in entries.values()), Fraction(0))
    today, by_now = (_as_the_area(one, size, stated) for one in (today, by_now))
    share = None if size is None or not size.exact else rounded(100 * by_now / size.exact, 0)
    places = max(_PLACES, *(one.places for one in stated))
    return Cleaned(
        Amount(rounded(today, places), unit), Amount(rounded(by_now, places), unit),
        None if size is None else Amount.of(size), share,
    )  # fmt: skip


def _sizes(area: AreaView) -> list[Quantity]:
    return [one.record.cleaned for one in area.surfaces if one.record.cleaned is not None]


def _as_the_area(cleaned: Fraction, size: Quantity | None, stated: Sequence[Quantity]) -> Fraction:
    """Return what was cleaned; the size of the area where it is that, written in another unit."""
    if size is None or abs(cleaned - size.exact) > written_finer([size, *stated], size.unit):
        return cleaned
    return size.exact


def _entries(view: JobView, area: str, unit: str, size: Quantity | None) -> dict[_Blasting, tuple[str, Fraction]]:
    """Return what each blasting of an area cleaned, in the unit, with the report that says so first."""
    found: dict[_Blasting, tuple[str, Fraction]] = {}
    for job in at_hand(view.job):
        found = _after(found, job, area, unit, size)
    return found


def _after(
    found: dict[_Blasting, tuple[str, Fraction]], job: Job, area: str, unit: str, size: Quantity | None
) -> dict[_Blasting, tuple[str, Fraction]]:
    """Return what each blasting cleaned after a further report."""
    number = job.day.report.number
    rest: list[_Blasting] = []  # what is stated beside it comes first, wherever it stands
    for key, one, of_rest in _blastings(job, area):
        before = _total(found)
        found = _less(found, one, unit)
        if key in found or key in rest:
            continue
        if one.cleaned is None and of_rest:
            rest.append(key)
        else:
            found[key] = (number, before - _total(found) if one.cleaned is None else one.cleaned.in_unit(unit))
    left = Fraction(0) if size is None else max(size.exact - _total(found), Fraction(0))
    return found | {key: (number, left / len(rest)) for key in rest}


def _total(found: dict[_Blasting, tuple[str, Fraction]]) -> Fraction:
    return sum((part for _, part in found.values()), Fraction(0))


def _less(
    found: dict[_Blasting, tuple[str, Fraction]], surface: Surface, unit: str
) -> dict[_Blasting, tuple[str, Fraction]]:  # fmt: skip
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


def _blastings(job: Job, area: str) -> Iterator[tuple[_Blasting, Surface, bool]]:
    """Yield each entry of an area with its blasting, and whether without a size it is of what was not cleaned before.

    Else it is of what it blasts again. What was blasted again as a whole is not yielded where it has no size.
    """
    again, rest = replaced_surfaces(job), set()
    own = [(index, one) for index, one in enumerate(job.day.surfaces) if one.area == area]
    for index, one in sorted(own, key=lambda pair: job.clock.instant(pair[1].blasted.start).astimezone(dt.UTC)):
        new = index in rest or not (one.blasted_again or one.reinspects)
        if index in again and one.cleaned is None and new:
            rest.add(again[index])
            continue
        start, end = (job.clock.instant(clock) for clock in (one.blasted.start, one.blasted.end))
        yield (_spelt(one.apparatus), start, end), one, new


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
        most = Fraction(cleaned.size.value) + max(
            size.exact * _MEASURED_AS, written_finer([size, *_sizes(area)], size.unit)
        )  # fmt: skip
        if cleaned.today.value > most:
            findings.append(codes.CLEANED_TOO_MUCH.found(codes.CleanedTooMuch(cleaned.today, cleaned.size), place))
        elif cleaned.by_now.value > most:
            findings.append(codes.CLEANED_AGAIN.found(codes.AreaCleaned(cleaned), place))
        elif cleaned.by_now.value < cleaned.size.value:
            findings.append(codes.PARTLY_CLEANED.found(codes.AreaCleaned(cleaned), place))
    return Outcome((), tuple(findings))
