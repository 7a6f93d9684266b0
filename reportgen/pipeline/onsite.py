"""Verbs for the site: a contract folder, the next shift, a field sheet, and what comes back from it."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportgen import atomicfile
from reportgen.diagnostics import Phrase, with_remedy
from reportgen.errors import UsageError
from reportgen.pipeline.clock import now

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from reportgen.diagnostics import Diagnostic
    from reportgen.intake import Ask, Incoming, Intake
    from reportgen.job import Job
    from reportgen.starter import FurtherArea

MOST_BYTES = 64 << 20


def start_contract(
    folder: Path, answers: Mapping[str, str], *, date: dt.date | None = None, further: Sequence[FurtherArea] = ()
) -> list[Path]:
    """Write the starter files of a new contract into ``folder``, with their schemas; return what was written.

    ``further`` are areas beside the first one.

    Raises:
        UsageError: an answer is missing or unusable, or the folder already holds a contract. InputError, QuantityError:
            an answer that its field cannot hold. MachineError: the disk failed.
    """
    from reportgen.formats.schemas import schema_text
    from reportgen.starter import SCHEMAS, new_contract

    refuse_taken(folder, date=date)
    files = new_contract(answers, date or now().date(), further)
    schemas = {name: schema_text(kind).encode() for kind, name in SCHEMAS.items() if not (folder / name).exists()}
    targets = {folder / name: data for name, data in (schemas | files).items()}
    for path in targets:
        _make_folder(path.parent)
    return write_together(targets)


def refuse_taken(folder: Path, *, date: dt.date | None = None) -> None:
    """Raise UsageError where a folder holds a contract already: said before anybody answers questions about it."""
    for name in ("project.yaml", f"{date or now().date()}.yaml"):
        if (folder / name).exists():
            raise UsageError(f"{folder / name} exists already; nothing was written", help_text="name another folder")


def answer_refused(key: str, answer: str, given: Mapping[str, str], *, date: dt.date | None = None) -> str | None:
    """Return in words what is wrong with an answer of a new contract, with those given before it; else None."""
    from reportgen.starter import objection

    found = objection(key, answer, given, date or now().date())
    return None if found is None else with_remedy(found.message, found.help_text)


def area_refused(
    area: FurtherArea,
    given: Mapping[str, str],
    before: Sequence[FurtherArea] = (),
    *,
    date: dt.date | None = None,
) -> str | None:
    """Return in words what is wrong with a further area of a new contract, with what was given before it; else None."""
    from reportgen.starter import area_objection

    found = area_objection(area, given, before, date or now().date())
    return None if found is None else with_remedy(found.message, found.help_text)


def start_next_day(
    day: Path, *, date: dt.date | None = None, inspector: str | None = None
) -> tuple[Path, tuple[str, ...], tuple[Diagnostic, ...]]:  # fmt: skip
    """Write the day file of the shift after ``day``; return its path, the areas due, and the warnings of ``day``.

    ``inspector`` is one of the people of the project file; unless given, that of ``day``.

    Raises:
        InputError: ``day`` cannot be used. UsageError: there is a day file of that date already, or a later revision
            of ``day``.
    """
    from reportgen.pipeline.checking import check, evaluated
    from reportgen.register import REGISTER_NAME, read_register
    from reportgen.starter import next_day

    job = check(day).job
    _refuse_superseded(day, job)
    if inspector is not None and inspector not in job.project.people:
        raise UsageError(
            Phrase("the project file names nobody `{who}`", who=inspector), help_text="choose one of its people"
        )
    left = evaluated(day, itself=True).evaluation  # what the report of the day left to do; the contract as it is now
    taken: set[str] = set()  # the numbers that the register has given out
    if (day.parent / REGISTER_NAME).exists():
        taken = {row.report.number for row in read_register(day.parent).chain.issued.values() if row.report}
    following = next_day(job, left, date=date, taken=taken, inspector=inspector)
    path = day.parent / following.name
    _make_folder(path.parent)
    atomicfile.write_new(path, following.data)
    return path, following.areas, job.warnings


def _refuse_superseded(day: Path, job: Job) -> None:
    """Refuse to go on from a revision that another in the folder replaces, which may have reopened what this closed."""
    from reportgen.loader import superseded_by

    later = superseded_by(day, job.day)
    if later is not None:
        report = job.day.report
        raise UsageError(
            f"{day} is revision {report.revision} of {report.number}, and {later[0]} is revision {later[1]}",
            help_text=f"name {day.parent / later[0]}: what is open follows from the latest revision",
        )


def write_together(targets: Mapping[Path, bytes], *, folder: Path | None = None) -> list[Path]:
    """Write files that belong together, all of them new, or none; ``folder`` was made for them and goes with them.

    Raises:
        UsageError, MachineError: as ``atomic.write_new``; whatever stops it, what was written is taken away again.
    """
    written: list[Path] = []
    try:
        for path, data in targets.items():
            atomicfile.write_new(path, data)
            written.append(path)
    except BaseException:
        for path in written:
            atomicfile.remove(path)
        if folder is not None:
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise
    return written


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise atomicfile.refusal(error, folder) from error


def write_sheet(
    day: Path, out: Path, *, areas: Sequence[str] = (), paper: str | None = None, language: str | None = None
) -> tuple[int, tuple[Diagnostic, ...]]:
    """Write the field sheet of a day to ``out``, which must not exist; return its number of blocks, and the warnings.

    Paper and language are those of the contract's template where none are given.

    Raises:
        InputError: the day cannot be used. UsageError: an unknown area or language, a later revision of ``day``, or
            ``out`` exists.
    """
    from reportgen.loader.template import load_template
    from reportgen.pipeline.checking import check
    from reportgen.sheet import render_sheet, sheet_plan
    from reportgen.words.catalogue import catalogue

    checked = check(day, at=now())
    _refuse_superseded(day, checked.job)
    template = load_template(checked.job.project.template or "a4-en")
    used = catalogue(language or template.language).language
    size: Any = paper or template.page.lower()  # one of the two that the plan knows
    plan = sheet_plan(checked.job, paper=size, language=used, evaluation=checked.evaluation, areas=areas)
    atomicfile.write_new(out, render_sheet(plan))
    return len(plan.blocks), checked.job.warnings


def take_in(
    source: bytes,
    name: str,
    day: Path,
    *,
    area: str | None = None,
    overwrite: bool = False,
    write: bool = True,
    ask: Ask | None = None,
) -> Intake:
    """Bring what was written on site into the day file; return what became of every value.

    Only a day file that loads replaces the old one. ``ask`` is that of ``reportgen.intake``.

    Raises:
        UsageError: a sheet of another job, or a source that is none. InputError: the day file, or a table's header,
            cannot be used. MachineError: the disk failed.
    """
    from reportgen.intake import take_in as joined
    from reportgen.pipeline.as_issued import load

    job = load(day)
    outcome = joined(read_in(source, name, job, area=area), job, overwrite=overwrite, ask=ask)
    before = next(file for file in job.files if file.role == "day")
    if write and outcome.data != before.data:
        atomicfile.write_replacing(day, outcome.data)
    return outcome


def read_in(source: bytes, name: str, job: Job, *, area: str | None = None) -> Incoming:
    """Return what a filled sheet (PDF), a table (CSV, XLSX) or typed lines say of a job, as a day file would say it.

    ``name`` is the source's in messages; ``area`` the area of a table that does not name one.

    Raises:
        UsageError: a sheet of another job, an area of another contract, a file that is none of these.
        InputError: a table that is no text or has no usable header, with its place.
    """
    if source[:1024].lstrip().startswith(b"%PDF"):
        from reportgen.sheet.filled import read_filled_sheet
        from reportgen.sheet.rows import sheet_rows

        return sheet_rows(read_filled_sheet(source, name), job, name)
    from reportgen.intake.table import table_rows

    return table_rows(source, job, name, area=area)


def read_source(path: Path) -> bytes:
    """Return the bytes of a filled sheet or table, at most 64 MiB.

    Raises:
        UsageError: when it cannot be read or is larger.
    """
    try:
        with Path(path).open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise atomicfile.refusal(error, path, doing="read") from error
    if len(data) > MOST_BYTES:
        raise UsageError(f"{path} is larger than {MOST_BYTES >> 20} MiB")
    return data
