"""Revisions: started with their reason, and compared entry by entry and result by result."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import UsageError
from reportgen.formats import EVALUATION_NAME, encode
from reportgen.intake.changes import Address, Change, address_of, named_alike
from reportgen.pipeline.as_issued import Folder
from reportgen.pipeline.checking import evaluated
from reportgen.pipeline.writing import Wrote, change_whole, replace_whole
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from reportgen.intake.changes import Content
    from reportgen.pipeline.as_issued import IssuedFiles
    from reportgen.register import Report
    from reportgen.yamlsource import Loc

_RESULTS: Final = ("verdict", "decision", "n_locations", "mean", "minimum", "maximum", "expanded_uncertainty")
_OF_LOCATION: Final = ("profile", "verdict", "expanded_uncertainty")


@dataclass(frozen=True, slots=True)
class EntryDiffers:
    """An entry that is otherwise: where, what it said before, what it says after; None is nothing."""

    at: Address
    before: Content | None
    after: Content | None


@dataclass(frozen=True, slots=True)
class ResultDiffers:
    """A result that is otherwise: ``member`` of an area's result or of a location's, before and after as printed.

    Without an area it is the verdict of the report.
    """

    area: str | None
    location: str | None
    member: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class Compared:
    """Two revisions of a report: entries and terms (of the project file) and results that differ, and the reason.

    ``second`` is None for the day file as it is now.
    """

    number: str
    first: int
    second: int | None
    reason: str | None
    entries: tuple[EntryDiffers, ...]
    terms: tuple[EntryDiffers, ...]
    results: tuple[ResultDiffers, ...]


def start_revision(day: Path, reason: str, *, at: dt.datetime | None = None) -> Wrote:
    """Make a day file that was issued that of the next revision, which names what it replaces and why.

    What was changed in it since it was issued is part of the revision.

    Raises:
        UsageError: it was not issued, the revision is begun already, or there is no reason. As ``write_entry``.
    """
    if not reason.strip():
        raise UsageError("a revision states its reason", help_text="say what was wrong, and how it was noticed")
    data = _plain(day.read_bytes(), day.name)
    number, revision = _stated(data)
    latest = Folder(day.parent).latest.get(number)
    if latest is None:
        raise UsageError(f"{number} was not issued: the day file can simply be changed")
    if revision != latest.revision:
        raise UsageError(
            f"`{day.name}` states revision {revision} of {number}, and revision {latest.revision} was issued last",
            help_text="go on with the day file of the latest revision",
        )
    report = Address(("report",))
    present = data["report"].get("supersedes")
    replaces = {"revision": str(revision), "reason": " ".join(reason.split())}
    changes = [
        Change(report / "revision", data["report"]["revision"], str(revision + 1)),
        Change(report / "supersedes", present, replaces),
    ]
    return change_whole(day, changes, at=at)


def put_back(day: Path, *, at: dt.datetime | None = None) -> Wrote:
    """Put a day file back as it was issued, from its report; what stands there can be had back by undoing.

    Raises:
        UsageError: it was not issued, or its report is not at hand. MachineError: the disk failed.
    """
    number, _ = _stated(_plain(day.read_bytes(), day.name))
    folder = Folder(day.parent)
    latest = folder.latest.get(number)
    if latest is None:
        raise UsageError(f"{number} was not issued")
    document = _document(folder, latest)
    return replace_whole(day, document.files[document.day], at=at)


def as_issued(folder: Folder, report: Report, data: Mapping[str, Any]) -> tuple[EntryDiffers, ...]:
    """Return what a day file as plain data says otherwise than a report as issued; nothing without that report."""
    document = folder.document(report)
    if document is None:
        return ()
    return tuple(differences(_plain(document.files[document.day], document.day), data))


def compare(folder: Path, number: str, first: int, second: int | None = None) -> Compared:
    """Return what differs between two revisions of a report as issued; None is the day file as it is now.

    Raises:
        UsageError: a revision was not issued, or its report is not at hand. InputError: the day file cannot be used.
    """
    known = Folder(folder)
    before = _revision(known, number, first)
    day, project = before.files[before.day], _project(before)
    if second is not None:
        after = _revision(known, number, second)
        other, terms, results = after.files[after.day], _project(after), after.files[EVALUATION_NAME]
    else:
        name = next(iter(known.stating.get(number, {}).values()), None)
        if name is None:
            raise UsageError(f"no day file in `{folder}` is of {number}")
        checked = evaluated(folder / name, at=None)
        by_role = {file.role: file.data for file in checked.job.files if file.role in ("day", "project")}
        other, terms, results = by_role["day"], by_role["project"], encode(checked.evaluation)
    said = _plain(other, before.day)
    supersedes = said["report"].get("supersedes")
    return Compared(
        number, first, second, supersedes.get("reason") if isinstance(supersedes, dict) else None,
        tuple(differences(_plain(day, before.day), said)),
        tuple(differences(_plain(project, "project"), _plain(terms, "project"))),
        tuple(_results(*(json.loads(one, parse_float=str) for one in (before.files[EVALUATION_NAME], results)))),
    )  # fmt: skip


def _revision(folder: Folder, number: str, revision: int) -> IssuedFiles:
    report = folder.issued.get((number, revision))
    if report is None:
        raise UsageError(f"{number} revision {revision} was not issued here")
    return _document(folder, report)


def _document(folder: Folder, report: Report) -> IssuedFiles:
    document = folder.document(report)
    if document is None:
        raise UsageError(
            f"{folder.gone(report)}, so that nobody can say what it says", help_text="put it back as it was issued"
        )
    return document


def _project(document: IssuedFiles) -> bytes:
    from pathlib import PurePosixPath

    name = _plain(document.files[document.day], document.day)["project"]
    return document.files[str(PurePosixPath(document.day).parent / name)]


def _plain(data: bytes, name: str) -> dict[str, Any]:
    return parse_yaml(data, name).data


def _stated(data: Mapping[str, Any]) -> tuple[str, int]:
    report = data.get("report")
    stated = report if isinstance(report, dict) else {}
    number, revision = stated.get("number"), stated.get("revision")
    if not isinstance(number, str) or not isinstance(revision, str) or not revision.isdecimal():
        raise UsageError("the day file does not say of which report it is")
    return number, int(revision)


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[EntryDiffers]:
    """Yield what one day or project file says otherwise than another, entry by entry, in the order of the first.

    Entries of lists are matched by what names them. A value that only moved says the same.
    """
    yield from _differing(before, after, (), (), before, after)


def _differing(
    one: Any, other: Any, at: Loc, at_other: Loc, before: Mapping[str, Any], after: Mapping[str, Any]
) -> Iterator[EntryDiffers]:  # fmt: skip
    if one == other:
        return
    if isinstance(one, dict) and isinstance(other, dict):
        for key in dict.fromkeys((*one, *other)):
            if key not in other:
                yield EntryDiffers(address_of(before, (*at, key)), one[key], None)
            elif key not in one:
                yield EntryDiffers(address_of(after, (*at_other, key)), None, other[key])
            else:
                yield from _differing(one[key], other[key], (*at, key), (*at_other, key), before, after)
        return
    if _blocks(one) and _blocks(other):
        yield from _of_lists(one, other, at, at_other, before, after)
        return
    yield EntryDiffers(address_of(before, at), one, other)


def _blocks(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(entry, dict) for entry in value)


def _of_lists(
    one: list[Any], other: list[Any], at: Loc, at_other: Loc, before: Mapping[str, Any], after: Mapping[str, Any]
) -> Iterator[EntryDiffers]:  # fmt: skip
    pairs = named_alike(str(at[-1]), one, other)
    for index, entry in enumerate(one):
        twin = pairs.get(index)
        if twin is None:
            yield EntryDiffers(address_of(before, (*at, index)), entry, None)
        else:
            yield from _differing(entry, other[twin], (*at, index), (*at_other, twin), before, after)
    for index, entry in enumerate(other):
        if index not in pairs.values():
            yield EntryDiffers(address_of(after, (*at_other, index)), None, entry)


def _results(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[ResultDiffers]:
    """Yield what evaluations, as plain data, find otherwise."""
    yield from _members(None, None, before, after, ("verdict",))
    areas, others = (
        {one["id"]: one for one in evaluation.get("areas", ())} for evaluation in (before, after)
    )  # fmt: skip
    for area in dict.fromkeys((*areas, *others)):
        one, other = areas.get(area, {}), others.get(area, {})
        yield from _members(area, None, one, other, _RESULTS)
        locations, again = ({each["id"]: each for each in side.get("locations", ())} for side in (one, other))
        for name in dict.fromkeys((*locations, *again)):
            yield from _members(area, name, locations.get(name, {}), again.get(name, {}), _OF_LOCATION)


def _members(
    area: str | None, location: str | None, one: Mapping[str, Any], other: Mapping[str, Any], names: tuple[str, ...]
) -> Iterator[ResultDiffers]:  # fmt: skip
    for name in names:
        before, after = one.get(name), other.get(name)
        if before != after:
            told = tuple(None if value is None else str(value) for value in (before, after))
            yield ResultDiffers(area, location, name, told[0], told[1])
