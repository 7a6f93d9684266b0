"""The promise of the screens, on a few small archives; ``python -m tests.bench.screens`` keeps it on two hundred."""

from functools import partial

import numpy as np

from tests.bench.screens import entered_again, found_of, honest
from tests.simulated_archives import MIL_A_MICROMETRE, Made

SMALL = Made(contracts=2, reports=30)


def test_honest_archives_show_nothing():
    found = honest(20, np.random.default_rng(1), SMALL)
    assert found["any"] == 0, found


def test_what_is_entered_again_is_found_as_often_as_is_said():
    """One edit of twelve readings at 0.1 mil, and three at a micrometre: nine in ten or more."""
    fine = Made(contracts=2, reports=30, digit=MIL_A_MICROMETRE)
    assert found_of(10, partial(entered_again, "edited 1", SMALL, np.random.default_rng(2))) >= 9
    assert found_of(10, partial(entered_again, "edited 3", fine, np.random.default_rng(3))) >= 9
