"""What an earlier day said: a day loaded upon what was issued before it.

The register of the contract folder says which reports were issued and with which files, by their hashes; a report's own
PDF, taken only with the hash that the register has of it, holds them. An earlier day is judged by the project file that
its report was issued by, whatever has become of the project file since: what was agreed later holds for the reports
that are issued under it. Without a register nothing was issued here, unless signed reports lie in the folder: then
the register is lost, or cut short. Which earlier days bear on a day is decided in `reportgen.loader.earlier`, for what
was issued and is gone as for what is there.
"""

from __future__ import annotations

import hashlib
import itertools
import re
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.diagnostics import Diagnostic, Span
from reportgen.errors import InputError, MachineError, UsageError
from reportgen.formats import ISSUE_NAME, MANIFEST_NAME, by_path, is_plain, read_issue, read_manifest
from reportgen.loader.earlier import is_saved_copy
from reportgen.names import full_title

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.formats import IssueFacts
    from reportgen.issued import Recomputation, ReportRecord
    from reportgen.job import Day, Job
    from reportgen.register import Chain, Report

SLIPS = "reports/slips"
"""Where the release slips of a contract folder lie, unless another place was asked for."""
_LONGEST_DAY = 8 * 1024 * 1024
_NAMED = 3
"""Reports that a warning names; of the others it says how many."""
NOT_AS_ISSUED = frozenset({"JOB250", "JOB251", "JOB257"})
"""Codes of warnings that a day rests on what is not as it was issued: nothing is released or issued upon that."""
_NUMBER = re.compile(rb"\bnumber['\"]?[ \t]*:[ \t]*['\"]?([A-Z0-9.-]+)['\"]?[ \t]*[,}#\r\n]")


def load(
    day: Path,
    *,
    until: dt.datetime | None = None,
    itself: bool = False,
    typed: bool = False,
    content: bytes | None = None,
    content_of: str | None = None,
) -> Job:
    """Load a day upon its earlier days as they were issued; with ``itself`` it is one too, where it was issued.

    With ``typed`` what is wrong within its entries sets those aside, as for ``load_job``.

    ``content`` is taken for that of the day file, or of the file ``content_of`` beside it, as if it had been saved.

    Of what is not as it was issued the job has a warning, and the file among ``not_as_issued``.

    Raises:
        InputError: as ``load_job``, which ``until`` is for.
    """
    from reportgen.loader import load_job

    folder = Folder(day.parent)
    try:
        job = load_job(
            day,
            until=until,
            issued=folder.project_of,
            before=folder.issued_before,
            conformed=folder.conformed,
            itself=itself,
            typed=typed,
            content=content,
            content_of=content_of,
        )
    except InputError as failure:
        raise InputError([*failure.diagnostics, *folder.without_project()]) from None
    job, unfounded = _as_issued_then(folder, job)
    job, unknown = _with_replaced(folder, job)
    job, without = _with_slips(folder, job)
    told = [
        *without,
        *unfounded,
        *unknown,
        *folder.unregistered(),
        *folder.without_project(),
        *_otherwise_than_issued(folder, job),
    ]
    files = {span.file for one in told for span in one.spans}
    as_issued = folder.as_issued  # of which it is asked above whether they bear on the day
    kept = [
        one for one in job.warnings
        if not (one.code in {"JOB250", "JOB257"} and files.intersection(span.file for span in one.spans))
        and not (one.code == "JOB257" and Path(one.spans[0].file).name in as_issued)
    ]  # fmt: skip
    warnings = (*kept, *told)
    resting = dict.fromkeys(Path(one.spans[0].file).name for one in warnings if one.code in NOT_AS_ISSUED)
    return replace(job, warnings=warnings, not_as_issued=tuple(resting))


def _as_issued_then(folder: Folder, job: Job) -> tuple[Job, list[Diagnostic]]:
    """Return a day whose earlier days have with them what their reports were issued upon, where that tells more.

    A revision of a report states what that one found; what later ones were issued with as open, they still are. There
    is a warning for each of which nobody can say that.
    """
    told: list[Diagnostic] = []
    for index, one in enumerate(job.earlier):
        report = folder.issued.get((one.day.report.number, one.day.report.revision))
        if report is None or not folder.is_revised_since(report):
            continue
        document = folder.document(report)
        if document is not None and document.known.evaluation is not None:
            job = _upon_what_it_was(job, index, document.known)
        else:
            name = next(file.name for file in one.files if file.role == "day")
            sentence = f"what {report.number} was issued upon was revised since, and {folder.gone(report)}"
            told.append(_diagnostic(folder, name, sentence, report, put_back=True))
    return job, told


def _upon_what_it_was(job: Job, index: int, known: Recomputation) -> Job:
    """Return a day with what one of its earlier days was issued upon, if that left more open than it would by now."""
    from reportgen.loader import with_basis
    from reportgen.rules import evaluate
    from reportgen.rules.said_open import said_open

    assert known.job is not None and known.evaluation is not None  # noqa: S101, PT018 - as it was asked
    now = evaluate(replace(job.earlier[index], earlier=job.earlier[:index]))
    if not said_open(known.evaluation).exceeds(said_open(now)):
        return job
    return with_basis(job, job.earlier[index], _without_slips(known))


def _with_replaced(folder: Folder, job: Job) -> tuple[Job, list[Diagnostic]]:
    """Return a day with what it, or an earlier one, replaces and leaves out of what failed, as that was issued.

    There is a warning for each earlier report that replaces one of which nobody can say that.
    """
    from reportgen.loader import with_replaced

    told: list[Diagnostic] = []
    for one in (*job.earlier, job):
        number = one.day.report.number
        known, gone = _known_of(folder, folder.replaced(number, one.day.report.revision))
        told += [_replaces_unknown(folder, one, each) for each in gone[:1] if one is not job]
        if not gone and _leaves_out(known, one):
            job = with_replaced(job, number, [_without_slips(each) for each in known])
    return job, told


def _known_of(folder: Folder, reports: Sequence[Report]) -> tuple[list[Recomputation], list[Report]]:
    """Return what some reports give as they were issued, and those of which nobody can say that; none if all passed."""
    if all(report.verdict == "conforms" for report in reports):
        return [], []
    every = [(report, folder.document(report)) for report in reports]
    known = [one.known for _, one in every if one is not None and one.known.evaluation is not None]
    return known, [report for report, one in every if one is None or one.known.evaluation is None]


def _without_slips(known: Recomputation) -> dict[str, bytes]:
    """Return the files that a report was made from."""
    files = () if known.job is None else known.job.files
    return {file.name: file.data for file in files if file.role != "slip"}


def _replaces_unknown(folder: Folder, earlier: Job, replaced: Report) -> Diagnostic:
    name = next(file.name for file in earlier.files if file.role == "day")
    sentence = f"{full_title(earlier.day.report)} replaces a report, and {folder.gone(replaced)}"
    return _diagnostic(folder, name, sentence, replaced, put_back=True)


def _leaves_out(replaced: Sequence[Recomputation], own: Job) -> bool:
    """Whether a revision leaves out what failed in the reports that it replaces, and none since has it."""
    from reportgen.rules.left_out import left_out_since

    judged = [(one.job, one.evaluation.findings) for one in replaced if one.job is not None and one.evaluation]
    jobs = [job for job, _ in judged]
    return any(left_out_since(found, job, (*jobs[at + 1 :], own)) for at, (job, found) in enumerate(judged))


def _with_slips(folder: Folder, job: Job) -> tuple[Job, list[Diagnostic]]:
    """Return a day with the release slips that the register has of its report, and a warning for each that is gone."""
    found: dict[str, bytes] = {}
    told: list[Diagnostic] = []
    for report in folder.slips:
        if report.number != job.day.report.number:
            continue
        pdf = folder.slip(report)
        if pdf is None:
            sentence = f"a release slip of {report.area} was signed for this report, and {folder.gone(report)}"
            remedy = f"put it back as it was signed, there or into the folder `{SLIPS}`: the report holds it"
            told.append(
                Diagnostic("JOB251", sentence, (Span(str(folder.path / report.file), 1, 1),), remedy, "warning")
            )
        else:
            found[_name_of(report, {*found, *(file.name for file in job.files)})] = pdf
    if not found:
        return job, told
    from reportgen.issued import Recomputation, with_slips

    try:
        return with_slips(job, found, Recomputation), told
    except ValueError as fault:
        raise InputError([Diagnostic("JOB251", f"{fault}", (Span(str(folder.path), 1, 1),), "", "error")]) from None


def _name_of(report: Report, taken: set[str]) -> str:
    """Return by which name a report holds a slip: its place, or a plain name where that is outside the folder."""
    names = (f"{SLIPS}/{report.number}-slip-outside-{count}.pdf" for count in itertools.count(1))
    return next(name for name in itertools.chain([report.file], names) if is_plain(name) and name not in taken)


@dataclass(frozen=True)
class IssuedFiles:
    """A report as issued, out of its PDF: the path of its day file, and what it holds by path."""

    day: str
    files: Mapping[str, bytes]

    @cached_property
    def known(self) -> Recomputation:
        """What its input gives, as far as it can be read by today's rules."""
        from reportgen.issued import Recomputation

        known = Recomputation()
        with suppress(InputError, ValueError, KeyError):
            known(self.files)
        return known

    @cached_property
    def record(self) -> ReportRecord | None:
        """Its record, from the embedded evaluation; None where that cannot be read."""
        from reportgen.issued import record_of

        return record_of(self.known)


@dataclass(frozen=True)
class Folder:
    """A contract folder: its day files by SHA-256, what was issued of each number, and what its reports hold.

    ``lost`` are reports that an earlier day of the folder is of, by the hash of a project file that nothing holds.
    """

    path: Path
    lost: dict[str, list[Report]] = field(default_factory=dict)
    contents: dict[str, bytes] = field(default_factory=dict)

    @cached_property
    def days(self) -> Mapping[str, tuple[str, bytes]]:
        """Name and bytes of every YAML file by its SHA-256; what cannot be read is not there, nor is a link."""
        found = {}
        for path in sorted(self.path.glob("*.yaml")):
            try:
                if is_saved_copy(path.name):
                    continue
                if path.is_file() and not path.is_symlink() and path.stat().st_size <= _LONGEST_DAY:
                    data = path.read_bytes()
                    found[hashlib.sha256(data).hexdigest()] = (path.name, data)
            except OSError:
                continue
        return found

    @cached_property
    def stating(self) -> Mapping[str, Mapping[str, str]]:
        """Names of the day files by report number, in each by their hash."""
        found: dict[str, dict[str, str]] = {}
        for digest, (name, data) in self.days.items():
            for number in _NUMBER.findall(data):
                found.setdefault(number.decode("ascii"), {})[digest] = name
        return found

    @cached_property
    def _chain(self) -> Chain | None:
        """The register; one that is not sound is for `issue` and `register` to refuse."""
        from reportgen.register import REGISTER_NAME, read_register

        if not (self.path / REGISTER_NAME).exists():
            return None
        with suppress(UsageError, MachineError):
            return read_register(self.path).chain
        return None

    @property
    def slips(self) -> Sequence[Report]:
        """Every release slip, oldest first."""
        return self._chain.slips if self._chain else ()

    @cached_property
    def issued(self) -> Mapping[tuple[str, int], Report]:
        """Every report by number and revision."""
        rows = self._chain.issued if self._chain else {}
        return {key: row.report for key, row in rows.items() if row.report is not None}

    @cached_property
    def as_issued(self) -> frozenset[str]:
        """Names of the files that some report was issued with, as they are."""
        inputs = {digest for report in self.issued.values() for digest in report.inputs.values()}
        return frozenset(name for digest, (name, _) in self.days.items() if digest in inputs)

    @cached_property
    def latest(self) -> Mapping[str, Report]:
        """The highest revision issued of each number."""
        return {number: report for (number, _), report in sorted(self.issued.items())}

    def replaced(self, number: str, revision: int) -> list[Report]:
        """Return what was issued of a number before a revision, oldest first."""
        found = (self.issued.get((number, each)) for each in range(revision))
        return [report for report in found if report is not None]

    def issued_before(self, other: Day, day: Day) -> bool:
        """Say whether a report of another day was issued before the first one of a day's number, as registered."""
        theirs, mine = self._turns.get(other.report.number), self._turns.get(day.report.number)
        return theirs is not None and (mine is None or theirs < mine)

    @cached_property
    def _turns(self) -> Mapping[str, int]:
        """The order in which the numbers were first issued."""
        return {number: turn for turn, number in enumerate(dict.fromkeys(number for number, _ in self.issued))}

    def is_revised_since(self, report: Report) -> bool:
        """Say whether a revision of another report, of no later date, was issued after a report."""
        since = self._issues[report.number, report.revision]
        return any(
            turn > since and one.number != report.number and one.date <= report.date for turn, one in self._revisions
        )

    @cached_property
    def _issues(self) -> Mapping[tuple[str, int], int]:
        """The order in which the reports were issued."""
        return {key: turn for turn, key in enumerate(self.issued)}

    @cached_property
    def _revisions(self) -> Sequence[tuple[int, Report]]:
        """The reports that are revisions, each with its turn."""
        return [(self._issues[key], one) for key, one in self.issued.items() if one.revision > 0]

    def conformed(self, day: Day, file: bytes) -> bool:
        """Say whether a day file was issued as it is, and it conforms as registered, as do those it replaces."""
        report = self.issued.get((day.report.number, day.report.revision))
        as_issued = report is not None and hashlib.sha256(file).hexdigest() in report.inputs.values()
        every = filter(None, (report, *self.replaced(day.report.number, day.report.revision)))
        return as_issued and all(one.verdict == "conforms" for one in every)

    def files_of(self, report: Report) -> Mapping[str, bytes] | None:
        """Return what a report as issued holds, by attachment; None where it is not there, or another file by now."""
        from reportgen.archival import read_attachments

        pdf = self.signed(report)
        with suppress(ValueError):
            return None if pdf is None else read_attachments(pdf)
        return None

    def signed(self, report: Report) -> bytes | None:
        """Return the PDF of a report or slip; None where it is not there, or another file by now."""
        with suppress(OSError):
            pdf = (self.path / report.file).read_bytes()
            return pdf if hashlib.sha256(pdf[: report.size]).hexdigest() == report.signed_sha256 else None
        return None

    def slip(self, report: Report) -> bytes | None:
        """Return the PDF of a release slip: from its place, or wherever it lies among the slips of the folder."""
        there = (replace(report, file=f"{SLIPS}/{path.name}") for path in sorted((self.path / SLIPS).glob("*.pdf")))
        return next((pdf for one in (report, *there) if (pdf := self.signed(one)) is not None), None)

    def content(self, digest: str) -> bytes | None:
        """Return a file as issued by its hash: from the folder, else from any report that holds it, opened for that."""
        if digest in self.days:
            return self.days[digest][1]
        holders = [] if digest in self.contents else self.issued.values()
        for report in holders:
            held = self.files_of(report) if digest in report.inputs.values() else None
            if held is not None:  # as registered, and so with what the register says it was made from
                self.contents.update({hashlib.sha256(data).hexdigest(): data for data in held.values()})
                break
        return self.contents.get(digest)

    def project_of(self, day: Day, project: bytes) -> bytes | None:
        """Return the project file by which a day was issued, where that is not ``project``; None where it was not."""
        report = self.issued.get((day.report.number, day.report.revision))
        digest = None if report is None else report.inputs.get(str(day.project))
        if report is None or digest is None or digest == hashlib.sha256(project).hexdigest():
            return None
        found = self.content(digest)
        if found is None:
            self.lost.setdefault(digest, []).append(report)
        return found

    def unregistered(self) -> Iterator[Diagnostic]:
        """Yield a warning where signed reports lie in the folder that the register, as it is by now, does not know."""
        from reportgen.register import REGISTER_NAME, read_register

        files = {report.file for report in self.issued.values()}
        signed = {name: one for name in self._reports() if name not in files and (one := _issue_of(self.path / name))}
        if not signed:
            return
        chain = None
        with suppress(UsageError, MachineError):
            chain = read_register(self.path).chain if (self.path / REGISTER_NAME).exists() else None
        if chain is not None and chain.unread is not None:
            return  # what it has is not known, and `issue` refuses
        known = _in_register(chain)
        missing = [(name, one) for name, one in signed.items() if (one.number, one.revision) not in known]
        if missing:
            lost = [f"{full_title(one)} (`{name}`)" for name, one in missing[:_NAMED]]
            lost += [f"{len(missing) - _NAMED} more"] if len(missing) > _NAMED else []
            sentence = f"`{REGISTER_NAME}` does not have {', '.join(lost)}, signed and in this folder"
            remedy = (
                f"run `reportgen register rebuild {self.path} --trust AUTHORITY.pem`, into which only what passes"
                " enters; take what does not, or is of another contract, out of the folder"
            )
            yield Diagnostic("JOB251", sentence, (Span(str(self.path / REGISTER_NAME), 1, 1),), remedy, "warning")

    def _reports(self) -> list[str]:
        return [path.relative_to(self.path).as_posix() for path in sorted(self.path.glob("reports/*.pdf"))]

    def without_project(self) -> Iterator[Diagnostic]:
        """Yield a warning for each project file that earlier days were issued by and that is nowhere to be found."""
        for digest, reports in self.lost.items():
            first = reports[0]
            name = next(name for name, known in first.inputs.items() if known == digest)
            days = [day for one in reports for day in self.stating.get(one.number, {}).values()]
            spans = tuple(Span(str(self.path / one), 1, 1) for one in (name, *days))
            sentence = f"`{name}` is not as issued: {_signed_with(first, 'another content')}, and {self.gone(first)}"
            remedy = f"put `{first.file}` back as it was issued: earlier days are judged by the `{name}` that it holds"
            yield Diagnostic("JOB251", sentence, spans, remedy, "warning")

    def gone(self, report: Report) -> str:
        """Return a clause that says how the PDF of a report is not at hand."""
        there = (self.path / report.file).exists()
        return f"`{report.file}` is {'not the file that was registered' if there else 'not there'}"

    def document(self, report: Report) -> IssuedFiles | None:
        """Return a report as issued, from its PDF; None where that is not at hand, or is another file by now."""
        held = self.files_of(report)
        if held is None:
            return None
        try:
            manifest = read_manifest(held[MANIFEST_NAME])
            files = by_path(manifest, held)
        except (ValueError, KeyError):
            return None
        return IssuedFiles(manifest.day, files) if manifest.day in files else None

    def record(self, report: Report) -> ReportRecord | None:
        """Return the record of a report as issued; None where that is not at hand, or cannot be read."""
        document = self.document(report)
        return None if document is None else document.record


def _in_register(chain: Chain | None) -> set[tuple[str, int]]:
    """Number and revision of what is registered, or announced: its run registers it when it is written, or the next."""
    rows = filter(None, () if chain is None else (*chain.issued.values(), chain.unclosed))
    return {(one.number, one.revision) for one in filter(None, (row.report for row in rows))}


def _issue_of(path: Path) -> IssueFacts | None:
    """Return how a PDF says that it was issued; None where it is no signed report, or cannot be read."""
    from reportgen.archival import read_attachments, written_attachment

    try:
        pdf = path.read_bytes()
        written = written_attachment(pdf, ISSUE_NAME)
        facts = read_issue(read_attachments(pdf) if written is None else {ISSUE_NAME: written})
    except (OSError, ValueError, KeyError):
        return None
    return facts if facts.status == "issue" else None


def _otherwise_than_issued(folder: Folder, job: Job) -> Iterator[Diagnostic]:
    """Yield a warning for each earlier day that the day depends on and that is not as it was issued, or missing."""
    resting = {one.day.report.number: one for one in job.earlier}
    for number, report in folder.latest.items():
        if number == job.day.report.number or report.date > job.day.report.date.isoformat():
            continue
        as_issued = [
            name for digest, name in folder.stating.get(number, {}).items() if digest in report.inputs.values()
        ]
        if number in resting:
            yield from _rests_on_other(folder, resting[number], report)
        elif not as_issued:
            yield from _lost(folder, job, report)
        elif str(job.day.project) not in report.inputs:
            yield from _passed_over(folder, job, report, as_issued[0])


def _rests_on_other(folder: Folder, earlier: Job, report: Report) -> Iterator[Diagnostic]:
    """Yield what is otherwise in an earlier day that was loaded than in the report of its number."""
    for file in earlier.files:
        if file.role not in {"day", "csv"} or file.sha256 in report.inputs.values():
            continue
        revision = earlier.day.report.revision
        if revision > report.revision:
            what = f"revision {revision} of {report.number} was not issued, only revision {report.revision}"
        else:
            what = _signed_with(report, "another content")
        yield _diagnostic(folder, file.name, f"the earlier day `{file.name}` is not as issued: {what}", report)


def _lost(folder: Folder, job: Job, report: Report) -> Iterator[Diagnostic]:
    """Yield an earlier day that is missing or changed, where what was issued of it bears on the day.

    Where its report is not at hand either nobody can say whether it does.
    """
    document = folder.document(report)
    if document is not None and not _bears_on(document, job, folder, report.verdict):
        return
    present = sorted(folder.stating.get(report.number, {}).values())
    name = present[0] if present else document.day if document is not None else report.number
    exists = (folder.path / name).exists()
    what = "is not as issued" if exists else "is missing"
    sentence = f"the earlier day `{name}` {what}: {_signed_with(report, 'another content' if exists else 'it')}"
    if document is None:
        sentence += f", and {folder.gone(report)}"
    yield _diagnostic(folder, name, sentence, report, put_back=document is None)


def _bears_on(document: IssuedFiles, job: Job, folder: Folder, verdict: str) -> bool:
    """Say whether a report left a nonconformance, an area or bare steel open, or is of steel on an area of this day.

    It is taken as the loader takes it. The text of its day file is asked first, where its ``verdict`` says enough: most
    reports of a contract are not evaluated for this.
    """
    from reportgen.loader.earlier import areas_of, bears_on, carries, is_earlier, may_be_on

    data, raising = document.files[document.day], [job.day, *(one.day for one in job.earlier)]
    timed = job.project.specification.time_to_coat is not None
    named = areas_of(job.day).union(*(one.raised_on for one in raising))
    if verdict == "conforms" and not (timed or carries(data) or may_be_on(data, named)):
        return False
    record, issued = document.record, document.known.job
    if record is None:
        return True  # nobody can say
    if issued is not None and not is_earlier(
        issued.day, job.day, issued_before=folder.issued_before(issued.day, job.day)
    ):  # fmt: skip
        return False
    if any(one.status == "open" for one in record.nonconformances):
        return True
    if issued is None:
        same = not {area.id for area in record.areas}.isdisjoint(one.area for one in job.day.surfaces)
        return same or verdict != "conforms"
    conforms = verdict == "conforms"
    return bears_on(issued, job, raising, conforms=conforms)


def _passed_over(folder: Folder, job: Job, report: Report, name: str) -> Iterator[Diagnostic]:
    """Yield an earlier day that names another project file of the same contract, and so is not taken for one."""
    from reportgen.loader import load_job
    from reportgen.loader.earlier import bears_on, carries
    from reportgen.names import plain_words
    from reportgen.yamlsource import parse_yaml

    data = next(data for known, data in folder.days.values() if known == name)
    project = str(parse_yaml(data, name).data.get("project"))
    content = folder.content(report.inputs.get(project, ""))
    contract = str(job.project.project.contract)
    theirs = contract if content is None else parse_yaml(content, project).data["project"]["contract"]
    if theirs != contract and plain_words(theirs) != plain_words(contract):
        return
    if not carries(data):
        with suppress(InputError):  # of what cannot be loaded nobody can say
            own = load_job(folder.path / name, with_earlier=False, issued=folder.project_of, itself=True)
            if not bears_on(own, job, [job.day], conforms=report.verdict == "conforms"):
                return
    sentence = f"the earlier day `{name}` is passed over: it names `{project}`, and this day `{job.day.project}`"
    remedy = f"name `{project}` here too: a contract has one project file, and {report.number} stays as it was issued"
    yield Diagnostic("JOB251", sentence, (Span(str(folder.path / name), 1, 1),), remedy, "warning")


def _signed_with(report: Report, content: str) -> str:
    return f"{full_title(report)} was signed on {report.issued_at[:10]} with {content}"


def _diagnostic(folder: Folder, name: str, sentence: str, report: Report, *, put_back: bool = False) -> Diagnostic:
    remedy = f"restore it as issued, from `{report.file}` to which it is attached, or issue a revision of"
    remedy = f"put `{report.file}` back; {remedy}" if put_back else remedy
    shown = str(folder.path / name)
    return Diagnostic("JOB251", sentence, (Span(shown, 1, 1),), f"{remedy} {report.number} first", "warning")
