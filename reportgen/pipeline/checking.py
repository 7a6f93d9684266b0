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
from reportgen.pipeline.left_out import left_out
from reportgen.results import Evaluation, Standing  # noqa: TC001 - named in the annotations of a public class
from reportgen.results.omitted import Omitted  # noqa: TC001 - named in the annotations of a public class
from reportgen.rules import Kept, evaluate
from reportgen.rules.left_out import Judged, omitted
from reportgen.rules.standing import standing

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from reportgen.issued import NonconformanceRecord, ReportRecord
    from reportgen.job import Job, Person
    from reportgen.pipeline.as_issued import IssuedFiles
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
    own, span, folder = checked.job.day.report, Span(str(day), 1, 1), Folder(day.parent)
    before, judged = _Before(folder, span), Judged(checked.job, checked.evaluation)
    try:
        issued = before.issued(own.number, own.revision) if own.revision else []
        replaced = before(own.number, own.revision) if issued else []
        record = issued[-1].record if issued else None
        against = [
            *(_against(before, record, checked, span) if own.revision else ()),
            *(() if checked.job.head_unfinished else left_out(judged, before, span)),
        ]
    except _NotAtHandError as gone:
        against = [gone.diagnostic]
    if against:
        raise InputError([*checked.job.warnings, *against])
    return replace(checked, omitted=omitted(replaced, judged)) if replaced else checked


class _NotAtHandError(Exception):
    """A report that a revision replaces is not there as it was issued."""

    def __init__(self, diagnostic: Diagnostic) -> None:
        super().__init__(diagnostic)
        self.diagnostic = diagnostic


@dataclass(frozen=True)
class _Before:
    """The reports that revisions in a folder replace: as issued; where nothing was, the day files beside them."""

    folder: Folder
    span: Span

    def __call__(self, number: str, revision: int) -> list[Judged]:
        """Return the reports of a number before a revision, oldest first."""
        issued = self.issued(number, revision)
        if not issued:
            return [Judged(one.job, one.evaluation) for one in self.beside(number, revision)]
        known = (one.known for one in issued)
        return [Judged(one.job, one.evaluation) for one in known if one.job is not None and one.evaluation is not None]

    def issued(self, number: str, revision: int) -> list[IssuedFiles]:
        """Return what was issued of a number before a revision, oldest first.

        Raises:
            _NotAtHandError: one of them is not there, or cannot be read.
        """
        reports = [one for key, one in sorted(self.folder.issued.items()) if key[0] == number and key[1] < revision]
        found = []
        for report in reports:
            document = self.folder.document(report)
            if document is None or document.record is None:
                title, gone = f"{number} revision {revision}", self.folder.gone(report)
                sentence = f"{title} replaces a report that is not at hand: {gone}"
                remedy = f"put `{report.file}` back as it was issued"
                raise _NotAtHandError(Diagnostic("JOB254", sentence, (self.span,), remedy))
            found.append(document)
        return found

    def beside(self, number: str, revision: int) -> list[Checked]:
        """Return the day files of lower revisions in the folder, evaluated, lowest first."""
        found: dict[int, Checked] = {}
        for name in self.folder.stating.get(number, {}).values():
            with suppress(InputError):
                one = evaluated(self.folder.path / name)
                report = one.job.day.report
                if report.number == number and report.revision < revision:
                    found.setdefault(report.revision, one)
        return [one for _, one in sorted(found.items())]


def _against(before: _Before, record: ReportRecord | None, checked: Checked, span: Span) -> Iterator[Diagnostic]:
    """Yield what stands against a revision: nonconformances that it drops, an inspector who may not revise the report.

    A revision takes back by saying so, never by silence. It is held against the last that was issued before it, even
    where one between is still to be issued; where nothing was, against the day file before it in the folder.
    """
    job = checked.job
    own, title = job.day.report, full_title(job.day.report)
    if not job.head_unfinished:
        last = before.beside(own.number, own.revision)[-1:] if record is None else ()
        told: Sequence[NonconformanceState | NonconformanceRecord]
        told = record.nonconformances if record else [each for one in last for each in one.evaluation.nonconformances]
        yield from _dropped(told, job, checked.evaluation, span)
    people = job.project.people
    if record is not None and own.inspector in people:
        yield from _not_theirs(record, people[own.inspector], title, span)


def _not_theirs(record: ReportRecord, inspector: Person, title: str, span: Span) -> Iterator[Diagnostic]:
    """Yield that an inspector may not revise a report: it does not name him, or states another certificate for him."""
    named = [(one.organisation, one.pin) for one in record.may_revise if spelt_alike(one.name, inspector.name)]
    if not named and spelt_alike(record.inspector, inspector.name):
        named = [(None, record.signs_with)]
    own, house = inspector.signs_with.pin if inspector.signs_with else None, inspector.organisation or ""
    if any(pin in (None, own) and (body is None or spelt_alike(body, house)) for body, pin in named):
        return
    if not (named or record.may_revise):
        return
    name = inspector.name
    why = (
        f"the revision before it states by which certificate {name} signs, or of which organisation, and the project"
        " file another one, or none"
        if named
        else f"the revision before it does not name {name} in the role or the organisation of its inspector,"
        f" {record.inspector}"
    )
    how = (
        f"enter `signs_with` and `organisation` of {name} as in the revision before it; with a renewed certificate of"
        " another pin report under a number of its own, or have a colleague sign it whom that revision names"
        if named
        else f"have {record.inspector} or a colleague so named sign it, or report under a number of its own"
    )
    yield Diagnostic("JOB253", f"{name} may not sign {title}: {why}", (span,), how)


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
