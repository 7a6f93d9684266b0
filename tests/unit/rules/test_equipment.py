"""Instruments, tape and people on the date of the reading."""

from decimal import Decimal
from typing import get_args

import pytest

from reportgen.job import GaugeCheck, Instrument, ProfileRecord
from reportgen.job.project import TapeRoll
from reportgen.results import Amount, CheckResult, LeftOut, Place, Task, Word
from reportgen.results.codes import WORDS
from reportgen.results.codes.equipment import (
    Calibration,
    CalibrationUndated,
    Certificate,
    InstrumentNamed,
    NoTapeRange,
    PersonNamed,
    TapeChecked,
    TapeExpired,
    TapeOfGrade,
    TapeOutside,
    TapeRollNamed,
    TapeUnproven,
    UnusedTapeRange,
)
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import DAY, GOOD, codes, evaluated, finding, surface

HYGROMETER = {"kind": "hygrometer", "serial": "H", "accuracy": "3 %", "calibration_due": "2026-05-13"}
METER = {"kind": "conductivity meter", "serial": "K", "accuracy": "2 %", "calibration_due": "2026-05-13"}

G1 = InstrumentNamed("g1", Word("instrument-kind", "thickness gauge"), "1")


def mil(number):
    return Amount(Decimal(number), "mil")


RANGE = UnusedTapeRange(mil("5"), mil("6"))


def test_closed_lists_are_those_of_the_files():
    fields = {
        "anvils": (GaugeCheck, "anvils"), "instrument-kind": (Instrument, "kind"), "tape-grade": (TapeRoll, "grade"),
        "film-recorded": (ProfileRecord, "film"),
    }  # fmt: skip
    for group, (model, field) in fields.items():
        annotation = model.model_fields[field].annotation
        choices = (
            [get_args(one) or (one,) for one in get_args(annotation)] if type(None) in get_args(annotation) else []
        )
        assert WORDS[group] == (choices[0] if choices else get_args(annotation))


def _calibrations(evaluation):
    return [(check.subject, check.verdict) for check in evaluation.checks if check.kind == "calibration"]


@pytest.mark.parametrize(("due", "verdict"), [("2026-05-14", "conforms"), ("2026-05-13", "does not conform")])
def test_the_gauges_calibration_on_the_date_of_the_reading(due, verdict):
    evaluation = evaluated(spec={"instruments.g1.calibration_due": due})
    assert _calibrations(evaluation) == [("g1", verdict)]
    if verdict != "conforms":
        found = finding(evaluation, "calibration-overdue")
        assert (found.facts, found.place) == (Calibration(G1, "2026-05-14", "2026-05-13"), Place("A"))
        assert found.severity == "nonconformance"
        (check,) = [check for check in evaluation.checks if check.kind == "calibration"]
        assert check == CheckResult("calibration", "g1", None, verdict, facts=found.facts)
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
    assert finding(evaluation, "calibration-overdue").facts == Calibration(G1, "2026-05-15", "2026-05-14")
    tape = evaluated(text, spec={"tape_rolls.x1.expires": "2026-05-14"}, surfaces=night, day=shift)
    assert finding(tape, "tape-expired").facts == TapeExpired("x1", "2", "2026-05-15", "2026-05-14")


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
    assert LeftOut("calibration-without-date", Place(), CalibrationUndated(G1)) in evaluation.not_evaluated
    assert codes(evaluation) == []


def test_a_gauge_without_readings_counts_on_the_day_of_blasting():
    assert _calibrations(evaluated("")) == [("g1", "conforms")]


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
    assert LeftOut("tape-without-expiry", Place(), TapeRollNamed("x1")) in evaluation.not_evaluated


# Unused extra coarse tape on a pre-set gauge: 5 to 6 mil, 125 to 155 µm (common practice without a published source).
@pytest.mark.parametrize(
    ("thickness", "verdict"),
    [("5.0", "conforms"), ("6.0", "conforms"), ("4.9", "does not conform"), ("6.1", "does not conform")],
)
def test_the_thickness_of_unused_tape(thickness, verdict):
    evaluation = evaluated(day={"tape_checks.0.thickness": f"{thickness} mil"})
    (check,) = [check for check in evaluation.checks if check.kind == "tape"]
    assert check == CheckResult("tape", "x1", "06:35", verdict, facts=TapeChecked(mil(thickness), RANGE))
    if verdict != "conforms":
        found = finding(evaluation, "tape-check-outside-range")
        assert found.facts == TapeOutside("x1", mil(thickness), RANGE)
        assert (found.place, evaluation.areas[0].decision) == (Place("A", time="06:35"), "hold")


SECOND = {"kind": "thickness gauge", "serial": "T-2", "unit": "mil", "resolution": "0.1 mil", "accuracy": "0.2 mil"}
SHIM = {"time": "06:31", "gauge": "g2", "anvils": "clean", "preset": "-2.0 mil", "shim": "3.0 mil"}


@pytest.mark.parametrize(
    ("due", "shown", "why"),
    [
        ("2027-01-10", "3.0 mil", None), ("2027-01-10", "2.2 mil", "failed"), ("2026-05-13", "3.0 mil", "overdue"),
        ("2026-05-14", "3.0 mil", None), ("2027-01-10", None, "unchecked"),
    ],
)  # fmt: skip
def test_tape_measured_with_a_gauge_that_proves_nothing_is_not_checked(due, shown, why):
    def measured(*more, thickness="5.5 mil"):
        row = {"time": "06:35", "roll": "x1", "gauge": "g2", "thickness": thickness}
        checks = [] if shown is None else [{**SHIM, "shim_reading": shown}]
        spec = {"instruments.g2": {**SECOND, "calibrated": "2026-01-10", "calibration_due": due}}
        gauges = [*DAY["gauge_checks"], *checks]
        return evaluated(spec=spec, day={"gauge_checks": gauges, "tape_checks": [row, *more]})

    evaluation = measured()
    (tape,) = [check for check in evaluation.checks if check.kind == "tape"]
    assert (tape.verdict, evaluation.areas[0].decision) == ("inconclusive" if why else "conforms", "release")
    said = [one for one in evaluation.findings if one.code == "tape-check-missing"]
    assert [one.facts for one in said] == ([TapeUnproven("x1", "g2", Word("gauge-unfit", why))] if why else [])
    if why:
        assert sentences("en").told(said[0]).startswith("unused tape of x1 measured with g2, ")
        assert sentences("de").told(said[0]).endswith(": nicht nachgewiesen")
        assert "measure-unused-tape" in [one.code for one in evaluation.measure_next]
    again = measured({"time": "06:40", "roll": "x1", "gauge": "g1", "thickness": "5.5 mil"})
    assert "tape-check-missing" not in codes(again)
    assert measured(thickness="7 mil").areas[0].decision == "hold"


def test_one_good_check_of_that_gauge_is_enough():
    row = {"time": "06:35", "roll": "x1", "gauge": "g2", "thickness": "5.5 mil"}
    untried = {**SHIM, "time": "06:20", "anvils": "not checked", "shim_reading": "3.0 mil"}
    gauges = [*DAY["gauge_checks"], untried, {**SHIM, "shim_reading": "3.0 mil"}]
    evaluation = evaluated(spec={"instruments.g2": SECOND}, day={"gauge_checks": gauges, "tape_checks": [row]})
    assert "tape-check-missing" not in codes(evaluation)


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
    facts = TapeOfGrade("c1", Word("tape-grade", "coarse"))
    assert LeftOut("tape-without-range", Place(), facts) in evaluation.not_evaluated
    assert codes(evaluation) == []


def test_a_roll_whose_unused_tape_was_not_measured():
    evaluation = evaluated(day={"tape_checks": []})
    found = finding(evaluation, "tape-check-missing")
    assert (found.facts, found.place, found.severity) == (TapeRollNamed("x1"), Place("A"), "observation")
    assert evaluation.areas[0].decision == "release"
    due = Task("measure-unused-tape", Place("A"), TapeRollNamed("x1"), answers="tape-check-missing")
    assert due in evaluation.measure_next


@pytest.mark.parametrize(
    ("expires", "shift_end", "last", "verdict"),
    [
        ("2026-05-14", "18:00", "2026-05-14", "conforms"), ("2026-05-13", "18:00", "2026-05-14", "does not conform"),
        ("2026-05-14", "05:00", "2026-05-15", "does not conform"),
    ],
)  # fmt: skip
def test_the_inspectors_certificate(expires, shift_end, last, verdict):
    spec = {"people.ann.certificate": "L2", "people.ann.certificate_expires": expires}
    evaluation = evaluated(spec=spec, day={"report.shift": {"start": "06:00", "end": shift_end}})
    (check,) = [check for check in evaluation.checks if check.kind == "certificate"]
    facts = Certificate("A. Inspector", "L2", expires, last)
    assert check == CheckResult("certificate", "A. Inspector", None, verdict, facts=facts)
    if verdict != "conforms":
        found = finding(evaluation, "certificate-expired")
        assert (found.facts, found.place) == (facts, Place())
        assert evaluation.areas[0].decision == "hold"


def test_a_certificate_without_expiry_is_named():
    evaluation = evaluated(spec={"people.ann.certificate": "L2"})
    gap = LeftOut("certificate-without-expiry", Place(), PersonNamed("A. Inspector"))
    assert gap in evaluation.not_evaluated


def test_an_inspector_without_a_certificate_is_named():
    gap = LeftOut("certificate-not-stated", Place(), PersonNamed("A. Inspector"))
    assert gap in evaluated().not_evaluated


def test_unused_tape_of_a_grade_without_a_published_range():
    check = {"time": "06:35", "roll": "c1", "gauge": "g1", "thickness": "2.4 mil"}
    evaluation = evaluated(day={"tape_checks": [check]})
    (shown,) = [check for check in evaluation.checks if check.kind == "tape"]
    assert shown == CheckResult("tape", "c1", "06:35", "not evaluated", facts=TapeChecked(mil("2.4"), NoTapeRange()))


def test_a_roll_outside_its_range_that_was_not_used_is_only_noted():
    rolls = {"tape_rolls.x2": {"grade": "extra coarse", "lot": "3", "expires": "2027-01-01"}}
    good = {"time": "06:35", "roll": "x1", "gauge": "g1", "thickness": "5.5 mil"}
    evaluation = evaluated(spec=rolls, day={"tape_checks": [good, {**good, "roll": "x2", "thickness": "4.9 mil"}]})
    found = finding(evaluation, "tape-check-outside-range")
    assert (found.place, found.severity) == (Place(time="06:35"), "observation")
    assert found.facts == TapeOutside("x2", mil("4.9"), RANGE)
