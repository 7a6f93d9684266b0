"""Decision rules, rounding, probability of conformity."""

from decimal import Decimal

import pytest
from scipy import stats
from scipy.integrate import quad

from reportgen.metrology.conformity import (
    Limits,
    combined_verdict,
    decide,
    judge,
    probability_of_conformity,
)
from reportgen.units import Quantity, render_number
from tests.reference.published import published


def mil(text):
    return Quantity(Decimal(str(text)), "mil")


RANGE = Limits(mil("1.5"), mil("3.0"))
VERDICTS = {
    "pass": "conforms",
    "conditional pass": "inconclusive",
    "conditional fail": "inconclusive",
    "fail": "does not conform",
}


@pytest.mark.parametrize("row", published("bands").rows, ids=lambda row: row["value"])
def test_four_bands(row):
    found = judge(mil(row["value"]), RANGE, rule="banded", expanded=mil("0.2"))
    assert found.band == row["band"]
    assert found.verdict == VERDICTS[row["band"]]


@pytest.mark.parametrize("row", published("bands").rows, ids=lambda row: row["value"])
def test_guarded_acceptance_and_simple_acceptance(row):
    """ILAC-G8 4.2: guarded accepts only up to the limit less w, simple acceptance up to the limit."""
    guarded = judge(mil(row["value"]), RANGE, rule="guarded", expanded=mil("0.2"))
    assert (guarded.verdict == "conforms") == (row["band"] == "pass")
    assert (guarded.verdict == "does not conform") == (row["band"] in {"conditional fail", "fail"})
    simple = judge(mil(row["value"]), RANGE)
    assert (simple.verdict == "conforms") == (row["band"] in {"pass", "conditional pass"})


@pytest.mark.parametrize("row", published("bands").rows, ids=lambda row: row["value"])
def test_deciding_with_an_uncertainty_is_judging_and_simple_acceptance_needs_none(row):
    for rule in ("simple", "guarded", "banded"):
        found = decide(mil(row["value"]), RANGE, rule=rule, rounding="none", expanded=mil("0.2"))
        assert found.verdict == judge(mil(row["value"]), RANGE, rule=rule, rounding="none", expanded=mil("0.2")).verdict
    simple = decide(mil(row["value"]), RANGE, rule="simple", rounding="none", expanded=None)
    assert (simple.verdict == "conforms") == (row["band"] in {"pass", "conditional pass"})


@pytest.mark.parametrize("value", ["1.2", "1.45", "1.5", "1.55", "1.7", "2.25", "2.9", "3.0", "3.2"])
def test_probability_of_conformity(value):
    """JCGM 106:2012, clause 7: the normal probability between the limits, from scipy."""
    found = float(probability_of_conformity(mil(value), mil("0.1"), RANGE))
    spread = stats.norm(float(value), 0.1)
    assert found == pytest.approx(spread.cdf(3.0) - spread.cdf(1.5), abs=1e-12)


@pytest.mark.parametrize("row", published("rounding").rows, ids=lambda row: "-".join(list(row.values())[:3]))
def test_rounding_before_comparing(row):
    found = judge(mil(row["value"]), Limits(maximum=mil(row["limit"])), rounding=row["rule"])
    assert (found.verdict == "conforms") == (row["within"] == "yes")
    if row["rule"] == "none":
        assert found.compared > Decimal(row["limit"])
    else:
        assert str(found.compared) == row["rounded"]
        assert (
            render_number(Decimal(row["value"]), Quantity(found.compared, "mil").places, row["rule"]) == row["rounded"]
        )


def test_a_surface_conforms_only_where_every_location_does():
    """SSPC-PA 17 (from memory): each location average decides."""
    assert combined_verdict(["conforms", "does not conform"]) == "does not conform"
    assert combined_verdict(["conforms", "conforms"]) == "conforms"


@pytest.mark.parametrize(("limits", "most"), [(1, 0.06), (2, 0.12)])
def test_a_rectangular_error_that_outweighs_all_others_is_off_by_no_more_than_the_page_says(limits, most):
    """True probability by quadrature of a rectangular error and a normal one, flat prior; its u is that of both."""
    off = []
    for beside in (0.02, 0.1, 0.3):  # standard deviation of the normal part, by the half-width of the rectangular one
        spread = Quantity(Decimal(str(round((1 / 3 + beside**2) ** 0.5, 12))), "mil")
        for inside in (0.1, 0.3, 0.45, 0.6, 0.8, 1.0):
            end = Quantity(Decimal(str(5 + inside)), "mil")
            stated = Limits(Quantity(Decimal(str(5 - inside)), "mil") if limits == 2 else None, end)
            said = probability_of_conformity(Quantity(Decimal(5), "mil"), spread, stated)

            def within(error, inside=inside, beside=beside):
                below = stats.norm.cdf((inside - error) / beside)
                return (below - (stats.norm.cdf((-inside - error) / beside) if limits == 2 else 0)) / 2

            true, _ = quad(within, -1, 1, points=[-inside, inside] if inside < 1 else None)
            off.append(abs(float(said) - true))
    assert most - 0.01 < max(off) <= most
