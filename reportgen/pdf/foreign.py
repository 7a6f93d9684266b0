"""Texts in another language than the document's: the elements that they stand in say so (ISO 14289-1 §7.2)."""

from __future__ import annotations

import re
from collections import defaultdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from reportgen.pdf.structure import Element

_PARTS = re.compile(r" · |[:;] ")
_LEAST = 3  # letters, below which a text has no language
_BREAK = "\n"


class Foreign:
    """Which of the texts on the pages are of ``language``: those, and parts of those, that ``texts`` holds.

    An element most of whose letters are, is of that language.
    """

    def __init__(self, language: str, texts: Collection[str]) -> None:
        self.language, self._texts = language, texts
        self._heard: dict[Element, list[int]] = defaultdict(lambda: [0, 0])
        self._known, self._all = 0, ""

    def hear(self, element: Element, text: str) -> None:
        """Note what is drawn as content of an element."""
        heard = self._heard[element]
        for part in map(_plain, _PARTS.split(_plain(text))):
            letters = sum(map(str.isalpha, part))
            if letters >= _LEAST:
                heard[self._holds(part)] += letters

    def _holds(self, part: str) -> bool:
        if self._known != len(self._texts):
            self._known, self._all = len(self._texts), _BREAK.join(map(_plain, sorted(self._texts))).casefold()
        return part.casefold().rstrip(".,") in self._all

    def tell(self, elements: Iterable[Element]) -> None:
        """Have each element say its language, and each picture that of the text in its place."""
        for element in elements:
            if element.alt:
                self.hear(element, element.alt)
            own, foreign = self._heard[element]
            element.language = self.language if foreign > own else ""


def _plain(text: str) -> str:
    return " ".join(text.split())
