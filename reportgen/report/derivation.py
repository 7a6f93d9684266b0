"""The appendix that derives every value of every area, step by step; only where the template asks for it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, get_args

from reportgen.measurements import FINDING_CODES
from reportgen.pdf.blocks import SectionTitle, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED, SMALL
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.report.verdicts import lowered
from reportgen.results import How
from reportgen.rules.explain import explain_areas
from reportgen.words.numbers import typeset

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.report.context import Context
    from reportgen.results import DerivationStep

_WHAT = 92.0
_HOW = re.compile("|".join(get_args(How)))


def derivation_section(context: Context) -> list[Flowable]:
    """A table of steps per area: what, from what, by which rule of which source, and what came of it."""
    words = context.words
    blocks: list[Flowable] = []
    sources: dict[str, int] = {}
    for area, steps in explain_areas(context.job, context.evaluation).items():
        table = GroupedTable(
            _columns(context),
            _rows(context, steps, sources),
            words("derivation.of", area=area),
            leading=9.5,
            size=SMALL,
        )
        title = SectionTitle(words("derivation.of", area=area), f"derivation-{area}", level=3, outline=False)
        blocks += [CondPageBreak(table.need(3)), title, table]
    title = SectionTitle(words("section.derivation"), "derivation", note=words("derivation.note"))
    if not blocks:
        return [CondPageBreak(60), title, running_text(words("derivation.none"), "muted", before=4)]
    return [CondPageBreak(140), title, *blocks, *_sources(context, sources)]


def _sources(context: Context, sources: dict[str, int]) -> list[Flowable]:
    """The sources that the steps refer to by number."""
    title = SectionTitle(context.words("derivation.sources"), "derivation-sources", level=3, outline=False)
    listed = [running_text(f"[{number}] {typeset(source)}", "note", before=2) for source, number in sources.items()]
    return [CondPageBreak(90), title, *listed]


def _columns(context: Context) -> list[Column]:
    words = context.words
    rest = (context.width - _WHAT) / 10
    return [
        Column(words("derivation.what"), _WHAT, face=BOLD),
        Column(words("derivation.inputs"), rest * 3.6, gap=10),
        Column(words("derivation.rule"), rest * 3.4, ink=MUTED, gap=10),
        Column(words("derivation.result"), rest * 3.0, gap=0),
    ]


def _rows(context: Context, steps: Iterable[DerivationStep], sources: dict[str, int]) -> list[list[Row]]:
    """One row per step; a source new to ``sources`` gets the next number."""
    return [
        [
            (
                context.said.text(step.what),
                typeset("; ".join(_named(context, context.said.text(one)) for one in step.inputs)) or "–",
                typeset(f"{_said(context.said.text(step.rule))} [{sources.setdefault(step.source, len(sources) + 1)}]"),
                typeset(_HOW.sub(lambda how: context.words.named("how", how[0]), context.said.text(step.result))),
            )
        ]
        for step in steps
    ]


def _said(rule: str) -> str:
    """A rule as it is said: the name of a rounding rule spelled out."""
    return rule.replace("half-even", "half to even").replace("half-up", "half up")


def _named(context: Context, text: str) -> str:
    """An input that begins with the code of a finding begins with its name instead."""
    code, colon, rest = text.partition(": ")
    if code not in FINDING_CODES:
        return text
    return f"{lowered(context, context.finding_name(code))}{colon}{rest}"
