"""A location that lacks spots or second readings: what was read there outside the limits stays of its value.

Other readings of that location, all of them new, would only try until it passes.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.results.codes.profile import SECOND_READING_MISSING, SPOTS_MISSING
from reportgen.rules.comparator import grades_verdict
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reportgen.job import Reading
    from reportgen.results import Finding
    from reportgen.rules.inspected import Inspected
    from reportgen.rules.profile import AreaProfile
    from reportgen.rules.readings import MeasuredLocation, MeasuredSurface
    from reportgen.rules.scene import SurfaceView

_INCOMPLETE: Final = frozenset({SPOTS_MISSING.name, SECOND_READING_MISSING.name})


def bad_readings(day: Inspected, finding: Finding, surface: SurfaceView, location: str | None) -> frozenset[Reading]:
    """Return the readings of a location that are outside the limits so far, where a finding says that it lacks some.

    They are without time and line, as they may be entered again.
    """
    if finding.code not in _INCOMPLETE:
        return frozenset()
    outside = any(
        _is_outside(profile, judged.surface, judged.measured)
        for profile in day.profiles for judged in profile.locations
        if judged.surface.surface is surface and judged.result.id == location
    )  # fmt: skip
    return frozenset(_as_read(one for one in surface.readings if one.location == location) if outside else ())


def has_kept(kept: frozenset[Reading], readings: Iterable[Reading]) -> bool:
    """Whether readings of a later report have all that is to be entered again as it was."""
    return kept <= set(_as_read(readings))


def _as_read(readings: Iterable[Reading]) -> Iterator[Reading]:
    return (replace(one, time=None, line=0, confirmed=False) for one in readings)


def _is_outside(profile: AreaProfile, surface: MeasuredSurface, location: MeasuredLocation) -> bool:
    """Whether the value of the spots that a location has is outside the limits; while it has none, that of a reading.

    Rounding and guard band aside: what is so near to a limit is found by itself.
    """
    requirement = profile.requirement
    if location.seen:
        return grades_verdict(location.seen, requirement, surface.gauge.comparator) == "does not conform"
    read = [location.value]
    if location.value is None:
        read = [Fraction(one.net) for spot in location.spots for one in spot.readings]
    scale = Quantity(Fraction(1), surface.unit).in_unit(requirement.unit)
    return not all(requirement.within(one * scale) for one in read if one is not None)
