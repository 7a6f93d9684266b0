"""The appendix that derives every value of every area, step by step; only where the template asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, Flowable

from reportgen.evaluate.explain import explain_areas
from reportgen.layout.blocks import SectionTitle, running_text
from reportgen.layout.context import typeset
from reportgen.layout.styles import BOLD, MUTED, SMALL
from reportgen.layout.tables import Column, GroupedTable, Row
from reportgen.layout.verdicts import lowered
from reportgen.results import FINDING_CODES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.layout.context import Context
    from reportgen.results import DerivationStep

_WHAT = 92.0


def derivation_section(context: Context) -> list[Flowable]:
    """A table of steps per area: what, from what, by which rule of which source, and what came of it."""
    words = context.words
    blocks: list[Flowable] = []
    for area, steps in explain_areas(context.job, context.evaluation).items():
        table = GroupedTable(
            _columns(context), _rows(context, steps), words("derivation.of", area=area), leading=9.5, size=SMALL
        )
        title = SectionTitle(words("derivation.of", area=area), f"derivation-{area}", level=3, outline=False)
        blocks += [CondPageBreak(table.need(3)), title, table]
    title = SectionTitle(words("section.derivation"), "derivation", note=words("derivation.note"))
    return [CondPageBreak(140), title, *(blocks or [running_text(words("derivation.none"), "muted", before=4)])]


def _columns(context: Context) -> list[Column]:
    words = context.words
    rest = (context.width - _WHAT) / 10
    return [
        Column(words("derivation.what"), _WHAT, face=BOLD),
        Column(words("derivation.inputs"), rest * 3.4, gap=10),
        Column(words("derivation.rule"), rest * 4.2, ink=MUTED, gap=10),
        Column(words("derivation.result"), rest * 2.4, gap=0),
    ]


def _rows(context: Context, steps: Iterable[DerivationStep]) -> list[list[Row]]:
    return [
        [
            (
                step.what,
                typeset("; ".join(_named(context, text) for text in step.inputs)) or "–",
                typeset(f"{step.rule}. {step.source}"),
                typeset(step.result),
            )
        ]
        for step in steps
    ]


def _named(context: Context, text: str) -> str:
    """An input that begins with the code of a finding begins with its name instead."""
    code, colon, rest = text.partition(": ")
    if code not in FINDING_CODES:
        return text
    return f"{lowered(context, context.words.named('finding', code))}{colon}{rest}"
