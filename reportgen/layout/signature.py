"""The foot of page 1: who signs, what the signature covers, the boxes of countersigners, the limitation line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.layout.blocks import title_text, write
from reportgen.layout.canvas import artifact, tagged
from reportgen.layout.context import zone_text
from reportgen.layout.page import BODY_BOTTOM, MARGIN
from reportgen.layout.styles import (
    BODY,
    BOLD,
    DATA,
    FAILS,
    HAIRLINE,
    INK,
    ITALIC,
    LABEL,
    MUTED,
    REGULAR,
    SECTION,
    SMALL,
    colour,
)
from reportgen.layout.textlines import lines_of, shortened

if TYPE_CHECKING:
    from reportgen.layout.context import Context
    from reportgen.layout.issue import Box, SignerBlock

BOX_HEIGHT = 60.0
BOX_GAP = 12.0
TITLE_ROOM = 30.0
LIMITATION_ROOM = 24.0
ON_FIRST_PAGE = 3  # countersigners whose boxes stand on page 1; further ones stand before the end of the report


class SignatureFoot:
    """Lays out and draws the foot of page 1; ``height`` is the room it takes."""

    def __init__(self, context: Context) -> None:
        self.context = context
        self.countersigners = context.issue.countersigners[:ON_FIRST_PAGE]
        rows = (2 + len(self.countersigners)) // 2
        self.height = TITLE_ROOM + rows * (BOX_HEIGHT + BOX_GAP) + LIMITATION_ROOM
        if self.countersigners:
            self.height += 22

    def boxes(self) -> list[Box]:
        """Boxes of the inspector and of the countersigners on page 1, in this order."""
        width = (self.context.width - BOX_GAP) / 2
        top = BODY_BOTTOM + self.height - TITLE_ROOM
        found = []
        for index in range(1 + len(self.countersigners)):
            row, column = divmod(index, 2)
            x = MARGIN + column * (width + BOX_GAP)
            y = top - row * (BOX_HEIGHT + BOX_GAP) - BOX_HEIGHT
            found.append((0, round(x, 2), round(y, 2), round(x + width, 2), round(y + BOX_HEIGHT, 2)))
        return found

    def draw(self, canvas: Any) -> None:
        """Draw title, blocks, what the signature covers, limitation line."""
        context = self.context
        self._title(canvas)
        boxes = self.boxes()
        draw_block(canvas, context, boxes[0], context.issue.signer, None)
        for number, (box, who) in enumerate(zip(boxes[1:], self.countersigners, strict=True), start=1):
            draw_block(canvas, context, box, who, number)
        if self.countersigners:
            self._covers(canvas, MARGIN, BODY_BOTTOM + LIMITATION_ROOM + 20, context.width)
        else:
            _, _, _, x1, y1 = boxes[0]
            self._covers(canvas, x1 + BOX_GAP + 4, y1 - 12, MARGIN + context.width - x1 - BOX_GAP - 4)
        self._limitation(canvas)

    def _title(self, canvas: Any) -> None:

        context = self.context
        draft = context.issue.status == "draft"
        text = context.words("signature.title.draft" if draft else "signature.title")
        title = title_text(text, "section", 2, bookmark="signature", outline=False)
        y = BODY_BOTTOM + self.height - TITLE_ROOM + 6
        title.wrapOn(canvas, context.width, 40)
        title.drawOn(canvas, MARGIN, y + 2)
        with artifact(canvas):
            canvas.setStrokeColor(colour(INK))
            canvas.setLineWidth(0.8)
            canvas.line(MARGIN, y, MARGIN + context.width, y)

    def _covers(self, canvas: Any, x: float, y: float, room: float) -> None:
        context = self.context
        key = {"draft": "signature.covers.draft"}.get(context.issue.status, "signature.covers")
        lines = lines_of(context.words(key), REGULAR, SMALL, room)
        with tagged(canvas, "P"):
            for index, line in enumerate(lines):
                write(canvas, x, y - 10 * index, line, SMALL, INK)
        digest = context.issue.evaluation_sha256
        with tagged(canvas, "P"):
            label = context.words("signature.evaluation", digest=f"{digest[:16]}…{digest[-8:]}")
            write(canvas, x, y - 10 * len(lines) - 2, shortened(label, REGULAR, LABEL, room), LABEL, MUTED)

    def _limitation(self, canvas: Any) -> None:
        context = self.context
        lines = lines_of(context.words("limitation"), ITALIC, LABEL, context.width - 90)
        with tagged(canvas, "P"):
            y = BODY_BOTTOM + 4 + 9 * (len(lines) - 1)
            for index, line in enumerate(lines):
                write(canvas, MARGIN, y - 9 * index, line, LABEL, MUTED, face=ITALIC)

            def safety(late: Any) -> None:
                late.setFont(ITALIC, LABEL)
                late.setFillColor(colour(MUTED))
                text = context.words("limitation.safety", page=late.page_of("safety"))
                late.drawRightString(MARGIN + context.width, BODY_BOTTOM + 4, text)

            canvas.later(safety)


def draw_block(canvas: Any, context: Context, box: Box, who: SignerBlock | None, number: int | None) -> None:
    """Draw the content of one signature block; ``number`` is None for the inspector."""
    _, x0, y0, x1, y1 = box
    words, status = context.words, context.issue.status
    with artifact(canvas):
        canvas.setStrokeColor(colour(DATA if number is None and status != "draft" else HAIRLINE))
        canvas.setLineWidth(0.9)
        canvas.roundRect(x0, y0, x1 - x0, y1 - y0, 2.5, stroke=1, fill=0)
    room = x1 - x0 - 20
    for text, y, size, face, ink in _block_lines(context, who, number):
        with tagged(canvas, "P"):
            write(canvas, x0 + 10, y0 + y, shortened(text, face, size, room), size, ink, face=face)
    if status == "demonstration":
        with tagged(canvas, "P"):
            write(canvas, x0 + 10, y0 + 7, words("signature.demonstration"), SMALL, FAILS, face=BOLD)


def _block_lines(
    context: Context, who: SignerBlock | None, number: int | None
) -> list[tuple[str, float, float, str, str]]:
    """Texts of a block: (text, height over its foot, size, face, colour)."""
    words, issue = context.words, context.issue
    name = who.name if who else words("signature.nobody")
    parts = [who.role, who.organisation, who.certificate] if who else []
    lines = [
        (name, 43.0, SECTION - 0.5, BOLD, INK),
        (" · ".join(part for part in parts if part), 31.5, BODY - 0.3, REGULAR, INK),
    ]
    if number is not None:
        lines.append((words("signature.reserved"), 19.5, SMALL, REGULAR, MUTED))
    elif issue.status == "draft":
        lines.append((words("signature.unsigned"), 19.5, SMALL, REGULAR, MUTED))
    else:
        at = f"{issue.at:%Y-%m-%d %H:%M} {zone_text(issue.at)}"
        lines.append((words("signature.digital", at=at), 19.5, SMALL, REGULAR, MUTED))
    return [line for line in lines if line[0]]
