"""Marked content: which stretch of a page's drawing belongs to which element of the structure tree."""

from __future__ import annotations

import re
from typing import Literal

from reportlab.pdfgen.textobject import PDFTextObject

from reportgen.pdf.structure import CONTAINERS, Content, Element, StructureTree

ArtifactKind = Literal["Layout", "Background", "Pagination", "Header", "Footer", "Watermark"]

ARTIFACTS: dict[ArtifactKind, str] = {
    "Layout": "/Artifact<</Type/Layout>>BDC",
    "Background": "/Artifact<</Type/Background>>BDC",
    "Pagination": "/Artifact<</Type/Pagination>>BDC",
    "Header": "/Artifact<</Type/Pagination/Subtype/Header>>BDC",
    "Footer": "/Artifact<</Type/Pagination/Subtype/Footer>>BDC",
    "Watermark": "/Artifact<</Type/Pagination/Subtype/Watermark>>BDC",
}
_TEXT_OR_IMAGE = re.compile(r"(?:^|\s)(?:BT|Do|BI)(?:\s|$)")
_PAINT = re.compile(r"(?:^|\s)(?:S|s|f\*?|B\*?|b\*?|sh)(?:\s|$)")
_SPACE = "( ) Tj"  # code 32 is a space in every subset of every face
_TEXT_ENDS = (" ET", " ET Q")
_TEXT_END = re.compile(r"(?<! \) Tj)(?<! T\*)((?: T\*)? ET(?: Q)?)$")  # of a text that does not end in a space
_DRAWS = re.compile(r"(?:^|\s)(?:BT|Do|BI|S|s|f\*?|B\*?|b\*?|sh|%\d+)(?:\s|$)")  # %1: a place to be filled later
_SHOWN_OF_UNTAGGED = 80


class UntaggedContent(RuntimeError):  # noqa: N818  # it names what was found, not an error of the caller's
    """A page holds text or an image that belongs to no tag and to no artifact: a bug in the layout, shown as drawn."""


class Marks:
    """The tags of a canvas while it is drawn on: the tree, the open elements, the open mark in the content."""

    def __init__(self, tree: StructureTree) -> None:
        self.tree = tree
        self.stack = [tree.root]
        self.owners: list[Element] = []  # of the current page's marked content, by number
        self.open: str | None = None  # the operator that opened the mark now open
        self.in_artifact = False  # nothing that is drawn now belongs to the text
        self._opened_at = 0
        self.gap = 0  # where in the page's code the stretch without a mark began
        self.gap_kind: ArtifactKind | None = None  # what text in the gap is taken for; None: an error
        self.heading = 0  # level of the last heading

    def start(self, code: list[str], operator: str) -> None:
        """Open a mark in the content; the stretch before it is checked."""
        self.close_gap(code)
        self._opened_at = len(code)
        code.append(operator)
        self.open = operator
        self.in_artifact = operator.startswith("/Artifact")

    def stop(self, code: list[str]) -> None:
        """Close the open mark, if any; one that holds nothing to see is taken back."""
        if self.open is None:
            return
        if any(map(_DRAWS.search, code[self._opened_at + 1 :])):
            if not self.in_artifact:
                self._separate(code)
            code.append("EMC")
        else:
            del code[self._opened_at]
            if not self.in_artifact:
                owner = self.owners.pop()
                owner.kids.remove(Content(len(self.tree.pages), len(self.owners)))
        self.gap = len(code)
        self.open = None
        self.in_artifact = False

    def _separate(self, code: list[str]) -> None:
        """End each text of the open mark but the last with a space, so that words stay apart.

        Readers of structure do not see where a line ends or how far apart two texts stand (ISO 32000-1 §14.8.2.5).
        """
        texts = [place for place in range(self._opened_at + 1, len(code)) if code[place].endswith(_TEXT_ENDS)]
        for place in texts[:-1]:
            code[place] = _TEXT_END.sub(rf" {_SPACE}\1", code[place])

    def close_gap(self, code: list[str]) -> None:
        """Content outside every mark: bare drawing becomes an artifact, text and images are an error."""
        stretch = code[self.gap :]
        if stretch:
            text = "\n".join(stretch)
            if self.gap_kind is None and _TEXT_OR_IMAGE.search(text):
                raise UntaggedContent(f"drawn outside every tag and artifact: {text.strip()[:_SHOWN_OF_UNTAGGED]}")
            if self.gap_kind or _PAINT.search(text):
                code.insert(self.gap, ARTIFACTS[self.gap_kind or "Layout"])
                code.append("EMC")
        self.gap = len(code)

    def resume(self, code: list[str]) -> None:
        """Mark what follows as content of the innermost element, unless that only holds elements."""
        element = self.stack[-1]
        if element.role not in CONTAINERS:
            mark = len(self.owners)
            self.owners.append(element)
            element.kids.append(Content(len(self.tree.pages), mark))
            self.start(code, f"/{element.role}<</MCID {mark}>>BDC")


class SpacedText(PDFTextObject):  # type: ignore[misc]  # reportlab has no types
    """Text whose lines end in a space, so that the words at both sides of a line's end stay apart when read aloud."""

    def _textOut(self, text: str, TStar: int = 0) -> None:  # noqa: N802, N803  # reportlab's names
        super()._textOut(f"{text} " if TStar and not text.endswith(" ") else text, TStar)
