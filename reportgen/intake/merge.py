"""What came in, joined with what the day file says already: added, already there, or different.

Entries of a list are matched by what names them: a conditions reading by time and place, a spot by location and spot,
an area by apparatus and time of blasting too.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from reportgen.intake.entries import NO_READING, entry_text, named, shown
from reportgen.intake.matching import differ, left_beside, matches, measured_otherwise, same_value
from reportgen.intake.sequence import SERIES, place_in_time, written_down
from reportgen.job import is_placeholder
from reportgen.measurements import OF_A_SURFACE
from reportgen.yamlsource import Loc, value_at

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from reportgen.job import SiteClock
    from reportgen.yamlsource import DayText

_PARTS: Final = frozenset({"profile", "blasted", "site", *(kind.key for kind in OF_A_SURFACE)})
"""Blocks of which each part is told by itself."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A value that the day file has and that came in otherwise; ``replaced`` says whether the new one stands now.

    ``remedy`` is what to do where `--overwrite` alone does not take it.
    """

    name: str
    present: str
    came: str
    replaced: bool
    remedy: str = ""


@dataclass(slots=True)
class Merged:
    """The new day file, what became of each value that came in, and where it landed.

    ``landed`` maps places of the new content to those of what came in; what lies below a place lies below it there too.
    """

    text: DayText
    added: list[str] = field(default_factory=list)
    already: int = 0
    differences: list[Difference] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)
    landed: dict[Loc, Loc] = field(default_factory=dict)

    def source_of(self, loc: Loc) -> Loc | None:
        """Return the place in what came in of something in the new content; None for what was there before."""
        for length in range(len(loc), 0, -1):
            source = self.landed.get(loc[:length])
            if source is not None:
                return (*source, *loc[length:])
        return None


def merge(text: DayText, incoming: dict[str, Any], clock: SiteClock, *, overwrite: bool = False) -> Merged:
    """Return the day file with ``incoming`` (a part of a day file, as dict, list and str) added to it.

    A value that is there already and differs is left and listed, or replaced and listed where ``overwrite`` says so.
    Comments and everything else stay as they are. An entry of a log goes to its place in the order of its times.

    Raises:
        UsageError: a list is written in a way that cannot be added to.
    """
    joining = _Joining(text, clock, overwrite=overwrite)
    for key in sorted(incoming, key=lambda key: key == "not_inspected"):  # after those it had listed are dropped
        joining.field((), key, incoming[key], (key,))
        if key == "surfaces":
            joining.drop_inspected()
    if text.data != joining.expected:
        raise text.untouchable()
    return joining.merged


class _Joining:
    """Changes text and expected content side by side."""

    def __init__(self, text: DayText, clock: SiteClock, *, overwrite: bool) -> None:
        self.text = text
        self.expected: dict[str, Any] = copy.deepcopy(text.data)
        self.merged = Merged(text)
        self._clock = clock
        self._overwrite = overwrite

    def field(self, parent: Loc, key: str, value: Any, source: Loc) -> None:
        """Join one field of a block; ``source`` is its place in what came in."""
        loc = (*parent, key)
        home = value_at(self.expected, parent)
        present = home.get(key)
        if present is None:
            self.merged.landed[loc] = source
            if key in SERIES:
                order = sorted(range(len(value)), key=lambda number: self._when(value[number]))
                self.merged.landed |= {(*loc, index): (*source, number) for index, number in enumerate(order)}
                value = list(map(value.__getitem__, order))
            home[key] = copy.deepcopy(value)
            self.text.add_field(parent, key, value)
            self._note(loc, value)
        elif isinstance(value, dict) and isinstance(present, dict):
            for name, part in value.items():
                self.field(loc, name, part, (*source, name))
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            self.entries(loc, present, value, source)
        elif key == "reinspects" and isinstance(present, list):
            self.ids(loc, present, value, source)
        else:
            self.value(loc, present, value, source)

    def entries(self, loc: Loc, present: Any, came: Sequence[dict[str, Any]], source: Loc) -> None:
        """Join the entries of a list: those that are new at their place in it, then the fields of the others."""
        if isinstance(present, dict):
            name = _name(self.expected, loc)
            self.merged.differences.append(
                Difference(name, "readings of a CSV file", f"{len(came)} rows", replaced=False)
            )
            return
        if present == "":
            value_at(self.expected, loc[:-1])[loc[-1]] = present = []
        key = str(loc[-1])
        known = matches(key, present, came, self._clock)
        new = [(copy.deepcopy(entry), (*source, number)) for number, entry in enumerate(came) if known[number] is None]
        self.insert(loc, present, [entry for entry, _ in new])
        places = {id(entry): index for index, entry in enumerate(present)}
        for entry, origin in new:
            self.merged.landed[*loc, places[id(entry)]] = origin
            self._note((*loc, places[id(entry)]), entry)
        for number, (entry, same) in enumerate(zip(came, known, strict=True)):
            if same is not None:
                self.entry((*loc, places[id(same)]), same, entry, (*source, number))

    def entry(self, loc: Loc, present: dict[str, Any], came: dict[str, Any], source: Loc) -> None:
        """Join the fields of an entry; the readings of a spot are taken together or not at all."""
        if loc[-2] == "readings":
            # what must come in too before the readings of a spot can take the place of those that are there
            there = {name: text for name, text in present.items() if text.strip()}
            remedy, left = "", left_beside(there, came)
            if left:
                remedy = f"write all readings of the spot, also on {', '.join(left)}, or change the day file"
            elif differ(there, came) and "confirmed" in there and "confirmed" not in came:
                remedy = "what is there is confirmed, the new value is not: change the day file"
            if remedy or (not self._overwrite and measured_otherwise(there, came)):
                was, now = _readings_of(present), _readings_of(came)
                name = _name(self.expected, loc)
                self.merged.differences.append(Difference(name, was, now, replaced=False, remedy=remedy))
                return
        for name, part in came.items():
            self.field(loc, name, part, (*source, name))

    def insert(self, loc: Loc, present: list[Any], new: Sequence[dict[str, Any]]) -> None:
        """Put new entries behind those before them in time; what has no time, or the latest, goes to the end."""
        series = SERIES.get(str(loc[-1]))
        ordered = sorted(new, key=self._when) if series else new
        last: list[dict[str, Any]] = []
        for entry in ordered:
            index = place_in_time(present, entry, series, self._clock) if series else len(present)
            if index == len(present):
                last.append(entry)
            else:
                self.text.add_items(loc, last)
                last = []
                self.text.insert_item((*loc, index), entry)
            present.insert(index, entry)
        self.text.add_items(loc, last)

    def _when(self, entry: Mapping[str, Any]) -> dt.datetime:
        return written_down(entry, self._clock)

    def ids(self, loc: Loc, present: list[str], came: list[str], source: Loc) -> None:
        """Join two lists of ids: those that are not there yet go to the end."""
        for number, name in enumerate(came):
            if name in present:
                self.merged.already += 1
                continue
            present.append(name)
            self.text.add_items(loc, [name])
            self.merged.landed[*loc, len(present) - 1] = (*source, number)
            self.merged.added.append(f"{_name(self.expected, loc)}: {name}")

    def value(self, loc: Loc, present: Any, came: Any, source: Loc) -> None:
        """Compare a value with the one that is there; a placeholder is none, nor is a field that stands empty."""
        if same_value(present, came):
            self.merged.already += 1
            return
        texts = isinstance(present, str) and isinstance(came, str)
        name = _name(self.expected, loc)
        filled_in = texts and (not present.strip() or is_placeholder(present))
        replace = texts and (self._overwrite or filled_in)
        if filled_in:
            self.merged.added.append(f"{name}: {came}")
        else:
            self.merged.differences.append(Difference(name, shown(present), shown(came), replaced=replace))
        if replace:
            value_at(self.expected, loc[:-1])[loc[-1]] = came
            self.text.replace(loc, came)
            self.merged.landed[loc] = source

    def _note(self, loc: Loc, value: Any) -> None:
        """Say in words what was added."""
        match value:
            case [{}, *_]:
                for index, entry in enumerate(value):
                    self._note((*loc, index), entry)
            case {} if loc[-1] in _PARTS or loc[-2:-1] == ("surfaces",):
                for name, part in value.items():
                    if (*loc[-2:-1], name) != ("surfaces", "area"):
                        self._note((*loc, name), part)
            case {}:
                key = str(loc[-2] if isinstance(loc[-1], int) else loc[-1])
                self.merged.added.append(f"{_name(self.expected, loc[:-1])}: {entry_text(key, value)}")
            case _:
                self.merged.added.append(f"{_name(self.expected, loc)}: {shown(value)}")

    def drop_inspected(self) -> None:
        """An area that has been inspected now is no longer among those not inspected."""
        areas = {surface.get("area") for surface in self.expected.get("surfaces") or [] if isinstance(surface, dict)}
        entries = self.expected.get("not_inspected") or []
        for index in range(len(entries) - 1, -1, -1):
            area = entries[index].get("area")
            if area in areas:
                del entries[index]
                self.text.remove_item(("not_inspected", index))
                self.merged.removed.append(f"{area} is inspected now and no longer listed under `not_inspected`")


def _readings_of(row: Mapping[str, Any]) -> str:
    return shown({key: text for key, text in row.items() if key not in NO_READING})


def _name(data: Any, loc: Loc) -> str:
    """Return a place in words: ``surfaces G-5, profile, readings 3 a, c1``."""
    parts: list[str] = []
    for index, part in enumerate(loc):
        here = data[part] if isinstance(part, int) or part in data else None
        if isinstance(part, int):
            key = str(loc[index - 1])
            parts[-1] += " " + " ".join(str(value) for value in named(key, here or {}) if value is not None)
        else:
            parts.append(part)
        data = here
    return ", ".join(parts)
