"""Invariants of numbers and quantities: round trips, exactness, rounding."""

import contextlib
from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import QuantityError
from reportgen.units import SPELLINGS, Quantity, parse_number, parse_quantity, render_number, rounded

RULES = st.sampled_from(["half-even", "half-up"])
VALUES = st.fractions(-1000, 1000, max_denominator=10**6)
NUMBERS = st.tuples(st.integers(-999_999, 999_999), st.integers(0, 6)).map(
    lambda pair: Decimal(pair[0]).scaleb(-pair[1])
)
KINDS = st.sampled_from(sorted(SPELLINGS))


@given(NUMBERS)
def test_what_is_written_is_read_back_with_its_digits(number):
    assert str(parse_number(f"{number:f}")) == f"{number:f}"


@given(st.text(max_size=12))
def test_text_is_either_a_plain_decimal_or_refused(text):
    with contextlib.suppress(QuantityError):
        number = parse_number(text)
        assert number.is_finite()
        assert text.isascii()
        assert len(text) <= 20


@given(st.text(max_size=20), KINDS)
def test_text_is_either_a_quantity_or_refused_with_a_reason(text, kind):
    found, refusal = None, None
    try:
        found = parse_quantity(text, kind)
    except QuantityError as raised:
        refusal = raised
    if found is not None:
        assert found.unit in SPELLINGS[kind].values()
    else:
        assert refusal is not None
        assert refusal.help_text


@given(NUMBERS, KINDS, st.data())
def test_every_pair_of_units_of_a_kind_converts_back_exactly(number, kind, data):
    units = sorted(set(SPELLINGS[kind].values()))
    one, other = data.draw(st.sampled_from(units)), data.draw(st.sampled_from(units))
    quantity = Quantity(number, one)
    assert quantity.to(other).to(one).exact == quantity.exact


@given(NUMBERS, NUMBERS, KINDS, st.data())
def test_conversion_keeps_the_order(first, second, kind, data):
    units = sorted(set(SPELLINGS[kind].values()))
    one, other = data.draw(st.sampled_from(units)), data.draw(st.sampled_from(units))
    converted = [Quantity(number, one).in_unit(other) for number in (first, second)]
    assert (first < second) == (converted[0] < converted[1])


@given(VALUES, st.integers(0, 6), RULES)
def test_rounding_is_within_half_a_digit_and_stays(value, places, rule):
    found = rounded(value, places, rule)
    assert abs(Fraction(found) - value) <= Fraction(1, 2 * 10**places)
    assert rounded(found, places, rule) == found
    assert rounded(value, places, rule) == -rounded(-value, places, rule)


@given(VALUES, VALUES, st.integers(0, 4), RULES)
def test_rounding_keeps_the_order(first, second, places, rule):
    low, high = sorted((first, second))
    assert rounded(low, places, rule) <= rounded(high, places, rule)


@given(VALUES, st.integers(0, 6), RULES)
def test_rendered_text_has_exactly_its_places_and_no_negative_zero(value, places, rule):
    text = render_number(value, places, rule)
    assert len(text.partition(".")[2]) == places
    assert Decimal(text) == rounded(value, places, rule)
    assert Decimal(text) != 0 or not text.startswith("-")
