"""What was found, one row each: the finding with its place, and where on the pages it is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.measurements import LOGS
from reportgen.pdf.blocks import SectionTitle, Verdict, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, INK, MUTED, colour
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.tagging import PageReference

if TYPE_CHECKING:
    from reportgen.report.context import Context
    from reportgen.results import Finding

FINDING = 128.0
"""Width of the column that names a finding."""


def findings_table(context: Context) -> list[Flowable]:
    """Every finding, with the page that shows it."""
    words = context.words
    title = SectionTitle(words("findings.title"), "findings")
    if not context.evaluation.findings:
        return [CondPageBreak(60), title, running_text(words("findings.none"), before=4)]
    columns = [
        Column(words("findings.finding"), FINDING, face=BOLD),
        Column(words("findings.where"), context.width - FINDING - 160 - 34, gap=10),
        Column(words("findings.requirement"), 160, ink=MUTED),
        Column(words("findings.page"), 34, "RIGHT", gap=0),
    ]
    rows = [[finding_row(context, finding)] for finding in context.evaluation.findings]
    table = GroupedTable(columns, rows, words("findings.summary"))
    return [CondPageBreak(table.need(2)), title, table]


def finding_row(context: Context, finding: Finding, *, own: bool = False) -> Row:
    """One finding: mark and name, place with value, requirement with clause, page.

    ``own``: in the section of its area, which need not be named again.
    """
    words = context.words
    location = words("location", location=finding.location) if finding.location else ""
    place = " ".join(part for part in ("" if own else finding.area, location) if part)
    observed = context.said.observed(finding)
    where = f"{place}: {observed}" if place else observed
    if finding.nonconformance and finding.nonconformance not in observed:
        where += f" · {finding.nonconformance}"
    requirement = context.said.required(finding) + context.clause(finding.clause)
    mark = "does not conform" if finding.severity == "nonconformance" else "inconclusive"
    page = PageReference(
        finding_bookmark(context, finding),
        width=34, color=colour(INK), prefix=words("page.prefix"),
        title=words("page.title", place=finding.area or words("findings.title")),
    )  # fmt: skip
    return (Verdict(mark, context.finding_name(finding.code), FINDING - 8, face=BOLD), where, requirement, page)


_PLACES = {
    **{one.name: kind.key for kind in LOGS if not kind.subject for one in kind.statements},
    "nonconformance-missing": "nonconformances",
    "nonconformance-open": "nonconformances",
    "failed-earlier": "nonconformances",
    "earlier-not-as-issued": "nonconformances",
}
"""Findings that are shown in a section of their own; such a log has one of its name."""


def finding_bookmark(context: Context, finding: Finding) -> str:
    """Where on the pages a finding is shown."""
    place = _PLACES.get(finding.code)
    if place is not None:
        return place
    if finding.area is None:
        return "equipment"
    return area_bookmark(finding.area) if finding.area in {area.id for area in context.evaluation.areas} else "areas"


def area_bookmark(area: str) -> str:
    """Bookmark of an area's section."""
    return f"area-{area}"
