"""The tables of many reports in one export: each file verified first, so that every row says how its own stands."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.errors import ReportgenError, UsageError
from reportgen.export import Exported, ExportedFile, Table, report_of
from reportgen.pipeline.filing import examination_checks
from reportgen.pipeline.workers import WORTH_A_PROCESS, Spread

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from pathlib import Path

    from reportgen.issued import Checks, Examined, Filed
    from reportgen.pipeline.recalling import AuditedFiles


class Known(NamedTuple):
    """Which report a file is."""

    contract: str
    date: str
    number: str
    revision: int


@dataclass(frozen=True, slots=True)
class Taken:
    """A file, or an original inside a submittal, as verifying found it; its report, unless it failed or holds none.

    ``place`` is what becomes of it among the files of its number, where that is known already.
    """

    file: str
    inside: str
    sha256: str
    kind: str
    standing: str
    verification: str
    why: str
    known: Known | None = None
    claim: Filed | None = None
    place: str | None = None
    report: Exported | None = None

    @property
    def first(self) -> tuple[bool, str]:
        """By what a loose file comes before a copy of it inside a submittal."""
        return (bool(self.inside), self.file)


@dataclass(frozen=True, slots=True)
class ManyExported:
    """The reports of many files, in the order of contract, date and number, and the table of all files."""

    reports: tuple[Exported, ...]
    files: Table
    left_out: int


def exported_together(
    given: Sequence[Path],
    *,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    quick: bool = False,
    at: dt.datetime | None = None,
    spread: Spread | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> ManyExported:
    """Verify the PDFs named, and those in and below the folders named, and take the data of each report out of them.

    Originals inside submittals count like files that lie by themselves, each content once. A file that fails gives no
    data: the table of files says so.

    Raises:
        UsageError: nothing is there, or nothing of it is a report.
    """
    from reportgen.issued import make_ready, pdf_files

    paths = pdf_files(given)
    if not paths:
        raise UsageError("there is no PDF to export", help_text="name reports, or a folder that holds them")
    checks = examination_checks(trust, policy=policy, quick=quick, at=at)
    found: list[Taken] = []
    tasks = partial(make_ready, checks.load)
    answers = (spread or Spread()).finished(partial(_taken, checks), paths, worth=WORTH_A_PROCESS, first=tasks)
    for done, taken in enumerate(answers, start=1):
        found += taken
        if progress is not None:
            progress(done, len(paths))
    return _together(found)


def _taken(checks: Checks, path: Path) -> list[Taken]:
    """Return what one file holds: itself, and of a submittal every original inside it."""
    from reportgen.issued import (
        examine,
        examine_original,
        inside_of,
        made_again,
        original_inside,
        read_pdf,
        shown_name,
        with_originals,
    )

    name = shown_name(path)
    try:
        pdf = read_pdf(path)
    except UsageError as fault:
        return [Taken(name, "", "", "other", "failed", "failed", fault.message)]
    one = examine(pdf, name, checks)
    if one.kind != "submittal":
        return [_of(one, name, "", pdf)]
    inside = inside_of(one.listed)
    originals = [examine_original(pdf, each, checks) for each in inside]
    found = [(each.listed, examined) for each, examined in zip(inside, originals, strict=True)]
    whole = with_originals(one.verification, found, made_again(pdf, originals, checks))
    rows = [_of(replace(one, verification=whole), name, "", b"")]
    return rows + [_of(each, listed.file, name, original_inside(pdf, listed, checks)) for listed, each in found]


def _of(one: Examined, name: str, inside: str, pdf: bytes) -> Taken:
    from reportgen.issued import filed, standing_of

    answer, record = one.verification, one.record
    why = "; ".join(f"{reason.name}: {reason.sentence}" for reason in answer.reasons)
    level = standing_of(answer).level(answer.overall)
    row = Taken(name, inside, answer.sha256, one.kind, level, answer.overall, why)
    if record is None:
        return row
    row = replace(row, known=Known(record.contract, record.date, record.number, record.revision))
    if answer.overall == "failed":
        return row
    return _with_report(replace(row, claim=filed(answer, record)), pdf)


def _with_report(row: Taken, pdf: bytes) -> Taken:
    shown = f"{row.inside} > {row.file}" if row.inside else row.file
    try:
        report = report_of(pdf, shown)
    except ReportgenError as fault:
        return replace(row, why="; ".join(filter(None, (row.why, fault.message))))
    return replace(row, report=replace(report, source=ExportedFile(shown, row.standing, row.verification)))


_OF_INDEX: Final = """
SELECT files.path, file, inside, files.sha256, kind, files.standing, files.overall, files.reasons, files.contract,
    reports.date, files.number, files.revision, reports.place
FROM files LEFT JOIN reports USING (path) ORDER BY files.path
"""


def exported_index(index: Path, progress: Callable[[int, int], None] | None = None) -> ManyExported:
    """Take the data out of each report that an audit found, as the index of it says how they stand.

    The files are read where they were audited; one that is not there, or was changed since, gives no data.

    Raises:
        UsageError: there is no such index, or nothing in it is a report.
    """
    from reportgen.audit import Index, own_key
    from reportgen.pipeline.recalling import AuditedFiles

    found: list[Taken] = []
    with Index.read(index, key=own_key()) as opened:
        files, rows = AuditedFiles(opened), opened.rows(_OF_INDEX)
        for done, row in enumerate(rows, start=1):
            found.append(_of_index(files, *row))
            if progress is not None:
                progress(done, len(rows))
    return _together(found)


def _of_index(
    files: AuditedFiles, path: str, file: str, inside: str, sha256: str, kind: str, standing: str, overall: str,
    reasons: str, *known: Any,
) -> Taken:  # fmt: skip
    *identity, place = known
    why = "; ".join(f"{one['name']}: {one['sentence']}" for one in json.loads(reasons))
    whose = None if None in identity else Known(*identity)
    row = Taken(inside or file, file if inside else "", sha256, kind, standing, overall, why, whose, None, place)
    if place is None:
        return row
    try:
        return _with_report(row, files.read(path))
    except UsageError as fault:
        return replace(row, why=fault.message)


def _together(found: Sequence[Taken]) -> ManyExported:
    ordered = sorted(found, key=lambda one: (*_when(one), one.first))
    places = {one.sha256: one.place for one in ordered if one.place is not None} | dict(_places(ordered))
    reports: dict[str, Exported] = {}
    rows = []
    for one in ordered:
        told = "no" if one.report is None else "the same file, above" if one.sha256 in reports else "yes"
        if one.report is not None:
            reports.setdefault(one.sha256, one.report)
        rows.append((
            one.file, one.inside or None, one.kind, *_identity(one.known), one.sha256, places.get(one.sha256), told,
            one.standing, one.verification, one.why or None,
        ))  # fmt: skip
    if not reports:
        raise UsageError(
            "none of the files is a report whose data can be given",
            help_text="`reportgen verify` says of each what it is, `reportgen audit` of a folder",
        )
    left_out = sum(one.report is None and one.kind != "submittal" for one in found)
    return ManyExported(tuple(reports.values()), Table("files", _HEADS, tuple(rows)), left_out)


_HEADS = (
    "file", "inside", "kind", "contract", "number", "revision", "date", "SHA-256", "place among its number",
    "data given", "standing", "verification", "why",
)  # fmt: skip


def _when(one: Taken) -> tuple[str, str, str, int]:
    return ("", "", "", 0) if one.known is None else one.known


def _identity(known: Known | None) -> tuple[str | int | dt.date | None, ...]:
    if known is None:
        return (None,) * 4
    return known.contract, known.number, known.revision, dt.date.fromisoformat(known.date)


def _places(found: Iterable[Taken]) -> Iterator[tuple[str, str]]:
    """Yield of each report what becomes of it among those of its number: whether it decides, or what replaces it."""
    from reportgen.issued import outcomes
    from reportgen.names import spelling

    numbers: dict[tuple[str, str], dict[str, Filed]] = {}
    for one in found:
        if one.known is not None and one.claim is not None:
            contract = spelling(one.known.contract) or one.known.contract
            numbers.setdefault((contract, one.known.number), {})[one.sha256] = one.claim
    for claims in numbers.values():
        settled = outcomes(list(claims.values()))
        yield from ((sha256, one.place) for sha256, one in zip(claims, settled, strict=True))
