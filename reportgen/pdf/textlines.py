"""Plain text into lines that fit a width. Text from a file is never markup here: no parser sees it.

A word is not broken, since it may be an id, a serial number or a file name, which must be read and searched as one;
only after a slash, comma or semicolon may a line end inside it. Where a word has no room, whoever lays out the
text finds it more (`widest_piece`) or sets it smaller (`fitting`).
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING, NamedTuple

from reportgen.pdf.fonts import FALLBACK, drawable, fallback_widths, register_fonts, runs, typeface_glyphs

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

# a number stays with its unit, a value with its uncertainty, and a number with what it names: `5 %`, `1.3 °C ± 1.0 °C`
# and `location 3` are never torn apart
_UNIT = (
    r"(?:mils?|thou|[µμck]?m[²³]?|mm[²³]?|°?[CFK]|°|%|h|min|s|[µm]?g/c?m²|ft²?|in²?|[hkM]Pa|inHg|m?bar|psi|µS/cm|mS/m"
    r"|m?[lL]|[µmk]?g|deg[CF])"
)
_NUMBERED = "".join(
    rf"(?<!{word}\s)" for word in ("location", "clause", "page", "spot", "Messstelle", "Abschnitt", "Seite", "Stelle")
)
_SPACES = re.compile(rf"(?<![\d±])[^\S\u00a0]+(?!±)(?:(?!\d)|{_NUMBERED})|(?<=\d)[^\S\u00a0]+(?!±|{_UNIT}(?:\W|$))")
# a path may go on below after a slash, a list after a comma; `20/40` and `1,5` are numbers
_BREAK_AFTER = re.compile(r"(?<=[/,])(?<!\d[/,])|(?<=[/,])(?!\d)|(?<=;)")
HAIR = 0.01
"""Points that a text may be wider than its room: the width was computed from it, and rounded."""
SMALLEST = 6.5
"""Points below which text is not set to make it fit (common practice: the smallest that prints legibly)."""


_FEED = "\n"


class _Widths(dict[int, float]):
    """Widths at size 1000 of the glyphs of a face; what it lacks has the width it has in the fallback."""

    def __missing__(self, code: int) -> float:
        width = self[code] = fallback_widths().get(code, 600.0)
        return width


@cache
def _advance(face: str) -> Callable[[str], float]:
    """Return the width of text in a face at size 1000."""
    from reportlab.pdfbase.pdfmetrics import getFont

    register_fonts()
    own = getFont(face).face.charWidths
    widths = _Widths({code: own[code] for code in typeface_glyphs()})
    return lambda text: sum([widths[ord(character)] for character in text])


@lru_cache(maxsize=16384)
def text_width(text: str, face: str, size: float) -> float:
    """Return the width of one line of text in points."""
    return _advance(face)(drawable(text)) * size / 1000


def markup(text: str) -> str:
    """Return plain text for a Paragraph: escaped, and in the fallback face what the typeface lacks."""
    from xml.sax.saxutils import escape

    parts = [(face, escape(piece)) for face, piece in runs(drawable(text), "")]
    return "".join(f'<font face="{face}">{piece}</font>' if face == FALLBACK else piece for face, piece in parts)


@lru_cache(maxsize=8192)
def lines_of(text: str, face: str, size: float, width: float) -> tuple[str, ...]:
    """Return the lines of a text that fit ``width`` points: broken at spaces, inside a word only if it is too long.

    At least one line; an explicit line feed ends a line. What no face can print is shown as its code point.
    """
    text = drawable(text)
    if "\n" not in text and len(text) * size * 0.45 <= width and text_width(text, face, size) <= width:
        return (text,)
    lines: list[str] = []
    for paragraph in text.split("\n"):
        lines.extend(_filled(paragraph, face, size, width + HAIR))
    return tuple(lines)


@lru_cache(maxsize=8192)
def widest_piece(text: str, face: str, size: float) -> float:
    """Return the width in points of the widest piece of a text that is not broken."""
    advance = _advance(face)
    words = _SPACES.split(drawable(text).strip())
    return max(advance(piece) for word in words for piece in _BREAK_AFTER.split(word)) * size / 1000


def fitting(text: str, face: str, size: float, width: float) -> float:
    """Return the size in points, ``size`` at most and `SMALLEST` at least, at which no piece of a text is broken."""
    return size if len(text) * size <= width else _shrunk(size, widest_piece(text, face, size), width)


def _shrunk(size: float, wide: float, width: float) -> float:
    return size if wide <= width + HAIR else max(SMALLEST, int(size * width / wide * 100) / 100)


def unbroken(text: str, face: str, size: float, width: float) -> tuple[float, tuple[str, ...]]:
    """Return the size, ``size`` at most, at which no piece of a text is broken, and its lines of that size."""
    small = fitting(text, face, size, width)
    return small, lines_of(text, face, small, width)


def one_line(text: str, face: str, size: float, width: float) -> float:
    """Return the size in points, ``size`` at most and `SMALLEST` at least, at which a text fits on one line."""
    return _shrunk(size, text_width(text, face, size), width)


class Run(NamedTuple):
    """Text in one face and colour, that flows on with what stands before and after it."""

    text: str
    face: str
    ink: str


def flowed(runs: Iterable[Run], size: float, width: float) -> list[list[tuple[float, Run]]]:
    """Return the lines of several runs that are broken as one text, each piece with its place from the left."""
    lines: list[list[tuple[float, Run]]] = [[]]
    used, room = 0.0, (width + HAIR) * 1000 / size
    for piece, gap, fresh in _run_pieces(runs, room):
        advance = _advance(piece.face)
        space, length = advance(" ") if gap and used else 0.0, advance(piece.text)
        if fresh or (used and used + space + length > room):
            lines.append([])
            used = space = 0.0
        line = lines[-1]
        if line and line[-1][1][1:] == piece[1:]:
            x, before = line.pop()
            line.append((x, before._replace(text=f"{before.text}{' ' if space else ''}{piece.text}")))
        else:
            line.append(((used + space) * size / 1000, piece))
        used += space + length
    return lines


def _run_pieces(runs: Iterable[Run], room: float) -> Iterator[tuple[Run, bool, bool]]:
    """Yield the words of runs, each with whether a space and whether a line feed stands before it."""
    gap = fresh = False
    for run in runs:
        words = [word for line in drawable(run.text).split("\n") for word in (_FEED, *_SPACES.split(line))][1:]
        follows = False  # whether a word of the run stood before on its line
        for word in words:
            if word is _FEED:
                gap, fresh, follows = False, True, False
                continue
            gap, follows = gap or follows, True
            for piece, glued in _pieces(word, room, _advance(run.face)) if word else ():
                yield run._replace(text=piece), gap and not glued, fresh
                gap = fresh = False


def _filled(text: str, face: str, size: float, width: float) -> list[str]:
    advance = _advance(face)
    room = width * 1000 / size
    space = advance(" ")
    lines: list[str] = []
    line, used = "", 0.0
    for word in _SPACES.split(text.strip()):
        for piece, glued in _pieces(word, room, advance):
            length = advance(piece)
            gap = 0.0 if glued or not line else space
            if line and used + gap + length > room:
                lines.append(line)
                line, used, gap = "", 0.0, 0.0
            line += (" " if gap else "") + piece
            used += gap + length
    return [*lines, line]


def _pieces(word: str, room: float, advance: Callable[[str], float]) -> list[tuple[str, bool]]:
    """Return the word whole, or in parts that fit; a part after the first is glued to the one before."""
    if advance(word) <= room:
        return [(word, False)]
    pieces: list[str] = []
    for part in _BREAK_AFTER.split(word):
        pieces += [part] if advance(part) <= room else _chopped(part, room, advance)
    return [(piece, index > 0) for index, piece in enumerate(pieces) if piece]


def _chopped(part: str, room: float, advance: Callable[[str], float]) -> list[str]:
    """Return a part that is wider than any line may be in parts that are not."""
    pieces = [""]
    for character in part:
        if pieces[-1] and advance(pieces[-1] + character) > room:
            pieces.append("")
        pieces[-1] += character
    return pieces
