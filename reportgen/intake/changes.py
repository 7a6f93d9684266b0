"""A change to a day file by the place it is about: what stands there, what is to stand there, never an index.

A place is named as a person would: an area, a location, a spot, a roll. Whatever else is written meanwhile, by an
editor or on another page, the change is about the same entry, or about none.
"""

from __future__ import annotations

import copy
import json
import re
from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING, Any, Final, TypeAlias
from urllib.parse import quote, unquote

from reportgen.diagnostics import Phrase
from reportgen.errors import UsageError
from reportgen.intake.entries import NAMED_BY, NO_READING, ONLY_NAMES
from reportgen.intake.sequence import SERIES, place_in_time
from reportgen.yamlsource import value_at

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.job import SiteClock
    from reportgen.yamlsource import DayText, Loc

Content: TypeAlias = "str | dict[str, Any] | list[Any]"
"""What stands in a day file: text, or blocks and lists of it; numbers are text with the digits as typed."""

_STEP: Final = re.compile(r"([a-z_0-9A-Z.%-]+)(?:\[([^\]]*)\])?\Z")


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry of the list ``of`` by fields that it has: ``(("location", "3"), ("spot", "a"))``.

    A field inside a block is named with a point, ``blasted.start``. As many fields are given as tell the entry apart;
    one with an empty text is a field that it does not have.
    """

    of: str
    names: tuple[tuple[str, str], ...]

    def fits(self, entry: Any) -> bool:
        """Say whether an entry has these fields with these values."""
        return isinstance(entry, dict) and all((_inside(entry, name) or "") == value for name, value in self.names)


Step: TypeAlias = "str | Entry"


@dataclass(frozen=True, slots=True)
class Address:
    """A place in a day file by identity: fields, and entries of lists by what names them.

    As text, for a form: ``surfaces[area=G-6]/profile/readings[location=3,spot=a]/c1``; values are percent-encoded.
    """

    steps: tuple[Step, ...]

    @classmethod
    def parse(cls, text: str) -> Address:
        """Read an address from text.

        Raises:
            UsageError: it is none.
        """
        steps: list[Step] = []
        for part in text.split("/"):
            found = _STEP.match(part)
            if found is None:
                raise UsageError(f"`{text}` is no place in a day file")
            name = unquote(found[1])
            pairs = [] if found[2] is None else [pair.partition("=") for pair in found[2].split(",")]
            if any(not equals for _, equals, _ in pairs):
                raise UsageError(f"`{text}` is no place in a day file")
            named = tuple((unquote(key), unquote(value)) for key, _, value in pairs)
            steps.append(name if found[2] is None else Entry(name, named))
        return cls(tuple(steps))

    def __str__(self) -> str:
        return "/".join(map(_step_text, self.steps))

    def __truediv__(self, step: Step) -> Address:
        return Address((*self.steps, step))

    @property
    def parent(self) -> Address:
        """The block or list entry around it."""
        return Address(self.steps[:-1])

    def named(self, field: str) -> str | None:
        """Return what an entry on the way says in a field: ``named("area")``; None where none is named by it."""
        pairs = [pair for step in self.steps if isinstance(step, Entry) for pair in step.names]
        return next((value for name, value in pairs if name == field), None)


_USUAL: Final = ("id", "area", "file")
"""Fields by which entries of lists are told apart that are not listed elsewhere."""
FIRST: Final = ""
"""Said instead of the field or entry behind which something stood, where it stood first."""


@dataclass(frozen=True, slots=True)
class Change:
    """One change: what stood at a place as the person saw it, and what is to stand there; None is nothing.

    A field of an entry that is not there yet makes the entry, in its list at the end, as readings are in the order
    taken. ``now`` is None to take something out: a field, or an entry with all it says. ``after`` says behind which
    field of the block, or which entry of the list, something that was taken out stood (``FIRST``: behind none): undoing
    puts it back there. With ``alone`` nothing goes that it does not name: a row of readings stays without one.
    """

    at: Address
    before: Content | None
    now: Content | None
    after: Step | None = None
    alone: bool = False

    @property
    def inverse(self) -> Change:
        """The change that takes this one back."""
        steps = self.at.steps
        entry = steps[-2] if len(steps) > 1 else None
        if isinstance(entry, Entry) and isinstance(self.now, str):  # a name may be what changed
            names = tuple((name, self.now if name == steps[-1] else value) for name, value in entry.names)
            steps = (*steps[:-2], Entry(entry.of, names), steps[-1])
        return Change(Address(steps), self.now, self.before, self.after, alone=self.before is None)


class OtherwiseError(Exception):
    """A place says something else than what the person saw: ``present``, None where nothing stands there."""

    def __init__(self, change: Change, present: Content | None) -> None:
        super().__init__()
        self.change = change
        self.present = present


def surface_at(area: str, *, apparatus: str | None = None) -> Address:
    """Return the address of what is recorded of an area; its apparatus where several had it."""
    named = () if apparatus is None else (("apparatus", apparatus),)
    return Address((Entry("surfaces", (("area", area), *named)),))


def reading_at(surface: Address, location: str, spot: str, roll: str) -> Address:
    """Return the address of a reading; ``roll`` is ``depth`` for a depth micrometer, ``grade`` for a comparator."""
    row = Entry("readings", (("location", location), ("spot", spot)))
    return Address((*surface.steps, "profile", row, roll))


def address_of(data: Mapping[str, Any], loc: Loc) -> Address:
    """Return the address of a place in a day file, with as many names for each entry as tell it from the others.

    A text in a list has none of its own: it is the list's.
    """
    steps: list[Step] = []
    for index, part in enumerate(loc):
        if isinstance(part, int):
            entries = value_at(data, loc[:index])
            if not isinstance(entries[part], dict):
                break
            steps[-1] = _named_among(str(loc[index - 1]), entries, part)
        else:
            steps.append(part)
    return Address(tuple(steps))


def located(data: Mapping[str, Any], address: Address) -> Loc | None:
    """Return where something stands in a day file, or would be added; None where an entry on the way is not there.

    Raises:
        UsageError: several entries have the names of one on the way.
    """
    here: Any = data
    loc: Loc = ()
    for step in address.steps:
        parts = parts_of_step(here, step) if isinstance(here, dict) else None
        if parts is None:
            return None
        loc = (*loc, *parts)
        here = here.get(parts[0]) if len(parts) == 1 else value_at(here, parts)
    return loc


def parts_of_step(here: Mapping[str, Any], step: Step) -> Loc | None:
    """Return where a step leads in a block: to a field, there or not, or to an entry of a list; None for no entry."""
    if isinstance(step, str):
        return (step,)
    entries = here.get(step.of)
    index = index_of(entries if isinstance(entries, list) else [], step)
    return None if index is None else (step.of, index)


def index_of(entries: Sequence[Any], step: Entry) -> int | None:
    """Return which entry of a list has the names of a step; None for none.

    Raises:
        UsageError: several have them.
    """
    fitting = [index for index, entry in enumerate(entries) if step.fits(entry)]
    alike = [index for index in fitting if entries[index] == entries[fitting[0]]]
    if len(fitting) > len(alike):
        raise UsageError(
            Phrase("the day file has {count} entries that are {step}", count=str(len(fitting)), step=_step_text(step)),
            help_text="take all but one of them out in a text editor, then load the page again",
        )
    return fitting[0] if fitting else None


def named_alike(key: str, one: Sequence[Any], other: Sequence[Any]) -> dict[int, int]:
    """Return which entry of one list is which of another, by index: the same names, further ones as far as needed."""
    pairs: dict[int, int] = {}
    for index in range(len(one)):
        exact = _named_among(key, one, index)
        usual = Entry(key, tuple(pair for pair in exact.names if pair[0] in NAMED_BY.get(key, _USUAL)))
        steps = [exact, usual] if usual.names and sum(map(usual.fits, one)) == 1 else [exact]
        free = [at for at in range(len(other)) if at not in pairs.values()]
        fitting = ((index, at) for step in steps for at in free if step.fits(other[at]))
        pairs.update(islice(fitting, 1))
    return pairs


def _named_among(key: str, entries: Sequence[Any], index: int) -> Entry:
    """Return an entry by the fields that name its kind, and further ones until it is told from the others."""
    entry = entries[index]
    usual = [name for name in NAMED_BY.get(key, ()) if isinstance(_inside(entry, name), str)]
    more = ["apparatus", "blasted.start"] if key == "surfaces" else []
    more += [name for name, value in entry.items() if isinstance(value, str) and name not in (*usual, *more)]
    names: list[tuple[str, str]] = [(name, str(_inside(entry, name))) for name in usual]
    for name in more:
        step = Entry(key, tuple(names))
        if names and sum(map(step.fits, entries)) == 1:
            break
        value = _inside(entry, name)
        names += [(name, value)] if isinstance(value, str) else []
    return without(Entry(key, tuple(names)), entries, entry)


def without(step: Entry, entries: Sequence[Any], entry: Mapping[str, Any]) -> Entry:
    """Return a step that also names what an entry lacks and others have that are named alike, as far as needed."""
    for other in entries:
        if step.fits(other) and other != entry:
            lacking = [name for name in other if entry.get(name, "") == "" and other[name]]
            step = Entry(step.of, (*step.names, *((name, "") for name in lacking)))
    return step


def _inside(entry: Any, name: str) -> Any:
    for part in name.split("."):
        entry = entry.get(part) if isinstance(entry, dict) else None
    return entry


def _step_text(step: Step) -> str:
    if isinstance(step, str):
        return quote(step, safe="")
    pairs = ",".join(f"{quote(name, safe='')}={quote(value, safe='')}" for name, value in step.names)
    return f"{quote(step.of, safe='')}[{pairs}]"


def content_at(data: Mapping[str, Any], address: Address) -> Content | None:
    """Return what stands at a place; None for nothing, and for a field that stands empty.

    Raises:
        UsageError: several entries have the names of one on the way.
    """
    loc = located(data, address)
    if loc is None:
        return None
    home = value_at(data, loc[:-1])
    found: Content | None = home.get(loc[-1]) if isinstance(home, dict) else home[loc[-1]]
    return None if found == "" else found


def changed(text: DayText, change: Change, clock: SiteClock | None = None) -> Change:
    """Make a change in the text of a day file; return it with what it brought along.

    A change that begins an entry is one of the whole entry; one that takes the only reading out of a row takes the row.
    An entry of a log goes to its place in the order of its times, if ``clock`` is given.

    Raises:
        OtherwiseError: the place says something else. UsageError: the text cannot be changed there, or the place is
            none.
    """
    present = content_at(text.data, change.at)
    if present != change.before:
        raise OtherwiseError(change, present)
    editing = _Editing(text, clock)
    if change.now is None:
        made = change if present is None else editing.out(change)
    elif present is None:
        made = editing.add(change)
    else:
        made = editing.other(change)
    if json.dumps(text.data) != json.dumps(editing.expected):  # the order of fields is content, too
        raise text.untouchable()
    return made


class _Editing:
    """Changes text and expected content side by side."""

    def __init__(self, text: DayText, clock: SiteClock | None) -> None:
        self._text = text
        self._clock = clock
        self.expected: dict[str, Any] = copy.deepcopy(text.data)

    def other(self, change: Change) -> Change:
        """Put another value in the place of one."""
        loc = self.found(change.at)
        value_at(self.expected, loc[:-1])[loc[-1]] = copy.deepcopy(change.now)
        self._text.replace(loc, change.now)
        return change

    def add(self, change: Change) -> Change:
        """Add a field or an entry, and what is not there yet around it."""
        here: Any = self.expected
        loc: Loc = ()
        steps = change.at.steps
        for number, step in enumerate(steps):
            rest = steps[number + 1 :]
            after = change.after if not rest else None
            if not isinstance(here, dict):
                raise UsageError(f"`{change.at}` is no place in the day file")
            if isinstance(step, str):
                if here.get(step, "") == "":
                    self.field(loc, step, _built(rest, change.now), after)
                    return _of_entry(change, number + 1)
                here, loc = here[step], (*loc, step)
                continue
            entries = here.get(step.of, [])
            if isinstance(entries, dict):
                raise UsageError(f"`{step.of}` stand in a file of their own", help_text="change them there")
            index = index_of(entries or [], step)
            if index is None:
                self.entry((*loc, step.of), _with_names(step, _built(rest, change.now)), after)
                return _of_entry(change, number)
            here, loc = entries[index], (*loc, step.of, index)
        raise UsageError(f"`{change.at}` is no place in the day file")

    def out(self, change: Change) -> Change:
        """Take a field or an entry out, and what is left empty around it."""
        steps = change.at.steps
        number, whole = len(steps), 0
        while True:
            loc = self.found(Address(steps[:number]))
            if isinstance(steps[number - 1], Entry):
                whole = whole or number  # the entry goes as a whole, and can come back as one
                if number == 1 or len(value_at(self.expected, loc[:-1])) > 1:
                    break
                loc = loc[:-1]
            if number == 1 or not self.left_empty(loc, row=not change.alone):
                break
            number -= 1
        at = Address(steps[: whole or len(steps)])
        gone = self.found(at)
        made = replace(change, at=at, before=copy.deepcopy(value_at(self.expected, gone)), after=self.before(gone))
        self.take(loc)
        entry = steps[-2] if len(steps) > 1 else None
        if number == len(steps) and isinstance(entry, Entry) and dict(entry.names).get(str(steps[-1])) is not None:
            made = replace(made, at=address_of(self.expected, loc[:-1]) / steps[-1])  # by what it says still
        return made

    def found(self, at: Address) -> Loc:
        """Return where something stands that is there."""
        loc = located(self.expected, at)
        if loc is None:
            raise UsageError(f"`{at}` is no place in the day file")
        return loc

    def before(self, loc: Loc) -> Step:
        """Return behind which field or entry something stands."""
        home, last = value_at(self.expected, loc[:-1]), loc[-1]
        if isinstance(last, int):
            return _named_among(str(loc[-2]), home, last - 1) if last else FIRST
        keys = list(home)
        return str(keys[keys.index(last) - 1]) if keys[0] != last else FIRST

    def left_empty(self, loc: Loc, *, row: bool) -> bool:
        """Whether nothing stays of a block without one of its fields; what names a ``row`` does not stay alone."""
        others = set(value_at(self.expected, loc[:-1])) - {loc[-1], "confirmed"}
        of_row = len(loc) > 2 and isinstance(loc[-2], int)
        names = ONLY_NAMES.get(str(loc[-3]), frozenset()) if row and of_row else frozenset()
        return not others or (loc[-1] not in names and others <= names)

    def take(self, loc: Loc) -> None:
        """Take out what stands at a place."""
        del value_at(self.expected, loc[:-1])[loc[-1]]
        if isinstance(loc[-1], int):
            self._text.remove_item(loc)
        else:
            self._text.remove_field(loc)

    def field(self, parent: Loc, key: str, value: Any, after: Step | None) -> None:
        """Add a field to a block, or fill one that stands empty."""
        home = value_at(self.expected, parent)
        if key in home and not self.typed_later(parent, key):
            home[key] = value
            if isinstance(value, list):
                self._text.add_items((*parent, key), value)
            else:
                self._text.replace((*parent, key), value)
            return
        if key in home:  # the tape typed first at a spot stands first
            del home[key]
            self._text.remove_field((*parent, key))
        behind = after if isinstance(after, str) and after in home else None
        items = list(home.items())
        at = len(items) if behind is None else list(home).index(behind) + 1
        home.clear()
        home.update([*items[:at], (key, value), *items[at:]])
        self._text.add_field(parent, key, value, after=behind)

    def typed_later(self, parent: Loc, key: str) -> bool:
        """Whether a reading is filled in before whose field another of its row was filled in already."""
        if parent[-2:-1] != ("readings",) or key in NO_READING:
            return False
        row = value_at(self.expected, parent)
        behind = list(row)[list(row).index(key) + 1 :]
        return any(row[other] for other in behind if other not in NO_READING)

    def entry(self, loc: Loc, entry: dict[str, Any], after: Step | None) -> None:
        """Add an entry to a list that is there or not: in the order of its times in a log, else at the end."""
        home = value_at(self.expected, loc[:-1])
        present = home.get(loc[-1])
        if not present:
            home[loc[-1]] = [entry]
            if present is None:
                self._text.add_field(loc[:-1], str(loc[-1]), [entry])
            else:
                self._text.add_items(loc, [entry])
            return
        at, series = len(present), SERIES.get(str(loc[-1]))
        if isinstance(after, Entry):
            known = index_of(present, after)
            at = at if known is None else known + 1
        elif after == FIRST:
            at = 0
        elif series is not None and self._clock is not None:
            at = place_in_time(present, entry, series, self._clock)
        if at == len(present):
            self._text.add_items(loc, [entry])
        else:
            self._text.insert_item((*loc, at), entry)
        present.insert(at, entry)


def _built(steps: Sequence[Step], now: Content | None) -> Any:
    """Return what is to stand at a place so that a value stands further below."""
    value: Any = copy.deepcopy(now)
    for step in reversed(steps):
        value = {step: value} if isinstance(step, str) else {step.of: [_with_names(step, value)]}
    return value


def _with_names(step: Entry, value: Any) -> dict[str, Any]:
    """Return a new entry with the fields that name it, and what it says."""
    if not isinstance(value, dict):
        raise UsageError(f"an entry of `{step.of}` is a block of fields")
    return {name: text for name, text in step.names if text and "." not in name and name not in value} | value


def _of_entry(change: Change, known: int) -> Change:
    """Return a change as one of the whole entry that it began: the first of those behind so many steps known."""
    for number in range(known, len(change.at.steps)):
        step = change.at.steps[number]
        if isinstance(step, Entry):
            whole = _with_names(step, _built(change.at.steps[number + 1 :], change.now))
            last = number + 1 == len(change.at.steps)
            return Change(Address(change.at.steps[: number + 1]), None, whole, change.after if last else None)
    return change
