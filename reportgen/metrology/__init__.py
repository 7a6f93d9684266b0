"""Formulas: readings, climate, contamination, sampling, statistics, uncertainty, conformity. No jobs, no files.

Import from the modules; nothing is re-exported. Every formula takes and returns exact numbers: a ``Quantity`` where a
unit matters, a plain ``Fraction``, ``Decimal`` or ``int`` (``Exact``) where any one unit will do. Modules import
downward only::

    tape → overlap | climate | contamination | plausibility | sampling | conformity
    statistics | uncertainty
    distributions
    exact

tape
    net_reading(reading: Quantity, film: "subtracted" | "included") -> Quantity
    film_thickness(unit) -> Quantity; film_tolerance(unit) -> Quantity; unused_tape_range(unit) -> (Quantity, Quantity)
    check_preset(preset: Quantity) -> None; check_plausible(net: Quantity) -> None      (RangeError with help_text)
    tape_scheme(rule, unit, ranges=()) -> TapeScheme        (cached; rule: average | non-averaging | single-grade)
    advised_grade(minimum, maximum, scheme) -> Advice(grade, middle)
overlap
    spot_result(readings: Sequence[(grade, Exact)], scheme) -> SpotResult(profile, how, reason, used, next_grade)
climate
    saturation_pressure(temperature, surface="water") -> Quantity [hPa]
    dew_point(air, humidity, surface="water") -> Quantity [degC]
    humidity_from_wet_bulb(air, wet_bulb, pressure, *, psychrometer, wick="water") -> Quantity [%]
    dew_point_from_wet_bulb(air, wet_bulb, pressure, *, psychrometer, wick="water", surface="water") -> Quantity [degC]
    margin(steel, dew, unit="delta_degC") -> Quantity [temperature difference]
contamination
    salt_density(sample, blank, volume, area) -> Quantity [mg/m2]; salt_precision(density) -> Quantity | None
    check_same_salts(measured, limited) -> None
    dust_within(Dust(quantity, size), maximum_quantity, maximum_size) -> bool
plausibility
    steel_doubt(steel, air), air_doubt(air), patch_doubt(area), blast_pressure_doubt(pressure) -> Doubt | None
    neighbour_doubt(value, neighbours), digits_doubt(reading, resolution) -> Doubt(kind, observed, bound) | None
sampling
    locations_per_shift(locations, apparatus, shifts=1) -> int
    locations_by_area(size, first, first_count, step, step_count=1) -> int
    locations_per_size(size, each, count) -> int            (3 per 45 m2; 1 per 15 m of weld)
    locations_after_failures(required, failing, each) -> int; locations_for_changes(changes) -> int
    walk_out(walks: Sequence[Walk(direction, verdicts, no_room)], directions=DIRECTIONS) -> WalkOut
    bounded_extent(walk_out, interval) -> Mapping[str, Quantity] | None
conformity
    Limits(minimum: Quantity | None, maximum: Quantity | None)
    judge(value, limits, *, rule="simple", rounding="half-even", expanded=None) -> Judgement
        Judgement(verdict, band, compared: Decimal, unit, side, guard, expanded); compared is what is printed
    probability_of_conformity(value, standard_uncertainty, limits) -> Fraction
    combined_verdict(verdicts) -> Verdict; rounding_rule(rounding) -> RoundingRule
statistics
    mean, variance, standard_deviation(values) -> Fraction; summary(values) -> Summary
    confidence_interval(summary, confidence=95) -> Interval(lower, upper)
    tolerance_interval(summary, *, sides=2, coverage=95, confidence=95, upper=True) -> Interval
    percent_within_limits(summary, minimum, maximum) -> Fraction [%]
    outlier_test(values, *, resolution=0, sides=2, largest=True, level=5) -> OutlierTest(index, statistic, critical,
        flagged)
    spot_agreement(values, tolerance) -> Agreement(spread, agrees); control_limits(values) -> ControlLimits
uncertainty
    Component(name, value, distribution, divisor, sensitivity, dof, systematic, source); .standard, .contribution,
        .variance
    budget(components, unit, *, confidence=95, coverage_factor=None) -> Budget(combined, effective_dof, ..., expanded)
    Gauge(unit, accuracy, accuracy_k, resolution, film, shim_shift, shim); gauge_components(gauge)
    location_budget(gauge, repeatability: Pooled | None, spots, *, confidence=95) -> Budget
    area_budget(gauge, deviation, locations, *, repeatability=None, spots=1, confidence=95) -> Budget
    pooled_standard_deviation(groups) -> Pooled(standard_deviation: Root, dof) | None
    printed_uncertainty(expanded, places=None) -> Decimal; printed_places(expanded) -> int
    expanded_quantity(budget) -> Quantity; effective_dof(components) -> int | None
"""
