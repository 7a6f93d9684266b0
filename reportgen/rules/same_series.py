"""The same readings in one order on two surfaces of a day: one was mostly pasted in the place of the other.

Nobody can tell which of the two was measured, so that neither is released before the inspector looked again. What is
of two reports is looked at where they lie together, in an audit.
"""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Final

from reportgen.metrology.comparison import chance_of_repeating
from reportgen.results import Outcome, Place
from reportgen.results.codes.doubts import (
    SERIES_CONFIRMED,
    SERIES_TWICE,
    SameSeries,
    SeriesOn,
    SeriesReversed,
    SeriesWithin,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from decimal import Decimal

    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

    _Series = tuple[tuple[str | None, Decimal], ...]
    _Windows = dict[_Series, dict[_Series, list[tuple[int, int]]]]

NAMED_BELOW: Final = 0.001
"""Number of pairs of a day's series that would agree by chance, below which one that does is asked about; our choice.

A tenth of what an audit names, as this one holds an area.
"""


def same_series(view: JobView) -> Outcome[Finding]:
    """Ask about surfaces that have one series of readings: once for all of them, on the area of each."""
    alike: dict[_Series, list[SurfaceView]] = {}
    of_each = [_series(view, surface) for surface in view.surfaces]
    for series, surface in zip(of_each, view.surfaces, strict=True):
        alike.setdefault(series, []).append(surface)
    every = [series for series, surfaces in alike.items() if series for _ in surfaces]
    findings = [
        finding
        for series, surfaces in alike.items()
        if series and len(surfaces) > 1 and not _by_chance(series, every)
        for finding in _named(surfaces)
    ]
    return Outcome((), tuple(dict.fromkeys([*findings, *_otherwise_alike(view.surfaces, of_each)])))


def _otherwise_alike(surfaces: Sequence[SurfaceView], of_each: Sequence[_Series]) -> Iterator[Finding]:
    """Yield what is asked of two surfaces of which one has the readings of the other reversed, or within its own."""
    told: set[frozenset[int]] = set()
    for at, other, start, kind in _found_within(of_each, [*map(_backwards, surfaces, of_each)]):
        pair, length = frozenset((at, other)), len(of_each[at])
        if pair in told or _by_chance_within(of_each[at], of_each):
            continue
        told.add(pair)
        later = surfaces[other].numbers[start : start + length] if other > at else surfaces[at].numbers
        code = SERIES_CONFIRMED if all(one.confirmed for one, _ in later) else SERIES_TWICE
        both = [surfaces[one] for one in sorted(pair)]
        facts = kind(length, tuple(SeriesOn(one.record.area, one.record.apparatus) for one in both))
        yield from (code.found(facts, Place(one.record.area)) for one in both)


def _backwards(surface: SurfaceView, series: _Series) -> _Series:
    """Return a series from its last location to the first, each with its readings in their order."""
    names = [one.location for one, _ in surface.numbers]
    return tuple(
        value for name in reversed(dict.fromkeys(names)) for at, value in zip(names, series, strict=True) if at == name
    )


def _found_within(
    of_each: Sequence[_Series], backwards: Sequence[_Series]
) -> Iterator[tuple[int, int, int, type[SameSeries]]]:  # fmt: skip
    """Yield each series that stands in another, of which surface it is, in which that is, from where, and how."""
    windows = {length: _windows(of_each, length) for length in {len(one) for one in of_each if one}}
    for at, series in ((at, one) for at, one in enumerate(of_each) if one):
        for order, kind in (
            (series, SeriesWithin), (series[::-1], SeriesReversed), (backwards[at], SeriesReversed),
        ):  # fmt: skip
            holders = windows[len(series)].get(order, {})
            found = chain.from_iterable(where for whole, where in holders.items() if whole != series)
            yield from ((at, other, start, kind) for other, start in found)


def _windows(of_each: Sequence[_Series], length: int) -> _Windows:
    """Return where each run of a length stands: by the series that has it, the surfaces and where it begins there."""
    found: _Windows = {}
    for at, series in enumerate(of_each):
        for start in range(len(series) - length + 1):
            found.setdefault(series[start : start + length], {}).setdefault(series, []).append((at, start))
    return found


def _by_chance_within(series: _Series, every: Sequence[_Series]) -> bool:
    """Say whether a series may well stand somewhere in one of the day, in one of the three orders."""
    same = sum(len(one) == len(series) for one in every)
    longer = sum(len(one) - len(series) + 1 for one in every if len(one) > len(series))
    tries = 3 * same * longer + 2 * same * (same - 1)
    chance = chance_of_repeating([value for _, value in series], [[value for _, value in one] for one in every if one])
    return tries * chance >= NAMED_BELOW


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
