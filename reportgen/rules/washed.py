"""Whether salts or dust that failed were taken off the steel between two tests: an entry says when, words never do.

Water takes off both; dust that was blown or brushed off leaves the salts. What a `corrective_action` says decides
nothing: it may be a plan, or that nothing was washed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.names import spelt_alike

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Iterable

    from reportgen.job import Job
    from reportgen.rules.entered_before import LastMade, MadeAt
    from reportgen.rules.scene import JobView

_TAKEN_OFF: Final = {"salts": ("washed",), "dust": ("washed", "dust_removed")}
"""Fields of a surface with the time at which what a series tests for was taken off."""


def washings(
    views: Iterable[JobView], area: str, apparatus: Collection[str], series: Collection[str]
) -> list[dt.datetime]:  # fmt: skip
    """Return when reports say that what all of some series test for was taken off what apparatus blasted on an area."""
    fields = [set(_TAKEN_OFF.get(one, ())) for one in series]
    names = set.intersection(*fields) if fields else set()
    return [
        view.at(clock)
        for view in views
        for record in view.job.day.surfaces
        if record.area == area and any(spelt_alike(record.apparatus, one) for one in apparatus)
        for name in names
        if (clock := getattr(record, name)) is not None
    ]


def is_between(at: dt.datetime, before: LastMade | None, test: MadeAt) -> bool:
    """Whether a time is known to be after what was made ``before`` and before a test; at the same time is neither."""
    late = before is None or all(known is None or at > known for known in before)
    return late and (at < test.at if test.timed else at <= test.at)


def is_raised(code: str, area: str, reinspected: Collection[str], jobs: Iterable[Job]) -> bool:
    """Whether an entry that re-inspects names a nonconformance with `rework` on a finding, by the reports since then.

    Who re-inspects signs that the rework was done.
    """
    named = {(one.id, one.area): one for job in jobs for one in job.day.nonconformances}  # as last written
    return any(
        one.id in reinspected and one.disposition == "rework" and code in one.findings and one.area in (None, area)
        for one in named.values()
    )  # fmt: skip
