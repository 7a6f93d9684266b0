"""Where a contract stands: its shifts, each with its state and its report, what is open, its areas over time."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.errors import InputError, MachineError, ReportgenError, UsageError
from reportgen.loader.assembly import load_project
from reportgen.loader.earlier import is_saved_copy
from reportgen.pipeline.as_issued import Folder
from reportgen.pipeline.checking import check
from reportgen.pipeline.clock import now
from reportgen.pipeline.revising import as_issued
from reportgen.register import REGISTER_NAME, next_number, read_register
from reportgen.results.codes.follow_up import MISSING
from reportgen.rules.due import areas_due
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from reportgen.diagnostics import Diagnostic
    from reportgen.job import Project
    from reportgen.pipeline.checking import Checked
    from reportgen.pipeline.revising import EntryDiffers
    from reportgen.register import Report
    from reportgen.results import AreaResult, Decision, NonconformanceState, Standing, Verdict

State = Literal["empty", "in progress", "held", "ready", "issued", "differs", "revised", "unreadable"]

_OWN: Final = frozenset({"format", "project", "report", "not_inspected", "remarks"})
"""What a day file has of which nothing was entered yet."""
_KEPT: Final = 256


@dataclass(frozen=True, slots=True)
class Turn:
    """The report number that is issued next, as a contract numbers its reports, and its day file; None without one."""

    number: str
    day: Path | None


@dataclass(frozen=True, slots=True)
class ShiftState:
    """One shift of a contract.

    ``day`` is the day file's path, None for a report whose day file is gone. ``state``: *unreadable* where the file is
    no YAML, so that nothing can be written; *empty* and *in progress* while something is missing or wrong in it
    (``problems`` are what the loader objects to; the rest is evaluated where that stands within entries); *held* where
    it can be issued and an area stays on hold; *ready*; *issued* as it is; *revised* where that is a revision, or was
    replaced by one; *differs* where it is otherwise than issued (``differences``).

    ``decisions`` counts the areas inspected by decision, ``due`` are the areas due, ``missing`` counts what is missing.
    ``first`` is whose turn it is where the register would refuse this one's number: that is issued first.
    ``issued`` is the register's row of the latest revision, ``issued_areas`` what that report says of its areas.
    """

    day: Path | None
    state: State
    date: dt.date | None = None
    number: str | None = None
    revision: int = 0
    verdict: Verdict | None = None
    decisions: Mapping[Decision, int] = field(default_factory=dict)
    due: tuple[str, ...] = ()
    areas: tuple[AreaResult, ...] = ()
    nonconformances: tuple[NonconformanceState, ...] = ()
    standing: Standing | None = None
    missing: int = 0
    first: Turn | None = None
    issued: Report | None = None
    issued_areas: tuple[AreaResult, ...] = ()
    signed_by: str | None = None
    reason: str | None = None
    differences: tuple[EntryDiffers, ...] = ()
    problems: tuple[Diagnostic, ...] = ()


@dataclass(frozen=True, slots=True)
class OpenNonconformance:
    """A nonconformance that stands open: since when, for how many days, and how many of these after it was due.

    ``closing`` is the report that closes it and was not issued: until it is, the nonconformance is open.
    """

    state: NonconformanceState
    raised: dt.date
    age: int
    overdue: int | None = None
    closing: str | None = None


@dataclass(frozen=True, slots=True)
class AreaStep:
    """What one shift says of an area."""

    date: dt.date
    number: str
    revision: int
    result: AreaResult
    issued: bool

    @property
    def decision(self) -> Decision:
        """What followed for the area."""
        return self.result.decision


@dataclass(frozen=True, slots=True)
class AreaOverTime:
    """An area of the contract, what each shift said of it, oldest first, and how it stands: None where never seen.

    ``missed`` are the shifts that list it as not inspected.
    """

    id: str
    name: str
    structure: str
    steps: tuple[AreaStep, ...]
    missed: tuple[AreaStep, ...] = ()

    @property
    def decision(self) -> Decision | None:
        """As the last shift has it."""
        return self.steps[-1].decision if self.steps else None


@dataclass(frozen=True, slots=True)
class NextPage:
    """What comes next: go on with a shift, issue it, start the next one after it, or mend what cannot be read."""

    what: Literal["new contract", "mend", "go on", "issue", "start next shift"]
    day: Path | None = None


@dataclass(frozen=True, slots=True)
class ContractState:
    """A contract folder; ``project`` is None where there is none, or it cannot be read (``problems``).

    ``saved`` are copies that stand beside a day file because an editor saved while the page wrote.
    """

    folder: Path
    project: Project | None
    shifts: tuple[ShiftState, ...]
    nonconformances: tuple[OpenNonconformance, ...]
    areas: tuple[AreaOverTime, ...]
    next: NextPage
    problems: tuple[Diagnostic, ...] = ()
    register_problems: tuple[str, ...] = ()
    saved: tuple[Path, ...] = ()


def contract_state(folder: Path, *, at: dt.datetime | None = None) -> ContractState:
    """Return where a contract stands; nothing is written. Shifts in order of date, then number; never raises for input.

    Raises:
        UsageError: ``folder`` is no folder.
    """
    if not folder.is_dir():
        raise UsageError(f"`{folder}` is not a folder")
    moment = at or now()
    project, problems = _project(folder)
    known = Folder(folder)
    days = [path for path in sorted(folder.glob("*.yaml")) if path.name != "project.yaml" and path.is_file()]
    ordered = _shifts(known, [path for path in days if not is_saved_copy(path.name)], moment)
    still_open = _open(ordered, _as_last_issued(known, ordered), moment)
    return ContractState(
        folder, project, ordered, still_open, tuple(_over_time(project, ordered)),
        next_among(ordered, moment.date()) if project or ordered else NextPage("new contract"), problems,
        tuple(_register_problems(folder)), tuple(path for path in days if is_saved_copy(path.name)),
    )  # fmt: skip


def _shifts(folder: Folder, days: Sequence[Path], moment: dt.datetime) -> tuple[ShiftState, ...]:
    """Return the shifts of day files, and of reports whose day file is gone, in order."""
    shifts = [one for path in days if (one := _state(path, folder, moment)) is not None]
    stated = {one.number for one in shifts}
    gone = (report for number, report in folder.latest.items() if number not in stated)
    shifts += [
        replace(
            report := _of_report(folder, one),
            state="revised" if one.revision else "issued",
            issued=one,
            issued_areas=report.areas,
        )
        for one in gone
    ]
    return tuple(sorted(shifts, key=lambda one: (one.date or dt.date.max, one.number or "", one.revision)))


def shift_state(day: Path, *, at: dt.datetime | None = None) -> ShiftState:
    """Return where one shift stands.

    Raises:
        UsageError: there is no such file, or it is no day file.
    """
    if not day.is_file():
        raise UsageError(f"there is no day file `{day}`")
    found = _state(day, Folder(day.parent), at or now())
    if found is None:
        raise UsageError(f"`{day}` is no day file: it has no `report`")
    return found


def next_among(shifts: Sequence[ShiftState], today: dt.date) -> NextPage:
    """Return what comes next by the shifts of a contract: today's first, else the last one that is not issued.

    Where that is whole and its number is not next in turn, it is the shift whose turn it is.
    """
    own = [one for one in shifts if one.state not in {"issued", "revised"} and one.day is not None]
    chosen = next((one for one in own if one.date == today), own[-1] if own else None)
    if chosen is None:
        last = next((one.day for one in reversed(shifts) if one.day is not None), None)
        return NextPage("start next shift", last)
    chosen = _before(chosen, own)
    if chosen.state == "unreadable":
        return NextPage("mend", chosen.day)
    return NextPage("issue" if chosen.state in {"held", "ready"} else "go on", chosen.day)


def _before(chosen: ShiftState, own: Sequence[ShiftState]) -> ShiftState:
    """Return the shift whose turn it is before one that is whole; else that one."""
    if chosen.state not in {"held", "ready"} or chosen.first is None:
        return chosen
    turn = chosen.first.day
    return next((one for one in own if one.day == turn), chosen)


# One shift


def _state(day: Path, folder: Folder, moment: dt.datetime) -> ShiftState | None:
    """Return where a shift stands; None for a file that is no day file."""
    try:
        data = day.read_bytes()
        plain = parse_yaml(data, str(day)).data
    except OSError:
        return ShiftState(day, "unreadable")
    except InputError as failure:
        return ShiftState(day, "unreadable", problems=failure.diagnostics)
    report = plain.get("report")
    if not isinstance(report, dict):
        return None
    number, revision = str(report.get("number")), str(report.get("revision"))
    first = ShiftState(
        day, "in progress", _date(report.get("date")), number, int(revision) if revision.isdigit() else 0
    )
    latest = folder.latest.get(number)
    if latest is not None and first.revision <= latest.revision:
        return _as_issued(first, folder, latest, data, plain)
    typed = _being_typed(first, day, plain, folder, moment)
    if latest is None:
        return typed
    report = _of_report(folder, latest)  # which stands until the revision is issued
    return replace(typed, issued_areas=report.areas, signed_by=report.signed_by)


def _date(text: object) -> dt.date | None:
    try:
        return dt.date.fromisoformat(str(text))
    except ValueError:
        return None


def _as_issued(
    first: ShiftState, folder: Folder, latest: Report, data: bytes, plain: Mapping[str, Any]
) -> ShiftState:  # fmt: skip
    """Return the state of a shift that was issued: as it is, replaced since, or changed since."""
    issued = _of_report(folder, latest)
    own = replace(
        first, verdict=issued.verdict, decisions=issued.decisions, areas=issued.areas, issued=latest,
        issued_areas=issued.areas,
        nonconformances=issued.nonconformances, signed_by=issued.signed_by, reason=issued.reason,
    )  # fmt: skip
    if first.revision < latest.revision or hashlib.sha256(data).hexdigest() in latest.inputs.values():
        return replace(own, state="revised" if latest.revision else "issued")
    return replace(own, state="differs", differences=as_issued(folder, latest, plain))


_reports: dict[str, ShiftState] = {}


def _of_report(folder: Folder, report: Report) -> ShiftState:
    """Return what a report as issued says, kept by its hash: opened once, however often a page asks."""
    if report.signed_sha256 in _reports:
        return _reports[report.signed_sha256]
    reason = report.supersedes.reason if report.supersedes else None
    bare = ShiftState(
        None, "issued", _date(report.date), report.number, report.revision, report.verdict, reason=reason  # type: ignore[arg-type] # as registered
    )  # fmt: skip
    document = folder.document(report)
    if document is None:
        return bare
    evaluation, record = document.known.evaluation, document.record
    if evaluation is not None:
        bare = replace(
            bare, areas=evaluation.areas, decisions=decisions_of(evaluation.areas),
            nonconformances=evaluation.nonconformances,
        )  # fmt: skip
    found = replace(bare, signed_by=record.inspector if record else None)
    while len(_reports) >= _KEPT:
        _reports.pop(next(iter(_reports)))
    _reports[report.signed_sha256] = found
    return found


def _being_typed(
    first: ShiftState, day: Path, plain: Mapping[str, Any], folder: Folder, moment: dt.datetime
) -> ShiftState:  # fmt: skip
    """Return the state of a shift that was not issued as it is."""
    own = replace(first, issued=folder.latest.get(first.number or ""))
    try:
        checked = check(day, at=moment, typed=True)
    except InputError as failure:
        errors = tuple(one for one in failure.diagnostics if one.severity == "error")
        return replace(own, problems=errors)
    except ReportgenError as failure:  # an entry that no rule can take
        from reportgen.diagnostics import Diagnostic

        return replace(own, problems=(Diagnostic("", failure.message, (), failure.help_text),))
    job, evaluation, standing = checked.job, checked.evaluation, checked.standing
    supersedes = job.day.report.supersedes
    nothing = not any(plain.get(key) for key in plain.keys() - _OWN)
    return replace(
        own,
        state="empty" if nothing else _ready(checked, standing, moment),
        verdict=evaluation.verdict,
        decisions=decisions_of(evaluation.areas),
        due=tuple(one.plan.id for one in areas_due(job, evaluation, ())),
        areas=evaluation.areas,
        nonconformances=evaluation.nonconformances,
        standing=standing,
        first=_turn(first, job.project.project.report_numbers, folder),
        missing=len(standing.missing) + len(standing.asked) + len(standing.wrong),
        problems=job.unread,
        reason=None if supersedes is None else str(supersedes.reason),
    )


def _turn(own: ShiftState, pattern: str | None, folder: Folder) -> Turn | None:
    """Return whose turn it is where the numbers of a contract have a pattern and it is not this shift's; else None."""
    if pattern is None or own.revision:
        return None
    try:
        due = next_number(pattern, [number for number, _ in folder.issued])
    except UsageError:  # the pattern is used up, and says so when it is signed
        return None
    names = folder.stating.get(due, {}).values()
    return None if due == own.number else Turn(due, next((folder.path / name for name in names), None))


def _ready(checked: Checked, standing: Standing, moment: dt.datetime) -> State:
    """Say whether a day can be issued: nothing is to be filled in, nothing doubted, every failure has been answered.

    While the shift lasts, what is missing can still be measured; after it, an area that lacks something stays on hold.
    """
    job, areas = checked.job, checked.evaluation.areas
    unanswered = any(one.code == MISSING.name for one in checked.evaluation.findings)
    if job.unfilled or job.unfinished or standing.wrong or unanswered:
        return "in progress"
    held = any(one.decision == "hold" and one.not_inspected is None for one in areas)
    if (held or standing.missing) and moment < job.clock.shift()[1]:
        return "in progress"
    return "held" if held else "ready"


def decisions_of(areas: Sequence[AreaResult]) -> Mapping[Decision, int]:
    """Count areas that were inspected by decision."""
    return Counter(one.decision for one in areas if one.not_inspected is None)


# The contract


def _project(folder: Path) -> tuple[Project | None, tuple[Diagnostic, ...]]:
    if not (folder / "project.yaml").exists():
        return None, ()
    try:
        return load_project(folder / "project.yaml"), ()
    except InputError as failure:
        return None, failure.diagnostics
    except UsageError as failure:
        from reportgen.diagnostics import Diagnostic

        return None, (Diagnostic("", failure.message, (), failure.help_text),)


_ISSUED: Final = frozenset({"issued", "revised", "differs"})
"""States of a shift whose areas and nonconformances are those of its report."""


def _as_last_issued(folder: Folder, shifts: Sequence[ShiftState]) -> Sequence[NonconformanceState]:
    """Return the nonconformances as the last report has them that was issued."""
    for one in reversed(shifts):
        if one.issued is not None:
            return (one if one.state in _ISSUED else _of_report(folder, one.issued)).nonconformances
    return ()


def _by_id(states: Sequence[NonconformanceState]) -> dict[str, NonconformanceState]:
    """Return those that are open."""
    return {one.id: one for one in states if one.status == "open"}


def _open(
    shifts: Sequence[ShiftState], issued: Sequence[NonconformanceState], moment: dt.datetime
) -> tuple[OpenNonconformance, ...]:
    """Return what stands open after the last shift, the oldest first: it carries forward what the others left.

    What the last report has open that was ``issued`` stays so, whatever a shift says that was not.
    """
    newest = next((one for one in reversed(shifts) if one.areas), ShiftState(None, "issued"))
    still = _by_id(newest.nonconformances)
    left = {} if newest.state in _ISSUED else _by_id(issued)
    every = left | still
    dates = {one.number: one.date for one in shifts}
    today = moment.date()
    found = []
    for one in every.values():
        raised = dates.get(one.raised_in) or today
        due = _date(one.due) if one.due else None
        late = (today - due).days if due is not None and due < today else None
        found.append(
            OpenNonconformance(one, raised, (today - raised).days, late, None if one.id in still else newest.number)
        )
    return tuple(sorted(found, key=lambda one: (one.raised, one.state.id)))


def _over_time(project: Project | None, shifts: Sequence[ShiftState]) -> Iterator[AreaOverTime]:
    """Yield every area of the contract with what each shift says of it, and areas that only a shift knows."""
    steps: dict[str, list[AreaStep]] = {}
    missed: dict[str, list[AreaStep]] = {}
    for shift in shifts:
        stands = {(one.id, one.decision) for one in shift.issued_areas}
        for area in shift.areas:
            if shift.date is not None:
                issued = (area.id, area.decision) in stands
                step = AreaStep(shift.date, shift.number or "", shift.revision, area, issued)
                (steps if area.not_inspected is None else missed).setdefault(area.id, []).append(step)
    for structure in project.structures if project else ():
        for plan in structure.areas:
            yield AreaOverTime(
                plan.id, plan.name, structure.name, tuple(steps.pop(plan.id, ())), tuple(missed.get(plan.id, ()))
            )
    for name, several in steps.items():
        yield AreaOverTime(name, several[-1].result.name, several[-1].result.structure, tuple(several))


def _register_problems(folder: Path) -> Iterator[str]:
    """Yield why the register of a contract cannot be believed as it is."""
    if not (folder / REGISTER_NAME).exists():
        return
    try:
        chain = read_register(folder).chain
        chain.require_read()
    except (UsageError, MachineError) as failure:
        yield failure.message
