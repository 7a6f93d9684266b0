"""Derivation of what was measured around the profile of an area: conditions, surface, contamination, time to coat."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.measurements import LOGS, MEASUREMENTS, OF_A_SURFACE
from reportgen.references import citation
from reportgen.results import Amount, DerivationStep, Stated
from reportgen.results.codes import coating as codes
from reportgen.results.codes import derivation as steps
from reportgen.results.codes.coating import TimeAllowed, TimeTaken
from reportgen.results.facts import NOTHING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.results import CoatingTime, Evaluation, ResultBudget
    from reportgen.rules.scene import JobView


def surroundings(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    """Yield the steps of everything but the profile that concerns an area."""
    yield from _logged(evaluation, area)
    document = view.specification.document
    yield from _measured(view, evaluation, area)
    for coat in evaluation.coating_times:
        if coat.area == area:
            yield _coating(coat, document)


def _coating(coat: CoatingTime, document: str) -> DerivationStep:
    taken = (
        Stated("result", "not-coated", NOTHING)
        if coat.hours is None
        else Stated("result", "time-to-coat", TimeTaken(Amount(coat.hours, "h")))
    )
    rule = (
        Stated("left-out", codes.WITHOUT_LIMIT.name, NOTHING)
        if coat.limit is None
        else Stated("limit", "time-to-coat-derived", TimeAllowed(Amount(coat.limit, "h")))
    )
    return DerivationStep(Stated("measured", "time-to-coat", NOTHING), (taken,), rule, document, coat.verdict)


def _logged(evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    for kind in LOGS:
        if kind.bears_on is not None:
            for result in getattr(evaluation, kind.key):
                step = kind.bears_on(result, area)
                if step is not None:
                    yield step
                    yield from _budgets(result)


def _measured(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    """Yield a step for each result of the kinds of the registry, with the test that it came from."""
    records = [surface.record for one in view.areas if one.id == area for surface in one.surfaces]
    for kind in MEASUREMENTS:
        if kind.derived is None:
            continue
        lacking = (None,) if kind in OF_A_SURFACE else ()
        tests = [test for record in records for test in kind.entries_on(record) or lacking]
        results = [one for one in getattr(evaluation, kind.key) if one.area == area]
        for test, result in zip(tests, results, strict=True):
            yield kind.derived(test, result, view.specification.document)
            yield from _budgets(result)


def _budgets(result: Any) -> Iterator[DerivationStep]:
    """Yield a step for each uncertainty of a result whose budget stands with it."""
    source, rule = citation("jcgm-100").text, steps.ROOT_SUM.of(NOTHING)
    budgets: tuple[ResultBudget, ...] = getattr(result, "budgets", ())
    for one in budgets:
        inputs = tuple(map(steps.BUDGET_INPUT.of, one.lines))
        what = steps.OF_RESULT.of(steps.OfResult(one.quantity))
        came = steps.Combined(
            Amount(one.standard_uncertainty, one.unit), Amount(one.expanded_uncertainty, one.unit),
            one.coverage_factor, one.effective_degrees_of_freedom,
        )  # fmt: skip
        yield DerivationStep(what, inputs, rule, source, steps.RESULT_EXPANDED.of(came))
