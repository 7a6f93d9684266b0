"""The foot of page 1 of a submittal: who signs, and what the signature covers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.pdf.blocks import title_text
from reportgen.pdf.canvas import artifact
from reportgen.pdf.page import BODY_BOTTOM, MARGIN
from reportgen.pdf.signing import BOX_GAP, BOX_HEIGHT, TITLE_ROOM
from reportgen.pdf.styles import INK, colour
from reportgen.report.signature import block_height, paint_block, signer_texts, write_covered
from reportgen.words.numbers import zone_text

if TYPE_CHECKING:
    from reportgen.pdf.signing import Box
    from reportgen.submittal.pages.model import Submittal
    from reportgen.words.catalogue import Words


class SubmittalFoot:
    """Lays out and draws the foot of page 1; ``height`` is the room it takes."""

    def __init__(self, content: Submittal, words: Words, width: float) -> None:
        self.content, self.words, self.width = content, words, width
        signed = words("signature.digital", at=f"{content.at:%Y-%m-%d %H:%M} {zone_text(content.at)}")
        self._texts = signer_texts(content.signer.name, content.signer, signed)
        self._high = max(BOX_HEIGHT, block_height(self._texts, (width - BOX_GAP) / 2))
        self.height = TITLE_ROOM + self._high + BOX_GAP

    def box(self) -> Box:
        """Where the signature lies on page 1."""
        half = (self.width - BOX_GAP) / 2
        y = BODY_BOTTOM + BOX_GAP
        return (0, round(MARGIN, 2), round(y, 2), round(MARGIN + half, 2), round(y + self._high, 2))

    def draw(self, canvas: Any) -> None:
        """Title, block, what the signature covers."""
        title = title_text(self.words("signature.title"), "section", 2, bookmark="signature", outline=False)
        y = BODY_BOTTOM + self.height - TITLE_ROOM + 6
        title.wrapOn(canvas, self.width, 40)
        title.drawOn(canvas, MARGIN, y + 2)
        with artifact(canvas):
            canvas.setStrokeColor(colour(INK))
            canvas.setLineWidth(0.8)
            canvas.line(MARGIN, y, MARGIN + self.width, y)
        self._block(canvas)
        self._covers(canvas)

    def _block(self, canvas: Any) -> None:
        demonstration = self.words("signature.demonstration") if self.content.status == "demonstration" else None
        paint_block(canvas, self.box(), self._texts, strong=True, demonstration=demonstration)

    def _covers(self, canvas: Any) -> None:
        _, _, _, x1, y1 = self.box()
        x, room = x1 + BOX_GAP + 4, MARGIN + self.width - x1 - BOX_GAP - 4
        digest = self.words("signature.list", digest=self.content.list_sha256)
        write_covered(canvas, x, y1 - 10, room, self.words("signature.covers"), digest)
