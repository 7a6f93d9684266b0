"""What of some steel is still to be blasted again, after the blastings that followed it, by the sizes entered.

The blastings of an area are taken in the order of time, each once, whichever reports enter it. One that goes over what
failed counts with its size less what of that has to be blasted again itself: what failed in it, nobody measured, an
earlier report left on hold, or has stood bare too long. As nobody can tell which part of an area a later one is of, it
serves first what failed last; so what fails beside, on steel that the same later blastings may be of, is to be blasted
again with it.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.names import spelling, spelt_alike
from reportgen.rules.deciding import ACCEPTING, decided_by_barred
from reportgen.rules.extent import by_number, over, part_again, reworked_by_others, says_again, whole_area
from reportgen.units import later

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from reportgen.job import Job, Nonconformance, Surface
    from reportgen.rules.extent import Part
    from reportgen.rules.scene import JobView
    from reportgen.units import Quantity

    _Key = tuple[str, dt.datetime, dt.datetime]


_MOST: Final = 8
"""Of how many other apparatus every choice is looked at."""


class Lost(NamedTuple):
    """What a report finds on the steel of one entry by itself, that keeps it from counting as good.

    ``failed`` are codes of what ends with a new blasting alone, at ``locations`` as far as walk-outs have it
    ``bounded``, if they do; ``failing_tests`` those of tests that failed, each with its series; ``held`` those of what
    holds it. ``measured`` is whether its profile was, ``tested`` names the series of tests that it has.
    """

    failed: frozenset[str] = frozenset()
    locations: frozenset[str] = frozenset()
    bounded: Quantity | None = None
    failing_tests: frozenset[tuple[str, str]] = frozenset()
    held: frozenset[str] = frozenset()
    measured: bool = True
    tested: frozenset[str] = frozenset()

    @property
    def within(self) -> Quantity | None:
        """How much walk-outs bound, where that is all that failed; None where they do not, or more failed."""
        return self.bounded if self.failed and not self.failing_tests else None


class OneBlasting(NamedTuple):
    """One blasting of an area, with the entries of it in the order of their reports, each with its report."""

    apparatus: str
    began: dt.datetime
    ended: dt.datetime
    entries: tuple[tuple[JobView, int], ...]

    @property
    def each(self) -> list[tuple[JobView, Surface]]:
        """Its entries, each with its report."""
        return [(view, view.job.day.surfaces[index]) for view, index in self.entries]

    @property
    def records(self) -> list[Surface]:
        """Its entries."""
        return [record for _, record in self.each]

    @property
    def cleaned(self) -> Quantity | None:
        """How much it cleaned, as last stated."""
        return next((one.cleaned for one in reversed(self.records) if one.cleaned is not None), None)


def blastings(views: Iterable[JobView], area: str) -> list[OneBlasting]:
    """Return the blastings of an area that reports enter, in the order of time."""
    found: dict[_Key, OneBlasting] = {}
    for view in views:
        for index, one in enumerate(view.job.day.surfaces):
            if one.area == area:
                key = spelling(one.apparatus) or one.apparatus, view.at(one.blasted.start), view.at(one.blasted.end)
                before = found[key].entries if key in found else ()
                found[key] = OneBlasting(one.apparatus, *key[1:], (*before, (view, index)))
    return sorted(found.values(), key=lambda one: one.began)


def size_of(steel: OneBlasting) -> Quantity | None:
    """Return how much a blasting cleaned, as far as is known."""
    return steel.cleaned or whole_area(steel.entries[0][0].job, steel.records[0].area, steel.records)


def is_all_of(again: Sequence[OneBlasting], steel: OneBlasting) -> bool:
    """Whether some blastings are of all of some steel that they go over, by the sizes."""
    return bool(again) and part_again([size_of(steel)], [one.cleaned for one in again]) is None


class Asker(NamedTuple):
    """Who asks what is left of some steel: the report ``view``, of what the report of the job ``found`` has.

    In that one only `blasted_again` says that an entry goes over another. ``whose`` is the report whose finding it is
    to undo: what another reworks, whose inspector may not undo it, counts neither as blasted again nor as any worse
    than it was. ``here`` are the entries of ``view`` that may without a word, where none of them says so; ``about`` are
    the numbers by which one that re-inspects says so.
    """

    view: JobView
    found: Job
    whose: Job | None = None
    here: Sequence[Surface] = ()
    about: Collection[str] = ()

    def may_undo(self, reports: Iterable[Job]) -> bool:
        """Whether one of some reports may undo what is asked of."""
        return self.whose is None or any(map(self.whose.may_be_undone_in, reports))


def left_over(
    sizes: Sequence[Quantity | None], whole: Quantity | None, names: Sequence[str], after: Sequence[OneBlasting],
    asked: Asker, beside: Sequence[OneBlasting] = (),
) -> Part | None:  # fmt: skip
    """Return what of some steel is not blasted again, as ``part_again`` does; None where it is.

    Where later blastings are of several apparatus at once, what failed of those counts too: whichever of them are taken
    together, no less was blasted again than failed of them. Whoever shares out what was blasted again among what failed
    can then give each its own (Hall 1935; with sizes the theorem of maximal flow, Ford and Fulkerson 1956).

    Parameters:
        sizes: of the steel, None where it is all that its entry cleaned, and that does not say.
        whole: the most that this may be, if known.
        names: the apparatus that had blasted it.
        after: the blastings of its area that began later, in the order of time.
        asked: who asks.
        beside: the blastings of its area at the same time.
    """
    for several in _together(names, after, asked, beside):
        others = [one for one in beside if one.apparatus in several]
        told = _asked_with(several, [*others, *after], asked)
        counted = _counted(several, after, told)
        failed = _with_failed(sizes, whole, others, asked.view)
        part = part_again(failed, [one.cleaned for one in counted.over], whole, counted.lost)
        if part is not None:
            return part._replace(uncounted=tuple(dict.fromkeys(counted.uncounted)))
    return None


def _with_failed(
    sizes: Sequence[Quantity | None], whole: Quantity | None, others: Sequence[OneBlasting], view: JobView
) -> Sequence[Quantity | None]:  # fmt: skip
    """Return sizes of some steel, and of what failed on others; as they are where nothing did."""
    failed = [size for one in others if (size := _lost(one, view, rework=False)) is not None]
    if not failed:
        return sizes
    return [*([whole] if None in sizes and whole is not None else sizes), *failed]


def is_gone_over(apparatus: str, after: Sequence[OneBlasting], asked: Asker) -> bool:
    """Whether a later blasting is of what an apparatus had."""
    return bool(_counted([apparatus], after, asked).over)


def _together(
    names: Sequence[str], after: Sequence[OneBlasting], asked: Asker, beside: Sequence[OneBlasting]
) -> Iterator[list[str]]:  # fmt: skip
    """Yield the apparatus of some steel with each choice of those that share a blasting with them, or with such.

    The fewest first. Of more than ``_MOST`` others, whom nobody has on one area, only all together.
    """
    known = list(dict.fromkeys(names))
    while True:
        over = _counted(known, after, _asked_with(known, [*beside, *after], asked)).over
        found = [*known, *(name for one in over for record in one.records for name in record.blasted_again)]
        found += [
            steel.apparatus for steel in (*beside, *after) if any(_re_inspects(one, steel, asked) for one in over)
        ]
        if len(set(found)) == len(known):
            break
        known = list(dict.fromkeys(found))
    others = known[len(dict.fromkeys(names)) :]
    counts = range(len(others) + 1) if len(others) <= _MOST else (0, len(others))
    yield from ([*names, *some] for count in counts for some in combinations(others, count))


def _re_inspects(one: OneBlasting, steel: OneBlasting, asked: Asker) -> bool:
    """Whether a later blasting is of what failed of some steel by the number alone that covers that."""
    numbers = {name for record in one.records for name in by_number(record)}
    return one.began >= steel.ended and not numbers.isdisjoint(_numbers(steel, asked))


def _asked_with(names: Sequence[str], steel: Iterable[OneBlasting], asked: Asker) -> Asker:
    """Return who asks, with the numbers that cover what failed of the steel of some apparatus."""
    more = (name for one in steel if one.apparatus in names for name in _numbers(one, asked))
    return asked._replace(about={*asked.about, *more})


def _numbers(steel: OneBlasting, asked: Asker) -> set[str]:
    """Return the numbers of the nonconformances of any report on what failed of some steel."""
    found = [view.lost[index] for view, index in steel.entries if index in view.lost]
    failed = {code for lost in found for code in (*lost.failed, *(name for name, _ in lost.failing_tests))}
    if _lost(steel, asked.view, rework=False) is None:
        return set()
    jobs = (each.job for each in (*(before.view for before in asked.view.before), asked.view))
    raised = (one for job in jobs for one in job.day.nonconformances)
    area = steel.records[0].area
    return {one.id for one in raised if one.area in (None, area) and not failed.isdisjoint(one.findings)}


class _Counted(NamedTuple):
    over: list[OneBlasting]
    lost: list[Quantity]
    uncounted: list[str]


def _counted(names: Sequence[str], after: Sequence[OneBlasting], asked: Asker) -> _Counted:
    """Return the blastings that go over the steel of some apparatus, and the sizes of what was lost since.

    Those of reports whose inspector may not undo what is asked of count as neither, and are named.
    """
    known, counted = list(names), _Counted([], [], [])
    for one in after:
        by = [view.job for view, record in one.each if _goes_over(record, view, known, asked)]
        if by and not asked.may_undo(by):
            counted.uncounted.append(by[0].day.report.number)
            continue
        lost = _lost(one, asked.view, rework=bool(by))
        if by:
            counted.over.append(one)
        if lost is not None and (by or any(spelt_alike(one.apparatus, name) for name in known)):
            counted.lost.append(lost)
            known.append(one.apparatus)
    return counted


def _goes_over(record: Surface, view: JobView, names: Sequence[str], asked: Asker) -> bool:
    """Whether an entry is of what some apparatus had: as it says, or as none of those that may be does."""
    if view.job is asked.found:
        return any(name in record.blasted_again for name in names)
    if any(record is one for one in asked.here):
        return any(record is one for one in over(asked.here, names, asked.about))
    there = [one.apparatus for one in asked.found.day.surfaces if one.area == record.area]
    return any(says_again(record, name) for name in names) or reworked_by_others([record], there, asked.about)


def _lost(one: OneBlasting, view: JobView, *, rework: bool) -> Quantity | None:
    """Return how much of what a blasting cleaned is to be blasted again; None for nothing, and for no stated size.

    What nobody measured, or is held, is lost to a ``rework`` alone: beside, it is asked for by itself.
    """
    size = one.cleaned
    found = [(each, each.lost[index]) for each, index in one.entries if index in each.lost]
    if size is None or not found:
        return None
    accepted = frozenset(_accepted(one, view))
    failed = [lost for _, lost in found if lost.failed - accepted]
    if _tests_fail(found, accepted) or (rework and _is_open(one, found, view, accepted)):
        return size
    bounds = [size if lost.bounded is None else lost.bounded for lost in failed]
    most = max(bounds, key=lambda each: each.in_unit(size.unit), default=None)
    return None if most is None else min(size, most, key=lambda each: each.in_unit(size.unit))


def _tests_fail(found: Sequence[tuple[JobView, Lost]], accepted: frozenset[str]) -> bool:
    """Whether a test failed, and none of its kind was made since by one who may undo that: the last is as it is."""
    last: dict[str, tuple[JobView, set[str]]] = {}
    for view, lost in found:
        for series in lost.tested:
            before, failing = last.get(series, (view, set()))
            if not failing or before.job.may_be_undone_in(view.job):
                last[series] = view, {code for code, of in lost.failing_tests if of == series}
    return any(codes - accepted for _, codes in last.values())


def _is_open(
    one: OneBlasting, found: Sequence[tuple[JobView, Lost]], view: JobView, accepted: frozenset[str]
) -> bool:  # fmt: skip
    """Whether no report measured a blasting, the last one before left it on hold, or it has stood bare too long."""
    last, lost = found[-1]
    held = last is not view and bool(lost.held - accepted)
    return held or not any(each.measured for _, each in found) or _stood_bare(one, view)


def _accepted(one: OneBlasting, view: JobView) -> Iterator[str]:
    """Yield the codes that a decision, by one whose it is, lets stand on what a blasting cleaned.

    It is on what a report of the blasting found: raised by that, or later by one that finds nothing of the kind itself.
    As with any nonconformance its last report says how it stands, and one number on two areas is two of them.
    """
    own, area = {each.job.day.report.number for each, _ in one.entries}, one.records[-1].area
    known: dict[tuple[str, str | None], tuple[Nonconformance, Job, str]] = {}
    reports = {each.job.day.report.number: each for each in (*(each.view for each in view.before), view)}
    for number, each in reports.items():
        for raised in each.job.day.nonconformances:
            key = raised.id, raised.area
            first = known[key][2] if key in known else number
            known[key] = raised, each.job, raised.raised_in or first
    since = list(reports)[min(list(reports).index(number) for number in own if number in reports) :]
    for raised, job, by in known.values():
        closed = raised.status == "closed" and raised.disposition in ACCEPTING and raised.area in (None, area)
        if closed and by in since and decided_by_barred(job, raised) is None:
            yield from (code for code in raised.findings if by in own or not _finds(reports[by], code, area))


def _finds(view: JobView, code: str, area: str) -> bool:
    """Whether a report finds something of a kind on an area itself."""
    found = (lost for index, lost in view.lost.items() if view.job.day.surfaces[index].area == area)
    return any(code in lost.failed | lost.held | {name for name, _ in lost.failing_tests} for lost in found)


def _stood_bare(one: OneBlasting, view: JobView) -> bool:
    """Whether no report says that steel was primed, and the time for that has passed."""
    stated = view.specification.time_to_coat
    bare = all(record.coated is None for record in one.records)
    return stated is not None and bare and later(one.ended, stated.maximum) < view.moment
