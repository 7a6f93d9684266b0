"""Nonconformances, one block each: what was found, what is required, disposition, action, state, evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.charts import verdict_mark
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
    blocks: list[Flowable] = []
    for state in states:
        facts = Facts(_facts(context, state), 2, before=5)
        # a block stays whole unless it is a long one
        need = min(_WHOLE, float(facts.wrap(context.width, context.height)[1])) + 45
        blocks += [CondPageBreak(need)] if blocks else [CondPageBreak(need + SECTION_HEIGHT + SECTION_GAP), title]
        blocks += [BlockHead(context, state), running_text(state.description, before=2), facts]
    return blocks


def _facts(context: Context, state: NonconformanceState) -> list[tuple[str, str]]:
    words, said = context.words, context.said
    names = [context.finding_name(code) for code in state.findings]  # only the first keeps its capital
    # what the findings that it covers were measured against, where this report holds them
    required = dict.fromkeys(
        said.required(finding) + context.clause(finding.clause)
        for finding in context.evaluation.findings
        if finding.nonconformance == state.id and not finding.code.startswith("nonconformance-")
    )
    facts = [
        ("findings", ", ".join([*names[:1], *(lowered(context, name) for name in names[1:])])),
        ("requirement", "; ".join(required) or words("nonconformance.see", report=state.raised_in)),
        ("disposition", words.named("disposition", state.disposition)),
        ("decided", context.person(state.decided_by)),
        ("action", state.corrective_action or "–"),
        ("raised", state.raised_in),
    ]
    if state.due is not None:
        facts.append(("due", state.due))
    if state.responsible is not None:
        facts.append(("responsible", state.responsible))
    if evidence := said.evidence(state.evidence, state.closed_by):
        facts.append(("evidence", evidence))
    original = [said.seen(one, lowered(context, context.finding_name(one.code))) for one in state.original]
    if original:
        facts.append(("original", "; ".join(original)))
    return [(words(f"nonconformance.{key}"), value) for key, value in facts]


class BlockHead(Flowable):  # type: ignore[misc] # reportlab has no types
    """Mark and id at the left, state at the right."""

    def __init__(self, context: Context, state: NonconformanceState) -> None:
        super().__init__()
        self.verdict = "does not conform" if state.status == "open" else "conforms"
        area = f"  {state.area}" if state.area else ""
        self.heading = title_text(f"{state.id}{area}", "block", 3, bookmark=f"nonconformance-{state.id}", outline=False)
        self.status = context.words(f"nonconformance.{state.status}")
        self.spaceBefore = 12.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width, one line."""
        self.width = aW
        _, self.height = self.heading.wrapOn(self.canv, aW - 110, aH)
        return self.width, self.height

    def draw(self) -> None:
        """Mark, id, state."""
        paint(self.canv, [verdict_mark(self.verdict, 4, self.height - 5.8, 7.4)])
        self.heading.drawOn(self.canv, 13, 0)
        with tagged(self.canv, "P"):
            ink = VERDICT_COLOUR[self.verdict]
            write(self.canv, self.width, self.height - 9, self.status, BODY, ink, face=BOLD, align="right")
