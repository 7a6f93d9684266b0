"""The shift: work, checks and conditions on one axis of time, and the readings of the conditions place by place."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from reportgen.charts import shift as chart
from reportgen.job.places import folded
from reportgen.measurements import LOGS, TESTS
from reportgen.names import natural
from reportgen.pdf.blocks import SectionTitle, running_text
from reportgen.pdf.charted import Drawing
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, FAILS, MUTED, REGULAR
from reportgen.pdf.tables import SECTION_ROOM, Cell, Column, GroupedTable, Row, time_width
from reportgen.pdf.textlines import Run, lines_of, text_width
from reportgen.pdf.tightening import WhicheverFits
from reportgen.report.tables import cell, section, table
from reportgen.report.verdicts import in_short, lowered, primer_doubts, worst
from reportgen.units import later
from reportgen.words.numbers import digits, shown_unit

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.charts.drawing import FaceName
    from reportgen.job import Surface
    from reportgen.measurements.conditions import ConditionResult
    from reportgen.report.context import Context
    from reportgen.results import AreaResult

_PANELS = 3  # places that have a panel; of more the worst has one, and the table holds the rest
_MANY = 24  # areas beyond which those released share a lane for each apparatus
_MOST_LANES = 64  # more have no room on any page
_ABOVE = 2.0  # points above a figure
_QUARTER = 15  # clocks are put forward and back on the quarter of an hour
_BESIDE_TIME = 20.0  # points that the times have more where no place stands beside them
_VALUES = {
    "air": "air_uncertainty", "humidity": "humidity_uncertainty", "steel": "steel_uncertainty",
    "dew_point": "dew_point_uncertainty", "margin": "expanded_uncertainty",
}  # fmt: skip
"""Values of a reading, and where their uncertainties are."""
_LIMITED = {
    "dew-point-margin": "margin", "humidity-above-maximum": "humidity", "steel-too-cold": "steel",
    "steel-too-warm": "steel", "air-temperature-outside-limits": "air",
}  # fmt: skip
"""Findings, and the value of a reading that each is about."""


def letters_of(keys: Iterable[str]) -> dict[str, str]:
    """Return the letter over the disc of each kind of test: the first of its name that no kind before it has.

    >>> letters_of(["salts", "dust", "stains"])
    {'salts': 's', 'dust': 'd', 'stains': 't'}
    """
    taken: dict[str, str] = {}
    for key in keys:
        taken[key] = next(one for one in key + ascii_lowercase if one.isalpha() and one not in taken.values())
    return taken


_LETTERS = letters_of(kind.key for kind in TESTS if kind.timed)


def shift_section(context: Context) -> list[Flowable]:
    """The chart, then the readings of the conditions; before it where there is room for them and not for the chart."""
    words, results = context.words, context.evaluation.conditions
    drawn = shift_chart(context)
    drawn_letters = {test.letter for lane in (drawn.lanes if drawn else ()) for test in lane.tests}
    named = {letter: lowered(context, context.topic_name(key)) for key, letter in _LETTERS.items()}
    told = [f"{letter}: {name}" for letter, name in named.items() if letter in drawn_letters]
    note = " · ".join(filter(None, (words("shift.note"), ", ".join(told))))
    after, before, least = [running_text(words("climate.none"), before=4)], list[Any](), 0.0
    if drawn is None:
        return [CondPageBreak(SECTION_ROOM + 40), SectionTitle(words("shift.title"), "conditions"), *after]
    title = SectionTitle(words("shift.title"), "conditions", note=note)
    high = title.wrapOn(None, context.width, context.height)[1] + title.getSpaceBefore() + title.getSpaceAfter()
    figure, *others = figures(context, drawn, context.height - float(high))
    if results:
        made, more = conditions_table(context, results), further(context)
        after, before = (
            [*section(context, "climate.title", "climate", made, inner=one), *more] for one in (True, False)
        )
        least = made.lead(3) + SECTION_ROOM
    if others:
        return [CondPageBreak(context.height), title, figure, *others, *after]
    return [CondPageBreak(SECTION_ROOM), WhicheverFits(title, figure, after, before, least)]


def figures(context: Context, drawn: chart.ShiftChart, room: float) -> list[Drawing]:
    """The chart; where it has more lanes than there is ``room`` for, as many as it needs, the panels in the last."""
    found, lanes = [], list(drawn.lanes)
    while (last := replace(drawn, lanes=lanes)).height + _ABOVE > room and lanes:
        some = lanes[:_MOST_LANES]
        while (part := _lanes_alone(drawn, some)).height + _ABOVE > room and len(some) > 1:
            some = some[:-1]
        found.append(part)
        lanes = lanes[len(some) :]
    return [
        Drawing(context.width, each.height, each.marks, chart_in_words(context, each), before=_ABOVE)
        for each in (*found, last)
    ]


def _lanes_alone(drawn: chart.ShiftChart, lanes: Sequence[chart.Lane]) -> chart.ShiftChart:
    """A part of a chart that is lanes and nothing else."""
    return replace(drawn, lanes=lanes, checks=(), panels=(), worst=None)


def conditions_table(context: Context, results: Sequence[ConditionResult]) -> GroupedTable:
    """A row for each reading: values, margin, verdict, and which work it covers."""
    words, wide = context.words, time_width(result.time for result in results)
    rest = context.width - wide - len(_VALUES) * 52
    several = any(result.place for result in results)
    room = rest * 0.62 if several else rest - _BESIDE_TIME
    columns = [
        Column(words("climate.time"), wide + (0.0 if several else _BESIDE_TIME)),
        *([Column(words("climate.place"), rest * 0.38)] if several else []),
        *(Column(head, 52, "RIGHT", gap=10) for head in _heads(context)),
        Column(words("climate.during"), room, gap=0),
    ]
    rows: list[Row] = []
    for result in results:
        missed = {_LIMITED.get(finding.code) for finding in about(context, result)}
        values = {name: digits(getattr(result, name)) for name in _VALUES}
        cells = [Cell(text, BOLD, FAILS) if name in missed else text for name, text in values.items()]
        told = " · ".join(filter(None, (words(f"verdict.{result.verdict}"), _covered(context, result))))
        covers = cell([Run(told, REGULAR, MUTED)], room, result.verdict)
        rows.append((result.time, *([result.place or "–"] if several else []), *cells, covers))
    return table(context, "climate.title", columns, rows, pad=2.0)


def _heads(context: Context) -> list[str]:
    units = dict.fromkeys(shown_unit(one.temperature_unit) for one in context.evaluation.conditions)
    return [context.words(f"climate.{name.replace('_', '-')}", unit=", ".join(units)) for name in _VALUES]


def _covered(context: Context, result: ConditionResult) -> str:
    """The work that a reading stands for, each kind once with its areas: `blasting G-1, G-2`."""
    work: dict[str, list[str]] = {}
    for each in result.during:
        kind, _, area = each.partition(" ")
        work.setdefault(kind, []).extend([area] if area else [])
    return "; ".join(
        f"{context.words.named('during', kind)} {', '.join(sorted({*ids}, key=natural))}".strip()
        for kind, ids in work.items()
    )


def about(context: Context, result: ConditionResult) -> list[Any]:
    """The findings about a reading of the conditions."""
    at = [one for one in context.evaluation.findings if one.place.time == result.time]
    return [one for one in at if getattr(one.facts, "taken_at", None) in (result.place, None)]


def further(context: Context) -> list[Flowable]:
    """How sure the values are, and what else was read: wet bulb and pressure, the warmest steel, remarks."""
    words, parts = context.words, []
    for head, field in zip(_heads(context), _VALUES.values(), strict=True):
        every = (getattr(each, field) for each in context.evaluation.conditions)
        if known := sorted(value for value in every if value is not None):
            parts.append(f"{head} {'–'.join(dict.fromkeys((digits(known[0]), digits(known[-1]))))}")
    texts = [words("climate.uncertainty", values=", ".join(parts))] if parts else []
    for entry in context.job.day.conditions:
        stated = {
            "climate.wet-bulb": entry.wet_bulb and {"wet": entry.wet_bulb, "pressure": entry.pressure},
            "climate.warmest": entry.steel_warmest and {"steel": entry.steel_warmest},
        }
        told = [words(key, **values) for key, values in stated.items() if values] + [entry.remarks or ""]
        if any(told):
            at = f"{context.at(entry.time)} {entry.taken_at}".rstrip()
            texts.append(f"{at}: {', '.join(filter(None, told))}")
    return [running_text("; ".join(texts), "fine", before=3)] if texts else []


def _midnight(context: Context) -> dt.datetime:
    """The instant from which the axis counts: midnight at which the report's date begins, in the site's zone."""
    return dt.datetime.combine(context.job.day.report.date, dt.time.min, ZoneInfo(context.job.clock.zone))


def _elapsed(context: Context, moment: dt.datetime) -> int:
    """Minutes that have passed since that midnight: by UTC, as two local times are an hour off over a clock change."""
    return round((moment.astimezone(dt.UTC) - _midnight(context).astimezone(dt.UTC)).total_seconds()) // 60


def minutes(context: Context, at: str) -> int:
    """Minutes since midnight of the report's date, of a time as printed."""
    return _elapsed(context, context.moment(at))


def instant(context: Context, clock: dt.time | dt.datetime) -> int:
    """Minutes since midnight of the report's date, of a time as entered."""
    return _elapsed(context, context.job.clock.instant(clock))


def _local(context: Context, minute: int) -> dt.datetime:
    """What a clock on site shows at a minute of the axis."""
    return (_midnight(context).astimezone(dt.UTC) + dt.timedelta(minutes=minute)).astimezone(_midnight(context).tzinfo)


def _clock(context: Context, minute: int, *, last: int | None = None) -> str:
    """A minute of the axis as printed, its date left to the axis; said where it lies on a day after ``last``."""
    told, local = context.printed(_local(context, minute)), _local(context, minute)
    beyond = last is not None and local.date() > _local(context, last).date()
    return told if beyond else told.rpartition(" ")[2]


def _turns(context: Context, span: tuple[int, int]) -> tuple[tuple[int, str], ...]:
    """Where on the axis another day begins, or the clock is put forward or back, in words."""
    found: list[tuple[int, str]] = []
    before = _local(context, span[0])
    for minute in range(span[0] + _QUARTER, span[1] + 1, _QUARTER):
        local = _local(context, minute)
        if local.utcoffset() != before.utcoffset():
            unturned = before + dt.timedelta(minutes=_QUARTER)
            found.append((minute, context.words("shift.clock", before=f"{unturned:%H:%M}", after=f"{local:%H:%M}")))
        elif local.date() != before.date():
            found.append((minute, local.date().isoformat()))
        before = local
    return tuple(found)


def shift_chart(context: Context) -> chart.ShiftChart | None:
    """Everything that has a time; None where nothing has."""
    lanes, checks, results = area_lanes(context), check_rows(context), context.evaluation.conditions
    if not (lanes or checks or results):
        return None
    times = [instant(context, clock) for clock in (context.job.clock.start, context.job.clock.end)]
    times += [minutes(context, each.time) for each in results]
    times += [minute for row in checks for minute, _, _ in row.checks]
    times += [at for lane in lanes for at in (*(each for pair in lane.blasted for each in pair), *dict(lane.primed))]
    start, end = min(times) // 60 * 60, -(-max(times) // 60) * 60
    span = (start, max(end, start + 60))
    turns = _turns(context, span)

    def clock(minute: int) -> str:
        return f"{_local(context, minute):%H:%M}"

    return chart.ShiftChart(
        context.width,
        span,
        lanes,
        checks,
        panels(context),
        worst_moment(context),
        clock,
        turns,
        _wrapped,
        _measured,
    )


def _wrapped(text: str, face: FaceName, size: float, width: float) -> tuple[str, ...]:
    """The lines of a text of the chart, by its width as printed."""
    return lines_of(text, BOLD if face == "semibold" else REGULAR, size, width)


def _measured(text: str, face: FaceName, size: float) -> float:
    """The width of a text of the chart as printed."""
    return text_width(text, BOLD if face == "semibold" else REGULAR, size)


def area_lanes(context: Context) -> list[chart.Lane]:
    """A lane for each area that was worked on; of very many, those released and primed share one for each apparatus."""
    shown = [area for area in context.evaluation.areas if context.surfaces.get(area.id)]
    lanes: dict[str, list[AreaResult]] = {}
    for area in shown:
        shares = len(shown) > _MANY and area.decision == "release" and context.primed(area.id)
        lanes.setdefault(context.surfaces[area.id][0].apparatus if shares else area.id, []).append(area)
    return [area_lane(context, name, areas) for name, areas in lanes.items()]


def area_lane(context: Context, name: str, areas: Sequence[AreaResult]) -> chart.Lane:
    """The work on an area, or on those that share a lane: blasting, tests with a time, primer, how long that took."""
    surfaces = [surface for area in areas for surface in context.surfaces[area.id]]
    blasted = tuple(
        (instant(context, one.blasted.start), instant(context, one.blasted.end)) for one in surfaces if one.steel_known
    )
    primed = tuple(
        (instant(context, one.coated), primer_mark(context, area, one))
        for area in areas for one in context.surfaces[area.id] if one.coated is not None
    )  # fmt: skip
    bare = tuple(one for area in areas for one in bare_steel(context, area.id))
    if len(areas) > 1:
        bare = tuple(one._replace(limit=None) for one in bare)  # of so many, ticks would be of no area
        return chart.Lane(name, "", blasted, bare, primed, told=context.words("shift.shared", count=len(areas)))
    return chart.Lane(
        name, ", ".join(dict.fromkeys(one.apparatus for one in surfaces)), blasted, bare, primed,
        tuple(timed_tests(context, areas[0].id)),
        *_primer_in_words(context, areas[0]),
    )  # fmt: skip


def bare_steel(context: Context, area: str) -> list[chart.Stretch]:
    """Each steel of an area as long as it stood open: to its primer, to the next blasting, or to what is known of."""
    stated = context.job.project.specification.time_to_coat
    allowed = None if stated is None else int(stated.maximum.in_unit("min"))
    found = []
    for one in context.steel(area):
        start = _elapsed(context, one.ended)
        ended = one.coated or one.gone or context.moment_known
        limit = None if allowed is None or one.gone is not None else start + allowed
        found.append(chart.Stretch(start, max(start, _elapsed(context, ended)), limit))
    return found


def primer_mark(context: Context, area: AreaResult, entry: Surface) -> str:
    """The verdict on the primer of an entry: it came in time, and nothing says that it should not have come.

    The time of one that was blasted off since is not judged.
    """
    steel = context.standing(area.id)
    if id(entry) in context.replaced:
        doubted, why = primer_doubts(context, area, entry)
        return doubted if why else "not evaluated"
    late = [one.verdict for one in context.evaluation.coating_times if one.area == area.id]
    if len(late) == len(steel):
        late = [verdict for verdict, (one, _) in zip(late, steel, strict=True) if one is entry]
    known = [one for one in late if one != "not evaluated"]
    return worst([*known, primer_doubts(context, area, entry)[0]])


def _doubts(context: Context, area: AreaResult) -> list[str]:
    """What is against the primer of each entry of an area, with its time where several were primed."""
    primed = [one for one in context.surfaces.get(area.id, []) if one.coated is not None]
    told = [(one, why) for one in primed for why in primer_doubts(context, area, one)[1]]
    several = len({one.coated for one in primed}) > 1
    return list(
        dict.fromkeys(f"{context.at(one.coated)} {why}" if several and one.coated else why for one, why in told)
    )


def _primer_in_words(context: Context, area: AreaResult) -> tuple[str, str]:
    """Whether an area was primed, and the times that took of that allowed, or until when its bare steel may be.

    Steel that is not released has its decision beside that time, which is then no leave to prime by it.
    """
    words, stated = context.words, context.job.project.specification.time_to_coat
    primed = context.primed(area.id) or context.primed_in_part(area.id)
    clocks = ", ".join(dict.fromkeys(each.rpartition(" ")[2] for each in primed.split(", ")))
    if context.primed(area.id):
        taken = [one.hours for one in context.evaluation.coating_times if one.area == area.id and one.hours]
        if not (taken and stated):
            return words("shift.primed", time=clocks), ""
        each = ", ".join(dict.fromkeys(map(digits, taken))) + (" h" if stated.maximum.unit != "h" else "")
        return words("shift.primed", time=clocks), words("shift.taken", hours=each, limit=stated.maximum)
    return words("shift.primed-in-part" if clocks else "shift.not-primed", time=clocks), _until_in_words(context, area)


def _until_in_words(context: Context, area: AreaResult) -> str:
    """Until when the bare steel of an area may be primed that was blasted first, or that this has passed."""
    words, stated = context.words, context.job.project.specification.time_to_coat
    still = [one.ended for one in context.steel(area.id) if one.coated is None and one.gone is None]
    if stated is None or not still:
        return ""
    known = _elapsed(context, context.moment_known)
    limit = _elapsed(context, min(still)) + int(stated.maximum.in_unit("min"))
    passed = limit < known or context.is_past(later(min(still), stated.maximum))
    until = words("shift.passed" if passed else "shift.until", time=_clock(context, limit, last=known))
    held = "" if area.decision == "release" or passed else f"{words(f'decision.{area.decision}')}, "
    return f"{held}{until}"


def timed_tests(context: Context, area: str) -> list[chart.TimedTest]:
    """The tests of an area that have a time, each with its own verdict; those of steel blasted off since have none."""
    found = []
    for kind in (one for one in TESTS if one.timed):
        verdicts = {id(test): result.verdict for _, test, result in context.judged(kind, area)}
        tests = (test for surface in context.surfaces[area] for test in kind.entries_on(surface) if test.time)
        found += [
            chart.TimedTest(instant(context, one.time), _LETTERS[kind.key], verdicts.get(id(one), "not evaluated"))
            for one in tests
        ]
    return found


def _shims(context: Context) -> dict[int, str]:
    """What each check of the gauge showed for its shim, by its time."""
    checked = [one for one in context.job.day.gauge_checks if one.shim is not None]
    return {instant(context, one.time): f"{one.shim} → {one.shim_reading}" for one in checked}


def check_rows(context: Context) -> list[chart.CheckLine]:
    """The checks of the gauge, with what the shim showed, and all others that have a time."""
    words = context.words
    shims = _shims(context)
    rows: dict[str, list[tuple[int, str, str]]] = {words("check.gauge"): [], words("shift.checks"): []}
    gauge, others = rows.values()
    for check in context.evaluation.checks:
        if check.time is not None:
            at, name = minutes(context, check.time), lowered(context, words.named("check", check.kind))
            row, told = (gauge, shims.get(at, name)) if check.kind == "gauge" else (others, name)
            row.append((at, told, check.verdict))
    for kind in (one for one in LOGS if one.subject):
        name = lowered(context, context.topic_name(kind.key))
        others += [(minutes(context, one.time), name, one.verdict) for one in getattr(context.evaluation, kind.key)]
    return [chart.CheckLine(lowered(context, name), tuple(sorted(some))) for name, some in rows.items() if some]


def panels(context: Context) -> list[chart.Panel]:
    """Temperatures for each place, of many for the worst, and the humidity of those places."""
    by_place: dict[str, list[ConditionResult]] = {}
    for result in context.evaluation.conditions:
        by_place.setdefault(folded(result.place or ""), []).append(result)
    shown = list(by_place.values())
    if len(shown) > _PANELS:
        shown = [min(shown, key=lambda some: min((one.verdict != "does not conform", one.margin) for one in some))]
    if not shown:
        return []
    stated = context.job.project.specification.conditions
    highest = stated.maximum_humidity if stated else None
    limit = None if highest is None else (float(highest.exact), context.words("limit.at-most", limit=highest))
    humid = tuple(_humidity(context, some, number) for number, some in enumerate(shown))
    last = chart.Panel(context.words("climate.line.humidity"), "%", humid, limit)
    return [*(_temperatures(context, some) for some in shown), last]


def _humidity(context: Context, some: list[ConditionResult], number: int) -> chart.Line:
    """The humidity at a place, with a pen of its own."""
    missed = [any(one.code == "humidity-above-maximum" for one in about(context, each)) for each in some]
    marks = tuple("does not conform" if each else chart.MEASURED for each in missed)
    return chart.Line(some[0].place or "", chart.HUMIDITY[number], _series(context, some, "humidity"), marks)


def _series(context: Context, some: list[ConditionResult], name: str, more: float = 0.0) -> chart.Points:
    return tuple((minutes(context, one.time), float(getattr(one, name)) + more) for one in some)


def _temperatures(context: Context, some: list[ConditionResult]) -> chart.Panel:
    """Air, steel and dew point of a place, and what the steel needs."""
    words, stated = context.words, context.job.project.specification.conditions
    dots = (chart.MEASURED,) * len(some)
    steel = tuple(chart.MEASURED if one.verdict == "conforms" else one.verdict for one in some)
    lines = [
        chart.Line(words("climate.line.air"), chart.AIR, _series(context, some, "air"), dots),
        chart.Line(words("climate.line.dew_point"), chart.DEW_POINT, _series(context, some, "dew_point"), dots),
        chart.Line(words("climate.line.steel"), chart.STEEL, _series(context, some, "steel"), steel, strong=True),
    ]
    if stated is not None and (margin := stated.dew_point_margin) is not None:
        needed = _series(context, some, "dew_point", float(margin.in_unit(some[0].margin_unit)))
        lines.append(chart.Line(words("climate.line.margin", margin=margin), chart.NEEDED, needed, strong=True))
    return chart.Panel(some[0].place or words("climate.title"), shown_unit(some[0].temperature_unit), tuple(lines))


def worst_moment(context: Context) -> tuple[int, str] | None:
    """The reading that misses a limit by most, while work went on if one does, and what it misses in a few words.

    With its place where there are several, and that no work was done there where that is so.
    """
    results = context.evaluation.conditions
    failing = [one for one in results if one.verdict == "does not conform"]
    if not failing:
        return None
    gravest = min(failing, key=lambda one: (not one.during, one.margin))
    told = dict.fromkeys(in_short(context, one, at=False) for one in about(context, gravest))
    several = len({folded(one.place) for one in results if one.place}) > 1
    at = ", ".join([gravest.time, *([gravest.place] if several and gravest.place else [])])
    idle = [] if gravest.during else [context.words("shift.idle")]
    return minutes(context, gravest.time), f"{at}: {'; '.join([', '.join(told), *idle])}"


def chart_in_words(context: Context, drawn: chart.ShiftChart) -> str:
    """What the chart shows, for a reader who does not see it."""
    words = context.words
    named = {lane.name for lane in drawn.lanes}
    doubts = {area.id: _doubts(context, area) for area in context.evaluation.areas if area.id in named}
    work = [
        words(
            "shift.alt-lane",
            area=lane.name,
            told=", ".join((f"{lane.told} {lane.below}".strip(), *doubts.get(lane.name, ()))),
        )
        for lane in drawn.lanes
    ]
    read = [point_in_words(context, each) for each in context.evaluation.conditions if drawn.panels]
    gravest = [drawn.worst[1]] if drawn.worst else []
    turned = [told for _, told in drawn.turns]
    return words("shift.alt", work="; ".join(work), readings="; ".join([*turned, *gravest, *read]))


def point_in_words(context: Context, each: ConditionResult) -> str:
    """A reading of the conditions in words, with its place where it has one."""
    return context.words(
        "climate.alt-point" if each.place else "climate.alt-here", time=each.time, place=each.place,
        air=digits(each.air), steel=digits(each.steel), dew=digits(each.dew_point),
    )  # fmt: skip
