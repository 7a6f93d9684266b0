"""What can be stated about the ambient conditions: facts, findings, gaps."""

from decimal import Decimal
from typing import Annotated, Final

from reportgen.measurements.gaps import Gap
from reportgen.results.codes.profile import DecisionRule, GuardBand
from reportgen.results.facts import Amount, Facts, Nothing, Word
from reportgen.results.statements import Code, GapCode, Settled, fails, missing
from reportgen.results.values import Component, UncertainQuantity, VerdictWord

Work = Annotated[Word, "work", ("blasting", "coating", "blasting and coating", "coating and blasting")]
NoWork = Annotated[Word, "work-none", ("none",)]
InDoubt = Annotated[Word, "conditions-in-doubt", ("if-shown-rightly",)]
Thermometer = Annotated[Word, "thermometer", ("air", "wet bulb")]
FormulaOver = Annotated[Word, "formula-over", ("water", "ice")]


# What is required


class _Limit(Facts):
    limit: Amount


class MarginAtLeast(_Limit):
    """How far above the dew point the steel must be."""


class HumidityAtMost(_Limit):
    """The highest relative humidity."""


class SteelAtLeast(_Limit):
    """The lowest temperature of the steel."""


class SteelAtMost(_Limit):
    """The highest temperature of the steel."""


class AirAtLeast(_Limit):
    """The lowest temperature of the air."""


class AirAtMost(_Limit):
    """The highest temperature of the air."""


class ReadEvery(Facts):
    """How often the conditions are read."""

    interval: Amount


class ReadAtWork(Facts):
    """The conditions are read while work goes on; how often is not stated."""


LimitOf = MarginAtLeast | HumidityAtMost | SteelAtLeast | SteelAtMost | AirAtLeast | AirAtMost
Demand = LimitOf | ReadEvery
ReadWhen = ReadEvery | ReadAtWork


class ConditionsRequired(Facts):
    """What the contract requires; it may state limits of nothing that is judged."""

    demands: tuple[Demand, ...] = ()
    decision_rule: DecisionRule | None = None


# What was read


class _Read(Facts):
    value: Amount


class AirRead(_Read):
    """Temperature of the air."""


class HumidityRead(_Read):
    """Relative humidity."""


class SteelRead(_Read):
    """Temperature of the coldest steel."""


class WorkOn(Facts):
    """Work during which limits apply."""

    work: Work
    area: str


class ConditionsSeen(Facts):
    """A reading: where it was taken, what was read and found, during which work."""

    taken_at: str | None
    air: AirRead
    humidity: HumidityRead
    steel: SteelRead
    dew_point: Amount
    margin: Amount
    verdict: VerdictWord
    during: tuple[WorkOn, ...] = ()
    expanded: Amount | None = None


class LimitMissed(Facts):
    """A value that misses its limit during ``work``, or while ``idle``.

    ``doubt`` where what showed it is in doubt; ``expanded`` is U where the decision rule asks for it.
    """

    taken_at: str | None
    value: Amount
    limit: LimitOf
    work: Work | None = None
    idle: NoWork | None = None
    doubt: InDoubt | None = None
    expanded: Amount | None = None


class BelowDewPoint(LimitMissed):
    """The steel is colder than the dew point, by ``value``."""


class LimitNear(Facts):
    """A value nearer to its limit than its uncertainty, the guard band, during ``work``; where it lies beside it."""

    taken_at: str | None
    quantity: UncertainQuantity
    value: Amount
    expanded: Amount
    limit: LimitOf
    work: Work
    band: GuardBand


class Lacking(Facts):
    """A quantity whose error is not on record: that of the ``instruments`` named for it, None where none is named."""

    quantity: Component
    instruments: str | None = None


class UncertaintyLacking(Facts):
    """All that is lacking for the uncertainty of a reading."""

    lacking: tuple[Lacking, ...]


class ErrorsUnknown(Facts):
    """The decision rule needs an uncertainty, and the errors of the instruments are not on record."""

    taken_at: str | None
    quantity: UncertainQuantity
    value: Amount
    limit: LimitOf
    work: Work
    rule: DecisionRule
    lacking: tuple[Lacking, ...]


class WarmestUnmeasured(Facts):
    """The steel has a highest temperature, and during ``work`` the coldest steel alone was measured: ``value``."""

    taken_at: str | None
    value: Amount
    limit: SteelAtMost
    work: Work


# Why there is no dew point


class TemperatureOutside(Facts):
    """A temperature outside the range of the formula, which is in °C."""

    thermometer: Thermometer
    value: Amount
    lowest: Decimal
    highest: Amount
    surface: FormulaOver


class DewPointOutside(Facts):
    """A dew point outside the range of the formula, which is in °C."""

    value: Amount
    lowest: Decimal
    highest: Amount
    surface: FormulaOver


class HumidityOutside(_Read):
    """A relative humidity that is none."""


class PressureOutside(Facts):
    """A pressure at which the psychrometer formula does not hold."""

    value: Amount
    standard: Amount


class WetBulbAbove(Facts):
    """A wet bulb above the dry one."""

    wet_bulb: Amount
    air: Amount


class WetBulbImpossible(Facts):
    """A wet bulb that is too cold for any air."""

    air: Amount
    pressure: Amount
    wet_bulb: Amount


OutsideWhat = (
    TemperatureOutside | DewPointOutside | HumidityOutside | PressureOutside | WetBulbAbove | WetBulbImpossible
)


class OutsideRange(Facts):
    """A reading that gives no dew point, and why."""

    taken_at: str | None
    why: OutsideWhat


# What is missing


class ConditionsUnread(Facts):
    """Work that no reading covers in time."""

    work: Work
    gap: Gap
    demand: ReadWhen


class ConditionsElsewhere(Facts):
    """Work at a place where no reading was taken; ``silent`` readings do not say where they were taken."""

    work: Work
    place: str
    silent: int | None = None


class ReadLongBefore(Facts):
    """Areas with work longer after the reading before it than is usual between two, where the contract says nothing."""

    areas: tuple[str, ...]
    usual: Amount


def conditions_settled(facts: LimitNear | ErrorsUnknown) -> Settled:
    """Errors of instruments may still be entered; the conditions of that time cannot be read again."""
    return "entry" if isinstance(facts, ErrorsUnknown) else "blasting"


DEW_POINT_MARGIN: Final[Code[LimitMissed]] = fails("dew-point-margin", "blasting", LimitMissed, BelowDewPoint)
HUMIDITY: Final = fails("humidity-above-maximum", "blasting", LimitMissed)
TOO_COLD: Final = fails("steel-too-cold", "blasting", LimitMissed)
TOO_WARM: Final = fails("steel-too-warm", "blasting", LimitMissed)
AIR: Final = fails("air-temperature-outside-limits", "blasting", LimitMissed)
IN_GUARD_BAND: Final = missing("conditions-in-guard-band", "blasting", LimitNear)
INCONCLUSIVE: Final[Code[LimitNear | ErrorsUnknown]] = missing(
    "conditions-inconclusive", conditions_settled, LimitNear, ErrorsUnknown
)
WARMEST: Final = missing("steel-warmest-missing", "entry", WarmestUnmeasured)
INTERVAL: Final = missing("conditions-interval", "entry", ConditionsUnread, part="past")
MISSING: Final = missing("conditions-missing", "entry", ConditionsElsewhere)
UNPLACED: Final = missing("conditions-unplaced", "entry", Nothing, part="wrong")
OUTSIDE_RANGE: Final = missing("conditions-outside-range", "entry", OutsideRange)
NOT_COMPUTED: Final = GapCode("conditions-not-computed", OutsideRange)
UNCERTAINTY_UNKNOWN: Final = GapCode("conditions-uncertainty-unknown", UncertaintyLacking)
WITHOUT_INTERVAL: Final = GapCode("conditions-without-interval", ReadLongBefore)
WITHOUT_LIMIT: Final = GapCode("conditions-without-limit", Nothing)
