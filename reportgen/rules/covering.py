"""Which work each reading of the conditions stands for: the work on the areas it covers, until a later one of those."""

from __future__ import annotations

import datetime as dt
from itertools import groupby, product
from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements.slice import Covering
from reportgen.rules.checked_instruments import good_checks, in_doubt, made_with

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job import Condition
    from reportgen.measurements import Window
    from reportgen.rules.scene import JobView

AT_ONCE: Final = dt.timedelta(minutes=15)
"""Two readings no further apart are of the same conditions: our reading, no source."""
STANDS_FOR: Final = {
    "hygrometer": {"hygrometer", "psychrometer"}, "psychrometer": {"hygrometer", "psychrometer"},
    "surface thermometer": {"surface thermometer"}, "air thermometer": {"air thermometer"}, "barometer": {"barometer"},
}  # fmt: skip
"""Kind of an instrument that failed → kinds that show the same, and whose check proves it."""


def standing(view: JobView) -> list[Covering[Condition]]:
    """Return every reading with the work it stands for, in order of time.

    A reading holds until the next one that covers the same area, however either says what it covers. Two of one minute
    both count. A spot of an area, named beside the areas listed, has a log of its own: a reading at the south end does
    not say that the north end has dried. A reading that is replaced stands for nothing, and ends nothing. One of an
    earlier report stands for the work on steel that this one enters too, as far as that report knew of it.
    """
    heard = _heard(view)
    own = [(view.at(record.time), record) for record in view.job.day.conditions]
    log = sorted([*own, *((view.at(record.time), record) for record, _ in heard.values())], key=lambda pair: pair[0])
    replaced = _replaced(view, log)
    following: dict[str, dict[str, dt.datetime]] = {}
    result: list[Covering[Condition]] = []
    for at, group in groupby(reversed(log), key=lambda pair: pair[0]):
        minute = []
        for _, record in group:
            covered, instead = view.places.covered(record), replaced.get(id(record), frozenset())
            work = heard[id(record)][1] if id(record) in heard else view.windows
            about = frozenset(one.area for one in work) & (covered or frozenset()) - instead
            minute.append((record, view.places.spot(record), covered, about, work))
        result.extend(
            Covering(
                record, at, covered, _stands(work, at, spot, areas, following),
                replaced.get(id(record), frozenset()), id(record) in heard,
            )
            for record, spot, covered, areas, work in minute
        )  # fmt: skip
        for _, spot, _, areas, _ in minute:
            for area in areas:
                following.setdefault(area, {})[spot] = at
    return result[::-1]


def dated(entry: Any, report: JobView) -> Any:
    """Return an entry of the log of a report with its time as an instant, which any report understands."""
    return entry.model_copy(update={"time": report.at(entry.time)})


def _heard(view: JobView) -> dict[int, tuple[Condition, tuple[Window, ...]]]:
    """Return the readings of earlier reports that have steel of this one, with the work on it that they knew of.

    By the identity of the reading, which is a dated copy.
    """
    found = []
    for report, same in view.heard:
        known = view.heard_of(report, same)
        work = tuple(one for one in view.windows if one in known)
        found += [(dated(record, report), work) for record in report.job.day.conditions if work]
    return {id(record): (record, work) for record, work in found}


def _replaced(view: JobView, log: Sequence[tuple[dt.datetime, Condition]]) -> dict[int, frozenset[str]]:
    """Return by reading the areas for which it does not count; readings that count for all of theirs are left out.

    It may have been made with an instrument whose check failed, and at about the same time and spot another was made
    with instruments that checks of the day show good. One without such a companion goes on counting, and is in doubt:
    what an instrument that is out of order showed is not made undone by a reading of another hour.
    """
    by_doubt = [(at, record, _failed_kinds(view, at, record)) for at, record in log] if in_doubt(view) else []
    good, tools = good_checks(view), view.project.instruments
    found: dict[int, frozenset[str]] = {}
    for (at, record, kinds), (then, other, in_doubt_too) in product(by_doubt, by_doubt):
        shown_by = {tools[name].kind for name in other.instruments if name in good}
        proven = all(STANDS_FOR.get(kind, set()) & shown_by for kind in kinds)
        if kinds and proven and not in_doubt_too and abs(then - at) <= AT_ONCE:
            both = view.places.shared(record, other) & view.worked_on
            found[id(record)] = found.get(id(record), frozenset()) | both
    return {record: areas for record, areas in found.items() if areas}


def _failed_kinds(view: JobView, at: dt.datetime, record: Condition) -> set[str]:
    """Return the kinds of the instruments that a reading may have been made with while they are in doubt."""
    tools = view.project.instruments
    return {
        tools[name].kind
        for name, spans in in_doubt(view).items()
        if made_with(view, record, name) and any(start < at < end for start, end in spans)
    }


def _stands(
    work: Sequence[Window], at: dt.datetime, spot: str, areas: frozenset[str],
    following: dict[str, dict[str, dt.datetime]],
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
        for window in work
        if window.area in areas and window.end >= at and (window.area not in until or window.start < until[window.area])
    )
