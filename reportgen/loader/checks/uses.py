"""Where the day file uses an id of the project file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.fields import is_placeholder
from reportgen.measurements import TESTS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.job import Day, Surface
    from reportgen.loader.sheets import Loc


class Use(NamedTuple):
    """One id: its kind, its place in the day file, the id itself, and the block of the day file it stands in."""

    kind: str
    loc: Loc
    name: str
    block: str


_FIELDS: Final = (
    ("gauge_checks", "gauge", "instrument"),
    ("tape_checks", "gauge", "instrument"),
    ("tape_checks", "roll", "roll"),
    ("abrasive_checks", "instrument", "instrument"),
    ("function_checks", "instrument", "instrument"),
    ("told_released", "area", "area"),
    ("not_inspected", "area", "area"),
    ("not_taken", "area", "area"),
    ("nonconformances", "area", "area"),
    ("nonconformances", "decided_by", "person"),
)
"""Block of the day file, field of its entries, kind of id."""


def uses_of(day: Day) -> Iterator[Use]:
    """Return every use of an id of the project, block by block."""
    if not is_placeholder(day.report.inspector):
        yield Use("person", ("report", "inspector"), day.report.inspector, "report")
    for number, person in enumerate(day.report.countersigners):
        yield Use("person", ("report", "countersigners", number), person, "report")
    for index, point in enumerate(day.hold_points):
        for number, area in enumerate(point.areas):
            yield Use("area", ("hold_points", index, "areas", number), area, "hold_points")
    for index, condition in enumerate(day.conditions):
        for kind, field in (("instrument", "instruments"), ("area", "areas")):
            for number, name in enumerate(getattr(condition, field)):
                yield Use(kind, ("conditions", index, field, number), name, "conditions")
    for block, field, kind in _FIELDS:
        named = ((index, getattr(entry, field)) for index, entry in enumerate(getattr(day, block)))
        yield from (Use(kind, (block, index, field), name, block) for index, name in named if name is not None)
    for index, surface in enumerate(day.surfaces):
        yield from _uses_of_surface(("surfaces", index), surface)


def _uses_of_surface(place: Loc, surface: Surface) -> Iterator[Use]:
    yield Use("area", (*place, "area"), surface.area, "surfaces")
    if surface.inspector is not None:
        yield Use("person", (*place, "inspector"), surface.inspector, "surfaces")
    for number, replica in enumerate(surface.replicas):
        if replica.roll is not None:
            yield Use("roll", (*place, "replicas", number, "roll"), replica.roll, "replicas")
    if surface.profile is not None:
        yield Use("instrument", (*place, "profile", "gauge"), surface.profile.gauge, "profile")
    for kind in TESTS:
        for number, test in enumerate(kind.entries_on(surface) if kind.instruments else ()):
            if test.instrument is not None:
                loc = (*place, kind.key, number, "instrument")
                yield Use("instrument", loc, test.instrument, kind.shown_in(test))
