"""Adding to a day file as text: everything else stays, in whatever way the lists are written."""

import datetime as dt

import pytest

from reportgen.errors import InputError, UsageError
from reportgen.intake.merge import merge
from reportgen.job import SiteClock
from reportgen.yamlsource import DayText, scalar
from reportgen.yamlsource.daytext import flow

ROW = {"time": "06:40", "place": "yard"}
LINE = '{time: "06:40", place: yard}'


CLOCK = SiteClock(dt.date(2026, 6, 12), dt.time(22), dt.time(6), "UTC")


def joined(text, incoming, **options):
    return merge(DayText(text.encode(), "day.yaml"), incoming, CLOCK, **options)


def after(text, incoming, **options):
    return joined(text, incoming, **options).text.encoded().decode()


@pytest.mark.parametrize(
    ("before", "expected"),
    [
        ("a: b\n", f"a: b\n\nconditions:\n  - {LINE}\n"),
        ("a: b\n\n\n", f"a: b\n\n\nconditions:\n  - {LINE}\n"),
        ("conditions: []\na: b\n", f"conditions:\n  - {LINE}\na: b\n"),
        ("conditions: [ ]   # log\na: b\n", f"conditions:   # log\n  - {LINE}\na: b\n"),
        ("conditions:\na: b\n", f"conditions:\n  - {LINE}\na: b\n"),
        ("conditions:  # log\na: b\n", f"conditions:  # log\n  - {LINE}\na: b\n"),
        (
            "conditions:\n  # first\n  - {time: x}\n\n  # after\na: b\n",
            f"conditions:\n  # first\n  - {{time: x}}\n  - {LINE}\n\n  # after\na: b\n",
        ),
        ("conditions:\n- time: x\n  place: y\na: b\n", f"conditions:\n- time: x\n  place: y\n- {LINE}\na: b\n"),
        ("conditions:\n  - time: x\n    place: y", f"conditions:\n  - time: x\n    place: y\n  - {LINE}\n"),
        ("conditions: [{time: x}]  # log\n", f"conditions: [{{time: x}}, {LINE}]  # log\n"),
        (
            "conditions:\n  - time: x\n    remarks: |\n      one\n\n      - two\na: b\n",
            f"conditions:\n  - time: x\n    remarks: |\n      one\n\n      - two\n  - {LINE}\na: b\n",
        ),
    ],
)
def test_an_entry_is_added_to_a_list(before, expected):
    assert after(before, {"conditions": [ROW]}) == expected


def test_line_ends_and_byte_order_mark_stay():
    before = "﻿a: b\r\nconditions:\r\n  - {time: x}\r\n"
    data = after(before, {"conditions": [ROW]}).encode()
    assert data == f"﻿a: b\r\nconditions:\r\n  - {{time: x}}\r\n  - {LINE}\r\n".encode()


def test_a_field_is_added_to_a_block_and_to_one_on_a_line():
    before = "surfaces:\n  - area: A-1\n    blasted: {start: x}\n    # kept\n  - {area: A-2}\na: b\n"
    came = [{"area": "A-1", "blasted": {"end": "y"}, "coated": "12:00"}, {"area": "A-2", "coated": "13:00"}]
    assert after(before, {"surfaces": came}) == (
        'surfaces:\n  - area: A-1\n    blasted: {start: x, end: y}\n    coated: "12:00"\n    # kept\n'
        '  - {area: A-2, coated: "13:00"}\na: b\n'
    )


def test_a_new_area_is_set_apart_by_an_empty_line():
    assert after("surfaces:\n  - area: A-1\n", {"surfaces": [{"area": "A-2", "dust": [{"location": "1"}]}]}) == (
        "surfaces:\n  - area: A-1\n\n  - area: A-2\n    dust:\n      - {location: 1}\n"
    )


def test_a_list_over_several_lines_in_brackets_is_added_to_as_it_is_written():
    before = "a: b\nconditions: [\n  {time: x},  # first\n  {time: y}  # last\n]\n"
    added = f"a: b\nconditions: [\n  {{time: x}},  # first\n  {{time: y}},  # last\n  {LINE}\n]\n"
    assert after(before, {"conditions": [ROW]}) == added
    text = DayText(b"a: b\nx: {conditions: []}\n", "day.yaml")
    text.add_items(("x", "conditions"), [ROW])
    assert text.encoded().decode() == f"a: b\nx: {{conditions: [{LINE}]}}\n"


def test_readings_in_a_csv_file_are_left_alone_and_said():
    before = "surfaces:\n  - area: A-1\n    profile:\n      readings: {csv: r.csv}\n"
    came = {"surfaces": [{"area": "A-1", "profile": {"readings": [{"location": "1", "spot": "a", "x1": "2.4"}]}}]}
    merged = joined(before, came)
    assert merged.text.encoded().decode() == before
    assert [(d.name, d.present, d.came) for d in merged.differences] == [
        ("surfaces A-1, profile, readings", "readings of a CSV file", "1 rows")
    ]


def test_equal_numbers_are_the_same_value():
    before = "conditions:\n  - {time: x, place: y, air: 13.50 degC, instruments: [h1]}\n"
    merged = joined(before, {"conditions": [{"time": "x", "place": "y", "air": "13.5 degC"}]})
    assert (merged.already, merged.differences) == (3, [])
    merged = joined(before, {"conditions": [{"time": "x", "place": "y", "instruments": ["t1"]}]})
    assert [(d.present, d.came) for d in merged.differences] == [("h1", "t1")]


@pytest.mark.parametrize(
    ("before", "expected"),
    [
        ("remarks: one\n      two\n", "remarks: three\n"),
        ("remarks: |  # why\n      one\n      # two\n\n    # after\n", "remarks: three  # why\n\n    # after\n"),
        ("remarks: 'one'  # why\n", "remarks: 'three'  # why\n"),
        ('remarks: "one\n      two: three"\n', 'remarks: "three"\n'),
    ],
)
def test_a_value_is_replaced_whole_however_it_is_written(before, expected):
    head = "surfaces:\n  - area: A-1\n    "
    came = {"surfaces": [{"area": "A-1", "remarks": "three"}]}
    assert after(head + before + "a: b\n", came, overwrite=True) == head + expected + "a: b\n"


def test_an_entry_goes_to_its_place_in_time_and_comments_stay_where_they_were():
    before = (
        'conditions:\n  # evening\n  - {time: "22:30", place: yard}\n  # night\n  - {time: "02:00", place: yard}\n'
        '  - {time: "23:00", place: hall}\na: b\n'
    )
    new = [{"time": "03:00", "place": "yard"}, {"time": "00:10", "place": "yard"}, {"time": "22:10", "place": "hall"}]
    merged = joined(before, {"conditions": new})
    assert merged.text.encoded().decode() == (
        'conditions:\n  # evening\n  - {time: "22:10", place: hall}\n  - {time: "22:30", place: yard}\n'
        '  - {time: "00:10", place: yard}\n  # night\n  - {time: "02:00", place: yard}\n'
        '  - {time: "23:00", place: hall}\n  - {time: "03:00", place: yard}\na: b\n'
    )
    assert [merged.source_of(("conditions", index, "time")) for index in range(6)] == [
        ("conditions", 2, "time"), None, ("conditions", 1, "time"), None, None, ("conditions", 0, "time")
    ]  # fmt: skip
    flat = 'conditions: [{time: "23:00", place: yard}]\n'
    assert after(flat, {"conditions": [{"time": "22:30", "place": "yard"}]}) == (
        'conditions: [{time: "22:30", place: yard}, {time: "23:00", place: yard}]\n'
    )
    assert after("a: b\n", {"conditions": new[:2]}).index("00:10") < after("a: b\n", {"conditions": new[:2]}).index(
        "03:00"
    )


def test_of_an_area_worked_with_two_apparatus_the_one_named_is_added_to():
    before = "surfaces:\n  - {area: A-1, apparatus: pot 1}\n  - {area: A-1, apparatus: pot 2}\n"
    came = [{"area": "A-1", "apparatus": "pot 1", "coated": "23:00"}]
    assert after(before, {"surfaces": came}) == before.replace("pot 1}", 'pot 1, coated: "23:00"}')


def test_ids_of_nonconformances_join_those_that_are_there():
    before = "surfaces:\n  - {area: A-1, reinspects: [N-1]}\n"
    merged = joined(before, {"surfaces": [{"area": "A-1", "reinspects": ["N-1", "N-2"]}]})
    assert merged.text.encoded().decode() == "surfaces:\n  - {area: A-1, reinspects: [N-1, N-2]}\n"
    assert merged.added == ["surfaces A-1, reinspects: N-2"]


def test_the_only_entry_taken_out_leaves_an_empty_list():
    before = "surfaces:\n  - area: A-1\nnot_inspected:  # why\n  - area: A-1\n    reason: due\nremarks: x\n"
    merged = joined(before, {"surfaces": [{"area": "A-1", "coated": "12:00"}]})
    assert merged.text.encoded().decode() == (
        'surfaces:\n  - area: A-1\n    coated: "12:00"\nnot_inspected: []  # why\nremarks: x\n'
    )
    assert merged.removed == ["A-1 is inspected now and no longer listed under `not_inspected`"]


def test_a_change_that_would_break_the_file_is_refused():
    with pytest.raises(UsageError, match=r"^day.yaml cannot be added to without changing something else"):
        after("a: b\n", {"remarks": "two\u202e"})


def test_an_area_inspected_is_taken_out_of_a_list_in_brackets():
    before = "surfaces: [{area: A-1}]\nnot_inspected: [{area: A-2, reason: due}, {area: A-1, reason: due}]\n"
    assert after(before, {"surfaces": [{"area": "A-1", "coated": "12:00"}]}) == (
        'surfaces: [{area: A-1, coated: "12:00"}]\nnot_inspected: [{area: A-2, reason: due}]\n'
    )


@pytest.mark.parametrize("text", ["a: b: c\n", "a: b\na: c\n", "- a\n", ""])
def test_a_file_that_is_no_job_file_is_refused(text):
    with pytest.raises(InputError):
        after(text, {})


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("16.5 degC", "16.5 degC"),
        ("-2.0 mil", "-2.0 mil"),
        ("- 2", '"- 2"'),
        ("Sa 2½", "Sa 2½"),
        ("a: b", '"a: b"'),
        ("a #b", '"a #b"'),
        ("null", '"null"'),
        ("", '""'),
        ('say "no" \\', '"say \\"no\\" \\\\"'),
        ("grit, lot 3", '"grit, lot 3"'),
        ("a ", '"a "'),
        ("it's", '"it\'s"'),
    ],
)
def test_text_is_quoted_where_it_must_be(text, written):
    assert scalar(text) == written
    read = DayText(f"a: {{b: {written}}}\n".encode(), "day.yaml").data["a"]["b"]
    assert read == text


def test_one_line():
    assert flow({"a": ["x", {"b: c": "06:40"}]}) == '{a: [x, {"b: c": "06:40"}]}'


COMMENTED = """\
surfaces:
  - area: G-1
    profile:
      gauge: g1
      # of the profile
    # of the primer
    coated: "15:45"
  # of the next area
  - area: G-2
    blasted:
      start: "07:00"

      # of the blasting
    # - of what follows, as it is written below a comment that is
      # however deep
conditions:
  - time: "06:40"
    # of that reading
"""


def test_what_is_added_stands_below_the_comments_of_what_is_before_it_and_above_those_of_what_follows():
    text = DayText(COMMENTED.encode(), "day.yaml")
    text.add_field(("surfaces", 0), "remarks", "calm", after="profile")
    text.add_field(("surfaces", 1), "remarks", "calm")
    text.add_items(("conditions",), [{"time": "07:00"}])
    added = text.encoded().decode()
    for comment, line in (
        ("      # of the profile\n", "    remarks: calm\n    # of the primer\n"),
        ("      # of the blasting\n", "    remarks: calm\n    # - of what follows"),
        ("    # of that reading\n", '  - {time: "07:00"}\n'),
    ):
        assert comment + line in added
    assert [line for line in added.splitlines() if line in COMMENTED.splitlines()] == COMMENTED.splitlines()
