"""The head of a day file, `report`, while it is being typed: each field that cannot be taken yet goes by itself.

What stands in its place has the form of the field and says nothing. The whole report waits until it is there, so that
nothing is released by what stands in; a time off is where no time of the day is.
"""

from __future__ import annotations

import datetime as dt
import re
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

from reportgen.fields import Pending

if TYPE_CHECKING:
    from collections.abc import Iterator

Loc = tuple[int | str, ...]

_MINUTES: Final = 24 * 60
_CLOCK: Final = re.compile(r"(?:\d{4}-\d{2}-\d{2}[T ])?([01]\d|2[0-3]):([0-5]\d)")
_DATED: Final = re.compile(r"\d{4}-\d{2}-\d{2}(?=[T ]\d{2}:)")
_NO_DAY: Final = "2000-01-01"
"""Before anything that expires."""


def head_part(loc: Loc) -> Loc | None:
    """Return the field of the head that a place is in; None where it is elsewhere.

    >>> head_part(("report", "shift", "start")), head_part(("report", "countersigners", 0)), head_part(("surfaces", 0))
    (('report', 'shift', 'start'), ('report', 'countersigners'), None)
    """
    if loc[:1] not in {("report",), ("format",)}:
        return None
    return loc[: 3 if loc[:2] == ("report", "shift") else 2]


def head_forms(file: str, data: Any) -> dict[Loc, Pending]:
    """Return what stands in for each field of the head that a day file must have and that is not there."""
    stated = data.get("report", {})
    start, end = _working_hours(data)
    forms: dict[str, str] = {
        "number": "<report number>", "revision": "0", "date": _day_of(file, data), "inspector": "<inspector>",
    }  # fmt: skip
    found: dict[Loc, str] = {("report", name): form for name, form in forms.items() if name not in stated}
    shift = stated.get("shift", {})
    if start == shift.get("end"):
        start = end
    found |= {("report", "shift", name): time for name, time in (("start", start), ("end", end)) if name not in shift}
    return {loc: Pending(form) for loc, form in found.items()}


def _day_of(file: str, data: Any) -> str:
    """Return the day that the name of the file or a time tells."""
    for text in (PurePath(file).stem, *(one[0] for one in map(_DATED.match, _texts(data)) if one)):
        try:
            return dt.date.fromisoformat(text).isoformat()
        except ValueError:
            continue
    return _NO_DAY


def _working_hours(data: Any) -> tuple[str, str]:
    """Return the first and the last time of a day, which lie around the longest time in which there is none."""
    found = (_CLOCK.fullmatch(text[:16]) for text in _texts(data))
    times = sorted({int(one[1]) * 60 + int(one[2]) for one in found if one}) or [0]
    pairs = zip([times[-1], *times[:-1]], times, strict=True)
    end, start = max(pairs, key=lambda pair: (pair[1] - pair[0] - 1) % _MINUTES)
    return _clock(start), _clock(end + (end == start))


def _clock(minutes: int) -> str:
    return f"{minutes // 60 % 24:02}:{minutes % 60:02}"


def _texts(data: Any) -> Iterator[str]:
    if isinstance(data, str):
        yield data
        return
    for inner in data.values() if isinstance(data, dict) else data:
        yield from _texts(inner)
