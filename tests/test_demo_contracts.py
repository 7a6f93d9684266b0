"""The demonstration contracts: each day says what it was written to show, and its pictures are the drawn ones."""

from pathlib import Path

import pytest
from PIL import Image, ImageChops, ImageStat

from reportgen.loader import load_job
from reportgen.rules import evaluate
from tests.demo_photos import PICTURES, draw

JOBS = Path(__file__).parent.parent / "jobs"
DAYS = sorted(JOBS.glob("*/[0-9]*.yaml"))

INTENDED = {
    "2026-06-08": ("conforms", {"release": 5, "hold": 1}),
    "2026-06-09": ("does not conform", {"release": 2, "hold": 2, "rework": 3}),
    "2026-06-11": ("conforms", {"release": 5}),
    "2026-09-15": ("does not conform", {"release": 1, "hold": 1, "rework": 1}),
}


@pytest.fixture(scope="module")
def evaluations():
    return {day.stem: evaluate(load_job(day)) for day in DAYS}


@pytest.mark.parametrize("day", INTENDED)
def test_a_day_has_the_intended_verdict_and_decisions(day, evaluations):
    evaluation = evaluations[day]
    decisions = [area.decision for area in evaluation.areas]
    assert (evaluation.verdict, {name: decisions.count(name) for name in set(decisions)}) == INTENDED[day]


def test_every_day_is_listed():
    assert {day.stem for day in DAYS} == set(INTENDED)


def test_the_bad_day_shows_a_walk_out_a_missing_second_reading_and_conditions_out_of_limits(evaluations):
    bad = evaluations["2026-06-09"]
    codes = {finding.code for finding in bad.findings}
    assert {"profile-below-minimum", "second-reading-missing", "dew-point-margin", "humidity-above-maximum"} <= codes
    assert "walk-out-missing" not in codes
    assert "nonconformance-missing" not in codes


def test_the_re_inspection_closes_what_was_open(evaluations):
    after = evaluations["2026-06-11"]
    assert {(state.id, state.status) for state in after.nonconformances} == {
        (f"NCR-00{n}", "closed") for n in (1, 2, 3)
    }
    assert after.findings == ()
    assert after.measure_next == ()


@pytest.mark.parametrize("file", sorted(JOBS.rglob("*.yaml")), ids=lambda path: path.name)
def test_every_file_says_that_it_is_invented(file):
    assert "Invented for demonstration" in file.read_text("utf-8").splitlines()[0]


def test_the_pictures_in_the_jobs_are_the_drawn_ones():
    named = {str(path.relative_to(JOBS)) for path in JOBS.rglob("*.jpg")}
    assert named == {picture.file for picture in PICTURES}
    for picture in PICTURES:
        path = JOBS / picture.file
        assert path.stat().st_size < 150_000
        difference = ImageChops.difference(Image.open(path).convert("RGB"), draw(picture))
        assert max(ImageStat.Stat(difference).mean) < 4  # another JPEG library may differ in the last bits
