"""What the rules on the profile and on the day can state; each kind of measurement declares its own in its folder."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, get_args

from reportgen.results.codes import (
    blasted_again,
    coating,
    comparator,
    derivation,
    doubts,
    equipment,
    follow_up,
    order,
    profile,
    rules,
    sampling,
)
from reportgen.results.values import Verdict

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results.statements import Statement

STATEMENTS: Final[tuple[Statement, ...]] = (
    *profile.STATEMENTS, *sampling.STATEMENTS, *comparator.STATEMENTS, *coating.STATEMENTS, *order.STATEMENTS,
    *doubts.STATEMENTS, *blasted_again.STATEMENTS, *follow_up.STATEMENTS,
    *equipment.STATEMENTS, *rules.STATEMENTS, *derivation.STATEMENTS,
)  # fmt: skip
WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    **profile.WORDS, **sampling.WORDS, **order.WORDS, **doubts.WORDS, **follow_up.WORDS, **equipment.WORDS,
    **rules.WORDS, **derivation.WORDS,
    "verdict": get_args(Verdict),
}  # fmt: skip
"""Closed lists of words, by their group; each language has a text for every one."""

__all__ = ["STATEMENTS", "WORDS"]
