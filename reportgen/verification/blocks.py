"""Each signature field lies on the frame that the pages draw for it: who signs is shown where the block says so.

Building the pages again tells this too, but a report with photos is rebuilt only where their originals are at hand.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reportgen.verification.embedded_files import Evidence

    Corners = tuple[float, float, float, float]
    Matrix = tuple[float, float, float, float, float, float]

_DRAWN = "q Q cm re m l c v y h S s f F f* B B* b b* n"
_ENDS = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"}
_ROUNDED = ("m", *("l", "c") * 4, "h", "S")
"""A stroked rectangle with round corners, ISO 32000-1 clause 8.5.2: only signature blocks have such a frame."""
_TOLERANCE = 0.02  # points: boxes are written with two decimals


def fields_off_their_blocks(evidence: Evidence) -> list[str]:
    """Return a sentence for each page whose signature fields are not its frames, one by one in the order drawn.

    Nothing is said where the first signature's revision could not be read: then step 4 has failed.
    """
    if evidence.signing is None:
        return []
    placed: dict[int, list[Corners]] = {}
    for field in evidence.signing.fields:
        page, *corners = field.box
        placed.setdefault(int(page), []).append((corners[0], corners[1], corners[2], corners[3]))
    with pikepdf.open(io.BytesIO(evidence.pdf)) as opened:
        off = [page for page, boxes in placed.items() if not _same(boxes, list(_frames(opened.pages[page - 1])))]
    return [f"the signature fields on page {page} do not lie on the signature blocks drawn there" for page in off]


def _same(boxes: list[Corners], frames: list[Corners]) -> bool:
    return len(boxes) == len(frames) and all(
        abs(one - other) <= _TOLERANCE
        for box, frame in zip(boxes, frames, strict=True)
        for one, other in zip(box, frame, strict=True)
    )


def _frames(page: Any) -> Iterator[Corners]:
    """Yield the corners of every signature block's frame on a page, in the order of its content."""
    now: Matrix = (1, 0, 0, 1, 0, 0)
    kept: list[Matrix] = []
    path: list[str] = []
    points: list[tuple[float, float]] = []
    for instruction in pikepdf.parse_content_stream(page, _DRAWN):
        name, numbers = str(instruction.operator), [float(number) for number in instruction.operands]
        if name == "q":
            kept.append(now)
        elif name == "Q":
            now = kept.pop()
        elif name == "cm":
            now = _within(now, numbers)
        else:
            path.append(name)
            points += [_at(now, *pair) for pair in zip(numbers[::2], numbers[1::2], strict=True)]
        if name in _ENDS:
            if tuple(path) == _ROUNDED:
                yield _corners(points)
            path, points = [], []


def _within(outer: Matrix, inner: Iterable[float]) -> Matrix:
    a, b, c, d, e, f = inner
    (x, y), (left, bottom) = _at(outer, e, f), outer[4:]
    (ax, ay), (cx, cy) = _at(outer, a, b), _at(outer, c, d)
    return (ax - left, ay - bottom, cx - left, cy - bottom, x, y)


def _at(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return (a * x + c * y + e, b * x + d * y + f)


def _corners(points: list[tuple[float, float]]) -> Corners:
    across, up = zip(*points, strict=True)
    return (min(across), min(up), max(across), max(up))
