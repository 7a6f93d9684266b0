"""Sheet → fill → intake → the same readings, whatever was written, in both unit systems."""

from functools import cache
from unittest.mock import patch

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reportgen.loader import job_from_files
from reportgen.sheet import field_name, render_sheet
from reportgen.sheet.filled import FilledSheet
from tests.thorough import repeats
from tests.unit.intake.small import DAY, METRIC, PREPARED, PROJECT, Filling, job_of, rolls_of, sheet_of, take_in

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


@settings(max_examples=repeats(12), deadline=None)
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
    intake = take_in(filling.filled(pdf), "sheet.pdf", job)
    assert intake.refused == ()
    back = job_from_files({"project.yaml": project.encode(), "day.yaml": intake.data}, "day.yaml")
    came = {
        (surface.area, reading.location, reading.spot, reading.roll): str(reading.value)
        for surface, rows in zip(back.day.surfaces, back.readings, strict=True)
        for reading in rows
    }
    assert came == written
    assert all(line in intake.data.decode() for line in DAY.splitlines() if line.startswith("#"))


# Whatever is written


def _texts(number):
    """Texts for a cell, each its own: right ones, nearly right ones and nonsense."""
    return st.sampled_from(
        [
            f"{6 + number // 60:02d}:{number % 60:02d}",
            f"{6 + number // 60}.{number % 60:02d}",
            f"{number},5",
            f"{number}.5",
            f"{number}",
            f"1,{number:03d}",
            f"w{number}",
            f"a: w{number} # {{b}}",
            f"\u6f06{number}",
            f"{'long' * 40}{number}",
            "h1 t1",
            "x1",
            "k1",
            "yard",
            "pot 1",
        ]
    )


def _cells(plan):
    """Fields and their kinds; a column that is filled in beforehand says nothing alone."""
    return [
        (field_name(number, row, cell.key), cell.kind)
        for number, (block, form) in enumerate(zip(plan.blocks, plan.form.blocks, strict=True), 1)
        for row in range(1, len(block.rows) + 1)
        for cell in block.cells
        if cell.key not in form.given
    ]


@st.composite
def _anything(draw):
    _, plan, _ = _sheet(PROJECT)
    cells = _cells(plan)
    chosen = draw(st.lists(st.sampled_from(range(len(cells))), min_size=1, max_size=40, unique=True))
    begun = draw(st.booleans())
    return begun, {number: draw(_texts(number)) for number in chosen}


@settings(max_examples=repeats(60), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(_anything())
def test_whatever_is_written_the_day_file_loads_and_nothing_is_lost(case):
    begun, texts = case
    job, plan, _ = _sheet(PROJECT)
    cells = _cells(plan)
    filling = Filling(plan)
    if begun:
        filling.write("surface", 1, "A-1", **PREPARED)
        filling.readings("A-1", {1: {"x1": "2.4"}}, rolls_of(plan, "A-1"))
    written = []
    for number, text in texts.items():
        name, kind = cells[number]
        filling.values[name] = "/Yes" if kind == "tick" else text
        written += [text] if kind == "text" else []
    values = {name: "Yes" if text == "/Yes" else text for name, text in filling.values.items()}
    sheet = FilledSheet(plan.form, _prefilled(plan) | values, {})
    with patch("reportgen.sheet.filled.read_filled_sheet", lambda _data, _name: sheet):  # no time for the PDF
        intake = take_in(b"%PDF", "sheet.pdf", job)
    job_from_files({"project.yaml": PROJECT.encode(), "day.yaml": intake.data}, "day.yaml")
    said = [intake.data.decode(), *intake.missing, *(f"{one.value} {one.message}" for one in intake.refused)]
    for text in written:
        as_taken = {text, text.replace(",", "."), _as_time(text), text.replace("#", "\\#")}
        assert any(form in place for form in as_taken for place in said), text


def _prefilled(plan):
    return {
        field_name(number, row, key): text
        for number, block in enumerate(plan.blocks, 1)
        for row, given in enumerate(block.rows, 1)
        for key, text in given.items()
    }


def _as_time(text):
    digits = text.replace(".", "").zfill(4)
    return f"{digits[:-2]}:{digits[-2:]}"
