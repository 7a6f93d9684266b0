"""The same readings in the same order on two surfaces of a day: one was mostly pasted in the place of the other.

Nobody can tell which of the two was measured, so that neither is released before the inspector looked again. What is
of two reports is looked at where they lie together, in an audit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.metrology.comparison import chance_of_repeating
from reportgen.results import Outcome, Place
from reportgen.results.codes.doubts import SERIES_CONFIRMED, SERIES_TWICE, SameSeries, SeriesOn

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
    """Ask about surfaces that have one series of readings: once for all of them, on the area of each."""
    alike: dict[tuple[tuple[str | None, Decimal], ...], list[SurfaceView]] = {}
    for surface in view.surfaces:
        alike.setdefault(_series(view, surface), []).append(surface)
    every = [series for series, surfaces in alike.items() if series for _ in surfaces]
    findings = [
        finding
        for series, surfaces in alike.items()
        if series and len(surfaces) > 1 and not _by_chance(series, every)
        for finding in _named(surfaces)
    ]
    return Outcome((), tuple(dict.fromkeys(findings)))


def _series(view: JobView, surface: SurfaceView) -> tuple[tuple[str | None, Decimal], ...]:
    """Return the readings of a surface in the order taken, each with the unit of its gauge."""
    profile = surface.record.profile
    unit = None if profile is None else view.project.instruments[profile.gauge].unit
    return tuple((unit, value) for _, value in surface.numbers)


def _by_chance(
    series: Sequence[tuple[str | None, Decimal]], every: Sequence[Sequence[tuple[str | None, Decimal]]]
) -> bool:
    """Say whether a pair of the series of the day may well agree as this one does."""
    of_its_length = sum(len(one) == len(series) for one in every)
    pairs = of_its_length * (of_its_length - 1) // 2
    chance = chance_of_repeating([value for _, value in series], [[value for _, value in one] for one in every])
    return pairs * chance >= NAMED_BELOW


def _named(surfaces: Sequence[SurfaceView]) -> Iterator[Finding]:
    """Yield what is asked of surfaces with one series, in the order of the day: each is a repeat of those before it.

    One whose readings are not confirmed puts those before it in doubt with itself. Those behind the last such are
    settled.
    """
    unsure = [at for at, one in enumerate(surfaces) if at and not all(each.confirmed for each, _ in one.numbers)]
    doubted = max(unsure, default=0) + 1
    for code, ones in (
        (SERIES_TWICE, surfaces[:doubted]), (SERIES_CONFIRMED, (surfaces[0], *surfaces[doubted:])),
    ):  # fmt: skip
        if len(ones) > 1:
            told = tuple(SeriesOn(one.record.area, one.record.apparatus) for one in ones)
            facts = SameSeries(len(ones[0].numbers), told)
            yield from (code.found(facts, Place(one.record.area)) for one in ones)
