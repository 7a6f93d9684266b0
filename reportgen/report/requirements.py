"""What the contract requires against what was found: each finding in full, or the result closest to the limit."""

from __future__ import annotations

from functools import cached_property
from itertools import chain, starmap
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE
from reportgen.pdf.blocks import running_text
from reportgen.pdf.styles import BOLD, DENSE, INK, LABEL, MUTED, REGULAR
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.textlines import Run, text_width
from reportgen.report.method import BEYOND_UNCERTAINTY
from reportgen.report.tables import cell, lowest, section, table
from reportgen.report.verdicts import in_ranges, worst
from reportgen.results.codes import coating, comparator, profile, sampling
from reportgen.results.codes.doubts import ENTRY_DOUBTFUL, DoubtedEntry
from reportgen.results.codes.records import TimesInDoubt
from reportgen.results.facts import Amount
from reportgen.results.statements import Code, statements_of
from reportgen.rules.release import effect_of
from reportgen.rules.requirement import requirement_of
from reportgen.words.numbers import digits, typeset

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from reportgen.measurements import Measurement
    from reportgen.measurements.slice import Side
    from reportgen.pdf.flow import Flowable
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, Finding, LocationResult

_READ = frozenset({"air", "humidity", "steel", "steel-warmest"})
_SHARES = 0.53, 0.6, 0.46, 0.68
"""Of the width, of what is required, beside what was found: whichever takes less height."""
_NAMED = 6  # areas named in a cell; of more it says how many
TOLD_BELOW = frozenset({"nonconformance-open"})
"""Findings that have their full place with the nonconformance itself."""


def _codes(module: Any) -> frozenset[str]:
    return frozenset(one.name for one in statements_of(module) if isinstance(one, Code))


_OF_THE_PROFILE, _OF_THE_SAMPLE = _codes(profile) | {comparator.GRADE_NOT_MET.name}, _codes(sampling)
_OF_THE_TIME = frozenset({coating.TIME_EXCEEDED.name, coating.OVERDUE.name})


class RequirementRow(NamedTuple):
    """One row: what is required under which clause, how it is judged, how much conforms, and where it does not."""

    topic: str
    label: str
    limit: str
    clause: str | None
    rule: str
    verdict: str
    conform: str
    found: list[Run]


def finding_bookmark(context: Context, finding: Finding) -> str:
    """Where on the pages a finding stands in full."""
    if finding.code in TOLD_BELOW:
        return "nonconformances"
    return f"requirement-{context.requirements.topic_of(finding)}"


class Requirements:
    """The rows of a report, and under which of them each finding stands."""

    def __init__(self, context: Context) -> None:
        self.context, self.words, self.said = context, context.words, context.said
        self.stated, self.evaluation = context.job.project.specification, context.evaluation
        self.findings = [one for one in self.evaluation.findings if one.code not in TOLD_BELOW]

    @cached_property
    def topics(self) -> dict[str, tuple[str, frozenset[str]]]:
        """By topic its label and the codes of findings that miss it; of a kind with several limits each of them."""
        first = {key: one for kind in OF_A_SURFACE for key, one in self._sides(kind)}
        rest = {key: one for kind in MEASUREMENTS if kind not in OF_A_SURFACE for key, one in self._sides(kind)}
        profile_and_sample = {
            "profile": (self.words("required.profile"), _OF_THE_PROFILE),
            "sampling": (self.words("required.sampling"), _OF_THE_SAMPLE),
        }
        time = {"time": (self.words("required.time"), _OF_THE_TIME)} if self.stated.time_to_coat is not None else {}
        return {**first, **profile_and_sample, **rest, **time}

    def _sides(self, kind: Measurement[Any, Any, Any]) -> Iterator[tuple[str, tuple[str, frozenset[str]]]]:
        limit = getattr(self.stated, kind.limit_key)
        if limit is None:
            return
        sides = [side for side in kind.sides if getattr(limit, side.limit) is not None] if _several(kind) else []
        every = frozenset(one.name for one in kind.statements if isinstance(one, Code))
        if not sides:
            yield kind.key, (self.context.topic_name(kind.key), every)
        for side in sides:  # what misses none of them stands with the first
            yield f"{kind.key}.{side.limit}", (self.words(f"required.{side.limit}"), every)
            every = frozenset()

    @cached_property
    def _limits(self) -> list[tuple[str, Side]]:
        """The limits that stand in a row of their own, with its topic."""
        several = [(kind, side) for kind in MEASUREMENTS if _several(kind) for side in kind.sides]
        named = [(f"{kind.key}.{side.limit}", side) for kind, side in several]
        return [(topic, side) for topic, side in named if topic in self.topics]

    def topic_of(self, finding: Finding) -> str:
        """The topic under which a finding stands: that of its requirement, else its own code."""
        own = (topic for topic, side in self._limits if side.misses(finding))
        by_code = (topic for topic, (_, codes) in self.topics.items() if finding.code in codes)
        return next(chain(own, by_code), finding.code)

    def rows(self) -> Iterator[RequirementRow]:
        """Every row: the requirements of the contract, then findings that miss none of them by their own name."""
        by_topic: dict[str, list[Finding]] = {topic: [] for topic in self.topics}
        for finding in self.findings:
            by_topic.setdefault(self.topic_of(finding), []).append(finding)
        makers: dict[str, Callable[[list[Finding]], RequirementRow]] = {
            "profile": self._profile, "sampling": self._sampling, "time": self._time,
        }  # fmt: skip
        kinds = {kind.key: kind for kind in MEASUREMENTS}
        for topic, found in by_topic.items():
            kind, _, side = topic.partition(".")
            if topic in makers:
                yield makers[topic](found)
            elif topic in self.topics:
                yield self._measured(kinds[kind], side, found)
            else:
                yield self._by_itself(topic, found)

    def _row(
        self, topic: str, limit: str, clause: str | None, rule: str, verdicts: Iterable[str], found: list[Finding],
        closest: str,
    ) -> RequirementRow:  # fmt: skip
        """A row of so many verdicts; what was found, or the result closest to the limit where nothing was."""
        listed = list(verdicts)
        effects = {effect_of(one) for one in found}
        noticed = ["does not conform"] if "fails" in effects else ["inconclusive"] if found else []
        conform = self.words("areas.of", conform=listed.count("conforms"), planned=len(listed)) if listed else "–"
        told = self.told(found) if found else [Run(closest or self.words("required.no-data"), REGULAR, INK)]
        label, _ = self.topics[topic]
        return RequirementRow(topic, label, limit, clause, rule, worst([*listed, *noticed]), conform, told)

    def told(self, found: Iterable[Finding]) -> list[Run]:
        """Findings in full, with the number of the nonconformance, each after the ids of the areas it is so of."""
        runs: list[Run] = []
        by_area: dict[str | None, list[Finding]] = {}
        for one in found:
            by_area.setdefault(one.area, []).append(one)
        alike: dict[str, list[str]] = {}
        for area, own in by_area.items():
            under: dict[str | None, dict[str, list[str]]] = {}
            for one in own:  # a nonconformance stands behind what it covers, and what is alike stands once
                texts = under.setdefault(one.nonconformance, {})
                places = texts.setdefault(typeset(self.said.observed(one)), [])
                places += [one.location] if one.location and one.location not in places else []
            told = (
                " · ".join(filter(None, ("; ".join(starmap(self._observed, some.items())), raised)))
                for raised, some in under.items()
            )
            alike.setdefault("; ".join(told), []).extend([area] if area else [])
        for text, areas in alike.items():
            runs += [Run(("\n" if runs else "") + ", ".join(areas), BOLD, INK)] if areas else []
            runs.append(Run((" " if areas else "\n" if runs else "") + text, REGULAR, INK))
        return runs

    def _observed(self, text: str, places: list[str]) -> str:
        """What was found, after the locations where it was."""
        key = "location" if len(places) == 1 else "locations"
        return f"{typeset(self.words(key, location=in_ranges(places)))}: {text}" if places else text

    def _measured(self, kind: Measurement[Any, Any, Any], limited: str, found: list[Finding]) -> RequirementRow:
        limit, results = getattr(self.stated, kind.limit_key), getattr(self.evaluation, kind.key)
        method = self.said.say("method", kind.key, kind.limit_facts(limit))
        if limited:
            side = next(one for one in kind.sides if one.limit == limited)
            first = next(topic for topic in self.topics if topic.startswith(f"{kind.key}.")) == f"{kind.key}.{limited}"
            return self._limited(kind, side, method if first else self.words("required.as-above"), found)
        whole = self.context.limit_of(kind, limit, whole=True)
        failed = [each for each in results if each.verdict == "does not conform"]  # though no area has to do with it
        closest = self._closest(kind, kind.sides[0], failed or results) if kind.sides else ""
        return self._row(kind.key, whole, limit.clause, method, [each.verdict for each in results], found, closest)

    def _limited(self, kind: Measurement[Any, Any, Any], side: Side, rule: str, found: list[Finding]) -> RequirementRow:
        """One limit of several of a kind: of a reading its findings say which of them it misses or leaves open.

        One that is not known to conform, and of which no finding says why, is open under each.
        """
        limit, results = getattr(self.stated, kind.limit_key), getattr(self.evaluation, kind.key)
        working = [one for one in results if getattr(one, "during", True)]  # the limits are those of work
        verdicts = [one for one in self._verdicts(kind, side, working) if one != "not evaluated"]
        usual = "limit.at-least" if side.least else "limit.at-most"
        key = f"limit.{side.limit}" if self.words.knows(f"limit.{side.limit}") else usual
        text = self.words(key, limit=self.context.limit(getattr(limit, side.limit)))
        closest = self._closest(kind, side, results) if side.value else self.words("required.kept")
        row = self._row(f"{kind.key}.{side.limit}", text, limit.clause, rule, verdicts, found, closest)
        if verdicts and all(effect_of(one) == "none" for one in found):  # told, and of no work
            row = row._replace(verdict=worst(verdicts))
        return row if side.value else row._replace(conform="–")

    def _verdicts(self, kind: Measurement[Any, Any, Any], side: Side, results: Sequence[Any]) -> Iterator[str]:
        told = self._noted(kind, side)
        for each in results:
            noted = told.get((each.time, each.place), told.get((each.time, None), None if side.value else "conforms"))
            if side.value and noted == "conforms" != each.verdict and self._in_doubt(each):
                noted = "inconclusive"  # as where nothing else is found on it
            if noted is not None or getattr(each, side.value) is not None:
                yield noted or each.verdict

    def _noted(self, kind: Measurement[Any, Any, Any], side: Side) -> dict[tuple[str | None, str | None], str]:
        """What findings say of a limit, by the time and place of the reading: it conforms where they name others."""
        said: dict[tuple[str | None, str | None], list[str]] = {}
        codes = _codes(kind.codes)
        for one in (each for each in self.findings if each.code in codes):
            open_ = effect_of(one) == "holds" or getattr(one.facts, "asked", None) is not None
            missed = "inconclusive" if open_ else "does not conform"
            at = (one.place.time, getattr(one.facts, "taken_at", None))
            said.setdefault(at, ["conforms"]).append(missed if side.misses(one) else "conforms")
        return {at: worst(verdicts) for at, verdicts in said.items()}

    def _in_doubt(self, reading: Any) -> bool:
        """Whether a reading is asked about, or a failed check on site reaches its time: it conforms in no row then."""
        return (reading.time, reading.place) in self._asked or reading.time in self._reached

    @cached_property
    def _asked(self) -> frozenset[tuple[str | None, str | None]]:
        told = ((one.place.time, one.facts) for one in self.findings if one.code == ENTRY_DOUBTFUL.name)
        return frozenset(
            (at, facts.where) for at, facts in told if isinstance(facts, DoubtedEntry) and facts.entry.key in _READ
        )

    @cached_property
    def _reached(self) -> frozenset[str]:
        doubts = (getattr(one.facts, "doubt", None) for one in self.findings)
        return frozenset(time for one in doubts if isinstance(one, TimesInDoubt) for time in one.times)

    def _closest(self, kind: Measurement[Any, Any, Any], side: Side, results: Iterable[Any]) -> str:
        """The result closest to a limit, with its place."""
        valued = [each for each in results if getattr(each, side.value) is not None]
        if not valued:
            return next((self.said.say("result", kind.key, kind.result_facts(each)) for each in results), "")
        closest = (min if side.least else max)(valued, key=lambda each: getattr(each, side.value))
        if side.unit:
            unit = getattr(closest, side.unit, side.unit)
            told = self.said.shown(Amount(getattr(closest, side.value), unit))
            expanded = getattr(closest, side.uncertainty) if side.uncertainty else None
            told += f" ± {self.said.shown(Amount(expanded, unit))}" if expanded is not None else ""
        else:
            told = typeset(self.said.say("result", kind.key, kind.result_facts(closest)))
        names = [getattr(closest, name, None) for name in ("area", kind.subject or "place", "time")]
        return f"{', '.join(filter(None, names))}: {told}"

    def _profile(self, found: list[Finding]) -> RequirementRow:
        stated = self.stated.profile
        key = "required.comparisons" if stated.kind == "comparator" else "required.spots"
        spots = self.words(key, count=stated.readings_needed)
        rule = f"{stated.method} ({stated.edition}); {spots}"
        every = [(area, one) for area in self.evaluation.areas for one in area.locations]
        told = self._untold(every, found)
        closest = min(every, key=lambda each: self._room(each[1]), default=None)
        if not (told or found) and closest is not None:
            told = self._located(*closest)
        limits, verdicts = profile_limits(self.context), [one.verdict for _, one in every]
        row = self._row("profile", limits, stated.clause, rule, verdicts, found, told)
        return row._replace(found=[*row.found, Run(f"\n{told}", REGULAR, INK)]) if found and told else row

    def _untold(self, every: list[tuple[AreaResult, LocationResult]], found: list[Finding]) -> str:
        """The locations that do not conform and that no finding names, such as those of a walk-out."""
        named = {(one.area, one.location) for one in found} | {(one.area, None) for one in found if not one.location}
        left = [
            self._located(area, one)
            for area, one in every
            if one.verdict != "conforms" and not {(area.id, area.located(one)), (area.id, None)} & named
        ]
        more = [self.words("required.more", count=len(left) - _NAMED)] if len(left) > _NAMED else []
        return "; ".join([*left[:_NAMED], *more])

    def _located(self, area: AreaResult, location: LocationResult) -> str:
        """A location with what was found there, and that it is of a walk-out."""
        value = location.observed and self.said.graded(location.observed)
        if value is None:
            expanded = location.expanded_uncertainty
            beside = "" if expanded is None else f" ± {digits(expanded)}"
            value = f"{digits(location.profile)}{beside} {self.context.unit}"
        walked = "" if location.walk_out is None else f" ({self.words('fact.walk-out')})"
        return f"{area.id}, {self.words('location', location=area.located(location))}{walked}: {value}"

    def _room(self, location: LocationResult) -> float:
        """How far the profile of a location is from the nearer limit."""
        if self.context.scale is None or location.profile is None:
            return 0.0
        low, high = self.context.scale.minimum, self.context.scale.maximum
        rooms = [location.profile - low] if low is not None else []
        return float(min([*rooms, *([high - location.profile] if high is not None else [])], default=0))

    def _sampling(self, found: list[Finding]) -> RequirementRow:
        stated = self.stated.sampling
        counts = {"count": stated.locations, "area": stated.first_area, "length": stated.length}
        plan = self.words(f"sampling.{stated.plan}", **counts)
        if stated.further_area is not None:
            plan += self.words("sampling.further", count=stated.further_locations, area=stated.further_area)
        lacking = {one.area for one in found if effect_of(one) != "none"}
        planned = [area for area in self.evaluation.areas if area.required_locations is not None]
        verdicts = ["inconclusive" if area.id in lacking else "conforms" for area in planned]
        least = min(map(_spare, planned), default=0)
        alike: dict[tuple[int, int | None], list[str]] = {}
        for area in (one for one in planned if _spare(one) == least):
            alike.setdefault((area.n_locations, area.required_locations), []).append(area.id)
        told = "; ".join(
            self.words("required.taken", ids=self._ids(ids), taken=taken, required=required)
            for (taken, required), ids in alike.items()
        )
        return self._row("sampling", plan, stated.clause, self.words("required.counted"), verdicts, found, told)

    def _ids(self, ids: list[str]) -> str:
        """Areas by their ids, or where they are many how many they are."""
        return ", ".join(ids) if len(ids) <= _NAMED else self.words("required.areas", count=len(ids))

    def _time(self, found: list[Finding]) -> RequirementRow:
        stated, results = self.stated.time_to_coat, self.evaluation.coating_times
        assert stated is not None  # noqa: S101 - the topic is there where it is stated
        primed = [each for each in results if each.hours is not None]
        longest = max(primed, key=lambda each: each.hours or 0, default=None)
        bare = [each.area for each in results if each.hours is None]
        bare = [area for area in dict.fromkeys(bare) if area not in {one.area for one in found}]
        open_ones = f"{', '.join(bare)}: {self.words('other.not-coated')}" if bare else ""
        told = open_ones
        if longest is not None and not bare:
            told = f"{longest.area}: {self.words('other.hours', hours=digits(longest.hours))}"
        limit = self.words("limit.at-most", limit=self.context.limit(stated.maximum))
        rule, verdicts = self.words("required.from-blast-end"), [each.verdict for each in results]
        row = self._row("time", limit, stated.clause, rule, verdicts, found, told)
        return row._replace(found=[*row.found, Run(f"\n{open_ones}", REGULAR, INK)]) if found and open_ones else row

    def _by_itself(self, code: str, found: list[Finding]) -> RequirementRow:
        """A row of findings that stand under no limit of the contract: an instrument, a record, an order of things."""
        required = "; ".join(dict.fromkeys(typeset(self.said.required(one)) for one in found))
        fails = any(effect_of(one) == "fails" for one in found)
        verdict = "does not conform" if fails else "inconclusive"
        label = self.context.finding_name(code)
        return RequirementRow(code, label, required, found[0].clause, "", verdict, "–", self.told(found))


def _several(kind: Measurement[Any, Any, Any]) -> bool:
    return len(kind.sides) > 1


def _spare(area: AreaResult) -> int:
    return area.n_locations - (area.required_locations or 0)


def requirements_section(context: Context) -> list[Flowable]:
    """A row for each requirement; below, what the job holds and nothing has judged, each in a sentence.

    Errors that no uncertainty covers are told in annex 1.
    """
    words = context.words
    listed = list(context.requirements.rows())
    name, counted = 92.0, [row.conform.replace(" ", "\u00a0") for row in listed]
    conform = max([38.0, *(text_width(each, REGULAR, DENSE) + 8 for each in counted)])
    rest = context.width - name - conform

    def laid(share: float) -> GroupedTable:
        stated, found = rest * share, rest * (1 - share)
        columns = [
            Column(words("required.topic"), name),
            Column(words("required.limit"), stated),
            Column(words("areas.conform"), conform, gap=4),
            Column(words("required.found"), found, gap=0),
        ]
        rows: list[Row] = []
        for row, conforming in zip(listed, counted, strict=True):
            head = cell([Run(row.label, BOLD, INK)], name - 6, row.verdict)
            head.bookmark = f"requirement-{row.topic}"
            limit = [Run(f"{row.limit} · {row.clause}" if row.clause else row.limit, REGULAR, INK)]
            limit += [Run(f" · {row.rule}", REGULAR, MUTED)] if row.rule else []
            rows.append((head, cell(limit, stated - 6), conforming, cell(row.found, found)))
        return table(context, "required.title", columns, rows, pad=1.6, leading=9.0)

    head = text_width(words("required.found"), BOLD, LABEL)  # which is never broken
    made = lowest(laid, [one for one in _SHARES if rest * (1 - one) >= head] or [min(_SHARES)])
    untold = [one for one in context.evaluation.not_evaluated if one.code not in BEYOND_UNCERTAINTY]
    notes = [running_text(text, "fine", before=2) for text in context.left_out(untold)]
    return [
        *section(context, "required.title", "requirements", made, context.job.project.specification.document),
        *notes,
    ]


def profile_limits(context: Context) -> str:
    """The specified range, or the grade that the contract names with its range."""
    profile = context.job.project.specification.profile
    if profile.comparator_grade is None:
        return context.limits(profile.minimum, profile.maximum)
    return f"{context.said.graded(profile.comparator_grade)} ({context.said.shown(requirement_of(profile).range)})"


def profile_rules(context: Context) -> list[str]:
    """How the profile is judged, each rule in a few words; a comparison has neither uncertainty nor rounding."""
    words, profile = context.words, context.job.project.specification.profile
    if profile.kind == "comparator":
        return [words("rule.compared")]
    ends = requirement_of(profile).taken_by_rounding
    taken = [words(f"rounding.taken.{key}", end=end) for key, end in zip(("above", "below"), ends, strict=True) if end]
    rounding = words("rounding.taken.both").join(taken)
    how = words(f"rounding.{profile.rounding}")
    return [words(f"rule.{profile.decision_rule}"), words("rounding.taken", how=how, values=rounding) if taken else how]


def stated_topics(context: Context) -> list[str]:
    """The names of what the contract requires, each once."""
    requirements = context.requirements
    return list(dict.fromkeys(topic.partition(".")[0] for topic in requirements.topics))
