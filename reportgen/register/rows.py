"""One row of the register: the values, the line of text, and back.

A line is canonical JSON, so that a row has one spelling only. The chain is made of lines: ``previous`` is the SHA-256
of the line before, without its end, and can be checked with nothing but ``sha256sum``.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping  # noqa: TC003 - `value_from` asks for the types of fields
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, get_args

from reportgen import __version__
from reportgen.formats import Head, Supersedes, is_later
from reportgen.results import Verdict

if TYPE_CHECKING:
    from collections.abc import Callable

FORMAT = 1
NO_ROW = "0" * 64
"""What the first row states as the hash of the row before it."""

Event = Literal["intent", "issued", "void", "conflict", "rebuilt", "slip"]
"""``intent`` precedes every write and is closed by ``issued`` (the report is in place), ``void`` (it never came to be)
or ``conflict`` (another file has its name). ``rebuilt`` stands where rows are lost: the hash it states is known from a
report that was issued upon them. ``slip`` says that a release slip of a report to come is in place.
"""


EMPTY = Head(0, NO_ROW)
_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)


@dataclass(frozen=True, slots=True)
class Entry:
    """A report to be issued, as its own pages and embedded files say it.

    Hashes are SHA-256 as 64 lower-case hexadecimal digits. ``issued_at`` is aware and is the signature's claimed time;
    ``inputs`` maps the names of the embedded input files to their hashes; ``head`` is the register's head that the
    report holds.
    """

    number: str
    revision: int
    date: dt.date
    issued_at: dt.datetime
    verdict: Verdict
    unsigned_sha256: str
    evaluation_sha256: str
    inputs: Mapping[str, str]
    head: Head
    supersedes: Supersedes | None = None
    area: str | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """What the register says of one report.

    ``file`` is relative to the register's folder, with ``/``; ``size`` in bytes and ``signed_sha256`` are those of the
    file as issued: countersignatures and timestamps come after these bytes and leave them alone. ``area`` is that of a
    release slip.
    """

    number: str
    revision: int
    date: str
    issued_at: str
    verdict: str
    file: str
    size: int
    unsigned_sha256: str
    signed_sha256: str
    evaluation_sha256: str
    inputs: Mapping[str, str]
    supersedes: Supersedes | None
    area: str | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One row; ``report`` is None for ``rebuilt``, which has ``original_sha256`` instead, and for ``unread``.

    ``unread`` is one of a later ``format``, of which only its place in the chain is known.

    ``clock_back`` marks a row that claims an earlier time than one before it; ``recovered_at`` and ``note`` say when
    and why a row was written by anything but the issue itself.
    """

    event: Event | Literal["unread"]
    sequence: int
    previous: str
    report: Report | None = None
    clock_back: bool = False
    note: str | None = None
    recovered_at: str | None = None
    original_sha256: str | None = None
    format: int = FORMAT

    @property
    def moment(self) -> str | None:
        """When the row was written as far as it says: UTC, in a form that sorts by time."""
        return self.recovered_at or (self.report.issued_at if self.report else None)


def utc_text(moment: dt.datetime) -> str:
    """Return an aware time as the register writes it, to the second: ``2026-03-02T16:40:05Z``."""
    if moment.tzinfo is None:
        raise ValueError("a time without its offset has no place in the register")
    return moment.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def report_of(entry: Entry, *, file: str, size: int, signed_sha256: str) -> Report:
    """Return what the register says of ``entry`` once its file is known; ``ValueError`` when a value is unfit."""
    report = Report(
        number=entry.number,
        revision=entry.revision,
        date=entry.date.isoformat(),
        issued_at=utc_text(entry.issued_at),
        verdict=entry.verdict,
        file=file,
        size=size,
        unsigned_sha256=entry.unsigned_sha256,
        signed_sha256=signed_sha256,
        evaluation_sha256=entry.evaluation_sha256,
        inputs=dict(entry.inputs),
        supersedes=entry.supersedes,
        area=entry.area,
    )
    _require_fields(_report_as_data(report), _REPORT_FIELDS)
    return report


def encode_row(row: Row) -> bytes:
    """Return the line of a row, without its end."""
    data: dict[str, Any] = {
        "event": row.event,
        "format": FORMAT,
        "note": row.note,
        "previous": row.previous,
        "recovered_at": row.recovered_at,
        "sequence": row.sequence,
    }
    if row.report is None:
        return _line(data | {"original_sha256": row.original_sha256})
    return _line(data | {"clock_back": row.clock_back} | _report_as_data(row.report))


def decode_row(line: bytes) -> Row:
    """Return the row in a line without its end; ``ValueError`` with a clause that follows "line 3".

    Of a row of a later format only its place in the chain is read.
    """
    try:
        data: Any = json.loads(line.decode())
        canonical = _line(data) if isinstance(data, dict) else b""
    except (ValueError, RecursionError):
        raise ValueError("is not JSON in UTF-8") from None
    if canonical != line:  # a second spelling, such as a field given twice, could be read in two ways
        raise ValueError("is not written as the register writes its rows")
    previous, sequence, lost = data.get("previous"), data.get("sequence"), data.get("original_sha256")
    if is_later(data.get("format"), FORMAT):
        if not _hash(previous) or not _sequence(sequence) or not (lost is None or _hash(lost)):
            raise ValueError(f"is of format {data['format']}, which needs a later release than reportgen {__version__}")
        return Row("unread", sequence, previous, original_sha256=lost, format=data["format"])
    report = None
    if data.get("event") == "rebuilt":
        _require_fields(data, _REBUILT_FIELDS)
    else:
        _require_fields(data, _ISSUE_FIELDS)
        told = data.get("supersedes")
        supersedes = told and Supersedes(told["revision"], told["sha256"], told["reason"])
        plain = {name: data.get(name) for name in _REPORT_FIELDS if name != "supersedes"}
        report = Report(**plain, supersedes=supersedes)
    return Row(
        event=data["event"],
        sequence=sequence,
        previous=previous,
        report=report,
        clock_back=data.get("clock_back", False),
        note=data.get("note"),
        recovered_at=data.get("recovered_at"),
        original_sha256=lost,
    )


def _line(data: dict[str, Any]) -> bytes:
    """Encode as canonical JSON; the library's own encoder, because every row is encoded again when it is read."""
    stated = {name: value for name, value in data.items() if value is not None}
    return _ENCODER.encode(stated).encode()


def _report_as_data(report: Report) -> dict[str, Any]:
    told = report.supersedes
    data: dict[str, Any] = {name: getattr(report, name) for name in _REPORT_FIELDS if name != "supersedes"}
    data["supersedes"] = told and {"revision": told.revision, "sha256": told.sha256, "reason": told.reason}
    return data


def _require_fields(data: Mapping[str, Any], expected: Mapping[str, Callable[[Any], bool]]) -> None:
    if not data.keys() <= expected.keys():
        raise ValueError(f"has the unknown field `{min(data.keys() - expected.keys())[:40]}`")
    for name, fits in expected.items():
        stated = data.get(name)
        if not fits(stated) and not (stated is None and name in _OPTIONAL):
            raise ValueError(f"does not have a proper `{name}`")


def _matches(pattern: str) -> Callable[[Any], bool]:
    compiled = re.compile(pattern, re.ASCII)
    return lambda value: isinstance(value, str) and compiled.fullmatch(value) is not None


def _whole(low: int, high: int) -> Callable[[Any], bool]:
    return lambda value: type(value) is int and low <= value <= high


def _text(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip()) and len(value) <= 4000


_OPTIONAL = frozenset({"area", "note", "recovered_at", "supersedes"})
_hash = _matches(r"[0-9a-f]{64}")
_moment = _matches(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}Z")
_revision = _whole(0, 999)
_sequence = _whole(1, 10**9)
_REPORT_FIELDS: dict[str, Callable[[Any], bool]] = {
    "area": _text,
    "number": _matches(r"[A-Z0-9]([A-Z0-9.-]{0,38}[A-Z0-9-])?"),
    "revision": _revision,
    "date": _matches(r"\d{4}-\d{2}-\d{2}"),
    "issued_at": _moment,
    "verdict": get_args(Verdict).__contains__,
    "file": lambda value: _text(value) and value.isprintable() and not value.startswith("/"),
    "size": _whole(1, 10**12),
    "unsigned_sha256": _hash,
    "signed_sha256": _hash,
    "evaluation_sha256": _hash,
    "inputs": lambda value: (
        isinstance(value, dict) and all(_text(name) and _hash(digest) for name, digest in value.items())
    ),
    "supersedes": lambda value: (
        isinstance(value, dict)
        and value.keys() == {"revision", "sha256", "reason"}
        and _revision(value["revision"])
        and _hash(value["sha256"])
        and _text(value["reason"])
    ),
}
_CHAIN_FIELDS: dict[str, Callable[[Any], bool]] = {
    "event": get_args(Event).__contains__,
    "format": _whole(FORMAT, FORMAT),
    "note": _text,
    "previous": _hash,
    "recovered_at": _moment,
    "sequence": _sequence,
}
_ISSUE_FIELDS = _CHAIN_FIELDS | {"clock_back": lambda value: isinstance(value, bool)} | _REPORT_FIELDS
_REBUILT_FIELDS = _CHAIN_FIELDS | {"original_sha256": _hash}
