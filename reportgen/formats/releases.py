"""What a later release wrote: which of its counters this release does not know, and what it takes to read it."""

from __future__ import annotations

import re
from typing import Any

from reportgen import __version__
from reportgen.words.told import Told, told

_RELEASE = re.compile(
    r"reportgen (\d{1,6}(?:\.\d{1,6}){0,3}(?:(?:a|b|rc)\d{1,6})?(?:\.post\d{1,6})?(?:\.dev\d{1,8})?)", re.ASCII
)


def release_of(generator: str) -> str | None:
    """Return the release of this program that a file states as its maker; None for any other text.

    People type it into a command, which a file must not write for them.

    >>> [release_of(text) for text in ("reportgen 0.2.0", "reportgen 0.2.0;reboot", "0.2.0")]
    ['0.2.0', None, None]
    """
    match = _RELEASE.fullmatch(generator)
    return match and match[1]


def made_by(code: str, generator: str, file: str) -> Told:
    """Return by which other release a file was made, as the sentence ``code``; or that ``file`` names none."""
    release = release_of(generator)
    if release is None:
        return told("no-release-named", file=file)
    return told(code, generator=generator, own=f"reportgen {__version__}", release=release)


class OtherReleaseError(ValueError):
    """A file of a later release: authentic as far as is known, and not to be called faulty."""

    def __init__(self, what: Told, generator: str = "") -> None:
        known = f"reportgen {__version__}"
        by = None if generator == known or release_of(generator) is None else generator
        super().__init__(told("other-release", what=what, known=known, generator=by))


def is_later(number: Any, known: int) -> bool:
    """Say whether a counter that a file states is one beyond the last that is known here.

    >>> [is_later(number, 1) for number in (1, 2, 0, True, "2", None)]
    [False, True, False, False, False, False]
    """
    return type(number) is int and number > known
