"""The rule for two grades of tape in three lines, with the numbers of the gauge's own unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.metrology.tape import TapeScheme, tape_scheme
from reportgen.rules.due import first_grade
from reportgen.units import DISPLAY, render_number

if TYPE_CHECKING:
    from reportgen.job import Instrument, Project


def reminder(project: Project, gauge: tuple[str, Instrument] | None) -> tuple[str, ...]:
    """Return three lines, or none where no tape is used or the contract states no rule."""
    profile = project.specification.profile
    if gauge is None or gauge[1].kind != "thickness gauge" or gauge[1].unit is None or profile.overlap_rule is None:
        return ()
    scheme = tape_scheme(profile.overlap_rule, gauge[1].unit)
    begin = "Begin with the grade the contract asks for."
    grade = first_grade(project, gauge)
    if grade is not None:
        rolls = ", ".join(name for name, roll in project.tape_rolls.items() if roll.grade == grade)
        begin = f"Begin with {grade} tape" + (f" (roll {rolls})." if rolls else ".")
    return (f"1  {begin}", *_then(scheme))


def _then(scheme: TapeScheme) -> tuple[str, str]:
    places = 1 if scheme.unit == "mil" else 0
    unit = DISPLAY.get(scheme.unit, scheme.unit)
    low, high, change = (
        render_number(value, places) for value in (scheme.window.minimum, scheme.window.maximum, scheme.changeover)
    )
    if scheme.rule == "average":
        return (
            f"2  Profile from {low} to {high} {unit}, ends included? Take a second one there, on the other grade.",
            "3  Write both down. Both inside: the mean counts. One outside: that one. On opposite sides: again.",
        )
    if scheme.rule == "non-averaging":
        return (
            f"2  Coarse tape shows {change} {unit} or more? Take extra coarse tape at the same spot; that one counts.",
            "3  Write both down. Extra coarse tape below its own range? Then the coarse reading counts.",
        )
    return (
        "2  One grade, one reading a spot: no second reading is needed.",
        "3  A reading outside the range of its grade does not count: take the other grade at the same spot.",
    )
