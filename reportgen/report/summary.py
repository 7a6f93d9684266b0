"""Page 1: the verdict in one sentence, identity, areas with their strips, findings."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from reportgen.charts import LocationPoint, strip_marks, verdict_mark
from reportgen.charts.palette import BAND
from reportgen.measurements import LOGS
from reportgen.pdf.blocks import Facts, SectionTitle, Verdict, VerdictBanner, running_text, title_text, write
from reportgen.pdf.canvas import tagged
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import (
    BODY,
    BOLD,
    INK,
    LABEL,
    MUTED,
    REGULAR,
    colour,
)
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row
from reportgen.pdf.tagging import PageReference, Tagged
from reportgen.pdf.textlines import text_width
from reportgen.report.requirements import profile_limits, profile_rules, stated_topics
from reportgen.report.verdicts import decision_verdict, decision_word, headline, headline_details, lowered
from reportgen.words.numbers import digits, zone_text

if TYPE_CHECKING:
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, Finding

_STRIP = 126.0
_STRIP_END = 6.0  # so that the outermost ticks have room for their numbers
_DECISION = 76.0
FINDING = 128.0
"""Width of the column that names a finding."""


def summary_pages(context: Context) -> list[Flowable]:
    """The flowables of the summary, all but the foot of the page with the signature."""
    words, day, report = context.words, context.job.day, context.evaluation.report
    shift = f"{day.report.shift.start:%H:%M}–{day.report.shift.end:%H:%M}"
    name = words("report.name", number=report.number, revision=report.revision)
    story: list[Flowable] = [
        title_text(words("title"), "title", 1, bookmark="summary"),
        running_text(words("subtitle", report=name, shift=shift), "subtitle"),
    ]
    if replaced := day.report.supersedes:
        text = words("supersedes", revision=replaced.revision, reason=replaced.reason)
        story.append(running_text(text, "bold", before=5))
    return [
        *story,
        VerdictBanner(context.evaluation.verdict, headline(context), headline_details(context)),
        Facts(identity_facts(context), 3, before=12),
        Facts([(words("identity.judged"), judged_against(context))], 1),
        *_areas(context),
        *_findings(context),
    ]


def judged_against(context: Context) -> str:
    """What page 1 owes a reader who sees no other page: specification, limits, method and decision rule."""
    words, specification = context.words, context.job.project.specification
    stated = specification.profile
    clause = f", {words('clause', clause=stated.clause)}" if stated.clause else ""
    sentence = words(
        "judged.profile", document=f"{specification.document}{clause}", limits=profile_limits(context),
        method=f"{stated.method} ({stated.edition})", rules="; ".join(profile_rules(context)),
    )  # fmt: skip
    others = [topic for topic in stated_topics(context) if topic != "profile"]
    listed = ", ".join(lowered(context, context.topic_name(topic)) for topic in others)
    return f"{sentence} {words('judged.others', topics=listed)}" if others else sentence


def identity_facts(context: Context) -> list[tuple[str, str]]:
    """Labels and values of the identity of a report."""
    words, job = context.words, context.job
    contract, day, body = job.project.project, job.day, job.project.inspection_body
    shift = day.report.shift
    inspector = job.project.people.get(day.report.inspector)
    name = day.report.inspector if inspector is None else inspector.name
    if inspector is not None and inspector.certificate:
        name = f"{name}, {inspector.certificate}"
    # the register's row this report was issued upon, or why there is none
    head = context.issue.register_head
    if head is None:
        register = words(f"identity.unregistered.{context.issue.status}")
    elif not head.sequence:
        register = words("identity.register-first")
    else:
        register = words("identity.register-head", sequence=head.sequence, hash=head.hash)
    client = contract.client if contract.client_contact is None else f"{contract.client}, {contract.client_contact}"
    facts = [
        ("project", contract.name),
        ("contract", contract.contract),
        ("client", client),
        ("contractor", contract.contractor),
        ("site", contract.site),
        ("specification", job.project.specification.document),
        ("inspected", f"{day.report.date.isoformat()}, {shift.start:%H:%M}–{shift.end:%H:%M} {contract.time_zone}"),
        ("issued", f"{context.issue.at:%Y-%m-%d %H:%M} {zone_text(context.issue.at)}"),
        ("inspector", name),
        ("body", f"{body.name}, {body.address}"),
        ("register", register),
    ]
    if day.report.present:
        facts.append(("present", ", ".join(day.report.present)))
    if body.accreditation:
        facts.append(("accreditation", body.accreditation))
    return [(words(f"identity.{key}"), value) for key, value in facts]


class StripHead(Flowable):  # type: ignore[misc] # reportlab has no types
    """The scale over the strips: a few of its ticks."""

    def __init__(self, context: Context) -> None:
        super().__init__()
        self.scale, self.width, self.height = context.scale, _STRIP, 9.0

    def draw(self) -> None:
        """Every tick, or every second or further one, whichever has room."""
        if self.scale is None:
            return
        ticks = self.scale.ticks()
        texts = [self.scale.tick_text(tick) for tick in ticks]
        widest = max(text_width(text, REGULAR, LABEL) for text in texts)
        pitch = (self.width - 2 * _STRIP_END) / max(1, len(ticks) - 1)
        every = max(1, -int(-(widest + 4) // pitch))
        for tick, text in list(zip(ticks, texts, strict=True))[::every]:
            at = _STRIP_END + self.scale.share(tick) * (self.width - 2 * _STRIP_END)
            write(self.canv, at - text_width(text, REGULAR, LABEL) / 2, 1.8, text, LABEL, MUTED)


class Strip(Flowable):  # type: ignore[misc] # reportlab has no types
    """The specified band with one mark per location."""

    def __init__(self, context: Context, points: list[LocationPoint]) -> None:
        super().__init__()
        self.scale, self.points, self.width, self.height = context.scale, points, _STRIP, 11.0

    def draw(self) -> None:
        """Band and marks."""
        if self.scale is not None:
            room = self.width - 2 * _STRIP_END
            paint(self.canv, strip_marks(_STRIP_END, -1.0, room, self.height, self.scale, self.points))


def location_points(area: AreaResult) -> list[LocationPoint]:
    """Locations of an area as points of a chart."""
    return [
        LocationPoint(
            location.id,
            location.profile,
            location.expanded_uncertainty,
            tuple(spot.profile for spot in location.spots if spot.profile is not None),
            location.verdict,
        )
        for location in area.locations
    ]


def seen_grades(area: AreaResult) -> str:
    """The grades seen at the locations of the plan, each with how often; empty without a comparison."""
    seen = Counter(one.observed for one in area.locations if one.observed is not None and one.walk_out is None)
    return ", ".join(f"{grade} × {count}" for grade, count in seen.items())


def strip_in_words(context: Context, points: list[LocationPoint]) -> str:
    """What a strip shows, in numbers, for a reader who does not see it."""
    words = context.words
    judged = [
        words(
            "strip.point", location=point.id, value=digits(point.profile), unit=context.unit,
            verdict=words(f"verdict.{point.verdict}"),
        )
        for point in points
        if point.profile is not None
    ]  # fmt: skip
    return "; ".join(judged) or words("strip.none")


def area_strip(context: Context, area: AreaResult, unmeasured: str) -> Any:
    """The strip of an area; the grades seen where it was compared and not measured, else why there is neither."""
    points = location_points(area)
    if any(point.profile is not None for point in points):
        return Tagged(Strip(context, points), "Figure", alt=strip_in_words(context, points))
    seen = seen_grades(area)
    return Cell(seen) if seen else Cell(unmeasured, ink=MUTED)


def _areas(context: Context) -> list[Flowable]:
    words = context.words
    profile = context.job.project.specification.profile
    ids = [area.id for area in context.evaluation.areas]
    unseen = {missed.area: missed.reason for missed in reversed(context.job.day.not_inspected)}
    first = min(118.0, max([34.0, *(text_width(each, BOLD, BODY) for each in (*ids, *unseen))]) + 8)
    room = context.width - first - _STRIP - 14 - 36 - 56 - _DECISION
    columns = [
        Column(words("areas.area"), first, face=BOLD),
        Column("", room),
        Column("", _STRIP + 14, gap=14),
        Column(words("areas.mean"), 36, "RIGHT"),
        Column(words("areas.uncertainty"), 56, "RIGHT", gap=12),
        Column(words("areas.decision"), _DECISION, gap=0),
    ]
    rows: list[list[Row]] = []
    for area in context.evaluation.areas:
        strip = area_strip(context, area, unseen.get(area.id, words("areas.no-profile")))
        uncertainty = digits(area.expanded_uncertainty)
        if area.coverage_factor is not None:
            uncertainty += f" ({digits(area.coverage_factor)})"
        word = words("decision.unseen") if area.id in unseen else decision_word(context, area)
        mark = Verdict(decision_verdict(area), word, _DECISION, face=BOLD)
        rows.append([(area.id, context.area_name(area.id), strip, digits(area.mean), uncertainty, mark)])
    for missed in context.job.day.not_inspected:
        if missed.area not in ids:
            mark = Verdict("not evaluated", words("decision.unseen"), _DECISION, face=BOLD)
            name, reason = context.area_name(missed.area), Cell(missed.reason, ink=MUTED)
            rows.append([(missed.area, name, reason, "–", "–", mark)])
    unit, limits = context.unit, context.limits(profile.minimum, profile.maximum)
    key = "areas.note" if limits else "areas.note.unlimited"
    note = words(key, unit=unit, limits=limits) if unit else ""
    title = SectionTitle(words("areas.title"), "areas", note=note)
    if not rows:
        return [title, running_text(words("areas.none"), "muted", before=4)]
    table = GroupedTable(columns, rows, words("areas.summary"), row_head=True, heads={2: StripHead(context)})
    return [CondPageBreak(table.need(3)), title, table, Legend(context)]


class Legend(Flowable):  # type: ignore[misc] # reportlab has no types
    """What band and marks mean, in one line."""

    def __init__(self, context: Context) -> None:
        super().__init__()
        self.words, self.scale = context.words, context.scale
        self.spaceBefore = 5.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """One line."""
        self.width, self.height = aW, 9.0
        return self.width, self.height

    def draw(self) -> None:
        """Band, then the three marks, from the right margin leftwards as one line of text."""
        entries = [(verdict, self.words(f"legend.{key}")) for verdict, key in _LEGEND]
        if self.scale is not None and (self.scale.minimum, self.scale.maximum) != (None, None):
            entries.insert(0, ("", self.words("legend.band")))
        widths = [text_width(text, REGULAR, LABEL) + (22 if not verdict else 20) for verdict, text in entries]
        x = self.width - sum(widths) + 9
        canvas = self.canv
        with tagged(canvas, "P"):
            for (verdict, text), wide in zip(entries, widths, strict=True):
                if verdict:
                    paint(canvas, [verdict_mark(verdict, x + 3, 4.3, 6.0)])
                    write(canvas, x + 8.5, 2, text, LABEL, MUTED)
                else:
                    canvas.setFillColor(colour(BAND))
                    canvas.rect(x, 1.2, 9, 6.2, stroke=0, fill=1)
                    write(canvas, x + 12, 2, text, LABEL, MUTED)
                x += wide


_LEGEND = (("conforms", "conforms"), ("does not conform", "fails"), ("inconclusive", "open"))


def _findings(context: Context) -> list[Flowable]:
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
