"""Frames from a second process, whose import of matplotlib runs beside everything else that a report needs.

That import is a third of the time in which one report is made. A frame is a value that depends on its arguments alone,
so whoever lays it out, it is the same. Without a second process, or when it fails, frames are laid out here.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
import threading
from contextlib import contextmanager, suppress
from functools import lru_cache, wraps
from typing import TYPE_CHECKING, Any, BinaryIO, ParamSpec, cast

from reportgen.charts.loading import load_matplotlib, settle_matplotlib

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportgen.charts.drawing import Frame

P = ParamSpec("P")

_FRAMES_KEPT = 32
_MAKERS: dict[str, Callable[..., Frame]] = {}
_SECOND: list[_Second] = []


def frame_maker(make: Callable[P, Frame]) -> Callable[P, Frame]:
    """Keep the frames a function makes, and have them made by the second process while there is one."""
    _MAKERS[make.__name__] = make

    @wraps(make)
    def made(*given: P.args, **named: P.kwargs) -> Frame:
        frame = _SECOND[-1].ask(make.__name__, given) if _SECOND and not named else None
        return make(*given, **named) if frame is None else frame

    return cast("Callable[P, Frame]", lru_cache(maxsize=_FRAMES_KEPT)(made))


@contextmanager
def frames_ahead() -> Iterator[None]:
    """Lay frames out in a second process inside, where it pays: more than one core, and matplotlib not loaded yet.

    Only on Linux, where a process that has begun nothing can be doubled safely.
    """
    idle = threading.active_count() == 1 and "matplotlib" not in sys.modules
    if sys.platform != "linux" or not idle or len(os.sched_getaffinity(0)) == 1:
        yield
        return
    settle_matplotlib()  # here, because the second process does not live to tidy up
    second = _Second()
    _SECOND.append(second)
    try:
        yield
    finally:
        _SECOND.remove(second)
        second.end()


class _Second:
    """The second process, as the first one sees it."""

    def __init__(self) -> None:
        asked, ask = os.pipe()
        answered, answer = os.pipe()
        self._process = os.fork()
        if self._process == 0:  # pragma: no cover - another process, which the measurement does not follow
            try:
                os.close(ask)
                os.close(answered)
                signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first one hears Ctrl-C too
                with os.fdopen(asked, "rb") as questions, os.fdopen(answer, "wb") as answers:
                    serve(questions, answers)
            finally:
                os._exit(0)  # quietly
        os.close(asked)
        os.close(answer)
        self._questions, self._answers = os.fdopen(ask, "wb"), os.fdopen(answered, "rb")

    def ask(self, maker: str, given: tuple[Any, ...]) -> Frame | None:
        """Return the frame, or None when the other process cannot make it: then the reason shows when we do."""
        try:
            pickle.dump((maker, given), self._questions)
            self._questions.flush()
            frame: Frame = pickle.load(self._answers)  # noqa: S301 - our own process wrote it
        except (OSError, EOFError):
            return None
        return frame

    def end(self) -> None:
        """End the other process, whatever it is doing."""
        os.kill(self._process, signal.SIGKILL)
        os.waitpid(self._process, 0)
        with suppress(OSError):
            self._questions.close()
        self._answers.close()


def serve(questions: BinaryIO, answers: BinaryIO) -> None:
    """Load matplotlib, then answer each question with its frame, until the questions end or one cannot be answered."""

    load_matplotlib()
    with suppress(EOFError):
        while True:
            maker, given = pickle.load(questions)  # noqa: S301 - our own process wrote it
            pickle.dump(_MAKERS[maker](*given), answers)
            answers.flush()
