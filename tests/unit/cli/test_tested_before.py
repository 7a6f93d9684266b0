"""A test clears what failed only if it was made after that: moments are compared, not the dates of reports."""

import pytest

from tests.unit.cli.test_left_open import project
from tests.unit.cli.test_reinspection import CLEAN, DUSTY, NEXT, OLD, SALTY, contract, decided, raised, report

__all__ = ["contract", "decided", "project"]

SALTS, DUST = "salts-above-maximum", "dust-above-maximum"
DAY_BEFORE = "2026-05-04T{}+00:00"
TIMED = CLEAN.replace("size: 1", 'size: 1, time: "10:40"')


def again(time, washed="13:00", **changed):
    """A report of the next day on the same steel, washed the day before; tested at a time, without one if empty."""
    tests = TIMED.replace('"10:40"', f'"{time}"') if time else TIMED.replace(', time: "10:40"', "")
    return report(2, OLD, tests=tests, washed=DAY_BEFORE.format(washed), **changed, **NEXT)


@pytest.mark.parametrize("with_number", [True, False])
@pytest.mark.parametrize(("code", "tests", "failed_at"), [(SALTS, SALTY, "10:40"), (DUST, DUSTY, "10:50")])
@pytest.mark.parametrize(
    ("time", "cleared"),
    [
        (DAY_BEFORE.format("09:30"), False),
        ("same", False),
        (DAY_BEFORE.format("14:00"), True),
        ("2026-05-04T09:00-08:00", True),  # 17:00 at the site
        ("2026-05-04T16:00+08:00", False),  # 08:00 there
        ("08:10", True),
        ("", True),
    ],
)
def test_only_a_later_test_clears(run, decided, with_number, code, tests, failed_at, time, cleared):
    at = DAY_BEFORE.format(failed_at) if time == "same" else time
    if at == "2026-05-04T16:00+08:00":
        at = "2026-05-04T17:10+08:00"  # after the blasting, before the failing test
    first = report(1, tests=tests, more=raised(code) if with_number else "")
    decision, states, held = decided(first, again(at, reinspects="N1" if with_number else ""))
    assert decision == ("release" if cleared and with_number else "hold")
    assert states == ([] if not with_number else ["closed"] if cleared else ["open"])
    if cleared and not with_number:
        assert "no entry says that the steel was washed, or dust removed from it, between the two tests" in held[0]
    if not cleared:
        assert f"is of 2026-05-04 {failed_at}, and the test that is to clear it is of 2026-05-04" in held[0]


@pytest.mark.parametrize(
    ("time", "decision"), [(DAY_BEFORE.format("10:40"), "hold"), ("10:40", "release"), ("", "release")]
)
def test_what_failed_without_a_time_is_no_earlier_than_its_shift(run, decided, time, decision):
    first = report(1, tests=SALTY.replace(', time: "10:40"', ""), more=raised(SALTS))
    found = decided(first, again(time, "16:00", reinspects="N1"))
    assert found[0] == decision
    told = "has no time, and the test that is to clear it, of 2026-05-04 10:40, is no later than that shift"
    assert (told in "".join(found[2])) is (decision == "hold")


def test_what_is_written_again_beside_the_new_test_stands_not_against_it(decided):
    """The earlier report had tested the place twice; the next copies the one that passed and adds its own."""
    first = report(1, tests=SALTY, more=raised(SALTS))
    copied = '{location: S1, chloride: 10 mg/m2, time: "2026-05-04T09:10+00:00"}'
    own = '{location: S1, chloride: 11 mg/m2, time: "10:40"}'
    second = again("10:40", reinspects="N1").replace('{location: S1, chloride: 10 mg/m2, time: "10:40"}', own)
    assert decided(first, second)[0] == "release"
    assert decided(first, second.replace(own, f"{copied}, {own}"))[0] == "release"
    assert decided(first, second.replace(own, copied))[0] == "hold"


@pytest.mark.parametrize(("time", "decision"), [(DAY_BEFORE.format("09:30"), "hold"), ("10:40", "release")])
def test_washed_steel_with_a_value_within_its_guard_band_is_tested_again_after_it(decided, project, time, decision):
    project(("expressed_as: chloride", "expressed_as: mixed salts by conductivity, decision_rule: guarded"))
    measured = "area: 12.5 cm2, volume: 3 ml, blank: 1.9 uS/cm, sample: {} uS/cm"
    near, far = measured.format(24), measured.format(8)  # 26.5 ± 8.2 and 7.3 mg/m2 of 30
    first = report(1, tests=CLEAN.replace("chloride: 10 mg/m2", near), more=raised("salts-in-guard-band"))
    assert decided(first)[0] == "hold"
    assert decided(first, again(time, reinspects="N1").replace("chloride: 10 mg/m2", far))[0] == decision
    assert decided(first, again(time).replace("chloride: 10 mg/m2", far))[0] == "hold"  # nobody says it was washed
