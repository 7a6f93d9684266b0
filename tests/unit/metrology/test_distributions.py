"""Refusals, and where a value comes from."""

import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.errors import RangeError
from reportgen.metrology import distributions


def test_tabled_values_are_exact_decimals():
    assert distributions.t_factor(9) == Fraction("2.262157163")
    assert distributions.t_factor(None) == Fraction("1.959963985")
    assert distributions.grubbs_critical(6) == Fraction("1.887145")
    assert distributions.tolerance_factor(10) == Fraction("3.393429")


def test_percentages_may_have_decimals():
    assert float(distributions.t_factor(None, Decimal("95.45"))) == pytest.approx(2.0, abs=1e-3)


@pytest.mark.parametrize(("call", "message"), [
    (lambda: distributions.t_factor(0), "a t factor needs at least 1 degree of freedom, got 0"),
    (lambda: distributions.t_factor(5, 0), "confidence must lie above 0 % and below 100 %, got 0 %"),
    (lambda: distributions.t_factor(5, 100), "confidence must lie above 0 % and below 100 %, got 100 %"),
    (lambda: distributions.tolerance_factor(1), "a tolerance interval needs at least 2 values, got 1"),
    (lambda: distributions.tolerance_factor(5, coverage=100), "coverage must lie above 0 % and below 100 %, got 100 %"),
    (lambda: distributions.tolerance_factor(5, confidence=0),
     "confidence must lie above 0 % and below 100 %, got 0 %"),
    (lambda: distributions.grubbs_critical(2), "an outlier test needs at least 3 values, got 2"),
    (lambda: distributions.grubbs_critical(5, significance=0),
     "significance must lie above 0 % and below 100 %, got 0 %"),
])  # fmt: skip
def test_refusals(call, message):
    with pytest.raises(RangeError) as caught:
        call()
    assert caught.value.message == message


def test_values_go_on_smoothly_beyond_the_tables():
    assert 0 < distributions.t_factor(200) - distributions.t_factor(201) < Fraction(1, 10_000)
    assert 0 < distributions.tolerance_factor(200) - distributions.tolerance_factor(201) < Fraction(1, 1000)
    assert 0 < distributions.grubbs_critical(201) - distributions.grubbs_critical(200) < Fraction(1, 100)


ORDINARY_DAY = """
import sys
from fractions import Fraction
from reportgen.metrology import climate, conformity, contamination, overlap, sampling, statistics, tape, uncertainty
values = [Fraction(20 + n % 7, 10) for n in range(40)]
of = statistics.summary(values)
statistics.tolerance_interval(of), statistics.outlier_test(values)
statistics.percent_within_limits(of, 2, 3)
gauge, pooled = uncertainty.Gauge("mil", Fraction(1, 5)), uncertainty.Pooled(Fraction(1, 10), 40)
assert uncertainty.location_budget(gauge, pooled, 2).effective_dof > 200  # beyond the tables
print([name for name in ("scipy", "numpy", "pint") if name in sys.modules])
"""


def test_an_ordinary_day_loads_no_heavy_library():
    answer = subprocess.run([sys.executable, "-c", ORDINARY_DAY], capture_output=True, text=True, check=True)
    assert answer.stdout == "[]\n"


def test_the_smallest_sets():
    assert distributions.tolerance_factor(2) == Fraction("36.519215")
    assert distributions.grubbs_critical(3) == Fraction("1.154305")
    assert distributions.t_factor(1) == Fraction("12.706204736")


@pytest.mark.parametrize("dof", [0, -1])
def test_a_t_probability_needs_a_degree_of_freedom(dof):
    with pytest.raises(RangeError, match=f"a t distribution needs at least 1 degree of freedom, got {dof}"):
        distributions.t_probability(1.0, dof)


def test_the_usual_factors_need_no_library(monkeypatch):
    monkeypatch.setattr(distributions, "_special", None)
    assert float(distributions.t_factor(5000)) == pytest.approx(1.960439, abs=1e-6)  # between 1000: 1.962339 and inf
    assert float(distributions.t_factor(201)) == pytest.approx(1.971837, abs=1e-6)  # as scipy.stats.t
    assert float(distributions.t_factor(None)) == pytest.approx(1.959964, abs=1e-6)
