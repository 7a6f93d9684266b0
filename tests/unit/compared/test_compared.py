"""Two reports compared against brute force: what was edited is found and nothing else, and what changes verdicts."""

import datetime as dt
import random

import pytest

from reportgen.compared import compare, side_of_files
from reportgen.formats import encode
from reportgen.loader import job_from_files
from reportgen.rules import evaluate
from reportgen.rules.editions import NEWEST
from tests.unit.intake.small import PROJECT

AT = dt.datetime(2026, 6, 12, 19, tzinfo=dt.UTC)
HEAD = """\
project: project.yaml
report: {number: AB-7-1, revision: REVISION, date: 2026-06-12, shift: {start: "06:30", end: "18:00"}, inspector: noor
SUPERSEDES}
conditions:
  - {time: "06:40", air: 13.5 degC, humidity: 71 %, steel: 12.5 degC}
  - {time: "10:30", air: 13.5 degC, humidity: 71 %, steel: 12.5 degC}
gauge_checks:
  - {time: "06:45", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
  - {time: "17:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
tape_checks:
  - {time: "06:50", roll: x1, gauge: g1, thickness: 5.6 mil}
surfaces:
"""
SURFACE = """\
  - area: AREA
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "07:00", end: "08:30", abrasive: grit}
    cleanliness: {observed: Sa 2½, staining: 2 %}
    dust: [{location: 1, quantity: 1, size: 2}]
    salts: [{location: 1, area: 12.5 cm2, volume: 3 ml, blank: 1.8 uS/cm, sample: 3.4 uS/cm}]
    profile:
      gauge: g1
      readings:
ROWS
"""


def day(readings, *, revision=0, reason="", head=HEAD):
    """The day file: readings by (area, location, spot)."""
    replaces = f', supersedes: {{revision: 0, reason: "{reason}"}}' if revision else ""
    text = head.replace("REVISION", str(revision)).replace("\nSUPERSEDES", replaces)
    for area in dict.fromkeys(area for area, *_ in readings):
        rows = [
            f"        - {{location: {location}, spot: {spot}, x1: {value}}}"
            for (own, location, spot), value in readings.items()
            if own == area
        ]
        text += SURFACE.replace("AREA", area).replace("ROWS", "\n".join(rows))
    return text


def side(text, project=PROJECT):
    files = {"project.yaml": project.encode(), "day.yaml": text.encode()}
    return side_of_files(files, "day.yaml", {}, AT, NEWEST)


def evaluated(text):
    files = {"project.yaml": PROJECT.encode(), "day.yaml": text.encode()}
    return evaluate(job_from_files(files, "day.yaml"), at=AT, edition=NEWEST)


def verdicts(evaluation):
    """Every verdict by name, written out once more: what a comparison must agree with."""
    found = {("verdict",): evaluation.verdict}
    for area in evaluation.areas:
        found[("areas", area.id, "verdict")] = area.verdict
        found[("areas", area.id, "decision")] = area.decision
        for one in area.locations:
            found[("areas", area.id, "locations", one.id, "verdict")] = one.verdict
    return found


def readings_of(seed):
    chance = random.Random(seed)  # noqa: S311 - invented readings, not secrets
    return {
        (area, location, spot): f"{chance.gauss(2.9, 0.25):.1f}"
        for area in ("A-1", "A-2")
        for location in (1, 2, 3)
        for spot in "ab"
    }


def test_a_report_does_not_differ_from_itself():
    one = side(day(readings_of(1)))
    assert not compare(one, one).different
    assert encode(one.evaluated(one.inputs, {})) == encode(one.evaluation)


@pytest.mark.parametrize("seed", range(8))
def test_every_edit_is_found_and_what_it_changes_is_what_evaluating_without_it_gives(seed):
    chance = random.Random(100 + seed)  # noqa: S311
    before = readings_of(seed)
    edited = chance.sample(sorted(before), 4)
    now = dict(before)
    for place in edited:
        now[place] = f"{chance.choice((1.4, 1.7, 2.7, 2.9, 3.5)) + chance.randint(0, 2) / 10:.1f}"
    edited = [place for place in edited if now[place] != before[place]]
    found = compare(side(day(before)), side(day(now, revision=1, reason="typing errors")))
    assert found.requirements == ()
    assert {row.place for row in found.entries} == {
        ("day", "surfaces", f"{area}, pot 1", "profile", "readings", f"{location}, {spot}, x1", "reading")
        for area, location, spot in edited
    }
    texts = {0: day(before), 1: day(now, revision=1, reason="typing errors")}
    own = {into: verdicts(evaluated(text)) for into, text in texts.items()}
    for row in found.entries:
        area, place = row.place[2].partition(",")[0], row.place[5].split(", ")
        key = (area, int(place[0]), place[1])
        assert (row.before, row.now) == (before[key], now[key])
        for into, changes in ((1, row.taken_back), (0, row.alone)):
            brute = {1: {**now, key: before[key]}, 0: {**before, key: now[key]}}[into]
            revision = {"revision": 1, "reason": "typing errors"} if into else {}
            other = verdicts(evaluated(day(brute, **revision)))
            expected = {(at, own[into][at], other[at]) for at in own[into] if own[into][at] != other[at]}
            assert {(one.place, one.stands, one.would_be) for one in changes if one.place in own[into]} == expected
    differ = {at for at in own[0] if own[0][at] != own[1][at]}
    assert {row.place for row in found.results if row.judged and row.place in own[0]} == differ


def test_an_entry_put_first_makes_no_other_one_differ():
    before = readings_of(3)
    now = {("A-1", 9, "a"): "2.4", ("A-1", 9, "b"): "2.6", **before}
    found = compare(side(day(before)), side(day(now, revision=1, reason="location 9 of A-1 was left out")))
    rows = {row.place[-1]: row for row in found.entries}
    assert set(rows) == {"9, a, x1", "9, b, x1"}
    assert rows["9, a, x1"].before is None
    assert "reading: 2.4" in rows["9, a, x1"].now
    assert rows["9, a, x1"].named == ("A-1", "9")
    # a location with one spot of two is no location: neither row can be left out by itself
    assert {row.changes_a_verdict for row in found.entries} <= {None, True, False}


def test_what_changes_a_verdict_only_together_is_told_as_such():
    """Three locations were left out of four, where three are enough: any of them could stay out, and none is enough."""
    project = PROJECT.replace("readings_per_location: 2", "readings_per_location: 1")
    before = {("A-1", 1, "a"): "2.9"}
    now = {("A-1", location, "a"): "2.9" for location in (1, 2, 3, 4)}
    found = compare(side(day(before), project), side(day(now, revision=1, reason="more"), project))
    tried = [row.taken_back + row.alone for row in found.entries]
    assert len(tried) == 3
    decision = ("areas", "A-1", "decision")
    assert not any(one.place == decision for changes in tried for one in changes)
    assert [(one.stands, one.would_be) for one in found.together if one.place == decision] == [("hold", "release")]


def test_requirements_are_tried_too_and_a_reading_on_a_table_beside_is_the_same_entry():
    before = readings_of(5)
    text = day(before)
    other = PROJECT.replace("maximum: 3.3 mil", "maximum: 2.2 mil")
    found = compare(side(text), side(text, other))
    (row,) = found.requirements
    assert (row.place, row.before, row.now) == (("specification", "profile", "maximum"), "3.3 mil", "2.2 mil")
    assert row.changes_a_verdict
    assert found.entries == ()
    lines = ["location,spot,roll,reading"]
    lines += [f"{location},{spot},x1,{value}" for (area, location, spot), value in before.items() if area == "A-1"]
    rows = "".join(
        f"        - {{location: {location}, spot: {spot}, x1: {value}}}\n"
        for (area, location, spot), value in before.items()
        if area == "A-1"
    )
    assert rows in text
    tabled = text.replace(f"      readings:\n{rows}", "      readings: {csv: a1.csv}\n", 1)
    files = {"project.yaml": PROJECT.encode(), "day.yaml": tabled.encode(), "a1.csv": "\n".join(lines).encode()}
    beside = side_of_files(files, "day.yaml", {}, AT, NEWEST)
    assert not compare(side(text), beside).different
    assert encode(beside.evaluated(beside.inputs, {})) == encode(beside.evaluation)


def test_another_order_of_the_same_entries_is_one_difference():
    before = readings_of(6)
    now = dict(reversed(before.items()))
    now = {key: now[key] for key in sorted(now, key=lambda key: key[0])}
    found = compare(side(day(before)), side(day(now, revision=1, reason="order")))
    assert {row.place[-1] for row in found.entries} == {"order"}


def test_reports_of_two_numbers_are_compared_and_nothing_is_tried():
    one, other = day(readings_of(1)), day(readings_of(2)).replace("AB-7-1", "AB-7-2")
    found = compare(side(one), side(other))
    assert found.different
    assert not found.tried
    assert {row.changes_a_verdict for row in found.entries} == {None}


def test_readings_that_stand_under_another_area_now_are_told():
    own = {("A-1", 1, "a"): "3.1", ("A-1", 1, "b"): "3.4", ("A-2", 1, "a"): "2.9", ("A-2", 1, "b"): "3.6"}
    other = {"A-1": "A-2", "A-2": "A-1"}
    swapped = {(other[area], *place): value for (area, *place), value in own.items()}
    told = compare(side(day(own)), side(day(dict(sorted(swapped.items())), revision=1, reason="entered wrongly")))
    assert [(one.before, one.now) for one in told.moved] == [("A-1", "A-2"), ("A-2", "A-1")]
    edited = own | {("A-1", 1, "a"): "3.2"}
    assert compare(side(day(own)), side(day(edited, revision=1, reason="entered wrongly"))).moved == ()
