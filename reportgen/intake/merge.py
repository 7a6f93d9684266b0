"""What came in, joined with what the day file says already: added, already there, or different.

Entries of a list are matched by what names them: a conditions reading by time and place, a spot by location and spot.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, Final

from reportgen.intake.daytext import DayText, Loc

if TYPE_CHECKING:
    from collections.abc import Sequence

NAMED_BY: Final[dict[str, tuple[str, ...]]] = {
    "conditions": ("time", "place"),
    "gauge_checks": ("time", "gauge"),
    "tape_checks": ("time", "roll"),
    "air_checks": ("time", "apparatus"),
    "abrasive_checks": ("time", "abrasive"),
    "surfaces": ("area",),
    "readings": ("location", "spot"),
    "salts": ("location", "time"),
    "dust": ("location",),
    "not_inspected": ("area",),
}
"""Fields by which two entries of a list are the same entry."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A value that the day file has and that came in otherwise; ``replaced`` says whether the new one stands now."""

    name: str
    present: str
    came: str
    replaced: bool


@dataclass(slots=True)
class Merged:
    """The new day file, and what became of each value that came in."""

    data: bytes
    added: list[str] = field(default_factory=list)
    already: int = 0
    differences: list[Difference] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)


def merge(day: bytes, file: str, incoming: dict[str, Any], *, overwrite: bool = False) -> Merged:
    """Return the day file with ``incoming`` (a part of a day file, as dict, list and str) added to it.

    A value that is there already and differs is left and listed, or replaced and listed where ``overwrite`` says so.
    Comments and everything else stay as they are.

    Raises:
        InputError: the day file is not YAML of a job file.
        UsageError: a list is written in a way that cannot be added to.
    """
    joining = _Joining(DayText(day, file), overwrite=overwrite)
    for key, value in incoming.items():
        joining.field((), key, value)
    joining.drop_inspected()
    if joining.text.data != joining.expected:
        raise joining.text.untouchable()
    joining.merged.data = joining.text.encoded()
    return joining.merged


class _Joining:
    """Changes text and expected content side by side."""

    def __init__(self, text: DayText, *, overwrite: bool) -> None:
        self.text = text
        self.expected: dict[str, Any] = copy.deepcopy(text.data)
        self.merged = Merged(b"")
        self._overwrite = overwrite

    def field(self, parent: Loc, key: str, value: Any) -> None:
        """Join one field of a block."""
        loc = (*parent, key)
        home = self._at(parent)
        present = home.get(key)
        if present in ("", []) and isinstance(value, list):
            present = None if key not in home else present
        if present is None:
            home[key] = copy.deepcopy(value)
            self.text.add_field(parent, key, value)
            self._note(loc, value)
        elif isinstance(value, dict) and isinstance(present, dict):
            for name, part in value.items():
                self.field(loc, name, part)
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            self._entries(loc, present, value)
        else:
            self._value(loc, present, value)

    def _at(self, loc: Loc) -> Any:
        here: Any = self.expected
        for part in loc:
            here = here[part]
        return here

    def _entries(self, loc: Loc, present: Any, came: Sequence[dict[str, Any]]) -> None:
        """Join the entries of a list: fields of those that are there, the others at its end."""
        if isinstance(present, dict):
            name = _name(self.expected, loc)
            self.merged.differences.append(
                Difference(name, "readings of a CSV file", f"{len(came)} rows", replaced=False)
            )
            return
        if present == "":
            self._at(loc[:-1])[loc[-1]] = present = []
        known = {_identity(str(loc[-1]), entry): index for index, entry in enumerate(present)}
        new = []
        for entry in came:
            index = known.get(_identity(str(loc[-1]), entry))
            if index is None:
                new.append(entry)
                continue
            for name, part in entry.items():
                self.field((*loc, index), name, part)
        if new:
            present.extend(copy.deepcopy(new))
            self.text.add_items(loc, new)
            for index, entry in enumerate(new, len(present) - len(new)):
                self._note((*loc, index), entry)

    def _value(self, loc: Loc, present: Any, came: Any) -> None:
        """Compare a value with the one that is there."""
        if _same(present, came):
            self.merged.already += 1
            return
        replace = self._overwrite and isinstance(present, str) and isinstance(came, str)
        name = _name(self.expected, loc)
        self.merged.differences.append(Difference(name, _shown(present), _shown(came), replaced=replace))
        if replace:
            self._at(loc[:-1])[loc[-1]] = came
            self.text.replace(loc, came)

    def _note(self, loc: Loc, value: Any) -> None:
        """Say in words what was added."""
        if isinstance(value, dict) and loc[-1] in ("profile", "blasted", "cleanliness"):
            for name, part in value.items():
                self._note((*loc, name), part)
        elif loc[-1] == "surfaces" or loc[-2:-1] == ("surfaces",):
            self._note_surfaces(loc, value if isinstance(value, list) else [value])
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            self.merged.added += [f"{_name(self.expected, loc)}: {_entry(str(loc[-1]), entry)}" for entry in value]
        elif isinstance(value, dict):
            key = next((str(part) for part in reversed(loc) if isinstance(part, str)), "")
            self.merged.added.append(f"{_name(self.expected, loc[:-1])}: {_entry(key, value)}")
        else:
            self.merged.added.append(f"{_name(self.expected, loc)}: {_shown(value)}")

    def _note_surfaces(self, loc: Loc, surfaces: Sequence[dict[str, Any]]) -> None:
        """Say of new areas each thing that was added."""
        first = loc[-1] if isinstance(loc[-1], int) else 0
        home = loc[:-1] if isinstance(loc[-1], int) else loc
        for index, surface in enumerate(surfaces, first):
            for name, part in surface.items():
                if name != "area":
                    self._note((*home, index, name), part)

    def drop_inspected(self) -> None:
        """An area that has been inspected now is no longer among those not inspected."""
        areas = {surface.get("area") for surface in self.expected.get("surfaces") or [] if isinstance(surface, dict)}
        listed = self.expected.get("not_inspected") or []
        for index in range(len(listed) - 1, -1, -1):
            if listed[index].get("area") in areas:
                area = listed[index]["area"]
                del listed[index]
                self.text.remove_item(("not_inspected", index))
                self.merged.removed.append(f"{area} is inspected now and no longer listed under `not_inspected`")


def _identity(key: str, entry: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(entry.get(name) for name in NAMED_BY.get(key, ()))


def _entry(key: str, entry: dict[str, Any]) -> str:
    """Name an entry: what names it, then what it says."""
    names = NAMED_BY.get(key, ())
    head = " ".join(str(entry[name]) for name in names if name in entry)
    rest = ", ".join(f"{name} {_shown(value)}" for name, value in entry.items() if name not in names)
    return f"{head} ({rest})" if rest and key != "surfaces" else head


def _shown(value: Any) -> str:
    if isinstance(value, list):
        return f"{len(value)} entries" if value and isinstance(value[0], dict) else " ".join(map(str, value))
    return str(value)


def _name(data: Any, loc: Loc) -> str:
    """Return a place in words: ``surfaces G-5, profile, readings 3 a, c1``."""
    parts: list[str] = []
    for index, part in enumerate(loc):
        here = data[part] if isinstance(part, int) or part in data else None
        if isinstance(part, int):
            key = str(loc[index - 1])
            parts[-1] += " " + " ".join(str(value) for value in _identity(key, here or {}) if value is not None)
        else:
            parts.append(part)
        data = here
    return ", ".join(parts)


def _same(present: Any, came: Any) -> bool:
    """Whether two values say the same: text by text, or equal numbers with one unit."""
    if present == came:
        return True
    if not (isinstance(present, str) and isinstance(came, str)):
        return False
    (left, left_unit), (right, right_unit) = (_number(text) for text in (present, came))
    return left is not None and left == right and left_unit == right_unit


def _number(text: str) -> tuple[Decimal | None, str]:
    number, _, unit = text.strip().partition(" ")
    try:
        return Decimal(number), unit.strip()
    except InvalidOperation:
        return None, text
