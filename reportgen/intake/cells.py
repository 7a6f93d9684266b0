"""Cells of a sheet → fields of the day file: where each goes, and what may be written in it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import QuantityError
from reportgen.job import parse_clock
from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE
from reportgen.units import parse_quantity
from reportgen.yamlsource import HIDDEN

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.intake.incoming import Reason
    from reportgen.measurements import Measurement
    from reportgen.units import Kind


@dataclass(frozen=True, slots=True)
class Target:
    """Where a cell goes: path in the entry; a quantity of some kind, a list, a time of the day, or text."""

    path: tuple[str, ...]
    quantity: Kind | None = None
    ids: bool = False
    clock: bool = False
    names: bool = False
    """Names with commas between them."""
    measured: bool = False
    """A number with a unit that only the instrument tells."""


def _to(
    *path: str, quantity: Kind | None = None, ids: bool = False, clock: bool = False, names: bool = False,
    measured: bool = False,
) -> Target:  # fmt: skip
    return Target(path, quantity, ids, clock, names, measured)


_TIME: Final = {"time": _to("time", clock=True)}


def _written(kind: Measurement[Any, Any, Any], *path: str) -> dict[str, Target]:
    """Return where the cells of a kind of measurement go that hold text; ``path`` is where its entry is."""
    return {
        one.name: _to(*path, one.field, quantity=one.quantity, ids=one.several, clock=one.field == "time")
        for one in kind.entries if not one.tick
    }  # fmt: skip


TARGETS: Final[dict[str, dict[str, Target]]] = {
    "gauge_checks": {
        **_TIME,
        "gauge": _to("gauge"),
        "preset": _to("preset", quantity="height"),
        "zero": _to("zero", quantity="height"),
        "shim": _to("shim", quantity="height"),
        "shim_reading": _to("shim_reading", quantity="height"),
    },
    "tape_checks": {
        **_TIME,
        "roll": _to("roll"),
        "gauge": _to("gauge"),
        "thickness": _to("thickness", quantity="height"),
    },
    "surface": {
        "apparatus": _to("apparatus"),
        "start": _to("blasted", "start", clock=True),
        "end": _to("blasted", "end", clock=True),
        "abrasive": _to("blasted", "abrasive"),
        "blast_pressure": _to("blasted", "pressure", quantity="pressure"),
        **{name: target for kind in OF_A_SURFACE for name, target in _written(kind, kind.key).items()},
        "washed": _to("washed", clock=True),
        "dust_removed": _to("dust_removed", clock=True),
        "coated": _to("coated", clock=True),
        "blasted_again": _to("blasted_again", names=True),
        "reinspects": _to("reinspects", ids=True),
        "remarks": _to("remarks"),
        "cleaned": _to("cleaned", quantity="area"),
        "other_by": _to("comparison", "by"),
        "other_of": _to("comparison", "organisation"),
        "other_gauge": _to("comparison", "gauge"),
        "other_accuracy": _to("comparison", "gauge_accuracy", quantity="height"),
        "other_expanded": _to("comparison", "expanded_uncertainty", quantity="height"),
        "other_time": _to("comparison", "time", clock=True),
    },
    "walk_outs": {
        "area": _to("area"),
        "failing": _to("failing"),
        "interval": _to("interval", quantity="length"),
        "towards": _to("towards"),
        "locations": _to("locations", ids=True),
    },
    "compared": {
        "location": _to("location"),
        "spot": _to("spot"),
        "profile": _to("profile", quantity="height"),
    },
    "told_released": {
        "area": _to("area"),
        "to": _to("to"),
        **_TIME,
        "by": _to("by"),
    },
    "photos": {
        "location": _to("location"),
        **_TIME,
        "caption": _to("caption"),
    },
    "replicas": {
        "location": _to("location"),
        "spot": _to("spot"),
        "roll": _to("roll"),
        "thrown_away": _to("thrown_away"),
    },
    "function_checks": {
        **_TIME,
        "instrument": _to("instrument"),
        "reference": _to("reference", measured=True),
        "shown": _to("shown", measured=True),
        "tolerance": _to("tolerance", measured=True),
        "against": _to("against"),
    },
    "hold_points": {
        "step": _to("step"),
        "areas": _to("areas", ids=True),
        "asked": _to("asked", clock=True),
        "released": _to("released", clock=True),
        "refused": _to("refused", clock=True),
        "by": _to("by"),
    },
    "site": {
        "weather": _to("weather"),
        "wind": _to("wind"),
        "high": _to("high", quantity="temperature"),
        "low": _to("low", quantity="temperature"),
        "blasters": _to("blasters"),
        "equipment": _to("equipment"),
        "agreements": _to("agreements"),
        "deviations": _to("deviations"),
    },
    **{kind.day_key: _written(kind) for kind in MEASUREMENTS if kind not in OF_A_SURFACE},
}
"""Cells that hold text, by kind of block; ticks are read by ``ticked``, readings by their own reader."""

_WAS: Final = "was_"
_TICKS: Final[dict[str, Mapping[str, Mapping[frozenset[str], str]]]] = {
    "gauge_checks": {
        "anvils": {frozenset({word}): word for word in ("clean", "cleaned")},
        "tip": {frozenset({f"tip_{word}"}): word for word in ("clean", "cleaned")},
    },
    **{kind.day_key: kind.ticks for kind in MEASUREMENTS},
    "replicas": {
        "grain": {frozenset({"even"}): "uniform", frozenset({"uneven"}): "not uniform"},
        "rubbed": {frozenset({"rubbed"}): "fully", frozenset({"not_rubbed"}): "not fully", frozenset({"slid"}): "slid"},
        "kept": {frozenset({"affixed"}): "affixed", frozenset({"put_by"}): "kept"},
    },
    "walk_outs": {"no_room": {frozenset({"edge"}): "yes"}},
    "surface": {
        "initial_condition": {frozenset({_WAS + word}): word for word in ("A", "B", "C", "D", "coated")},
        "film": {frozenset({word}): word for word in ("subtracted", "included")},
    },
}
"""Kind of block → field → which ticks together mean what."""

TICK_CELLS: Final = frozenset(
    tick for fields in _TICKS.values() for meanings in fields.values() for ticks in meanings for tick in ticks
)
_NUMBER: Final = re.compile(r"[-+]?[0-9.,]*\Z")
_COMMA: Final = re.compile(r"(?P<whole>[-+]?[0-9]{1,9}),(?P<part>[0-9]{1,9})(?![0-9.,])")
_THOUSANDS: Final = re.compile(r"[-+]?[1-9][0-9]{0,2},[0-9]{3}(?![0-9.,])")
_CLOCK: Final = re.compile(r"([01]?[0-9]|2[0-3])[:.,h]?([0-5][0-9])\Z", re.ASCII)
_SPACE: Final = re.compile(r"\s+")


def read_text(text: str) -> tuple[str | None, Reason | None]:
    """Return what was written, on one line; or why it cannot be taken."""
    plain = _SPACE.sub(" ", text).strip()
    odd = HIDDEN.search(plain)
    if odd is not None:
        return None, (f"U+{ord(odd[0]):04X} is invisible or a control character", "write it with ordinary letters")
    return plain, None


def read_cell(target: Target, text: str, unit: str) -> tuple[Any, Reason | None]:
    """Return the value of a cell as it goes into the day file, or why it cannot be taken; ``unit`` is the sheet's."""
    plain, reason = read_text(text)
    if plain is None:
        return None, reason
    if target.ids:
        return plain.replace(",", " ").split(), None
    if target.names:
        return [name.strip() for name in plain.split(",") if name.strip()], None
    if target.clock:
        return read_clock(plain)
    if target.measured:
        return read_number(plain)
    if target.quantity is None:
        return plain, None
    number, reason = read_number(plain)
    if number is None:
        return None, reason
    written = f"{number} {unit}" if unit and _NUMBER.match(number) else number
    try:
        parse_quantity(written, target.quantity)
    except QuantityError as failure:
        return None, (failure.message, failure.help_text)
    return written, None


def read_number(text: str) -> tuple[str | None, Reason | None]:
    """Return a number as it goes into the day file: one decimal comma becomes a point; any unit stays.

    A comma before three digits may set off thousands, so it is asked about.

    >>> read_number("9,5 degC"), read_number("0,125")
    (('9.5 degC', None), ('0.125', None))
    """
    plain = text.replace("\u2212", "-")
    found = _COMMA.match(plain)
    if found is None:
        return plain, None
    if _THOUSANDS.match(plain):
        whole, part = found["whole"], found["part"]
        return None, (f"`{text}` may be {whole}.{part} or {whole}{part}", "write it with a point, or without the comma")
    return f"{found['whole']}.{found['part']}{plain[found.end() :]}", None


def read_clock(text: str) -> tuple[str | None, Reason | None]:
    """Return a time of the day as it goes into the day file, or why it is none.

    >>> [read_clock(text)[0] for text in ("06:40", "6.40", "1820", "640", "2026-05-15T00:20+02:00", "6.4")]
    ['06:40', '06:40', '18:20', '06:40', '2026-05-15T00:20+02:00', None]
    """
    found = _CLOCK.match(text)
    if found is not None:
        return f"{int(found[1]):02d}:{found[2]}", None
    try:
        parse_clock(text)
    except QuantityError as failure:
        return None, (failure.message, failure.help_text)
    return text, None


@dataclass(frozen=True, slots=True)
class Ticked:
    """What the ticks of a row say, by field; and by field which contradict each other."""

    said: dict[str, str]
    contradicting: dict[str, tuple[str, ...]]


def ticked(kind: str, ticks: set[str]) -> Ticked:
    """Return what the ticks of a row say."""
    said: dict[str, str] = {}
    contradicting: dict[str, tuple[str, ...]] = {}
    for name, meanings in _TICKS.get(kind, {}).items():
        chosen = frozenset(tick for tick in ticks if any(tick in together for together in meanings))
        if chosen in meanings:
            said[name] = meanings[chosen]
        elif chosen:
            contradicting[name] = tuple(sorted(tick.removeprefix(_WAS) for tick in chosen))
    return Ticked(said, contradicting)
