"""Form fields in PDF syntax: text and tick, small, without scripts, with shared fonts and appearances.

Empty text fields have no appearance of their own: their box is printed on the page, and the program that fills them
makes one. ISO 32000-1, 12.7.
"""

from __future__ import annotations

from typing import Any, Final

from reportlab.pdfbase import pdfdoc
from reportlab.pdfbase.pdfmetrics import stringWidth

from reportgen.pdf.structure import text_string

TEXT_SIZE: Final = 11
TEXT_LIMIT: Final = 200
_SMALLEST: Final = 4.0

_PRINTED: Final = 4
_HIDDEN: Final = 2
_READ_ONLY: Final = 1
_LEFT: Final = 3.0
_ON: Final = b"q 0.09 0.13 0.16 RG 2 w 1 J 3.5 9 m 7.5 4.5 l 15.5 14.5 l S Q"
_LOOK: Final = f"/Helv {TEXT_SIZE} Tf 0 g"


class FormFields:
    """The form of one document: fields are added to the page being drawn; ``attach`` completes the catalog."""

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas
        self._doc = canvas._doc  # noqa: SLF001 - reportlab keeps its document there and offers no other way in
        self._fields: list[str] = []
        self._fonts = pdfdoc.PDFDictionary(
            {
                "Helv": self._ref({"Type": "/Font", "Subtype": "/Type1", "BaseFont": "/Helvetica",
                                   "Encoding": "/WinAnsiEncoding"}),
                "ZaDb": self._ref({"Type": "/Font", "Subtype": "/Type1", "BaseFont": "/ZapfDingbats"}),
            }
        )  # fmt: skip
        self._shared: dict[float, Any] = {}

    def text(self, name: str, tip: str, rect: tuple[float, float, float, float], value: str = "") -> None:
        """Add a text field; ``rect`` is (x, y, width, height) in points of the page.

        A value filled in beforehand is set small enough to be seen whole, as far as it can be read.
        """
        room, wide = rect[2] - 2 * _LEFT, stringWidth(value, "Helvetica", TEXT_SIZE)
        size = float(TEXT_SIZE) if wide <= room else max(_SMALLEST, int(10 * TEXT_SIZE * room / wide) / 10)
        entries: dict[str, Any] = {
            "FT": "/Tx", "T": text_string(name), "TU": text_string(tip), "F": _PRINTED, "Ff": 0,
            "DA": f"(/Helv {size:g} Tf 0 g)", "MaxLen": TEXT_LIMIT,
        }  # fmt: skip
        if value:
            shown = value.encode("cp1252", "replace").replace(b"\\", rb"\\").replace(b"(", rb"\(").replace(b")", rb"\)")
            base = (rect[3] - size) / 2 + 2
            code = b"/Tx BMC q BT /Helv %g Tf 0 g %.1f %.1f Td (%b) Tj ET Q EMC" % (size, _LEFT, base, shown)
            looks = pdfdoc.PDFDictionary({"N": self._drawing(code, rect[2], rect[3])})
            entries |= {"V": text_string(value), "AP": looks}
        self._add(entries, rect)

    def tick(self, name: str, tip: str, rect: tuple[float, float, float, float]) -> None:
        """Add a check box, off; ``rect`` is a square."""
        if rect[2] not in self._shared:
            states = {"Yes": self._drawing(_ON, rect[2], rect[3]), "Off": self._drawing(b"", rect[2], rect[3])}
            self._shared[rect[2]] = pdfdoc.PDFDictionary({"N": pdfdoc.PDFDictionary(states)})
        self._add(
            {"FT": "/Btn", "T": text_string(name), "TU": text_string(tip), "F": _PRINTED, "Ff": 0, "V": "/Off",
             "AS": "/Off", "AP": self._shared[rect[2]], "DA": "(/ZaDb 0 Tf 0 g)",
             "MK": pdfdoc.PDFDictionary({"CA": "(4)"})},
            rect,
        )  # fmt: skip

    def hidden(self, name: str, tip: str, value: str) -> None:
        """Add a field that is neither shown nor printed nor editable."""
        entries = {
            "FT": "/Tx", "T": text_string(name), "TU": text_string(tip), "F": _HIDDEN, "Ff": _READ_ONLY,
            "DA": f"({_LOOK})", "V": text_string(value),
        }  # fmt: skip
        self._add(entries, (0.0, 0.0, 0.0, 0.0))

    def attach(self) -> None:
        """Put the form into the catalog; once, after the last field."""
        self._doc.Catalog.AcroForm = pdfdoc.PDFDictionary(
            {
                "Fields": f"[{' '.join(self._fields)}]",
                "DA": f"({_LOOK})",
                "DR": pdfdoc.PDFDictionary({"Font": self._fonts}),
            }
        )

    def _add(self, entries: dict[str, Any], rect: tuple[float, float, float, float]) -> None:
        x, y, width, height = rect
        corners = [round(value, 2) for value in (x, y, x + width, y + height)]
        widget = pdfdoc.PDFDictionary(
            {"Type": "/Annot", "Subtype": "/Widget", "Rect": pdfdoc.PDFArray(corners), "P": self._doc.thisPageRef()}
            | entries
        )
        canvas = self._canvas
        canvas._addAnnotation(widget)  # noqa: SLF001 - as above
        name = self._doc.annotationName(f"NUMBER{canvas._annotationCount}")  # noqa: SLF001 - as above
        self._fields.append(f"{self._doc.idToObjectNumberAndVersion[name][0]} 0 R")

    def _ref(self, entries: dict[str, Any]) -> Any:
        return self._doc.Reference(pdfdoc.PDFDictionary(entries))

    def _drawing(self, code: bytes, width: float, height: float) -> Any:
        stream = pdfdoc.PDFStream(content=code)
        stream.dictionary = pdfdoc.PDFDictionary(
            {
                "Type": "/XObject",
                "Subtype": "/Form",
                "BBox": pdfdoc.PDFArray([0, 0, round(width, 2), round(height, 2)]),
                "Resources": pdfdoc.PDFDictionary({"Font": self._fonts}),
            }
        )
        return self._doc.Reference(stream)
