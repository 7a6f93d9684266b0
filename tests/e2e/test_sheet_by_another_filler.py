"""A sheet filled by general form fillers that know nothing of us is taken in like one filled by ours."""

import json
import subprocess

import pytest

from reportgen.cli import main
from reportgen.loader import load_job
from reportgen.sheet import render_sheet
from tests.outside import needs_program
from tests.unit.intake.small import DAY, PREPARED, PROJECT, Filling, by_pypdf, job_of, rolls_of, sheet_of, take_in


def _filling(job):
    filling = Filling(sheet_of(job, areas=["A-1"]))
    filling.write("surface", 1, "A-1", **(PREPARED | {"abrasive": "grit (µ) \\ 3"}))
    filling.write("conditions", 1, time="06:40", place="yard", air="13.5", humidity="71", steel="12.5")
    rows = {row: {"x1": f"2.{row}", "c1": f"2.{row - 1}"} for row in range(1, 7)}
    return filling.readings("A-1", rows, rolls_of(filling.plan, "A-1"))


def _xfdf(values):
    from xml.sax.saxutils import escape, quoteattr

    fields = "".join(
        f"<field name={quoteattr(name)}><value>{escape(text.lstrip('/'))}</value></field>"
        for name, text in values.items()
    )
    return f'<?xml version="1.0" encoding="UTF-8"?><xfdf xmlns="http://ns.adobe.com/xfdf/"><fields>{fields}</fields></xfdf>'


def filled_by_pypdf(folder, values):
    pdf = folder.joinpath("sheet.pdf").read_bytes()
    folder.joinpath("filled.pdf").write_bytes(by_pypdf(pdf, values))


def filled_by_pdftk(folder, values):
    (folder / "data.xfdf").write_text(_xfdf(values), "utf-8")
    _run(folder, "pdftk", "sheet.pdf", "fill_form", "data.xfdf", "output", "filled.pdf")


def filled_by_qpdf(folder, values):
    document = json.loads(_run(folder, "qpdf", "--json", "sheet.pdf"))
    header, objects = document["qpdf"]
    changed = {}
    for field in document["acroform"]["fields"]:
        text = values.get(field["fullname"])
        if text is None:
            continue
        name = f"obj:{field['object']}"
        value = objects[name]["value"]
        value |= {"/V": text, "/AS": text} if text.startswith("/") else {"/V": f"u:{text}"}
        changed[name] = {"value": value}
    (folder / "update.json").write_text(json.dumps({"version": 2, "qpdf": [header, changed]}), "utf-8")
    _run(folder, "qpdf", "sheet.pdf", "--update-from-json=update.json", "--generate-appearances", "filled.pdf")


def _run(folder, *command):
    return subprocess.run(command, cwd=folder, check=True, capture_output=True).stdout


FILLERS = [
    filled_by_pypdf,
    pytest.param(filled_by_pdftk, marks=needs_program("pdftk")),
    pytest.param(filled_by_qpdf, marks=needs_program("qpdf")),
]


@pytest.mark.parametrize("fill", FILLERS)
def test_every_filler_gives_the_same_day(fill, tmp_path):
    job = job_of()
    filling = _filling(job)
    (tmp_path / "sheet.pdf").write_bytes(render_sheet(filling.plan))
    fill(tmp_path, filling.values)
    intake = take_in((tmp_path / "filled.pdf").read_bytes(), "filled.pdf", job)
    assert intake == take_in(filling.by_pypdf(), "filled.pdf", job)
    assert intake.complete
    assert "grit (µ)" in intake.data.decode()


def _contract(folder, count):
    """Write a contract of ``count`` areas with ids of the length contracts use."""
    before, after = PROJECT.split("      - {id: A-1")[0], "name: girder and bearing shelf, size: 24 m2}\n"
    names = [f"PIER-{number:02d}-EAST-SPAN-17W" for number in range(1, count + 1)]
    areas = "".join(f"      - {{id: {name}, {after}" for name in names)
    (folder / "project.yaml").write_text(before + areas, "utf-8")
    (folder / "day.yaml").write_text(DAY, "utf-8")
    return names


@pytest.mark.parametrize("count", [1, 6, 12])
@pytest.mark.parametrize("fill", FILLERS)
def test_a_sheet_of_many_areas_comes_back_whole(fill, count, tmp_path, capsys):
    areas = _contract(tmp_path, count)
    day, sheet, filled = (tmp_path / name for name in ("day.yaml", "sheet.pdf", "filled.pdf"))
    assert main(["sheet", str(day), "-o", str(sheet)]) == 0
    filling = Filling(sheet_of(load_job(day)))
    for number, area in enumerate(areas):
        filling.write("surface", 1, area, **PREPARED)
        readings = {row: {"x1": f"2.{(row + number) % 10}"} for row in range(1, 7)}
        filling.readings(area, readings, rolls_of(filling.plan, area))
    fill(tmp_path, filling.values)
    code = main(["intake", str(filled), "--into", str(day)])
    assert (code, "Not taken" in capsys.readouterr().out) == (0, False)
    back = load_job(day)
    assert [surface.area for surface in back.day.surfaces] == areas
    assert [[str(reading.value) for reading in rows] for rows in back.readings] == [
        [f"2.{(row + number) % 10}" for row in range(1, 7)] for number in range(count)
    ]


def test_a_sheet_that_no_intake_could_read_is_not_made(tmp_path, capsys):
    _contract(tmp_path, 1200)
    assert main(["sheet", str(tmp_path / "day.yaml"), "-o", str(tmp_path / "sheet.pdf")]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert said.startswith("error: a sheet of 1200 areas and up to 8 rows to a table is more than one sheet can carry")
    assert "name the areas of the shift with `--area`" in said
    assert not (tmp_path / "sheet.pdf").exists()


@needs_program("pdftotext")
def test_a_sheet_prints_what_it_is_for(tmp_path):
    (tmp_path / "sheet.pdf").write_bytes(render_sheet(sheet_of(job_of())))
    command = ["pdftotext", "-layout", "sheet.pdf", "-"]
    text = subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, text=True).stdout
    pages = text.split("\f")
    assert "Field sheet for AB-7-1, revision 0" in pages[0]
    assert "From 1.5 to 2.5 mil, ends included?" in pages[0]
    assert "hose is down" in pages[0]
    assert ["A-1   shell, 24 m²" in " ".join(page.split("  ")) or "A-1" in page for page in pages[1:3]] == [True, False]
    assert "A-2" in pages[2]
