"""Which of several copies stands before the other."""

import itertools

import pytest

from reportgen.issued import rank_of_alike

EARLY, LATER, LATEST = "2026-05-04T15:10:00+00:00", "2026-05-04T17:20:00+02:00", "2026-05-04T15:30:00+00:00"


def test_more_proven_times_then_earlier_ones_then_what_holds_longer():
    """By the moment, whatever the zone that it is written in."""
    ranked = [
        ((EARLY, LATER), "2029-01-01T00:00:00+00:00"),
        ((EARLY, LATER), "2028-01-01T00:00:00+00:00"),
        ((EARLY, LATEST), "2030-01-01T00:00:00+00:00"),
        ((LATER, LATEST), "2030-01-01T00:00:00+00:00"),
        ((EARLY, None), "2031-01-01T00:00:00+00:00"),
        ((None, EARLY), "2031-01-01T00:00:00+00:00"),
        ((None, None), "2031-01-01T00:00:00+00:00"),
        ((None, None), None),
    ]
    for order in itertools.islice(itertools.permutations(ranked), 0, None, 997):
        assert sorted(order, key=lambda one: rank_of_alike(*one)) == ranked


@pytest.mark.parametrize("until", [None, EARLY])
def test_a_copy_of_no_signature_has_a_rank(until):
    assert rank_of_alike([], until) <= rank_of_alike([], None)
