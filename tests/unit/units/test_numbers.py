"""Numbers as text: what is read, what is refused and with which remedy, and rounding by rule."""

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest

from reportgen.errors import QuantityError
from reportgen.units import parse_number, render_number, rounded


@pytest.mark.parametrize("text", ["0", "2.4", "2.10", "-0.5", "+3", "123456789.123456789", "007"])
def test_plain_decimals_keep_their_digits(text):
    assert str(parse_number(text)) == str(Decimal(text))


REMARKS = "leave the entry out and say why under `remarks` when nothing was measured"
DIGITS = "write digits with at most one decimal point, such as `2.4`"


@pytest.mark.parametrize(("text", "remedy"), [
    ("2,4", "write `2.4` with a decimal point"), ("-2,4", "write `-2.4` with a decimal point"),
    ("nan", REMARKS), (".nan", REMARKS), ("-inf", REMARKS), ("Infinity", REMARKS),
    ("\u22122.4", "write `-2.4` with an ordinary hyphen"),
    ("", DIGITS), (" 2", DIGITS), ("2.", DIGITS), (".5", DIGITS), ("1e3", DIGITS), ("1E+1000000000", DIGITS),
    ("1_000", DIGITS), ("0x10", DIGITS), ("\u0662", DIGITS), ("1234567890", DIGITS), ("0.1234567890", DIGITS),
    ("--3", DIGITS), ("9**9", DIGITS), ("<2.5", DIGITS), ("OL", DIGITS), ("2\n", DIGITS), ("1,2,3", DIGITS),
    ("true", DIGITS),
])  # fmt: skip
def test_refused_with_a_remedy(text, remedy):
    with pytest.raises(QuantityError) as caught:
        parse_number(text)
    assert caught.value.message == f"`{text}` is not a number"
    assert caught.value.help_text == remedy


@pytest.mark.parametrize(("value", "places", "even", "up"), [
    ("2.25", 1, "2.2", "2.3"), ("2.35", 1, "2.4", "2.4"), ("2.45", 1, "2.4", "2.5"), ("-2.25", 1, "-2.2", "-2.3"),
    ("-2.35", 1, "-2.4", "-2.4"), ("0.5", 0, "0", "1"), ("1.5", 0, "2", "2"), ("2.46", 1, "2.5", "2.5"),
    ("2.44", 1, "2.4", "2.4"), ("2.4", 3, "2.400", "2.400"), ("15", -1, "20", "20"), ("25", -1, "20", "30"),
    ("-0.04", 1, "0.0", "0.0"), ("-0.05", 1, "0.0", "-0.1"), ("0", 2, "0.00", "0.00"), ("-1", 0, "-1", "-1"),
])  # fmt: skip
def test_halves_by_rule(value, places, even, up):
    """Half up moves an exact half away from zero, as the decimal module's ROUND_HALF_UP."""
    assert render_number(Decimal(value), places) == even
    assert render_number(Decimal(value), places, "half-up") == up


@pytest.mark.parametrize("kind", [Fraction, Decimal, int])
def test_rounding_takes_every_exact_kind(kind):
    assert rounded(kind(3), 1) == Decimal("3.0")
    assert str(rounded(Fraction(1, 3), 4)) == "0.3333"
    assert str(rounded(Fraction(2, 3), 4)) == "0.6667"


@pytest.mark.parametrize("places", [0, 1, 3])
@pytest.mark.parametrize("value", ["-2.5", "-0.0005", "0.0005", "1.25", "2.5", "99.95", "-7.3125"])
def test_rounding_against_the_decimal_module(value, places):
    exponent = Decimal(1).scaleb(-places)
    assert rounded(Decimal(value), places) == Decimal(value).quantize(exponent, ROUND_HALF_EVEN)
    assert rounded(Decimal(value), places, "half-up") == Decimal(value).quantize(exponent, ROUND_HALF_UP)


@pytest.mark.parametrize("places", [0, 27, 28, 29, 60])
def test_rounding_keeps_every_digit_that_is_asked_for(places):
    """More than arithmetic of the decimal module keeps by default: 28."""
    value = Fraction(10**places * 7 + 1, 10**places)
    assert Fraction(rounded(value, places)) == value
