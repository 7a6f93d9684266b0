"""Every rule that was applied, with its source, edition and clause, and how far the source was read."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Any

from reportgen.measurements import MEASUREMENTS, OF_A_SURFACE, TESTS
from reportgen.metrology.statistics import LEAST_FOR_OUTLIER
from reportgen.metrology.tape import film_thickness
from reportgen.references import citation, known_rule
from reportgen.results import Amount, RuleApplied, Stated, Word
from reportgen.results.codes import rules as codes
from reportgen.results.codes.coating import TimeAllowed
from reportgen.results.facts import NOTHING

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
        *rules_of_numbers(view),
    )


def _cited(topic: str, rule: Stated, key: str, clause: str | None = None) -> RuleApplied:
    """State a rule with its published source; ``clause`` is the contract's that calls for it."""
    source = citation(key)
    parts = (source.title, source.edition, source.clause)
    return RuleApplied(topic, rule, ", ".join(part for part in parts if part), clause, source.remark or None)


def _contract(view: JobView, topic: str, rule: Stated, clause: str | None) -> RuleApplied:
    return RuleApplied(topic, rule, view.specification.document, clause)


def _profile_rules(view: JobView, requirement: Requirement) -> Iterator[RuleApplied]:
    record = requirement.record
    required = codes.ProfileRequired(requirement.range, record.method, record.edition)
    yield _contract(view, "profile", codes.PROFILE_REQUIRED.of(required), record.clause)
    yield from method_rules(view, record)
    if (stated := record.repeatability) is not None:
        known = codes.RepeatabilityStated(Amount.of(stated.value), stated.degrees_of_freedom, stated.source)
        yield _contract(view, "repeatability", codes.REPEATABILITY_STATED.of(known), record.clause)
    if record.comparator_grade is not None:
        grade = codes.GRADE_STATED.of(codes.GradeStated(record.comparator_grade))
        yield _cited("profile-grade", grade, "profile-grades", record.clause)
    if record.overlap_rule is not None:
        overlap = codes.OVERLAP[record.overlap_rule].of(NOTHING)
        yield _cited("two-tape-grades", overlap, "tape-overlap-rule", record.clause)
        yield _cited("ranges-of-the-tape-grades", codes.TAPE_RANGES.of(NOTHING), "tape-grades")
        film = codes.FilmThickness(Amount.of(film_thickness("mil")), Amount.of(film_thickness("um")))
        yield _cited("film", codes.FILM.of(film), "replica-film")
    if record.kind == "comparator":
        yield _cited("decision-rule", codes.GRADES_COMPARED.of(NOTHING), "iso-8503-2", record.clause)
        yield _cited("area", codes.EVERY_LOCATION.of(NOTHING), "sspc-pa-17-decision")
        return
    yield _cited("decision-rule", codes.DECISION[record.decision_rule].of(NOTHING), "ilac-g8", record.clause)
    rounding = codes.ROUNDING if record.decision_rule == "simple" else codes.ROUNDING_BESIDE_U
    yield _cited("rounding", rounding[record.rounding].of(NOTHING), "astm-e29", record.clause)
    yield _cited("area", codes.EVERY_LOCATION.of(NOTHING), "sspc-pa-17-decision")


def method_rules(view: JobView, record: ProfileRequirement) -> Iterator[RuleApplied]:
    """State what makes a location, by the contract or else by the edition of its method; and what that says itself.

    An edition whose numbers are not known is said to be so.
    """
    known, needed = known_rule(record.method, record.edition), record.readings_needed
    comparison = record.kind == "comparator"
    if comparison:
        rule = codes.COMPARISONS.of(codes.Comparisons(needed))
    else:
        rule = codes.LOCATION_VALUE.of(codes.LocationValue(Word("value-of-spots", record.value_rule), needed))
    stated = record.readings_per_location is not None and (comparison or record.location_value is not None)
    if known is None or stated:
        yield _contract(view, "location-value", rule, record.clause)
    else:
        yield _cited("location-value", rule, known.source, record.clause)
    if known is None:
        unknown = codes.METHOD_UNKNOWN.of(codes.MethodUnknown(record.method, record.edition))
        yield _contract(view, "method", unknown, record.clause)
    elif known.location_value is None:
        own = codes.ComparisonEdition(known.readings_per_location, record.edition)
        yield _cited("method", codes.COMPARISON_EDITION.of(own), known.source, record.clause)
    else:
        value = Word("value-of-spots", known.location_value)
        numbers = codes.MethodEdition(value, known.readings_per_location, record.edition)
        yield _cited("method", codes.METHOD_EDITION.of(numbers), known.source, record.clause)


def _contract_rules(view: JobView) -> Iterator[RuleApplied]:
    specification = view.specification
    yield from _limits(view, OF_A_SURFACE)
    plan = codes.SAMPLING[specification.sampling.plan].of(NOTHING)
    yield _contract(view, "sampling", plan, specification.sampling.clause)
    if specification.conditions is not None and view.places.several:
        yield _contract(view, "conditions", codes.OWN_PLACE.of(NOTHING), specification.conditions.clause)
    yield from _limits(view, TESTS)
    for kind in MEASUREMENTS:
        limit = getattr(view.specification, kind.limit_key)
        if (rule := getattr(limit, "decision_rule", None)) is not None:
            yield _cited(kind.key, codes.DECISION[rule].of(NOTHING), "ilac-g8", limit.clause)
    if specification.time_to_coat is not None:
        longest = specification.time_to_coat
        facts = TimeAllowed(Amount.of(longest.maximum))
        yield _contract(view, "time-to-coat", Stated("limit", "time-to-coat", facts), longest.clause)


def _limits(view: JobView, kinds: Sequence[Measurement[Any, Any, Any]]) -> Iterator[RuleApplied]:
    for kind in kinds:
        if (stated := getattr(view.specification, kind.limit_key)) is not None:
            yield _contract(view, kind.key, Stated("applied", kind.key, kind.limit_facts(stated)), stated.clause)


def _published_rules(view: JobView) -> Iterator[RuleApplied]:
    """Name the sources of the formulas that this day needed."""
    day, limits = view.job.day, view.specification.conditions
    if day.conditions:
        yield _cited("dew-point", codes.MAGNUS.of(NOTHING), "wmo-8-annex-4b")
    if any(condition.wet_bulb is not None for condition in day.conditions):
        kind = "wmo" if limits is None else limits.psychrometer or "wmo"
        key = "ams-psychrometer" if kind == "ams" else "wmo-8-annex-4b"
        yield _cited(
            "humidity-from-wet-bulb", codes.PSYCHROMETER.of(codes.ByPsychrometer(Word("psychrometer", kind))), key
        )
    if limits is not None and limits.dew_point_margin is not None:
        margin = codes.MARGIN.of(codes.MarginJudged(Amount.of(limits.dew_point_margin)))
        yield _cited("dew-point-margin", margin, "dew-point-margin", limits.clause)
    for measured in MEASUREMENTS:
        tests = [*chain(*map(measured.entries_on, day.surfaces))]
        used = [formula for formula in measured.formulas if any(map(formula.used, tests))]
        yield from (_cited(one.topic, one.rule.of(NOTHING), one.source) for one in used)


def rules_of_numbers(view: JobView) -> Iterator[RuleApplied]:
    """Name what is behind the uncertainties: a grade of profile has none, and neither budget nor probability."""
    if view.job.day.conditions or not view.graded:
        yield _cited("uncertainty", codes.UNCERTAINTY.of(NOTHING), "jcgm-100")
    if view.graded:
        return
    yield _cited("budget", codes.BUDGET.of(NOTHING), "gauge-budget")
    yield _cited("probability-of-conformity", codes.PROBABILITY.of(NOTHING), "jcgm-106")
    yield _cited("outliers", codes.OUTLIERS.of(codes.OutlierTest(LEAST_FOR_OUTLIER)), "grubbs")
