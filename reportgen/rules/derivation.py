"""Derivation of what was measured around the profile of an area: conditions, surface, contamination, time to coat."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE
from reportgen.references import citation
from reportgen.results import DerivationStep

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.results import Evaluation
    from reportgen.rules.scene import JobView


def surroundings(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    """Yield the steps of everything but the profile that concerns an area."""
    yield from _conditions(view, evaluation, area)
    document = view.specification.document
    yield from _measured(view, evaluation, area)
    for coat in evaluation.coating_times:
        if coat.area == area:
            rule = f"at most {_or_nothing(coat.limit, 'h')} from the end of blasting"
            yield DerivationStep("time to coat", (_or_nothing(coat.hours, "h"),), rule, document, coat.verdict)


def _or_nothing(value: object, unit: str) -> str:
    return "not stated" if value is None else f"{value} {unit}"


def _conditions(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    source = citation("wmo-8-annex-4b").text
    labels = {window.label for window in view.windows if window.area == area}
    for condition in evaluation.conditions:
        own = [label for label in condition.during if label in labels]
        if own:
            inputs = (f"air {condition.air} °C", f"humidity {condition.humidity} %", f"steel {condition.steel} °C")
            unit = "°F" if condition.margin_unit == "delta_degF" else "°C"
            value = f"dew point {condition.dew_point} °C, margin {condition.margin} {unit}: {condition.verdict}"
            what = f"conditions at {condition.time}" + (f", {condition.place}" if condition.place else "")
            yield DerivationStep(what, inputs, f"limits apply to {', '.join(own)}", source, value)


def _measured(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    """Yield a step for each result of the kinds of the registry, with the test that it came from."""
    records = [surface.record for one in view.areas if one.id == area for surface in one.surfaces]
    for kind in MEASUREMENTS:
        lacking = (None,) if kind in OF_A_SURFACE else ()
        tests = [test for record in records for test in kind.entries_on(record) or lacking]
        results = [one for one in getattr(evaluation, kind.key) if one.area == area]
        for test, result in zip(tests, results, strict=True):
            yield kind.derived(test, result, view.specification.document)
