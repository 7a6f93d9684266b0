"""Invariants of a whole evaluation: limits, units, order, printed numbers."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.formats import canonical_json
from reportgen.rules import evaluate
from reportgen.units import rounded
from tests.thorough import repeats
from tests.unit.rules.factory import evaluated, job, surface

ORDER = ["does not conform", "inconclusive", "conforms"]
SINGLE = {"specification.profile.overlap_rule": "single-grade"}
MIL = st.integers(16, 44).map(lambda tenths: Decimal(tenths) / 10)
SPOTS = st.lists(MIL, min_size=2, max_size=2)
LOCATIONS = st.lists(SPOTS, min_size=1, max_size=5)
RULES = st.sampled_from(["simple", "guarded", "banded"])
ROUNDINGS = st.sampled_from(["half-even", "half-up", "none"])
LIMITS = st.tuples(st.integers(15, 29), st.integers(30, 45)).map(lambda ends: [Decimal(end) / 10 for end in ends])

few = settings(max_examples=repeats(40), deadline=None)


def _text(locations):
    return "; ".join(
        f"{number} {chr(97 + spot)} x1 {value}"
        for number, spots in enumerate(locations, 1)
        for spot, value in enumerate(spots)
    )


def _spec(limits, rule="simple", rounding="none", **more):
    return {
        **SINGLE,
        "specification.profile.minimum": f"{limits[0]} mil", "specification.profile.maximum": f"{limits[1]} mil",
        "specification.profile.decision_rule": rule, "specification.profile.rounding": rounding, **more,
    }  # fmt: skip


@few
@given(LOCATIONS, LIMITS, RULES, ROUNDINGS, st.sampled_from([Decimal("0.1"), Decimal("0.5")]))
def test_loosening_a_limit_never_worsens_a_verdict(locations, limits, rule, rounding, by):
    strict = evaluated(_text(locations), spec=_spec(limits, rule, rounding))
    loose = evaluated(_text(locations), spec=_spec([limits[0] - by, limits[1] + by], rule, rounding))
    for before, after in zip(strict.areas[0].locations, loose.areas[0].locations, strict=True):
        assert ORDER.index(after.verdict) >= ORDER.index(before.verdict)
    assert ORDER.index(loose.verdict) >= ORDER.index(strict.verdict)


@few
@given(LOCATIONS, LIMITS, RULES, ROUNDINGS)
def test_the_number_compared_and_the_verdict_never_disagree(locations, limits, rule, rounding):
    (area,) = evaluated(_text(locations), spec=_spec(limits, rule, rounding)).areas
    for location in area.locations:
        guard = Decimal(0) if rule == "simple" else location.expanded_uncertainty
        number = location.compared if rule == "simple" else location.profile
        inside = limits[0] + guard <= number <= limits[1] - guard
        assert inside == (location.verdict == "conforms")
        if rounding == "none":
            assert location.compared == location.profile
        else:
            places = -location.compared.as_tuple().exponent
            assert rounded(location.profile, places, rounding) == location.compared


@few
@given(LOCATIONS, LIMITS, ROUNDINGS)
def test_a_gauge_in_micrometres_gives_the_verdict_of_a_gauge_in_mil(locations, limits, rounding):
    """The same heights, exactly converted (1 mil = 25.4 µm), judged in the specification's unit."""
    micrometres = [[value * Decimal("25.4") for value in spots] for spots in locations]
    gauge = {"kind": "thickness gauge", "serial": "1", "unit": "um", "resolution": "0.01 um", "accuracy": "5.08 um"}
    mil = evaluated(_text(locations), spec=_spec(limits, "simple", rounding))
    um = evaluated(_text(micrometres), spec=_spec(limits, "simple", rounding, **{"instruments.g1": gauge}))
    assert [one.verdict for one in um.areas[0].locations] == [one.verdict for one in mil.areas[0].locations]
    if rounding != "none":
        assert [one.compared for one in um.areas[0].locations] == [one.compared for one in mil.areas[0].locations]


def _equal_days(locations, limits, rule, rounding):
    """A day in mil and the same day in µm: every reading, limit and property of the gauge converted exactly."""
    metric = {
        "kind": "thickness gauge", "serial": "1", "unit": "um", "resolution": "2.54 um", "accuracy": "5.08 um",
        "calibration_due": "2027-01-01",
    }  # fmt: skip
    ends = {
        "specification.profile.minimum": f"{limits[0] * Decimal('25.4')} um",
        "specification.profile.maximum": f"{limits[1] * Decimal('25.4')} um", "instruments.g1": metric,
    }  # fmt: skip
    micrometres = [[value * Decimal("25.4") for value in spots] for spots in locations]
    checks = {f"gauge_checks.{index}.{name}": f"{value} um" for index in (0, 1) for name, value in (
        ("preset", "-50"), ("shim", "76.2"), ("shim_reading", "76.2"),
    )}  # fmt: skip
    # no real gauge has steps of 2.54 µm: that its checks are no multiples of them is not what this is about
    checks |= {f"gauge_checks.{index}.confirmed": "yes" for index in (0, 1)}
    spec = _spec(limits, rule, rounding)
    return evaluated(_text(locations), spec=spec), evaluated(_text(micrometres), spec={**spec, **ends}, day=checks)


@settings(max_examples=repeats(150), deadline=None)
@given(LOCATIONS, LIMITS, RULES)
def test_the_same_day_in_mil_and_in_micrometres_is_judged_alike(locations, limits, rule):
    mil, um = _equal_days(locations, limits, rule, "none")
    for one, other in zip(mil.areas[0].locations, um.areas[0].locations, strict=True):
        assert (other.verdict, other.band, other.side) == (one.verdict, one.band, one.side)
    assert (um.verdict, um.areas[0].decision) == (mil.verdict, mil.areas[0].decision)
    aside = {"entry-confirmed"}
    said = [[finding.code for finding in day.findings if finding.code not in aside] for day in (um, mil)]
    assert said[0] == said[1]
    assert um.areas[0].effective_degrees_of_freedom == mil.areas[0].effective_degrees_of_freedom


@few
@given(LOCATIONS, LIMITS, st.sampled_from(["guarded", "banded"]), st.sampled_from(["half-even", "half-up"]))
def test_what_a_guard_band_accepts_does_not_depend_on_the_unit_whatever_the_rounding(locations, limits, rule, rounding):
    mil, um = _equal_days(locations, limits, rule, rounding)
    accepted = [[one.verdict == "conforms" for one in day.areas[0].locations] for day in (mil, um)]
    assert accepted[0] == accepted[1]


@few
@given(LOCATIONS, LIMITS, st.randoms(use_true_random=False))
def test_the_order_of_the_locations_changes_no_number(locations, limits, random):
    named = list(enumerate(locations, 1))
    shuffled = random.sample(named, len(named))

    def text(rows):
        return "; ".join(f"{n} {chr(97 + s)} x1 {value}" for n, spots in rows for s, value in enumerate(spots))

    one, other = (evaluated(text(rows), spec=_spec(limits)).areas[0] for rows in (named, shuffled))
    assert (one.verdict, one.decision, one.mean, one.standard_deviation, one.expanded_uncertainty) == (
        other.verdict, other.decision, other.mean, other.standard_deviation, other.expanded_uncertainty,
    )  # fmt: skip
    assert sorted(one.locations, key=lambda loc: loc.id) == sorted(other.locations, key=lambda loc: loc.id)


@few
@given(LOCATIONS, LIMITS, RULES)
def test_the_mean_is_exact_and_the_same_job_gives_the_same_bytes(locations, limits, rule):
    whole = job(_text(locations), spec=_spec(limits, rule))
    first, second = evaluate(whole), evaluate(replace(whole))
    assert canonical_json(first) == canonical_json(second)
    values = [sum(map(Fraction, spots), Fraction(0)) / len(spots) for spots in locations]
    mean = first.areas[0].mean
    assert mean == rounded(sum(values, Fraction(0)) / len(values), -mean.as_tuple().exponent)


@few
@given(LOCATIONS, LIMITS, RULES)
def test_an_area_is_released_only_when_every_location_conforms(locations, limits, rule):
    (area,) = evaluated(_text(locations), spec=_spec(limits, rule)).areas
    everything = all(location.verdict == "conforms" for location in area.locations)
    assert (area.decision == "release") == everything == (area.verdict == "conforms")


TAKEN = st.lists(st.integers(0, 4), min_size=1, max_size=3)


def _worked(taken, plan):
    """A day on which each of several apparatus blasted the area and has so many locations on its work."""
    surfaces = [surface(apparatus=f"pot {number}") for number, _ in enumerate(taken, 1)]
    texts = [_text([[Decimal("3.0")] * 2] * count) for count in taken]
    return evaluated(*texts, spec={**SINGLE, "specification.sampling": plan}, surfaces=surfaces).areas[0]


@few
@given(TAKEN, st.integers(1, 3))
def test_an_area_is_released_only_when_each_apparatus_has_its_locations(taken, each):
    area = _worked(taken, {"plan": "per-shift-and-apparatus", "locations": str(each)})
    assert (area.decision == "release") == all(count >= each for count in taken)
    assert (area.required_locations, area.n_locations) == (each * len(taken), sum(taken))


@few
@given(TAKEN, st.integers(1, 6))
def test_no_plan_releases_a_surface_that_nobody_measured(taken, total):
    area = _worked(taken, {"plan": "fixed", "locations": str(total)})
    assert (area.decision == "release") == (sum(taken) >= total and all(taken))


@few
@given(st.lists(st.sampled_from([None, "18:10", "20:30"]), max_size=8), st.integers(0, 3), st.integers(1, 3))
def test_an_area_is_released_only_when_each_period_has_its_locations(times, late, each):
    """Blasted from 16:00 to 20:00 of a shift whose second period begins at 18:00; some readings have no time.

    As one entry it is never released, as nobody knows which steel of it was measured; as two it is by their locations.
    """
    rows = [f"{n} {spot} x1 3.0{f' {time}' if time else ''}" for n, time in enumerate(times, 1) for spot in "ab"]
    ordered = "; ".join(sorted(rows, key=lambda row: row.split()[4:]))
    second = "; ".join(f"{n} {spot} x1 3.0" for n in range(11, 11 + late) for spot in "ab")
    spec = {**SINGLE, "specification.sampling": {"plan": "per-shift-and-apparatus", "locations": str(each)}}
    day = {"report.shift": {"start": "06:00", "end": "22:00"}, "gauge_checks.1.time": "21:50"}

    def decided(*texts, hours):
        spans = [{"start": start, "end": end, "abrasive": "grit 1"} for start, end in pairwise(hours)]
        surfaces = [surface(blasted=blasted) for blasted in spans]
        return evaluated(*texts, spec=spec, surfaces=surfaces, day=day).areas[0].decision

    assert decided(ordered, hours=["16:00", "20:00"]) == "hold"
    both = decided(ordered, second, hours=["16:00", "18:00", "20:00"])
    assert (both == "release") == (len(times) >= each and late >= each)
