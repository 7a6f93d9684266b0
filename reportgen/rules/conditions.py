"""Ambient conditions: dew point and margin of every reading, judged while blasting and coating, and their interval.

A reading tells about the areas of its place alone: it neither condemns nor clears steel elsewhere.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import pairwise, zip_longest
from typing import TYPE_CHECKING, Final

from reportgen.errors import RangeError
from reportgen.job.places import taken_at
from reportgen.metrology.climate import dew_point, humidity_from_wet_bulb, margin
from reportgen.results import ConditionResult
from reportgen.rules.covering import at_words, standing
from reportgen.rules.outcome import IF_RIGHT, Outcome, counted, found, shown, shown_number
from reportgen.units import Quantity, elapsed, rounded

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.job import Condition, ConditionLimits
    from reportgen.measurements import Window
    from reportgen.metrology.climate import Psychrometer
    from reportgen.results import Finding, Severity, Verdict
    from reportgen.rules.covering import Standing
    from reportgen.rules.doubts import Doubts
    from reportgen.rules.scene import JobView

PRINTED_PLACES: Final = 1
DEFAULT_MARGIN_UNIT: Final = "delta_degC"


@dataclass(frozen=True, slots=True)
class _Limit:
    """One limit against one reading: what is compared, in the limit's unit, and which way it may not go."""

    code: str
    what: str
    value: Fraction
    limit: Quantity
    at_least: bool
    known: bool = True
    """Whether nothing that it was computed from is doubted."""

    @property
    def met(self) -> bool:
        """Whether the unrounded value keeps the limit."""
        return self.value >= self.limit.exact if self.at_least else self.value <= self.limit.exact

    @property
    def places(self) -> int:
        """Decimals that show the value on the side of the limit on which it is."""
        places = max(PRINTED_PLACES, self.limit.places)
        while self._shown_met(places) != self.met:
            places += 1
        return places

    def _shown_met(self, places: int) -> bool:
        number = rounded(self.value, places)
        return number >= self.limit.exact if self.at_least else number <= self.limit.exact

    @property
    def observed(self) -> str:
        """The value as a finding states it."""
        return f"{self.what} {shown_number(self.value, self.limit.unit, self.places)}"

    @property
    def words(self) -> str:
        """The limit as a finding states it."""
        return f"{self.what} at {'least' if self.at_least else 'most'} {shown(self.limit)}"


@dataclass(frozen=True, slots=True)
class ReadConditions:
    """One reading of the conditions with what was computed from it: exact values, limits, windows it stands for."""

    record: Condition
    at: dt.datetime
    humidity: Quantity
    dew: Quantity
    margin: Quantity
    limits: tuple[_Limit, ...]
    windows: tuple[Window, ...]


def conditions(view: JobView, asked: Doubts) -> Outcome[ConditionResult]:
    """Judge every reading; a limit not met is a nonconformance only where something was being blasted or coated."""
    stated = view.specification.conditions
    taken, refused = _read(view, asked)
    results = tuple(_result(view, reading) for reading in taken)
    findings = [finding for reading in taken for finding in _limit_findings(view, reading)]
    findings.extend(_refusals(view, refused))
    findings.extend(_unplaced(view))
    left_out = [f"conditions at {one.record.time:%H:%M}: {one.error.message}" for one in refused]
    if stated is None:
        left_out.append("conditions: the contract states no limits")
    else:
        findings.extend(_interval_findings(view, (*taken, *refused), stated))
        findings.extend(_elsewhere(view, stated))
    return Outcome(results, tuple(findings), not_evaluated=tuple(left_out))


@dataclass(frozen=True, slots=True)
class _Refused:
    """A reading outside the range of a formula, which was taken nevertheless."""

    record: Condition
    at: dt.datetime
    windows: tuple[Window, ...]
    error: RangeError


def _read(view: JobView, asked: Doubts) -> tuple[list[ReadConditions], list[_Refused]]:
    """Compute what each reading tells, in order of time; readings outside a formula's range are set apart."""
    taken: list[ReadConditions] = []
    refused: list[_Refused] = []
    for one in standing(view):
        try:
            taken.append(_computed(view, one, asked))
        except RangeError as error:
            refused.append(_Refused(one.record, one.at, one.windows, error))
    return taken, refused


def _windows(view: JobView, at: dt.datetime, end: dt.datetime | None) -> Iterator[Window]:
    """Yield the work from a reading on until the next one."""
    return (window for window in view.windows if window.end >= at and (end is None or window.start < end))


def _computed(view: JobView, one: Standing, asked: Doubts) -> ReadConditions:
    limits, record = view.specification.conditions, one.record
    humidity = record.humidity
    if humidity is None:
        assert record.wet_bulb is not None  # noqa: S101 - the model asks for humidity or for a wet bulb with pressure
        assert record.pressure is not None  # noqa: S101
        humidity = humidity_from_wet_bulb(
            record.air, record.wet_bulb, record.pressure, psychrometer=psychrometer(limits),
            wick="ice" if record.wet_bulb_iced else "water",
        )  # fmt: skip
    dew = dew_point(record.air, humidity)
    unit = DEFAULT_MARGIN_UNIT
    if limits is not None and limits.dew_point_margin is not None:
        unit = limits.dew_point_margin.unit
    above = margin(record.steel, dew, unit)
    found_limits = () if limits is None else tuple(_limits(limits, record, humidity, above, asked))
    return ReadConditions(record, one.at, humidity, dew, above, found_limits, one.windows)


def psychrometer(limits: ConditionLimits | None) -> Psychrometer:
    """Return the psychrometer formula of the contract, or the WMO one, which the report then names."""
    return "wmo" if limits is None or limits.psychrometer is None else limits.psychrometer


def _limits(
    stated: ConditionLimits, record: Condition, humidity: Quantity, above: Quantity, asked: Doubts
) -> Iterator[_Limit]:  # fmt: skip
    """Yield every limit the contract states, each in its own unit, against this reading."""
    warmest, hottest = record.steel, "steel"
    if record.steel_warmest is not None:
        warmest, hottest = record.steel_warmest, "steel_warmest"
    moist = ("humidity",) if record.humidity is not None else ("air",)
    rows: tuple[tuple[str, str, Quantity, Quantity | None, bool, tuple[str, ...]], ...] = (
        (
            "dew-point-margin", "steel above the dew point by", above, stated.dew_point_margin, True,
            ("air", "steel", *moist),
        ),
        ("humidity-above-maximum", "relative humidity", humidity, stated.maximum_humidity, False, moist),
        ("steel-too-cold", "steel temperature", record.steel, stated.minimum_steel, True, ("steel",)),
        ("steel-too-warm", "steel temperature", warmest, stated.maximum_steel, False, (hottest,)),
        ("air-temperature-outside-limits", "air temperature", record.air, stated.minimum_air, True, ("air",)),
        ("air-temperature-outside-limits", "air temperature", record.air, stated.maximum_air, False, ("air",)),
    )  # fmt: skip
    for code, what, value, limit, at_least, fields in rows:
        if limit is not None:
            known = not asked.about(record, fields)
            yield _Limit(code, what, value.in_unit(limit.unit), limit, at_least, known)


def _result(view: JobView, reading: ReadConditions) -> ConditionResult:
    verdict: Verdict = "not evaluated"
    if reading.limits:
        known = [limit for limit in reading.limits if limit.known]
        verdict = "conforms" if len(known) == len(reading.limits) else "inconclusive"
        if not all(limit.met for limit in known):
            verdict = "does not conform"
    margins = [limit.places for limit in reading.limits if limit.code == "dew-point-margin"]
    humidities = [limit.places for limit in reading.limits if limit.code == "humidity-above-maximum"]
    return ConditionResult(
        view.printed(reading.at), taken_at(reading.record) or None,
        _humidity(reading, max(humidities, default=PRINTED_PLACES)),
        rounded(reading.dew.exact, PRINTED_PLACES), rounded(reading.margin.exact, max(margins, default=PRINTED_PLACES)),
        verdict, rounded(reading.record.air.in_unit("degC"), PRINTED_PLACES),
        rounded(reading.record.steel.in_unit("degC"), PRINTED_PLACES), reading.margin.unit,
        tuple(window.label for window in reading.windows),
    )  # fmt: skip


def _humidity(reading: ReadConditions, places: int) -> Decimal:
    """Return the humidity as read, or as computed from the wet bulb."""
    stated = reading.record.humidity
    return rounded(reading.humidity.exact, places if stated is None else stated.places)


def _limit_findings(view: JobView, reading: ReadConditions) -> Iterator[Finding]:
    """Yield one finding for each limit not met and each area concerned; an observation where none was."""
    stated = view.specification.conditions
    clause = None if stated is None else stated.clause
    at = at_words(view, reading.record)
    activities: dict[str, list[str]] = {}
    for window in reading.windows:
        activities.setdefault(window.area, []).append(window.activity)
    for limit in reading.limits:
        if limit.met:
            continue
        for area, during in activities.items():
            observed = f"{at}: {limit.observed} while {' and '.join(dict.fromkeys(during))}"
            observed += "" if limit.known else IF_RIGHT
            severity: Severity | None = None if limit.known else "observation"
            yield found(limit.code, observed, limit.words, area=area, clause=clause, severity=severity)
        if not activities and view.places.covered(reading.record) is not None:
            observed = f"{at}: {limit.observed}, nothing blasted or coated"
            yield found(limit.code, observed, limit.words, clause=clause, severity="observation")


def _refusals(view: JobView, refused: Sequence[_Refused]) -> Iterator[Finding]:
    for one in refused:
        at = at_words(view, one.record)
        for area in dict.fromkeys(window.area for window in one.windows):
            yield found("conditions-outside-range", f"{at}: {one.error.message}", "range of the formula", area=area)


def _interval_findings(
    view: JobView, taken: Sequence[ReadConditions | _Refused], stated: ConditionLimits
) -> Iterator[Finding]:  # fmt: skip
    """Yield a finding for each area worked on without a reading beforehand, or longer than allowed since the last."""
    if stated.interval is None:
        words = "a reading of the conditions while blasting and coating"
    else:
        words = f"a reading before work begins and every {shown(stated.interval)}"
    times: dict[Window, list[dt.datetime]] = {window: [] for window in view.windows}
    for reading in sorted(taken, key=lambda one: one.at):
        for window in reading.windows:
            times[window].append(reading.at)
    reported = set(_uncovered(view))
    for window, known in times.items():
        gap = _gap(window, known, stated.interval)
        if gap is not None and window.area not in reported:
            reported.add(window.area)
            observed = f"{window.activity}: {_gap_words(view, gap)}"
            yield found("conditions-interval", observed, words, area=window.area, clause=stated.clause)


_Gap = tuple[dt.datetime | None, dt.datetime]


def _gap(window: Window, known: list[dt.datetime], interval: Quantity | None) -> _Gap | None:
    """Return the first time of a window that no reading covers; without an interval any reading will do."""
    if interval is None:
        return None if known else (None, window.end)
    before = [at for at in known if at <= window.start]
    if not before:
        return None, window.start
    marks = [before[-1], *(at for at in known if window.start < at < window.end), window.end]
    for start, end in pairwise(marks):
        if elapsed(start, end, interval.unit) > interval.exact:
            return start, end
    return None


def _gap_words(view: JobView, gap: _Gap) -> str:
    start, end = gap
    if start is None:
        return f"no reading before {view.printed(end)}"
    return f"no reading between {view.printed(start)} and {view.printed(end)}"


def _uncovered(view: JobView) -> dict[str, list[str]]:
    """Return areas that no reading of the day covers, with what was done on them; none where there is no reading."""
    log = view.job.day.conditions
    known: set[str] = set().union(*(view.places.covered(record) or () for record in log))
    found_work: dict[str, list[str]] = {}
    for window in view.windows if log else ():
        if window.area not in known:
            found_work.setdefault(window.area, []).append(window.activity)
    return found_work


def _elsewhere(view: JobView, stated: ConditionLimits) -> Iterator[Finding]:
    """Yield a finding for each area worked on although all readings were taken elsewhere."""
    silent = sum(view.places.covered(record) is None for record in view.job.day.conditions)
    for area, work in _uncovered(view).items():
        place = view.places.of(area) or view.plan(area)[0].name
        observed = f"{' and '.join(dict.fromkeys(work))}: no reading at {place}"
        observed += f", {counted(silent, 'reading')} without a place" if silent else ""
        yield found(
            "conditions-missing", observed, "readings at the place of the area", area=area, clause=stated.clause
        )


def _unplaced(view: JobView) -> Iterator[Finding]:
    """Yield a finding for each area that a reading may concern which does not say where it was taken."""
    silent = sorted({view.at(one.time) for one in view.job.day.conditions if view.places.covered(one) is None})
    for at, end in zip_longest(silent, silent[1:]):
        for area in dict.fromkeys(window.area for window in _windows(view, at, end)):
            observed = f"{view.printed(at)}, no place stated"
            yield found("conditions-unplaced", observed, "the place of each reading, of several", area=area)
