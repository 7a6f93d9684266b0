"""Pages that nobody signs: those of an audit, and those of a history."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.pdf.page import Furniture, build_pages

if TYPE_CHECKING:
    from reportgen.pdf.flow import Flowable
    from reportgen.pdf.page import Geometry
    from reportgen.words.catalogue import Words


class Edges(NamedTuple):
    """What stands at the edges of every page, and the title of the file."""

    title: str
    version: str
    header: str
    footer: str


def unsigned_pages(story: list[Flowable], edges: Edges, words: Words, place: Geometry) -> bytes:
    """Return the pages of a story."""
    furniture = Furniture(
        place,
        f"reportgen {edges.version}",
        edges.header,
        edges.footer,
        lambda number, pages: words("page.count", page=number, pages=pages),
    )

    def finish(_canvas: Any) -> None:
        """There is no signature to make room for."""

    pdf, *_ = build_pages(
        story, furniture, title=edges.title, language=words.language, first_page_foot=0.0, finish_first_page=finish
    )
    return pdf
