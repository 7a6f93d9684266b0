"""What every page author needs at hand: the job, its evaluation, the issue, words, page width, the common scale."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from operator import itemgetter
from typing import TYPE_CHECKING, Any, NamedTuple
from zoneinfo import ZoneInfo

from reportgen.charts import ProfileScale, profile_scale
from reportgen.measurements import LOGS, MEASUREMENTS, OF_A_SURFACE
from reportgen.measurements.shown_by import shown_by, unnamed_in
from reportgen.results.facts import Word
from reportgen.units import DISPLAY, Quantity, render_quantity
from reportgen.words.numbers import number, shown_unit, zone_text
from reportgen.words.sentences import Sentences, amount_text, sentences

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from reportgen.job import Job, Surface
    from reportgen.job.template import Template
    from reportgen.measurements import Measurement
    from reportgen.pdf.pictures import Pictures
    from reportgen.report.issue import Issue
    from reportgen.report.requirements import Requirements
    from reportgen.results import Amount, AreaResult, DerivationStep, Evaluation, Finding, SpotResult, Task
    from reportgen.rules.scene import AreaView, JobView
    from reportgen.words.catalogue import Words

    Derivation = Mapping[str, Sequence[DerivationStep]]

# printed in brackets behind a limit: the other unit and its decimals
_OTHER = {
    "mil": ("um", 0), "um": ("mil", 1), "degC": ("degF", 1), "degF": ("degC", 1),
    "delta_degC": ("delta_degF", 1), "delta_degF": ("delta_degC", 1),
    "mg/m2": ("ug/cm2", 1), "ug/cm2": ("mg/m2", 0), "m2": ("ft2", 0), "ft2": ("m2", 0),
}  # fmt: skip

_PRINTED_IN_ANOTHER = frozenset({"ug/cm2"})
"""Units of limits of which the results are printed in the other one: the limit is given in both."""
_WHOLE = frozenset({"degC", "degF"})
"""Units without decimals where there are none: 5 °C is 41 °F, and 4 °C is 39.2 °F, below which 39.1 °F lies."""


class Steel(NamedTuple):
    """What an entry blasted: when that ended, when it was primed, from when it was blasted again."""

    entry: Surface
    ended: dt.datetime
    coated: dt.datetime | None
    gone: dt.datetime | None


class Bare(NamedTuple):
    """What an entry blasted and is bare, which part that is where it is not all, until when to prime it, if passed."""

    entry: Surface
    part: str
    until: str
    past: bool


@dataclass(frozen=True)
class Context:
    """All that pages are made from. ``width`` and ``height`` of the text area in points.

    ``derivation`` has the steps behind every value, by area; ``pictures`` are printed in place of the job's originals.
    """

    job: Job
    evaluation: Evaluation
    issue: Issue
    template: Template
    words: Words
    width: float
    height: float
    pictures: Pictures
    derivation: Derivation

    @cached_property
    def surfaces(self) -> Mapping[str, list[Surface]]:
        """What was blasted, by area."""
        found = defaultdict(list)
        for surface in self.job.day.surfaces:
            found[surface.area].append(surface)
        return found

    @cached_property
    def replaced(self) -> frozenset[int]:
        """The entries, by identity, that were blasted again as a whole: what they say of the steel no longer counts."""
        return frozenset(id(self.job.day.surfaces[index]) for index in self._view.again)

    @cached_property
    def _view(self) -> JobView:
        """The job with the entries that stand."""
        from reportgen.rules.scene import as_evaluated

        return as_evaluated(self.job, self.evaluation, self.issue.at)

    @cached_property
    def _areas(self) -> Mapping[str, AreaView]:
        """The areas with the entries that stand, by id: a day may have thousands."""
        return {one.id: one for one in self._view.areas}

    @cached_property
    def used(self) -> frozenset[str]:
        """Instruments and rolls of tape with a reading of the day, of steel that was blasted again since too.

        Where a reading does not say by what, every instrument that it may be of.
        """
        day = self.job.day
        tests = [(kind, one) for kind in MEASUREMENTS for each in day.surfaces for one in kind.entries_on(each)]
        used = {name for condition in day.conditions for name in condition.instruments}
        used |= {surface.profile.gauge for surface in day.surfaces if surface.profile is not None}
        used |= {check.gauge for check in day.tape_checks}
        used |= {one.instrument for kind, one in tests if kind.instruments and one.instrument is not None}
        used |= {one.instrument for one in day.abrasive_checks if one.instrument is not None}
        checks = [(log, one) for log in LOGS if log.subject for one in log.entries_in(day) if log.instruments]
        measured = [(kind, one) for kind, one in tests if kind.instruments]
        measured += [(log, one) for log, one in checks if one.conductivity is not None]
        unnamed = {tool for kind, one in measured if one.instrument is None for tool in kind.may_show(one)}
        tools = self.job.project.instruments
        lacking = ((one, field) for one in day.conditions for field in unnamed_in(one, tools))
        used |= {name for one, field in lacking for name in shown_by(one, field, tools)}
        used |= {key for key, tool in tools.items() if tool.kind in unnamed}
        return frozenset(used) | {one.roll for some in self.job.readings for one in some if one.roll is not None}

    @cached_property
    def requirements(self) -> Requirements:
        """What the contract requires, against what was found."""
        from reportgen.report.requirements import Requirements

        return Requirements(self)

    @cached_property
    def unseen(self) -> Mapping[str, str]:
        """Why an area was not inspected, by area."""
        found: dict[str, str] = {}
        for missed in self.job.day.not_inspected:
            found.setdefault(missed.area, missed.reason)
        return found

    def primed(self, area: str) -> str:
        """When an area was primed, as printed; empty where a part of it was not."""
        times = self._primers(area)
        printed = (self.printed(at) for at in times if at is not None)
        return ", ".join(dict.fromkeys(printed)) if times and all(times) else ""

    def primed_in_part(self, area: str) -> str:
        """When a part of an area was primed, as printed; empty where none was."""
        return ", ".join(dict.fromkeys(self.printed(at) for at in self._primers(area) if at is not None))

    def _primers(self, area: str) -> list[dt.datetime | None]:
        """When each entry of an area that stands was primed."""
        return [at for _, at in self.standing(area)]

    def standing(self, area: str) -> list[tuple[Surface, dt.datetime | None]]:
        """The entries of an area that were not blasted again, with when each was primed."""
        view = self._view
        entered = ((at, one) for at, one in enumerate(self.job.day.surfaces) if one.area == area)
        return [(one, view.coated(at)) for at, one in entered if at not in view.again]

    def judged(self, kind: Measurement[Any, Any, Any], area: str) -> list[tuple[Surface | None, Any, Any]]:
        """Each result of a kind on an area with the entry and the test it is of; None where these do not tell."""
        results = [each for each in getattr(self.evaluation, kind.key) if each.area == area]
        lacking = (None,) if kind in OF_A_SURFACE else ()
        made = [(entry, test) for entry, _ in self.standing(area) for test in kind.entries_on(entry) or lacking]
        of = made if len(made) == len(results) else [(None, None)] * len(results)
        return [(entry, test, result) for (entry, test), result in zip(of, results, strict=True)]

    def steel(self, area: str) -> list[Steel]:
        """What each entry of an area blasted, as far as that is known: since when, and until when it was open."""
        view, clock = self._view, self.job.clock
        entered = [(at, one) for at, one in enumerate(self.job.day.surfaces) if one.area == area and one.steel_known]
        return [
            Steel(one, clock.instant(one.blasted.end), view.coated(at), view.gone.get(at) if at in view.again else None)
            for at, one in entered
        ]

    @property
    def moment_known(self) -> dt.datetime:
        """The last moment of which the report knows: that of issue while the shift lasts, else its end or later."""
        return self._view.moment

    def printed(self, moment: dt.datetime) -> str:
        """An instant by the clock on site, as all times of the report: its date where that is not the report's."""
        return self._view.printed(moment)

    def at(self, clock: dt.time | dt.datetime) -> str:
        """A time as entered, as printed."""
        return self.printed(self.job.clock.instant(clock))

    def moment(self, at: str) -> dt.datetime:
        """The instant of a time as printed, on the clock of the site."""
        zone = ZoneInfo(self.job.clock.zone)
        date, _, clock = at.rpartition(" ")
        moment = dt.datetime.fromisoformat(f"{date or self.job.day.report.date.isoformat()} {clock}")
        return moment.astimezone(zone) if moment.tzinfo else moment.replace(tzinfo=zone)  # an offset may follow

    def in_full(self, moment: dt.datetime) -> str:
        """An instant by the clock on site with date and zone, for what is read away from its report."""
        local = moment.astimezone(ZoneInfo(self.job.clock.zone))
        return f"{local:%Y-%m-%d %H:%M} {zone_text(local)}"

    def primed_at(self, entry: Surface) -> str:
        """When an entry was primed, as printed: also where that stands in the entry of what was blasted off before."""
        known = next((at for one, at in self.standing(entry.area) if one is entry), None)
        if known is not None:
            return self.printed(known)
        return "" if entry.coated is None else self.at(entry.coated)

    def is_of_primer(self, finding: Finding, entry: Surface) -> bool:
        """Whether a finding is about the conditions while an entry was primed; of all where it does not tell."""
        from reportgen.rules.surfaces_told import work_of

        work = getattr(finding.facts, "work", None)
        if not isinstance(work, Word) or "coating" not in work.key:
            return False
        area = self._areas.get(entry.area)
        known = [] if area is None else work_of(finding, area, self._view)
        return not known or any(one.record is entry and window.activity == "coating" for one, _, window in known)

    def parts_of(self, area: str, findings: Sequence[Finding]) -> str:
        """The parts of an area that findings are of, in words; empty where they are of all of it."""
        from reportgen.rules.coating import parts_of

        return ", ".join(map(self.said.shown, parts_of(self._view, area, findings)))

    def primed_since(self, task: Task, about: Sequence[Finding]) -> str | None:
        """When all steel was primed that a task asks to be measured bare, as printed; None of any other task."""
        from reportgen.rules.primed_since import primed_since

        return primed_since(self._view, task, about)

    def on_refuted_slip(self, area: AreaResult, entry: Surface) -> bool:
        """Whether an entry was primed on a release slip, and its steel is not released after all."""
        from reportgen.rules.coating import coated_on_refuted_slip

        slips = any(one.area == area.id for one in self.job.slips)
        return slips and coated_on_refuted_slip(self._view, area, self.evaluation.findings, entry)

    def bare(self, area: str) -> Sequence[Bare]:
        """The bare steel of an area whose time had not passed when the shift ended, first what is to be primed first.

        None of an area to be reworked: nobody primes that by any time.
        """
        from reportgen.rules.coating import part_of, still_to_coat

        if area in self._reworked or all(at is not None for at in self._primers(area)):
            return ()
        view, here = self._view, self._areas[area]
        ends = sorted(still_to_coat(view, here), key=itemgetter(1))
        whole = len(ends) == len(here.surfaces) and len({end for _, end in ends}) == 1
        return [
            Bare(one.record, "" if whole else self.said.shown(part_of(view, here, one)), self.printed(end),
                 self.is_past(end)) for one, end in ends
        ]  # fmt: skip

    @cached_property
    def _reworked(self) -> frozenset[str]:
        return frozenset(one.id for one in self.evaluation.areas if one.decision == "rework")

    def coat_by(self, area: str) -> str:
        """Until when to prime the bare steel of an area that is to be primed first, or that this has passed."""
        return next(
            (self.words("shift.passed" if one.past else "areas.by", time=one.until) for one in self.bare(area)), ""
        )

    def passed(self, area: str) -> str:
        """That the limit of bare steel passed before the report was issued, of which its log says nothing; else empty.

        The primer may have come in time after the shift: what the report was issued upon does not tell.
        """
        found: dict[str, list[str]] = {}
        for one in (one for one in self.bare(area) if one.past):
            found.setdefault(one.until, []).extend([one.part] if one.part else [])
        return "; ".join(": ".join(filter(None, (", ".join(of), self.has_passed(at)))) for at, of in found.items())

    def has_passed(self, until: str) -> str:
        """That a limit, as printed, passed before the report was issued."""
        return self.words("other.passed", time=until, issued=self.printed(self.issue.at))

    def is_past(self, until: dt.datetime) -> bool:
        """Whether a moment had passed when the report was issued; a draft is not issued."""
        return self.issue.status != "draft" and until < self.issue.at.replace(second=0, microsecond=0)

    def seen_grades(self, area: AreaResult) -> str:
        """The grades seen at the locations of the plan, each with how often; empty without a comparison."""
        seen = Counter(one.observed for one in area.locations if one.observed is not None and one.walk_out is None)
        return ", ".join(f"{self.said.graded(grade)} × {count}" for grade, count in seen.items())

    @cached_property
    def findings(self) -> Mapping[str | None, list[Finding]]:
        """The findings of the evaluation, by area."""
        found = defaultdict(list)
        for finding in self.evaluation.findings:
            found[finding.area].append(finding)
        return found

    @cached_property
    def scale(self) -> ProfileScale | None:
        """The scale of every strip and chart of profiles; None where there is nothing to show."""
        stated = self.job.project.specification.profile
        unit = next((limit.unit for limit in (stated.minimum, stated.maximum) if limit), "")
        if not unit and self.evaluation.areas:
            unit = self.evaluation.areas[0].unit
        low, high = (
            limit.magnitude if limit and isinstance(limit.magnitude, Decimal) else None
            for limit in (stated.minimum, stated.maximum)
        )
        shown = [value for area in self.evaluation.areas for value in spot_profiles(area)]
        for location in (each for area in self.evaluation.areas for each in area.locations):
            if location.profile is not None:
                shown.append(location.profile)
            if location.profile is not None and (about := location.expanded_uncertainty) is not None:
                shown += [max(Decimal(0), location.profile - about), location.profile + about]
        return profile_scale(shown, low, high, unit)

    @cached_property
    def unit(self) -> str:
        """The unit of that scale as printed."""
        return shown_unit(self.scale.unit) if self.scale else ""

    @cached_property
    def said(self) -> Sentences:
        """Sentences in the language of the report."""
        said = sentences(self.words.language)
        return said if self.words.borrowed is None else said.noting(self.words.borrowed)

    @cached_property
    def said_of_limits(self) -> Sentences:
        """The same sentences, amounts in both unit systems where the template asks for it."""
        return self.said.showing(lambda one: self.limit(Quantity(one.value, one.unit)))

    def limit_of(self, kind: Measurement[Any, Any, Any], limit: Any, *, whole: bool = False) -> str:
        """The contract's limit of a kind of measurement; ``whole`` says all of it, else in short."""
        said = self.said_of_limits
        group = "whole-limit" if whole and said.knows("whole-limit", kind.key) else "limit"
        return said.say(group, kind.key, kind.limit_facts(limit)) or "–"

    def required_of(self, kind: Measurement[Any, Any, Any], limit: Any) -> str:
        """The same limit in short beside a result: in the unit of that too, where the contract states another."""

        def beside(one: Amount) -> str:
            both = one.unit in _PRINTED_IN_ANOTHER
            return self.limit(Quantity(one.value, one.unit)) if both else amount_text(one)

        return self.said.showing(beside).say("limit", kind.key, kind.limit_facts(limit))

    def topic_name(self, topic: str) -> str:
        """Name of a requirement's topic; that of a kind of measurement stands in its own catalogue."""
        return self.said.name(topic) or self.words(f"required.{topic}")

    def finding_name(self, code: str) -> str:
        """Name of a finding code, as short as a heading."""
        own = self.said.knows("finding", code)
        return self.said.say("finding", code) if own else self.words.named("finding", code)

    def clause(self, clause: str | None) -> str:
        """A clause of the contract behind what it asks for; empty where none is stated."""
        return f" · {self.words('clause', clause=clause)}" if clause else ""

    def left_out(self, what: Iterable[Any]) -> list[str]:
        """A sentence on all that nothing has judged; none where that is nothing."""
        told = "; ".join(self.said.left_out(one) for one in what)
        return [self.words("not-evaluated", what=told)] if told else []

    def area_name(self, area_id: str) -> str:
        """Name of an area with its structure's, or the id when the project has none of that id."""
        try:
            structure, area = self.job.project.area(area_id)
        except KeyError:
            return area_id
        return f"{structure.name}, {area.name}"

    def person(self, person_id: str) -> str:
        """Name of a person, with organisation when stated."""
        person = self.job.project.people.get(person_id)
        if person is None:
            return person_id
        return person.name if person.organisation is None else f"{person.name}, {person.organisation}"

    def limit(self, quantity: Quantity) -> str:
        """A limit as the contract states it, with the other unit system in brackets where the template asks for it."""
        return f"{quantity}{self._bracket([quantity])}"

    def limits(self, minimum: Quantity | None, maximum: Quantity | None) -> str:
        """A range with one or two limits, in words of the catalogue, units once, the other system in brackets."""
        if minimum is not None and maximum is not None and minimum.unit == maximum.unit:
            return f"{number(minimum)}–{maximum}{self._bracket([minimum, maximum])}"
        parts = [
            self.words(key, limit=self.limit(limit))
            for key, limit in (("limit.at-least", minimum), ("limit.at-most", maximum))
            if limit is not None
        ]
        return ", ".join(parts)

    def _bracket(self, quantities: Iterable[Quantity]) -> str:
        listed = list(quantities)
        other = _OTHER.get(listed[0].unit)
        if other is None or (self.template.units != "both" and listed[0].unit not in _PRINTED_IN_ANOTHER):
            return ""
        unit, places = other
        if unit in _WHOLE and all(quantity.in_unit(unit).denominator == 1 for quantity in listed):
            places = 0
        texts = [render_quantity(quantity.to(unit), places) for quantity in listed]
        shown = DISPLAY.get(unit, unit)
        return f" ({'–'.join([*(text.removesuffix(f' {shown}') for text in texts[:-1]), texts[-1]])})"


def area_bookmark(area: str) -> str:
    """Bookmark of an area's section."""
    return f"area-{area}"


def spot_profiles(area: AreaResult) -> list[Decimal]:
    """Profiles of all spots of an area, in order."""
    return [spot.profile for spot in spots_of(area) if spot.profile is not None]


def spots_of(area: AreaResult) -> list[SpotResult]:
    """All spots of an area, in order."""
    return [spot for location in area.locations for spot in location.spots]
