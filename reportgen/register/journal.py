"""The register as its one writer holds it: locked, checked, recovered; and the protocol by which a report is issued.

Intent row → report under a hidden name → link to its own name → names synced → closing row, each step on the disk
before the next begins. Whatever interrupts it, the next opening finds an intent, looks at the file and closes it.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import stat
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Literal, Self

from reportgen import atomicfile
from reportgen.errors import MachineError, UsageError
from reportgen.names import full_title
from reportgen.register.chain import MOST_BYTES, REGISTER_NAME, Chain, read_chain
from reportgen.register.lock import PATIENCE, close_locked, is_at, open_locked
from reportgen.register.numbering import admit, next_number
from reportgen.register.rows import NO_ROW, Entry, Report, Row, encode_row, report_of, utc_text

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterator, Mapping

    from reportgen.formats import Head, Supersedes

Found = Literal["issued", "void", "conflict"]
_NOTE_ON_FAILURE = "the run that announced it failed to write it"
NOTE_ON_RECOVERY = "the run that announced it was interrupted; closed at a later start"
"""Part of the rows of old registers: what is recognised by it is no more, once it reads otherwise."""
_TOLD: Mapping[Found, str] = {
    "issued": "an interrupted run had written {what} as `{file}`; the register now says that it is issued",
    "conflict": "an interrupted run had announced {what}, but `{file}` is another file; it is not issued",
    "void": "an interrupted run had announced {what} without writing it; it is not issued",
}
_READ = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)  # a pipe must not make us wait


class Register:
    """The register of one contract folder, held by this process alone while the ``with`` block lasts.

    ``notices`` says in sentences what opening it had to repair; show them to the user.
    """

    def __init__(self, path: Path, descriptor: int, clock: Callable[[], dt.datetime], pattern: str | None) -> None:
        self._path = path
        self._descriptor = descriptor
        self._clock = clock
        self._pattern = pattern
        self._chain = Chain()
        self._size = 0
        self._unclean = False
        self.notices: list[str] = []

    @classmethod
    @contextlib.contextmanager
    def open(
        cls, folder: Path, *, clock: Callable[[], dt.datetime], pattern: str | None = None, patience: float = PATIENCE
    ) -> Iterator[Self]:
        """Lock, read, check and recover the register of ``folder``, waiting at most ``patience`` seconds for the lock.

        ``clock`` (aware) dates what recovery writes; ``pattern`` is the project's pattern of report numbers, such as
        ``AB-12-###``; without one, numbers are not checked for gaps.

        Raises ``RegisterError`` (a ``UsageError``) when rows were changed, ``UsageError`` when ``folder`` is none,
        ``MachineError`` when the disk fails or another run holds the lock for too long.
        """
        path = folder / REGISTER_NAME
        try:
            descriptor = open_locked(path, patience)
        except OSError as error:
            raise atomicfile.refusal(error, path) from error
        try:
            register = cls(path, descriptor, clock, pattern)
            register._recover()
            yield register
        finally:
            close_locked(descriptor, path)

    @property
    def head(self) -> Head:
        """The head that a report issued next must hold; it stays until ``issue``, because the lock is held."""
        return self._chain.head

    @property
    def latest(self) -> str:
        """The latest moment that a row states; empty where none does."""
        return self._chain.latest

    @property
    def issued(self) -> tuple[Report, ...]:
        """Every issued report, oldest first."""
        return tuple(row.report for row in self._chain.issued.values() if row.report)

    def next_number(self) -> str | None:
        """Return the report number that is due by the project's pattern, None when it states none."""
        return self._pattern and next_number(self._pattern, [report.number for report in self.issued])

    def admit(self, number: str, revision: int, replaces: tuple[int, str] | None = None) -> Supersedes | None:
        """Return what the report will supersede, or refuse what may not be issued next, before it is built.

        ``replaces`` is the revision and the reason that the day file states. Raises ``UsageError``; see
        ``numbering.admit``.
        """
        return admit(self._chain, number, revision, pattern=self._pattern, replaces=replaces)

    def issue(self, entry: Entry, signed: bytes, target: Path) -> Row:
        """Put the signed report at ``target`` and into the register; returns its ``issued`` row.

        ``target`` must not exist, its folder must. ``entry.head`` is ``head``, on which the report was built.

        Raises ``UsageError`` when the number is issued, out of turn, or the file name taken: nothing is written.
        ``MachineError`` when the disk fails: nothing is left, or, when only the last row failed, the whole report is
        there and the message says so. ``ValueError`` when the report was built on another head or has unfit values.
        """
        try:
            report = self._announced(entry, signed, target)
            self._append(Row("intent", 0, NO_ROW, report))
        except OSError as error:
            raise atomicfile.refusal(error, self._path) from error
        failure: OSError | None = None
        try:
            atomicfile.place(target, signed)
        except OSError as error:
            failure = error
        found: Found = "void" if failure else "issued"
        try:
            found = self._found(report, after_failure=failure is not None)
            note = None if found == "issued" else _NOTE_ON_FAILURE
            row = self._append(Row(found, 0, NO_ROW, report, note=note))
        except OSError as error:
            reason = os.strerror((failure or error).errno or 0)
            if found != "issued":
                raise MachineError(f"{report.number} was not issued: {reason}") from error
            raise MachineError(
                f"`{report.file}` is written and whole, but the register could not record it: {reason}",
                help_text="the next command that opens the register completes its entry",
            ) from error
        if found == "issued":
            return row
        if failure is None or isinstance(failure, FileExistsError):
            raise UsageError(f"`{report.file}` was written by something else meanwhile; {report.number} was not issued")
        raise atomicfile.refusal(failure, target) from failure

    def slip(self, entry: Entry, signed: bytes, target: Path) -> Row:
        """Put a signed release slip at ``target`` and into the register; returns its row.

        Refuses as ``issue``. The file comes first, and goes again when its row cannot be written: nobody was given a
        slip that the register does not know.
        """
        report = self._announced(entry, signed, target)
        try:
            atomicfile.place(target, signed)
        except OSError as error:
            raise atomicfile.refusal(error, target) from error
        try:
            return self._append(Row("slip", 0, NO_ROW, report))
        except OSError as error:
            target.unlink(missing_ok=True)
            raise atomicfile.refusal(error, self._path) from error

    @property
    def slips(self) -> tuple[Report, ...]:
        """Every release slip, oldest first."""
        return tuple(self._chain.slips)

    def _announced(self, entry: Entry, signed: bytes, target: Path) -> Report:
        """Return what the intent row will say, after everything that can be refused was."""
        if entry.head != self.head:
            raise ValueError(f"the report was built on head {entry.head}, the register is at {self.head}")
        told = entry.supersedes
        if self.admit(entry.number, entry.revision, (told.revision, told.reason) if told else None) != told:
            raise ValueError("the report does not hold the hash of the revision it supersedes")
        try:
            file = _path_from(self._path.parent, target)
        except ValueError:
            raise UsageError(f"`{target}` is on another drive than its register") from None
        if not file.isprintable():
            raise UsageError(f"{file!r} has characters that nobody can read in the register; choose another name")
        if not target.parent.is_dir():
            raise UsageError(f"the folder `{target.parent}` does not exist; nothing was written")
        if os.path.lexists(target):
            raise UsageError(f"`{file}` exists already and is never overwritten; nothing was written")
        if self._chain.unclosed:
            raise MachineError("the register could not be completed after the last failure; run the command again")
        foreign = os.fstat(self._descriptor).st_size != self._size and not self._unclean
        if foreign or not is_at(self._descriptor, self._path):
            raise UsageError(f"`{REGISTER_NAME}` was changed by something else meanwhile; nothing was written")
        return report_of(entry, file=file, size=len(signed), signed_sha256=hashlib.sha256(signed).hexdigest())

    def _recover(self) -> None:
        """Read the register, complete or drop a last row that was never acknowledged, and close an open intent."""
        try:
            self._read()
            intent = self._chain.unclosed
            if intent is not None and intent.report is not None:
                found = self._found(intent.report, recovering=True)
                atomicfile.sync_folder(self._path.parent)  # the interrupted run may have made the register itself
                now = utc_text(self._clock())
                self._append(Row(found, 0, NO_ROW, intent.report, note=NOTE_ON_RECOVERY, recovered_at=now))
                what, file = full_title(intent.report), intent.report.file
                self.notices.append(_TOLD[found].format(what=what, file=file))
        except OSError as error:
            raise atomicfile.refusal(error, Path(error.filename or self._path)) from error

    def _read(self) -> None:
        reading = read_chain(read_all(self._descriptor))
        reading.chain.require_read()
        self._chain = reading.chain
        self._size = reading.size
        if reading.torn:
            os.ftruncate(self._descriptor, reading.size)
            self.notices.append(f"{REGISTER_NAME}, line {reading.torn}: the row was never finished and is dropped")
        if reading.unfinished:
            self._write(b"\n")
            self.notices.append(f"{REGISTER_NAME}, line {reading.unfinished}: the missing line end is added")

    def _append(self, row: Row) -> Row:
        placed = self._chain.next_row(row)
        line = encode_row(placed)
        first = self._size == 0
        self._write(line + b"\n")
        self._chain.add(placed, line)
        if first:
            atomicfile.sync_folder(self._path.parent)
        return placed

    def _write(self, data: bytes) -> None:
        """Append and sync; what a failed call left behind is taken away, now or before the next row."""
        if self._unclean:
            os.ftruncate(self._descriptor, self._size)
        try:
            self._unclean = True
            atomicfile.write_all(self._descriptor, data)
            atomicfile.sync(self._descriptor)
        except BaseException:
            with contextlib.suppress(OSError):
                os.ftruncate(self._descriptor, self._size)
            raise
        self._unclean = False
        self._size += len(data)

    def _found(self, report: Report, *, after_failure: bool = False, recovering: bool = False) -> Found:
        """Say what is at the report's place, with the names there synced; tidy up after a failed or interrupted run."""
        target = self._path.parent / report.file
        found = _look(target, report, drop_claim=recovering)
        if after_failure or recovering:
            for part in atomicfile.parts_of(target):
                part.unlink(missing_ok=True)  # not to be passed over: once the entry is closed nobody looks again
        if target.parent.is_dir():
            atomicfile.sync_folder(target.parent)
        return found


def _look(target: Path, report: Report, *, drop_claim: bool) -> Found:
    """Say what is at the report's place. Whatever has its name was synced before it got it.

    With ``drop_claim`` an empty file is taken away: it is an interrupted run's claim to the name.
    """
    try:
        descriptor = os.open(target, _READ)
    except (FileNotFoundError, NotADirectoryError):
        return "void"
    try:
        state = os.fstat(descriptor)
        if not stat.S_ISREG(state.st_mode):
            return "conflict"
        if state.st_size == 0 and drop_claim:
            target.unlink()
            return "void"
        if digest_of_beginning(descriptor, report.size) != report.signed_sha256:
            return "conflict"
    finally:
        os.close(descriptor)
    return "issued"


def digest_of_beginning(descriptor: int, size: int) -> str:
    """Return the SHA-256 of the first ``size`` bytes of an open file: those of the report as it was issued."""
    digest = hashlib.sha256()
    os.lseek(descriptor, 0, os.SEEK_SET)
    while size > 0 and (block := os.read(descriptor, min(size, 1 << 20))):
        digest.update(block)
        size -= len(block)
    return digest.hexdigest()


def read_all(descriptor: int) -> bytes:
    """Return the bytes of an open register, one more than it may have at most."""
    os.lseek(descriptor, 0, os.SEEK_SET)
    blocks = []
    rest = MOST_BYTES + 1
    while rest > 0 and (block := os.read(descriptor, min(rest, 1 << 20))):
        blocks.append(block)
        rest -= len(block)
    return b"".join(blocks)


def _path_from(folder: Path, target: Path) -> str:
    """Return the path of ``target`` from ``folder``, with ``/``, by which the system finds it from there.

    Outside the folder links count for where they lead: what stands above a link is not above what it leads to.
    Raises ``ValueError`` for another drive.
    """
    beside = PurePath(os.path.relpath(target.absolute(), folder.absolute())).as_posix()
    if not beside.startswith("../") and ".." not in target.parts:
        return beside
    return PurePath(os.path.relpath(target.parent.resolve() / target.name, folder.resolve())).as_posix()
