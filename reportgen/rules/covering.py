"""Which work each reading of the conditions stands for: the work on the areas it covers, until a later one of those."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from reportgen.measurements.slice import Covering

if TYPE_CHECKING:
    import datetime as dt

    from reportgen.job import Condition
    from reportgen.measurements import Window
    from reportgen.rules.scene import JobView


def standing(view: JobView) -> list[Covering[Condition]]:
    """Return every reading with the work it stands for, in order of time.

    A reading holds until the next one that covers the same area, however either says what it covers. Two of one minute
    both count. A spot of an area, named beside the areas listed, has a log of its own: a reading at the south end does
    not say that the north end has dried.
    """
    log = sorted(((view.at(record.time), record) for record in view.job.day.conditions), key=lambda pair: pair[0])
    following: dict[str, dict[str, dt.datetime]] = {}
    result: list[Covering[Condition]] = []
    for at, group in groupby(reversed(log), key=lambda pair: pair[0]):
        minute = [(record, view.places.spot(record), view.places.covered(record)) for _, record in group]
        result.extend(
            Covering(record, at, covered, _stands(view, at, spot, view.worked_on & (covered or set()), following))
            for record, spot, covered in minute
        )
        for _, spot, covered in minute:
            for area in view.worked_on & (covered or set()):
                following.setdefault(area, {})[spot] = at
    return result[::-1]


def _stands(
    view: JobView, at: dt.datetime, spot: str, areas: frozenset[str], following: dict[str, dict[str, dt.datetime]]
) -> tuple[Window, ...]:  # fmt: skip
    """Return the work on some areas from a reading on until the next one of each; ``following`` is area, spot, time."""
    until: dict[str, dt.datetime] = {}
    for area in areas:
        known = following.get(area, {})
        times = [known[one] for one in (known if not spot else {"", spot} & known.keys())]
        if times:
            until[area] = min(times)
    return tuple(
        window
        for window in view.windows
        if window.area in areas and window.end >= at and (window.area not in until or window.start < until[window.area])
    )
