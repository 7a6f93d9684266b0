"""One series of readings on two surfaces of a day: asked about, on both, unless chance explains it."""

from dataclasses import replace

import pytest

from reportgen.rules import evaluate, same_series
from reportgen.rules.standing import causes
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import METRIC, codes, evaluated, job, surface

PASTED = "1 a x1 3.1; 1 b x1 2.9; 2 a x1 2.7; 2 b x1 3.0; 3 a x1 2.8; 3 b x1 2.6"
OWN = "1 a x1 2.9; 1 b x1 3.1; 2 a x1 2.7; 2 b x1 3.0; 3 a x1 2.8; 3 b x1 2.6"
OTHER = surface(area="B")


def _decisions(evaluation):
    return [area.decision for area in evaluation.areas]


def test_neither_surface_is_released_before_the_inspector_looked_again():
    assert _decisions(evaluated(PASTED, OWN, surfaces=[surface(), OTHER])) == ["release", "release"]
    result = evaluated(PASTED, PASTED, surfaces=[surface(), OTHER])
    assert _decisions(result) == ["hold", "hold"]
    found = [one for one in result.findings if one.code == "series-entered-twice"]
    assert [one.area for one in found] == ["A", "B"]
    assert found[0].facts == found[1].facts
    assert sentences("en").observed(found[0]) == "the same 6 readings in the same order on A (pot 1) and B (pot 1)"
    assert "dieselben 6 Messwerte in derselben Reihenfolge auf A (pot 1) und B" in sentences("de").observed(found[1])


def _later(text):
    return "; ".join(f"{int(row[0]) + 3}{row[1:]}" for row in text.split("; "))


def test_what_is_so_of_several_surfaces_is_told_once():
    """Told of each in turn it reads as two faults; where several lie together it would be told of every pair."""
    three = [surface(), OTHER, surface(apparatus="pot 2", area="B")]
    result = evaluated(PASTED, PASTED, _later(PASTED), surfaces=three)
    assert _decisions(result) == ["hold"] * 2
    found = [(n, one) for n, one in enumerate(result.findings) if one.code == "series-entered-twice"]
    (cause,) = causes(found)
    assert [place.area for place in cause.places] == ["A", "B"]
    assert sentences("en").observed(cause.finding).endswith("on A (pot 1) and B (pot 1) and B (pot 2)")


def test_locations_by_other_names_and_two_apparatus_on_one_area_too():
    second = surface(apparatus="pot 2", area="A")
    result = evaluated(PASTED, _later(PASTED), surfaces=[surface(), second])
    assert (_decisions(result), codes(result).count("series-entered-twice")) == (["hold"], 1)


def test_confirmed_readings_count_as_written():
    both = job(PASTED, PASTED, surfaces=[surface(), OTHER])
    first, second = both.readings
    sure = tuple(replace(one, confirmed=True) for one in second)
    result = evaluate(replace(both, readings=(first, sure)))
    assert (_decisions(result), codes(result)) == (["release", "release"], ["series-confirmed"] * 2)
    some = evaluate(replace(both, readings=(first, (*sure[:-1], second[-1]))))
    assert _decisions(some) == ["hold", "hold"]


def test_one_that_is_not_confirmed_puts_those_before_it_in_doubt_and_none_behind_it():
    three = job(PASTED, _later(PASTED), PASTED, surfaces=[surface(), surface(apparatus="pot 2"), OTHER])
    first, second, third = three.readings
    sure = [tuple(replace(one, confirmed=True) for one in each) for each in three.readings]
    last = evaluate(replace(three, readings=(first, sure[1], third)))
    assert (_decisions(last), set(codes(last))) == (["hold"] * 2, {"series-entered-twice"})
    middle = evaluate(replace(three, readings=(first, second, sure[2])))
    assert _decisions(middle) == ["hold", "release"]
    assert codes(middle, "B") == ["series-confirmed"]


@pytest.mark.parametrize(
    "text",
    [
        "1 a x1 3.1; 1 b x1 2.9; 2 a x1 2.8",
        "1 a x1 3.0; 1 b x1 3.0; 2 a x1 3.0; 2 b x1 3.0; 3 a x1 3.0; 3 b x1 2.9",
    ],
    ids=["few", "that hardly differ"],
)
def test_what_chance_explains_accuses_nobody(text):
    assert "series-entered-twice" not in codes(evaluated(text, text, surfaces=[surface(), OTHER]))


LONG = "1 a x1 2.5; 1 b x1 3.1; 2 a x1 2.7; 2 b x1 3.0; 3 a x1 2.8; 3 b x1 2.6; 4 a x1 2.9; 4 b x1 3.2"


def _values(text):
    return [row.split()[-1] for row in text.split("; ")]


def _with(values):
    return "; ".join(f"{1 + at // 2} {'ab'[at % 2]} x1 {value}" for at, value in enumerate(values))


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (_values(LONG)[::-1], "the same 8 readings in reverse order on A (pot 1) and B (pot 1)"),
        ([*_values(LONG), "3.3"], "the same 8 readings, as a part of a longer series, on A (pot 1) and B (pot 1)"),
        (["3.3", "2.4", *_values(LONG)[::-1]], "the same 8 readings in reverse order on A (pot 1) and B (pot 1)"),
        (_values(LONG)[:7], "the same 7 readings, as a part of a longer series, on A (pot 1) and B (pot 1)"),
    ],
    ids=["reversed", "within a longer one", "reversed within a longer one", "a part of the first"],
)  # fmt: skip
def test_a_series_reversed_or_within_a_longer_one_is_asked_about(values, said):
    both = job(LONG, _with(values), surfaces=[surface(), OTHER])
    result = evaluate(both)
    assert _decisions(result) == ["hold", "hold"]
    found = [one for one in result.findings if one.code == "series-entered-twice"]
    assert ([one.area for one in found], sentences("en").observed(found[0])) == (["A", "B"], said)
    sure = tuple(replace(one, confirmed=True) for one in both.readings[1])
    confirmed = evaluate(replace(both, readings=(both.readings[0], sure)))
    assert "series-entered-twice" not in codes(confirmed)
    assert codes(confirmed, "B").count("series-confirmed") == 1


def test_a_short_run_within_a_long_series_accuses_nobody():
    short = _with(_values(LONG)[2:5])
    assert "series-entered-twice" not in codes(evaluated(LONG, short, surfaces=[surface(), OTHER]))


def test_in_whatever_unit_the_gauge_shows():
    text = "1 a x1 71; 1 b x1 69; 2 a x1 77; 2 b x1 80; 3 a x1 68; 3 b x1 76"
    checks = [
        {"time": time, "gauge": "g1", "anvils": "clean", "preset": "-50 um", "shim": "75 um", "shim_reading": "75 um"}
        for time in ("06:30", "17:00")
    ]
    tape = [{"time": "06:35", "roll": "x1", "gauge": "g1", "thickness": "140 um"}]
    day = {"gauge_checks": checks, "tape_checks": tape}
    result = evaluated(text, text, spec=METRIC, day=day, surfaces=[surface(), OTHER])
    assert _decisions(result) == ["hold", "hold"]
    assert codes(result, "B") == ["series-entered-twice"]


def test_the_chance_of_a_series_is_reckoned_once_however_many_surfaces_have_it(monkeypatch):
    """For each pair anew, and each time over all surfaces, a hundred areas took seconds and a thousand an hour."""
    reckoned, real = [], same_series.chance_of_repeating
    monkeypatch.setattr(same_series, "chance_of_repeating", lambda *given: reckoned.append(given) or real(*given))
    evaluated(*[PASTED] * 20, surfaces=[surface(apparatus=f"pot {number}") for number in range(20)])
    assert len(reckoned) == 1


def test_a_sheet_copied_from_its_last_location_to_the_first_is_asked_about():
    """Each location has its spots in their order, as whoever copies a sheet backwards writes them."""
    copied = "1 a x1 2.8; 1 b x1 2.6; 2 a x1 2.7; 2 b x1 3.0; 3 a x1 3.1; 3 b x1 2.9"
    result = evaluated(PASTED, copied, surfaces=[surface(), OTHER])
    assert _decisions(result) == ["hold", "hold"]
    assert codes(result).count("series-entered-twice") == 2
