"""One holder at a time, with a limit, on the file that is really there."""

import errno
import os
import sys
import types
from collections.abc import Callable
from pathlib import Path

import pytest

from reportgen.errors import MachineError, UsageError
from reportgen.register import REGISTER_NAME, Register, RegisterError, lock, read_register
from tests.unit.register import samples


class Waiting:
    """Time passes only by waiting; the first pause runs ``action``."""

    def __init__(self) -> None:
        self.now = 0.0
        self.action: Callable[[], object] | None = None

    def sleep(self, seconds: float) -> None:
        self.now += seconds
        if self.action:
            self.action()
            self.action = None


@pytest.fixture
def waiting(monkeypatch: pytest.MonkeyPatch) -> Waiting:
    clock = Waiting()
    monkeypatch.setattr(lock, "sleep", clock.sleep)
    monkeypatch.setattr(lock, "monotonic", lambda: clock.now)
    return clock


def test_a_second_run_waits_thirty_seconds_and_says_so(tmp_path: Path, waiting: Waiting) -> None:
    with (
        Register.open(tmp_path, clock=samples.clock),
        pytest.raises(MachineError) as refusal,
        Register.open(tmp_path, clock=samples.clock),
    ):
        pass
    assert refusal.value.message == ("`register.jsonl` is locked by another run that does not end; nothing was written")
    assert refusal.value.help_text == "wait for the other run, or end it"
    assert 30 <= waiting.now < 30.1


def test_a_second_run_goes_on_when_the_first_ends(tmp_path: Path, waiting: Waiting) -> None:
    """The first ends without a row, so that its empty register is taken away: the lock on that file holds nobody off.

    Without `is_at` in `open_locked` the second would write into a file without a name.
    """
    first = Register.open(tmp_path, clock=samples.clock)
    first.__enter__()
    waiting.action = lambda: first.__exit__(None, None, None)
    with Register.open(tmp_path, clock=samples.clock) as register:
        samples.issue(register, tmp_path)
    assert len(read_register(tmp_path).chain.issued) == 1


def test_no_lock_outlives_a_refused_register(tmp_path: Path) -> None:
    (tmp_path / REGISTER_NAME).write_bytes(b"nonsense\n")
    for _ in range(2):  # the second would wait in vain if the first had kept its lock
        with pytest.raises(RegisterError), Register.open(tmp_path, clock=samples.clock, patience=0):
            pass
    opened = [str(link.readlink()) for link in list(Path("/proc/self/fd").iterdir()) if link.is_symlink()]
    assert not [name for name in opened if name.startswith(str(tmp_path))]


def test_no_lock_outlives_a_failure_within(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt), Register.open(tmp_path, clock=samples.clock, patience=0):
        raise KeyboardInterrupt
    with Register.open(tmp_path, clock=samples.clock, patience=0):
        pass
    assert list(tmp_path.iterdir()) == []


def test_a_file_system_without_locks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(lock, "_lock", refuse)
    with pytest.raises(MachineError) as refusal, Register.open(tmp_path, clock=samples.clock):
        pass
    assert refusal.value.message == f"`{tmp_path / REGISTER_NAME}` cannot be locked: No locks available"
    assert refusal.value.help_text == "keep the contract folder on a disk that supports file locks"


@pytest.mark.parametrize("make", [os.mkfifo, os.mkdir])
def test_a_register_that_is_no_file(tmp_path: Path, make: Callable[[Path], None]) -> None:
    make(tmp_path / REGISTER_NAME)
    with (
        pytest.raises(UsageError, match=r"is not a regular file|Is a directory"),
        Register.open(tmp_path, clock=samples.clock),
    ):
        pass


class Windows:
    """What `msvcrt.locking` does: it locks bytes at the file's position; a second lock is refused, not waited for."""

    LK_NBLCK, LK_UNLCK = 2, 0

    def __init__(self) -> None:
        self.locked: set[tuple[int, int]] = set()

    def locking(self, descriptor: int, mode: int, count: int) -> None:
        place = (os.fstat(descriptor).st_ino, os.lseek(descriptor, 0, os.SEEK_CUR))
        assert count == 1
        if mode == self.LK_UNLCK:
            self.locked.remove(place)
        elif place in self.locked:
            raise PermissionError(errno.EACCES, "Permission denied")
        else:
            self.locked.add(place)


def test_windows_locks_a_byte_beyond_the_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    system = Windows()
    module = types.SimpleNamespace(LK_NBLCK=system.LK_NBLCK, LK_UNLCK=system.LK_UNLCK, locking=system.locking)
    monkeypatch.setitem(sys.modules, "fcntl", None)
    monkeypatch.setitem(sys.modules, "msvcrt", module)
    with Register.open(tmp_path, clock=samples.clock) as register:
        (place,) = system.locked
        assert place[1] > 2**30
        samples.issue(register, tmp_path)
        with pytest.raises(MachineError), Register.open(tmp_path, clock=samples.clock, patience=0):
            pass
    assert system.locked == set()
    assert len(read_register(tmp_path).chain.issued) == 1
