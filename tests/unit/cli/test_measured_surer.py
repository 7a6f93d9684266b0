"""What was left undecided gives way to a surer value alone: with the same means it would only be tried again."""

import json

import pytest

from tests.unit.cli.test_left_open import left, project, readings
from tests.unit.cli.test_reinspection import CLEAN, NEXT, OLD, contract, decided, report

__all__ = ["contract", "decided", "left", "project"]

GAUGE = "  g1: {kind: thickness gauge, serial: T-1, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil,"
FINE = GAUGE.replace("g1", "g2").replace("T-1", "T-2")
CALIBRATED = "\n    calibrated: 2026-01-10, calibration_due: 2027-01-10}"
SCATTER = "repeatability: {value: 0.03 mil, degrees_of_freedom: 40, source: reports of May}, decision_rule: "
"""U of a location is then a little over 0.25 mil on the first gauge."""


@pytest.fixture
def undecided(project):
    """The contract is under a guarded or banded rule, with a second gauge of some accuracy."""

    def made(accuracy="0.05 mil", rule="guarded"):
        project(
            ("decision_rule: simple", SCATTER + rule),
            (GAUGE, f"{FINE.replace('0.2 mil', accuracy)}{CALIBRATED}\n{GAUGE}"),
        )

    return made


def profile(*rows, gauge="g1"):
    changed = readings(*rows)
    return changed if gauge == "g1" else {**changed, "gauge: g1": f"gauge: {gauge}"}


NEAR = ("2", "a", "x1: 3.4")
ONE = ("1", "a", "x1: 2.9")


def second(value="2.9", gauge="g1", **more):
    """The next day's report of the same steel, location 2 measured again."""
    rows = (("1", "a", 'x1: 2.9, time: "07:20"'), ("2", "a", f'x1: {value}, time: "07:20"'))
    return report(2, OLD, **profile(*rows, gauge=gauge), **NEXT, **more)


def found(run, name, code):
    return [one for one in json.loads(run("check", name, "--json").out)["findings"] if one["code"] == code]


@pytest.mark.parametrize("rule", ["guarded", "banded"])
def test_the_same_gauge_on_another_day_releases_nothing(run, decided, undecided, rule):
    undecided(rule=rule)
    first = report(1, **profile(ONE, NEAR))
    assert decided(first)[0] == "hold"
    assert decided(first, second())[0] == "hold"
    (facts,) = (one["facts"] for one in found(run, "day2.yaml", "left-open-earlier"))
    assert [facts[name]["value"] for name in ("seen", "again")] == [3.4, 2.9]
    said = " ".join(run("check", "day2.yaml").out.split())
    assert "3.40 mil ± 0.26 mil; measured again here as 2.90 mil ± 0.26 mil; required: measured again with" in said
    assert decided(first, second(), second(gauge="g2").replace("SL-1-002", "SL-1-003"))[0] == "release"


@pytest.mark.parametrize(
    ("accuracy", "decision"),
    [("0.05 mil", "release"), ("0.19 mil", "release"), ("0.2 mil", "hold"), ("0.3 mil", "hold")],
)
def test_a_finer_gauge_releases_and_both_values_are_shown(run, decided, undecided, accuracy, decision):
    undecided(accuracy)
    assert decided(report(1, **profile(ONE, NEAR)), second(gauge="g2"))[0] == decision
    shown = [one["facts"] for one in found(run, "day2.yaml", "decided-by-surer")]
    assert len(shown) == (decision == "release")
    for facts in shown:
        assert [facts["report"], facts["seen"]["value"], facts["again"]["value"]] == ["SL-1-001", 3.4, 2.9]


def test_a_gauge_is_not_finer_by_what_nobody_states_of_it(decided, undecided, project):
    undecided()
    first = report(1, **profile(ONE, NEAR))
    project((GAUGE, f"{GAUGE} uncertainty: 0.02 mil, coverage_factor: 2,"))
    assert decided(first, second(gauge="g2"))[0] == "hold"


@pytest.mark.parametrize("gauge", ["g1", "g2"])
def test_what_fails_the_second_time_fails(run, decided, undecided, gauge):
    undecided()
    assert decided(report(1, **profile(ONE, NEAR)), second("3.9", gauge))[0] == "rework"
    assert len(found(run, "day2.yaml", "left-open-earlier")) == (gauge == "g1")


def test_what_is_undecided_again_holds_by_itself(run, decided, undecided):
    undecided()
    assert decided(report(1, **profile(ONE, NEAR)), second("3.4", "g2"))[0] == "hold"
    assert [one["code"] for one in found(run, "day2.yaml", "profile-in-guard-band")] == ["profile-in-guard-band"]


def test_steel_blasted_again_begins_anew(decided, undecided):
    undecided()
    assert decided(report(1, **profile(ONE, NEAR)), report(2, **NEXT))[0] == "release"


# Salts

METERS = """\
  m1: {kind: conductivity meter, serial: M-1, accuracy: 2 uS/cm, calibrated: 2026-01-10, calibration_due: 2027-01-10}
  m2: {kind: conductivity meter, serial: M-2, accuracy: 0.2 uS/cm, calibrated: 2026-01-10, calibration_due: 2027-01-10}
tape_rolls:"""
TEST = "area: 12.5 cm2, volume: 3 ml, blank: 1.9 uS/cm, sample: {} uS/cm, instrument: {}{}"
PATCH = ", volume_error: 0.1 ml"


@pytest.mark.parametrize(
    ("meter", "before", "now", "decision"),
    [
        ("m1", "", "", "hold"),
        ("m2", "", "", "release"),
        ("m2", PATCH, PATCH, "release"),
        ("m2", PATCH, "", "hold"),  # surer by what is left out alone
        ("m1", PATCH, "", "hold"),
        ("m1", PATCH, ", volume_error: 0.05 ml", "release"),
    ],
)
def test_a_second_salt_test_counts_by_its_meter_and_volume_and_not_by_luck(
    decided, project, meter, before, now, decision
):
    """25 ± 8 mg/m2 of 30, and 7 the next day: at 25 the second is surer only by its means."""
    project(
        ("expressed_as: chloride", "expressed_as: mixed salts by conductivity, decision_rule: guarded"),
        ("tape_rolls:", METERS),
    )
    near, far = TEST.format(24, "m1", before), TEST.format(8, meter, now)
    first = report(1, tests=CLEAN.replace("chloride: 10 mg/m2", near))
    assert decided(first)[0] == "hold"
    assert decided(first, report(2, OLD, tests=CLEAN.replace("chloride: 10 mg/m2", far), **NEXT))[0] == decision


def test_a_meter_that_errs_by_a_share_is_no_surer_where_it_happened_to_show_less(decided, project):
    """10 % of 8 µS/cm is less than 10 % of 24: at what the first test showed it is the same."""
    project(
        ("expressed_as: chloride", "expressed_as: mixed salts by conductivity, decision_rule: guarded"),
        ("tape_rolls:", METERS.replace("accuracy: 2 uS/cm", "accuracy: 10 %")),
    )
    near, far = (TEST.format(sample, "m1", "") for sample in (24, 8))
    first = report(1, tests=CLEAN.replace("chloride: 10 mg/m2", near))
    assert decided(first)[0] == "hold"
    assert decided(first, report(2, OLD, tests=CLEAN.replace("chloride: 10 mg/m2", far), **NEXT))[0] == "hold"
