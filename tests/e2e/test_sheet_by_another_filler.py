"""A sheet filled by general form fillers that know nothing of us is taken in like one filled by ours."""

import json
import subprocess

from reportgen.intake import take_in
from reportgen.layout.sheet import render_sheet
from tests.outside import needs_program
from tests.unit.intake.small import PREPARED, Filling, job_of, rolls_of, sheet_of


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


@needs_program("pdftk")
def test_filled_by_pdftk(tmp_path):
    job = job_of()
    filling = _filling(job)
    (tmp_path / "sheet.pdf").write_bytes(render_sheet(filling.plan))
    (tmp_path / "data.xfdf").write_text(_xfdf(filling.values), "utf-8")
    command = ["pdftk", "sheet.pdf", "fill_form", "data.xfdf", "output", "filled.pdf"]
    subprocess.run(command, cwd=tmp_path, check=True, capture_output=True)
    intake = take_in((tmp_path / "filled.pdf").read_bytes(), "filled.pdf", job)
    assert intake == take_in(filling.by_pypdf(), "filled.pdf", job)
    assert intake.complete
    assert "grit (µ)" in intake.data.decode()


@needs_program("qpdf")
def test_filled_by_qpdf(tmp_path):
    job = job_of()
    filling = _filling(job)
    (tmp_path / "sheet.pdf").write_bytes(render_sheet(filling.plan))
    shown = subprocess.run(["qpdf", "--json", "sheet.pdf"], cwd=tmp_path, check=True, capture_output=True).stdout
    document = json.loads(shown)
    header, objects = document["qpdf"]
    changed = {}
    for field in document["acroform"]["fields"]:
        text = filling.values.get(field["fullname"])
        if text is None:
            continue
        name = f"obj:{field['object']}"
        value = objects[name]["value"]
        value |= {"/V": text, "/AS": text} if text.startswith("/") else {"/V": f"u:{text}"}
        changed[name] = {"value": value}
    update = {"version": 2, "qpdf": [header, changed]}
    (tmp_path / "update.json").write_text(json.dumps(update), "utf-8")
    command = ["qpdf", "sheet.pdf", "--update-from-json=update.json", "--generate-appearances", "filled.pdf"]
    subprocess.run(command, cwd=tmp_path, check=True, capture_output=True)
    intake = take_in((tmp_path / "filled.pdf").read_bytes(), "filled.pdf", job)
    assert intake == take_in(filling.by_pypdf(), "filled.pdf", job)


@needs_program("pdftotext")
def test_a_sheet_prints_what_it_is_for(tmp_path):
    (tmp_path / "sheet.pdf").write_bytes(render_sheet(sheet_of(job_of())))
    command = ["pdftotext", "-layout", "sheet.pdf", "-"]
    text = subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, text=True).stdout
    pages = text.split("\f")
    assert "Field sheet for AB-7-1, revision 0" in pages[0]
    assert "Profile from 1.5 to 2.5 mil, ends included?" in pages[0]
    assert "hose is down" in pages[0]
    assert ["A-1   shell, 24 m²" in " ".join(page.split("  ")) or "A-1" in page for page in pages[1:3]] == [True, False]
    assert "A-2" in pages[2]
