"""Derivation of what was measured around the profile of an area: conditions, surface, contamination, time to coat."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.measurements import LOGS, TESTS
from reportgen.references import citation
from reportgen.results import Amount, DerivationStep, Place, Stated
from reportgen.results.codes import coating as codes
from reportgen.results.codes.coating import TimeAllowed, TimeTaken
from reportgen.results.facts import NOTHING
from reportgen.rules.outcome import shown
from reportgen.rules.salts import CHLORIDE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.job import SaltTest
    from reportgen.results import CoatingTime, Evaluation
    from reportgen.rules.scene import JobView


def surroundings(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    """Yield the steps of everything but the profile that concerns an area."""
    yield from _logged(evaluation, area)
    document = view.specification.document
    for clean in evaluation.cleanliness:
        if clean.area == area:
            limit = "" if clean.staining_limit is None else f", staining at most {clean.staining_limit} %"
            inputs = (f"observed {clean.observed or 'nothing'}", f"staining {_or_nothing(clean.staining, '%')}")
            yield DerivationStep("cleanliness", inputs, f"grade {clean.specified}{limit}", document, clean.verdict)
    yield from _contamination(view, evaluation, area)
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


def _or_nothing(value: object, unit: str) -> str:
    return "not stated" if value is None else f"{value} {unit}"


def _logged(evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    for kind in LOGS:
        if kind.derived is not None:
            steps = (kind.derived(one, area) for one in getattr(evaluation, kind.key))
            yield from (step for step in steps if step is not None)


def _measured(test: SaltTest) -> tuple[str, ...]:
    """Return what was measured in a salt test, as written."""
    names = ("chloride", "sample", "blank", "volume", "area")
    return tuple(f"{name} {shown(value)}" for name in names if (value := getattr(test, name)) is not None)


def _contamination(view: JobView, evaluation: Evaluation, area: str) -> Iterator[DerivationStep]:
    tests = [test for one in view.areas if one.id == area for own in one.surfaces for test in own.record.salts]
    judged = [salt for salt in evaluation.salts if salt.area == area]
    for test, salt in zip(tests, judged, strict=True):
        source = citation("salt-kinds" if salt.expressed_as == CHLORIDE else "iso-8502-9").text
        precision = "" if salt.precision is None else f" ± {salt.precision}"
        value = f"{salt.density}{precision} mg/m²: {salt.verdict}"
        yield DerivationStep(f"salts at location {salt.location}", _measured(test), salt.expressed_as, source, value)
    for kind in TESTS:
        for one in getattr(evaluation, kind.key):
            if one.area == area:
                facts, place = kind.result_facts(one), Place(one.area, one.location)
                what = Stated("measured", kind.key, facts, place)
                inputs = (Stated("result", kind.key, facts, place),)
                yield DerivationStep(what, inputs, view.specification.document, citation(kind.source).text, one.verdict)
