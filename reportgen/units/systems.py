"""Units that go together: a contract in mils has its temperatures in °F and its areas in ft², one in µm °C and m².

A contract may mix them (mils with °C is not rare): what it states itself comes first.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from reportgen.units.quantity import EXAMPLES, Kind, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


@dataclass(frozen=True, slots=True)
class UnitSystem:
    """Canonical units of one contract: ``pressure`` is that of the atmosphere, ``air`` that of compressed air."""

    height: str
    temperature: str
    difference: str
    pressure: str
    air: str
    area: str
    length: str
    density: str

    def such_as(self, kind: Kind, examples: Sequence[str] = ()) -> tuple[str, ...]:
        """Return those of the examples (of the kind's own, without any) that are in units of this system; else all."""
        return _such_as(self, kind, tuple(examples) or EXAMPLES[kind])


@lru_cache(maxsize=64)
def _such_as(system: UnitSystem, kind: Kind, examples: tuple[str, ...]) -> tuple[str, ...]:
    units = astuple(system)
    return tuple(text for text in examples if parse_quantity(text, kind).unit in units) or examples


SYSTEMS: Final = {
    "mil": UnitSystem("mil", "degF", "delta_degF", "inHg", "psi", "ft2", "ft", "ug/cm2"),
    "um": UnitSystem("um", "degC", "delta_degC", "hPa", "kPa", "m2", "m", "mg/m2"),
}
"""System by the unit of its heights: customary units of the United States, and SI; common practice of the trade."""


def unit_system(heights: Iterable[str | None], stated: Iterable[str]) -> UnitSystem:
    """Return the system of a contract.

    Parameters:
        heights: units of gauge and profile, the most telling first; None where there is none.
        stated: units in which the contract states anything else, the most telling first.
    """
    height = next((unit for unit in heights if unit in SYSTEMS), None)
    others = next((system for unit in stated for system in SYSTEMS.values() if unit in astuple(system)), None)
    system = others or SYSTEMS[height or "um"]
    return replace(system, height=height or system.height)
