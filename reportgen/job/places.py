"""Where areas are and where readings of the conditions were taken: a reading covers the areas of its place alone.

Nothing is guessed. Where an area is, it says itself, or its structure says it for all its areas; where nobody says
anything, a structure's own id and name and an area's id are still places. A reading names one of them, or lists areas.
A contract has one place when all its areas state the same one, which is then the only name for it beside those; or
when none states any and the readings of the day name at most one place that is no part of the contract, such as
``yard``. Then nothing need be written.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.job.project import Structure
    from reportgen.measurements.conditions import Condition


@dataclass(frozen=True, slots=True)
class PlacedArea:
    """An area with the names of its place: stated by itself or its structure, or only the names it has anyway."""

    area: str
    stated: str | None
    own: bool
    structure: tuple[str, str]

    @property
    def names(self) -> tuple[str, ...]:
        """Names under which a reading covers the area; those of the structure only where the area is not elsewhere."""
        stated = () if self.stated is None else (self.stated,)
        return (*stated, *(() if self.own else self.structure), self.area)


class Places:
    """The places of a contract on one day: its structures, and the readings of the conditions taken that day."""

    def __init__(self, structures: Sequence[Structure], readings: Sequence[Condition]) -> None:
        self._standings = {
            plan.id: PlacedArea(
                plan.id, plan.place or structure.place, plan.place is not None, (structure.id, structure.name)
            )
            for structure in structures
            for plan in structure.areas
        }
        self._readings = readings
        self._everywhere = frozenset(self._standings)

    def of(self, area: str) -> str | None:
        """Return the place of an area as stated; None where neither it nor its structure states one."""
        return self._standings[area].stated

    def covered(self, reading: Condition) -> frozenset[str] | None:
        """Return ids of the areas a reading tells the conditions of; None where it does not say and there are several.

        A place nobody knows covers nothing.
        """
        if reading.areas:
            return frozenset(reading.areas)
        if reading.place is None:
            return None if self.several else self._everywhere
        named = self.at(reading.place)
        return self._everywhere if not (named or self.stated or self.several) else named

    def spot(self, reading: Condition) -> str:
        """Return the spot that a reading names beside the areas it lists, where it is no place; empty without one."""
        named = reading.place if reading.areas else None
        return folded(named) if named is not None and not self.at(named) else ""

    def shared(self, reading: Condition, other: Condition) -> frozenset[str]:
        """Return the areas that two readings both cover, at one spot."""
        if self.spot(reading) != self.spot(other):
            return frozenset()
        return (self.covered(reading) or frozenset()) & (self.covered(other) or frozenset())

    def unknown(self, reading: Condition) -> bool:
        """Whether a reading names a place where no area is, and does not list the areas it covers."""
        return reading.place is not None and not reading.areas and not self.covered(reading)

    def elsewhere(self, reading: Condition) -> list[str]:
        """Return the areas that a reading lists although they are not at the place it names."""
        named = self.at(reading.place) if reading.place is not None else frozenset()
        return [area for area in reading.areas if named and area in self._everywhere and area not in named]

    @cached_property
    def known(self) -> tuple[str, ...]:
        """Names a reading may use: stated places first, then structures and areas by what they are called anyway."""
        standings = self._standings.values()
        stated = [one.stated for one in standings if one.stated is not None]
        return tuple(dict.fromkeys([*stated, *(name for one in standings for name in one.names)]))

    @cached_property
    def stated(self) -> tuple[str, ...]:
        """The places that areas or structures state, in the order of the contract."""
        found: dict[str, str] = {}
        for one in self._standings.values():
            if one.stated is not None:
                found.setdefault(folded(one.stated), one.stated)
        return tuple(found.values())

    @cached_property
    def several(self) -> bool:
        """Whether the contract has more than one place, as far as it and the readings of the day say."""
        if self.stated:
            return len(self.stated) > 1 or any(one.stated is None for one in self._standings.values())
        if any(reading.areas and frozenset(reading.areas) != self._everywhere for reading in self._readings):
            return True
        named = {folded(reading.place): self.at(reading.place) for reading in self._readings if reading.place}
        strangers = sum(not areas for areas in named.values())
        return strangers > 1 or any(areas and areas != self._everywhere for areas in named.values())

    @cached_property
    def _called(self) -> Mapping[str, Sequence[PlacedArea]]:
        """Areas by each of the names under which a reading covers them."""
        called: dict[str, list[PlacedArea]] = {}
        for one in self._standings.values():
            for name in dict.fromkeys(map(folded, one.names)):
                called.setdefault(name, []).append(one)
        return called

    def at(self, place: str) -> frozenset[str]:
        """Return the areas at a place; a stated place is not confused with what a structure elsewhere is called."""
        found = self._called.get(folded(place), ())
        stated = {one.area for one in found if one.stated is not None and folded(one.stated) == folded(place)}
        called = {one.area for one in found if one.stated is None or not stated}
        return frozenset(stated | called)


@lru_cache(maxsize=4096)
def folded(name: str) -> str:
    """Return a name as places are compared: without regard to capitals and the number of spaces.

    >>> folded("Gate  Hall") == folded("gate hall")
    True
    """
    return " ".join(name.split()).casefold()
