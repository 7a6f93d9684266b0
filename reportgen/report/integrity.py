"""The last page: embedded files with their hashes, version, how to verify, register, end of the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.pdf.blocks import SECTION_HEIGHT, SectionTitle, running_text
from reportgen.pdf.columns import GAP, Columns
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.signing import BOX_GAP
from reportgen.pdf.styles import BOLD, FINE, INK, MUTED, REGULAR
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.textlines import Run
from reportgen.report.method import paragraph
from reportgen.report.signature import ON_FIRST_PAGE, box_height, draw_block

if TYPE_CHECKING:
    from reportgen.pdf.signing import Box, SignerBlock
    from reportgen.report.context import Context


_STEPS, _OF_A_DRAFT = 6, 2
_BESIDE = 300.0  # points of the list of files that may stand beside how to verify
_WIDE = 400.0  # points of a page's width, rather than of half of it


def integrity_section(context: Context, boxes: list[Box]) -> list[Flowable]:
    """What proves this file; ``boxes`` receives the boxes of countersigners that had no room on page 1."""
    words, issue, report = context.words, context.issue, context.evaluation.report
    draft = issue.status == "draft"
    facts = _standing(context)
    signer = issue.signer.name if issue.signer else words("signature.nobody")
    above = words("integrity.above") if issue.certificate else ""
    stated = context.job.project.specification.profile
    by_hand = words(f"integrity.by-hand.{'comparator' if stated.kind == 'comparator' else stated.value_rule}")
    how = [words(f"integrity.step.{n}", signer=signer, above=above, by_hand=by_hand) for n in range(1, _STEPS + 1)]
    if draft:  # nothing of what proves a report
        how = [words(f"integrity.draft.{number}") for number in range(1, _OF_A_DRAFT + 1)]
    steps = [
        paragraph([Run(f"{number}  ", BOLD, MUTED), Run(text, REGULAR, INK)]) for number, text in enumerate(how, 1)
    ]
    end = EndLine(words("end", number=report.number, revision=report.revision), before=8)
    standing = [
        run
        for number, (label, value) in enumerate(facts)
        for run in (Run(f"{' · ' if number else ''}{label}: ", REGULAR, MUTED), Run(value, REGULAR, INK))
    ]
    half = _files(context, (context.width - GAP) / 2)
    high = sum(float(each.wrapOn(None, context.width, 0)[1]) for each in half)
    beside = high <= _BESIDE
    blocks: list[Flowable] = [
        CondPageBreak(2 * SECTION_HEIGHT + (high if beside else 110)),
        SectionTitle(words("integrity.title"), "integrity", note=report_line(context)),
        paragraph(standing),
    ]
    how = [SectionTitle(words("integrity.verify"), "verify", level=3, outline=False, ruled=False), *steps]
    rest = issue.countersigners[ON_FIRST_PAGE:]
    closing = None if rest else end  # which must not stand on a page of its own
    wide = [] if beside else _files(context, context.width)
    again = words.continued("integrity.title")("")
    blocks += [*wide, Columns([*(half if beside else []), *how], again, closing)]
    if rest:
        title = SectionTitle(words("integrity.countersigners"), "countersigners", level=3, outline=False)
        blocks += [CondPageBreak(SECTION_HEIGHT + box_height(context) + 20), title]
        blocks += [BlockRow(context, rest[start : start + 2], boxes) for start in range(0, len(rest), 2)]
        blocks.append(end)
    return blocks


def _standing(context: Context) -> list[tuple[str, str]]:
    """Status, version, contents, register, and what this report replaces: each with its label."""
    words, issue = context.words, context.issue
    draft, register = issue.status == "draft", words("integrity.register-none")
    if issue.register_head is not None:
        register = words("integrity.register-head", sequence=issue.register_head[0], hash=issue.register_head[1])
    facts = [
        (words("integrity.status"), words(f"status.{issue.status}")),
        (words("integrity.version"), f"reportgen {issue.version}".strip()),
        (words("integrity.contents"), contents_of(context)),
        *([] if draft else [(words("integrity.register"), register)]),
    ]
    if (revised := context.job.day.report.supersedes) is not None:
        told = words("supersedes", revision=revised.revision, reason=revised.reason)
        facts.append((words("integrity.revised"), told))
    if issue.replaces:
        facts.append((words("integrity.replaced"), grouped(issue.replaces)))
    if issue.certificate:
        facts.append((words("integrity.certificate"), grouped(issue.certificate)))
    return facts


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


def _files(context: Context, width: float) -> list[Flowable]:
    """The files with their hashes: in half of the page the role under the name, and the hash on two lines."""
    words, wide = context.words, width > _WIDE
    rows: list[list[Row]] = []
    for file in context.issue.files:
        name, role = file.name, words.named("role", file.role)
        if file.attachment not in ("", name.rsplit("/", 1)[-1]):  # embedded under another name than the end of the path
            name += f"\n{words('integrity.attached', name=file.attachment)}"
        rows.append([(name, role, grouped(file.sha256)) if wide else (f"{name}\n{role}", grouped(file.sha256))])
    title = SectionTitle(words("integrity.files"), "files", level=3, outline=False, ruled=False)
    if not rows:
        return [title, running_text(words("integrity.no-files"), "muted", before=4)]
    digest = 290.0 if wide else 146.0
    columns = [
        Column(words("integrity.file"), 128 if wide else width - digest),
        *([Column(words("integrity.role"), width - 128 - digest, ink=MUTED)] if wide else []),
        Column("SHA-256", digest, gap=0),
    ]
    again = words.continued("integrity.files")
    table = GroupedTable(columns, rows, words("integrity.files"), size=FINE, leading=8.4, pad=0.3, again=again)
    return [*([CondPageBreak(table.need(2))] if wide else []), title, table]


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
