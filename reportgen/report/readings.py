"""Tables of readings: how each spot was combined, and the readings as they were entered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.pdf.blocks import SectionTitle, Verdict, running_text
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, MUTED, REGULAR, SMALL, VERDICT_COLOUR
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row
from reportgen.report.verdicts import location_word
from reportgen.words.numbers import digits, shown_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.job import Reading
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, LocationResult, SpotReading, SpotResult

_VERDICT = 84.0
_MOST_ROLLS = 4  # columns for rolls; with more rolls the readings stand in one column, each with its roll


def readings_table(context: Context, area: AreaResult) -> list[Flowable]:
    """The readings of an area: each spot's readings, how they were combined, spot, location, uncertainty, verdict."""
    words = context.words
    bookmark = f"area-{area.id}-readings"
    note = _note(context, area)
    title = SectionTitle(words("readings.title"), bookmark, level=3, outline=False, note=note)
    rolls = _rolls(area)
    columns = _columns(context, area, rolls)
    towards = _directions(context, area)
    groups = [_location_rows(context, location, rolls, towards.get(location.id)) for location in area.locations]
    table = GroupedTable(columns, groups, words("readings.summary", area=area.id))
    return [CondPageBreak(table.need(2)), title, table]


def _all_readings(area: AreaResult) -> Iterator[SpotReading]:
    for location in area.locations:
        for spot in location.spots:
            yield from spot.readings


def _rolls(area: AreaResult) -> list[str | None]:
    """Rolls in the order in which they first occur; [] when there are too many for a column each."""
    rolls = dict.fromkeys(reading.roll for reading in _all_readings(area))
    return list(rolls) if len(rolls) <= _MOST_ROLLS else []


def _columns(context: Context, area: AreaResult, rolls: list[str | None]) -> list[Column]:
    words = context.words
    heads = [_roll_head(context, roll) for roll in rolls] or [words("readings.readings")]
    wide = (50.0 if len(heads) > 1 else 64.0) if rolls else 120.0
    if rolls and any(each.gross != each.net for each in _all_readings(area)):
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


def _roll_head(context: Context, roll: str | None) -> str:
    if roll is None:
        return context.words("readings.depth")
    known = context.job.project.tape_rolls.get(roll)
    return roll if known is None else context.words(f"grade.short.{known.grade}")


def _directions(context: Context, area: AreaResult) -> dict[str, str]:
    """In which direction from the failing location each location of a walk-out lies, as the day file says."""
    records = [surface.profile for _, surface in context.surfaces.get(area.id, []) if surface.profile is not None]
    return {
        location: direction.towards
        for record in records
        for walk in record.walk_outs
        for direction in walk.directions
        for location in direction.locations
    }


def _location_rows(
    context: Context, location: LocationResult, rolls: list[str | None], towards: str | None
) -> list[Row]:
    words = context.words
    rows: list[Row] = []
    verdict = Verdict(location.verdict, location_word(context, location), _VERDICT)
    ink = VERDICT_COLOUR[location.verdict] if location.verdict == "does not conform" else None
    names: list[str | Cell] = [location.id]
    if location.walk_out is not None:
        origin = words("readings.walk-out", failing=location.walk_out)
        names.append(Cell(f"{origin}: {towards}" if towards else origin, face=REGULAR, ink=MUTED))
    for index, spot in enumerate(location.spots or ()):
        first = index == 0
        rows.append(
            (
                names[index] if index < len(names) else "",
                spot.id,
                *_spot_readings(spot, rolls),
                context.said.say("how", spot.how),
                digits(spot.profile),
                Cell(digits(location.profile), ink=ink) if first else "",
                (_uncertainty(location) if first else ""),
                verdict if first else "",
            )
        )
    for name in names[len(location.spots) :] if rows else ():  # of a walk-out with one spot a location
        rows.append((name, *[""] * (len(rows[0]) - 1)))
    if not rows:
        empty = [""] * max(1, len(rolls))
        rows.append((location.id, "–", *empty, "", "–", digits(location.profile), _uncertainty(location), verdict))
    return rows


def _uncertainty(location: LocationResult) -> str:
    return digits(location.expanded_uncertainty)


def _spot_readings(spot: SpotResult, rolls: list[str | None]) -> list[str]:
    if not rolls:
        return [" · ".join(f"{reading.roll or ''} {_net(reading.gross, reading.net)}" for reading in spot.readings)]
    return [
        " · ".join(_net(reading.gross, reading.net) for reading in spot.readings if reading.roll == roll)
        for roll in rolls
    ]


def _net(gross: object, net: object) -> str:
    """A reading; with the film included, gross and what is left of it."""
    return str(net) if gross == net else f"{gross} → {net}"


def _note(context: Context, area: AreaResult) -> str:
    """Unit, film, gauge and rolls, in the small note beside the title."""
    words, project = context.words, context.job.project
    parts = [shown_unit(area.unit)]
    for _, surface in context.surfaces.get(area.id, []):
        record = surface.profile
        if record is None:
            continue
        gauge = project.instruments.get(record.gauge)
        parts.append(words(f"readings.film.{record.film}"))
        unit = shown_unit(gauge.unit) if gauge and gauge.unit and gauge.unit != area.unit else ""
        serial = gauge.serial if gauge else record.gauge
        parts.append(words("readings.gauge-unit" if unit else "readings.gauge", gauge=serial, unit=unit))
    for roll in _rolls(area):
        known = project.tape_rolls.get(roll or "")
        if known is not None:
            parts.append(words("readings.lot", grade=words(f"grade.{known.grade}"), lot=known.lot))
    return " · ".join(dict.fromkeys(parts))


def readings_as_entered(context: Context) -> list[Flowable]:
    """The appendix of readings as entered, in the order in which they were taken, with the line of the file."""
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
        rows.extend([row] for row in _entered(context, surface.area, readings))
    if not rows:
        return [CondPageBreak(60), title, running_text(words("entered.none"), "muted", before=4)]
    table = GroupedTable(columns, rows, words("entered.title"), leading=9.5, size=SMALL)
    return [CondPageBreak(table.need(4)), title, table]


def _entered(context: Context, area: str, readings: tuple[Reading, ...]) -> list[Row]:
    """One row for the readings of a spot that follow each other."""
    rows: list[Row] = []
    run: list[Reading] = []
    for reading in (*readings, None):
        if reading is not None and (not run or (run[-1].location, run[-1].spot) == (reading.location, reading.spot)):
            run.append(reading)
            continue
        if run:
            shown = " · ".join(f"{each.roll or context.words('readings.depth')} {each.value}" for each in run)
            times = " ".join(dict.fromkeys(each.time for each in run if each.time))
            lines = "–".join(dict.fromkeys((str(run[0].line), str(run[-1].line)))) if run[0].line else ""
            rows.append((area, run[0].location, run[0].spot, shown, times, lines))
        run = [reading] if reading is not None else []
    return rows
