"""Paragraphs in two columns of a page: left from top to bottom, then right, about equally high."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab.platypus import Flowable

from reportgen.pdf.blocks import SectionTitle
from reportgen.pdf.canvas import artifact
from reportgen.pdf.painting import show_text
from reportgen.pdf.styles import LABEL, MUTED, REGULAR

if TYPE_CHECKING:
    from collections.abc import Sequence

GAP = 17.0
_AGAIN = 12.0  # what says that they go on
_TALLEST = 240.0  # points in a column; what is taller stands across the page, where it may break
_WORTH = 1.2  # how much higher the block may become for a column that begins with a title


class Columns(Flowable):  # type: ignore[misc] # reportlab has no types
    """Blocks in two columns; breaks over pages between blocks, never between a title and what follows it.

    ``again`` is what stands above where they go on upon a later page, ``closing`` below the last of them.
    """

    def __init__(
        self, blocks: Sequence[Any], again: str = "", closing: Flowable | None = None, *, goes_on: bool = False
    ) -> None:
        super().__init__()
        self.closing = closing
        self.blocks, self.again, self._above = list(blocks), again, _AGAIN if again and goes_on else 0.0
        self._titles = {n for n, block in enumerate(blocks) if isinstance(block, SectionTitle)}
        self._ends = [n for n in range(1, len(blocks) + 1) if n - 1 not in self._titles]
        self.spaceBefore = blocks[0].getSpaceBefore()

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; as high as the taller column."""
        self.width = aW
        self._place(len(self.blocks))
        return self.width, self.height

    def _place(self, count: int) -> float:
        """Share the first so many blocks among the columns; the height that they then take."""
        wide, below, above = (self.width - GAP) / 2, [0.0], [0.0]
        self._own = [float(block.wrapOn(None, wide, 0)[1]) for block in self.blocks[:count]]
        for block, own in zip(self.blocks, self._own, strict=False):
            above.append(below[-1] + block.getSpaceBefore())
            below.append(above[-1] + own + block.getSpaceAfter())

        def high(cut: int) -> float:
            return max(below[cut] - above[1], below[count] - above[min(cut + 1, count)] if cut < count else 0.0)

        cuts = [n for n in self._ends if n <= count]
        best = min(map(high, cuts))
        self.cut = next((n for n in cuts if n in self._titles and high(n) <= best * _WORTH), min(cuts, key=high))
        last = self.closing if count == len(self.blocks) else None
        self._below = float(last.wrapOn(None, self.width, 0)[1] + last.getSpaceBefore()) if last else 0.0
        self.height = high(self.cut) + self._above + self._below
        return self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        """As many blocks as fit, and the rest."""
        self.width = aW
        fits = [n for n in self._ends if self._place(n) <= aH]
        if not fits:
            return []
        parts = (self.blocks[: fits[-1]], self.blocks[fits[-1] :])
        ends = (None, self.closing) if parts[1] else (self.closing, None)
        both = enumerate(zip(parts, ends, strict=True))
        going_on = self._above > 0
        return [Columns(part, self.again, end, goes_on=going_on or n > 0) for n, (part, end) in both if part]

    def draw(self) -> None:
        """What says that they go on, left column, then right."""
        if self._above:
            with artifact(self.canv, "Pagination"):
                show_text(self.canv, 0, self.height - 8, self.again, REGULAR, LABEL, MUTED)
        for x, part in ((0.0, slice(0, self.cut)), ((self.width + GAP) / 2, slice(self.cut, None))):
            y = self.height - self._above
            for index, (block, own) in enumerate(zip(self.blocks[part], self._own[part], strict=True)):
                y -= block.getSpaceBefore() * (index > 0) + own
                block.drawOn(self.canv, x, y)
                y -= block.getSpaceAfter()
        if self.closing is not None:
            self.closing.drawOn(self.canv, 0, 0)


def in_columns(blocks: Sequence[Any], width: float, again: str = "") -> list[Flowable]:
    """The blocks in two columns, those that are too tall for one across the page where they stand.

    ``again`` is what stands above where they go on upon a later page.
    """
    found: list[Flowable] = []
    for block in blocks:
        if block.wrapOn(None, (width - GAP) / 2, 0)[1] > _TALLEST:
            found.append(block)
        elif found and isinstance(found[-1], Columns):
            found[-1] = Columns([*found[-1].blocks, block], again)
        else:
            found.append(Columns([block], again))
    return found
