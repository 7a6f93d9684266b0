"""Which other day files of the folder are earlier days from which something may be carried forward.

Any is that is not known to have settled all of its steel: one that was not issued as it is, or does not conform, or
leaves steel bare where it has to be primed in time. What it left is owed whichever report comes next, and whether a
later one settles it is for the rules to say; so what other reports say of its areas comes with it. Of those that are
known to, one is that raises or re-inspects a nonconformance, or is said to have raised one; one of steel on an area of
this report that this one does not blast again with the same apparatus; and one of an area on which a later report
raises a nonconformance, as that may be for what was found there. And what reports say of a roll, an instrument, the air
of an apparatus or a hold point that one of them leaves in doubt, or this one; with the steel blasted with air that it
finds not to be clean. The others are not loaded, so that the cost of a day does not grow with the length of a contract
in order.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import InputError, RangeError
from reportgen.job import parse_clock
from reportgen.loader.paths import YAML_LIMIT, UnreadableFileError
from reportgen.measurements import MEASUREMENTS
from reportgen.metrology.tape import UPPER, unused_tape_range
from reportgen.names import spelling, spelt_alike
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Sequence

    from reportgen.job import Clock, Day, Job, Person, Project, Reading, SiteClock, Surface, TapeCheck
    from reportgen.job.day import Report
    from reportgen.loader.paths import JobFiles

_CARRIES: Final = re.compile(rb"\b(?:nonconformances|reinspects)\b")
_REPORT: Final = re.compile(rb"(?m)^['\"]?report['\"]?[ \t]*:")
_ANYWHERE: Final = re.compile(rb"\breport['\"]?\s*:")
_KINDS: Final = re.compile(rb"(?m)^['\"]?(?:report|specification|structures|sections)['\"]?[ \t]*:")
"""What a day file, a project file and a template begin a line with."""
_ESCAPE: Final = b"\\"
"""With one a key or a value may be written so that no search finds it."""
_DATES: Final = re.compile(rb"\bdate['\"]?[ \t]*:[ \t]*['\"]?(\d{4}-\d{2}-\d{2})\b")
_SAVED: Final = re.compile(r".+\.saved-\d{8}T\d{6}Z(?:-\d+)?\.yaml\Z")


def is_saved_copy(name: str) -> bool:
    """Whether a file has the name under which we put beside a day file what an editor saved while we wrote it.

    It is no day of its own: somebody is to take over from it what belongs into the day file.
    """
    return _SAVED.match(name) is not None


def earlier_candidates(
    files: JobFiles,
    day_name: str,
    day: Day,
    unread: Callable[[str, UnreadableFileError], None],
) -> Iterator[tuple[str, bytes]]:
    """Return name and bytes of the files beside ``day_name`` that may be earlier days, by name.

    ``unread`` hears of those that are not read: for their name, size, permission, or as a link that leaves the folder;
    and of those that nobody can read, as they are no YAML and nothing in them says what they were.
    """
    for name in files.names():
        if name == day_name or not name.endswith(".yaml") or is_saved_copy(name):
            continue
        try:
            data = files.read(name, YAML_LIMIT)
        except UnreadableFileError as failure:
            unread(name, failure)
            continue
        if _may_be_earlier(data, name, day.report.date.isoformat()):
            yield name, data
        elif _is_spoilt(data, name):
            told = "it is empty" if not data.strip() else "it is not YAML"
            unread(name, UnreadableFileError("JOB250", told, "restore it, or put it into another folder"))


def _may_be_earlier(data: bytes, name: str, date: str) -> bool:
    """Whether a file may be a report, and of no later date: what a search of its text does not show, it says itself."""
    plain = _searched(data)
    dates = _DATES.findall(plain)
    later = bool(dates) and min(dates).decode("ascii") > date
    if _REPORT.search(plain) and not later:
        return True
    known = _data_of(data, name)
    if known is None:  # nobody issues that
        return not later and _ANYWHERE.search(plain) is not None
    report = known.get("report")
    stated = report.get("date") if isinstance(report, dict) else None
    return "report" in known and not (isinstance(stated, str) and stated > date)


def _is_spoilt(data: bytes, name: str) -> bool:
    """Whether a file is no YAML, and says neither that it is a report, which has a date, nor what else."""
    return _data_of(data, name) is None and not _KINDS.search(_searched(data))


def holds_report(data: bytes, name: str) -> bool:
    """Return whether a file is a report, in whatever style it is written."""
    return _REPORT.search(data) is not None or "report" in (_data_of(data, name) or {})


def _data_of(data: bytes, name: str) -> dict[str, Any] | None:
    try:
        return parse_yaml(data, name).data
    except InputError:
        return None


def carries(data: bytes) -> bool:
    """Return whether a day file may raise or re-inspect a nonconformance, or say that it does neither any more."""
    if not (_CARRIES.search(_searched(data)) or _ESCAPE in data):
        return False
    known = _data_of(data, "")
    if known is None:
        return True
    surfaces = known.get("surfaces")
    entries = surfaces if isinstance(surfaces, list) else []
    return "nonconformances" in known or any("reinspects" in one for one in entries if isinstance(one, dict))


def may_be_on(data: bytes, areas: Collection[str]) -> bool:
    """Return whether a file may be a report on one of the areas."""
    plain = _searched(data)
    return _ESCAPE in plain or any(area.encode() in plain for area in areas)


def _searched(data: bytes) -> bytes:
    """Return a file's text as it is searched: what an editor saved in UTF-16 is a day file all the same."""
    return data.replace(b"\0", b"")


def areas_of(day: Day) -> set[str]:
    """Return the areas that a day names, and those it raises something on."""
    return {one.area for one in day.surfaces} | {one.area for one in day.not_inspected} | day.raised_on


def raised_since(other: Day, days: Iterable[Day]) -> bool:
    """Whether a later day raises a nonconformance on an area of another, perhaps for what that found."""
    areas = {one.area for one in other.surfaces}
    return any(not areas.isdisjoint(day.raised_on) and is_earlier(other, day) for day in days)


def same_steel(other: Job, day: Day, clock: SiteClock | None, inspector: Person | None) -> bool:
    """Whether another report has steel on an area of this day that this day does not blast again after all it records.

    Blasted again means that every entry of the area is after it and one is of the same apparatus. A report that says
    itself what was blasted again, or is named so here, is needed for that; and one that states how much was cleaned;
    and one that ``inspector`` may not undo; and one that has the very blasting of an entry of this day on another
    area, which may be that steel under another name.
    """
    if clock is not None and _under_another_area(other, day, clock):
        return True
    if inspector is not None and not other.may_be_undone_by(inspector):
        return not {one.area for one in other.day.surfaces}.isdisjoint(one.area for one in day.surfaces)
    return clock is not None and any(
        _stands(other, surface, readings, day, clock)
        for surface, readings in zip(other.day.surfaces, other.readings, strict=True)
    )


def may_be_open(other: Job, *, conforms: bool) -> bool:
    """Whether another report may have left something open on some area.

    It may unless it ``conforms`` and its steel is primed, where that has to be in time: that passes, whoever comes by.
    """
    timed = other.project.specification.time_to_coat is not None
    return any(not conforms or (timed and one.coated is None) for one in other.day.surfaces)


def bears_on(other: Job, job: Job, raising: Sequence[Day], *, conforms: bool) -> bool:
    """Whether a report bears on a day: by its steel, what it may have left open, or what was ``raising`` since."""
    same = same_steel(other, job.day, job.clock, job.inspector)
    return same or may_be_open(other, conforms=conforms) or raised_since(other.day, raising)


def also_asked(unlike: Sequence[Job], others: Sequence[Job], day: Day, project: Project) -> list[Job]:
    """Return the reports among some ``unlike`` that speak of what one of all, or the day itself, leaves in doubt.

    Of air that the day finds not to be clean those too that blasted with it.
    """
    own = _spoken_of(day, project)
    every = [own, *(_spoken_of(one.day, one.project) for one in (*others, *unlike))]
    doubted = {key for said in every for key, so in said.items() if so}
    bad = {name for kind, name in doubted if kind == "air" and own.get((kind, name))}
    return [
        one for one in unlike
        if not doubted.isdisjoint(_spoken_of(one.day, one.project))
        or any((spelling(each.apparatus) or each.apparatus) in bad for each in one.day.surfaces)
    ]  # fmt: skip


def _spoken_of(day: Day, project: Project) -> dict[tuple[str, str], bool]:
    """Return what the logs of a report speak of, by kind and name, and whether that may be left in doubt.

    Nothing is judged here: a check that may have failed is looked at, whatever else was written of it that day.
    """
    told = [
        *(("air", one.apparatus, one.result != "clean") for one in day.air_checks),
        *(("tape", one.roll, _may_be_outside(one, project)) for one in day.tape_checks),
        *(("instrument", one.instrument, one.shown != one.reference) for one in day.function_checks),
        *(("hold point", one.step, one.released is None) for one in day.hold_points),
    ]
    found: dict[tuple[str, str], bool] = {}
    for kind, name, doubted in told:
        key = kind, spelling(name) or name
        found[key] = doubted or found.get(key, False)
    return found


def _may_be_outside(check: TapeCheck, project: Project) -> bool:
    roll, gauge = project.tape_rolls.get(check.roll), project.instruments.get(check.gauge)
    if roll is None or roll.grade != UPPER or gauge is None or gauge.unit is None:
        return False
    lowest, highest = unused_tape_range(gauge.unit)
    return not lowest.exact <= check.thickness.in_unit(lowest.unit) <= highest.exact


def on_areas_of(unlike: Iterable[Job], others: Iterable[Job]) -> list[Job]:
    """Return the reports among some ``unlike`` that have steel on an area of others: they may have settled that."""
    areas = {one.area for other in others for one in other.day.surfaces}
    return [job for job in unlike if any(one.area in areas for one in job.day.surfaces)]


def _stands(other: Job, surface: Surface, readings: Sequence[Reading], day: Day, clock: SiteClock) -> bool:
    mine = [one for one in day.surfaces if one.area == surface.area]
    if not mine:
        return False
    named = [name for one in mine for name in one.blasted_again]
    again = any(spelt_alike(surface.apparatus, one.apparatus) for one in mine)
    sized = surface.cleaned is not None and any(one.cleaned is not None for one in mine)  # they are added up
    if surface.blasted_again or surface.apparatus in named or not again or sized:
        return True
    times = [*_recorded(surface), *(parse_clock(one.time) for one in readings if one.time is not None)]
    last = max(other.clock.instant(time).astimezone(dt.UTC) for time in times)
    return any(_begins_before(one, clock, last) for one in mine)


def _under_another_area(other: Job, day: Day, clock: SiteClock) -> bool:
    mine = [(one, _blasting(one, clock)) for one in day.surfaces]
    theirs = [(one, _blasting(one, other.clock)) for one in other.day.surfaces]
    return any(
        one.area != each.area
        and at is not None
        and then is not None
        and (at == then or (at[0] < max(then) and then[0] < max(at)))
        and spelt_alike(one.apparatus, each.apparatus)
        for one, at in mine
        for each, then in theirs
    )


def _blasting(surface: Surface, clock: SiteClock) -> tuple[dt.datetime, ...] | None:
    try:
        return tuple(clock.instant(at).astimezone(dt.UTC) for at in (surface.blasted.start, surface.blasted.end))
    except RangeError:  # a time that never was, which is said elsewhere
        return None


def _recorded(surface: Surface) -> Iterator[Clock]:
    """Yield every time that a surface records but those of its readings."""
    tests = [test for kind in MEASUREMENTS if kind.timed for test in kind.entries_on(surface)]
    yield surface.blasted.end
    yield from (one.time for one in tests if one.time is not None)
    yield from (one for one in (surface.washed, surface.dust_removed, surface.coated) if one is not None)


def _begins_before(surface: Surface, clock: SiteClock, last: dt.datetime) -> bool:
    try:
        return clock.instant(surface.blasted.start).astimezone(dt.UTC) < last
    except RangeError:  # a time that never was, which is said elsewhere
        return False


def later_revision(files: JobFiles, day_name: str, day: Day) -> tuple[str, int] | None:
    """Return name and number of the highest revision of a day's report beside it that is higher than its own."""
    found = [(day.report.revision, day_name)]
    for name in (one for one in files.names() if one != day_name and one.endswith(".yaml")):
        revision = _revision_of(files, name, day.report.number)
        found += [(int(revision), name)] if isinstance(revision, str) and revision.isdecimal() else []
    revision, name = max(found)
    return (name, revision) if revision > day.report.revision else None


def report_among(files: JobFiles, number: str) -> str | None:
    """Return the name of the file that is of a report, of whatever revision; None where none is."""
    names = (one for one in files.names() if one.endswith(".yaml"))
    return next((one for one in names if _report_of(files, one, number) is not None), None)


def dated_later(files: JobFiles, day: Day, number: str) -> str | None:
    """Return why a report beside a day is none that came before it: its date is later; None where none is."""
    for name in (one for one in files.names() if one.endswith(".yaml") and not is_saved_copy(one)):
        report = _report_of(files, name, number)
        date = report.get("date") if report is not None else None
        if isinstance(date, str) and date > day.report.date.isoformat():
            return (
                f"`{files.shown(name)}` dates it {date}, and this report is of {day.report.date.isoformat()}: correct "
                "the date that is wrong, in a revision where that report is issued, or `raised_in`"
            )
    return None


def _revision_of(files: JobFiles, name: str, number: str) -> object:
    """Return what a file states as its revision; None where it is no report of that number, or cannot be read."""
    report = _report_of(files, name, number)
    return None if report is None else report.get("revision")


def _report_of(files: JobFiles, name: str, number: str) -> dict[str, Any] | None:
    """Return what a file says of its report; None where it is none of that number, or cannot be read."""
    try:
        data = files.read(name, YAML_LIMIT)
        told = number.encode() in data or _ESCAPE in data
        report = parse_yaml(data, name).data.get("report") if told else None
    except (UnreadableFileError, InputError):
        return None
    return report if isinstance(report, dict) and report.get("number") == number else None


def is_higher(number: str, other: str) -> bool:
    """Whether a report number comes after another one: written alike, but for the last digits in it, which are more."""
    one, two = (re.fullmatch(r"(.*?)(\d+)(\D*)", each) for each in (number, other))
    alike = one is not None and two is not None and one.group(1, 3) == two.group(1, 3)
    return alike and one is not None and two is not None and int(one[2]) > int(two[2])


def why_not_earlier(other: Day, day: Day, *, issued_before: bool = False) -> str | None:
    """Return why another day is no earlier report than ``day``; None where it is one.

    Reports of one date are in the order of their shifts, those of one shift in the order of their numbers. One of that
    date that was ``issued_before`` stands as well, whatever its number, unless its shift began when this had ended.
    """
    mine, theirs = day.report, other.report
    if other.project != day.project:
        return f"it names another project file, `{other.project}`"
    if theirs.number == mine.number:
        return f"it is a report of the same number, {mine.number}"
    if issued_before and theirs.date == mine.date and not _began_after(theirs, mine):
        return None
    if (theirs.date, str(theirs.shift.start)) > (mine.date, str(mine.shift.start)):
        return f"its shift begins later, at {theirs.shift.start:%H:%M} on {theirs.date}"
    if _order(theirs) > _order(mine):
        return f"of two reports of one shift the lower number is the earlier, and it is {theirs.number}"
    return None


def is_earlier(other: Day, day: Day, *, issued_before: bool = False) -> bool:
    """Say whether another day's report comes before that of ``day``, whatever their folders and project files."""
    same_date = issued_before and other.report.date == day.report.date and not _began_after(other.report, day.report)
    return same_date or _order(other.report) < _order(day.report)


def _began_after(theirs: Report, mine: Report) -> bool:
    """Whether the shift of a report began when another of that date had ended; one over midnight had not."""
    start, end = str(mine.shift.start), str(mine.shift.end)
    return start < end <= str(theirs.shift.start)


def _order(report: Report) -> tuple[str, str, list[tuple[int, str]]]:
    """Return what reports are ordered by: date, shift, and number with its digits taken as numbers."""
    parts = re.findall(r"\d+|\D+", report.number)
    return str(report.date), str(report.shift.start), [(int(part) if part.isdecimal() else -1, part) for part in parts]


def without_shadowed(jobs: Sequence[Job]) -> list[Job]:
    """Return earlier days without those that carry nothing where another file of their number does.

    A copy of a report that leaves its nonconformances out must not take their place.
    """
    carrying = {job.day.report.number for job in jobs if _carries_something(job)}
    return [job for job in jobs if _carries_something(job) or job.day.report.number not in carrying]


def _carries_something(job: Job) -> bool:
    return any(file.role == "day" and carries(file.data) for file in job.files)


def latest_revisions(jobs: list[Job]) -> tuple[Job, ...]:
    """Return one job per report number, the highest revision, oldest first."""
    latest: dict[str, Job] = {}
    for job in jobs:
        number = job.day.report.number
        if number not in latest or latest[number].day.report.revision < job.day.report.revision:
            latest[number] = job
    return tuple(sorted(latest.values(), key=lambda job: _order(job.day.report)))
