"""Nonconformances, one row each: what deviates from what, corrective action, disposition and who decided, state."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.pdf.styles import BOLD, DENSE, INK, REGULAR
from reportgen.pdf.tables import Column, Row
from reportgen.pdf.textlines import Run, text_width
from reportgen.report.tables import cell, section, table
from reportgen.report.verdicts import lowered
from reportgen.results.codes.follow_up import CLOSED_THOUGH_OPEN, OPEN, StillOpen
from reportgen.words.numbers import typeset

if TYPE_CHECKING:
    from reportgen.pdf.blocks import Runs
    from reportgen.pdf.flow import Flowable
    from reportgen.report.context import Context
    from reportgen.results import NonconformanceState

_AREA = 46.0


def nonconformances_section(context: Context) -> list[Flowable]:
    """A row for each nonconformance, open ones from earlier reports among them; page 1 says so where there is none."""
    words, states = context.words, context.evaluation.nonconformances
    note = words("nonconformance.note")
    if not states:
        return []
    named = min(118.0, max(text_width(state.id, BOLD, DENSE) for state in states) + 24)
    rest = (context.width - named - _AREA) / 100
    columns = [
        Column(words("nonconformance.number"), named),
        Column(words("areas.area"), _AREA, face=BOLD),
        Column(words("nonconformance.deviates"), rest * 38, gap=10),
        Column(words("nonconformance.action"), rest * 29, gap=10),
        Column(words("nonconformance.state"), rest * 33, gap=0),
    ]
    rows: list[Row] = []
    for state in states:
        name = cell([Run(state.id, BOLD, INK)], named - 6, "does not conform" if state.status == "open" else "conforms")
        name.bookmark, name.outline = f"nonconformance-{state.id}", (2, state.id)
        action = " · ".join(filter(None, (state.corrective_action or "–", *owed(context, state))))
        rows.append((name, state.area or "–", deviation(context, state), action, standing(context, state, rest * 33)))
    return section(
        context, "nonconformance.title", "nonconformances", table(context, "nonconformance.title", columns, rows), note
    )


def owed(context: Context, state: NonconformanceState) -> list[str]:
    """Who is to settle it and by when, as far as that is stated."""
    known = (("responsible", state.responsible), ("due", state.due))
    return [f"{context.words(f'nonconformance.{key}')} {value}" for key, value in known if value is not None]


def deviation(context: Context, state: NonconformanceState) -> str:
    """What the inspector wrote, the clauses, and the values that raised it where another report holds them."""
    words, said = context.words, context.said
    own = [one for one in context.evaluation.findings if one.nonconformance == state.id and one.clause]
    clauses = ", ".join(dict.fromkeys(one.clause for one in own if one.clause))
    told = [state.description + (f" ({words('clause', clause=clauses)})" if clauses else "")]
    if state.raised_in != context.evaluation.report.number:
        seen = [said.seen(one, lowered(context, context.finding_name(one.code))) for one in state.original]
        told.append(f"{words('nonconformance.original')}: {typeset('; '.join(seen))}" if seen else "")
        told.append(f"{words('nonconformance.raised')} {state.raised_in}")
    else:  # the values stand in the requirements; here is which findings it covers
        names = [lowered(context, context.finding_name(code)) for code in state.findings]
        told.append(words("nonconformance.covers", names=", ".join(names)))
    return " · ".join(filter(None, told))


def standing(context: Context, state: NonconformanceState, width: float) -> Runs:
    """Disposition with who decided it, whether it is open, and why, or what closed it."""
    words, said = context.words, context.said
    by = context.person(state.decided_by)
    told = (one for one in context.evaluation.findings if one.code in (OPEN.name, CLOSED_THOUGH_OPEN.name))
    own = [one for one in told if (getattr(one.facts, "nonconformance", None), one.area) == (state.id, state.area)]
    more = [said.observed(one) for one in own]
    if any(isinstance(one.facts, StillOpen) for one in own):  # which says disposition and status
        runs = [Run(by, REGULAR, INK)]
    else:
        runs = [Run(f"{words.named('disposition', state.disposition)}, {by} · ", REGULAR, INK)]
        runs.append(Run(words(f"nonconformance.{state.status}"), BOLD, INK))
    closed_by = None if own else state.closed_by  # which is told already
    more += [evidence] if (evidence := said.evidence(state.evidence, closed_by)) else []
    runs += [Run(f" · {typeset(text)}", REGULAR, INK) for text in dict.fromkeys(more)]
    return cell(runs, width)
