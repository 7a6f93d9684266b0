"""Salts and dust."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pint
import pytest
from uncertainties import ufloat

from reportgen.errors import RangeError
from reportgen.metrology.conductivity import (
    Extraction,
    precision_component,
    reading_budget,
    salt_budget,
    salt_precision_component,
)
from reportgen.metrology.conformity import Limits, judge
from reportgen.metrology.contamination import (
    SODIUM_CHLORIDE,
    Dust,
    check_same_salts,
    dust_of_sizes,
    dust_within,
    expressed_by,
    salt_density,
    salt_precision,
)
from reportgen.metrology.uncertainty import Errors
from reportgen.units import Quantity
from tests.reference.published import published

ML, CM2 = Quantity(Decimal(15), "ml"), Quantity(Decimal("12.5"), "cm2")


def _us(text):
    return Quantity(Decimal(text), "uS/cm")


@pytest.mark.parametrize(
    "row", published("salt-conductivity").rows, ids=lambda row: f"{row['salt']}-{row['mol_per_l']}"
)
def test_what_is_known_to_be_in_the_water_comes_out_as_areal_density(row):
    """Dissolved from 12.5 cm² in 15 ml: mol/l times g/mol is g/l, and 1 mg/l in 15 ml from 12.5 cm² is 12 mg/m²."""
    mg_per_l = 1000 * float(row["mol_per_l"]) * float(row["g_per_mol"])
    mixed = salt_density(_us(row["us_per_cm"]), _us("0"), ML, CM2)
    sodium = row["expressed_as"].startswith("sodium")
    found = expressed_by(mixed, SODIUM_CHLORIDE) if sodium else mixed
    assert float(found.in_unit("mg/m2")) == pytest.approx(mg_per_l * 12, rel=float(row["tolerance"]))


def test_salts_budget_by_another_library_and_by_monte_carlo():
    """45.0 mg/m² from 3 ml on 12.5 cm²: the law of propagation in `uncertainties`, and 400,000 drawn days."""
    made = Extraction(_us("39.6"), _us("2.1"), Quantity(Decimal(3), "ml"), CM2,
                      Quantity(Decimal("0.1"), "ml"), Quantity(Decimal("0.5"), "cm2"))  # fmt: skip
    found = Quantity(Decimal(45), "mg/m2")
    at_sample, at_blank = (
        Errors("uS/cm", Fraction(3, 100) * Fraction(text), Fraction("0.4"), 2) for text in ("39.6", "2.1")
    )
    ours = salt_budget(found, made, 5, salt_precision_component(found), at_sample=at_sample, at_blank=at_blank)
    sample = ufloat(39.6, 0.03 * 39.6 / 3**0.5) + ufloat(0, 0.2)
    blank = ufloat(2.1, 0.03 * 2.1 / 3**0.5) + ufloat(0, 0.2)
    volume, area = ufloat(3, 0.1 / 3**0.5), ufloat(12.5, 0.5 / 3**0.5)
    theirs = 5 * volume * (sample - blank) / area + ufloat(0, 8.2 / 1.959964)
    assert float(ours.combined) == pytest.approx(theirs.std_dev, rel=1e-6)

    draw, n = np.random.default_rng(20260514), 400_000

    def near(half):
        return draw.uniform(-half, half, n)

    high = 39.6 + near(0.03 * 39.6) + draw.normal(0, 0.2, n)
    low = 2.1 + near(0.03 * 2.1) + draw.normal(0, 0.2, n)
    drawn = 5 * (3 + near(0.1)) * (high - low) / (12.5 + near(0.5)) + draw.normal(0, 8.2 / 1.959964, n)
    width = np.quantile(drawn, 0.975) - np.quantile(drawn, 0.025)
    assert float(ours.expanded) == pytest.approx(width / 2, rel=0.01)


def test_conductivity_of_abrasive_by_monte_carlo():
    """245 µS/cm on a meter of ±2 % that shows whole µS/cm."""
    ours = reading_budget("meter", Errors("uS/cm", Fraction("4.9"), resolution=1))
    draw, n = np.random.default_rng(20260514), 400_000
    drawn = draw.uniform(-4.9, 4.9, n) + draw.uniform(-0.5, 0.5, n)
    assert float(ours.combined) == pytest.approx(drawn.std(), rel=0.005)
    # two rectangles are narrower at 95 % than the normal distribution of the GUM: U is on the safe side
    assert np.mean(np.abs(drawn) <= float(ours.expanded)) >= 0.95


def test_the_published_precision_alone_is_its_own_expanded_uncertainty():
    """NACE SP0508 1.1.3, ±8.2 mg/m² at 30, 45 and 80 mg/m²: nothing else stated, nothing else added."""
    nothing = Errors("uS/cm")
    assert float(precision_component(Fraction("8.2"), "contract").standard) == pytest.approx(8.2 / 1.959964, rel=1e-6)
    for text in ("30", "45", "80"):
        found = Quantity(Decimal(text), "mg/m2")
        made = Extraction(_us(text), _us("0"), Quantity(Decimal(3), "ml"), Quantity(Decimal(15), "cm2"))
        budget = salt_budget(found, made, 5, salt_precision_component(found), at_sample=nothing, at_blank=nothing)
        assert float(budget.expanded) == pytest.approx(8.2, abs=1e-6)
        assert budget.components[0].source == "published-precision"


def test_the_constant_by_dimensions():
    """5 kg/(m2 S) times 3 ml times 10 uS/cm over 12.5 cm2 is 12 mg/m2, worked by a library of units."""
    unit = pint.UnitRegistry()
    rise, area = unit.Quantity(10, "uS/cm"), unit.Quantity(12.5, "cm**2")
    density = unit.Quantity(5, "kg/m**2/S") * unit.Quantity(3, "ml") * rise / area
    assert density.to("mg/m**2").magnitude == pytest.approx(12.0)


def test_precision_of_a_single_result_keeps_45_from_clearing_50():
    """NACE SP0508 1.1.3: 8.2 mg/m2 from 30 to 80 mg/m2, as a guard band against the limit of IMO MSC.1/Circ.1378."""
    limit = Limits(maximum=Quantity(Decimal(50), "mg/m2"))
    found = Quantity(Decimal(45), "mg/m2")
    assert salt_precision(found) == Quantity(Decimal("8.2"), "mg/m2")
    assert judge(found, limit).verdict == "conforms"
    assert judge(found, limit, rule="guarded", expanded=salt_precision(found)).verdict == "inconclusive"


def test_chloride_is_never_compared_with_mixed_salts():
    check_same_salts("chloride", "chloride")
    with pytest.raises(RangeError, match="cannot be compared"):
        check_same_salts("mixed salts by conductivity", "chloride")


def test_dust_requirement_of_a_public_resolution():
    """IMO MSC.215(82) (recalled): quantity 1 for the size classes 3, 4, 5; of finer dust it states no quantity."""
    assert dust_within(Dust(1, 5), 1, 5)
    assert not dust_within(Dust(2, 3), 1, 5)
    sizes = (3, 4, 5)
    assert [dust_of_sizes(Dust(1, size), 1, sizes) for size in range(6)] == [True] * 6
    assert [dust_of_sizes(Dust(2, size), 1, sizes) for size in range(6)] == [None] * 3 + [False] * 3
