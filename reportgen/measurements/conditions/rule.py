"""Ambient conditions: dew point and margin of every reading, judged while blasting and coating, and their interval.

A reading tells about the areas of its place alone: it neither condemns nor clears steel elsewhere.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import product, zip_longest
from typing import Any, Final

from reportgen.measurements.conditions import codes
from reportgen.measurements.conditions.record import Condition, ConditionLimits
from reportgen.measurements.conditions.uncertainty import Uncertainties, uncertainties
from reportgen.measurements.gaps import GapBefore, gap_of
from reportgen.measurements.judging import chance_within
from reportgen.measurements.shown_by import shown_by
from reportgen.measurements.slice import Covering, Scene, Window
from reportgen.measurements.uncertain import Uncertainty
from reportgen.metrology.climate import STANDARD_PRESSURE, ClimateRangeError, dew_point, humidity_from_wet_bulb, margin
from reportgen.metrology.conformity import (
    PROBABILITY_PLACES,
    Decided,
    DecisionRule,
    Limits,
    combined_verdict,
    decide,
)
from reportgen.metrology.uncertainty import printed_places, printed_uncertainty
from reportgen.references import citation
from reportgen.results import AtTime, DerivationStep, Finding, LeftOut, Outcome, ResultBudget, Severity, Stated, Verdict
from reportgen.results.facts import NOTHING, Amount, Place, Value, Word
from reportgen.results.statements import Code
from reportgen.units import Quantity, rounded, unit_of_difference, unit_of_scale

PRINTED_PLACES: Final = 1
DEFAULT_MARGIN_UNIT: Final = "delta_degC"
USUAL_INTERVAL: Final = Quantity(Decimal(4), "h")
"""Between two readings, where the contract states none: FHWA-RD-98-084, MIL-HDBK-1110 §9.6.6."""
_NO_WORK: Final = Word("work-none", "none")
_OF_DEW_POINT: Final = ("air", "wet_bulb", "humidity", "pressure")
_IF_SHOWN_RIGHTLY: Final = Word("conditions-in-doubt", "if-shown-rightly")


class ConditionResult(Value):
    """One reading of the conditions: humidity in %, temperatures on the scale of the contract's limits.

    ``place`` is where it was taken, as far as it says so: a place, the areas listed, or both. The expanded uncertainty
    and its coverage factor are those of the margin, the probability is the least that every limit is kept; each
    uncertainty is absent where the errors of the instruments are not on record. The budgets stand with one reading for
    each set of instruments: that of the least margin.
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
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    probability_of_conformity: Decimal | None = None
    air_uncertainty: Decimal | None = None
    steel_uncertainty: Decimal | None = None
    humidity_uncertainty: Decimal | None = None
    dew_point_uncertainty: Decimal | None = None
    budgets: tuple[ResultBudget, ...] = ()
    steel_warmest: Decimal | None = None

    @property
    def temperature_unit(self) -> str:
        """The unit of air, steel and dew point: that in whose degrees the margin is."""
        return unit_of_scale(self.margin_unit)


class _Limit(Value):
    """One limit against one reading: which way it may not go, and how the unrounded value was judged."""

    code: Code[codes.LimitMissed]
    stated: type[codes.LimitOf]
    limit: Quantity
    decided: Decided
    quantity: str
    asked: bool = False
    """Whether an entry that it was computed from is asked about: till then it is neither kept nor missed."""
    doubt: Word | None = None
    """Why what showed what it was computed from is in doubt, where it is."""
    spread: Uncertainty | None = None
    chance: Fraction | None = None
    """Probability that it is kept; None where the uncertainty is not known."""
    read: int | None = None
    """Decimals that it was read with; None for what was computed."""
    unmeasured: bool = False
    """Whether the steel that it limits during work was not measured itself, but steel that is no warmer."""

    @property
    def known(self) -> bool:
        """Whether nothing that it was computed from is in doubt."""
        return self.doubt is None and not self.asked

    @property
    def verdict(self) -> Verdict:
        """What is known of it: steel that was not measured may miss what colder steel keeps."""
        found = self.decided.verdict
        return "inconclusive" if self.unmeasured and found != "does not conform" else found

    @property
    def shown(self) -> Decimal:
        """The value in the unit of the limit, with the digits that show its verdict: as read, where those do."""
        judgement = self.decided.judgement
        if self.read is None or judgement.guarded:
            return judgement.shown
        as_read = rounded(Fraction(judgement.shown), self.read)
        return as_read if as_read == judgement.shown else judgement.shown

    @property
    def _expanded(self) -> Amount | None:
        """U, in degrees of difference for a temperature, where it was a guard band."""
        judgement = self.decided.judgement
        if not judgement.guarded or judgement.expanded is None:
            return None
        return Amount(judgement.expanded, unit_of_difference(self.limit.unit))

    def missed(self, taken_at: str | None, work: Word | None) -> codes.LimitMissed:
        """Return as facts how it was missed during some work, or while nothing was done."""
        idle = None if work else _NO_WORK
        below = self.stated is codes.MarginAtLeast and self.shown < 0
        kind = codes.BelowDewPoint if below else codes.LimitMissed
        value = Amount(abs(self.shown) if below else self.shown, self.limit.unit)
        expanded, beside = self._expanded, _printed(self.spread, _places(self.shown))
        if expanded is None and beside is not None:
            expanded = Amount(beside, unit_of_difference(self.limit.unit))
        return kind(taken_at, value, self.stated(Amount.of(self.limit)), work, idle, self.doubt, expanded)

    def open(
        self, taken_at: str | None, work: Word, rule: DecisionRule, lacking: tuple[codes.Lacking, ...]
    ) -> tuple[Code[Any], codes.LimitNear | codes.ErrorsUnknown | codes.WarmestUnmeasured]:
        """Return as code and facts why there is no verdict on work during which it was read."""
        if self.unmeasured:
            value, most = Amount(self.shown, self.limit.unit), codes.SteelAtMost(Amount.of(self.limit))
            return codes.WARMEST, codes.WarmestUnmeasured(taken_at, value, most, work)
        quantity, limit = Word("quantity", self.quantity), self.stated(Amount.of(self.limit))
        value, expanded = Amount(self.shown, self.limit.unit), self._expanded
        if expanded is None:
            by = Word("decision-rule", rule)
            return codes.INCONCLUSIVE, codes.ErrorsUnknown(taken_at, quantity, value, limit, work, by, lacking)
        band = Word("guard-band", self.decided.judgement.band)
        near = codes.LimitNear(taken_at, quantity, value, expanded, limit, work, band)
        return (codes.IN_GUARD_BAND if rule == "guarded" else codes.INCONCLUSIVE), near


class _Held(Value):
    """One reading of the conditions held against limits."""

    standing: Covering[Condition]
    limits: tuple[_Limit, ...]
    uncertain: Uncertainties


class _Read(_Held):
    """The same with what was computed from it: exact values."""

    humidity: Quantity
    dew: Quantity
    margin: Quantity

    def _of(self, stated: type[codes.LimitOf]) -> _Limit | None:
        return next((limit for limit in self.limits if limit.stated is stated), None)

    @property
    def shown_margin(self) -> Decimal:
        """The margin with the digits that show its verdict."""
        limit = self._of(codes.MarginAtLeast)
        return rounded(self.margin.exact, PRINTED_PLACES) if limit is None else limit.shown

    @property
    def shown_humidity(self) -> Decimal:
        """The humidity as written, or as computed with the digits that show its verdict."""
        stated, limit = self.standing.record.humidity, self._of(codes.HumidityAtMost)
        if stated is not None:
            return rounded(self.humidity.exact, stated.places)
        return rounded(self.humidity.exact, PRINTED_PLACES if limit is None else _places(limit.shown))

    @property
    def probability(self) -> Decimal | None:
        """Least probability that every limit is kept, whatever their values have in common (Boole's inequality).

        None without a limit, or where the uncertainty of one of the values is not known.
        """
        chances = [one.chance for one in self.limits if one.chance is not None]
        if not chances or len(chances) < len(self.limits):
            return None
        return rounded(max(Fraction(0), 1 - sum(1 - one for one in chances)), PROBABILITY_PLACES)


def required(limit: ConditionLimits) -> codes.ConditionsRequired:
    """Return what is required as facts."""
    rows: tuple[tuple[type[codes.Demand], Quantity | None], ...] = (
        (codes.MarginAtLeast, limit.dew_point_margin), (codes.HumidityAtMost, limit.maximum_humidity),
        (codes.SteelAtLeast, limit.minimum_steel), (codes.SteelAtMost, limit.maximum_steel),
        (codes.AirAtLeast, limit.minimum_air), (codes.AirAtMost, limit.maximum_air), (codes.ReadEvery, limit.interval),
    )  # fmt: skip
    demands = tuple(stated(Amount.of(value)) for stated, value in rows if value is not None)
    rule = None if limit.decision_rule is None else Word("decision-rule", limit.decision_rule)
    return codes.ConditionsRequired(demands, rule)


def seen(result: ConditionResult) -> codes.ConditionsSeen:
    """Return a result as facts."""
    work = [label.partition(" ") for label in result.during]
    return codes.ConditionsSeen(
        result.place, codes.AirRead(Amount(result.air, result.temperature_unit)),
        codes.HumidityRead(Amount(result.humidity, "%")),
        codes.SteelRead(Amount(result.steel, result.temperature_unit)),
        Amount(result.dew_point, result.temperature_unit),
        Amount(result.margin, result.margin_unit), Word("verdict", result.verdict),
        tuple(codes.WorkOn(Word("work", activity), area) for activity, _, area in work),
        None if result.expanded_uncertainty is None else Amount(result.expanded_uncertainty, result.margin_unit),
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
    held: list[_Held] = []
    refused: list[tuple[Covering[Condition], codes.OutsideRange]] = []
    for one in (each for each in scene.standing if not each.known):
        try:
            taken.append(_computed(limit, scene, one))
            held.append(taken[-1])
        except ClimateRangeError as error:
            held += _without_dew_point(limit, scene, one, error)
            refused.append((one, codes.OutsideRange(one.record.taken_at or None, outside(error))))
    findings = [*_judged(limit, scene, held), *_refused(scene, refused), *_unplaced(scene)]
    left_out = [codes.NOT_COMPUTED.at(facts, Place(time=scene.printed(one.at))) for one, facts in refused]
    if limit is None:
        left_out.append(codes.WITHOUT_LIMIT.at(NOTHING))
    else:
        findings += [*_unread(limit, scene), *_elsewhere(limit, scene)]
        left_out += _read_long_before(limit, scene)
        lacking = dict.fromkeys(filter(None, (one.uncertain.lacking for one in taken)))
        left_out += [codes.UNCERTAINTY_UNKNOWN.at(codes.UncertaintyLacking(one)) for one in lacking]
    explained = _nearest(taken)
    results = tuple(_result(scene, reading, explained=reading in explained) for reading in taken)
    return Outcome(results, tuple(findings), not_evaluated=tuple(left_out))


def _judged(limit: ConditionLimits | None, scene: Scene[Condition], held: Iterable[_Held]) -> Iterator[Finding]:
    """Yield what misses a limit, and what is left without a verdict, reading after reading."""
    for reading in held:
        yield from _limit_findings(limit, scene, reading)
        if limit is not None:
            yield from _open_findings(limit, scene, reading)


def _refused(
    scene: Scene[Condition], refused: Iterable[tuple[Covering[Condition], codes.OutsideRange]]
) -> Iterator[Finding]:
    """Yield a finding for each area whose work a reading without a dew point stands for; the question is one itself."""
    for one, facts in refused:
        for area in () if scene.asked(one.record, _OF_DEW_POINT) else one.areas:
            yield codes.OUTSIDE_RANGE.found(facts, Place(area, time=scene.printed(one.at)))


def _nearest(taken: Iterable[_Read]) -> list[_Read]:
    """Return the reading of the least margin for each set of instruments, during work where one was taken then."""
    found: dict[frozenset[str], _Read] = {}
    for one in sorted(taken, key=lambda one: (not one.standing.windows, one.margin.exact)):
        if one.uncertain.each:
            found.setdefault(frozenset(one.standing.record.instruments), one)
    return list(found.values())


def _computed(limit: ConditionLimits | None, scene: Scene[Condition], one: Covering[Condition]) -> _Read:
    """Compute what a reading tells, and hold it against every limit the contract states, each in its own unit.

    Raises:
        ClimateRangeError: it lies outside the range of a formula.
    """
    record = one.record
    humidity = record.humidity
    variant = "wmo" if limit is None else limit.psychrometer or "wmo"
    if humidity is None:
        assert record.wet_bulb is not None  # noqa: S101 - the model asks for humidity or for a wet bulb with pressure
        assert record.pressure is not None  # noqa: S101
        humidity = humidity_from_wet_bulb(
            record.air, record.wet_bulb, record.pressure, wick="ice" if record.wet_bulb_iced else "water",
            psychrometer=variant,
        )  # fmt: skip
    dew = dew_point(record.air, humidity)
    above = margin(record.steel, dew, _degrees(limit))
    uncertain = uncertainties(record, humidity, scene.instruments, variant, above.unit)
    limits = _limits(limit, scene, one, humidity, above, uncertain)
    return _Read(one, limits, uncertain, humidity, dew, above)


def _without_dew_point(
    limit: ConditionLimits | None, scene: Scene[Condition], one: Covering[Condition], error: ClimateRangeError
) -> Iterator[_Held]:  # fmt: skip
    """Yield what a reading outside the range of the dew point tells nevertheless: what was read is what it is."""
    humidity = one.record.humidity
    if humidity is not None and error.what != "humidity":
        uncertain = uncertainties(one.record, humidity, scene.instruments, "wmo", _degrees(limit), dew=False)
        yield _Held(one, _limits(limit, scene, one, humidity, None, uncertain), uncertain)


def _limits(
    limit: ConditionLimits | None, scene: Scene[Condition], one: Covering[Condition], humidity: Quantity,
    above: Quantity | None, uncertain: Uncertainties,
) -> tuple[_Limit, ...]:  # fmt: skip
    """Hold a reading against every limit stated, that of the margin where there is one ``above`` the dew point."""
    if limit is None:
        return ()
    record = one.record
    warmest, hottest = record.steel, "steel"
    if record.steel_warmest is not None:
        warmest, hottest = record.steel_warmest, "steel_warmest"
    moist = ("humidity",) if record.humidity is not None else ("air", "wet_bulb")
    rows: tuple[
        tuple[
            Code[codes.LimitMissed], type[codes.LimitOf], str, Quantity | None, Uncertainty | None, Quantity | None,
            tuple[str, ...],
        ], ...
    ] = (
        (codes.DEW_POINT_MARGIN, codes.MarginAtLeast, "dew-point-margin", above, uncertain.margin,
         limit.dew_point_margin, ("air", "steel", *moist)),
        (codes.HUMIDITY, codes.HumidityAtMost, "humidity", humidity, uncertain.humidity, limit.maximum_humidity, moist),
        (codes.TOO_COLD, codes.SteelAtLeast, "steel-temperature", record.steel, uncertain.steel, limit.minimum_steel,
         ("steel",)),
        (codes.TOO_WARM, codes.SteelAtMost, "steel-temperature", warmest, uncertain.steel, limit.maximum_steel,
         (hottest,)),
        (codes.AIR, codes.AirAtLeast, "air-temperature", record.air, uncertain.air, limit.minimum_air, ("air",)),
        (codes.AIR, codes.AirAtMost, "air-temperature", record.air, uncertain.air, limit.maximum_air, ("air",)),
    )  # fmt: skip
    rule = limit.decision_rule or "simple"
    unmeasured = {codes.SteelAtMost} if hottest == "steel" else set()
    return tuple(
        _Limit(
            code, kind, stated, _decided(kind, value, stated, rule, spread), quantity,
            scene.asked(record, fields), _doubt(scene, one, fields), spread,
            None if kind in unmeasured else _chance(kind, value, stated, spread),
            _places_read(kind, record), kind in unmeasured and bool(one.windows),
        )
        for code, kind, quantity, value, spread, stated, fields in rows
        if stated is not None and value is not None
    )  # fmt: skip


def _degrees(limit: ConditionLimits | None) -> str:
    """Return the degrees in which a contract speaks of temperatures: of the margin, else of its other limits."""
    if limit is None:
        return DEFAULT_MARGIN_UNIT
    stated = (
        limit.dew_point_margin, limit.minimum_steel, limit.maximum_steel, limit.minimum_air, limit.maximum_air
    )  # fmt: skip
    return next((unit_of_difference(one.unit) for one in stated if one is not None), DEFAULT_MARGIN_UNIT)


def _places_read(kind: type[codes.LimitOf], record: Condition) -> int | None:
    """Return with how many decimals a value was read; None for what was computed, or is shown in another unit."""
    return record.humidity.places if kind is codes.HumidityAtMost and record.humidity is not None else None


def _doubt(scene: Scene[Condition], one: Covering[Condition], fields: Iterable[str]) -> Word | None:
    """Return why what follows from some fields of a reading is in doubt where what shows them failed a check.

    What none of the instruments named shows may be by any of a kind. What is checked of a hygrometer is its humidity.
    """
    tools = scene.instruments
    used = ((field, name, tools[name].kind) for field in fields for name in shown_by(one.record, field, tools))
    failed = any(
        scene.in_doubt(name, kind, one.at) for field, name, kind in used if (field, kind) != ("air", "hygrometer")
    )
    return _IF_SHOWN_RIGHTLY if failed else None


_AT_LEAST: Final = frozenset({codes.MarginAtLeast, codes.SteelAtLeast, codes.AirAtLeast})


def _decided(
    kind: type[codes.LimitOf], value: Quantity, stated: Quantity, rule: DecisionRule, spread: Uncertainty | None
) -> Decided:
    """Judge the unrounded value; temperatures by the numbers of their scale, as their uncertainty is a difference."""
    found, limits = _by_numbers(kind, value, stated)
    return decide(
        found, limits, rule=rule, rounding="none", places=PRINTED_PLACES,
        expanded=None if spread is None else spread.quantified,
    )  # fmt: skip


def _chance(
    kind: type[codes.LimitOf], value: Quantity, stated: Quantity, spread: Uncertainty | None
) -> Fraction | None:  # fmt: skip
    """Return the probability that a value keeps its limit; None where its uncertainty is not known."""
    return None if spread is None else chance_within(*_by_numbers(kind, value, stated), spread)


def _by_numbers(kind: type[codes.LimitOf], value: Quantity, stated: Quantity) -> tuple[Quantity, Limits]:
    """Return value and limit by the numbers of their scale."""
    unit = unit_of_difference(stated.unit)
    limit = Quantity(stated.magnitude, unit)
    limits = Limits(minimum=limit) if kind in _AT_LEAST else Limits(maximum=limit)
    return Quantity(value.in_unit(stated.unit), unit), limits


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


def _result(scene: Scene[Condition], reading: _Read, *, explained: bool) -> ConditionResult:
    verdicts: set[Verdict] = {limit.verdict if limit.known else "inconclusive" for limit in reading.limits}
    one, record, uncertain = reading.standing, reading.standing.record, reading.uncertain
    verdict = combined_verdict(verdicts) if one.counts else "not evaluated"
    humidity, above, spread = reading.shown_humidity, reading.shown_margin, uncertain.margin
    scale = unit_of_scale(reading.margin.unit)
    return ConditionResult(
        scene.printed(one.at), record.taken_at or None, humidity, rounded(reading.dew.in_unit(scale), PRINTED_PLACES),
        above, verdict, rounded(record.air.in_unit(scale), PRINTED_PLACES),
        rounded(record.steel.in_unit(scale), PRINTED_PLACES), reading.margin.unit,
        tuple(window.label for window in one.windows), _printed(spread, _places(above)),
        None if spread is None else rounded(spread.budget.coverage_factor, 2), reading.probability,
        _printed(uncertain.air), _printed(uncertain.steel), _printed(uncertain.humidity, _places(humidity)),
        _printed(uncertain.dew_point), tuple(each.stated for each in uncertain.each) if explained else (),
        None if record.steel_warmest is None else rounded(record.steel_warmest.in_unit(scale), PRINTED_PLACES),
    )  # fmt: skip


def _places(number: Decimal) -> int:
    return Quantity(number, "%").places


def _printed(uncertainty: Uncertainty | None, places: int = PRINTED_PLACES) -> Decimal | None:
    """Return U with the decimals of its value, one at least below 1, and no more than two significant digits."""
    if uncertainty is None or not uncertainty.expanded:
        return None if uncertainty is None else Decimal(0)
    least = 0 if uncertainty.expanded >= 1 else PRINTED_PLACES
    beside = min(max(places, least), max(PRINTED_PLACES, printed_places(uncertainty.expanded)))
    return printed_uncertainty(uncertainty.expanded, beside)


def _by_area(windows: Iterable[Window]) -> dict[str, Word]:
    """Return what was done on each area, in the order in which it was."""
    found: dict[str, list[str]] = {}
    for window in windows:
        found.setdefault(window.area, []).append(window.activity)
    return {area: Word("work", " and ".join(dict.fromkeys(done))) for area, done in found.items()}


def _limit_findings(
    stated: ConditionLimits | None, scene: Scene[Condition], reading: _Held
) -> Iterator[Finding]:  # fmt: skip
    """Yield one finding for each limit not met and each area concerned; an observation where none was.

    None beside the question whether an entry is right: that holds the work, and nobody acts upon a slip.
    """
    clause, one = (None if stated is None else stated.clause), reading.standing
    time, taken_at = scene.printed(one.at), one.record.taken_at or None
    concerned = _by_area(one.windows)
    for limit in (one for one in reading.limits if one.decided.verdict == "does not conform" and not one.asked):
        for area, work in concerned.items():
            severity: Severity | None = None if limit.known else "observation"
            missed = limit.missed(taken_at, work)
            yield limit.code.found(missed, Place(area, time=time), clause=clause, severity=severity)
        if not concerned and one.covered is not None and one.counts:
            missed = limit.missed(taken_at, None)
            yield limit.code.found(missed, Place(time=time), clause=clause, severity="observation")


def _open_findings(stated: ConditionLimits, scene: Scene[Condition], reading: _Held) -> Iterator[Finding]:
    """Yield one finding for each value that work was done at and that its uncertainty leaves without a verdict."""
    one, rule, lacking = reading.standing, stated.decision_rule or "simple", reading.uncertain.lacking
    open_ = [limit for limit in reading.limits if limit.known and limit.verdict == "inconclusive"]
    for limit, (area, work) in product(open_, _by_area(one.windows).items()):
        code, facts = limit.open(one.record.taken_at or None, work, rule, lacking)
        yield code.found(facts, Place(area, time=scene.printed(one.at)), clause=stated.clause)


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


def _read_long_before(stated: ConditionLimits, scene: Scene[Condition]) -> Iterator[LeftOut]:
    """Name the areas with work that a usual interval would not let stand, where the contract states none."""
    late: dict[str, None] = {}
    for window in scene.windows if stated.interval is None else ():
        times = [one.at for one in scene.standing if window in one.windows]
        if times and gap_of(scene, (window.start, window.end), times, USUAL_INTERVAL) is not None:
            late[window.area] = None
    if late:
        yield codes.WITHOUT_INTERVAL.at(codes.ReadLongBefore(tuple(late), Amount.of(USUAL_INTERVAL)))


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
    silent = sorted({one.at for one in scene.standing if one.covered is None and not one.known})
    for at, end in zip_longest(silent, silent[1:]):
        work = [window for window in scene.windows if window.end >= at and (end is None or window.start < end)]
        for area in dict.fromkeys(window.area for window in work):
            yield codes.UNPLACED.found(NOTHING, Place(area, time=scene.printed(at)))
