"""Made-up entries for the tests of the register."""

import datetime as dt
import hashlib
from pathlib import Path

from reportgen.register import Entry, Register, Row, Supersedes, Witness
from reportgen.register.rows import Head

NOON = dt.datetime(2026, 3, 2, 12, 0, 0, tzinfo=dt.UTC)
PATTERN = "AB-12-###"


def clock() -> dt.datetime:
    return NOON + dt.timedelta(hours=6)


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def entry_for(
    head: Head,
    number: str = "AB-12-001",
    revision: int = 0,
    supersedes: Supersedes | None = None,
    issued_at: dt.datetime = NOON,
) -> Entry:
    return Entry(
        number=number,
        revision=revision,
        date=issued_at.date(),
        issued_at=issued_at,
        verdict="does not conform",
        unsigned_sha256=sha(b"unsigned " + number.encode()),
        evaluation_sha256=sha(b"evaluation " + number.encode()),
        inputs={"project.yaml": sha(b"project"), "2026-03-02.yaml": sha(b"day")},
        head=head,
        supersedes=supersedes,
    )


def signed_for(head: Head, number: str = "AB-12-001", revision: int = 0) -> bytes:
    """Bytes that, like a report, hold the head they were issued on; a few kilobytes so that a write can be cut."""
    return f"%PDF {number} {revision} {head.sequence} {head.sha256}\n".encode() + b"page " * 600 + b"%%EOF\n"


def issue(
    register: Register,
    folder: Path,
    number: str = "AB-12-001",
    revision: int = 0,
    *,
    reason: str | None = None,
    issued_at: dt.datetime = NOON,
    file: str | None = None,
) -> Row:
    """Issue one report the way the pipeline does: admitted, built on the head, put in its place."""
    supersedes = register.admit(number, revision, (revision - 1, reason) if reason else None)
    head = register.head
    entry = entry_for(head, number, revision, supersedes, issued_at)
    return register.issue(entry, signed_for(head, number, revision), folder / (file or file_of(number, revision)))


def file_of(number: str, revision: int = 0) -> str:
    return f"{number}-r{revision}.pdf"


def issue_some(folder: Path, count: int, first: int = 1) -> list[Row]:
    with Register.open(folder, clock=clock, pattern=PATTERN) as register:
        return [issue(register, folder, f"AB-12-{number:03d}") for number in range(first, first + count)]


def witness_of(row: Row, head: Head) -> Witness:
    """What `verify` would read from the report of a row."""
    report = row.report
    assert report is not None
    entry = Entry(
        number=report.number,
        revision=report.revision,
        date=dt.date.fromisoformat(report.date),
        issued_at=dt.datetime.fromisoformat(report.issued_at),
        verdict=report.verdict,  # type: ignore[arg-type] # read back from a row that was checked
        unsigned_sha256=report.unsigned_sha256,
        evaluation_sha256=report.evaluation_sha256,
        inputs=report.inputs,
        head=head,
        supersedes=report.supersedes,
    )
    return Witness(entry, report.file, report.size, report.signed_sha256)


def witnesses_in(folder: Path) -> list[Witness]:
    """Witnesses of all issued reports of a sound register."""
    from reportgen.register import read_register

    chain = read_register(folder).chain
    return [witness_of(row, Head(row.sequence - 2, chain.hashes[row.sequence - 2])) for row in chain.issued.values()]
