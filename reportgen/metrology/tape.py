"""Replica tape: from what the gauge shows to a net reading, and the numbers of the rule for two grades."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

from reportgen.diagnostics import Phrase
from reportgen.errors import RangeError
from reportgen.references import table
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from reportgen.metrology.exact import Exact

OverlapRule = Literal["average", "non-averaging", "single-grade"]
Film = Literal["subtracted", "included"]
How = Literal[
    "recorded-as-taken", "averaged", "second-governs", "second-missing", "outside-grade-range", "contradictory"
]
Grade = Literal["coarse", "extra coarse"]
Reason = Literal[
    "first-stands", "second-decides", "both-in-window", "needs-second", "other-grade-alone", "beyond-grade",
    "grades-disagree", "grade-read-twice",
]  # fmt: skip
"""Why a spot has its profile, or none."""
Zone = Literal["below", "inside", "above"]

LOWER: Final[Grade] = "coarse"
UPPER: Final[Grade] = "extra coarse"


@dataclass(frozen=True, slots=True)
class GradeRange:
    """Lowest and highest height a grade can show, both included, in the gauge's unit."""

    minimum: Fraction
    maximum: Fraction

    def __contains__(self, value: Exact) -> bool:
        return self.minimum <= value <= self.maximum


@dataclass(frozen=True, slots=True)
class TapeScheme:
    """The rule for two grades with the numbers it works on, all in ``unit``, the gauge's own."""

    rule: OverlapRule
    unit: str
    ranges: Mapping[str, GradeRange]
    window: GradeRange
    changeover: Fraction

    def zone(self, value: Exact) -> Zone:
        """Where a value lies against the window, whose ends belong to it."""
        if value < self.window.minimum:
            return "below"
        return "inside" if value <= self.window.maximum else "above"


@dataclass(frozen=True, slots=True)
class SpotProfile:
    """Profile of a spot in the gauge's unit, None where there is none, and how it came about.

    ``used`` are the indexes of the readings in it; ``spoken_of`` is the grade that the reason is about; ``next_grade``
    the grade to take now.
    """

    profile: Fraction | None
    how: How
    reason: Reason
    used: tuple[int, ...] = ()
    next_grade: Grade | None = None
    spoken_of: Grade | None = None


@dataclass(frozen=True, slots=True)
class Advice:
    """Grade to begin with, as its mid-range is nearest to the middle of the specified range."""

    grade: Grade
    middle: Quantity


@lru_cache(maxsize=32)
def tape_scheme(rule: OverlapRule, unit: str, ranges: tuple[tuple[str, Fraction, Fraction], ...] = ()) -> TapeScheme:
    """Return the scheme of a rule in the gauge's own unit, from the shipped ranges or the contract's.

    Parameters:
        rule : average | non-averaging | single-grade; there is no default.
        unit : mil or um, the gauge's.
        ranges : (grade, lowest, highest) of both grades [unit], instead of the shipped ones.
    Returns:
        TapeScheme; the window is the overlap of the two ranges.
    Raises:
        RangeError: another unit; a grade missing; ranges that do not overlap.
    Valid range: two grades.
    Accuracy: exact; mil and um values are each as printed, never converted into each other.
    Source: tape-grades, tape-overlap-rule
    Examples:
        >>> tape_scheme("average", "um").window
        GradeRange(minimum=Fraction(38, 1), maximum=Fraction(64, 1))
    """
    if unit not in ("mil", "um"):
        raise RangeError(f"tape is read in mil or um, got {unit}")
    rows = [row for row in table("tape-grades").rows if row["unit"] == unit]
    current = _ranges((row["grade"], row["minimum"], row["maximum"]) for row in rows if row["scheme"] == "current")
    used = _ranges(ranges) if ranges else current
    if not ranges and rule == "non-averaging":
        used = _ranges((r["grade"], r["minimum"], r["maximum"]) for r in rows if r["scheme"] == "older")
    if set(used) != {LOWER, UPPER}:
        raise RangeError(f"ranges of the grades {LOWER} and {UPPER} are needed, got {', '.join(used) or 'none'}")
    overlapping = current if not ranges else used
    window = GradeRange(overlapping[UPPER].minimum, overlapping[LOWER].maximum)
    if window.minimum > window.maximum:
        raise RangeError("the ranges of the two grades do not overlap")
    return TapeScheme(rule, unit, used, window, used[LOWER].maximum)


def _ranges(rows: Iterable[tuple[str, str | Fraction, str | Fraction]]) -> dict[str, GradeRange]:
    return {grade: GradeRange(Fraction(minimum), Fraction(maximum)) for grade, minimum, maximum in rows}


def net_reading(reading: Quantity, film: Film) -> Quantity:
    """Height without the incompressible film, subtracted in the gauge's own unit: 2.0 mil, or 50 um.

    Parameters:
        reading : Quantity [height] in mil or um, as the gauge shows it.
        film : subtracted (the gauge was pre-set) | included.
    Returns:
        Quantity [height] in the same unit.
    Raises:
        RangeError: another unit; a net reading below zero.
    Valid range: 0 and above.
    Source: replica-film
    Examples:
        >>> from decimal import Decimal
        >>> str(net_reading(Quantity(Decimal("4.2"), "mil"), "included"))
        '2.2 mil'
    """
    thickness = film_thickness(reading.unit) if film == "included" else Quantity(Decimal(0), reading.unit)
    if reading.exact < thickness.exact:
        least = str(thickness)
        raise RangeError(
            Phrase(
                "the reading {reading} is less than {least}",
                reading=str(reading),
                least=Phrase("the film, {film}", film=least) if film == "included" else least,
            ),
            help_text="say `film: subtracted` where the gauge was pre-set, `film: included` where it was not",
        )
    if isinstance(reading.magnitude, Decimal) and isinstance(thickness.magnitude, Decimal):
        return Quantity(reading.magnitude - thickness.magnitude, reading.unit)  # keeps the digits as written
    return Quantity(reading.exact - thickness.exact, reading.unit)


def film_thickness(unit: str) -> Quantity:
    """Nominal thickness of the film in the gauge's own unit; the two are not conversions of each other.

    Parameters:
        unit : mil or um.
    Returns:
        Quantity [height].
    Raises:
        RangeError: another unit.
    Valid range: two units.
    Accuracy: nominal; the tolerance is a component of the uncertainty budget.
    Source: replica-film
    Examples:
        >>> str(film_thickness("um"))
        '50 µm'
    """
    return Quantity(_gauge_numbers(unit)["film"], unit)


def film_tolerance(unit: str) -> Quantity:
    """Limit of error of the film's thickness, for the uncertainty budget: one length, whatever the gauge reads in.

    Parameters:
        unit : mil or um.
    Returns:
        Quantity [height], in the unit given.
    Raises:
        QuantityError: a unit of another kind.
    Valid range: all heights.
    Accuracy: as printed, converted exactly: a rounded one would make the uncertainty depend on the unit.
    Source: iso-8503-5
    Examples:
        >>> str(film_tolerance("um"))
        '2 µm'
    """
    return Quantity(_gauge_numbers("um")["film_tolerance"], "um").to(unit)


@lru_cache(maxsize=4)
def _gauge_numbers(unit: str) -> dict[str, Decimal]:
    """Return the numbers that hold for gauges of one unit."""
    for row in table("tape-gauge").rows:
        if row["unit"] == unit:
            return {name: Decimal(text) for name, text in row.items() if text and name != "unit"}
    raise RangeError(f"tape is read in mil or um, got {unit}")


def check_plausible(net: Quantity) -> None:
    """Refuse a net height that no tape can read: below zero, or above what unused tape shows.

    Parameters:
        net : Quantity [height], film subtracted.
    Raises:
        RangeError: outside 0 to 6 mil (gauges in mil) or 0 to 155 um (any other unit).
    Valid range: any unit of height.
    Source: replica-unused-tape
    Examples:
        >>> from decimal import Decimal
        >>> check_plausible(Quantity(Decimal("2.2"), "mil"))
    """
    unit = net.unit if net.unit in ("mil", "um") else "um"
    highest = Quantity(_gauge_numbers(unit)["unused_maximum"], unit)
    if not 0 <= net.in_unit(unit) <= highest.exact:
        raise RangeError(
            Phrase("{net} is outside what replica tape can read", net=str(net)),
            help_text=Phrase(
                "expected a height from 0 to {highest} without the film; is the unit right?", highest=str(highest)
            ),
        )


def unused_tape_range(unit: str) -> tuple[Quantity, Quantity]:
    """Range in which unused extra coarse tape reads on a pre-set gauge, for the tape check.

    Parameters:
        unit : mil or um.
    Returns:
        (lowest, highest) Quantity [height].
    Raises:
        RangeError: another unit.
    Valid range: extra coarse grade, film subtracted.
    Accuracy: as printed.
    Source: replica-unused-tape
    Examples:
        >>> [str(end) for end in unused_tape_range("um")]
        ['125 µm', '155 µm']
    """
    numbers = _gauge_numbers(unit)
    return Quantity(numbers["unused_minimum"], unit), Quantity(numbers["unused_maximum"], unit)


def advised_grade(minimum: Quantity | None, maximum: Quantity | None, scheme: TapeScheme) -> Advice:
    """Grade to begin with for a specified range: the one whose mid-range is nearest the target's middle.

    Parameters:
        minimum : Quantity [height] or None.
        maximum : Quantity [height] or None; one of the two must be there.
        scheme : TapeScheme of the gauge.
    Returns:
        Advice; the coarse grade where both are equally near.
    Raises:
        RangeError: neither limit.
    Source: tape-grade-advice
    Examples:
        >>> from decimal import Decimal
        >>> target = Quantity(Decimal("3.5"), "mil")
        >>> advised_grade(target, target, tape_scheme("average", "mil")).grade
        'extra coarse'
    """
    ends = [limit.in_unit(scheme.unit) for limit in (minimum, maximum) if limit is not None]
    if not ends:
        raise RangeError("advice on the grade needs a minimum or a maximum")
    target = (ends[0] + ends[-1]) / 2
    away = {grade: abs(target - (ends.minimum + ends.maximum) / 2) for grade, ends in scheme.ranges.items()}
    grade = LOWER if away[LOWER] <= away[UPPER] else UPPER
    return Advice(grade, Quantity(rounded(target, 1), scheme.unit))
