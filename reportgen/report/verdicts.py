"""Verdicts and decisions in words: the sentence at the top of page 1, why an area is not released, location words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.results.codes.coating import WITHOUT_RELEASE
from reportgen.results.facts import Place
from reportgen.rules.release import effect_of
from reportgen.words.numbers import number, typeset

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from reportgen.job import Surface
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, Finding, LocationResult

WORST_FIRST = ("does not conform", "inconclusive", "not evaluated", "conforms")
"""Verdicts in the order of their weight."""
NOTICED = {"fails": "does not conform", "holds": "inconclusive", "none": ""}
"""The verdict that a finding comes to, by its effect."""
DECISIONS = ("release", "rework", "hold")
ACCEPTED = "accepted"
"""What is released by decision has a mark and words of its own: it is not said to conform."""
UNSEEN = "unseen"

_MOST_RELEASED = 12  # named by their ids; of more the others are
_MOST_REASONS = 3
_MOST_IDS = 12  # locations each named; of more those that follow each other as from and to
_DECISION_VERDICT = {
    "release": "conforms", ACCEPTED: ACCEPTED, "hold": "inconclusive", "rework": "does not conform",
}  # fmt: skip
_WAYS = ("release", ACCEPTED, "rework", "hold")
_OPEN = "nonconformance-open"


def _way(area: AreaResult) -> str:
    """What is decided on an area, a release by decision apart."""
    return ACCEPTED if area.by_decision else area.decision


def decision_verdict(area: AreaResult) -> str:
    """The verdict whose mark stands beside the area's decision, or that of one released by decision."""
    return _DECISION_VERDICT[_way(area)]


def worst(verdicts: Iterable[str]) -> str:
    """The verdict that weighs most; not evaluated where there is none."""
    found = set(verdicts)
    return next((each for each in WORST_FIRST if each in found), "not evaluated")


def inspected_areas(context: Context) -> list[AreaResult]:
    """The areas of the evaluation that were not reported as not inspected."""
    return [area for area in context.evaluation.areas if area.id not in context.unseen]


def decided(context: Context) -> Mapping[str, list[str]]:
    """The ids of the areas by what is decided on them, those that were not inspected last."""
    by: dict[str, list[str]] = {way: [] for way in _WAYS}
    for area in inspected_areas(context):
        by[_way(area)].append(area.id)
    return {**by, UNSEEN: list(context.unseen)}


def headline(context: Context) -> str:
    """The verdict of the report as one plain sentence that counts the areas."""
    words, verdict = context.words, context.evaluation.verdict
    inspected = inspected_areas(context)
    counts = {way: sum(_way(area) == way for area in inspected) for way in _WAYS}
    if not inspected or verdict == "not evaluated":
        return words("headline.none")
    total = len(inspected)
    if verdict == "conforms" and counts["release"] == total:
        whole = not any(area.released_part for area in inspected)
        every = {1: "headline.all.one"}.get(total, "headline.all")
        return words(every, total=total) if whole else words("headline.part")
    each = (words(f"headline.{key}", count=count) for key, count in counts.items() if count)
    listed = ", ".join(told.replace(" ", "\u00a0") for told in each)
    said = words("headline.of", verdict=words(f"headline.{verdict}"), total=total, counts=listed)
    # the verdict may come from something that no area's decision shows
    shown = any(verdict in (_DECISION_VERDICT[_way(one)], one.verdict * one.by_decision) for one in inspected)
    return said if shown else f"{said} {words('headline.elsewhere')}"


def named_decisions(context: Context) -> Iterator[tuple[str, str]]:
    """Each decision with the ids of its areas; of many that are released those with a reservation, and how many else.

    What is released in part alone, or was bare when its limit passed, is said so beside its id.
    """
    by, reserved = decided(context), _reservations(context)
    total = sum(map(len, by.values()))
    for decision, ids in by.items():
        told = {one: reserved[one] for one in ids if one in reserved}
        named = [f"{one} ({told[one]})" if one in told else one for one in ids]
        if decision == DECISIONS[0] and len(ids) > _MOST_RELEASED:
            named = _in_short(context, told, len(ids), total)
        if named:
            yield decision, ", ".join(named)


def _in_short(context: Context, told: Mapping[str, str], count: int, total: int) -> list[str]:
    """Those of many released areas of which something is ``told``, and how many else; all where there are no others."""
    rest = count - len(told)
    others = context.words("decided.all" if rest == total else "decided.others", count=rest)
    return [*_reserved(context, told), *([others] if rest else [])]


def _reservations(context: Context) -> dict[str, str]:
    """What is said beside the id of an area: that it was cleaned in part, and when the limit of its bare steel was."""
    found: dict[str, list[str]] = {}
    for area in context.evaluation.areas:
        told = [context.words("decided.part")] if area.released_part is not None else []
        told += [context.coat_by(area.id)] if context.passed(area.id) else []
        found[area.id] = told
    return {area: "; ".join(told) for area, told in found.items() if told}


def _reserved(context: Context, told: Mapping[str, str]) -> list[str]:
    """Areas with what is said beside their ids; of very many how many they are, by the gravest that is said."""
    if len(told) <= _MOST_RELEASED:
        return [f"{area} ({what})" for area, what in told.items()]
    late = sum(bool(context.passed(area)) for area in told)
    counts = {"decided.late": late, "decided.parts": len(told) - late}
    return [context.words(key, count=count) for key, count in counts.items() if count]


def primer_doubts(context: Context, area: AreaResult, entry: Surface) -> tuple[str, list[str]]:
    """What the findings say of the primer of an entry of an area, by its verdict and in a few words each.

    One that came without release, or in conditions outside their limits, should not have come; where the area is on
    hold, or what the conditions were is undecided, it is open whether it should. What is said of other parts of the
    area is not said of this one.
    """
    at = context.primed_at(entry)
    if not at:
        return "conforms", []
    told: dict[str, str] = {}
    held = worst((_DECISION_VERDICT[area.decision], "inconclusive"))  # of steel blasted again since, by then released
    for one in context.findings.get(area.id, []):
        if one.code == WITHOUT_RELEASE.name and getattr(one.facts, "coated", None) == at:
            told["primer.unreleased"] = held
        elif context.is_of_primer(one, entry) and (noticed := NOTICED[effect_of(one)]):
            key = "primer.conditions" if noticed == WORST_FIRST[0] else "primer.conditions-open"
            told[key] = noticed
    if area.decision != DECISIONS[0] and context.on_refuted_slip(area, entry):
        told["primer.slip"] = held
    return worst([*told.values(), "conforms"]), [context.words(key) for key in told]


def reasons(context: Context, area: AreaResult) -> str:
    """Why an area is not simply released, in a few words each, and the numbers of the nonconformances.

    Of one that is released by decision it is what was accepted; of steel that was bare when its time had passed, that.
    """
    words = context.words
    if area.id in context.unseen:
        return context.unseen[area.id]
    why = told_of(context, area, [one.finding for one in area.reasons if one.accepted is area.by_decision])
    told = (context.passed(area.id), why) if area.decision == DECISIONS[0] else (why, context.passed(area.id))
    why = "; ".join(filter(None, told))
    if (part := area.released_part) is not None:
        today, size = (typeset(context.said.shown(one)) for one in (part.today, part.size))
        return "; ".join(filter(None, (words("why.part", part=today, size=size), why)))
    return why


def told_of(context: Context, area: AreaResult, indices: Iterable[int], *, whole: bool = False) -> str:
    """Findings on an area, in a few words each or as they were observed, and the numbers of the nonconformances.

    What fails comes first: it decides, and of many reasons only some are told.
    """
    words, findings = context.words, context.evaluation.findings
    under: dict[str | None, list[Finding]] = {}
    for one in (findings[index] for index in indices):
        under.setdefault(one.nonconformance, []).append(one)
    listed = _texts_under(context, area, under, whole=whole)
    if whole and len(listed) > _MOST_REASONS:  # in the words of the decision, whose count of them is the only one
        listed = _texts_under(context, area, under, whole=False)
    shown, parts = listed[:_MOST_REASONS], []
    for raised in dict.fromkeys(raised for _, raised in shown):
        told = "; ".join(text for text, of in shown if of == raised)
        parts.append(" · ".join(filter(None, (told, raised))))
    more = len(listed) - _MOST_REASONS
    parts += [words("why.further") if whole else words("why.more", count=more)] if more > 0 else []
    left = ", ".join(raised for raised in under if raised and raised not in {of for _, of in shown})
    return "; ".join([*parts, *([words("why.open", ids=left)] if left else [])])


def _texts_under(
    context: Context, area: AreaResult, under: Mapping[str | None, Sequence[Finding]], *, whole: bool
) -> list[tuple[str, str | None]]:
    """The texts of findings, each with the nonconformance it is under, whose being open needs no text of its own."""
    return [
        (text, raised)
        for fails in (True, False)
        for raised, some in under.items()
        for text in _shortly(
            context, area, [one for one in some if one.code != _OPEN and (effect_of(one) == "fails") is fails],
            whole=whole,
        )
    ]  # fmt: skip


def _shortly(context: Context, area: AreaResult, counted: list[Finding], *, whole: bool) -> Iterator[str]:
    """Findings of one code and one short text once, with their locations."""
    texts: dict[str, list[str]] = {}
    for one in counted:
        key = f"why.{one.code}"
        told = key if context.words.knows(key) else typeset(context.said.observed(one)) if whole else ""
        texts.setdefault(told or in_short(context, one), []).extend([one.location] if one.location else [])
    for text, named in texts.items():
        places = list(dict.fromkeys(named))
        if context.words.knows(text):
            yield counted_beyond(context, area, text, places)
        else:
            yield f"{text}, {context.words('location', location=in_ranges(places))}" if places else text


def counted_beyond(context: Context, area: AreaResult, key: str, places: list[str]) -> str:
    """Locations beyond a limit, counted among those of the plan; those of walk-outs by themselves."""
    planned = {area.located(one) for one in area.locations if one.walk_out is None}
    within = [place for place in places if place in planned]
    beyond = [place for place in places if place not in planned]
    missed = (
        area.located(one)
        for one in area.locations
        if one.walk_out is not None and one.verdict == "does not conform" and key.startswith(f"why.profile-{one.side}-")
    )
    beyond += [name for name in missed if name not in beyond]
    told = context.words(key, count=len(within), total=len(planned), ids=in_ranges(within))
    return told + (context.words("why.walked", count=len(beyond), ids=in_ranges(beyond)) if beyond else "")


def in_ranges(ids: Sequence[str]) -> str:
    """Ids as a list; of many, numbers that follow each other as from and to.

    >>> in_ranges(["1", "2", "3"]), in_ranges([str(number) for number in range(1, 200)] + ["7a"])
    ('1, 2, 3', '1–199, 7a')
    """
    runs: list[list[str]] = []
    for each in ids:
        last = runs[-1][-1] if runs else ""
        follows = last.isdecimal() and each.isdecimal() and int(each) == int(last) + 1
        if len(ids) > _MOST_IDS and follows:
            runs[-1].append(each)
        else:
            runs.append([each])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def in_short(context: Context, finding: Finding, *, at: bool = True) -> str:
    """A finding in a few words: as its catalogue says, else its name; without its time where that is told beside."""
    said = context.said
    if said.knows("short", finding.code):
        limit = getattr(finding.facts, "limit", None)
        allowed = getattr(limit, "limit", limit)
        place = finding.place if at else Place(finding.place.area, finding.place.location, finding.place.spot)
        return typeset(said.say("short", finding.code, finding.facts, place, allowed=allowed))
    return lowered(context, context.finding_name(finding.code))


def lowered(context: Context, name: str, *, label: bool = False) -> str:
    """A name inside a sentence, or as a label before one: with a small letter where the language writes it so."""
    return name if label and not context.words.lowers else context.words.within(name)


def decision_word(context: Context, area: AreaResult) -> str:
    """The decision on an area in a word or two: released where it was primed already, of a part, not inspected."""
    if area.id in context.unseen:
        return context.words("decision.unseen")
    primed = area.decision == "release" and context.primed(area.id)
    word = context.words("decision.released" if primed else f"decision.{area.decision}")
    word = context.words("decision.by-decision", decision=word) if area.by_decision else word
    return word if area.released_part is None else context.words("decision.part", decision=word)


def location_word(context: Context, location: LocationResult) -> str:
    """The word beside a location's mark: `below 2.0` says more than *does not conform*."""
    words, profile = context.words, context.job.project.specification.profile
    limit = profile.minimum if location.side == "below" else profile.maximum
    no_value = location.profile is None and location.observed is None and location.verdict == "inconclusive"
    text = words("verdict.no-value" if no_value else f"verdict.{location.verdict}")
    if location.band is not None and profile.decision_rule == "banded":
        text = words(f"band.{location.band}")
    elif location.side is not None and limit is not None:
        if location.verdict == "does not conform":
            text = words(f"verdict.{location.side}", limit=number(limit))
        elif location.verdict == "inconclusive" and location.band == "conditional pass":
            text = words("verdict.guarded", limit=number(limit))
    return f"{text}, {words('outlier')}" if location.outlier else text
