"""Why a reading gives no dew point, as facts."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from reportgen.measurements.conditions.codes import (
    DewPointOutside,
    HumidityOutside,
    PressureOutside,
    TemperatureOutside,
    WetBulbAbove,
    WetBulbImpossible,
)
from reportgen.metrology.climate import STANDARD_PRESSURE
from reportgen.results.facts import Amount, Word

if TYPE_CHECKING:
    from reportgen.measurements.conditions.codes import OutsideWhat
    from reportgen.metrology.climate import ClimateRangeError


def outside(error: ClimateRangeError) -> OutsideWhat:
    """Return what lies outside the range of a formula."""
    first, *others = map(Amount.of, error.values)
    if error.what == "humidity":
        return HumidityOutside(first)
    if error.what == "pressure":
        return PressureOutside(first, Amount.of(STANDARD_PRESSURE))
    if error.what == "wet bulb above air":
        return WetBulbAbove(first, others[0])
    if error.what == "wet bulb impossible":
        return WetBulbImpossible(first, *others)
    lowest, highest = others
    over = Word("formula-over", error.surface)
    if error.what == "dew point":
        return DewPointOutside(first, Decimal(lowest.value), highest, over)
    return TemperatureOutside(Word("thermometer", error.what), first, Decimal(lowest.value), highest, over)
