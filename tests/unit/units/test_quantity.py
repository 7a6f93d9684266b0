"""Quantities: spellings, kinds, exact conversion, rendering."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import QuantityError
from reportgen.units import (
    DISPLAY,
    SPELLINGS,
    Quantity,
    kind_of,
    parse_quantity,
    parse_unit,
    render_quantity,
)


@pytest.mark.parametrize(("text", "kind", "magnitude", "unit"), [
    ("2.0 mil", "height", "2.0", "mil"), ("2.0mils", "height", "2.0", "mil"), ("3 thou", "height", "3", "mil"),
    ("50 \u00b5m", "height", "50", "um"), ("50 \u03bcm", "height", "50", "um"), ("50 microns", "height", "50", "um"),
    ("-2.0 mil", "height", "-2.0", "mil"), (" 16.5 degC ", "temperature", "16.5", "degC"),
    ("3 delta_degC", "temperature difference", "3", "delta_degC"), ("64 %", "share", "64", "%"),
    ("3 sq ft", "area", "3", "ft2"), ("12.5 cm\u00b2", "area", "12.5", "cm2"),
    ("9.6 \u00b5S/cm", "conductivity", "9.6", "uS/cm"),
    ("1013 mbar", "pressure", "1013", "hPa"), ("5 \u03bcg/cm2", "areal density", "5", "ug/cm2"),
])  # fmt: skip
def test_read(text, kind, magnitude, unit):
    found = parse_quantity(text, kind)
    assert (str(found.magnitude), found.unit) == (magnitude, unit)


@pytest.mark.parametrize(("text", "kind", "message", "remedy"), [
    ("mil", "height", "`mil` is not a number with a unit", "write a number and a unit, such as `2.0 mil` or `50 um`"),
    ("", "height", "`` is not a number with a unit", "write a number and a unit, such as `2.0 mil` or `50 um`"),
    ("2.2", "height", "`2.2` has no unit", "write a number and a unit, such as `2.2 mil` or `2.2 um`"),
    ("2,2 mil", "height", "`2,2` is not a number", "write `2.2` with a decimal point"),
    ("1e3 mil", "height", "`1e3` is not a number", "write digits with at most one decimal point, such as `2.4`"),
    ("\u22122 mil", "height", "`\u22122` is not a number", "write `-2` with an ordinary hyphen"),
    ("2 Mil", "height", "`Mil` is not a unit of height", "write one of `mil`, `um`, `mm`"),
    ("2  mil x", "height", "` mil x` is not a unit of height", "write one of `mil`, `um`, `mm`"),
    ("2 mil|5", "height", "`mil|5` is not a unit of height", "write one of `mil`, `um`, `mm`"),
    ("2 m", "height", "`m` is not a unit of height", "write one of `mil`, `um`, `mm`"),
    ("3 degC", "temperature difference", "`degC` is not a unit of temperature difference",
     "a difference of temperature is written `delta_degC`"),
    ("3 \u00b0F", "temperature difference", "`\u00b0F` is not a unit of temperature difference",
     "a difference of temperature is written `delta_degF`"),
    ("3 delta_degC", "temperature", "`delta_degC` is not a unit of temperature", "a temperature is written `degC`"),
])  # fmt: skip
def test_refused(text, kind, message, remedy):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, kind)
    assert (caught.value.message, caught.value.help_text) == (message, remedy)


@pytest.mark.parametrize(("kind", "spelling"), [(kind, text) for kind, texts in SPELLINGS.items() for text in texts])
def test_every_spelling_leads_to_its_canonical_unit(kind, spelling):
    unit = parse_unit(spelling, kind)
    assert parse_unit(unit, kind) == unit
    assert parse_unit(DISPLAY.get(unit, unit), kind if "delta" not in unit else "temperature")
    assert unit in SPELLINGS[kind_of(unit)].values()


def test_unknown_units():
    with pytest.raises(QuantityError, match="`furlong` is not a known unit"):
        kind_of("furlong")
    with pytest.raises(QuantityError, match="cannot be converted"):
        Quantity(Decimal(1), "mil").in_unit("h")


@pytest.mark.parametrize(("magnitude", "unit", "other", "expected"), [
    ("4.9", "mil", "um", "124.46"), ("1", "in", "mm", "25.4"), ("1", "ft2", "m2", "0.09290304"),
    ("1", "ft", "m", "0.3048"),
    ("1", "cm2", "mm2", "100"), ("9", "in2", "mm2", "5806.44"), ("3", "ml", "l", "0.003"),
    ("10", "mg/m2", "ug/cm2", "1"),
    ("25", "mS/m", "uS/cm", "250"), ("20", "degC", "degF", "68"), ("-40", "degF", "degC", "-40"),
    ("0", "degF", "degC", Fraction(-160, 9)), ("3", "delta_degC", "delta_degF", "5.4"),
    ("5", "delta_degF", "delta_degC", Fraction(25, 9)), ("1", "h", "min", "60"), ("1", "d", "h", "24"),
    ("1", "bar", "hPa", "1000"), ("1", "kPa", "hPa", "10"), ("1", "MPa", "bar", "10"), ("1", "inHg", "hPa", "33.86389"),
    ("1", "psi", "kPa", Fraction("4.4482216152605") / Fraction("0.64516")), ("1", "%", "ppm", "10000"),
    ("5", "s", "s", "5"),
])  # fmt: skip
def test_conversion_is_exact(magnitude, unit, other, expected):
    quantity = Quantity(Decimal(magnitude), unit)
    assert quantity.in_unit(other) == Fraction(expected)
    assert quantity.to(other).to(unit).exact == quantity.exact


def test_places_are_those_written():
    assert Quantity(Decimal("2.10"), "mil").places == 2
    assert Quantity(Decimal("2E+1"), "mil").places == 0
    assert Quantity(Fraction(1, 3), "mil").places == 0
    assert Quantity(Decimal("NaN"), "mil").places == 0


def test_rendering():
    assert str(Quantity(Decimal("16.50"), "degC")) == "16.50 °C"
    assert render_quantity(Quantity(Fraction(1, 3), "um"), 2) == "0.33 µm"
    assert render_quantity(Quantity(Decimal("2.25"), "mil"), 1, "half-up") == "2.3 mil"
    assert render_quantity(Quantity(Decimal("2.25"), "mil"), 1) == "2.2 mil"


def test_same_unit_returns_the_same_quantity():
    quantity = Quantity(Decimal("2.10"), "mil")
    assert quantity.to("mil") is quantity
