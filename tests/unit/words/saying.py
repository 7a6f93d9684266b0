"""Findings as a check tells them."""

from reportgen.rules.standing import causes
from reportgen.words.standing import StandingText


def told(findings):
    """An entry for each cause."""
    return [StandingText().cause(one) for one in causes(enumerate(findings))]
