"""Form fields in PDF syntax: text and tick, small, without scripts, with shared fonts and appearances.

Empty text fields have no appearance of their own: their box is printed on the page, and the program that fills them
makes one. ISO 32000-1, 12.7.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportlab.pdfbase import pdfdoc
from reportlab.pdfbase.pdfmetrics import getFont

from reportgen.pdf.fonts import font_path, register_fonts
from reportgen.pdf.structure import text_string
from reportgen.pdf.styles import REGULAR
from reportgen.pdf.textlines import text_width

if TYPE_CHECKING:
    from reportgen.pdf.canvas import ReportCanvas

TEXT_SIZE: Final = 11
TEXT_LIMIT: Final = 200
_SMALLEST: Final = 4.0

_PRINTED: Final = 4
_HIDDEN: Final = 2
_READ_ONLY: Final = 1
_LEFT: Final = 3.0
_ON: Final = b"q 0.09 0.13 0.16 RG 2 w 1 J 3.5 9 m 7.5 4.5 l 15.5 14.5 l S Q"
_LOOK: Final = f"/Sans {TEXT_SIZE} Tf 0 g"


class FormFields:
    """The form of one document: fields are added to the page being drawn; ``attach`` completes the catalog."""

    def __init__(self, canvas: ReportCanvas) -> None:
        self._canvas = canvas
        self._doc: Any = canvas._doc  # noqa: SLF001 - reportlab keeps its document there and offers no other way in
        self._fields: list[str] = []
        self._fonts = pdfdoc.PDFDictionary(
            {
                "Sans": self._face(),
                "ZaDb": self._ref({"Type": "/Font", "Subtype": "/Type1", "BaseFont": "/ZapfDingbats"}),
            }
        )  # fmt: skip
        self._shared: dict[float, Any] = {}

    def text(self, name: str, tip: str, rect: tuple[float, float, float, float], value: str = "") -> None:
        """Add a text field; ``rect`` is (x, y, width, height) in points of the page.

        A value filled in beforehand is set small enough to be seen whole, as far as it can be read.
        """
        room, wide = rect[2] - 2 * _LEFT, text_width(value, REGULAR, TEXT_SIZE)
        size = float(TEXT_SIZE) if wide <= room else max(_SMALLEST, int(10 * TEXT_SIZE * room / wide) / 10)
        entries: dict[str, Any] = {
            "FT": "/Tx", "T": text_string(name), "TU": text_string(tip), "F": _PRINTED, "Ff": 0,
            "DA": f"(/Sans {size:g} Tf 0 g)", "MaxLen": TEXT_LIMIT,
        }  # fmt: skip
        if value:
            shown = value.encode("cp1252", "replace").replace(b"\\", rb"\\").replace(b"(", rb"\(").replace(b")", rb"\)")
            base = (rect[3] - size) / 2 + 2
            code = b"/Tx BMC q BT /Sans %g Tf 0 g %.1f %.1f Td (%b) Tj ET Q EMC" % (size, _LEFT, base, shown)
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
        """Add a field at ``rect``, tagged as a field of the text unless it is hidden."""
        x, y, width, height = rect
        widget = {"Subtype": "/Widget", "P": self._doc.thisPageRef()} | entries
        element = None if entries["F"] == _HIDDEN else self._canvas.begin("Form")
        number = self._canvas.annotate(widget, (x, y, x + width, y + height), element)
        if element is not None:
            self._canvas.end()
        self._fields.append(f"{number} 0 R")

    def _face(self) -> Any:
        """The typeface of the documents, whole, for whatever is written into the fields; Latin 1 of Windows."""
        register_fonts()
        face = getFont(REGULAR).face
        codes = (bytes([code]).decode("cp1252", "replace") for code in range(32, 256))
        widths = [round(face.charWidths.get(ord(letter), face.defaultWidth)) for letter in codes]
        file = pdfdoc.PDFStream(content=font_path(REGULAR).read_bytes(), filters=[pdfdoc.PDFZCompress])
        descriptor = {
            "Type": "/FontDescriptor", "FontName": "/IBMPlexSans", "Flags": 32, "StemV": face.stemV,
            "FontBBox": pdfdoc.PDFArray([round(one) for one in face.bbox]), "ItalicAngle": 0,
            "Ascent": round(face.ascent), "Descent": round(face.descent), "CapHeight": round(face.capHeight),
            "FontFile2": self._doc.Reference(file),
        }  # fmt: skip
        return self._ref(
            {"Type": "/Font", "Subtype": "/TrueType", "BaseFont": "/IBMPlexSans", "Encoding": "/WinAnsiEncoding",
             "FirstChar": 32, "LastChar": 255, "Widths": pdfdoc.PDFArray(widths),
             "FontDescriptor": self._ref(descriptor)}
        )  # fmt: skip

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
