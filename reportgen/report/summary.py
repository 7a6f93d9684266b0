"""Page 1: the verdict in one sentence, identity, areas with their strips and decisions, what must happen next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.charts import Label, LocationPoint, Ruler, Strip, line, scale_heads, verdict_mark
from reportgen.charts.profiles import LIMIT
from reportgen.pdf.blocks import Facts, Runs, VerdictBanner, running_text, title_text, word_ink
from reportgen.pdf.canvas import tagged
from reportgen.pdf.charted import Drawing
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import BOLD, DENSE, FINE, FINEST, INK, MUTED, REGULAR
from reportgen.pdf.tables import Cell, Column, Row
from reportgen.pdf.textlines import Run, lines_of, text_width
from reportgen.pdf.tightening import tightened
from reportgen.report.actions import actions_section
from reportgen.report.requirements import profile_limits, profile_rules, stated_topics
from reportgen.report.signature import SignatureFoot
from reportgen.report.tables import END, PAD, empty, section, table
from reportgen.report.verdicts import (
    ACCEPTED,
    DECISIONS,
    decision_verdict,
    decision_word,
    headline,
    location_word,
    lowered,
    named_decisions,
    reasons,
)
from reportgen.words.numbers import digits, zone_text
from reportgen.words.omitted import omitted_texts

if TYPE_CHECKING:
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, LocationResult

_LEGEND_LINE = 9.0
_STRIP, _STRIP_END = 118.0, 5.0  # 46 mm; room for the numbers of the outermost ticks
_TIME_ALONE = 12  # letters of a time without its date
_ID = 118.0  # points of the ids of areas that have a column
_NAME_LINES = 3  # of the name of an area beside its strip
_MANY = 12  # areas from which on the actions come first, and what is released last


def summary_pages(context: Context) -> list[Flowable]:
    """The flowables of the summary, all but the foot of the page with the signature."""
    words, day, report = context.words, context.job.day, context.evaluation.report
    shift = f"{day.report.shift.start:%H:%M}–{day.report.shift.end:%H:%M}"
    story: list[Flowable] = [
        title_text(words("title"), "title", 1, bookmark="summary"),
        running_text(words("subtitle", number=report.number, date=report.date, shift=shift), "subtitle"),
    ]
    story += [running_text(words("translation.told"), "note", before=4)] if words.draft else []
    if replaced := day.report.supersedes:
        told = words("supersedes", revision=replaced.revision, reason=replaced.reason)
        story.append(running_text(told, "bold", before=5))
    story += [running_text(one, "note", before=2) for one in omitted_texts(context.issue.omitted, words, context.said)]
    details = []
    if unfilled := len(context.job.unfilled):
        details.append([Run(words("details.unfilled", count=unfilled), REGULAR, INK)])
    line_of_ids = [
        run for decision, ids in named_decisions(context)
        for run in (Run(words(f"decided.{decision}"), BOLD, INK), Run(f" {ids}. ", REGULAR, INK))
    ]  # fmt: skip
    details += [line_of_ids] if line_of_ids else []
    banner = VerdictBanner(context.evaluation.verdict, headline(context), details)
    story += [banner, Facts(identity_facts(context), 3, before=7, size=8, leading=9.4)]
    blocks = [*areas_section(context), *actions_section(context)]
    room = context.height - SignatureFoot(context).height
    if len(context.evaluation.areas) <= _MANY:
        if _tall(context, [*story, *blocks]) <= room:
            return [*story, *blocks]
        blocks = [tightened(one) for one in blocks]
        if _tall(context, [*story, *blocks]) <= room:
            return [*story, *blocks]
    return [*story, *actions_section(context), *areas_section(context, going_on=True)]


def _tall(context: Context, blocks: list[Flowable]) -> float:
    """Height of blocks under each other on a page."""
    shown = [one for one in blocks if not isinstance(one, CondPageBreak)]
    tall = (
        one.wrapOn(None, context.width, context.height)[1] + one.getSpaceBefore() + one.getSpaceAfter() for one in shown
    )
    return sum(map(float, tall)) - float(shown[0].getSpaceBefore())


def identity_facts(context: Context) -> list[tuple[str, str]]:
    """Labels and values of who, where and when: six of them."""
    words, job = context.words, context.job
    contract, day, body = job.project.project, job.day, job.project.inspection_body
    shift = day.report.shift
    issued = f"{context.issue.at:%Y-%m-%d %H:%M} {zone_text(context.issue.at)}"
    issued = words("identity.draft", at=issued) if context.issue.status == "draft" else issued
    ended = job.clock.instant(job.clock.end)
    until = f"{shift.end:%H:%M}" if context.moment_known >= ended else context.printed(context.moment_known)
    inspected = f"{day.report.date.isoformat()}, {shift.start:%H:%M}–{until} {contract.time_zone}"
    facts = {
        "project": (contract.name, contract.contract),
        "client": (contract.client, contract.client_contact or words("identity.no-contact")),
        "contractor": (contract.contractor,),
        "body": (body.name, body.address, body.contact, body.accreditation),
        "site": (contract.site,),
        "inspected": (inspected, issued),
    }
    return [(words(f"identity.{key}"), " · ".join(filter(None, values))) for key, values in facts.items()]


def location_points(area: AreaResult) -> list[LocationPoint]:
    """Locations of an area as points of a chart."""
    return [
        LocationPoint(
            location.id,
            location.profile,
            location.expanded_uncertainty,
            tuple(spot.profile for spot in location.spots if spot.profile is not None),
            location.verdict,
            location.walk_out is not None,
        )
        for location in area.locations
    ]


def conforming(area: AreaResult) -> tuple[int, int, int]:
    """How many locations of the plan conform, of how many that it asks for or that were taken, and how many lack."""
    own = [one.verdict for one in area.locations if one.walk_out is None]
    planned = max(len(own), area.required_locations or 0)
    return own.count("conforms"), planned, planned - len(own)


def strip_in_words(context: Context, area: AreaResult) -> str:
    """What a strip shows, for a reader who does not see it: how many conform of those planned and of the walk-outs,

    from where to where those planned lie, the limits, and which do not conform.
    """
    words, profile = context.words, context.job.project.specification.profile
    failing = [
        words(
            "strip.point", location=area.located(one), value=digits(one.profile),
            verdict=_verdict_in_words(context, one),
        )
        for one in area.locations
        if one.verdict != "conforms"
    ]  # fmt: skip
    conform, planned, _ = conforming(area)
    walked = [one.verdict for one in area.locations if one.walk_out is not None]
    told = words(
        "strip.alt", area=area.id, planned=planned, conform=conform, low=digits(area.minimum),
        high=digits(area.maximum), unit=context.unit, limits=context.limits(profile.minimum, profile.maximum),
    )  # fmt: skip
    beyond = [words("strip.walked", count=len(walked), conform=walked.count("conforms"))] if walked else []
    return "; ".join([told, *beyond, *failing])


def _verdict_in_words(context: Context, location: LocationResult) -> str:
    """The verdict on a location, where there is none what its table says instead."""
    if location.verdict == "inconclusive":
        return location_word(context, location)
    return context.words(f"verdict.{location.verdict}")


def area_strip(context: Context, area: AreaResult) -> Any:
    """The strip of an area; the grades seen where it was compared and not measured, else that nothing was."""
    points = location_points(area)
    if context.scale is not None and any(point.profile is not None for point in points):
        ruler = Ruler(context.scale, _STRIP_END, _STRIP - 2 * _STRIP_END)
        _, _, missing = conforming(area)
        strip = Strip(ruler, points, context.words("strip.missing", count=missing) if missing else "")
        alt = strip_in_words(context, area)
        return Drawing(_STRIP, strip.height, lambda height: strip.marks(height, PAD), alt, fills=True)
    read = sum(any(spot.readings for spot in one.spots) for one in area.locations)
    nothing = context.words("areas.no-value", count=read) if read else context.words("areas.no-profile")
    return Cell(context.seen_grades(area) or nothing, ink=MUTED)


def _decision(verdict: str, word: str, why: str, width: float) -> Runs:
    runs = [Run(word, BOLD, word_ink(verdict))]
    runs += [Run(f"\n{why}", REGULAR, INK)] if why else []
    return Runs(runs, width, verdict=verdict, size=DENSE - 0.3, leading=8.9)


def areas_section(context: Context, *, going_on: bool = False) -> list[Flowable]:
    """A row for each area, what is not released first in a long list.

    What the marks mean and how was judged stands below, above a table that goes on beyond page 1.
    """
    words, evaluation = context.words, context.evaluation
    ids = [*(area.id for area in evaluation.areas), *context.unseen]
    if not ids:
        return empty(context, "areas.title", "areas", words("areas.none"))
    widest = max(text_width(each, BOLD, DENSE + 1) for each in ids) + 7
    first = max(33.0, widest) if widest <= _ID else 33.0  # a longer one stands above the rest of its row
    dated = any(len(_primed(context, area)) > _TIME_ALONE for area in evaluation.areas)
    last = 54.0 if dated else 31.0  # a date is not broken
    counts = [text_width(counted(context, area), REGULAR, DENSE) for area in evaluation.areas]
    conform = max([32.0, *(wide + 3 for wide in counts)])
    room = context.width - first - _STRIP - conform - 55 - last
    columns = [
        Column(words("areas.area"), first, face=BOLD),
        Column("", room * 0.39),
        Column("", _STRIP, gap=0),
        Column(words("areas.conform"), conform, "RIGHT", gap=2),
        Column(words("areas.range"), 55, "RIGHT", gap=7),
        Column(words("areas.decision"), room * 0.61, gap=4),
        Column(words("areas.primed"), last, gap=0),
    ]
    shown = sorted(evaluation.areas, key=lambda area: len(ids) > _MANY and area.decision == DECISIONS[0])
    wide = room * 0.39 - 6
    rows = [_area_row(context, area, wide, room * 0.61 - 4) for area in shown]
    known = {area.id for area in evaluation.areas}
    for area_id, why in context.unseen.items():
        if area_id not in known:
            told = _decision("not evaluated", words("decision.unseen"), why, room * 0.61 - 4)
            nothing = Cell(words("areas.no-profile"), ink=MUTED)
            rows.append((area_id, _name(context, area_id, wide), nothing, "–", "–", told, "–"))
    rows[-1][5].bookmark = f"areas{END}"  # type: ignore[union-attr] # `_decision` made it
    heads = {}
    if context.scale is not None:
        ruler = Ruler(context.scale, _STRIP_END, _STRIP - 2 * _STRIP_END)
        heads = {2: Drawing(_STRIP, 9.0, lambda _: scale_heads(ruler, FINE - 0.3))}
    made = table(context, "areas.title", columns, rows, heads=heads)
    below = [Legend(context), running_text(judged_by(context), "fine", before=3)]
    *title, _ = section(context, "areas.title", "areas", made, areas_note(context))
    return [*title, *below, made] if going_on else [*title, made, *below]


def counted(context: Context, area: AreaResult) -> str:
    """How many locations of the plan conform, of how many: on one line."""
    conform, planned, _ = conforming(area)
    told = context.words("areas.of", conform=conform, planned=planned) if area.locations else "–"
    return told.replace(" ", "\u00a0")


def _area_row(context: Context, area: AreaResult, named: float, width: float) -> Row:
    measured = any(one.profile is not None for one in area.locations)
    low_high = f"{digits(area.minimum)} – {digits(area.maximum)}" if measured and area.minimum is not None else "–"
    verdict = "not evaluated" if area.id in context.unseen else decision_verdict(area)
    told = _decision(verdict, decision_word(context, area), reasons(context, area), width)
    return (
        area.id,
        _name(context, area.id, named),
        area_strip(context, area),
        counted(context, area),
        low_high,
        told,
        _primed(context, area) or "–",
    )


def _primed(context: Context, area: AreaResult) -> str:
    """When an area was primed, or until when to prime it; both, where one part was primed and another is to be."""
    if primed := context.primed(area.id):
        return primed
    part = context.primed_in_part(area.id)
    some = context.words("areas.in-part", time=part).replace(" ", "\u00a0") if part else ""
    released = area.decision == DECISIONS[0] and area.id not in context.unseen
    until = context.coat_by(area.id) if released or context.passed(area.id) else ""
    return "; ".join(filter(None, (some, until.replace(" ", "\u00a0") if some else until)))


def _name(context: Context, area_id: str, width: float) -> str:
    """The name of an area with its structure's; a long one alone, and one of many lines above the rest of its row."""
    name = context.area_name(area_id)
    if len(lines_of(name, REGULAR, DENSE, width)) <= _NAME_LINES:
        return name
    known = {area.id: area.name for structure in context.job.project.structures for area in structure.areas}
    return known.get(area_id, name).replace(" ", "\u00a0")


def areas_note(context: Context) -> str:
    """What the strips show: the unit and the limits."""
    limits = profile_limits(context)
    if not context.unit:
        return limits
    return context.words("areas.note" if limits else "areas.note.unlimited", unit=context.unit, limits=limits)


def judged_by(context: Context) -> str:
    """What page 1 owes a reader who sees no other page: specification, limits, method, decision rule, uncertainty."""
    words, specification = context.words, context.job.project.specification
    stated = specification.profile
    clause = f", {words('clause', clause=stated.clause)}" if stated.clause else ""
    sentence = words(
        "judged.profile", document=f"{specification.document}{clause}", limits=profile_limits(context),
        method=f"{stated.method} ({stated.edition})", rules="; ".join(profile_rules(context)),
    )  # fmt: skip
    known = [one.expanded_uncertainty for area in context.evaluation.areas for one in area.locations]
    values = sorted(value for value in known if value is not None)
    if values:
        shown = "–".join(dict.fromkeys((digits(values[0]), digits(values[-1]))))
        sentence += f" {words('judged.uncertainty', range=shown, unit=context.unit)}"
    others = [topic for topic in stated_topics(context) if topic != "profile"]
    listed = ", ".join(lowered(context, context.topic_name(topic)) for topic in others)
    return f"{sentence} {words('judged.others', topics=listed)}" if others else sentence


class Legend(Flowable):  # type: ignore[misc] # reportlab has no types
    """What marks and lines mean: text with the marks in it, in as many lines as it needs."""

    def __init__(self, context: Context) -> None:
        super().__init__()
        words = context.words
        entries: list[tuple[str, str]] = [
            ("conforms", words("legend.conforms")), ("does not conform", words("legend.fails")),
            ("inconclusive", words("legend.open")),
        ]  # fmt: skip
        if context.scale is not None and (context.scale.minimum, context.scale.maximum) != (None, None):
            entries.append(("", words("legend.limit")))
        if any(one.walk_out is not None for area in context.evaluation.areas for one in area.locations):
            entries.insert(3, ("walked", words("legend.walked")))
        if any(one.by_decision for one in context.evaluation.areas):
            entries.insert(1, (ACCEPTED, words("legend.accepted")))
        self.entries, self.spaceBefore = entries, 3.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """As many lines as the entries need side by side."""
        x, lines = 0.0, 0
        self.places: list[tuple[float, int]] = []
        for _, text in self.entries:
            wide = 9 + text_width(text, REGULAR, FINEST)
            if x and x + wide > aW:
                x, lines = 0.0, lines + 1
            self.places.append((x, lines))
            x += wide + 11
        self.width, self.height = aW, _LEGEND_LINE * (lines + 1)
        return self.width, self.height

    def draw(self) -> None:
        """Each mark with its text."""
        with tagged(self.canv, "P"):
            for (kind, text), (x, above) in zip(self.entries, self.places, strict=True):
                verdict, size = ("conforms", 3.8) if kind == "walked" else (kind, 6.0)
                y = self.height - _LEGEND_LINE * (above + 1)
                limit = line(x + 3, y + 0.6, x + 3, y + 8.0, LIMIT)
                mark = verdict_mark(verdict, x + 3, y + 4.3, size) if kind else limit
                paint(self.canv, [mark, Label(x + 9, y + 2, text, FINEST, MUTED)])
