"""Instruments, tape and people on the date of the reading."""

import pytest

from tests.unit.rules.factory import GOOD, codes, evaluated, finding, surface

HYGROMETER = {"kind": "hygrometer", "serial": "H", "accuracy": "3 %", "calibration_due": "2026-05-13"}
METER = {"kind": "conductivity meter", "serial": "K", "accuracy": "2 %", "calibration_due": "2026-05-13"}


def _calibrations(evaluation):
    return [(check.subject, check.verdict) for check in evaluation.checks if check.kind == "calibration"]


@pytest.mark.parametrize(("due", "verdict"), [("2026-05-14", "conforms"), ("2026-05-13", "does not conform")])
def test_the_gauges_calibration_on_the_date_of_the_reading(due, verdict):
    evaluation = evaluated(spec={"instruments.g1.calibration_due": due})
    assert _calibrations(evaluation) == [("g1 (thickness gauge 1)", verdict)]
    if verdict != "conforms":
        found = finding(evaluation, "calibration-overdue")
        assert found.observed == "g1 (thickness gauge 1): used 2026-05-14, calibration due 2026-05-13"
        assert (found.area, found.severity) == ("A", "nonconformance")
        assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("inconclusive", "hold")


def test_readings_after_midnight_have_the_next_date():
    shift = {
        "report.shift": {"start": "18:00", "end": "06:00"},
        "gauge_checks.0.time": "18:10",
        "gauge_checks.1.time": "05:00",
    }
    night = [surface(blasted={"start": "19:00", "end": "21:00", "abrasive": "grit 1"})]
    text = "1 a x1 3.1 23:50; 1 b x1 2.9 00:20"
    evaluation = evaluated(text, spec={"instruments.g1.calibration_due": "2026-05-14"}, surfaces=night, day=shift)
    assert [verdict for _, verdict in _calibrations(evaluation)] == ["conforms", "does not conform"]
    assert finding(evaluation, "calibration-overdue").observed.endswith("used 2026-05-15, calibration due 2026-05-14")
    tape = evaluated(text, spec={"tape_rolls.x1.expires": "2026-05-14"}, surfaces=night, day=shift)
    assert finding(tape, "tape-expired").observed == "roll x1, lot 2: used 2026-05-15, expired 2026-05-14"


def test_instruments_of_the_conditions_concern_every_area():
    log = [
        {
            "time": "06:45",
            "place": "span",
            "air": "20 degC",
            "humidity": "60 %",
            "steel": "18 degC",
            "instruments": ["h1"],
        }
    ]
    evaluation = evaluated(spec={"instruments.h1": HYGROMETER}, day={"conditions": log})
    assert finding(evaluation, "calibration-overdue").area is None
    assert evaluation.areas[0].decision == "hold"


READ = {"time": "06:45", "air": "20 degC", "humidity": "60 %", "steel": "18 degC"}


@pytest.mark.parametrize(
    ("areas", "concerned", "decisions"),
    [
        (["A"], ["A"], ["hold", "release"]),
        (["A", "B"], [None], ["hold", "hold"]),
        (["C"], [None], ["release", "release"]),  # nothing was done there: known, without consequence
    ],
)
def test_an_instrument_overdue_at_one_place_condemns_no_steel_elsewhere(areas, concerned, decisions):
    structures = [{"id": "S", "name": "Span", "areas": [{"id": area, "name": area} for area in "ABC"]}]
    log = [READ | {"areas": areas, "instruments": ["h1"]}]
    evaluation = evaluated(
        GOOD, GOOD, spec={"instruments.h1": HYGROMETER, "structures": structures}, day={"conditions": log},
        surfaces=[surface(), surface(area="B")],
    )  # fmt: skip
    assert [found.area for found in evaluation.findings if found.code == "calibration-overdue"] == concerned
    assert [area.decision for area in evaluation.areas] == decisions


def test_a_meter_overdue_for_one_abrasive_concerns_what_was_blasted_with_it():
    check = {"time": "06:50", "abrasive": "grit 2", "conductivity": "100 uS/cm", "instrument": "k1"}
    with_grit_2 = surface(area="B", blasted={"start": "07:00", "end": "09:00", "abrasive": "grit 2"})
    evaluation = evaluated(
        spec={"instruments.k1": METER}, surfaces=[surface(), with_grit_2], day={"abrasive_checks": [check]}
    )
    assert finding(evaluation, "calibration-overdue").area == "B"


@pytest.mark.parametrize("time", [None, "10:00"])
def test_instruments_of_salt_tests_and_abrasive_checks(time):
    salt = {"location": "1", "chloride": "1 mg/m2", "instrument": "k1", **({"time": time} if time else {})}
    check = {"time": "06:50", "abrasive": "grit 1", "conductivity": "100 uS/cm", "instrument": "k1"}
    evaluation = evaluated(
        spec={"instruments.k1": METER}, surfaces=[surface(salts=[salt])], day={"abrasive_checks": [check]}
    )
    assert [found.area for found in evaluation.findings if found.code == "calibration-overdue"] == ["A", None]
    assert len(_calibrations(evaluation)) == 2


def test_a_calibration_without_a_due_date_is_named():
    evaluation = evaluated(spec={"instruments.g1.calibration_due": None})
    assert "calibration of g1 (thickness gauge 1): no due date is stated" in evaluation.not_evaluated
    assert codes(evaluation) == []


def test_a_gauge_without_readings_counts_on_the_day_of_blasting():
    assert _calibrations(evaluated("")) == [("g1 (thickness gauge 1)", "conforms")]


def test_records_without_instruments():
    salt = {"location": "1", "chloride": "1 mg/m2"}
    check = {"time": "06:50", "abrasive": "grit 1", "conductivity": "100 uS/cm"}
    bare = surface(salts=[salt], profile=None)
    assert _calibrations(evaluated("", surfaces=[bare], day={"abrasive_checks": [check]})) == []


@pytest.mark.parametrize(("expires", "expired"), [("2026-05-14", False), ("2026-05-13", True)])
def test_tape_on_the_date_of_the_reading(expires, expired):
    evaluation = evaluated(spec={"tape_rolls.x1.expires": expires})
    assert ("tape-expired" in codes(evaluation, "A")) == expired
    assert evaluation.areas[0].decision == ("hold" if expired else "release")


def test_tape_without_a_date_of_expiry_is_named():
    evaluation = evaluated(spec={"tape_rolls.x1.expires": None})
    assert "expiry of tape roll x1: no date is stated" in evaluation.not_evaluated


# Unused extra coarse tape on a pre-set gauge: 5 to 6 mil, 125 to 155 µm (common practice without a published source).
@pytest.mark.parametrize(
    ("thickness", "verdict"),
    [
        ("5.0 mil", "conforms"),
        ("6.0 mil", "conforms"),
        ("4.9 mil", "does not conform"),
        ("6.1 mil", "does not conform"),
    ],
)
def test_the_thickness_of_unused_tape(thickness, verdict):
    evaluation = evaluated(day={"tape_checks.0.thickness": thickness})
    (check,) = [check for check in evaluation.checks if check.kind == "tape"]
    assert (check.verdict, check.observed) == (verdict, thickness)
    if verdict != "conforms":
        found = finding(evaluation, "tape-check-outside-range")
        assert found.observed == f"roll x1 at 06:35: {thickness}"
        assert found.requirement == "unused extra coarse tape 5 mil to 6 mil, film subtracted"
        assert (found.area, evaluation.areas[0].decision) == ("A", "hold")


def test_a_roll_that_was_not_used_is_only_noted():
    evaluation = evaluated(spec={"tape_rolls.x2": {"grade": "extra coarse", "lot": "3"}}, day={"tape_checks": [
        {"time": "06:35", "roll": "x1", "gauge": "g1", "thickness": "5.5 mil"},
        {"time": "06:36", "roll": "x2", "gauge": "g1", "thickness": "4.0 mil"},
    ]})  # fmt: skip
    assert finding(evaluation, "tape-check-outside-range").severity == "observation"
    assert evaluation.areas[0].decision == "release"


def test_coarse_tape_has_no_published_range():
    log = [
        {"time": "06:35", "roll": "x1", "gauge": "g1", "thickness": "5.5 mil"},
        {"time": "06:36", "roll": "c1", "gauge": "g1", "thickness": "3.0 mil"},
    ]
    evaluation = evaluated("1 a x1 3.1; 1 b x1 2.2; 1 b c1 2.1", day={"tape_checks": log})
    assert [check.verdict for check in evaluation.checks if check.kind == "tape"] == ["conforms", "not evaluated"]
    assert "thickness of unused coarse tape, roll c1: no published range" in evaluation.not_evaluated
    assert codes(evaluation) == []


def test_a_roll_whose_unused_tape_was_not_measured():
    evaluation = evaluated(day={"tape_checks": []})
    found = finding(evaluation, "tape-check-missing")
    assert (found.observed, found.severity) == ("x1 not checked", "observation")
    assert evaluation.areas[0].decision == "release"
    assert "unused tape of roll x1" in [step.what for step in evaluation.measure_next]


@pytest.mark.parametrize(
    ("expires", "shift_end", "verdict"),
    [
        ("2026-05-14", "18:00", "conforms"), ("2026-05-13", "18:00", "does not conform"),
        ("2026-05-14", "05:00", "does not conform"),
    ],
)  # fmt: skip
def test_the_inspectors_certificate(expires, shift_end, verdict):
    spec = {"people.ann.certificate": "L2", "people.ann.certificate_expires": expires}
    evaluation = evaluated(spec=spec, day={"report.shift": {"start": "06:00", "end": shift_end}})
    (check,) = [check for check in evaluation.checks if check.kind == "certificate"]
    assert (check.verdict, check.observed) == (verdict, f"L2, expires {expires}")
    if verdict != "conforms":
        assert finding(evaluation, "certificate-expired").area is None
        assert evaluation.areas[0].decision == "hold"


def test_a_certificate_without_expiry_is_named():
    evaluation = evaluated(spec={"people.ann.certificate": "L2"})
    assert "certificate of A. Inspector: no expiry is stated" in evaluation.not_evaluated


def test_unused_tape_of_a_grade_without_a_published_range():
    check = {"time": "06:35", "roll": "c1", "gauge": "g1", "thickness": "2.4 mil"}
    evaluation = evaluated(day={"tape_checks": [check]})
    (shown,) = [check for check in evaluation.checks if check.kind == "tape"]
    assert (shown.verdict, shown.requirement) == ("not evaluated", "no published range for this grade")


def test_a_roll_outside_its_range_that_was_not_used_is_only_noted():
    rolls = {"tape_rolls.x2": {"grade": "extra coarse", "lot": "3", "expires": "2027-01-01"}}
    good = {"time": "06:35", "roll": "x1", "gauge": "g1", "thickness": "5.5 mil"}
    evaluation = evaluated(spec=rolls, day={"tape_checks": [good, {**good, "roll": "x2", "thickness": "4.9 mil"}]})
    found = finding(evaluation, "tape-check-outside-range")
    assert (found.area, found.severity) == (None, "observation")
    assert found.requirement == "unused extra coarse tape 5 mil to 6 mil, film subtracted"
