"""How many locations an area needs and has: each apparatus and each period by itself, whatever the total says."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.metrology.sampling import (
    locations_after_failures,
    locations_by_area,
    locations_for_changes,
    locations_per_shift,
    locations_per_size,
)
from reportgen.metrology.tape import advised_grade, tape_scheme
from reportgen.results import Finding, MeasureNext, SamplingPart
from reportgen.rules.outcome import Outcome, Place, counted, found, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job import Sampling
    from reportgen.rules.profile import AreaProfile, JudgedLocation
    from reportgen.rules.scene import AreaView, JobView, SurfaceView

PERIOD: Final = dt.timedelta(hours=12)
"""A plan per shift counts periods of this length within longer work, from its beginning."""

OVERRUN: Final = dt.timedelta(minutes=30)
"""A blasting that reaches into another period by no more than this is work of one: our reading, no source."""


@dataclass(frozen=True, slots=True)
class Required:
    """Locations required, None where the plan needs something the project does not state, and in words why.

    ``parts`` are there where several apparatus or periods share the area: none stands for another.
    """

    locations: int | None
    words: str
    parts: tuple[SamplingPart, ...] = ()


class _Work:
    """What one apparatus blasted on an area: its surfaces, its periods by number, the locations taken in each.

    What counts is when the steel was blasted, not when it was read. A surface blasted within one period has all its
    locations in it. On one blasted over several, a location read before the first had ended lies on steel of the first;
    any other is of the surface as a whole and counts for none: else steel could be released that nobody measured.
    """

    def __init__(self, view: JobView, surfaces: Sequence[SurfaceView], profile: AreaProfile) -> None:
        self.apparatus = surfaces[0].record.apparatus
        self.surfaces = surfaces
        spans = {id(surface): _periods(view, surface) for surface in surfaces}
        periods = sorted({period for span in spans.values() for period in span})
        self.taken = dict.fromkeys(periods, 0)
        self.failing = dict.fromkeys(periods, 0)
        self.unplaced = 0
        self.measured: set[int] = set()
        for location in profile.regular:
            surface = id(profile.surfaces[location.surface].surface)
            if surface in spans:
                self.measured.add(surface)
                self._count(location, spans[surface], _period_of(view, spans[surface], location))

    def crosses(self, view: JobView) -> str | None:
        """Return when the first period ended in which a surface was blasted that was also blasted in the next."""
        spans = (_periods(view, surface) for surface in self.surfaces)
        ends = [_begin(view) + (span[0] + 1) * PERIOD for span in spans if len(span) > 1]
        return view.printed(min(ends)) if ends else None

    def _count(self, location: JudgedLocation, span: range, period: int | None) -> None:
        if period is None:
            self.unplaced += 1
        else:
            self.taken[period] += 1
        if location.result.verdict == "does not conform":
            self.failing[span[-1]] += 1  # further tests come after it: in the last period of its surface

    @property
    def locations(self) -> int:
        """All regular locations on what this apparatus blasted."""
        return sum(self.taken.values()) + self.unplaced

    @property
    def changes(self) -> int:
        """Locations needed around the changes of the process."""
        return locations_for_changes(sum(len(surface.record.process_changes) for surface in self.surfaces))


def _works(view: JobView, profile: AreaProfile) -> list[_Work]:
    """Return what each apparatus blasted, in the order of the day file."""
    grouped: dict[str, list[SurfaceView]] = {}
    for surface in profile.area.surfaces:
        grouped.setdefault(surface.record.apparatus, []).append(surface)
    return [_Work(view, surfaces, profile) for surfaces in grouped.values()]


def _begin(view: JobView) -> dt.datetime:
    """Return when the first period begins: with the shift, or with the first blasting where that was before."""
    return min(view.shift[0], *(surface.blasted[0] for area in view.areas for surface in area.surfaces))


def _periods(view: JobView, surface: SurfaceView) -> range:
    """Return the periods in which a surface was blasted; the first or last is none for a few minutes' work."""
    begin, (start, end) = _begin(view), surface.blasted
    first = (start - begin) // PERIOD
    last = max(first, (end - begin - dt.timedelta(microseconds=1)) // PERIOD)
    into_first, into_last = begin + (first + 1) * PERIOD - start, end - (begin + last * PERIOD)
    if first < last and into_last <= min(OVERRUN, into_first):
        last -= 1
    elif first < last and into_first <= OVERRUN:
        first += 1
    return range(first, last + 1)


def _period_of(view: JobView, span: range, location: JudgedLocation) -> int | None:
    """Return the period of a location among those of its surface; None where that cannot be told."""
    if len(span) == 1:
        return span[0]
    known = location.taken is not None and location.taken[1] <= _begin(view) + (span[0] + 1) * PERIOD
    return span[0] if known else None


def required_locations(view: JobView, area: AreaView, works: Sequence[_Work]) -> Required:
    """Locations the plan asks for, with those added by failing ones and by changes of the process."""
    plan = view.specification.sampling
    if plan.plan == "per-shift-and-apparatus":
        parts, words = _per_shift(view, plan, works)
        total = sum(part.required for part in parts)
    else:
        base = _planned(area, plan)
        if base.locations is None:
            return base
        parts = [SamplingPart(work.apparatus, None, max(1, work.changes), work.locations) for work in works]
        total, words = base.locations, base.words
        changes = locations_for_changes(sum(len(surface.record.process_changes) for surface in area.surfaces))
        if changes > total:
            total, words = changes, f"{words}; {changes} around the changes of the process"
        failing = sum(sum(work.failing.values()) for work in works)
        total = locations_after_failures(total, failing, plan.additional_per_failing or 0)
        least = sum(part.required for part in parts)
        if least > total:
            total, words = least, f"{words}; at least 1 on each surface that was blasted"
    words += _for_failing(plan, works)
    return Required(total, words, tuple(parts) if len(parts) > 1 else ())


def _per_shift(view: JobView, plan: Sampling, works: Sequence[_Work]) -> tuple[list[SamplingPart], str]:
    """Return what each apparatus owes in each of its periods; changes of the process may ask for more in the last."""
    each = plan.locations or 1  # the model refuses a plan without
    parts: list[SamplingPart] = []
    words = f"{counted(each, 'location')} per shift and apparatus, {len(works)} in use"
    most = max(len(work.taken) for work in works)
    words += f", {most} periods of 12 h" if most > 1 else ""
    for work in works:
        planned = locations_per_shift(each, 1, len(work.taken))
        last, label = max(work.taken), len(work.taken) > 1
        if work.changes > planned:
            words += f"; {work.changes} around the changes of the process"
        for period, taken in work.taken.items():
            need = each + (max(0, work.changes - planned) if period == last else 0)
            need = locations_after_failures(need, work.failing[period], plan.additional_per_failing or 0)
            parts.append(SamplingPart(work.apparatus, _label(view, period) if label else None, need, taken))
    return parts, words


def _label(view: JobView, period: int) -> str:
    """Return a period in words: from its beginning to its end, or to that of the day's work."""
    start = _begin(view) + period * PERIOD
    last = max(view.shift[1], *(surface.blasted[1] for area in view.areas for surface in area.surfaces))
    return f"{view.printed(start)} to {view.printed(min(start + PERIOD, last))}"


def _for_failing(plan: Sampling, works: Sequence[_Work]) -> str:
    failing = sum(sum(work.failing.values()) for work in works)
    each = plan.additional_per_failing or 0
    return f"; {each} more for each of {counted(failing, 'failing location')}" if failing and each else ""


def _planned(area: AreaView, plan: Sampling) -> Required:
    """Locations by a plan that counts the area as a whole."""
    each = plan.locations or 1  # the model refuses a plan without
    if plan.plan == "fixed":
        return Required(each, f"{counted(each, 'location')} per area")
    length = plan.plan == "length-rate"
    size = area.plan.weld_length if length else area.plan.size
    per = plan.length if length else plan.first_area
    if size is None or per is None or not size.exact:
        return Required(None, f"the {'length of weld or edge' if length else 'size'} of the area is not stated")
    if not length and plan.further_area is not None:
        further = plan.further_locations or 1
        number = locations_by_area(size, per, each, plan.further_area, further)
        return Required(
            number, f"{each} for the first {shown(per)}, {further} for each further {shown(plan.further_area)} or part"
        )
    return Required(locations_per_size(size, per, each), f"{each} for each {shown(per)} or part")


def sampling_findings(view: JobView, profile: AreaProfile) -> tuple[Required, Outcome[Finding]]:
    """Compare the regular locations of an area with those required, and name what is still to be measured."""
    area, clause = profile.area, view.specification.sampling.clause
    works = _works(view, profile)
    required = required_locations(view, area, works)
    place: Place = {"area": area.id, "clause": clause}
    have = counted(len(profile.regular), "location")
    left = _left_out(view, works, required, place)
    if required.locations is None:
        unknown = found("locations-missing", f"{have}; {required.words}", "sampling plan of the contract", **place)
        return required, Outcome(
            (), (*left.findings, unknown), measure_next=left.measure_next,
            not_evaluated=(f"sampling of {area.id}: {required.words}",),
        )  # fmt: skip
    parts = _parts_missing(view, profile, works, required, place)
    findings = [*left.findings, *parts.findings, *_change_findings(profile, clause)]
    todo = [*parts.measure_next, *left.measure_next]
    short = required.locations - len(profile.regular) - sum(step.count or 0 for step in todo)
    if short > 0:
        findings.append(found("locations-missing", have, f"{required.locations}: {required.words}", **place))
        reason = _reason(required.words, _advice(view, profile))
        todo.append(MeasureNext(area.id, counted(short, "more location"), reason, short))
    return required, Outcome((), tuple(findings), measure_next=tuple(todo))


def _left_out(view: JobView, works: Sequence[_Work], required: Required, place: Place) -> Outcome[Finding]:
    """Find surfaces blasted and not measured while others of the area were: no location stands for another surface."""
    surfaces = [(work, surface) for work in works for surface in work.surfaces]
    if len(surfaces) == 1:  # it lacks locations, which is said of the area
        return Outcome()
    findings, todo = [], []
    for work, surface in surfaces:
        if id(surface) in work.measured:
            continue
        start, end = (view.printed(instant) for instant in surface.blasted)
        which = f"{work.apparatus}, blasted {start} to {end}"
        owed = sum(part.required for part in required.parts if part.apparatus == work.apparatus)
        least = counted(1 if work.measured else max(1, owed), "location")
        words = f"at least {least} on each surface that was blasted"
        findings.append(found("surface-not-measured", f"{which}: no location", words, **place))
        if work.measured:  # otherwise its parts say how many
            todo.append(MeasureNext(place["area"] or "", f"1 more location on {which}", words, 1, work.apparatus))
    return Outcome((), tuple(findings), measure_next=tuple(todo))


def _parts_missing(
    view: JobView, profile: AreaProfile, works: Sequence[_Work], required: Required, place: Place
) -> Outcome[Finding]:
    """Find apparatus and periods with fewer locations than they need; those with none at all are left out above."""
    advice = _advice(view, profile)
    alone = len(profile.area.surfaces) == 1
    findings, todo = [], []
    by_name = {work.apparatus: work for work in works}
    for part in required.parts:
        work, missing = by_name[part.apparatus], part.required - part.taken
        if missing <= 0:
            continue
        unplaced = work.unplaced if part.period is not None else 0
        remedy = _in_two(work.crosses(view)) if unplaced else None
        if work.locations or alone:
            words = f"{part.required}: {_reason(required.words, remedy)}"
            findings.append(found("locations-missing", _observed(part, unplaced), words, **place))
        what = f"{counted(missing, 'more location')} on {_named(part)}"
        reason = _reason(required.words, remedy, advice)
        todo.append(MeasureNext(profile.area.id, what, reason, missing, part.apparatus))
    return Outcome((), tuple(findings), measure_next=tuple(todo))


def _in_two(boundary: str | None) -> str:
    return f"enter what was blasted before {boundary} and after it as two entries of the area"


def _reason(*parts: str | None) -> str:
    return "; ".join(part for part in parts if part)


def _observed(part: SamplingPart, unplaced: int) -> str:
    """Return what a part has, and that other locations of its apparatus cannot be counted for it."""
    text = f"{_named(part)}: {counted(part.taken, 'location')}"
    return f"{text}; {counted(unplaced, 'location')} on steel of either period" if unplaced else text


def _named(part: SamplingPart) -> str:
    return part.apparatus if part.period is None else f"{part.apparatus}, {part.period}"


def _advice(view: JobView, profile: AreaProfile) -> str | None:
    """Advise the grade of tape to begin with, where tape is used."""
    rule = view.specification.profile.overlap_rule
    units = [measured.unit for measured in profile.surfaces if measured.gauge.kind == "thickness gauge"]
    if rule is None or not units:
        return None
    limits = profile.requirement.limits
    return advised_grade(limits.minimum, limits.maximum, tape_scheme(rule, units[0])).reason


def _change_findings(profile: AreaProfile, clause: str | None) -> list[Finding]:
    """Find changes of the process whose locations before or after were not measured."""
    have = {(profile.surfaces[one.surface].surface.record.apparatus, one.result.id) for one in profile.regular}
    return [
        found(
            "locations-missing", f"location {location} {when} the change `{change.change}` was not measured",
            "a location before and one after a change of the process", area=profile.area.id,
            location=profile.area.located(surface, location),
            clause=clause,
        )
        for surface in profile.area.surfaces
        for change in surface.record.process_changes
        for when, location in (("before", change.before), ("after", change.after))
        if (surface.record.apparatus, location) not in have
    ]  # fmt: skip
