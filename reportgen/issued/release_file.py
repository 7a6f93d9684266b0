"""What a release page holds as data: the area, what decides, and who signs. Written by `release`, read by anyone.

Such a page is no report and says nothing in an audit: it repeats what reports said when it was signed.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping  # noqa: TC003 - `value_from` asks for the types of fields
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Literal

from reportgen.formats import OtherReleaseError, canonical_json, is_later, require_whole_characters
from reportgen.formats.decoding import value_from
from reportgen.verification.embedded_files import attachments, embedded_files
from reportgen.verification.forbidden_content import open_strictly
from reportgen.verification.verdict import Reason, Step, step_of
from reportgen.words.told import told, words_of

if TYPE_CHECKING:
    import pikepdf

RELEASE_NAME = "release.json"
FORMAT = 1
OF_ITS_AREA = frozenset({
    "area-left-out", "area-replaced", "area-size-changed", "claim-less-proven", "closed-by-successor",
    "closing-not-entitled", "coated-while-not-released", "failure-not-undone", "instrument-past-calibration",
    "limits-loosened", "nonconformance-never-closed", "nonconformance-not-raised", "photo-outside-shift",
    "readings-before-blasting", "release-not-entitled", "released-under-other-limits",
    "released-under-varied-limits", "revision-in-favour", "rework-not-followed",
})  # fmt: skip
"""What an audit finds that speaks against the area it names alone: on a page about another area it is listed.

Of readings and photos that stand in two places one area alone is named: they are none of these.
"""
_MOST_NODES = 100
CLOCKS = dt.timedelta(minutes=5)
"""By how much two clocks may differ: as for times of signatures."""


@dataclass(frozen=True, slots=True)
class ReleasedLocation:
    """A location of a released area: its profile and the expanded uncertainty of that, as printed."""

    location: str
    profile: Decimal | None
    uncertainty: Decimal | None
    verdict: str


@dataclass(frozen=True, slots=True)
class ReleasedArea:
    """A released area, the report that decides, and the values; numbers as printed, empty what is not stated.

    ``sha256`` is of the file that lay there, ``covered`` of what its first signature covers: so of each copy of it.
    """

    contract: str
    project: str
    area: str
    name: str
    structure: str
    size: str
    number: str
    revision: int
    date: str
    inspector: str
    file: str
    sha256: str
    minimum: Decimal | None
    maximum: Decimal | None
    unit: str
    mean: Decimal | None
    lowest: Decimal | None
    highest: Decimal | None
    coated: str
    locations: tuple[ReleasedLocation, ...]
    covered: str | None = None


@dataclass(frozen=True, slots=True)
class ClosedItem:
    """A nonconformance of the area that was closed."""

    id: str
    raised_in: str
    closed_in: str
    what: str


@dataclass(frozen=True, slots=True)
class GaugeUsed:
    """What the area was measured with, and when its calibration was due."""

    serial: str
    certificate: str
    due: str


@dataclass(frozen=True, slots=True)
class NotedByAudit:
    """What the audit points at or notes in the contract: no fault and no doubt, but for what concerns other areas."""

    code: str
    sentence: str


@dataclass(frozen=True, slots=True)
class FurtherIssues:
    """How many issues the register can hold, by what the newest report of a sequence states, that are not there."""

    newest: str
    further: int


@dataclass(frozen=True, slots=True)
class ReleaseFile:
    """The data of a release page: written by which program, when (UTC), the area and what its release rests on.

    ``register`` is the last row of the register that the reports know, ``as_of`` when they were looked up; ``signer``,
    ``role`` and ``organisation`` are who signs, ``further`` what may decide otherwise and is not there. ``made_with``
    are the versions of the libraries that decide how pages come out.
    """

    generator: str
    issued_at: str
    as_of: str
    released: ReleasedArea
    closed: tuple[ClosedItem, ...]
    gauges: tuple[GaugeUsed, ...]
    register: str
    noted: tuple[NotedByAudit, ...]
    signer: str
    role: str
    organisation: str | None
    status: Literal["issue", "demonstration"]
    language: str
    made_with: Mapping[str, str]
    further: tuple[FurtherIssues, ...] | None = None
    format: int = FORMAT

    @property
    def moments(self) -> tuple[dt.datetime, dt.datetime] | None:
        """When the reports were looked up, and when it was signed; None where one is no moment."""
        try:
            looked_up = dt.datetime.fromisoformat(self.as_of.removesuffix(" UTC")).replace(tzinfo=dt.UTC)
            return looked_up, dt.datetime.fromisoformat(self.issued_at).astimezone(dt.UTC)
        except (TypeError, ValueError, OverflowError):
            return None

    @property
    def own_faults(self) -> list[Reason]:
        """What is wrong with its times and status, whatever the reports say: it is no better known than it is old."""
        found = []
        if self.moments is None or self.moments[0] - self.moments[1] > CLOCKS:
            told_of = told("release-ahead", at=self.issued_at, as_of=self.as_of)
            found.append(Reason("TIMES_DISAGREE", told_of))
        if self.status == "demonstration":
            found.append(Reason("DEMONSTRATION", told("release-a-demonstration")))
        return found

    @property
    def of_other_areas(self) -> int:
        """How many faults or doubts the audit finds that concern other areas alone."""
        return sum(one.code in OF_ITS_AREA for one in self.noted)


def render_release_file(content: ReleaseFile) -> bytes:
    """Return the data as canonical JSON."""
    return canonical_json(content)


def read_release_file(data: bytes) -> ReleaseFile:
    """Return the data of a release page; ``ValueError`` with one sentence for anything that is none.

    ``OtherReleaseError`` for that of a later format.
    """
    plain: Any = None
    require_whole_characters(RELEASE_NAME, data)
    try:
        plain = json.loads(data, parse_float=Decimal)
        found = value_from(ReleaseFile, plain)
        sound = found.format > FORMAT or canonical_json(found) == data
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError):
        sound = False
    if isinstance(plain, dict) and is_later(plain.get("format"), FORMAT):
        later = told("format-of", number=plain["format"], file=RELEASE_NAME)
        raise OtherReleaseError(later, str(plain.get("generator", "")))
    if not sound:
        raise ValueError(told("release-is-none", file=RELEASE_NAME))
    return found


def looks_like_release_page(pdf: bytes) -> bool:
    """Say whether a file holds the data of a release page, and nothing that a report or submittal holds."""
    if b"(" + RELEASE_NAME.encode() + b")" not in pdf:
        return False
    opened, _ = open_strictly(pdf)
    try:
        return opened is not None and attachments(opened.pdf, most_nodes=_MOST_NODES).keys() == {RELEASE_NAME}
    except Exception:  # noqa: BLE001 - a stranger's file, in a child: whatever is wrong with it, it is none
        return False


def read_release_of(pdf: bytes) -> tuple[Step, ReleaseFile | None]:
    """Return step 7 for a release page, whether its data are there and can be read, and these."""
    opened, faults = open_strictly(pdf)
    if opened is None:
        return step_of(7, faults), None
    try:
        found = release_file_of(opened.pdf)
    except OtherReleaseError as later:
        return step_of(7, [Reason("OTHER_RELEASE", words_of(later))]), None
    except ValueError as reason:
        return step_of(7, [Reason("EMBEDDED_FILES", words_of(reason))]), None
    return step_of(7, [], [told("release-data-read", file=RELEASE_NAME, area=found.released.area)]), found


def release_file_of(opened: pikepdf.Pdf) -> ReleaseFile:
    """Return the data inside a release page; ``ValueError`` with one sentence where there are none."""
    return read_release_file(embedded_files(opened)[RELEASE_NAME])
