"""The foot of page 1: who signs, what the signature covers, the boxes of countersigners, the limitation line."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from reportgen.pdf.blocks import Runs
from reportgen.pdf.canvas import tagged
from reportgen.pdf.page import BODY_BOTTOM, MARGIN
from reportgen.pdf.signerblock import block_height, paint_block, signer_texts
from reportgen.pdf.signing import BOX_GAP, BOX_HEIGHT
from reportgen.pdf.styles import BOLD, FINE, INK, MUTED, REGULAR, colour
from reportgen.pdf.textlines import Run, flowed
from reportgen.report.tables import END
from reportgen.words.numbers import zone_text

if TYPE_CHECKING:
    from reportgen.pdf.signerblock import BlockText
    from reportgen.pdf.signing import Box, SignerBlock
    from reportgen.report.context import Context
    from reportgen.words.catalogue import Words

_COVERED, _ABOVE = 8.6, 8.0
ON_FIRST_PAGE = 3  # countersigners whose boxes stand on page 1; further ones stand before the end of the report


class SignatureFoot:
    """Lays out and draws the foot of page 1 ``of`` a report or a slip; ``height`` is the room it takes.

    Beside the inspector's block, or below where others sign too, stands what a signature covers and what it does not.
    """

    def __init__(self, context: Context, of: str = "report") -> None:
        self.context, self.of = context, of
        self.countersigners = context.issue.countersigners[:ON_FIRST_PAGE]
        words, draft = context.words, context.issue.status == "draft"
        slip = of == "slip"
        told = words("signature.covers.draft" if draft else "slip.covers" if slip else "signature.covers")
        listed = not slip and any(file.role == "evaluation" for file in context.issue.files)
        begins = context.issue.evaluation_sha256
        digest = words("signature.evaluation" if listed else "slip.evaluation", digest=f"{begins[:8]} {begins[8:16]}")
        limits = words("slip.limitation" if slip else "limitation")
        self.told = [Run(told, REGULAR, INK), Run(f" {limits} {digest}", REGULAR, MUTED)]
        rows, self.box_height = (2 + len(self.countersigners)) // 2, box_height(context)
        self.room = context.width if self.countersigners else (context.width - BOX_GAP) / 2 - 4
        below = _COVERED * (len(flowed(self.told, FINE, self.room)) + 1)
        boxes = rows * (self.box_height + BOX_GAP)
        self.height = _ABOVE + (boxes + below + 4 if self.countersigners else max(boxes, below + 6))

    def boxes(self) -> list[Box]:
        """Boxes of the inspector and of the countersigners on page 1, in this order."""
        width = (self.context.width - BOX_GAP) / 2
        top = BODY_BOTTOM + self.height - _ABOVE
        found = []
        for index in range(1 + len(self.countersigners)):
            row, column = divmod(index, 2)
            x = MARGIN + column * (width + BOX_GAP)
            y = top - row * (self.box_height + BOX_GAP) - self.box_height
            found.append((0, round(x, 2), round(y, 2), round(x + width, 2), round(y + self.box_height, 2)))
        return found

    def draw(self, canvas: Any) -> None:
        """Draw blocks, what the signature covers, where the cautions are."""
        context, words = self.context, self.context.words
        first, *others = self.boxes()
        draw_block(canvas, context, first, context.issue.signer, None)
        for number, (box, who) in enumerate(zip(others, self.countersigners, strict=True), start=1):
            draw_block(canvas, context, box, who, number)
        told = Runs(self.told, self.room, size=FINE, leading=_COVERED)
        _, high = told.wrapOn(canvas, self.room, self.height)
        x = MARGIN if self.countersigners else first[3] + BOX_GAP + 4
        y = (BODY_BOTTOM + _COVERED + 2 if self.countersigners else first[4] - high) + 1

        def safety(late: Any) -> None:
            late.setFont(REGULAR, FINE)
            late.setFillColor(colour(MUTED))
            late.drawString(x, y - _COVERED + 1.8, words("limitation.safety", page=late.page_of("safety")))
            if self.of == "report" and (further := goes_on(words, late)):
                late.setFont(BOLD, FINE)
                late.setFillColor(colour(INK))
                late.drawString(MARGIN, BODY_BOTTOM + self.height - _ABOVE + 2.5, further)

        with tagged(canvas, "P"):
            told.drawOn(canvas, x, y)
            canvas.later(safety)


def goes_on(words: Words, late: Any) -> str:
    """Where to read on what page 1 has no room for; empty where it holds all areas and actions."""
    told = []
    for part, title in (("areas", "areas.title"), ("actions", "action.title")):
        begins, ends = late.found(part), late.found(f"{part}{END}")
        if begins is not None and max(begins, ends or begins) > 1:
            key, page = ("page.goes-on", 2) if begins == 1 else ("page.stands-on", begins)
            told.append(words(key, what=words(title), page=page))
    return " · ".join(told)


def box_height(context: Context) -> float:
    """Height of every signature box of a report: what the longest of its texts needs."""
    width = (context.width - BOX_GAP) / 2
    blocks = [block_texts(context, context.issue.signer, None)]
    blocks += [block_texts(context, who, number) for number, who in enumerate(context.issue.countersigners, 1)]
    return max(BOX_HEIGHT, *(block_height(texts, width) for texts in blocks))


def draw_block(canvas: Any, context: Context, box: Box, who: SignerBlock | None, number: int | None) -> None:
    """Draw the content of one signature block; ``number`` is None for the inspector."""
    words, status = context.words, context.issue.status
    demonstration = words("signature.demonstration") if status == "demonstration" else None
    texts = block_texts(context, who, number)
    paint_block(canvas, box, texts, strong=number is None and status != "draft", demonstration=demonstration)


def block_texts(context: Context, who: SignerBlock | None, number: int | None) -> list[BlockText]:
    """Texts of a block: who signs, and that they did or may."""
    words, issue = context.words, context.issue
    if number is not None:
        state = words("signature.reserved")
    elif issue.status == "draft":
        state = words("signature.unsigned")
    else:
        state = words("signature.digital", at=f"{issue.at:%Y-%m-%d %H:%M} {zone_text(issue.at)}")
    told = who and replace(who, role=who.role and words.role(who.role))
    return signer_texts(who.name if who else words("signature.nobody"), told, state)
