"""What the page of the contract shows: where things stand, its shifts, what is open, its areas over time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.browser.contents import diagnostic_text, limits_stated, state_word
from reportgen.browser.fields import to_fill_in
from reportgen.browser.head_views import next_shift
from reportgen.browser.report_views import awaiting
from reportgen.browser.sight import MARKS, seen
from reportgen.browser.texts import Texts, texts
from reportgen.errors import ReportgenError
from reportgen.pipeline.clock import now
from reportgen.pipeline.contract_state import ContractState, NextPage, ShiftState, contract_state

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping
    from pathlib import Path

    from reportgen.job import Project

STATES = {
    "empty": "none", "in progress": "open", "held": "open", "ready": "conforms", "issued": "conforms",
    "differs": "fails", "revised": "conforms", "unreadable": "open",
}  # fmt: skip


def contract_view(folder: Path, language: str) -> dict[str, Any]:
    """Return what the page of the contract shows; ``new`` where the folder holds none yet."""
    moment = now()
    state, say = contract_state(folder, at=moment), texts(language)
    if state.project is None and not state.problems:
        return {"new": True, "begin": "/audit" if any(folder.glob("*.pdf")) else "/new"}
    missing, later = _missing(state, language, moment)
    problems = [
        {"file": one.spans[0].file, "line": one.spans[0].line, "text": diagnostic_text(say, one)}
        for one in state.problems
    ]
    return {
        "new": False, "problems": problems, **_of_project(say, state.project, folder),
        "shifts": [_shift(say, one, missing.get(one.day, 0)) for one in reversed(state.shifts)],
        "state": _told(say, state, moment.date(), missing), "next": _next(say, state.next, missing),
        "later": later, "following": next_shift(say, state),
        "open": [_open(say, state, one) for one in state.nonconformances],
        "areas": [{"id": one.id, "name": one.name} for one in state.areas],
        "steps": (steps := _over_time(say, state)),
        "blank": any(len(one["areas"]) < len(state.areas) for one in steps),
        "due": [{"text": f"{one.id}, {one.name}", "decision": say(f"decision.{one.decision}")}
                for one in state.areas if one.decision not in (None, "release")],
        "awaiting": list(awaiting(say, folder, state)),
        "register": list(state.register_problems),
        "issued": sum(one.issued is not None for one in state.shifts),
    }  # fmt: skip


def _missing(
    state: ContractState, language: str, moment: dt.datetime
) -> tuple[dict[Path | None, int], list[dict[str, Any]]]:  # fmt: skip
    """Return of shifts that are being typed how much each lacks, as its own page counts, and what is left of the last.

    What is left for later is to be filled in before anything can be issued.
    """
    found: dict[Path | None, int] = {}
    later: list[dict[str, Any]] = []
    for one in state.shifts:
        if one.day is None or one.state in {"issued", "revised", "differs", "unreadable"}:
            continue
        try:
            margin = seen(one.day, language, moment).margin()
        except ReportgenError:  # it is said beside the shift
            found[one.day] = one.missing
            continue
        found[one.day], later = margin["count"], margin["later"]
    return found, later


def _of_project(say: Texts, project: Project | None, folder: Path) -> dict[str, Any]:
    """Return what the project file says of itself; of one that cannot be read the folder's name."""
    if project is None:
        return {"title": folder.name, "body": "reportgen", "what": "", "sub": "", "language": "en", "runs_out": []}
    spec, own = project.specification, project.project
    requires = (spec.document, limits_stated(say, spec.profile), spec.surface_preparation.grade)
    return {
        "title": own.name, "body": project.inspection_body.name, "what": f"{own.contract} · {own.client}",
        "sub": " · ".join((say("home.contract", number=own.contract), own.contractor, *requires)),
        "language": "de" if (project.template or "").endswith("-de") else "en", "runs_out": _runs_out(say, project),
    }  # fmt: skip


def _told(say: Texts, state: ContractState, today: dt.date, missing: Mapping[Path | None, int]) -> dict[str, str]:
    """Return how the contract stands today, in one sentence and what follows from it."""
    last = next((one for one in reversed(state.shifts) if one.day is not None), None)
    inspected = [one for one in state.areas if one.steps]
    released = [one for one in inspected if one.decision == "release"]
    more = say(
        "home.stands",
        open=len(state.nonconformances),
        inspected=len(inspected),
        all=len(state.areas),
        closing=sum(one.closing is not None for one in state.nonconformances) or None,
        released=len(released),
        unsigned=sum(not one.steps[-1].issued for one in released) or None,
    )
    unread = [one.day.name for one in state.shifts if one.state == "unreadable" and one.day is not None]
    if unread:
        return {"mark": STATES["unreadable"], "head": say("home.unread", files=", ".join(unread)), "more": more}
    if last is None or last.date is None:
        return {"mark": "none", "head": say("home.no-shift"), "more": more}
    head = say(
        "home.last", today=say("home.today") if last.date == today else None, date=say.day(last.date),
        state=state_word(say, last, missing.get(last.day, 0)), missing=missing.get(last.day) or None,
    )  # fmt: skip
    return {"mark": STATES[last.state], "head": head, "more": more}


def _next(say: Texts, step: NextPage, missing: Mapping[Path | None, int]) -> dict[str, str] | None:
    if step.what in {"new contract", "start next shift"}:  # which is begun with its date
        return None
    day = "" if step.day is None else step.day.stem
    what = "go on" if step.what == "issue" and missing.get(step.day) else step.what
    return {"to": f"/shift/{day}", "name": say(f"next.{what}", day=day)}


def _shift(say: Texts, one: ShiftState, missing: int) -> dict[str, Any]:
    counts = one.decisions or {}
    result = ", ".join(f"{say(f'decision.{word}')} {count}" for word, count in counts.items() if count)
    day = "" if one.day is None else one.day.stem
    mark = "none" if one.verdict is None or not counts else MARKS[one.verdict]
    signed = None
    if one.issued is not None:
        revised = one.issued.revision if one.revision > one.issued.revision else None
        signed = say("home.signed", revision=revised, at=say.moment(one.issued.issued_at), by=one.signed_by)
    return {
        "to": f"/shift/{day}" if day else "", "date": day if one.date is None else say.day(one.date),
        "number": one.number or "", "revision": one.revision, "mark": mark, "result": result,
        "state": state_word(say, one, missing), "signed": signed or "",
        "report": f"/report/{one.number}/{one.issued.revision}" if one.issued is not None else "",
    }  # fmt: skip


def _open(say: Texts, state: ContractState, one: Any) -> dict[str, Any]:
    number = one.state.raised_in
    day = next((each.day.stem for each in reversed(state.shifts) if each.day is not None), "")
    return {
        "age": say("home.age", days=one.age), "id": one.state.id, "area": one.state.area or "", "raised": number,
        "what": one.state.description,
        "closing": say("home.closing", report=one.closing) if one.closing else "",
        "disposition": say(f"disposition.{one.state.disposition}"),
        "to": f"/shift/{day}/nonconformances" if day else "",
    }  # fmt: skip


def _over_time(say: Texts, state: ContractState) -> list[dict[str, Any]]:
    """Return for each shift what it says of each area of the contract."""
    found: dict[tuple[Any, str], dict[str, dict[str, str]]] = {}
    for area in state.areas:
        for step in (*area.steps, *area.missed):
            why = step.result.not_inspected
            missed = why is not None
            reason = None if to_fill_in("reason", why) else why
            word = say("home.missed", reason=reason) if missed else say(f"decision.{step.decision}")
            mark = "open" if missed else MARKS[step.decision]
            found.setdefault((step.date, step.number), {})[area.id] = {"mark": mark, "word": word}
    return [{"date": say.day(date, year=False), "areas": areas} for (date, _), areas in sorted(found.items())]


def _runs_out(say: Texts, project: Any) -> list[str]:
    """Return when calibrations and rolls of tape run out, the first one first."""
    dated = [
        (one.calibration_due, say("home.calibration", name=name))
        for name, one in project.instruments.items()
        if one.calibration_due
    ]
    dated += [
        (one.expires, say("home.tape", name=name, lot=one.lot))
        for name, one in project.tape_rolls.items()
        if one.expires
    ]
    dated += [
        (one.certificate_expires, say("home.certificate", name=one.name))
        for one in project.people.values()
        if one.certificate_expires
    ]
    return [f"{text}: {say.day(date)}" for date, text in sorted(dated, key=lambda one: one[0])]


def next_day_begun(day: Path, date: dt.date | None, inspector: str | None) -> str:
    """Write the day file of the next shift, by an inspector of the contract; return its name.

    Raises:
        InputError, UsageError: as ``start_next_day``.
    """
    from reportgen.pipeline.onsite import start_next_day

    return start_next_day(day, date=date, inspector=inspector)[0].stem
