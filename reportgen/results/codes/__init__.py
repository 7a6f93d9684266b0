"""What the rules on the profile and on the day can state; each kind of measurement declares its own in its folder."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.results.codes import derivation, equipment, rules
from reportgen.results.codes.table import FINDING_CODES, FindingCode

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results.statements import Statement

STATEMENTS: Final[tuple[Statement, ...]] = (
    *equipment.STATEMENTS, *rules.STATEMENTS, *derivation.STATEMENTS,
)  # fmt: skip
WORDS: Final[Mapping[str, tuple[str, ...]]] = {**equipment.WORDS, **rules.WORDS, **derivation.WORDS}
"""Closed lists of words, by their group in the catalogues."""

__all__ = ["FINDING_CODES", "STATEMENTS", "WORDS", "FindingCode"]
