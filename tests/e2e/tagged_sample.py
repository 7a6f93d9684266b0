"""A document that uses everything the tagging layer offers, on invented text: input of the tests of archival output."""

from __future__ import annotations

import io
from typing import Any

from PIL import Image
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageBreak, PageTemplate, Paragraph, Spacer

from reportgen.pdf.fonts import register_fonts
from reportgen.pdf.tagging import (
    LayoutTable,
    PageReference,
    Tagged,
    TaggedTable,
    artifact,
    canvas_maker,
    group,
    heading,
    tagged_list,
)

TITLE = "Inspection report TEST-7"
SUMMARY = "Every location of area A1 conforms; see page 2."


class Bars(Flowable):  # type: ignore[misc]
    """A small chart drawn on the canvas, its frame placed once as a form XObject and reused."""

    def __init__(self, values: list[float]) -> None:
        super().__init__()
        self.values = values

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        self.width, self.height = 200.0, 60.0
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        if not canvas.hasForm("frame"):
            canvas.beginForm("frame", 0, 0, 200, 60)
            canvas.rect(0, 0, 200, 60)
            canvas.setFont("PlexSans", 7)
            canvas.drawString(2, 50, "profile, mil")
            canvas.endForm()
        canvas.doForm("frame")
        canvas.drawImage(picture(), 170, 5, 20, 20)
        canvas.setFillColor(HexColor("#2f6f8f"))
        for index, value in enumerate(self.values):
            canvas.rect(10 + 12 * index, 0, 10, 15 * value, stroke=0, fill=1)


def picture() -> ImageReader:
    """A photo of four pixels."""
    return ImageReader(Image.frombytes("RGB", (2, 2), bytes(range(0, 240, 20))))


def furniture(canvas: Any, number: int, count: int) -> None:
    """Header, footer and draft mark of a page."""
    with artifact(canvas, "Header"):
        canvas.setFont("PlexSans-SemiBold", 7)
        canvas.drawString(50, 800, TITLE)
        canvas.line(50, 796, 545, 796)
        canvas.drawImage(picture(), 520, 800, 16, 16)
    with artifact(canvas, "Footer"):
        canvas.setFont("PlexSans", 7)
        canvas.drawRightString(545, 30, f"{number} of {count}")
    canvas.setFillColor(HexColor("#eeeeee"))
    canvas.setFont("PlexSans-SemiBold", 90)
    canvas.drawCentredString(297, 400, "DRAFT")


def readings(rows: int) -> list[list[Any]]:
    """A table of readings: a head, then ``rows`` rows."""
    body = [
        [f"{row // 2 + 1}", "ab"[row % 2], f"{2 + row % 7 / 10:.1f}", "conforms" if row % 3 else ""]
        for row in range(rows)
    ]
    return [["location", "spot", "profile", "verdict"], *body]


def story(*, rows: int = 90) -> list[Flowable]:
    """Headings, paragraphs with links, a list, tables, figures, layout tables and a page reference."""
    register_fonts()
    body = ParagraphStyle("body", fontName="PlexSans", fontSize=9, leading=12, bulletFontName="PlexSans", leftIndent=0)
    item = ParagraphStyle("item", parent=body, leftIndent=12)
    title = ParagraphStyle("title", parent=body, fontName="PlexSans-SemiBold", fontSize=16, leading=20, keepWithNext=1)
    section = ParagraphStyle("section", parent=title, fontSize=11, leading=14)
    box = [("BOX", (0, 0), (-1, -1), 1, "black")]
    block = LayoutTable([["Signed by the inspector", Spacer(10, 30)]], colWidths=[140, 60], style=box)
    return [
        heading(TITLE, title, 1),
        Tagged(Paragraph(SUMMARY, body), "P"),
        Tagged(Paragraph('Limits in <a href="#limits"><b>requirements</b></a>, air ≤ 85 %, 2½ mil ± 0.1.', body), "P"),
        Tagged(Paragraph('<a href="https://example.org/method">Method</a>', body), "P"),
        *tagged_list(
            [
                Paragraph("wait for dry steel", item, bulletText="•"),
                Paragraph('see <a href="#limits">there</a>.', item, bulletText="•"),
            ]
        ),
        TaggedTable(
            [["area", "mean", "page"], ["A1", "2.4", PageReference("a1", font="PlexSans", size=9, width=40)]],
            header_columns=1,
            summary="Result of each area",
        ),
        block,
        PageBreak(),
        *group(
            "Sect",
            [
                heading("Area A1", section, 2, bookmark="a1"),
                LayoutTable(
                    [
                        [
                            Tagged(Bars([1.0, 2.5, 3.0]), "Figure", alt="Three bars: 1.0, 2.5 and 3.0 mil"),
                            Tagged(Bars([2.0]), "Figure", alt="One bar: 2.0 mil, Sa 2½, 60 µm"),
                        ]
                    ],
                    colWidths=[220, 220],
                ),
                TaggedTable(readings(rows), colWidths=[80] * 4, style=[("LINEBELOW", (0, 0), (-1, -1), 0.4, "grey")]),
            ],
        ),
        heading("Requirements", section, 2, bookmark="limits"),
        TaggedTable(
            [["quantity", "limit", ""], ["", "minimum", "maximum"], ["profile", "2.0 mil", "3.5 mil"]],
            header_rows=2,
            header_columns=1,
            style=[("SPAN", (1, 0), (2, 0)), ("SPAN", (0, 0), (0, 1)), ("BACKGROUND", (0, 0), (-1, 1), "lightgrey")],
        ),
    ]


def build(*, tagged: bool = True, rows: int = 90) -> bytes:
    """The sample as bytes, before it is made archival."""
    file = io.BytesIO()
    template = BaseDocTemplate(file, pagesize=A4)
    template.addPageTemplates([PageTemplate("page", [Frame(50, 60, 495, 720, id="main")])])
    maker = canvas_maker(title=TITLE, furniture=furniture, tagged=tagged)
    template.build(story(rows=rows), canvasmaker=maker)
    return file.getvalue()
