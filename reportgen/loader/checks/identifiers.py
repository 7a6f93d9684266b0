"""Every id a day file uses must stand in the project file."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.loader.sheets import Loc, Sheets

_CODES = {"person": "JOB201", "instrument": "JOB202", "roll": "JOB203", "area": "JOB204"}


def check_identifiers(sheets: Sheets) -> None:
    """Refuse each person, instrument, roll and area that the project does not have."""
    for kind, loc, name in _uses(sheets):
        if name not in sheets.ids[kind]:
            message, help_text = sheets.unknown(kind, name)
            sheets.refuse(loc, _CODES[kind], message, help_text)


def _uses(sheets: Sheets) -> Iterator[tuple[str, Loc, str]]:
    day = sheets.day
    yield "person", ("report", "inspector"), day.report.inspector
    for number, person in enumerate(day.report.countersigners):
        yield "person", ("report", "countersigners", number), person
    for index, condition in enumerate(day.conditions):
        for number, name in enumerate(condition.instruments):
            yield "instrument", ("conditions", index, "instruments", number), name
    for index, gauge_check in enumerate(day.gauge_checks):
        yield "instrument", ("gauge_checks", index, "gauge"), gauge_check.gauge
    for index, tape_check in enumerate(day.tape_checks):
        yield "instrument", ("tape_checks", index, "gauge"), tape_check.gauge
        yield "roll", ("tape_checks", index, "roll"), tape_check.roll
    for index, abrasive in enumerate(day.abrasive_checks):
        if abrasive.instrument is not None:
            yield "instrument", ("abrasive_checks", index, "instrument"), abrasive.instrument
    yield from _uses_of_surfaces(sheets)
    for index, left in enumerate(day.not_inspected):
        yield "area", ("not_inspected", index, "area"), left.area
    for index, raised in enumerate(day.nonconformances):
        if raised.area is not None:
            yield "area", ("nonconformances", index, "area"), raised.area
        yield "person", ("nonconformances", index, "decided_by"), raised.decided_by


def _uses_of_surfaces(sheets: Sheets) -> Iterator[tuple[str, Loc, str]]:
    for index, surface in enumerate(sheets.day.surfaces):
        yield "area", ("surfaces", index, "area"), surface.area
        if surface.profile is not None:
            yield "instrument", ("surfaces", index, "profile", "gauge"), surface.profile.gauge
        for number, salt in enumerate(surface.salts):
            if salt.instrument is not None:
                yield "instrument", ("surfaces", index, "salts", number, "instrument"), salt.instrument


def check_people(sheets: Sheets) -> None:
    """The inspector must be entered as one; countersigners are others, each once."""
    report = sheets.day.report
    person = sheets.project.people.get(report.inspector)
    if person is not None and "inspector" not in person.role.lower():
        message = f"`{report.inspector}` has the role `{person.role}`, not inspector"
        sheets.refuse(
            ("report", "inspector"), "JOB207", message, "name the inspector of the shift, or correct the role"
        )
    for number, signer in enumerate(report.countersigners):
        if signer == report.inspector or signer in report.countersigners[:number]:
            message = f"`{signer}` signs this report already"
            sheets.refuse(("report", "countersigners", number), "JOB207", message, "keep each signer once")
