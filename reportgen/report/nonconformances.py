"""Nonconformances, one block each: what was found, what is required, disposition, action, state, evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.pdf.blocks import SECTION_GAP, SECTION_HEIGHT, Facts, SectionTitle, running_text, title_text, write
from reportgen.pdf.canvas import tagged
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import BODY, BOLD, VERDICT_COLOUR
from reportgen.report.verdicts import lowered

if TYPE_CHECKING:
    from reportgen.report.context import Context
    from reportgen.results import NonconformanceState


_WHOLE = 200.0


def nonconformances_section(context: Context) -> list[Flowable]:
    """A block for each nonconformance, open ones from earlier reports among them."""
    words = context.words
    title = SectionTitle(words("nonconformance.title"), "nonconformances", note=words("nonconformance.note"))
    states = context.evaluation.nonconformances
    if not states:
        return [CondPageBreak(60), title, running_text(words("nonconformance.none"), before=4)]
    first, *further = [_block(context, state) for state in states]
    blocks: list[Flowable] = [CondPageBreak(_need(context, first) + SECTION_HEIGHT + SECTION_GAP), title, *first]
    for block in further:
        blocks += [CondPageBreak(_need(context, block)), *block]
    return blocks


def _need(context: Context, block: list[Flowable]) -> float:
    """Room to ask for before a block: a block stays whole unless it is a long one."""
    return min(_WHOLE, float(block[-1].wrap(context.width, context.height)[1])) + 45


def _block(context: Context, state: NonconformanceState) -> list[Flowable]:
    words = context.words
    findings = _sentence(context, [context.finding_name(code) for code in state.findings])
    facts = [
        (words("nonconformance.findings"), findings),
        (words("nonconformance.requirement"), _requirement(context, state)),
        (words("nonconformance.disposition"), words.named("disposition", state.disposition)),
        (words("nonconformance.decided"), context.person(state.decided_by)),
        (words("nonconformance.action"), state.corrective_action or "–"),
        (words("nonconformance.raised"), state.raised_in),
    ]
    evidence = context.said.evidence(state.evidence, state.closed_by)
    if evidence:
        facts.append((words("nonconformance.evidence"), evidence))
    if state.original:
        shown = "; ".join(
            context.said.seen(one, lowered(context, context.finding_name(one.code))) for one in state.original
        )
        facts.append((words("nonconformance.original"), shown))
    head = [BlockHead(context, state), running_text(state.description, before=2)]
    return [*head, Facts(facts, 2, before=5)]


def _sentence(context: Context, names: list[str]) -> str:
    """Names in a row: only the first keeps its capital."""
    return ", ".join([*names[:1], *(lowered(context, name) for name in names[1:])])


def _requirement(context: Context, state: NonconformanceState) -> str:
    """What the findings that it covers were measured against, where this report holds them."""
    words = context.words
    texts = [
        context.said.required(finding) + (f" · {words('clause', clause=finding.clause)}" if finding.clause else "")
        for finding in context.evaluation.findings
        if finding.nonconformance == state.id and not finding.code.startswith("nonconformance-")
    ]
    return "; ".join(dict.fromkeys(texts)) or words("nonconformance.see", report=state.raised_in)


class BlockHead(Flowable):  # type: ignore[misc] # reportlab has no types
    """Mark and id at the left, state at the right."""

    def __init__(self, context: Context, state: NonconformanceState) -> None:
        super().__init__()
        self.verdict = "does not conform" if state.status == "open" else "conforms"
        area = f"  {state.area}" if state.area else ""
        self.heading = title_text(f"{state.id}{area}", "block", 3, bookmark=f"nonconformance-{state.id}", outline=False)
        self.status = context.words(f"nonconformance.{state.status}")
        self.spaceBefore, self.spaceAfter = 12.0, 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width, one line."""
        self.width = aW
        _, self.height = self.heading.wrapOn(self.canv, aW - 110, aH)
        return self.width, self.height

    def draw(self) -> None:
        """Mark, id, state."""
        from reportgen.charts import verdict_mark

        paint(self.canv, [verdict_mark(self.verdict, 4, self.height - 5.8, 7.4)])
        self.heading.drawOn(self.canv, 13, 0)
        with tagged(self.canv, "P"):
            write(
                self.canv, self.width, self.height - 9, self.status, BODY, VERDICT_COLOUR[self.verdict],
                face=BOLD, align="right",
            )  # fmt: skip
