"""The foot of page 1 of a submittal: who signs, and what the signature covers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.layout.blocks import title_text, write
from reportgen.layout.canvas import artifact, tagged
from reportgen.layout.context import zone_text
from reportgen.layout.page import BODY_BOTTOM, MARGIN
from reportgen.layout.signature import BOX_GAP, BOX_HEIGHT, TITLE_ROOM
from reportgen.layout.styles import BODY, BOLD, DATA, FAILS, INK, LABEL, MUTED, REGULAR, SECTION, SMALL, colour
from reportgen.layout.textlines import lines_of, shortened

if TYPE_CHECKING:
    from reportgen.layout.issue import Box
    from reportgen.layout.submittal.model import Submittal
    from reportgen.layout.wording import Words


class SubmittalFoot:
    """Lays out and draws the foot of page 1; ``height`` is the room it takes."""

    height = TITLE_ROOM + BOX_HEIGHT + BOX_GAP

    def __init__(self, content: Submittal, words: Words, width: float) -> None:
        self.content, self.words, self.width = content, words, width

    def box(self) -> Box:
        """Where the signature lies on page 1."""
        half = (self.width - BOX_GAP) / 2
        y = BODY_BOTTOM + BOX_GAP
        return (0, round(MARGIN, 2), round(y, 2), round(MARGIN + half, 2), round(y + BOX_HEIGHT, 2))

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
        _, x0, y0, x1, y1 = self.box()
        with artifact(canvas):
            canvas.setStrokeColor(colour(DATA))
            canvas.setLineWidth(0.9)
            canvas.roundRect(x0, y0, x1 - x0, y1 - y0, 2.5, stroke=1, fill=0)
        who, at = self.content.signer, self.content.at
        role = " · ".join(part for part in (who.role, who.organisation, who.certificate) if part)
        signed = self.words("signature.digital", at=f"{at:%Y-%m-%d %H:%M} {zone_text(at)}")
        lines = [
            (who.name, 43.0, SECTION - 0.5, BOLD, INK),
            (role, 31.5, BODY - 0.3, REGULAR, INK),
            (signed, 19.5, SMALL, REGULAR, MUTED),
        ]
        if self.content.status == "demonstration":
            lines.append((self.words("signature.demonstration"), 7.0, SMALL, BOLD, FAILS))
        for text, up, size, face, ink in lines:
            if text:
                with tagged(canvas, "P"):
                    write(canvas, x0 + 10, y0 + up, shortened(text, face, size, x1 - x0 - 20), size, ink, face=face)

    def _covers(self, canvas: Any) -> None:
        _, _, _, x1, y1 = self.box()
        x, room = x1 + BOX_GAP + 4, MARGIN + self.width - x1 - BOX_GAP - 4
        lines = lines_of(self.words("signature.covers"), REGULAR, SMALL, room)
        with tagged(canvas, "P"):
            for index, line in enumerate(lines):
                write(canvas, x, y1 - 10 - 10 * index, line, SMALL, INK)
        digest = self.content.list_sha256
        with tagged(canvas, "P"):
            text = self.words("signature.list", digest=f"{digest[:16]}…{digest[-8:]}")
            write(canvas, x, y1 - 14 - 10 * len(lines), shortened(text, REGULAR, LABEL, room), LABEL, MUTED)
