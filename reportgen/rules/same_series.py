"""The same readings in the same order on two surfaces of a day: one was mostly pasted in the place of the other.

Nobody can tell which of the two was measured, so that neither is released before the inspector looked again. What is
of two reports is looked at where they lie together, in an audit.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Final

from reportgen.metrology.comparison import chance_of_repeating
from reportgen.results import Outcome, Place
from reportgen.results.codes.doubts import SERIES_CONFIRMED, SERIES_TWICE, SameSeries

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from decimal import Decimal

    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

NAMED_BELOW: Final = 0.001
"""Number of pairs of a day's series that would agree by chance, below which one that does is asked about; our choice.

A tenth of what an audit names, as this one holds an area.
"""


def same_series(view: JobView) -> Outcome[Finding]:
    """Ask about each pair of surfaces that have one series of readings."""
    series = [(surface, _series(view, surface)) for surface in view.surfaces]
    known = [(surface, values) for surface, values in series if values]
    findings = [
        finding
        for (first, one), (second, other) in combinations(known, 2)
        if one == other
        for finding in _named(first, second, one, [values for _, values in known])
    ]
    return Outcome((), tuple(dict.fromkeys(findings)))


def _series(view: JobView, surface: SurfaceView) -> tuple[tuple[str | None, Decimal], ...]:
    """Return the readings of a surface in the order taken, each with the unit of its gauge."""
    profile = surface.record.profile
    unit = None if profile is None else view.project.instruments[profile.gauge].unit
    return tuple((unit, value) for _, value in surface.numbers)


def _named(
    first: SurfaceView, second: SurfaceView, series: Sequence[tuple[str | None, Decimal]],
    every: Sequence[Sequence[tuple[str | None, Decimal]]],
) -> Iterator[Finding]:  # fmt: skip
    alike = [[value for _, value in one] for one in every]
    pairs = sum(len(one) == len(series) for one in every) * (sum(len(one) == len(series) for one in every) - 1) // 2
    expected = pairs * chance_of_repeating([value for _, value in series], alike)
    if expected >= NAMED_BELOW:
        return
    confirmed = all(reading.confirmed for reading, _ in second.numbers)
    code = SERIES_CONFIRMED if confirmed else SERIES_TWICE
    for own, other in ((first, second), (second, first)):
        facts = SameSeries(len(series), own.record.apparatus, other.record.area, other.record.apparatus)
        yield code.found(facts, Place(own.record.area))
