"""Entries that were begun and lack something: nothing is judged by them, and what they may be about is on hold.

A begun row of a log may be the one that fails: it holds the areas it names, by themselves, by their place, or by the
gauge, roll or apparatus that was used there; where it says nothing that is known, every area.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.job import place_name
from reportgen.results import Outcome
from reportgen.results.codes.doubts import COMPLETE_ENTRY, ENTRY_TWICE, ENTRY_UNFINISHED, EnteredTwice, Unfinished
from reportgen.results.facts import EVERYWHERE, Place

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from reportgen.job import UnfinishedEntry
    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

_NAMED: Final = 6
"""Missing fields that are named; of others it is said how many."""

_USED: Final[Mapping[str, Callable[[SurfaceView], set[str | None]]]] = {
    "gauge": lambda surface: {None if surface.record.profile is None else surface.record.profile.gauge},
    "roll": lambda surface: {reading.roll for reading in surface.readings},
    "apparatus": lambda surface: {surface.record.apparatus},
    "abrasive": lambda surface: {surface.record.blasted.abrasive},
}
"""Fields of a log row that say by what was used which areas it is about."""


def unfinished_entries(view: JobView) -> Outcome[Finding]:
    """Find every entry that was begun and lacks something, at each area that it may be about; note every copy."""
    every = [(one, place) for one in view.job.unfinished for place in _places(view, one)]
    places = [(one, place) for one, place in every if not one.is_copy]
    findings = [ENTRY_UNFINISHED.found(_facts(one), place) for one, place in places]
    copies = ((one, place) for one, place in every if one.is_copy)
    findings += [
        ENTRY_TWICE.found(EnteredTwice(one.file, one.line, place_name(one.place), one.first or 0), place)
        for one, place in copies
    ]
    todo = tuple(COMPLETE_ENTRY.due(_facts(one), place) for one, place in places)
    return Outcome((), tuple(findings), measure_next=todo)


def stands_unfinished(view: JobView) -> Callable[[Finding], bool]:
    """Return what says of a finding that what it misses on an area stands there, and is unfinished: it is not missing.

    The area waits for it by the entry itself.
    """
    begun = {
        (area, f"{key}-missing")
        for one in view.job.unfinished if one.block == "surfaces" and not one.is_copy
        for area in one.names("area") for key in _begun_in(one)
    }  # fmt: skip
    return lambda finding: (finding.area, finding.code) in begun


def _begun_in(one: UnfinishedEntry) -> Iterator[str]:
    """Yield the blocks of an area's entry in which something is unfinished."""
    if len(one.place) > 2:
        yield str(one.place[2])
    else:
        yield from (name.partition(".")[0] for name in (*one.lacks, *one.unread))


def _facts(one: UnfinishedEntry) -> Unfinished:
    more = len(one.lacks) - _NAMED
    return Unfinished(
        one.file, one.line, place_name(one.place), one.lacks[:_NAMED] or None, more if more > 0 else None,
        one.absent[:_NAMED] or None, one.texts[:_NAMED] or None, one.unread[:_NAMED] or None,
    )  # fmt: skip


def _places(view: JobView, one: UnfinishedEntry) -> list[Place]:
    """Return the areas that an entry may be about; the whole report where it does not tell."""
    areas = set() if one.block == "report" else _areas(view, one)
    return [Place(area) for area in sorted(areas)] if areas else [EVERYWHERE]


def _areas(view: JobView, one: UnfinishedEntry) -> set[str]:
    """Return the areas that an entry names, or those at its place, or where what it names was used."""
    if one.block == "conditions" and not view.places.stated:
        return set()  # whether there are several places is what the readings say, this one too
    stated = one.written.get("areas")
    if isinstance(stated, list) and len(one.names("areas")) < len(stated):
        return set()  # it is about one more, and nobody knows yet which
    named = {*one.names("area"), *one.names("areas")}
    if named or one.block == "surfaces":
        return named if all(map(view.knows, named)) else set()
    place = one.names("place")
    return set(view.places.at(place[0])) if place else _where_used(view, one)


def _where_used(view: JobView, one: UnfinishedEntry) -> set[str]:
    told = [(used, name) for field, used in _USED.items() for name in one.names(field)]
    used_on = ((area.id, surface) for area in view.areas for surface in area.surfaces if told)
    return {area for area, surface in used_on if all(name in used(surface) for used, name in told)}
