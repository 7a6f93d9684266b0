"""The last page: embedded files with their hashes, version, how to verify, register, end of the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.pdf.blocks import SECTION_HEIGHT, Ledger, SectionTitle, running_text, titled
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.signing import BOX_GAP
from reportgen.pdf.styles import BOLD, INK, MUTED, REGULAR
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.textlines import Run
from reportgen.report.method import paragraph
from reportgen.report.signature import ON_FIRST_PAGE, box_height, draw_block

if TYPE_CHECKING:
    from reportgen.pdf.signing import Box, SignerBlock
    from reportgen.report.context import Context


_STEPS = 5


def integrity_section(context: Context, boxes: list[Box]) -> list[Flowable]:
    """What proves this file; ``boxes`` receives the boxes of countersigners that had no room on page 1."""
    words, issue, report = context.words, context.issue, context.evaluation.report
    register = words("integrity.register-none")
    if issue.register_head is not None:
        register = words("integrity.register-head", sequence=issue.register_head[0], hash=issue.register_head[1])
    facts = [
        (words("integrity.status"), words(f"status.{issue.status}")),
        (words("integrity.version"), f"reportgen {issue.version}".strip()),
        (words("integrity.contents"), contents_of(context)),
        (words("integrity.register"), register),
    ]
    if issue.replaces:
        facts.append((words("integrity.replaced"), grouped(issue.replaces)))
    if issue.certificate:
        facts.append((words("integrity.certificate"), grouped(issue.certificate)))
    signer = issue.signer.name if issue.signer else words("signature.nobody")
    told = [words(f"integrity.step.{number}", signer=signer) for number in range(1, _STEPS + 1)]
    steps = [
        paragraph([Run(f"{number}  ", BOLD, MUTED), Run(text, REGULAR, INK)]) for number, text in enumerate(told, 1)
    ]
    end = EndLine(words("end", number=report.number, revision=report.revision), before=8)
    ending: list[Flowable] = [*steps, end]
    last = sum(one.wrapOn(None, context.width, 0)[1] + one.getSpaceBefore() for one in ending)
    blocks: list[Flowable] = [
        CondPageBreak(SECTION_HEIGHT + 5 * Ledger.ROW + 60),
        SectionTitle(words("integrity.title"), "integrity", note=report_line(context)),
        Ledger(facts, columns=1),
        *_files(context),
        # room for all steps and for the end of the report, which must not stand on a page of its own
        CondPageBreak(SECTION_HEIGHT + last),
        SectionTitle(words("integrity.verify"), "verify", level=3, outline=False),
        *steps,
    ]
    rest = issue.countersigners[ON_FIRST_PAGE:]
    if rest:
        title = SectionTitle(words("integrity.countersigners"), "countersigners", level=3, outline=False)
        blocks += [CondPageBreak(SECTION_HEIGHT + box_height(context) + 20), title]
        blocks += [BlockRow(context, rest[start : start + 2], boxes) for start in range(0, len(rest), 2)]
    return [*blocks, end]


def grouped(digest: str) -> str:
    """A hash in groups of eight digits, which are easier to compare."""
    return " ".join(digest[start : start + 8] for start in range(0, len(digest), 8))


def contents_of(context: Context) -> str:
    """How many areas, locations, spots, readings and photos the report holds."""
    areas = context.evaluation.areas
    locations = [location for area in areas for location in area.locations]
    return context.words(
        "integrity.counted", areas=len(areas) - sum(area.id in context.unseen for area in areas),
        unseen=len(context.unseen), locations=len(locations), spots=sum(len(one.spots) for one in locations),
        readings=sum(map(len, context.job.readings)),
        photos=sum(len(surface.photos) for surface in context.job.day.surfaces),
    )  # fmt: skip


def report_line(context: Context) -> str:
    """Number, revision and date as in the header of every page."""
    report = context.evaluation.report
    return context.words("header", number=report.number, revision=report.revision, date=report.date)


def _files(context: Context) -> list[Flowable]:
    words = context.words
    rows: list[list[Row]] = []
    for file in context.issue.files:
        name = file.name
        if file.attachment not in ("", name.rsplit("/", 1)[-1]):  # embedded under another name than the end of the path
            name += f"\n{words('integrity.attached', name=file.attachment)}"
        rows.append([(name, words.named("role", file.role), grouped(file.sha256))])
    if not rows:
        title = SectionTitle(words("integrity.files"), "files", level=3, outline=False)
        return [CondPageBreak(60), title, running_text(words("integrity.no-files"), "muted", before=4)]
    columns = [
        Column(words("integrity.file"), 128),
        Column(words("integrity.role"), context.width - 128 - 290, ink=MUTED),
        Column("SHA-256", 290, gap=0),
    ]
    table = GroupedTable(columns, rows, words("integrity.files"), size=6.8, leading=8.6, pad=1.2)
    return titled(table, words("integrity.files"), "files")


class BlockRow(Flowable):  # type: ignore[misc] # reportlab has no types
    """Two signature blocks side by side, whose places on the page are noted when they are drawn."""

    def __init__(self, context: Context, who: tuple[SignerBlock, ...], boxes: list[Box]) -> None:
        super().__init__()
        self.context, self.who, self.boxes = context, who, boxes
        self.spaceBefore = 6.0

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
