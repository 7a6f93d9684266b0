"""What came in, less what the job cannot hold: each part the loader objects to is taken out, named and listed.

A day file with errors is never made, so the loader reads what it would become; its objections are led back to page and
row. Nothing that is valid is lost for something beside it that is not.
"""

from __future__ import annotations

import contextlib
from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import InputError, UsageError
from reportgen.intake.entries import AGAIN, NAMED_BY, entry_text, in_order, needed_names, shown
from reportgen.intake.left_over import gap_for
from reportgen.intake.merge import merge
from reportgen.intake.sequence import out_of_order
from reportgen.job import PLACEHOLDER
from reportgen.loader import job_from_files
from reportgen.loader.placeholders import NOT_TAKEN
from reportgen.loader.unfinished import GAPS, gaps_of
from reportgen.yamlsource import DayText, Loc, value_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from reportgen.diagnostics import Diagnostic
    from reportgen.intake.incoming import Incoming, Reason
    from reportgen.intake.merge import Merged
    from reportgen.job import Job

_FIRST: Final = ("area", "apparatus", "initial_condition", "blasted")
_TIMES: Final = ("start", "end", "abrasive")
_MISSING: Final = "JOB111"
_ORDER: Final = "JOB222"
_INCOMPLETE: Final = "JOB16"
"""Codes of entries whose fields do not make one whole."""


def fitted(job: Job, incoming: Incoming, *, overwrite: bool = False) -> Merged:
    """Join what came in with the job's day file; what cannot be part of the job is taken out of it and refused.

    The new day file loads.
    """
    day = next(file for file in job.files if file.role == "day")
    while True:
        text = DayText(day.data, day.name)
        try:
            merged = merge(text, incoming.day, job.clock, overwrite=overwrite)
        except UsageError as failure:
            _refuse_all(incoming, (failure.message, failure.help_text))
            continue
        objections = _objections(job, day.name, merged) if text.encoded() != day.data else []
        if not objections:
            return merged
        if not _leave_gaps(incoming, merged, objections):
            _take_out(job, incoming, merged, objections)


def _leave_gaps(incoming: Incoming, merged: Merged, objections: Sequence[Diagnostic]) -> bool:
    """Mark what is missing of the preparation of an area as still to be filled in; return whether anything is.

    One tick or time that cannot be read costs itself alone: the rest of the area stands in the day file, on hold.
    """
    left = False
    for source, found in _sources(merged, [(_place(merged, one), one) for one in objections if one.code == _MISSING]):
        if source[0] == "surfaces" and _says_something(value_at(incoming.day, source[:2])):
            path = (*map(str, source[2:]), found.message.split("`")[1])
            left |= _leave_gap(incoming, source[:2], path)
    return left


def _leave_gap(incoming: Incoming, loc: Loc, path: tuple[str, ...]) -> bool:
    """Mark a field, or those of a block, as still to be filled in; what was written there and refused stands in it."""
    surface = value_at(incoming.day, loc)
    marked = {one for one, _ in gaps_of(surface)}  # one that is still missed although it is marked is no gap to leave
    gaps = [one for one in GAPS if one[: len(path)] == path and one not in marked]
    refused = {one.name: one.value for one in incoming.refused if one.area == surface["area"]}
    for one in gaps:
        home = surface if len(one) == 1 else surface.setdefault(one[0], {})
        name = ".".join(one)
        home[one[-1]] = gap_for(one, refused.get(name, ""))
        if name not in refused:
            incoming.missing.append(f"{incoming.place_of(loc)}: `{name}`")
    _in_usual_order(surface, _FIRST)
    _in_usual_order(surface.get("blasted", {}), _TIMES)
    return bool(gaps)


def _in_usual_order(fields: dict[str, Any], first: Sequence[str]) -> None:
    ordered = {name: fields[name] for name in (*first, *fields) if name in fields}
    fields.clear()
    fields.update(ordered)


def _objections(job: Job, name: str, merged: Merged) -> list[Diagnostic]:
    """Return what is wrong with the new content, and what is missing from that of it which came in.

    What came in with a gap that says so is not missing by a slip.
    """
    files = {file.name: file.content for file in job.files if isinstance(file.content, bytes)}
    try:
        fitted = job_from_files(files | {name: merged.text.encoded()}, name)
    except InputError as failure:
        return [found for found in failure.diagnostics if found.severity == "error"]
    missing = (found for found in fitted.unfilled if found.code != PLACEHOLDER and _place(merged, found))
    return [found for found in missing if merged.source_of(_place(merged, found)) is not None]


def _take_out(job: Job, incoming: Incoming, merged: Merged, objections: Sequence[Diagnostic]) -> None:
    """Refuse the outermost parts objected to; from the last to the first, so that places stay."""
    told = _told(job, merged, objections)
    parts = {_whole(source) for source, _ in told}
    outermost = [part for part in parts if not any(part[:length] in parts for length in range(1, len(part)))]
    if not outermost:
        _refuse_all(incoming, (objections[0].message, objections[0].help_text))
    surfaces = [(part, value_at(incoming.day, part)) for part in outermost if part[0] == "surfaces" and len(part) == 2]
    lost = {surface["area"]: incoming.place_of(part) for part, surface in surfaces if _says_something(surface)}
    for part in sorted(outermost, key=in_order):
        about = [(source[len(part) :], found) for source, found in told if source[: len(part)] == part]
        _list(incoming, part, _reason(incoming, part, about))
    for part in sorted(outermost, key=in_order, reverse=True):
        with contextlib.suppress(KeyError, IndexError):  # gone with what surrounded it
            incoming.take_out(part)
    for area, place in lost.items():
        _keep_open(job, incoming, area, place)


def _keep_open(job: Job, incoming: Incoming, area: str, place: str) -> None:
    """List an area that could not be taken in as not inspected, with a reason still to be given: it is not forgotten.

    No day file can hold the area without its preparation; one that says nothing of it would be complete.
    """
    listed = {entry["area"] for key in ("surfaces", "not_inspected") for entry in incoming.day.get(key, ())}
    known = {one.area for one in job.day.surfaces} | {one.area for one in job.day.not_inspected} | set(job.begun)
    if area not in known | listed:
        incoming.add((), "not_inspected", {"area": area, "reason": NOT_TAKEN}, place)


def _says_something(surface: Mapping[str, Any]) -> bool:
    """Whether anything was written about an area; a tick of the film is nothing."""
    return bool(surface.keys() - {"area", "profile"} or "readings" in surface.get("profile", {}))


def _told(job: Job, merged: Merged, objections: Sequence[Diagnostic]) -> list[tuple[Loc, Diagnostic]]:
    """Return the places in what came in that objections are about; those about nothing of that are left out.

    Of times of readings that contradict each other the fewest are objected to.
    """
    placed = [(_place(merged, found), found) for found in objections]
    by_place = dict(placed)
    late: dict[Loc, dict[Loc, Diagnostic]] = defaultdict(dict)
    for place, found in placed:
        if found.code == _ORDER and place[-3:-2] == ("readings",):
            late[place[:-2]][place] = found
    instead: list[tuple[Loc, Diagnostic]] = []
    gone: set[Loc] = set()
    for rows, objected in late.items():
        data = value_at(merged.text.data, rows)
        fewest: list[Loc] = [(*rows, index, "time") for index in out_of_order(data, job.clock)]
        if all(map(merged.source_of, fewest)):
            like = next(iter(objected.values()))
            gone |= objected.keys()
            for place in fewest:
                message = f"{value_at(merged.text.data, place)} is later than the times of the rows after it"
                instead.append((place, by_place.get(place, replace(like, message=message))))
    return _sources(merged, [one for one in placed if one[0] not in gone] + instead)


def _place(merged: Merged, found: Diagnostic) -> Loc:
    """Return the place in the new content that an objection is about; none when nothing that came in is there."""
    places = (merged.text.loc_at(span) for span in found.spans if span.file == merged.text.file)
    return next((place for place in places if merged.source_of(place) is not None), ())


def _sources(merged: Merged, placed: Iterable[tuple[Loc, Diagnostic]]) -> list[tuple[Loc, Diagnostic]]:
    """Return objections with their places in what came in, without those that are about nothing of it."""
    return [(source, found) for place, found in placed if (source := merged.source_of(place)) is not None]


def _whole(source: Loc) -> Loc:
    """Return the part that goes: an entry goes along with a field that names it, any other field goes alone."""
    entry = _entry_around(source)
    rest = source[len(entry) :]
    names = needed_names(str(entry[-2])) if entry else ()
    return entry if len(rest) == 1 and rest[0] in names else source


def _entry_around(loc: Loc) -> Loc:
    """Return the place of the innermost entry of a list that holds a place; none for what is no part of an entry."""
    lengths = (length for length in range(len(loc), 1, -1) if loc[length - 2] in NAMED_BY)
    return next((loc[:length] for length in lengths if isinstance(loc[length - 1], int)), ())


def _reason(incoming: Incoming, part: Loc, about: Sequence[tuple[Loc, Diagnostic]]) -> Reason:
    """Return why a part goes: all fields it lacks, and those of them that were written and refused."""
    missed = [(inside, found) for inside, found in about if found.code == _MISSING and not _entry_around(inside)]
    place = incoming.place_of(part)
    lost = list(dict.fromkeys(one.name for one in incoming.refused if one.place == place))
    first = about[0][1]
    if not missed:
        lost = lost if first.code.startswith(_INCOMPLETE) else []
        return "; ".join((first.message, *_said(lost, "was not taken", "were not taken"))), first.help_text
    within = part[len(_entry_around(part)) :]
    names = [".".join(map(str, (*within, *inside, found.message.split("`")[1]))) for inside, found in missed]
    blocks = tuple(f"{name}." for name in names)
    lost = [name for name in lost if f"{name}.".startswith(blocks)]
    missing = [name for name in names if not any(f"{one}.".startswith(f"{name}.") for one in lost)]
    said = *_said(missing, "is missing", "are missing"), *_said(lost, "was not taken", "were not taken")
    return "; ".join(said), AGAIN


def _said(names: Sequence[str], of_one: str, of_more: str) -> list[str]:
    """Say of fields what became of them; nothing where there are none."""
    if not names:
        return []
    *others, last = [f"`{name}`" for name in names]
    return [f"{', '.join(others)} and {last} {of_more}" if others else f"{last} {of_one}"]


def _list(incoming: Incoming, part: Loc, reason: Reason) -> None:
    """Note a part as not taken, with all that it says."""
    value = value_at(incoming.day, part)
    entry = _entry_around(part)
    kept = len(part) != len(("surfaces", 0)) or part[0] != "surfaces" or _says_something(value)
    if part == entry:
        name, text = ("area" if part[-2] == "surfaces" else "row"), entry_text(str(part[-2]), value)
    else:
        name = ".".join(str(one) for one in part[len(entry) :] if isinstance(one, str))
        text = shown(value, str(part[-1]))
    incoming.refuse_part(part, name, text, reason, kept=kept)


def _refuse_all(incoming: Incoming, reason: Reason) -> None:
    """Note everything as not taken: the day file cannot be added to, or no part of what came in can be named for it."""
    for key, entries in incoming.day.items():
        for index in range(len(entries)):
            _list(incoming, (key, index), reason)
    incoming.day.clear()
