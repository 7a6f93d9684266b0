"""A day against what was issued before it: earlier days as they were signed, and the report that a revision replaces.

The register of the contract folder says which reports were issued and with which files; a report's own PDF, taken only
with the hash that the register has of it, says what was in them. Without a register nothing was issued here, and
revisions are held against the day file beside them.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from reportgen.diagnostics import Diagnostic, Span
from reportgen.errors import InputError, MachineError, UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from reportgen.issued import ReportRecord
    from reportgen.job import Job
    from reportgen.register import Report
    from reportgen.results import Evaluation

_LONGEST_DAY = 8 * 1024 * 1024
_SAME_STEEL_DAYS = 4
"""Days between reports that can be of one blasting, as the loader takes it."""


class _Document(NamedTuple):
    """A report as issued: the name of its day file, and its record."""

    day: str
    record: ReportRecord


@dataclass(frozen=True)
class _Folder:
    """A contract folder: its day files by SHA-256, and the last revision issued of each number."""

    path: Path

    @cached_property
    def days(self) -> Mapping[str, tuple[str, bytes]]:
        """Name and bytes of every YAML file by its SHA-256; what cannot be read is not there."""
        found = {}
        for path in sorted(self.path.glob("*.yaml")):
            try:
                if path.is_file() and path.stat().st_size <= _LONGEST_DAY:
                    data = path.read_bytes()
                    found[hashlib.sha256(data).hexdigest()] = (path.name, data)
            except OSError:
                continue
        return found

    @cached_property
    def issued(self) -> Mapping[tuple[str, int], Report]:
        """Every report by number and revision; a register that is not sound is for `issue` and `register` to refuse."""
        from reportgen.register import REGISTER_NAME, read_register

        if not (self.path / REGISTER_NAME).exists():
            return {}
        try:
            rows = read_register(self.path).chain.issued
        except (UsageError, MachineError):
            return {}
        return {key: row.report for key, row in rows.items() if row.report is not None}

    @cached_property
    def latest(self) -> Mapping[str, Report]:
        """The highest revision issued of each number."""
        return {number: report for (number, _), report in sorted(self.issued.items())}

    def stating(self, number: str) -> Iterator[tuple[str, str]]:
        """Yield hash and name of every day file of a report number."""
        own = re.compile(rb"\bnumber['\"]?[ \t]*:[ \t]*['\"]?" + re.escape(number.encode()) + rb"['\"]?[ \t]*[,}#\r\n]")
        for digest, (name, data) in self.days.items():
            if own.search(data):
                yield digest, name

    def document(self, report: Report) -> _Document | None:
        """Return a report as issued, from its PDF; None where that is not at hand, or is another file by now."""
        from reportgen.archival import read_attachments
        from reportgen.formats import MANIFEST_NAME, by_path, read_manifest
        from reportgen.issued import Recomputation, record_of

        known = Recomputation()
        try:
            pdf = (self.path / report.file).read_bytes()
            if hashlib.sha256(pdf[: report.size]).hexdigest() != report.signed_sha256:
                return None
            files = read_attachments(pdf)
            manifest = read_manifest(files[MANIFEST_NAME])
            known(by_path(manifest, files))
        except InputError:
            pass  # by today's rules its input cannot be read; its evaluation still can
        except (OSError, ValueError, KeyError):
            return None
        record = record_of(known)
        return None if record is None else _Document(manifest.day, record)


def otherwise_than_issued(folder: Path, job: Job) -> Iterator[Diagnostic]:
    """Yield a warning for each earlier day that the day depends on and that is not as it was issued, or missing."""
    known = _Folder(folder)
    resting = {one.day.report.number: one for one in job.earlier}
    for number, report in known.latest.items():
        if number == job.day.report.number or report.date > job.day.report.date.isoformat():
            continue
        earlier = resting.get(number)
        if earlier is not None:
            yield from _rests_on_other(known, earlier, report)
        elif not any(digest in report.inputs.values() for digest, _ in known.stating(number)):
            yield from _lost(known, job, report)


def _rests_on_other(folder: _Folder, earlier: Job, report: Report) -> Iterator[Diagnostic]:
    """Yield what is otherwise in an earlier day that was loaded than in the report of its number."""
    for file in earlier.files:
        if file.role not in {"day", "csv"}:
            continue
        digest = hashlib.sha256(file.data).hexdigest()
        if digest not in report.inputs.values():
            revision = earlier.day.report.revision
            if revision > report.revision:
                what = f"revision {revision} of {report.number} was not issued, only revision {report.revision}"
            else:
                what = _signed_with(report, "another content")
            yield _diagnostic(folder, file.name, f"the earlier day `{file.name}` is not as issued: {what}", report)


def _lost(folder: _Folder, job: Job, report: Report) -> Iterator[Diagnostic]:
    """Yield an earlier day that is missing or changed, where what was issued of it bears on the day."""
    document = folder.document(report)
    present = sorted(name for _, name in folder.stating(report.number))
    if not (bool(present) if document is None else _bears_on(document.record, job)):
        return
    name = present[0] if present else document.day if document is not None else report.number
    exists = (folder.path / name).exists()
    what = "is not as issued" if exists else "is missing"
    sentence = f"the earlier day `{name}` {what}: {_signed_with(report, 'another content' if exists else 'it')}"
    yield _diagnostic(folder, name, sentence, report)


def _signed_with(report: Report, content: str) -> str:
    return f"{report.number} revision {report.revision} was signed on {report.issued_at[:10]} with {content}"


def _bears_on(record: ReportRecord, job: Job) -> bool:
    """Say whether a report left a nonconformance open, or is of the last days on an area of this day."""
    import datetime as dt

    if any(one.status == "open" for one in record.nonconformances):
        return True
    near = job.day.report.date - dt.date.fromisoformat(record.date) <= dt.timedelta(days=_SAME_STEEL_DAYS)
    return near and bool({area.id for area in record.areas} & {str(one.area) for one in job.day.surfaces})


def _diagnostic(folder: _Folder, name: str, sentence: str, report: Report) -> Diagnostic:
    remedy = f"restore it as issued, from `{report.file}` to which it is attached, or issue a revision of"
    shown = str(folder.path / name)
    return Diagnostic("JOB251", sentence, (Span(shown, 1, 1),), f"{remedy} {report.number} first", "warning")


def against_the_report_replaced(day: Path, job: Job, evaluation: Evaluation) -> Iterator[Diagnostic]:
    """Yield what stands against a revision: nonconformances that it drops, an inspector who may not revise the report.

    A revision takes back by saying so, never by silence.
    """
    own = job.day.report
    if own.revision == 0:
        return
    folder = _Folder(day.parent)
    before = folder.issued.get((own.number, own.revision - 1))
    document = None if before is None else folder.document(before)
    span = Span(str(day), 1, 1)
    title = f"{own.number} revision {own.revision}"
    left = _left_open(document.record) if document is not None else _left_open_beside(folder, job)
    named = {(one.id, one.area) for one in evaluation.nonconformances}
    for name, area in left:
        if (name, area) not in named:
            on = f" on area {area}" if area is not None else ""
            yield Diagnostic(
                "JOB252",
                f"{title} says nothing of {name}{on}, which the revision before it leaves open",
                (span,),
                "list it under `nonconformances`, still open, or closed with who decided it and the evidence",
            )
    if document is not None and not _may_revise(document.record, job):
        inspector = job.project.people[own.inspector].name
        yield Diagnostic(
            "JOB253",
            f"{inspector} may not sign {title}: the revision before it does not name {inspector} in the role or the"
            f" organisation of its inspector, {document.record.inspector}",
            (span,),
            f"have {document.record.inspector} or a colleague so named sign it, or report under a number of its own",
        )


def _left_open(record: ReportRecord) -> list[tuple[str, str | None]]:
    return [
        (one.id, one.area) for one in record.nonconformances if one.status == "open" and one.raised_in == record.number
    ]


def _left_open_beside(folder: _Folder, job: Job) -> list[tuple[str, str | None]]:
    """Return what the day file of the highest lower revision in the folder of a revision leaves open."""
    from reportgen.loader import load_job
    from reportgen.rules import evaluate

    number, revision = job.day.report.number, job.day.report.revision
    jobs = []
    for _, name in folder.stating(number):
        try:
            jobs.append(load_job(folder.path / name))
        except InputError:
            continue
    before = [one for one in jobs if one.day.report.number == number and one.day.report.revision < revision]
    if not before:
        return []
    last = evaluate(max(before, key=lambda one: one.day.report.revision))
    return [(one.id, one.area) for one in last.nonconformances if one.status == "open" and one.raised_in == number]


def _may_revise(record: ReportRecord, job: Job) -> bool:
    """Say whether a report names the inspector of its revision as one who may sign that, by the names of the jobs."""
    from reportgen.names import spelt_alike

    own = job.project.people[job.day.report.inspector]
    named = [one for one in record.may_revise if spelt_alike(one.name, own.name)]
    return bool(named) or not record.may_revise or spelt_alike(record.inspector, own.name)


def with_warnings(job: Job, told: list[Diagnostic]) -> Job:
    """Return a job with warnings of earlier days; each replaces what the loader says of that file."""
    files = {span.file for one in told for span in one.spans}
    kept = [
        one for one in job.warnings if one.code != "JOB250" or not files.intersection(span.file for span in one.spans)
    ]
    return replace(job, warnings=(*kept, *told))
