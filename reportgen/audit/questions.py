"""Questions an index answers later, by name. Each is one query over the tables in ``schema.sql``.

Each row of an answer ends with the number and revision of the report that it is of, its file, how that stands and the
verdict on it; a row that counts several files says how many, and they are of one standing and verdict.
"""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Final

from reportgen.audit.asked import Narrowed, Question, as_told, require_known
from reportgen.audit.asked_of_areas import OF_AREAS
from reportgen.audit.asked_of_files import OF_FILES
from reportgen.audit.repeatability import Answer
from reportgen.audit.written_alike import perhaps_the_gauge
from reportgen.errors import UsageError
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.audit.index import Index

_ALL: Final = {**OF_AREAS, **OF_FILES}
_FIRST: Final = ("problems", "open", "areas", "numbers", "contracts", "parameters", "instruments", "alike", "screens")
QUESTIONS: Mapping[str, Question] = {name: _ALL[name] for name in (*_FIRST, *sorted(_ALL.keys() - set(_FIRST)))}
"""Every question there is, in the order in which a reader comes with them."""


def offered() -> list[str]:
    """Return the questions that need nothing to be given."""
    return [name for name, one in QUESTIONS.items() if not one.needs]


def about(name: str, value: str) -> Narrowed:
    """Return how a question is asked about one thing, as a person writes it who was given a single field."""
    by = QUESTIONS[name].by if name in QUESTIONS else {}
    main = next((one for one in ("value", "contract", "number", "standing") if one in by), "value")
    return Narrowed(**{main: value}) if value else Narrowed()


def ask(index: Index, name: str, asked: Narrowed | None = None) -> Answer:
    """Return the columns and rows that answer the question called ``name``, and what is said below them.

    Raises:
        UsageError: there is no such question, it cannot be narrowed like that, or lacks what it is about; or nothing
            in the index has such a name.
    """
    if name not in QUESTIONS:
        raise UsageError(
            f"there is no question `{name}`", help_text=f"ask one of {', '.join(f'`{one}`' for one in QUESTIONS)}"
        )
    question, wanted = QUESTIONS[name], asked or Narrowed()
    given = wanted.given()
    _require_filters(name, question, given)
    require_known(index, given)
    where = " AND ".join(["1", *(f"({question.by[one]})" for one in given)])
    as_of = wanted.as_of or str(index.value("answered_at") or "")[:10]
    query, given = question.query.replace("{where}", where), {**given, "as_of": as_of}
    heads, rows = index.named(query, given)
    others = perhaps_the_gauge(index, given["gauge"]) if name == "recall" else []
    if others:
        found = [index.named(query, {**given, "gauge": one})[1] for one in others]
        rows = list(dict.fromkeys(chain(rows, *found)))
    if question.made is not None:
        return question.made(rows)
    below = [told("recall-others", gauge=given["gauge"], others=tuple(others))] if others else []
    return Answer(heads, [tuple(map(as_told, heads, row)) for row in rows], tuple(below))


def _require_filters(name: str, question: Question, given: Mapping[str, str]) -> None:
    for one in given:
        if one not in question.by:
            ways = ", ".join(f"--{way}" for way in question.by) or "nothing"
            raise UsageError(f"`{name}` cannot be narrowed by --{one}", help_text=f"it can be by {ways}")
    for one in question.needs:
        if one not in given:
            raise UsageError(f"`{name}` needs --{one}", help_text=f"such as `audit query {name} FOLDER --{one} …`")
