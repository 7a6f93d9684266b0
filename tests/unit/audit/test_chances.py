"""Probabilities against published tables and an independent library."""

import pytest
from scipy.stats import chi2

from reportgen.audit.chances import agreement, chi_square_tail

# NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper critical values at 0.05 and 0.001 (from memory)
CRITICAL = [
    (1, 0.05, 3.841), (2, 0.05, 5.991), (5, 0.05, 11.070), (9, 0.05, 16.919), (10, 0.05, 18.307),
    (9, 0.001, 27.877), (11, 0.001, 31.264),
]  # fmt: skip


@pytest.mark.parametrize(("degrees", "tail", "critical"), CRITICAL)
def test_the_tail_is_that_of_the_tables(degrees, tail, critical):
    # the tables print three decimals: half a digit of the argument moves the tail by this much at most
    assert chi_square_tail(critical, degrees) == pytest.approx(tail, rel=6e-4)


@pytest.mark.parametrize("degrees", [*range(1, 24), 50, 99])
@pytest.mark.parametrize("statistic", [0.0, 0.01, 0.5, 1, 3, 10, 30, 120, 500])
def test_the_tail_is_that_of_scipy(degrees, statistic):
    assert chi_square_tail(statistic, degrees) == pytest.approx(chi2.sf(statistic, degrees), rel=1e-10, abs=1e-250)


@pytest.mark.parametrize(("statistic", "degrees"), [(-1, 3), (1, 0)])
def test_what_is_no_chi_square_is_refused(statistic, degrees):
    with pytest.raises(ValueError, match="chi-square tail needs"):
        chi_square_tail(statistic, degrees)


def test_agreement_counts_ordered_pairs():
    assert agreement(["1", "1", "1", "2", "2", "3"]) == (3 * 2 + 2 * 1, 6 * 5)
    assert agreement([]) == (0, 0)
