"""Entries that were begun and lack something: they are set aside and named, and everything else stands.

A day is typed entry by entry, and one that is still to come must not cost what was measured. The entry around what is
missing (a test, a row of a log, the readings with their gauge) goes out of the model, so that nothing is judged by half
of it; in the file it stays as it is, and counts as soon as nothing is missing. Of the entry of an area only the field
goes: what was read there is judged, and what would follow from that field is not. Something wrong is wrong, whatever is
missing beside it; while a day is being typed, what cannot be taken as it stands is set aside in the same way.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

from reportgen.diagnostics import Diagnostic
from reportgen.fields import PLACEHOLDER, Pending, is_placeholder
from reportgen.job import Day, ShapeProblem, Surface, UnfinishedEntry, holds_blocks, place_name, validated
from reportgen.loader.head import head_forms, head_part
from reportgen.loader.placeholders import FREE_TEXT

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from reportgen.units import UnitSystem
    from reportgen.yamlsource import Document

Loc = tuple[int | str, ...]
Path = tuple[str, ...]

GAPS: Final[dict[Path, str]] = {
    ("apparatus",): "apparatus", ("initial_condition",): "initial condition", ("blasted", "start"): "start of blasting",
    ("blasted", "end"): "end of blasting", ("blasted", "abrasive"): "abrasive",
}  # fmt: skip
"""Fields without which an entry of an area says nothing yet, and what is to be filled in there."""

_NOT_BEGUN: Final = frozenset({"format", "project", "report"})
"""What a day file must have to be one; while it is being typed, of its contract alone."""


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
    the part speaks of and nothing else enters. What goes out for want of a part that did lacks nothing itself. With
    ``unread`` nothing is missing: what stands in the fields cannot be taken as it is.
    """

    part: Loc
    fields: tuple[Loc, ...] = ()
    told: Diagnostic | None = None
    stays: bool = False
    absent: str | None = None
    unread: bool = False
    first: int | None = None
    """Line of an entry that says the same, which stays."""


@dataclass(slots=True)
class Shaped:
    """A day file without its unfinished entries: the document of what is left, and what was wrong or missing.

    ``wrong`` has its places in the file as written.
    """

    document: Document
    day: Day | None
    wrong: list[ShapeProblem]
    lacks: list[Lack] = field(default_factory=list)


def shaped(
    document: Document, units: UnitSystem | None, lacks: Iterable[Lack] = (), *, typed: bool = False
) -> Shaped:  # fmt: skip
    """Validate a day file, and take out what merely lacks something until the rest is whole.

    ``lacks`` are known already, such as a location that is spoken of and was not read yet. Of a day that is being
    ``typed`` the head may lack something too.
    """
    # first as it was written, so that what is wrong is found wherever something is missing
    found: list[Lack] = []
    fresh = [*_of_gaps(document), *lacks]
    wrong: dict[tuple[Loc, str], ShapeProblem] = {}
    while True:
        gone = _gone(found)
        left = _filled(document.without(gone), document, gone)
        outcome = validated(Day, left.data, units)
        placed = _placed(document, gone, outcome)
        wrong |= {(one.loc, one.message): one for one in placed if not _is_missing(one, typed=typed)}
        missing = filter(partial(_is_missing, typed=typed), placed)
        fresh += chain.from_iterable(_lacks(document, one, gone) for one in missing)
        if not fresh:
            return Shaped(left, outcome if isinstance(outcome, Day) else None, [*wrong.values()], found)
        found, fresh = [*found, *fresh], []


def _gone(lacks: Iterable[Lack]) -> frozenset[Loc]:
    return frozenset(one.part for one in lacks if not one.stays)


def _placed(
    document: Document, gone: Collection[Loc], outcome: Day | tuple[ShapeProblem, ...]
) -> list[ShapeProblem]:  # fmt: skip
    """Return the problems with what is left, at their places in what was written."""
    found = []
    for one in outcome if isinstance(outcome, tuple) else ():
        loc = as_written(one.loc, document.data, gone)
        lacks = tuple(as_written(lack, document.data, gone) for lack in one.lacks)
        found.append(replace(one, loc=loc, lacks=lacks))
    return found


def _is_missing(one: ShapeProblem, *, typed: bool) -> bool:
    """Whether nothing is wrong with an entry, only missing, and the day is one without it."""
    if any(map(head_part, one.lacks)):
        return typed
    return bool(one.lacks and one.loc) and one.loc[0] not in _NOT_BEGUN


def _filled(left: Document, document: Document, gone: Collection[Loc]) -> Document:
    """Return what is left with something in the place of the fields of areas that went, so that the rest can be read.

    It has their form, and says nothing.
    """
    if any(map(head_part, gone)):
        left = left.filled(head_forms(left.lines.file, left.data))
    surfaces = document.data.get("surfaces")
    here = [index for index, _ in enumerate(surfaces if isinstance(surfaces, list) else ()) if _kept(index, gone)]
    shift = value_at(left.data, ("report", "shift", "start"))
    values: dict[Loc, str] = {}
    for at, index in enumerate(here):
        own = [one[2:] for one in gone if one[:2] == ("surfaces", index)]
        values |= {("surfaces", at, *path): form for path, form in _forms(left, at, index, own, shift).items()}
    return left.filled(values)


def _forms(left: Document, at: int, index: int, gone: Sequence[Loc], shift: Any) -> dict[Loc, Pending]:
    """Return what stands in the place of each field that went from the entry of an area."""
    times = [value_at(left.data, ("surfaces", at, "blasted", side)) for side in ("end", "start")]
    time = next((one for one in times if isinstance(one, str)), shift)
    forms: dict[Loc, str] = {
        ("apparatus",): f"<apparatus {index + 1}>", ("initial_condition",): "C", ("blasted", "start"): time,
        ("blasted", "end"): time, ("blasted", "abrasive"): "<abrasive>",
    }  # fmt: skip
    told = {path: form for path, form in forms.items() if any(one == path[: len(one)] for one in gone)}
    whole = [one for one in gone if len(one) == 1 and one[0] in Surface.model_fields and one not in _ROOTS]
    return {path: Pending(form) for path, form in (dict.fromkeys(whole, "") | told).items()}


def _kept(index: int, gone: Collection[Loc]) -> bool:
    return ("surfaces",) not in gone and ("surfaces", index) not in gone


_ROOTS: Final = frozenset((*GAPS, ("blasted",)))
"""Paths of an entry of an area without which what was measured there is judged all the same."""


def _by_itself(document: Document, loc: Loc) -> Loc | None:
    """Return the field of the entry of an area that a place is of, where the rest can be judged without it.

    Not where other steel was blasted again in it, or what it was inspected again for: then it says what counts.
    """
    surface = value_at(document.data, loc[:2])
    if loc[:1] != ("surfaces",) or not isinstance(surface, dict) or surface.keys() & _SAYS_WHAT_COUNTS:
        return None
    if len(loc) == 3 and loc[2] in Surface.model_fields and loc[2] != "area":
        return loc
    return loc[:4] if loc[2:3] == ("blasted",) and len(loc) > 3 else None


def _lacks(document: Document, one: ShapeProblem, gone: Collection[Loc]) -> list[Lack]:
    """Return what is missing at a place: each field of an area by itself, where the rest is judged without it."""
    head = [(lack, part) for lack in one.lacks if (part := head_part(lack)) is not None]
    if head:
        return [Lack(part, (lack,), _told(document, one, one.loc)) for lack, part in head]
    alone = [own for lack in one.lacks if lack[2:] in _ROOTS and (own := _by_itself(document, lack)) is not None]
    if len(alone) < len(one.lacks) or document.objected(one.loc):
        return [_lack(document, one, gone)]
    return [Lack(own, (own,), _told(document, one, one.loc)) for own in alone]


def _lack(document: Document, one: ShapeProblem, gone: Collection[Loc]) -> Lack:
    """Return what is missing at a place; nothing of its own where a part went out, or its text was objected to."""
    part = one.loc if _stands_alone(document, one.loc) else _block_at(document, one.loc)
    if document.objected(one.loc) or any(part[: len(each)] == each for part in gone for each in one.lacks):
        return Lack(part)
    return Lack(part, one.lacks, _told(document, one, one.loc))


def _stands_alone(document: Document, loc: Loc) -> bool:
    """Whether the block around a place says the same without what is to stand there; a default may be a guess.

    A blank `film` is not yet known to be subtracted, and blank `areas` are not all areas.
    """
    if isinstance(value_at(document.data, loc), dict) or holds_blocks(Day, loc) or loc[-1] in FREE_TEXT:
        return True
    of_its_own = len(loc) == 1 or (loc[0] == "site") or (loc[0] == "surfaces" and len(loc) == 3)
    return of_its_own and loc[-1] not in _SAYS_WHAT_COUNTS


_SAYS_WHAT_COUNTS: Final = frozenset({"blasted_again", "reinspects"})
"""Fields of a surface by which others are read otherwise, and not merely beside them."""


def _of_gaps(document: Document) -> Iterator[Lack]:
    """Yield what is still to be filled in where any text would do."""
    surfaces = document.data.get("surfaces")
    for index, surface in enumerate(surfaces if isinstance(surfaces, list) else ()):
        for path, text in gaps_of(surface):
            part: Loc = ("surfaces", index)
            problem = ShapeProblem((*part, *path), PLACEHOLDER, f"`{text}` is still to be filled in")
            yield Lack(
                _by_itself(document, problem.loc) or part, ((*part, *path),), _told(document, problem, problem.loc)
            )


def _told(document: Document, problem: ShapeProblem, loc: Loc) -> Diagnostic:
    span = document.span(loc, key=problem.at_key)
    return Diagnostic(problem.code, problem.message, (span,), problem.help_text)


def set_aside(document: Document, errors: Sequence[Diagnostic]) -> tuple[Lack, ...] | None:
    """Return what errors in a day file set aside while it is being typed: the block around each place that they name.

    Nothing is judged by half of a block: a default in place of what was meant would be a guess; of the entry of an area
    the field goes. Of entries that contradict each other nobody knows which is wrong, so both go; of copies the first
    stays. None where an error stands elsewhere: in another file, in the name of the contract's, or in the order of the
    file itself.
    """
    own = document.lines.file
    if "project" not in document.data or any(
        not error.spans or error.spans[0].file != own or error.code in _OF_THE_FILE for error in errors
    ):
        return None
    found = tuple(lack for error in errors for lack in _aside(document, error))
    return found if all(one.part and one.part[0] != "project" for one in found) else None


def _aside(document: Document, error: Diagnostic) -> list[Lack]:
    """Return what goes for an error, at each of its places; of copies of one entry all but the first."""
    spans = sorted((one for one in error.spans if one.file == document.lines.file), key=lambda one: one.line)
    places = [document.loc_at(span) for span in spans]
    blocks = [_block_at(document, loc) for loc in places]
    first, *others = (value_at(document.data, block) for block in blocks)
    if len({*blocks}) == len(blocks) > 1 and all(one == first for one in others):
        return [Lack(block, (), error, unread=True, first=spans[0].line) for block in blocks[1:]]
    return [Lack(_part_of(document, loc), (loc,), error, unread=True) for loc in places]


def _part_of(document: Document, loc: Loc) -> Loc:
    """Return what is set aside for an error at a place; a field that no block is around goes by itself."""
    return head_part(loc) or _by_itself(document, loc) or _block_at(document, loc) or loc[:1]


def _block_at(document: Document, loc: Loc) -> Loc:
    """Return the innermost block of fields at a place, or around it."""
    while loc and not isinstance(value_at(document.data, loc), dict):
        loc = loc[:-1]
    return loc


_OF_THE_FILE: Final = frozenset(
    {"JOB115", "SRC103", "SRC111", "SRC112", "SRC113", "SRC114", "SRC115", "SRC116", "SRC120"}
)
"""Objections to how the file itself is written: nobody can say what else in it was meant."""


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
    if head_part(one.part):
        return one.part[:1]
    if one.part[:1] == ("surfaces",) and (one.part[2:] in _ROOTS or one.part[2:3] == ("blasted",)):
        return one.part[:2]
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
        _named(home, several, unread=False),
        tuple(dict.fromkeys(one.absent for one in several if one.absent is not None)),
        tuple(text for text in texts if isinstance(text, str) and text.strip()),
        written if isinstance(written, dict) else {},
        _named(home, several, unread=True),
        next((one.first for one in several if one.first is not None), None),
    )


def _named(home: Loc, several: Iterable[Lack], *, unread: bool) -> tuple[str, ...]:
    """Return the fields of an entry that are missing, or that cannot be taken as they stand."""
    fields = dict.fromkeys(one for lack in several if lack.unread == unread for one in lack.fields)
    return tuple(place_name(one[len(home) :]) for one in fields if one != home)


def value_at(data: Any, path: Iterable[int | str]) -> Any:
    """Return what stands at a place; None where nothing does."""
    for part in path:
        inside = part in data if isinstance(data, dict) else isinstance(data, list) and isinstance(part, int)
        if not inside or (isinstance(data, list) and part >= len(data)):  # type: ignore[operator] # an index
            return None
        data = data[part]
    return data
