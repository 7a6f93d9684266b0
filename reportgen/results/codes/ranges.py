"""Limits and ranges of the profile as facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.results.facts import Amount, Facts

if TYPE_CHECKING:
    from decimal import Decimal


@dataclass(frozen=True, slots=True)
class AtLeast(Facts):
    """The specified minimum."""

    limit: Amount


@dataclass(frozen=True, slots=True)
class AtMost(Facts):
    """The specified maximum."""

    limit: Amount


@dataclass(frozen=True, slots=True)
class Below(Facts):
    """A maximum that does not belong to its range, as that of a comparator's grade."""

    limit: Amount


Limit = AtLeast | AtMost | Below


@dataclass(frozen=True, slots=True)
class Between(Facts):
    """A range to which both ends belong; ``lowest`` is in the unit of ``limit``."""

    lowest: Decimal
    limit: Amount


@dataclass(frozen=True, slots=True)
class BetweenBelow(Facts):
    """A range to which all but its upper end belongs, as that of a comparator's grade."""

    lowest: Decimal
    limit: Amount


Range = Limit | Between | BetweenBelow
