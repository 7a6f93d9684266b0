"""Times of readings that cannot all be true: which of them to leave out, so that the most stay.

Readings stand in the order taken. One time typed as 20:17 for 08:17 contradicts every later one; it is the one, and not
they, that is out of order. And where in a log an entry belongs that comes to it.
"""

from __future__ import annotations

import datetime as dt
from bisect import bisect_right
from typing import TYPE_CHECKING, Final

from reportgen.errors import QuantityError, RangeError
from reportgen.job import parse_clock
from reportgen.measurements import LOGS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from reportgen.job import SiteClock

SERIES: Final[dict[str, str]] = {
    "gauge_checks": "gauge",
    "tape_checks": "roll",
    "function_checks": "instrument",
    **{kind.day_key: kind.series[0] for kind in LOGS},
}
"""Logs of the day, and what tells the series of each apart: a series stands in the order of its times."""

_NEVER: Final = dt.datetime.max.replace(tzinfo=dt.UTC)


def out_of_order(rows: Sequence[Mapping[str, Any]], clock: SiteClock) -> list[int]:
    """Return the indexes of the fewest rows without whose times the others are in order.

    Rows without a time, or with one that says nothing, are passed over. Where either of two could go, the first stays.
    """
    timed = [(index, at) for index, row in enumerate(rows) if (at := instant_of(row, clock)) is not None]
    kept = _longest([at for _, at in timed])
    return [index for place, (index, _) in enumerate(timed) if place not in kept]


def _longest(times: Sequence[dt.datetime]) -> set[int]:
    """Return the places of a longest run of times in order, not necessarily side by side (patience sorting).

    >>> import datetime as dt
    >>> minutes = [77, 19, 21, 23, 22, 25]
    >>> sorted(_longest([dt.datetime(2026, 5, 4) + dt.timedelta(minutes=one) for one in minutes]))
    [1, 2, 4, 5]
    """
    ends: list[dt.datetime] = []  # of runs of one, two, … times: the earliest that such a run can end with
    at: list[int] = []
    before: list[int | None] = []
    last: int | None = None
    for place, time in enumerate(times):
        length = bisect_right(ends, time)
        before.append(at[length - 1] if length else None)
        if length == len(ends):
            last = place
        ends[length : length + 1] = [time]
        at[length : length + 1] = [place]
    kept: set[int] = set()
    while last is not None:
        kept.add(last)
        last = before[last]
    return kept


def instant_of(row: Mapping[str, Any], clock: SiteClock) -> dt.datetime | None:
    """Return when an entry was written down; None where its time says nothing."""
    try:
        return clock.instant(parse_clock(row["time"]))
    except (KeyError, QuantityError, RangeError):
        return None


def written_down(entry: Mapping[str, Any], clock: SiteClock) -> dt.datetime:
    """Return when an entry was written down; one whose time says nothing comes last."""
    return instant_of(entry, clock) or _NEVER


def place_in_time(present: Sequence[Mapping[str, Any]], entry: Mapping[str, Any], series: str, clock: SiteClock) -> int:
    """Return where an entry belongs: behind the earlier and before the later of its series, and of all if it can.

    The loader wants each series in order; entries of different series may stand in any.
    """
    at, name = written_down(entry, clock), entry.get(series)
    later = [index for index, other in enumerate(present) if at < written_down(other, clock) < _NEVER]
    own = [index for index, other in enumerate(present) if other.get(series) == name]
    first = max([index + 1 for index in own if index not in later], default=0)
    last = min([index for index in own if index in later], default=len(present))
    return min(last, max(first, min(later, default=len(present))))
