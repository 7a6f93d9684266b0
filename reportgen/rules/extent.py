"""How far a later blasting goes over an earlier one, by the sizes that their entries state.

Where both say how much was cleaned, no more of the earlier steel is blasted again than the later entries cleaned. Where
one does not, its size is not known, and it goes over all.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from reportgen.names import spelt_alike
from reportgen.results import Amount
from reportgen.units import rounded

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.job import Surface
    from reportgen.rules.scene import SurfaceView
    from reportgen.units import Quantity


class Part(NamedTuple):
    """What was cleaned, and how much of it, less than that, was blasted again."""

    cleaned: Amount
    again: Amount


def part_again(cleaned: Sequence[Quantity | None], again: Iterable[Quantity | None]) -> Part | None:
    """Return sizes cleaned, and cleaned again since, where the second is less; None where it covers, or is not known.

    It is none of it where nothing was blasted again, which is no size.
    """
    since = list(again)
    known = [one for one in cleaned if one is not None]
    if not known or len(known) < len(cleaned) or None in since:
        return None
    unit = known[0].unit
    before = sum((one.in_unit(unit) for one in known), Fraction(0))
    after = sum((one.in_unit(unit) for one in since if one is not None), Fraction(0))
    if after >= before:
        return None
    places = max(one.places for one in (*known, *(one for one in since if one is not None)))
    return Part(Amount(rounded(before, places), unit), Amount(rounded(after, places), unit))


def says_again(record: Surface, apparatus: str) -> bool:
    """Whether an entry says that it blasted again what an apparatus had: by name, or as a re-inspection."""
    own = spelt_alike(record.apparatus, apparatus)
    return any(spelt_alike(name, apparatus) for name in record.blasted_again) or (own and bool(record.reinspects))


def blasts_again(record: Surface, apparatus: str, *, primed: bool = False) -> bool:
    """Whether a later entry may be of what an apparatus had: its own, or one that says so; of ``primed`` steel, and
    where the entry states how much it cleaned, the last alone.

    Nobody blasts primed steel again without a reason, which is stated; and a size is of the next part of an area.
    """
    new = primed or record.cleaned is not None
    return says_again(record, apparatus) or (not new and spelt_alike(record.apparatus, apparatus))


def over(records: Sequence[Surface], names: Sequence[str], *, said: bool = False) -> list[Surface]:
    """Return the entries of what some apparatus had: those that say so; without ``said``, where none does, those that
    may be.
    """
    saying = [one for one in records if any(says_again(one, name) for name in names) or (one.reinspects and not said)]
    may = (one for one in records if any(blasts_again(one, name) for name in names))
    return saying if saying or said else list(may)


def not_gone_over(failed: Sequence[SurfaceView], records: Sequence[Surface]) -> tuple[str, ...]:
    """Return the apparatus of steel that no entry may be of."""
    left = (
        each.record.apparatus for each in failed
        if not any(blasts_again(one, each.record.apparatus, primed=each.coated is not None) for one in records)
    )  # fmt: skip
    return tuple(dict.fromkeys(left))


def reworked_by_others(records: Iterable[Surface], there: Sequence[str]) -> bool:
    """Whether an entry of an apparatus that was not ``there`` re-inspects: it blasted what others had."""
    new = (one for one in records if not any(spelt_alike(one.apparatus, name) for name in there))
    return any(one.reinspects for one in new)


def later_blastings(surface: SurfaceView, others: Iterable[SurfaceView]) -> list[SurfaceView]:
    """Return the surfaces blasted after one that do not say they are of its steel."""
    after = (one for one in others if one.blasted[0] >= surface.blasted[1])
    return [one for one in after if surface.record.apparatus not in one.record.blasted_again]
