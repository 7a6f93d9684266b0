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
    yield _location_value(view, record)
    if (stated := record.repeatability) is not None:
        known = codes.RepeatabilityStated(Amount.of(stated.value), stated.degrees_of_freedom, stated.source)
        yield _contract(view, "repeatability", codes.REPEATABILITY_STATED.of(known), record.clause)
    yield _method_rule(view, record)
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


def _location_value(view: JobView, record: ProfileRequirement) -> RuleApplied:
    """State what makes a location: by the contract, or by the edition of its method where that is silent."""
    known = known_rule(record.method, record.edition)
    comparison, stated = record.kind == "comparator", record.readings_per_location is not None
    if comparison:
        rule = codes.COMPARISONS.of(codes.Comparisons(record.readings_needed))
    else:
        value = codes.LocationValue(Word("value-of-spots", record.value_rule), record.readings_needed)
        rule = codes.LOCATION_VALUE.of(value)
    if known is None or (stated and (comparison or record.location_value is not None)):
        return _contract(view, "location-value", rule, record.clause)
    return _cited("location-value", rule, known.source, record.clause)


def _method_rule(view: JobView, record: ProfileRequirement) -> RuleApplied:
    """Set the edition's own numbers beside the contract's, or say that they are not known; the contract's apply."""
    known = known_rule(record.method, record.edition)
    if known is None:
        unknown = codes.MethodUnknown(record.method, record.edition)
        return _contract(view, "method", codes.METHOD_UNKNOWN.of(unknown), record.clause)
    number = known.readings_per_location
    if known.location_value is None:
        rule = codes.COMPARISON_EDITION.of(codes.ComparisonEdition(number, record.edition))
    else:
        value = Word("value-of-spots", known.location_value)
        rule = codes.METHOD_EDITION.of(codes.MethodEdition(value, number, record.edition))
    return _cited("method", rule, known.source, record.clause)


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
    formulas = []
    for measured in MEASUREMENTS:
        tests = [*chain(*map(measured.entries_on, day.surfaces))]
        formulas += [formula for formula in measured.formulas if any(map(formula.used, tests))]
    yield from (_cited(one.topic, one.rule.of(NOTHING), one.source) for one in formulas)
    gauges = {surface.profile.gauge for surface in day.surfaces if surface.profile is not None}
    kinds = {view.project.instruments[gauge].kind for gauge in gauges}
    graded = view.specification.profile.kind == "comparator" and kinds <= {"comparator"}
    if day.conditions or formulas or not graded:
        yield _cited("uncertainty", codes.UNCERTAINTY.of(NOTHING), "jcgm-100")
    if graded:
        return  # a grade has neither budget nor probability
    yield _cited("budget", codes.BUDGET.of(NOTHING), "gauge-budget")
    yield _cited("probability-of-conformity", codes.PROBABILITY.of(NOTHING), "jcgm-106")
    yield _cited("outliers", codes.OUTLIERS.of(codes.OutlierTest(LEAST_FOR_OUTLIER)), "grubbs")
