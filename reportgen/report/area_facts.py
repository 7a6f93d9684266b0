"""The facts of an area: what was done to it, and each result with its inputs."""

from __future__ import annotations

from itertools import chain
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.charts import LONGEST_ON_MAP, Walked, WalkMap
from reportgen.measurements import OF_A_SURFACE, TESTS
from reportgen.names import says_nothing
from reportgen.pdf.styles import BOLD, INK, REGULAR
from reportgen.pdf.textlines import Run
from reportgen.report.verdicts import (
    NOTICED,
    WORST_FIRST,
    decision_verdict,
    decision_word,
    in_short,
    lowered,
    primer_doubts,
    reasons,
    worst,
)
from reportgen.results.codes.records import SlipNotUpheld
from reportgen.results.facts import Amount, Word
from reportgen.rules.also_recorded import also_recorded
from reportgen.rules.release import effect_of
from reportgen.units import Quantity
from reportgen.words.numbers import digits, typeset

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.job import Surface
    from reportgen.job.day import WalkOut
    from reportgen.measurements import Measurement
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, CoatingTime
    from reportgen.results.values import Bounded

_NAMES = ("location", "time", "instrument")


class Fact(NamedTuple):
    """A fact: its label, its verdict if it has one, what weighs most in it, what is required, and the rest."""

    label: str
    verdict: str | None
    strong: str
    rest: str = ""
    required: str = ""

    def runs(self, *, required: bool = True) -> list[Run]:
        """The text, what weighs most first and strong."""
        strong = [Run(self.strong, BOLD, INK)] if self.strong else []
        rest = self.required * required + self.rest
        return [*strong, Run(rest, REGULAR, INK)] if rest else strong

    @property
    def running(self) -> list[Run]:
        """The same with its label before it, to stand in short among others in a paragraph."""
        return [Run(f"{self.label} ", REGULAR, INK), *self.runs(required=False)]


def area_meta(context: Context, area: AreaResult, *, short: bool) -> list[str]:
    """One line on the area itself, as far as the project file states it, and one per time it was blasted.

    All of it in one line in ``short``, or where it was blasted once, as usual.
    """
    words, surfaces = context.words, context.surfaces.get(area.id, [])
    lines = [_planned(context, area.id)]
    for surface in surfaces:
        again = [words("area.blasted-again")] if id(surface) in context.replaced else []
        lines.append([*blasting(context, surface), *again])
    if short or len(lines) == 2:
        lines = [list(chain.from_iterable(lines))]
    return [" · ".join(line) for line in lines if line]


def _planned(context: Context, area: str) -> list[str]:
    """What the project file states of an area; nothing of one of an older project file."""
    try:
        structure, plan = context.job.project.area(area)
    except KeyError:
        return []
    stated = {
        "welds": plan.weld_length, "place": plan.place or structure.place, "drawing": plan.drawing or structure.drawing
    }  # fmt: skip
    told = [context.words(f"area.{key}", **{key: value}) for key, value in stated.items() if value]
    return [*_size(context, area), *told]


def _size(context: Context, area: str) -> list[str]:
    """The size of an area, where the project file states it."""
    plans = (plan for structure in context.job.project.structures for plan in structure.areas)
    return [context.limit(plan.size) for plan in plans if plan.id == area and plan.size]


def blasting(context: Context, surface: Surface) -> list[str]:
    """The condition in which a surface was received, and when and with what it was blasted."""
    words, blasted = context.words, surface.blasted
    parts = _steel(context, surface)
    parts += [words("area.distance", distance=blasted.distance)] if blasted.distance else []
    return [*parts, *map(str, filter(None, (blasted.pressure, blasted.angle)))]


def _steel(context: Context, surface: Surface) -> list[str]:
    """Condition, apparatus with its times, abrasive and nozzle."""
    words, blasted = context.words, surface.blasted
    condition = words("area.condition", condition=words.named("condition", surface.initial_condition))
    received = [] if "initial_condition" in surface.pending else [condition]
    if not surface.steel_known:  # what is not entered yet is no steel blasted at some time
        return received if "apparatus" in surface.pending else [*received, surface.apparatus]
    start, end = (context.printed(context.job.clock.instant(clock)) for clock in (blasted.start, blasted.end))
    end = end.removeprefix(f"{start.rpartition(' ')[0]} ")  # the date of both once
    parts = [
        *received, f"{surface.apparatus}, {start}–{end}", words("area.blasted", abrasive=blasted.abrasive),
    ]  # fmt: skip
    return [*parts, *([words("area.nozzle", nozzle=blasted.nozzle)] if blasted.nozzle else [])]


def area_facts(context: Context, area: AreaResult) -> list[Fact]:
    """Profile, other measurements in a fixed order of kinds, primer; why it is not released where none of them says."""
    facts = [profile_fact(context, area)] if area.locations else []
    facts += [fact for kind in (*TESTS, *OF_A_SURFACE) for fact in _measured(context, kind, area)]
    facts += _primers(context, area)
    decided, shown = decision_verdict(area), [fact.verdict for fact in facts if fact.verdict]
    hidden = area.by_decision or WORST_FIRST.index(worst(shown)) > WORST_FIRST.index(decided)
    if area.id not in context.unseen and facts and hidden:
        why = reasons(context, area)
        facts.append(
            Fact(context.words("fact.decision"), decided, decision_word(context, area), f": {why}" * bool(why))
        )
    return facts


def profile_fact(context: Context, area: AreaResult) -> Fact:
    """How many locations of how many required, and their statistics with the uncertainty of the mean."""
    words, said = context.words, context.said
    taken = words("result.of", taken=area.n_locations, required=area.required_locations)
    if area.required_locations is None:
        taken = words("result.locations", count=area.n_locations)
    parts = _statistics(context, area)
    for part in area.sampling:
        named = ", ".join(said.shown(one) for one in (part.apparatus, part.period) if one)
        parts.append(words("result.part", part=named, taken=part.taken, required=part.required))
    for key, some in _bounds(context, area).items():
        parts.append(words(key, area="; ".join(map(said.shown, some))))
    if not any(surface.positions for surface in context.surfaces.get(area.id, [])):
        positions = lowered(context, said.shown(Word("record", "positions")))
        parts.append(f"{positions} {words('equipment.not-recorded')}")
    noticed = _noticed(context, area.id, "sampling").values()
    verdict = worst([*(one.verdict for one in area.locations), *noticed])
    return Fact(words("fact.profile"), verdict, taken, "".join(f"; {part}" for part in parts))


def _statistics(context: Context, area: AreaResult) -> list[str]:
    """Mean, scatter and uncertainty of an area, and of how many locations where not all have a value; or the grades."""
    words = context.words
    parts: list[str] = []
    if area.mean is not None:
        valued = sum(one.profile is not None for one in area.locations if one.walk_out is None)
        parts += [words("result.valued", count=valued)] if valued < area.n_locations else []
        key = "result.statistics" if area.effective_degrees_of_freedom is not None else "result.statistics.plain"
        parts.append(
            words(
                key, mean=digits(area.mean), unit=context.unit, deviation=digits(area.standard_deviation),
                expanded=digits(area.expanded_uncertainty), factor=digits(area.coverage_factor),
                freedom=area.effective_degrees_of_freedom,
            )
        )  # fmt: skip
    elif seen := context.seen_grades(area):
        parts += [seen, words("result.compared")]
    return parts


def _measured(context: Context, kind: Measurement[Any, Any, Any], area: AreaResult) -> Iterator[Fact]:
    """The tests of a kind: result, limit, location and time, and what the result was computed from."""
    said, words = context.said, context.words
    judged, several = context.judged(kind, area.id), len(context.standing(area.id)) > 1
    limit = getattr(context.job.project.specification, kind.limit_key)
    required = "" if limit is None else context.required_of(kind, limit)
    required = f" · {words('fact.required', limit=required)}" if required else ""
    label = lowered(context, context.topic_name(kind.key), label=True)
    for entry, test, result in judged:
        came = kind.result_facts(result)
        shown = typeset(said.say("result", kind.key, came))
        told = [_where(context, result, test), _inputs(context, kind, test, came)] if kind in TESTS else []
        told += [_part(context, entry)] if kind in OF_A_SURFACE and several and entry is not None else []
        rest = ": ".join(filter(None, told))
        yield Fact(label, result.verdict, shown, f" · {rest}" if rest else "", required)
    noticed = _noticed(context, area.id, kind.key)
    lacking, found = worst(noticed.values()), {result.verdict for _, _, result in judged}
    if noticed and lacking not in found and "does not conform" not in found:
        yield Fact(label, lacking, "; ".join(noticed), "", required)


def _noticed(context: Context, area: str, topic: str) -> dict[str, str]:
    """What findings on an area say under a requirement, in a few words, by the verdict that each comes to."""
    found = (one for one in context.findings.get(area, []) if context.requirements.topic_of(one) == topic)
    return {in_short(context, one): noticed for one in found if (noticed := NOTICED[effect_of(one)])}


def _where(context: Context, result: Any, test: Any) -> str:
    at = context.at(test.time) if getattr(test, "time", None) else ""
    where = context.words("location", location=result.location) if result.location is not None else ""
    return ", ".join(filter(None, (where, at)))


def _inputs(context: Context, kind: Measurement[Any, Any, Any], test: Any, came: Any) -> str:
    """The quantities of which the result of a test is made; one that is itself the result is not said twice."""
    stated = {each.field: getattr(test, each.field, None) for each in kind.entries if each.field not in _NAMES}
    quantities = {name: value for name, value in stated.items() if isinstance(value, Quantity)}
    quantities = {name: one for name, one in quantities.items() if getattr(came, name, None) != Amount.of(one)}
    heads = {name: lowered(context, context.said.say("entry", f"{kind.key}.{name}")) for name in quantities}
    return ", ".join(f"{heads[name]} {value}" for name, value in quantities.items())


def _primers(context: Context, area: AreaResult) -> list[Fact]:
    """The primer of each entry that stands, which says of several by its apparatus which it is."""
    results = [each for each in context.evaluation.coating_times if each.area == area.id]
    steel = context.standing(area.id)
    if len(steel) != len(results):
        entries = [entry for entry, _ in steel]
        return [_primer(context, area, each, entries, context.primed(area.id), "") for each in results]
    several = len(steel) > 1
    return [
        _primer(
            context, area, each, [entry], "" if at is None else context.printed(at),
            _part(context, entry) if several else "",
        )
        for each, (entry, at) in zip(results, steel, strict=True)
    ]  # fmt: skip


def _part(context: Context, entry: Surface) -> str:
    """What tells the steel of an entry from other steel of its area: what blasted it, and until when."""
    return f"{entry.apparatus}, {context.at(entry.blasted.end)}" if entry.steel_known else ""


def _primer(
    context: Context, area: AreaResult, result: CoatingTime, entries: Sequence[Surface], strong: str, part: str
) -> Fact:  # fmt: skip
    """A primer that came at ``strong`` on the steel of ``entries``, of a ``part`` where there are several."""
    words = context.words
    of = f" · {part}" if part else ""
    if result.hours is not None:
        limit = context.job.project.specification.time_to_coat
        taken = words("other.hours", hours=digits(result.hours))
        required = f" · {words('fact.required', limit=words('limit.at-most', limit=limit.maximum))}" if limit else ""
        verdict, rest = _doubted(context, area, result, entries)
        return Fact(words("fact.primer"), verdict, f"{strong}, {taken}" if strong else taken, of + rest, required)
    overdue = result.verdict == "inconclusive" and any(
        finding.code == "coating-overdue" for finding in context.findings.get(area.id, [])
    )
    told = words("other.not-in-time") if overdue else words("other.not-coated")
    if (
        bare := next((one for one in context.bare(area.id) if any(one.entry is each for each in entries)), None)
    ) is not None:
        passed = f"; {context.has_passed(bare.until)}" if bare.past else ""
        told = words("other.not-coated") + passed
    if result.coat_by is not None and not (bare and bare.past):
        told = words("other.coat-by", time=result.coat_by)
    return Fact(words("fact.primer"), result.verdict, "", told + of)


def _doubted(
    context: Context, area: AreaResult, result: CoatingTime, entries: Sequence[Surface]
) -> tuple[str, str]:  # fmt: skip
    """The verdict on a primer that came, and what is against it."""
    each = [primer_doubts(context, area, entry) for entry in entries]
    doubted = worst(verdict for verdict, _ in each)
    verdict = result.verdict if doubted == "conforms" else worst((result.verdict, doubted))
    return verdict, "".join(f"; {one}" for one in dict.fromkeys(told for _, why in each for told in why))


def further_facts(context: Context, area: AreaResult) -> Iterator[Fact]:
    """Walk-outs in words, what is recorded beside results, what nothing has judged."""
    words, surfaces = context.words, context.surfaces.get(area.id, [])
    yield from (Fact(words("fact.slip"), None, "", told) for told in _slips(context, area.id))
    yield from (Fact(words("fact.walk-out"), None, "", told) for told in _walked(context, area).values())
    yield from (
        Fact(lowered(context, label, label=True), None, "", text) for label, text in recorded_facts(context, area.id)
    )
    for surface in surfaces:
        for change in surface.process_changes:
            at = context.at(change.time)
            told = words("area.change", time=at, change=change.change, before=change.before, after=change.after)
            yield Fact(words("fact.change"), None, "", told)
        if surface.remarks:
            yield Fact(words("fact.remarks"), None, "", surface.remarks)
    if area.locations:
        yield from (Fact(words("fact.open"), None, "", text) for text in context.left_out(area.not_evaluated))


def _bounds(context: Context, area: AreaResult) -> dict[str, list[Bounded]]:
    """What walk-outs bound, by whether it is to be reworked or was accepted where it fails, whatever else is open."""
    found: dict[str, list[Bounded]] = {}
    failed = [(context.evaluation.findings[one.finding], one.accepted) for one in area.reasons]
    for bounded in area.bounded_area:
        own = [kept for one, kept in failed if one.location == bounded.failing and effect_of(one) == "fails"]
        accepted = all(own) if own else area.by_decision
        found.setdefault("result.bounded.accepted" if accepted else "result.bounded", []).append(bounded)
    return found


def _slips(context: Context, area: str) -> Iterator[str]:
    """Each release slip of an area that the report holds, and whether it upholds it."""
    denied = (one.facts for one in context.findings.get(area, []))
    files = {facts.file for facts in denied if isinstance(facts, SlipNotUpheld)}
    for slip in (one for one in context.job.slips if one.area == area):
        key = "slip.told.not-upheld" if slip.file in files else "slip.told"
        yield context.words(key, time=context.printed(slip.at), file=PurePath(slip.file).stem)


def _walked(context: Context, area: AreaResult) -> dict[str, str]:
    """Each walk-out in words by the location that it began from; without a record of it, its locations."""
    records = [surface.profile for surface in context.surfaces.get(area.id, []) if surface.profile is not None]
    told = {walk.failing: _walked_in_words(context, walk) for record in records for walk in record.walk_outs}
    for failing in dict.fromkeys(one.walk_out for one in area.locations if one.walk_out is not None):
        ids = ", ".join(area.located(one) for one in area.locations if one.walk_out == failing)
        told.setdefault(failing, context.words("walk.plain", failing=failing, locations=ids))
    return told


def _walked_in_words(context: Context, walk: WalkOut, verdicts: Mapping[str, str] | None = None) -> str:
    """A walk-out in words; with ``verdicts`` each of its locations with what came of it."""
    words = context.words

    def named(location: str) -> str:
        verdict = None if verdicts is None else verdicts.get(location, "not evaluated")
        return location if verdict is None else f"{location} ({words(f'verdict.{verdict}')})"

    told = [
        words("walk.direction", towards=one.towards, locations=", ".join(map(named, one.locations)) or "–")
        + (words("walk.edge") if one.no_room else "")
        for one in walk.directions
    ]
    return words("walk.told", failing=walk.failing, interval=walk.interval, directions="; ".join(told))


def walk_maps(context: Context, area: AreaResult) -> list[tuple[WalkMap, str]]:
    """The map of each walk-out with locations in two directions or more, and what it shows in words."""
    verdicts = {location.id: location.verdict for location in area.locations}
    records = [surface.profile for surface in context.surfaces.get(area.id, []) if surface.profile is not None]
    found = []
    for walk in (one for record in records for one in record.walk_outs):
        reach, directions = _reach(area, walk), []
        for one in walk.directions:
            places = tuple((name, verdicts.get(name, "not evaluated")) for name in one.locations)
            directions.append(Walked(one.towards, places, reach.get(one.towards, 0.0), one.no_room))
        if _has_room(walk):
            found.append((WalkMap(walk.failing, directions), _walked_in_words(context, walk, verdicts)))
    return found


def _has_room(walk: WalkOut) -> bool:
    """Whether locations lie in two directions or more, and their names have room between them."""
    names = [walk.failing, *(name for one in walk.directions for name in one.locations)]
    return max(map(len, names)) <= LONGEST_ON_MAP and sum(bool(one.locations) for one in walk.directions) > 1


def _reach(area: AreaResult, walk: WalkOut) -> dict[str, float]:
    """How many steps what failed reaches, by direction."""
    step = float(walk.interval.in_unit("m"))
    extents = [one for bounded in area.bounded_area if bounded.failing == walk.failing for one in bounded.extents]
    metres = {"m": 1.0, "ft": 0.3048, "cm": 0.01, "mm": 0.001, "in": 0.0254}
    return {
        one.towards.name: float(one.reach.value) * metres.get(one.reach.unit, 1.0) / step
        for one in extents
        if one.towards.name is not None and step
    }


def _in_language(context: Context, value: str, area: str | None) -> str:
    """What is recorded of the day, that there is none in the language of the page: it is written in whichever."""
    none = area is None and says_nothing(value) and not says_nothing(value, none=True)
    return context.words("recorded.none") if none else value


def recorded_facts(context: Context, area: str | None) -> list[tuple[str, str]]:
    """The facts recorded of an area, or of the day; what is the same at several places stands once."""
    words, said = context.words, context.said
    texts: dict[tuple[str, str], list[str]] = {}
    whole = next((each.cleaned for each in context.evaluation.areas if each.id == area), None)
    for one in (each for each in also_recorded(context.job) if each.area == area):
        summed = one.record.key == "area_cleaned"  # the sum says what each entry does
        value = _in_language(context, said.shown(whole if summed else one.value), area)
        places = texts.setdefault((said.shown(one.record), value), [])
        places += [one.where] if one.where is not None and not summed else []
    return [
        (words("recorded.at", what=name, where=", ".join(places)) if places else name, text)
        for (name, text), places in texts.items()
    ]
