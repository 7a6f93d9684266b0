"""Refusals and boundaries of salts and dust."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.metrology.conductivity import Extraction, reading_budget, salt_budget, salt_precision_component
from reportgen.metrology.contamination import (
    Dust,
    check_same_salts,
    dust_of_sizes,
    dust_within,
    expressed_by,
    salt_density,
    salt_precision,
)
from reportgen.metrology.uncertainty import Component, Errors
from reportgen.units import Quantity


def density(sample="9.6", blank="2.1", volume="3", area="12.5"):
    return salt_density(
        Quantity(Decimal(sample), "uS/cm"), Quantity(Decimal(blank), "uS/cm"),
        Quantity(Decimal(volume), "ml"), Quantity(Decimal(area), "cm2"),
    )  # fmt: skip


def test_density_is_exact():
    assert density().exact == 9
    assert density(sample="2.1").exact == 0


def test_conductivity_in_other_units():
    found = salt_density(
        Quantity(Decimal("0.96"), "mS/m"), Quantity(Decimal("2.1"), "uS/cm"),
        Quantity(Decimal("0.003"), "l"), Quantity(Decimal(1250), "mm2"),
    )  # fmt: skip
    assert found.exact == 9


def test_a_sample_below_its_blank():
    with pytest.raises(RangeError) as caught:
        density(sample="2.0")
    assert caught.value.message == "the sample 2.0 µS/cm conducts less than the blank 2.1 µS/cm"


@pytest.mark.parametrize("fields", [{"volume": "0"}, {"area": "0"}, {"volume": "-3"}])
def test_volume_and_area_are_above_zero(fields):
    with pytest.raises(RangeError, match="volume and area must be above 0, got"):
        density(**fields)


@pytest.mark.parametrize(("text", "known"), [("29.9", False), ("30", True), ("80", True), ("80.1", False)])
def test_range_of_the_published_precision(text, known):
    assert (salt_precision(Quantity(Decimal(text), "mg/m2")) is not None) == known


def test_precision_of_a_result_in_the_other_unit():
    assert salt_precision(Quantity(Decimal("4.5"), "ug/cm2")) == Quantity(Decimal("8.2"), "mg/m2")


KNOWN = "expected mixed salts by conductivity, sodium chloride by conductivity, chloride"


@pytest.mark.parametrize(("measured", "limited", "message", "remedy"), [
    ("salt", "chloride", "`salt` is not a way to express salts", KNOWN),
    ("chloride", "salt", "`salt` is not a way to express salts", KNOWN),
    ("chloride", "mixed salts by conductivity",
     "a result as chloride cannot be compared with a limit on mixed salts by conductivity", None),
])  # fmt: skip
def test_salts_that_cannot_be_compared(measured, limited, message, remedy):
    with pytest.raises(RangeError) as caught:
        check_same_salts(measured, limited)
    assert (caught.value.message, caught.value.help_text) == (message, remedy)


@pytest.mark.parametrize(("quantity", "size", "within"), [
    (2, 2, True), (3, 2, False), (2, 3, False), (0, 5, True), (1, 0, True),
])  # fmt: skip
def test_dust_against_two_maxima(quantity, size, within):
    assert dust_within(Dust(quantity, size), 2, 2) is within


@pytest.mark.parametrize(("quantity", "size"), [(6, 0), (-1, 0), (0, 6), (0, -1)])
def test_dust_ratings_end_at_five(quantity, size):
    with pytest.raises(RangeError, match="rated 0 to 5"):
        Dust(quantity, size)
    with pytest.raises(RangeError, match="rated 0 to 5"):
        dust_within(Dust(0, 0), quantity, size)


def test_small_volumes_and_areas_count():
    assert density(volume="0.5", area="0.5").exact == Fraction("37.5")


@pytest.mark.parametrize(
    ("at", "constant", "half_width", "source"),
    [
        ("30", 5, "8.2", "published-precision"), ("80", 5, "8.2", "published-precision"),
        ("29.9", 5, "8.2", "beyond-published"), ("80.1", 5, "8.21025", "beyond-published"),
        ("160", 5, "16.4", "beyond-published"), ("45", 6, "9.84", "beyond-published"),
        ("160", 6, "19.68", "beyond-published"), ("45", "4.7", "8.2", "published-precision"),
        ("15", "4.7", "8.2", "beyond-published"),
    ],
)  # fmt: skip
def test_the_precision_is_widened_beyond_what_is_published_and_never_narrowed(at, constant, half_width, source):
    """8.2 mg/m² (NACE SP0508, 30 to 80 mg/m², mixed salts) times 6/5, and times the density over 80 above that."""
    found = salt_precision_component(Quantity(Decimal(at), "mg/m2"), Fraction(constant))
    assert (found.number, found.source) == (Fraction(half_width), source)


@pytest.mark.parametrize(("volume", "area"), [("0", "12.5"), ("3", "0"), ("-1", "12.5"), ("3", "-1")])
def test_a_budget_of_no_water_or_no_steel_is_refused(volume, area):
    made = Extraction(
        Quantity(Decimal("39.6"), "uS/cm"), Quantity(Decimal("2.1"), "uS/cm"), Quantity(Decimal(volume), "ml"),
        Quantity(Decimal(area), "cm2"),
    )  # fmt: skip
    nothing, density = Errors("uS/cm"), Quantity(Decimal(45), "mg/m2")
    with pytest.raises(RangeError, match="volume and area must be above 0"):
        salt_budget(density, made, 5, salt_precision_component(density), at_sample=nothing, at_blank=nothing)


def test_half_a_millilitre_of_water_and_half_a_square_centimetre_are_some():
    made = Extraction(
        Quantity(Decimal("39.6"), "uS/cm"), Quantity(Decimal("2.1"), "uS/cm"), Quantity(Decimal("0.5"), "ml"),
        Quantity(Decimal("0.5"), "cm2"), Quantity(Decimal("0.05"), "ml"),
    )  # fmt: skip
    nothing, density = Errors("uS/cm"), Quantity(Decimal("187.5"), "mg/m2")
    found = salt_budget(density, made, 5, salt_precision_component(density), at_sample=nothing, at_blank=nothing)
    water = found.components[-1]
    assert (water.number * water.sensitivity, water.source) == (Fraction("18.75"), "as-recorded")  # 10 % of 187.5


def test_a_constant_is_above_zero():
    with pytest.raises(RangeError, match="the constant must be above 0, got 0"):
        expressed_by(Quantity(Decimal(45), "mg/m2"), Fraction(0))
    assert expressed_by(Quantity(Decimal(45), "mg/m2"), Fraction(1)).exact == 9


def test_a_limit_of_dust_for_size_classes_names_one():
    with pytest.raises(RangeError, match="needs at least one of them"):
        dust_of_sizes(Dust(1, 1), 1, ())


def test_the_budget_of_salts_names_what_it_is_made_of():
    stated = (("39.6", "uS/cm"), ("2.1", "uS/cm"), ("3", "ml"), ("12.5", "cm2"), ("0.1", "ml"), ("0.5", "cm2"))
    made = Extraction(*(Quantity(Decimal(text), unit) for text, unit in stated))
    density = Quantity(Decimal(45), "mg/m2")
    meter = Errors("uS/cm", 1)
    found = salt_budget(density, made, 5, salt_precision_component(density), at_sample=meter, at_blank=meter)
    assert [(part.name, part.unit) for part in found.components] == [
        ("method precision", ""), ("meter at sample", "uS/cm"), ("meter at blank", "uS/cm"),
        ("volume of water", "ml"), ("patch area", "cm2"),
    ]  # fmt: skip


def test_one_reading_has_the_precision_of_the_method_and_the_errors_of_the_meter_or_nothing():
    precision = Component("method", 3)
    both = reading_budget("meter", Errors("uS/cm", 4), precision)
    assert both is not None
    assert [part.name for part in both.components] == ["method", "meter"]
    assert both.combined**2 == pytest.approx(9 + 16 / 3)
    alone = reading_budget("meter", Errors("uS/cm"), precision)
    assert alone is not None
    assert alone.combined == 3
    assert reading_budget("meter", Errors("uS/cm")) is None
    assert reading_budget("meter", Errors("uS/cm", resolution=1)) is None, "a last digit bounds no error"
