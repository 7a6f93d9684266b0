"""A release slip: half a page that says of one area that it may be primed, until when, and on what that rests."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.charts import Ruler, scale_heads
from reportgen.gc_pause import collector_off
from reportgen.names import slip_number
from reportgen.pdf.blocks import Facts, Runs, SectionTitle, VerdictBanner, running_text
from reportgen.pdf.charted import Captioned, Drawing, SideBySide
from reportgen.pdf.page import Furniture, Geometry, build_pages, geometry
from reportgen.pdf.pictures import Pictures
from reportgen.pdf.signing import Rendered
from reportgen.pdf.styles import BOLD, DENSE, FINE, FINEST, INK, REGULAR
from reportgen.pdf.tagging import Tagged
from reportgen.pdf.textlines import Run
from reportgen.pdf.tightening import tightest
from reportgen.report.area_facts import blasting
from reportgen.report.context import Context, area_bookmark
from reportgen.report.document import body_logo
from reportgen.report.integrity import report_line
from reportgen.report.shift import point_in_words
from reportgen.report.signature import SignatureFoot
from reportgen.report.summary import area_strip, areas_note, conforming
from reportgen.report.verdicts import decision_verdict, lowered, reasons
from reportgen.units import decimal_mark
from reportgen.words.catalogue import catalogue
from reportgen.words.numbers import digits, shown_unit, typeset

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.job import Job
    from reportgen.job.template import Template
    from reportgen.pdf.flow import Flowable
    from reportgen.report.issue import Issue
    from reportgen.results import AreaResult, Evaluation

_STRIP = 118.0


def render_slip(
    job: Job, evaluation: Evaluation, issue: Issue, template: Template, pictures: Pictures | None, area: str
) -> Rendered:
    """Return the unsigned pages of a release slip, two to a sheet; as ``render_report``.

    Raises:
        UsageError: when the template's language has no catalogue.
    """
    words, whole = catalogue(template.language), geometry(template.page)
    with collector_off(), decimal_mark(words.decimal):
        half = Geometry(whole.page_width, whole.page_height / 2)
        context = Context(job, evaluation, issue, template, words, half.width, half.height, pictures or Pictures(), {})
        result = next(one for one in evaluation.areas if one.id == area)
        furniture = Furniture(
            half,
            job.project.inspection_body.name,
            identity(context, area),
            words("slip.footer"),
            lambda page, pages: words("page.count", page=page, pages=pages),
            logo=body_logo(context),
        )
        foot = SignatureFoot(context, of="slip")

        def build(ready: Callable[[Any], Any]) -> tuple[Rendered, float]:
            laid = build_pages(
                list(map(ready, _story(context, result))), furniture,
                title=f"{words('slip.title')}, {area}, {report_line(context)}", language=words.language,
                first_page_foot=foot.height, finish_first_page=foot.draw,
            )  # fmt: skip
            return Rendered(laid.pdf, laid.pages, foot.boxes()[0]), laid.filled

        return tightest(build)


def identity(context: Context, area: str) -> str:
    """What tells a slip from any other: of which area it is, and when it was signed; then whose report it is for."""
    own = context.words("slip.identity", area=area, moment=context.in_full(context.issue.at))
    return f"{own} · {report_line(context)}"


def _story(context: Context, area: AreaResult) -> list[Flowable]:
    words, report, at = context.words, context.evaluation.report, context.issue.at
    own = slip_number(report.number, area.id, at)
    moment, clock = context.in_full(at), context.job.clock
    ended = context.in_full(clock.instant(clock.end))
    stated = context.job.project.specification.time_to_coat is not None
    times = (one.coat_by for one in context.evaluation.coating_times if one.area == area.id)
    first = min((context.moment(each) for each in times if each), default=None)  # all of it is to be coated by then
    until = "" if first is None else words("areas.by", time=context.in_full(first))
    by = words("slip.until", until=until) if stated else words("slip.until.none", end=ended)
    named = [[Run(f"{context.area_name(area.id)}. ", REGULAR, INK)]]
    named += [[Run(by, BOLD, INK)]] if until or not stated else []
    named += [[Run(f"{words('slip.accepted')} {reasons(context, area)}", REGULAR, INK)]] if area.by_decision else []
    banner = VerdictBanner(decision_verdict(area), words("slip.released", area=area.id), named)
    banner.spaceBefore = 6.0
    only = words("slip.only", limits=_conditions(context) or words("slip.no-limits"))
    said = " · ".join(
        words(
            "slip.location", location=area.located(one), verdict=words(f"verdict.{one.verdict}"),
            value=context.said.graded(one.observed) if one.observed else digits(one.profile),
        )
        for one in area.locations
    )  # fmt: skip
    beside: list[Any] = [_Sized(Facts(_facts(context, area), 2, size=DENSE, leading=9.0), context.width - _STRIP - 14)]
    drawn = area_strip(context, area)
    if context.scale is not None and isinstance(drawn, Drawing):
        ruler = Ruler(context.scale, 5.0, _STRIP - 10.0)
        heads = Drawing(_STRIP, 9.0, lambda _: scale_heads(ruler, FINEST))
        beside.append(Captioned(drawn, areas_note(context).rpartition("· ")[2], heads=heads))
    located = [Run(f"{words('slip.locations', unit=context.unit)} ", BOLD, INK), Run(typeset(said), REGULAR, INK)]
    safety = [Run(f"{words('safety.first')} {words('slip.safety')}", REGULAR, INK)]
    return [
        SectionTitle(
            words("slip.title"),
            area_bookmark(area.id),
            level=1,
            ruled=False,
            note=words("slip.subtitle", own=own, number=report.number, moment=moment),
        ),
        banner,
        Tagged(Runs([Run(only, BOLD, INK)], size=DENSE, leading=9.4, before=5), "P"),
        running_text(words("slip.not"), "fine", before=3),
        Tagged(Runs(safety, size=FINE, leading=8.6, before=2), "P", bookmark="safety"),
        SideBySide(beside, before=5),
        Tagged(Runs(located, size=DENSE, leading=9.4, before=2), "P"),  # of a large area it goes on overleaf
    ]


def _conditions(context: Context) -> str:
    """The limits of the conditions, each in words that say of what it is."""
    told = []
    for row in context.requirements.rows():
        kind, _, side = row.topic.partition(".")
        if kind == "conditions" and side != "interval":
            whole = context.words.knows(f"limit.{side}")
            told.append(row.limit if whole else f"{lowered(context, row.label)} {row.limit}")
    return "; ".join(told)


class _Sized(Facts):
    """Facts of a width of their own beside something else."""

    def __init__(self, facts: Facts, width: float) -> None:
        super().__init__(facts.facts, facts.columns, size=facts.size, leading=facts.leading)
        self.own = width

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The width given."""
        return super().wrap(self.own, aH)


def _facts(context: Context, area: AreaResult) -> list[tuple[str, str]]:
    """Steel, profile, conditions as last read, whose contract it is."""
    words = context.words
    conform, planned, _ = conforming(area)
    counted = words("areas.of", conform=conform, planned=planned)
    spread = f"{digits(area.minimum)} – {digits(area.maximum)} {context.unit}" if area.minimum is not None else ""
    steel = [" · ".join(blasting(context, surface)[:2]) for surface in context.surfaces.get(area.id, [])]
    here = [one for one in context.evaluation.conditions if one.place in (area.place, None)]
    last = here[-1] if here else None
    asked = {row.topic: row.limit for row in context.requirements.rows()}
    humid = asked.get("conditions.maximum_humidity") or words("slip.no-limit")
    held = words("slip.humidity", value=digits(last and last.humidity), limit=humid)
    seen = "–" if last is None else f"{point_in_words(context, last)}, {held}"
    project = context.job.project.project
    zone = f"{context.evaluation.report.date}, {project.time_zone}"
    return [
        (words("slip.steel", zone=zone), "; ".join(steel)),
        (words("required.profile"), " · ".join(filter(None, (f"{counted} {words('areas.conform')}", spread)))),
        (words("slip.seen", unit="" if last is None else shown_unit(last.temperature_unit)).rstrip(", "), seen),
        (words("identity.project"), f"{project.name} · {project.contract}"),
    ]
