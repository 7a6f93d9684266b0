"""The job: project file and day file, joined and validated. Nothing here opens a file."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from reportgen.errors import RangeError
from reportgen.fields import PLACEHOLDER, Clock, Model, is_placeholder, parse_clock
from reportgen.job.day import (
    READING_FIELDS,
    CsvReadings,
    Day,
    GaugeCheck,
    Nonconformance,
    Photo,
    ProfileRecord,
    Surface,
    TapeCheck,
    WalkOut,
)
from reportgen.job.instruments import Instrument
from reportgen.job.places import Places
from reportgen.job.project import (
    GAUGE_OF,
    AreaPlan,
    Person,
    ProfileRequirement,
    Project,
    Sampling,
    Specification,
    Structure,
)
from reportgen.job.recorded import FunctionCheck, HoldPoint, HoldStep, Replica
from reportgen.job.validation import ShapeProblem, holds_blocks, place_name, salvaged, validated
from reportgen.measurements.conditions import Condition
from reportgen.names import perhaps_one, spelt_alike

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from decimal import Decimal
    from typing import Any

    from reportgen.diagnostics import Diagnostic
    from reportgen.results import Evaluation

__all__ = [
    "GAUGE_OF",
    "PLACEHOLDER",
    "READING_FIELDS",
    "AreaPlan",
    "Clock",
    "Condition",
    "CsvReadings",
    "Day",
    "FunctionCheck",
    "GaugeCheck",
    "HoldPoint",
    "HoldStep",
    "Instrument",
    "Job",
    "Model",
    "Nonconformance",
    "Original",
    "Person",
    "Photo",
    "Places",
    "ProfileRecord",
    "ProfileRequirement",
    "Project",
    "Reading",
    "Replica",
    "Sampling",
    "ShapeProblem",
    "SiteClock",
    "Slip",
    "SourceFile",
    "Specification",
    "Structure",
    "Surface",
    "TapeCheck",
    "UnfinishedEntry",
    "WalkOut",
    "holds_blocks",
    "is_placeholder",
    "parse_clock",
    "place_name",
    "salvaged",
    "validated",
]


@dataclass(frozen=True, slots=True)
class Reading:
    """One number off a gauge, with the roll it was taken on (None for a depth micrometer), in the gauge's unit.

    A comparison with a reference comparator has a ``grade`` and no ``value``.
    """

    location: str
    spot: str
    roll: str | None
    value: Decimal | None
    time: str | None = None
    line: int = 0
    confirmed: bool = False
    grade: str | None = None


@dataclass(frozen=True, slots=True)
class SiteClock:
    """Turns clock times of one report into instants.

    ``start`` and ``end`` are the shift's; when the end is not after the start the shift runs past midnight, and a
    clock time belongs to the next day when it is nearer to the shift that way (the border is half-way through the
    time off).
    """

    date: dt.date
    start: dt.time
    end: dt.time
    zone: str

    def instant(self, clock: dt.time | dt.datetime) -> dt.datetime:
        """Return the aware instant of a clock time, in the site's zone.

        Raises:
            RangeError: when the local time does not exist or occurs twice on that day (change of daylight-saving
                time): the entry must then be written with its date and offset.
        """
        zone = ZoneInfo(self.zone)
        if isinstance(clock, dt.datetime):
            return clock.astimezone(zone)
        start, end, at = (time.hour * 60 + time.minute for time in (self.start, self.end, clock))
        past_midnight = start >= end and at < (start + end) / 2
        day = self.date + dt.timedelta(days=1) if past_midnight else self.date
        local = dt.datetime.combine(day, clock, zone)
        if local.utcoffset() != local.replace(fold=1).utcoffset():
            what = "occurs twice" if local.astimezone(dt.UTC).astimezone(zone).time() == clock else "does not exist"
            raise RangeError(
                f"{clock:%H:%M} {what} on {day} in {self.zone} (change of daylight-saving time)",
                help_text=f"write it with date and offset, such as `{local.isoformat(timespec='minutes')}`",
            )
        return local

    def shift(self) -> tuple[dt.datetime, dt.datetime]:
        """Return start and end of the shift as instants."""
        return self.instant(self.start), self.instant(self.end)


@dataclass(frozen=True, slots=True)
class Original:
    """A photo or logo as it was when the job was loaded, by its hash; its bytes are read where they are needed.

    They are not kept: there may be hundreds. ``read`` returns those of the hash, or raises ``ChangedFileError``.
    """

    name: str
    sha256: str
    read: Callable[[], bytes] = field(compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class SourceFile:
    """One input file, byte for byte: ``name`` relative to the job folder, the folder of the day file, with ``/``.

    ``role`` is project, day, csv, photo, logo, or earlier: the day file of an earlier day, whose CSVs have role csv; or
    earlier project: the project file by which an earlier day was issued, where it is another by now; earlier basis:
    what the report of an earlier day was issued upon, where that was revised since.
    """

    name: str
    role: str  # project | day | csv | photo | logo | earlier | earlier project | earlier basis | slip
    content: bytes | Original

    @property
    def data(self) -> bytes:
        """Its bytes; those of a photo or logo are read."""
        return self.content if isinstance(self.content, bytes) else self.content.read()

    @property
    def sha256(self) -> str:
        """The SHA-256 of its bytes, which is known of a photo or logo."""
        content = self.content
        return hashlib.sha256(content).hexdigest() if isinstance(content, bytes) else content.sha256


class SuccessorNamed(NamedTuple):
    """Who answers since for what a former inspector reported, named by whom, and by which evidence."""

    name: str
    former: str
    named_by: str
    evidence: str


@dataclass(frozen=True, slots=True)
class UnfinishedEntry:
    """An entry of the day file that was begun and lacks something: not in the ``Day``, and named.

    It stands at ``place`` of the day file, in its list ``block``; ``file`` and ``line`` say where the first of what
    it ``lacks`` is missing. ``absent`` is what it speaks of and nothing else enters, ``texts`` what stands meanwhile
    in fields that it lacks, ``written`` the entry of the list as written. What stands in the fields ``unread`` cannot
    be taken as it is. ``first`` is the line of an entry that says the same.
    """

    block: str
    place: tuple[int | str, ...]
    file: str
    line: int
    lacks: tuple[str, ...]
    absent: tuple[str, ...]
    texts: tuple[str, ...]
    written: Mapping[str, Any]
    unread: tuple[str, ...] = ()
    first: int | None = None

    @property
    def is_copy(self) -> bool:
        """Whether nothing is the matter with it but that it says what another does, which counts."""
        return self.first is not None and not (self.lacks or self.absent or self.unread)

    def names(self, name: str) -> tuple[str, ...]:
        """Return what the entry says in a field that names something, as far as it does."""
        value = self.written.get(name)
        values = value if isinstance(value, list) else [value]
        return tuple(text for text in values if isinstance(text, str) and text.strip() and not is_placeholder(text))


@dataclass(frozen=True, slots=True)
class Slip:
    """A release slip of the report, signed during its shift: for which area, when (aware), and what it rested on.

    ``job`` and ``evaluation`` are those of its own data; ``file`` is its path in the job folder.
    """

    file: str
    area: str
    at: dt.datetime
    job: Job
    evaluation: Evaluation


@dataclass(frozen=True, slots=True)
class Job:
    """Project file and day file, joined and validated, with the readings of every surface and the raw input.

    ``readings[i]`` belongs to ``day.surfaces[i]``: in the order in which they were taken, empty when the surface has
    no ``profile``. ``earlier`` holds the earlier days of the folder, oldest first, from which nonconformances are
    carried forward. ``warnings`` do not stand in the way of a report, but must be shown. ``unfilled`` is what the two
    files have still to be filled in: a draft may show it, nobody may sign it; ``unfinished`` are the entries that it
    keeps out of the day, and ``unread`` what is wrong in those while it is being typed.
    ``not_as_issued`` are the files of earlier days, or of the contract, on which the day rests and that are not what
    was issued. ``slips`` were issued for areas of the day before its report. ``as_issued`` is an earlier day with what
    its report was issued upon, where that was revised since and the report left open what it would not leave open now.
    ``replaced`` are the reports of its number that a revision replaces and leaves out of what failed, oldest first.
    """

    project: Project
    day: Day
    readings: tuple[tuple[Reading, ...], ...]
    files: tuple[SourceFile, ...]
    clock: SiteClock
    earlier: tuple[Job, ...] = ()
    photos: Mapping[str, Original] = field(default_factory=dict)
    warnings: tuple[Diagnostic, ...] = ()
    unfilled: tuple[Diagnostic, ...] = ()
    unfinished: tuple[UnfinishedEntry, ...] = ()
    unread: tuple[Diagnostic, ...] = ()
    not_as_issued: tuple[str, ...] = ()
    slips: tuple[Slip, ...] = ()
    as_issued: Job | None = None
    replaced: tuple[Job, ...] = ()

    @property
    def inspector(self) -> Person:
        """The inspector of the report; one who is nobody, while none is named."""
        named = self.project.people.get(self.day.report.inspector)
        return named or Person(name="<inspector>", role="<inspector>")

    @property
    def head_unfinished(self) -> bool:
        """Whether something of the head is still to be filled in, so that what stands there may stand in for it."""
        return any(one.block == "report" for one in self.unfinished)

    def as_told(self, project: Project | None = None) -> Project:
        """Return the project of this report, or of another, with whom the days at hand call the contractor's."""
        return (project or self.project).as_told([job.day for job in (*self.earlier, self)])

    @property
    def _begun(self) -> tuple[UnfinishedEntry, ...]:
        return tuple(one for one in self.unfinished if one.block == "surfaces" and not one.is_copy)

    @property
    def begun(self) -> tuple[str, ...]:
        """Ids of the areas of which an entry was begun and is unfinished."""
        known = {plan.id for structure in self.project.structures for plan in structure.areas}
        areas = (area for one in self._begun for area in one.names("area"))
        return tuple(dict.fromkeys(area for area in areas if area in known))

    def taken_over_by(self, later: Job) -> SuccessorNamed | None:
        """Return how the inspector of a later report answers for this one since; None where nothing says so.

        Whose place that is, and who named the successor, both stand in the project file of this report: the one as who
        may close what it raised, the other as one who names successors. Nobody names himself. Where this report states
        a role of the client's side and no organisation, the person is of its client if the later one says so: else a
        contract that stated none would be stuck. Otherwise the person is of one organisation in both: who is called the
        successor's own colleague later is not the one whom this report names.
        """
        successor, people = later.inspector, later.project.people
        taken = successor.takes_over
        namer = None if taken is None else people.get(taken.named_by)
        if taken is None or namer is None or perhaps_one(namer.name, successor.name):
            return None
        former = people[taken.inspector].name if taken.inspector in people else taken.inspector
        if not any(one.is_signer(namer) for one in self._naming_successors(namer)) or not self._who_may_undo(former):
            return None
        return SuccessorNamed(str(successor.name), str(former), str(namer.name), str(taken.evidence))

    def may_be_undone_in(self, later: Job) -> bool:
        """Say whether what this report says is another's to close or undo: of its number, or by an inspector who may.

        Or by one whom somebody named his successor.
        """
        same = later.day.report.number == self.day.report.number
        return same or self.may_be_undone_by(later.inspector) or self.taken_over_by(later) is not None

    def may_be_undone_by(self, inspector: Person) -> bool:
        """Say whether what this report says is an inspector's to close or undo, by the people that it names itself.

        It names him in the role or the organisation of its own inspector, so that he may revise it, or as one of the
        inspection body, which stands above: every report is one of it, whoever inspects for it. Whom it pins is one
        of that name with the same pin alone.
        """
        return any(one.is_signer(inspector) for one in self._who_may_undo(inspector.name))

    def pinned_otherwise(self, later: Job) -> Person | None:
        """Return whom this report names for what a later one does, and pins, where that one has another pin or none.

        It is the inspector, or else who named the inspector successor.
        """
        inspector = later.inspector
        named = [(one, inspector) for one in self._who_may_undo(inspector.name)]
        namer = later.project.people.get(inspector.takes_over.named_by) if inspector.takes_over else None
        naming = [] if namer is None else [(one, namer) for one in self._naming_successors(namer)]
        return next((one for one, then in (*naming, *named) if not one.is_pinned_as(then)), None)

    def names_of_another_house(self, inspector: Person) -> bool:
        """Say whether this report names one of that name as who may undo it, and an organisation that he states not."""
        return bool(self._who_may_undo(inspector.name)) and not self.may_be_undone_by(inspector)

    def _naming_successors(self, namer: Person) -> list[Person]:
        """Return whom this report lets name a successor, of the name and the organisation of ``namer``."""
        house, client = namer.organisation or "", self.project.project.client
        of_client = spelt_alike(house, client)
        own = [
            one.model_copy(update={"organisation": client}) if of_client and one.perhaps_of_client else one
            for one in self.project.people.values()
            if spelt_alike(one.name, namer.name)
        ]
        told = self.as_told()
        return [one for one in own if spelt_alike(one.organisation or "", house) and told.may_name_successor(one)]

    def _who_may_undo(self, name: str) -> list[Person]:
        body = self.project.inspection_body.name
        return [
            one
            for one in self.project.people.values()
            if spelt_alike(one.name, name)
            and (one.answers_for(self.inspector) or spelt_alike(self.project.organisation_of(one) or "", body))
        ]
