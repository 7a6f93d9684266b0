"""What can be stated about the ambient conditions: facts, findings, gaps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from reportgen.results.facts import Facts, Nothing
from reportgen.results.statements import GapCode, fails, missing

if TYPE_CHECKING:
    from decimal import Decimal

    from reportgen.measurements.gaps import Gap
    from reportgen.results.facts import Amount, Word


# What is required


@dataclass(frozen=True, slots=True)
class MarginAtLeast(Facts):
    """How far above the dew point the steel must be."""

    limit: Amount


@dataclass(frozen=True, slots=True)
class HumidityAtMost(Facts):
    """The highest relative humidity."""

    limit: Amount


@dataclass(frozen=True, slots=True)
class SteelAtLeast(Facts):
    """The lowest temperature of the steel."""

    limit: Amount


@dataclass(frozen=True, slots=True)
class SteelAtMost(Facts):
    """The highest temperature of the steel."""

    limit: Amount


@dataclass(frozen=True, slots=True)
class AirAtLeast(Facts):
    """The lowest temperature of the air."""

    limit: Amount


@dataclass(frozen=True, slots=True)
class AirAtMost(Facts):
    """The highest temperature of the air."""

    limit: Amount


@dataclass(frozen=True, slots=True)
class ReadEvery(Facts):
    """How often the conditions are read."""

    interval: Amount


@dataclass(frozen=True, slots=True)
class ReadAtWork(Facts):
    """The conditions are read while work goes on; how often is not stated."""


LimitOf = MarginAtLeast | HumidityAtMost | SteelAtLeast | SteelAtMost | AirAtLeast | AirAtMost
Demand = LimitOf | ReadEvery
ReadWhen = ReadEvery | ReadAtWork


@dataclass(frozen=True, slots=True)
class ConditionsRequired(Facts):
    """What the contract requires; it may state limits of nothing that is judged."""

    demands: tuple[Demand, ...] = ()


# What was read


@dataclass(frozen=True, slots=True)
class AirRead(Facts):
    """Temperature of the air."""

    value: Amount


@dataclass(frozen=True, slots=True)
class HumidityRead(Facts):
    """Relative humidity."""

    value: Amount


@dataclass(frozen=True, slots=True)
class SteelRead(Facts):
    """Temperature of the coldest steel."""

    value: Amount


@dataclass(frozen=True, slots=True)
class WorkOn(Facts):
    """Work during which limits apply."""

    work: Annotated[Word, "work"]
    area: str


@dataclass(frozen=True, slots=True)
class ConditionsSeen(Facts):
    """A reading: where it was taken, what was read and found, during which work."""

    taken_at: str | None
    air: AirRead
    humidity: HumidityRead
    steel: SteelRead
    dew_point: Amount
    margin: Amount
    verdict: Annotated[Word, "verdict"]
    during: tuple[WorkOn, ...] = ()


@dataclass(frozen=True, slots=True)
class LimitMissed(Facts):
    """A value that misses its limit during ``work``, or while ``idle``; ``asked`` where an entry is open to doubt."""

    taken_at: str | None
    value: Amount
    limit: LimitOf
    work: Annotated[Word, "work"] | None = None
    idle: Annotated[Word, "work-none"] | None = None
    asked: Annotated[Word, "conditions-asked"] | None = None


# Why there is no dew point


@dataclass(frozen=True, slots=True)
class TemperatureOutside(Facts):
    """A temperature outside the range of the formula, which is in °C."""

    thermometer: Annotated[Word, "thermometer"]
    value: Amount
    lowest: Decimal
    highest: Amount
    surface: Annotated[Word, "formula-over"]


@dataclass(frozen=True, slots=True)
class DewPointOutside(Facts):
    """A dew point outside the range of the formula, which is in °C."""

    value: Amount
    lowest: Decimal
    highest: Amount
    surface: Annotated[Word, "formula-over"]


@dataclass(frozen=True, slots=True)
class HumidityOutside(Facts):
    """A relative humidity that is none."""

    value: Amount


@dataclass(frozen=True, slots=True)
class PressureOutside(Facts):
    """A pressure at which the psychrometer formula does not hold."""

    value: Amount
    standard: Amount


@dataclass(frozen=True, slots=True)
class WetBulbAbove(Facts):
    """A wet bulb above the dry one."""

    wet_bulb: Amount
    air: Amount


@dataclass(frozen=True, slots=True)
class WetBulbImpossible(Facts):
    """A wet bulb that is too cold for any air."""

    air: Amount
    pressure: Amount
    wet_bulb: Amount


OutsideWhat = (
    TemperatureOutside | DewPointOutside | HumidityOutside | PressureOutside | WetBulbAbove | WetBulbImpossible
)


@dataclass(frozen=True, slots=True)
class OutsideRange(Facts):
    """A reading that gives no dew point, and why."""

    taken_at: str | None
    why: OutsideWhat


# What is missing


@dataclass(frozen=True, slots=True)
class ConditionsUnread(Facts):
    """Work that no reading covers in time."""

    work: Annotated[Word, "work"]
    gap: Gap
    demand: ReadWhen


@dataclass(frozen=True, slots=True)
class ConditionsElsewhere(Facts):
    """Work at a place where no reading was taken; ``silent`` readings do not say where they were taken."""

    work: Annotated[Word, "work"]
    place: str
    silent: int | None = None


DEW_POINT_MARGIN: Final = fails("dew-point-margin", LimitMissed)
HUMIDITY: Final = fails("humidity-above-maximum", LimitMissed)
TOO_COLD: Final = fails("steel-too-cold", LimitMissed)
TOO_WARM: Final = fails("steel-too-warm", LimitMissed)
AIR: Final = fails("air-temperature-outside-limits", LimitMissed)
INTERVAL: Final = missing("conditions-interval", ConditionsUnread)
MISSING: Final = missing("conditions-missing", ConditionsElsewhere)
UNPLACED: Final = missing("conditions-unplaced", Nothing, part="wrong")
OUTSIDE_RANGE: Final = missing("conditions-outside-range", OutsideRange)
NOT_COMPUTED: Final = GapCode("conditions-not-computed", OutsideRange)
WITHOUT_LIMIT: Final = GapCode("conditions-without-limit", Nothing)
STATEMENTS: Final = (
    DEW_POINT_MARGIN, HUMIDITY, TOO_COLD, TOO_WARM, AIR, INTERVAL, MISSING, UNPLACED, OUTSIDE_RANGE, NOT_COMPUTED,
    WITHOUT_LIMIT,
)  # fmt: skip
WORDS: Final = {
    "work": ("blasting", "coating", "blasting and coating", "coating and blasting"),
    "work-none": ("none",),
    "conditions-asked": ("asked",),
    "thermometer": ("air", "wet bulb"),
    "formula-over": ("water", "ice"),
}
"""Closed lists of words in these facts."""
