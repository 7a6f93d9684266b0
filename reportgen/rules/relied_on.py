"""Of the rules that an evaluation names, those that something in it came about by: they are printed, and looked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.measurements import MEASUREMENTS
from reportgen.results import Stated
from reportgen.results.codes.rules import OutlierTest

if TYPE_CHECKING:
    from reportgen.results import Evaluation, RuleApplied

_OF_UNCERTAINTY = frozenset({"uncertainty", "budget", "probability-of-conformity"})


def relied_on(evaluation: Evaluation) -> list[RuleApplied]:
    """Return the rules but for those of uncertainty where no result has one, and of outliers where none was sought."""
    results = (one for kind in MEASUREMENTS for one in getattr(evaluation, kind.key))
    budgets = any(area.location_budget or area.budget for area in evaluation.areas)
    budgets = budgets or any(getattr(one, "budgets", ()) for one in results)
    longest = max([0, *(len(area.locations) for area in evaluation.areas)])

    def is_used(rule: RuleApplied) -> bool:
        if isinstance(rule.rule, Stated) and isinstance(rule.rule.facts, OutlierTest):
            return longest >= rule.rule.facts.least
        return budgets or rule.topic not in _OF_UNCERTAINTY

    return [rule for rule in evaluation.rules if is_used(rule)]
