"""A bar on a terminal for work that takes longer than a second; nothing in a pipe."""

from __future__ import annotations

import sys
import time
from typing import Self

_WIDTH = 30
_EVERY = 0.1


class Stage:
    """Called as ``stage.tell(text)``: says on a terminal what is being done, over its own line, wiped at the end."""

    _shown = False

    def __enter__(self) -> Self:
        return self

    def tell(self, what: str) -> None:
        """Show what begins now; nothing in a pipe."""
        self._show(f"{what} ...")

    def _show(self, line: str) -> None:
        if sys.stderr.isatty():
            self._shown = True
            print(f"\r{line}", end="\x1b[K", file=sys.stderr, flush=True)

    def __exit__(self, *_: object) -> None:
        if self._shown:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)


class Progress(Stage):
    """Called as ``progress(done, total)``; draws a bar over its own line on a terminal and wipes it at the end."""

    def __init__(self, word: str) -> None:
        self.word = word
        self._begun = self._last = time.monotonic()

    def __call__(self, done: int, total: int) -> None:
        """Draw, at most ten times a second and not within the first."""
        moment = time.monotonic()
        if moment - self._begun < 1 or (moment - self._last < _EVERY and done < total):
            return
        self._last = moment
        full = _WIDTH * done // max(total, 1)
        rate = done / (moment - self._begun)
        bar = "#" * full + "." * (_WIDTH - full)
        self._show(f"{self.word} [{bar}] {done} of {total}, {rate:.1f} a second")
