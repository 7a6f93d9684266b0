"""How a question is asked of an index: by which filters it can be narrowed, and that what they name is there."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.diagnostics import closest
from reportgen.errors import UsageError
from reportgen.words.told import told_from_json

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from reportgen.audit.index import Index
    from reportgen.audit.repeatability import Answer, Row


class Question(NamedTuple):
    """What is asked, in words and in SQL, in which ``{where}`` stands for the filters given.

    ``by`` has the condition of each filter that it can be narrowed by, with the filter's name as parameter; those it
    ``needs`` must be given. ``made`` makes the answer of the rows where SQL alone cannot.
    """

    asks: str
    query: str
    by: Mapping[str, str]
    needs: tuple[str, ...] = ()
    made: Callable[[list[Row]], Answer] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrowed:
    """What a question is narrowed by; dates as ``2026-05-04``. ``value`` is compared as by LIKE, the others whole.

    ``since`` and ``until`` are the options ``--from`` and ``--to``; ``as_of`` is the date that ages are counted to.
    """

    value: str | None = None
    contract: str | None = None
    area: str | None = None
    gauge: str | None = None
    number: str | None = None
    inspector: str | None = None
    since: str | None = None
    until: str | None = None
    standing: str | None = None
    as_of: str | None = None

    def given(self) -> dict[str, str]:
        """Return the filters that are given, by the names of their options."""
        named = {_OPTIONS.get(one.name, one.name): getattr(self, one.name) for one in fields(self)}
        return {name: value for name, value in named.items() if value is not None and name != "as_of"}


_OPTIONS: Final = {"since": "from", "until": "to"}
_KNOWN: Final[Mapping[str, str]] = {
    "contract": "SELECT contract FROM files",
    "area": "SELECT area FROM areas UNION SELECT area FROM planned_areas",
    "gauge": "SELECT serial FROM uses UNION SELECT serial FROM instruments UNION SELECT gauge FROM surfaces",
    "number": "SELECT number FROM files",
    "inspector": "SELECT inspector FROM reports",
}
"""Where the names stand that filters can have."""


def require_known(index: Index, given: Mapping[str, str]) -> None:
    """Refuse a name that nothing in the index has: an empty answer would be taken for one that nothing is open."""
    for one, value in given.items():
        names = sorted({name for (name,) in index.rows(_KNOWN[one]) if name}) if one in _KNOWN else [value]
        if value.casefold() not in map(str.casefold, names):
            raise UsageError(f"no report in the index has the {one} `{value}`", help_text=_instead(value, names))


def _instead(value: str, names: Sequence[str]) -> str | None:
    near = closest(value, names)
    if near:
        return f"is `{near}` meant?"
    some = ", ".join([*(f"`{name}`" for name in names[:_MOST_NAMED]), *["…"][: len(names) - _MOST_NAMED]])
    return f"there are {some}" if names else None


_MOST_NAMED: Final = 8

OF_REPORTS: Final[Mapping[str, str]] = {
    "contract": "reports.contract = :contract COLLATE NOCASE",
    "number": "reports.number = :number COLLATE NOCASE",
    "inspector": "reports.inspector = :inspector COLLATE NOCASE",
    "from": "reports.date >= :from",
    "to": "reports.date <= :to",
    "standing": "reports.standing = :standing",
}
"""Conditions on the report that a row is of."""
ENDS: Final = (
    " reports.holds_until, reports.number, reports.revision, reports.path AS file, reports.standing,"
    " reports.overall AS verdict"
)
"""Columns that end a row of one report."""
ENDS_OF_SEVERAL: Final = (
    " MIN(reports.holds_until) AS holds_until,"
    " IIF(COUNT(DISTINCT reports.path) = 1, MIN(reports.number), NULL) AS number,"
    " IIF(COUNT(DISTINCT reports.path) = 1, MIN(reports.revision), NULL) AS revision,"
    " IIF(COUNT(DISTINCT reports.path) = 1, MIN(reports.path), COUNT(DISTINCT reports.path) || ' files') AS file,"
    " reports.standing, reports.overall AS verdict"
)
"""Columns that end a row of several reports, which are grouped by standing and verdict."""


TOLD: Final = frozenset({"sentence", "what", "contested", "open_items", "unseen", "limits", "part", "reasons"})
"""Columns that hold a code and its facts, of which a sentence is made where it is read."""


def told_in_sql(code: str, /, **facts: str) -> str:
    """Return the SQL that makes a cell of such a column: a code, and the SQL of each of its facts."""
    told = ", ".join(f"'{name}', {value}" for name, value in facts.items())
    return f"json_object('code', '{code}', 'facts', json_object({told}))"


def as_told(head: str, cell: Any) -> Any:
    """Return the cell of a column as it is, or the sentence told in it."""
    return told_from_json(cell) if head in TOLD and cell else cell


def area_of(table: str) -> dict[str, str]:
    """Return the filter by the area that a table has."""
    return {"area": f"{table}.area = :area COLLATE NOCASE"}


def gauge_of(column: str) -> dict[str, str]:
    """Return the filter by a column that holds the serial of a gauge."""
    return {"gauge": f"{column} = :gauge COLLATE NOCASE"}


def like(column: str) -> dict[str, str]:
    """Return the filter by ``--value``, in which % stands for anything."""
    return {"value": f"{column} LIKE :value"}
