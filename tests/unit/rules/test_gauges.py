"""Gauge checks before and after the readings; what a failed one puts in doubt."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Place, Word
from reportgen.results.codes.equipment import (
    FilmContradicted,
    GaugeChecked,
    GaugeDue,
    GaugeMoved,
    GaugeNotTried,
    GaugeSeen,
    GaugeUnchecked,
    InDoubt,
    LimitsOfError,
    NoLimitsOfError,
    NoneInDoubt,
)
from tests.unit.rules.factory import METRIC, codes, evaluated, finding, surface

TIMED = "1 a x1 3.1 10:00; 1 b x1 2.9 10:05; 2 a x1 3.1 14:00; 2 b x1 2.9 14:05"

BEFORE = GaugeUnchecked("g1", Word("check-side", "before"), Word("check-reading", "first"))
AFTER = GaugeUnchecked("g1", Word("check-side", "after"), Word("check-reading", "last"))


def mil(number):
    return Amount(Decimal(number), "mil")


def seen(preset="-2.0", shim_reading="3.0", anvils="clean"):
    """What a check showed on a shim of 3.0 mil."""
    return GaugeSeen(Word("anvils", anvils), mil(preset), mil("3.0"), mil(shim_reading))


DUE = GaugeDue(mil("2.0"), LimitsOfError(mil("0.2")))


def _check(time, **values):
    check = {
        "time": time,
        "gauge": "g1",
        "anvils": "clean",
        "preset": "-2.0 mil",
        "shim": "3.0 mil",
        "shim_reading": "3.0 mil",
    }
    check.update(values)
    return {name: value for name, value in check.items() if value is not None}


def _evaluated(*checks, text=TIMED, **given):
    return evaluated(*([text] if isinstance(text, str) else text), day={"gauge_checks": list(checks)}, **given)


def _verdicts(evaluation):
    return [location.verdict for location in evaluation.areas[0].locations]


def test_readings_between_good_checks_stand():
    evaluation = _evaluated(_check("09:30"), _check("17:00"))
    assert codes(evaluation) == []
    assert _verdicts(evaluation) == ["conforms", "conforms"]
    assert [(check.time, check.verdict) for check in evaluation.checks if check.kind == "gauge"] == [
        ("09:30", "conforms"), ("17:00", "conforms"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("checks", "facts", "time"),
    [(["17:00"], BEFORE, "10:00"), (["09:30"], AFTER, "14:05"), (["10:01", "17:00"], BEFORE, "10:00")],
)
def test_a_check_before_the_first_and_after_the_last_reading(checks, facts, time):
    evaluation = _evaluated(*[_check(time) for time in checks])
    found = finding(evaluation, "gauge-check-missing")
    assert (found.facts, found.place) == (facts, Place("A", time=time))
    assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("inconclusive", "hold")
    assert _verdicts(evaluation) == ["conforms", "conforms"]


@pytest.mark.parametrize(("anvils", "facts", "time"), [("09:30", BEFORE, "10:00"), ("17:00", AFTER, "14:05")])
def test_an_incomplete_check_does_not_count_before_or_after(anvils, facts, time):
    states = [(at, "not checked" if at == anvils else "clean") for at in ("09:30", "17:00")]
    evaluation = _evaluated(*[_check(at, anvils=state) for at, state in states])
    found = finding(evaluation, "gauge-check-missing")
    assert (found.facts, found.place) == (facts, Place("A", time=time))


def test_no_check_at_all_is_missing_twice():
    assert codes(_evaluated()) == ["gauge-check-missing"] * 2


@pytest.mark.parametrize("bad", [{"shim_reading": "3.3"}, {"preset": "-1.7"}, {"preset": "0.0"}])
def test_a_failed_closing_check_leaves_everything_since_the_last_good_one_inconclusive(bad):
    evaluation = _evaluated(
        _check("09:30"), _check("12:00"), _check("17:00", **{name: f"{value} mil" for name, value in bad.items()})
    )
    assert _verdicts(evaluation) == ["conforms", "inconclusive"]
    found = finding(evaluation, "gauge-check-failed")
    assert found.severity == "nonconformance"
    assert found.place == Place("A", time="17:00")
    assert (found.facts.gauge, found.facts.seen, found.facts.due) == ("g1", seen(**bad), DUE)
    assert found.facts.doubt == InDoubt(("2",))
    assert evaluation.areas[0].verdict == "inconclusive"


@pytest.mark.parametrize(
    ("shown", "verdict"),
    [("0.1 mil", "conforms"), ("4 mil", "does not conform"), ("0.005 mm", "conforms"), ("0.1 mm", "does not conform")],
)
def test_the_zero_of_a_depth_micrometer_in_micrometres_may_be_written_in_another_unit(shown, verdict):
    """4 mil are 102 µm, far beyond its 5 µm."""
    micrometer = {**METRIC, "instruments.g1": {**METRIC["instruments.g1"], "kind": "depth micrometer"}}
    spec = {**micrometer, "specification.profile.method": "ASTM D4417 Method B",
            "specification.profile.overlap_rule": None, "tape_rolls": {}}  # fmt: skip
    checks = [
        {"time": time, "gauge": "g1", "tip": "clean", "zero": shown, "shim": "75 um", "shim_reading": "75 um"}
        for time in ("06:30", "17:00")
    ]
    evaluation = evaluated("1 a - 70; 1 b - 71", spec=spec, day={"gauge_checks": checks, "tape_checks": []})
    assert [check.verdict for check in evaluation.checks if check.kind == "gauge"] == [verdict] * 2
    assert (evaluation.areas[0].decision == "release") == (verdict == "conforms")


@pytest.mark.parametrize(
    ("unit", "preset", "verdict"),
    [
        ("mil", "-50.8 um", "conforms"), ("mil", "-60 um", "does not conform"), ("um", "-2.0 mil", "conforms"),
        ("um", "-5.0 mil", "does not conform"), ("um", "-2.2 mil", "does not conform"), ("um", "-0.05 mm", "conforms"),
    ],
)  # fmt: skip
def test_the_preset_of_a_gauge_may_be_written_in_another_unit(unit, preset, verdict):
    spec, text = (METRIC, "1 a x1 70; 1 b x1 71") if unit == "um" else ({}, "1 a x1 3.1; 1 b x1 2.9")
    on_shim = {"shim": "75 um", "shim_reading": "75 um"} if unit == "um" else {}
    checks = [_check(time, preset=preset, **on_shim) for time in ("06:30", "17:00")]
    evaluation = evaluated(text, spec=spec, day={"gauge_checks": checks, "tape_checks": []})
    assert [check.verdict for check in evaluation.checks if check.kind == "gauge"] == [verdict] * 2


def test_a_reading_at_the_time_of_a_good_check_stands():
    text = "1 a x1 3.1 12:00; 1 b x1 2.9 12:00; 2 a x1 3.1 12:01; 2 b x1 2.9 12:01"
    evaluation = _evaluated(_check("12:00"), _check("17:00", shim_reading="3.3 mil"), text=text)
    assert _verdicts(evaluation) == ["conforms", "inconclusive"]
    opening = _evaluated(_check("09:00", shim_reading="3.3 mil"), _check("12:01"), text=text)
    assert _verdicts(opening) == ["inconclusive", "conforms"]


def test_a_failed_opening_check_reaches_until_the_next_good_one():
    evaluation = _evaluated(_check("09:30", shim_reading="3.3 mil"), _check("12:00"), _check("17:00"))
    assert _verdicts(evaluation) == ["inconclusive", "conforms"]


def test_one_reading_before_the_good_check_puts_its_location_in_doubt():
    text = "1 a x1 3.1 11:00; 1 b x1 2.9 13:00"
    evaluation = _evaluated(_check("09:30", shim_reading="3.3 mil"), _check("12:00"), _check("17:00"), text=text)
    assert _verdicts(evaluation) == ["inconclusive"]


@pytest.mark.parametrize("count", [1, 6, 8])
def test_every_doubted_location_is_named(count):
    text = "; ".join(f"{n} a x1 3.1; {n} b x1 2.9" for n in range(1, count + 1))
    evaluation = _evaluated(_check("06:30"), _check("17:00", shim_reading="3.3 mil"), text=text)
    doubt = InDoubt(tuple(str(n) for n in range(1, count + 1)))
    assert finding(evaluation, "gauge-check-failed").facts.doubt == doubt


def test_a_failed_check_that_reaches_no_reading_is_only_noted():
    evaluation = _evaluated(
        _check("06:30", shim_reading="3.3 mil"),
        _check("06:40"),
        _check("17:00"),
        text="1 a x1 3.1 10:00; 1 b x1 2.9 10:05",
    )
    found = finding(evaluation, "gauge-check-failed")
    assert (found.severity, found.area) == ("observation", None)
    assert found.facts.doubt == NoneInDoubt()
    assert evaluation.areas[0].reasons == ()
    assert evaluation.areas[0].decision == "release"


def test_readings_without_times_may_lie_anywhere_between_blasting_and_primer():
    text = "1 a x1 3.1; 1 b x1 2.9"
    checks = (_check("06:30"), _check("12:00"), _check("17:00", shim_reading="3.3 mil"))
    not_coated = _evaluated(*checks, text=text)
    assert _verdicts(not_coated) == ["inconclusive"]
    coated = _evaluated(*checks, text=text, surfaces=[surface(coated="11:00")])
    assert _verdicts(coated) == ["conforms"]


@pytest.mark.parametrize("preset", ["-2.0 mil", "8.0 mil"])
def test_a_dial_shows_the_pre_set_with_or_without_a_negative_half(preset):
    assert codes(_evaluated(_check("09:30", preset=preset), _check("17:00", preset=preset))) == []


@pytest.mark.parametrize(("preset", "codes_found"), [("0.0 mil", []), ("-2.0 mil", ["gauge-check-failed"])])
def test_with_the_film_included_the_dial_shows_zero(preset, codes_found):
    checks = (_check("06:30", preset=preset), _check("17:00"))
    text = "1 a x1 5.1; 1 b x1 4.9"
    evaluation = _evaluated(_check("06:30", preset=preset), _check("17:00", preset="0.0 mil"), text=text, surfaces=[
        surface(profile__film="included")
    ])  # fmt: skip
    assert [code for code in codes(evaluation) if code == "gauge-check-failed"] == codes_found
    assert len(checks) == 2


@pytest.mark.parametrize(
    "incomplete", [{"preset": None, "shim": None, "shim_reading": None}, {"anvils": "not checked"}]
)
def test_an_incomplete_check_proves_nothing(incomplete):
    evaluation = _evaluated(_check("09:30"), _check("17:00", **incomplete))
    assert codes(evaluation) == ["gauge-check-missing"]
    assert [check.verdict for check in evaluation.checks if check.kind == "gauge"] == ["conforms", "inconclusive"]


def test_a_check_that_tried_nothing_says_so():
    evaluation = _evaluated(_check("09:30"), _check("17:00", preset=None, shim=None, shim_reading=None))
    (shown,) = [check for check in evaluation.checks if check.time == "17:00"]
    assert shown.facts == GaugeChecked(GaugeNotTried(Word("anvils", "clean")), DUE)


def test_a_check_by_pre_set_or_by_shim_alone_counts():
    evaluation = _evaluated(_check("09:30", shim=None, shim_reading=None), _check("17:00", preset=None))
    assert codes(evaluation) == []
    clean = Word("anvils", "clean")
    assert [check.facts.seen for check in evaluation.checks if check.kind == "gauge"] == [
        GaugeSeen(clean, mil("-2.0")), GaugeSeen(clean, None, mil("3.0"), mil("3.0")),
    ]  # fmt: skip


def test_drift_beyond_the_limits_of_error_is_noted():
    evaluation = _evaluated(_check("09:30", shim_reading="2.9 mil"), _check("17:00", shim_reading="3.2 mil"))
    found = finding(evaluation, "gauge-drift")
    assert found.facts == GaugeMoved("g1", mil("0.30"), "09:30", mil("0.2"))
    assert found.place == Place(time="17:00")
    assert (found.severity, evaluation.areas[0].decision) == ("observation", "release")


def test_a_gauge_without_limits_of_error_must_show_what_it_should():
    spec = {"instruments.g1.accuracy": None, "instruments.g1.resolution": None}
    exact = _evaluated(_check("09:30"), _check("17:00"), spec=spec)
    assert codes(exact) == []
    off = _evaluated(_check("09:30"), _check("17:00", shim_reading="3.1 mil"), spec=spec)
    found = finding(off, "gauge-check-failed")
    assert found.facts.due == GaugeDue(mil("2.0"), NoLimitsOfError())


def test_one_digit_of_flicker_fails_no_gauge_whose_limits_of_error_are_unknown():
    spec = {"instruments.g1.accuracy": None}
    assert codes(_evaluated(_check("09:30"), _check("17:00", shim_reading="3.1 mil"), spec=spec)) == []
    two = finding(_evaluated(_check("09:30"), _check("17:00", shim_reading="3.2 mil"), spec=spec), "gauge-check-failed")
    assert two.facts.due == GaugeDue(mil("2.0"), NoLimitsOfError(mil("0.1")))


@pytest.mark.parametrize("rule", ["simple", "guarded", "banded"])
def test_the_u_of_a_certificate_alone_is_no_limit_of_error(rule):
    """It says how well the error was known that the calibration found, and nothing is corrected for that error."""
    spec = {
        "instruments.g1.accuracy": None, "instruments.g1.uncertainty": "0.01 mil",
        "instruments.g1.coverage_factor": "2", "specification.profile.decision_rule": rule,
    }  # fmt: skip
    off = _evaluated(_check("09:30"), _check("17:00", shim_reading="3.2 mil"), spec=spec)
    assert "gauge-check-failed" in codes(off)
    area = _evaluated(_check("09:30"), _check("17:00"), spec=spec).areas[0]
    assert area.locations[0].expanded_uncertainty is None
    assert area.decision == ("release" if rule == "simple" else "hold")


def test_the_error_of_a_shim_excuses_no_gauge_that_moved():
    """Off by 0.3 mil on a shim known to 0.1: within ±0.2 and 0.1 where both checks show it, failed where one does."""
    spec = {"instruments.g1.shim_accuracy": "0.1 mil"}
    same = _evaluated(_check("09:30", shim_reading="3.3 mil"), _check("17:00", shim_reading="3.3 mil"), spec=spec)
    assert codes(same) == []
    moved = _evaluated(_check("09:30"), _check("17:00", shim_reading="3.3 mil"), spec=spec)
    assert (finding(moved, "gauge-check-failed").severity, moved.areas[0].decision) == ("nonconformance", "hold")
    other = _evaluated(
        _check("09:30"), _check("17:00", shim="5.0 mil", shim_reading="5.3 mil"), spec=spec
    )  # fmt: skip
    assert "gauge-check-failed" not in codes(other)


def test_the_largest_deviation_enters_the_budget():
    evaluation = _evaluated(_check("09:30"), _check("17:00", shim_reading="2.9 mil"))
    assert [str(line.value) for line in evaluation.areas[0].budget if line.component.key == "shim check"] == ["0.100"]


@pytest.mark.parametrize(
    ("before", "after", "shown"),
    [
        ([], [("18:00", "3.5")], "0.100"),  # after the good check that bounds the readings
        ([("06:30", "3.5")], [], "0.100"),  # before it
        ([("06:30", "3.5")], [("18:00", "2.4")], "0.100"),
        ([], [("13:00", "3.5")], "0.500"),  # between them: some are in doubt
    ],
)
def test_a_failed_check_that_puts_no_reading_in_doubt_widens_no_uncertainty(before, after, shown):
    failed = [_check(time, shim_reading=f"{reading} mil") for time, reading in (*before, *after)]
    evaluation = _evaluated(_check("09:30"), _check("17:00", shim_reading="2.9 mil"), *failed)
    assert [str(line.value) for line in evaluation.areas[0].budget if line.component.key == "shim check"] == [shown]
    told = [one for one in evaluation.findings if one.code == "gauge-check-failed"]
    assert {isinstance(one.facts.doubt, NoneInDoubt) for one in told} == {shown == "0.100"}


def test_a_gauge_that_read_nothing_may_be_checked():
    extra = {"kind": "thickness gauge", "serial": "9", "unit": "mil", "accuracy": "0.2 mil"}
    checks = [_check("09:30"), _check("17:00"), _check("17:10", gauge="g9")]
    evaluation = _evaluated(*checks, spec={"instruments.g9": extra})
    assert codes(evaluation) == []
    assert [check.subject for check in evaluation.checks if check.kind == "gauge"] == ["g1", "g1", "g9"]


def test_a_surface_without_readings_needs_no_check():
    evaluation = evaluated("", day={"gauge_checks": []})
    assert "gauge-check-missing" not in codes(evaluation)


def test_a_finding_names_the_failed_check_that_reaches_its_readings():
    """A check that failed before a good one, and long before the readings, puts none of them in doubt."""
    off = {"shim_reading": "3.3 mil"}
    evaluation = _evaluated(_check("06:30", **off), _check("09:30"), _check("12:00"), _check("17:00", **off))
    assert finding(evaluation, "gauge-check-failed").place.time == "17:00"
    both = _evaluated(_check("06:30", **off), _check("12:00"), _check("17:00", **off))
    failed = [one for one in both.findings if one.code == "gauge-check-failed"]
    assert [(one.place, one.facts.doubt) for one in failed] == [
        (Place("A", time="06:30"), InDoubt(("1",))), (Place("A", time="17:00"), InDoubt(("2",))),
    ]  # fmt: skip


def test_a_failed_check_before_all_readings_says_what_was_required():
    evaluation = _evaluated(_check("06:30", shim_reading="3.3 mil"), _check("09:30"), _check("17:00"))
    found = finding(evaluation, "gauge-check-failed")
    assert (found.facts.due, found.facts.doubt) == (DUE, NoneInDoubt())
    assert (found.place, found.severity) == (Place(time="06:30"), "observation")
    assert evaluation.areas[0].decision == "release"


MORNING, NOON = "1 a x1 3.1 10:00; 1 b x1 2.9 10:05", "1 a x1 5.1 14:00; 1 b x1 4.9 14:05"


def _two_ways(*presets):
    """Area A read at ten with the film subtracted, area B at two with it included; checks beside them."""
    times = ("09:30", "17:00") if len(presets) == 2 else ("09:30", "12:00", "13:00", "17:00")
    checks = [_check(time, preset=preset) for time, preset in zip(times, presets, strict=True)]
    both = [surface(), surface(area="B", profile__film="included")]
    return _evaluated(*checks, text=[MORNING, NOON], surfaces=both)


@pytest.mark.parametrize(
    ("presets", "contradicted"),
    [
        (("-2.0 mil", "-2.0 mil"), "B"),  # one wrong tick: the film would be taken off twice
        (("8.0 mil", "8.0 mil"), "B"),
        (("0.0 mil", "0.0 mil"), "A"),
        (("-2.0 mil", "-2.0 mil", "0.0 mil", "0.0 mil"), ""),  # set anew at noon, with a check before and after
        (("-2.0 mil", "0.0 mil"), "AB"),
    ],
)
def test_a_pre_set_that_contradicts_the_film_of_an_area(presets, contradicted):
    evaluation = _two_ways(*presets)
    held = {one.area for one in evaluation.findings if one.code == "film-contradicted"}
    assert held == set(contradicted)
    assert {area.id: area.decision for area in evaluation.areas} == {
        name: "hold" if name in held else "release" for name in "AB"
    }


def test_readings_without_a_time_are_contradicted_where_no_check_agrees():
    def found_of(*checks):
        both = [surface(), surface(area="B", profile__film="included")]
        text = ["1 a x1 3.1; 1 b x1 2.9", "1 a x1 5.1; 1 b x1 4.9"]
        evaluation = _evaluated(*checks, text=text, surfaces=both)
        return [one.area for one in evaluation.findings if one.code == "film-contradicted"]

    assert found_of(_check("06:30"), _check("17:00")) == ["B"]
    changed = [_check("12:00"), _check("13:00", preset="0.0 mil")]
    assert found_of(_check("06:30"), *changed, _check("17:00", preset="0.0 mil")) == []


def test_the_finding_names_film_check_and_pre_set():
    one = finding(_two_ways("-2.0 mil", "-2.0 mil"), "film-contradicted")
    assert one.facts == FilmContradicted(Word("film-recorded", "included"), "g1", seen())
    assert (one.place, one.severity) == (Place("B", time="09:30"), "observation")


def _checks_without(*fields, **values):
    return [_check(time, **dict.fromkeys(fields), **values) for time in ("09:30", "17:00")]


def _parts(evaluation):
    return [one.facts.part.key for one in evaluation.not_evaluated if one.code == "gauge-part-unchecked"]


def _told_of_checks(evaluation):
    parts = ("shim check", "check at rest")
    return {one.component.key: str(one.value) for one in evaluation.areas[0].budget if one.component.key in parts}


@pytest.mark.parametrize(
    ("without", "values", "untried", "told"),
    [
        ((), {}, [], {"shim check": "0.000"}),
        (("shim", "shim_reading"), {}, ["shim"], {}),
        (("shim", "shim_reading"), {"preset": "-1.9 mil"}, ["shim"], {"check at rest": "0.100"}),
        (("preset",), {}, ["pre-set"], {"shim check": "0.000"}),
    ],
)
def test_what_no_check_tried_is_said_and_enters_no_budget(without, values, untried, told):
    """Anvils and pre-set say nothing of the span: a line for the shim would be of a check that nobody made."""
    evaluation = _evaluated(*_checks_without(*without, **values))
    assert (_parts(evaluation), _told_of_checks(evaluation)) == (untried, told)
    assert evaluation.areas[0].decision == "release"


@pytest.mark.parametrize(("shown", "untried"), [({"zero": "0 um"}, []), ({}, ["zero"])])
def test_a_depth_micrometer_without_its_zero_is_told(shown, untried):
    micrometer = {**METRIC, "instruments.g1": {**METRIC["instruments.g1"], "kind": "depth micrometer"}}
    spec = {**micrometer, "specification.profile.method": "ASTM D4417 Method B",
            "specification.profile.overlap_rule": None, "tape_rolls": {}}  # fmt: skip
    on_shim = {"gauge": "g1", "tip": "clean", "shim": "75 um", "shim_reading": "75 um", **shown}
    checks = [{"time": time, **on_shim} for time in ("06:30", "17:00")]
    evaluation = evaluated("1 a - 70; 1 b - 71", spec=spec, day={"gauge_checks": checks, "tape_checks": []})
    assert _parts(evaluation) == untried


def test_a_check_at_the_very_minute_of_the_first_and_of_the_last_reading_is_before_and_after_them():
    assert codes(_evaluated(_check("10:00"), _check("14:05"))) == []


@pytest.mark.parametrize("wrong", ["14:00", "14:05"])
def test_nor_does_a_pre_set_at_that_minute_go_unseen(wrong):
    """Area B was read at two with the film included: the one check that says otherwise is nearest to its readings."""
    both = [surface(), surface(area="B", profile__film="included")]
    checks = [_check(time, preset="0.0 mil") for time in ("09:30", "13:00", "17:00")]
    evaluation = _evaluated(*checks, _check(wrong), text=[MORNING, NOON], surfaces=both)
    assert "B" in [one.area for one in evaluation.findings if one.code == "film-contradicted"]


def test_moved_by_just_its_limits_of_error_a_gauge_has_not_drifted():
    assert codes(_evaluated(_check("09:30", shim_reading="2.9 mil"), _check("17:00", shim_reading="3.1 mil"))) == []


def test_nor_does_that_take_the_error_of_the_shim_from_it():
    """0.1 and 0.3 mil off on one shim are within 0.2 of each other, and 0.3 within ±0.2 and the 0.1 of the shim."""
    spec = {"instruments.g1.shim_accuracy": "0.1 mil"}
    near = _evaluated(_check("09:30", shim_reading="3.1 mil"), _check("17:00", shim_reading="3.3 mil"), spec=spec)
    assert "gauge-check-failed" not in codes(near)


@pytest.mark.parametrize(("sure", "failed"), [({}, False), ({"confirmed": "yes"}, True)])
def test_what_was_asked_about_and_confirmed_fails_the_gauge(sure, failed):
    evaluation = _evaluated(_check("09:30"), _check("17:00", shim_reading="30 mil", **sure))
    assert ("gauge-check-failed" in codes(evaluation)) is failed
    assert evaluation.areas[0].decision == "hold"
