"""Answers of an index as tables: for a person on a screen, for a spreadsheet, for a page that stands alone."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.diagnostics import printable
from reportgen.errors import UsageError
from reportgen.export import Table
from reportgen.units import DISPLAY, decimal_mark, printed
from reportgen.words.catalogue import catalogue
from reportgen.words.filing import filing_words
from reportgen.words.told import Told
from reportgen.words.told import said as said_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from reportgen.audit import Index, Narrowed
    from reportgen.export import Value
    from reportgen.words.catalogue import Words

_NUMBERS: Final = frozenset({
    "size", "mean", "standard_deviation", "minimum", "maximum", "gauge_error", "error_tried", "expected", "level",
    "from", "to", "p_of_equal_scatter",
})  # fmt: skip
_DATES: Final = frozenset({
    "date", "first", "last", "since", "due", "raised", "calibrated", "from_date", "issued_by", "coated", "first_use",
    "last_use", "at", "issued_at", "verified_at", "holds_until",
})  # fmt: skip
"""Columns with dates, or moments, which are told in UTC."""
_WORDS: Final = frozenset({
    "state", "decision", "result", "standing", "verdict", "place", "kind", "weight", "gauge_reads", "would_be",
    "overdue", "used_past_due", "says_it_is_ours", "how", "screen",
})  # fmt: skip
"""Columns with words of closed lists."""
_UNITS: Final = frozenset({"unit", "size_unit", "gauge_unit"})
_ENTERED: Final = frozenset({"air", "humidity", "wet_bulb", "steel"})
"""Columns with values and units as they were entered."""
_SEVERAL: Final = re.compile(r"(\d+) files")
_DATE: Final = re.compile(r"\d{4}-\d\d-\d\d")


class Answer(NamedTuple):
    """The answer to a question, with what is said ``below`` its rows.

    ``finished`` is False where a later audit did not come to its end, or has not yet; ``at`` is the moment of the one
    that answers.
    """

    heads: list[str]
    rows: list[tuple[object, ...]]
    finished: bool
    at: str
    below: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Titled:
    """A table with its name in a language and what it answers, as a workbook or a page has it."""

    name: str
    title: str
    asks: str
    table: Table


def audit_query(index: Path, name: str, asked: Narrowed | None = None, *, anew: bool = True) -> Answer:
    """Answer a named question from the index of an audit, which may be running.

    For *recall* the reports are evaluated ``anew``, with other readings of the gauge.

    Raises:
        UsageError: no such index or question, or it cannot be asked like that.
    """
    from reportgen.audit import Index, ask, own_key

    with Index.read(index, key=own_key()) as opened:
        found = ask(opened, name, asked)
        if name == "recall" and anew:
            from reportgen.pipeline.recalling import with_gauge_errors

            found = with_gauge_errors(opened, found)
        at = str(opened.value("answered_at"))
        return Answer(found.heads, found.rows, opened.value("finished") == "yes", at, found.below)


def require_index_of(index: Path, folder: Path) -> None:
    """Refuse an index that is not of ``folder``.

    Raises:
        UsageError: it is of another folder, or cannot be read.
    """
    from reportgen.audit import Index, own_key
    from reportgen.issued import shown_name

    with Index.read(index, key=own_key()) as opened:
        own = str(opened.value("folder"))
    named = shown_name(folder.resolve())
    if named not in (own, shown_name(index.resolve())):
        raise UsageError(f"{shown_name(index)} is the index of {own}", help_text="name one of them")


def all_answers(index: Index, language: str) -> Iterator[Titled]:
    """Yield the answer to every question that needs nothing to be given, as a table."""
    from reportgen.audit import QUESTIONS, ask

    for name, question in QUESTIONS.items():
        if not question.needs:
            found = ask(index, name)
            yield titled(name, found.heads, found.rows, filing_words(language))


def titled(name: str, heads: Sequence[str], rows: Sequence[Sequence[Any]], words: Words) -> Titled:
    """Return an answer as a table with numbers that are numbers and dates that are dates, headed in a language."""
    from reportgen.audit import QUESTIONS

    own = f"question.{name}.asks"
    asks = words(own) if words.knows(own) else QUESTIONS[name].asks if name in QUESTIONS else ""
    with decimal_mark(words.decimal):
        values = tuple(tuple(_value(head, cell, words) for head, cell in zip(heads, row, strict=True)) for row in rows)
    title = words(f"question.{name}")
    return Titled(name, title, asks, Table(title[:31], tuple(words(f"column.{head}") for head in heads), values))


def rows_told(name: str, found: Answer, words: Words) -> Iterator[str]:
    """Yield each row of an answer as a line for a person: heading and cell of what stands in it."""
    table = titled(name, found.heads, found.rows, words).table
    with decimal_mark(words.decimal):
        for row in table.rows:
            cells = zip(table.headings, row, strict=True)
            yield "; ".join(f"{head}: {_cell_told(cell)}" for head, cell in cells if cell not in (None, ""))


def _cell_told(cell: Value) -> str:
    if isinstance(cell, Decimal):
        return printed(f"{cell:f}")
    return f"{cell:%Y-%m-%d %H:%M}" if isinstance(cell, dt.datetime) else printable(str(cell))


def _value(head: str, cell: Any, words: Words) -> Value:
    """Return a cell of an index as what it is."""
    if cell is None or cell == "":
        return None
    if isinstance(cell, Told):
        return printable(said_in(cell, words.language))
    if isinstance(cell, float):
        return Decimal(repr(cell))
    if not isinstance(cell, str):
        return int(cell)
    if head in _NUMBERS:
        return _number(cell)
    if head in _DATES:
        return _moment(cell) if _DATE.match(cell) else cell
    several = _SEVERAL.fullmatch(cell) if head == "file" else None
    if several:
        return words("pages.files", count=int(several[1]))
    if head in _UNITS:
        return DISPLAY.get(cell, cell)
    if head in _ENTERED:
        return printed(cell)
    return _word(cell, words) if head in _WORDS else cell


def _word(cell: str, words: Words) -> str:
    """Return a word of a closed list in a language; as it is where the language has none."""
    known = (f"{group}.{cell}" for group in ("value", "screen", "problem"))
    own, instrument = next(filter(words.knows, known), None), f"instrument.{cell}"
    names = catalogue(words.language)
    return words(own) if own else names(instrument) if names.knows(instrument) else cell


def _number(text: str) -> Value:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return text
    return number if number.is_finite() else text


def _moment(text: str) -> Value:
    try:
        if _DATE.fullmatch(text):
            return dt.date.fromisoformat(text)
        moment = dt.datetime.fromisoformat(text)
    except ValueError:
        return text
    return moment.astimezone(dt.UTC).replace(tzinfo=None) if moment.tzinfo is not None else moment


def new_file(path: Path, kinds: Sequence[str]) -> Path:
    """Return where a table is to be written; ``UsageError`` where something is there, or its name says another kind."""
    from reportgen.issued import shown_name

    if path.suffix.lower() not in kinds:
        raise UsageError(f"`{shown_name(path)}` is none of {', '.join(kinds)}", help_text="name the kind by the ending")
    if path.exists() or not path.parent.is_dir():
        why = "exists already and is never overwritten" if path.exists() else "cannot be written: no such folder"
        raise UsageError(f"`{shown_name(path)}` {why}")
    return path


def written_files(
    out: Path, title: str, said: Sequence[str], tables: Sequence[Titled], language: str
) -> dict[Path, bytes]:
    """Return name and content of what is to be written as ``out``: a workbook, a page, or tables as CSV.

    A page has CSV files beside it for the tables that are too long for one.
    """
    from reportgen.export import render_csv, render_xlsx

    kind = out.suffix.lower()
    if kind == ".xlsx":
        front = Table(filing_words(language)("pages.about")[:31], (title,), tuple((one,) for one in said))
        return {out: render_xlsx([front, *(one.table for one in tables if one.table.rows)])}
    if kind == ".csv":
        (only,) = tables
        return {out: render_csv(only.table)}
    return _page(out, title, said, tables, filing_words(language))


def _page(out: Path, title: str, said: Sequence[str], tables: Sequence[Titled], words: Words) -> dict[Path, bytes]:
    from reportgen.export import MOST_ROWS_OF_A_PAGE, PageWords, Section, render_csv, render_html

    files: dict[Path, bytes] = {}
    sections = []
    for one in tables:
        beside = None
        if len(one.table.rows) > MOST_ROWS_OF_A_PAGE:
            path = out.with_name(f"{out.stem}-{one.name}.csv")
            files[path], beside = render_csv(one.table), path.name
        sections.append(Section(one.title, one.asks, one.table, beside))
    told = ("contents", "narrow", "rows", "nothing", "beside")
    page_words = PageWords(words.language, *(words(f"pages.{name}", rows="{rows}", file="{file}") for name in told))
    with decimal_mark(words.decimal):
        return {out: render_html(title, said, sections, page_words), **files}


def plain_answer(found: Answer) -> Mapping[str, Any]:
    """Return an answer as data."""
    rows = [dict(zip(found.heads, row, strict=True)) for row in found.rows]
    return {"rows": rows} | ({"below": list(found.below)} if found.below else {})
