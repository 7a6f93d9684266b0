"""The last page: embedded files with their hashes, version, how to verify, register, end of the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.pdf.blocks import SECTION_HEIGHT, Ledger, SectionTitle, running_text
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.signing import BOX_GAP
from reportgen.pdf.styles import MUTED
from reportgen.pdf.tables import Column, GroupedTable
from reportgen.pdf.tagging import tagged_list
from reportgen.pdf.textlines import markup
from reportgen.report.signature import ON_FIRST_PAGE, box_height, draw_block

if TYPE_CHECKING:
    from reportgen.pdf.signing import Box, SignerBlock
    from reportgen.report.context import Context
    from reportgen.report.issue import EmbeddedFile


def integrity_section(context: Context, boxes: list[Box]) -> list[Flowable]:
    """What proves this file; ``boxes`` receives the boxes of countersigners that had no room on page 1."""
    words, issue = context.words, context.issue
    title = SectionTitle(words("integrity.title"), "integrity")
    register = (
        words("integrity.register-head", sequence=issue.register_head[0], hash=issue.register_head[1])
        if issue.register_head is not None
        else words("integrity.register-none")
    )
    facts = [
        (words("integrity.report"), report_line(context)),
        (words("integrity.status"), words(f"status.{issue.status}")),
        (words("integrity.version"), f"reportgen {issue.version}".strip()),
        (words("integrity.evaluation"), issue.evaluation_sha256),
        (words("integrity.register"), register),
    ]
    blocks: list[Flowable] = [CondPageBreak(SECTION_HEIGHT + 5 * Ledger.ROW + 60), title, Ledger(facts, columns=1)]
    blocks += _files(context)
    blocks += _how_to_verify(context)
    blocks += _countersigners(context, boxes)
    return [
        *blocks,
        EndLine(words("end", number=context.evaluation.report.number, revision=context.evaluation.report.revision)),
    ]


def report_line(context: Context) -> str:
    """Number, revision and date as in the header of every page."""
    report = context.evaluation.report
    return context.words("header", number=report.number, revision=report.revision, date=report.date)


def _files(context: Context) -> list[Flowable]:
    words, files = context.words, context.issue.files
    title = SectionTitle(words("integrity.files"), "files", level=3, outline=False)
    if not files:
        return [CondPageBreak(60), title, running_text(words("integrity.no-files"), "muted", before=4)]
    columns = [
        Column(words("integrity.file"), 132),
        Column(words("integrity.role"), context.width - 132 - 264, ink=MUTED),
        Column("SHA-256", 264, gap=0),
    ]
    rows = [[(_named(context, file), words.named("role", file.role), file.sha256)] for file in files]
    table = GroupedTable(columns, rows, words("integrity.files"), size=6.8, leading=9.5)
    return [CondPageBreak(table.need(2)), title, table]


def _named(context: Context, file: EmbeddedFile) -> str:
    """The path of a file, and the name of its attachment where that is not just the end of the path."""
    if file.attachment in ("", file.name.rsplit("/", 1)[-1]):
        return file.name
    return f"{file.name}\n{context.words('integrity.attached', name=file.attachment)}"


def _how_to_verify(context: Context) -> list[Flowable]:
    from reportgen.pdf.flow import Paragraph
    from reportgen.pdf.styles import paragraph_style

    words = context.words
    title = SectionTitle(words("integrity.verify"), "verify", level=3, outline=False)
    style = paragraph_style("body").clone("numbered", leftIndent=14, bulletIndent=0)
    steps = [
        Paragraph(markup(words(f"integrity.step.{number}")), style, bulletText=f"{number}.") for number in range(1, 5)
    ]
    for step in steps:
        step.spaceBefore = 2.5
    # room for all steps and for the end of the report, which must not stand on a page of its own
    return [CondPageBreak(SECTION_HEIGHT + 136), title, *tagged_list(steps, numbering="Decimal")]


def _countersigners(context: Context, boxes: list[Box]) -> list[Flowable]:
    rest = context.issue.countersigners[ON_FIRST_PAGE:]
    if not rest:
        return []
    title = SectionTitle(context.words("integrity.countersigners"), "countersigners", level=3, outline=False)
    pairs = [rest[start : start + 2] for start in range(0, len(rest), 2)]
    need = SECTION_HEIGHT + box_height(context) + 20
    return [CondPageBreak(need), title, *(BlockRow(context, pair, boxes) for pair in pairs)]


class BlockRow(Flowable):  # type: ignore[misc] # reportlab has no types
    """Two signature blocks side by side, whose places on the page are noted when they are drawn."""

    def __init__(self, context: Context, who: tuple[SignerBlock, ...], boxes: list[Box]) -> None:
        super().__init__()
        self.context, self.who, self.boxes = context, who, boxes
        self.spaceBefore, self.spaceAfter = 6.0, 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width, one block high."""
        self.box_height = box_height(self.context)
        self.width, self.height = aW, self.box_height + BOX_GAP / 2
        return self.width, self.height

    def draw(self) -> None:
        """Draw the blocks and note where they are."""
        canvas: Any = self.canv
        width = (self.width - BOX_GAP) / 2
        for index, who in enumerate(self.who):
            x = index * (width + BOX_GAP)
            draw_block(canvas, self.context, (0, x, 0.0, x + width, self.box_height), who, index + 1)
            left, bottom = canvas.absolutePosition(x, 0)
            right, top = left + width, bottom + self.box_height
            page = canvas.getPageNumber() - 1
            self.boxes.append((page, round(left, 2), round(bottom, 2), round(right, 2), round(top, 2)))
