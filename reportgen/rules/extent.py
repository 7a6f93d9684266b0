"""How far a later blasting goes over an earlier one, by the sizes that their entries state.

No more of the earlier steel is blasted again than the later entries say they cleaned; where one of them does not say,
it goes over all. Where the earlier entry does not say how much it cleaned, it is of the whole area.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.names import spelt_alike
from reportgen.results import Amount
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from reportgen.job import Job, Surface
    from reportgen.results.values import Extent
    from reportgen.rules.scene import SurfaceView

_PLACES: Final = 2


class Reach(NamedTuple):
    """How far what failed reaches in one direction, as measured; and whether the surface has ``no_room`` beyond."""

    far: Amount
    no_room: bool

    @classmethod
    def each_of(cls, extents: Iterable[Extent]) -> list[Reach]:
        """Return those of a walk-out."""
        return [cls(one.reach, one.end is not None) for one in extents]


class Part(NamedTuple):
    """How much of some steel, less than all, was blasted ``again``.

    All is what was ``cleaned``; where that is not stated the ``whole`` of its area, as far as that is known. ``lost``
    is what of that, or beside it, has to be blasted again itself. ``uncounted`` are reports whose rework is not.
    """

    cleaned: Amount | None
    again: Amount
    whole: Amount | None = None
    lost: Amount | None = None
    uncounted: tuple[str, ...] = ()


def part_again(
    cleaned: Sequence[Quantity | None], again: Iterable[Quantity | None], whole: Quantity | None = None,
    lost: Sequence[Quantity] = (),
) -> Part | None:  # fmt: skip
    """Return sizes cleaned, and cleaned again since, where the second is less; None where it covers.

    What was cleaned again covers all where it states no size; it is none of it where nothing was, which is no size.
    ``whole`` is the size of all that an entry without a size may have cleaned, where that is known; ``lost`` are sizes
    that have to be cleaned again besides.
    """
    since, known = _stated(again), _stated(cleaned)
    earlier = known or _stated([whole])
    if since is None or not (cleaned and (*(earlier or ()), *since)):
        return None
    sizes = [*(earlier or ()), *since, *lost]
    unit = sizes[0].unit
    after, since_lost = _sum(since, unit), _sum(lost, unit)
    told = Amount(rounded(since_lost, _written(lost, sizes)), unit) if lost else None
    if earlier is None:
        return Part(None, Amount(rounded(after, max(one.places for one in since)), unit), None, told)
    before = _sum(earlier, unit)
    if after - since_lost + written_finer(sizes, unit) >= before:
        return None
    places, of_before = _written(since, sizes), _written(earlier, sizes)
    while rounded(after, places) == rounded(before, of_before) and after != before:
        places, of_before = places + 1, of_before + 1
    size, repeated = Amount(rounded(before, of_before), unit), Amount(rounded(after, places), unit)
    return Part(size, repeated, None, told) if known else Part(None, repeated, size, told)


def _stated(sizes: Iterable[Quantity | None]) -> list[Quantity] | None:
    """Return sizes, None where one of them is not stated."""
    listed = list(sizes)
    stated = [one for one in listed if one is not None]
    return stated if len(stated) == len(listed) else None


def _sum(sizes: Iterable[Quantity], unit: str) -> Fraction:
    return sum((one.in_unit(unit) for one in sizes), Fraction(0))


def _written(some: Sequence[Quantity], sizes: Sequence[Quantity]) -> int:
    """Return to how many places some of several sizes are written; in several units, the most of all."""
    alike = len({one.unit for one in sizes}) < 2
    return max((one.places for one in (some if alike else sizes)), default=0)


def written_finer(sizes: Sequence[Quantity], unit: str) -> Fraction:
    """Return by how much sizes in several units may differ [unit] and be the same: half the finest digit written."""
    if len({one.unit for one in sizes}) < 2:
        return Fraction(0)
    return min(Quantity(Fraction(1, 2 * 10**one.places), one.unit).in_unit(unit) for one in sizes)


def whole_area(job: Job, area: str, steel: Iterable[Surface]) -> Quantity | None:
    """Return how much of an area some entries may have cleaned that do not say: all but what is stated beside them.

    None where the area has no size.
    """
    plans = (plan for structure in job.project.structures for plan in structure.areas)
    size = next((plan.size for plan in plans if plan.id == area), None)
    if size is None:
        return None
    own = {id(one) for one in steel}
    others = [
        one.cleaned for one in job.day.surfaces
        if one.area == area and id(one) not in own and one.cleaned is not None
        and not one.blasted_again and not one.reinspects
    ]  # fmt: skip
    left = size.exact - _sum(others, size.unit)
    return Quantity(rounded(max(left, Fraction(0)), max(one.places for one in (size, *others))), size.unit)


def bounded_size(bounds: Iterable[Sequence[Reach]]) -> Quantity | None:
    """Return how much steel walk-outs bound, at most: the largest rectangle of each, whichever sides are opposite.

    ``bounds`` are the reaches of each walk-out in its four directions. None where there is none, or one ends at steel
    that conforms in no more than one: that there is no room is then most of what is said of how far it reaches.
    """
    sizes = [_rectangle(reaches) for reaches in bounds]
    if not sizes or any(one.exact == 0 for one in sizes):
        return None
    unit = sizes[0].unit
    return Quantity(rounded(_sum(sizes, unit), max(_PLACES, *(one.places for one in sizes))), unit)


def _rectangle(reaches: Sequence[Reach]) -> Quantity:
    """Return the largest rectangle of four reaches: as the longest and the shortest may be opposite each other.

    Without room the steel reaches beyond what was measured, by less than one interval; that is at most as far as it
    reaches in any direction that ends at steel which conforms.
    """
    unit = reaches[0].far.unit
    known = [(Quantity(one.far.value, one.far.unit).in_unit(unit), one.no_room) for one in reaches]
    bounded = [far for far, no_room in known if not no_room]
    beyond = min(bounded) if len(bounded) > 1 else None
    far = [Fraction(0)] if beyond is None else sorted(far + beyond * no_room for far, no_room in known)
    size = Quantity((far[0] + far[-1]) * sum(far[1:-1], Fraction(0)), f"{unit}2")
    areas = {"cm2": "m2", "mm2": "m2", "in2": "ft2"}
    return size.to(areas.get(size.unit, size.unit))


def says_again(record: Surface, apparatus: str) -> bool:
    """Whether an entry says that it blasted again what an apparatus had: by name, or as a re-inspection."""
    own = spelt_alike(record.apparatus, apparatus)
    return any(spelt_alike(name, apparatus) for name in record.blasted_again) or (own and bool(record.reinspects))


def by_number(record: Surface) -> frozenset[str]:
    """Return the numbers by which alone an entry says what it blasted again: one that names apparatus says it so."""
    return frozenset() if record.blasted_again else frozenset(record.reinspects)


def may_say_again(record: Surface, apparatus: str, there: Iterable[str]) -> bool:
    """Whether an entry may say so: as above, or as a re-inspection of all that was ``there`` with a new apparatus."""
    new = not any(spelt_alike(record.apparatus, name) for name in there)
    return says_again(record, apparatus) or (new and bool(record.reinspects))


def blasts_again(record: Surface, apparatus: str, *, primed: bool = False) -> bool:
    """Whether a later entry may be of what an apparatus had: its own, or one that says so; of ``primed`` steel, and
    where the entry states how much it cleaned, the last alone.

    Nobody blasts primed steel again without a reason, which is stated; and a size is of the next part of an area.
    """
    new = primed or record.cleaned is not None
    return says_again(record, apparatus) or (not new and spelt_alike(record.apparatus, apparatus))


def over(records: Sequence[Surface], names: Sequence[str], about: Collection[str] = ()) -> list[Surface]:
    """Return the entries of what some apparatus had: those that say so; where none does, those that may be.

    One that re-inspects says so of what the nonconformance covers that it names: ``about`` are the numbers of those.
    """
    saying = [
        one for one in records
        if any(says_again(one, name) for name in names) or not by_number(one).isdisjoint(about)
    ]  # fmt: skip
    return saying or [one for one in records if any(blasts_again(one, name) for name in names)]


def not_gone_over(failed: Sequence[SurfaceView], records: Sequence[Surface]) -> tuple[str, ...]:
    """Return the apparatus of steel that no entry may be of."""
    left = (
        each.record.apparatus for each in failed
        if not any(blasts_again(one, each.record.apparatus, primed=each.coated is not None) for one in records)
    )  # fmt: skip
    return tuple(dict.fromkeys(left))


def reworked_by_others(records: Iterable[Surface], there: Sequence[str], about: Collection[str]) -> bool:
    """Whether an entry of an apparatus that was not ``there`` re-inspects: it blasted what others had.

    As far as one of the nonconformances covers that, which are ``about`` it: of the rest nobody knows what it did.
    """
    new = (one for one in records if not any(spelt_alike(one.apparatus, name) for name in there))
    return any(not by_number(one).isdisjoint(about) for one in new)


def later_blastings(surface: SurfaceView, others: Iterable[SurfaceView]) -> list[SurfaceView]:
    """Return the surfaces blasted after one that do not say they are of its steel."""
    after = (one for one in others if one.blasted[0] >= surface.blasted[1])
    return [one for one in after if surface.record.apparatus not in one.record.blasted_again]
