"""What a revision finds better of an area than the revision before it.

Corrections are made for good reasons, and only whoever was there knows them. So nothing is decided here: what turned to
the better, or is gone, is named beside the reason that the revision gives, for a person to ask about.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.issued.record import AreaRecord, SurfaceRecord

_BETTER: Final = {"release": 0, "hold": 1, "rework": 2}


class Found(NamedTuple):
    """What one revision found of an area: its decision, the apparatus of each entry, locations with their verdicts."""

    decision: str
    entries: Sequence[str]
    locations: Sequence[Sequence[str]]


def found_of(area: AreaRecord, surfaces: Sequence[SurfaceRecord]) -> Found:
    """Return what a record says of an area."""
    entries = [surface.apparatus for surface in surfaces if surface.area == area.id]
    return Found(area.decision, entries, [(location.id, location.verdict) for location in area.locations])


def in_favour(title: str, area: str, before: tuple[int, Found], after: tuple[int, Found], reason: str) -> str | None:
    """Return a sentence on what ``after`` finds better than ``before``, each by its revision; None where nothing is.

    A location is known by its name. Where two have one name, it conforms when both do.
    """
    (earlier, was), (later, now) = before, after
    told = []
    if _BETTER[now.decision] < _BETTER[was.decision]:
        told.append(f"the decision is `{now.decision}`, not `{was.decision}`")
    if was.decision != "release":
        told += [f"an entry of {apparatus} is gone" for apparatus in (Counter(was.entries) - Counter(now.entries))]
    there = {name for name, _ in now.locations}
    failing = {name for name, verdict in now.locations if verdict != "conforms"}
    for name in dict.fromkeys(name for name, verdict in was.locations if verdict != "conforms"):
        if name not in failing:
            told.append(f"location {name}, which did not conform, {'conforms' if name in there else 'is gone'}")
    if not told:
        return None
    return (
        f"{title} revision {later} finds better of area {area} than revision {earlier}: {'; '.join(told)};"
        f" reason given: {reason.strip() or 'none'}"
    )
