"""Verdicts and decisions in words: the sentence at the top of page 1, the word beside each mark."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.rules.release import effect_of
from reportgen.words.numbers import number, typeset

if TYPE_CHECKING:
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, LocationResult

WORST_FIRST = ("does not conform", "inconclusive", "not evaluated", "conforms")
"""Verdicts in the order of their weight."""

_NAMED = 3  # areas named in the banner; the table below holds all

_DECISION_VERDICT = {"release": "conforms", "hold": "inconclusive", "rework": "does not conform"}


def decision_verdict(area: AreaResult) -> str:
    """The verdict whose mark stands beside the area's decision."""
    return _DECISION_VERDICT[area.decision]


def inspected_areas(context: Context) -> list[AreaResult]:
    """The areas of the evaluation that were not reported as not inspected."""
    missed = {each.area for each in context.job.day.not_inspected}
    return [area for area in context.evaluation.areas if area.id not in missed]


def headline(context: Context) -> str:
    """The verdict of the report as one plain sentence."""
    words, evaluation = context.words, context.evaluation
    inspected = inspected_areas(context)
    judged = [area for area in inspected if area.verdict != "not evaluated"]
    key = {"conforms": "release", "does not conform": "rework", "inconclusive": "hold"}.get(evaluation.verdict)
    if not judged or key is None:
        return words("headline.none")
    count = sum(area.decision == key for area in inspected)
    total = len(inspected)
    if not count:  # the verdict comes from something that no area's decision shows
        return words(f"headline.{key}.report")
    if key == "release" and any(area.released_part for area in inspected):
        return words("headline.release.part")
    form = "all" if count == total else "some"
    single = ".one" if (count == 1 and form == "some") or (total == 1 and form == "all") else ""
    number = ".both" if (total == 2 and form == "all") else single
    return words(f"headline.{key}.{form}{number}", count=words.count(count), total=words.count(total))


def headline_details(context: Context) -> list[str]:
    """A sentence each: what nobody may sign yet, what may be released, why not the others, what was closed."""
    words = context.words
    unfilled = len(context.job.unfilled)
    sentences = [words("details.unfilled", count=str(unfilled))] if unfilled else []
    for decision in ("rework", "hold", "release"):
        areas = [area for area in inspected_areas(context) if area.decision == decision]
        if areas:
            sentences.append(words(f"details.{decision}", areas=_named(context, decision, areas)))
    missed = [each.area for each in context.job.day.not_inspected]
    if missed:
        sentences.append(words("details.unseen", areas=_list(context, missed)))
    closed = [each for each in context.evaluation.nonconformances if each.status == "closed"]
    if closed:
        ids = ", ".join(_with_reason(context, each.id, each.area) for each in closed)
        sentences.append(words("details.closed", ids=ids))
    return sentences


def _named(context: Context, decision: str, areas: list[AreaResult]) -> str:
    if decision == "release" or len(areas) > _NAMED:
        return _list(context, [of_part(context, "details.part", area) or area.id for area in areas])
    return "; ".join(_with_reason(context, area.id, main_reason(context, area)) for area in areas)


def decision_word(context: Context, area: AreaResult) -> str:
    """The decision of an area in a word or two: that it is of a part alone belongs to it."""
    word = context.words(f"decision.{area.decision}")
    return word if area.released_part is None else context.words("decision.part", decision=word)


def of_part(context: Context, key: str, area: AreaResult) -> str:
    """A sentence on the part of an area that is released; empty where that is the whole, or nothing."""
    part = area.released_part
    if part is None or part.size is None:
        return ""
    today, size = (typeset(context.said.shown(one)) for one in (part.today, part.size))
    return context.words(key, area=area.id, part=today, size=size)


def _with_reason(context: Context, name: str, reason: str | None) -> str:
    return context.words("details.reason", area=name, reason=reason) if reason else name


def main_reason(context: Context, area: AreaResult) -> str:
    """Names of the findings that weigh most on an area; its stated reasons where it has no findings.

    What was accepted does not weigh, nor what is only noted; an open nonconformance does where nothing else is left.
    """
    accepted = [context.evaluation.findings[one.finding] for one in area.reasons if one.accepted]
    own = [finding for finding in context.findings.get(area.id, []) if finding not in accepted]
    weighing = [finding for finding in own if effect_of(finding) in {"fails", "holds"}]
    most = [finding for finding in weighing if finding.severity == "nonconformance"] or weighing
    most = most or [finding for finding in own if effect_of(finding) == "defers"]
    names = dict.fromkeys(lowered(context, context.finding_name(finding.code)) for finding in most)
    return context.words("details.join").join(names) or "; ".join(context.said.reasons(context.evaluation, area))


def lowered(context: Context, name: str) -> str:
    """A name inside a sentence: with a small letter where the language writes it so."""
    return name[:1].lower() + name[1:] if context.words.lowers else name


def _list(context: Context, ids: list[str]) -> str:
    shown = 6
    if len(ids) <= shown:
        return ", ".join(ids)
    return context.words("details.more", areas=", ".join(ids[: shown - 1]), count=str(len(ids) - shown + 1))


def location_word(context: Context, location: LocationResult) -> str:
    """The word beside a location's mark: `below 2.0` says more than *does not conform*."""
    words, profile = context.words, context.job.project.specification.profile
    limit = profile.minimum if location.side == "below" else profile.maximum
    text = words(f"verdict.{location.verdict}")
    if location.band is not None and profile.decision_rule == "banded":
        text = words(f"band.{location.band}")
    elif location.side is not None and limit is not None:
        if location.verdict == "does not conform":
            text = words(f"verdict.{location.side}", limit=number(limit))
        elif location.verdict == "inconclusive" and location.band == "conditional pass":
            text = words("verdict.guarded", limit=number(limit))
    return f"{text}, {words('outlier')}" if location.outlier else text
