"""What is dated after steel was blasted again is not of it as it was, in whichever entry it stands."""

import pytest

from tests.unit.cli.conftest import DAY, PROJECT
from tests.unit.cli.test_blasted_again import SECOND, day_of, evaluated
from tests.unit.cli.test_rework_fails import walked

LIMITS = """\
  soluble_salts: {clause: "2.7", maximum: 50 mg/m2, expressed_as: chloride, tests: 1}
  dust: {maximum_quantity: 2}
"""
TESTS = """\
    salts: [{{location: S{n}, chloride: {salt} mg/m2, time: "{at}"}}]
    dust: [{{location: D{n}, quantity: {dust}, size: 1, time: "{at}"}}]
"""


def with_tests(number, at, salt=10, dust=1):
    return TESTS.format(n=number, salt=salt, dust=dust, at=at)


def read_at(*times, text=DAY, values=()):
    rows = ", ".join(
        f'{{location: {at}, spot: a, x1: {value}, time: "{time}"}}'
        for at, (time, value) in enumerate(zip(times, values or ["2.9"] * len(times), strict=True), start=1)
    )
    return text.replace("[{location: 1, spot: a, x1: 2.9}]", f"[{rows}]")


def codes(result):
    return [one["code"] for one in result["findings"] if one["code"] != "blasted-again"]


def outcome(result):
    return result["areas"][0]["decision"], codes(result)


@pytest.mark.parametrize(
    ("time", "value", "expected"),
    [
        ("10:40", "4.2", ("release", [])),
        ("11:00", "4.2", ("release", [])),  # the replica was made before; the time is of its minute
        ("12:30", "4.2", ("hold", ["measured-after-rework"])),
        ("12:30", "2.9", ("hold", ["measured-after-rework"])),
    ],
)
@pytest.mark.parametrize("size", ["", "    cleaned: 12 m2\n"])
def test_a_reading_in_the_entry_of_steel_that_is_gone(run, contract, time, value, expected, size):
    first = read_at("10:35", time, values=("2.9", value))
    assert outcome(evaluated(run, contract, day_of(SECOND + size, first))) == expected
    said = " ".join(run("check", "day.yaml").out.split())
    told = (
        f"A-1: not of the steel of its entry: 1 reading at {time} in the entry of what pot 1 blasted until 10:30, and "
        "that steel was blasted again from 11:00 [measured-after-rework]"
    )
    assert (told in said) is (expected[0] == "hold")
    assert (f"before that: {value}" in said) is (expected[0] == "release")


@pytest.mark.parametrize("bad", [{"salt": 60}, {"dust": 4}])
def test_a_test_in_the_entry_of_steel_that_is_gone(run, contract, bad):
    (contract / "project.yaml").write_text(PROJECT.replace("people:", f"{LIMITS}people:"), "utf-8")
    later = SECOND + with_tests(2, "12:30")
    before, after = (
        evaluated(run, contract, day_of(later, DAY.replace("not_insp", f"{with_tests(1, at, **bad)}not_insp")))
        for at in ("10:40", "12:40")
    )
    assert outcome(before) == ("release", [])
    assert outcome(after) == ("hold", ["measured-after-rework"] * 2)
    facts = [one["facts"] for one in after["findings"] if one["code"] == "measured-after-rework"]
    assert [(one["count"], one["first"], one["began"]) for one in facts] == [(1, "12:40", "11:00")] * 2


def test_it_is_gone_with_the_last_part_that_was_blasted_again(run, contract):
    part = SECOND + "    cleaned: 6 m2\n"
    last = part.replace("11:00", "13:00").replace('"12:00"', '"13:30"').replace("location: 11", "location: 12")
    for time, expected in (("12:30", "release"), ("13:40", "hold")):
        assert outcome(evaluated(run, contract, day_of(part + last, read_at(time))))[0] == expected


@pytest.mark.parametrize(("time", "decision"), [("10:50", "release"), ("12:30", "hold")])
def test_a_location_within_its_walk_outs_is_older_than_what_was_blasted_again(run, contract, time, decision):
    rows, walk = walked(1)
    failing = f'{{location: 1, spot: a, x1: 4.2, time: "{time}"}}, {{location: 2, spot: a, x1: 2.9, time: "12:40"}}'
    first = DAY.replace("[{location: 1, spot: a, x1: 2.9}]", f"[{failing}, {rows}], {walk}")
    result = evaluated(run, contract, day_of(SECOND + "    cleaned: 2 m2\n", first))
    assert result["areas"][0]["decision"] == decision
    held = [one["place"] for one in result["findings"] if one["code"] == "measured-after-rework"]
    assert held == ([] if decision == "release" else [{"area": "A-1", "location": "1"}])


# Primer


PRIMED = DAY.replace("not_inspected", '    coated: "14:00"\nnot_inspected')
DAMP = (
    'conditions:\n  - {time: "07:50", air: 15 degC, humidity: 60 %, steel: 15 degC}\n'
    '  - {time: "10:50", air: 15 degC, humidity: 60 %, steel: 15 degC}\n'
    '  - {time: "13:50", air: 15 degC, humidity: 92 %, steel: 15 degC}\n'
)


@pytest.mark.parametrize("size", ["", "    cleaned: 12 m2\n"])
def test_primer_after_it_is_that_of_the_area(run, contract, size):
    limits = '  conditions: {clause: "2.8", maximum_humidity: 85 %, interval: 4 h}\npeople:'
    (contract / "project.yaml").write_text(PROJECT.replace("people:", limits), "utf-8")
    result = evaluated(run, contract, day_of(SECOND + size, PRIMED.replace("surfaces:", f"{DAMP}surfaces:")))
    decision, found = outcome(result)
    assert decision == "rework"
    assert {"times-contradictory", "humidity-above-maximum"} <= set(found)
    assert [one["facts"]["coated"] for one in result["findings"] if one["code"] == "times-contradictory"] == ["14:00"]
    assert [one["hours"] for one in result["coating_times"]] == [2.0]
    assert "before that: 13:50" not in " ".join(run("check", "day.yaml").out.split())


def test_what_was_read_after_that_primer_is_not_of_bare_steel(run, contract):
    second = SECOND.replace("x1: 2.9", 'x1: 2.9, time: "14:20"')
    assert "measured-after-primer" in outcome(evaluated(run, contract, day_of(second, PRIMED)))[1]


def test_the_pages_say_when_it_was_primed(run, contract):
    import pypdf

    (contract / "day.yaml").write_text(day_of(SECOND, PRIMED), "utf-8")
    run("draft", "day.yaml", "-o", "draft.pdf")
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(contract / "draft.pdf").pages).split())
    assert "not primed" not in text
    assert "was primed at 14:00, and pot 1 blasted it again from 11:00" in text
