"""How many locations an area needs, how many it has, and which are missing."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.evaluate.outcome import Outcome, counted, found, shown
from reportgen.metrology.sampling import (
    locations_after_failures,
    locations_by_area,
    locations_for_changes,
    locations_per_shift,
    locations_per_size,
)
from reportgen.metrology.tape import advised_grade, tape_scheme
from reportgen.results import Finding, MeasureNext

if TYPE_CHECKING:
    from reportgen.evaluate.profile import AreaProfile
    from reportgen.evaluate.view import AreaView, JobView
    from reportgen.job import Sampling

PERIOD: Final = dt.timedelta(hours=12)
"""A plan per shift counts periods of this length within a longer shift."""


@dataclass(frozen=True, slots=True)
class Required:
    """Locations required, None where the plan needs something the project does not state, and in words why."""

    locations: int | None
    words: str


def required_locations(view: JobView, area: AreaView, failing: int) -> Required:
    """Locations the plan asks for, with those added by failing ones and by changes of the process.

    ``failing`` is the number of regular locations that do not conform.
    """
    plan = view.specification.sampling
    base = _planned(view, area, plan)
    if base.locations is None:
        return base
    number, words = base.locations, base.words
    changes = locations_for_changes(sum(len(surface.record.process_changes) for surface in area.surfaces))
    if changes > number:
        number, words = changes, f"{words}; {changes} around the changes of the process"
    each = plan.additional_per_failing or 0
    if failing and each:
        number = locations_after_failures(number, failing, each)
        words += f"; {each} more for each of {counted(failing, 'failing location')}"
    return Required(number, words)


def _planned(view: JobView, area: AreaView, plan: Sampling) -> Required:
    """Locations by the plan alone."""
    each = plan.locations or 1  # the model refuses a plan without
    if plan.plan == "fixed":
        return Required(each, f"{counted(each, 'location')} per area")
    if plan.plan == "per-shift-and-apparatus":
        apparatus = len({surface.record.apparatus for surface in area.surfaces})
        periods = _periods(view, area)
        number = locations_per_shift(each, apparatus, periods)
        words = f"{counted(each, 'location')} per shift and apparatus, {apparatus} in use"
        return Required(number, words if periods == 1 else f"{words}, {periods} periods of 12 h")
    return _by_size(area, plan, each)


def _periods(view: JobView, area: AreaView) -> int:
    """Count the 12-hour periods of the shift in which the area was blasted."""
    begin = view.shift[0]
    touched: set[int] = set()
    for surface in area.surfaces:
        start, end = surface.blasted
        last = max(start, end - dt.timedelta(microseconds=1))
        touched.update(range((start - begin) // PERIOD, (last - begin) // PERIOD + 1))
    return max(1, len(touched))


def _by_size(area: AreaView, plan: Sampling, each: int) -> Required:
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
    failing = sum(location.result.verdict == "does not conform" for location in profile.regular)
    required = required_locations(view, area, failing)
    have = len(profile.regular)
    if required.locations is None:
        missing = f"sampling of {area.id}: {required.words}"
        finding = found(
            "locations-missing", f"{counted(have, 'location')}; {required.words}", "sampling plan of the contract",
            area=area.id, clause=clause,
        )  # fmt: skip
        return required, Outcome((), (finding,), not_evaluated=(missing,))
    findings = list(_change_findings(profile, clause))
    todo: list[MeasureNext] = []
    if have < required.locations:
        short = required.locations - have
        observed = counted(have, "location")
        findings.append(
            found("locations-missing", observed, f"{required.locations}: {required.words}", area=area.id, clause=clause)
        )
        reason = "; ".join(part for part in (required.words, _advice(view, profile)) if part)
        todo.append(MeasureNext(area.id, counted(short, "more location"), reason, short))
    return required, Outcome((), tuple(findings), measure_next=tuple(todo))


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
    have = {location.result.id for location in profile.regular}
    return [
        found(
            "locations-missing", f"location {location} {when} the change `{change.change}` was not measured",
            "a location before and one after a change of the process", area=profile.area.id, location=location,
            clause=clause,
        )
        for surface in profile.area.surfaces
        for change in surface.record.process_changes
        for when, location in (("before", change.before), ("after", change.after))
        if location not in have
    ]  # fmt: skip
