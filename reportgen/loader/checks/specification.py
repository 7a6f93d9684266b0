"""What the project file must say so that nothing is guessed, and names that must be known."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo, available_timezones

from reportgen.diagnostics import Phrase, closest, known_are
from reportgen.errors import UsageError
from reportgen.fields import is_placeholder
from reportgen.references import cleanliness_grade, cleanliness_names, profile_grade_named, profile_grade_names

if TYPE_CHECKING:
    from reportgen.loader.sheets import Sheets

_COMPARATOR: Final = "ISO 8503-1 "


def check_specification(sheets: Sheets) -> None:
    """Check the time zone, the rule for two grades of tape, the method and the grade of cleanliness."""
    _check_zone(sheets)
    _check_overlap_rule(sheets)
    _check_report_number(sheets)
    _check_comparator_grade(sheets)
    _check_cleanliness_grades(sheets)


def known_zone(name: str) -> bool:
    """Return whether a time zone of that name is in the database."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True


def _check_zone(sheets: Sheets) -> None:
    name = sheets.project.project.time_zone
    if known_zone(name):
        return
    meant = closest(name, available_timezones())
    if meant is not None and closest(_city(name), [_city(meant)]) is None:
        meant = None  # nothing but the continent is alike
    help_text = f"did you mean `{meant}`?" if meant else "write a name such as `Europe/Oslo`, or `UTC`"
    place = sheets.project_document.span(("project", "time_zone"))
    sheets.found.at(place, "JOB223", Phrase("`{name}` is not a known time zone", name=name), help_text)


def _city(zone: str) -> str:
    return zone.rpartition("/")[2]


def _check_overlap_rule(sheets: Sheets) -> None:
    profile, instruments = sheets.project.specification.profile, sheets.project.instruments
    if profile.overlap_rule is not None or profile.kind in ("comparator", "probe"):
        return  # of tape that was used all the same a finding says that it is another method
    if not sheets.ids["roll"] and all(one.kind != "thickness gauge" for one in instruments.values()):
        return
    sheets.found.at(
        sheets.project_document.span(("specification", "profile"), key=True),
        "JOB214",
        "the profile is read on tape and `overlap_rule` is not stated",
        "state what the contract says: `average`, `non-averaging` or `single-grade`; published rules differ",
    )


def _check_comparator_grade(sheets: Sheets) -> None:
    """A grade of a reference comparator stands for limits, so it must be one whose limits are known."""
    grade = sheets.project.specification.profile.comparator_grade
    if grade is None:
        return
    if profile_grade_named(grade) is None:
        names = {(short := name.removeprefix(_COMPARATOR)).casefold(): short for name in profile_grade_names()}
        spelt = " ".join(grade.removeprefix(_COMPARATOR).split()).casefold()
        either = [f"`{short}`" for name, short in names.items() if name in (f"{spelt} g", f"{spelt} s")]
        meant = closest(spelt, names)
        help_text: str = known_are(names.values())
        if either:
            help_text = f"did you mean {' or '.join(either)}? G is the comparator for grit, S that for shot"
        elif meant is not None:
            help_text = f"did you mean `{names[meant]}`?"
        place = sheets.project_document.span(("specification", "profile", "comparator_grade"))
        sheets.found.at(place, "JOB215", f"`{grade}` is not a known grade of a comparator", help_text)


def _check_cleanliness_grades(sheets: Sheets) -> None:
    """Warn of a grade that is nearly a known one: an unknown grade is allowed, but nothing can be said about it."""
    grade = sheets.project.specification.surface_preparation.grade
    place = sheets.project_document.span(("specification", "surface_preparation", "grade"))
    used = [(place, grade)]
    for index, surface in enumerate(sheets.day.surfaces):
        if surface.cleanliness is not None:
            loc = ("surfaces", index, "cleanliness", "observed")
            used.append((sheets.place(loc), surface.cleanliness.observed))
    for span, name in used:
        try:
            cleanliness_grade(name)
        except UsageError:
            meant = closest(name, cleanliness_names())
            message = f"`{name}` is not a grade whose rank is known"
            if meant is not None:
                sheets.found.at(span, "JOB216", message, f"did you mean `{meant}`?", "warning")


def _check_report_number(sheets: Sheets) -> None:
    """The number must follow the pattern of the contract, where one is stated."""
    pattern = sheets.project.project.report_numbers
    number = sheets.day.report.number
    if pattern is None or is_placeholder(number):
        return
    digits = pattern.count("#")
    expression = re.escape(pattern).replace(re.escape("#") * digits, f"[0-9]{{{digits}}}")
    if not re.fullmatch(expression, number):
        message = f"report number `{number}` does not follow the pattern `{pattern}`"
        sheets.refuse(("report", "number"), "JOB208", message, "write one digit for each `#`")
