"""The largest of ten readings scatters as its readings let it: what the pages say of U where the maximum counts.

The variance of the largest of ten standard normal values is 0.3443 (Sarhan and Greenberg, 1956, tables of order
statistics; from memory), so that a single one scatters 1.70 times as far. Simulated beside it, seed fixed.

That factor is of the normal distribution alone, and is left out of the budget for it: where heights have a tail above,
as those of blasted steel are said to (no source), the largest scatters as far as a single reading (Gumbel:
the largest of any number is of the same distribution, moved) or farther (exponential: variance 1 + 1/4 + … + 1/100),
and U would be too small.
"""

import numpy as np
import pytest

from reportgen.words.catalogue import catalogue

VARIANCE = 0.3443
LOCATIONS = 200_000


def test_single_readings_scatter_more_than_the_largest_of_ten():
    readings = np.random.default_rng(4417).normal(size=(LOCATIONS, 10))
    ratio = 1 / readings.max(axis=1).std(ddof=1)
    assert ratio == pytest.approx(VARIANCE**-0.5, abs=0.01)
    assert f"{ratio:.1f} times" in catalogue("en")("beyond.maximum")
    assert f"{ratio:.1f}-mal".replace(".", ",") in catalogue("de")("beyond.maximum")


def test_u_of_a_largest_reading_covers_what_another_ten_would_show():
    """By the scatter of single readings U holds the mean of all largest readings far more often than 95 in 100."""
    readings = np.random.default_rng(2021).normal(size=(LOCATIONS, 10))
    largest, single = readings.max(axis=1), readings.std(axis=1, ddof=1)
    half_width = 2.26 * single  # t for 9 degrees of freedom, two-sided 95 %
    assert np.mean(np.abs(largest - largest.mean()) <= half_width) > 0.97


def test_readings_with_a_tail_above_leave_no_room_for_that_factor():
    rng = np.random.default_rng(1956)
    gumbel, exponential = rng.gumbel(size=(LOCATIONS, 10)), rng.exponential(size=(LOCATIONS, 10))
    ratios = [several.max(axis=1).std(ddof=1) / several.std(ddof=1) for several in (gumbel, exponential)]
    harmonic = sum(1 / k**2 for k in range(1, 11)) ** 0.5
    assert ratios == pytest.approx([1, harmonic], rel=0.01)
    assert harmonic > 1.2
    assert "not where a few high ones stand out" in catalogue("en")("beyond.maximum")
    assert "nicht, wo einzelne hohe herausragen" in catalogue("de")("beyond.maximum")
