"""Verdicts half a digit below, on, and half a digit above the limits; rounding, decision rules, printed digits."""

from decimal import Decimal

import pytest

from reportgen.results import Task, Word
from reportgen.results.codes.profile import InBand, ProfileJudged, UncertaintyUnknown
from reportgen.results.codes.ranges import AtLeast
from reportgen.results.facts import NOTHING, Amount, Place
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import METRIC, ON_PLATE, codes, evaluated, finding

RULE = "specification.profile.decision_rule"
ROUNDING = "specification.profile.rounding"
SINGLE = {"specification.profile.overlap_rule": "single-grade"}


def _mil(number):
    return Amount(Decimal(number), "mil")


def _location(first, second, **spec):
    evaluation = evaluated(f"1 a x1 {first}; 1 b x1 {second}", spec={**SINGLE, **spec})
    return evaluation, evaluation.areas[0].locations[0]


@pytest.mark.parametrize(
    ("rounding", "first", "second", "profile", "compared", "verdict"),
    [
        ("none", "2.0", "1.9", "1.95", "1.95", "does not conform"),
        ("none", "2.0", "2.0", "2.00", "2.00", "conforms"),
        ("none", "3.5", "3.6", "3.55", "3.55", "does not conform"),
        ("none", "3.5", "3.5", "3.50", "3.50", "conforms"),
        # ASTM E29, rounding method: an exact half to the even digit, or up where the contract says so
        ("half-even", "2.0", "1.9", "1.95", "2.0", "conforms"),
        ("half-even", "1.9", "1.9", "1.90", "1.9", "does not conform"),
        ("half-even", "3.6", "3.5", "3.55", "3.6", "does not conform"),
        ("half-up", "2.0", "1.9", "1.95", "2.0", "conforms"),
    ],
)
def test_a_value_about_a_limit(rounding, first, second, profile, compared, verdict):
    _, location = _location(first, second, **{ROUNDING: rounding})
    assert (str(location.profile), str(location.compared), location.verdict) == (profile, compared, verdict)


def test_a_half_goes_to_the_even_digit_or_up_as_the_contract_says():
    """To one decimal 3.45 is 3.4 to the even digit and 3.5 half up (ASTM E29; Iowa DOT IM 202)."""
    limits = {"specification.profile.maximum": "3.4 mil"}
    _, even = _location("3.4", "3.5", **limits, **{ROUNDING: "half-even"})
    _, up = _location("3.4", "3.5", **limits, **{ROUNDING: "half-up"})
    assert (even.compared, even.verdict) == (Decimal("3.4"), "conforms")
    assert (up.compared, up.verdict) == (Decimal("3.5"), "does not conform")


def test_digits_are_added_until_the_printed_number_shows_the_verdict():
    """The mean of three spots is 1.99666…: two digits would print the limit itself."""
    spec = {**SINGLE, ROUNDING: "none", "specification.profile.readings_per_location": "3"}
    text = "1 a x1 1.99; 1 b x1 2.00; 1 c x1 2.00"
    location = evaluated(text, spec={**spec, "instruments.g1.resolution": "0.01 mil"}).areas[0].locations[0]
    assert (str(location.profile), location.verdict) == ("1.997", "does not conform")
    near = (
        evaluated("1 a x1 2.0; 1 b x1 2.0; 1 c x1 1.999", spec={**spec, "instruments.g1.resolution": "0.001 mil"})
        .areas[0]
        .locations[0]
    )
    assert (str(near.profile), near.verdict) == ("1.9997", "does not conform")


def test_the_printed_number_rounds_to_the_number_compared():
    """Eleven spots with the mean 21.4/11 = 1.94545…: as 1.95 it would be rounded on to 2.0, the limit; it must not."""
    spec = {**SINGLE, ROUNDING: "half-even", "specification.profile.readings_per_location": "11"}
    values = ["1.9"] * 6 + ["2.0"] * 5
    text = "; ".join(f"1 {spot} x1 {value}" for spot, value in zip("abcdefghijk", values, strict=True))
    location = evaluated(text, spec=spec).areas[0].locations[0]
    assert (str(location.profile), str(location.compared), location.verdict) == ("1.945", "1.9", "does not conform")


# ILAC-G8:09/2019, 4.2: two-sided 1.5 to 3.0 mil, w = 0.2 (accuracy given as U with k = 2 leaves w = 0.2).
BANDS = [
    ("1.7", "pass"), ("1.6", "conditional pass"), ("1.5", "conditional pass"), ("1.4", "conditional fail"),
    ("1.2", "fail"), ("2.8", "pass"), ("2.9", "conditional pass"), ("3.1", "conditional fail"), ("3.3", "fail"),
]  # fmt: skip
PROVEN = {
    "specification.profile.minimum": "1.5 mil", "specification.profile.maximum": "3.0 mil",
    "instruments.g1.accuracy": "0.0001 mil", "instruments.g1.uncertainty": "0.2 mil",
    "instruments.g1.coverage_factor": "2",
    "instruments.g1.resolution": "0.0001 mil", "instruments.g1.kind": "depth micrometer",
    "specification.profile.method": "ASTM D4417 Method B", "specification.profile.location_value": "mean",
    "specification.profile.overlap_rule": None, ROUNDING: "none",
}  # fmt: skip
BY_BAND = {
    "banded": {"pass": "conforms", "fail": "does not conform"},
    "guarded": {"pass": "conforms", "conditional fail": "does not conform", "fail": "does not conform"},
}


@pytest.mark.parametrize("rule", ["banded", "guarded"])
@pytest.mark.parametrize(("value", "band"), BANDS)
def test_the_bands_of_the_decision_rules(rule, value, band):
    evaluation = evaluated(
        f"1 a - {value}; 1 b - {value}", spec={**PROVEN, RULE: rule},
        day=ON_PLATE,
    )  # fmt: skip
    location = evaluation.areas[0].locations[0]
    assert location.expanded_uncertainty == Decimal("0.20")
    assert location.band == band
    assert location.verdict == BY_BAND[rule].get(band, "inconclusive")
    open_ = {"banded": "profile-inconclusive", "guarded": "profile-in-guard-band"}
    assert {code for code in open_.values() if code in codes(evaluation)} == (
        {open_[rule]} if location.verdict == "inconclusive" else set()
    )
    again = [(Place("A", "1"), open_[rule])] if location.verdict == "inconclusive" else []
    todo = [step for step in evaluation.measure_next if step.code == "measure-location-again"]
    assert [(step.place, step.answers) for step in todo] == again


def test_what_findings_say_under_a_guard_band():
    evaluation, location = _location("2.1", "2.1", **{RULE: "guarded"})
    found = finding(evaluation, "profile-in-guard-band")
    expanded, limit = _mil(location.expanded_uncertainty), AtLeast(_mil("2.0"))
    assert found.facts == ProfileJudged(_mil("2.10"), limit, expanded, None, expanded)
    assert (found.area, found.location, found.clause) == ("A", "1", "1.2")
    assert codes(evaluation) == ["profile-in-guard-band"]
    assert evaluation.measure_next == (
        Task("measure-location-again", Place("A", "1"), NOTHING, None, "profile-in-guard-band"),
    )
    assert (evaluation.verdict, evaluation.areas[0].decision) == ("inconclusive", "hold")
    banded, _ = _location("2.1", "2.1", **{RULE: "banded"})
    near = finding(banded, "profile-inconclusive")
    assert near.facts == InBand(
        _mil("2.10"), limit, Word("guard-band", "conditional pass"), expanded, None, expanded
    )  # fmt: skip
    assert (near.area, near.location, near.clause) == ("A", "1", "1.2")


def test_a_location_outside_the_limits_fails_under_a_guard_band_too():
    evaluation, _ = _location("1.9", "1.9", **{RULE: "guarded"})
    assert codes(evaluation) == ["profile-below-minimum", "walk-out-missing", "nonconformance-missing"]
    assert evaluation.areas[0].decision == "rework"


def test_rounding_is_told_under_a_guard_band_only_where_it_matters():
    inside = finding(_location("2.1", "2.2", **{RULE: "guarded"})[0], "profile-in-guard-band")
    assert inside.facts.rounded is None
    rounds = finding(_location("1.9", "2.0", **{RULE: "guarded"})[0], "profile-in-guard-band")
    assert (rounds.facts.profile, rounds.facts.rounded) == (_mil("1.95"), _mil("2.0"))
    assert rounds.facts.expanded == rounds.facts.guard is not None


def test_the_acceptance_of_a_location_in_the_guard_band_can_be_decided():
    record = {
        "id": "NCR-1", "area": "A", "findings": ["profile-in-guard-band"], "description": "Near the limit.",
        "disposition": "use-as-is", "decided_by": "eng", "status": "closed", "evidence": "Letter 7.",
    }  # fmt: skip
    spec = {**SINGLE, RULE: "guarded"}
    evaluation = evaluated("1 a x1 2.1; 1 b x1 2.1", spec=spec, day={"nonconformances": [record]})
    (area,) = evaluation.areas
    assert (area.verdict, area.decision) == ("inconclusive", "release")
    assert sentences().reasons(evaluation, area)[0].endswith("(accepted under NCR-1)")
    more = {**spec, "specification.sampling.locations": "2"}
    (short,) = evaluated("1 a x1 2.1; 1 b x1 2.1", spec=more, day={"nonconformances": [record]}).areas
    assert short.decision == "hold"
    (also,) = evaluated(
        "1 a x1 2.1; 1 b x1 2.1", spec=more,
        day={"nonconformances": [{**record, "findings": ["profile-in-guard-band", "locations-missing"]}]},
    ).areas  # fmt: skip
    assert also.decision == "release"  # what was not measured is accepted by name, and never said to conform
    assert also.verdict == "inconclusive"


def test_a_rule_that_needs_an_uncertainty_gives_no_verdict_without():
    evaluation, location = _location("3.0", "3.0", **{RULE: "guarded", "instruments.g1.accuracy": None})
    assert (location.profile, location.compared, location.verdict) == (Decimal("3.00"), None, "inconclusive")
    found = finding(evaluation, "profile-inconclusive")
    assert found.facts == UncertaintyUnknown(
        _mil("3.00"), Word("decision-rule", "guarded"), Word("uncertainty-lacking", "limits-of-error")
    )


def test_the_simple_rule_needs_no_uncertainty():
    evaluation, location = _location("3.0", "3.0", **{"instruments.g1.accuracy": None})
    assert (location.verdict, location.expanded_uncertainty, location.probability_of_conformity) == (
        "conforms", None, None,
    )  # fmt: skip
    assert evaluation.areas[0].budget == ()


def test_a_finding_shows_the_number_that_was_compared():
    evaluation, location = _location("1.9", "1.8", **{ROUNDING: "half-even"})
    facts = ProfileJudged(_mil("1.85"), AtLeast(_mil("2.0")), expanded=_mil("0.27"), rounded=_mil("1.8"))
    assert finding(evaluation, "profile-below-minimum").facts == facts
    assert location.side == "below"


@pytest.mark.parametrize("rule", ["simple", "guarded", "banded"])
@pytest.mark.parametrize("rounding", ["half-even", "half-up", "none"])
def test_the_probability_is_one_number_whatever_the_rules_are(rule, rounding):
    """Of a true value within the limits as stated: with u = 0.22 from 1.8, neither rounding nor guard band enters."""
    stated = {"specification.profile.minimum": "1.8 mil", "specification.profile.maximum": None}
    _, plain = _location("2.6", "2.2", **stated)
    _, found = _location("2.6", "2.2", **stated, **{ROUNDING: rounding, RULE: rule})
    assert found.probability_of_conformity == plain.probability_of_conformity
    whole = {"specification.profile.minimum": "3 mil", "specification.profile.maximum": "4 mil", ROUNDING: rounding}
    _, outside = _location("2.6", "2.6", **whole)
    assert outside.probability_of_conformity < 0.5


def test_probability_and_uncertainty_stand_beside_each_location():
    """JCGM 106: P = Φ((TU−y)/u) − Φ((TL−y)/u); on the limit it is one half when the other limit is far."""
    _, location = _location("2.0", "2.0", **{ROUNDING: "none"})
    assert location.probability_of_conformity == Decimal("0.5000")
    assert location.coverage_factor == Decimal("1.96")


def test_metric_values_print_one_digit_more_than_the_gauge_shows():
    evaluation = evaluated("1 a x1 75; 1 b x1 70", spec=METRIC)
    (area,) = evaluation.areas
    assert str(area.locations[0].profile) == "72.5"
    assert str(area.mean) == "72.5"
    assert -area.locations[0].expanded_uncertainty.as_tuple().exponent == 1
