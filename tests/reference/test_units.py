"""Exact conversion by the definition of the inch."""

from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.units import Quantity
from tests.reference.published import published


@pytest.mark.parametrize("row", published("mil-um").rows, ids=lambda row: row["mil"])
def test_mil_and_micrometre(row):
    assert Quantity(Decimal(row["mil"]), "mil").in_unit("um") == Fraction(row["um"])
    assert Quantity(Decimal(row["um"]), "um").in_unit("mil") == Fraction(row["mil"])


def test_specifications_pair_rounded_numbers():
    """50 to 75 um is paired with 2 to 3 mil: neither is the other, so a value is judged in the specification's unit."""
    assert Quantity(Decimal(2), "mil").in_unit("um") == Fraction("50.8")
    assert Quantity(Decimal(100), "m2").in_unit("ft2") > 1076
    assert Quantity(Decimal(5), "delta_degF").in_unit("delta_degC") == Fraction(25, 9)
