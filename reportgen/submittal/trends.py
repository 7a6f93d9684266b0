"""Statistics of a contract's locations and shifts by structure, apparatus and abrasive."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.issued import NOT_STATED
from reportgen.metrology import statistics
from reportgen.names import spelling
from reportgen.shifts import Done, works
from reportgen.submittal.pages.model import Group, Point
from reportgen.units import rounded

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal
    from fractions import Fraction

    from reportgen.issued import AreaRecord, LocationRecord, ReportRecord

_Key = tuple[str, str, str, str]


def groups_of(records: Sequence[ReportRecord]) -> tuple[Group, ...]:
    """Return a group for each structure, apparatus, abrasive and unit, its locations in the order of ``records``.

    A location that several reports state of one steel, as it was entered again, counts once, as in the last of them.
    """
    last: dict[tuple[str, str | None], ReportRecord] = {
        (area.id, location.place): record
        for record in sorted(records, key=lambda one: one.order)
        for area in record.areas
        for location in area.locations
        if location.place is not None
    }
    found: dict[_Key, list[tuple[ReportRecord, AreaRecord, LocationRecord]]] = {}
    named: dict[_Key, tuple[str, str]] = {}
    areas = [(record, area) for record in records for area in record.areas]
    for record, area, location in ((*one, location) for one in areas for location in one[1].locations):
        if location.profile is not None and last.get((area.id, location.place), record) is record:
            apparatus, abrasive = location.apparatus or NOT_STATED, location.abrasive or NOT_STATED
            key = (area.structure_name, _spelt(apparatus), _spelt(abrasive), area.unit)
            named.setdefault(key, (apparatus, abrasive))
            found.setdefault(key, []).append((record, area, location))
    return tuple(_group(key, named[key], found[key]) for key in sorted(found))


def _spelt(name: str) -> str:
    return spelling(name) or name


def _group(
    key: _Key, named: tuple[str, str], members: list[tuple[ReportRecord, AreaRecord, LocationRecord]]
) -> Group:  # fmt: skip
    (structure, *_, unit), (apparatus, abrasive) = key, named
    points = tuple(
        Point(record.date, location.profile, location.verdict)
        for record, _, location in members
        if location.profile is not None
    )
    values = [point.value for point in points]
    places = max(2, *(-int(value.as_tuple().exponent) for value in values))
    of = statistics.summary(values)
    last = members[-1][0]
    done = Done(structure, apparatus, abrasive, unit)
    (work,) = works(
        (done, f"{record.date} {record.shift}", area.id, float(location.profile))
        for record, area, location in members
        if location.profile is not None
    )

    def shown(value: Fraction) -> Decimal:
        return rounded(value, places)

    deviation = of.standard_deviation
    return Group(
        structure=structure,
        apparatus=apparatus,
        abrasive=abrasive,
        unit=unit,
        areas=tuple(dict.fromkeys(area.id for _, area, _ in members)),
        points=points,
        spots=tuple(spot for _, _, location in members for spot in location.spots),
        mean=shown(of.mean),
        standard_deviation=None if deviation is None else rounded(deviation, places + 1),
        least=min(values),
        greatest=max(values),
        minimum=last.minimum,
        maximum=last.maximum,
        work=work,
    )
