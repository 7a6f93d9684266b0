"""What the rules on the profile and on the day can state; each kind of measurement declares its own in its folder."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.results.codes import coating, comparator, doubts, order
from reportgen.results.codes.table import FINDING_CODES, FindingCode

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results.statements import Statement

STATEMENTS: Final[tuple[Statement, ...]] = (
    *comparator.STATEMENTS,
    *coating.STATEMENTS,
    *order.STATEMENTS,
    *doubts.STATEMENTS,
)
WORDS: Final[Mapping[str, tuple[str, ...]]] = {**comparator.WORDS, **order.WORDS, **doubts.WORDS}
"""The closed lists from which facts take a word, by group."""

__all__ = ["FINDING_CODES", "STATEMENTS", "WORDS", "FindingCode"]
