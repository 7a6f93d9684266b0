"""What the pages of a submittal print, as plain values: built by `submittal`, laid out here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from reportgen.diagnostics import Phrase
from reportgen.issued import Completeness
from reportgen.names import short_title
from reportgen.shifts import compared

if TYPE_CHECKING:
    import datetime as dt
    from decimal import Decimal

    from reportgen.issued import Numbers
    from reportgen.pdf.signing import SignerBlock
    from reportgen.shifts import GroupsCompared, Work
    from reportgen.words.catalogue import Words
    from reportgen.words.told import Told


@dataclass(frozen=True, slots=True)
class IndexRow:
    """One report in the index. ``areas`` are id, decision, and whether that is on a part alone.

    ``signature`` is the overall verdict on the file.

    ``copied_pages`` is the number of its pages when copies of them are appended, else 0. ``place`` is what becomes of
    it beside other files of its number: ``decides``, ``superseded`` or ``set aside`` by the revision ``beside``,
    ``disputed`` with it, ``not entitled`` to revise it, or one more ``copy`` of it.
    """

    file: str
    number: str
    revision: int
    date: str
    issued_at: str
    verdict: str
    areas: tuple[tuple[str, str, bool], ...]
    signer: str
    signature: str
    remarks: tuple[str, ...]
    """Names of reasons and notices."""
    sha256: str
    place: str = "decides"
    beside: int | None = None
    copied_pages: int = 0
    held: tuple[tuple[str, str], ...] = ()
    """Area and number of each open nonconformance that holds an area which this report releases."""
    photos: int = 0

    def signed(self, words: Words) -> str:
        """Who signed it, and names of what is in doubt, or to be known, in the words of a language."""
        remarks = ", ".join(words.named("remark", name) for name in self.remarks)
        return "; ".join(filter(None, (self.signer, remarks)))


@dataclass(frozen=True, slots=True)
class AreaEvent:
    """What one report said of an area; its ``decision`` is ``unseen`` where the report did not inspect it.

    ``part`` is how much of how much is released, where that is not the whole.
    """

    date: str
    number: str
    revision: int
    verdict: str
    decision: str
    coated: bool
    part: str = ""


@dataclass(frozen=True, slots=True)
class AreaHistory:
    """An area over time, oldest report first; only what counts.

    ``decision`` is how it stands now, ``disputed`` where reports that count contradict each other, ``unproven`` where
    nothing proves it and other reports of the contract are proven; ``by`` is the report that says so, ``contested``
    names later ones that say otherwise and are proven less, ``barred`` those that may not revise it; ``proven`` is
    whether every report that says so passed. A release is ``unproven`` too where it revises one that is not there
    (``lacks``), and ``disputed`` where it rests on the word of a successor (``succeeded``).
    """

    id: str
    name: str
    structure: str
    events: tuple[AreaEvent, ...]
    decision: str
    by: str
    contested: tuple[str, ...] = ()
    proven: bool = True
    barred: tuple[str, ...] = ()
    part: str = ""
    """How much of how much is released, where the area is and that is not the whole."""
    open: tuple[str, ...] = ()
    """Nonconformances that are open, on the area or on none in particular: no area is released while one is."""
    lacks: str = ""
    succeeded: bool = False
    uncovered: Told | None = None
    """Why the release does not cover what failed."""

    @property
    def coated(self) -> bool:
        """Whether it is coated by the report that says how it stands: what was blasted again since is bare."""
        return any(event.coated for event in self.events if short_title(event) == self.by)


@dataclass(frozen=True, slots=True)
class Gone:
    """An area that the revision ``by`` leaves out, and what the report replaced by it had decided."""

    area: str
    report: str
    decision: str
    by: str


@dataclass(frozen=True, slots=True)
class Point:
    """One location in the order of the reports: its profile, verdict, and the date of its report."""

    date: str
    value: Decimal
    verdict: str


@dataclass(frozen=True, slots=True)
class Group:
    """Locations of one structure prepared with one apparatus and abrasive, in the specification's unit.

    ``work`` is what its shifts show.
    """

    structure: str
    apparatus: str
    abrasive: str
    unit: str
    areas: tuple[str, ...]
    points: tuple[Point, ...]
    spots: tuple[Decimal, ...]
    work: Work
    mean: Decimal
    standard_deviation: Decimal | None
    least: Decimal
    greatest: Decimal
    minimum: Decimal | None
    maximum: Decimal | None


@dataclass(frozen=True, slots=True)
class LogRow:
    """A nonconformance as the last report that names it left it; ``proven`` is whether that report passed.

    It does not count where other reports of the contract are better proven than all that name it. ``silent`` is the
    revision that leaves it out although it was open, ``barred`` are those that say otherwise and may not. ``to_close``
    is the code of what closes an open one, ``undecided`` are the areas that it names.
    """

    id: str
    area: str
    description: str
    disposition: str
    decided_by: str
    raised_in: str
    status: Literal["open", "closed"]
    last_in: str
    action: str
    evidence: str
    proven: bool = True
    counts: bool = True
    silent: str = ""
    barred: tuple[str, ...] = ()
    to_close: str | None = None
    undecided: tuple[str, ...] = ()


NOTHING_LISTED: Final = Completeness(())
OpenKind = Literal[
    "nonconformance", "rework", "hold", "not inspected", "disputed", "unproven", "bare", "countersignature"
]


@dataclass(frozen=True, slots=True)
class OpenItem:
    """What is still to be settled: ``since`` is the date of the report ``by`` from which on it is, ``days`` its age.

    ``bare`` is an area released and said by no report to be primed, whose time to be is over; ``countersignature`` a
    report that somebody has still to sign, whose name is ``what``.
    """

    kind: OpenKind
    id: str
    area: str
    what: str
    since: str
    by: str
    days: int


@dataclass(frozen=True, slots=True)
class Submittal:
    """Everything a submittal prints. ``status`` is ``demonstration`` for an identity made on the spot."""

    reference: str
    at: dt.datetime
    status: Literal["issue", "demonstration"]
    contract: str
    project: str
    client: str
    contractor: str
    body: str
    recipient: str
    remarks: str
    signer: SignerBlock
    version: str
    list_name: str
    list_sha256: str
    reports: tuple[IndexRow, ...]
    areas: tuple[AreaHistory, ...]
    groups: tuple[Group, ...]
    nonconformances: tuple[LogRow, ...]
    gone: tuple[Gone, ...] = ()
    left_out: int = 0
    """Reports whose values are not in ``groups`` because they are not proven and others are."""
    differing: tuple[str, ...] = ()
    """A sentence for each change of what the reports were judged by, or of whose contract it is.

    Also for each further way in which its number is written, for what a revision finds better than the one before, and
    for a register that went on in two copies.
    """
    page: Literal["A4", "letter"] = "A4"
    language: str = "en"
    complete: Completeness = NOTHING_LISTED
    """Every area that the contract lists, by the project file of the report ``listed_by``; by none, those met here."""
    listed_by: str = ""
    numbers: Numbers | None = None
    partial: str | None = None
    """Why reports are left out, where the sender says so."""
    judged_under: tuple[tuple[str, int], ...] = ()
    """Limits of the profile by which areas were last judged, with how many, where these are not all the same."""
    open_items: tuple[OpenItem, ...] = ()
    """The oldest first."""

    @property
    def compared(self) -> tuple[GroupsCompared, ...]:
        """Kinds of work that differ in apparatus or abrasive alone, and how far they lie apart."""
        return tuple(compared([group.work for group in self.groups]))

    @property
    def selection(self) -> bool:
        """Whether it says of itself that it is no whole contract, or the numbers do."""
        return self.partial is not None or (self.numbers is not None and not self.numbers.whole)

    @property
    def open_nonconformances(self) -> int:
        """How many nonconformances that count are open."""
        return sum(row.status == "open" and row.counts for row in self.nonconformances)

    @property
    def awaited(self) -> tuple[str, ...]:
        """The reports that somebody has still to sign, by number and revision, each with who."""
        return tuple(f"{one.by} ({one.what})" for one in self.open_items if one.kind == "countersignature")

    @property
    def count(self) -> int:
        """How many reports are enclosed, whatever the copies of each."""
        return sum(row.place != "copy" for row in self.reports)

    @property
    def unproven(self) -> tuple[str, ...]:
        """The reports that did not pass, by number and revision."""
        return tuple(short_title(row) for row in self.reports if row.signature != "passed" and row.place != "copy")

    @property
    def with_photos(self) -> tuple[str, ...]:
        """The reports that show photos, whose originals none of them holds, by number and revision."""
        return tuple(short_title(row) for row in self.reports if row.photos and row.place != "copy")

    @property
    def photos_told(self) -> tuple[str, ...]:
        """What to tell the sender of the photos, where there are any."""
        said = "what the photos show was not compared, as no report holds their originals: {reports}"
        return (Phrase(said, reports=", ".join(self.with_photos)),) if self.with_photos else ()

    @property
    def not_entitled(self) -> tuple[str, ...]:
        """The revisions by somebody whom the report revised does not name, and who that is."""
        return tuple(f"{short_title(row)} ({row.signer})" for row in self.reports if row.place == "not entitled")
