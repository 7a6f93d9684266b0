"""The rows of a register in order, and whether they belong together. Nothing here writes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from reportgen import __version__
from reportgen.errors import UsageError
from reportgen.formats import Head
from reportgen.names import full_title
from reportgen.register.rows import EMPTY, Row, decode_row

if TYPE_CHECKING:
    from reportgen.register.rows import Report

REGISTER_NAME = "register.jsonl"
MOST_BYTES = 64 * 1024 * 1024
"""About 30,000 reports; a longer file is not a register of one contract."""
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_REMEDY = "restore the register from a copy, or rebuild it from the reports"


class RegisterError(UsageError):
    """The register was changed by something else; ``line`` is where that shows, ``sound`` the rows before it."""

    def __init__(self, line: int, clause: str, sound: Chain) -> None:
        super().__init__(f"{REGISTER_NAME}, line {line}: {clause}", help_text=_REMEDY)
        self.line = line
        self.sound = sound


@dataclass(slots=True)
class Chain:
    """Rows that belong together, oldest first, and what follows from them.

    ``hashes`` maps a sequence to the hash of the register at that row; ``issued`` maps number and revision to the row
    that says so; ``unclosed`` is an intent at the very end; ``unread`` is the last row of a later format; ``slips`` are
    the release slips.
    """

    rows: list[Row] = field(default_factory=list)
    head: Head = EMPTY
    hashes: dict[int, str] = field(default_factory=lambda: {EMPTY.sequence: EMPTY.sha256})
    issued: dict[tuple[str, int], Row] = field(default_factory=dict)
    unclosed: Row | None = None
    latest: str = ""
    rebuilt: bool = False
    unread: Row | None = None
    slips: list[Report] = field(default_factory=list)
    _last_line: bytes = b""

    def copy(self) -> Chain:
        """Return a chain that goes its own way from here."""
        return replace(
            self,
            rows=[*self.rows],
            hashes={**self.hashes},
            issued={**self.issued},
            slips=[*self.slips],
        )

    def next_row(self, row: Row) -> Row:
        """Return ``row`` with the place and the clock mark it gets at the end of this chain."""
        back = bool(row.moment) and str(row.moment) < self.latest
        return replace(row, sequence=self.head.sequence + 1, previous=self.head.sha256, clock_back=back)

    def add(self, row: Row, line: bytes) -> None:
        """Append a row with its line; ``ValueError`` with a clause that follows "line 3" when it does not belong."""
        if row.previous != self.head.sha256:
            raise ValueError(
                "does not follow the line before it: a row was changed, removed, added or moved at this place"
            )
        if row.event == "unread":  # it may have closed an intent, or stand for lost rows
            if row.sequence <= self.head.sequence:
                raise ValueError(f"has sequence {row.sequence} where {self.head.sequence + 1} is due")
            self.unread, self.unclosed = row, None
            self._advance(row, row.original_sha256 or hashlib.sha256(line).hexdigest())
            return
        if row.report is None:
            if row.sequence < self.head.sequence or self.unclosed:
                raise ValueError("stands for lost rows at a place where none can be lost")
            self.rebuilt = True
            self._advance(row, str(row.original_sha256))
            return
        if row.sequence != self.head.sequence + 1:
            raise ValueError(f"has sequence {row.sequence} where {self.head.sequence + 1} is due")
        back = str(row.moment) < self.latest
        if row.clock_back != back and (back or not self.unread):  # it may be behind a row that was not read
            raise ValueError("has a `clock_back` that its times contradict")
        self._announce_or_close(row, row.report)
        self.latest = max(self.latest, str(row.moment))
        self._last_line = line
        self._advance(row, hashlib.sha256(line).hexdigest())

    def closing(self, line: bytes) -> Row | None:
        """Return the row that says that the open intent is issued, if ``line`` is that; it need not be decoded then.

        Every second row is one. It repeats its intent but for its place, and costs a tenth of another.
        """
        intent = self.unclosed
        if intent is None or intent.report is None or intent.note is not None or intent.recovered_at is not None:
            return None
        before = _place("intent", intent.sequence, intent.previous)
        after = _place("issued", self.head.sequence + 1, self.head.sha256)
        due = self._last_line
        for told, stated in zip(before, after, strict=True):
            if due.count(told) != 1:  # a file may be named like a member
                return None
            due = due.replace(told, stated)
        if line != due:
            return None
        return Row("issued", self.head.sequence + 1, self.head.sha256, intent.report, intent.clock_back)

    def slip(self, signed_sha256: str, unsigned_sha256: str) -> Row | None:
        """Return the row of a release slip: by its hash, or that of its pages before it was signed, as a copy has."""
        hashes = {signed_sha256, unsigned_sha256}
        rows = ((row, row.report) for row in self.rows if row.event == "slip")
        return next((row for row, one in rows if one and hashes & {one.signed_sha256, one.unsigned_sha256}), None)

    def require_read(self) -> None:
        """Refuse to go on where rows are of a later format: what they announced or issued is not known."""
        if self.unread is not None:
            raise UsageError(
                f"`{REGISTER_NAME}` has rows of format {self.unread.format}, which reportgen {__version__} cannot read",
                help_text="use the release that wrote them, or a later one",
            )

    def _announce_or_close(self, row: Row, report: Report) -> None:
        if (report.area is not None) != (row.event == "slip"):
            raise ValueError("names an area, which a release slip alone does, or is one and names none")
        if row.event == "slip" and self.unclosed is None:
            if (report.number, report.revision) in self.issued:
                raise ValueError(f"is a release slip of {report.number}, which is issued already")
            self.slips.append(report)
            return
        if row.event != "intent":
            if self.unclosed is None or self.unclosed.report != report:
                raise ValueError("closes an intent that the line before it does not state")
            self.unclosed = None
            if row.event == "issued":
                self.issued[report.number, report.revision] = row
            return
        if self.unclosed:
            raise ValueError(f"follows an intent for {self.unclosed.report and self.unclosed.report.number} left open")
        if (report.number, report.revision) in self.issued:
            raise ValueError(f"announces {full_title(report)} a second time")
        replaced = self.issued.get((report.number, report.revision - 1))
        if not _fits_predecessor(report, replaced, rows_lost=self.rebuilt or self.unread is not None):
            raise ValueError("does not supersede the revision before it as the register has it")
        self.unclosed = row

    def _advance(self, row: Row, sha256: str) -> None:
        self.rows.append(row)
        self.head = Head(row.sequence, sha256)
        self.hashes[row.sequence] = sha256


def _place(event: str, sequence: int, previous: str) -> tuple[bytes, bytes, bytes]:
    """Return the members by which a row differs from the one that it repeats, as its line spells them."""
    return (
        f'"event":"{event}",'.encode(),
        f'"previous":"{previous}",'.encode(),
        f'"sequence":{sequence},'.encode(),
    )


def _fits_predecessor(report: Report, replaced: Row | None, *, rows_lost: bool) -> bool:
    """Say whether what ``report`` supersedes is the revision before it, ``replaced``, as the register has it."""
    told = report.supersedes
    if report.revision == 0 or told is None:
        return report.revision == 0 and told is None
    if told.revision != report.revision - 1:
        return False
    if replaced is None or replaced.report is None:
        return rows_lost
    return told.sha256 == replaced.report.signed_sha256


@dataclass(frozen=True, slots=True)
class RegisterAsRead:
    """A register as read: its chain, the bytes its whole rows take, and what was found wrong but can be repaired.

    ``unfinished`` is the number of the last line when its row is whole but lacks the line end; ``torn`` when the row
    itself is not whole, as a power failure leaves it.
    """

    chain: Chain
    size: int
    torn: int | None = None
    unfinished: int | None = None


def read_chain(data: bytes) -> RegisterAsRead:
    """Read a register, once where the same bytes come again: an issue asks twice. Line ends may be LF or CR LF.

    Raises ``RegisterError`` naming the first line at which rows were changed, removed, added, swapped or reformatted.
    A last row that was never written to its end was never relied on by anything: it is reported, not refused.
    """
    reading = _read(data)
    return replace(reading, chain=reading.chain.copy())


@lru_cache(maxsize=1)
def _read(data: bytes) -> RegisterAsRead:
    chain = Chain()
    if len(data) > MOST_BYTES:
        raise RegisterError(1, f"the file is larger than {MOST_BYTES} bytes", chain)
    if data.startswith(_BYTE_ORDER_MARK):
        raise RegisterError(1, "begins with a byte-order mark: an editor has rewritten the file", chain)
    lines = data.split(b"\n")
    last = lines.pop()
    size = 0
    for number, text in enumerate(lines, start=1):
        if number == len(lines) and not last and b"\0" in text:
            return RegisterAsRead(chain, size, torn=number)
        _add_line(chain, number, text)
        size += len(text) + 1
    if not last:
        return RegisterAsRead(chain, size)
    number = len(lines) + 1
    try:
        json.loads(last)
    except (ValueError, RecursionError):  # no beginning of a JSON object is itself JSON
        return RegisterAsRead(chain, size, torn=number)
    _add_line(chain, number, last)
    return RegisterAsRead(chain, len(data), unfinished=number)


def _add_line(chain: Chain, number: int, text: bytes) -> None:
    line = text.removesuffix(b"\r")
    try:
        chain.add(chain.closing(line) or decode_row(line), line)
    except ValueError as clause:
        raise RegisterError(number, str(clause), chain) from None
