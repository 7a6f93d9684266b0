"""Tables of readings: how each spot was combined, and the readings as they were entered."""

from __future__ import annotations

from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from reportgen.pdf.blocks import Verdict
from reportgen.pdf.styles import BOLD, DENSE, MUTED, OPEN
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row
from reportgen.report.tables import LEADING, PAD, empty, section, table
from reportgen.report.verdicts import location_word
from reportgen.words.numbers import digits, shown_unit

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.job import ProfileRecord, Reading
    from reportgen.pdf.flow import Flowable
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, SpotResult

_VERDICT = 84.0


def grades_of(spots: Iterable[SpotResult]) -> list[str | None]:
    """The grades of tape that were read on, the coarser first, None for a reading that is of none; one at least."""
    found = {reading.grade for spot in spots for reading in spot.readings}
    return sorted(found, key=lambda grade: (grade is None, grade != "extra coarse", grade or "")) or [None]


def spot_cells(context: Context, spot: SpotResult, grades: Sequence[str | None]) -> list[str | Cell]:
    """The cells of a spot: its readings by grade, its value, and in a word how they were combined."""
    told = []
    for grade in grades:
        own = [one for one in spot.readings if one.grade == grade]
        shown = ((digits(one.gross), digits(one.net)) for one in own)
        told.append(" ".join(net if gross == net else f"{gross} → {net}" for gross, net in shown))
    if spot.observed is not None:
        told[0] = context.said.graded(spot.observed)
    word = context.words(f"combined.{spot.how}")
    ink = OPEN if spot.profile is None and spot.observed is None else None
    return [*told, digits(spot.profile), Cell(word, BOLD if ink else None, ink)]


def _towards(context: Context, area: AreaResult) -> dict[str, str]:
    """Return where each location of a walk-out lies from the failing one, as the day file says."""
    records = [surface.profile for surface in context.surfaces.get(area.id, []) if surface.profile is not None]
    return {
        location: direction.towards
        for record in records
        for walk in record.walk_outs
        for direction in walk.directions
        for location in direction.locations
    }


def graded_locations(context: Context, area: AreaResult) -> GroupedTable:
    """The table of an area that was graded beside a comparator: a row for each comparison at a location.

    What is said of the location as a whole stands in its first row.
    """
    words, towards = context.words, _towards(context, area)
    columns = [
        Column(words("readings.location"), 80, face=BOLD),
        Column(words("readings.spot"), 46),
        Column(words("readings.seen"), 140),
        Column("", context.width - 266 - _VERDICT, ink=MUTED),  # of which walk-out it is
        Column(words("readings.verdict"), _VERDICT, gap=0),
    ]
    groups: list[list[Row]] = []
    for location in area.locations:
        verdict = Verdict(location.verdict, location_word(context, location), _VERDICT, size=DENSE)
        origin = words("readings.walk-out", failing=location.walk_out) if location.walk_out is not None else ""
        origin += f": {towards[location.id]}" if location.id in towards else ""
        first, *others = location.spots
        name, seen = area.located(location), context.said.graded(first.observed or "–")
        rows: list[Row] = [(name, first.id if others else "", seen, origin, verdict)]
        groups.append([*rows, *(("", spot.id, context.said.graded(spot.observed or "–"), "", "") for spot in others)])
    summary = words("readings.summary", area=area.id)
    return GroupedTable(
        columns, groups, summary, row_head=True, size=DENSE, leading=LEADING, pad=PAD, named=[area.id] * len(groups),
        again=lambda name: words("continued", what=name),
    )  # fmt: skip


def read_with(context: Context, area: AreaResult, record: ProfileRecord) -> list[str]:
    """With what a profile was read: the comparator, or the gauge with its unit where that is another, and the film."""
    words, gauge = context.words, context.job.project.instruments.get(record.gauge)
    if gauge is not None and gauge.kind == "comparator":
        return [words("readings.comparator", serial=gauge.serial, comparator=gauge.comparator or "–")]
    on_tape = gauge is None or gauge.kind == "thickness gauge"
    unit = shown_unit(gauge.unit) if gauge and gauge.unit and gauge.unit != area.unit else ""
    told = words(
        "readings.gauge-unit" if unit else "readings.gauge", gauge=gauge.serial if gauge else record.gauge, unit=unit
    )
    return [words(f"readings.film.{record.film}"), told] if on_tape else [told]


def readings_as_entered(context: Context) -> list[Flowable]:
    """The appendix of readings as entered, in the order in which they were taken, with the line of the file.

    One row for the readings of a spot that follow each other.
    """
    words = context.words
    timed = any(reading.time for readings in context.job.readings for reading in readings)
    columns = [
        Column(words("entered.area"), 96, face=BOLD),
        Column(words("entered.location"), 60),
        Column(words("entered.spot"), 44),
        Column(words("entered.readings"), context.width - 96 - 60 - 44 - 60 - 60),
        Column(words("entered.time") if timed else "", 60, ink=MUTED),
        Column(words("entered.line"), 60, "RIGHT", ink=MUTED, gap=0),
    ]
    surfaces = zip(context.job.day.surfaces, context.job.readings, strict=True)
    rows = [
        _entered(context, surface.area, list(run))
        for surface, readings in surfaces
        for _, run in groupby(readings, key=attrgetter("location", "spot"))
    ]
    if not rows:
        return empty(context, "entered.title", "readings", words("entered.none"), words("entered.note"))
    made = table(context, "entered.title", columns, rows, pad=1.1)
    return section(context, "entered.title", "readings", made, words("entered.note"))


def _entered(context: Context, area: str, run: list[Reading]) -> Row:
    depth = context.words("readings.depth")
    shown = " · ".join(each.grade or f"{each.roll or depth} {digits(each.value)}" for each in run)
    times = " ".join(dict.fromkeys(each.time for each in run if each.time))
    lines = "–".join(dict.fromkeys((str(run[0].line), str(run[-1].line)))) if run[0].line else ""
    return (area, run[0].location, run[0].spot, shown, times, lines)
