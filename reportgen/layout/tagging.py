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

Text or an image drawn outside a tag and outside `artifact` raises `UntaggedContent` when the page closes; bare vector
drawing outside a tag is taken for decoration and becomes an artifact. On a canvas that is not a tagged `ReportCanvas`
every class here draws exactly as the flowable it wraps.
"""

from __future__ import annotations

from contextlib import contextmanager
from functools import partial
from typing import TYPE_CHECKING, Any, Literal

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Table

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

Role = Literal[
    "Part", "Sect", "Div", "BlockQuote", "Caption", "TOC", "TOCI", "Index", "P",
    "H1", "H2", "H3", "H4", "H5", "H6", "L", "LI", "Lbl", "LBody",
    "Span", "Quote", "Reference", "Code", "Figure", "Formula", "Form",
]  # fmt: skip
ArtifactKind = Literal["Layout", "Page", "Background", "Header", "Footer", "Watermark"]


class UntaggedContent(RuntimeError):
    """A page holds text or an image that belongs to no tag and to no artifact: a bug in the layout, named with its text."""


class ReportCanvas(Canvas):  # type: ignore[misc]  # reportlab has no types
    """A reportlab canvas that collects the structure tree while pages are drawn and writes it when saved.

    Parameters
    ----------
    filename : path or binary file, as for Canvas
    title : document title, shown by viewers in place of the file name; not empty when ``tagged``
    lang : BCP 47 language of the document, e.g. ``"en"``
    tagged : False draws the same pages without any tag (for measuring)
    furniture : called once per page when the page count is known, as ``furniture(canvas, page_number, page_count)``;
        everything it draws becomes a pagination artifact *below* the page's content; it may use `artifact` to say
        Header, Footer or Watermark and must set its own font and colours
    options : the remaining keyword arguments of Canvas

    Fonts of the standard 14 are refused with ValueError: they are not embedded.
    """

    def __init__(self, filename: Any, *, title: str = "", lang: str = "en", tagged: bool = True,
                 furniture: Callable[[ReportCanvas, int, int], None] | None = None, **options: Any) -> None:
        options["lang"] = lang
        super().__init__(filename, **options)

    def later(self, draw: Callable[[ReportCanvas], None]) -> None:
        """Reserve this place of the content; ``draw(canvas)`` fills it at save, when `page_of` and `page_count` are known.

        The graphics state there is that of this place; what ``draw`` changes of it does not leak. It may draw text and
        lines, not images or links, and belongs to the tag that is open now.
        """

    def page_of(self, destination: str) -> int:
        """Page number (from 1) of a bookmark; KeyError when there is none of that name. Complete only inside `later`."""
        raise KeyError(destination)

    @property
    def page_count(self) -> int:
        """Number of pages; complete only inside `later` and in ``furniture``."""
        return int(self.getPageNumber())


def canvas_maker(*, title: str, lang: str = "en", tagged: bool = True,
                 furniture: Callable[[ReportCanvas, int, int], None] | None = None) -> Callable[..., ReportCanvas]:
    """The ``canvasmaker`` of ``BaseDocTemplate.build``, with the same parameters as `ReportCanvas`."""
    return partial(ReportCanvas, title=title, tagged=tagged, furniture=furniture)


@contextmanager
def artifact(canvas: Canvas, kind: ArtifactKind = "Layout") -> Iterator[None]:
    """What is drawn inside is furniture or decoration: not read aloud. May not be opened inside another artifact."""
    yield


@contextmanager
def tagged(canvas: Canvas, role: Role, *, alt: str | None = None, actual_text: str | None = None,
           lang: str | None = None) -> Iterator[None]:
    """What is drawn on the canvas inside becomes one structure element; nests.

    ``alt`` describes a Figure in words (needed there); ``actual_text`` is the text that a drawing stands for.
    """
    yield


class Tagged(Flowable):  # type: ignore[misc]
    """A flowable with its role: wraps, splits and draws as the flowable does; its split parts stay one element.

    ``alt`` is required for Figure and Formula (ValueError). ``bookmark`` sets a destination of that name at its top,
    ``outline`` an entry (level from 0, title) in the viewer's outline, ``lang`` another language than the document's.
    A Paragraph with ``<a href="#name">`` gets Link elements for its links.
    """

    def __init__(self, flowable: Flowable, role: Role, *, alt: str | None = None, actual_text: str | None = None,
                 lang: str | None = None, bookmark: str | None = None, outline: tuple[int, str] | None = None) -> None:
        super().__init__()
        self.flowable = flowable

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """As the wrapped flowable."""
        size: tuple[float, float] = self.flowable.wrapOn(self.canv, available_width, available_height)
        return size

    def draw(self) -> None:
        """As the wrapped flowable, inside its tag."""
        self.flowable.drawOn(self.canv, 0, 0)


def heading(text: str, style: Any, level: int, *, bookmark: str | None = None, outline: bool = True) -> Tagged:
    """A Paragraph tagged H1…H6 (``level`` 1 to 6), with an outline entry unless ``outline`` is False.

    ``text`` is plain: it is escaped here. Levels may not skip (an H3 needs an H2 above it): checked at save.
    """
    from xml.sax.saxutils import escape

    from reportlab.platypus import Paragraph

    return Tagged(Paragraph(escape(text), style), f"H{level}", bookmark=bookmark)  # type: ignore[arg-type]


def group(role: Literal["Part", "Sect", "Div", "TOC", "BlockQuote"], flowables: Sequence[Flowable]) -> list[Flowable]:
    """The flowables, bracketed so that their tags become children of one grouping element; pages may break inside."""
    return list(flowables)


def tagged_list(items: Sequence[Flowable], *, numbering: Literal["None", "Disc", "Decimal"] = "Disc") -> list[Flowable]:
    """L with one LI per flowable; a Paragraph's ``bulletText`` becomes the Lbl, the rest the LBody."""
    return list(items)


class TaggedTable(Table):  # type: ignore[misc]
    """A platypus Table whose rows and cells are tagged; survives splitting over pages as one Table element.

    The first ``header_rows`` rows are TH with scope Column, the first ``header_columns`` columns TH with scope Row.
    Header rows repeat on each page (``repeatRows`` defaults to ``header_rows``); the repeats are artifacts.
    Strings are set in PlexSans unless the style says otherwise. A cell may hold strings, flowables, or `Tagged`
    flowables, which become children of the cell. ``summary`` describes the table for a screen reader.
    Spans become ColSpan and RowSpan. ``href`` and ``destination`` cell styles become Link elements.
    """

    def __init__(self, data: Sequence[Sequence[Any]], colWidths: Any = None, rowHeights: Any = None, style: Any = None,  # noqa: N803 (reportlab's own names)
                 *, header_rows: int = 1, header_columns: int = 0, summary: str | None = None, **options: Any) -> None:
        options.setdefault("repeatRows", header_rows)
        super().__init__(data, colWidths, rowHeights, style, **options)


class LayoutTable(Table):  # type: ignore[misc]
    """A Table used only to place things side by side: no Table tag; its `Tagged` cells keep theirs, in row order.

    A non-empty string in a cell becomes a P; an untagged flowable in a cell must be decoration only.
    """


class PageReference(Flowable):  # type: ignore[misc]
    """The page number of a bookmark, set when it is known: ``prefix + number``, e.g. "p. 4", linked to it.

    ``width`` is reserved for it; it is aligned ``left`` or ``right`` in that width. A bookmark that does not exist when
    the document is saved is a KeyError. Put it into a table cell, or wrap it: ``Tagged(PageReference(…), "P")``.
    """

    def __init__(self, bookmark: str, *, font: str, size: float, width: float, prefix: str = "", color: Any = None,
                 align: Literal["left", "right"] = "left") -> None:
        super().__init__()
        self.width, self.height = width, size * 1.2

    def draw(self) -> None:
        """Reserve the place; the number follows at save."""


class SignatureField(Flowable):  # type: ignore[misc]
    """An empty, named signature field over a block that is ordinary page content (``flowable``), tagged Form.

    ``description`` is what a screen reader says (``/TU``), e.g. "Signature of the inspector". The field has an empty
    appearance, so the block stays visible as drawn. Names: letters, digits, ``-`` and ``_``; no dot.
    """

    def __init__(self, flowable: Flowable, name: str, description: str) -> None:
        super().__init__()
        self.flowable = flowable

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """As the wrapped flowable."""
        size: tuple[float, float] = self.flowable.wrapOn(self.canv, available_width, available_height)
        return size

    def draw(self) -> None:
        """The block, then the field over it."""
        self.flowable.drawOn(self.canv, 0, 0)
