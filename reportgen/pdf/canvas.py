"""The canvas of the report: reportlab's, plus tags, page furniture and text that waits for page numbers."""

from __future__ import annotations

import re
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

from reportgen.pdf.fonts import register_fonts
from reportgen.pdf.marked_content import ARTIFACTS, ArtifactKind, LinkedText, Marks, SpacedText, UntaggedContent
from reportgen.pdf.pdffile import ReportFile
from reportgen.pdf.structure import Annotation, Element, Role, StructureTree, placement, text_string

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_AnyRole = Role | Literal["Table", "THead", "TBody", "TR", "TH", "TD", "Link"]
_LINK_SCHEMES = ("https://", "http://", "mailto:")
_WAITING = re.compile(r"^%\d+$", re.MULTILINE)


class ReportCanvas(Canvas):  # type: ignore[misc]  # reportlab has no types
    """A reportlab canvas that collects the structure tree while pages are drawn and writes it when saved.

    Parameters
    ----------
    filename : path or binary file, as for Canvas
    title : document title, shown by viewers in place of the file name; required when ``tagged`` (ValueError)
    lang : BCP 47 language of the document, e.g. ``"en"``; required when ``tagged`` (ValueError)
    tagged : False draws the same pages without any tag (for measuring)
    furniture : called once per page when the page count is known, as ``furniture(canvas, page_number, page_count)``;
        everything it draws becomes a pagination artifact *below* the page's content; it may use `artifact` to say
        Header, Footer or Watermark; it sets its own font and colours, and uses no transparency and no links
    options : the remaining keyword arguments of Canvas

    Fonts of the standard 14 are refused with ValueError: they are not embedded.
    """

    def __init__(
        self,
        filename: Any,
        *,
        title: str = "",
        lang: str | None = "en",
        tagged: bool = True,
        furniture: Callable[[ReportCanvas, int, int], None] | None = None,
        **options: Any,
    ) -> None:
        if tagged and not (title.strip() and lang):
            raise ValueError("a tagged document needs a title and a language")
        register_fonts()
        options["initialFontName"] = options.get("initialFontName") or "PlexSans"
        super().__init__(filename, lang=lang, **options)
        tree = StructureTree() if tagged else None
        self._doc = ReportFile(lang=lang or "", compression=1, tree=tree)
        self._pageCompression = 1
        self._document_title = title
        self._furniture = furniture
        self._marks = Marks(tree) if tree else None
        self._form_depth = 0
        self._link_texts: dict[Any, str] | None = None  # set while a paragraph with links is drawn
        self._phase: Literal["pages", "waiting", "furniture"] = "pages"
        self._label_pending = False  # the next text is the label of a list item
        self._pages_of: dict[str, int] = {}
        self._waiting: dict[int, dict[str, Callable[[ReportCanvas], None]]] = {}  # per page, by place

    # Tags

    @property
    def marks_content(self) -> bool:
        """True when what is drawn now can be tagged: a tagged canvas, outside artifacts, form XObjects and `later`."""
        marks = self._marks
        return marks is not None and not marks.in_artifact and self._form_depth == 0 and self._phase != "waiting"

    def begin(self, role: _AnyRole) -> Element | None:
        """Open a new element in the innermost open one; what is drawn until `end` is its content. None: not tagged."""
        if self._marks is None or not self.marks_content:
            return None
        if self._phase == "furniture":
            raise ValueError(f"page furniture cannot hold a {role}: it is not part of the text")
        if role[0] == "H" and role[1:].isdigit():
            self._marks.enter_heading(int(role[1:]))
        self._marks.stop(self._code)
        element = self._marks.stack[-1].child(role)
        self._marks.stack.append(element)
        self._marks.resume(self._code)
        return element

    def reopen(self, element: Element) -> None:
        """Go on with an element that was begun before, on an earlier page; `end` closes it again."""
        if self._marks is None:
            raise ValueError("not a tagged canvas")
        self._marks.stop(self._code)
        self._marks.stack.append(element)
        self._marks.resume(self._code)

    def end(self) -> None:
        """Close the innermost open element; the one around it goes on."""
        if self._marks is None or not self.marks_content:
            return
        if len(self._marks.stack) == 1:
            raise ValueError("no element is open")
        self._marks.stop(self._code)
        self._marks.stack.pop()
        self._marks.resume(self._code)

    def begin_artifact(self, kind: ArtifactKind) -> None:
        """What is drawn until `end_artifact` is not part of the text. Only where `marks_content`."""
        if self._marks is not None:
            self._marks.stop(self._code)
            self._marks.start(self._code, ARTIFACTS[kind])

    def end_artifact(self) -> None:
        """End of an artifact; the element around it goes on."""
        if self._marks is not None:
            self._marks.stop(self._code)
            self._marks.resume(self._code)

    # Drawing

    def draw_linked(self, flowable: Any, x: float, y: float, texts: dict[Any, str], *, label: bool = False) -> None:
        """Draw a Paragraph whose links become elements.

        ``texts`` are the words of its links, by reportlab's keys; ``label`` says that its bullet is a list label.
        """
        self._label_pending = label
        if texts and getattr(flowable.blPara, "kind", 1) == 0:  # one style throughout: all of it is one link
            link = self.begin("Link") or Element("", None)  # without tags there is nothing to name
            link.alt = " ".join(texts.values())
            flowable.drawOn(self, x, y)
            self.end()
        else:
            self._link_texts = texts or None
            flowable.drawOn(self, x, y)
            self._link_texts = None
        self._label_pending = False

    def beginText(self, x: float = 0, y: float = 0, direction: Any = None) -> Any:  # noqa: N802  # reportlab's name
        """A text object; inside a paragraph with links one that marks them."""
        if self._link_texts is not None and self._marks is not None and not self._label_pending:
            self._marks.stop(self._code)
            return LinkedText(self, self._marks, self._link_texts, x, y)
        if self.marks_content:
            return SpacedText(self, x, y, direction)
        return super().beginText(x, y, direction)

    def drawText(self, aTextObject: Any) -> None:  # noqa: N802, N803  # reportlab's names
        """As Canvas does; the first text of a list item becomes its label."""
        marks = self._marks
        if marks is not None and isinstance(aTextObject, LinkedText):
            marks.close_gap(self._code)
            super().drawText(aTextObject)
            marks.gap = len(self._code)
        elif marks is not None and self._label_pending:
            self._label_pending = False
            self.reopen(marks.stack[-1].sibling_before("Lbl"))
            super().drawText(aTextObject)
            self.end()
        else:
            super().drawText(aTextObject)

    def beginForm(self, *args: Any, **options: Any) -> None:  # noqa: N802  # reportlab's name
        """A form XObject: its content is marked where it is placed, not inside."""
        self._form_depth += 1
        super().beginForm(*args, **options)

    def endForm(self, **options: Any) -> None:  # noqa: N802  # reportlab's name
        """End of a form XObject."""
        super().endForm(**options)
        self._form_depth -= 1

    def keep(self, name: str, kept: Any) -> None:
        """Keep an object in the file under a name that references use; the first of a name is kept."""
        if name not in self._doc.idToObject:
            self._doc.Reference(kept, name)

    def linkURL(self, url: str, rect: Any, relative: int = 0, *_: Any, **__: Any) -> None:  # noqa: N802  # reportlab's
        """A link to a web or mail address, without border; ValueError for any other kind of address."""
        if not url.lower().startswith(_LINK_SCHEMES):
            raise ValueError(f"not a web or mail address: {url}")
        self._link(url, rect, relative, {"A": f"<</S/URI/URI{text_string(url)}>>"})

    def linkRect(self, *args: Any, relative: int = 1, **options: Any) -> None:  # noqa: N802  # reportlab's name
        """A link to a bookmark of this document, without border: ``linkRect(contents, bookmark, rectangle)``."""
        contents, bookmark, rect = (*args, options.get("Rect"))[:3]
        self._link(contents or bookmark, rect, relative, {"Dest": self._bookmarkReference(bookmark)})

    def _link(self, contents: str, rect: Any, relative: int, target: dict[str, Any]) -> None:
        if self._form_depth or self._phase != "pages" or (self._marks is not None and self._marks.in_artifact):
            raise UntaggedContent(f"a link outside the text of a page: {contents}")
        element = self._link_element()
        if element is not None and element.alt:
            contents = element.alt
        annotation = pdfdoc.PDFDictionary(
            {"Type": "/Annot", "Subtype": "/Link", "Border": "[0 0 0]", "Contents": text_string(contents)} | target
        )
        annotation["F"] = 4  # print: ISO 19005-3 §6.3.2
        annotation["Rect"] = pdfdoc.PDFArray(self._absRect(rect, relative))
        if element is not None and self._marks is not None:
            annotation["StructParent"] = self._marks.tree.annotation_key(element)
        self._addAnnotation(annotation)
        if element is not None:
            element.kids.append(Annotation(self._pageNumber - 1, self._doc.last_object_number))

    def _link_element(self) -> Element | None:
        """The element a link annotation belongs to: the link whose text was drawn, the one open, or a new one."""
        marks = self._marks
        if marks is None:
            return None
        element = marks.links.pop(0) if marks.links else marks.stack[-1]
        return element if element.role == "Link" else element.child("Link")

    def bookmarkPage(self, key: str, *args: Any, **options: Any) -> Any:  # noqa: N802  # reportlab's name
        """As Canvas does; the page is remembered for `page_of`. ValueError for a name already in use."""
        if key in self._pages_of:
            raise ValueError(f"two bookmarks of the same name: {key}")
        self._pages_of[key] = self._pageNumber
        return super().bookmarkPage(key, *args, **options)

    # Pages

    def later(self, draw: Callable[[ReportCanvas], None]) -> None:
        """Reserve this place of the content; ``draw(canvas)`` fills it at save, knowing `page_of` and `page_count`.

        The coordinates there are those of this place; ``draw`` sets its own font and colours, and what it changes does
        not leak. It may draw text and lines, not images or links, and belongs to the tag that is open now.
        """
        if self._form_depth or self._phase != "pages":
            raise ValueError("text that waits for page numbers belongs into a page's content")
        # a line of its own: no text in the content can look like it, since strings escape line feeds
        places = self._waiting.setdefault(self._pageNumber, {})
        place = f"%{len(places)}"
        places[place] = draw
        self._code.append(place)

    def page_of(self, destination: str) -> int:
        """Page number (from 1) of a bookmark; KeyError for a name that none has. Complete only inside `later`."""
        return self._pages_of[destination]

    @property
    def page_count(self) -> int:
        """Number of pages; complete only inside `later` and in ``furniture``."""
        return len(self._doc.Pages.pages)

    def showPage(self) -> None:  # noqa: N802  # reportlab's name
        """Close the page; elements that hold elements stay open for the next, others must be closed (ValueError)."""
        marks = self._marks
        if marks is not None:
            if marks.open is not None:
                raise ValueError(f"a page ends inside a mark: {marks.open}")
            marks.close_gap(self._code)
        states = self._extgstate
        super().showPage()
        self._doc.Pages.pages[-1].graphics_states = states
        if marks is not None:
            marks.tree.pages.append(marks.owners)
            marks.owners, marks.gap = [], 0

    def getpdfdata(self) -> bytes:
        """The bytes of the document; the canvas must not be used afterwards."""
        if self._code:
            self.showPage()
        for number, page in enumerate(self._doc.Pages.pages, 1):
            self._phase = "waiting"
            texts = {place: self._drawn_apart(page, draw) for place, draw in self._waiting.get(number, {}).items()}
            if texts:
                page.stream = _filled(page.stream, texts)
            if self._furniture is not None:
                self._phase = "furniture"
                draw = partial(self._draw_furniture, self._furniture, number)
                page.stream = f"{self._drawn_apart(page, draw)}\n{page.stream}"
        data: bytes = self._doc.write(self, self._document_title)
        return data

    def _drawn_apart(self, page: Any, draw: Callable[[ReportCanvas], None]) -> str:
        """The code of a drawing for a page that is already closed; its images and states are added to the page's."""
        self._restartAccumulators()
        self.init_graphics_state()
        self._extgstate = page.graphics_states
        draw(self)
        page.ExtGState = self._extgstate.getState()
        if self._formsinuse:
            placed = dict(page.XObjects.dict) if page.XObjects else {}
            page.XObjects = pdfdoc.PDFDictionary(placed | self._doc.xobjDict(self._formsinuse).dict)
        return "\n".join(["q", *self._code, "Q"])

    def _draw_furniture(
        self, furniture: Callable[[ReportCanvas, int, int], None], number: int, _canvas: ReportCanvas
    ) -> None:
        if self._marks is None:
            furniture(self, number, self.page_count)
            return
        self._marks.gap, self._marks.gap_kind = 0, "Pagination"
        furniture(self, number, self.page_count)
        self._marks.close_gap(self._code)

    def save(self) -> None:
        """Write the document to the file or path given at the start."""
        data = self.getpdfdata()
        if hasattr(self._filename, "write"):
            self._filename.write(data)
        else:
            Path(self._filename).write_bytes(data)


def _filled(code: str, texts: dict[str, str]) -> str:
    return _WAITING.sub(lambda place: texts[place[0]], code)


def canvas_maker(
    *,
    title: str,
    lang: str = "en",
    tagged: bool = True,
    furniture: Callable[[ReportCanvas, int, int], None] | None = None,
) -> Callable[..., ReportCanvas]:
    """The ``canvasmaker`` of ``BaseDocTemplate.build``, with the same parameters as `ReportCanvas`."""

    def make(filename: Any, **options: Any) -> ReportCanvas:
        options["lang"] = lang  # the template passes its own, usually None
        return ReportCanvas(filename, title=title, tagged=tagged, furniture=furniture, **options)

    return make


def is_tagged(canvas: Canvas) -> bool:
    """True when elements can be begun on the canvas now; False on any canvas but a tagged `ReportCanvas`."""
    return bool(getattr(canvas, "marks_content", False))


class SharedElement:
    """The element that the split parts of one flowable share, on the canvas they are drawn on."""

    def __init__(self) -> None:
        self._canvas: ReportCanvas | None = None
        self._element = Element("", None)

    def begin(self, canvas: ReportCanvas, role: _AnyRole) -> tuple[Element, bool]:
        """Open the element on a tagged canvas, or go on with it; True when it is new."""
        if self._canvas is canvas:
            canvas.reopen(self._element)
            return self._element, False
        element = canvas.begin(role)
        if element is None:
            raise ValueError("not a tagged canvas")
        self._canvas, self._element = canvas, element
        return element, True


@contextmanager
def artifact(canvas: Canvas, kind: ArtifactKind = "Layout") -> Iterator[None]:
    """What is drawn inside is furniture or decoration: not read aloud. Inside another artifact it changes nothing."""
    if is_tagged(canvas):
        canvas.begin_artifact(kind)
        yield
        canvas.end_artifact()
    else:
        yield


@contextmanager
def tagged(
    canvas: Canvas,
    role: Role,
    *,
    alt: str | None = None,
    actual_text: str | None = None,
    lang: str | None = None,
    at: tuple[float, float, float, float] | None = None,
) -> Iterator[Element | None]:
    """What is drawn on the canvas inside becomes one structure element; nests.

    ``alt`` describes a Figure in words (ValueError where it is missing there); ``actual_text`` is the text that a
    drawing stands for; ``at`` is where a Figure lies: left, bottom, width and height. On a canvas without tags it does
    nothing and yields None.
    """
    require_alt(role, alt)
    element = canvas.begin(role) if is_tagged(canvas) else None
    if element is not None:
        element.alt, element.actual_text, element.lang = alt, actual_text, lang
        if at is not None:
            element.attributes = placement(canvas, *at)
    yield element
    if element is not None:
        canvas.end()


def require_alt(role: str, alt: str | None) -> None:
    """ValueError when an element of this role needs a text in place of its picture and has none."""
    if role in ("Figure", "Formula") and not (alt and alt.strip()):
        raise ValueError(f"a {role} needs an alternative text")
