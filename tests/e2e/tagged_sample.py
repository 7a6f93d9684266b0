"""A document that uses everything the tagging layer offers, on invented text: input of the tests of archival output."""

from __future__ import annotations

import io
from functools import partial
from typing import Any

from PIL import Image
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.utils import ImageReader
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageBreak, PageTemplate, Paragraph

from reportgen.pdf.blocks import running_text, title_text
from reportgen.pdf.canvas import ReportCanvas, artifact
from reportgen.pdf.charted import SideBySide
from reportgen.pdf.styles import paragraph_style
from reportgen.pdf.tables import Column, GroupedTable
from reportgen.pdf.tagging import PageReference, Tagged, group, tagged_list

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


def readings(rows: int) -> GroupedTable:
    """A table of ``rows`` readings."""
    columns = [Column(head, 80) for head in ("location", "spot", "profile", "verdict")]
    body = [
        (f"{row // 2 + 1}", "ab"[row % 2], f"{2 + row % 7 / 10:.1f}", "conforms" if row % 3 else "")
        for row in range(rows)
    ]
    return GroupedTable(columns, [[row] for row in body], "Readings of area A1")


def story(*, rows: int = 90) -> list[Flowable]:
    """Headings, text, a list, tables, figures beside each other and a page reference."""
    item = paragraph_style("body").clone("item", leftIndent=12)
    means = [Column("area", 80), Column("mean", 80), Column("page", 80, "RIGHT", gap=0)]
    limits = [Column("quantity", 80), Column("minimum", 80), Column("maximum", 80)]
    first = Tagged(Bars([1.0, 2.5, 3.0]), "Figure", alt="Three bars: 1.0, 2.5 and 3.0 mil")
    second = Tagged(Bars([2.0]), "Figure", alt="One bar: 2.0 mil, Sa 2½, 60 µm")
    return [
        title_text(TITLE, "title", 1, bookmark="top"),
        running_text(SUMMARY),
        running_text("air ≤ 85 %, 2½ mil ± 0.1."),
        *tagged_list(
            [
                Paragraph("wait for dry steel", item, bulletText="•"),
                Paragraph("see <b>there</b>.", item, bulletText="•"),
            ]
        ),
        GroupedTable(
            means, [[("A1", "2.4", PageReference("a1", width=80, title="A1"))]], "Result of each area", row_head=True
        ),
        PageBreak(),
        *group(
            "Sect",
            [title_text("Area A1", "section", 2, bookmark="a1"), SideBySide([first, second]), readings(rows)],
        ),
        title_text("Requirements", "section", 2, bookmark="limits"),
        GroupedTable(limits, [[("profile", "2.0 mil", "3.5 mil")]], "Limits", row_head=True),
    ]


def build() -> bytes:
    """The sample as bytes, before it is made archival."""
    file = io.BytesIO()
    template = BaseDocTemplate(file, pagesize=A4, lang="en")
    template.addPageTemplates([PageTemplate("page", [Frame(50, 60, 495, 720, id="main")])])
    template.build(story(), canvasmaker=partial(ReportCanvas, title=TITLE, furniture=furniture))
    return file.getvalue()
