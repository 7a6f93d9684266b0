"""``audit query`` and ``history``: by what a question is narrowed, and its answer as text, data or a file."""

from __future__ import annotations

import argparse
import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import render_json, wrapped
from reportgen.diagnostics import printable
from reportgen.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.audit import Narrowed
    from reportgen.pipeline import asking

KINDS = (".csv", ".xlsx", ".html")
STANDINGS = ("proven", "open", "doubtful", "failed")


def add_filters(parser: argparse.ArgumentParser) -> None:
    """Declare by what a question can be narrowed."""
    group = parser.add_argument_group("of a question, its filters; they combine, and one that does not fit is refused")
    group.add_argument("--contract", metavar="NUMBER", help="of one contract")
    group.add_argument("--area", metavar="ID", help="of one area")
    group.add_argument("--gauge", metavar="SERIAL", help="of one gauge, by its serial number")
    group.add_argument("--number", metavar="NUMBER", help="of one report number")
    group.add_argument("--inspector", metavar="NAME", help="of the reports of one inspector")
    group.add_argument("--from", dest="since", type=_date, metavar="DATE", help="from this date on, such as 2026-05-04")
    group.add_argument("--to", dest="until", metavar="DATE", help="up to this date; or csv, xlsx, html, json")
    group.add_argument("--standing", choices=STANDINGS, help="of files that stand so")
    group.add_argument("--as-of", type=_date, metavar="DATE", help="the date to which ages are counted")
    group.add_argument("--value", metavar="TEXT", help="as the question says; %% stands for any text")


def _date(text: str) -> str:
    try:
        return dt.datetime.strptime(text, "%Y-%m-%d").date().isoformat()  # noqa: DTZ007 - a date has no zone
    except ValueError:
        raise argparse.ArgumentTypeError(f"`{text}` is no date; write it as 2026-05-04") from None


def asked_by(options: argparse.Namespace) -> tuple[Narrowed, str | None]:
    """Return how a question is narrowed, and the kind of file that is asked for by ``--to``."""
    from reportgen.audit import Narrowed

    kind = options.until if f".{options.until}" in (*KINDS, ".json") else None
    until = None if kind else options.until
    if until is not None:
        try:
            until = _date(until)
        except argparse.ArgumentTypeError:
            raise UsageError(
                f"`--to {options.until}` is no date", help_text="write it as 2026-05-04; or csv, xlsx, html, json"
            ) from None
        if options.since is not None and until < options.since:
            raise UsageError(f"there is no time from {options.since} to {until}")
    names = ("value", "contract", "area", "gauge", "number", "inspector", "since", "standing", "as_of")
    return Narrowed(until=until, **{name: getattr(options, name) for name in names}), kind


def index_of(folder: Path) -> Path:
    """Return the index that an audit of a folder wrote; the path itself where it is one."""
    from reportgen.audit import default_index

    return folder if folder.is_file() else default_index(folder)


def questions_listed() -> str:
    """Return every question with what it asks, and by what it can be narrowed; in brackets by what it need not be."""
    from reportgen.audit import QUESTIONS

    lines = []
    for name, one in QUESTIONS.items():
        ways = (f"--{way}" if way in one.needs else f"[--{way}]" for way in one.by)
        lines += [f"{name}: {one.asks}", f"    {' '.join(ways)}"]
    return "\n".join(lines)


def question_answered(options: argparse.Namespace) -> Answer:
    """Answer ``audit query``."""
    from reportgen.pipeline.asking import (
        audit_query,
        new_file,
        plain_answer,
        require_index_of,
        titled,
        written_files,
    )
    from reportgen.words.filing import filing_words
    from reportgen.words.told import said_as_printed as in_language

    if len(options.what) == 1:
        return Answer(text=questions_listed())
    _, question, *folder = options.what
    if len(folder) > 1 or not (folder or options.index):
        raise UsageError(
            "a query needs the name of one question, and the folder that was audited or its index",
            help_text="such as `audit query contracts archive/`; `audit query` lists the questions",
        )
    asked, kind = asked_by(options)
    out = options.output or (None if kind in (None, "json") else Path(f"{question}.{kind}"))
    out = out and new_file(out, (*KINDS, ".json") if kind is None else (f".{kind}",))
    index = options.index or index_of(Path(folder[0]))
    if folder and options.index:
        require_index_of(index, Path(folder[0]))
    found = audit_query(index, question, asked)
    later = f"note: a later audit has not come to its end; this is the answer of that of {found.at}"
    notes = () if found.finished else (later,)
    if out is not None and out.suffix.lower() == ".json":
        return written({out: render_json(plain_answer(found)).encode() + b"\n"}, notes)
    if out is not None:
        words = filing_words(options.language)
        table = titled(question, found.heads, found.rows, words)
        said = (
            words("pages.asked", question=question, at=found.at),
            words("pages.unsigned"),
            *(in_language(line, options.language) for line in found.below),
        )
        return written(written_files(out, table.title, said, [table], options.language), notes)
    data = plain_answer(found)
    text = render_json(data) if kind == "json" else answer_told(question, found, options.language)
    return Answer(data=data, text=text, notes=notes)


def answer_told(name: str, found: asking.Answer, language: str) -> str:
    """Return an answer in a language: each row as what stands in it, headed, and what is said below them."""
    from reportgen.pipeline.asking import rows_told
    from reportgen.words.filing import filing_words
    from reportgen.words.told import Told
    from reportgen.words.told import said_as_printed as in_language

    words = filing_words(language)
    lines = [line for row in rows_told(name, found, words) for line in wrapped(row)]
    for one in found.below:  # what is to be pasted into a file stays as it is
        lines += wrapped(in_language(one, language)) if isinstance(one, Told) else [printable(one)]
    return "\n".join(lines or [words("pages.nothing")])


def written(files: Mapping[Path, bytes], notes: tuple[str, ...] = ()) -> Answer:
    """Write the files of an answer, all of them new, and say so."""
    from reportgen.issued import shown_name
    from reportgen.pipeline.onsite import write_together

    write_together(dict(files))
    names = [shown_name(path) for path in files]
    finished(f"written: {', '.join(names)}")
    text = "\n".join(line for name in names for line in wrapped(f"wrote {name}"))
    return Answer(data={"written": names}, text=text, notes=notes)
