"""Which other day files of the folder are earlier days from which something may be carried forward.

Only a day that raises or re-inspects a nonconformance can be: the others are not loaded, so that the cost of a day does
not grow with the length of the contract.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen.errors import InputError
from reportgen.loader.paths import UnreadableFileError
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterator

    from reportgen.job import Day, Job
    from reportgen.loader.paths import JobFiles

_NOT_A_MATTER_OF_KIND: Final = ("PTH105", "PTH107")
_CARRIES: Final = re.compile(rb"(?m)^[ \t]*['\"]?(nonconformances|reinspects)\b|[{,][ \t]*reinspects\b")
_REPORT: Final = re.compile(rb"(?m)^['\"]?report['\"]?[ \t]*:")
_DATES: Final = re.compile(rb"\bdate['\"]?[ \t]*:[ \t]*['\"]?(\d{4}-\d{2}-\d{2})\b")


def earlier_candidates(
    files: JobFiles, day_name: str, date: dt.date, limit: int, unread: Callable[[str, UnreadableFileError], None]
) -> Iterator[tuple[str, bytes]]:
    """Return name and bytes of the files beside ``day_name`` that may be earlier days and carry something, by name.

    ``unread`` hears of those that are not read for their name or for lack of permission.
    """
    for name in files.names():
        if name == day_name or not name.endswith(".yaml"):
            continue
        try:
            data = files.read(name, limit)
        except UnreadableFileError as failure:
            if failure.code in _NOT_A_MATTER_OF_KIND:
                unread(name, failure)
            continue
        if _REPORT.search(data) and _CARRIES.search(data) and not _all_later(data, date):
            yield name, data


def _all_later(data: bytes, date: dt.date) -> bool:
    """Return whether every date entry of a file is after ``date``: it is then no earlier day, whatever else it says."""
    dates = _DATES.findall(data)
    return bool(dates) and min(dates).decode("ascii") > date.isoformat()


def later_revision(files: JobFiles, day_name: str, day: Day, limit: int) -> tuple[str, int] | None:
    """Return name and number of the highest revision of a day's report beside it that is higher than its own."""
    found = [(day.report.revision, day_name)]
    for name in files.names():
        if name == day_name or not name.endswith(".yaml"):
            continue
        try:
            data = files.read(name, limit)
            report = parse_yaml(data, name).data.get("report") if day.report.number.encode() in data else None
        except (UnreadableFileError, InputError):
            continue
        if isinstance(report, dict) and report.get("number") == day.report.number:
            revision = report.get("revision")
            found += [(int(revision), name)] if isinstance(revision, str) and revision.isdecimal() else []
    revision, name = max(found)
    return (name, revision) if revision > day.report.revision else None


def is_earlier(other: Day, day: Day) -> bool:
    """Return whether another day is an earlier shift of the same project, and no revision of the same report."""
    mine, theirs = day.report, other.report
    before = (theirs.date, str(theirs.shift.start)) < (mine.date, str(mine.shift.start))
    return before and theirs.number != mine.number and other.project == day.project


def latest_revisions(jobs: list[Job]) -> tuple[Job, ...]:
    """Return one job per report number, the highest revision, oldest first."""
    latest: dict[str, Job] = {}
    for job in jobs:
        number = job.day.report.number
        if number not in latest or latest[number].day.report.revision < job.day.report.revision:
            latest[number] = job
    return tuple(sorted(latest.values(), key=_moment))


def _moment(job: Job) -> tuple[str, str, str]:
    report = job.day.report
    return report.date.isoformat(), str(report.shift.start), report.number
