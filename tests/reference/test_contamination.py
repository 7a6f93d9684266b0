"""Salts and dust."""

from decimal import Decimal

import pint
import pytest

from reportgen.errors import RangeError
from reportgen.metrology.conformity import Limits, judge
from reportgen.metrology.contamination import Dust, check_same_salts, dust_within, salt_density, salt_precision
from reportgen.units import Quantity
from tests.reference.published import published


@pytest.mark.parametrize("row", published("salts").rows, ids=lambda row: f"{row['volume_ml']}ml-{row['rise_us_cm']}")
def test_density_from_conductivity(row):
    found = salt_density(
        Quantity(Decimal(row["rise_us_cm"]) + 2, "uS/cm"), Quantity(Decimal(2), "uS/cm"),
        Quantity(Decimal(row["volume_ml"]), "ml"), Quantity(Decimal(row["area_cm2"]), "cm2"),
    )  # fmt: skip
    tolerance = float(row["tolerance"]) + 1e-12
    assert float(found.exact) == pytest.approx(float(row["mg_per_m2"]), abs=tolerance)
    assert float(found.in_unit("ug/cm2")) == pytest.approx(float(row["ug_per_cm2"]), abs=tolerance / 10)


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
    """IMO MSC.215(82) (recalled): quantity 1 for the size classes 3, 4, 5."""
    assert dust_within(Dust(1, 5), 1, 5)
    assert not dust_within(Dust(2, 3), 1, 5)
