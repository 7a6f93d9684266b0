"""Times of work that no check or reading of a log covers: none before it began, or the last too long ago."""

import datetime as dt
from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import Any

from reportgen.measurements.slice import Scene
from reportgen.results.facts import Facts
from reportgen.units import Quantity, elapsed


class GapBefore(Facts):
    """Nothing until a time, as printed."""

    until: str


class GapBetween(Facts):
    """Nothing from one time to another, as printed."""

    since: str
    until: str


Gap = GapBefore | GapBetween


def gap_of(
    scene: Scene[Any], work: tuple[dt.datetime, dt.datetime], times: Iterable[dt.datetime], interval: Quantity | None
) -> Gap | None:
    """Return the first part of some work that no time covers, as ``gap_in`` does, printed by a scene."""
    return gap_in(scene.printed, work, times, interval)


def gap_in(
    printed: Callable[[dt.datetime], str],
    work: tuple[dt.datetime, dt.datetime],
    times: Iterable[dt.datetime],
    interval: Quantity | None,
) -> Gap | None:
    """Return the first part of some work that no time covers; None where the first came before it and none is late.

    Without an ``interval`` one time before the work is enough.
    """
    start, end = work
    known = sorted(times)
    before = [at for at in known if at <= start]
    if not before:
        return GapBefore(printed(start))
    if interval is None:
        return None
    for since, until in pairwise([before[-1], *(at for at in known if start < at < end), end]):
        if elapsed(since, until, interval.unit) > interval.exact:
            return GapBetween(printed(since), printed(until))
    return None
