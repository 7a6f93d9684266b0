"""What a canvas has collected, in a form that tests can compare: nested lists of roles, and the code of its pages."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from reportgen.pdf.canvas import ReportCanvas
from reportgen.pdf.fonts import register_fonts
from reportgen.pdf.structure import Content, Element

if TYPE_CHECKING:
    from reportlab.platypus import Flowable


def new_canvas(**options: Any) -> ReportCanvas:
    """A canvas that saves into memory."""
    return ReportCanvas(io.BytesIO(), **({"title": "Title"} | options))


def roles(element: Element) -> list[Any]:
    """Role, then kids: lists for elements, page.number for marked content, ``link`` for an annotation."""
    found: list[Any] = [element.role]
    for kid in element.kids:
        if isinstance(kid, Element):
            found.append(roles(kid))
        else:
            found.append(f"{kid.page}.{kid.number}" if isinstance(kid, Content) else "link")
    return found


def tree(canvas: ReportCanvas) -> list[Any]:
    """The elements below the document."""
    assert canvas._marks is not None
    return roles(canvas._marks.tree.root)[1:]


def elements(canvas: ReportCanvas, role: str) -> list[Element]:
    """All elements of a role, in reading order."""
    assert canvas._marks is not None
    return [element for element in canvas._marks.tree.root.walk() if element.role == role]


def marks(canvas: ReportCanvas, page: int = 0) -> list[str]:
    """The operators that open and close marks on a finished page, in order: role and number, or artifact."""
    code = canvas._doc.Pages.pages[page].stream
    found = re.findall(r"/(\w+)<<(?:/MCID (\d+)|[^>]*)>>BDC|\b(EMC)\b", code)
    return [end or f"/{role} {number}".strip() for role, number, end in found]


def laid_out(story: list[Flowable], *, height: float = 300, **options: Any) -> ReportCanvas:
    """The canvas after a story has been set on pages of 300 × ``height`` points, without margins."""
    made: list[ReportCanvas] = []

    def make(filename: Any, **given: Any) -> ReportCanvas:
        made.append(ReportCanvas(filename, **({"title": "Title"} | options | given)))
        return made[-1]

    template = BaseDocTemplate(io.BytesIO(), pagesize=(300, height), lang="en")
    frame = Frame(0, 0, 300, height, 0, 0, 0, 0)
    template.addPageTemplates([PageTemplate("page", [frame])])
    template.build(story, canvasmaker=make)
    return made[-1]


def style(**changes: Any) -> ParagraphStyle:
    """A paragraph style in the report's face."""
    register_fonts()
    return ParagraphStyle("body", **({"fontName": "PlexSans", "fontSize": 10, "leading": 12} | changes))
