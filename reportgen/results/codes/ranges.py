"""Limits and ranges of the profile as facts."""

from decimal import Decimal

from reportgen.results.facts import Amount, Facts


class AtLeast(Facts):
    """The specified minimum."""

    limit: Amount


class AtMost(Facts):
    """The specified maximum."""

    limit: Amount


class Below(Facts):
    """A maximum that does not belong to its range, as that of a comparator's grade."""

    limit: Amount


Limit = AtLeast | AtMost | Below


class Between(Facts):
    """A range to which both ends belong; ``lowest`` is in the unit of ``limit``."""

    lowest: Decimal
    limit: Amount


class BetweenBelow(Facts):
    """A range to which all but its upper end belongs, as that of a comparator's grade."""

    lowest: Decimal
    limit: Amount


Range = Limit | Between | BetweenBelow
