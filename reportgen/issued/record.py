"""The record of one report: what a submittal prints of it and an audit compares, small enough for thousands at once."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal  # noqa: TC003 - the hints are read while it runs
from typing import TYPE_CHECKING, Any, Literal, Self

from reportgen.formats.decoding import value_from
from reportgen.names import Pin, full_title
from reportgen.results import Amount, Decision, Verdict
from reportgen.rules.extent import Reach, bounded_size
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping


@dataclass(frozen=True, slots=True)
class LocationRecord:
    """One location: profile and spots in the area's unit; by which apparatus and abrasive, where that is known.

    ``place`` is the steel of its surface with its own name there; None where that is not known. ``compared`` is what
    was held against the limits, ``uncertainty`` the expanded one, ``walk_out`` for which failing location it was.
    """

    id: str
    profile: Decimal | None
    verdict: Verdict
    spots: tuple[Decimal, ...]
    apparatus: str | None = None
    abrasive: str | None = None
    place: str | None = None
    compared: Decimal | None = None
    uncertainty: Decimal | None = None
    walk_out: str | None = None


@dataclass(frozen=True, slots=True)
class SurfaceRecord:
    """One surface of the day: how it was prepared, when coated, and its readings as entered, in order.

    ``steel`` is one for all entries of one blasting: the same apparatus, as names are compared, and the same times.
    ``locations`` are those of the readings, each as its surface names it; ``cleaned`` is how much was, where stated.
    ``began`` and ``ended`` are when it was blasted, ``prime_by`` until when bare steel is to be primed, all in UTC;
    ``digit`` is the step of the readings, and ``spots``, ``rolls`` and ``times`` (UTC) are those of each, empty where
    not stated.
    """

    area: str
    apparatus: str
    abrasive: str
    coated: str | None
    gauge: str | None
    gauge_unit: str | None
    readings: tuple[Decimal, ...] = ()
    steel: str = ""
    locations: tuple[str, ...] = ()
    cleaned: str = ""
    photos: int = 0
    began: str = ""
    ended: str = ""
    prime_by: str = ""
    inspector: str = ""
    digit: str = ""
    spots: tuple[str, ...] = ()
    rolls: tuple[str, ...] = ()
    times: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ScatterRecord:
    """How far the spots of a location scatter.

    ``variance`` is exact, as a fraction in text [gauge's unit, squared]; ``step`` is that of the readings. ``place`` is
    area, steel and location: one for what a later report states again.
    """

    gauge: str
    unit: str
    dof: int
    variance: str
    step: Decimal
    place: str = ""


@dataclass(frozen=True, slots=True)
class BoundedRecord:
    """How much steel the walk-outs from a failing location bound, at most: a quantity as printed."""

    failing: str
    size: str

    @classmethod
    def each_of(cls, area: Mapping[str, Any]) -> Iterator[Self]:
        """Yield one for each complete walk-out that an evaluation states of an area."""
        for row in area.get("bounded_area", ()):
            reaches = [Reach(value_from(Amount, one["reach"]), "end" in one) for one in row["extents"]]
            size = bounded_size([reaches])
            if size is not None:
                yield cls(value_from(str, row["failing"]), str(size))


@dataclass(frozen=True, slots=True)
class PartRecord:
    """How much of an area was cleaned by now, and its size, which is more: quantities as printed."""

    cleaned: str
    size: str

    @classmethod
    def released(cls, area: Mapping[str, Any]) -> Self | None:
        """Return what an evaluation releases of an area; None where that is the whole, or nothing."""
        cleaned = area.get("cleaned", {})
        if area["decision"] != "release" or "size" not in cleaned:
            return None
        by_now, size = (value_from(Amount, cleaned[name]) for name in ("by_now", "size"))
        told = (str(Quantity(one.value, one.unit)) for one in (by_now, size))
        return cls(*told) if by_now.value < size.value else None

    @property
    def told(self) -> str:
        """How much of how much, as ``2.0 m² of 12 m²``."""
        return f"{self.cleaned} of {self.size}"


@dataclass(frozen=True, slots=True)
class AreaRecord:
    """One area: verdict, decision with its reasons, and the statistics the report prints.

    ``part`` is what is released where that is not the whole; ``bounded`` what complete walk-outs bound.
    """

    id: str
    structure: str
    structure_name: str
    name: str
    verdict: Verdict
    decision: Decision
    unit: str
    n_locations: int
    mean: Decimal | None
    standard_deviation: Decimal | None
    expanded_uncertainty: Decimal | None
    locations: tuple[LocationRecord, ...]
    bare: bool = False
    part: PartRecord | None = None
    bounded: tuple[BoundedRecord, ...] = ()
    required_locations: int | None = None
    minimum: Decimal | None = None
    maximum: Decimal | None = None

    @property
    def part_told(self) -> str:
        """How much of how much is released, where that is not the whole; empty else."""
        return "" if self.part is None else self.part.told

    @property
    def speaks(self) -> bool:
        """Whether the report says how the area is: it inspected it, or says that it stands bare past its time."""
        return self.inspected or self.bare

    @property
    def inspected(self) -> bool:
        """Whether the report inspected the area, and does not only say why not."""
        return self.verdict != "not evaluated" or self.n_locations > 0

    @property
    def told(self) -> Decision | Literal["unseen"]:
        """What the report says of the area: its decision, or that it was not inspected."""
        return self.decision if self.inspected else "unseen"


@dataclass(frozen=True, slots=True)
class NonconformanceRecord:
    """A nonconformance as it stood after the report.

    ``to_close`` is the code of what closes an open one, ``undecided`` are the areas that it names.
    """

    id: str
    area: str | None
    findings: tuple[str, ...]
    description: str
    disposition: str
    decided_by: str
    status: Literal["open", "closed"]
    raised_in: str
    corrective_action: str | None = None
    evidence: str | None = None
    to_close: str | None = None
    undecided: tuple[str, ...] = ()
    due: str | None = None
    responsible: str | None = None


@dataclass(frozen=True, slots=True)
class FindingRecord:
    """A finding of the report; ``observed`` is what was found, as ``told_json`` writes it, where that is known."""

    code: str
    severity: str
    observed: str = ""
    area: str | None = None
    clause: str | None = None


@dataclass(frozen=True, slots=True)
class PersonRecord:
    """Someone whom a job names; ``organisation`` where it states one, ``pin`` where it says with what they sign."""

    name: str
    organisation: str | None = None
    pin: Pin | None = None


@dataclass(frozen=True, slots=True)
class SuccessionRecord:
    """Whose reports the inspector of a report answers for since, who decided that, and by which evidence.

    ``still`` says that the former inspector was ``present`` nevertheless, or is ``named`` in the project file.
    """

    former: str
    named_by: str
    evidence: str
    still: str = ""


@dataclass(frozen=True, slots=True)
class RequirementRecord:
    """One member of a part of the project file, with its value as text."""

    part: str
    member: str
    value: str


@dataclass(frozen=True, slots=True)
class PlannedAreaRecord:
    """An area as the project file lists it: what of a contract is to be inspected. ``size`` is a number in ``unit``."""

    area: str
    name: str
    structure: str
    structure_name: str
    size: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class InstrumentRecord:
    """An instrument with what the project file states of it; empty what it does not."""

    id: str
    serial: str
    kind: str
    unit: str = ""
    resolution: str = ""
    accuracy: str = ""
    certificate: str = ""
    calibrated: str = ""
    due: str = ""


@dataclass(frozen=True, slots=True)
class UseRecord:
    """A use of an instrument on an area: ``readings`` of the profile, ``checks`` of the gauge, or ``other``.

    ``first`` and ``last`` are moments in UTC, or a date where nothing else is known; without an area it is of all.
    """

    instrument: str
    area: str
    purpose: Literal["readings", "checks", "other"]
    first: str
    last: str
    count: int


@dataclass(frozen=True, slots=True)
class ConditionRecord:
    """A row of the conditions: where, for which areas, when (UTC), and what was read, by which instruments."""

    place: str
    areas: tuple[str, ...]
    at: str
    air: str
    humidity: str
    wet_bulb: str
    steel: str
    instruments: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PhotoRecord:
    """A photo as entered: ``original`` is the SHA-256 of its file, ``look`` what is alike where pictures look alike.

    ``at`` is the moment that is stated, ``taken`` the one that its camera noted by the clock of the site, both in UTC.
    """

    area: str
    file: str
    caption: str
    at: str
    location: str
    original: str
    taken: str = ""
    look: str = ""


@dataclass(frozen=True, slots=True)
class ReportRecord:
    """One report. ``supersedes`` is revision, SHA-256 (where recorded) and reason; limits in the area's unit.

    ``may_revise`` is whom its job names as inspectors of its own or of the inspector's organisation, ``may_close`` also
    those of the inspection body, which stands above; ``may_name_successor`` may name who answers for these since, as
    ``succession`` says of its own inspector; ``signs_with`` is the certificate that the job says that one has.
    ``day_sha256`` is the hash of its day file, ``earlier`` those of the earlier day files it builds upon. ``shift`` is
    the clock time at which its shift began, where that is known; ``began`` and ``ended`` are the moments of it in UTC.
    """

    contract: str
    contract_name: str
    client: str
    contractor: str
    body: str
    number_pattern: str | None
    number: str
    revision: int
    date: str
    issued_at: str
    status: str
    generator: str
    inspector: str
    verdict: Verdict
    supersedes_revision: int | None
    supersedes_sha256: str | None
    supersedes_reason: str | None
    day_sha256: str
    earlier: tuple[str, ...]
    minimum: Decimal | None
    maximum: Decimal | None
    unit: str | None
    areas: tuple[AreaRecord, ...] = ()
    surfaces: tuple[SurfaceRecord, ...] = ()
    nonconformances: tuple[NonconformanceRecord, ...] = ()
    findings: tuple[FindingRecord, ...] = ()
    may_revise: tuple[PersonRecord, ...] = ()
    may_close: tuple[PersonRecord, ...] = ()
    may_name_successor: tuple[PersonRecord, ...] = ()
    succession: SuccessionRecord | None = None
    signs_with: Pin | None = None
    requirements: tuple[RequirementRecord, ...] = ()
    scatter: tuple[ScatterRecord, ...] = ()
    shift: str = ""
    site: str = ""
    project_sha256: str = ""
    began: str = ""
    ended: str = ""
    planned: tuple[PlannedAreaRecord, ...] = ()
    instruments: tuple[InstrumentRecord, ...] = ()
    uses: tuple[UseRecord, ...] = ()
    conditions: tuple[ConditionRecord, ...] = ()
    photos: tuple[PhotoRecord, ...] = ()

    @property
    def order(self) -> str:
        """By which reports of a contract follow each other: date, beginning of the shift, number as numbers count."""
        number = re.sub(r"[0-9]+", lambda digits: digits[0].zfill(12), self.number)
        return f"{self.date} {self.shift} {number}"

    @property
    def title(self) -> str:
        """Number and revision, as ``AB-12-001 revision 0``."""
        return full_title(self)
