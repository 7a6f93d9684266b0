"""Probabilities that an audit states. Floating point: nothing here decides a verdict on steel."""

from __future__ import annotations

import math
from collections import Counter


def chi_square_tail(statistic: float, degrees: int) -> float:
    """Return the probability that a chi-square variable of ``degrees`` (1 or more) exceeds ``statistic`` (0 or more).

    Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.4.4 for odd and 26.4.5 for even degrees;
    formula numbers from memory.

    >>> round(chi_square_tail(16.919, 9), 4)
    0.05
    """
    if degrees < 1 or statistic < 0:
        raise ValueError("a chi-square tail needs 1 degree of freedom or more and a statistic of 0 or more")
    half = statistic / 2
    if degrees % 2 == 0:
        term = total = math.exp(-half)
        for index in range(1, degrees // 2):
            term *= half / index
            total += term
        return min(1.0, total)
    total = math.erfc(math.sqrt(half))
    term = math.sqrt(2 * statistic / math.pi) * math.exp(-half)
    for index in range(1, (degrees - 1) // 2 + 1):
        total += term
        term *= statistic / (2 * index + 1)
    return min(1.0, total)


def agreement(values: list[str]) -> tuple[int, int]:
    """Return how many ordered pairs of different places in ``values`` hold the same value, and how many there are."""
    n = len(values)
    return sum(count * (count - 1) for count in Counter(values).values()), n * (n - 1)
