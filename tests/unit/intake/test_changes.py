"""Changes by identity: each is about the entry that was meant, or about none, and can be taken back."""

import datetime as dt
import json

import pytest

from reportgen.errors import UsageError
from reportgen.intake.changes import (
    FIRST,
    Address,
    Change,
    Entry,
    OtherwiseError,
    address_of,
    changed,
    content_at,
    reading_at,
    surface_at,
)
from reportgen.job import SiteClock
from reportgen.yamlsource import DayText, value_at

CLOCK = SiteClock(dt.date(2026, 6, 12), dt.time(6), dt.time(18), "UTC")
G5 = surface_at("G-5")
DAY = """\
# shift of the twelfth
report: {number: A-1}
conditions:
  - {time: "06:40", air: 13 degC}  # calm
  - {time: "11:40", air: 15 degC}
surfaces:
  - area: G-5   # web
    apparatus: pot 1
    profile:
      gauge: g1
      readings:
        - {location: 1, spot: a, x1: 2.8}
        - {location: 1, spot: b, x1: , c1: }   # tape torn once
        - {location: 2, spot: a, c1: 2.6, x1: 2.9}
    coated: "15:00"   # by the foreman
  # the other side
  - area: G-6
    apparatus: pot 2
"""


def made(change, text=DAY):
    day = DayText(text.encode(), "day.yaml")
    effective = changed(day, change, CLOCK)
    return day.encoded().decode(), effective


def undone(after, effective):
    return made(effective.inverse, after)[0]


def said(text):
    """The content in its order, without fields that stand empty: whether one does says nothing."""

    def full(value):
        if isinstance(value, dict):
            return {key: full(part) for key, part in value.items() if part not in ("", [])}
        return list(map(full, value)) if isinstance(value, list) else value

    return json.dumps(full(DayText(text.encode(), "day.yaml").data))


@pytest.mark.parametrize(
    ("at", "before", "now", "old", "new"),
    [
        (reading_at(G5, "1", "a", "x1"), "2.8", "2.9", "spot: a, x1: 2.8", "spot: a, x1: 2.9"),
        (reading_at(G5, "1", "a", "c1"), None, "2.4", "x1: 2.8}", "x1: 2.8, c1: 2.4}"),
        (reading_at(G5, "1", "b", "c1"), None, "2.4", "c1: }   # tape", "c1: 2.4}   # tape"),
        (reading_at(G5, "2", "a", "c1"), "2.6", None, "spot: a, c1: 2.6, x1", "spot: a, x1"),
        (G5 / "coated", "15:00", "15:10", '"15:00"   #', '"15:10"   #'),
        (G5 / "coated", "15:00", None, '    coated: "15:00"   # by', "    # by"),
        (
            reading_at(G5, "2", "b", "x1"), None, "3.0",
            "x1: 2.9}\n", "x1: 2.9}\n        - {location: 2, spot: b, x1: 3.0}\n",
        ),
        (reading_at(G5, "1", "a", "x1"), "2.8", None, "        - {location: 1, spot: a, x1: 2.8}\n", ""),
        (
            reading_at(surface_at("G-6"), "1", "a", "x1"), None, "2.7",
            "pot 2\n", "pot 2\n    profile:\n      readings:\n        - {location: 1, spot: a, x1: 2.7}\n",
        ),
        (
            Address((Entry("conditions", (("time", "09:00"),)), "air")), None, "14 degC",
            "# calm\n", '# calm\n  - {time: "09:00", air: 14 degC}\n',
        ),
        (
            surface_at("G-7") / "apparatus", None, "pot 1",
            "pot 2\n", "pot 2\n\n  - area: G-7\n    apparatus: pot 1\n",
        ),
        (
            Address((Entry("conditions", (("time", "06:40"),)),)), {"time": "06:40", "air": "13 degC"}, None,
            '  - {time: "06:40", air: 13 degC}  # calm\n', "  # calm\n",
        ),
        (Address(("report", "present")), None, ["T. G", "A, B"], "A-1}", 'A-1, present: [T. G, "A, B"]}'),
        (Address(("remarks",)), None, "dry", "pot 2\n", "pot 2\n\nremarks: dry\n"),
    ],
)  # fmt: skip
def test_a_change_touches_its_own_text_alone_and_can_be_taken_back(at, before, now, old, new):
    after, effective = made(Change(at, before, now))
    assert DAY.count(old) == 1
    assert after == DAY.replace(old, new)
    assert said(undone(after, effective)) == said(DAY)


def test_the_tape_typed_first_at_a_spot_stands_first_and_a_correction_keeps_the_place():
    second, _ = made(Change(reading_at(G5, "1", "b", "c1"), None, "2.4"))
    both, _ = made(Change(reading_at(G5, "1", "b", "x1"), None, "2.5"), second)
    assert "{location: 1, spot: b, c1: 2.4, x1: 2.5}   # tape torn once" in both
    assert "c1: 2.3, x1: 2.5}" in made(Change(reading_at(G5, "1", "b", "c1"), "2.4", "2.3"), both)[0]


def test_what_was_begun_with_an_entry_is_taken_back_with_it():
    after, effective = made(Change(reading_at(surface_at("G-6"), "1", "a", "x1"), None, "2.7"))
    assert effective.at == Address(
        (*surface_at("G-6").steps, "profile", Entry("readings", (("location", "1"), ("spot", "a"))))
    )
    assert effective.now == {"location": "1", "spot": "a", "x1": "2.7"}
    assert undone(after, effective) == DAY


def test_a_row_taken_out_comes_back_where_it_stood():
    at = reading_at(G5, "1", "a", "x1")
    after, effective = made(Change(at, "2.8", None))
    assert effective.after == FIRST
    assert undone(after, effective) == DAY


def test_a_change_of_a_name_is_taken_back_by_the_new_name():
    at = Address((*reading_at(G5, "2", "a", "x1").steps[:-1], "location"))
    after, effective = made(Change(at, "2", "3"))
    assert "{location: 3, spot: a, c1: 2.6" in after
    assert undone(after, effective) == DAY


@pytest.mark.parametrize(("before", "present"), [("2.7", "2.8"), (None, "2.8")])
def test_what_stands_there_otherwise_is_told_and_left(before, present):
    with pytest.raises(OtherwiseError) as told:
        made(Change(reading_at(G5, "1", "a", "x1"), before, "2.6"))
    assert told.value.present == present


def test_an_entry_that_several_could_be_is_none():
    twice = DAY.replace("area: G-6", "area: G-5")
    with pytest.raises(UsageError, match=r"2 entries that are surfaces\[area=G-5\]"):
        made(Change(G5 / "coated", None, "15:00"), twice)
    after, _ = made(Change(surface_at("G-5", apparatus="pot 2") / "coated", None, "15:00"), twice)
    assert after == twice + '    coated: "15:00"\n'


def test_every_place_of_a_day_has_an_address_that_finds_it_again():
    data = DayText(DAY.replace("area: G-6", "area: G-5").encode(), "d").data

    def walk(loc, value):
        yield loc
        parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for key, part in parts:
            yield from walk((*loc, key), part)

    seen = 0
    for loc in walk((), data):
        value = value_at(data, loc)
        if not loc or isinstance(value, list):
            continue
        at = address_of(data, loc)
        assert Address.parse(str(at)) == at
        assert content_at(data, at) == (value or None)
        seen += 1
    assert seen > 20


@pytest.mark.parametrize("text", ["", "a//b", "surfaces[area]", "a[b=c]d"])
def test_what_is_no_address_is_refused(text):
    with pytest.raises(UsageError, match="is no place in a day file"):
        Address.parse(text)
