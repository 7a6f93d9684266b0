"""A small contract in memory, its sheet, and fillers that work as any program does: by field name."""

import io

import pikepdf
from pypdf import PdfReader, PdfWriter

from reportgen.intake import take_in as joined
from reportgen.loader import job_from_files
from reportgen.pipeline.onsite import read_in
from reportgen.sheet import field_name, render_sheet, sheet_plan

PROJECT = """\
project: {name: Yard, contract: AB-7, client: Yard Trust, contractor: Blast Co, site: north yard, time_zone: UTC}
inspection_body: {name: Looking Closely, address: 1 Yard Lane}
specification:
  document: AB-7
  surface_preparation: {grade: Sa 2½}
  profile:
    minimum: 1.8 mil
    maximum: 3.3 mil
    method: ASTM D4417 Method C
    edition: "2021"
    overlap_rule: average
    readings_per_location: 2
    decision_rule: simple
    rounding: half-even
  sampling: {plan: per-shift-and-apparatus, locations: 3}
  conditions: {dew_point_margin: 3 delta_degC, maximum_humidity: 85 %, interval: 4 h}
  soluble_salts: {maximum: 30 mg/m2, expressed_as: mixed salts by conductivity}
  dust: {maximum_quantity: 2}
people: {noor: {name: Noor, role: inspector}}
instruments:
  g1: {kind: thickness gauge, serial: T-1, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil}
  h1: {kind: hygrometer, serial: H-1}
  t1: {kind: surface thermometer, serial: S-1}
  k1: {kind: conductivity meter, serial: C-1}
tape_rolls:
  c1: {grade: coarse, lot: C-1}
  x1: {grade: extra coarse, lot: X-1}
structures:
  - id: tank
    name: Tank
    areas:
      - {id: A-1, name: shell, size: 24 m2}
      - {id: A-2, name: floor, size: 31 m2}
"""
METRIC = (
    PROJECT.replace("1.8 mil", "45 um")
    .replace("3.3 mil", "85 um")
    .replace("unit: mil, resolution: 0.1 mil", "unit: um")
)
METRIC = METRIC.replace("accuracy: 0.2 mil", "accuracy: 5 um")

DAY = """\
# kept: the first line
project: project.yaml
report: {number: AB-7-1, revision: 0, date: 2026-06-12, shift: {start: "06:30", end: "18:00"}, inspector: noor}

conditions: []  # kept: log here
surfaces: []
# kept: the last line
"""


def less_kept(data):
    """A day file without the list at its end in which intake keeps what it refused."""
    before, kept, _ = data.partition(b"\n\nnot_taken:\n")
    return before + b"\n" if kept else data


def job_of(day=DAY, project=PROJECT, **others):
    files = {"project.yaml": project.encode(), "day.yaml": day.encode()}
    return job_from_files(files | others, "day.yaml")


def sheet_of(job, **options):
    return sheet_plan(job, **options)


class Filling:
    """Writes into the fields of a plan by kind of block, row and cell."""

    def __init__(self, plan):
        self.plan = plan
        self.values = {}

    def write(self, kind, row, area=None, **cells):
        for number, block in enumerate(self.plan.blocks, 1):
            if block.kind == kind and block.area == area:
                known = {cell.key: cell.kind for cell in block.cells}
                for key, text in cells.items():
                    if key in known:
                        self.values[field_name(number, row, key)] = "/Yes" if known[key] == "tick" else text
        return self

    def readings(self, area, rows, roll):
        """``rows``: row number → {roll id: text}; ``roll``: roll id → cell."""
        for row, by_roll in rows.items():
            self.write("readings", row, area, **{roll[name]: text for name, text in by_roll.items()})
        return self

    def by_pypdf(self):
        return by_pypdf(render_sheet(self.plan), self.values)

    def filled(self, pdf=None):
        return filled(pdf or render_sheet(self.plan), self.values)


def filled(pdf, values):
    """Write the values alone: how fields look is no part of what is read, and drawing them takes most of the time."""
    with pikepdf.open(io.BytesIO(pdf)) as sheet:
        fields = [field for page in sheet.pages for field in page.get("/Annots", ()) if str(field.get("/T")) in values]
        for field in fields:
            text = values[str(field.T)]
            field.V = pikepdf.Name(text) if text.startswith("/") else pikepdf.String(text)
            if text.startswith("/"):
                field.AS = field.V
        into = io.BytesIO()
        sheet.save(into)
    return into.getvalue()


def by_pypdf(pdf, values):
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf)))
    for page in writer.pages:
        writer.update_page_form_field_values(page, values, auto_regenerate=False)
    into = io.BytesIO()
    writer.write(into)
    return into.getvalue()


def rolls_of(plan, area):
    block = next(block for block in plan.blocks if block.kind == "readings" and block.area == area)
    return {roll: cell for cell, roll in block.rolls.items()}


PREPARED = {"apparatus": "pot 1", "was_C": "x", "start": "07:00", "end": "08:30", "abrasive": "grit, lot 3",
            "observed": "Sa 2½", "staining": "2", "subtracted": "x", "coated": "12:00"}  # fmt: skip


def take_in(data, name, job, *, area=None, **options):
    """Read a source and join it with the day file of a job."""
    return joined(read_in(data, name, job, area=area), job, **options)
