"""What the pages of a shift show: the areas as lanes, the log of the day, nonconformances, photos."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from reportgen.browser.beside_views import report_fields
from reportgen.browser.contents import as_labelled, differs_text, limits_stated
from reportgen.browser.fields import to_fill_in
from reportgen.browser.head_views import head_of
from reportgen.browser.sight import MARKS, Sight, seen
from reportgen.browser.strips import range_of, scale_of, strip
from reportgen.pipeline.contract_state import shift_state
from reportgen.results.codes.doubts import Unfinished
from reportgen.units import DISPLAY

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.browser.texts import Texts
    from reportgen.charts import ProfileScale
    from reportgen.results import AreaResult, Finding


def shift_view(day: Path, language: str) -> dict[str, Any]:
    """Return what the page of a shift shows: state, areas, clocks, what is missing.

    Raises:
        InputError: the day file cannot be used.
    """
    sight = seen(day, language)
    report, scale, state = sight.job.day.report, scale_of(sight), shift_state(day, at=sight.at)
    lanes = [_lane(sight, scale, area) for area in sight.evaluation.areas]
    there = {lane["id"] for lane in lanes}
    plans = [plan for structure in sight.project.structures for plan in structure.areas]
    begun = [name for name in sight.job.begun if name not in there]
    names = {plan.id: plan.name for plan in plans}
    lanes += [_begun(sight, name, names[name]) for name in begun]
    present = ", ".join(report.present)
    return sight.common("shift") | {
        "title": sight.say("shift.title", date=sight.say.weekday(report.date)),
        "sub": " · ".join(filter(None, (
            f"{_time(report.shift.start)}–{_time(report.shift.end)}", sight.job.inspector.name,
            sight.say("shift.with", present=present) if present else "",
        ))),
        "state": state_text(sight, state), "signable": state.state not in {"issued", "revised", "differs"},
        "report_at": f"/report/{quote(report.number)}/{report.revision}",
        "lanes": lanes,
        "others": [{"id": plan.id, "name": plan.name, "to": f"{sight.address}/area/{plan.id}"}
                   for plan in plans if plan.id not in there and plan.id not in begun],
        "limits": limits_text(sight),
        "first": first_step(sight, state.state), "report": report_fields(sight), "whole": head_of(sight, state),
        "clocks": clocks(sight),
    }  # fmt: skip


def _time(clock: Any) -> str:
    return f"{clock:%H:%M}"


def _lane(sight: Sight, scale: ProfileScale | None, area: AreaResult) -> dict[str, Any]:
    regular = [one for one in area.locations if one.walk_out is None]
    good = sum(one.verdict == "conforms" for one in regular)
    reasons = reasons_of(sight, area)
    missed = area.not_inspected is not None
    why = "" if to_fill_in("reason", area.not_inspected) else area.not_inspected
    return {
        "id": area.id, "name": area.name, "to": sight.of_area(area.id),
        "waits": why if missed else "; ".join(reasons[:2]) + (" …" if len(reasons) > 2 else ""),
        "strip": strip(scale, regular),
        "conform": sight.say("shift.of", good=good, all=len(regular)) if regular else "",
        "range": range_of(sight.say, area),
        "decision": {"state": "open", "word": sight.say("shift.not-inspected")} if missed
        else sight.verdict(area.decision),
    }  # fmt: skip


def reasons_of(sight: Sight, area: AreaResult) -> list[str]:
    """Return why an area is not simply released, without what is merely open."""
    found = [sight.evaluation.findings[one.finding] for one in area.reasons]
    return [
        sight.say("shift.why", location=one.location, observed=_observed(sight, one))
        for one in found if one.code != "nonconformance-open"
    ]  # fmt: skip


def _observed(sight: Sight, one: Finding) -> str:
    """Return what was found; of an entry that is unfinished in the words of its page."""
    own = sight.unfinished_at(one.facts.line) if isinstance(one.facts, Unfinished) else None
    return own or as_labelled(sight.say, sight.said.observed(one))


def _begun(sight: Sight, area: str, name: str) -> dict[str, Any]:
    """Return the lane of an area whose entry is unfinished, so that nothing is known of it yet."""
    return {
        "id": area, "name": name, "to": sight.of_area(area), "waits": sight.say("shift.begun"),
        "strip": None, "conform": "", "range": "", "decision": sight.verdict("hold"),
    }  # fmt: skip


def limits_text(sight: Sight) -> str:
    """Return the limits of the profile with their clause."""
    profile = sight.project.specification.profile
    return sight.say("shift.limits", limits=limits_stated(sight.say, profile), clause=profile.clause)


def first_step(sight: Sight, state: str) -> dict[str, str] | None:
    """Return where to go on: at what is missing first; where nothing was entered yet, at the gauge and the air."""
    if state == "empty":
        return {"to": f"{sight.address}/checks#gauge_checks", "name": sight.say("shift.begin")}
    margin = sight.margin()
    items = [*margin["wrong"], *margin["here"]]
    if not items:
        return None
    return {"to": items[0]["to"], "name": sight.say("shift.go-on", where=items[0]["where"] or None)}


def clocks(sight: Sight) -> list[dict[str, str]]:
    """Return until when what has to be done, and how the air was last."""
    found = []
    for deadline in sight.standing.deadlines[:1]:
        minutes = int((deadline.instant - sight.at).total_seconds() // 60)
        left = sight.say.left(minutes) if abs(minutes) < 24 * 60 else ""
        found.append({
            "name": sight.say("shift.coat-first", area=deadline.area),
            "value": sight.say("shift.by", time=deadline.coat_by), "more": left,
        })  # fmt: skip
    if sight.evaluation.conditions:
        last = sight.evaluation.conditions[-1]
        if last.margin is not None:
            unit = DISPLAY.get(last.margin_unit, last.margin_unit)
            found.append({
                "name": sight.say("shift.above-dew-point"), "value": f"{sight.say.number(last.margin)} {unit}",
                "more": sight.say("shift.at", time=last.time, where=last.place),
            })  # fmt: skip
    checks = [one for one in sight.evaluation.checks if one.kind == "gauge"]
    if checks:
        found.append({
            "name": sight.say("shift.gauge", gauge=checks[-1].subject), "value": str(checks[-1].time),
            "more": sight.verdict(checks[-1].verdict)["word"],
        })  # fmt: skip
    return found


def state_text(sight: Sight, state: Any) -> dict[str, Any]:
    """Return how the day stands, in one sentence and what follows from it."""
    say, missed = sight.say, [one.area for one in sight.job.day.not_inspected]
    inspected = [area for area in sight.evaluation.areas if area.not_inspected is None]
    count = {word: sum(area.decision == word for area in inspected) for word in ("release", "rework", "hold")}
    missing = sight.margin()["count"]
    more = [say("state.missing", count=missing)] if missing else []
    more += [say("state.not-inspected", areas=", ".join(missed))] if missed else []
    mark = MARKS[sight.evaluation.verdict] if inspected else "none"
    facts: dict[str, Any] = {
        "release": count["release"], "rework": count["rework"], "hold": count["hold"], "inspected": len(inspected),
        "number": state.number, "revision": state.revision, "next": state.revision + 1,
        "signed": state.signed_by, "reason": state.reason, "before": state.revision - 1,
        "at": None if state.issued is None else say.moment(state.issued.issued_at),
        "due": ", ".join(state.due), "due_count": len(state.due),
    }  # fmt: skip
    word = "unready" if missing and state.state in {"ready", "held"} else state.state
    head = say(f"state.{word}", **facts)
    texts = {"state": state.state, "mark": mark, "head": head, **_revising(sight, state)}
    texts |= _waiting(say, state, word)
    if state.state in {"issued", "differs", "revised", "empty"}:
        more = [say(f"state.{state.state}-more", **facts)]
    if state.state == "differs":
        more += differs_text(say, state.differences[:5])
    return {**texts, "more": " ".join(more)}


def _waiting(say: Texts, state: Any, word: str) -> dict[str, Any]:
    """Return what stands in the place of *ready* where another report is issued first, and the way to that."""
    if word not in {"ready", "held"} or state.first is None:
        return {}
    first, day = state.first.number, state.first.day
    behind = "-behind" if first > state.number else ""
    found: dict[str, Any] = {"head": say(f"state.waits{behind}", first=first, number=state.number)}
    if day is not None:
        found["link"] = {"to": f"/shift/{day.stem}", "name": say("state.waits-to", first=first)}
    return found


def _revising(sight: Sight, state: Any) -> dict[str, Any]:
    """Return how one goes on with a day that differs from what was issued."""
    if state.state != "differs":
        return {"begin": "", "report": ""}
    begin = sight.say("state.start", revision=state.revision + 1)
    return {"begin": begin, "report": f"/report/{quote(state.number)}/{state.revision}"}
