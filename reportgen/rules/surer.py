"""Whether what is measured again is surer than what was left undecided: with the same means it only tries again.

A value nearer to its limit than its uncertainty, measured often enough by the same gauge, lies far enough from it once.
So one replaces it only where its uncertainty is smaller at the value that was undecided, and by what instruments and
method bring to it: scatter that happened to be small makes none surer.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.measurements import TESTS
from reportgen.measurements.slice import Sureness
from reportgen.results import Amount
from reportgen.rules.checked_instruments import with_shown_errors
from reportgen.units import Quantity

if TYPE_CHECKING:
    from reportgen.job import Surface
    from reportgen.rules.inspected import Inspected
    from reportgen.rules.profile import AreaProfile, JudgedLocation

_ERRORS: Final = frozenset({"gauge accuracy", "calibration"})


def surenesses(
    day: Inspected, record: Surface, series: str, location: str, at: Quantity | None = None
) -> list[Sureness]:
    """Return how sure a report is of each value at a location of an entry, in their order; each as it would be ``at``.

    Of the profile there is one, or none where no gauge shows it; ``series`` else names a kind of test.
    """
    kind = next((one for one in TESTS if one.key == series), None)
    if kind is None:
        return [
            _of_profile(profile, judged, at)
            for profile in day.profiles for judged in profile.locations
            if judged.surface.surface.record is record and judged.result.id == location and judged.value is not None
        ]  # fmt: skip
    view = day.view
    limit, tools = getattr(view.specification, kind.limit_key), with_shown_errors(view)
    tests = (one for one in kind.entries_on(record) if one.location == location)
    if limit is None or kind.sureness is None:
        return []
    return [kind.sureness(limit, one, at, tools, view.edition) for one in tests]


def _of_profile(profile: AreaProfile, judged: JudgedLocation, at: Quantity | None) -> Sureness:
    unit, surface, gauge = profile.requirement.unit, judged.surface, judged.surface.gauge
    own = Quantity(judged.value or Fraction(0), unit)
    height = own if at is None else at
    known = profile.uncertainty.of_location(surface, len(judged.measured.spots), height.in_unit(surface.unit))
    parts = profile.uncertainty.common(surface, height.in_unit(unit))
    scale = Quantity(Fraction(1), unit).in_unit("um")
    seen, expanded = judged.result.profile, judged.result.expanded_uncertainty
    return Sureness(
        value=own, seen=Amount.of_number(own.exact if seen is None else seen, unit),
        expanded=None if expanded is None else Amount(expanded, unit),
        wide=None if known is None else known.expanded * scale,
        means=sum((one.variance for one in parts if one.name in _ERRORS), Fraction(0)) * scale**2,
        stated=frozenset({"certificate"} if gauge.uncertainty or gauge.uncertainty_of_reading else ()),
    )  # fmt: skip
