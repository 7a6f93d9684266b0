"""Page geometry, header and footer, and the template of a report: a first page that ends in the signature block."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from io import BytesIO
from typing import TYPE_CHECKING, Any, NamedTuple

from reportlab.lib.pagesizes import A4, letter
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from reportgen.pdf.canvas import ReportCanvas, artifact
from reportgen.pdf.painting import show_text
from reportgen.pdf.styles import BOLD, HAIRLINE, INK, LABEL, MUTED, REGULAR, colour
from reportgen.pdf.textlines import one_line, text_width, unbroken

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from reportlab.platypus import Flowable

    from reportgen.pdf.foreign import Foreign

MARGIN = 51.02  # 18 mm
HEADER_BASELINE = 28.0  # from the top
HEADER_RULE = 36.0
ROW = 8.5  # of the head
ROWS_ABOVE = 2  # that have room above its baseline
FOOTER_RULE = 42.0  # from the bottom
FOOTER_BASELINE = 31.0
BODY_TOP = 50.0
BODY_BOTTOM = 54.0
WATERMARK = "b9c2ca"


@dataclass(frozen=True)
class Geometry:
    """Page width and height and the text area, in points."""

    page_width: float
    page_height: float

    @property
    def width(self) -> float:
        """Width of the text area."""
        return self.page_width - 2 * MARGIN

    @property
    def height(self) -> float:
        """Height of the text area."""
        return self.page_height - BODY_TOP - BODY_BOTTOM


def geometry(page: str) -> Geometry:
    """Return the geometry of `A4` or `letter`."""
    return Geometry(*(A4 if page == "A4" else letter))


@dataclass(frozen=True)
class Furniture:
    """What every page carries: header left and right, footer left, page count text, watermark or logo if any.

    ``named`` makes of what stands on a page the text in the midst of its header.
    """

    geometry: Geometry
    left: str
    right: str
    footer: str
    count: Callable[[int, int], str]
    watermark: str | None = None
    logo: Any = None
    named: Callable[[tuple[str, ...]], str] = lambda _: ""

    def __call__(self, canvas: Any, page: int, pages: int) -> None:
        """Draw the furniture of a page; the canvas calls this when the page count is known."""
        place = self.geometry
        if self.watermark:
            with artifact(canvas, "Watermark"):
                canvas.saveState()
                canvas.translate(place.page_width / 2, place.page_height / 2)
                canvas.rotate(54)
                size = min(170.0, 0.86 * place.page_height * 100 / text_width(self.watermark, BOLD, 100))
                canvas.setStrokeColor(colour(WATERMARK))
                canvas.setLineWidth(0.9)
                # outlines only: they survive a photocopier and leave what is printed over them legible
                text = canvas.beginText(-text_width(self.watermark, BOLD, size) / 2, -size * 0.34)
                text.setFont(BOLD, size)
                text.setTextRenderMode(1)
                text.textOut(self.watermark)
                canvas.drawText(text)
                canvas.restoreState()
        with artifact(canvas, "Header"):
            self._header(canvas, self.named(canvas.named_on(page)))
        with artifact(canvas, "Footer"):
            _hairline(canvas, FOOTER_RULE, place.width)
            count = self.count(page, pages)
            wide = text_width(count, BOLD, LABEL + 0.5)
            _say(canvas, place.page_width - MARGIN - wide, FOOTER_BASELINE, count, BOLD, LABEL + 0.5, INK)
            size = one_line(self.footer, REGULAR, LABEL, place.width - wide - 16)
            _say(canvas, MARGIN, FOOTER_BASELINE, self.footer, REGULAR, size, MUTED)

    def _header(self, canvas: Any, named: str) -> None:
        """Draw the head: what has no room beside the number goes on rows of its own, the name above and areas below.

        Where the rows are too many the areas, and then the name, are left to what stands on the page itself.
        """
        place, size = self.geometry, LABEL + 0.5
        edge, left = place.page_width - MARGIN, MARGIN
        small, number = unbroken(self.right, REGULAR, size, place.width)
        wide = max(text_width(line, REGULAR, small) for line in number)
        if self.logo is not None:
            logo_wide, logo_high = self.logo.getSize()
            scale = min(60 / logo_wide, 16 / logo_high)
            left += float(logo_wide * scale) + 6
        own = text_width(named, REGULAR, size)
        below = bool(named) and own > edge - wide - 12 - left
        room = edge - left - wide - 12 - (own + 12 if named and not below else 0.0)
        above = text_width(self.left, BOLD, size) > room or len(number) > 1
        name_size, name = unbroken(self.left, BOLD, size, edge - left) if above else (size, (self.left,))
        rows = len(number) - 1 + len(name) * above
        if rows > ROWS_ABOVE:
            name = name if rows == ROWS_ABOVE + 1 else ()
            named, below = "" if below else named, False
        low = ROW * (below or rows > ROWS_ABOVE)  # the rule goes down with what stands below
        y = place.page_height - HEADER_BASELINE - (0.0 if below else low)
        if self.logo is not None:
            canvas.drawImage(self.logo, MARGIN, y - 5, logo_wide * scale, logo_high * scale)
        for up, line in enumerate(reversed(number)):
            x = edge - text_width(line, REGULAR, small)
            _say(canvas, x, y + ROW * up, line, REGULAR, small, MUTED)
        for up, line in enumerate(reversed(name)):
            _say(canvas, left, y + ROW * (up + len(number) * above), line, BOLD, name_size, MUTED)
        if below:
            own_size = one_line(named, REGULAR, size, edge - left)
            _say(canvas, edge - text_width(named, REGULAR, own_size), y - ROW, named, REGULAR, own_size, MUTED)
        elif named:  # in the midst, or wherever there is room
            first = left + text_width(self.left, BOLD, size) * (not above) + 12
            x = min(max((place.page_width - own) / 2, first), edge - wide - 12 - own)
            _say(canvas, x, y, named, REGULAR, size, MUTED)
        _hairline(canvas, place.page_height - HEADER_RULE - low, place.width)


def _say(canvas: Any, x: float, y: float, text: str, face: str, size: float, ink: str) -> None:
    """Write a line of head or foot; the space at its end keeps it apart from the next where text is taken out."""
    show_text(canvas, x, y, f"{text} ", face, size, ink)


def _hairline(canvas: Any, y: float, width: float) -> None:
    canvas.setStrokeColor(colour(HAIRLINE))
    canvas.setLineWidth(0.5)
    canvas.line(MARGIN, y, MARGIN + width, y)


class Laid(NamedTuple):
    """A file's bytes, its number of pages, and the share of its last page down to where something stands."""

    pdf: bytes
    pages: int
    filled: float


def build_pages(
    story: Sequence[Flowable], furniture: Furniture, *, title: str, language: str, first_page_foot: float = 0.0,
    finish_first_page: Callable[[Any], None] = lambda _canvas: None, foreign: Foreign | None = None,
) -> Laid:  # fmt: skip
    """Lay the story out.

    ``first_page_foot`` is the height kept free at the bottom of page 1 for what ``finish_first_page(canvas)`` draws;
    ``foreign`` knows which texts are in another language.
    """
    place, target = furniture.geometry, BytesIO()
    document = BaseDocTemplate(
        target,
        pagesize=(place.page_width, place.page_height),
        title=title,
        author=furniture.left,
        initialFontName=REGULAR,
        lang=language,
    )

    def frame(foot: float) -> Frame:
        return Frame(MARGIN, BODY_BOTTOM + foot, place.width, place.height - foot, 0, 0, 0, 0)

    def finish(canvas: Any, _document: Any) -> None:
        finish_first_page(canvas)

    document.addPageTemplates(
        [
            PageTemplate("first", [frame(first_page_foot)], onPageEnd=finish, autoNextPageTemplate="later"),
            PageTemplate("later", [frame(0)]),
        ]
    )
    document.build(list(story), canvasmaker=partial(ReportCanvas, title=title, furniture=furniture, foreign=foreign))
    left = document.frame._y - BODY_BOTTOM  # noqa: SLF001 - where the next piece would stand, which nothing else tells
    return Laid(target.getvalue(), document.page, 1 - left / place.height)
