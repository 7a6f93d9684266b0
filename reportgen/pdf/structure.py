"""The structure tree of a tagged PDF: what each piece of the pages is, in reading order, and its form in the file.

ISO 32000-1 §14.7 (logical structure) and §14.8 (tagged PDF); names of roles as there, no others.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from reportgen.pdf.fonts import storable

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Role = Literal[
    "Part", "Sect", "Div", "BlockQuote", "Caption", "TOC", "TOCI", "Index", "P",
    "H1", "H2", "H3", "H4", "H5", "H6", "L", "LI", "Lbl", "LBody",
    "Span", "Quote", "Reference", "Code", "Figure", "Formula", "Form",
]  # fmt: skip

# these hold elements, never content of their own
CONTAINERS = frozenset(
    {
        "Document", "Part", "Sect", "Div", "BlockQuote", "TOC", "TOCI", "Index", "L", "LI", "Form",
        "Table", "THead", "TBody", "TR",
    }
)  # fmt: skip

# keys of the parent tree: pages from 0, annotations from here; no report has a million pages
_FIRST_ANNOTATION_KEY = 1_000_000


def text_string(text: str) -> str:
    """A PDF text string: literal where it is plain ASCII, else UTF-16 in hexadecimal.

    >>> text_string("page (4)")
    '(page \\\\(4\\\\))'
    >>> text_string("µm")
    '<FEFF00B5006D>'
    """
    if text.isascii() and text.isprintable():
        escaped = text.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
        return f"({escaped})"
    return f"<FEFF{storable(text).encode('utf-16-be').hex().upper()}>"


class Content(NamedTuple):
    """A marked-content sequence: page index (from 0) and its number on that page."""

    page: int
    number: int


class Annotation(NamedTuple):
    """An annotation as content of an element: page index and object number."""

    page: int
    object_number: int


@dataclass(eq=False, slots=True)
class Element:
    """One structure element. ``attributes`` is the inside of its attribute dictionary in PDF syntax, owner included."""

    role: str
    parent: Element | None
    kids: list[Element | Content | Annotation] = field(default_factory=list)
    alt: str | None = None
    language: str = ""  # where it is not that of the document
    attributes: str = ""
    number: int = 0  # of its object; given when the file is written

    def child(self, role: str) -> Element:
        """A new last child."""
        element = Element(role, self)
        self.kids.append(element)
        return element

    def sibling_before(self, role: str) -> Element:
        """A new element beside this one, read before it; ValueError for the root."""
        if self.parent is None:
            raise ValueError("the root has no siblings")
        element = Element(role, self.parent)
        self.parent.kids.insert(self.parent.kids.index(self), element)
        return element

    def walk(self) -> Iterator[Element]:
        """The element and all below it, in reading order."""
        pending = [self]
        while pending:
            element = pending.pop()
            yield element
            pending.extend(kid for kid in reversed(element.kids) if type(kid) is Element)

    def body(self, parent: int, pages: Sequence[int]) -> str:
        """The dictionary in PDF syntax; ``pages`` are the object numbers of the pages."""
        kids, held = self.kids, ""
        if len(kids) == 1 and type(kids[0]) is Content:  # nine of ten: a cell with its text
            held = f"/Pg {pages[kids[0].page]} 0 R/K {kids[0].number}"
        elif kids:
            home = next((kid.page for kid in kids if type(kid) is Content), None)
            place = "" if home is None else f"/Pg {pages[home]} 0 R"
            held = f"{place}/K[{' '.join([_kid(kid, home, pages) for kid in kids])}]"
        attributes = f"/A<<{self.attributes}>>" if self.attributes else ""
        words = "" if self.alt is None else f"/Alt{text_string(self.alt)}"
        language = f"/Lang({self.language})" if self.language else ""
        return f"<</S/{self.role}/P {parent} 0 R{held}{attributes}{language}{words}>>"


def _kid(kid: Element | Content | Annotation, home: int | None, pages: Sequence[int]) -> str:
    if type(kid) is Element:
        return f"{kid.number} 0 R"
    if type(kid) is Content:
        if kid.page == home:
            return str(kid.number)
        return f"<</Type/MCR/Pg {pages[kid.page]} 0 R/MCID {kid.number}>>"
    assert type(kid) is Annotation  # noqa: S101  # narrows for mypy; the union has no fourth member
    return f"<</Type/OBJR/Pg {pages[kid.page]} 0 R/Obj {kid.object_number} 0 R>>"


class StructureTree:
    """The tree and, per page and annotation, which element each piece of content belongs to (the parent tree)."""

    def __init__(self) -> None:
        self.root = Element("Document", None)
        self.pages: list[list[Element]] = []  # per finished page: the element of each marked-content number
        self.annotations: list[Element] = []  # element of each annotation, in the order of their keys

    def annotation_key(self, element: Element) -> int:
        """The ``/StructParent`` key of the next annotation, which belongs to ``element``."""
        self.annotations.append(element)
        return _FIRST_ANNOTATION_KEY + len(self.annotations) - 1

    def objects(self, root_number: int, first: int, pages: Sequence[int]) -> Iterator[tuple[int, bytes]]:
        """Object numbers and dictionaries of the whole tree: the elements numbered from ``first``, then the root."""
        elements = list(self.root.walk())
        for number, element in enumerate(elements, first):
            element.number = number
        for element in elements:
            parent = element.parent.number if element.parent else root_number
            yield element.number, element.body(parent, pages).encode("ascii")
        nums = [
            f"{index}[{' '.join([f'{element.number} 0 R' for element in owners])}]"
            for index, owners in enumerate(self.pages)
            if owners
        ]
        nums += [f"{key} {element.number} 0 R" for key, element in enumerate(self.annotations, _FIRST_ANNOTATION_KEY)]
        following = _FIRST_ANNOTATION_KEY + len(self.annotations)
        root = (
            f"<</Type/StructTreeRoot/K {first} 0 R/ParentTree<</Nums[{chr(10).join(nums)}]>>"
            f"/ParentTreeNextKey {following}>>"
        )
        yield root_number, root.encode("ascii")


def placement(canvas: Any, x: float, y: float, width: float, height: float) -> str:
    """The attributes that say where on its page a Figure lies (ISO 32000-1 §14.8.5.4)."""
    left, bottom = canvas.absolutePosition(x, y)
    right, top = canvas.absolutePosition(x + width, y + height)
    return f"/O/Layout/BBox[{left:.2f} {bottom:.2f} {right:.2f} {top:.2f}]/Placement/Block"
