"""The block of a signature on a page: who signs and what is said of it, in a frame that the signature lies on."""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.pdf.blocks import write, write_lines
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.signing import BOX_HEIGHT
from reportgen.pdf.styles import (
    BODY,
    BOLD,
    DATA,
    FAILS,
    HAIRLINE,
    INK,
    LABEL,
    MUTED,
    REGULAR,
    SECTION,
    SMALL,
    colour,
)  # fmt: skip
from reportgen.pdf.textlines import lines_of, unbroken

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.pdf.signing import Box, SignerBlock

_INSET, _FIRST, _NEXT, _BELOW = 10.0, 17.0, 11.75, 19.5


def write_covered(canvas: Any, x: float, y: float, room: float, covers: str, digest: str) -> None:
    """Write what a signature covers from its first baseline ``y`` down, and below it the hash that says so."""
    lines = lines_of(covers, REGULAR, SMALL, room)
    with tagged(canvas, "P"):
        write_lines(canvas, x, y, lines, 10, SMALL, INK)
    size, hashed = unbroken(digest, REGULAR, LABEL, room)
    with tagged(canvas, "P"):
        write_lines(canvas, x, y - 10 * len(lines) - 2, hashed, 8.5, size, MUTED)


class BlockText(NamedTuple):
    """One text of a signature block, on as many lines as it needs."""

    text: str
    size: float
    face: str
    ink: str


def block_height(texts: Iterable[BlockText], width: float) -> float:
    """Height of a signature block of that width, with room below its texts for one more line."""
    placed = _placed(texts, width)
    return placed[-1][2][-1][0] + _BELOW if placed else BOX_HEIGHT


def _placed(texts: Iterable[BlockText], width: float) -> list[tuple[BlockText, float, list[tuple[float, str]]]]:
    """The texts of a block with the size each is set in, and how far below the top each of its lines stands."""
    placed = []
    down = _FIRST
    for each in texts:
        size, lines = unbroken(each.text, each.face, each.size, width - 2 * _INSET)
        below = list(accumulate([each.size * 1.2] * (len(lines) - 1), initial=down))
        placed.append((each, size, list(zip(below, lines, strict=True))))
        down = below[-1] + _NEXT
    return placed


def paint_block(canvas: Any, box: Box, texts: Sequence[BlockText], *, strong: bool, demonstration: str | None) -> None:
    """Draw a signature block: its frame, its texts from the top, and at its foot that it is a demonstration."""
    _, x0, y0, x1, y1 = box
    with artifact(canvas):
        canvas.setStrokeColor(colour(DATA if strong else HAIRLINE))
        canvas.setLineWidth(0.9)
        canvas.roundRect(x0, y0, x1 - x0, y1 - y0, 2.5, stroke=1, fill=0)
    for each, size, lines in _placed(texts, x1 - x0):
        with tagged(canvas, "P"):
            for down, line in lines:
                write(canvas, x0 + _INSET, y1 - down, line, size, each.ink, face=each.face)
    if demonstration:
        with tagged(canvas, "P"):
            write(canvas, x0 + _INSET, y0 + 7, demonstration, SMALL, FAILS, face=BOLD)


def signer_texts(name: str, who: SignerBlock | None, state: str) -> list[BlockText]:
    """Name, then role, organisation and certificate, then what is said of the signature; empty texts left out."""
    parts = [who.role, who.organisation, who.certificate] if who else []
    texts = [
        BlockText(name, SECTION - 0.5, BOLD, INK),
        BlockText(" · ".join(part for part in parts if part), BODY - 0.3, REGULAR, INK),
        BlockText(state, SMALL, REGULAR, MUTED),
    ]
    return [each for each in texts if each.text]
