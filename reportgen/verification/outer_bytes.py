"""What can be said of a signed file from its bytes alone, before any library reads it.

A signature covers two ranges around its own hexadecimal string. Nothing else may hide in between or beyond, whatever a
reader makes of it: the ranges start at 0, the gap is exactly that string, and the file ends where the last range ends.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.verification.verdict import Reason
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST_REVISIONS = 50
"""More appended revisions than any report has; a library's checks grow with their square."""

# in a name any character may be written as `#` and two digits
_LETTERS = (f"(?:{letter}|#{ord(letter):02x}|#{ord(letter):02X})" for letter in "ByteRange")
_BYTE_RANGE = re.compile(f"/{''.join(_LETTERS)}(?![A-Za-z0-9])".encode())
_FOUR_NUMBERS = re.compile(rb"\s{0,8}\[\s{0,8}(\d{1,12})\s+(\d{1,12})\s+(\d{1,12})\s+(\d{1,12})\s*\]")
_END = re.compile(rb"%%EOF(?:\r\n|\n|\r)?\Z")
_HEXADECIMAL = re.compile(rb"<([0-9A-Fa-f]*)>\Z")


@dataclass(frozen=True, slots=True)
class Gap:
    """One signature's ranges: ``start`` and ``stop`` of the gap between them, and the ``end`` of what it covers."""

    start: int
    stop: int
    end: int


def file_faults(pdf: bytes) -> list[Reason]:
    """Return what is wrong with the file as a whole: no PDF header, too many revisions, bytes after its end."""
    if not pdf.startswith(b"%PDF-"):
        return [Reason("FORMAT_FAILURE", told("no-pdf"))]
    revisions = pdf.count(b"startxref")
    if revisions > MOST_REVISIONS:
        return [Reason("TOO_MANY_REVISIONS", told("too-many-revisions", count=revisions, most=MOST_REVISIONS))]
    if not _END.search(pdf[-7:]):
        return [Reason("BYTES_AFTER_END", told("no-end-mark"))]
    return []


def byte_ranges(pdf: bytes) -> tuple[list[Gap], list[Reason]]:
    """Return the gap of each ``/ByteRange`` in the file, in order of coverage, and what is wrong with their form."""
    gaps, faults = [], []
    for found in _BYTE_RANGE.finditer(pdf):
        numbers = _FOUR_NUMBERS.match(pdf, found.end())
        if not numbers:
            faults.append(Reason("FORMAT_FAILURE", told("byte-range-no-numbers")))
            continue
        first, length, second, rest = (int(number) for number in numbers.groups())
        if first != 0 or not length < second or second + rest > len(pdf):
            code = "rewritten" if second + rest > len(pdf) else "ranges-not-from-beginning"
            faults.append(Reason("UNCOVERED_BYTES", told(code)))
            continue
        gaps.append(Gap(length, second, second + rest))
    return sorted(gaps, key=lambda gap: gap.end), faults


def covered(pdf: bytes, gaps: Sequence[Gap]) -> tuple[str, ...]:
    """Return the SHA-256 of the bytes that each signature covers, which are all up to its end but its own value;
    nothing where there are more than a file of ours can have.
    """
    if len(gaps) > MOST_REVISIONS:
        return ()
    return tuple(hashlib.sha256(pdf[: gap.start] + pdf[gap.stop : gap.end]).hexdigest() for gap in gaps)


def left(pdf: bytes, gaps: Sequence[Gap]) -> tuple[str, ...]:
    """Return the SHA-256 of the file as each signature left it; nothing where there are too many, as above."""
    if len(gaps) > MOST_REVISIONS:
        return ()
    return tuple(hashlib.sha256(pdf[: gap.end]).hexdigest() for gap in gaps)


def gap_faults(pdf: bytes, gap: Gap) -> list[Reason]:
    """Return what is wrong with the hexadecimal string in the gap: not alone there, not DER, something after it."""
    if pdf[gap.start : gap.start + 1] != b"<" and pdf[gap.stop - 1 : gap.stop] != b">":
        return [Reason("UNCOVERED_BYTES", told("rewritten"))]
    digits = _HEXADECIMAL.match(pdf, gap.start, gap.stop)
    if not digits or len(digits[1]) % 2:
        return [Reason("UNCOVERED_BYTES", told("leaves-out-more"))]
    value = bytes.fromhex(digits[1].decode("ascii"))
    length = _der_length(value)
    if length is None or length > len(value):
        return [Reason("FORMAT_FAILURE", told("value-damaged"))]
    if value[length:].strip(b"\0"):
        return [Reason("HIDDEN_IN_SIGNATURE", told("hidden-after-value"))]
    return []


def coverage_faults(pdf: bytes, gaps: list[Gap]) -> list[Reason]:
    """Return what is wrong with where the signatures end: the last at the end of the file, each at an end of file."""
    faults = []
    if gaps and gaps[-1].end != len(pdf):
        faults.append(Reason("CHANGED_AFTER_SIGNING", told("continued-after-signature")))
    if len({gap.end for gap in gaps}) != len(gaps):
        faults.append(Reason("SIGNATURE_COUNT", told("two-cover-one-revision")))
    if not all(_END.search(pdf[max(gap.end - 7, 0) : gap.end]) for gap in gaps[:-1]):
        faults.append(Reason("UNCOVERED_BYTES", told("signature-ends-elsewhere")))
    return faults


def _der_length(value: bytes) -> int | None:
    """Return the length of the one SEQUENCE ``value`` begins with, or None when it does not begin with one."""
    if len(value) < 2 or value[0] != 0x30:
        return None
    if value[1] < 0x80:
        return 2 + value[1]
    count = value[1] & 0x7F
    if not 1 <= count <= 4 or len(value) < 2 + count:
        return None
    return 2 + count + int.from_bytes(value[2 : 2 + count], "big")
