"""A job becomes an evaluation: results and findings, each with its rule. No files, no clock, no layout.

Every rule file has one shape: it takes the job (as a ``JobView``), and yields an ``Outcome`` of results, findings,
what to measure next, and what it could not evaluate. ``release`` draws the conclusion.
"""

from reportgen.rules.evaluate import Kept, evaluate
from reportgen.rules.explain import explain_area

__all__ = ["Kept", "evaluate", "explain_area"]
