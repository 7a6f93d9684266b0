"""What the rules on the profile and on the day can state; each kind of measurement declares its own in its folder."""

from collections.abc import Mapping
from typing import Any, Final

from reportgen.results import values
from reportgen.results.codes import (
    blasted_again,
    coating,
    comparator,
    comparison,
    derivation,
    doubts,
    equipment,
    follow_up,
    order,
    profile,
    records,
    rules,
    sampling,
)
from reportgen.results.statements import Statement, statements_of, words_of

_DECLARING: Final = (
    profile, sampling, comparator, comparison, coating, order, doubts, blasted_again, follow_up, equipment, records,
    rules, derivation,
)  # fmt: skip
STATEMENTS: Final[tuple[Statement[Any], ...]] = tuple(one for module in _DECLARING for one in statements_of(module))
WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    group: words for module in (values, *_DECLARING) for group, words in words_of(module).items()
}
"""Closed lists of words, by their group; each language has a text for every one."""

__all__ = ["STATEMENTS", "WORDS"]
