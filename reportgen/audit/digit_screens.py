"""Two screens over readings. They point at what to look at; a screen proves nothing about anybody.

*Last digits*: a gauge that is read honestly shows last digits as the spread of the readings gives them. The expected
number of each digit comes from a normal distribution with each surface's own mean and standard deviation, rounded to
the gauge's digit; observed and expected are compared by chi-square over the gauge's readings, digits with fewer than
five expected pooled.

*Spread*: the variance of a surface's readings is compared with the middle one of its contract. A surface whose readings
agree much better than all others may have been filled in at a desk, or be unusually even steel.

Both are reported when their probability, times the number of all gauges or surfaces that the audit looked at, is below
one in a thousand: so rarely does a whole audit point at honest work, however large it is. Files that passed and files
that did not are screened apart: whoever adds files that do not pass can neither hide nor accuse what passed.
"""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import groupby
from statistics import fmean, median, variance
from typing import TYPE_CHECKING

from reportgen.audit.chances import chi_square_tail
from reportgen.audit.copies import VERDICTS
from reportgen.audit.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index

REPORTED_BELOW = 0.001
FEWEST_READINGS = 100
FEWEST_SURFACES = 8
FEWEST_OF_A_SURFACE = 6
_EXPECTED_AT_LEAST = 5.0
_SEQUENCES = (
    "SELECT reports.contract, reading_sets.gauge, reports.number, reading_sets.area, reading_sets.path, counted"
    " FROM reading_sets JOIN reports USING (path) WHERE counts AND overall = ? AND gauge IS NOT NULL ORDER BY "
)


def screens(index: Index) -> Iterator[Problem]:
    """Yield what both screens point at."""
    for verdict in VERDICTS:
        yield from _digits(index, verdict)
        yield from _spreads(index, verdict)


def _digits(index: Index, verdict: str) -> Iterator[Problem]:
    rows = index.each(f"{_SEQUENCES} reading_sets.gauge, reading_sets.path, reading_sets.area", verdict)
    found = []
    for gauge, members in groupby(rows, key=lambda row: row[1]):
        tally = DigitTally()
        contracts: dict[str, None] = {}
        for contract, _, _, _, _, readings in members:
            tally.add([Decimal(text) for text in readings.split()])
            contracts[contract] = None
        if tally.readings >= FEWEST_READINGS:
            found.append((gauge, ", ".join(contracts), tally, tally.tail()))
    for gauge, contract, tally, tail in found:
        if tail * len(found) < REPORTED_BELOW:
            seen = ", ".join(f"{digit}: {count}" for digit, count in enumerate(tally.observed))
            sentence = (
                f"gauge {gauge}: the last digits of {tally.readings} readings ({seen}) have a probability of {tail:.1g}"
                " if they were read as they fell. This is a screening, not a proof"
            )
            yield Problem(contract, "", "digits-uneven", "", sentence, (), verdict)


class DigitTally:
    """Last digits of one gauge: how often each was seen and how often each was to be expected."""

    def __init__(self) -> None:
        self.observed = [0] * 10
        self.expected = [0.0] * 10
        self.readings = 0

    def add(self, readings: list[Decimal]) -> None:
        """Count the readings of one surface; too few, or all the same, say nothing of digits."""
        if len(readings) < FEWEST_OF_A_SURFACE or len(set(readings)) == 1:
            return
        places = max(-int(reading.as_tuple().exponent) for reading in readings)
        steps = [int(reading.scaleb(places)) for reading in readings]
        centre, spread = fmean(steps), math.sqrt(variance(steps))
        for step in range(math.floor(centre - 6 * spread), math.ceil(centre + 6 * spread) + 1):
            share = _normal((step + 0.5 - centre) / spread) - _normal((step - 0.5 - centre) / spread)
            self.expected[step % 10] += share * len(steps)
        for step in steps:
            self.observed[step % 10] += 1
        self.readings += len(steps)

    def tail(self) -> float:
        """Return the probability of a chi-square as large as this; 1 where too few digits are to be expected."""
        cells = [pair for pair in zip(self.observed, self.expected, strict=True) if pair[1] >= _EXPECTED_AT_LEAST]
        rest = self.readings - sum(seen for seen, _ in cells), self.readings - sum(due for _, due in cells)
        if rest[1] >= _EXPECTED_AT_LEAST:
            cells.append(rest)
        if len(cells) < 3:
            return 1.0
        return chi_square_tail(sum((seen - due) ** 2 / due for seen, due in cells), len(cells) - 1)


def _normal(z: float) -> float:
    return math.erfc(-z / math.sqrt(2)) / 2


def _spreads(index: Index, verdict: str) -> Iterator[Problem]:
    rows = index.each(f"{_SEQUENCES} reports.contract, reading_sets.path, reading_sets.area", verdict)
    looked_at = 0
    narrow: list[tuple[float, Problem]] = []
    for contract, members in groupby(rows, key=lambda row: row[0]):
        surfaces = [
            (number, area, path, [Decimal(text) for text in readings.split()])
            for _, _, number, area, path, readings in members
        ]
        surfaces = [one for one in surfaces if len(one[3]) >= FEWEST_OF_A_SURFACE]
        if len(surfaces) >= FEWEST_SURFACES:
            looked_at += len(surfaces)
            narrow += _narrow(contract, surfaces)
    yield from (problem for tail, problem in narrow if tail * looked_at < REPORTED_BELOW)


def _narrow(contract: str, surfaces: list[tuple[str, str, str, list[Decimal]]]) -> Iterator[tuple[float, Problem]]:
    """Yield the surfaces of a contract that would be pointed at if there were no other contract, with their tails."""
    usual = median(_variance(readings) / _middle(len(readings) - 1) for *_, readings in surfaces)
    digit = max(10.0 ** int(reading.as_tuple().exponent) for *_, readings in surfaces for reading in readings)
    if usual < digit * digit:
        return  # the gauge's own digit hides the spread
    for number, area, path, readings in surfaces:
        degrees = len(readings) - 1
        tail = 1 - chi_square_tail(degrees * _variance(readings) / usual, degrees)
        if tail * len(surfaces) < REPORTED_BELOW:
            own, contracts = math.sqrt(_variance(readings)), math.sqrt(usual)
            sentence = (
                f"{number}, area {area}: the {len(readings)} readings spread by {own:.2g}, those of the contract by"
                f" {contracts:.2g}; that has a probability of {tail:.1g}. This is a screening, not a proof"
            )
            yield tail, Problem(contract, number, "spread-narrow", area, sentence, (path,))


def _variance(readings: list[Decimal]) -> float:
    return float(variance(readings))


def _middle(degrees: int) -> float:
    """The median of a variance over its expectation (Wilson and Hilferty 1931; from memory)."""
    return (1 - 2 / (9 * degrees)) ** 3
