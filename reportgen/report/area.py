"""The areas: one line a location with its readings and its plot, and under them the facts with their inputs."""

from __future__ import annotations

import math
from copy import copy
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING, Any

from reportgen.charts import LocationPoint, Ruler, bar_width, histogram, row_plot, scale_heads, verdict_mark
from reportgen.pdf.blocks import Runs, SectionTitle, Verdict, running_text, title_text, word_ink, write
from reportgen.pdf.canvas import tagged
from reportgen.pdf.charted import Captioned, Drawing, SideBySide
from reportgen.pdf.flow import CondPageBreak, Flowable, Spacer
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import BOLD, DENSE, FINE, FINEST, INK, MUTED, REGULAR, VERDICT_COLOUR, colour
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row
from reportgen.pdf.tagging import group
from reportgen.pdf.textlines import HAIR, Run, lines_of, text_width, widest_piece
from reportgen.pdf.tightening import BreakUnless
from reportgen.report.area_facts import Fact, area_facts, area_meta, further_facts, walk_maps
from reportgen.report.context import area_bookmark, spot_profiles, spots_of
from reportgen.report.readings import graded_locations, grades_of, read_with, spot_cells
from reportgen.report.summary import location_points
from reportgen.report.tables import LEADING
from reportgen.report.verdicts import decision_verdict, decision_word, location_word
from reportgen.units import printed
from reportgen.words.numbers import digits, per_cent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from reportgen.charts import Command, WalkMap
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, LocationResult

_PLOT, _PLOT_END = 102.0, 5.0  # 36 mm; room for the numbers of the outermost ticks
_PAD, _TIGHT_PAD = 2.4, 1.2  # rows of 5.5 mm, of a compact table 4.3
_LEAST_PLOT, _LEAST_VERDICT = 60.0, 40.0
_MARK_ROOM = 14.5  # of a verdict's mark, and the gap to the plot
_LABEL = 62.0
_MOST_OF_A_LINE = 0.3
"""Share of the width that labels take at most, where a word of somebody else's is longer than any of ours."""
_HISTOGRAM = 26.0
_COMPACT_FROM, _ALL_COMPACT_FROM = 9, 4
_INDENT = 16.0
_COMBINED = (
    "recorded-as-taken", "averaged", "second-governs", "second-missing", "outside-grade-range", "contradictory",
)  # fmt: skip
_TOGETHER = 2  # locations that stand together on a page, at least
_BESIDE = 6  # facts beside the histogram; the others stand below
_FEWEST_LINES = 3  # of what was done in an area, below its name before the page ends
_NAMED_SPOTS = 8  # over the columns of one spot, where a location goes on below; of more the first and the last
_KEPT = 0.3  # of a page: an area that takes less is not broken


def areas_section(context: Context) -> list[Flowable]:
    """All areas in the order of the evaluation; those that are released are compact where there are many."""
    words, areas = context.words, context.evaluation.areas
    if not areas:
        return []
    intro: list[Flowable] = [SectionTitle(words("section.areas"), "results", note=read_in_short(context))]
    intro += [running_text(explained(context, areas), "fine", before=1)] if any(map(_measured, areas)) else []
    blocks: list[Flowable] = []
    for compact, some in groupby(areas, key=_compact(context, areas)):
        own = list(some)
        makers = [compact_areas(context, own)] if compact else [area_section(context, area) for area in own]
        blocks += [block for made in makers for block in made]
    above = sum(float(each.wrapOn(None, context.width, 0)[1]) + each.getSpaceBefore() for each in intro)
    first = blocks[0]
    room = BreakUnless(first.height + above, getattr(first, "least", first.height) + above)
    return group("Sect", [room, *intro, *blocks[1:]])


def explained(context: Context, areas: Sequence[AreaResult]) -> str:
    """What the words and columns of the tables mean: of the words those that stand there."""
    words, used = context.words, {spot.how for area in areas for spot in spots_of(area)}
    told = [words(f"explained.{code}") for code in _COMBINED if code in used]
    walked = any(location.walk_out is not None for area in areas for location in area.locations)
    parts = [words("explained.how", codes=" · ".join(told))] if told else []
    parts += [words("explained.columns"), *([words("explained.walked")] if walked else [])]
    return " ".join(parts)


def _compact(context: Context, areas: Sequence[AreaResult]) -> Callable[[AreaResult], bool]:
    """Which areas are told in short: those that are released, of many, or of several where all inspected ones are."""
    released = {area.id for area in areas if area.decision == "release" and not area.by_decision and _measured(area)}
    inspected = sum(area.id not in context.unseen for area in areas)
    short = inspected >= (_ALL_COMPACT_FROM if len(released) == inspected else _COMPACT_FROM)
    return lambda area: short and area.id in released


def _measured(area: AreaResult) -> bool:
    """Whether any location of an area was measured, rather than compared or not seen."""
    return any(location.observed is None for location in area.locations)


def read_in_short(context: Context) -> str:
    """Unit, gauge and film with which the areas were read, and the lots of tape by grade."""
    words, areas, known = context.words, context.evaluation.areas, context.job.project.tape_rolls
    parts = [context.unit] if any(map(_measured, areas)) else []
    surfaces = [(area, surface.profile) for area in areas for surface in context.surfaces.get(area.id, [])]
    parts += [part for area, record in surfaces if record is not None for part in read_with(context, area, record)]
    rolls = {one.roll or "" for area in areas for spot in spots_of(area) for one in spot.readings}
    for roll in sorted(rolls & known.keys()):
        short, grade = words(f"grade.short.{known[roll].grade}"), words(f"grade.{known[roll].grade}")
        parts.append(words("readings.lot", short=short, grade=grade, lot=known[roll].lot))
    return " · ".join(dict.fromkeys(filter(None, parts)))


class AreaHeading(Flowable):  # type: ignore[misc] # reportlab has no types
    """Mark, id and name, decision at the right, below what was done with what; of a ``compact`` one beside the name."""

    def __init__(self, context: Context, area: AreaResult, *, compact: bool = False) -> None:
        super().__init__()
        self.area, self.compact, self.decision = area.id, compact, decision_word(context, area)
        self.verdict = "not evaluated" if area.id in context.unseen else decision_verdict(area)
        self.name = f"{area.id}  {context.area_name(area.id)}"
        self.heading = title_text(self.name, "place" if compact else "area", 3, bookmark=area_bookmark(area.id))
        self.size = 9.2 if compact else 11.0
        meta = area_meta(context, area, short=compact)
        if compact and (reason := context.unseen.get(area.id)) is not None:
            meta = [" · ".join(filter(None, (*meta, context.words("area.unseen", reason=reason.rstrip(".")))))]
        self.meta = [Run("\n".join(meta), REGULAR, MUTED)]
        self.spaceBefore = 11.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The whole width."""
        self.width = aW
        room = aW - _INDENT - text_width(self.decision, BOLD, self.size) - 12
        own = text_width(self.name, BOLD, self.size) + 8
        beside = self.compact and own < room * 0.6
        _, self._head = self.heading.wrapOn(self.canv, own if beside else room, aH)
        self._x, wide = (_INDENT + own, room - own) if beside else (_INDENT, aW - _INDENT)
        self._meta = Runs(self.meta, wide, size=FINE, leading=8.6)
        _, below = self._meta.wrapOn(self.canv, wide, aH)
        self.height = (max(self._head, below) if beside else self._head + below) + (1.0 if self.compact else 4.5)
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        """What of the meta does not fit on a page that is begun goes on as running text."""
        self.wrap(aW, aH)
        fits = len(self._meta.lines) - math.ceil((self.height - aH) / self._meta.leading)
        if fits < _FEWEST_LINES:
            return []
        first, more = copy(self), self._meta.lines[fits:]
        first.meta = [Run("\n".join(map(_line_text, self._meta.lines[:fits])), REGULAR, MUTED)]
        return [first, running_text(" ".join(map(_line_text, more)), "fine")]

    def draw(self) -> None:
        """Mark, heading, decision, meta, line."""
        canvas, top = self.canv, self.height
        canvas.names(self.area)
        paint(canvas, [verdict_mark(self.verdict, 5.5, top - self.size * 0.8, self.size * 0.9)])
        self.heading.drawOn(canvas, _INDENT, top - self._head)
        with tagged(canvas, "P"):
            ink = word_ink(self.verdict)
            write(canvas, self.width, top - self.size * 1.06, self.decision, self.size, ink, face=BOLD, align="right")
        with tagged(canvas, "P"):
            self._meta.drawOn(canvas, self._x, 1.0 if self.compact else 4.5)
        if not self.compact:
            canvas.setStrokeColor(colour(INK))
            canvas.setLineWidth(0.9)
            canvas.line(0, 0.6, self.width, 0.6)


def _line_text(line: Sequence[tuple[float, Run]]) -> str:
    return "".join(run.text for _, run in line).strip()


class Layout:
    """The columns of a table of locations: what each spot has, what is said of the location, its plot."""

    def __init__(self, context: Context, areas: Sequence[AreaResult]) -> None:
        self.context = context
        words = context.words
        spots = [spot for area in areas for spot in spots_of(area)]
        self.grades = grades_of(spots)
        self.gross = any(one.gross != one.net for spot in spots for one in spot.readings)
        most = max([1, *(len(location.spots) for area in areas for location in area.locations)])
        told = _verdict_room(context, areas)
        self.names = {id(one): area.located(one) for area in areas for one in area.locations}
        widest = max([35.0, *(text_width(each, BOLD, DENSE) + 14 for each in self.names.values())])
        first = widest if widest < 50 else 35.0  # a longer id stands above the rest of its row
        reading = 40.0 if self.gross else 21.0
        own = [
            Column(words(f"grade.short.{grade}") if grade else words("readings.depth"), reading, "RIGHT", gap=3)
            for grade in self.grades
        ]
        spot = [*own, Column(words("readings.spot-value"), 28, "RIGHT", gap=3), Column("", 31, ink=MUTED, gap=4)]
        named = Column(words("readings.location"), first, face=BOLD)
        whole = [
            Column(words("readings.value"), 29, "RIGHT", face=BOLD, gap=4),
            Column(words("readings.judged"), 29, "RIGHT", gap=4),
            Column("U", 26, "RIGHT", gap=4),
            Column("P, %", 33, "RIGHT", gap=7),
        ]
        free = context.width - sum(column.width for column in (named, *whole))
        each = sum(column.width for column in spot)
        # as many spots beside each other as leave the plot its room and the verdict that of its longest word
        fits = int((free - told - _LEAST_PLOT) / each)
        self.beside = max(1, min(most, 3 - (len(self.grades) > 1) - self.gross, fits))
        self.columns = [named, *(column for _ in range(self.beside) for column in spot), *whole]
        rest = free - each * self.beside
        self.plot = min(_PLOT, max(_LEAST_PLOT, rest - max(58.0, told)))
        self.verdict = rest - self.plot
        self.columns += [Column(words("readings.verdict"), self.verdict, gap=4), Column("", self.plot, gap=0)]
        each = len(spot)
        self.over = [
            (1 + number * each, each, words("readings.of-spot", spot=letter))
            for number, letter in enumerate(self._letters(spots))
        ]
        self.ruler = Ruler(context.scale, _PLOT_END, self.plot - 2 * _PLOT_END) if context.scale else None

    def _letters(self, spots: Sequence[Any]) -> list[str]:
        """The names of the spots over their columns; where a location goes on below, of each column all of them."""
        names = list(dict.fromkeys(spot.id for spot in spots)) or ["a"]
        found = [names[start :: self.beside] for start in range(self.beside)]
        return [", ".join(own) if len(own) <= _NAMED_SPOTS else f"{own[0]}–{own[-1]}" for own in found]

    @property
    def heads(self) -> dict[int, Flowable]:
        """The scale over the plots."""
        if self.ruler is None:
            return {}
        ruler = self.ruler
        return {len(self.columns) - 1: Drawing(self.plot, 9.0, lambda _: scale_heads(ruler, FINEST))}

    def rows(self, location: LocationResult, point: LocationPoint) -> list[Row]:
        """The lines of a location: the first with what is said of it as a whole, and its plot."""
        context, each = self.context, len(self.grades) + 2
        ink, walked = VERDICT_COLOUR[location.verdict] if location.side else None, location.walk_out is not None
        face = BOLD if ink else REGULAR
        word = Verdict(location.verdict, location_word(context, location), self.verdict - 3, face=face, size=DENSE)
        whole: Row = (
            Cell(digits(location.profile), ink=ink), Cell(digits(location.compared), face, ink),
            digits(location.expanded_uncertainty), per_cent(location.probability_of_conformity), word,
        )  # fmt: skip
        name: str | Cell = Cell("  " * walked + self.names[id(location)], BOLD if ink or not walked else REGULAR, ink)
        starts = range(0, max(1, len(location.spots)), self.beside)
        rows: list[Row] = []
        for start in starts:
            spots = location.spots[start : start + self.beside]
            cells = [cell for spot in spots for cell in spot_cells(context, spot, self.grades)]
            cells += [""] * (each * (self.beside - len(spots)))
            rows.append((name, *cells, *whole, self._plot(context, point, first=start == 0)))
            name, whole = "", ("",) * len(whole)
        return rows

    def table(self, groups: list[list[Row]], summary: str, named: list[str], **options: Any) -> GroupedTable:
        """A table of those groups of lines; where it goes on it says so of the area."""
        look: dict[str, Any] = {
            "row_head": True,
            "size": DENSE,
            "leading": LEADING,
            "heads": self.heads,
            "over": self.over,
            "pad": _PAD,
        }
        again = partial(self.context.words, "continued")
        return GroupedTable(
            self.columns, groups, summary, named=named, again=lambda name: again(what=name), **(look | options)
        )

    def _plot(self, context: Context, point: LocationPoint, *, first: bool) -> Any:
        """The plot of a location beside its value, in the first of its lines; in the others the limits go through."""
        ruler = self.ruler
        if ruler is None:
            return ""
        shown = point if first else LocationPoint(point.id, None, None, (), point.verdict)
        value = f"{digits(point.profile)} {context.unit}" if point.profile is not None else "–"
        alt = f"{point.id}: {value}, {context.words(f'verdict.{point.verdict}')}" if first else None
        return Drawing(self.plot, 8.0, lambda height: row_plot(ruler, height, shown), alt, fills=True)


def _verdict_room(context: Context, areas: Sequence[AreaResult]) -> float:
    """Points that the longest word of the verdicts needs."""
    said = {location_word(context, location) for area in areas for location in area.locations}
    return max([_LEAST_VERDICT, *(widest_piece(each, BOLD, DENSE) + _MARK_ROOM for each in said)])


def area_section(context: Context, area: AreaResult) -> list[Flowable]:
    """One area in full: heading, locations, facts beside walk-out map and histogram."""
    words, layout = context.words, None
    heading = AreaHeading(context, area)
    heading.wrapOn(None, context.width, context.height)
    if not area.locations:
        reason = context.unseen.get(area.id)
        if reason is not None and not any((*area_facts(context, area), *further_facts(context, area))):
            return [BreakUnless(30.0, 30.0), AreaHeading(context, area, compact=True)]  # which says why
        told = [words("area.unseen", reason=reason.rstrip(".")) if reason is not None else words("readings.none")]
        told += context.left_out(() if reason is not None else area.not_evaluated)
        texts = [running_text(text, "dense", before=2) for text in told]
        return [CondPageBreak(heading.height + 40), heading, *texts, *_facts(context, area, None)]
    if _measured(area):
        layout = Layout(context, [area])
        ends, below = _kept(_facts(context, area, layout))
        located = locations_table(context, layout, area, ends)
    else:
        located, below = graded_locations(context, area), _facts(context, area, layout)
    under = sum(float(each.wrapOn(None, context.width, context.height)[1]) for each in below)
    whole = heading.height + located.total() + under + 16
    few = len(area.locations) < 2 * _TOGETHER  # of which no two could stay here and two go on
    kept = whole < context.height * _KEPT
    least = heading.height + located.lead(len(area.locations) + 1 if few else 2) + 20
    return [BreakUnless(whole if kept else least, least), heading, located, *below]


def _kept(facts: list[Flowable]) -> tuple[list[Flowable], list[Flowable]]:
    """Part what stays with the last locations from what may go on: a single one would stand alone on the next page."""
    ends = 2 if len(facts) == 2 else 1
    return facts[:ends], facts[ends:]


def locations_table(context: Context, layout: Layout, area: AreaResult, below: Sequence[Flowable]) -> GroupedTable:
    """The locations of an area, those of walk-outs under a heavy line; the last stays with what is ``below``."""
    points = {id(location): point for location, point in zip(area.locations, location_points(area), strict=True)}
    ordered = sorted(area.locations, key=lambda location: location.walk_out is not None)
    planned = sum(location.walk_out is None for location in ordered)
    heavy = frozenset({planned - 1}) if 0 < planned < len(ordered) else frozenset()
    groups = [layout.rows(location, points[id(location)]) for location in ordered]
    keep, named = frozenset(range(max(0, len(groups) - 2), len(groups))), [area.id] * (len(groups) + 1)
    summary = context.words("readings.summary", area=area.id)
    return layout.table([*groups, [(each,) for each in below]], summary, named, heavy=heavy, keep=keep)


def _facts(context: Context, area: AreaResult, layout: Layout | None) -> list[Flowable]:
    """The facts of an area; beside them the map of a walk-out and the histogram on the scale of the plots above."""
    facts = area_facts(context, area)
    below = [*facts[_BESIDE:], *further_facts(context, area)]
    beside: list[Any] = []
    wide = context.width
    spots = spot_profiles(area)
    if layout is not None and layout.ruler is not None and spots:
        ruler = layout.ruler
        told = context.words(
            "area.histogram", count=len(spots), low=digits(min(spots)), high=digits(max(spots)), unit=context.unit
        )
        bars = Drawing(layout.plot, _HISTOGRAM, lambda height: histogram(ruler, height, spots), told)
        caption = context.words(
            "area.bars", count=len(spots), width=printed(f"{float(bar_width(ruler.scale)):g}"), unit=context.unit
        )
        beside = [Captioned(bars, caption)]
        wide -= max(layout.plot + 10, text_width(caption, REGULAR, FINEST) + 2)
    maps = [Drawing(*drawn.size, _marks_of(drawn), alt, before=4) for drawn, alt in walk_maps(context, area)]
    for first_map in maps[:1]:
        beside.insert(0, first_map)
        wide -= first_map.width + 10
    room = label_room([*facts, *below], wide)
    first = FactRows(facts[:_BESIDE], wide, room=room)
    rows = [SideBySide([first, *beside], before=2)] if beside else [first]
    further = maps[1:]
    return [*rows, *further, *(FactRows([fact], context.width, area.id, room=room) for fact in below)]


def _marks_of(drawn: WalkMap) -> Callable[[float], list[Command]]:
    return lambda _: drawn.marks()


def label_room(facts: Iterable[Fact], width: float) -> float:
    """Return the points that the labels of facts take, so that none of their words is broken."""
    words = {word for fact in facts for word in fact.label.split()}
    longest = max((text_width(word, REGULAR, FINE) for word in words), default=0.0)
    return max(_LABEL, min(longest + 4 + HAIR, width * _MOST_OF_A_LINE))


class FactRows(Flowable):  # type: ignore[misc] # reportlab has no types
    """Facts under each other: label, mark, text; of ``area`` where they may stand on a page without its heading."""

    def __init__(self, facts: Sequence[Fact], width: float, area: str = "", *, room: float = _LABEL) -> None:
        super().__init__()
        self.width, self.facts, self.area, self.room = width, facts, area, room
        self.rows = [Runs(fact.runs(), width - room, verdict=fact.verdict, size=DENSE, leading=9.0) for fact in facts]
        self.labels = [lines_of(fact.label, REGULAR, FINE, room - 4) for fact in facts]

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - reportlab's names
        """The width given; the sum of the rows."""
        tall = [row.wrapOn(self.canv, aW, aH)[1] for row in self.rows]
        self.tall = [max(high, 9.0 * len(label)) for high, label in zip(tall, self.labels, strict=True)]
        self.height = sum(self.tall) + 2.4 * len(self.tall) + 2
        return self.width, self.height

    def draw(self) -> None:
        """Row under row, each one paragraph."""
        if self.area:
            self.canv.names(self.area)
        y = self.height - 2
        for fact, row, label, tall in zip(self.facts, self.rows, self.labels, self.tall, strict=True):
            with tagged(self.canv, "P"):
                for number, part in enumerate(label):
                    write(self.canv, 0, y - DENSE - 9.0 * number, part, FINE, INK)
                row.drawOn(self.canv, self.room + (0 if fact.verdict else 11), y - row.height)
            y -= tall + 2.4


def compact_areas(context: Context, areas: Sequence[AreaResult]) -> list[Flowable]:
    """Released areas in one table with one head a page: a line a location, the facts in a line or two."""
    layout = Layout(context, areas)
    groups: list[list[Row]] = []
    keep: set[int] = set()
    named: list[str] = []
    for area in areas:
        points = location_points(area)
        heading: Row = (AreaHeading(context, area, compact=True),)
        rows = [layout.rows(location, point) for location, point in zip(area.locations, points, strict=True)]
        told: list[Run] = []
        for fact in (*area_facts(context, area), *further_facts(context, area)):
            told += [*([Run(" · ", REGULAR, INK)] if told else []), *fact.running]
        facts: Row = (Runs(told, context.width, size=FINE + 0.2, leading=8.8),)
        keep |= {len(groups), *range(len(groups) + max(0, len(rows) - _TOGETHER), len(groups) + len(rows))}
        groups += [[heading, *rows[0]], *rows[1:], [facts]]
        named += [area.id] * (len(rows) + 1)
    summary = context.words("areas.summary")
    made = layout.table(groups, summary, named, keep=frozenset(keep), pad=_TIGHT_PAD)
    return [CondPageBreak(made.lead(3) + 4), Spacer(1, 4), made]
