"""The head of a shift: its date, who inspects, the reason of a revision; the next shift; one that is taken out."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from reportgen.browser.fields import field
from reportgen.browser.texts import texts
from reportgen.diagnostics import Phrase
from reportgen.errors import InputError, UsageError
from reportgen.intake.changes import Address
from reportgen.pipeline.clock import now
from reportgen.pipeline.shift_files import date_doubt, move_shift
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from reportgen.browser.fields import Field
    from reportgen.browser.sight import Sight
    from reportgen.browser.texts import Texts
    from reportgen.job import Project
    from reportgen.pipeline.contract_state import ContractState, ShiftState

_REPORT = Address(("report",))


def inspectors(project: Project, named: str) -> tuple[tuple[str, str], ...]:
    """Return the people of a contract who may inspect, with the one who is named, whatever that one's role."""
    return tuple((key, one.name) for key, one in project.people.items() if one.inspects or key == named)


def head_fields(sight: Sight) -> list[Field]:
    """Return the fields of the report itself: who inspects, and of a revision why it is needed."""
    report, say = sight.job.day.report, sight.say
    people = inspectors(sight.project, report.inspector)
    found = [
        field(sight.data, _REPORT / "inspector", say("beside.inspector"), kind="choice", options=people, wide=True)
    ]
    if report.supersedes is not None:
        at = _REPORT / "supersedes" / "reason"
        found.append(field(sight.data, at, say("beside.why-revised"), kind="long", wide=True))
    return found


def head_of(sight: Sight, state: ShiftState) -> dict[str, Any]:
    """Return what can be done with a shift as a whole: another date, taken out, or its revision left."""
    report, issued = sight.job.day.report, state.issued
    return {
        "date": report.date.isoformat(), "fresh": issued is None,
        "left": "" if issued is None or report.revision <= issued.revision
        else sight.say("head.leave", revision=report.revision, issued=issued.revision),
    }  # fmt: skip


def next_shift(say: Texts, state: ContractState) -> dict[str, Any] | None:
    """Return what the form of the next shift begins with; None where there is no shift that it could follow."""
    last = next((one for one in reversed(state.shifts) if one.day is not None and one.state != "unreadable"), None)
    if state.project is None or last is None or last.day is None:
        return None
    today = now().date()
    after = today if last.date is None or last.date < today else last.date + dt.timedelta(days=1)
    by = _inspector_of(last.day)
    signed = last.state in {"issued", "revised", "differs"}
    return {
        "day": last.day.stem, "date": after.isoformat(), "by": by, "people": inspectors(state.project, by),
        "first": state.next.what == "start next shift",
        "note": "" if signed else say("home.not-issued", number=last.number, date=last.date and say.day(last.date)),
    }  # fmt: skip


def _inspector_of(day: Path) -> str:
    try:
        report = parse_yaml(day.read_bytes(), day.name).data.get("report")
    except (OSError, InputError):
        return ""
    return str(report.get("inspector", "")) if isinstance(report, dict) else ""


def asked_about(
    folder: Path, language: str, given: Mapping[str, str], number: str | None = None
) -> dict[str, Any] | None:
    """Return what is asked about the date that a form gives; None where nothing is, or it was answered.

    Raises:
        UsageError: it is none.
    """
    say, date = texts(language), date_of(given)
    doubt = None if date is None or given.get("believed") == given["date"] else date_doubt(folder, date, number=number)
    if date is None or doubt is None:
        return None
    why = []
    if doubt.issued is not None:
        why.append(say("head.before-issued", number=doubt.number, date=say.day(doubt.issued)))
    if doubt.days is not None:
        why.append(say("head.far", days=abs(doubt.days), side=say("head.ahead" if doubt.days > 0 else "head.back")))
    return {"why": why, "value": date.isoformat(), "shown": say.day(date)}


def date_of(given: Mapping[str, str]) -> dt.date | None:
    """Return the date of a form; None where it is empty.

    Raises:
        UsageError: it is none.
    """
    try:
        return dt.date.fromisoformat(given["date"]) if given.get("date") else None
    except ValueError:
        raise UsageError(
            Phrase("`{text}` is not a date", text=given["date"]), help_text="write it like `2026-05-14`"
        ) from None


def dated(day: Path, language: str, given: Mapping[str, str]) -> dict[str, Any]:
    """Give a shift another date; return its new name, or what is asked first.

    Raises:
        UsageError, InputError, MachineError: as ``move_shift``.
    """
    date = date_of(given)
    if date is None:
        raise UsageError(texts(language)("write.nothing"))
    report = parse_yaml(day.read_bytes(), day.name).data.get("report")
    number = str(report.get("number")) if isinstance(report, dict) else None
    return asked_about(day.parent, language, given, number) or {"name": move_shift(day, date).stem}
