"""Tagged PDF: flowables and canvas calls that say what a piece of a page *is*, so that a screen reader can follow it.

How a page author uses it::

    register_fonts()
    story = [
        heading("Readings", style, level=1),                    # H1 and a bookmark
        Tagged(Paragraph("…", body), "P"),
        *group("Sect", [heading("Area A1", style, level=2), TaggedTable(rows, header_rows=1, style=…)]),
        Tagged(chart, "Figure", alt="Histogram of 24 spots: …"),
        *tagged_list([Paragraph("…", body, bulletText="•")]),
    ]
    template.build(story, canvasmaker=canvas_maker(title="Report 7", lang="en", furniture=header_and_footer))

Text or an image drawn outside a tag and outside `artifact` raises `UntaggedContent` when the stretch ends; bare vector
drawing outside a tag is taken for decoration and becomes an artifact. On a canvas that is not a tagged `ReportCanvas`
everything here draws exactly as the flowable it wraps.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal
from xml.sax.saxutils import escape

from reportlab.platypus import Flowable, Paragraph

from reportgen.pdf.canvas import (
    ReportCanvas,
    SharedElement,
    artifact,
    canvas_maker,
    is_tagged,
    require_alt,
    tagged,
)
from reportgen.pdf.marked_content import ArtifactKind, UntaggedContent
from reportgen.pdf.structure import Role, placement
from reportgen.pdf.taggedtable import LayoutTable, TaggedTable

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "ArtifactKind",
    "LayoutTable",
    "PageReference",
    "ReportCanvas",
    "Role",
    "Tagged",
    "TaggedTable",
    "UntaggedContent",
    "artifact",
    "canvas_maker",
    "group",
    "heading",
    "tagged",
    "tagged_list",
]


class _Wrapper(Flowable):  # type: ignore[misc]  # reportlab has no types
    """A flowable that measures, keeps and breaks as the one inside it."""

    def __init__(self, flowable: Flowable) -> None:
        super().__init__()
        self.flowable = flowable
        self.hAlign = getattr(flowable, "hAlign", "LEFT")
        self.keepWithNext = flowable.getKeepWithNext()  # an attribute, because reportlab takes it back after use

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803  # reportlab's names
        """As the wrapped flowable."""
        self.width, self.height = self.flowable.wrapOn(self.canv, aW, aH)
        return self.width, self.height

    def minWidth(self) -> float:  # noqa: N802  # reportlab's name
        """As the wrapped flowable."""
        width: float = self.flowable.minWidth()
        return width

    def getSpaceBefore(self) -> float:  # noqa: N802  # reportlab's name
        """As the wrapped flowable."""
        space: float = self.flowable.getSpaceBefore()
        return space

    def getSpaceAfter(self) -> float:  # noqa: N802  # reportlab's name
        """As the wrapped flowable."""
        space: float = self.flowable.getSpaceAfter()
        return space

    def identity(self, maxLen: int | None = None) -> str:  # noqa: N803  # reportlab's name
        """As the wrapped flowable, for reportlab's messages."""
        return f"<{type(self).__name__} {self.flowable.identity(maxLen)}>"


def _link_texts(flowable: Flowable) -> dict[Any, str]:
    """The text of each link of a Paragraph that has not been laid out yet, by reportlab's key (number, target)."""
    texts: dict[Any, str] = {}
    for fragment in getattr(flowable, "frags", None) or ():
        for key in getattr(fragment, "link", None) or ():
            texts[key] = texts.get(key, "") + getattr(fragment, "text", "")
    return texts


class Tagged(_Wrapper):
    """A flowable with its role: wraps, splits and draws as the flowable does; its split parts stay one element.

    ``alt`` is required for Figure and Formula (ValueError). ``bookmark`` sets a destination of that name at its top,
    ``outline`` an entry (level from 0, title) in the viewer's outline, ``lang`` names another language than the
    document's. A Paragraph with ``<a href="#name">`` gets Link elements.
    """

    def __init__(
        self,
        flowable: Flowable,
        role: Role,
        *,
        alt: str | None = None,
        actual_text: str | None = None,
        lang: str | None = None,
        bookmark: str | None = None,
        outline: tuple[int, str] | None = None,
    ) -> None:
        super().__init__(flowable)
        require_alt(role, alt)
        self.role = role
        self.alt, self.actual_text, self.lang = alt, actual_text, lang
        self.bookmark, self.outline = bookmark, outline
        self._links = _link_texts(flowable)
        self._shared = SharedElement()

    def _part(self, flowable: Flowable) -> Tagged:
        part = Tagged(flowable, self.role, alt=self.alt, actual_text=self.actual_text, lang=self.lang)
        part._shared, part._links = self._shared, self._links
        return part

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803  # reportlab's names
        """The parts of the wrapped flowable; the first keeps the bookmark."""
        parts: list[Flowable] = [self._part(part) for part in self.flowable.splitOn(self.canv, aW, aH)]
        if parts:
            parts[0].bookmark, parts[0].outline = self.bookmark, self.outline
        return parts

    def drawOn(self, canvas: Any, x: float, y: float, _sW: float = 0) -> None:  # noqa: N802, N803  # reportlab's names
        """Draw inside the tag."""
        x = self._hAlignAdjust(x, _sW)
        top = y + self.height
        if self.bookmark is not None:
            canvas.bookmarkHorizontal(self.bookmark, x, top)
        if self.outline is not None:
            level, title = self.outline
            entry = f"{title} {canvas.getPageNumber()} {top:.3f}"  # no bookmark of the author's looks like it
            canvas.bookmarkHorizontal(entry, x, top)
            canvas.addOutlineEntry(title, entry, level)
        if is_tagged(canvas):
            self._draw_tagged(canvas, x, y)
        else:
            self.flowable.drawOn(canvas, x, y)

    def _draw_tagged(self, canvas: Any, x: float, y: float) -> None:
        element, new = self._shared.begin(canvas, self.role)
        if new:
            element.alt, element.actual_text, element.lang = self.alt, self.actual_text, self.lang
            if self.role == "Figure":
                element.attributes = placement(canvas, x, y, self.width, self.height)
        canvas.draw_linked(self.flowable, x, y, self._links)
        canvas.end()


def heading(text: str, style: Any, level: int, *, bookmark: str | None = None, outline: bool = True) -> Tagged:
    """A Paragraph tagged H1…H6 (``level`` 1 to 6), with an outline entry unless ``outline`` is False.

    ``text`` is plain: it is escaped here. ``bookmark`` names a destination for links and page references; names are
    unique in a document. Levels may not skip. ValueError for either, when it is drawn.
    """
    role: Any = f"H{level}"
    entry = (level - 1, text) if outline else None
    return Tagged(Paragraph(escape(text), style), role, bookmark=bookmark, outline=entry)


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
        if is_tagged(self.canv):
            self.canv.begin(self.role).attributes = self.attributes


class _Closing(Flowable):  # type: ignore[misc]  # reportlab has no types
    """Draws nothing: the end of what an `_Opening` began."""

    _ZEROSIZE = _SPACETRANSFER = True

    def draw(self) -> None:
        """Close the element."""
        if is_tagged(self.canv):
            self.canv.end()


def group(role: Literal["Part", "Sect", "Div", "TOC", "BlockQuote"], flowables: Sequence[Flowable]) -> list[Flowable]:
    """The flowables, bracketed so that their tags become children of one grouping element; pages may break inside."""
    return [_Opening(role), *flowables, _Closing()]


class _ListItem(_Wrapper):
    """An item of a list: the bullet of a Paragraph is its label, everything else its body."""

    def __init__(self, flowable: Flowable) -> None:
        super().__init__(flowable)
        self._links = _link_texts(flowable)
        self._item, self._body = SharedElement(), SharedElement()

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803  # reportlab's names
        """The parts of the wrapped flowable, all of one item."""
        return [self._part(part) for part in self.flowable.splitOn(self.canv, aW, aH)]

    def _part(self, flowable: Flowable) -> _ListItem:
        part = _ListItem(flowable)
        part._item, part._body, part._links = self._item, self._body, self._links
        return part

    def drawOn(self, canvas: Any, x: float, y: float, _sW: float = 0) -> None:  # noqa: N802, N803  # reportlab's names
        """Draw inside the tags."""
        if not is_tagged(canvas):
            self.flowable.drawOn(canvas, x, y, _sW)
            return
        _, new = self._item.begin(canvas, "LI")
        self._body.begin(canvas, "LBody")
        has_label = new and bool(getattr(self.flowable, "bulletText", None))
        canvas.draw_linked(self.flowable, self._hAlignAdjust(x, _sW), y, self._links, label=has_label)
        canvas.end()
        canvas.end()


def tagged_list(items: Sequence[Flowable], *, numbering: Literal["None", "Disc", "Decimal"] = "Disc") -> list[Flowable]:
    """L with one LI per flowable; a Paragraph's ``bulletText`` becomes the Lbl, the rest the LBody."""
    return [_Opening("L", f"/O/List/ListNumbering/{numbering}"), *map(_ListItem, items), _Closing()]


class PageReference(Flowable):  # type: ignore[misc]  # reportlab has no types
    """The page number of a bookmark, set when it is known: ``prefix + number``, e.g. "p. 4", linked to it.

    ``width`` (points) is reserved for it; it is aligned ``left`` or ``right`` in that width. ``title`` is what a screen
    reader says of the link; the bookmark's name otherwise. A bookmark that does not exist when the document is saved is
    an error of reportlab's. Put it into a table cell, or wrap it: ``Tagged(PageReference(…), "P")``.
    Needs a `ReportCanvas` (TypeError).
    """

    def __init__(
        self,
        bookmark: str,
        *,
        font: str,
        size: float,
        width: float,
        prefix: str = "",
        color: Any = None,
        align: Literal["left", "right"] = "left",
        title: str | None = None,
    ) -> None:
        super().__init__()
        self.width, self.height = width, size * 1.2
        self.bookmark, self.title, self.prefix = bookmark, title or bookmark, prefix
        self.font, self.size, self.color, self.align = font, size, color, align

    def draw(self) -> None:
        """Reserve the place; the number follows at save."""
        canvas = self.canv
        if not isinstance(canvas, ReportCanvas):
            raise TypeError("page references need a ReportCanvas")
        link = canvas.begin("Link")
        if link is not None:
            link.alt = self.title
        canvas.later(self._draw_number)
        canvas.linkRect(self.title, self.bookmark, (0, 0, self.width, self.height))
        canvas.end()

    def _draw_number(self, canvas: ReportCanvas) -> None:
        canvas.setFont(self.font, self.size)
        canvas.setFillColor(self.color or (0, 0, 0))
        text = f"{self.prefix}{canvas.page_of(self.bookmark)}"
        if self.align == "right":
            canvas.drawRightString(self.width, 0.2 * self.size, text)
        else:
            canvas.drawString(0, 0.2 * self.size, text)
