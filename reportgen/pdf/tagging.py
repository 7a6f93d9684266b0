"""Tagged PDF: flowables and canvas calls that say what a piece of a page *is*, so that a screen reader can follow it.

How a page author uses it::

    story = [
        title_text("Readings", "section", 1, bookmark="readings"),  # H1 and a bookmark
        Tagged(TextBlock("…", "body"), "P"),
        *group("Sect", [title_text("Area A1", "area", 2, bookmark="a1"), GroupedTable(columns, groups, "…")]),
        Tagged(chart, "Figure", alt="Histogram of 24 spots: …"),
        *tagged_list([Paragraph("…", body, bulletText="•")]),
    ]

Text or an image drawn outside a tag and outside `artifact` raises `UntaggedContent` when the stretch ends; bare vector
drawing outside a tag is taken for decoration and becomes an artifact. Everything here needs a `ReportCanvas`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from reportlab.platypus import Flowable

from reportgen.pdf.canvas import ReportCanvas, SharedElement, require_alt
from reportgen.pdf.structure import Role, placement
from reportgen.pdf.styles import BODY, REGULAR

if TYPE_CHECKING:
    from collections.abc import Sequence


class Tagged(Flowable):  # type: ignore[misc]  # reportlab has no types
    """A flowable with its role: wraps, splits and draws as the flowable does; its split parts stay one element.

    ``alt`` is required for Figure and Formula (ValueError). ``bookmark`` sets a destination of that name at its top,
    ``outline`` an entry (level from 0, title) in the viewer's outline.
    """

    def __init__(
        self,
        flowable: Flowable,
        role: Role,
        *,
        alt: str | None = None,
        bookmark: str | None = None,
        outline: tuple[int, str] | None = None,
    ) -> None:
        super().__init__()
        require_alt(role, alt)
        self.flowable = flowable
        self.role, self.alt = role, alt
        self.bookmark, self.outline = bookmark, outline
        self._shared = SharedElement()

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803  # reportlab's names
        """As the wrapped flowable."""
        self.width, self.height = self.flowable.wrapOn(self.canv, aW, aH)
        return self.width, self.height

    def getSpaceBefore(self) -> float:  # noqa: N802  # reportlab's name
        """As the wrapped flowable."""
        return float(self.flowable.getSpaceBefore())

    def getSpaceAfter(self) -> float:  # noqa: N802  # reportlab's name
        """As the wrapped flowable."""
        return float(self.flowable.getSpaceAfter())

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803  # reportlab's names
        """The parts of the wrapped flowable; the first keeps the bookmark."""
        parts: list[Flowable] = [self._part(part) for part in self.flowable.splitOn(self.canv, aW, aH)]
        if parts:
            parts[0].bookmark, parts[0].outline = self.bookmark, self.outline
        return parts

    def _part(self, flowable: Flowable) -> Tagged:
        part = Tagged(flowable, self.role, alt=self.alt)
        part._shared = self._shared
        return part

    def drawOn(self, canvas: Any, x: float, y: float, _sW: float = 0) -> None:  # noqa: N802, N803  # reportlab's names
        """Draw inside the tag."""
        top = y + self.height
        if self.bookmark is not None:
            canvas.bookmarkHorizontal(self.bookmark, x, top)
        if self.outline is not None:
            level, title = self.outline
            _, high = canvas.absolutePosition(x, top)
            entry = f"{title} {canvas.getPageNumber()} {high:.3f}"  # no bookmark of the author's looks like it
            canvas.bookmarkHorizontal(entry, x, top)
            canvas.addOutlineEntry(title, entry, level)
        element, new = self._shared.begin(canvas, self.role)
        if new:
            element.alt = self.alt
            if self.role == "Figure":
                element.attributes = placement(canvas, x, y, self.width, self.height)
        self.flowable.drawOn(canvas, x, y)
        canvas.end()


class _Opening(Flowable):  # type: ignore[misc]  # reportlab has no types
    """Draws nothing: the flowables after it, up to its `_Closing`, are children of one element.

    A heading's wish to stay with what follows is handed on to what really follows.
    """

    _ZEROSIZE = _SPACETRANSFER = True

    def __init__(self, role: Any, attributes: str = "") -> None:
        super().__init__()
        self.keepWithNext = True
        self.role, self.attributes = role, attributes

    def draw(self) -> None:
        """Open the element."""
        self.canv.begin(self.role).attributes = self.attributes


class _Closing(Flowable):  # type: ignore[misc]  # reportlab has no types
    """Draws nothing: the end of what an `_Opening` began."""

    _ZEROSIZE = _SPACETRANSFER = True

    def draw(self) -> None:
        """Close the element."""
        self.canv.end()


def group(role: Literal["Part", "Sect", "Div", "TOC", "BlockQuote"], flowables: Sequence[Flowable]) -> list[Flowable]:
    """The flowables, bracketed so that their tags become children of one grouping element; pages may break inside."""
    return [_Opening(role), *flowables, _Closing()]


class _ListItem(Tagged):
    """An item of a list: the bullet of a Paragraph is its label, everything else its body."""

    def __init__(self, flowable: Flowable) -> None:
        super().__init__(flowable, "LI")
        self._body = SharedElement()

    def _part(self, flowable: Flowable) -> _ListItem:
        part = _ListItem(flowable)
        part._shared, part._body = self._shared, self._body
        return part

    def drawOn(self, canvas: Any, x: float, y: float, _sW: float = 0) -> None:  # noqa: N802, N803  # reportlab's names
        """Draw inside the tags."""
        _, new = self._shared.begin(canvas, "LI")
        self._body.begin(canvas, "LBody")
        canvas.label_pending = new and bool(getattr(self.flowable, "bulletText", None))
        self.flowable.drawOn(canvas, x, y)
        canvas.end()
        canvas.end()


def tagged_list(items: Sequence[Flowable], *, numbering: Literal["None", "Disc", "Decimal"] = "Disc") -> list[Flowable]:
    """L with one LI per flowable; a Paragraph's ``bulletText`` becomes the Lbl, the rest the LBody."""
    return [_Opening("L", f"/O/List/ListNumbering/{numbering}"), *map(_ListItem, items), _Closing()]


class PageReference(Flowable):  # type: ignore[misc]  # reportlab has no types
    """The page number of a bookmark, set when it is known, linked to it.

    It stands at the right end of ``width`` (points). ``title`` is what a screen reader says of the link. A bookmark
    that does not exist when the document is saved is a KeyError. Put it into a table cell.
    """

    def __init__(self, bookmark: str, *, width: float, title: str, size: float = BODY) -> None:
        super().__init__()
        self.width, self.height = width, size * 1.2
        self.bookmark, self.title, self.size = bookmark, title, size

    def draw(self) -> None:
        """Reserve the place; the number follows at save."""
        self.canv.begin("Link").alt = self.title
        self.canv.later(self._draw_number)
        self.canv.link(self.bookmark, self.title, self.width, self.height)
        self.canv.end()

    def _draw_number(self, canvas: ReportCanvas) -> None:
        canvas.setFont(REGULAR, self.size)
        canvas.setFillColor((0, 0, 0))
        canvas.drawRightString(self.width, 0.2 * self.size, str(canvas.page_of(self.bookmark)))
