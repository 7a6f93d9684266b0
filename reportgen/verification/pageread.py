"""What pages show, in the order of their content streams, which is that in which a report was written: text, pictures
and the frames of the signature blocks.

pikepdf takes the streams apart; the characters come from each font's own table (ISO 32000-1 §9.10.3). Text of other
makers, whose fonts need more than that, is read by pypdf: slower by ten times, and at home everywhere.
"""

from __future__ import annotations

import contextlib
import io
import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pikepdf

from reportgen.words.told import broke, told

if TYPE_CHECKING:
    from collections.abc import Iterator

    Corners = tuple[float, float, float, float]

_READ = "q Q BT ET Tf Td TD Tm T* ' \" Tj TJ Do"
_MARKS = " BMC BDC EMC"
_GAP = -200  # thousandths of the size between two glyphs: a space that was not written as one
_DEEPEST = 8
_CORNERS = 4
_LARGEST_SIDE = 14_400
"""Of a page, in points, that readers show: ISO 32000-1, annex C."""
_SECTION = re.compile(r"beginbfchar(.*?)endbfchar", re.DOTALL)
_DRAWN = "q Q cm re m l c v y h S s f F f* B B* b b* n"
_ENDS = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"}
_ROUNDED = ("m", *("l", "c") * 4, "h", "S")
"""A stroked rectangle with round corners, ISO 32000-1 clause 8.5.2: only signature blocks have such a frame."""
_PAIR = re.compile(r"<([0-9A-Fa-f]{2})>\s*<((?:[0-9A-Fa-f]{4})+)>")


class ContentError(ValueError):
    """What a page shows cannot be read: a fault of the file."""


@contextlib.contextmanager
def _of_the_file() -> Iterator[None]:
    """Raise ``ContentError`` for whatever the libraries raise of content that is damaged, but for what fails here."""
    try:
        yield
    except (OSError, ImportError, AssertionError, MemoryError):
        raise
    except Exception as fault:
        raise ContentError(told("pages-unreadable", why=broke(fault))) from fault


class _UnusualError(Exception):
    """The page is not written the way reports are."""


class _Characters(dict[int, str]):
    """Characters of a font by code; what the font has no character for cannot be read."""

    def __missing__(self, code: int) -> str:
        raise _UnusualError


@_of_the_file()
def page_texts(pdf: bytes, *, content_only: bool = False) -> list[str]:
    """Return the text of each page; pieces that were placed apart are on lines of their own.

    ``content_only`` leaves out head, foot and repeated heads of tables, which takes longer; pypdf does not know them.
    """
    try:
        with pikepdf.open(io.BytesIO(pdf)) as opened:
            fonts: dict[tuple[int, int], _Characters] = {}
            return [_Reading(fonts, content_only=content_only).text(page.obj) for page in opened.pages]
    except (_UnusualError, pikepdf.PdfError, AttributeError, LookupError, TypeError, ValueError):
        import pypdf

        return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


class _Reading:
    """One page while it is read: the font in force, the fonts to return to, and the text so far."""

    def __init__(self, fonts: dict[tuple[int, int], _Characters], *, content_only: bool) -> None:
        self._fonts = fonts
        self._operators = _READ + _MARKS if content_only else _READ
        self._font = _Characters()
        self._before: list[_Characters] = []
        self._text: list[str] = []
        self._marks: list[bool] = []  # of the marked content that is open: whether it is an artifact

    def text(self, page: Any) -> str:
        """Return the text of a page."""
        self._read(page, page)
        return "".join(self._text)

    def _say(self, text: str) -> None:
        if True not in self._marks:
            self._text.append(text)

    def _read(self, content: Any, owner: Any, depth: int = 0) -> None:
        """Read a page or a form; ``owner`` has its resources."""
        if depth > _DEEPEST:
            raise _UnusualError
        for instruction in pikepdf.parse_content_stream(content, self._operators):
            name, operands = str(instruction.operator), instruction.operands
            match name:
                case "Tj" | "TJ":
                    self._show(operands[-1])
                case "'" | '"':
                    self._say("\n")
                    self._show(operands[-1])
                case "BT" | "ET" | "Td" | "TD" | "Tm" | "T*":
                    self._say("\n")
                case "Tf":
                    self._font = self._characters(owner.Resources.Font[operands[0]])
                case "Do":
                    drawn = owner.Resources.XObject[operands[0]]
                    if drawn.get("/Subtype") == pikepdf.Name.Form:
                        self._before.append(self._font)
                        self._read(drawn, drawn if "/Resources" in drawn else owner, depth + 1)
                        self._font = self._before.pop()
                case "q":
                    self._before.append(self._font)
                case "Q":
                    self._font = self._before.pop()
                case "EMC":
                    self._marks.pop()
                case _:  # the beginning of marked content
                    self._marks.append(operands[0] == pikepdf.Name.Artifact)

    def _show(self, shown: Any) -> None:
        for piece in shown if isinstance(shown, pikepdf.Array) else [shown]:
            if isinstance(piece, pikepdf.String):
                self._say(bytes(piece).decode("latin-1").translate(self._font))
            elif piece < _GAP:
                self._say(" ")

    def _characters(self, font: Any) -> _Characters:
        """Return the characters of a simple font whose table names each of them on its own."""
        if font.objgen in self._fonts and font.objgen != (0, 0):
            return self._fonts[font.objgen]
        table = font.ToUnicode.read_bytes().decode("ascii")
        if font.Subtype == pikepdf.Name.Type0 or "beginbfrange" in table:
            raise _UnusualError
        pairs = [pair for section in _SECTION.findall(table) for pair in _PAIR.findall(section)]
        read = _Characters({int(code, 16): bytes.fromhex(text).decode("utf-16-be") for code, text in pairs})
        self._fonts[font.objgen] = read
        return read


@_of_the_file()
def drawn_pictures(pdf: bytes) -> list[list[bytes]]:
    """Return the JPEG of each picture that a page draws, in the order of its content, page by page.

    Pictures packed in another way are left out: a report draws none. What is drawn inside a form is no photo.
    """
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        read: dict[tuple[int, int], bytes] = {}
        return [list(_pictures(page.obj, read)) for page in opened.pages]


def _pictures(page: Any, read: dict[tuple[int, int], bytes]) -> Iterator[bytes]:
    for instruction in pikepdf.parse_content_stream(page, "Do"):
        drawn = page.Resources.XObject[instruction.operands[0]]
        packed = drawn.get("/Filter")
        filters = [packed] if isinstance(packed, pikepdf.Name) else list(packed or ())
        if drawn.get("/Subtype") == pikepdf.Name.Image and filters == [pikepdf.Name.DCTDecode]:
            if drawn.objgen not in read:
                read[drawn.objgen] = drawn.read_raw_bytes()
            yield read[drawn.objgen]


@_of_the_file()
def drawn_frames(page: Any) -> list[Corners]:
    """Return left, bottom, right, top (points) of every signature block's frame on a page, in the order of content."""
    found: list[Corners] = []
    now = pikepdf.Matrix()
    kept: list[pikepdf.Matrix] = []
    path: list[str] = []
    points: list[tuple[float, float]] = []
    for instruction in pikepdf.parse_content_stream(page, _DRAWN):
        name, numbers = str(instruction.operator), [float(number) for number in instruction.operands]
        match name:
            case "q":
                kept.append(now)
            case "Q":
                now = kept.pop()
            case "cm":
                now = pikepdf.Matrix(*numbers) @ now
            case _:
                path.append(name)
                points += [now.transform(pair) for pair in zip(numbers[::2], numbers[1::2], strict=True)]
        if name in _ENDS and tuple(path) == _ROUNDED:
            across, up = zip(*points, strict=True)
            found.append((min(across), min(up), max(across), max(up)))
        if name in _ENDS:
            path, points = [], []
    return found


def hang_on_one_tree(pdf: pikepdf.Pdf) -> bool:
    """Say whether each page hangs on the tree once, under the node that it names, and each node counts its pages."""
    try:
        return _pages_below(pdf.Root.get("/Pages"), None, set()) > 0
    except (ValueError, RecursionError):
        return False


def _pages_below(node: Any, parent: tuple[int, int] | None, seen: set[tuple[int, int]]) -> int:
    """Return how many pages hang on a node, itself for a page; ``ValueError`` where it hangs there wrongly."""
    if not isinstance(node, pikepdf.Dictionary) or node.objgen in {(0, 0), *seen}:
        raise ValueError("no node, or there twice")
    if getattr(node.get("/Parent"), "objgen", None) != parent:
        raise ValueError("under another node than it names")
    seen.add(node.objgen)
    kids, kind = node.get("/Kids"), node.get("/Type")
    if kind == pikepdf.Name.Page and kids is None:
        return 1
    if kind != pikepdf.Name.Pages or not isinstance(kids, pikepdf.Array):
        raise ValueError("neither a page nor a node")
    total = sum(_pages_below(kid, node.objgen, seen) for kid in kids)
    if node.get("/Count") != total:
        raise ValueError("counts wrongly")
    return total


def are_of_one_size(pdf: pikepdf.Pdf) -> bool:
    """Say whether all pages have one size, from their lower left corner: a smaller one hides what lies beyond it."""
    boxes = [page.get("/MediaBox") for page in pdf.pages]
    first = boxes[0] if boxes else None
    if not isinstance(first, pikepdf.Array) or any(box != first for box in boxes):
        return False
    stated: list[Any] = list(first)
    corners = [one for one in stated if isinstance(one, int | Decimal)]
    whole = len(corners) == len(stated) == _CORNERS and corners[:2] == [0, 0]
    return whole and all(0 < side <= _LARGEST_SIDE for side in corners[2:])
