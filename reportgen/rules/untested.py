"""Steel with no test of a kind that the contract limits, although its area has one: which steel a test speaks of.

A test is one of its area, and of its steel as that stood then: blasted by that time and not primed yet. Where a part of
an area was blasted again, it and the rest are each other's neighbours no longer: a test of the one says nothing of the
other. The rest is asked after whether it is entered again or not, where the places of its tests were in that part; not
where it had been primed before that, as its tests spoke of all of it while it could be tested. What an earlier report
tested on steel that is entered again as it was is tested. An area without any test lacks it altogether, which the kind
of test says itself.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.measurements import TESTS
from reportgen.results import Finding, Outcome, Word
from reportgen.results.codes import sampling as codes
from reportgen.results.facts import Amount, Place
from reportgen.rules.extent import may_say_again
from reportgen.rules.owed import blastings, is_all_of
from reportgen.rules.scene import counts
from reportgen.units import rounded

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.measurements import Measurement
    from reportgen.results import Task
    from reportgen.rules.owed import OneBlasting
    from reportgen.rules.scene import AreaView, JobView, SurfaceView
    from reportgen.units import Quantity


class _Test(NamedTuple):
    """A test that counts, by the report and the entry that have it, and from when to when it may have been made."""

    surface: SurfaceView
    location: str
    first: dt.datetime
    last: dt.datetime
    timed: bool

    def is_of(self, surface: SurfaceView) -> bool:
        """Whether it was made when other steel had been blasted and was not primed yet.

        Without a time it is taken to be, where it can be and the one was not blasted after the other was finished.
        """
        return self.may_be_of(surface) and (self.timed or surface.blasted[0] < max(self.surface.blasted))

    def speaks_of(self, surface: SurfaceView) -> bool:
        """Whether it was made on that steel, or is of it."""
        return self.surface is surface or self.is_of(surface)

    def may_be_of(self, surface: SurfaceView) -> bool:
        """Whether it can have been made then."""
        return max(surface.blasted) <= self.last and (surface.coated is None or self.first <= surface.coated)


def untested(view: JobView) -> Outcome[Finding]:
    """Find the steel of each area that no test of the area speaks of, kind by kind."""
    limits = [(kind, getattr(view.specification, kind.limit_key)) for kind in TESTS]
    found = [
        one for kind, limit in limits if limit is not None
        for area in view.areas for one in _of_area(view, area, kind, limit)
    ]  # fmt: skip
    return Outcome(
        (), tuple(finding for finding, _ in found), measure_next=tuple(dict.fromkeys(task for _, task in found))
    )  # fmt: skip


def _of_area(
    view: JobView, area: AreaView, kind: Measurement[Any, Any, Any], limit: Any
) -> Iterator[tuple[Finding, Task]]:  # fmt: skip
    """Yield what of an area is untested, with what to do."""
    place, parts = Place(area.id), list(_parts_untested(view, area, kind, limit))
    for surface in parts:
        facts = codes.Untested(*_steel(view, kind, surface))
        task = codes.TEST_PART.due(facts, place, count=1, apparatus=facts.apparatus)
        yield codes.PART_NOT_TESTED.found(facts, place), task
    untested = list(_untested_in_time(view, area, kind, limit))
    if not parts and not untested:
        yield from _short_of_their_share(view, area, kind, limit)
    for surface, untimed in untested:
        if surface not in parts:
            coated = None if surface.coated is None else view.printed(surface.coated)
            timely = codes.UntestedInTime(*_steel(view, kind, surface), coated, untimed or None)
            task = codes.TEST_IN_TIME.due(timely, place, count=1, apparatus=timely.apparatus)
            yield codes.PART_NOT_TESTED.found(timely, place), task


def _steel(
    view: JobView, kind: Measurement[Any, Any, Any], surface: SurfaceView
) -> tuple[Word, int, str, str, str]:  # fmt: skip
    start, end = (view.printed(instant) for instant in surface.blasted)
    return Word("tests", kind.key), 1, surface.record.apparatus, start, end


def _parts_untested(
    view: JobView, area: AreaView, kind: Measurement[Any, Any, Any], limit: Any
) -> Iterator[SurfaceView]:  # fmt: skip
    """Yield the first surface of each part of an area of which some was blasted again, that has no test."""
    for surfaces in _parts(area):
        if not any(_own_tests(view, surface, kind, limit) for surface in surfaces):
            yield surfaces[0]
    if any(one.record.blasted_again or one.record.reinspects for one in area.surfaces):
        yield from _rests_untested(view, area, kind, limit)


def _rests_untested(
    view: JobView, area: AreaView, kind: Measurement[Any, Any, Any], limit: Any
) -> Iterator[SurfaceView]:  # fmt: skip
    """Yield the rest of steel that is not entered here, where all its tests were at places that are gone."""
    for rest in _rests(view, area.id):
        if rest.surface is not None and rest.is_new_in(view):
            made = [one for one in _made(view, area, kind, limit) if one.speaks_of(rest.surface)]
            if made and all(map(rest.took, made)):
                yield rest.surface


class _Rest(NamedTuple):
    """Steel that stands although a part of it was blasted ``again``, since it was tested, at the ``locations`` there.

    ``surface`` is its last entry in an earlier report, None where this one enters it.
    """

    steel: OneBlasting
    again: list[OneBlasting]
    locations: frozenset[str]
    surface: SurfaceView | None

    def is_new_in(self, view: JobView) -> bool:
        """Whether a report is the first that blasts of it."""
        return any(one.entries[0][0].job is view.job for one in self.again)

    def took(self, test: _Test) -> bool:
        """Whether a test was at one of the locations, or is of what was blasted again."""
        own = any(test.surface.record is one for one in self.steel.records)
        return (own and test.location in self.locations) or any(
            test.surface.record is record for one in self.again for record in one.records
        )


def _rests(view: JobView, area: str) -> Iterator[_Rest]:
    """Yield the steel of an area of which a part was blasted again before it was primed, if it was."""
    known = blastings([*(one.view for one in view.before), view], area)
    for steel in known:
        again = [one for one in known if one.began > steel.began and _may_be_over(one, steel, known)]
        locations = frozenset(name for stated, index in steel.entries for name in _undone(stated, index, view))
        if again and locations and not is_all_of(again, steel) and not _is_primed(steel, again[0].began):
            yield _Rest(steel, again, locations, _before(view, steel))


def _may_be_over(one: OneBlasting, steel: OneBlasting, known: Sequence[OneBlasting]) -> bool:
    there = [each.apparatus for each in known if each.began < one.began]
    return any(may_say_again(record, steel.apparatus, there) for record in one.records)


def _is_primed(steel: OneBlasting, by: dt.datetime) -> bool:
    """Whether steel was primed by a moment, as it was last stated."""
    primed = [stated.at(one.coated) for stated, one in steel.each if one.coated is not None]
    return bool(primed) and primed[-1] <= by


def _undone(stated: JobView, index: int, view: JobView) -> frozenset[str]:
    """Return the locations of an entry that failed and walk-outs bound: no more than that has to be blasted again."""
    if stated is view:
        return view.undone.get(index, frozenset())
    lost = stated.lost.get(index)
    return frozenset() if lost is None or lost.within is None else lost.locations


def _before(view: JobView, steel: OneBlasting) -> SurfaceView | None:
    """Return the last entry of steel that a report does not enter itself."""
    last = steel.entries[-1][0]
    entries = (one for one in last.surfaces if any(one.record is each for each in steel.records))
    return None if last is view else next(entries, None)


def _parts(area: AreaView) -> list[list[SurfaceView]]:
    """Return the parts of an area, where some of it was blasted again: each of those, and what stands as it was."""
    again = [one for one in area.surfaces if one.record.blasted_again]
    named = {name for one in again for name in one.record.blasted_again}
    rest = [one for one in area.surfaces if one not in again and one.record.apparatus in named]
    parts = [*([one] for one in again), *([rest] if rest else [])]
    return parts if again and len(parts) > 1 else []


def _untested_in_time(
    view: JobView, area: AreaView, kind: Measurement[Any, Any, Any], limit: Any
) -> Iterator[tuple[SurfaceView, int]]:  # fmt: skip
    """Yield the surfaces of an area that no test speaks of, with the number of those without a time that may."""
    own = [(surface, _own_tests(view, surface, kind, limit)) for surface in area.surfaces]
    if not any(tests for _, tests in own):
        return
    made = _made(view, area, kind, limit)
    for surface in (one for one, tests in own if not tests and one.record.steel_known):
        if not any(test.is_of(surface) for test in made):
            yield surface, sum(test.may_be_of(surface) for test in made)


def _made(view: JobView, area: AreaView, kind: Measurement[Any, Any, Any], limit: Any) -> list[_Test]:
    """Return the tests of an area, by this report and those before it."""
    before = [
        test for stood in view.before for other in stood.view.areas if other.id == area.id
        for surface in other.surfaces for test in _tests(stood.view, surface, kind, limit)
    ]  # fmt: skip
    return [*before, *(test for surface in area.surfaces for test in _own_tests(view, surface, kind, limit))]


def _short_of_their_share(
    view: JobView, area: AreaView, kind: Measurement[Any, Any, Any], limit: Any
) -> Iterator[tuple[Finding, Task]]:  # fmt: skip
    """Yield steel of an area with fewer tests than its size comes to, with what to do; of such within such, the least.

    Steel shares what was tested while it stood bare together. It needs its share of the tests of the whole, rounded
    down, so that no more are asked for than the contract does.
    """
    whole, told = area.plan.size, list["list[SurfaceView]"]()
    total = None if whole is None else _by_size(area, kind, limit, whole)
    if whole is None or total is None:
        return
    made = _made(view, area, kind, limit)
    for steel in sorted(_bare_together(area), key=len):
        size = sum((one.in_unit(whole.unit) for one in _sizes(steel)), Fraction(0))
        required = math.floor(total * size / whole.exact)
        speak = len({area.located(one.surface, one.location) for one in made if any(map(one.speaks_of, steel))})
        if speak < required and not any(set(map(id, less)) <= set(map(id, steel)) for less in told):
            told.append(steel)
            printed = Amount(rounded(size, max(one.places for one in _sizes(steel))), whole.unit)
            facts = codes.TooFewOfIt(
                Word("tests", kind.key), required - speak, speak, required, printed, *_blasting(view, steel)
            )
            task = codes.TEST_MORE.due(facts, Place(area.id), count=facts.count, apparatus=facts.apparatus)
            yield codes.PART_NOT_TESTED.found(facts, Place(area.id)), task


def _blasting(view: JobView, steel: Sequence[SurfaceView]) -> tuple[str, str, str]:
    """Return by what some steel was blasted, from when to when."""
    names = ", ".join(dict.fromkeys(one.record.apparatus for one in steel))
    start, end = min(one.blasted[0] for one in steel), max(max(one.blasted) for one in steel)
    return names, view.printed(start), view.printed(end)


def _by_size(area: AreaView, kind: Measurement[Any, Any, Any], limit: Any, whole: Quantity) -> int | None:
    """Return how many tests an area needs by its size; None where they are not counted so, or parts were redone."""
    if kind.by_size is None or not whole.exact:
        return None
    again = any(one.record.blasted_again or one.record.reinspects for one in area.surfaces)
    return None if again else kind.by_size(limit, whole)


def _sizes(steel: Iterable[SurfaceView]) -> list[Quantity]:
    return [one.record.cleaned for one in steel if one.record.cleaned is not None]


def _bare_together(area: AreaView) -> Iterator[list[SurfaceView]]:
    """Yield what of the steel of an area began to stand bare no earlier than some of it, and was primed no later.

    Of what does not say how much was cleaned nothing is known; of all of it the area says how many tests it needs.
    """
    sized = [one for one in area.surfaces if one.record.cleaned is not None and one.record.steel_known]
    for bare, primed in itertools.product((max(one.blasted) for one in sized), {one.coated for one in sized}):
        steel = [
            one for one in sized
            if max(one.blasted) >= bare and (primed is None or (one.coated is not None and one.coated <= primed))
        ]  # fmt: skip
        if steel and len(steel) < len(area.surfaces):
            yield steel


def _own_tests(
    view: JobView, surface: SurfaceView, kind: Measurement[Any, Any, Any], limit: Any
) -> list[_Test]:  # fmt: skip
    """Return the tests on a surface, those of earlier reports too; not where it was blasted again since."""
    here = [(view, surface), *((stood.view, one) for stood in view.before for one in stood.entries(surface))]
    made = (test for each, one in here for test in _tests(each, one, kind, limit))
    rests = _rests(view, surface.record.area) if surface.undone or len(here) > 1 else ()
    gone = [one.locations for one in rests if any(surface.record is each for each in one.steel.records)]
    return [test for test in made if not any(test.location in each for each in gone)]


def _tests(
    view: JobView, surface: SurfaceView, kind: Measurement[Any, Any, Any], limit: Any
) -> Iterator[_Test]:  # fmt: skip
    """Yield the tests on a surface after its blasting; one that expresses something else than the limit is none."""
    for test in kind.entries_on(surface.record):
        if counts(view, surface, test.time) and (kind.speaks_of is None or kind.speaks_of(limit, test)):
            yield _Test(surface, test.location, *_when(view, surface, test), timed=test.time is not None)


def _when(view: JobView, surface: SurfaceView, test: Any) -> tuple[dt.datetime, dt.datetime]:
    """Return from when to when a test may have been made: without a time after the blasting, until the primer."""
    if test.time is not None:
        return (view.at(test.time),) * 2
    end = max(surface.blasted)
    return end, surface.coated or max(view.shift[1], end)
