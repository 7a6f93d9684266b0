"""The rule for two tape grades as a state machine: readings of one spot, in the order taken, to its profile.

The states of a spot, from its readings in the order taken. Grades have ranges; the two ranges overlap in a window;
a reading is *in its range* or not, and *below*, *inside* or *above* the window. Repeats of a grade that agree count
once; repeats that differ are contradictory whatever the rule, as no rule says which of them counts.

================  =============================================================  ====================
rule              readings                                                       how
================  =============================================================  ====================
average           one, inside                                                    second-missing
average           one, outside, in its range                                     recorded-as-taken
average           one, out of its range                                          outside-grade-range
average           two, one below and one above                                   contradictory
average           two, both inside                                               averaged
average           two, else: first outside and in its range                      recorded-as-taken
average           two, else: second outside and in its range                     second-governs
average           two, else: what lies outside is out of its grade's range       outside-grade-range
non-averaging     coarse below the changeover, in its range                      taken, or second governs
non-averaging     coarse at or above the changeover, or extra coarse below its   second-missing
                  range, alone
non-averaging     coarse at or above the changeover and extra coarse in range    taken, or second governs
non-averaging     each grade points to the other                                 contradictory
non-averaging     coarse below the changeover, extra coarse above the window     contradictory
non-averaging     what the rule points to is out of its range                    outside-grade-range
single-grade      one or two, first in its range                                 recorded-as-taken
single-grade      two, only the second in its range                              second-governs
single-grade      two, one below and one above                                   contradictory
single-grade      none in its range                                              outside-grade-range
================  =============================================================  ====================

What the published one-page rules do not cover (opposite sides, out of range, repeats) is decided here towards
measuring again, never towards choosing a number: that is this program's decision, not a standard's.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.errors import RangeError
from reportgen.metrology.tape import LOWER, UPPER, Grade, SpotProfile, TapeScheme, Zone

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.metrology.exact import Exact


@dataclass(frozen=True, slots=True)
class _Taken:
    """One reading with what the rules ask about it."""

    index: int
    grade: Grade
    value: Fraction
    zone: Zone
    in_range: bool


def spot_result(readings: Sequence[tuple[str, Exact]], scheme: TapeScheme) -> SpotProfile:
    """Profile of a spot by the scheme's rule, or why there is none.

    Parameters:
        readings : sequence of (grade, net reading) [the scheme's unit], in the order taken, at least 1.
        scheme : TapeScheme.
    Returns:
        SpotResult [the scheme's unit].
    Raises:
        RangeError: no reading; a grade the scheme does not know.
    Valid range: all readings; each combination has a state.
    Source: tape-overlap-rule
    Examples:
        >>> from reportgen.metrology.tape import tape_scheme
        >>> mil = tape_scheme("average", "mil")
        >>> result = spot_result([("extra coarse", Fraction("2.2")), ("coarse", Fraction("1.6"))], mil)
        >>> float(result.profile), result.how
        (1.9, 'averaged')
    """
    if not readings:
        raise RangeError("a spot needs at least 1 reading")
    taken: list[_Taken] = []
    for index, (grade, value) in enumerate(readings):
        if grade not in (LOWER, UPPER):
            raise RangeError(f"`{grade}` is not a grade of tape", help_text=f"expected {LOWER} or {UPPER}")
        before = next((one for one in taken if one.grade == grade), None)
        if before is None:
            taken.append(_Taken(index, grade, Fraction(value), scheme.zone(value), value in scheme.ranges[grade]))
        elif before.value != value:
            return SpotProfile(None, "contradictory", "grade-read-twice", spoken_of=before.grade)
    if scheme.rule == "non-averaging":
        return _non_averaging(taken, scheme)
    if {one.zone for one in taken} == {"below", "above"}:
        return _CONTRADICTORY
    if scheme.rule == "single-grade":
        return _first_in_range(taken, taken, scheme)
    return _average(taken, scheme)


_CONTRADICTORY: Final = SpotProfile(None, "contradictory", "grades-disagree")


def _average(taken: list[_Taken], scheme: TapeScheme) -> SpotProfile:
    outside = [one for one in taken if one.zone != "inside"]
    if outside:
        return _first_in_range(outside, taken, scheme)
    if len(taken) == 1:
        other = UPPER if taken[0].grade == LOWER else LOWER
        return SpotProfile(None, "second-missing", "needs-second", (), other, other)
    profile = (taken[0].value + taken[1].value) / 2
    return SpotProfile(profile, "averaged", "both-in-window", (0, taken[1].index))


def _non_averaging(taken: list[_Taken], scheme: TapeScheme) -> SpotProfile:
    """One grade alone counts: coarse below the changeover, extra coarse from there on."""
    below = {LOWER: scheme.changeover, UPPER: scheme.ranges[UPPER].minimum}
    sent_to = [LOWER if one.value < below[one.grade] else UPPER for one in taken]
    if len(taken) == 1 and sent_to[0] != taken[0].grade:
        return SpotProfile(None, "second-missing", "other-grade-alone", (), sent_to[0], sent_to[0])
    if len(taken) == 2 and sent_to == [taken[1].grade, taken[0].grade]:
        return _CONTRADICTORY
    own = LOWER if LOWER in sent_to else UPPER
    if own == LOWER and any(one.grade == UPPER and one.zone == "above" for one in taken):
        return _CONTRADICTORY
    return _first_in_range([one for one in taken if one.grade == own], taken, scheme)


def _first_in_range(candidates: list[_Taken], taken: list[_Taken], scheme: TapeScheme) -> SpotProfile:
    """Let the first candidate that its grade can show govern; without one, the spot has no profile."""
    first = taken[0]
    for one in candidates:
        if one.in_range and one is first:
            return SpotProfile(one.value, "recorded-as-taken", "first-stands", (one.index,))
        if one.in_range:
            return SpotProfile(one.value, "second-governs", "second-decides", (one.index,))
    showing: Grade | None = None  # the grade that could show what a single reading out of range points to
    if len(taken) == 1 and first.grade == LOWER and first.value > scheme.ranges[LOWER].maximum:
        showing = UPPER
    elif len(taken) == 1 and first.grade == UPPER and first.value < scheme.ranges[UPPER].minimum:
        showing = LOWER
    return SpotProfile(None, "outside-grade-range", "beyond-grade", (), showing, candidates[-1].grade)
