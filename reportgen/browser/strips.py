"""Profiles on their scale, as the report draws them: positions alone, which a template turns into a figure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.browser.sight import MARKS
from reportgen.charts import ProfileScale, profile_scale

if TYPE_CHECKING:
    from collections.abc import Iterable
    from decimal import Decimal

    from reportgen.browser.sight import Sight
    from reportgen.browser.texts import Texts
    from reportgen.results import AreaResult, LocationResult

WIDTH: Final = 200
_APART: Final = 9
"""Marks nearer than this stand above one another."""


def scale_of(sight: Sight) -> ProfileScale | None:
    """Return the one scale of the day, on which all areas compare; None where no profile has a number."""
    profile = sight.project.specification.profile
    values = [one.profile for area in sight.evaluation.areas for one in area.locations if one.profile is not None]
    limits = [None if limit is None else limit.magnitude for limit in (profile.minimum, profile.maximum)]
    units = [limit.unit for limit in (profile.minimum, profile.maximum) if limit is not None]
    unit = units[0] if units else next((area.unit for area in sight.evaluation.areas), "")
    return profile_scale(values, limits[0], limits[1], unit)  # type: ignore[arg-type] # a limit keeps its digits


def strip(scale: ProfileScale | None, locations: Iterable[LocationResult]) -> dict[str, Any] | None:
    """Return limits and marks of locations on a scale, in parts of ``WIDTH``; None where there is nothing to show.

    One location alone has its uncertainty beside it.
    """
    shown = [one for one in locations if one.profile is not None]
    if scale is None or not shown:
        return None
    marks: list[dict[str, Any]] = []
    for one in sorted(shown, key=lambda each: each.profile or 0):
        marks.append(_mark(_at(scale, one.profile), one, marks))
    own = shown[0]
    spread = own.expanded_uncertainty if len(shown) == 1 else None
    return {
        "low": None if scale.minimum is None else _at(scale, scale.minimum),
        "high": None if scale.maximum is None else _at(scale, scale.maximum),
        "marks": marks,
        "spread": None if spread is None or own.profile is None else [
            _at(scale, own.profile - spread), _at(scale, own.profile + spread)
        ],
    }  # fmt: skip


def _mark(at: float, one: LocationResult, others: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the mark of a location, on the first row on which no other is too near."""
    free = (row for row in range(3) if all(abs(each["x"] - at) >= _APART for each in others if each["row"] == row))
    label = one.id if one.verdict != "conforms" else ""
    return {"x": at, "row": next(free, 2), "state": MARKS[one.verdict], "label": label}


def _at(scale: ProfileScale, value: Decimal | None) -> float:
    return round(scale.share(value or 0) * WIDTH, 1)


def range_of(say: Texts, area: AreaResult) -> str:
    """Return lowest and highest location of an area as printed; empty where there is none."""
    if area.minimum is None or area.maximum is None:
        return ""
    return " – ".join(dict.fromkeys((say.number(area.minimum), say.number(area.maximum))))
