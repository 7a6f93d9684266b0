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
    alike: dict[tuple[tuple[str | None, Decimal], ...], list[int]] = {}
    for index, (_, values) in enumerate(known):
        alike.setdefault(values, []).append(index)
    every = [values for _, values in known]
    pairs = sorted(
        pair
        for values, indices in alike.items() if len(indices) > 1 and _is_rare(values, every)
        for pair in combinations(indices, 2)
    )  # fmt: skip
    findings = [finding for one, other in pairs for finding in _named(known[one][0], known[other][0], len(every[one]))]
    return Outcome((), tuple(dict.fromkeys(findings)))


def _series(view: JobView, surface: SurfaceView) -> tuple[tuple[str | None, Decimal], ...]:
    """Return the readings of a surface in the order taken, each with the unit of its gauge."""
    profile = surface.record.profile
    unit = None if profile is None else view.project.instruments[profile.gauge].unit
    return tuple((unit, value) for _, value in surface.numbers)


def _is_rare(
    series: Sequence[tuple[str | None, Decimal]], every: Sequence[Sequence[tuple[str | None, Decimal]]]
) -> bool:
    """Whether hardly a pair of the day's series would agree by chance as those of this one do."""
    values = [[value for _, value in one] for one in every]
    of_length = sum(len(one) == len(series) for one in every)
    pairs = of_length * (of_length - 1) // 2
    return pairs * chance_of_repeating([value for _, value in series], values) < NAMED_BELOW


def _named(first: SurfaceView, second: SurfaceView, count: int) -> Iterator[Finding]:
    """Yield what is asked about two surfaces with one series of so many readings."""
    confirmed = all(reading.confirmed for reading, _ in second.numbers)
    code = SERIES_CONFIRMED if confirmed else SERIES_TWICE
    for own, other in ((first, second), (second, first)):
        facts = SameSeries(count, own.record.apparatus, other.record.area, other.record.apparatus)
        yield code.found(facts, Place(own.record.area))
