"""Two issued reports compared from the data inside them: what was required, what was entered, and what came of it.

Each difference of a requirement or an entry is tried by itself: taken back in the later report, and put alone into the
earlier one, each evaluated anew. What changes a verdict in either is told with the verdict.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from copy import deepcopy
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import chain
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any, Final

from reportgen.archival import read_attachments
from reportgen.compared.trees import TreeDifference, differences, leaves
from reportgen.errors import InputError, UsageError
from reportgen.formats import (
    EVALUATION_NAME,
    MANIFEST_NAME,
    by_path,
    canonical_json,
    counters,
    issue_moment,
    plain,
    read_manifest,
    required,
)
from reportgen.formats import differences as unlisted
from reportgen.issued import Recomputation, no_report, slips_among, with_slips
from reportgen.job.day import CsvReadings
from reportgen.loader import job_from_files
from reportgen.readings.rows import DEPTH
from reportgen.rules import Kept, evaluate
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from reportgen.job import Job, Reading
    from reportgen.job.day import ProfileRecord
    from reportgen.results import Evaluation
    from reportgen.rules.editions import Edition

MOST_TRIED: Final = 150
"""Differences of which each is tried by itself; where two files of one report have more, none is."""
_REQUIRED: Final = frozenset({"project", "inspection_body", "specification", "people", "structures"})
"""Parts of a project file that say what is required, of what and of whom; the others say by what it was measured."""
_ITS_OWN: Final = {("report", "revision"), ("report", "supersedes")}
"""What every revision says differently."""
_JUDGED: Final = frozenset({"verdict", "decision", "status"})


@dataclass(frozen=True, slots=True)
class ComparedSide:
    """One of the two reports: what it was issued upon, as maps, lists and text, and what came of it."""

    files: Mapping[str, bytes]
    day: str
    project: str
    slips: Mapping[str, bytes]
    job: Job
    evaluation: Evaluation
    at: dt.datetime | None
    edition: Edition
    inputs: Mapping[str, Any]
    """``requirements`` and ``entries``, as ``evaluated`` takes them."""
    kept: Kept = field(default_factory=Kept, compare=False, repr=False)
    """Its earlier days as they were evaluated: other input of the day itself does not change them."""

    @property
    def pool(self) -> dict[str, bytes]:
        """Its files by their SHA-256."""
        return {_print(data): data for data in self.files.values()}

    @property
    def sheets(self) -> set[tuple[str, tuple[object, ...]]]:
        """The readings of each surface that has any, with its area."""
        taken = zip(self.job.day.surfaces, self.job.readings, strict=True)
        sheets = ((str(one.area), tuple((each.location, each.spot, each.value, each.grade) for each in own))
                  for one, own in taken)  # fmt: skip
        return {(area, readings) for area, readings in sheets if readings}

    def moved_in(self, now: ComparedSide) -> tuple[Moved, ...]:
        """Return which readings stand under another area in a later report, and no longer under that which had them."""
        gone, come = self.sheets - now.sheets, now.sheets - self.sheets
        found = {(area, other) for area, readings in gone for other, same in come if readings == same}
        return tuple(Moved(*one) for one in sorted(found))

    def evaluated(self, inputs: Mapping[str, Any], pool: Mapping[str, bytes]) -> Evaluation:
        """Return what would have come of other input; ``InputError`` where that is none.

        ``pool`` holds files by their SHA-256, for those that the input names and this report does not hold.
        """
        others = {name: pool[told] for name, told in inputs["entries"]["files"].items()}
        own = {name: data for name, data in self.files.items() if name not in self.inputs["entries"]["files"]}
        project = {**inputs["requirements"], **inputs["entries"]["equipment"]}
        own |= {**others, self.project: _json(project), self.day: _json(_day_written(inputs["entries"]["day"]))}
        job = with_slips(job_from_files(own, self.day), self.slips, Recomputation)
        return evaluate(job, at=self.at, edition=self.edition, kept=self.kept)


@dataclass(frozen=True, slots=True)
class VerdictChange:
    """A verdict that one difference changes: in which report, what it is there, and what it would be."""

    place: tuple[str, ...]
    stands: str
    would_be: str


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """One place where two reports differ.

    ``taken_back`` are the verdicts that would be others in the later report if this alone were as before, ``alone``
    those that would be in the earlier one if this alone were as now; both None where that was not tried, or where this
    cannot stand by itself. ``judged`` says that this is a verdict itself; ``named`` is what of it the reason of the
    revision names, None where there is no reason.
    """

    place: tuple[str, ...]
    before: str | None
    now: str | None
    taken_back: tuple[VerdictChange, ...] | None = None
    alone: tuple[VerdictChange, ...] | None = None
    judged: bool = False
    named: tuple[str, ...] | None = None

    @property
    def changes_a_verdict(self) -> bool | None:
        """Whether this changes a verdict by itself; None where that is not known."""
        if self.judged:
            return True
        if self.taken_back is None and self.alone is None:
            return None
        return bool(self.taken_back or self.alone)


@dataclass(frozen=True, slots=True)
class NamedReport:
    """Which report a file is."""

    contract: str
    number: str
    revision: int
    date: str


@dataclass(frozen=True, slots=True)
class Moved:
    """All readings of one surface that the earlier report has under one area and the later one under another."""

    before: str
    now: str


@dataclass(frozen=True, slots=True)
class ReportsCompared:
    """In what two reports differ; ``reason`` is that of the revision, where the later is one of the earlier.

    ``tried`` says that each difference was tried by itself, which is done of two files of one report that differ in no
    more than ``MOST_TRIED`` places; ``together`` are then the verdicts that differ and that none changes by itself.
    """

    before: NamedReport
    now: NamedReport
    reason: str | None
    requirements: tuple[ComparedRow, ...]
    entries: tuple[ComparedRow, ...]
    results: tuple[ComparedRow, ...]
    tried: bool
    together: tuple[VerdictChange, ...] = ()
    moved: tuple[Moved, ...] = ()

    @property
    def different(self) -> bool:
        """Whether they differ in anything but being another revision."""
        return bool(self.requirements or self.entries or self.results)


def compared(before: bytes, now: bytes, names: tuple[str, str]) -> bytes:
    """Return as JSON how two reports differ; for a child process.

    Raises:
        UsageError: one of them is no report, or not as its list of files says.
    """
    return canonical_json(plain(compare(side_of(before, names[0]), side_of(now, names[1]))))


def compare(before: ComparedSide, now: ComparedSide) -> ReportsCompared:
    """Return in what two reports differ."""
    own, later = _identity(before), _identity(now)
    supersedes, same = now.job.day.report.supersedes, own.number == later.number
    reason = str(supersedes.reason) if supersedes is not None and same else None
    requirements = list(differences(before.inputs["requirements"], now.inputs["requirements"]))
    found = differences(before.inputs["entries"], now.inputs["entries"])
    entries = [one for one in found if one.place[1:] not in _ITS_OWN]
    tried = same and len(requirements) + len(entries) <= MOST_TRIED
    trial = _Trial(before, now) if tried else None
    rows = [
        tuple(_row(one, part, trial, reason) for one in found)
        for part, found in (("requirements", requirements), ("entries", entries))
    ]
    verdicts = _changed(*(dict(_verdicts(side.evaluation)) for side in (before, now)))
    alone = {one.place for row in chain(*rows) for one in (row.taken_back or ()) + (row.alone or ())}
    together = tuple(one for one in verdicts if tried and one.place not in alone)
    results, moved = tuple(_results(before, now)), before.moved_in(now)
    return ReportsCompared(own, later, reason, rows[0], rows[1], results, tried, together, moved)


def _identity(side: ComparedSide) -> NamedReport:
    report = side.job.day.report
    contract = str(side.job.project.project.contract)
    return NamedReport(contract, str(report.number), report.revision, report.date.isoformat())


def side_of(pdf: bytes, name: str) -> ComparedSide:
    """Return the report in a PDF, evaluated again from its embedded files."""
    attached = read_attachments(pdf)
    if MANIFEST_NAME not in attached:
        raise no_report(name, attached)
    try:
        manifest = read_manifest(attached[MANIFEST_NAME])
        manifest.require_known()
        edition = counters(required(attached, EVALUATION_NAME)).rules
    except ValueError as reason:
        raise UsageError(f"{name} cannot be compared: {reason}") from None
    wrong = unlisted(manifest, attached)
    if wrong:
        raise UsageError(f"{name} cannot be compared: {wrong[0]}", help_text="run `reportgen verify` on it")
    files = by_path(manifest, attached)
    return side_of_files(files, manifest.day, slips_among(manifest, files), issue_moment(files), edition)


def side_of_files(
    files: Mapping[str, bytes], day: str, slips: Mapping[str, bytes], at: dt.datetime | None, edition: Edition
) -> ComparedSide:
    """Return the report that was issued upon files by an edition of the rules."""
    job = with_slips(job_from_files(files, day), slips, Recomputation)
    written = parse_yaml(files[day], day).data
    project = _from(day, str(written["project"]))
    terms = parse_yaml(files[project], project).data
    tables = {_from(day, str(one.readings.csv)) for one in _profiles(job) if isinstance(one.readings, CsvReadings)}
    photos = {str(one.file) for surface in job.day.surfaces for one in surface.photos}
    held = {_from(day, name) for name in {one.name for one in job.files} | photos} - {day, project} - tables
    inputs = {
        "requirements": {name: one for name, one in terms.items() if name in _REQUIRED},
        "entries": {
            "day": _day_read(written, job),
            "equipment": {name: one for name, one in terms.items() if name not in _REQUIRED},
            "files": {name: _print(files[name]) for name in sorted(held) if name in files},
        },
    }
    return ComparedSide(files, day, project, slips, job, evaluate(job, at=at, edition=edition), at, edition, inputs)


def _profiles(job: Job) -> Iterator[ProfileRecord]:
    return (one.profile for one in job.day.surfaces if one.profile is not None)


def _from(day: str, named: str) -> str:
    """Return the name among all files of what a day file names from its own folder."""
    return str(PurePosixPath(os.path.normpath(PurePosixPath(day).parent / named)))


def _print(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _json(tree: Any) -> bytes:
    """Return a tree as JSON, which is YAML too."""
    return json.dumps(tree, ensure_ascii=False).encode()


def _day_read(written: dict[str, Any], job: Job) -> dict[str, Any]:
    """Return a day file with its readings one by one, whether they stand in it or in a table beside it."""
    day = deepcopy(written)
    for surface, taken in zip(day.get("surfaces", ()), job.readings, strict=True):
        if "profile" in surface:
            surface["profile"]["readings"] = [_reading(one) for one in taken]
    return day


def _reading(one: Reading) -> dict[str, str]:
    told = {
        "location": one.location,
        "spot": one.spot,
        "roll": one.roll,
        "reading": None if one.value is None else f"{one.value:f}",
        "grade": one.grade,
        "time": one.time,
        "confirmed": "yes" if one.confirmed else None,
    }
    return {name: value for name, value in told.items() if value is not None}


def _day_written(day: dict[str, Any]) -> dict[str, Any]:
    """Return a day file of ``_day_read`` as the loader takes it."""
    day = deepcopy(day)
    for surface in day.get("surfaces", ()):
        for row in surface.get("profile", {}).get("readings", ()):
            column = row.pop("roll", DEPTH)
            if "reading" in row:
                row[column] = row.pop("reading")
    return day


class _Trial:
    """Tries one difference by itself: taken back in the later report, and put alone into the earlier one."""

    def __init__(self, before: ComparedSide, now: ComparedSide) -> None:
        self._sides = (before, now)
        self._pool = {**before.pool, **now.pool}
        self._verdicts = tuple(dict(_verdicts(side.evaluation)) for side in self._sides)

    def changes(self, one: TreeDifference, part: str, into: int) -> tuple[VerdictChange, ...] | None:
        """Return the verdicts that change in one report where this place is as in the other; None where none can be."""
        side, trees = self._sides[into], (self._sides[0].inputs[part], self._sides[1].inputs[part])
        try:
            other = side.evaluated({**side.inputs, part: one.taken_over(trees, into)}, self._pool)
        except (InputError, LookupError, ValueError):
            return None
        return tuple(_changed(self._verdicts[into], dict(_verdicts(other))))


_Verdicts = dict[tuple[str, ...], str]


def _verdicts(evaluation: Evaluation) -> Iterator[tuple[tuple[str, ...], str]]:
    return ((place, text) for place, text in leaves(_results_of(evaluation)) if place[-1] in _JUDGED)


def _changed(one: _Verdicts, other: _Verdicts) -> Iterator[VerdictChange]:
    """Yield the verdicts that differ; of what only one has, those on areas and nonconformances."""
    for place in sorted(one.keys() | other.keys()):
        both = place in one and place in other
        if one.get(place) != other.get(place) and (both or place[0] == "nonconformances" or place[2:] == ("decision",)):
            yield VerdictChange(place, one.get(place, "none"), other.get(place, "none"))


def _row(one: TreeDifference, part: str, trial: _Trial | None, reason: str | None) -> ComparedRow:
    changes = (None, None) if trial is None else (trial.changes(one, part, 1), trial.changes(one, part, 0))
    return ComparedRow(one.place, one.before, one.now, *changes, named=None if reason is None else _named(one, reason))


def _named(one: TreeDifference, reason: str) -> tuple[str, ...]:
    """Return what a reason names of a difference: where it is, and what stood there before or stands there now."""
    words = [word for part in one.place for word in part.split(", ")] + [one.before or "", one.now or ""]
    telling = [word for word in words if word in (one.before, one.now) or any(sign.isdigit() for sign in word)]
    known = (word for word in dict.fromkeys(telling) if word)
    return tuple(word for word in known if re.search(rf"(?<![\w.-]){re.escape(word)}(?![\w-])", reason))


def _results(before: ComparedSide, now: ComparedSide) -> Iterator[ComparedRow]:
    """Yield where the results differ; what is judged in them changes a verdict by being another."""
    for one in differences(_results_of(before.evaluation), _results_of(now.evaluation)):
        if one.place != ("report", "revision"):
            yield ComparedRow(one.place, one.before, one.now, (), (), judged=one.place[-1] in _JUDGED)


def _results_of(evaluation: Evaluation) -> dict[str, Any]:
    """Return an evaluation as maps, lists and text, without the readings, which are entries."""
    tree = _as_text(plain(evaluation))
    for area in tree["areas"]:
        for location in area["locations"]:
            for spot in location["spots"]:
                spot.pop("readings", None)
    return dict(tree)


def _as_text(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _as_text(one) for name, one in value.items()}
    if isinstance(value, list):
        return [_as_text(one) for one in value]
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:f}" if isinstance(value, Decimal) else str(value)
