"""What the conditions were when they were last read, for steel that is about to be primed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.rules.covering import standing
from reportgen.rules.scene import JobView
from reportgen.units import later

if TYPE_CHECKING:
    import datetime as dt

    from reportgen.job import Job
    from reportgen.results import Evaluation

_AGAINST: Final = frozenset({"does not conform", "inconclusive"})


class LastRead(NamedTuple):
    """When the conditions of an area were last read; whether what was read is against priming it, or is too old."""

    at: dt.datetime
    against: bool
    old: bool


def last_read(job: Job, evaluation: Evaluation, area: str, moment: dt.datetime) -> LastRead | None:
    """Return the last readings that cover an area, before a moment; None where the contract limits no conditions.

    A spot of the area that has a log of its own has a last reading too, until the whole is read after it.
    """
    limits, view = job.project.specification.conditions, JobView(job)
    if limits is None:
        return None
    own = [
        one for one in standing(view)
        if one.at <= moment and area not in one.replaced and (one.covered is None or area in one.covered)
    ]  # fmt: skip
    if not own:
        return None
    spots = {view.places.spot(one.record): one.at for one in own}  # in order of time
    whole = spots.get("", own[0].at)
    newest = {
        (view.printed(one.at), one.record.taken_at or None) for one in own
        if spots[view.places.spot(one.record)] == one.at >= whole and not one.known
    }  # fmt: skip
    judged = {(one.time, one.place): one.verdict for one in evaluation.conditions}
    against = any(judged.get(one, "inconclusive") in _AGAINST for one in newest)  # without a dew point it is open
    old = limits.interval is not None and later(own[-1].at, limits.interval) < moment
    return LastRead(own[-1].at, against, old)
