"""How many locations an area needs and has: each apparatus and each period by itself, whatever the total says."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.metrology.sampling import (
    chance_of_passing,
    locations_after_failures,
    locations_by_area,
    locations_for_changes,
    locations_per_shift,
    locations_per_size,
)
from reportgen.metrology.tape import advised_grade, tape_scheme
from reportgen.names import spelt_alike
from reportgen.results import Finding, Outcome, SamplingPart, Word
from reportgen.results.codes import sampling as codes
from reportgen.results.codes.sampling import BeginWith, FirstAndFurther, PerArea, PerShift, PerSize, Plan
from reportgen.results.facts import Amount, Place
from reportgen.results.values import Chance, Period, PlanMisses
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job import AreaPlan, Sampling
    from reportgen.results import Task
    from reportgen.rules.profile import AreaProfile
    from reportgen.rules.scene import AreaView, JobView, SurfaceView

PERIOD: Final = dt.timedelta(hours=12)
"""A plan per shift counts periods of this length within longer work, from its beginning."""

LOCATION: Final = Quantity(Decimal(225), "cm2")
"""Size of a location, 15 cm by 15 cm: SSPC-PA 17."""

SHARES: Final = (10, 20, 30)
"""Shares of locations that do not conform [%], for which is said how likely the plan misses them."""

OVERRUN: Final = dt.timedelta(minutes=30)
"""A blasting that reaches into another period by no more than this is work of one: our reading, no source."""


@dataclass(frozen=True, slots=True)
class Required:
    """Locations required, by which plan; without both ``lacking`` is what the project does not state.

    ``parts`` are there where several apparatus or periods share the area: none stands for another. Each is ``of`` some
    work. Those ``unsized`` state no size, and by that some may have fewer locations than their share.
    """

    locations: int | None
    plan: Plan | None = None
    lacking: Word | None = None
    parts: tuple[SamplingPart, ...] = ()
    of: tuple[_Work, ...] = ()
    unsized: tuple[_Work, ...] = ()


class _Work:
    """What one apparatus blasted on an area: its surfaces, its periods by number, the locations taken in each.

    Where locations are counted by size, that is what one entry is of, as only an entry has a size.

    What counts is when the steel was blasted, not when it was read. A surface blasted within one period has all its
    locations in it. On one blasted over several, a location read before the first had ended lies on steel of the first;
    any other is of the surface as a whole and counts for none: else steel could be released that nobody measured.
    """

    def __init__(self, view: JobView, surfaces: Sequence[SurfaceView], profile: AreaProfile) -> None:
        self.apparatus = surfaces[0].record.apparatus
        self.surfaces = surfaces
        begin, spans = _begin(view), {id(surface): _periods(view, surface) for surface in surfaces}
        periods = sorted({period for span in spans.values() for period in span})
        self.taken = dict.fromkeys(periods, 0)
        self.failing = dict.fromkeys(periods, 0)
        self.unplaced = 0
        self.measured: set[int] = set()
        for location in profile.regular:
            surface = location.surface.surface
            if id(surface) not in spans:
                continue
            self.measured.add(id(surface))
            span, taken = spans[id(surface)], location.measured.taken
            if len(span) == 1 or (taken is not None and taken[1] <= begin + (span[0] + 1) * PERIOD):
                self.taken[span[0]] += 1
            else:
                self.unplaced += 1
            if location.result.verdict == "does not conform":
                self.failing[span[-1]] += 1  # further tests come after it: in the last period of its surface

    def undone(self, view: JobView, period: int) -> int:
        """Return how many locations of a period were blasted again since: they had been measured, as the plan asks."""
        return sum(len(one.undone) for one in self.surfaces if _periods(view, one)[-1] == period)

    def crosses(self, view: JobView) -> str | None:
        """Return when the first period ended in which a surface was blasted that was also blasted in the next."""
        spans = (_periods(view, surface) for surface in self.surfaces)
        ends = [_begin(view) + (span[0] + 1) * PERIOD for span in spans if len(span) > 1]
        return view.printed(min(ends)) if ends else None

    @property
    def locations(self) -> int:
        """All regular locations on what this apparatus blasted."""
        return sum(self.taken.values()) + self.unplaced

    @property
    def least(self) -> int:
        """Locations that steel needs by any plan; none where those on it were blasted again, which has its own."""
        return 0 if any(one.undone for one in self.surfaces) else 1

    @property
    def changes(self) -> int:
        """Locations needed around the changes of the process."""
        return locations_for_changes(sum(len(surface.record.process_changes) for surface in self.surfaces))


def _begin(view: JobView) -> dt.datetime:
    """Return when the first period begins: with the shift, or with the first blasting that went on into it.

    Steel of an earlier shift that is entered again does not move the periods of this one.
    """
    start = view.shift[0]
    return min((start, *(began for began, ended in (one.blasted for one in view.surfaces) if ended > start)))


def _periods(view: JobView, surface: SurfaceView) -> range:
    """Return the periods in which a surface was blasted; the first or last is none for a few minutes' work."""
    begin, (start, end) = _begin(view), surface.blasted
    first = (start - begin) // PERIOD
    if end <= begin and end - start <= PERIOD:
        return range(first, first + 1)  # of an earlier shift, whose periods began with that
    last = max(first, (end - begin) // PERIOD)
    into_first, into_last = begin + (first + 1) * PERIOD - start, end - (begin + last * PERIOD)
    if first < last and into_last <= min(OVERRUN, into_first):
        last -= 1
    if first < last and into_first <= OVERRUN:
        first += 1
    return range(first, last + 1)


def required_locations(view: JobView, area: AreaView, works: Sequence[_Work]) -> Required:
    """Locations the plan asks for, with those added by failing ones and by changes of the process."""
    plan = view.specification.sampling
    failing = sum(sum(work.failing.values()) for work in works)
    each = plan.additional_per_failing or 0
    more = (each, failing) if failing and each else (None, None)
    if plan.plan == "per-shift-and-apparatus":
        owed, rule, added = _per_shift(view, plan, works)
        total = sum(part.required for part in owed)
        return Required(total, Plan(rule, added, None, *more), parts=_several(owed), of=_by_period(works))
    planned = planned_locations(plan, area.plan)
    if isinstance(planned, Word):
        return Required(None, lacking=planned)
    total, whole = planned
    by_size = total if plan.plan == "area-rate" else 0
    parts, unsized = _by_size(view, by_size, area, works)
    changes = locations_for_changes(sum(len(surface.record.process_changes) for surface in area.surfaces))
    added = (changes,) if changes > total else ()
    total = locations_after_failures(max(total, changes), failing, each)
    least = sum(part.required for part in parts)
    named = Plan(whole, added, 1 if least > total else None, *more)
    return Required(max(total, least), named, parts=_several(parts), of=tuple(works), unsized=unsized)


def _several(parts: tuple[SamplingPart, ...]) -> tuple[SamplingPart, ...]:
    return parts if len(parts) > 1 else ()


def _by_period(works: Sequence[_Work]) -> tuple[_Work, ...]:
    return tuple(work for work in works for _ in work.taken)


def _by_size(
    view: JobView, total: int, area: AreaView, works: Sequence[_Work]
) -> tuple[tuple[SamplingPart, ...], tuple[_Work, ...]]:  # fmt: skip
    """Return what each work owes of locations counted by size, and those that have to state a size."""
    shares, unsized = _shares(total, works, area)
    parts = tuple(
        SamplingPart(work.apparatus, _blasted(view, work, works), max(work.least, work.changes, share), work.locations)
        for work, share in zip(works, shares, strict=True)
    )
    return parts, unsized


def _blasted(view: JobView, work: _Work, works: Sequence[_Work]) -> Period | None:
    """Return when some work was blasted, where other work is of the same apparatus."""
    alike = [one for one in works if spelt_alike(one.apparatus, work.apparatus)]
    return Period(*map(view.printed, work.surfaces[0].blasted)) if len(alike) > 1 else None


def _shares(total: int, works: Sequence[_Work], area: AreaView) -> tuple[list[int], tuple[_Work, ...]]:
    """Return the share of each entry of locations counted by size, rounded down; and those that have to state a size.

    All of them could be measured on the smallest part. One that alone states no size has what the others leave of the
    area. Of several the size has to be known where any of them has fewer locations than all but the last crumb of
    that asks for. Where some was blasted again that alone has one, by what it states: how much is left of the rest
    nobody says.
    """
    whole = area.plan.size
    if whole is None or not whole.exact or not total or len(works) == 1:
        return [0] * len(works), ()
    entries = [one.record for work in works for one in work.surfaces]  # where it counts, each is of one
    sizes = [None if one.cleaned is None else one.cleaned.in_unit(whole.unit) / whole.exact for one in entries]
    if any(one.record.blasted_again or one.record.reinspects for one in area.surfaces):
        return [_share(total, size) if one.blasted_again else 0 for one, size in zip(entries, sizes, strict=True)], ()
    return _shared(total, works, sizes)


def _shared(
    total: int, works: Sequence[_Work], sizes: Sequence[Fraction | None]
) -> tuple[list[int], tuple[_Work, ...]]:  # fmt: skip
    """Return the shares of works each blasted once, of which some state no size; and those, where it matters."""
    rest = max(Fraction(0), 1 - sum(filter(None, sizes), Fraction(0)))
    unsized = tuple(work for work, size in zip(works, sizes, strict=True) if size is None)
    few = _any_may_be_short(unsized, math.ceil(total * rest) - 1)
    own = rest if len(unsized) == 1 else Fraction(0)
    return [_share(total, own if one is None else one) for one in sizes], unsized if few else ()


def _share(total: int, size: Fraction | None) -> int:
    """Return the locations of a part of the area, rounded down; none where nobody says how large it is."""
    return math.floor(total * min(Fraction(1), size or Fraction(0)))


def _any_may_be_short(unsized: Sequence[_Work], most: int) -> bool:
    return len(unsized) > 1 and any(work.locations < most for work in unsized)


def _per_shift(
    view: JobView, plan: Sampling, works: Sequence[_Work]
) -> tuple[tuple[SamplingPart, ...], PerShift, tuple[int, ...]]:
    """Return what each apparatus owes in each of its periods; changes of the process may ask for more in the last."""
    each = plan.locations or 1  # the model refuses a plan without
    over = max(view.shift[1], *(surface.blasted[1] for surface in view.surfaces))
    parts: list[SamplingPart] = []
    around: list[int] = []
    for work in works:
        planned = locations_per_shift(each, 1, len(work.taken))
        if work.changes > planned:
            around.append(work.changes)
        for number, taken in work.taken.items():
            need = each + (max(0, work.changes - planned) if number == max(work.taken) else 0)
            need = locations_after_failures(need, work.failing[number], plan.additional_per_failing or 0)
            need = max(need - work.undone(view, number), min(need, taken))
            start = _begin(view) + number * PERIOD
            period = Period(view.printed(start), view.printed(min(start + PERIOD, over)))
            parts.append(SamplingPart(work.apparatus, period if len(work.taken) > 1 else None, need, taken))
    most = max(len(work.taken) for work in works)
    return tuple(parts), PerShift(each, len(works), most if most > 1 else None), tuple(around)


def planned_locations(plan: Sampling, area: AreaPlan) -> tuple[int, PerArea | PerSize | FirstAndFurther] | Word:
    """Return the locations by a plan that counts the area as a whole; or what the plan needs and nothing states."""
    each = plan.locations or 1  # the model refuses a plan without
    if plan.plan == "fixed":
        return each, PerArea(each)
    length = plan.plan == "length-rate"
    size = area.weld_length if length else area.size
    per = plan.length if length else plan.first_area
    if size is None or per is None or not size.exact:
        return Word("lacking", "weld-length" if length else "size")
    if not length and plan.further_area is not None:
        further = plan.further_locations or 1
        number = locations_by_area(size, per, each, plan.further_area, further)
        return number, FirstAndFurther(each, Amount.of(per), further, Amount.of(plan.further_area))
    return locations_per_size(size, per, each), PerSize(each, Amount.of(per))


def can_miss(locations: int, size: Quantity | None) -> PlanMisses | None:
    """Return the chance that an area of which some share does not conform passes so many locations; None without any.

    Where its size is stated, it has room for so many locations and no more; else, and where more than that were
    measured, it is taken to have room for very many.
    """
    room = None if size is None else size.in_unit(LOCATION.unit) // LOCATION.exact
    possible = None if room is None or room < locations else room
    chances = tuple(Chance(low, _told(chance_of_passing(locations, Fraction(low, 100), possible))) for low in SHARES)
    return PlanMisses(locations, chances, possible, None if possible is not None else room) if locations else None


def _told(chance: Fraction) -> Decimal:
    """Return a probability with two decimals, a small one with its first digit."""
    places = 2
    while chance and not (told := rounded(chance, places)):
        places += 1
    return told if chance else rounded(chance, places)


def sampling_findings(view: JobView, profile: AreaProfile) -> tuple[Required, Outcome[Finding]]:
    """Compare the regular locations of an area with those required, and name what is still to be measured."""
    area, clause = profile.area, view.specification.sampling.clause
    grouped: dict[object, list[SurfaceView]] = {}
    by_size = view.specification.sampling.plan == "area-rate"
    for surface in area.surfaces:
        grouped.setdefault(id(surface) if by_size else surface.record.apparatus, []).append(surface)
    works = [_Work(view, surfaces, profile) for surfaces in grouped.values()]
    for work in works:
        work.measured |= {id(surface) for surface in work.surfaces if surface.undone}
    required = required_locations(view, area, works)
    place, have = Place(area.id), len(profile.regular)
    left = _left_out(view, works, required, place)
    if required.locations is None or required.plan is None:
        assert required.lacking is not None  # noqa: S101 - without a number it is what is lacking
        unknown = codes.LOCATIONS_MISSING.found(codes.PlanUnknown(have, required.lacking), place, clause=clause)
        gap = codes.PLAN_UNKNOWN.at(codes.Lacking(required.lacking), place)
        return required, Outcome(
            (), (*left.findings, unknown), measure_next=left.measure_next, not_evaluated=(gap,)
        )  # fmt: skip
    parts = _parts_missing(view, profile, required, required.plan)
    have_at = {(one.surface.surface.record.apparatus, one.result.id) for one in profile.regular}
    changes = (
        codes.LOCATIONS_MISSING.found(
            codes.ChangeNotMeasured(change.change, Word("change-side", when)),
            Place(area.id, area.located(surface, location)),
            clause=clause,
        )
        for surface in area.surfaces
        for change in surface.record.process_changes
        for when, location in (("before", change.before), ("after", change.after))
        if (surface.record.apparatus, location) not in have_at
    )
    unsized = _unsized(view, required, place)
    findings = [*left.findings, *parts.findings, *unsized.findings, *changes]
    todo = [*parts.measure_next, *left.measure_next, *unsized.measure_next]
    short = required.locations - have - sum(step.count or 0 for step in todo)
    if short > 0:
        facts = codes.AreaShort(have, required.locations, required.plan)
        findings.append(codes.LOCATIONS_MISSING.found(facts, place, clause=clause))
        more = codes.MoreOnArea(required.plan, _advice(view, profile))
        todo.append(codes.MEASURE_AREA.due(more, place, count=short))
    return required, Outcome((), tuple(findings), measure_next=tuple(todo))


def _left_out(view: JobView, works: Sequence[_Work], required: Required, place: Place) -> Outcome[Finding]:
    """Find surfaces blasted and not measured while others of the area were: no location stands for another surface."""
    surfaces = [(work, surface) for work in works for surface in work.surfaces]
    if len(surfaces) == 1:  # it lacks locations, which is said of the area
        return Outcome()
    clause = view.specification.sampling.clause
    findings, todo = [], []
    for work, surface in surfaces:
        if id(surface) in work.measured:
            continue
        owed = sum(part.required for part, of in zip(required.parts, required.of, strict=False) if of is work)
        least = 1 if work.measured else max(1, owed)
        start, end = (view.printed(instant) for instant in surface.blasted)
        facts = codes.Unmeasured(work.apparatus, start, end, least)
        findings.append(codes.SURFACE_NOT_MEASURED.found(facts, place, clause=clause))
        if work.measured:  # otherwise its parts say how many
            todo.append(codes.MEASURE_SURFACE.due(facts, place, count=1, apparatus=work.apparatus))
    return Outcome((), tuple(findings), measure_next=tuple(todo))


def _parts_missing(view: JobView, profile: AreaProfile, required: Required, plan: Plan) -> Outcome[Finding]:
    """Find apparatus and periods with fewer locations than they need; those with none at all are left out above."""
    advice, clause = _advice(view, profile), view.specification.sampling.clause
    alone, place = len(profile.area.surfaces) == 1, Place(profile.area.id)
    findings: list[Finding] = []
    todo: list[Task] = []
    for part, work in zip(required.parts, required.of, strict=False):
        missing = part.required - part.taken
        if missing <= 0:
            continue
        unplaced = work.unplaced if part.period is not None and isinstance(plan.rule, PerShift) else 0
        boundary = work.crosses(view) if unplaced else None
        answers = codes.SURFACE_NOT_MEASURED.name
        if work.locations or alone:
            answers = codes.LOCATIONS_MISSING.name
            short = codes.PartShort(
                part.apparatus, part.period, part.taken, part.required, plan, unplaced or None, boundary
            )  # fmt: skip
            findings.append(codes.LOCATIONS_MISSING.found(short, place, clause=clause))
        more = codes.MoreOnPart(part.apparatus, part.period, plan, boundary, advice)
        todo.append(codes.MEASURE_PART.due(more, place, count=missing, answers=answers, apparatus=part.apparatus))
    return Outcome((), tuple(findings), measure_next=tuple(todo))


def _unsized(view: JobView, required: Required, place: Place) -> Outcome[Finding]:
    """Find entries of an area counted by size of which nobody can tell whether they have their share."""
    clause = view.specification.sampling.clause
    found = [codes.SizeUnstated(one.apparatus, *map(view.printed, one.surfaces[0].blasted)) for one in required.unsized]
    tasks = tuple(codes.STATE_SIZE.due(facts, place, apparatus=facts.apparatus) for facts in found)
    findings = tuple(codes.LOCATIONS_MISSING.found(facts, place, clause=clause) for facts in found)
    return Outcome((), findings, measure_next=tasks)


def _advice(view: JobView, profile: AreaProfile) -> BeginWith | None:
    """Advise the grade of tape to begin with, where tape is used."""
    rule = view.specification.profile.overlap_rule
    units = [measured.unit for measured in profile.surfaces if measured.gauge.kind == "thickness gauge"]
    if rule is None or not units:
        return None
    limits = profile.requirement.limits
    advice = advised_grade(limits.minimum, limits.maximum, tape_scheme(rule, units[0]))
    return BeginWith(Word("tape-grade", advice.grade), Amount.of(advice.middle))
