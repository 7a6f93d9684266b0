"""From a day file to its evaluation, and a revision held against the report that it replaces."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from reportgen.diagnostics import Diagnostic, Span
from reportgen.errors import InputError
from reportgen.formats import encode
from reportgen.names import full_title, spelt_alike
from reportgen.pipeline.as_issued import Folder, load
from reportgen.results import Evaluation, Standing  # noqa: TC001 - named in the annotations of a public class
from reportgen.results.omitted import AreaOmitted, FindingOmitted, LocationsOmitted, Omitted
from reportgen.rules import Kept, evaluate
from reportgen.rules.standing import standing

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from reportgen.issued import NonconformanceRecord, ReportRecord
    from reportgen.job import Job
    from reportgen.register import Report
    from reportgen.results import NonconformanceState


KEPT = Kept()
"""What this process has evaluated of days being typed: a page that stays asks for the same days again and again."""


@dataclass(frozen=True, slots=True)
class Checked:
    """A validated job, what follows from it, and that as canonical JSON; what a revision leaves out that was issued."""

    job: Job
    evaluation: Evaluation
    canonical: bytes
    omitted: Omitted | None = None

    @property
    def standing(self) -> Standing:
        """Where the day stands."""
        return standing(self.job, self.evaluation)


def evaluated(
    day: Path,
    *,
    at: dt.datetime | None = None,
    until: dt.datetime | None = None,
    itself: bool = False,
    slips: bool = True,
    typed: bool = False,
) -> Checked:
    """Load, validate and evaluate one day file upon earlier days as they were issued.

    ``at`` is the present moment, or that of issue, while the shift lasts; without it the shift is taken to be over.
    ``until`` as for ``load_job``. With ``itself`` the day is judged as an earlier day too: by the project file that its
    own report was issued by. Without ``slips`` it is judged as if none were issued yet: no slip is part of another.
    ``typed`` as for ``load_job``.

    Raises:
        InputError: with every diagnostic of every file, when the input cannot be used.
    """
    job = load(day, until=until, itself=itself, typed=typed)
    if not slips:
        job = replace(job, slips=(), files=tuple(file for file in job.files if file.role != "slip"))
    evaluation = evaluate(job, at=at, kept=KEPT if typed and slips else None)
    return Checked(job, evaluation, encode(evaluation))


def check(
    day: Path,
    *,
    at: dt.datetime | None = None,
    until: dt.datetime | None = None,
    slips: bool = True,
    typed: bool = False,
) -> Checked:
    """Evaluate one day file, and hold a revision against the report that it replaces; write nothing.

    ``at``, ``until``, ``slips`` and ``typed`` as for ``evaluated``: whoever looks at a day being typed wants the rest
    of it, whoever writes of it all.

    Raises:
        InputError: as ``evaluated``, and where something stands against the revision.
    """
    checked = evaluated(day, at=at, until=until, slips=slips, typed=typed)
    if checked.job.day.report.revision:
        folder = Folder(day.parent)
        before, record = _last_before(folder, checked.job)
        span = Span(str(day), 1, 1)
        if before is not None and record is None:
            sentence = (
                f"{full_title(checked.job.day.report)} replaces a report that is not at hand: {folder.gone(before)}"
            )
            against = [Diagnostic("JOB254", sentence, (span,), f"put `{before.file}` back as it was issued")]
        else:
            against = list(_against(folder, record, checked, span))
        if against:
            raise InputError([*checked.job.warnings, *against])
        return checked if record is None else replace(checked, omitted=omitted(record, checked.evaluation))
    return checked


def _last_before(folder: Folder, job: Job) -> tuple[Report | None, ReportRecord | None]:
    """Return the last report issued before a revision, and what it says; None of one that is not at hand."""
    own = job.day.report
    last = max((one for number, one in folder.issued if number == own.number and one < own.revision), default=None)
    before = None if last is None else folder.issued[own.number, last]
    return before, None if before is None else folder.record(before)


def omitted(record: ReportRecord, evaluation: Evaluation) -> Omitted | None:
    """Return what an evaluation leaves out of what a report says: areas, locations, what failed; None if nothing."""
    named = {one.id for one in evaluation.areas}
    gone = tuple(AreaOmitted(one.id, one.decision) for one in record.areas if one.id not in named)
    told = Omitted(gone, locations_omitted(record, evaluation), findings_omitted(record, evaluation))
    return None if told == Omitted() else told


def locations_omitted(record: ReportRecord, evaluation: Evaluation) -> tuple[LocationsOmitted, ...]:
    """Return the locations that are left out of areas that are still named."""
    known = {one.id: {each.id for each in one.locations} for one in evaluation.areas}
    left = {
        one.id: tuple(each.id for each in one.locations if each.id not in known.get(one.id, ()))
        for one in record.areas
    }  # fmt: skip
    return tuple(LocationsOmitted(area, ids) for area, ids in left.items() if ids and area in known)


def findings_omitted(record: ReportRecord, evaluation: Evaluation) -> tuple[FindingOmitted, ...]:
    """Return what failed and is not found any more, where that is not of an area that is left out itself."""
    still = {None, *(one.id for one in evaluation.areas)}
    found = {(one.code, one.area) for one in evaluation.findings if one.severity == "nonconformance"}
    failed = dict.fromkeys((one.code, one.area) for one in record.findings if one.severity == "nonconformance")
    return tuple(FindingOmitted(*one) for one in failed if one not in found and one[1] in still)


def _against(folder: Folder, record: ReportRecord | None, checked: Checked, span: Span) -> Iterator[Diagnostic]:
    """Yield what stands against a revision: nonconformances that it drops, an inspector who may not revise the report.

    A revision takes back by saying so, never by silence. It is held against the last that was issued before it, even
    where one between is still to be issued; where nothing was, against the day file before it in the folder.
    """
    job = checked.job
    own, title = job.day.report, full_title(job.day.report)
    if not job.head_unfinished:
        told = _beside(folder, job) if record is None else record.nonconformances
        yield from _dropped(told, job, checked.evaluation, span)
    people = job.project.people
    if record is not None and own.inspector in people and not _may_revise(record, job):
        inspector = people[own.inspector].name
        yield Diagnostic(
            "JOB253",
            f"{inspector} may not sign {title}: the revision before it does not name {inspector} in the role or the"
            f" organisation of its inspector, {record.inspector}",
            (span,),
            f"have {record.inspector} or a colleague so named sign it, or report under a number of its own",
        )


def _dropped(
    told: Sequence[NonconformanceState | NonconformanceRecord], job: Job, evaluation: Evaluation, span: Span
) -> Iterator[Diagnostic]:
    """Yield each nonconformance of a report that its revision says nothing of."""
    own = job.day.report
    left = [(one.id, one.area) for one in told if one.status == "open" and one.raised_in == own.number]
    named = {(one.id, one.area) for one in evaluation.nonconformances}
    for name, area in (one for one in left if one not in named):
        on = f" on area {area}" if area is not None else ""
        yield Diagnostic(
            "JOB252",
            f"{full_title(own)} says nothing of {name}{on}, which the revision before it leaves open",
            (span,),
            "list it under `nonconformances`, still open, or closed with who decided it and the evidence; where what it"
            " was raised for was misread, closed as `rework`, with that as `evidence`, decided by who is neither an"
            " inspector nor of the contractor",
        )


def _beside(folder: Folder, job: Job) -> tuple[NonconformanceState, ...]:
    """Return the nonconformances of the highest lower revision in the folder of a revision, as they stood after it."""
    own = job.day.report
    last: Checked | None = None
    for name in folder.stating.get(own.number, {}).values():
        with suppress(InputError):
            found = evaluated(folder.path / name)
            report = found.job.day.report
            if report.number == own.number and report.revision < own.revision:
                last = found if last is None or last.job.day.report.revision < report.revision else last
    return () if last is None else last.evaluation.nonconformances


def _may_revise(record: ReportRecord, job: Job) -> bool:
    """Say whether a report names the inspector of its revision as one who may sign that, by the names of the jobs."""
    own = job.project.people[job.day.report.inspector]
    named = [one for one in record.may_revise if spelt_alike(one.name, own.name)]
    return bool(named) or not record.may_revise or spelt_alike(record.inspector, own.name)
