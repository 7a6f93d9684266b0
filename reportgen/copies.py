"""What a page draws, apart from its tags: to draw it once more in another file, and to prove that a copy is one.

A copied page is a form XObject on white ground, the last thing its page draws: nothing lies over it or shines through.
"""

from __future__ import annotations

import io
from decimal import Decimal
from functools import cached_property, partial
from hashlib import sha256
from typing import TYPE_CHECKING, Any, Final

import pikepdf

from reportgen.errors import ToldError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_MARKS: Final = frozenset({"BMC", "BDC", "EMC", "MP", "DP"})
_GROUND: Final = ["q", "rg", "re", "f", "Q", "Do"]
_IDLE: Final = frozenset({"q", "Q", "cm"})
_HIDES: Final = frozenset({"W", "W*", "gs"})
_LEFT_OUT: Final = frozenset({"/Length", "/StructParent", "/StructParents", "/Metadata", "/PieceInfo", "/Properties"})
_DEEPEST: Final = 40
_UNUSUAL: Final = "its drawing is nested in an unusual way"


class Drawing:
    """The pages of one PDF as drawings. ``pdf`` must be a file that was examined, or one that is open already.

    Raises:
        ValueError: the bytes are no PDF.
    """

    def __init__(self, pdf: bytes | pikepdf.Pdf) -> None:
        try:
            if isinstance(pdf, bytes):
                pdf = pikepdf.open(io.BytesIO(pdf), attempt_recovery=False, suppress_warnings=True)
        except pikepdf.PdfError as fault:
            raise ToldError("not a PDF whose pages can be copied") from fault
        self._pdf = pdf
        self._known: dict[tuple[int, int], bytes] = {}

    @cached_property
    def _pages(self) -> list[Any]:
        return list(self._pdf.pages)

    def __len__(self) -> int:
        return len(self._pages)

    def box(self, page: int) -> tuple[float, float, float, float]:
        """Return the visible rectangle of a page (from 0), in points.

        Raises:
            ValueError: the page is turned or has units of its own, which a copy would not keep.
        """
        one = self._pages[page]
        if one.obj.get("/UserUnit", 1) != 1 or int(one.get("/Rotate", 0)) % 360:
            raise ValueError(f"its page {page + 1} is turned or enlarged")
        left, bottom, right, top = (float(edge) for edge in one.cropbox)
        return left, bottom, right, top

    def content(self, page: int) -> bytes:
        """Return what a page draws, without its marks."""
        return unmarked(self._pages[page])

    def resources(self, page: int) -> Any:
        """Return the fonts, images and forms that a page draws with."""
        return self._pages[page].resources

    def fingerprint(self, page: int) -> str:
        """Return the SHA-256 of everything that a page draws, with what, and in which rectangle."""
        return self._fingerprint(self.content(page), self.resources(page), self.box(page))

    def copied(self, page: int) -> str | None:
        """Return the fingerprint of what a page shows a copy of; None for a page that does not plainly show one."""
        form = _shown_form(self._pages[page])
        if form is None:
            return None
        box = tuple(float(edge) for edge in form.BBox)
        return self._fingerprint(unmarked(form), form.get("/Resources", pikepdf.Dictionary()), box)

    def _fingerprint(self, content: bytes, resources: Any, box: tuple[float, ...]) -> str:
        digest = sha256(b" ".join([b"%.3f" % edge for edge in box]) + b"\n" + content + b"\n")
        digest.update(self._digest(resources, 0))
        return digest.hexdigest()

    def _digest(self, value: Any, depth: int) -> bytes:
        """Return the written form of ``value`` with the SHA-256 of each stream and indirect object in its place."""
        shared = isinstance(value, pikepdf.Object) and value.objgen != (0, 0)
        if shared and value.objgen in self._known:
            return self._known[value.objgen]
        written = b"".join(pieces(value, partial(self._digest, depth=depth + 1), depth))
        if isinstance(value, pikepdf.Stream):
            written += sha256(value.read_raw_bytes()).digest()
        if shared:
            self._known[value.objgen] = written = sha256(written).digest()
        return written


def unmarked(drawn: Any) -> bytes:
    """Return the content of a page or form without marked-content operators: they are its file's, not the drawing's."""
    try:
        kept = _operations(drawn)
    except (pikepdf.PdfError, TypeError) as fault:
        raise ValueError("what a page draws cannot be read") from fault
    return pikepdf.unparse_content_stream(kept)


def _operations(drawn: Any) -> list[Any]:
    return [one for one in pikepdf.parse_content_stream(drawn) if str(one.operator) not in _MARKS]


def pieces(value: Any, inner: Callable[[Any], Any], depth: int = 0) -> Iterator[Any]:
    """Yield ``value`` written as in a PDF, what ``inner`` makes of each value in it among the bytes.

    Of a stream it is the dictionary, without its length.

    Raises:
        ValueError: nested deeper than any page.
    """
    if depth > _DEEPEST:
        raise ValueError(_UNUSUAL)
    if isinstance(value, pikepdf.Array):
        yield b"["
        for item in value:
            yield inner(item)
            yield b" "
        yield b"]"
    elif isinstance(value, pikepdf.Dictionary | pikepdf.Stream):
        yield b"<<"
        for key in sorted(value.keys()):
            if key not in _LEFT_OUT:
                yield pikepdf.Name(key).unparse() + b" "
                yield inner(value[key])
        yield b">>"
    else:
        yield _scalar(value)


def _scalar(value: Any) -> bytes:
    if isinstance(value, pikepdf.Object):
        return value.unparse()
    if isinstance(value, bool):
        return b"true" if value else b"false"
    if value is None:
        return b"null"
    if isinstance(value, Decimal | int):
        return f"{value:f}".encode() if isinstance(value, Decimal) else b"%d" % value
    raise ValueError(_UNUSUAL)


def _shown_form(page: Any) -> Any:
    """Return the form that a page ends with, whole, on white ground of just its size; None without one."""
    drawn = _operations(page)
    names = [str(one.operator) for one in drawn]
    while names and names[-1] in _IDLE:
        names.pop()
    if names[-len(_GROUND) :] != _GROUND or _HIDES & set(names):
        return None
    last = drawn[: len(names)][-len(_GROUND) :]
    white, ground = ([float(number) for number in last[place].operands] for place in (1, 2))
    form = page.resources.get("/XObject", pikepdf.Dictionary()).get(str(last[-1].operands[0]))
    if not isinstance(form, pikepdf.Stream) or form.get("/Subtype") != pikepdf.Name.Form or "/Matrix" in form:
        return None
    left, bottom, right, top = (float(edge) for edge in form.BBox)
    covered = all(
        abs(one - other) < 0.01 for one, other in zip(ground, (left, bottom, right - left, top - bottom), strict=True)
    )
    return form if covered and white == [1.0, 1.0, 1.0] else None
