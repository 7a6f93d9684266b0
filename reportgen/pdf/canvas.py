"""The canvas of the report: reportlab's, plus tags, page furniture and text that waits for page numbers."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Literal

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

from reportgen.pdf.fonts import register_fonts
from reportgen.pdf.marked_content import ARTIFACTS, ArtifactKind, Marks, SpacedText, UntaggedContent
from reportgen.pdf.pdffile import ReportFile
from reportgen.pdf.structure import Annotation, Element, Role, StructureTree, placement, text_string

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportgen.pdf.foreign import Foreign

_AnyRole = Role | Literal["Table", "THead", "TBody", "TR", "TH", "TD", "Link"]


class ReportCanvas(Canvas):  # type: ignore[misc]  # reportlab has no types
    """A reportlab canvas that collects the structure tree while pages are drawn and writes it when saved.

    Parameters
    ----------
    into : binary file
    title : document title, shown by viewers in place of the file name; required (ValueError)
    lang : BCP 47 language of the document, e.g. ``"en"``; required (ValueError)
    furniture : called once per page when the page count is known, as ``furniture(canvas, page_number, page_count)``;
        everything it draws becomes a pagination artifact *below* the page's content; it may use `artifact` to say
        Header, Footer or Watermark; it sets its own font and colours, and uses no transparency and no links
    foreign : knows which texts are in another language; their elements say so
    options : the remaining keyword arguments of Canvas

    Fonts of the standard 14 are refused with ValueError: they are not embedded.
    """

    def __init__(
        self,
        into: Any,
        *,
        title: str,
        lang: str | None = "en",
        furniture: Callable[[ReportCanvas, int, int], None] | None = None,
        foreign: Foreign | None = None,
        **options: Any,
    ) -> None:
        if not (title.strip() and lang):
            raise ValueError("a tagged document needs a title and a language")
        register_fonts()
        options["initialFontName"] = options.get("initialFontName") or "PlexSans"
        super().__init__(into, lang=lang, **options)
        tree = StructureTree()
        self._doc = ReportFile(lang, tree)
        self._pageCompression = 1
        self._document_title = title
        self._furniture = furniture
        self._foreign = foreign
        self._marks = Marks(tree)
        self._form_depth = 0
        self._phase: Literal["pages", "waiting", "furniture"] = "pages"
        self.label_pending = False  # the next text is the label of a list item
        self._pages_of: dict[str, int] = {}
        self._named: dict[int, dict[str, None]] = {}  # per page, what its head names
        self._waiting: dict[int, dict[str, Callable[[ReportCanvas], None]]] = {}  # per page, by place

    # Tags

    @property
    def marks_content(self) -> bool:
        """True when what is drawn now can be tagged: outside artifacts, form XObjects and `later`."""
        return not self._marks.in_artifact and self._form_depth == 0 and self._phase != "waiting"

    def begin(self, role: _AnyRole) -> Element | None:
        """Open a new element in the innermost open one; what is drawn until `end` is its content. None: not tagged.

        ValueError for a heading that skips a level (ISO 14289-1 §7.4.2), and in page furniture.
        """
        marks = self._marks
        if not self.marks_content:
            return None
        if self._phase == "furniture":
            raise ValueError(f"page furniture cannot hold a {role}: it is not part of the text")
        if role[0] == "H" and role[1:].isdigit():
            level = int(role[1:])
            if level > marks.heading + 1:
                raise ValueError(f"heading H{level} follows H{marks.heading}: a level is skipped")
            marks.heading = level
        element = marks.stack[-1].child(role)
        self.reopen(element)
        return element

    def reopen(self, element: Element) -> None:
        """Go on with an element that was begun before, on an earlier page; `end` closes it again."""
        self._marks.stop(self._code)
        self._marks.stack.append(element)
        self._marks.resume(self._code)

    def end(self) -> None:
        """Close the innermost open element; the one around it goes on."""
        if not self.marks_content:
            return
        if len(self._marks.stack) == 1:
            raise ValueError("no element is open")
        self._marks.stop(self._code)
        self._marks.stack.pop()
        self._marks.resume(self._code)

    def says(self, text: str) -> None:
        """Note the language of a text that is drawn now."""
        if self._foreign is not None and self.marks_content:
            self._foreign.hear(self._marks.stack[-1], text)

    # Drawing

    def beginText(self, x: float = 0, y: float = 0, direction: Any = None) -> Any:  # noqa: N802  # reportlab's name
        """A text object; one with spaces at line ends where it is read."""
        return SpacedText(self, x, y, direction) if self.marks_content else super().beginText(x, y, direction)

    def drawText(self, aTextObject: Any) -> None:  # noqa: N802, N803  # reportlab's names
        """As Canvas does; the first text of a list item becomes its label."""
        label, self.label_pending = self.label_pending, False
        if label:
            self.reopen(self._marks.stack[-1].sibling_before("Lbl"))
        super().drawText(aTextObject)
        if label:
            self.end()

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

    def link(self, bookmark: str, title: str, width: float, height: float) -> None:
        """Make the rectangle at the origin a link to a bookmark, part of the Link element that is open."""
        if self._form_depth or self._phase != "pages" or self._marks.in_artifact:
            raise UntaggedContent(f"a link outside the text of a page: {title}")
        element = self._marks.stack[-1]
        if element.role != "Link":
            raise UntaggedContent(f"a link outside its element: {title}")
        link = {
            "Subtype": "/Link", "Border": "[0 0 0]", "Contents": text_string(title),
            "Dest": self._bookmarkReference(bookmark),
            "F": 4,  # print: ISO 19005-3 §6.3.2
        }  # fmt: skip
        self.annotate(link, (0, 0, width, height), element)

    def annotate(
        self, entries: dict[str, Any], rect: tuple[float, float, float, float], element: Element | None = None
    ) -> int:
        """Add an annotation at ``rect`` (two corners), part of an element where one is given; return its number."""
        of = {} if element is None else {"StructParent": self._marks.tree.annotation_key(element)}
        corners = [round(one, 2) for one in self._absRect(rect, relative=1)]
        self._addAnnotation(pdfdoc.PDFDictionary({"Type": "/Annot", "Rect": pdfdoc.PDFArray(corners)} | entries | of))
        number: int = self._doc.objectcounter
        if element is not None:
            element.kids.append(Annotation(self._pageNumber - 1, number))
        return number

    def bookmarkPage(self, key: str, *args: Any, **options: Any) -> Any:  # noqa: N802  # reportlab's name
        """As Canvas does; the page is remembered for `page_of`. ValueError for a name already in use."""
        if key in self._pages_of:
            raise ValueError(f"two bookmarks of the same name: {key}")
        self._pages_of[key] = self._pageNumber
        return super().bookmarkPage(key, *args, **options)

    # Pages

    def later(self, draw: Callable[[ReportCanvas], None]) -> None:
        """Reserve this place of the content; ``draw(canvas)`` fills it at save, knowing `page_of`.

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

    def names(self, what: str) -> None:
        """Have the head of the current page name something that stands on it, once: `G-5 (continued)` names G-5."""
        named = self._named.setdefault(self._pageNumber, {})
        if not any(one == what or one.startswith(f"{what} (") for one in named):
            named[what] = None

    def named_on(self, page: int) -> tuple[str, ...]:
        """Return what the head of a page (from 1) is to name, in the order of the page."""
        return tuple(self._named.get(page, ()))

    def page_of(self, destination: str) -> int:
        """Page number (from 1) of a bookmark; KeyError for a name that none has. Complete only inside `later`."""
        return self._pages_of[destination]

    def found(self, destination: str) -> int | None:
        """The same; None for a name that none has."""
        return self._pages_of.get(destination)

    def showPage(self) -> None:  # noqa: N802  # reportlab's name
        """Close the page; elements that hold elements stay open for the next, others must be closed (ValueError)."""
        marks = self._marks
        if marks.open is not None:
            raise ValueError(f"a page ends inside a mark: {marks.open}")
        marks.close_gap(self._code)
        states = self._extgstate
        super().showPage()
        self._doc.Pages.pages[-1].graphics_states = states
        marks.tree.pages.append(marks.owners)
        marks.owners, marks.gap = [], 0

    def getpdfdata(self) -> bytes:
        """The bytes of the document; the canvas must not be used afterwards."""
        if self._code:
            self.showPage()
        pages = self._doc.Pages.pages
        for number, page in enumerate(pages, 1):
            self._phase = "waiting"
            texts = {place: self._drawn_apart(page, draw) for place, draw in self._waiting.get(number, {}).items()}
            page.stream = "\n".join([texts.get(line, line) for line in page.stream.split("\n")])
            if self._furniture is not None:
                self._phase = "furniture"
                page.stream = f"{self._drawn_apart(page, self._furniture, number, len(pages))}\n{page.stream}"
        if self._foreign is not None:
            self._foreign.tell(self._marks.tree.root.walk())
        data: bytes = self._doc.write(self, self._document_title)
        return data

    def _drawn_apart(self, page: Any, draw: Callable[..., None], *numbers: int) -> str:
        """The code of a drawing for a page that is already closed; its images and states are added to the page's."""
        self._restartAccumulators()
        self.init_graphics_state()
        self._extgstate = page.graphics_states
        self._marks.gap, self._marks.gap_kind = 0, "Pagination"
        draw(self, *numbers)
        if self._phase == "furniture":
            self._marks.close_gap(self._code)
        page.ExtGState = self._extgstate.getState()
        if self._formsinuse:
            placed = dict(page.XObjects.dict) if page.XObjects else {}
            page.XObjects = pdfdoc.PDFDictionary(placed | self._doc.xobjDict(self._formsinuse).dict)
        return "\n".join(["q", *self._code, "Q"])

    def save(self) -> None:
        """Write the document to the file given at the start."""
        self._filename.write(self.getpdfdata())


class SharedElement:
    """The element that the split parts of one flowable share, on the canvas they are drawn on."""

    def __init__(self) -> None:
        self._canvas: ReportCanvas | None = None
        self._element: Element | None = None

    def begin(self, canvas: ReportCanvas, role: _AnyRole) -> tuple[Element, bool]:
        """Open the element, or go on with it; True when it is new. ValueError where nothing is tagged."""
        if self._canvas is canvas and self._element is not None:
            canvas.reopen(self._element)
            return self._element, False
        element = canvas.begin(role)
        if element is None:
            raise ValueError(f"a {role} inside an artifact")
        self._canvas, self._element = canvas, element
        return element, True


@contextmanager
def artifact(canvas: ReportCanvas, kind: ArtifactKind = "Layout") -> Iterator[None]:
    """What is drawn inside is furniture or decoration: not read aloud. Inside another artifact it changes nothing."""
    if not canvas.marks_content:
        yield
        return
    marks = canvas._marks  # noqa: SLF001 - one piece with the canvas, as is its code
    marks.stop(canvas._code)  # noqa: SLF001
    marks.start(canvas._code, ARTIFACTS[kind])  # noqa: SLF001
    yield
    marks.stop(canvas._code)  # noqa: SLF001
    marks.resume(canvas._code)  # noqa: SLF001


@contextmanager
def tagged(
    canvas: ReportCanvas,
    role: Role,
    *,
    alt: str | None = None,
    at: tuple[float, float, float, float] | None = None,
) -> Iterator[Element | None]:
    """What is drawn on the canvas inside becomes one structure element; nests.

    ``alt`` describes a Figure in words (ValueError where it is missing there); ``at`` is where a Figure lies: left,
    bottom, width and height. Inside an artifact it does nothing and yields None.
    """
    require_alt(role, alt)
    element = canvas.begin(role)
    if element is not None:
        element.alt = alt
        if at is not None:
            element.attributes = placement(canvas, *at)
    yield element
    if element is not None:
        canvas.end()


def require_alt(role: str, alt: str | None) -> None:
    """ValueError when an element of this role needs a text in place of its picture and has none."""
    if role in ("Figure", "Formula") and not (alt and alt.strip()):
        raise ValueError(f"a {role} needs an alternative text")
