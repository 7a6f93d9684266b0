"""Invariants of readings, climate, sampling, statistics and budgets."""

from decimal import Decimal
from fractions import Fraction

from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.measurements.judging import judged
from reportgen.measurements.salts import SaltLimit
from reportgen.measurements.salts.rule import limit_in_unit as salt_limits
from reportgen.measurements.uncertain import Uncertainty
from reportgen.metrology.climate import (
    dew_point,
    margin,
    saturation_pressure,
)
from reportgen.metrology.conductivity import reading_budget
from reportgen.metrology.contamination import salt_density
from reportgen.metrology.distributions import grubbs_critical, t_factor, tolerance_factor
from reportgen.metrology.exact import Root
from reportgen.metrology.overlap import spot_result
from reportgen.metrology.sampling import (
    DIRECTIONS,
    Walk,
    locations_after_failures,
    locations_by_area,
    locations_per_size,
    walk_out,
)
from reportgen.metrology.statistics import (
    outlier_test,
    percent_within_limits,
    summary,
    tolerance_interval,
)
from reportgen.metrology.tape import net_reading, tape_scheme
from reportgen.metrology.uncertainty import (
    Component,
    Errors,
    Gauge,
    Pooled,
    area_budget,
    budget,
    effective_dof,
    location_budget,
    pooled_standard_deviation,
    printed_places,
    printed_uncertainty,
)
from reportgen.units import Quantity

GRADES = st.sampled_from(["coarse", "extra coarse"])
RULES = st.sampled_from(["average", "non-averaging", "single-grade"])
MIL = st.integers(0, 60).map(lambda tenths: Decimal(tenths) / 10)
HEIGHTS = st.integers(50, 600).map(lambda number: Decimal(number) / 100)
READINGS = st.lists(st.tuples(GRADES, MIL), min_size=1, max_size=4)


@given(READINGS, RULES)
def test_a_spot_always_has_a_state_and_its_profile_lies_within_its_readings(readings, rule):
    result = spot_result(readings, tape_scheme(rule, "mil"))
    heights = [height for _, height in readings]
    has_profile = result.how in {"recorded-as-taken", "averaged", "second-governs"}
    assert (result.profile is not None) == has_profile
    if result.profile is not None:
        assert min(heights) <= result.profile <= max(heights)
        assert result.profile == sum(Fraction(readings[index][1]) for index in result.used) / len(result.used)


@given(READINGS, RULES)
def test_only_readings_their_grade_can_show_count(readings, rule):
    scheme = tape_scheme(rule, "mil")
    for index in spot_result(readings, scheme).used:
        grade, height = readings[index]
        assert height in scheme.ranges[grade]


@given(MIL, MIL, st.sampled_from(["average", "non-averaging"]))
def test_the_order_of_two_grades_does_not_change_the_profile(coarse, extra, rule):
    scheme = tape_scheme(rule, "mil")
    one = spot_result([("coarse", coarse), ("extra coarse", extra)], scheme)
    other = spot_result([("extra coarse", extra), ("coarse", coarse)], scheme)
    assert one.profile == other.profile
    assert (one.how == "contradictory") == (other.how == "contradictory")


@given(READINGS, RULES)
def test_repeating_a_reading_changes_nothing(readings, rule):
    scheme = tape_scheme(rule, "mil")
    once = spot_result(readings, scheme)
    again = spot_result([*readings, readings[-1]], scheme)
    assert (once.profile, once.how) == (again.profile, again.how)


@given(READINGS)
def test_averaging_lies_in_the_window(readings):
    scheme = tape_scheme("average", "mil")
    result = spot_result(readings, scheme)
    if result.how == "averaged":
        assert result.profile in scheme.window


@given(MIL)
def test_the_film_comes_off_exactly_once(height):
    gross = Quantity(height + 2, "mil")
    assert net_reading(gross, "included").exact == net_reading(Quantity(height, "mil"), "subtracted").exact


AIR = st.integers(-100, 500).map(lambda tenths: Decimal(tenths) / 10)
HUMIDITY = st.integers(20, 100)


def dew(air, humidity):
    return dew_point(Quantity(air, "degC"), Quantity(Decimal(humidity), "%")).exact


@given(AIR, HUMIDITY)
def test_the_dew_point_never_exceeds_the_air(air, humidity):
    assert dew(air, humidity) <= Fraction(air) + Fraction(1, 10**25)


@given(AIR, st.integers(20, 99))
def test_damper_air_has_a_higher_dew_point(air, humidity):
    assert dew(air, humidity) < dew(air, humidity + 1)


@given(st.integers(-100, 490).map(lambda tenths: Decimal(tenths) / 10), HUMIDITY)
def test_warmer_air_of_one_humidity_has_a_higher_dew_point(air, humidity):
    assert dew(air, humidity) < dew(air + Decimal("0.1"), humidity)


@given(AIR, HUMIDITY)
def test_the_dew_point_inverts_the_saturation_pressure(air, humidity):
    vapour = saturation_pressure(Quantity(air, "degC")).exact * humidity / 100
    again = saturation_pressure(Quantity(dew(air, humidity), "degC")).exact
    assert abs(again - vapour) < Fraction(1, 10**25)


@given(AIR, AIR)
def test_a_margin_is_the_same_in_both_units_of_difference(steel, point):
    at = (Quantity(steel, "degC"), Quantity(point, "degC"))
    assert margin(*at, "delta_degF").exact == margin(*at).exact * Fraction(9, 5)
    fahrenheit = (Quantity(steel, "degC").to("degF"), Quantity(point, "degC").to("degF"))
    assert margin(*fahrenheit) == margin(*at)


POSITIVE = st.integers(1, 100_000).map(lambda number: Decimal(number) / 100)


@given(POSITIVE, POSITIVE, POSITIVE)
def test_salts_are_proportional_and_unit_exact(rise, volume, area):
    us, ml, cm2 = Quantity(rise, "uS/cm"), Quantity(volume, "ml"), Quantity(area, "cm2")
    none = Quantity(Decimal(0), "uS/cm")
    single = salt_density(us, none, ml, cm2)
    assert salt_density(us, none, Quantity(2 * volume, "ml"), cm2).exact == 2 * single.exact
    assert salt_density(us.to("mS/m"), none, ml.to("l"), cm2.to("in2")).exact == single.exact


RULES = ("simple", "guarded", "banded")


@given(st.integers(0, 100_000), st.integers(1, 10_000), st.integers(1, 10_000), st.sampled_from(RULES))
def test_the_unit_of_a_salt_limit_never_changes_a_verdict(value, most, wide, rule):
    """Whatever the rule: 1 µg/cm² are 10 mg/m²; and under the simple rule U decides nothing."""
    density = Quantity(Fraction(value, 100), "mg/m2")
    in_mg, in_ug = Quantity(Decimal(most) / 10, "mg/m2"), Quantity(Decimal(most) / 100, "ug/cm2")
    budget = reading_budget("instrument", Errors("mg/m2", Fraction(wide, 100)))
    uncertainty = Uncertainty("salt-density", budget)
    kinds = [SaltLimit.model_construct(maximum=each) for each in (in_mg, in_ug)]
    both = [judged(density, "mg/m2", salt_limits(kind), rule, uncertainty, 1) for kind in kinds]
    assert both[0].verdict == both[1].verdict
    without = judged(density, "mg/m2", salt_limits(kinds[0]), rule, None, 1)
    if rule == "simple":
        assert (
            both[0].verdict == without.verdict == ("conforms" if density.exact <= in_mg.exact else "does not conform")
        )
    else:
        assert (without.verdict == "inconclusive") or density.exact > in_mg.exact
    if both[0].verdict == "conforms":
        assert density.exact <= in_mg.exact


@given(POSITIVE, POSITIVE, st.integers(1, 9), POSITIVE, st.integers(1, 5))
def test_more_surface_never_needs_fewer_locations(size, first, first_count, step, step_count):
    plan = (Quantity(first, "m2"), first_count, Quantity(step, "m2"), step_count)
    here = locations_by_area(Quantity(size, "m2"), *plan)
    assert first_count <= here <= locations_by_area(Quantity(size + 1, "m2"), *plan)
    assert here == locations_by_area(Quantity(size, "m2").to("ft2"), *plan)


@given(POSITIVE, POSITIVE, st.integers(1, 9))
def test_locations_cover_the_surface(size, each, count):
    found = locations_per_size(Quantity(size, "m2"), Quantity(each, "m2"), count)
    parts = found // count
    assert (parts - 1) * each < size <= parts * each


@given(st.integers(0, 50), st.integers(0, 50), st.integers(0, 5))
def test_failures_never_lower_the_number(required, failing, each):
    assert locations_after_failures(required, failing, each) >= required


VERDICT = st.sampled_from(["conforms", "does not conform", "inconclusive"])
WALK = st.tuples(st.lists(VERDICT, max_size=6), st.booleans())


@given(st.tuples(WALK, WALK, WALK, WALK))
def test_doing_what_the_walk_out_asks_for_ends_it(walks):
    """Measure next as told, each found to conform: after at most two rounds nothing is left."""
    record = [Walk(name, tuple(seen), no_room=ended) for name, (seen, ended) in zip(DIRECTIONS, walks, strict=True)]
    for _ in range(2):
        found = walk_out(record)
        wanted = [name for name, _ in found.next_steps]
        record = [
            Walk(walk.direction, walk.verdicts + ("conforms",) * wanted.count(walk.direction), walk.no_room)
            for walk in record
        ]
    assert walk_out(record).complete
    assert walk_out(record).next_steps == ()


@given(st.lists(VERDICT, max_size=8), st.lists(VERDICT, max_size=3))
def test_a_bounded_direction_stays_bounded(seen, more):
    (one,) = walk_out([Walk("1", tuple(seen))], ("1",)).directions
    (other,) = walk_out([Walk("1", (*seen, *more))], ("1",)).directions
    if one.state == "bounded":
        assert other == one


SAMPLES = st.lists(HEIGHTS, min_size=3, max_size=40)


@given(SAMPLES, st.randoms())
def test_statistics_do_not_depend_on_order(values, random):
    shuffled = list(values)
    random.shuffle(shuffled)
    assert summary(shuffled) == summary(values)
    assert outlier_test(shuffled).statistic == outlier_test(values).statistic


@given(SAMPLES, st.integers(-500, 500), st.integers(1, 20))
def test_statistics_shift_and_scale_with_the_values(values, shift, scale):
    of = summary(values)
    moved = summary([Fraction(value) * scale + shift for value in values])
    assert moved.mean == of.mean * scale + shift
    assert of.minimum <= of.mean <= of.maximum
    assert abs(moved.standard_deviation - of.standard_deviation * scale) < Fraction(1, 10**25)
    assert outlier_test([Fraction(v) * scale for v in values]).flagged == outlier_test(values).flagged


@given(SAMPLES)
def test_a_tolerance_interval_is_about_the_mean(values):
    of = summary(values)
    assume(of.standard_deviation)
    found = tolerance_interval(of)
    assert found.lower < of.mean < found.upper
    assert found.lower + found.upper == 2 * of.mean


@given(SAMPLES, HEIGHTS, HEIGHTS, HEIGHTS)
def test_wider_limits_never_hold_fewer_percent(values, low, high, more):
    of = summary(values)
    low, high = min(low, high), max(low, high)
    inside = percent_within_limits(of, low, high)
    assert 0 <= inside <= 100
    assert percent_within_limits(of, low - more, high + more) >= inside - Fraction(1, 10**9)


@given(st.integers(3, 199))
def test_factors_fall_and_critical_values_rise_with_size(n):
    assert t_factor(n) > t_factor(n + 1)
    assert tolerance_factor(n) > tolerance_factor(n + 1)
    assert grubbs_critical(n) < grubbs_critical(n + 1)
    assert grubbs_critical(n, sides=1) < grubbs_critical(n)


STANDARD = st.integers(0, 500).map(lambda number: Decimal(number) / 100)


@given(st.lists(STANDARD, min_size=1, max_size=6), STANDARD, st.randoms())
def test_another_component_never_lowers_the_uncertainty(values, more, random):
    parts = [Component(str(index), value) for index, value in enumerate(values)]
    whole = budget([*parts, Component("more", more)], "um")
    assert whole.combined >= budget(parts, "um").combined
    assert whole.combined >= max(part.contribution for part in whole.components)
    random.shuffle(parts)
    assert budget(parts, "um").combined == budget(sorted(parts, key=lambda part: part.name), "um").combined


@given(POSITIVE, POSITIVE, st.integers(2, 50))
def test_the_gauges_share_does_not_average_out(accuracy, scatter, locations):
    gauge = Gauge("um", accuracy)
    alone = location_budget(gauge, None, 1)
    area = area_budget(gauge, scatter, locations)
    assert area.combined > alone.combined
    assert area.combined >= area_budget(gauge, scatter, locations + 1).combined
    assert location_budget(gauge, Pooled(Fraction(scatter), 5), 2).combined > alone.combined


@given(
    st.lists(st.tuples(st.integers(1, 60), st.sampled_from([1, 2, 3, 6]), st.integers(1, 40)), min_size=1, max_size=6)
)
def test_effective_degrees_of_freedom_by_the_shares_of_the_variance(parts):
    """1/ν is the sum of each share squared over its own degrees of freedom: another form, in integers and fractions."""
    variances = [Fraction(value * value, divisor) for value, divisor, _ in parts]
    shares = [variance / sum(variances) for variance in variances]
    inverse = sum(share * share / dof for share, (*_, dof) in zip(shares, parts, strict=True))
    found = effective_dof([
        Component(str(index), value, divisor=Root.of(divisor), dof=dof)
        for index, (value, divisor, dof) in enumerate(parts)
    ])  # fmt: skip
    assert found == inverse.denominator // inverse.numerator


@given(st.lists(st.lists(HEIGHTS, max_size=4), max_size=6), st.randoms())
def test_pooling_does_not_depend_on_order(groups, random):
    shuffled = [list(group) for group in groups]
    random.shuffle(shuffled)
    for group in shuffled:
        random.shuffle(group)
    assert pooled_standard_deviation(shuffled) == pooled_standard_deviation(groups)


@given(st.fractions(Fraction(1, 10_000), 300, max_denominator=10_000))
def test_a_printed_uncertainty_has_two_digits_and_is_off_by_five_percent_at_most(value):
    printed = printed_uncertainty(value)
    assert len(printed.as_tuple().digits) == 2
    assert -int(printed.as_tuple().exponent) == printed_places(value)
    assert abs(Fraction(printed) - value) <= value / 20


@given(st.fractions(Fraction(1, 10_000), 300, max_denominator=10_000), st.integers(-1, 5))
def test_an_uncertainty_is_never_printed_as_nothing_nor_much_too_small(value, places):
    printed = Fraction(printed_uncertainty(value, places))
    assert printed > 0
    assert printed >= value * Fraction(95, 100)
    assert printed - value < Fraction(10) ** -places
