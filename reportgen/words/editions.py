"""Editions of the words: how labels and sentences read in an earlier edition, of which only what changed is kept.

The catalogues are the newest edition. What an entry said in edition 1 and no longer says stands in the folder
``data/editions/1``, in ``en.json`` if it is a label and in ``en.toml`` if it is a sentence, under its own key.
"""

from __future__ import annotations

from importlib import resources
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

WORDS_EDITION: Final = 1
"""Number of the newest: rises when a label or sentence that a page prints changes."""


def earlier_texts(file: str, edition: int) -> Iterator[str]:
    """Yield what a file, as ``en.toml``, said otherwise from an edition on, the latest first: each goes over the last.

    >>> list(earlier_texts("en.toml", WORDS_EDITION))
    []
    """
    folder = resources.files("reportgen.words").joinpath("data", "editions")
    for number in range(WORDS_EDITION - 1, edition - 1, -1):
        kept = folder.joinpath(str(number), file)
        if kept.is_file():
            yield kept.read_text("utf-8")
