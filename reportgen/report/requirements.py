"""What the contract requires against what was found: each finding in full, or the result closest to the limit."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE
from reportgen.pdf.blocks import running_text
from reportgen.pdf.styles import BOLD, INK, MUTED, REGULAR
from reportgen.pdf.tables import Column, Row
from reportgen.pdf.textlines import Run
from reportgen.report.tables import cell, section, table
from reportgen.report.verdicts import worst
from reportgen.results.codes import coating, profile, sampling
from reportgen.results.facts import Amount
from reportgen.results.statements import Code, statements_of
from reportgen.rules.release import effect_of
from reportgen.rules.requirement import requirement_of
from reportgen.words.numbers import digits, typeset

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from reportgen.measurements import Measurement
    from reportgen.measurements.slice import Side
    from reportgen.pdf.flow import Flowable
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, Finding, LocationResult

_LACKING = frozenset({"locations-missing", "surface-not-measured"})
TOLD_BELOW = frozenset({"nonconformance-open"})
"""Findings that have their full place with the nonconformance itself."""


def _codes(module: Any) -> frozenset[str]:
    return frozenset(one.name for one in statements_of(module) if isinstance(one, Code))


_OF_THE_PROFILE, _OF_THE_SAMPLE = _codes(profile), _codes(sampling)
_OF_THE_TIME = frozenset({coating.TIME_EXCEEDED.name, coating.OVERDUE.name})


class Requirement(NamedTuple):
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
        others = every - {code for side in sides for code in side.codes}
        for side in sides:  # what misses none of them stands with the first
            yield f"{kind.key}.{side.limit}", (self.words(f"required.{side.limit}"), others | set(side.codes))
            others = frozenset()

    def topic_of(self, finding: Finding) -> str:
        """The topic under which a finding stands: that of its requirement, else its own code."""
        return next((topic for topic, (_, codes) in self.topics.items() if finding.code in codes), finding.code)

    def rows(self) -> Iterator[Requirement]:
        """Every row: the requirements of the contract, then findings that miss none of them by their own name."""
        by_topic: dict[str, list[Finding]] = {topic: [] for topic in self.topics}
        for finding in self.findings:
            by_topic.setdefault(self.topic_of(finding), []).append(finding)
        makers: dict[str, Callable[[list[Finding]], Requirement]] = {
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
    ) -> Requirement:  # fmt: skip
        """A row of so many verdicts; what was found, or the result closest to the limit where nothing was."""
        listed = list(verdicts)
        effects = {effect_of(one) for one in found}
        noticed = ["does not conform"] if "fails" in effects else ["inconclusive"] if found else []
        conform = self.words("areas.of", conform=listed.count("conforms"), planned=len(listed)) if listed else "–"
        told = self.told(found) if found else [Run(closest or self.words("required.no-data"), REGULAR, INK)]
        label, _ = self.topics[topic]
        return Requirement(topic, label, limit, clause, rule, worst([*listed, *noticed]), conform, told)

    def told(self, found: Iterable[Finding]) -> list[Run]:
        """Findings in full, those of an area after its id, each with the number of its nonconformance."""
        runs: list[Run] = []
        by_area: dict[str | None, list[Finding]] = {}
        for one in found:
            by_area.setdefault(one.area, []).append(one)
        for area, own in by_area.items():
            sentences = list(dict.fromkeys(map(self._observed, own)))
            under = dict.fromkeys(one.nonconformance for one in own if one.nonconformance)
            runs += [Run(("\n" if runs else "") + area, BOLD, INK)] if area else []
            start = " " if area else "\n" if runs else ""
            runs.append(Run(" · ".join([start + "; ".join(sentences), *filter(None, under)]), REGULAR, INK))
        return runs

    def _observed(self, finding: Finding) -> str:
        place = self.words("location", location=finding.location) if finding.location else ""
        return typeset(": ".join(part for part in (place, self.said.observed(finding)) if part))

    def _measured(self, kind: Measurement[Any, Any, Any], limited: str, found: list[Finding]) -> Requirement:
        limit, results = getattr(self.stated, kind.limit_key), getattr(self.evaluation, kind.key)
        method = self.said.say("method", kind.key, kind.limit_facts(limit))
        if limited:
            side = next(one for one in kind.sides if one.limit == limited)
            first = next(topic for topic in self.topics if topic.startswith(f"{kind.key}.")) == f"{kind.key}.{limited}"
            return self._limited(kind, side, method if first else self.words("required.as-above"), found)
        whole = self.context.limit_of(kind, limit, whole=True)
        closest = self._closest(kind, kind.sides[0], results) if kind.sides else ""
        return self._row(kind.key, whole, limit.clause, method, [each.verdict for each in results], found, closest)

    def _limited(self, kind: Measurement[Any, Any, Any], side: Side, rule: str, found: list[Finding]) -> Requirement:
        """One limit of several of a kind: a reading misses it about which one of its findings says so."""
        limit, results = getattr(self.stated, kind.limit_key), getattr(self.evaluation, kind.key)
        own = [one for one in found if one.code in side.codes]
        missed = {(one.place.time, getattr(one.facts, "taken_at", None)) for one in own}
        verdicts = ["does not conform" if {(r.time, r.place), (r.time, None)} & missed else "conforms" for r in results]
        usual = "limit.at-least" if side.least else "limit.at-most"
        key = f"limit.{side.limit}" if self.words.knows(f"limit.{side.limit}") else usual
        text = self.words(key, limit=self.context.limit(getattr(limit, side.limit)))
        closest = self._closest(kind, side, results) if side.value else self.words("required.kept")
        row = self._row(f"{kind.key}.{side.limit}", text, limit.clause, rule, verdicts, found, closest)
        return row if side.value else row._replace(conform="–")

    def _closest(self, kind: Measurement[Any, Any, Any], side: Side, results: Iterable[Any]) -> str:
        """The result closest to a limit, with its place."""
        valued = [each for each in results if getattr(each, side.value) is not None]
        if not valued:
            return next((self.said.say("result", kind.key, kind.result_facts(each)) for each in results), "")
        closest = (min if side.least else max)(valued, key=lambda each: getattr(each, side.value))
        if side.unit:
            unit = getattr(closest, side.unit, side.unit)
            told = self.said.shown(Amount(getattr(closest, side.value), unit))
        else:
            told = typeset(self.said.say("result", kind.key, kind.result_facts(closest)))
        names = [getattr(closest, name, None) for name in ("area", kind.subject or "place", "time")]
        return f"{', '.join(filter(None, names))}: {told}"

    def _profile(self, found: list[Finding]) -> Requirement:
        stated = self.stated.profile
        key = "required.comparisons" if stated.kind == "comparator" else "required.spots"
        spots = self.words(key, count=stated.readings_needed)
        rule = f"{stated.method} ({stated.edition}); {spots}"
        every = [(area, one) for area in self.evaluation.areas for one in area.locations]
        closest = min(every, key=lambda each: self._room(each[1]), default=None)
        told = ""
        if closest is not None:
            area, location = closest
            value = (
                f"{digits(location.profile)} {self.context.unit}" if location.observed is None else location.observed
            )
            told = f"{area.id}, {self.words('location', location=location.id)}: {value}"
        limits = profile_limits(self.context)
        return self._row("profile", limits, stated.clause, rule, [one.verdict for _, one in every], found, told)

    def _room(self, location: LocationResult) -> float:
        """How far the profile of a location is from the nearer limit."""
        if self.context.scale is None or location.profile is None:
            return 0.0
        low, high = self.context.scale.minimum, self.context.scale.maximum
        rooms = [location.profile - low] if low is not None else []
        return float(min([*rooms, *([high - location.profile] if high is not None else [])], default=0))

    def _sampling(self, found: list[Finding]) -> Requirement:
        stated = self.stated.sampling
        counts = {"count": stated.locations, "area": stated.first_area, "length": stated.length}
        plan = self.words(f"sampling.{stated.plan}", **counts)
        if stated.further_area is not None:
            plan += self.words("sampling.further", count=stated.further_locations, area=stated.further_area)
        lacking = {one.area for one in found if {one.code, getattr(one.facts, "code", "")} & _LACKING}
        planned = [area for area in self.evaluation.areas if area.required_locations is not None]
        verdicts = ["inconclusive" if area.id in lacking else "conforms" for area in planned]
        fewest = min(planned, key=_spare, default=None)
        told = ""
        if fewest is not None:
            ids = ", ".join(area.id for area in planned if _spare(area) == _spare(fewest))
            told = self.words("required.fewest", ids=ids, taken=fewest.n_locations, required=fewest.required_locations)
        return self._row("sampling", plan, stated.clause, self.words("required.counted"), verdicts, found, told)

    def _time(self, found: list[Finding]) -> Requirement:
        stated, results = self.stated.time_to_coat, self.evaluation.coating_times
        assert stated is not None  # noqa: S101 - the topic is there where it is stated
        primed = [each for each in results if each.hours is not None]
        longest = max(primed, key=lambda each: each.hours or 0, default=None)
        told = self.words("other.not-coated") if results else ""
        if longest is not None:
            told = f"{longest.area}: {self.words('other.hours', hours=digits(longest.hours))}"
        limit = self.words("limit.at-most", limit=self.context.limit(stated.maximum))
        rule, verdicts = self.words("required.from-blast-end"), [each.verdict for each in results]
        return self._row("time", limit, stated.clause, rule, verdicts, found, told)

    def _by_itself(self, code: str, found: list[Finding]) -> Requirement:
        """A row of findings that stand under no limit of the contract: an instrument, a record, an order of things."""
        required = "; ".join(dict.fromkeys(typeset(self.said.required(one)) for one in found))
        fails = any(effect_of(one) == "fails" for one in found)
        verdict = "does not conform" if fails else "inconclusive"
        label = self.context.finding_name(code)
        return Requirement(code, label, required, found[0].clause, "–", verdict, "–", self.told(found))


def _several(kind: Measurement[Any, Any, Any]) -> bool:
    return len(kind.sides) > 1


def _spare(area: AreaResult) -> int:
    return area.n_locations - (area.required_locations or 0)


def requirements_section(context: Context) -> list[Flowable]:
    """A row for each requirement; below, what the job holds and nothing has judged, each in a sentence."""
    words = context.words
    name, conform = 94.0, 42.0
    rest = context.width - name - conform
    columns = [
        Column(words("required.topic"), name),
        Column(words("required.limit"), rest * 0.34),
        Column(words("required.rule"), rest * 0.24, ink=MUTED),
        Column(words("areas.conform"), conform, gap=4),
        Column(words("required.found"), rest * 0.42, gap=0),
    ]
    rows: list[Row] = []
    for row in context.requirements.rows():
        head = cell([Run(row.label, BOLD, INK)], name - 6, row.verdict)
        head.bookmark = f"requirement-{row.topic}"
        limit = f"{row.limit} · {row.clause}" if row.clause else row.limit
        rows.append((head, limit, row.rule, row.conform, cell(row.found, rest * 0.42)))
    notes = [running_text(text, "fine", before=2) for text in context.left_out(context.evaluation.not_evaluated)]
    made = table(context, "required.title", columns, rows, pad=2.0)
    return [
        *section(context, "required.title", "requirements", made, context.job.project.specification.document),
        *notes,
    ]


def profile_limits(context: Context) -> str:
    """The specified range, or the grade that the contract names with its range."""
    profile = context.job.project.specification.profile
    if profile.comparator_grade is None:
        return context.limits(profile.minimum, profile.maximum)
    return f"{profile.comparator_grade} ({context.said.shown(requirement_of(profile).range)})"


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
