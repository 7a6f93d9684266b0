"""Sheet → fill → intake → the same readings, whatever was written, in both unit systems."""

from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.intake import take_in
from reportgen.layout.sheet import render_sheet
from reportgen.loader import job_from_files
from tests.unit.intake.small import DAY, METRIC, PREPARED, PROJECT, Filling, job_of, rolls_of, sheet_of

AREAS = ("A-1", "A-2")


@cache
def _sheet(project):
    job = job_of(project=project)
    plan = sheet_of(job)
    return job, plan, render_sheet(plan)


def _readings(project):
    value = (
        st.integers(0, 60).map(lambda tenths: f"{tenths / 10:.1f}")
        if project == PROJECT
        else st.integers(0, 155).map(str)
    )
    rolls = st.dictionaries(st.sampled_from(["x1", "c1"]), value, max_size=2)
    return st.fixed_dictionaries({area: st.dictionaries(st.integers(1, 8), rolls, max_size=8) for area in AREAS})


@settings(max_examples=12, deadline=None)
@given(st.sampled_from([PROJECT, METRIC]).flatmap(lambda project: st.tuples(st.just(project), _readings(project))))
def test_the_readings_come_back(case):
    project, readings = case
    job, plan, pdf = _sheet(project)
    filling = Filling(plan)
    written = {}
    for area, rows in readings.items():
        filling.write("surface", 1, area, **PREPARED)
        for row, by_roll in rows.items():
            place = {"location": str((row + 1) // 2), "spot": "ab"[(row + 1) % 2]}
            filling.write("readings", row, area, **place)
            filling.readings(area, {row: by_roll}, rolls_of(plan, area))
            written |= {(area, place["location"], place["spot"], roll): text for roll, text in by_roll.items()}
    intake = take_in(filling.by_pypdf(pdf), "sheet.pdf", job)
    assert intake.refused == ()
    back = job_from_files({"project.yaml": project.encode(), "day.yaml": intake.data}, "day.yaml", have_photos=False)
    came = {
        (surface.area, reading.location, reading.spot, reading.roll): str(reading.value)
        for surface, rows in zip(back.day.surfaces, back.readings, strict=True)
        for reading in rows
    }
    assert came == written
    assert all(line in intake.data.decode() for line in DAY.splitlines() if line.startswith("#"))
