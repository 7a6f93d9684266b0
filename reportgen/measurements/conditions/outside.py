"""Why a reading gives no dew point, as facts."""

from decimal import Decimal

from reportgen.measurements.conditions import codes
from reportgen.metrology.climate import STANDARD_PRESSURE, ClimateRangeError
from reportgen.results.facts import Amount, Word


def outside(error: ClimateRangeError) -> codes.OutsideWhat:
    """Return what lies outside the range of a formula."""
    first, *others = map(Amount.of, error.values)
    if error.what == "humidity":
        return codes.HumidityOutside(first)
    if error.what == "pressure":
        return codes.PressureOutside(first, Amount.of(STANDARD_PRESSURE))
    if error.what == "wet bulb above air":
        return codes.WetBulbAbove(first, others[0])
    if error.what == "wet bulb impossible":
        return codes.WetBulbImpossible(first, *others)
    lowest, highest = others
    over = Word("formula-over", error.surface)
    if error.what == "dew point":
        return codes.DewPointOutside(first, Decimal(lowest.value), highest, over)
    return codes.TemperatureOutside(Word("thermometer", error.what), first, Decimal(lowest.value), highest, over)
