"""Numbers of locations of public specifications."""

from decimal import Decimal

import pytest

from reportgen.metrology.sampling import (
    DIRECTIONS,
    Walk,
    bounded_extent,
    locations_after_failures,
    locations_by_area,
    locations_for_changes,
    locations_per_shift,
    locations_per_size,
    walk_out,
)
from reportgen.references import standard, table
from reportgen.units import Quantity
from tests.reference.published import published

PLANS = {row["plan"]: row for row in table("sampling-plans").rows}


@pytest.mark.parametrize("row", published("sampling").rows, ids=lambda row: "-".join(list(row.values())[:3]))
def test_public_plans(row):
    plan, size = PLANS[row["plan"]], Quantity(Decimal(row["size"]), row["unit"])
    step = Quantity(Decimal(plan["step"]), plan["unit"])
    if plan["kind"] == "area-rate":
        first = Quantity(Decimal(plan["first"]), plan["unit"])
        found = locations_by_area(size, first, int(plan["first_count"]), step, int(plan["step_count"]))
    else:
        found = locations_per_size(size, step, int(plan["step_count"]))
    assert found == int(row["locations"])


def test_two_more_tests_for_each_that_fails():
    """UFGS 09971 and 09972, page 24."""
    assert locations_after_failures(3, 2, int(PLANS["UFGS 09971 metric"]["per_failing"])) == 7


def test_one_per_length_of_weld_and_of_cut_edge():
    """UFGS 09971A page 26: one for each 15 m of weld and each 3 m of flame-cut edge."""
    weld, edge = PLANS["UFGS 09971A weld metric"], PLANS["UFGS 09971A edge metric"]
    assert locations_per_size(Quantity(Decimal(31), "m"), Quantity(Decimal(weld["step"]), "m"), 1) == 3
    assert locations_per_size(Quantity(Decimal(31), "m"), Quantity(Decimal(edge["step"]), "m"), 1) == 11


def test_three_for_each_apparatus_and_shift():
    """SSPC-PA 17 (from memory)."""
    least = standard("sspc-pa-17", "2015").data["sampling"]["locations_per_shift_and_apparatus"]
    assert locations_per_shift(least, 2, 2) == 12


def test_a_change_of_process():
    """SSPC-PA 17 Appendix B3: two for the first change, one for each further."""
    change = standard("sspc-pa-17", "2015").data["process_change"]
    assert locations_for_changes(1) == change["first"]
    assert locations_for_changes(3) == change["first"] + 2 * change["further"]


def test_four_directions_until_two_in_a_row_comply():
    """SSPC-PA 17 Appendix B4 step 1."""
    walk = standard("sspc-pa-17", "2015").data["walk_out"]
    assert len(DIRECTIONS) == walk["directions"]
    run = ("does not conform",) + ("conforms",) * walk["consecutive"]
    done = walk_out([Walk(name, run) for name in DIRECTIONS])
    assert done.complete
    extent = bounded_extent(done, Quantity(Decimal(2), "m"))
    assert extent is not None
    assert {str(reach) for reach in extent.values()} == {"4 m"}
    assert not walk_out([Walk(name, run[:-1]) for name in DIRECTIONS]).complete
