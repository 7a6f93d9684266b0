"""The record itself: required keys and steps of hold points that are known, instruments and locations that fit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.diagnostics import Phrase, closest
from reportgen.errors import RangeError
from reportgen.job.recorded import CHECKED_KINDS
from reportgen.names import spelt_alike
from reportgen.references import record_lists
from reportgen.results.codes.records import RECORDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.job import HoldPoint, Surface
    from reportgen.loader.rows import SurfaceRows
    from reportgen.loader.sheets import Loc, Sheets


def check_recorded(sheets: Sheets, rows: Sequence[SurfaceRows | None]) -> None:
    """Refuse what a record says of things that are not there, or that contradicts the readings."""
    _check_required(sheets)
    _check_function_checks(sheets)
    for index, one in enumerate(sheets.day.hold_points):
        _check_hold_point(sheets, ("hold_points", index), one)
    for index, surface in enumerate(sheets.day.surfaces):
        read = rows[index]
        if read is not None or surface.profile is None:  # else its file could not be read, which has been said
            taken = {(row.location, row.spot, row.roll) for row in read.rows} if read is not None else set()
            _check_locations(sheets, ("surfaces", index), surface, taken)


def _check_required(sheets: Sheets) -> None:
    known = (*record_lists(), *RECORDS)
    for index, name in enumerate(sheets.project.requires):
        if name not in known:
            spelt = {one.casefold(): one for one in known}
            near = closest(name.casefold(), spelt)
            meant = None if near is None else spelt[near]
            listed = f"lists are {', '.join(record_lists())}; single records {', '.join(RECORDS)}"
            help_text = f"did you mean `{meant}`?" if meant else listed
            message = f"`{name}` is neither a record nor a list of records"
            sheets.found.at(sheets.project_document.span(("requires", index)), "JOB249", message, help_text)


def _check_function_checks(sheets: Sheets) -> None:
    for index, check in enumerate(sheets.day.function_checks):
        instrument = sheets.instrument(check.instrument)
        shows = None if instrument is None else CHECKED_KINDS.get(instrument.kind)
        if instrument is None or shows is None:
            continue  # said already
        if shows != check.kind:
            message = f"`{check.instrument}` is a {instrument.kind}; `{check.reference}` is not what it shows"
            sheets.refuse(("function_checks", index, "reference"), "JOB205", message, f"state a {shows} with its unit")


def _check_hold_point(sheets: Sheets, loc: Loc, one: HoldPoint) -> None:
    """The step is one of the contract, or says what it stops; it is asked for before it is answered."""
    stated = sheets.project.specification.hold_points
    own = next((step for step in stated if spelt_alike(step.step, one.step)), None)
    if own is None and one.before is None:
        meant = closest(one.step, [step.step for step in stated])
        message = f"the contract has no hold point `{one.step}`"
        says = "say what waits for it: `before: blasting`, `before: coating` or `before: other`"
        if meant:
            sheets.refuse((*loc, "step"), "JOB248", message, f"did you mean `{meant}`?")
        else:
            sheets.absent(loc, (*loc, "step"), "before", ("JOB248", message, says))
    elif own is not None and one.before is not None and one.before != own.before:
        message = f"hold point `{one.step}` stops the {own.before} by the contract, not `{one.before}`"
        sheets.refuse((*loc, "before"), "JOB248", message, "leave `before` out")
    _check_answer(sheets, loc, one)


def _check_answer(sheets: Sheets, loc: Loc, one: HoldPoint) -> None:
    if sheets.clock is None or one.asked is None or one.answered is None:
        return
    try:
        late = sheets.clock.instant(one.answered) < sheets.clock.instant(one.asked)
    except RangeError:  # a time that never was, which is said elsewhere
        return
    if late:
        message = f"hold point `{one.step}` is answered at {one.answered:%H:%M}, before it was asked for"
        name = "released" if one.released is not None else "refused"
        sheets.refuse((*loc, name), "JOB222", message, "check the two times")


def _check_locations(
    sheets: Sheets, loc: Loc, surface: Surface, taken: set[tuple[str, str, str | None]]
) -> None:  # fmt: skip
    measured = {location for location, _, _ in taken}
    _check_replicas(sheets, loc, surface, taken)
    for location in surface.positions:
        if location not in measured:
            message = f"location `{location}`, whose position is stated, has no readings in area `{surface.area}`"
            meant = closest(location, measured)
            help_text = f"did you mean `{meant}`?" if meant else "add its readings, or correct the name"
            part = (*loc, "positions", location)
            sheets.absent(part, part, location, ("JOB240", message, help_text))
    for number, left in enumerate(surface.no_reading):
        if left.location in measured:
            pattern = "location `{location}` has readings, and stands among those where none was possible"
            message = Phrase(pattern, location=left.location)
            sheets.refuse((*loc, "no_reading", number, "location"), "JOB255", message, "keep what is true")


def _check_replicas(
    sheets: Sheets, loc: Loc, surface: Surface, taken: set[tuple[str, str, str | None]]
) -> None:  # fmt: skip
    for number, one in enumerate(surface.replicas):
        read = one.thrown_away is not None or one.location is None or any(one.names(*each) for each in taken)
        if not read:
            named = " ".join(part for part in (one.location, one.spot, one.roll) if part is not None)
            message = f"there is no reading of the replica `{named}` in area `{surface.area}`"
            help_text = "add its reading, correct the name, or say why it was thrown away"
            part = (*loc, "replicas", number)
            sheets.absent(part, (*part, "location"), named, ("JOB240", message, help_text))
