"""The pictures that the pages of a report show, as they lie in the file."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator


def drawn_pictures(pdf: bytes) -> list[list[bytes]]:
    """Return the JPEG of each picture that a page draws, in the order of its content, page by page.

    Pictures packed in another way are left out: a report draws none. What is drawn inside a form is no photo.
    """
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        read: dict[tuple[int, int], bytes] = {}
        return [list(_of_page(page.obj, read)) for page in opened.pages]


def _of_page(page: Any, read: dict[tuple[int, int], bytes]) -> Iterator[bytes]:
    for instruction in pikepdf.parse_content_stream(page, "Do"):
        drawn = page.Resources.XObject[instruction.operands[0]]
        if drawn.get("/Subtype") != pikepdf.Name.Image or not _is_jpeg(drawn):
            continue
        known = read.get(drawn.objgen)
        if known is None:
            known = read[drawn.objgen] = drawn.read_raw_bytes()
        yield known


def _is_jpeg(image: Any) -> bool:
    packed = image.get("/Filter")
    names = [packed] if isinstance(packed, pikepdf.Name) else list(packed or ())
    return names == [pikepdf.Name.DCTDecode]
