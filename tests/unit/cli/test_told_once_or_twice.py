"""An entry that is made twice, or a log kept in the other unit, changes no decision; the copy is named."""

import json

import pytest

from tests.unit.cli.conftest import DAY, PROJECT

LIMITS = """\
  conditions: {dew_point_margin: 3 delta_degC, maximum_humidity: 85 %}
  soluble_salts: {maximum: 50 mg/m2, expressed_as: mixed salts by conductivity, tests: COUNT}
  dust: {maximum_quantity: 2, maximum_size: 2}
  sampling:"""
SALT = "{location: 1, area: 12.5 cm2, volume: 3 ml, blank: 1.5 uS/cm, sample: 9 uS/cm}"
DUST = "{location: 1, quantity: 1, size: 2}"
TIMES = ("07:10", "09:00", "12:00")


def row(time, air, unit="degC"):
    air = air if unit == "degC" else round(air * 1.8 + 32, 2)
    return f'  - {{time: "{time}", air: {air} {unit}, humidity: 40 %, steel: {air} {unit}}}\n'


@pytest.fixture
def judged(contract, run):
    """Return the decision on the area, the codes of the findings, and what `check` says."""

    def judge(*rows, salts=(SALT,), dust=(DUST,), count=1):
        project = PROJECT.replace("  sampling:", LIMITS.replace("COUNT", str(count)), 1)
        (contract / "project.yaml").write_text(project, "utf-8")
        log = "".join(rows or [row(time, 18) for time in TIMES])
        tests = f"    salts: [{', '.join(salts)}]\n    dust: [{', '.join(dust)}]\nnot_inspected"
        day = DAY.replace("surfaces:", f"conditions:\n{log}surfaces:", 1).replace("not_inspected", tests, 1)
        (contract / "day.yaml").write_text(day, "utf-8")
        data = json.loads(run("check", "--json", "day.yaml").out)
        said = run("check", "day.yaml")
        return data["areas"][0]["decision"], {one["code"] for one in data["findings"]}, said.out + said.err

    return judge


def test_a_salt_test_that_is_there_twice_counts_once_and_is_named(judged, run):
    assert judged()[:2] == ("release", set())
    decision, found, said = judged(salts=(SALT, SALT))
    assert (decision, found) == ("release", {"entry-twice"})
    assert "says the same, and counts" in " ".join(said.split())
    assert "unfinished" not in said
    assert run("issue", "day.yaml", "--identity", "demo").code == 2  # until one of the two is gone


def test_a_copy_is_no_second_test(judged):
    decision, found, _ = judged(salts=(SALT, SALT), count=2)
    assert (decision, "salts-missing" in found) == ("hold", True)


def test_a_dust_test_that_is_there_twice_changes_nothing(judged):
    assert judged(dust=(DUST, DUST))[0] == "release"


def test_a_row_of_a_log_that_is_there_twice_is_named(judged):
    rows = [row(time, 18) for time in TIMES]
    decision, found, said = judged(*rows[:2], *rows[1:])
    assert (decision, found) == ("release", set())
    assert "the conditions reading is there twice" in said


@pytest.mark.parametrize("airs", [(25, 2.5, 25), (2.5, 25, 25), (25, 25, 2.5), (2, 25, 25), (25, 2, 2.1), (18, 19, 20)])
def test_neither_copies_nor_the_unit_change_what_is_asked(judged, airs):
    rows = [row(*each) for each in zip(TIMES, airs, strict=True)]
    told = judged(*rows)[:2]
    assert told[0] == ("release" if airs in ((18, 19, 20), (25, 25, 2.5)) else "hold")  # at noon nothing is done
    for index in range(3):
        assert judged(*rows[:index], rows[index], *rows[index:])[:2] == told
        assert judged(*rows[:index], rows[index], rows[index], *rows[index:])[:2] == told
    assert judged(*(row(*each, "degF") for each in zip(TIMES, airs, strict=True)))[:2] == told
