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
    from reportgen.job.day import Report
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


def why_not_earlier(other: Day, day: Day) -> str | None:
    """Return why another day is no earlier report than ``day``; None where it is one.

    Reports of one date are in the order of their shifts, those of one shift in the order of their numbers.
    """
    mine, theirs = day.report, other.report
    if other.project != day.project:
        return f"it names another project file, `{other.project}`"
    if theirs.number == mine.number:
        return f"it is a report of the same number, {mine.number}"
    if (theirs.date, str(theirs.shift.start)) > (mine.date, str(mine.shift.start)):
        return f"its shift begins later, at {theirs.shift.start:%H:%M} on {theirs.date}"
    if _order(theirs) > _order(mine):
        return f"of two reports of one shift the lower number is the earlier, and it is {theirs.number}"
    return None


def _order(report: Report) -> tuple[str, str, list[tuple[int, str]]]:
    """Return what reports are ordered by: date, shift, and number with its digits taken as numbers."""
    parts = re.findall(r"\d+|\D+", report.number)
    return str(report.date), str(report.shift.start), [(int(part) if part.isdecimal() else -1, part) for part in parts]


def latest_revisions(jobs: list[Job]) -> tuple[Job, ...]:
    """Return one job per report number, the highest revision, oldest first."""
    latest: dict[str, Job] = {}
    for job in jobs:
        number = job.day.report.number
        if number not in latest or latest[number].day.report.revision < job.day.report.revision:
            latest[number] = job
    return tuple(sorted(latest.values(), key=lambda job: _order(job.day.report)))
