"""What a later release wrote: which of its counters this release does not know, and what it takes to read it."""

from __future__ import annotations

from typing import Any

from reportgen import __version__
from reportgen.words.told import Told, told


class OtherReleaseError(ValueError):
    """A file of a later release: authentic as far as is known, and not to be called faulty."""

    def __init__(self, what: Told, generator: str = "") -> None:
        known = f"reportgen {__version__}"
        by = None if generator in ("", known) else generator[:40]
        super().__init__(told("other-release", what=what, known=known, generator=by))


def is_later(number: Any, known: int) -> bool:
    """Say whether a counter that a file states is one beyond the last that is known here.

    >>> [is_later(number, 1) for number in (1, 2, 0, True, "2", None)]
    [False, True, False, False, False, False]
    """
    return type(number) is int and number > known
