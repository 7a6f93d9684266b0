"""How often honest locations are flagged as outliers: simulated, with a fixed seed."""

import math

import numpy as np
import pytest

from reportgen.metrology.statistics import outlier_test

SAMPLES = 3000
SEED = 20260514


def honest_areas(locations, spots, between, within):
    """Sums of rounded spots at each location of many areas, all from one normal population, in steps of the gauge."""
    random = np.random.default_rng(SEED)
    level = random.random((SAMPLES, 1))  # where the true mean lies between two steps
    place = level + random.normal(0, between, (SAMPLES, locations))
    read = np.rint(place[:, :, None] + random.normal(0, within, (SAMPLES, locations, spots)))
    return read.sum(axis=2).astype(int).tolist()


@pytest.mark.parametrize(
    ("locations", "spots", "between", "within"),
    [
        (6, 1, 0.25, 0.0), (6, 2, 0.3, 0.1), (6, 2, 1.5, 1.0), (8, 1, 0.8, 1.0), (8, 5, 0.25, 0.1), (12, 2, 0.2, 0.2),
        (20, 3, 0.3, 0.1), (60, 5, 0.15, 0.1), (60, 2, 2.0, 1.0),
    ],
)  # fmt: skip
def test_rounded_honest_readings_are_flagged_no_more_often_than_the_level_says(locations, spots, between, within):
    """Scatter between and within locations in steps of the gauge; without its resolution the test flags up to 60 %."""
    flagged = sum(
        outlier_test(values, resolution=spots).flagged for values in honest_areas(locations, spots, between, within)
    )
    assert flagged / SAMPLES <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / SAMPLES)


def test_what_the_resolution_is_for():
    """Of three rounded locations, and of many with little scatter, the plain test flags far more than 5 %."""
    for arguments in ((3, 2, 1.0, 1.0), (60, 5, 0.15, 0.1)):
        flagged = sum(outlier_test(values).flagged for values in honest_areas(*arguments))
        assert flagged / SAMPLES > 0.12


def test_a_wild_location_is_still_found():
    """Ten times the scatter and eight steps off, among six: found nearly always."""
    areas = honest_areas(6, 1, 0.8, 0.0)
    found = sum(outlier_test([*area[:-1], area[-1] + 8], resolution=1).flagged for area in areas)
    assert found / SAMPLES > 0.95
