"""What an audit report prints of its screens, and of what the readings show by gauge, inspector and shift."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from reportgen.pdf.blocks import SectionTitle, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.units import printed
from reportgen.words.numbers import digits, shown_unit
from reportgen.words.shifts import comparison, drift, shown, trend

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.audit.reportmodel import AuditPages
    from reportgen.words.catalogue import Words

SIZE, LEADING = 7.5, 9.8


def screens_section(content: AuditPages, words: Words, width: float) -> list[Flowable]:
    """What each screen compared, found and cannot see; then how each of them judges."""
    if not content.screens:
        return []
    columns = [
        Column(words("screens.name"), 104, face=BOLD),
        Column(words("screens.tests"), 58, align="RIGHT"),
        Column(words("screens.found"), 44, align="RIGHT"),
        Column(words("screens.level"), 80, align="RIGHT"),
        Column(words("screens.unseen"), width - 286, gap=0),
    ]
    rows: list[Row] = [
        (words(f"screen.{one.name}"), str(one.tests), str(one.found), printed(one.level) or "–", one.unseen)
        for one in content.screens
    ]
    told = [] if any(one.found for one in content.screens) else [words("screens.nowhere")]
    methods = [f"{words(f'screen.{one.name}')}: {words(f'method.{one.name}')}" for one in content.screens]
    return [
        *_table("screens", columns, rows, words),
        *(running_text(text, before=6) for text in told),
        running_text(words("screens.meaning"), "note", before=4),
        *(running_text(text, "note", before=3) for text in methods),
    ]


def repeated_section(content: AuditPages, words: Words, width: float) -> list[Flowable]:
    """How far spots scatter with each gauge in each inspector's reports."""
    columns = [
        Column(words("repeated.contract"), 92, face=BOLD),
        Column(words("repeated.gauge"), 92),
        Column(words("repeated.inspector"), width - 184 - 52 - 92 - 138),
        Column(words("repeated.reports"), 52, align="RIGHT"),
        Column(words("repeated.freedom"), 92, align="RIGHT"),
        Column(words("repeated.deviation"), 138, align="RIGHT", gap=0),
    ]
    rows: list[Row] = []
    for one in content.measured.repeated:
        value = words("repeated.differ")
        if one.deviation is not None:
            low, high = printed(one.low or ""), printed(one.high or "")
            value = f"{printed(one.deviation)} {shown_unit(one.unit)} ({low}–{high})"
        rows.append((one.contract, one.gauge, one.inspector, str(one.reports), str(one.freedom), value))
    return (
        [*_table("repeated", columns, rows, words), running_text(words("repeated.note"), "note", before=3)]
        if rows
        else []
    )


def shifts_section(content: AuditPages, words: Words, width: float) -> list[Flowable]:
    """What the shifts of each kind of work show, and how kinds of work compare."""
    columns = [
        Column(words("shifts.work"), 150, face=BOLD),
        Column(words("statistics.areas"), 40, align="RIGHT"),
        Column(words("statistics.shifts"), 44, align="RIGHT"),
        Column(words("statistics.mean"), 56, align="RIGHT"),
        Column(words("shifts.show"), width - 290, gap=0),
    ]
    rows: list[Row] = []
    for contract, work in content.measured.works:
        done, means = work.done, work.means
        of = {"structure": done.structure, "apparatus": done.apparatus, "abrasive": done.abrasive}
        named = f"{contract}, {words('statistics.group', **of)}"
        mean = f"{shown(sum(means) / len(means), done.unit)} {shown_unit(done.unit)}"
        told = " ".join(filter(None, (drift(work, words), trend(work, words))))
        rows.append((named, str(work.areas), str(len(work.shifts)), mean, told))
    if not rows:
        return []
    lines = [f"{contract}, {comparison(one, words)}" for contract, one in content.measured.compared if one.found]
    return [
        *_table("shifts", columns, rows, words),
        *(running_text(text, before=3) for text in lines),
        running_text(words("statistics.method"), "note", before=3),
    ]


def heaped_section(content: AuditPages, words: Words, width: float) -> list[Flowable]:
    """How many readings of each gauge are rounded; a table, for a habit is no objection."""
    columns = [
        Column(words("repeated.gauge"), 150, face=BOLD),
        Column(words("repeated.reports"), 60, align="RIGHT"),
        Column(words("heaped.readings"), 60, align="RIGHT"),
        Column(words("heaped.fives"), (width - 270) / 2, align="RIGHT"),
        Column(words("heaped.evens"), (width - 270) / 2, align="RIGHT", gap=0),
    ]
    by_gauge: dict[tuple[str, str], dict[str, str]] = {}
    counts: dict[tuple[str, str], tuple[str, str]] = {}
    for one in content.measured.heaped:
        share, low, high = (digits(Decimal(f"{value:.2f}")) for value in (one.share, one.low, one.high))
        by_gauge.setdefault((one.gauge, one.unit), {})[one.on] = f"{share} ({low}–{high})"
        counts[one.gauge, one.unit] = str(one.reports), str(one.readings)
    rows: list[Row] = [
        (key[0], *counts[key], told.get("fives", "–"), told.get("evens", "–")) for key, told in by_gauge.items()
    ]
    return (
        [*_table("heaped", columns, rows, words), running_text(words("heaped.note"), "note", before=3)] if rows else []
    )


def _table(key: str, columns: list[Column], rows: Sequence[Row], words: Words) -> list[Flowable]:
    title = f"{key}.title"
    table = GroupedTable(
        columns, [[row] for row in rows], words(title), row_head=True, size=SIZE, leading=LEADING,
        again=words.continued(title),
    )  # fmt: skip
    return [CondPageBreak(table.need(2)), SectionTitle(words(title), key), table]
