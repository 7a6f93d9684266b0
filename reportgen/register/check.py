"""What a register and the reports themselves say of each other.

The chain proves that no row was changed or taken out of the middle. It cannot prove that nothing was cut off its end,
or that the whole was not written anew: the heads that signed reports hold do.
"""

from __future__ import annotations

import datetime as dt
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from reportgen import atomicfile
from reportgen.names import full_title
from reportgen.register.chain import MOST_BYTES, REGISTER_NAME, Chain, RegisterAsRead, RegisterError, read_chain
from reportgen.register.journal import digest_of_beginning
from reportgen.register.numbering import missing_numbers
from reportgen.register.rows import report_of, utc_text
from reportgen.register.together import forks, issue_of, issues_in
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Sequence
    from pathlib import Path

    from reportgen.register.rows import Entry, Report, Row
    from reportgen.register.together import Issue
    from reportgen.words.told import Told

ProblemCode = Literal[
    "register-missing",
    "register-changed",
    "register-contradicted",
    "row-unfinished",
    "intent-open",
    "rows-lost",
    "row-unread",
    "clock-back",
    "number-conflict",
    "number-missing",
    "report-missing",
    "report-changed",
    "report-copied",
    "report-unregistered",
    "report-unproven",
    "revision-not-entitled",
    "register-forked",
    "slip-unreported",
]


_A_DAY: Final = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Witness:
    """What a signed report, verified, says of itself and of the register it was issued on.

    ``file`` is its path as seen from the register's folder, with ``/``. ``size`` and ``signed_sha256`` are of the file
    up to the end of its first signature: the report as it was issued, whatever was countersigned since. ``covered`` is
    the SHA-256 of what that signature covers. ``unlike`` says why that signature is none with which the report was
    issued, however alike the pages are; ``checked`` is False where nobody could look at it.
    """

    entry: Entry
    file: str
    size: int
    signed_sha256: str
    covered: str = ""
    unlike: Told | None = None
    checked: bool = True

    @property
    def issue(self) -> Issue:
        """What it says of its issue."""
        return issue_of(self.entry, self.signed_sha256, self.covered)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong, as a stable code and a sentence; ``line`` of the register and ``number`` where it has them.

    ``grave`` is False for what should be seen but accuses nobody: a clock set back, an interrupted run.
    """

    code: ProblemCode
    message: str
    line: int | None = None
    number: str | None = None
    grave: bool = True


def read_register(folder: Path) -> RegisterAsRead:
    """Read the register of ``folder`` without locking or repairing it.

    Raises ``RegisterError`` as ``read_chain``, ``UsageError`` when there is none, ``MachineError`` when the disk fails.
    """
    path = folder / REGISTER_NAME
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise atomicfile.refusal(error, path, doing="read") from error
    return read_chain(data)


def contradictions(chain: Chain, witness: Witness) -> list[Problem]:
    """Return what the register says otherwise than a report or release slip; nothing when it knows it as it is."""
    entry = witness.entry
    what = told("a-revision", number=entry.number, revision=entry.revision)
    if entry.area is not None:
        what = told("a-slip", area=entry.area, number=entry.number)
    head = entry.head

    def problem(code: ProblemCode, message: str) -> list[Problem]:
        return [Problem(code, message, number=entry.number)]

    if head.sequence > chain.head.sequence:
        cut = told("register-cut", what=what, then=head.sequence, now=chain.head.sequence)
        return problem("register-contradicted", cut)
    if chain.hashes.get(head.sequence) != head.sha256:
        return problem("register-contradicted", told("register-rewritten", what=what, row=head.sequence))
    row = _row_of(chain, witness)
    if row is None and chain.unread and head.sequence < chain.unread.sequence:
        unread = told("register-unread", what=what, format=chain.unread.format)
        return [Problem("row-unread", unread, number=entry.number, grave=False)]
    if row is None or row.report is None:
        mine = witness.issue
        forked = forks([*(one for one in issues_in(chain) if one.upon == mine.upon), mine])
        if forked:
            why = forked[0].sentence
            return problem("register-forked", told("signed-upon-a-fork", what=what, file=witness.file, why=why))
        return problem("report-unregistered", told("signed-not-registered", what=what, file=witness.file))
    if row.report.signed_sha256 != witness.signed_sha256 and not _copied(row.report, witness):
        if not _same_pages(row.report, witness):
            return problem("report-changed", told("not-the-registered-file", what=what, file=witness.file))
        why = told("not-the-registered-signature", what=what, file=witness.file, why=witness.unlike)
        return [Problem("report-changed", why, number=entry.number, grave=witness.checked)]
    otherwise = _stated_otherwise(what, row, row.report, witness)
    return [] if otherwise is None else problem("register-contradicted", otherwise)


def _row_of(chain: Chain, witness: Witness) -> Row | None:
    entry = witness.entry
    if entry.area is None:
        return chain.issued.get((entry.number, entry.revision))
    return chain.slip(witness.signed_sha256, entry.unsigned_sha256)


def copied_of(chain: Chain, witness: Witness) -> Report | None:
    """Return what a register says of the file of which a report or slip is a copy: its signature is not written, or
    not stamped, as in the file that was issued, and what was signed is the same. None of the very file.
    """
    row = None if contradictions(chain, witness) else _row_of(chain, witness)
    return row.report if row is not None and row.report is not None and _copied(row.report, witness) else None


def _of_witnesses(chain: Chain, held: Iterable[Witness]) -> tuple[list[Problem], set[str]]:
    """Return what is to be said of reports by the register, and the hashes of the files that they are, or copies of."""
    problems, known = [], set()
    for witness in held:
        known.add(witness.signed_sha256)
        problems += contradictions(chain, witness)
        own = copied_of(chain, witness)
        if own is not None:
            known.add(own.signed_sha256)
            written = told("copy-of-registered", what=witness.issue.title, file=witness.file)
            problems.append(Problem("report-copied", written, number=own.number, grave=False))
    return problems, known


def _copied(report: Report, witness: Witness) -> bool:
    """Whether a file is not the one that was issued, but what was signed, by whom, and where its signature is, are."""
    other = report.signed_sha256 != witness.signed_sha256
    return other and witness.unlike is None and _same_pages(report, witness)


def _same_pages(report: Report, witness: Witness) -> bool:
    return (report.unsigned_sha256, report.size) == (witness.entry.unsigned_sha256, witness.size)


def _stated_otherwise(what: Told, row: Row, report: Report, witness: Witness) -> Told | None:
    """Return what a row has otherwise than the report itself states, whose file may lie anywhere by now."""
    entry, head = witness.entry, witness.entry.head
    if row.sequence != head.sequence + (2 if row.event == "issued" else 1):
        return told("upon-another-row", what=what, row=head.sequence)
    if report.supersedes != entry.supersedes:
        return told("replaces-otherwise-by-register", what=what)
    own = report_of(entry, file=report.file, size=witness.size, signed_sha256=witness.signed_sha256)
    members = {
        "area": told("member-area"),
        "date": told("member-date"),
        "issued_at": told("member-issued-at"),
        "verdict": told("member-verdict"),
        "size": told("member-size"),
        "unsigned_sha256": told("member-unsigned-sha256"),
        "evaluation_sha256": told("member-evaluation-sha256"),
        "inputs": told("member-inputs"),
    }
    others = tuple(words for name, words in members.items() if getattr(report, name) != getattr(own, name))
    return told("row-states-otherwise", what=what, members=others) if others else None


def check_register(
    folder: Path, witnesses: Iterable[Witness] = (), *, pattern: str | None = None, at: dt.datetime | None = None
) -> list[Problem]:
    """Return what is wrong with the register of ``folder``, in itself, with its files and with verified reports.

    Every issued row's file is compared by hash. ``witnesses`` are reports and slips held by anyone, read by ``verify``;
    ``pattern`` is the project's, to find numbers left out; ``at`` is the present moment, to find release slips a day
    old whose report was never issued. Raises ``MachineError`` when the disk fails.
    """
    held = list(witnesses)
    if not (folder / REGISTER_NAME).exists():
        missing = f"there is no `{REGISTER_NAME}`, but {len(held)} signed reports"
        return [Problem("register-missing", missing)] if held else []
    try:
        reading = read_register(folder)
    except RegisterError as fault:
        return [Problem("register-changed", fault.message, line=fault.line)]
    chain = reading.chain
    problems = _of_end(reading)
    of_held, known = _of_witnesses(chain, held)
    for line, row in enumerate(chain.rows, start=1):
        problems += _of_row(folder, line, row, known)
    problems += of_held
    if at is not None and chain.unread is None:
        problems += _unreported(chain, utc_text(at - _A_DAY))
    if pattern is not None and chain.unread is None:
        problems += [
            Problem("number-missing", f"{number} was never issued, but a later number was", number=number)
            for number in missing_numbers(pattern, [number for number, _ in chain.issued])
        ]
    return problems


def _unreported(chain: Chain, until: str) -> list[Problem]:
    """Return the release slips of before a moment whose report was never issued: steel may be primed upon them."""
    issued = {number for number, _ in chain.issued}
    return [
        Problem(
            "slip-unreported",
            f"a release slip of {one.area} was signed at {one.issued_at}, and its report {one.number} was never issued",
            number=one.number,
        )
        for one in chain.slips
        if one.number not in issued and one.issued_at < until
    ]


def _of_end(reading: RegisterAsRead) -> list[Problem]:
    problems = []
    if line := reading.torn or reading.unfinished:
        message = f"{REGISTER_NAME}, line {line}: the row was never finished; the next issue repairs that"
        problems.append(Problem("row-unfinished", message, line=line, grave=False))
    intent = reading.chain.unclosed
    if intent and intent.report:
        message = f"{intent.report.number} was announced and neither issued nor given up; the next issue settles that"
        line = len(reading.chain.rows)
        problems.append(Problem("intent-open", message, line=line, number=intent.report.number, grave=False))
    return problems


def _of_row(folder: Path, line: int, row: Row, known: Container[str]) -> Sequence[Problem]:
    if row.event == "unread":
        message = f"{REGISTER_NAME}, line {line}: the row is of format {row.format} and was not read"
        return [Problem("row-unread", message, line=line, grave=False)]
    if row.report is None:
        message = f"{REGISTER_NAME}, line {line}: rows up to {row.sequence} are lost or rebuilt from reports"
        return [Problem("rows-lost", message, line=line)]
    problems = []
    number = row.report.number
    if row.clock_back and (row.event == "intent" or row.recovered_at):
        message = f"{REGISTER_NAME}, line {line}: the clock was behind an earlier row ({row.moment})"
        problems.append(Problem("clock-back", message, line=line, number=number, grave=False))
    if row.event == "conflict":
        message = f"{number} was not issued because `{row.report.file}` was another file"
        problems.append(Problem("number-conflict", message, line=line, number=number, grave=False))
    if row.event in ("issued", "slip") and row.report.signed_sha256 not in known:
        problems += _of_file(folder, line, row.report)
    return problems


def _of_file(folder: Path, line: int, report: Report) -> list[Problem]:
    path = folder / report.file
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0))
        try:
            sha256 = digest_of_beginning(descriptor, report.size)
        finally:
            os.close(descriptor)
    except (FileNotFoundError, NotADirectoryError):
        message = f"{full_title(report)} is issued, but `{report.file}` is not there"
        return [Problem("report-missing", message, line=line, number=report.number)]
    except IsADirectoryError:
        sha256 = ""
    except OSError as error:
        raise atomicfile.refusal(error, path, doing="read") from error
    if sha256 == report.signed_sha256:
        return []
    message = f"`{report.file}` is not the file that was issued as {full_title(report)}"
    return [Problem("report-changed", message, line=line, number=report.number)]
