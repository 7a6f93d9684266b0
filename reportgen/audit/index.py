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
from contextlib import closing, contextmanager, suppress
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any, Self

from reportgen.audit.entering import OF_A_FILE, SHARED, rows_of
from reportgen.audit.examining import contents_from, render_contents
from reportgen.audit.index_faults import explained
from reportgen.audit.places import settle_copies, settle_papers, settle_places, settle_readings
from reportgen.diagnostics import printable
from reportgen.errors import MachineError, UsageError
from reportgen.issued import alone, held_against, shown_name
from reportgen.names import spelling
from reportgen.words.told import Told, told_json

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path
    from types import TracebackType

    from reportgen.audit.across_reports import State
    from reportgen.audit.contract_state import ContractAsRead
    from reportgen.audit.problems import Problem, Screen
    from reportgen.audit.screening import Alike
    from reportgen.issued import Examined

FORMAT = 3
APPLICATION = 0x52474958
"""By which SQLite, and ``file``, know that a database is an index of ours."""
PATIENCE = 5.0
"""Seconds to wait for another who has the database."""
_OF_ALL = ("states", "areas_now", "numbers_now", "problems", "screens", "alike")
_ANSWER = ("files", *OF_A_FILE, *SHARED, *_OF_ALL)
"""The tables that questions are asked of."""
_OF_THE_LIBRARY = frozenset({"sqlite_stat1", "sqlite_stat4", "sqlite_sequence"})
_EVERY = 50
_PASSES_WITH_TIME = frozenset({"CLAIMED_TIME_IN_FUTURE", "SIG_CONSTRAINTS_FAILURE"})
"""What lies in the future by a clock that is slow is no doubt any more another day: not taken over."""
_NO_INDEX = frozenset({sqlite3.SQLITE_ERROR, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT})


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
            index = cls(path, sqlite3.connect(path, timeout=PATIENCE), key)
            with index._closed_on_failure():
                index._prepare(folder, fingerprint, at, fresh=fresh)
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
            index = cls(path, sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=PATIENCE), key)
            with index._closed_on_failure():
                index._require_answer()
        return index

    @contextmanager
    def _closed_on_failure(self) -> Iterator[None]:
        try:
            yield
        except BaseException:
            self.close()
            raise

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
        made, known = self._made(), self._format()
        if made and not 1 <= known <= FORMAT:
            raise self._refusal()
        if made and self.value("folder") != folder:
            raise UsageError(
                f"{shown_name(self.path)} is the index of {self.value('folder')}",
                help_text="name another one with --index",
            )
        self._database.execute("PRAGMA journal_mode = WAL")
        self._database.execute("PRAGMA synchronous = NORMAL")
        self.altered = known == FORMAT and made != _as_we_make()
        if self.altered or known != FORMAT:
            self._make_anew(made, folder)
        before = self.value("verified_at")
        ahead = before is not None and before > at  # by a clock that was put back since: no moment for a verdict
        if fresh or ahead or self.value("fingerprint") != fingerprint:
            self._database.execute("DELETE FROM examined")
        self._fingerprint = fingerprint
        self._remember(fingerprint=fingerprint, verified_at=at, finished="")
        self._database.commit()

    def _make_anew(self, made: set[tuple[str, str, str]], folder: str) -> None:
        """Drop what is there and make the tables, all at once: whenever this is ended, it is one index or the other."""
        drops = [
            f'DROP {kind} "{name.replace(chr(34), chr(34) * 2)}";'
            for kind, name, _ in made
            if kind in {"table", "view"}
        ]
        whose = f"INSERT INTO meta VALUES ('folder', '{folder.replace(chr(39), chr(39) * 2)}');"  # noqa: S608 - quoted
        which = f"PRAGMA application_id = {APPLICATION}; PRAGMA user_version = {FORMAT};"
        self._database.executescript("\n".join(["BEGIN;", *drops, _schema(), whose, which, "COMMIT;"]))

    def _made(self) -> set[tuple[str, str, str]]:
        """Return all that the database holds, as kind, name and definition: no trigger may change what we write."""
        found = self.rows("SELECT type, name, sql FROM sqlite_master")
        return {(kind, name, sql) for kind, name, sql in found if name not in _OF_THE_LIBRARY or kind != "table"}

    def _format(self) -> int:
        """The format of the index: 0 where it is none, 1 for those of releases that wrote no format of a file."""
        (application,), (version,) = self.rows("PRAGMA application_id"), self.rows("PRAGMA user_version")
        if application == (APPLICATION,):
            return int(version[0])
        old = self.value("format") or ""
        return int(application == version == (0,) and old.isascii() and old.isdigit())

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
            return UsageError(
                f"{name} was written by a newer release", help_text="use that, or name another index with --index"
            )
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

    def store(self, path: str, *found: Examined) -> None:
        """Keep what was found in a file, and in what is inside it; saved at the latest after fifty files."""
        until = min((moment for one in found if (moment := _holds(one)) is not None), default=None)
        broke_off = any(one.verification.broke_off for one in found)
        told = zlib.compress(render_contents(found), 1)
        row = (printable(path), found[0].verification.sha256, until, int(broke_off), told)
        self._database.execute("INSERT OR REPLACE INTO examined VALUES (?, ?, ?, ?, ?, ?)", (*row, self._mac(*row)))
        self._unsaved += 1
        if self._unsaved >= _EVERY:
            self.save()

    def _enter(self, path: str, examined: Examined) -> None:
        """Enter a file, or what is inside a submittal, in the tables that questions are asked of."""
        for table, rows in rows_of(path, examined):
            self._insert(table, rows, known=table in SHARED)

    def save(self) -> None:
        """Make what was stored survive a kill."""
        self._database.commit()
        self._unsaved = 0

    def _insert(self, table: str, rows: Sequence[tuple[Any, ...]], *, known: bool = False) -> None:
        """Insert rows; of a table that several files share those that are there already stay as they are."""
        if rows:
            marks, verb = ", ".join("?" * len(rows[0])), "INSERT OR IGNORE" if known else "INSERT"
            visible = [[printable(cell) if isinstance(cell, str) else cell for cell in row] for row in rows]
            self._database.executemany(f"{verb} INTO {table} VALUES ({marks})", visible)

    def change(self, statement: str, *values: Any) -> None:
        """Change rows; saved with the next ``save``."""
        self._database.execute(statement, values)

    def settle(self) -> None:
        """Make the tables anew of what is proven, drop second copies of a report and work out which reports count."""
        for table in ("files", *OF_A_FILE, *SHARED):
            self._database.execute(f"DELETE FROM {table}")  # noqa: S608 - names of our own
        entered = 0
        pages: dict[str, Examined] = {}
        for path, _, _, _, told in self._proven():
            self._enter_contents(path, contents_from(zlib.decompress(told)), pages)
            entered += 1
        if (entered,) not in self.rows("SELECT COUNT(*) FROM examined"):
            raise MachineError(
                f"something else than this audit writes {shown_name(self.path)}",
                help_text="run the audit again: it goes on where it was",
            )
        settle_copies(self, OF_A_FILE)
        for path, page in pages.items():
            self._enter(path, self._held(page))
        self._name_contracts()
        settle_places(self)
        settle_readings(self)
        settle_papers(self)

    def examined(self, path: str) -> Examined:
        """Return the examination of a file by its name in the tables, once these are made; it was proven for them."""
        ((file, inside),) = self.rows("SELECT file, inside FROM files WHERE path = ?", path)
        ((told,),) = self.rows("SELECT told FROM examined WHERE path = ?", file)
        found = contents_from(zlib.decompress(told))
        return next(one for one in found if (one.inside or "") == inside)

    def _enter_contents(self, path: str, contents: Iterable[Examined], pages: dict[str, Examined]) -> None:
        """Enter what was found in a file; a release page waits among ``pages`` until the reports are there."""
        for one in contents:
            if one.told_by_page is None:
                self._enter(path if one.inside is None else f"{path}/{one.inside}", one)
            else:
                pages[path] = one

    def _held(self, page: Examined) -> Examined:
        """Return a release page held against the report that it names by a hash of it, where that is here."""
        if page.told_by_page is None:
            return page
        named = page.told_by_page.released
        found = self.rows("SELECT path FROM left_as WHERE sha256 = ? ORDER BY path", named.sha256)
        if not found:
            found = self.rows("SELECT path FROM reports JOIN files USING (path) WHERE covered = ?", named.covered)
        return held_against(page, self.examined(found[0][0])) if found else page

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

    def finish(
        self,
        states: Iterable[State],
        problems: Iterable[Problem],
        contracts: Sequence[ContractAsRead] = (),
        screens: Iterable[Screen] = (),
        alike: Iterable[Alike] = (),
    ) -> None:
        """Keep the answer of an audit in place of the one before, all at once, and note that it came to its end."""
        for table in _OF_ALL:
            self._database.execute(f"DELETE FROM {table}")  # noqa: S608 - names of our own
        self._insert("states", [_row(state) for state in states])
        self._insert("areas_now", [row for one in contracts for row in one.area_rows])
        self._insert("numbers_now", [row for one in contracts for row in one.number_rows])
        self._insert("screens", [_row(screen) for screen in screens])
        self._insert("alike", [tuple(pair) for pair in alike])
        rows = [
            (
                one.code,
                one.weight,
                one.contract,
                one.number,
                one.area,
                str(one.sentence),
                told_json(one.sentence),
                json.dumps(one.files),
                one.verdict,
                None,
                *one.evidence,
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


def _holds(examined: Examined) -> str | None:
    """Return until when a verdict is to be taken over: what only a slow clock calls early is judged anew.

    That of a release page as it will be if the report bears it out.
    """
    answer = examined.verification if examined.told_by_page is None else alone(examined.verification)
    early = any(reason.name in _PASSES_WITH_TIME for reason in answer.reasons)
    return answer.verified_at if early else answer.unchanged_until


def _row(values: tuple[Any, ...]) -> tuple[Any, ...]:
    """Return a row with what is told as code and facts, and nothing where nothing is."""
    return tuple(told_json(one) if isinstance(one, Told) else "" if one is None else one for one in values)
