"""What a canvas has collected, in a form that tests can compare: nested lists of roles, and the code of its pages."""

from __future__ import annotations

import io
from typing import Any

from reportgen.layout.canvas import ReportCanvas
from reportgen.layout.structure import Content, Element


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
    """The operators that open and close marks on a finished page, in order."""
    code = canvas._doc.Pages.pages[page].stream
    return [word for word in code.replace(">>BDC", ">>BDC ").split() if word.endswith("BDC") or word == "EMC"]
