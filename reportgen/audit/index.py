"""The index of an audit: one SQLite file that outlives it. Its tables are described in ``schema.sql``.

Whoever can write the file can write what he likes into it. So a verdict is taken over only where the key of this user
proves the examination that it is of, all other tables are made anew of these when an audit comes to its end, and a
question is answered only from tables that are to the byte what the audit left.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import sqlite3
import zlib
from contextlib import closing, suppress
from dataclasses import replace
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any, Self

from reportgen.audit.index_faults import explained
from reportgen.audit.places import settle_places, settle_readings
from reportgen.diagnostics import printable
from reportgen.errors import MachineError, UsageError
from reportgen.formats import canonical_json
from reportgen.issued import (
    NOT_STATED,
    document_of,
    examined_from,
    filed,
    found_of,
    limits_of,
    render_examined,
    shown_name,
)
from reportgen.names import spelling
from reportgen.verification import Reason
from reportgen.words.told import plain_told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path
    from types import TracebackType

    from reportgen.audit.across_reports import State
    from reportgen.audit.problems import Problem
    from reportgen.issued import Examined, Filed, ReportRecord, RequirementRecord
    from reportgen.verification import Verification

FORMAT = 15
_OF_A_FILE = (
    "reports", "upon", "left_as", "areas", "nonconformances", "findings", "earlier", "enclosed", "sequences", "scatter",
)  # fmt: skip
_ANSWER = ("files", *_OF_A_FILE, "requirements", "states", "problems")
"""The tables that questions are asked of."""
_OF_THE_LIBRARY = frozenset({"sqlite_stat1", "sqlite_stat4", "sqlite_sequence"})
_EVERY = 50
_PASSES_WITH_TIME = frozenset({"CLAIMED_TIME_IN_FUTURE", "SIG_CONSTRAINTS_FAILURE"})
"""What lies in the future by a clock that is slow is no doubt any more another day: not taken over."""
_NO_INDEX = frozenset({sqlite3.SQLITE_ERROR, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT})
_OF_A_SIGNER = ("kind", "subject", "fingerprint", "claimed_time", "proven_time", "left_sha256")


class Index:
    """An open index; use it in a ``with``. ``MachineError`` when the disk fails.

    Its text is what strangers wrote, made visible: a control or formatting character is an escape in it.
    """

    def __init__(self, path: Path, database: sqlite3.Connection, key: bytes) -> None:
        self.path = path
        self._database = database
        self._key = key
        self._fingerprint = ""
        self._unsaved = 0
        self.altered = False
        """Whether its tables were others than an audit makes: then nothing in it was believed."""
        self.unproven: set[str] = set()
        """The files whose rows ``known`` found that the key does not prove: changed since, or another user's."""

    @classmethod
    def make(cls, path: Path, *, key: bytes, folder: str, fingerprint: str, at: str, fresh: bool = False) -> Self:
        """Open the index for an audit of ``folder``; what an audit by other terms or another release left is dropped.

        ``key`` proves what stands in it. One writer at a time: that is for the caller to see to, with ``only_writer``.

        Raises:
            UsageError: the file is something else than an index, or that of another folder.
        """
        with explained(path):
            index = cls(path, sqlite3.connect(path), key)
            try:
                index._prepare(folder, fingerprint, at, fresh=fresh)
            except BaseException:
                index.close()
                raise
        return index

    @classmethod
    def read(cls, path: Path, *, key: bytes) -> Self:
        """Open an index to ask questions, also while an audit writes it.

        Raises:
            UsageError: there is none, it holds no answer yet, or one that ``key`` does not prove.
        """
        if not path.is_file():
            raise UsageError(
                f"there is no index {shown_name(path)}", help_text="make one with `reportgen audit FOLDER`"
            )
        with explained(path):
            index = cls(path, sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True), key)
            try:
                index._require_answer()
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
            try:
                if kind is None:
                    self.save()
            finally:
                self.close()
            if isinstance(fault, sqlite3.DatabaseError):
                raise fault

    def close(self) -> None:
        """Close; what was not saved is as it was."""
        self._database.close()

    def _prepare(self, folder: str, fingerprint: str, at: str, *, fresh: bool) -> None:
        self._database.execute("PRAGMA journal_mode = WAL")
        self._database.execute("PRAGMA synchronous = NORMAL")
        made = self._made()
        if made and self._format() < 1:
            raise self._refusal()
        if made and self.value("folder") != folder:
            raise UsageError(
                f"{shown_name(self.path)} is the index of {self.value('folder')}",
                help_text="name another one with --index",
            )
        self.altered = self._format() == FORMAT and made != _as_we_make()
        if self.altered or self._format() != FORMAT:
            for kind, name, _ in made:
                if kind in {"table", "view"}:
                    self._database.execute(f'DROP {kind} "{name.replace(chr(34), chr(34) * 2)}"')
            self._database.executescript(_schema())
            self._remember(format=str(FORMAT), folder=folder)
        before = self.value("verified_at")
        ahead = before is not None and before > at  # by a clock that was put back since: no moment for a verdict
        if fresh or ahead or self.value("fingerprint") != fingerprint:
            self._database.execute("DELETE FROM examined")
        self._fingerprint = fingerprint
        self._remember(fingerprint=fingerprint, verified_at=at, finished="")
        self._database.commit()

    def _made(self) -> set[tuple[str, str, str]]:
        """Return all that the database holds, as kind, name and definition: no trigger may change what we write."""
        found = self.rows("SELECT type, name, sql FROM sqlite_master")
        return {(kind, name, sql) for kind, name, sql in found if name not in _OF_THE_LIBRARY or kind != "table"}

    def _format(self) -> int:
        """The format of the index: 0 where it is none."""
        text = self.value("format") or ""
        return int(text) if text.isascii() and text.isdigit() else 0

    def _require_answer(self) -> None:
        """Refuse an index of another release, without an answer, or with one that is not proven."""
        if self._format() != FORMAT:
            raise self._refusal()
        self._database.execute("BEGIN")  # what is proven is what is read
        name, proof = shown_name(self.path), self.value("proof")
        if proof is None and self._made() == _as_we_make():
            raise UsageError(
                f"no audit that writes {name} has come to its end yet",
                help_text="let it end, or run it again: it goes on where it was",
            )
        if self._made() != _as_we_make() or not hmac.compare_digest(str(proof).encode(), self._proof().encode()):
            raise UsageError(
                f"{name} is not as an audit of yours left it: its rows were changed since, or are another user's",
                help_text="run the audit again: it examines every file whose verdict is not proven",
            )

    def _refusal(self) -> UsageError:
        name, known = shown_name(self.path), self._format()
        if known == 0:
            return UsageError(f"{name} is not the index of an audit")
        if known > FORMAT:
            return UsageError(f"{name} was written by a newer release", help_text="use that, or run the audit again")
        return UsageError(f"{name} was written by an older release", help_text="run the audit again: it is made anew")

    def _proof(self) -> str:
        """Return what proves the answer: a MAC over every row of its tables, and of which folder and moment it is."""
        mac = hmac.new(self._key, b"answer", hashlib.sha256)
        mac.update(repr((self.value("folder"), self.value("answered_at"))).encode(errors="replace"))
        for table in _ANSWER:
            mac.update(f"\0{table}\0".encode())
            whole = f"SELECT * FROM {table}"  # noqa: S608 - names of our own
            columns = range(1, len(self.named(f"{whole} LIMIT 0", {})[0]) + 1)
            for row in self.each(f"{whole} ORDER BY {', '.join(map(str, columns))}"):
                mac.update(repr(row).encode(errors="replace"))
        return mac.hexdigest()

    def _mac(self, *row: object) -> bytes:
        """Return what proves a row of the table of examinations, under the terms of this audit."""
        told = repr(("examined", self._fingerprint, *row))
        return hmac.digest(self._key, told.encode(errors="replace"), "sha256")

    def _remember(self, **values: str) -> None:
        self._database.executemany("INSERT OR REPLACE INTO meta VALUES (?, ?)", values.items())

    def value(self, key: str) -> str | None:
        """Return a value of the table ``meta``; None where there is none, or no such table."""
        try:
            found = self.rows("SELECT value FROM meta WHERE key = ?", key)
        except sqlite3.DatabaseError as fault:
            if getattr(fault, "sqlite_errorcode", None) in _NO_INDEX:
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
        """Return path and SHA-256 of each file whose verdict is there, is proven and still holds.

        What broke off through a fault of this machine is not known.
        """
        now = str(self.value("verified_at"))
        return {
            path: sha256
            for path, sha256, until, broke_off, _ in self._proven()
            if not broke_off and (until is None or until > now)
        }

    def _proven(self) -> Iterator[tuple[str, str, str | None, int, bytes]]:
        """Yield path, SHA-256, until when it holds, whether it broke off, and the examination of each proven row."""
        for *row, mac in self.each("SELECT path, sha256, holds_until, broke_off, told, mac FROM examined ORDER BY 1"):
            path, sha256, until, broke_off, told = row
            if isinstance(mac, bytes) and hmac.compare_digest(mac, self._mac(*row)):
                yield path, sha256, until, broke_off, told
            else:
                self.unproven.add(path)

    def forget(self, paths: Iterable[str]) -> None:
        """Drop files that are no longer there."""
        self._database.executemany("DELETE FROM examined WHERE path = ?", [(path,) for path in paths])

    def store(self, path: str, examined: Examined) -> None:
        """Keep what was found in a file; saved at the latest after fifty files."""
        answer = examined.verification
        told = zlib.compress(render_examined(examined), 1)
        early = any(reason.name in _PASSES_WITH_TIME for reason in answer.reasons)
        until = answer.verified_at if early else answer.unchanged_until
        row = (printable(path), answer.sha256, until, int(answer.broke_off), told)
        self._database.execute("INSERT OR REPLACE INTO examined VALUES (?, ?, ?, ?, ?, ?)", (*row, self._mac(*row)))
        self._unsaved += 1
        if self._unsaved >= _EVERY:
            self.save()

    def _enter(self, path: str, examined: Examined) -> None:
        """Enter a file in the tables that questions are asked of."""
        answer, record = examined.verification, examined.record
        reasons = plain_told(answer.reasons)
        named = {one.field: one.name for one in answer.signatories}
        signers = [
            {name: getattr(signer, name) for name in _OF_A_SIGNER} | {"named": named.get(signer.field)}
            for signer in answer.signers
        ]
        if record is not None and record.contract == NOT_STATED:  # reports of contracts unknown are not of one contract
            record = replace(record, contract=f"{NOT_STATED} ({path})")
        notices = plain_told([Reason(notice.name, notice.sentence) for notice in answer.notices])
        claims = (None, None, None) if record is None else (record.contract, record.number, record.revision)
        row = (
            path, answer.sha256, answer.size, examined.kind, answer.overall, _json(reasons), _json(signers),
            answer.verified_at, *claims, claims[0], _json(notices), answer.holds_until, answer.broke_off,
        )  # fmt: skip
        self._insert("files", [row])
        if record is not None and answer.overall != "failed":
            self._enter_report(path, answer, record)
        failing = {reason.name for reason in answer.reasons if reason.weight == "failed"}
        if (one := examined.upon) is not None and failing <= {"REGISTER_DISAGREES"}:
            proven = {reason.name for reason in answer.reasons} == failing
            told = (one.number, one.revision, one.area, one.contract)
            self._insert("upon", [(path, *told, canonical_json(one).decode(), int(not proven))])
        self._insert("enclosed", [(path, one.sha256, one.number, one.revision) for one in examined.listed])

    def save(self) -> None:
        """Make what was stored survive a kill."""
        self._database.commit()
        self._unsaved = 0

    def _enter_report(self, path: str, answer: Verification, record: ReportRecord) -> None:
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
            answer.overall, answer.holds_until, " ".join(sorted(standing.doubts)), standing.certificate,
            standing.name, _json(_hands(claim)), " ".join(claim.hashes), "decides", 1, *versions, document_of(record),
            0,
        )])  # fmt: skip
        self._insert("left_as", [(path, digest) for digest in claim.hashes])
        coated = {surface.area: surface.coated for surface in record.surfaces if surface.coated}
        self._insert("areas", [
            (path, area.id, area.structure_name, area.verdict, area.decision, area.unit, area.n_locations,
             _text(area.mean), _text(area.standard_deviation), coated.get(area.id),
             _json(found_of(area, record)[1:]), area.speaks, area.part_told)
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
        """Make the tables anew of what is proven, drop second copies of a report and work out which reports count.

        One that was issued once and then countersigned is one report: the better proven copy counts, of equal ones that
        with more signatures. The others leave it their hashes: a revision may name any of them.
        """
        for table in ("files", *_OF_A_FILE, "requirements"):
            self._database.execute(f"DELETE FROM {table}")  # noqa: S608 - names of our own
        entered = 0
        for path, _, _, _, told in self._proven():
            self._enter(path, examined_from(zlib.decompress(told)))
            entered += 1
        if (entered,) not in self.rows("SELECT COUNT(*) FROM examined"):
            raise MachineError(
                f"something else than this audit writes {shown_name(self.path)}",
                help_text="run the audit again: it goes on where it was",
            )
        copies = self.rows(
            "SELECT path, kept FROM (SELECT path, FIRST_VALUE(path) OVER (PARTITION BY substr(hashes, 1, 64) ORDER BY"
            " overall = 'passed' DESC, length(hashes) DESC, path) AS kept FROM reports)"
            " WHERE path != kept ORDER BY path"
        )
        for path, kept in copies:
            self._database.execute("UPDATE OR IGNORE left_as SET path = ? WHERE path = ?", (kept, path))
            for table in _OF_A_FILE:
                self._database.execute(f"DELETE FROM {table} WHERE path = ?", (path,))  # noqa: S608 - names of our own
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
            (
                one.code,
                one.weight,
                one.contract,
                one.number,
                one.area,
                one.sentence,
                _json(one.files),
                one.verdict,
                None,
            )
            for one in problems
        ]
        self._insert("problems", rows)
        self._database.execute(
            "UPDATE problems SET holds_until = (SELECT MIN(holds_until) FROM json_each(problems.files) AS one"
            " JOIN files ON files.path = one.value) WHERE verdict = 'passed'"
        )
        self._remember(finished="yes", answered_at=str(self.value("verified_at")))
        self._remember(proof=self._proof())
        self.save()
        with suppress(sqlite3.OperationalError):  # somebody reads: it then stays in several files until the next audit
            self._database.execute("PRAGMA journal_mode = DELETE")


def _schema() -> str:
    return resources.files("reportgen.audit").joinpath("schema.sql").read_text("utf-8")


@cache
def _as_we_make() -> set[tuple[str, str, str]]:
    """Return what an index of ours holds besides its rows, as kind, name and definition."""
    with closing(sqlite3.connect(":memory:")) as database:
        database.executescript(_schema())
        return set(database.execute("SELECT type, name, sql FROM sqlite_master"))


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
