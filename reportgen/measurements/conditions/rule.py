"""Ambient conditions: dew point and margin of every reading, judged while blasting and coating, and their interval.

A reading tells about the areas of its place alone: it neither condemns nor clears steel elsewhere.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import zip_longest
from typing import Final

from reportgen.measurements.conditions import codes
from reportgen.measurements.conditions.record import Condition, ConditionLimits
from reportgen.measurements.gaps import GapBefore, gap_of
from reportgen.measurements.slice import Covering, Scene, Window
from reportgen.metrology.climate import STANDARD_PRESSURE, ClimateRangeError, dew_point, humidity_from_wet_bulb, margin
from reportgen.references import citation
from reportgen.results import AtTime, DerivationStep, Finding, Outcome, Severity, Stated, Verdict
from reportgen.results.facts import NOTHING, Amount, Place, Value, Word
from reportgen.results.statements import Code
from reportgen.units import Quantity, rounded

PRINTED_PLACES: Final = 1
DEFAULT_MARGIN_UNIT: Final = "delta_degC"
_NO_WORK: Final = Word("work-none", "none")
_ASKED: Final = Word("conditions-asked", "asked")


class ConditionResult(Value):
    """One reading of the conditions: humidity in %, dew point in °C, margin in the unit of its limit.

    ``place`` is where it was taken, as far as it says so: a place, the areas listed, or both.
    """

    time: AtTime
    place: str | None
    humidity: Decimal
    dew_point: Decimal
    margin: Decimal
    verdict: Verdict
    air: Decimal
    steel: Decimal
    margin_unit: str = "delta_degC"
    during: tuple[str, ...] = ()


class _Limit(Value):
    """One limit against one reading: what is compared, in the limit's unit, and which way it may not go."""

    code: Code[codes.LimitMissed]
    stated: type[codes.LimitOf]
    value: Fraction
    limit: Quantity
    known: bool = True
    """Whether nothing that it was computed from is doubted."""

    @property
    def met(self) -> bool:
        """Whether the unrounded value keeps the limit."""
        return self._met(self.value)

    def _met(self, value: Fraction | Decimal) -> bool:
        at_least = self.stated in {codes.MarginAtLeast, codes.SteelAtLeast, codes.AirAtLeast}
        return value >= self.limit.exact if at_least else value <= self.limit.exact

    @property
    def places(self) -> int:
        """Decimals that show the value on the side of the limit on which it is."""
        places = max(PRINTED_PLACES, self.limit.places)
        while self._met(rounded(self.value, places)) != self.met:
            places += 1
        return places

    def missed(self, taken_at: str | None, work: Word | None) -> codes.LimitMissed:
        """Return as facts how it was missed during some work, or while nothing was done."""
        value = Amount(rounded(self.value, self.places), self.limit.unit)
        idle, asked = (None if work else _NO_WORK), (None if self.known else _ASKED)
        return codes.LimitMissed(taken_at, value, self.stated(Amount.of(self.limit)), work, idle, asked)


class _Read(Value):
    """One reading of the conditions with what was computed from it: exact values and limits."""

    standing: Covering[Condition]
    humidity: Quantity
    dew: Quantity
    margin: Quantity
    limits: tuple[_Limit, ...]


def required(limit: ConditionLimits) -> codes.ConditionsRequired:
    """Return what is required as facts."""
    rows: tuple[tuple[type[codes.Demand], Quantity | None], ...] = (
        (codes.MarginAtLeast, limit.dew_point_margin), (codes.HumidityAtMost, limit.maximum_humidity),
        (codes.SteelAtLeast, limit.minimum_steel), (codes.SteelAtMost, limit.maximum_steel),
        (codes.AirAtLeast, limit.minimum_air), (codes.AirAtMost, limit.maximum_air), (codes.ReadEvery, limit.interval),
    )  # fmt: skip
    return codes.ConditionsRequired(tuple(stated(Amount.of(value)) for stated, value in rows if value is not None))


def seen(result: ConditionResult) -> codes.ConditionsSeen:
    """Return a result as facts."""
    work = [label.partition(" ") for label in result.during]
    return codes.ConditionsSeen(
        result.place, codes.AirRead(Amount(result.air, "degC")), codes.HumidityRead(Amount(result.humidity, "%")),
        codes.SteelRead(Amount(result.steel, "degC")), Amount(result.dew_point, "degC"),
        Amount(result.margin, result.margin_unit), Word("verdict", result.verdict),
        tuple(codes.WorkOn(Word("work", activity), area) for activity, _, area in work),
    )  # fmt: skip


def bears_on(result: ConditionResult, area: str) -> DerivationStep | None:
    """Return how a reading came about that stands for work on an area."""
    own = tuple(label for label in result.during if label.partition(" ")[2] == area)
    if not own:
        return None
    facts = seen(replace(result, during=own))
    read = (("air-read", facts.air), ("humidity-read", facts.humidity), ("steel-read", facts.steel))
    measured, rule, came = (
        Stated(group, "conditions", facts, Place(time=result.time)) for group in ("measured", "rule-of", "derived")
    )
    inputs = tuple(Stated("part", name, value) for name, value in read)
    return DerivationStep(measured, inputs, rule, citation("wmo-8-annex-4b").text, came)


def judge(limit: ConditionLimits | None, scene: Scene[Condition]) -> Outcome[ConditionResult]:
    """Judge every reading; a limit not met is a nonconformance only where something was being blasted or coated."""
    taken: list[_Read] = []
    refused: list[tuple[Covering[Condition], codes.OutsideRange]] = []
    for one in scene.standing:
        try:
            taken.append(_computed(limit, scene, one))
        except ClimateRangeError as error:
            refused.append((one, codes.OutsideRange(one.record.taken_at or None, outside(error))))
    findings = [finding for reading in taken for finding in _limit_findings(limit, scene, reading)]
    findings += [
        codes.OUTSIDE_RANGE.found(facts, Place(area, time=scene.printed(one.at)))
        for one, facts in refused
        for area in one.areas
    ]
    findings += _unplaced(scene)
    left_out = [codes.NOT_COMPUTED.at(facts, Place(time=scene.printed(one.at))) for one, facts in refused]
    if limit is None:
        left_out.append(codes.WITHOUT_LIMIT.at(NOTHING))
    else:
        findings += [*_unread(limit, scene), *_elsewhere(limit, scene)]
    return Outcome(tuple(_result(scene, reading) for reading in taken), tuple(findings), not_evaluated=tuple(left_out))


def _computed(limit: ConditionLimits | None, scene: Scene[Condition], one: Covering[Condition]) -> _Read:
    """Compute what a reading tells, and hold it against every limit the contract states, each in its own unit.

    Raises:
        ClimateRangeError: it lies outside the range of a formula.
    """
    record = one.record
    humidity = record.humidity
    if humidity is None:
        assert record.wet_bulb is not None  # noqa: S101 - the model asks for humidity or for a wet bulb with pressure
        assert record.pressure is not None  # noqa: S101
        humidity = humidity_from_wet_bulb(
            record.air, record.wet_bulb, record.pressure, wick="ice" if record.wet_bulb_iced else "water",
            psychrometer="wmo" if limit is None else limit.psychrometer or "wmo",
        )  # fmt: skip
    dew = dew_point(record.air, humidity)
    if limit is None:
        return _Read(one, humidity, dew, margin(record.steel, dew, DEFAULT_MARGIN_UNIT), ())
    least = limit.dew_point_margin
    above = margin(record.steel, dew, DEFAULT_MARGIN_UNIT if least is None else least.unit)
    warmest, hottest = record.steel, "steel"
    if record.steel_warmest is not None:
        warmest, hottest = record.steel_warmest, "steel_warmest"
    moist = ("humidity",) if record.humidity is not None else ("air",)
    rows: tuple[
        tuple[Code[codes.LimitMissed], type[codes.LimitOf], Quantity, Quantity | None, tuple[str, ...]], ...
    ] = (
        (codes.DEW_POINT_MARGIN, codes.MarginAtLeast, above, least, ("air", "steel", *moist)),
        (codes.HUMIDITY, codes.HumidityAtMost, humidity, limit.maximum_humidity, moist),
        (codes.TOO_COLD, codes.SteelAtLeast, record.steel, limit.minimum_steel, ("steel",)),
        (codes.TOO_WARM, codes.SteelAtMost, warmest, limit.maximum_steel, (hottest,)),
        (codes.AIR, codes.AirAtLeast, record.air, limit.minimum_air, ("air",)),
        (codes.AIR, codes.AirAtMost, record.air, limit.maximum_air, ("air",)),
    )
    limits = tuple(
        _Limit(code, kind, value.in_unit(stated.unit), stated, not scene.asked(record, fields))
        for code, kind, value, stated, fields in rows
        if stated is not None
    )
    return _Read(one, humidity, dew, above, limits)


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


def _result(scene: Scene[Condition], reading: _Read) -> ConditionResult:
    verdict: Verdict = "not evaluated"
    if reading.limits:
        known = [limit for limit in reading.limits if limit.known]
        verdict = "conforms" if len(known) == len(reading.limits) else "inconclusive"
        if not all(limit.met for limit in known):
            verdict = "does not conform"
    margins = [limit.places for limit in reading.limits if limit.stated is codes.MarginAtLeast]
    humidities = [limit.places for limit in reading.limits if limit.stated is codes.HumidityAtMost]
    one = reading.standing
    record, stated = one.record, one.record.humidity
    digits = max(humidities, default=PRINTED_PLACES) if stated is None else stated.places
    return ConditionResult(
        scene.printed(one.at), record.taken_at or None, rounded(reading.humidity.exact, digits),
        rounded(reading.dew.exact, PRINTED_PLACES), rounded(reading.margin.exact, max(margins, default=PRINTED_PLACES)),
        verdict, rounded(record.air.in_unit("degC"), PRINTED_PLACES),
        rounded(record.steel.in_unit("degC"), PRINTED_PLACES), reading.margin.unit,
        tuple(window.label for window in one.windows),
    )  # fmt: skip


def _by_area(windows: Iterable[Window]) -> dict[str, Word]:
    """Return what was done on each area, in the order in which it was."""
    found: dict[str, list[str]] = {}
    for window in windows:
        found.setdefault(window.area, []).append(window.activity)
    return {area: Word("work", " and ".join(dict.fromkeys(done))) for area, done in found.items()}


def _limit_findings(
    stated: ConditionLimits | None, scene: Scene[Condition], reading: _Read
) -> Iterator[Finding]:  # fmt: skip
    """Yield one finding for each limit not met and each area concerned; an observation where none was."""
    clause, one = (None if stated is None else stated.clause), reading.standing
    time, taken_at = scene.printed(one.at), one.record.taken_at or None
    concerned = _by_area(one.windows)
    for limit in (limit for limit in reading.limits if not limit.met):
        for area, work in concerned.items():
            severity: Severity | None = None if limit.known else "observation"
            missed = limit.missed(taken_at, work)
            yield limit.code.found(missed, Place(area, time=time), clause=clause, severity=severity)
        if not concerned and one.covered is not None:
            missed = limit.missed(taken_at, None)
            yield limit.code.found(missed, Place(time=time), clause=clause, severity="observation")


def _unread(stated: ConditionLimits, scene: Scene[Condition]) -> Iterator[Finding]:
    """Yield a finding for each area worked on without a reading beforehand, or longer than allowed since the last."""
    demand = codes.ReadAtWork() if stated.interval is None else codes.ReadEvery(Amount.of(stated.interval))
    reported = set(_uncovered(scene))
    for window in scene.windows:
        times = [one.at for one in scene.standing if window in one.windows]
        if stated.interval is not None:
            gap = gap_of(scene, (window.start, window.end), times, stated.interval)
        else:  # any reading will do
            gap = None if times else GapBefore(scene.printed(window.end))
        if gap is not None and window.area not in reported:
            reported.add(window.area)
            facts = codes.ConditionsUnread(Word("work", window.activity), gap, demand)
            yield codes.INTERVAL.found(facts, Place(window.area), clause=stated.clause)


def _elsewhere(stated: ConditionLimits, scene: Scene[Condition]) -> Iterator[Finding]:
    """Yield a finding for each area worked on although all readings were taken elsewhere."""
    silent = sum(one.covered is None for one in scene.standing) or None
    places = {area.id: area.place for area in scene.areas}
    for area, work in _uncovered(scene).items():
        facts = codes.ConditionsElsewhere(work, places[area], silent)
        yield codes.MISSING.found(facts, Place(area), clause=stated.clause)


def _uncovered(scene: Scene[Condition]) -> dict[str, Word]:
    """Return areas that no reading of the day covers, with what was done on them; none where there is no reading."""
    known: set[str] = set().union(*(one.covered or () for one in scene.standing))
    work = _by_area(scene.windows) if scene.standing else {}
    return {area: done for area, done in work.items() if area not in known}


def _unplaced(scene: Scene[Condition]) -> Iterator[Finding]:
    """Yield a finding for each area that a reading may concern which does not say where it was taken."""
    silent = sorted({one.at for one in scene.standing if one.covered is None})
    for at, end in zip_longest(silent, silent[1:]):
        work = [window for window in scene.windows if window.end >= at and (end is None or window.start < end)]
        for area in dict.fromkeys(window.area for window in work):
            yield codes.UNPLACED.found(NOTHING, Place(area, time=scene.printed(at)))
