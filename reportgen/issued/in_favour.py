"""What a revision finds better of an area than the revision before it.

Corrections are made for good reasons, and only whoever was there knows them. So nothing is decided here: what turned to
the better, or is gone, is named beside the reason that the revision gives, for a person to ask about.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.errors import QuantityError
from reportgen.measurements import CODES
from reportgen.units import parse_quantity
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.issued.record import AreaRecord, ReportRecord
    from reportgen.words.told import Told

_BETTER: Final = {"release": 0, "hold": 1, "rework": 2}
_FAILING: Final = {code for code, one in CODES.items() if one.effect == "fails" and not code.startswith("profile-")}
"""Codes of what fails elsewhere than at the locations of the profile."""


class Found(NamedTuple):
    """What one revision found of an area, in text that lasts.

    Its decision, apparatus and size of each entry, locations with their verdicts, what their walk-outs bound, how much
    of how much is released where that is a part, the codes of what failed elsewhere than at those locations, and the
    size of the area in the project file, for which an entry without one stands.
    """

    decision: str
    entries: Sequence[Sequence[str]]
    locations: Sequence[Sequence[str]]
    bounds: Sequence[tuple[str, str]] = ()
    part: Sequence[str] = ()
    failed: Sequence[str] = ()
    size: str = ""


def found_of(area: AreaRecord, report: ReportRecord) -> Found:
    """Return what a report says of an area."""
    return Found(
        area.decision,
        [(surface.apparatus, surface.cleaned) for surface in report.surfaces if surface.area == area.id],
        [(location.id, location.verdict) for location in area.locations],
        [(one.failing, one.size) for one in area.bounded],
        () if area.part is None else (area.part.cleaned, area.part.size),
        [one.code for one in report.findings if one.area == area.id and one.code in _FAILING],
        next((_size_in(one.value) for one in report.requirements if (one.part, one.member) == ("areas", area.id)), ""),
    )


def _size_in(told: str) -> str:
    """Return the size of an area from what its requirements tell of it: name, structure, size, length of its welds."""
    ends = [one for one in told.split(", ")[-2:] if _size(one)]
    return str(parse_quantity(ends[-1], "area")) if ends else ""


def in_favour(number: str, area: str, before: tuple[int, Found], after: tuple[int, Found], reason: str) -> Told | None:
    """Return a sentence on what ``after`` finds better than ``before``, each by its revision; None where nothing is.

    A location is known by its name. Where two have one name, it conforms when both do.
    """
    (earlier, was), (later, now) = before, after
    found: list[Told] = []
    if _BETTER[now.decision] < _BETTER[was.decision]:
        better, worse = (told(f"word-{one.decision}") for one in (now, was))
        found.append(told("better-decision", now=better, before=worse))
    more = not now.part or (was.part and _size(now.part[0]) > _size(was.part[0]))
    if was.decision == now.decision == "release" and was.part and more:
        found.append(told("better-part", now=_part(now.part), before=_part(was.part)))
    if was.decision != "release":
        found += _less_steel(was, now)
    found += _fewer_failing(was, now)
    if not found:
        return None
    return told(
        "better-found", what=told("a-revision", number=number, revision=later), area=area, earlier=earlier,
        found=tuple(found), reason=reason.strip() or told("better-without-reason"),
    )  # fmt: skip


def _fewer_failing(was: Found, now: Found) -> Iterator[Told]:
    """Yield each location that did not conform and does, or is gone."""
    there = {name for name, _ in now.locations}
    before, after = _failing(was), _failing(now)
    for name in before:
        if name not in after:
            yield told("better-location" if name in there else "better-location-gone", location=name)


def _failing(one: Found) -> dict[str, None]:
    """Return the names of locations that do not conform, each once, in their order."""
    return dict.fromkeys(name for name, verdict in one.locations if verdict != "conforms")


def _part(part: Sequence[str]) -> Told:
    return told("part-of-size", part=part[0], whole=part[1]) if part else told("better-whole")


def _less_steel(was: Found, now: Found) -> Iterator[Told]:
    """Yield what is gone, or smaller than before, of steel that was not released."""
    before, after = (Counter(apparatus for apparatus, _ in one.entries) for one in (was, now))
    yield from (told("better-entry-gone", apparatus=apparatus) for apparatus in before - after)
    unstated = told("better-unstated")
    for apparatus in before:
        old, new = _cleaned(was, apparatus), _cleaned(now, apparatus)
        if before[apparatus] <= after[apparatus] and new is not None and (old is None or new[0] < old[0]):
            yield told("better-cleaned", apparatus=apparatus, now=new[1], before=unstated if old is None else old[1])
    # in another unit it is smaller by more than rounding makes it
    share = Fraction(99, 100) ** (now.size.split()[-1:] != was.size.split()[-1:])
    if now.size and (not was.size or _size(now.size) < _size(was.size) * share):
        yield told("better-size", now=now.size, before=was.size or unstated)
    bounded = dict(was.bounds)
    for failing, size in now.bounds:
        if failing not in bounded:
            yield told("better-bound", now=size, location=failing)
        elif _size(size) < _size(bounded[failing]):
            yield told("better-bound-less", now=size, location=failing, before=bounded[failing])
    gone = Counter(was.failed) - Counter(now.failed)
    yield from (told("better-not-found", code=code) for code in gone)


def _cleaned(found: Found, apparatus: str) -> tuple[Fraction, str] | None:
    """Return how much an apparatus cleaned [m2], and as written; None where an entry does not say."""
    sizes = [size for name, size in found.entries if name == apparatus]
    return (sum(map(_size, sizes), Fraction(0)), " + ".join(sizes)) if sizes and all(sizes) else None


def _size(text: str) -> Fraction:
    try:
        return parse_quantity(text, "area").in_unit("m2")
    except QuantityError:  # of a release that prints it otherwise
        return Fraction(0)
