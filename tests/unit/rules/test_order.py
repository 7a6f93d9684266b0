"""Order of the day: blasted, measured, coated; a pace that a person can keep; one place at a time; honest days pass."""

from decimal import Decimal

import pytest

from reportgen.measurements.cleanliness.codes import BEFORE_BLASTING
from reportgen.results import Amount, Place, Word
from reportgen.results.codes.order import (
    EarlyTest,
    InspectorSeen,
    InstrumentSeen,
    MeasuredEarly,
    MeasuredLate,
    ReadTooFast,
    SeenAt,
)
from tests.unit.rules.factory import GOOD, codes, evaluated, finding, surface

SALTS = {"clause": "1.5", "maximum": "50 mg/m2", "expressed_as": "chloride", "tests": "1"}
DUST = {"clause": "1.6", "maximum_quantity": "2"}
NIGHT = {
    "report.shift": {"start": "20:00", "end": "06:00"}, "tape_checks.0.time": "20:10",
    "gauge_checks.0.time": "20:05", "gauge_checks.1.time": "05:30",
}  # fmt: skip
LATE = {"start": "22:00", "end": "00:30", "abrasive": "grit 1"}


def _timed(*times):
    """Readings of one location each, two spots at one time."""
    return "; ".join(f"{n} {spot} x1 3.0 {time}" for n, time in enumerate(times, 1) for spot in "ab")


def _order(evaluation):
    known = ("measured-", "test-before", "readings-too", "instrument-in", "inspector-in")
    return [(one.code, one.place.area, one.facts) for one in evaluation.findings if one.code.startswith(known)]


def _early(count, first, last=None, **blasting):
    return MeasuredEarly(Word("tests", "reading"), count, first, last, **blasting)


def _late(count, first, primed):
    return MeasuredLate(Word("tests", "reading"), count, first, None, primed)


# Readings


@pytest.mark.parametrize(
    ("times", "facts"),
    [
        (("06:30",), _early(2, "06:30", began="07:00")),
        (("06:30", "06:40", "09:10"), _early(4, "06:30", "06:40", began="07:00")),
        (("07:00",), _early(2, "07:00", until="09:00")),
        (("07:10", "08:59"), _early(4, "07:10", "08:59", until="09:00")),
        (("08:00", "09:10"), _early(2, "08:00", until="09:00")),
    ],
)
def test_readings_before_the_blasting_hold_the_area(times, facts):
    evaluation = evaluated(_timed(*times))
    assert _order(evaluation) == [("measured-before-blasting", "A", facts)]
    assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("inconclusive", "hold")


@pytest.mark.parametrize(
    "times",
    [
        ("09:00",),
        ("09:10", "09:20"),
    ],
)
def test_readings_after_the_blasting_or_of_a_finished_part_are_in_order(times):
    evaluation = evaluated(_timed(*times), surfaces=[surface(coated="13:00")])
    assert (codes(evaluation), evaluation.areas[0].decision) == ([], "release")


def test_readings_without_times_or_with_some_are_not_suspected():
    assert codes(evaluated(GOOD)) == []
    assert codes(evaluated("1 a x1 3.1 09:00; 1 b x1 2.9")) == []


def test_a_location_before_a_change_of_the_process_is_of_a_finished_part():
    change = {"time": "08:10", "change": "nozzle", "before": "1", "after": "2"}
    record = surface(process_changes=[change], coated="13:00")
    evaluation = evaluated(_timed("08:00", "09:10"), surfaces=[record])
    assert (codes(evaluation), evaluation.areas[0].decision) == ([], "release")
    assert _order(evaluated(_timed("08:00", "08:20", "09:10"), surfaces=[record])) == [
        ("measured-before-blasting", "A", _early(2, "08:20", until="09:00"))
    ]
    late = evaluated(_timed("13:10", "09:10"), surfaces=[record])
    assert ("measured-after-primer", "A", _late(2, "13:10", "13:00")) in _order(late)


def test_readings_before_the_blasting_neither_clear_nor_fail_it():
    failing = evaluated(_timed("09:10") + "; 9 a x1 1.0 06:50; 9 b x1 1.0 06:50")
    assert [one.code for one in failing.findings] == ["measured-before-blasting"]
    assert [location.id for location in failing.areas[0].locations] == ["1"]
    assert failing.areas[0].decision == "hold"
    alone = evaluated(_timed("06:50"))
    assert (alone.areas[0].n_locations, alone.areas[0].decision) == (0, "hold")
    assert "locations-missing" in codes(alone)


def test_a_grade_seen_before_the_blasting_neither_clears_nor_fails_it():
    for grade, staining in (("SSPC-SP 6", "3 %"), ("SSPC-SP 10", "9 %"), ("SSPC-SP 10", "3 %")):
        seen = {"observed": grade, "staining": staining, "time": "06:50"}
        evaluation = evaluated(surfaces=[surface(cleanliness=seen)])
        assert codes(evaluation) == ["measured-before-blasting"]
        assert (evaluation.cleanliness[0].verdict, evaluation.cleanliness[0].reason) == (
            "inconclusive", BEFORE_BLASTING,
        )  # fmt: skip


@pytest.mark.parametrize(("locations", "found"), [(36, False), (37, True)])
def test_one_time_stands_for_five_minutes_of_readings_at_most(locations, found):
    """Two spots each, five seconds for a reading, and the minute to which times are cut."""
    evaluation = evaluated(_timed(*["09:10"] * locations))
    at_once = ReadTooFast(2 * locations, "g1", Amount(Decimal(5), "s"), at="09:10")
    assert _order(evaluation) == ([("readings-too-fast", "A", at_once)] if found else [])


def test_readings_after_the_primer_hold_the_area():
    evaluation = evaluated(_timed("13:00", "13:01"), surfaces=[surface(coated="13:00")])
    assert ("measured-after-primer", "A", _late(2, "13:01", "13:00")) in _order(evaluation)
    assert evaluation.areas[0].decision == "hold"


@pytest.mark.parametrize(
    ("times", "coated", "found"),
    [
        (("00:40", "01:10"), "03:00", []),
        (("23:00", "00:40"), "03:00", [_early(2, "23:00", until="2026-05-15 00:30")]),
        (("21:50", "00:40"), None, [_early(2, "21:50", began="22:00")]),
        (("00:10",), None, [_early(2, "2026-05-15 00:10", until="2026-05-15 00:30")]),
        (("03:10",), "03:00", [_late(2, "2026-05-15 03:10", "2026-05-15 03:00")]),
    ],
)
def test_a_night_shift_over_midnight(times, coated, found):
    record = surface(blasted=LATE, **({"coated": coated} if coated else {}))
    evaluation = evaluated(_timed(*times), day=NIGHT, surfaces=[record])
    assert [facts for _, _, facts in _order(evaluation)] == found
    assert (evaluation.areas[0].decision == "release") == (not found)


def test_each_of_two_blastings_of_an_area_has_its_own_order():
    """Readings of the first one lie before and during the second, with another pot."""
    second = surface(apparatus="pot 2", blasted={"start": "10:00", "end": "12:00", "abrasive": "grit 1"})
    evaluation = evaluated(_timed("09:10", "10:30"), _timed("12:05"), surfaces=[surface(), second])
    assert (codes(evaluation), evaluation.areas[0].decision) == ([], "release")


# Salts, dust, cleanliness


def _salt(chloride, time, location="1"):
    return {"location": location, "chloride": f"{chloride} mg/m2", "time": time}


def _salted(*tests, **changes):
    return evaluated(spec={"specification.soluble_salts": SALTS}, surfaces=[surface(salts=list(tests), **changes)])


def test_a_salt_test_before_the_blasting_does_not_clear_the_surface():
    evaluation = _salted(_salt(10, "06:50"))
    assert [result.verdict for result in evaluation.salts] == ["not evaluated"]
    facts = EarlyTest(Word("tests", "salts"), 1, "07:00")
    assert _order(evaluation) == [("test-before-blasting", "A", facts)]
    assert finding(evaluation, "test-before-blasting").place == Place("A", "1", time="06:50")
    assert finding(evaluation, "salts-missing").facts.count == 0
    assert evaluation.areas[0].decision == "hold"


def test_the_surface_blasted_again_after_a_failed_test_is_judged_by_the_tests_after_it():
    evaluation = _salted(_salt(80, "06:50"), _salt(10, "09:20"))
    assert [result.verdict for result in evaluation.salts] == ["not evaluated", "conforms"]
    assert [code for code, _, _ in _order(evaluation)] == ["test-before-blasting"]
    assert evaluation.areas[0].decision == "release"
    again = _salted(_salt(10, "06:50"), _salt(80, "09:20"))
    assert [result.verdict for result in again.salts] == ["not evaluated", "does not conform"]
    assert again.areas[0].decision == "rework"


@pytest.mark.parametrize(
    ("time", "coated", "code"),
    [
        (None, "13:00", None), ("09:00", "13:00", None), ("13:00", "13:00", None),
        ("08:30", "13:00", "measured-before-blasting"), ("13:10", "13:00", "measured-after-primer"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["salts", "dust", "cleanliness"])
def test_tests_follow_the_blasting_and_go_before_the_primer(kind, time, coated, code):
    at = {"time": time} if time else {}
    records = {
        "salts": [{"location": "1", "chloride": "10 mg/m2", **at}],
        "dust": [{"location": "1", "quantity": "1", "size": "1", **at}],
        "cleanliness": {"observed": "SSPC-SP 10", "staining": "3 %", **at},
    }
    spec = {"specification.soluble_salts": SALTS} if kind == "salts" else {}
    spec |= {"specification.dust": DUST} if kind == "dust" else {}
    evaluation = evaluated(spec=spec, surfaces=[surface(**{kind: records[kind]}, coated=coated)])
    assert [found for found, _, _ in _order(evaluation)] == ([code] if code else [])
    assert (evaluation.areas[0].decision == "release") == (code is None)


def test_a_dust_tape_before_the_blasting_is_shown_and_not_counted():
    tapes = [{"location": "1", "quantity": "5", "size": "1", "time": "06:30"}]
    spec = {"specification.dust": DUST}
    evaluation = evaluated(spec=spec, surfaces=[surface(dust=tapes)])
    assert [result.verdict for result in evaluation.dust] == ["not evaluated"]
    assert codes(evaluation) == ["dust-missing", "test-before-blasting"]
    tapes.append({"location": "1", "quantity": "1", "size": "1", "time": "09:30"})
    again = evaluated(spec=spec, surfaces=[surface(dust=tapes)])
    assert (codes(again), again.areas[0].decision) == (["test-before-blasting"], "release")


def test_a_grade_seen_before_the_blasting_holds_the_area():
    record = {"observed": "SSPC-SP 10", "staining": "3 %", "time": "06:30"}
    evaluation = evaluated(surfaces=[surface(cleanliness=record)])
    assert _order(evaluation)[0][2] == MeasuredEarly(Word("tests", "cleanliness"), 1, "06:30", began="07:00")


# Pace


def _series(*stamps):
    """Readings of one spot each: (time, how many)."""
    return "; ".join(f"{n}-{k} a x1 3.0 {time}" for n, (time, many) in enumerate(stamps) for k in range(many))


ONE_SPOT = {"specification.profile.readings_per_location": "1"}


@pytest.mark.parametrize(
    "stamps",
    [
        [("09:30", 40)],  # one time for a whole area
        [("09:30", 24), ("09:32", 24)],  # the time at which each of two series began, or ended
        [(f"09:{minute}", 1) for minute in range(10, 50)],  # one a minute
        [(f"09:{minute}", 4) for minute in range(10, 34, 3)],  # one time for each location
        [("09:30", 12), ("09:31", 12), ("09:32", 12)],  # replicas made before, read off one after the other
    ],
)
def test_honest_times_of_readings(stamps):
    assert codes(evaluated(_series(*stamps), spec=ONE_SPOT)) == []


def test_a_pace_that_nobody_can_keep_holds_every_area_of_the_series():
    stamps = [("09:30", 2), ("09:31", 30), ("09:32", 30), ("09:33", 1)]
    both = [surface(), surface(area="B")]
    evaluation = evaluated(_series(*stamps), _series(("09:32", 1), ("10:30", 1)), spec=ONE_SPOT, surfaces=both)
    observed = ReadTooFast(64, "g1", Amount(Decimal(5), "s"), first="09:30", last="09:33")
    assert _order(evaluation) == [
        ("readings-too-fast", "A", observed), ("readings-too-fast", "B", observed),
    ]  # fmt: skip
    assert [area.decision for area in evaluation.areas] == ["hold", "hold"]


# One place at a time

PLACES = {
    "structures": [
        {"id": "S", "name": "Span", "place": "river", "areas": [{"id": "A", "name": "a"}, {"id": "C", "name": "c"}]},
        {"id": "H", "name": "Hall", "place": "hall", "areas": [{"id": "B", "name": "b"}]},
    ],
    "instruments.h1": {"kind": "hygrometer", "serial": "1"}, "instruments.h2": {"kind": "hygrometer", "serial": "2"},
    "instruments.k1": {"kind": "conductivity meter", "serial": "1"},
    "instruments.g2": {"kind": "thickness gauge", "serial": "2", "unit": "mil", "accuracy": "0.2 mil"},
}  # fmt: skip
READ = {"air": "20 degC", "humidity": "60 %", "steel": "18 degC"}


def _placed(*texts, areas="AB", gauges=("g1", "g1"), spec=PLACES, **given):
    checks = [
        {"time": time, "gauge": gauge, "anvils": "clean", "preset": "-2.0 mil"}
        for gauge in sorted(set(gauges)) for time in ("06:30", "17:00")
    ]  # fmt: skip
    records = [
        surface(area=area, profile__gauge=gauge, **given.pop(area, {}))
        for area, gauge in zip(areas, gauges, strict=True)
    ]
    day = {"gauge_checks": checks, **given}
    return evaluated(*texts, spec=spec, day=day, surfaces=records)


BOTH = (SeenAt("river", "A"), SeenAt("hall", "B"))


def test_one_gauge_at_two_places_in_one_minute_holds_both_areas():
    evaluation = _placed(_timed("09:30"), _timed("09:30"))
    observed = InstrumentSeen("g1", BOTH)
    assert _order(evaluation) == [
        ("instrument-in-two-places", "A", observed), ("instrument-in-two-places", "B", observed),
    ]  # fmt: skip
    assert {one.place.time for one in evaluation.findings} == {"09:30"}
    assert [area.decision for area in evaluation.areas] == ["hold", "hold"]


@pytest.mark.parametrize(
    ("texts", "areas", "gauges"),
    [
        ((_timed("09:30"), _timed("09:31")), "AB", ("g1", "g1")),
        ((_timed("09:30"), _timed("09:30")), "AC", ("g1", "g1")),  # both at the river
        ((_timed("09:30"), GOOD), "AB", ("g1", "g1")),
    ],
)
def test_one_gauge_at_one_place_after_the_other(texts, areas, gauges):
    assert _order(_placed(*texts, areas=areas, gauges=gauges)) == []


def test_two_gauges_in_one_minute_are_noted_and_hold_nothing():
    evaluation = _placed(_timed("09:30"), _timed("09:30"), gauges=("g1", "g2"))
    observed = InspectorSeen(BOTH)
    assert _order(evaluation) == [
        ("inspector-in-two-places", "A", observed), ("inspector-in-two-places", "B", observed),
    ]  # fmt: skip
    assert [area.decision for area in evaluation.areas] == ["release", "release"]


@pytest.mark.parametrize(
    ("first", "second", "found"),
    [
        (["h1"], ["h1"], ["A", "B"]),
        (["h1"], ["h2"], []),  # two logs that write themselves
        ([], [], []),
    ],
)
def test_a_hygrometer_at_two_places_in_one_minute(first, second, found):
    log = [
        {"time": "06:45", "place": "river", "instruments": first, **READ},
        {"time": "06:45", "place": "hall", "instruments": second, **READ},
    ]
    evaluation = _placed(GOOD, GOOD, conditions=log)
    assert [area for _, area, _ in _order(evaluation)] == found
    if found:
        assert _order(evaluation)[0][2] == InstrumentSeen("h1", (SeenAt("river"), SeenAt("hall")))


def test_a_conductivity_meter_at_two_places_in_one_minute():
    salts = [{"location": "1", "chloride": "1 mg/m2", "instrument": "k1", "time": "09:40"}]
    evaluation = _placed(GOOD, GOOD, A={"salts": salts}, B={"salts": salts})
    assert {code for code, _, _ in _order(evaluation)} == {"instrument-in-two-places"}, "one cause is said once"


def test_a_reading_that_covers_areas_of_two_places_is_not_at_two_places():
    log = [{"time": "06:45", "areas": ["A", "B"], "instruments": ["h1"], **READ}]
    assert _order(_placed(GOOD, GOOD, conditions=log)) == []


def test_where_no_place_is_stated_nobody_is_suspected():
    unstated = {"instruments.g2": PLACES["instruments.g2"]}
    assert _order(_placed(_timed("09:30"), _timed("09:30"), spec=unstated)) == []


@pytest.mark.parametrize(("locations", "found"), [(9, False), (10, True)])
def test_readings_between_the_blasting_and_the_primer_were_taken_in_that_time(locations, found):
    """Two spots each, ten seconds for a reading with its replica, and the minute to which times are cut."""
    evaluation = evaluated(_timed(*["09:01"] * locations), surfaces=[surface(coated="09:02")])
    hurried = ReadTooFast(2 * locations, "g1", Amount(Decimal(10), "s"), first="09:00", last="09:02")
    assert _order(evaluation) == ([("readings-too-fast", "A", hurried)] if found else [])
