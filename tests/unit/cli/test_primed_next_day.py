"""Steel that one report released and left bare, primed on a later day: what is missing is told at once, and truly."""

import json
import re

import pytest

from tests.unit.cli.conftest import DAY, PROJECT

LIMITS = PROJECT.replace("maximum: 8 h", "maximum: 60 h").replace(
    "  time_to_coat:", "  dust: {maximum_quantity: 2}\n  time_to_coat:"
)
DUST = "    dust: [" + ", ".join(f"{{location: {n}, quantity: 1, size: 1}}" for n in (1, 2, 3)) + "]\n"
FIRST = DAY.replace("    profile:", f"{DUST}    profile:")
AS_IT_WAS = 'blasted: {start: "2026-05-04T08:00+00:00", end: "2026-05-04T10:30+00:00"'
CHECKS = FIRST[FIRST.index("gauge_checks") : FIRST.index("surfaces:")]


def dated(text, number=2, day="05"):
    return text.replace("SL-1-001", f"SL-1-00{number}").replace("2026-05-04", f"2026-05-{day}")


def primed(text=FIRST, **what):
    """The steel of the first day entered again on the second, with its primer and without a check of that day."""
    later = dated(text).replace('blasted: {start: "08:00", end: "10:30"', AS_IT_WAS)
    return later.replace(CHECKS, "").replace("    profile:", '    coated: "09:00"\n    profile:')


@pytest.fixture
def contract(contract):
    (contract / "project.yaml").write_text(LIMITS, "utf-8")
    (contract / "day.yaml").write_text(FIRST, "utf-8")
    return contract


def codes(run, contract, text):
    (contract / "two.yaml").write_text(text, "utf-8")
    result = json.loads(run("check", "two.yaml", "--json").out)
    return result["areas"][0]["decision"], sorted(one["code"] for one in result["findings"])


def test_what_the_earlier_report_has_is_enough(run, contract):
    """Its gauge and its tape were checked in its own shift, before the readings and after them."""
    assert codes(run, contract, primed()) == ("release", [])
    timed = primed().replace("x1: 2.9}", 'x1: 2.9, time: "2026-05-04T11:00+00:00"}')
    (contract / "day.yaml").write_text(FIRST.replace("x1: 2.9}", 'x1: 2.9, time: "11:00"}'), "utf-8")
    assert codes(run, contract, timed) == ("release", [])


def test_all_that_is_missing_is_told_at_once(run, contract):
    bare = primed().replace(DUST, "").replace("    cleanliness: {observed: SSPC-SP 10, staining: 2 %}\n", "")
    bare = bare.replace("    profile: {gauge: g1, readings: [{location: 1, spot: a, x1: 2.9}]}\n", "")
    told = ["cleanliness-missing", "coated-after-earlier-release", "dust-missing", "locations-missing"]
    assert codes(run, contract, bare) == ("hold", told)
    assert "Noted" not in run("check", "two.yaml").out  # what is to be done is not merely noted
    assert codes(run, contract, primed()) == ("release", [])


@pytest.mark.parametrize("lacking", ["gauge_checks", "tape_checks"])
def test_what_the_earlier_report_lacks_is_missing(run, contract, lacking):
    if lacking == "tape_checks":
        first = FIRST.replace('tape_checks:\n  - {time: "07:15", roll: x1, gauge: g1, thickness: 5.6 mil}\n', "")
        code, told = "tape-check-missing", "unused tape of x1 not checked this shift"
    else:
        first = re.sub(r'  - \{time: "14:30", gauge.*\n', "", FIRST)
        code, told = "gauge-check-missing", "no complete check of g1 after 2026-05-04 10:30"
    assert first != FIRST
    (contract / "day.yaml").write_text(first, "utf-8")
    assert code in codes(run, contract, primed())[1]
    assert told in " ".join(run("check", "two.yaml").out.split())


def test_readings_of_the_day_itself_need_its_own_checks(run, contract):
    today = primed().replace("x1: 2.9}", 'x1: 2.9, time: "08:30"}')
    assert {"gauge-check-missing", "tape-check-missing"} <= set(codes(run, contract, today)[1])


def test_the_coating_itself_needs_its_conditions_and_nothing_more_is_asked(run, contract):
    climate = "  conditions: {clause: '2.4', dew_point_margin: 3 delta_degC, maximum_humidity: 85 %, interval: 8 h}\n"
    (contract / "project.yaml").write_text(LIMITS.replace("  dust:", f"{climate}  dust:"), "utf-8")
    log = 'conditions:\n  - {time: "07:30", air: 20 degC, humidity: 60 %, steel: 20 degC}\n'
    (contract / "day.yaml").write_text(FIRST + log, "utf-8")
    assert codes(run, contract, primed()) == ("hold", ["conditions-interval"])
    assert codes(run, contract, primed() + log) == ("release", [])


# The file of the next shift


def offered(run, contract, name, area="A-1"):
    """What `new --next` offers for an area: the start of each blasting, and its apparatus."""
    said = run("new", "--next", name)
    assert said.code == 0, said.err
    text = (contract / said.out.split()[1]).read_text("utf-8")
    entries = re.findall(r"(?m)^#  - area: (\S+)\n#    apparatus: (.*)\n.*\n#    blasted: \{start: (.*?), end", text)
    return [(start, apparatus) for own, apparatus, start in entries if own == area], text


BARE = '"2026-05-04T08:00+00:00"'


def test_bare_steel_is_offered_as_it_was_blasted(run, contract):
    found, text = offered(run, contract, "day.yaml")
    assert (found, "bare since SL-1-001" in text) == ([(BARE, "pot 1")], True)


def test_bare_steel_that_the_last_report_does_not_enter_is_too(run, contract):
    head = dated(FIRST)
    other = head.replace("area: A-1", "area: A-2").replace("{area: A-2, reason", "{area: A-1, reason")
    for between in (other, other.replace("not_inspected: [{area: A-1, reason: scaffold not released}]", "")):
        (contract / "two.yaml").write_text(between, "utf-8")
        found, text = offered(run, contract, "two.yaml")
        assert (found, "bare since SL-1-001" in text) == ([(BARE, "pot 1")], True)
        (contract / "2026-05-06.yaml").unlink()


def test_each_bare_part_is_offered_and_none_that_is_primed(run, contract):
    start = FIRST.index("  - area: A-1")
    one = FIRST[start : FIRST.index("not_inspected")]
    second = one.replace("pot 1", "pot 2").replace('"08:00", end: "10:30"', '"08:30", end: "10:40"')
    second = second.replace("location: 1, spot", "location: 2, spot")
    both = FIRST.replace("not_inspected", f"{second}not_inspected")
    (contract / "day.yaml").write_text(both, "utf-8")
    assert offered(run, contract, "day.yaml")[0] == [(BARE, "pot 1"), ('"2026-05-04T08:30+00:00"', "pot 2")]
    (contract / "2026-05-05.yaml").unlink()
    coated = both.replace("    profile:", '    coated: "12:00"\n    profile:', 1)
    (contract / "day.yaml").write_text(coated, "utf-8")
    assert offered(run, contract, "day.yaml")[0] == [('"2026-05-04T08:30+00:00"', "pot 2")]


def test_the_next_part_of_an_area_is_offered_beside_its_bare_part(run, contract):
    (contract / "day.yaml").write_text(FIRST.replace("    profile:", "    cleaned: 5 m2\n    profile:"), "utf-8")
    found, text = offered(run, contract, "day.yaml")
    assert found == [(BARE, "pot 1"), ("<07:00>", "pot 1")]
    assert "#    cleaned: 5 m²\n" in text
    assert re.search("#    cleaned: <2 (m2|ft2)> +# the next part of the area", text)


def test_steel_that_stood_bare_too_long_is_to_be_blasted_again(run, contract):
    (contract / "project.yaml").write_text(LIMITS.replace("maximum: 60 h", "maximum: 3 h"), "utf-8")
    found, text = offered(run, contract, "day.yaml")
    assert (found, "blasted_again: [pot 1]" in text) == ([("<07:00>", "pot 1")], True)
