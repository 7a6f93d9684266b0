"""Invariants of the verdict: printed number and verdict agree, loosening never worsens, units never matter."""

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from reportgen.metrology.conformity import Limits, combined_verdict, judge, probability_of_conformity
from reportgen.units import Quantity, render_number

RULES = st.sampled_from(["simple", "guarded", "banded"])
ROUNDINGS = st.sampled_from(["half-even", "half-up", "none"])
GOODNESS = {"does not conform": 0, "inconclusive": 1, "conforms": 2}
PLACES = st.integers(0, 3)


@st.composite
def limit_pairs(draw):
    """A minimum and a maximum with one number of decimals."""
    places = draw(PLACES)
    low, high = sorted(draw(st.lists(st.integers(1, 9_000), min_size=2, max_size=2)))
    return tuple(Decimal(number).scaleb(-places) for number in (low, high))


@st.composite
def near(draw, limits):
    """An exact value, often at a limit, half a digit beside it, or just beside that."""
    base = Fraction(draw(st.sampled_from(limits)))
    step = Fraction(10) ** int(limits[0].as_tuple().exponent)
    tiny = Fraction(1, 10**9)
    offset = draw(st.sampled_from([Fraction(0), step / 2, -step / 2, step, -step, tiny, -tiny, step / 2 - tiny]))
    away = draw(st.fractions(-1, 1, max_denominator=60)) * draw(st.sampled_from([0, 0, 1, 30]))
    return max(Fraction(0), base + offset + away)


@st.composite
def cases(draw):
    limits = draw(limit_pairs())
    wide = draw(st.fractions(0, 5, max_denominator=1000))
    return limits, draw(near(limits)), wide


def in_mil(limits):
    return Limits(*(Quantity(limit, "mil") for limit in limits))


@given(cases(), RULES, ROUNDINGS)
def test_the_printed_number_alone_gives_the_verdict(case, rule, rounding):
    """Read back value and U as printed and judge them by the same rules: the same verdict, band and side."""
    limits, value, wide = case
    found = judge(Quantity(value, "mil"), in_mil(limits), rule=rule, rounding=rounding, expanded=Quantity(wide, "mil"))
    again = judge(
        Quantity(found.shown, "mil"), in_mil(limits), rule=rule, rounding=rounding,
        expanded=Quantity(found.expanded, "mil"),
    )  # fmt: skip
    assert (again.verdict, again.band, again.side) == (found.verdict, found.band, found.side)
    assert rounding == "none" or again.compared == found.compared  # as printed: 1.499 as 1.5, and that as 2


@given(cases(), ROUNDINGS)
def test_a_printed_number_inside_the_limits_conforms_and_no_other(case, rounding):
    limits, value, _ = case
    found = judge(Quantity(value, "mil"), in_mil(limits), rounding=rounding)
    inside = limits[0] <= Decimal(render_number(found.compared, Quantity(found.compared, "mil").places)) <= limits[1]
    assert (found.verdict == "conforms") == inside


@given(cases(), RULES, ROUNDINGS)
def test_the_guard_band_is_the_exact_uncertainty_and_what_is_printed_shows_it(case, rule, rounding):
    limits, value, wide = case
    found = judge(Quantity(value, "mil"), in_mil(limits), rule=rule, rounding=rounding, expanded=Quantity(wide, "mil"))
    assert found.guarded == (rule != "simple")
    if found.guarded:
        for number, guard in ((value, wide), (found.shown, found.expanded)):
            inside = min(Fraction(number) - Fraction(limits[0]), Fraction(limits[1]) - Fraction(number))
            assert (found.band == "pass") == (inside >= guard)
        within = limits[0] <= found.compared <= limits[1]
        assert within == (found.band in {"pass", "conditional pass"})


@given(cases(), RULES, ROUNDINGS, st.tuples(st.integers(0, 500), st.integers(0, 500)))
def test_loosening_a_limit_never_worsens_a_verdict(case, rule, rounding, by):
    """Limits keep their number of digits: writing more of them is a tighter requirement under the rounding method."""
    limits, value, wide = case
    step = Decimal(1).scaleb(int(limits[0].as_tuple().exponent))
    loose = (limits[0] - by[0] * step, limits[1] + by[1] * step)
    options = {"rule": rule, "rounding": rounding, "expanded": Quantity(wide, "mil")}
    before = judge(Quantity(value, "mil"), in_mil(limits), **options)
    after = judge(Quantity(value, "mil"), in_mil(loose), **options)
    assert GOODNESS[after.verdict] >= GOODNESS[before.verdict]


LOOSENING = st.integers(0, 3_000_000).map(lambda millionths: Decimal(millionths).scaleb(-6))


@given(cases(), RULES, LOOSENING, LOOSENING)
def test_any_loosening_never_worsens_a_verdict_by_the_absolute_method(case, rule, down, up):
    limits, value, wide = case
    tight = in_mil(limits)
    ends = (limits[0] - down, limits[1] + up)
    loose = Limits(*(Quantity(end, "mil") for end in ends))
    options = {"rule": rule, "rounding": "none", "expanded": Quantity(wide, "mil")}
    before, after = (judge(Quantity(value, "mil"), limit, **options) for limit in (tight, loose))
    assert GOODNESS[after.verdict] >= GOODNESS[before.verdict]


@given(cases(), ROUNDINGS, st.fractions(0, 2, max_denominator=100))
def test_a_wider_uncertainty_never_improves_a_guarded_verdict(case, rounding, more):
    limits, value, wide = case
    first, second = (
        judge(Quantity(value, "mil"), in_mil(limits), rule="guarded", rounding=rounding, expanded=Quantity(u, "mil"))
        for u in (wide, wide + more)
    )
    assert GOODNESS[second.verdict] <= GOODNESS[first.verdict]


@given(cases(), RULES, ROUNDINGS, st.fractions(0, 2, max_denominator=100))
def test_a_wider_uncertainty_accepts_and_rejects_nothing_that_a_narrower_one_leaves_open(case, rule, rounding, more):
    limits, value, wide = case
    narrower, wider = (
        judge(Quantity(value, "mil"), in_mil(limits), rule=rule, rounding=rounding, expanded=Quantity(one, "mil"))
        for one in (wide, wide + more)
    )
    assert wider.verdict in ("inconclusive", narrower.verdict)


@given(cases(), RULES, ROUNDINGS, st.sampled_from([-1, 1]), st.integers(-3, 3))
def test_what_a_root_loses_in_its_last_digits_decides_nothing(case, rule, rounding, side, lost):
    """A value outside the limits by exactly U, where U is a root known to 34 digits: nothing to print shows more."""
    (low, high), _, wide = case
    value = Fraction(high) + wide if side > 0 else max(Fraction(0), Fraction(low) - wide)
    options = {"rule": rule, "rounding": rounding}
    found, exact = (
        judge(Quantity(value, "mil"), in_mil((low, high)), expanded=Quantity(u, "mil"), **options)
        for u in (wide * (1 + Fraction(lost, 10**34)), wide)
    )
    assert (found.verdict, found.band, found.shown) == (exact.verdict, exact.band, exact.shown)


@given(cases(), RULES, ROUNDINGS)
def test_the_unit_of_a_contract_never_decides_what_it_accepts(case, rule, rounding):
    """The limits, the value and U converted exactly. The rounding method depends on the digits of the limits as
    written, so without a guard band it is left out; under one, what conforms does not depend even on them.
    """
    limits, value, wide = case
    metric = Limits(*(Quantity(limit * Decimal("25.4"), "um") for limit in limits))
    mil, um = (
        judge(Quantity(value, "mil"), within, rule=rule, rounding=rounding, expanded=Quantity(wide, "mil"))
        for within in (in_mil(limits), metric)
    )
    if rounding == "none":
        assert (um.verdict, um.band, um.side) == (mil.verdict, mil.band, mil.side)
    elif rule != "simple":
        assert (um.verdict == "conforms") == (mil.verdict == "conforms")


@given(cases(), RULES, ROUNDINGS)
def test_units_never_change_a_verdict(case, rule, rounding):
    """The same height given in mil, um or mm is judged alike: exactly, in the specification's unit."""
    limits, value, wide = case
    given_in = {}
    for unit in ("mil", "um", "mm"):
        options = {"rule": rule, "rounding": rounding, "expanded": Quantity(wide, "mil").to(unit)}
        given_in[unit] = judge(Quantity(value, "mil").to(unit), in_mil(limits), **options)
    assert given_in["mil"] == given_in["um"] == given_in["mm"]


@given(cases(), st.sampled_from(("guarded", "banded")), st.integers(1, 400))
def test_nor_where_a_value_lies_at_the_guard_to_all_digits_of_u(case, rule, parts):
    """U of a seventh of something ends in no unit; where its digits are cut must not depend on the contract's unit."""
    limits, _, wide = case
    wide = (wide + 1) * Fraction(parts, 700)
    value = Fraction(limits[0]) + wide
    metric = Limits(*(Quantity(limit * Decimal("25.4"), "um") for limit in limits))
    options = {"rule": rule, "rounding": "none", "expanded": Quantity(wide, "mil")}
    mil, um = (judge(Quantity(value, "mil"), within, **options) for within in (in_mil(limits), metric))
    assert (um.verdict, um.band, um.side) == (mil.verdict, mil.band, mil.side)


@given(cases())
def test_rules_are_ordered(case):
    """Guarded acceptance implies banded acceptance implies simple acceptance, with one and the same number."""
    limits, value, wide = case
    options = {"rounding": "none", "expanded": Quantity(wide, "mil")}
    simple, guarded, banded = (
        judge(Quantity(value, "mil"), in_mil(limits), rule=name, **options) for name in ("simple", "guarded", "banded")
    )
    assert GOODNESS[guarded.verdict] <= GOODNESS[banded.verdict]
    assert (guarded.verdict == "conforms") == (banded.verdict == "conforms")
    assert not (banded.verdict == "conforms" and simple.verdict != "conforms")
    assert not (banded.verdict == "does not conform" and simple.verdict == "conforms")


@given(cases(), st.fractions(Fraction(1, 1000), 2, max_denominator=1000))
def test_probability_lies_between_none_and_all_and_grows_with_the_range(case, spread):
    limits, value, _ = case
    tight = probability_of_conformity(Quantity(value, "mil"), Quantity(spread, "mil"), in_mil(limits))
    wide = probability_of_conformity(
        Quantity(value, "mil"), Quantity(spread, "mil"), in_mil((limits[0] - 1, limits[1] + 1))
    )
    assert 0 <= tight <= wide <= 1


@given(st.lists(st.sampled_from(["conforms", "does not conform", "inconclusive", "not evaluated"])), st.randoms())
def test_a_whole_is_never_better_than_its_parts_and_order_does_not_matter(verdicts, random):
    whole = combined_verdict(verdicts)
    shuffled = list(verdicts)
    random.shuffle(shuffled)
    assert combined_verdict(shuffled) == whole
    if whole == "conforms":
        assert set(verdicts) == {"conforms"}
