"""Entries of a day file as plain data: which fields name them, and how they read in a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE, TESTS
from reportgen.readings.rows import GRADE, ONLY_SPOT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.yamlsource import Loc

NAMED_BY: Final[dict[str, tuple[str, ...]]] = {
    "gauge_checks": ("time", "gauge"),
    "tape_checks": ("time", "roll"),
    "function_checks": ("time", "instrument"),
    "hold_points": ("step", "areas", "asked", "released", "refused"),
    "replicas": ("location", "spot", "roll", "thrown_away"),
    "surfaces": ("area",),
    "readings": ("location", "spot"),
    "values": ("location", "spot"),
    "walk_outs": ("failing",),
    "directions": ("towards",),
    **{kind.day_key: kind.named_by for kind in MEASUREMENTS if kind not in OF_A_SURFACE},
    "not_inspected": ("area",),
    "told_released": ("area", "to", "time"),
    "photos": ("file",),
}
"""Fields by which two entries of a list are the same entry."""
_TESTS: Final = frozenset(kind.key for kind in TESTS)

AGAIN: Final = "fill it in and take it in again; what stands in the day file already is left as it is"
"""What to do about an entry that was not taken."""

NO_READING: Final = frozenset({"location", "spot", "time", "confirmed"})
"""Fields of a row of readings that are no reading."""

ONLY_NAMES: Final[dict[str, frozenset[str]]] = {
    "readings": NO_READING,
    "values": frozenset({"location", "spot"}),
    "walk_outs": frozenset({"failing"}),
    "replicas": frozenset({"location", "spot"}),
    "no_reading": frozenset({"location"}),
    "not_inspected": frozenset({"area"}),
    "surfaces": frozenset({"area"}),
}
"""Lists of what is said at a place, and the fields that name it: an entry that has those alone says nothing."""


def named(key: str, entry: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return what names an entry of the list ``key``; None for a field it lacks.

    A comparison that names no spot is of the only one of its location.
    """
    only = {"spot": ONLY_SPOT} if key == "readings" and GRADE in entry else {}
    values = (entry.get(name, only.get(name)) for name in NAMED_BY.get(key, ()))
    return tuple(tuple(value) if isinstance(value, list) else value for value in values)


def needed_names(key: str) -> tuple[str, ...]:
    """Return the fields without which an entry of the list ``key`` would count for something else.

    A test needs no time: one that cannot be read costs the time alone, as with a reading.
    """
    return tuple(name for name in NAMED_BY.get(key, ()) if name != "time" or key not in _TESTS)


def entry_text(key: str, entry: Mapping[str, Any]) -> str:
    """Name an entry: what names it, then what it says.

    >>> entry_text("conditions", {"time": "06:40", "place": "yard", "air": "13 degC"})
    '06:40 yard (air 13 degC)'
    """
    names = NAMED_BY.get(key, ())
    head = " ".join(shown(entry[name]) for name in names if name in entry)
    rest = ", ".join(f"{name} {shown(value, name)}" for name, value in entry.items() if name not in names)
    return f"{head} ({rest})".strip() if rest else head


def shown(value: Any, key: str = "") -> str:
    """Return a value on one line, whole; ``key`` is the field it stands in."""
    if isinstance(value, list):
        entries = bool(value) and isinstance(value[0], dict)
        return "; ".join(entry_text(key, entry) for entry in value) if entries else " ".join(map(str, value))
    if isinstance(value, dict):
        return ", ".join(f"{name} {shown(part, name)}" for name, part in value.items())
    return str(value)


def in_order(loc: Loc) -> tuple[str, ...]:
    """Return a key that sorts places as they follow each other, index 10 after 9."""
    return tuple(part if isinstance(part, str) else f"{part:09d}" for part in loc)
