"""The index of an audit: one SQLite file that outlives it. Its tables are described in ``schema.sql``."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import suppress
from dataclasses import replace
from importlib import resources
from typing import TYPE_CHECKING, Any, Self

from reportgen.audit.index_faults import explained
from reportgen.audit.places import settle_places, settle_readings
from reportgen.diagnostics import printable
from reportgen.errors import UsageError
from reportgen.issued import NOT_STATED, document_of, filed, found_of, limits_of, shown_name
from reportgen.names import spelling

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path
    from types import TracebackType

    from reportgen.audit.across_reports import State
    from reportgen.audit.problems import Problem
    from reportgen.issued import Examined, Filed, ReportRecord, RequirementRecord
    from reportgen.verification import Verification

FORMAT = 11
_OF_A_FILE = (
    "reports", "left_as", "areas", "nonconformances", "findings", "earlier", "enclosed", "sequences", "scatter",
)  # fmt: skip
_EVERY = 50
_NO_INDEX = frozenset({sqlite3.SQLITE_ERROR, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT})
_OF_A_SIGNER = ("kind", "subject", "fingerprint", "claimed_time", "proven_time", "left_sha256")


class Index:
    """An open index; use it in a ``with``. ``MachineError`` when the disk fails.

    Its text is what strangers wrote, made visible: a control or formatting character is an escape in it.
    """

    def __init__(self, path: Path, database: sqlite3.Connection) -> None:
        self.path = path
        self._database = database
        self._unsaved = 0

    @classmethod
    def make(cls, path: Path, *, folder: str, fingerprint: str, at: str, fresh: bool = False) -> Self:
        """Open the index for an audit of ``folder``; what an audit by other terms or another release left is dropped.

        One writer at a time: that is for the caller to see to, with ``only_writer``.

        Raises:
            UsageError: the file is something else than an index, or that of another folder.
        """
        with explained(path):
            index = cls(path, sqlite3.connect(path))
            try:
                index._prepare(folder, fingerprint, at, fresh=fresh)
            except BaseException:
                index.close()
                raise
        return index

    @classmethod
    def read(cls, path: Path) -> Self:
        """Open an index to ask questions, also while an audit writes it; ``UsageError`` when there is none."""
        if not path.is_file():
            raise UsageError(
                f"there is no index {shown_name(path)}", help_text="make one with `reportgen audit FOLDER`"
            )
        with explained(path):
            index = cls(path, sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True))
            try:
                index._require_format()
            except BaseException:
                index.close()
                raise
        return index

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        with explained(self.path):
            self.close()
            if isinstance(fault, sqlite3.DatabaseError):
                raise fault

    def close(self) -> None:
        """Save and close."""
        try:
            self._database.commit()
        finally:
            self._database.close()

    def _prepare(self, folder: str, fingerprint: str, at: str, *, fresh: bool) -> None:
        self._database.execute("PRAGMA journal_mode = WAL")
        self._database.execute("PRAGMA synchronous = NORMAL")
        tables = [name for (name,) in self.rows("SELECT name FROM sqlite_master WHERE type = 'table'")]
        if tables and self._format() < 1:
            raise self._refusal()
        if tables and self.value("folder") != folder:
            raise UsageError(
                f"{shown_name(self.path)} is the index of {self.value('folder')}",
                help_text="name another one with --index",
            )
        if self._format() != FORMAT:
            for table in tables:
                self._database.execute(f"DROP TABLE {table}")
            self._database.executescript(resources.files("reportgen.audit").joinpath("schema.sql").read_text("utf-8"))
            self._remember(format=str(FORMAT), folder=folder)
        if fresh or self.value("fingerprint") != fingerprint:
            for table in ("files", *_OF_A_FILE, "requirements", "states", "problems"):
                self._database.execute(f"DELETE FROM {table}")  # noqa: S608 - names of our own
        self._remember(fingerprint=fingerprint, verified_at=at, finished="")
        self._database.commit()

    def _format(self) -> int:
        """The format of the index: 0 where it is none."""
        text = self.value("format") or ""
        return int(text) if text.isascii() and text.isdigit() else 0

    def _require_format(self) -> None:
        if self._format() != FORMAT:
            raise self._refusal()

    def _refusal(self) -> UsageError:
        name, known = shown_name(self.path), self._format()
        if known == 0:
            return UsageError(f"{name} is not the index of an audit")
        if known > FORMAT:
            return UsageError(f"{name} was written by a newer release", help_text="use that, or run the audit again")
        return UsageError(f"{name} was written by an older release", help_text="run the audit again: it is made anew")

    def _remember(self, **values: str) -> None:
        self._database.executemany("INSERT OR REPLACE INTO meta VALUES (?, ?)", values.items())

    def value(self, key: str) -> str | None:
        """Return a value of the table ``meta``; None where there is none, or no such table."""
        try:
            found = self.rows("SELECT value FROM meta WHERE key = ?", key)
        except sqlite3.DatabaseError as fault:
            if fault.sqlite_errorcode in _NO_INDEX:
                return None
            raise
        return str(found[0][0]) if found else None

    def rows(self, question: str, *values: Any) -> list[tuple[Any, ...]]:
        """Return all rows of a query."""
        return self._database.execute(question, values).fetchall()

    def each(self, question: str, *values: Any) -> Iterator[tuple[Any, ...]]:
        """Yield the rows of a query one by one: for what may be larger than memory."""
        yield from self._database.execute(question, values)

    def named(self, question: str, values: Mapping[str, str]) -> tuple[list[str], list[tuple[Any, ...]]]:
        """Return the names of the columns and all rows of a query."""
        cursor = self._database.execute(question, values)
        return [column[0] for column in cursor.description], cursor.fetchall()

    def known(self) -> dict[str, str]:
        """Return path and SHA-256 of each file whose verdict is there and still holds, and its rows where it has any.

        What broke off through a fault of this machine is not known.
        """
        question = (
            "SELECT path, sha256 FROM files WHERE broke_off = 0 AND (holds_until IS NULL OR holds_until > ?)"
            " AND (kind != 'report' OR overall = 'failed' OR path IN (SELECT path FROM reports))"
        )
        return dict(self._database.execute(question, (self.value("verified_at"),)))

    def forget(self, paths: Iterable[str]) -> None:
        """Drop files that are no longer there."""
        for path in paths:
            self._drop(path)

    def _drop(self, path: str) -> None:
        for table in ("files", *_OF_A_FILE):
            self._database.execute(f"DELETE FROM {table} WHERE path = ?", (path,))  # noqa: S608 - names of our own

    def store(self, path: str, examined: Examined) -> None:
        """Keep what was found in a file; saved at the latest after fifty files."""
        self._drop(path)
        answer, record = examined.verification, examined.record
        reasons = [{"name": reason.name, "sentence": reason.sentence} for reason in answer.reasons]
        signers = [{name: getattr(signer, name) for name in _OF_A_SIGNER} for signer in answer.signers]
        if record is not None and record.contract == NOT_STATED:  # reports of contracts unknown are not of one contract
            record = replace(record, contract=f"{NOT_STATED} ({path})")
        notices = [{"name": notice.name, "sentence": notice.sentence} for notice in answer.notices]
        claims = (None, None, None) if record is None else (record.contract, record.number, record.revision)
        row = (
            path, answer.sha256, answer.size, examined.kind, answer.overall, _json(reasons), _json(signers),
            answer.verified_at, *claims, claims[0], _json(notices), answer.holds_until, answer.broke_off,
        )  # fmt: skip
        self._insert("files", [row])
        if record is not None and answer.overall != "failed":
            self._store_report(path, answer, record)
        self._insert("enclosed", [(path, one.sha256, one.number, one.revision) for one in examined.listed])
        self._unsaved += 1
        if self._unsaved >= _EVERY:
            self.save()

    def save(self) -> None:
        """Make what was stored survive a kill."""
        self._database.commit()
        self._unsaved = 0

    def _store_report(self, path: str, answer: Verification, record: ReportRecord) -> None:
        told = (record.supersedes_revision, record.supersedes_sha256, record.supersedes_reason)
        claim = filed(answer, record)
        standing = claim.standing
        versions = [_version(record.requirements), _version(limits_of(record))]
        known = self.rows("SELECT 1 FROM requirements WHERE version = ? LIMIT 1", versions[0])
        if not known:
            self._insert("requirements", [
                (versions[0], one.part, one.member, one.value) for one in record.requirements
            ])  # fmt: skip
        self._insert("reports", [(
            path, answer.sha256, record.contract, record.number, record.revision, record.number_pattern, record.date,
            record.order, record.issued_at, record.status, record.verdict, record.inspector, *told, record.day_sha256,
            record.head, answer.overall, " ".join(sorted(standing.doubts)), standing.certificate, standing.name,
            _json(_hands(claim)), " ".join(claim.hashes), "decides", 1, *versions, document_of(record), 0,
        )])  # fmt: skip
        self._insert("left_as", [(path, digest) for digest in claim.hashes])
        coated = {surface.area: surface.coated for surface in record.surfaces if surface.coated}
        self._insert("areas", [
            (path, area.id, area.structure_name, area.verdict, area.decision, area.unit, area.n_locations,
             _text(area.mean), _text(area.standard_deviation), coated.get(area.id),
             _json(found_of(area, record.surfaces)[1:]), area.speaks)
            for area in record.areas
        ])  # fmt: skip
        self._insert("nonconformances", [
            (path, one.id, one.area, one.status, one.disposition, one.raised_in, one.description)
            for one in record.nonconformances
        ])  # fmt: skip
        self._insert("findings", [(path, one.code, one.severity, one.area, one.observed) for one in record.findings])
        self._insert("earlier", [(path, one) for one in record.earlier])
        sequences = [(one, " ".join(map(str, one.readings))) for one in record.surfaces if one.readings]
        self._insert("sequences", [
            (path, one.area, one.gauge, one.gauge_unit, len(one.readings),
             hashlib.sha256(f"{one.gauge_unit} {readings}".encode()).digest()[:8], readings, one.steel,
             _json(one.locations), readings)
            for one, readings in sequences
        ])  # fmt: skip

        self._insert("scatter", [
            (path, one.gauge, one.unit, one.dof, one.variance, f"{one.step:f}", one.place) for one in record.scatter
        ])  # fmt: skip

    def _insert(self, table: str, rows: Sequence[tuple[Any, ...]]) -> None:
        if rows:
            marks = ", ".join("?" * len(rows[0]))
            visible = [[printable(cell) if isinstance(cell, str) else cell for cell in row] for row in rows]
            self._database.executemany(f"INSERT INTO {table} VALUES ({marks})", visible)  # noqa: S608 - names of our own

    def change(self, statement: str, *values: Any) -> None:
        """Change rows; saved with the next ``save``."""
        self._database.execute(statement, values)

    def settle(self) -> None:
        """Drop second copies of a report and work out which reports count, once all files are stored.

        One that was issued once and then countersigned is one report: the better proven copy counts, of equal ones that
        with more signatures. The others leave it their hashes: a revision may name any of them.
        """
        copies = self.rows(
            "SELECT path, kept FROM (SELECT path, FIRST_VALUE(path) OVER (PARTITION BY substr(hashes, 1, 64) ORDER BY"
            " overall = 'passed' DESC, length(hashes) DESC, path) AS kept FROM reports)"
            " WHERE path != kept ORDER BY path"
        )
        for path, kept in copies:
            self._database.execute("UPDATE OR IGNORE left_as SET path = ? WHERE path = ?", (kept, path))
            for table in _OF_A_FILE:
                self._database.execute(f"DELETE FROM {table} WHERE path = ?", (path,))  # noqa: S608 - as above
        self._name_contracts()
        settle_places(self)
        settle_readings(self)

    def _name_contracts(self) -> None:
        """Give contracts whose numbers are one, as names are compared, the one that most files that passed write."""
        written: dict[str, list[tuple[int, int, str]]] = {}
        question = "SELECT written, SUM(overall = 'passed'), COUNT(*) FROM files WHERE written != '' GROUP BY written"
        for contract, passed, count in self.rows(question):
            written.setdefault(spelling(contract) or contract, []).append((-passed, -count, contract))
        for members in written.values():
            kept = min(members)[2]
            for *_, contract in members:
                self.change(
                    "UPDATE reports SET contract = ?"
                    " WHERE path IN (SELECT path FROM files WHERE written = ? AND contract != ?)",
                    kept, contract, kept,
                )  # fmt: skip
                self.change("UPDATE files SET contract = ? WHERE written = ? AND contract != ?", kept, contract, kept)

    def finish(self, states: Iterable[State], problems: Iterable[Problem]) -> None:
        """Keep the answer of an audit in place of the one before, all at once, and note that it came to its end."""
        for table in ("states", "problems"):
            self._database.execute(f"DELETE FROM {table}")  # noqa: S608 - names of our own
        self._insert("states", [tuple(state) for state in states])
        rows = [
            (one.code, one.weight, one.contract, one.number, one.area, one.sentence, _json(one.files), one.verdict)
            for one in problems
        ]
        self._insert("problems", rows)
        self._remember(finished="yes")
        self.save()
        with suppress(sqlite3.OperationalError):  # somebody reads: it then stays in several files until the next audit
            self._database.execute("PRAGMA journal_mode = DELETE")


def _hands(claim: Filed) -> dict[str, object]:
    """Return who signed a report, and whom its job lets do what with it."""
    people = {name: getattr(claim, name) for name in ("may_revise", "may_close", "may_name_successor")}
    told = claim.succession
    return {
        "signer": claim.standing.name,
        "inspector": claim.inspector,
        "succession": None if told is None else (told.former, told.named_by, told.evidence, told.still),
        **{name: [(one.name, one.organisation) for one in named] for name, named in people.items()},
    }


def _version(requirements: Iterable[RequirementRecord]) -> str:
    """Return what is equal where requirements are; empty where nothing is known."""
    told = [(one.part, one.member, one.value) for one in requirements]
    return hashlib.sha256(_json(told).encode()).hexdigest()[:32] if told else ""


def _json(value: object) -> str:
    return json.dumps(value)


def _text(value: object) -> str | None:
    return None if value is None else f"{value:f}"
