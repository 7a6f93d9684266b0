"""What a process keeps of days being typed: it is what anybody would find anew, whatever was saved meanwhile."""

import datetime as dt
import importlib

import pytest

from reportgen.formats import encode
from reportgen.pipeline import check
from reportgen.pipeline.as_issued import load
from reportgen.rules import evaluate

NOW = dt.datetime(2026, 6, 11, 15, 10, tzinfo=dt.UTC)


@pytest.fixture
def alone(monkeypatch):
    """Count the evaluations of earlier days."""
    module = importlib.import_module("reportgen.rules.evaluate")
    done, wrapped = [], module._inspected_alone
    monkeypatch.setattr(module, "_inspected_alone", lambda job, *how: done.append(job) or wrapped(job, *how))
    return done


def anew(day, at):
    return encode(evaluate(load(day, typed=True), at=at))


def kept(day, at):
    return check(day, at=at, typed=True).canonical


def test_an_earlier_day_is_evaluated_once_and_again_when_any_of_its_files_was_saved(demo, alone):
    day = demo / "2026-06-11.yaml"
    assert kept(day, NOW) == anew(day, NOW)
    del alone[:]
    assert kept(day, NOW) == kept(day, NOW.replace(minute=11))
    assert not alone
    for name, before, after in (
        ("2026-06-11.yaml", "\nsurfaces:", "\n# looked at from the scaffold\nsurfaces:"),
        ("2026-06-09.yaml", "humidity: 88 %", "humidity: 84 %"),
        ("readings/2026-06-09-K-4.csv", "2.", "1."),
        ("project.yaml", "maximum: 3.3 mil", "maximum: 2.4 mil"),
    ):
        text = (demo / name).read_text("utf-8")
        assert before in text
        (demo / name).write_text(text.replace(before, after), "utf-8")
        del alone[:]
        found = kept(day, NOW)
        again = len(alone)
        assert found == anew(day, NOW), name
        assert (again > 0) is (name != "2026-06-11.yaml"), name


@pytest.mark.parametrize("hour", [9, 12, 15, 17, 23])
def test_the_moment_counts_inside_a_shift_alone(demo, hour):
    for name in ("2026-06-08.yaml", "2026-06-09.yaml", "2026-06-11.yaml"):
        moment = dt.datetime.fromisoformat(f"{name[:10]}T{hour:02d}:10:00+00:00")
        for day in (name, "2026-06-11.yaml"):
            assert kept(demo / day, moment) == anew(demo / day, moment), (name, day)
