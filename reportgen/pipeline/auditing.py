"""Audit: every file of a folder examined by workers, kept in an index, then all of them compared."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from reportgen import __version__
from reportgen.diagnostics import printable
from reportgen.errors import UsageError
from reportgen.pipeline.asking import all_answers, new_file, written_files
from reportgen.pipeline.clock import now
from reportgen.pipeline.filing import examination_checks
from reportgen.pipeline.onsite import write_together
from reportgen.pipeline.register_agreement import registers_of, with_registers
from reportgen.pipeline.workers import WORTH_A_PROCESS, Spread
from reportgen.words.filing import filing_words
from reportgen.words.told import said_as_printed as said_in

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterable, Sequence

    from reportgen.audit import Audit, Index, Terms
    from reportgen.issued import SlipBeside, Undone


@dataclass(frozen=True, slots=True)
class Audited:
    """An audit that ran to its end, its index, how many verdicts were taken over from an earlier run, and the SHA-256
    of the policy file that was gone by, where one was given.

    ``not_believed`` names the files whose rows in the index this user's key does not prove: they were examined again.
    """

    audit: Audit
    index: Path
    taken_over: int
    policy_sha256: str | None = None
    not_believed: tuple[str, ...] = ()
    written: tuple[Path, ...] = ()


def audit(
    folder: Path,
    *,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    registers: Sequence[Path] = (),
    index: Path | None = None,
    spread: Spread | None = None,
    quick: bool = False,
    fresh: bool = False,
    tables: Path | None = None,
    report: Path | None = None,
    answers: Sequence[Path] = (),
    language: str = "en",
    usual: tuple[float, float] | None = None,
    at: dt.datetime | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Audited:
    """Verify every PDF in and below ``folder``, compare across them, and keep everything in ``index``.

    The index defaults to one in the user's state folder. A run that was ended goes on where it was: files whose verdict
    is there and proven, and whose bytes are the same, are not examined again, unless ``fresh``.
    ``registers`` are contract folders whose registers the reports are held against, each those of its contract.
    ``quick`` leaves out making the pages again; then no file passes.
    ``tables`` is a folder for CSV files, ``report`` the PDF to write and ``answers`` workbooks (.xlsx) or pages (.html)
    with all that the index answers, in ``language``; ``usual`` is the pace [s a spot] below which, and the days after
    which, is asked; ``at`` is the moment of the verdicts, without it now.

    Raises:
        UsageError: the folder or a root of trust cannot be read, or ``report`` exists. MachineError: disk, worker or
        scheduler failed, or another audit writes the index.
    """
    from reportgen.audit import (
        Index,
        Terms,
        Usual,
        audit_of,
        default_index,
        make_private,
        only_writer,
        own_key,
        write_tables,
    )
    from reportgen.issued import shown_name

    _require_places(folder, report, answers)
    key, place = own_key(), index or default_index(folder)
    held = registers_of(registers)
    heads = tuple(sorted(chain.head.sha256 for _, chain in held))  # of all rows, as each states the one before
    checks = with_registers(examination_checks(trust, policy=policy, quick=quick, at=at), held)
    terms = Terms(folder.resolve(), checks, __version__, heads)
    moment, others = terms.checks.at.isoformat(timespec="seconds"), list[Path]()
    make_private(place)
    with only_writer(place.resolve(), f"{now():%Y-%m-%d %H:%M} UTC"):
        named = shown_name(terms.folder)
        made = Index.make(place, key=key, folder=named, fingerprint=terms.fingerprint, at=moment, fresh=fresh)
        with made as open_index:
            taken_over, not_believed = _examine_all(open_index, terms, spread or Spread(), progress, others.extend)
            answer = audit_of(open_index, _Judge(open_index, terms), held, Usual(*usual or ()))
            answer = replace(answer, not_looked_at=_left(others, terms, place))
            if tables is not None:
                write_tables(answer, open_index, tables)
            files = _answers(open_index, answer, answers, language)
    if report is not None:
        _write_report(answer, report, language)
    write_together(files)
    return Audited(answer, place, taken_over, terms.checks.policy.sha256, not_believed, tuple(files))


def _left(others: Iterable[Path], terms: Terms, index: Path) -> tuple[str, ...]:
    """Return the names of files and linked folders that were not looked at, but for those of the index."""
    from reportgen.issued import name_left

    return tuple(name_left(one, one.relative_to(terms.folder)) for one in others if not one.name.startswith(index.name))


def _require_places(folder: Path, report: Path | None, answers: Sequence[Path]) -> None:
    """Refuse what is no folder, and to write where something is, before hours are spent."""
    from reportgen.issued import shown_name

    if not folder.is_dir():
        raise UsageError(f"{shown_name(folder)} is not a folder")
    if report is not None and (report.exists() or not report.parent.is_dir()):
        why = "exists already and is never overwritten" if report.exists() else "cannot be written: no such folder"
        raise UsageError(f"`{shown_name(report)}` {why}; nothing was examined")
    for path in answers:
        new_file(path, (".xlsx", ".html"))


def _answers(index: Index, answer: Audit, wanted: Sequence[Path], language: str) -> dict[Path, bytes]:
    """Return the files with all that an index answers."""
    if not wanted:
        return {}
    words = filing_words(language)
    title = f"{words('audit.title')}, {PurePath(answer.folder).name}"
    counts = {name: answer.counts.get(name, 0) for name in ("passed", "failed", "indeterminate")}
    said = [
        words("pages.audited", folder=answer.folder, at=answer.verified_at, version=__version__),
        words("pages.counted", files=sum(answer.counts.values()), **counts, faults=answer.faults, doubts=answer.doubts),
        *(printable(said_in(one, language)) for one in answer.said),
        words("pages.unsigned"),
    ]
    tables = list(all_answers(index, language))
    return {path: data for out in wanted for path, data in written_files(out, title, said, tables, language).items()}


def _examine_all(
    index: Index,
    terms: Terms,
    spread: Spread,
    progress: Callable[[int, int], None] | None,
    others: Callable[[Iterable[Path]], None],
) -> tuple[int, tuple[str, ...]]:
    """Examine what is not known yet; return how many verdicts were known, and the files whose rows were not proven.

    ``others`` is told of the files that are no PDF.
    """
    from reportgen.audit import Task, run_task, unread
    from reportgen.audit.examining import UNCHANGED, contents_from
    from reportgen.issued import make_ready, pdf_files, shown_name

    known = index.known()
    faults: list[OSError] = []
    files = pdf_files([terms.folder], faults.append, others)
    paths = sorted(path.relative_to(terms.folder).as_posix() for path in files)
    tasks = [Task(path, known.get(shown_name(Path(path)))) for path in paths]
    shown = {task.shown for task in tasks}
    index.forget((known.keys() | index.unproven) - shown)
    for fault in faults:
        name = f"{shown_name(Path(fault.filename).relative_to(terms.folder))}/"
        index.store(name, unread(f"the folder {name} cannot be listed: {fault.strerror}", terms.checks))
    unchanged = 0
    new = any(task.known is None for task in tasks)
    first = partial(make_ready, terms.checks.load) if new else None
    examined = spread.finished(partial(run_task, terms), tasks, worth=WORTH_A_PROCESS, first=first)
    try:
        for done, (path, answer) in enumerate(examined, start=1):
            if answer == UNCHANGED:
                unchanged += 1
            else:
                index.store(path, *contents_from(answer))
            if progress is not None:
                progress(done, len(tasks))
    finally:
        index.save()
    return unchanged, tuple(sorted(shown if index.altered else shown & index.unproven))


class _Judge:
    """Judges a report beside others, all named as the index names them: what is inside a submittal by both names."""

    def __init__(self, index: Index, terms: Terms) -> None:
        from reportgen.issued import pdf_files, shown_name

        files = pdf_files([terms.folder], lambda _: None)
        self._paths = {shown_name(path.relative_to(terms.folder)): path for path in files}
        self._index, self._checks = index, terms.checks

    def beside(self, path: str, others: Sequence[str]) -> Sequence[Undone]:
        """Return what it would not release or close beside the days of others."""
        from reportgen.issued import undone_together

        read = [self.read(one) for one in (path, *others)]
        return undone_together(read[0], read[1:], path, self._checks)

    def under(self, path: str, other: str) -> Sequence[Undone]:
        """Return what it would not release under the limits of another."""
        from reportgen.issued import undone_under

        return undone_under(self.read(path), self.read(other), path, self._checks)

    def slip(self, path: str, report: str) -> SlipBeside:
        """Return how a release slip stands against a report of its number."""
        from reportgen.issued import slip_beside

        return slip_beside(self.read(path), self.read(report), path, self._checks)

    def read(self, path: str) -> bytes:
        """Return the bytes of a file; ``UsageError`` where they cannot be had, or are not those examined."""
        from reportgen.issued import Listed, original_inside, read_pdf

        ((file, name, sha256, size),) = self._index.rows(_FILE, path)
        data = read_pdf(self._paths[file]) if file in self._paths else b""
        if name and data:
            data = original_inside(data, Listed(name, sha256, size, "", 0, ""), self._checks)
        if hashlib.sha256(data).hexdigest() != sha256:
            raise UsageError(f"{path} was changed while it was audited", help_text="run the audit again")
        return data


_FILE = "SELECT file, inside, sha256, size FROM files WHERE path = ?"


def _write_report(answer: Audit, out: Path, language: str) -> None:
    """Write the PDF report of an audit, with its data inside; an older one of that name is replaced only by this."""
    from datetime import datetime

    from reportgen import atomicfile
    from reportgen.archival import MIME_TYPES, Attachment, Metadata, make_archival
    from reportgen.audit import plain_audit
    from reportgen.audit.report import render_audit
    from reportgen.audit.reportmodel import pages_of
    from reportgen.formats import canonical_json
    from reportgen.issued import AUDIT_NAME

    data = canonical_json(plain_audit(answer))
    content = pages_of(answer, __version__, language)
    pdf = make_archival(
        render_audit(content, language=language),
        metadata=Metadata(
            title=f"{filing_words(language)('audit.title')}, {content.folder}",
            number=f"audit {answer.verified_at}",
            issued=datetime.fromisoformat(answer.verified_at),
            producer=f"reportgen {__version__}",
            author=f"reportgen {__version__}",
            language=filing_words(language).language,
        ),
        attachments=[Attachment(AUDIT_NAME, data, MIME_TYPES[".json"], "Data", "the answer of the audit, as data")],
    )
    atomicfile.write_new(out, pdf)
