"""A day file and all it names → Job, in the order of the life of a job: read, shape, check, join."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from functools import cached_property, partial
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Generic, TypeAlias, TypeVar

from reportgen.diagnostics import Span, in_file_order
from reportgen.errors import InputError, UsageError
from reportgen.gc_pause import collector_off
from reportgen.job import Day, Job, Model, Project, SiteClock, SourceFile, salvaged, validated
from reportgen.loader.checks import check_job
from reportgen.loader.checks.identifiers import check_successors
from reportgen.loader.checks.records import check_blasted_again, check_nonconformances
from reportgen.loader.checks.specification import known_zone
from reportgen.loader.checks.times import check_days, check_not_ahead
from reportgen.loader.collected import Collected
from reportgen.loader.earlier import (
    also_asked,
    carries,
    dated_later,
    earlier_candidates,
    is_earlier,
    later_revision,
    latest_revisions,
    may_be_open,
    on_areas_of,
    raised_since,
    report_among,
    same_steel,
    why_not_earlier,
    without_shadowed,
)
from reportgen.loader.paths import (
    YAML_LIMIT,
    FolderFiles,
    FolderFilesWith,
    JobFiles,
    MemoryFiles,
    ReadOnce,
    UnreadableFileError,
    read_under,
    refuse_suffix,
)
from reportgen.loader.pictures import load_logo, load_photos
from reportgen.loader.placeholders import unfilled
from reportgen.loader.rows import check_set_aside, load_readings
from reportgen.loader.sheets import Sheets
from reportgen.loader.unfinished import Lack, entries, set_aside, shaped
from reportgen.names import plain_words
from reportgen.yamlsource import Document, parse_yaml

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from reportgen.diagnostics import Diagnostic
    from reportgen.units import UnitSystem

M = TypeVar("M", bound=Model)


ProjectAsIssued: TypeAlias = "Callable[[Day, bytes], bytes | None]"
"""Takes a day and the project file as it is now; gives the one by which the report of the day was issued, if other."""


IssuedBefore: TypeAlias = "Callable[[Day, Day], bool]"
"""Takes another day and a day; says whether a report of the other was issued before the first one of the day."""


Conformed: TypeAlias = "Callable[[Day, bytes], bool]"
"""Takes a day and its file; says whether that was issued, and its report conforms."""


def _never_issued(_day: Day, _project: bytes) -> None:
    """Give no other project file."""


def _none_before(_other: Day, _day: Day) -> bool:
    """Say that no report was issued before."""
    return False


def _all_before(_other: Day, _day: Day) -> bool:
    """Say that every other report was issued before, as those are that a report holds."""
    return True


def _none_known(_day: Day, _file: bytes) -> bool:
    """Say that of no day it is known that its report conforms."""
    return False


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What to load besides the two files."""

    photos: bool
    earlier: bool
    until: dt.datetime | None = None
    issued: ProjectAsIssued = _never_issued
    before: IssuedBefore = _none_before
    conformed: Conformed = _none_known
    typed: bool = False


def load_job(
    path: Path,
    *,
    with_earlier: bool = True,
    until: dt.datetime | None = None,
    issued: ProjectAsIssued = _never_issued,
    before: IssuedBefore = _none_before,
    conformed: Conformed = _none_known,
    itself: bool = False,
    typed: bool = False,
    content: bytes | None = None,
    content_of: str | None = None,
) -> Job:
    """Load a day file with its project file, readings, photos and earlier days.

    ``until``, an aware instant, is the moment of signing: a recorded time after it is refused. ``issued`` gives the
    project file by which an earlier day was issued, ``before`` which reports of its date were issued before it,
    ``conformed`` which reports conform, of whose areas this one need not be told unless it names them; with ``itself``
    the day is loaded by the project file of its own report too. ``content`` is taken for that of the day
    file, or of the file ``content_of`` beside it, as if it had been saved. With ``typed`` the day is being typed: what
    is wrong within an entry of the day file sets that aside, and the rest is loaded.

    Raises:
        InputError: with every diagnostic of every file, in the order of the files.
    """
    path = Path(path)
    with collector_off():
        files = (
            FolderFiles(path.parent)
            if content is None
            else FolderFilesWith(path.parent, content_of or path.name, content)
        )
        wanted = _Wanted(
            photos=True, earlier=with_earlier, until=until, issued=issued, before=before, conformed=conformed,
            typed=typed,
        )  # fmt: skip
        return _load(ReadOnce(files), path.name, wanted, itself=itself)


def load_project(path: Path, content: bytes | None = None) -> Project:
    """Load one project file; ``content`` is taken for its own, as if it had been saved.

    Raises:
        UsageError: when it cannot be read. InputError: with every diagnostic, when it is no project file.
    """
    try:
        data = read_under(path.parent, path.name, YAML_LIMIT) if content is None else content
    except UnreadableFileError as failure:
        raise UsageError(f"project file: {failure.message}", help_text=failure.help_text) from failure
    document = parse_yaml(data, str(path))
    found = Collected()
    if found.later_format(document):
        raise InputError(found.in_order())
    found.add(document.problems)
    outcome = validated(Project, document.data)
    if isinstance(outcome, tuple):
        found.shape(document, outcome)
    elif not found.errors:
        return outcome
    raise InputError(found.in_order())


def superseded_by(path: Path, day: Day) -> tuple[str, int] | None:
    """Return name and number of the highest revision of a day's report in its folder, where that is another file."""
    return later_revision(FolderFiles(path.parent), path.name, day)


def job_from_files(files: Mapping[str, bytes], day_name: str, *, until: dt.datetime | None = None) -> Job:
    """Load a job from memory, as a report does that verifies itself.

    Names are POSIX paths relative to the job folder. The job has no photos. A recorded
    time after ``until``, an aware instant, is refused.

    Raises:
        InputError: as for ``load_job``.
    """
    day = PurePosixPath(day_name)

    def embedded(other: Day, _: bytes) -> bytes | None:
        return files.get(str(day.parent / _as_issued_name(other)))

    with collector_off():
        wanted = _Wanted(photos=False, earlier=True, until=until, issued=embedded, before=_all_before)
        job = _load(MemoryFiles(files, day.parent), day.name, wanted)
        for one in job.earlier:
            basis = _below(day.parent / _basis_folder_of(one.day), files)
            job = with_basis(job, one, basis) if basis else job
        return _with_all_replaced(job, files, day.parent)


def _with_all_replaced(job: Job, files: Mapping[str, bytes], parent: PurePosixPath) -> Job:
    """Return a job with what the revisions among it and its earlier days leave out, where a report embeds that."""
    for one in (*job.earlier, job):
        number, revisions = one.day.report.number, range(one.day.report.revision)
        every = [_below(parent / _basis_folder(number, each), files) for each in revisions]
        job = with_replaced(job, number, every) if any(every) else job
    return job


def _below(folder: PurePosixPath, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return the files in a folder, by their path below it."""
    start = f"{folder}/"
    return {name.removeprefix(start): data for name, data in files.items() if name.startswith(start)}


def with_replaced(job: Job, number: str, replaced: Sequence[Mapping[str, bytes]]) -> Job:
    """Return a job of which it or an earlier day is of a ``number`` whose revision leaves out what failed before.

    ``replaced`` are the files of reports of that number before it, oldest first; of one that is not there, none.
    """
    found, embedded = list[Job](), list[SourceFile]()
    for files in replaced:
        name = report_among(MemoryFiles(files, PurePosixPath()), number)
        if name is not None:
            found.append(job_from_files(files, name))
            folder = _basis_folder_of(found[-1].day)
            embedded += [SourceFile(f"{folder}/{path}", "earlier basis", data) for path, data in sorted(files.items())]
    if not found:
        return job
    own = job.day.report.number == number
    days = tuple(replace(one, replaced=tuple(found)) if one.day.report.number == number else one for one in job.earlier)
    return replace(
        job, earlier=days, files=(*job.files, *embedded), replaced=tuple(found) if own else job.replaced
    )  # fmt: skip


def with_basis(job: Job, earlier: Job, basis: Mapping[str, bytes]) -> Job:
    """Return a job of which an earlier day is as its report was issued, with the files that this was issued upon.

    Unchanged where that day is not among them.
    """
    own = next(file.data for file in earlier.files if file.role == "day")
    name = next((name for name, data in basis.items() if data == own), None)
    if name is None:
        return job
    known = replace(earlier, as_issued=job_from_files(basis, name))
    folder = _basis_folder_of(earlier.day)
    files = (SourceFile(f"{folder}/{path}", "earlier basis", data) for path, data in sorted(basis.items()))
    days = tuple(known if one is earlier else one for one in job.earlier)
    return replace(job, earlier=days, files=(*job.files, *files))


def _as_issued_name(day: Day) -> str:
    """Return under which name a report embeds the project file of an earlier day, where that is not its own."""
    return f"{_basis_folder_of(day)}.yaml"


def _basis_folder_of(day: Day) -> str:
    return _basis_folder(day.report.number, day.report.revision)


def _basis_folder(number: str, revision: int) -> str:
    """Return in which folder a report embeds what another was issued upon, where that was revised, or is replaced."""
    return f"as-issued/{number}-r{revision}"


@dataclass(frozen=True)
class _Sheet(Generic[M]):
    """One YAML file: its bytes, its document, and the model, or what is left of it without its wrong fields.

    ``written`` is the document with the entries that are unfinished; ``document`` is that of the model. ``lacks`` is
    what is missing in those.
    """

    name: str
    data: bytes
    document: Document
    model: M
    written: Document
    lacks: tuple[Lack, ...] = ()

    @cached_property
    def unfilled(self) -> tuple[Diagnostic, ...]:
        """The entries that hold a placeholder; asked of a project file for each earlier day."""
        return unfilled(self.written)

    @property
    def gone(self) -> frozenset[tuple[int | str, ...]]:
        """The parts that are not in the model."""
        return frozenset(one.part for one in self.lacks if not one.stays)


def _load(files: JobFiles, day_name: str, wanted: _Wanted, *, itself: bool = False) -> Job:
    unread: tuple[Lack, ...] = ()
    while True:
        try:
            return _load_without(files, day_name, wanted, unread, itself=itself)
        except InputError as failure:
            more = _set_aside(files, day_name, failure) if wanted.typed else None
            if not more:
                raise
            unread += more


def _set_aside(files: JobFiles, day_name: str, failure: InputError) -> tuple[Lack, ...] | None:
    """Return what sets aside all that is wrong with a day; None where it is wrong elsewhere than in its entries."""
    errors = [one for one in failure.diagnostics if one.severity == "error"]
    try:
        document = parse_yaml(files.read(day_name, YAML_LIMIT), files.shown(day_name))
    except (UnreadableFileError, InputError):
        return None
    return set_aside(document, errors)


def _load_without(
    files: JobFiles, day_name: str, wanted: _Wanted, unread: tuple[Lack, ...], *, itself: bool
) -> Job:  # fmt: skip
    """Load a day without what cannot be taken of it, which is known."""
    known = [one.told for one in unread if one.told is not None]
    found = Collected(known)
    pair = _two_sheets(files, day_name, found, lacks=unread, typed=wanted.typed)
    if pair is not None and (found.errors or pair[0].lacks):  # said again, with examples in the units of the contract
        found = Collected(known)
        pair = _two_sheets(files, day_name, found, pair[1].model.units, unread, typed=wanted.typed)
    if pair is None:
        raise InputError(found.in_order())
    day, project = pair
    return _joined(files, day, _project_of(day.model, project, wanted, found) if itself else project, wanted, found)


def _two_sheets(
    files: JobFiles, day_name: str, found: Collected, units: UnitSystem | None = None, lacks: Sequence[Lack] = (), *,
    typed: bool,
) -> tuple[_Sheet[Day], _Sheet[Project]] | None:  # fmt: skip
    day = _sheet(files, day_name, Day, Span(files.shown(day_name), 1, 1), found, units, lacks, typed=typed)
    if day is None:
        return None
    project = _sheet(files, str(day.model.project), Project, day.document.span(["project"]), found, units)
    return None if project is None else (day, project)


def _sheet(
    files: JobFiles, name: str, model: type[M], place: Span, found: Collected, units: UnitSystem | None = None,
    lacks: Sequence[Lack] = (), *, typed: bool = False,
) -> _Sheet[M] | None:  # fmt: skip
    """Read one YAML file; ``place`` is what named it. None when nothing is left to check further."""
    try:
        refuse_suffix(name, ".yaml")
        data = files.read(name, YAML_LIMIT)
        document = parse_yaml(data, files.shown(name))
    except UnreadableFileError as failure:
        found.at(place, failure.code, failure.message, failure.help_text)
        return None
    except InputError as failure:
        found.add(failure.diagnostics)
        return None
    if found.later_format(document):
        return None
    found.add(document.problems)
    if model is Day:
        return _day_sheet(name, data, document, found, units, lacks, typed=typed)  # type: ignore[return-value] # M is Day
    outcome = validated(model, document.data, units)
    if not isinstance(outcome, tuple):
        return _Sheet(name, data, document, outcome, document)
    found.shape(document, outcome)
    rest = salvaged(model, document.data)
    return _Sheet(name, data, document, rest, document) if rest is not None else None


def _day_sheet(
    name: str, data: bytes, document: Document, found: Collected, units: UnitSystem | None, lacks: Sequence[Lack] = (),
    *, typed: bool,
) -> _Sheet[Day] | None:  # fmt: skip
    """Return a day file without its unfinished entries; ``lacks`` is missing beside what its shape shows."""
    day = shaped(document, units, lacks, typed=typed)
    found.shape(document, day.wrong)
    model = day.day or salvaged(Day, day.document.data)
    return None if model is None else _Sheet(name, data, day.document, model, document, tuple(day.lacks))


def _joined(files: JobFiles, day: _Sheet[Day], project: _Sheet[Project], wanted: _Wanted, found: Collected) -> Job:
    """Check the two files against each other and join them; raises with all that was found when anything is wrong."""
    clock = _clock_of(project.model, day.model)
    before = found.copy()
    sheets = Sheets(project.model, day.model, project.document, day.document, found, clock, day.written, day.gone)
    rows = load_readings(files, sheets)
    check_set_aside(files, sheets)
    check_job(sheets, rows)
    if wanted.until is not None:
        check_not_ahead(sheets, rows, wanted.until)
    photos = load_photos(files, sheets) if wanted.photos else {}
    logo = load_logo(files, sheets, project.name) if wanted.photos else None
    not_earlier: dict[str, str] = {}
    jobs, broken = _earlier_days(files, day, project, wanted, found, not_earlier) if wanted.earlier else ([], [])
    earlier = latest_revisions(jobs)
    check_days(sheets, earlier if wanted.earlier else None)
    if wanted.earlier:
        check_nonconformances(sheets, earlier, jobs, not_earlier, partial(dated_later, files, day.model))
        check_blasted_again(sheets, earlier)
    check_successors(sheets, earlier)
    lacks = tuple(dict.fromkeys((*day.lacks, *sheets.lacks)))
    left_open = _left_open(day, project, lacks)
    found.complete(left_open)
    if found.errors or clock is None:
        raise InputError(found.in_order())
    if {one.part for one in lacks if not one.stays} != day.gone:
        less = _day_sheet(day.name, day.data, day.written, before, project.model.units, lacks, typed=wanted.typed)
        assert less is not None  # noqa: S101 - less of what was whole
        return _joined(files, less, project, wanted, before)
    sources = [
        *broken,
        *(_as_earlier(file) for job in earlier for file in job.files if file.name != project.name),
        SourceFile(project.name, "project", project.data),
        SourceFile(day.name, "day", day.data),
        *(surface.file for surface in rows if surface is not None and surface.file is not None),
        *(SourceFile(name, "photo", original) for name, original in photos.items()),
        *([] if logo is None else [logo]),
    ]
    return Job(
        project.model,
        day.model,
        tuple(surface.readings() if surface is not None else () for surface in rows),
        tuple({source.name: source for source in sources}.values()),
        clock,
        earlier,
        photos,
        tuple(found.in_order()),
        left_open,
        entries(day.written, lacks),
        _unread(lacks),
    )


def _unread(lacks: Sequence[Lack]) -> tuple[Diagnostic, ...]:
    told = dict.fromkeys(one.told for one in lacks if one.unread and one.told is not None)
    return tuple(in_file_order(told))


def _left_open(day: _Sheet[Day], project: _Sheet[Project], lacks: Sequence[Lack]) -> tuple[Diagnostic, ...]:
    """Return what is still to be filled in, each once, in the order of the files."""
    texts = [*project.unfilled, *day.unfilled]
    said = {(one.spans[0].file, one.spans[0].line, one.spans[0].column) for one in texts}
    told = (one.told for one in lacks if one.told is not None)
    new = (one for one in told if (one.spans[0].file, one.spans[0].line, one.spans[0].column) not in said)
    return tuple(in_file_order(dict.fromkeys([*texts, *new])))


def _clock_of(project: Project, day: Day) -> SiteClock | None:
    shift = day.report.shift
    zone = project.project.time_zone
    if not known_zone(zone) or not isinstance(shift.start, dt.time) or not isinstance(shift.end, dt.time):
        return None
    return SiteClock(day.report.date, shift.start, shift.end, zone)


def _earlier_days(
    files: JobFiles,
    day: _Sheet[Day],
    project: _Sheet[Project],
    wanted: _Wanted,
    found: Collected,
    not_earlier: dict[str, str],
) -> tuple[list[Job], list[SourceFile]]:
    """Load the earlier days of the folder, in every revision, and the files of those with faults: a warning each.

    ``not_earlier`` learns which nonconformances other days raise, and why those are no earlier days.

    A fault of an earlier day must not keep today's report back, but nothing of that day is carried forward.
    """
    taken = _Taken([], [])
    broken: list[SourceFile] = []
    faulty: list[tuple[str, bytes, InputError]] = []

    def unread(name: str, failure: UnreadableFileError) -> None:
        message = f"`{name}` may be an earlier day and cannot be read: {failure.message}"
        remedy = failure.help_text or "put it into another folder where it is no day file"
        found.at(Span(files.shown(name), 1, 1), "JOB250", message, remedy, "warning")

    for name, data in earlier_candidates(files, day.name, day.model, unread):
        try:
            _take_earlier(files, name, day, project, wanted, not_earlier, taken, found)
        except InputError as fault:
            faulty.append((name, data, fault))
    jobs, raising = list(taken.bearing), [day.model, *(one.day for one in taken.bearing)]
    asked = [*also_asked(taken.unlike, jobs, day.model, project.model), *on_areas_of(taken.unlike, jobs)]
    needed = {id(one) for one in asked}
    jobs += [one for one in taken.unlike if id(one) in needed or raised_since(one.day, raising)]
    for name, data, failure in faulty:  # what it left open nobody knows, on whatever area
        broken.extend([SourceFile(name, "earlier", data)] if carries(data) else [])
        first = failure.diagnostics[0]
        message = f"the earlier day `{name}` cannot be loaded: {first.message}"
        remedy = f"correct it (`reportgen check {files.shown(name)}`)"
        found.at(first.spans, "JOB250", message, remedy, "warning")
    return without_shadowed(jobs), broken


@dataclass(frozen=True, slots=True)
class _Taken:
    """Earlier days: those that bear on the day, and the rest."""

    bearing: list[Job]
    unlike: list[Job]


def _take_earlier(
    files: JobFiles,
    name: str,
    day: _Sheet[Day],
    project: _Sheet[Project],
    wanted: _Wanted,
    not_earlier: dict[str, str],
    taken: _Taken,
    warned: Collected,
) -> None:
    """Load another day of the folder, by the project file it was issued by, into ``taken`` where it is an earlier day.

    One that raises or re-inspects a nonconformance, or is said to have raised one, bears on the day; so does its steel,
    and what it may have left open.
    """
    found = Collected()
    other = _sheet(files, name, Day, Span(files.shown(name), 1, 1), found, project.model.units)
    if other is None:
        raise InputError(found.in_order())
    issued_before = wanted.before(other.model, day.model)
    reason = why_not_earlier(other.model, day.model, issued_before=issued_before)
    if reason is not None:
        _say_passed_over(files, name, other.model, day, project, warned)
        told = f"`{files.shown(name)}` raises it and is no earlier report: {reason}"
        not_earlier.update(dict.fromkeys((raised.id for raised in other.model.nonconformances), told))
        return
    own = _project_of(other.model, project, wanted, found)
    job = _joined(files, other, own, _Wanted(photos=False, earlier=False), found)
    if job.unfinished:  # nothing can rest on it
        raise InputError(job.unfilled)
    report, speaks = job.day.report, job.day.nonconformances or any(one.reinspects for one in job.day.surfaces)
    speaks = speaks or (report.revision > 0 and carries(other.data))  # it may take back what the one before it raised
    if speaks or report.number in {one.raised_in for one in day.model.nonconformances}:
        taken.bearing.append(job)
    elif later_revision(files, name, job.day) is None:
        inspector = project.model.people.get(day.model.report.inspector)
        conforms = wanted.conformed(job.day, other.data)
        bears = may_be_open(job, conforms=conforms) or (report.revision > 0 and not conforms)
        bears = bears or same_steel(job, day.model, _clock_of(project.model, day.model), inspector)
        (taken.bearing if bears else taken.unlike).append(job)


def _say_passed_over(
    files: JobFiles, name: str, other: Day, day: _Sheet[Day], project: _Sheet[Project], warned: Collected
) -> None:  # fmt: skip
    """Warn of an earlier day of the contract that names another project file: nothing it says of its steel is known."""
    if other.project == day.model.project or not is_earlier(other, day.model):
        return
    theirs = _sheet(files, str(other.project), Project, Span(files.shown(name), 1, 1), Collected())
    contracts = [plain_words(str(one.model.project.contract)) for one in (theirs, project) if one is not None]
    if contracts[0] == contracts[-1]:  # of one whose project file is not there nobody knows
        message = f"the earlier day `{name}` is passed over: it names `{other.project}`, and this day `{project.name}`"
        remedy = "name one project file in both: a contract has one"
        warned.at(Span(files.shown(name), 1, 1), "JOB257", message, remedy, "warning")


def _project_of(day: Day, project: _Sheet[Project], wanted: _Wanted, found: Collected) -> _Sheet[Project]:
    """Return the project file by which a day was issued, under a name of its own; that of now where it is no other."""
    data = wanted.issued(day, project.data)
    if data is None or data == project.data:
        return project
    name = _as_issued_name(day)
    own = _sheet(MemoryFiles({name: data}, PurePosixPath()), name, Project, Span(name, 1, 1), found)
    if own is None:
        raise InputError(found.in_order())
    return own


def _as_earlier(source: SourceFile) -> SourceFile:
    roles = {"day": "earlier", "project": "earlier project"}
    return SourceFile(source.name, roles.get(source.role, source.role), source.content)
