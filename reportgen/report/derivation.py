"""The appendix that derives every value of every area, step by step; only where the template asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.pdf.blocks import SectionTitle, running_text, titled
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED, SMALL
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.report.verdicts import lowered
from reportgen.results import Finding
from reportgen.words.numbers import typeset

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.report.context import Context
    from reportgen.results import DerivationStep, Stated

_WHAT = 92.0


def derivation_section(context: Context) -> list[Flowable]:
    """A table of steps per area: what, from what, by which rule of which source, and what came of it."""
    words = context.words
    rest = (context.width - _WHAT) / 10
    columns = [
        Column(words("derivation.what"), _WHAT, face=BOLD),
        Column(words("derivation.inputs"), rest * 3.6, gap=10),
        Column(words("derivation.rule"), rest * 3.4, ink=MUTED, gap=10),
        Column(words("derivation.result"), rest * 3.0, gap=0),
    ]
    blocks: list[Flowable] = []
    sources: dict[str, int] = {}
    for area, steps in context.derivation.items():
        text = words("derivation.of", area=area)
        table = GroupedTable(columns, _rows(context, steps, sources), text, leading=9.5, size=SMALL)
        blocks += titled(table, text, f"derivation-{area}", groups=3)
    title = SectionTitle(words("section.derivation"), "derivation", note=words("derivation.note"))
    if not blocks:
        return [CondPageBreak(60), title, running_text(words("derivation.none"), "muted", before=4)]
    # the sources that the steps refer to by number
    below = SectionTitle(words("derivation.sources"), "derivation-sources", level=3, outline=False)
    listed = [running_text(f"[{number}] {typeset(source)}", "note", before=2) for source, number in sources.items()]
    return [CondPageBreak(140), title, *blocks, CondPageBreak(90), below, *listed]


def _rows(context: Context, steps: Iterable[DerivationStep], sources: dict[str, int]) -> list[list[Row]]:
    """One row per step; a source new to ``sources`` gets the next number."""
    said = context.said.text
    rows: list[list[Row]] = []
    for step in steps:
        number = sources.setdefault(said(step.source), len(sources) + 1)
        inputs = typeset("; ".join(_named(context, one) for one in step.inputs)) or "–"
        rows.append([(said(step.what), inputs, typeset(f"{said(step.rule)} [{number}]"), typeset(said(step.result)))])
    return rows


def _named(context: Context, one: str | Stated | Finding) -> str:
    """An input as text, a finding by its name instead of its code."""
    if not isinstance(one, Finding):
        return context.said.text(one)
    return f"{lowered(context, context.finding_name(one.code))}: {context.said.observed(one)}"
