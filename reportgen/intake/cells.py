"""Cells of a sheet → fields of the day file: where each goes, and what may be written in it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import QuantityError
from reportgen.job import (
    AbrasiveCheck,
    AirCheck,
    Condition,
    DustTest,
    GaugeCheck,
    Model,
    SaltTest,
    Surface,
    TapeCheck,
    validated,
)
from reportgen.units import parse_quantity
from reportgen.yamlsource import HIDDEN

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.units import Kind

Reason = tuple[str, str | None]


@dataclass(frozen=True, slots=True)
class Target:
    """Where a cell goes: path in the entry, kind of quantity (None: text), or a list of ids."""

    path: tuple[str, ...]
    quantity: Kind | None = None
    ids: bool = False


def _to(*path: str, quantity: Kind | None = None, ids: bool = False) -> Target:
    return Target(path, quantity, ids)


_TIME: Final = {"time": _to("time")}
TARGETS: Final[dict[str, dict[str, Target]]] = {
    "conditions": {
        **_TIME,
        "place": _to("place"),
        "air": _to("air", quantity="temperature"),
        "humidity": _to("humidity", quantity="share"),
        "wet_bulb": _to("wet_bulb", quantity="temperature"),
        "pressure": _to("pressure", quantity="pressure"),
        "steel": _to("steel", quantity="temperature"),
        "instruments": _to("instruments", ids=True),
    },
    "gauge_checks": {
        **_TIME,
        "gauge": _to("gauge"),
        "preset": _to("preset", quantity="height"),
        "shim": _to("shim", quantity="height"),
        "shim_reading": _to("shim_reading", quantity="height"),
    },
    "tape_checks": {
        **_TIME,
        "roll": _to("roll"),
        "gauge": _to("gauge"),
        "thickness": _to("thickness", quantity="height"),
    },
    "air_checks": {
        **_TIME,
        "apparatus": _to("apparatus"),
        "duration": _to("duration", quantity="time"),
        "pressure": _to("pressure", quantity="pressure"),
    },
    "abrasive_checks": {
        **_TIME,
        "abrasive": _to("abrasive"),
        "conductivity": _to("conductivity", quantity="conductivity"),
        "instrument": _to("instrument"),
    },
    "surface": {
        "apparatus": _to("apparatus"),
        "start": _to("blasted", "start"),
        "end": _to("blasted", "end"),
        "abrasive": _to("blasted", "abrasive"),
        "blast_pressure": _to("blasted", "pressure", quantity="pressure"),
        "observed": _to("cleanliness", "observed"),
        "staining": _to("cleanliness", "staining", quantity="share"),
        "coated": _to("coated"),
        "remarks": _to("remarks"),
    },
    "salts": {
        "location": _to("location"),
        "salt_area": _to("area", quantity="area"),
        "volume": _to("volume", quantity="volume"),
        "blank": _to("blank", quantity="conductivity"),
        "sample": _to("sample", quantity="conductivity"),
        "chloride": _to("chloride", quantity="areal density"),
        "instrument": _to("instrument"),
        **_TIME,
    },
    "dust": {"location": _to("location"), "quantity": _to("quantity"), "size": _to("size"), **_TIME},
}
"""Cells that hold text, by kind of block; ticks are read by ``ticked``, readings by their own reader."""

MODELS: Final[dict[str, type[Model]]] = {
    "conditions": Condition,
    "gauge_checks": GaugeCheck,
    "tape_checks": TapeCheck,
    "air_checks": AirCheck,
    "abrasive_checks": AbrasiveCheck,
    "surface": Surface,
    "salts": SaltTest,
    "dust": DustTest,
}

_TICKS: Final[dict[str, tuple[str, dict[frozenset[str], str]]]] = {
    "gauge_checks": ("anvils", {frozenset({"clean"}): "clean", frozenset({"cleaned"}): "cleaned"}),
    "air_checks": (
        "result",
        {
            frozenset({"clean"}): "clean",
            frozenset({"oil"}): "oil",
            frozenset({"water"}): "water",
            frozenset({"oil", "water"}): "oil and water",
        },
    ),
    "abrasive_checks": (
        "oil",
        {frozenset({"none"}): "none seen", frozenset({"film"}): "film", frozenset({"cloud"}): "cloud"},
    ),
}
_INITIAL: Final = {f"was_{letter}": letter for letter in ("A", "B", "C", "D", "coated")}
_FILM: Final = ("subtracted", "included")
TICK_CELLS: Final = frozenset({"clean", "cleaned", "oil", "water", "none", "film", "cloud", *_INITIAL, *_FILM})
_NUMBER: Final = re.compile(r"[-+\u2212]?[0-9.,]*\Z")
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
    if target.quantity is None:
        return plain, None
    written = f"{plain} {unit}" if unit and _NUMBER.match(plain) else plain
    try:
        parse_quantity(written, target.quantity)
    except QuantityError as failure:
        return None, (failure.message, failure.help_text)
    return written, None


def ticked(kind: str, ticks: set[str]) -> tuple[dict[str, str], Reason | None]:
    """Return what the ticks of a row say; or that they contradict each other."""
    if kind not in _TICKS or not ticks:
        return {}, None
    name, meanings = _TICKS[kind]
    meaning = meanings.get(frozenset(ticks))
    if meaning is None:
        return {}, (f"{' and '.join(sorted(ticks))} are ticked, which contradict each other", "tick one")
    return {name: meaning}, None


def ticked_surface(ticks: set[str]) -> tuple[dict[str, str], Reason | None]:
    """Return the initial condition and the state of the film that are ticked; or that two of a kind are."""
    found: dict[str, str] = {}
    for name, meanings in (("initial_condition", _INITIAL), ("film", {word: word for word in _FILM})):
        chosen = sorted(meanings[tick] for tick in ticks if tick in meanings)
        if len(chosen) > 1:
            return {}, (f"{' and '.join(chosen)} are both ticked", "tick one")
        found |= {name: chosen[0]} if chosen else {}
    return found, None


def objections(kind: str, entry: Mapping[str, Any]) -> tuple[list[tuple[tuple[str, ...], Reason]], list[str]]:
    """Return what the model of an entry objects to, by field; and the fields that are missing."""
    outcome = validated(MODELS[kind], entry)
    if not isinstance(outcome, tuple):
        return [], []
    wrong: list[tuple[tuple[str, ...], Reason]] = []
    missing: list[str] = []
    for problem in outcome:
        if problem.code == "JOB111":
            missing.append(problem.message.split("`")[1])
        else:
            wrong.append((tuple(map(str, problem.loc)), (problem.message, problem.help_text)))
    return wrong, missing
