"""Doubts: entries that can be true and are mostly slips, of a point, a unit or a column, to be asked before believed.

Nothing here refuses a value or judges steel. The thresholds stand here once, for whoever asks while an entry is taken
in and for whoever finds it in a file.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Final, Literal

from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

DoubtKind = Literal[
    "steel-far-from-air", "air-hot", "patch-area", "blast-pressure-low", "unlike-neighbours", "finer-than-gauge"
]

STEEL_FROM_AIR: Final = Quantity(Decimal(20), "delta_degC")
HOTTEST_AIR: Final = Quantity(Decimal(45), "degC")
SMALLEST_PATCH: Final = Quantity(Decimal(1), "cm2")
LARGEST_PATCH: Final = Quantity(Decimal(100), "cm2")
LOWEST_BLAST: Final = Quantity(Decimal(100), "kPa")
MOVED_POINT: Final = 5
"""A point one place off makes ten times or a tenth of a value; of one that lay within half and twice its neighbours'
middle that is at least five times, or at most a fifth, of the middle, where no such value lies itself."""
FEWEST_NEIGHBOURS: Final = 2
"""With one neighbour nothing says which of the two is the slip."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is doubted, the value observed and the bound it passes; both carry their unit.

    ``observed`` is the entry itself, for steel its difference from the air; ``bound`` is a threshold of this module,
    for neighbours their middle value, for digits the resolution of the gauge.
    """

    kind: DoubtKind
    observed: Quantity
    bound: Quantity


def steel_doubt(steel: Quantity, air: Quantity) -> Doubt | None:
    """Doubt steel more than 20 °C from the air around it: 85 typed for 8.5, or °F for °C.

    Parameters:
        steel : Quantity [temperature].
        air : Quantity [temperature], at the same place and time.
    Returns:
        Doubt with the difference in delta_degC, its sign kept; None where there is none.
    Raises:
        nothing.
    Valid range: any temperature; steel in strong sun can honestly be further, which is why it is asked.
    Accuracy: exact.
    Source: doubtful-entries
    Examples:
        >>> found = steel_doubt(Quantity(Decimal(85), "degC"), Quantity(Decimal("13.5"), "degC"))
        >>> found.kind, str(found.bound)
        ('steel-far-from-air', '20 °C')
    """
    difference = steel.in_unit("degC") - air.in_unit("degC")
    if abs(difference) <= STEEL_FROM_AIR.exact:
        return None
    return Doubt("steel-far-from-air", Quantity(difference, "delta_degC"), STEEL_FROM_AIR)


def air_doubt(air: Quantity) -> Doubt | None:
    """Doubt air above 45 °C: 55 read in °F and written as °C.

    Parameters:
        air : Quantity [temperature].
    Returns:
        Doubt, or None.
    Raises:
        nothing.
    Valid range: any temperature.
    Accuracy: exact.
    Source: doubtful-entries
    Examples:
        >>> air_doubt(Quantity(Decimal(55), "degC")).kind
        'air-hot'
        >>> air_doubt(Quantity(Decimal(55), "degF"))
    """
    return Doubt("air-hot", air, HOTTEST_AIR) if air.in_unit("degC") > HOTTEST_AIR.exact else None


def patch_doubt(area: Quantity) -> Doubt | None:
    """Doubt an area of extraction of a salt test outside 1 to 100 cm2: a wrong unit, or a point lost.

    Parameters:
        area : Quantity [area], of the steel under the patch.
    Returns:
        Doubt with the end of the range that is passed, or None; both ends belong to the range.
    Raises:
        nothing.
    Valid range: any area.
    Accuracy: exact.
    Source: doubtful-entries
    Examples:
        >>> str(patch_doubt(Quantity(Decimal("12.25"), "m2")).bound)
        '100 cm²'
        >>> patch_doubt(Quantity(Decimal("12.25"), "cm2"))
    """
    size = area.in_unit("cm2")
    if size < SMALLEST_PATCH.exact:
        return Doubt("patch-area", area, SMALLEST_PATCH)
    return Doubt("patch-area", area, LARGEST_PATCH) if size > LARGEST_PATCH.exact else None


def blast_pressure_doubt(pressure: Quantity) -> Doubt | None:
    """Doubt compressed air below 100 kPa, at the nozzle or the compressor: 7 bar written as 7 kPa.

    Parameters:
        pressure : Quantity [pressure], above the surroundings.
    Returns:
        Doubt, or None.
    Raises:
        nothing.
    Valid range: compressed air for blasting, not the pressure of the weather.
    Accuracy: exact.
    Source: doubtful-entries
    Examples:
        >>> blast_pressure_doubt(Quantity(Decimal(7), "kPa")).kind
        'blast-pressure-low'
        >>> blast_pressure_doubt(Quantity(Decimal(7), "bar"))
    """
    return Doubt("blast-pressure-low", pressure, LOWEST_BLAST) if pressure.in_unit("kPa") < LOWEST_BLAST.exact else None


def neighbour_doubt(value: Quantity, neighbours: Iterable[Quantity]) -> Doubt | None:
    """Doubt a value that its neighbours say has its point one place off: 24 among 2.4, 2.5 and 2.6.

    Parameters:
        value : Quantity of a ratio scale, such as a reading or a conductivity; never a temperature.
        neighbours : Quantity of the same kind; the other values of the same series, without ``value``.
    Returns:
        Doubt with the neighbours' middle value in the unit of ``value``; None with fewer than two neighbours, or where
        the value is less than five times and more than a fifth of it. Of an even number of neighbours the middle
        nearer to the value is taken, so that a slip among two does not cast doubt on the third.
    Raises:
        QuantityError: a neighbour of another kind.
    Valid range: neighbours that honestly lie within half and twice their middle.
    Accuracy: exact.
    Source: doubtful-entries
    Examples:
        >>> mil = lambda text: Quantity(Decimal(text), "mil")
        >>> str(neighbour_doubt(mil("24"), map(mil, ("2.4", "2.5", "2.6"))).bound)
        '2.5 mil'
        >>> neighbour_doubt(mil("4.8"), map(mil, ("2.4", "2.5", "2.6")))
    """
    ordered = sorted((one.to(value.unit) for one in neighbours), key=lambda one: one.exact)
    if len(ordered) < FEWEST_NEIGHBOURS:
        return None
    lower, upper = ordered[(len(ordered) - 1) // 2], ordered[len(ordered) // 2]
    if value.exact >= MOVED_POINT * upper.exact > 0:
        return Doubt("unlike-neighbours", value, upper)
    if lower.exact > 0 and MOVED_POINT * value.exact <= lower.exact:
        return Doubt("unlike-neighbours", value, lower)
    return None


def digits_doubt(reading: Quantity, resolution: Quantity) -> Doubt | None:
    """Doubt a reading with more digits than its gauge shows: 2.45 off a gauge that shows tenths.

    Parameters:
        reading : Quantity [height], as written down, before any film is taken off.
        resolution : Quantity [height], the step of the gauge.
    Returns:
        Doubt, or None; None too where the resolution is stated in another unit than the reading, which says nothing
        about digits.
    Raises:
        nothing.
    Valid range: a reading that is one the gauge showed, not a mean.
    Accuracy: exact.
    Source: doubtful-entries
    Examples:
        >>> step = Quantity(Decimal("0.1"), "mil")
        >>> digits_doubt(Quantity(Decimal("2.45"), "mil"), step).kind
        'finer-than-gauge'
        >>> digits_doubt(Quantity(Decimal("2.4"), "mil"), step)
    """
    if reading.unit != resolution.unit or resolution.exact <= 0:
        return None
    shown = reading.places <= resolution.places and (reading.exact / resolution.exact).denominator == 1
    return None if shown else Doubt("finer-than-gauge", reading, resolution)
