"""Entries that were begun and lack something: they are set aside and named, and everything else stands.

A day is typed entry by entry, and one that is still to come must not cost what was measured. The entry around what is
missing (an area with its preparation, a test, a row of a log) goes out of the model, so that nothing is judged by half
of it; in the file it stays as it is, and counts as soon as nothing is missing. Something wrong is wrong, whatever is
missing beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

from reportgen.diagnostics import Diagnostic
from reportgen.fields import PLACEHOLDER, is_placeholder
from reportgen.job import Day, ShapeProblem, UnfinishedEntry, place_name, validated

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from reportgen.units import UnitSystem
    from reportgen.yamlsource import Document

Loc = tuple[int | str, ...]
Path = tuple[str, ...]

GAPS: Final[dict[Path, str]] = {
    ("apparatus",): "apparatus", ("initial_condition",): "initial condition", ("blasted", "start"): "start of blasting",
    ("blasted", "end"): "end of blasting", ("blasted", "abrasive"): "abrasive",
}  # fmt: skip
"""Fields without which an entry of an area says nothing yet, and what is to be filled in there."""

_NOT_BEGUN: Final = frozenset({"format", "project", "report", "not_taken"})
"""What a day file must have to be one, and what is kept there until somebody enters it."""


def gap(path: Path, written: str = "") -> str:
    """Return what stands in a field that is still to be filled in; ``written`` is what could not be taken there.

    >>> gap(("blasted", "end"), "07:3O")
    '<end of blasting, written as 07:3O>'
    """
    said = f", written as {written}" if written and not set("<>") & set(written) else ""
    return f"<{GAPS[path]}{said}>"


def gaps_of(surface: Any) -> Iterator[tuple[Path, str]]:
    """Yield the fields of an entry of an area that are still to be filled in, and what stands there."""
    for path in GAPS:
        value = value_at(surface, path)
        if isinstance(value, str) and is_placeholder(value):
            yield path, value


@dataclass(frozen=True, slots=True)
class Lack:
    """Something missing: what goes out of the model with it, the fields, and what is said where they must be there.

    A row of readings that lacks something is left out where rows are read; then ``stays`` is set. ``absent`` is what
    the part speaks of and nothing else enters. What goes out for want of a part that did lacks nothing itself.
    """

    part: Loc
    fields: tuple[Loc, ...] = ()
    told: Diagnostic | None = None
    stays: bool = False
    absent: str | None = None


@dataclass(slots=True)
class Shaped:
    """A day file without its unfinished entries: the document of what is left, and what was wrong or missing.

    ``wrong`` has its places in the file as written.
    """

    document: Document
    day: Day | None
    wrong: list[ShapeProblem]
    lacks: list[Lack] = field(default_factory=list)


def shaped(document: Document, units: UnitSystem | None, lacks: Iterable[Lack] = ()) -> Shaped:
    """Validate a day file, and take out what merely lacks something until the rest is whole.

    ``lacks`` are known already, such as a location that is spoken of and was not read yet.
    """
    # first as it was written, so that what is wrong is found wherever something is missing
    found: list[Lack] = []
    fresh = [*_of_gaps(document), *lacks]
    wrong: dict[tuple[Loc, str], ShapeProblem] = {}
    while True:
        gone = frozenset(one.part for one in found if not one.stays)
        left = document.without(gone)
        outcome = validated(Day, left.data, units)
        placed = _placed(document, gone, outcome)
        wrong |= {(one.loc, one.message): one for one in placed if not _is_missing(one)}
        fresh += [_lack(document, one, gone) for one in placed if _is_missing(one)]
        if not fresh:
            return Shaped(left, outcome if isinstance(outcome, Day) else None, [*wrong.values()], found)
        found, fresh = [*found, *fresh], []


def _placed(
    document: Document, gone: Collection[Loc], outcome: Day | tuple[ShapeProblem, ...]
) -> list[ShapeProblem]:  # fmt: skip
    """Return the problems with what is left, at their places in what was written."""
    found = []
    for one in outcome if isinstance(outcome, tuple) else ():
        loc = as_written(one.loc, document.data, gone)
        found.append(replace(one, loc=loc, lacks=tuple((*loc, *lack[len(one.loc) :]) for lack in one.lacks)))
    return found


def _is_missing(one: ShapeProblem) -> bool:
    """Whether nothing is wrong with an entry, only missing, and the day is one without it."""
    return bool(one.lacks and one.loc) and one.loc[0] not in _NOT_BEGUN


def _lack(document: Document, one: ShapeProblem, gone: Collection[Loc]) -> Lack:
    """Return what is missing at a place; nothing of its own where a part of it went out before."""
    if any(part[: len(each)] == each for part in gone for each in one.lacks):
        return Lack(one.loc)
    return Lack(one.loc, one.lacks, _told(document, one, one.loc))


def _of_gaps(document: Document) -> Iterator[Lack]:
    """Yield what is still to be filled in where any text would do."""
    surfaces = document.data.get("surfaces")
    for index, surface in enumerate(surfaces if isinstance(surfaces, list) else ()):
        for path, text in gaps_of(surface):
            part: Loc = ("surfaces", index)
            problem = ShapeProblem((*part, *path), PLACEHOLDER, f"`{text}` is still to be filled in")
            yield Lack(part, ((*part, *path),), _told(document, problem, problem.loc))


def _told(document: Document, problem: ShapeProblem, loc: Loc) -> Diagnostic:
    span = document.span(loc, key=problem.at_key)
    return Diagnostic(problem.code, problem.message, (span,), problem.help_text)


def as_written(loc: Loc, data: Any, gone: Collection[Loc]) -> Loc:
    """Return a place in what is left as a place in what was written."""
    found: Loc = ()
    for part in loc:
        step = part
        if isinstance(part, int) and isinstance(data, list):
            step = [index for index in range(len(data)) if (*found, index) not in gone][part]
        inside = isinstance(data, list) or (isinstance(data, dict) and step in data)
        data = data[step] if inside else None
        found = (*found, step)
    return found


def entries(document: Document, lacks: Iterable[Lack]) -> tuple[UnfinishedEntry, ...]:
    """Return the entries that are unfinished, in the order of the file; rows of readings of one area together."""
    lacking = list(lacks)
    parts = {one.part for one in lacking if not one.stays}
    homes: dict[Loc, list[Lack]] = {}
    for one in lacking:
        homes.setdefault(_home(one, parts, document), []).append(one)
    found = [_entry(document, home, several) for home, several in homes.items()]
    return tuple(sorted(found, key=lambda one: document.span(one.place).line))


def _home(one: Lack, parts: Collection[Loc], document: Document) -> Loc:
    """Return the entry by which something missing is named: the outermost part that goes, or the block of a field."""
    lengths = range(1, len(one.part) + 1)
    outermost = next((one.part[:long] for long in lengths if one.part[:long] in parts), one.part[:4])
    value = value_at(document.data, outermost)
    whole = isinstance(outermost[-1], int) or (isinstance(value, dict | list) and bool(value))
    return outermost if whole or len(outermost) == 1 else outermost[:-1]


def _entry(document: Document, home: Loc, several: list[Lack]) -> UnfinishedEntry:
    fields = list(dict.fromkeys(one for lack in several for one in lack.fields))
    texts = (value_at(document.data, one) for one in fields)
    first = min((one.told.spans[0] for one in several if one.told is not None), key=lambda span: span.line)
    written = value_at(document.data, home[:2])
    return UnfinishedEntry(
        str(home[0]),
        home,
        PurePath(first.file).name,
        first.line,
        tuple(place_name(one[len(home) :]) for one in fields if one != home),
        tuple(dict.fromkeys(one.absent for one in several if one.absent is not None)),
        tuple(text for text in texts if isinstance(text, str) and text.strip()),
        written if isinstance(written, dict) else {},
    )


def value_at(data: Any, path: Iterable[int | str]) -> Any:
    """Return what stands at a place; None where nothing does."""
    for part in path:
        inside = part in data if isinstance(data, dict) else isinstance(data, list) and isinstance(part, int)
        if not inside or (isinstance(data, list) and part >= len(data)):  # type: ignore[operator] # an index
            return None
        data = data[part]
    return data
