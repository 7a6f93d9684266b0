"""Every rule that was applied, with its source, edition and clause, and how far the source was read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.errors import UsageError
from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE, TESTS
from reportgen.metrology.statistics import LEAST_FOR_OUTLIER
from reportgen.references import citation, method_rule
from reportgen.results import Amount, RuleApplied, Stated
from reportgen.results.codes.coating import TimeAllowed
from reportgen.results.facts import NOTHING
from reportgen.rules.outcome import shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.job import ProfileRequirement
    from reportgen.measurements import Measurement
    from reportgen.rules.requirement import Requirement
    from reportgen.rules.scene import JobView


def rules_applied(view: JobView, requirement: Requirement) -> tuple[RuleApplied, ...]:
    """Name every rule of this evaluation: those of the contract, and the published ones behind the numbers."""
    return (
        *_profile_rules(view, requirement),
        *_contract_rules(view),
        *_published_rules(view),
    )


def _cited(topic: str, rule: str | Stated, key: str, clause: str | None = None) -> RuleApplied:
    """State a rule with its published source; ``clause`` is the contract's that calls for it."""
    source = citation(key)
    parts = (source.title, source.edition, source.clause)
    return RuleApplied(topic, rule, ", ".join(part for part in parts if part), clause, source.remark or None)


def _contract(view: JobView, topic: str, rule: str | Stated, clause: str | None) -> RuleApplied:
    return RuleApplied(topic, rule, view.specification.document, clause)


_OVERLAP = {
    "average": "a reading in the overlap of the two grades calls for a second on the other grade; both in it: their "
    "mean counts; one outside: that one counts",
    "non-averaging": "one grade alone counts: coarse below the changeover, extra coarse from there on",
    "single-grade": "one grade is enough wherever its range holds the reading",
}
_DECISION = {
    "simple": "a value within the limits conforms; a value at the limit has a risk of up to 50 %",
    "guarded": "a value inside the limits by at least U conforms; within them but nearer, it is measured again",
    "banded": "within the expanded uncertainty U of a limit, on either side, the verdict is inconclusive",
}


def _profile_rules(view: JobView, requirement: Requirement) -> Iterator[RuleApplied]:
    record = requirement.record
    yield _contract(
        view, "profile", f"{requirement.range_words()}, {record.method}, edition {record.edition}", record.clause
    )
    value = "mean" if record.location_value == "mean" else "maximum"
    readings = f"{value} of {record.readings_per_location} spots per location"
    yield _contract(view, "location value", readings, record.clause)
    yield from _method_rule(record)
    if record.comparator_grade is not None:
        yield _cited("profile grade", f"`{record.comparator_grade}` as limits", "profile-grades", record.clause)
    if record.overlap_rule is not None:
        yield _cited(
            "two tape grades",
            f"{record.overlap_rule}: {_OVERLAP[record.overlap_rule]}",
            "tape-overlap-rule",
            record.clause,
        )
        yield _cited("ranges of the tape grades", "used in the unit of the gauge", "tape-grades")
        yield _cited("film", "2.0 mil or 50 µm, taken off in the unit of the gauge", "replica-film")
    yield _cited(
        "decision rule", f"{record.decision_rule}: {_DECISION[record.decision_rule]}", "ilac-g8", record.clause
    )
    yield _cited("rounding", _rounding(record.rounding, record.decision_rule), "astm-e29", record.clause)
    yield _cited("area", "every location must conform; the mean does not decide", "sspc-pa-17-decision")


def _method_rule(record: ProfileRequirement) -> Iterator[RuleApplied]:
    """Set the edition's own numbers beside the contract's, where they are known; the contract's apply."""
    try:
        known = method_rule(record.method, record.edition)
    except UsageError:
        return
    words = f"{known.location_value} of {known.readings_per_location} in edition {record.edition}; the contract governs"
    yield _cited("method", words, known.source, record.clause)


def _rounding(rounding: str, rule: str) -> str:
    if rounding == "none":
        return "absolute method: the unrounded value is compared"
    half = "to the even digit" if rounding == "half-even" else "up"
    words = f"rounding method: rounded to the last digit of the limit, an exact half {half}"
    return words if rule == "simple" else f"{words}; the distance to the limit is compared with U unrounded"


def _contract_rules(view: JobView) -> Iterator[RuleApplied]:
    specification = view.specification
    yield from _limits(view, OF_A_SURFACE)
    words = specification.sampling.plan.replace("-", " ")
    if specification.sampling.plan == "per-shift-and-apparatus":
        words += ", each counted by itself"
    yield _contract(view, "sampling", words, specification.sampling.clause)
    if specification.conditions is not None and view.places.several:
        words = "a reading counts for the areas of its own place, and for no others"
        yield _contract(view, "conditions", words, specification.conditions.clause)
    yield from _limits(view, TESTS)
    if specification.time_to_coat is not None:
        longest = specification.time_to_coat
        facts = TimeAllowed(Amount.of(longest.maximum))
        yield _contract(view, "time to coat", Stated("limit", "time-to-coat", facts), longest.clause)


def _limits(view: JobView, kinds: Sequence[Measurement[Any, Any, Any]]) -> Iterator[RuleApplied]:
    for kind in kinds:
        if (stated := getattr(view.specification, kind.limit_key)) is not None:
            yield _contract(view, kind.key, Stated("applied", kind.key, kind.limit_facts(stated)), stated.clause)


def _published_rules(view: JobView) -> Iterator[RuleApplied]:
    """Name the sources of the formulas that this day needed."""
    day, limits = view.job.day, view.specification.conditions
    if day.conditions:
        yield _cited("dew point", "Magnus form over water", "wmo-8-annex-4b")
    if any(condition.wet_bulb is not None for condition in day.conditions):
        kind = "wmo" if limits is None else limits.psychrometer or "wmo"
        key = "ams-psychrometer" if kind == "ams" else "wmo-8-annex-4b"
        yield _cited("humidity from the wet bulb", f"{kind.upper()} psychrometer coefficient", key)
    if limits is not None and limits.dew_point_margin is not None:
        words = f"steel at least {shown(limits.dew_point_margin)} above the dew point, judged in this unit"
        yield _cited("dew point margin", words, "dew-point-margin", limits.clause)
    for measured in MEASUREMENTS:
        tests = [test for surface in day.surfaces for test in measured.entries_on(surface)]
        used = [formula for formula in measured.formulas if any(map(formula.used, tests))]
        yield from (_cited(one.topic, one.rule.of(NOTHING), one.source) for one in used)
    yield _cited("uncertainty", "root sum of squares, effective degrees of freedom, factor from t", "jcgm-100")
    yield _cited("budget", "gauge, resolution and film are common to all readings", "gauge-budget")
    yield _cited("probability of conformity", "normal distribution about the measured value", "jcgm-106")
    words = f"two-sided at 5 %, from {LEAST_FOR_OUTLIER} locations on, beyond the gauge's resolution; never removed"
    yield _cited("outliers", words, "grubbs")
