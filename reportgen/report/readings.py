"""Tables of readings: how each spot was combined, and the readings as they were entered."""

from __future__ import annotations

from itertools import groupby, zip_longest
from operator import attrgetter
from typing import TYPE_CHECKING

from reportgen.pdf.blocks import SectionTitle, Verdict, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED, REGULAR, SMALL, VERDICT_COLOUR
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row
from reportgen.report.verdicts import location_word
from reportgen.words.numbers import digits, shown_unit

if TYPE_CHECKING:
    from reportgen.job import ProfileRecord, Reading
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, LocationResult, SpotResult

_VERDICT = 84.0
_MOST_ROLLS = 4  # columns for rolls; with more rolls the readings stand in one column, each with its roll


def readings_table(context: Context, area: AreaResult) -> list[Flowable]:
    """The readings of an area: each spot's readings, how they were combined, spot, location, uncertainty, verdict."""
    words = context.words
    readings = [reading for location in area.locations for spot in location.spots for reading in spot.readings]
    rolls = list(dict.fromkeys(reading.roll for reading in readings))  # in the order in which they first occur
    if len(rolls) > _MOST_ROLLS:
        rolls = []
    graded = all(location.observed is not None for location in area.locations)
    if graded:
        columns, groups = graded_locations(context, area)
    else:
        has_film = any(reading.gross != reading.net for reading in readings)
        towards = _towards(context, area)
        groups = [_location_rows(context, location, rolls, towards.get(location.id)) for location in area.locations]
        columns = _columns(context, area, rolls, has_film=has_film)
    table = GroupedTable(columns, groups, words("readings.summary", area=area.id))
    note = _note(context, area, rolls, graded=graded)
    title = SectionTitle(words("readings.title"), f"area-{area.id}-readings", level=3, outline=False, note=note)
    return [CondPageBreak(table.need(2)), title, table]


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


def graded_locations(context: Context, area: AreaResult) -> tuple[list[Column], list[list[Row]]]:
    """Columns and rows of an area that was graded beside a comparator: a row for each comparison at a location.

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
        verdict = Verdict(location.verdict, location_word(context, location), _VERDICT)
        origin = words("readings.walk-out", failing=location.walk_out) if location.walk_out is not None else ""
        origin += f": {towards[location.id]}" if location.id in towards else ""
        first, *others = location.spots
        rows: list[Row] = [(location.id, first.id if others else "", first.observed or "–", origin, verdict)]
        groups.append([*rows, *(("", spot.id, spot.observed or "–", "", "") for spot in others)])
    return columns, groups


def _columns(context: Context, area: AreaResult, rolls: list[str | None], *, has_film: bool) -> list[Column]:
    words = context.words
    heads = [] if rolls else [words("readings.readings")]
    for roll in rolls:
        known = context.job.project.tape_rolls.get(roll or "")
        heads.append(words(f"grade.short.{known.grade}") if known else roll or words("readings.depth"))
    wide = (50.0 if len(heads) > 1 else 64.0) if rolls else 120.0
    if rolls and has_film:
        wide = 54.0  # gross → net
    place = 64.0 if any(each.walk_out is not None for each in area.locations) else 46.0
    fixed = place + 28 + wide * len(heads) + 36 + 46 + 38 + _VERDICT
    return [
        Column(words("readings.location"), place, face=BOLD),
        Column(words("readings.spot"), 28),
        *(Column(head, wide, "RIGHT", gap=14) for head in heads),
        Column(words("readings.how"), context.width - fixed, ink=MUTED),
        Column(words("readings.spot-value"), 36, "RIGHT"),
        Column(words("readings.location-value"), 46, "RIGHT", face=BOLD),
        Column(words("readings.uncertainty"), 38, "RIGHT", ink=MUTED, gap=14),
        Column(words("readings.verdict"), _VERDICT, gap=0),
    ]


def _location_rows(
    context: Context, location: LocationResult, rolls: list[str | None], towards: str | None
) -> list[Row]:
    """A row for each spot of a location; what is said of the location as a whole stands in the first."""
    verdict = Verdict(location.verdict, location_word(context, location), _VERDICT)
    value, uncertainty = digits(location.profile), digits(location.expanded_uncertainty)
    if not location.spots:
        return [(location.id, "–", *[""] * max(1, len(rolls)), "", "–", value, uncertainty, verdict)]
    names: list[str | Cell] = [location.id]
    if location.walk_out is not None:
        origin = context.words("readings.walk-out", failing=location.walk_out)
        names.append(Cell(f"{origin}: {towards}" if towards else origin, face=REGULAR, ink=MUTED))
    ink = VERDICT_COLOUR[location.verdict] if location.verdict == "does not conform" else None
    whole: Row = (Cell(value, ink=ink), uncertainty, verdict)
    rows: list[Row] = []
    for name, spot in zip_longest(names, location.spots, fillvalue=None):
        if spot is None:  # of a walk-out with one spot a location
            rows.append((name or "", *[""] * (len(rows[0]) - 1)))
            continue
        how = context.said.say("how", spot.how)
        rows.append((name or "", spot.id, *_spot_readings(spot, rolls), how, digits(spot.profile), *whole))
        whole = ("", "", "")
    return rows


def _spot_readings(spot: SpotResult, rolls: list[str | None]) -> list[str]:
    """The readings of a spot in a column for each roll; with the film included, gross and what is left of it."""
    shown = [
        (each.roll, str(each.net) if each.gross == each.net else f"{each.gross} → {each.net}") for each in spot.readings
    ]
    if not rolls:
        return [spot.observed or " · ".join(f"{roll or ''} {text}" for roll, text in shown)]
    told = [" · ".join(text for of, text in shown if of == roll) for roll in rolls]
    return [spot.observed, *told[1:]] if spot.observed is not None else told


def _note(context: Context, area: AreaResult, rolls: list[str | None], *, graded: bool) -> str:
    """Unit, film, gauge and the rolls that have a column, in the small note beside the title."""
    words, project = context.words, context.job.project
    parts = [] if graded else [shown_unit(area.unit)]
    records = [surface.profile for surface in context.surfaces.get(area.id, []) if surface.profile is not None]
    parts += [part for record in records for part in read_with(context, area, record)]
    known = [project.tape_rolls[roll] for roll in rolls if roll in project.tape_rolls]
    parts += [words("readings.lot", grade=words(f"grade.{roll.grade}"), lot=roll.lot) for roll in known]
    return " · ".join(dict.fromkeys(parts))


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
    title = SectionTitle(words("entered.title"), "readings", note=words("entered.note"))
    columns = [
        Column(words("entered.area"), 96, face=BOLD),
        Column(words("entered.location"), 60),
        Column(words("entered.spot"), 44),
        Column(words("entered.readings"), context.width - 96 - 60 - 44 - 60 - 60),
        Column(words("entered.time") if timed else "", 60, ink=MUTED),
        Column(words("entered.line"), 60, "RIGHT", ink=MUTED, gap=0),
    ]
    rows: list[list[Row]] = []
    for surface, readings in zip(context.job.day.surfaces, context.job.readings, strict=True):
        for _, run in groupby(readings, key=attrgetter("location", "spot")):
            rows.append([_entered(context, surface.area, list(run))])
    if not rows:
        return [CondPageBreak(60), title, running_text(words("entered.none"), "muted", before=4)]
    table = GroupedTable(columns, rows, words("entered.title"), leading=9.5, size=SMALL)
    return [CondPageBreak(table.need(4)), title, table]


def _entered(context: Context, area: str, run: list[Reading]) -> Row:
    depth = context.words("readings.depth")
    shown = " · ".join(each.grade or f"{each.roll or depth} {each.value}" for each in run)
    times = " ".join(dict.fromkeys(each.time for each in run if each.time))
    lines = "–".join(dict.fromkeys((str(run[0].line), str(run[-1].line)))) if run[0].line else ""
    return (area, run[0].location, run[0].spot, shown, times, lines)
