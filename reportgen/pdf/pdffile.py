"""How a document becomes bytes: an own writer under reportlab's objects.

Against reportlab's own writer: an end of line before ``endstream`` (ISO 19005-3 §6.1.7.1), no empty page transition,
tab order by structure, binary streams without a detour through ASCII, no clock and no random number anywhere, an
identifier that is a hash of the content, and the objects that a later step replaces (information dictionary, then
catalog) as the last two of the file. `reportgen.archival` relies on that order.
"""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING, Any

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc

from reportgen.pdf.structure import text_string

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from reportgen.pdf.structure import StructureTree

# reportlab reads these from files and variables of the machine it runs on; the bytes of a report do not depend on them.
# Streams are binary: encoding them as ASCII costs a quarter of size and time and is of no use today.
rl_config.useA85 = 0
rl_config.pdfComments = 0
rl_config.pdfMultiLine = 0
rl_config.invariant = 1

HEADER = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
_PAGE_KEYS = (*pdfdoc.PDFPage.__NoDefault__, "StructParents", "Tabs")


class _TreeRoot(pdfdoc.PDFObject):  # type: ignore[misc]  # reportlab has no types
    """The root of the structure tree, of which reportlab only needs a number: it is written after all others."""

    __RefOnly__ = 1


class ReportFile(pdfdoc.PDFDocument):  # type: ignore[misc]  # reportlab has no types
    """A PDF document under construction and its structure tree."""

    def __init__(self, lang: str, tree: StructureTree) -> None:
        super().__init__(compression=1, invariant=1, lang=lang, pdfVersion=(1, 7))
        self.tree = tree
        self._tree_root = _TreeRoot()

    def getInternalFontName(self, psfontname: str) -> str:  # noqa: N802  # reportlab's name
        """Refuses the standard fonts, which are never embedded."""
        raise ValueError(f"font {psfontname} is not embedded: use a face of the report in every style, cell and call")

    def addPage(self, page: Any) -> None:  # noqa: N802  # reportlab's name
        """Adds a page without the empty transition that reportlab gives each."""
        page.__NoDefault__ = _PAGE_KEYS
        page.Trans = None
        page.StructParents = self.pageCounter - 1
        page.Tabs = "/S"
        super().addPage(page)

    def write(self, canvas: Canvas, title: str) -> bytes:
        """The whole file. Once only; raises what reportlab raises for a link to a bookmark that does not exist."""
        for font in self.delayedFonts:
            font.addObjects(self)
        self.Catalog.MarkInfo = "<</Marked true>>"
        self.Catalog.StructTreeRoot = self._tree_root
        self.Catalog.ViewerPreferences = "<</DisplayDocTitle true>>"
        self.Outlines.prepare(self, canvas)
        if self.Outlines.ready < 0:
            self.Catalog.Outlines = None
        catalog = self._number(self.Catalog)
        catalog_body = pdfdoc.format(self.Catalog, self, toplevel=1)  # gives numbers to what it refers to
        root = self._number(self._tree_root)
        bodies = []
        number = 1
        while number in self.numberToId:  # formatting an object may add further ones
            if number not in (catalog, root):
                body = pdfdoc.format(self.idToObject[self.numberToId[number]], self, toplevel=1)
                bodies.append((number, body[:-10] + b"\nendstream" if body.endswith(b"endstream\n") else body))
            number += 1
        pages = [self._number(page) for page in self.Pages.pages]
        bodies += self.tree.objects(root, self.objectcounter + 1, pages)
        info = max(catalog, *(number for number, _ in bodies)) + 1
        bodies.append((info, f"<</Title {text_string(title)}>>".encode("ascii")))
        bodies.append((catalog, catalog_body))
        return assemble(bodies, info=info, catalog=catalog)

    def _number(self, thing: Any) -> int:
        number: int = self.idToObjectNumberAndVersion[self.Reference(thing).name][0]
        return number


def assemble(bodies: list[tuple[int, bytes]], *, info: int, catalog: int) -> bytes:
    """A complete file from object numbers (1 to n, each once) and bodies; its identifier is their hash."""
    parts = [HEADER]
    offsets = {}
    position = len(HEADER)
    for number, body in bodies:
        offsets[number] = position
        part = b"%d 0 obj\n%b\nendobj\n" % (number, body)
        parts.append(part)
        position += len(part)
    rows = "".join([f"{offsets[number]:010d} 00000 n \n" for number in range(1, len(offsets) + 1)])
    parts.append(f"xref\n0 {len(offsets) + 1}\n0000000000 65535 f \n{rows}".encode("ascii"))
    digest = sha256(b"".join(parts)).hexdigest()[:32]
    trailer = f"trailer\n<</Size {len(offsets) + 1}/Root {catalog} 0 R/Info {info} 0 R/ID[<{digest}><{digest}>]>>\n"
    parts.append(f"{trailer}startxref\n{position}\n%%EOF\n".encode("ascii"))
    return b"".join(parts)
