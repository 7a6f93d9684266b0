"""The sections of a submittal after its cover: index, areas over time, nonconformance log, integrity."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from reportgen.charts import verdict_mark
from reportgen.names import says_nothing
from reportgen.pdf.blocks import Facts, SectionTitle, Verdict, running_text
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.flow import CondPageBreak, Flowable, Paragraph
from reportgen.pdf.painting import paint
from reportgen.pdf.styles import BOLD, HAIRLINE, LEADING, MUTED, REGULAR, colour, paragraph_style
from reportgen.pdf.tables import SECTION_ROOM, Cell, Column, Row
from reportgen.pdf.tagging import tagged_list
from reportgen.pdf.textlines import markup, text_width
from reportgen.results import Word
from reportgen.results.codes.follow_up import CLOSING, INSPECT_AGAIN, ToClose
from reportgen.results.facts import Place
from reportgen.submittal.pages.tables import SIZE, table
from reportgen.units import printed
from reportgen.words.catalogue import catalogue
from reportgen.words.sentences import sentences
from reportgen.words.told import said

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.submittal.pages.model import AreaHistory, LogRow, Submittal
    from reportgen.words.catalogue import Words

_SIGNATURE_MARK = {"passed": "conforms", "failed": "does not conform", "indeterminate": "inconclusive"}
_DECISION_MARK = {"release": "conforms", "hold": "inconclusive", "rework": "does not conform"}
_END = 34.0  # points of the line that ends the submittal
_LINE_END = 5.0


def index_section(content: Submittal, words: Words, width: float) -> list[Flowable]:
    """Every report with its dates, decisions, signer, result of verification and SHA-256."""
    columns = [
        Column(words("index.report"), 84, face=BOLD),
        Column(words("index.date"), 80),
        Column(words("index.areas"), width - 84 - 80 - 112),
        Column(words("index.signature"), 112, gap=0),
    ]
    groups: list[list[Row]] = []
    for row in content.reports:
        areas = []
        for area, decision, in_part in row.areas:
            said = f"{area} {_decided(words, decision, in_part=in_part)}"
            names = [name for held, name in row.held if held == area]  # by which it is on hold all the same
            areas.append(f"{said} ({words('index.held', open=', '.join(names))})" if names else said)
        state = Verdict(_SIGNATURE_MARK[row.signature], words(f"signature.{row.signature}"), 112, size=SIZE)
        same = ".same" if row.place == "set aside" and row.beside == row.revision else ""
        revision = words(f"index.{row.place.replace(' ', '.')}{same}", revision=row.revision, other=row.beside)
        issued = Cell(words("index.issued", at=row.issued_at), ink=MUTED)
        signed = row.signed(words)
        groups.append(
            [
                (row.number, row.date, ", ".join(areas) or words("index.noarea"), state),
                (Cell(revision, REGULAR, MUTED), issued, Cell(f"SHA-256 {row.sha256}", ink=MUTED), signed),
            ]
        )
    made = table(columns, groups, words, "index.title")
    return [CondPageBreak(made.need(2)), SectionTitle(words("index.title"), "index"), made]


class _Timeline(Flowable):  # type: ignore[misc] # reportlab has no types
    """Marks by decision at their dates between ``first`` and ``last``; ``alt`` says the same in words."""

    def __init__(self, events: Sequence[tuple[str, str]], first: str, last: str, width: float, alt: str) -> None:
        super().__init__()
        self.events, self.alt = tuple(events), alt
        self.width, self.height = width, LEADING
        self._first = dt.date.fromisoformat(first)
        self._days = max(1, (dt.date.fromisoformat(last) - self._first).days)

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """As stated at the start."""
        return self.width, self.height

    def draw(self) -> None:
        """The line, then the marks."""
        canvas: Any = self.canv
        y = self.height / 2 - 0.6
        with artifact(canvas):
            canvas.setStrokeColor(colour(HAIRLINE))
            canvas.setLineWidth(0.6)
            canvas.line(_LINE_END, y, self.width - _LINE_END, y)
        with tagged(canvas, "Figure", alt=self.alt, at=(0, 0, self.width, self.height)):
            marks = []
            for date, how in self.events:
                days = (dt.date.fromisoformat(date) - self._first).days
                at = _LINE_END + (self.width - 2 * _LINE_END) * days / self._days
                marks.append(verdict_mark(_DECISION_MARK[how], at, y, 6.2))
            paint(canvas, marks)


def areas_section(content: Submittal, words: Words, width: float) -> list[Flowable]:
    """Every area with a mark for each report on it, and its state now."""
    if not content.areas and not content.complete.areas:
        return []
    dates = [row.date for row in content.reports]
    first, last = min(dates), max(dates)
    line = width - 56 - 150 - 96 - 96
    columns = [
        Column(words("areas.area"), 56, face=BOLD),
        Column(words("areas.name"), 150),
        Column(words("areas.time", first=first, last=last), line),
        Column(words("areas.now"), 96),
        Column(words("areas.last"), 96, ink=MUTED, gap=0),
    ]
    gone = {one.area for one in content.complete.areas if one.word == "no longer listed"}
    named = {area.id for area in content.areas}
    never = {one.area for one in content.complete.areas if one.word == "not inspected"}
    shown = [replace(area, decision="unseen") if area.id in never else area for area in content.areas]
    groups = [[_area_row(area, words, (first, last), line - 8, gone=area.id in gone)] for area in shown]
    unseen = Verdict("inconclusive", words("areas.unseen"), 96, size=SIZE)
    groups += [
        [(one.area, f"{one.structure}, {one.name}", "", unseen, "")]
        for one in content.complete.listed
        if one.area not in named
    ]
    made = table(columns, groups, words, "areas.title", row_head=True)
    title = SectionTitle(words("areas.title"), "areas", note=words("areas.note"))
    left = []
    for one in content.gone:
        decision = words(f"decision.{one.decision}")
        told = words("areas.gone", by=one.by, area=one.area, report=one.report, decision=decision)
        left.append(running_text(told, "note", before=4))
    return [CondPageBreak(made.need(2)), title, made, *left]


def _decided(words: Words, decision: str, *, in_part: bool) -> str:
    word = words(f"decision.{decision}")
    return words("decision.part", decision=word) if in_part else word


def _area_row(area: AreaHistory, words: Words, period: tuple[str, str], line: float, *, gone: bool) -> Row:
    over_time = "; ".join(
        f"{event.date} {_decided(words, event.decision, in_part=bool(event.part))}" for event in area.events
    )
    marks = [(event.date, event.decision) for event in area.events if event.decision != "unseen"]
    word = _decided(words, area.decision, in_part=bool(area.part))
    if area.decision != "unproven" and area.coated:
        word = f"{word}, {words('areas.coated')}"
    if area.decision != "unproven" and not area.proven:
        word = f"{word}, {words('decision.unproven')}"
    state = Verdict(_DECISION_MARK.get(area.decision, "inconclusive"), word, 96, size=SIZE)
    by = [area.by, *(words("areas.contested", report=report) for report in area.contested)]
    cleaned, _, size = printed(area.part).partition(" of ")
    by[1:1] = [words("areas.part", cleaned=cleaned, size=size)] if area.part else []
    by += [words("areas.barred", report=report) for report in area.barred]
    by += [words("areas.lacks", report=area.lacks)] if area.lacks else []
    by += [words("areas.succeeded")] if area.succeeded else []
    by += [said(area.uncovered, words.language)] if area.uncovered else []
    by += [words("areas.open", report=name) for name in area.open]
    by += [words("areas.unlisted")] if gone else []
    history = _Timeline(marks, *period, line, over_time)
    return (area.id, f"{area.structure}, {area.name}", history, state, "\n".join(by))


def open_section(content: Submittal, words: Words, width: float) -> list[Flowable]:
    """What is left to be settled, the oldest first."""
    title = SectionTitle(words("open.title"), "open", note=words("open.note", date=f"{content.at:%Y-%m-%d}"))
    unseen = running_text(words("open.unseen"), "note", before=4)
    if not content.open_items:
        return [CondPageBreak(72), title, running_text(words("open.none"), before=4), unseen]
    columns = [
        Column(words("open.since"), 64),
        Column(words("open.age"), 50),
        Column(words("open.area"), 56, face=BOLD),
        Column(words("open.what"), width - 64 - 50 - 56 - 92),
        Column(words("open.by"), 92, ink=MUTED, gap=0),
    ]
    groups: list[list[Row]] = [
        [(one.since, words("open.days", days=one.days), one.area,
          words(f"open.{one.kind.replace(' ', '.')}", id=one.id, what=one.what), one.by)]
        for one in content.open_items
    ]  # fmt: skip
    made = table(columns, groups, words, "open.title")
    return [CondPageBreak(made.need(2)), title, made, unseen]


def log_section(content: Submittal, words: Words, width: float) -> list[Flowable]:
    """The nonconformances, open ones first."""
    title = SectionTitle(words("log.title"), "log", note=words("log.note"))
    if not content.nonconformances:
        return [CondPageBreak(60), title, running_text(words("log.empty"), before=4)]
    status = max(54.0, *(text_width(words(f"log.{one}"), BOLD, SIZE) + 13 for one in ("open", "closed")))
    columns = [
        Column(words("log.id"), 54, face=BOLD),
        Column(words("log.area"), 40),
        Column(words("log.description"), width - 54 - 40 - 84 - 76 - status),
        Column(words("log.disposition"), 84),
        Column(words("log.reports"), 76),
        Column(words("log.status"), status, gap=0),
    ]
    groups = [[_log_row(row, words, status)] for row in content.nonconformances]
    made = table(columns, groups, words, "log.title", row_head=True)
    return [CondPageBreak(made.need(2)), title, made]


def _log_row(row: LogRow, words: Words, status: float) -> Row:
    told = [row.description, *_to_do(row, words)]
    told += [words("log.evidence", evidence=row.evidence)] if row.evidence else []
    told += [words("log.silent", report=row.silent)] if row.silent else []
    told += [words("log.barred", report=report) for report in row.barred]
    told += [] if row.proven else [words("log.unproven")]
    mark = "inconclusive" if not row.proven else "does not conform" if row.status == "open" else "conforms"
    state = Verdict(mark, words(f"log.{row.status}"), status, size=SIZE)
    reports = "\n".join(dict.fromkeys((row.raised_in, row.last_in)))
    disposition = catalogue(words.language).named("disposition", row.disposition)
    decided = words("log.decided", disposition=disposition, who=row.decided_by)
    return (row.id, row.area, "\n".join(told), decided, reports, state)


def _to_do(row: LogRow, words: Words) -> list[str]:
    """What is written to be done; where a decision or its evidence is to close it, that, and what was written so."""
    if row.status == "closed":
        return [words("log.action", action=row.action)] if row.action else []
    written = "" if says_nothing(row.action) else row.action
    closing = CLOSING.get(row.to_close or "")
    if closing is None or (written and closing is INSPECT_AGAIN):
        return [words("log.action", action=written)] if written else []
    facts = ToClose(row.id, Word("disposition", row.disposition), row.description, areas=row.undecided)
    what = sentences(words.language).task(closing.due(facts, Place(row.area or None)))
    stated = [catalogue(words.language)("action.stated", what=written)] if written else []
    return [one[:1].upper() + one[1:] for one in (what, *stated)]


def integrity_section(content: Submittal, words: Words, width: float) -> list[Flowable]:
    """The embedded originals with their hashes, and how to verify them."""
    facts = [
        (words("submittal.reference"), content.reference),
        (words("integrity.list"), content.list_sha256),
        (words("integrity.version"), f"reportgen {content.version}"),
    ]
    columns = [Column(words("integrity.file"), width - 300), Column("SHA-256", 300, gap=0)]
    groups: list[list[Row]] = [[(row.file, row.sha256)] for row in content.reports]
    groups.append([(content.list_name, content.list_sha256)])
    made = table(columns, groups, words, "integrity.files", size=6.8, leading=9.5)
    style = paragraph_style("body").clone("numbered", leftIndent=14, bulletIndent=0)
    steps = [
        Paragraph(markup(words(f"integrity.step.{number}")), style, bulletText=f"{number}.") for number in (1, 2, 3)
    ]
    return [
        CondPageBreak(140),
        SectionTitle(words("integrity.title"), "integrity"),
        Facts(facts, 1, before=3),
        CondPageBreak(made.need(2)),
        SectionTitle(words("integrity.files"), "files", level=3, outline=False),
        made,
        # the end line must not stand on a page of its own
        CondPageBreak(SECTION_ROOM + sum(step.wrapOn(None, width, 0)[1] for step in steps) + _END),
        SectionTitle(words("integrity.verify"), "verify", level=3, outline=False),
        *tagged_list(steps, numbering="Decimal"),
    ]
