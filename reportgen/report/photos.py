"""The photos of a report on sheets, each with what is known of it."""

from __future__ import annotations

import io
from bisect import bisect_right
from itertools import accumulate, chain, groupby
from typing import TYPE_CHECKING, Any

from reportgen.pdf.blocks import SECTION_HEIGHT, Runs, SectionTitle, running_text, write_lines
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.charted import SideBySide
from reportgen.pdf.flow import CondPageBreak, Flowable, ImageReader
from reportgen.pdf.painting import show_text
from reportgen.pdf.pictures import printed_photo
from reportgen.pdf.styles import BOLD, DENSE, HAIRLINE, INK, LABEL, MUTED, PANEL, REGULAR, colour
from reportgen.pdf.textlines import SMALLEST, Run, lines_of, unbroken, widest_piece

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job import Photo
    from reportgen.pdf.pictures import PrintedPhoto
    from reportgen.report.context import Context

_GAP, _HIGH = 14.0, 0.75
_AGAIN = 12.0  # what says that they go on
_TWO_ACROSS = 2  # photos that are shown two across; of more each is smaller, and so is a single one
_TWO_ROWS = 4  # photos that stand in two rows of two
_SHARP = 6  # photos that keep the pixels of two across, however small they are shown
_LONG_CAPTION = 12  # lines beside others


def _known(context: Context, photo: Photo, printed: PrintedPhoto | None) -> list[str]:
    """Location, time, and what the camera noted as far as the template asks for it."""
    words, style = context.words, context.template.photos
    parts = [words("location", location=photo.location)] if photo.location else []
    parts += [context.at(photo.time)] if photo.time else []
    if printed is not None:
        parts += [words("photo.taken", time=printed.taken)] if style.time and printed.taken else []
        parts += [printed.position] if style.position and printed.position else []
    return parts


class PhotoCell(Flowable):  # type: ignore[misc] # reportlab has no types
    """A photo, whole, and under it its number, area, location, time, the beginning of its hash, and its caption.

    It is as sharp as one that is ``pixels`` points wide.
    """

    def __init__(self, context: Context, number: int, area: str, photo: Photo, width: float, pixels: float) -> None:
        super().__init__()
        tallest = width * _HIGH
        name, words = str(photo.file), context.words
        known, original = context.pictures.photos.get(name), context.job.photos.get(name)
        long = known is None and original is None and widest_piece(name, REGULAR, SMALLEST) > width - 16
        width = context.width if long else width  # the name of a file that is missing is not broken
        self.context, self.number, self.area, self.photo, self.width = context, number, area, photo, width
        if known is None and original is not None:
            known = printed_photo(original, pixels, pixels * _HIGH, int(photo.turn or 0))
        self.printed = known
        parts = _known(context, photo, known)
        begins = f" · {known.sha256[:8]}" if known else ""
        told = [Run(f"{number} ", BOLD, INK), Run(area, BOLD, INK), Run(" · ".join(["", *parts]), REGULAR, INK)]
        told.append(Run(begins, REGULAR, MUTED))
        self.whole = not long and len(lines_of(photo.caption, REGULAR, DENSE, width)) <= _LONG_CAPTION
        told += [Run(f"\n{photo.caption}", REGULAR, INK)] if self.whole else []
        self.told = Runs(told, width, size=DENSE, leading=9.2)
        self.missing = None if known else unbroken(words("photo.missing", file=name), REGULAR, LABEL, width - 16)
        self.shown = (width, 60.0)
        if known is not None:
            scale = min(width / known.width, tallest / known.height, 72 / 100)
            self.shown = (known.width * scale, known.height * scale)

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The width given; picture and texts."""
        self.height = self.shown[1] + 4 + float(self.told.wrapOn(self.canv, aW, aH)[1])
        return self.width, self.height

    def draw(self) -> None:
        """Picture, then texts."""
        canvas, (wide, high) = self.canv, self.shown
        canvas.names(self.area)
        at = (0, self.height - high, wide, high)
        if self.printed is None and self.missing is not None:
            size, lines = self.missing
            with artifact(canvas, "Background"):
                canvas.setFillColor(colour(PANEL))
                canvas.setStrokeColor(colour(HAIRLINE))
                canvas.rect(*at, stroke=1, fill=1)
            with tagged(canvas, "P"):
                write_lines(canvas, 8, self.height - high / 2 + 4.5 * (len(lines) - 1), lines, 9, size, MUTED)
        elif self.printed is not None:
            alt = self.context.words("photo.alt", caption=self.photo.caption)
            with tagged(canvas, "Figure", alt=alt, at=at):
                picture = ImageReader(io.BytesIO(self.printed.jpeg))
                canvas.drawImage(picture, *at)
                del picture.jpeg_fh  # by which it holds itself, and a megabyte of pixels, until the document is done
        with tagged(canvas, "Caption"):
            self.told.drawOn(canvas, 0, 0)


class PhotoSheets(Flowable):  # type: ignore[misc] # reportlab has no types
    """Rows of photos, broken over pages between rows; ``again`` is what stands above them on a later page."""

    def __init__(self, rows: Sequence[SideBySide], again: str, *, goes_on: bool = False) -> None:
        super().__init__()
        self.rows, self.again, self.goes_on = list(rows), again, goes_on

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width; rows under each other, with room above each."""
        high = (float(row.wrapOn(self.canv, aW, aH)[1]) + row.spaceBefore for row in self.rows)
        self.ends = list(accumulate(high, initial=_AGAIN if self.goes_on else 0.0))
        self.width, self.height = aW, self.ends[-1]
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        """As many rows as fit, and the rest."""
        self.wrap(aW, aH)
        fits = bisect_right(self.ends, aH) - 1
        if fits < 1:
            return []
        first = PhotoSheets(self.rows[:fits], self.again, goes_on=self.goes_on)
        return [first, *([PhotoSheets(self.rows[fits:], self.again, goes_on=True)] if self.rows[fits:] else [])]

    def draw(self) -> None:
        """What says that they go on, then row under row."""
        if self.goes_on:
            with artifact(self.canv, "Pagination"):
                show_text(self.canv, 0, self.height - 8, self.again, REGULAR, LABEL, MUTED)
        for row, end in zip(self.rows, self.ends[1:], strict=True):
            row.drawOn(self.canv, 0, self.height - end)


def _with_captions_below(rows: Sequence[SideBySide], cells: Sequence[PhotoCell], again: str) -> list[Flowable]:
    """Photos each with its long caption below it, where that may break over pages."""
    below = (running_text(cell.photo.caption, "dense", before=2, role="Caption") for cell in cells)
    return list(chain.from_iterable(zip((PhotoSheets([row], again) for row in rows), below, strict=True)))


def photos_section(context: Context) -> list[Flowable]:
    """The photos in the order of the file: two across where they are two, else as wide as three."""
    words = context.words
    photos = [(surface.area, photo) for surface in context.job.day.surfaces for photo in surface.photos]
    if not photos:
        return []
    across = 2 if len(photos) == _TWO_ACROSS else 3
    beside = 2 if len(photos) == _TWO_ROWS else across  # none stands alone
    width = (context.width - _GAP * (across - 1)) / across
    pixels = (context.width - _GAP) / 2 if len(photos) <= _SHARP else width
    cells = [PhotoCell(context, number, area, photo, width, pixels) for number, (area, photo) in enumerate(photos, 1)]
    again = words.continued("photo.title")("")
    sheets: list[Any] = []
    for whole, some in groupby(cells, key=lambda each: each.whole):
        own = list(some)
        step = beside if whole else 1
        rows = [SideBySide(own[start : start + step], before=9, columns=across) for start in range(0, len(own), step)]
        sheets += [PhotoSheets(rows, again)] if whole else _with_captions_below(rows, own, again)
    sheets[0].wrapOn(None, context.width, context.height)
    title = SectionTitle(words("photo.title"), "photos", note=words("photo.note"))
    return [CondPageBreak(SECTION_HEIGHT + float(sheets[0].ends[1]) + 20), title, *sheets]
