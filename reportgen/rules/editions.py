"""Editions of the rules: every formula and table value that was ever corrected, as it was and as it is.

A report is evaluated again under the edition that it was issued under, in thirty years too. So an old formula is
frozen, and a rule asks its edition for the formula; it never asks which edition it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.metrology.contamination import salt_density

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Mapping

    from reportgen.units import Quantity


@dataclass(frozen=True, slots=True)
class Edition:
    """The rules of one edition, as far as they differ between editions or show how they would.

    ``succeeded`` is the date on which the release with the next edition came out; None for the newest.
    """

    number: int
    salt_density: Callable[[Quantity, Quantity, Quantity, Quantity], Quantity]
    """Of sample, blank, volume and area, as ``metrology.contamination.salt_density``."""
    succeeded: dt.date | None = None


FIRST: Final = Edition(1, salt_density=salt_density)

EDITIONS: Final[Mapping[int, Edition]] = {one.number: one for one in (FIRST,)}
"""Every edition there was, by its number; each is made of the one before with ``replace``."""
RULES_EDITION: Final = max(EDITIONS)
"""Number of the newest: rises when any input could get another number, verdict, finding or decision."""
NEWEST: Final = EDITIONS[RULES_EDITION]
