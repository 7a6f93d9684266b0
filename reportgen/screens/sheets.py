"""What a screen looks at, and what it says: readings as whole numbers of one step, and what stands out of chance."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

Array = np.ndarray[Any, Any]


@dataclass(frozen=True, slots=True)
class ReadingSheet:
    """The readings of one surface in the order taken.

    ``values`` are whole numbers of ``base``; ``digit`` is the gauge's own step in these. ``place`` counts the reports
    of a contract in their order, ``when`` orders all. ``steel`` is one for what was entered again. ``once`` are those
    of the readings that no later report of that steel states again, where that is not all.
    """

    contract: str
    number: str
    place: int
    when: str
    area: str
    path: str
    gauge: str
    inspector: str
    apparatus: str
    abrasive: str
    unit: str
    digit: int
    values: tuple[int, ...]
    locations: tuple[str, ...]
    steel: tuple[str, ...] = ()
    once: tuple[int, ...] | None = None

    @property
    def counting(self) -> tuple[int, ...]:
        """The readings, each of them counted once however often it is entered."""
        return self.values if self.once is None else self.once

    @property
    def kind(self) -> tuple[str, int]:
        """Unit and step: what is read so is spread by one digit."""
        return self.unit, self.digit


class Sign(NamedTuple):
    """What stands out: which screen, how, on which sheets (by their place in the list, the one it is said of last).

    ``expected`` is how many of ``tests`` would by chance; ``effect`` is how strongly, as its screen counts it.
    """

    screen: str
    how: str
    sheets: tuple[int, ...]
    tests: int
    expected: float
    effect: float
    facts: Mapping[str, str | int] = {}


class Floor(NamedTuple):
    """Of the ``sheets`` of so many readings: how many have to agree to be seen, between reports near and far apart.

    None where not even all of them are enough.
    """

    of: int
    sheets: int
    near: int | None
    far: int | None


@dataclass(frozen=True, slots=True)
class Screened:
    """What one screen did: how many comparisons, at which level for all of them, and what it points at.

    ``least`` is the smallest effect that it would have seen here, in the screen's own measure; None where it could
    see nothing; ``floors`` are those by the number of readings, where it is another for each. ``weak`` are signs that
    chance may well explain.
    """

    screen: str
    tests: int
    level: float
    least: float | None
    signs: tuple[Sign, ...] = ()
    weak: tuple[Sign, ...] = field(default=(), repr=False)
    floors: tuple[Floor, ...] = ()


def in_groups(keys: Iterable[object]) -> dict[object, list[int]]:
    """Return the places of equal keys, in the order in which the keys first come."""
    found: dict[object, list[int]] = defaultdict(list)
    for place, key in enumerate(keys):
        found[key].append(place)
    return found


def spread(values: Sequence[int], digit: int) -> float:
    """Return the standard deviation of values, in steps of the gauge."""
    return float(np.std(np.asarray(values, float), ddof=1)) / digit


def agreeing(values: Sequence[int]) -> tuple[int, int]:
    """Return how many pairs of values are equal, and how many there are."""
    same = sum(count * (count - 1) for count in Counter(values).values())
    return same // 2, len(values) * (len(values) - 1) // 2


def agreement_in_locations(sheets: Sequence[ReadingSheet]) -> dict[tuple[str, int], float]:
    """Return by unit and step how often two readings of one location agree, over all sheets.

    Where no location was read twice, it is two readings of one sheet.
    """
    equal: dict[tuple[str, int], list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for sheet in sheets:
        tally = equal[sheet.kind]
        for places in in_groups(sheet.locations).values():
            same, pairs = agreeing([sheet.values[place] for place in places])
            tally[0] += same
            tally[1] += pairs
        same, pairs = agreeing(sheet.values)
        tally[2] += same
        tally[3] += pairs
    return {kind: one[0] / one[1] if one[1] else (one[2] / one[3] if one[3] else 1.0) for kind, one in equal.items()}
