"""The three standard streams as a command may use them, whatever they are: a terminal, a pipe, a full disk, closed.

What a command has finished is true before anybody was told. So an answer that cannot be written is a failure of its
own, with an exit code of its own, and says what stands; and a reader that went away is no failure at all.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
from typing import IO, TYPE_CHECKING, Any

from reportgen.errors import MachineError

if TYPE_CHECKING:
    from collections.abc import Iterator

_FINISHED: list[str] = []


class AnswerLostError(MachineError):
    """Standard output took no more: the answer, or its end, reached nobody."""


def finished(sentence: str) -> None:
    """Note what the command has done and will stay done, before it is told: ``report.pdf is written``."""
    _FINISHED.append(sentence)


def what_is_finished() -> tuple[str, ...]:
    """Return what this run of a command has done so far."""
    return tuple(_FINISHED)


@contextlib.contextmanager
def standard_streams() -> Iterator[None]:
    """Guard the streams inside; nothing is finished yet."""
    _FINISHED.clear()
    before = sys.stdin, sys.stdout, sys.stderr
    # 0, 1 and 2 go to the null device where they are closed: the system hands the lowest free number to the next file
    # that is opened, and a register that is number 1 would get whatever a library, or a child process, prints
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            with contextlib.suppress(OSError):
                os.set_inheritable(os.open(os.devnull, os.O_RDWR), True)  # noqa: FBT003 - the library's own signature
    sys.stdin = sys.stdin or io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    answer, messages = Answer(before[1] or _Closed()), Messages(before[2] or io.StringIO())
    sys.stdout, sys.stderr = answer, messages
    try:
        yield
    finally:
        sys.stdin, sys.stdout, sys.stderr = before


class Messages:
    """Standard error: what cannot be said there cannot be said anywhere, and must not stop the command."""

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write what can be written."""
        return self._tried("write", text) or 0

    def flush(self) -> None:
        """Pass on what can be passed on."""
        self._tried("flush")

    def _tried(self, action: str, *given: str) -> Any:
        try:
            return getattr(self._stream, action)(*given)
        except (OSError, ValueError) as error:
            self._failed(error)

    def _failed(self, _: OSError | ValueError) -> None:
        """Let what is still held back go nowhere: the interpreter would try it again when it ends, and fail."""
        with contextlib.suppress(OSError, ValueError, AttributeError):
            number, nowhere = self._stream.fileno(), os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, number)
            os.close(nowhere)


class Answer(Messages):
    """Standard output: a failing write raises ``AnswerLostError``, once; a reader that went away is not heard of.

    ``unread`` says that nobody reads any more: what goes on only to be read may end.
    """

    unread = False

    def _failed(self, error: OSError | ValueError) -> None:
        super()._failed(error)
        self.unread, self._stream = True, io.StringIO()
        if not isinstance(error, BrokenPipeError):
            reason = os.strerror(error.errno) if isinstance(error, OSError) and error.errno else str(error)
            raise AnswerLostError(f"the answer cannot be written to standard output: {reason}") from error


class _Closed(io.StringIO):
    """Standard output of a process that was started without one."""

    def write(self, _: str) -> int:
        """Refuse."""
        raise OSError("it is closed")
