"""Nonconformances, one block each: what was found, what is required, disposition, action, state, evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, Flowable

from reportgen.layout.blocks import SECTION_HEIGHT, Facts, SectionTitle, running_text, title_text, write
from reportgen.layout.canvas import tagged
from reportgen.layout.painting import paint
from reportgen.layout.styles import BODY, BOLD, VERDICT_COLOUR

if TYPE_CHECKING:
    from reportgen.layout.context import Context
    from reportgen.results import NonconformanceState


def nonconformances_section(context: Context) -> list[Flowable]:
    """A block for each nonconformance, open ones from earlier reports among them."""
    words = context.words
    title = SectionTitle(words("nonconformance.title"), "nonconformances", note=words("nonconformance.note"))
    states = context.evaluation.nonconformances
    if not states:
        return [CondPageBreak(60), title, running_text(words("nonconformance.none"), before=4)]
    blocks: list[Flowable] = [CondPageBreak(SECTION_HEIGHT + 120), title]
    for state in states:
        blocks += _block(context, state)
    return blocks


def _block(context: Context, state: NonconformanceState) -> list[Flowable]:
    words = context.words
    blocks: list[Flowable] = [CondPageBreak(110), BlockHead(context, state), running_text(state.description, before=2)]
    findings = ", ".join(words.named("finding", code) for code in state.findings)
    facts = [
        (words("nonconformance.findings"), findings),
        (words("nonconformance.requirement"), _requirement(context, state)),
        (words("nonconformance.disposition"), words.named("disposition", state.disposition)),
        (words("nonconformance.decided"), context.person(state.decided_by)),
        (words("nonconformance.action"), state.corrective_action or "–"),
        (words("nonconformance.raised"), state.raised_in),
    ]
    if state.evidence:
        facts.append((words("nonconformance.evidence"), state.evidence))
    if state.original:
        facts.append((words("nonconformance.original"), "; ".join(state.original)))
    return [*blocks, Facts(facts, 2, before=5)]


def _requirement(context: Context, state: NonconformanceState) -> str:
    """What the findings that it covers were measured against, where this report holds them."""
    words = context.words
    texts = [
        finding.requirement + (f" · {words('clause', clause=finding.clause)}" if finding.clause else "")
        for finding in context.evaluation.findings
        if finding.nonconformance == state.id
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
