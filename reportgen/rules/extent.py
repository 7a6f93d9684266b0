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
    """Whether a later entry may be of what an apparatus had: its own, or one that says so; steel ``primed``, the last.

    Nobody blasts primed steel again without a reason, which is stated.
    """
    return says_again(record, apparatus) or (not primed and spelt_alike(record.apparatus, apparatus))
