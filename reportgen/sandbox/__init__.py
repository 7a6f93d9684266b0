"""A stranger's file is parsed in a child process; the parent sees only the bytes it answers.

The child's memory, processor time, files and descriptors are bounded, and on Linux it is confined: it reads nothing but
the program, and no network, program, process or file of anybody is within its reach. The parent of all children is
``opener``. Where nothing can be forked, a fresh process is started for each file, and only its time is bounded.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import pickle
import select
import socket
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import MachineError, ReportgenError, UsageError
from reportgen.sandbox import opener
from reportgen.sandbox.opener import ChildLimits, ChildTask

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

MEMORY: Final = ChildLimits().memory
SECONDS: Final = ChildLimits().wall_seconds
ANSWER_LIMIT: Final = 96 << 20

_DONE, _REFUSED, _FAILED = b"+", b"-", b"!"
_BREAK: Final = "\x1f"
_PLACES: Final = ("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "MPLCONFIGDIR", "TMPDIR", "SYSTEMROOT", "TEMP")
"""All of our environment that a fresh process is given while it starts: where libraries keep their caches."""


_BEGIN: Final = """
import importlib, sys
from importlib.util import module_from_spec, spec_from_file_location
sys.path[:] = {path!r}
found = spec_from_file_location("reportgen", {package!r} + "/__init__.py", submodule_search_locations=[{package!r}])
sys.modules["reportgen"] = module_from_spec(found)
found.loader.exec_module(sys.modules["reportgen"])
importlib.import_module("{module}").{call}
"""
"""Our own package, wherever it lies, and not another release that the path would find first."""


def nothing() -> None:
    """Load nothing before a child is forked."""


def confined(
    work: Callable[[], bytes],
    what: str,
    *,
    seconds: float = SECONDS,
    memory: int = MEMORY,
    load: Callable[[], object] = nothing,
    readable: tuple[Path, ...] = (),
) -> bytes:
    """Return what ``work`` returns, run in a child process; ``what`` names the file in messages, such as ``sheet.pdf``.

    Both callables must be importable: functions, or a ``functools.partial`` of one. ``load`` imports what ``work``
    needs, once for all children; ``readable`` are folders it may read besides the program's own.

    Raises:
        UsageError: the one that ``work`` raised; or, for anything else that ended it, that the file cannot be read.
        MachineError: there can be no child.
    """
    limits = ChildLimits(memory=memory, cpu_seconds=int(seconds) + 1, wall_seconds=seconds)
    asked = pickle.dumps(ChildTask(partial(_answer, work), limits, tuple(map(Path.absolute, readable))))
    answer = _through_opener(asked, load, seconds) if can_fork() else _from_fresh_process(asked, seconds)
    if answer is None:
        raise UsageError(f"{what} takes longer to read than {seconds:g} s; it is damaged or made to do so")
    kind, body = answer[:1], answer[1:]
    if kind == _DONE:
        return body
    if kind == _REFUSED:
        message, _, help_text = body.decode("utf-8", "replace").partition(_BREAK)
        raise UsageError(message, help_text=help_text or None)
    reason = body.decode("utf-8", "replace") if kind == _FAILED else "reading it ended the process that read it"
    raise UsageError(f"{what} cannot be read: {reason}")


def is_confined() -> bool:
    """Say whether children are confined here, and not merely limited."""
    return can_fork() and _running().confines


def can_fork() -> bool:
    """Say whether a process can be forked here, with limits and a socket of its own."""
    return hasattr(os, "fork") and hasattr(socket, "send_fds") and sys.platform != "win32"


def _answer(work: Callable[[], bytes]) -> bytes:
    """Run the work; in the child anything unexpected is the file's fault."""
    try:
        return _DONE + work()
    except ReportgenError as refusal:
        return _REFUSED + f"{refusal.message}{_BREAK}{refusal.help_text or ''}".encode()
    except MemoryError:
        return _FAILED + b"it needs more memory than it is given"
    except RecursionError:
        return _FAILED + b"it is nested without end"
    except Exception:  # noqa: BLE001 - libraries raise a dozen kinds on damaged files
        return _FAILED + b"it is damaged, or not what its name says"


def fresh_program(module: str, call: str) -> list[str]:
    """Return the command that begins a process of this very program, and calls a function of a module in it."""
    run = _BEGIN.format(path=sys.path, package=str(Path(__file__).parents[1]), module=module, call=call)
    flags = ["-I", *(["-B"] if sys.dont_write_bytecode else []), "-X", "utf8"]
    flags += ["-X", f"pycache_prefix={sys.pycache_prefix}"] if sys.pycache_prefix else []
    return [sys.executable, *flags, "-c", run]


def _fresh(function: str, **given: Any) -> subprocess.Popen[bytes]:
    """Begin a process that calls a function of ``opener``, imports what we do, and has an environment of its own."""
    kept = {name: os.environ[name] for name in _PLACES if name in os.environ}
    program = fresh_program("reportgen.sandbox.opener", function)
    try:
        return subprocess.Popen(program, env=kept | opener.SETTINGS, cwd=os.sep, **given)
    except (OSError, ValueError) as fault:
        raise MachineError(f"the process that opens files of others cannot be started: {fault}") from fault


def _from_fresh_process(asked: bytes, seconds: float) -> bytes | None:
    pipe = subprocess.PIPE
    with _fresh("once()", stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL) as child:
        try:
            return child.communicate(asked, timeout=seconds)[0]
        except subprocess.TimeoutExpired:
            return None
        finally:
            child.kill()


class _Opener:
    """The process of ``opener.serve``, as this one sees it: its socket, and the process where this one began it."""

    def __init__(self, control: socket.socket, process: subprocess.Popen[bytes] | None = None) -> None:
        self.path, self.lock = list(sys.path), threading.Lock()
        self._control, self._process = control, process
        told = control.recv(1)
        self.confines = told == opener.CONFINED
        if not told:
            self.end()
            raise MachineError("the process that opens files of others ended while it started")

    def another(self) -> _Opener:
        """Return one that this one forks from itself as it is now: it has read no file, and loads nothing again."""
        control, theirs = socket.socketpair()
        try:
            with theirs:
                socket.send_fds(self._control, [opener.ANOTHER], [theirs.fileno()])
            return _Opener(control)
        except OSError:
            control.close()
            raise

    @contextlib.contextmanager
    def child(self, load: bytes) -> Iterator[socket.socket]:
        """Yield a socket that a child listens to, which is ended afterwards with all it may have begun."""
        job, theirs = socket.socketpair()
        with job:
            job.sendall(len(load).to_bytes(4, "big") + load)
            with theirs:
                socket.send_fds(self._control, [opener.FORKED], [theirs.fileno()])
            if self._control.recv(1) != opener.FORKED:
                why = opener.read_all(job).decode("utf-8", "replace") or "it ended"
                raise MachineError(f"no process can be begun to open the file in: {why}")
            try:
                yield job
            finally:
                self._control.sendall(opener.ENDED)
                self._control.recv(1)

    def forget(self) -> None:
        """Leave it to the process that began it: this one was forked from that."""
        self._control.close()
        if self._process is not None:
            self._process.returncode = 0

    def end(self) -> None:
        """End it, and the child it may have."""
        self._control.close()
        if self._process is None:
            return
        try:
            self._process.wait(5)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


_OPENERS: list[_Opener] = []
_FOR_A_FORK: list[_Opener] = []
"""The opener of a process that is just being forked: it need not begin one of its own, and imports nothing again."""


def _running() -> _Opener:
    """Return the opener of this process; another one where it would import from elsewhere than we do."""
    if _OPENERS and _OPENERS[0].path != sys.path:
        _end_all()
    if not _OPENERS:
        control, theirs = socket.socketpair()
        silent = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.DEVNULL)
        number = theirs.fileno()
        try:
            with theirs:
                process = _fresh(f"serve({number})", pass_fds=(number,), start_new_session=True, **silent)
        except MachineError:
            control.close()
            raise
        _OPENERS.append(_Opener(control, process))
    return _OPENERS[0]


def _end_all() -> None:
    while _OPENERS:
        _OPENERS.pop().end()


def _before_a_fork() -> None:
    if not _OPENERS or not (lock := _OPENERS[0].lock).acquire(blocking=False):
        return
    try:
        _FOR_A_FORK.append(_OPENERS[0].another())
    except (OSError, MachineError):  # it is gone: both processes begin their own
        _end_all()
    finally:
        lock.release()


def _after_a_fork(*, there: bool) -> None:
    if there:
        while _OPENERS:
            _OPENERS.pop().forget()
        _OPENERS.extend(_FOR_A_FORK)
    else:
        for one in _FOR_A_FORK:
            one.end()
    _FOR_A_FORK.clear()


atexit.register(_end_all)
if hasattr(os, "register_at_fork"):
    os.register_at_fork(
        before=_before_a_fork,
        after_in_parent=partial(_after_a_fork, there=False),
        after_in_child=partial(_after_a_fork, there=True),
    )


def _through_opener(asked: bytes, load: Callable[[], object], seconds: float) -> bytes | None:
    """Return what a child of the opener answers: nothing where it ended without, None where it takes too long."""
    running = _running()
    try:
        with running.lock, running.child(pickle.dumps(load)) as job, contextlib.suppress(ConnectionError):
            job.settimeout(seconds)
            job.sendall(asked)
            job.shutdown(socket.SHUT_WR)
            return _collected(job, seconds)
    except TimeoutError:
        return None
    except ConnectionError:  # the opener itself is gone; the next file gets another
        _end_all()
    return b""


def _collected(job: socket.socket, seconds: float) -> bytes | None:
    """Return what the child wrote until it ended; nothing of more than is taken, None where time runs out before."""
    parts: list[bytes] = []
    size = 0
    deadline = time.monotonic() + seconds
    while size <= ANSWER_LIMIT:
        ready, _, _ = select.select([job], [], [], max(deadline - time.monotonic(), 0))
        if not ready:
            return None
        part = job.recv(1 << 16)
        if not part:
            return b"".join(parts)
        parts.append(part)
        size += len(part)
    return b""
