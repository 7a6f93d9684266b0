"""How large an error of a gauge changes a verdict, against brute force over whole day files with other readings."""

from decimal import Decimal

import pytest

from reportgen.compared import MOST_STEPS, gauge_errors
from tests.unit.compared.test_compared import day, evaluated, readings_of, side


def by_brute_force(readings):
    """The smallest error, in steps of 0.1 mil, with which an area gets another verdict; which way, and which."""
    own = {one.id: one.verdict for one in evaluated(day(readings)).areas}
    found = {}
    for steps in range(1, MOST_STEPS + 1):
        for way, error in (("high", Decimal(steps) / 10), ("low", -Decimal(steps) / 10)):
            if any(Decimal(value) - error <= 0 for value in readings.values()):
                continue
            moved = {place: str(Decimal(value) - error) for place, value in readings.items()}
            try:
                other = {one.id: one.verdict for one in evaluated(day(moved)).areas}
            except Exception:  # noqa: BLE001, S112 - readings that no gauge shows
                continue
            for area, verdict in other.items():
                if verdict != own[area]:
                    found.setdefault(area, {}).setdefault(Decimal(steps) / 10, []).append((way, verdict))
        if set(found) == set(own):
            break
    return {area: min(sizes.items()) for area, sizes in found.items()}


@pytest.mark.parametrize("seed", range(4))
def test_the_smallest_error_is_that_of_brute_force(seed):
    readings = readings_of(seed)
    expected = by_brute_force(readings)
    told = {one.area: one for one in gauge_errors(side(day(readings)), "T-1")}
    assert set(told) == {"A-1", "A-2"}
    for area, one in told.items():
        if area not in expected:
            assert one.size is None
            continue
        size, ways = expected[area]
        assert one.size == size
        assert one.reads == (ways[0][0] if len(ways) == 1 else "either way")
        assert one.would_be == " / ".join(dict.fromkeys(verdict for _, verdict in ways))
        assert (one.unit, one.tried) == ("mil", Decimal(MOST_STEPS) / 10)


def test_a_gauge_that_read_nothing_touched_no_area():
    assert list(gauge_errors(side(day(readings_of(1))), "T-9")) == []
