"""The history of one area, gauge or report number: several answers of an index about it, as pages or tables."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen import __version__
from reportgen.diagnostics import printable
from reportgen.errors import UsageError
from reportgen.pipeline.asking import Answer, Titled, audit_query, titled, written_files
from reportgen.units import decimal_mark
from reportgen.words.filing import filing_words
from reportgen.words.numbers import digits
from reportgen.words.told import said_as_printed as in_language

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from reportgen.audit import Narrowed
    from reportgen.words.catalogue import Words

_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "area": ("area-history", "open", "problems", "photos"),
    "gauge": ("recall", "instruments", "gauges"),
    "number": ("history", "problems", "files"),
}
"""Which questions tell the history of a thing, the one that does so by time first."""
_PRINTED: Final[Mapping[str, tuple[str, ...]]] = {
    "area-history": (
        "date",
        "decision",
        "place",
        "reasons",
        "mean",
        "limits",
        "size",
        "size_unit",
        "gauge",
        "inspector",
    ),
    "open": ("kind", "id", "what", "who", "due", "age"),
    "problems": ("weight", "code", "area", "sentence"),
    "photos": ("photo", "caption", "at"),
    "recall": (
        "area",
        "first",
        "last",
        "locations",
        "result",
        "decision",
        "coated",
        "gauge_error",
        "gauge_unit",
        "would_be",
    ),
    "instruments": ("certificate", "calibrated", "due", "first_use", "last_use"),
    "gauges": ("contract", "reports", "readings", "first", "last"),
    "history": ("date", "issued_at", "result", "place", "supersedes_reason"),
    "files": ("kind", "sha256", "inside"),
}
"""Columns that a page has room for; workbook, page and data have all."""


class History(NamedTuple):
    """What the reports of an audit say of one thing: answers by the name of the question."""

    of: str
    name: str
    answers: Mapping[str, Answer]

    @property
    def at(self) -> str:
        """The moment of the audit that answers."""
        return next(iter(self.answers.values())).at

    @property
    def finished(self) -> bool:
        """Whether no later audit has begun and not come to its end."""
        return all(one.finished for one in self.answers.values())


def history(index: Path, asked: Narrowed) -> History:
    """Return the history of the area, the gauge or the number that is asked for, of which there must be just one.

    Raises:
        UsageError: none or several are named, or nothing in the index has such a name.
    """
    from reportgen.audit import QUESTIONS, Narrowed

    things = [(name, value) for name in _OF if (value := getattr(asked, name)) is not None]
    if len(things) != 1:
        raise UsageError(
            "a history is of one area, one gauge or one number", help_text="name it: --area, --gauge, --number"
        )
    of, name = things[0]
    given = asked.given()
    answers = {}
    for question in _OF[of]:
        fits = {key: value for key, value in given.items() if key in QUESTIONS[question].by}
        options = {{"from": "since", "to": "until"}.get(key, key): value for key, value in fits.items()}
        answers[question] = audit_query(index, question, replace(Narrowed(as_of=asked.as_of), **options))
    return History(of, name, answers)


def history_files(found: History, out: Path, language: str) -> dict[Path, bytes]:
    """Return the files of a history, by the ending of ``out``: a PDF, a workbook, or a page that stands alone."""
    words = filing_words(language)
    title = words(f"history.{found.of}", name=printable(found.name))
    tables = [titled(name, one.heads, one.rows, words) for name, one in found.answers.items()]
    below = [in_language(line, language) for one in found.answers.values() for line in one.below]
    said = (
        words("history.told", at=found.at.replace("T", " ").replace("+00:00", " UTC")),
        words("pages.unsigned"),
        *below,
    )
    if out.suffix.lower() == ".pdf":
        return {out: _pdf(found, title, said, tables, words)}
    return written_files(out, title, said, tables, language)


def _pdf(found: History, title: str, said: tuple[str, ...], tables: list[Titled], words: Words) -> bytes:
    from reportgen.archival import MIME_TYPES, Attachment, Metadata, make_archival
    from reportgen.audit.history_pages import HistoryPages, HistoryTable, render_history
    from reportgen.formats import canonical_json

    sections = []
    for (name, answer), table in zip(found.answers.items(), tables, strict=True):
        kept = [answer.heads.index(head) for head in _PRINTED[name]]
        heads = (*(table.table.headings[at].removesuffix(" (UTC)") for at in kept), words("history.file"))
        ends = [answer.heads.index(head) for head in ("number", "revision", "file", "standing")]
        with decimal_mark(words.decimal):
            rows = tuple(
                (*(_shown(row[at]) for at in kept), _ended(*(_shown(row[at]) for at in ends)))
                for row in table.table.rows
            )
        sections.append(HistoryTable(name, table.title, table.asks, heads, rows))
    content = HistoryPages(title, said, found.at, __version__, tuple(sections))
    data = canonical_json({name: _plain(one) for name, one in found.answers.items()})
    return make_archival(
        render_history(content, language=words.language),
        metadata=Metadata(
            title=title,
            number=f"history {found.at}",
            issued=dt.datetime.fromisoformat(found.at),
            producer=f"reportgen {__version__}",
            author=f"reportgen {__version__}",
            language=words.language,
        ),
        attachments=[Attachment("history.json", data, MIME_TYPES[".json"], "Data", "the history as data")],
    )


def _plain(one: Answer) -> list[dict[str, Any]]:
    return [
        {head: str(cell) for head, cell in zip(one.heads, row, strict=True) if cell is not None} for row in one.rows
    ]


def _ended(number: str, revision: str, file: str, standing: str) -> str:
    return ", ".join(filter(None, (f"{number} r{revision}" if number and revision else number, file, standing)))


def _shown(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, dt.datetime):
        return f"{cell:%Y-%m-%d %H:%M}"
    if isinstance(cell, dt.date):
        return cell.isoformat()
    return digits(cell) if isinstance(cell, Decimal) else printable(str(cell))
