"""The field sheet: what it has rows for, what it says, and that its fields are an ordinary form."""

import io
import re

import pytest
from pypdf import PdfReader

from reportgen.errors import UsageError
from reportgen.loader import job_from_files
from reportgen.pdf.styles import REGULAR
from reportgen.pdf.textlines import text_width
from reportgen.results import Task
from reportgen.rules import evaluate
from reportgen.sheet import FORM_FIELD, field_name, parse_form, render_sheet, sheet_identity, sheet_plan
from reportgen.words.catalogue import catalogue
from tests.legal_jobs import Changed, job_files
from tests.unit.intake.small import DAY, METRIC, PROJECT, job_of
from tests.verapdf import needs_verapdf, verapdf


def blocks_of(plan, kind, area=None):
    return [block for block in plan.blocks if block.kind == kind and (area is None or block.area == area)]


def reader_of(plan):
    return PdfReader(io.BytesIO(render_sheet(plan)))


def widgets(reader):
    return [note.get_object() for page in reader.pages for note in page.get("/Annots", ())]


@pytest.fixture(scope="module")
def reader():
    return reader_of(sheet_plan(job_of()))


def test_every_cell_has_one_field_with_a_tooltip_and_no_dot(reader):
    plan = sheet_plan(job_of())
    wanted = {
        field_name(number, row, cell.key)
        for number, block in enumerate(plan.blocks, 1)
        for row in range(1, len(block.rows) + 1)
        for cell in block.cells
    }
    names = [widget["/T"] for widget in widgets(reader)]
    assert sorted(names) == sorted(wanted | {FORM_FIELD})
    assert not any("." in name for name in names)
    assert all(widget["/TU"] for widget in widgets(reader))
    assert set(reader.get_fields()) == set(names)


def test_there_are_no_scripts_and_only_text_and_ticks(reader):
    for widget in widgets(reader):
        assert widget["/FT"] in ("/Tx", "/Btn")
        assert not {"/A", "/AA"} & set(widget)
    root = reader.trailer["/Root"]
    assert not {"/OpenAction", "/AA", "/JavaScript"} & set(root)
    assert "/XFA" not in root["/AcroForm"]


def test_fields_are_large_enough_for_gloves(reader):
    sizes = [widget["/Rect"] for widget in widgets(reader) if widget["/T"] != FORM_FIELD]
    eight_mm = 8 / 25.4 * 72
    assert min(float(box[3]) - float(box[1]) for box in sizes) >= eight_mm
    assert min(float(box[2]) - float(box[0]) for box in sizes) >= eight_mm


def test_no_field_leaves_the_page_or_lies_on_another(reader):
    for page in reader.pages:
        boxes = [[float(v) for v in note.get_object()["/Rect"]] for note in page["/Annots"]]
        boxes = [box for box in boxes if box[2] > box[0]]
        assert all(box[0] > 0 and box[2] < page.mediabox.width and box[1] > 30 for box in boxes)
        for index, one in enumerate(boxes):
            for other in boxes[index + 1 :]:
                apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
                assert apart, (one, other)


def elements(reader):
    """Role, kids and parent's role of every element of the structure, in reading order."""
    found = []

    def walk(node, parent):
        kids = node.get_object() if hasattr(node, "get_object") else node
        for kid in kids if isinstance(kids, list) else [kids]:
            one = kid.get_object() if hasattr(kid, "get_object") else kid
            if isinstance(one, dict) and "/S" in one:
                found.append((one["/S"], one.get("/K", []), parent))
                walk(one.get("/K", []), one["/S"])

    walk(reader.trailer["/Root"]["/StructTreeRoot"]["/K"], None)
    return found


def test_every_field_is_tagged_as_a_cell_of_its_table_in_reading_order(reader):
    """ISO 14289-1 §7.18.4: each widget in a Form element, tab order by structure."""
    assert all(page["/Tabs"] == "/S" for page in reader.pages)
    forms = [(kids, parent) for role, kids, parent in elements(reader) if role == "/Form"]
    assert {parent for _, parent in forms} == {"/TD"}
    assert {kids[0].get_object()["/Type"] for kids, _ in forms} == {"/OBJR"}
    names = [kids[0].get_object()["/Obj"].get_object()["/T"] for kids, _ in forms]
    seen = [widget for widget in widgets(reader) if widget["/T"] != FORM_FIELD]
    assert names == [widget["/T"] for widget in seen]
    assert all("/StructParent" in widget for widget in seen)
    roles = [role for role, *_ in elements(reader)]
    assert roles.count("/H1") == 1
    assert roles.count("/Table") == roles.count("/THead")


@needs_verapdf
def test_the_reference_validator_finds_a_sheet_accessible(tmp_path):
    """Pages, fields and metadata as PDF/UA-1."""
    paths = [tmp_path / "en.pdf", tmp_path / "de.pdf"]
    for path, paper in zip(paths, ("a4", "letter"), strict=True):
        path.write_bytes(render_sheet(sheet_plan(job_of(), paper=paper, language=path.stem)))
    assert verapdf(paths, "ua1") == {path: [] for path in paths}


def test_every_page_says_which_of_how_many_it_is_and_what_to_keep_out_of(reader):
    pages = [" ".join(page.extract_text().split()) for page in reader.pages]
    for number, text in enumerate(pages, 1):
        assert f"{number} of {len(pages)}" in text
        assert "Stay out of the blast until the pot is isolated" in text
        assert "Field sheet for AB-7-1, revision 0" in text


def test_whoever_writes_in_a_field_sees_a_face_that_is_in_the_file(reader):
    fonts = reader.trailer["/Root"]["/AcroForm"]["/DR"]["/Font"]
    assert fonts["/Sans"]["/FontDescriptor"]["/FontFile2"].get_data()[:4] in (b"\0\1\0\0", b"true")
    widths = fonts["/Sans"]["/Widths"]
    assert len(widths) == 256 - 32
    assert widths[ord("5") - 32] == widths[ord("1") - 32]  # tabular figures


def test_the_sheet_carries_whose_it_is(reader):
    job = job_of()
    form = parse_form(reader.get_fields()[FORM_FIELD]["/V"])
    assert form == sheet_plan(job).form
    assert form.identity == sheet_identity(job)
    assert (form.identity.number, len(form.identity.day_sha256)) == ("AB-7-1", 64)
    hidden = next(widget for widget in widgets(reader) if widget["/T"] == FORM_FIELD)
    assert (hidden["/F"], hidden["/Ff"]) == (2, 1)


def test_a_page_per_area_between_one_of_checks_and_one_of_the_end(reader):
    assert [page.extract_text().count("Preparation") for page in reader.pages] == [0, 1, 1, 0]
    assert "Told released" in reader.pages[-1].extract_text()


def test_heads_of_columns_are_whole_however_long_the_ids():
    rolls = ["LOT-2026-041-EXTRA-COARSE-WEST-SIDE-0001", "LOT-2026-041-EXTRA-COARSE-WEST-SIDE-0002"]
    grade = "SSPC-SP 10 near-white by agreement of 3 May as ISO Sa 2½"
    project = PROJECT.replace("c1:", f"{rolls[0]}:").replace("x1:", f"{rolls[1]}:").replace("Sa 2½", grade)
    text = reader_of(sheet_plan(job_of(project=project), areas=["A-1"])).pages[1].extract_text()
    assert "…" not in text
    assert all(roll in text for roll in rolls), "an id stands on one line"
    assert grade in " ".join(text.split())


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_both_papers(paper):
    page = reader_of(sheet_plan(job_of(), paper=paper)).pages[0]
    assert float(page.mediabox.width) == pytest.approx(595.28 if paper == "a4" else 612, abs=0.01)


def test_many_rows_go_on_on_the_next_page_with_their_heads():
    project = PROJECT.replace("locations: 3}", "locations: 20}")
    reader = reader_of(sheet_plan(job_of(project=project), areas=["A-1"]))
    texts = [page.extract_text() for page in reader.pages]
    assert len(texts) == 4
    assert all("x1, extra coarse" in text for text in texts[1:3])


@pytest.mark.parametrize(
    ("project", "film", "last"),
    [
        (PROJECT, "2.0 mil", "6  From 1.5 to 2.5 mil, ends included? Read the other grade"),
        (METRIC, "50 µm", "6  From 38 to 64 µm, ends included?"),
        (
            PROJECT.replace("overlap_rule: average", "overlap_rule: non-averaging"), "2.0 mil",
            "6  Coarse tape shows 2.0 mil or more?",
        ),
        (
            PROJECT.replace("overlap_rule: average", "overlap_rule: single-grade"), "2.0 mil",
            "6  One grade, one reading a spot.",
        ),
    ],
)  # fmt: skip
def test_the_six_steps_of_a_good_replica_are_six_lines(project, film, last):
    steps = sheet_plan(job_of(project=project)).reminder
    assert len(steps) == 6
    begins = (
        "1  Clean both anvils", f"2  Pre-set: with closed anvils the gauge shows −{film}",
        "3  Unused tape: measure a piece of each roll. Begin with extra coarse tape (roll x1).",
        "4  Press and rub the circle until the grain is uniform all over; let nothing slide.", "5  Read the circle",
        last,
    )  # fmt: skip
    assert all(line.startswith(begin) for line, begin in zip(steps, begins, strict=True))


def test_without_tape_there_are_no_steps_and_a_column_of_depths():
    project = PROJECT.replace("kind: thickness gauge", "kind: depth micrometer")
    plan = sheet_plan(job_of(project=project))
    assert plan.reminder == ()
    assert blocks_of(plan, "tape_checks") == []
    readings = blocks_of(plan, "readings", "A-1")[0]
    assert [cell.key for cell in readings.cells] == ["location", "spot", "depth", "time", "position"]


def test_each_spot_has_a_tick_for_its_grain_and_each_location_a_position():
    readings = blocks_of(sheet_plan(job_of()), "readings", "A-1")[0]
    assert [(cell.key, cell.kind) for cell in readings.cells if cell.key in {"uniform", "position"}] == [
        ("uniform", "tick"), ("position", "text")
    ]  # fmt: skip


def test_at_the_end_it_asks_who_was_told_of_each_release_for_photos_and_for_a_signature(reader):
    plan = sheet_plan(job_of())
    told, photos = blocks_of(plan, "told_released")[0], blocks_of(plan, "photos")[0]
    assert [row["area"] for row in told.rows] == ["A-1", "A-2"]
    assert [cell.key for cell in told.cells] == ["area", "to", "time", "by"]
    assert [cell.key for cell in photos.cells] == ["number", "area", "location", "time", "caption"]
    last = reader.pages[-1].extract_text()
    assert all(part in last for part in ("Inspector: Noor", "Date, time", "Signature"))


@pytest.mark.parametrize(("unit", "step", "tolerance"), [("degC", 1, 0.06), ("degF", 1.8, 0.11)])
def test_the_small_table_of_dew_points_is_that_of_an_independent_library(unit, step, tolerance):
    """psychrolib, ASHRAE's formula over water and over ice; the table is over water, so from 0 °C on."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    project = PROJECT if unit == "degC" else PROJECT.replace("3 delta_degC", "5 delta_degF")
    (_, *humidities), *rows = sheet_plan(job_of(project=project)).dew_points
    compared = 0
    for air, *points in rows:
        celsius = (float(air) - (32 if unit == "degF" else 0)) / step
        for humidity, point in zip(humidities, points, strict=True):
            printed = (float(point.replace("−", "-")) - (32 if unit == "degF" else 0)) / step
            if printed > 0 and celsius > 0:
                known = psychrolib.GetTDewPointFromRelHum(celsius, float(humidity.removesuffix(" %")) / 100)
                assert printed == pytest.approx(known, abs=tolerance)
                compared += 1
    assert compared > 30


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("project", [PROJECT, METRIC])
def test_the_german_sheet_has_no_english_and_the_same_fields(project, paper):
    job = job_of(project=project)
    english, german = sheet_plan(job, paper=paper), sheet_plan(job, paper=paper, language="de")
    assert german.form == english.form
    reader = reader_of(german)
    assert reader.trailer["/Root"]["/Lang"] == "de"
    words = set(re.findall(r"[A-Za-z]{3,}", " ".join(page.extract_text() for page in reader.pages)))
    tips = [widget["/TU"] for widget in widgets(reader) if widget["/T"] != FORM_FIELD]
    words |= set(re.findall(r"[A-Za-z]{3,}", " ".join(tips)))
    assert not words & {
        "the",
        "and",
        "Time",
        "Location",
        "Spot",
        "Grain",
        "Roll",
        "with",
        "such",
        "where",
        "row",
        "coarse",
    }
    assert {"Stelle", "Uhrzeit", "Unterschrift", "Taupunkt"} & words >= {"Stelle", "Uhrzeit", "Unterschrift"}


def test_a_language_without_words_of_its_own_for_sheets_is_english():
    assert sheet_plan(job_of(), language="es").title == "Field sheet for AB-7-1, revision 0"


def test_without_a_gauge_there_are_no_readings():
    line = next(line for line in PROJECT.splitlines() if "thickness gauge" in line)
    plan = sheet_plan(job_of(project=PROJECT.replace(line, "")))
    assert blocks_of(plan, "readings") == []
    assert plan.reminder == ()


def test_a_range_that_only_a_comparator_states_gives_no_advice():
    project = PROJECT.replace("    minimum: 1.8 mil\n    maximum: 3.3 mil\n", "    comparator_grade: medium G\n")
    assert sheet_plan(job_of(project=project)).reminder[2].endswith("Begin with the grade the contract asks for.")


def test_contracts_in_fahrenheit_and_chloride_have_their_units():
    project = PROJECT.replace("3 delta_degC", "5 delta_degF")
    project = project.replace(
        "{maximum: 30 mg/m2, expressed_as: mixed salts by conductivity}", "{maximum: 3 ug/cm2, expressed_as: chloride}"
    )
    plan = sheet_plan(job_of(project=project))
    units = {cell.key: cell.unit for cell in blocks_of(plan, "conditions")[0].cells}
    assert (units["air"], units["pressure"]) == ("degF", "inHg")
    salts = blocks_of(plan, "salts", "A-1")[0]
    assert [(cell.key, cell.unit) for cell in salts.cells] == [("location", ""), ("chloride", "ug/cm2")]
    assert salts.cells[1].title == "Chloride µg/cm²"


def test_a_contract_that_asks_for_little_has_a_short_sheet():
    project = "\n".join(
        line for line in PROJECT.splitlines() if not line.strip().startswith(("soluble_salts", "dust", "conditions"))
    )
    plan = sheet_plan(job_of(project=project))
    assert {block.kind for block in plan.blocks} & {"salts", "dust"} == set()
    assert blocks_of(plan, "conditions")[0].notes == ()


def test_several_instruments_of_a_kind_are_not_guessed():
    project = PROJECT.replace("  h1:", "  h2: {kind: hygrometer, serial: H-2}\n  h1:")
    assert blocks_of(sheet_plan(job_of(project=project)), "conditions")[0].rows[0] == {}


# Areas and rows


def test_without_anything_named_all_areas_have_a_page():
    assert [block.area for block in blocks_of(sheet_plan(job_of()), "readings")] == ["A-1", "A-2"]


def test_areas_can_be_chosen_and_must_exist():
    assert [block.area for block in blocks_of(sheet_plan(job_of(), areas=["A-2"]), "readings")] == ["A-2"]
    with pytest.raises(UsageError, match=r"^`B-1` is not an area of this contract$"):
        sheet_plan(job_of(), areas=["B-1"])


def test_the_areas_a_day_names_have_a_page():
    job = job_of(DAY.replace("surfaces: []", "not_inspected: [{area: A-2, reason: rain}]"))
    assert [block.area for block in blocks_of(sheet_plan(job), "readings")] == ["A-2"]


@pytest.mark.parametrize(
    ("sampling", "area", "locations"),
    [
        ("{plan: fixed, locations: 4}", "A-1", 4),
        ("{plan: area-rate, locations: 3, first_area: 10 m2, further_area: 10 m2, further_locations: 1}", "A-1", 5),
        ("{plan: area-rate, locations: 2, first_area: 10 m2}", "A-1", 6),
        ("{plan: length-rate, locations: 1, length: 15 m}", "A-1", 3),
        ("{plan: length-rate, locations: 1, length: 15 m}", "A-2", 2),
    ],
)
def test_rows_follow_the_sampling_plan(sampling, area, locations):
    project = PROJECT.replace("{plan: per-shift-and-apparatus, locations: 3}", sampling)
    project = project.replace("size: 31 m2}", "size: 31 m2, weld_length: 22 m}")
    readings = blocks_of(sheet_plan(job_of(project=project)), "readings", area)[0]
    names = {row["location"] for row in readings.rows if row}
    assert len(names) == locations
    assert [row for row in readings.rows if row][:2] == [{"location": "1", "spot": "a"}, {"location": "1", "spot": "b"}]
    assert list(readings.rows[-2:]) == [{}, {}]


def test_a_size_that_is_not_stated_leaves_the_usual_rows():
    project = PROJECT.replace(
        "{plan: per-shift-and-apparatus, locations: 3}", "{plan: area-rate, locations: 2, first_area: 9 m2}"
    )
    project = project.replace("name: shell, size: 24 m2", "name: shell").replace("size: 31 m2", "size: 0 m2")
    for area in ("A-1", "A-2"):
        readings = blocks_of(sheet_plan(job_of(project=project)), "readings", area)[0]
        assert len({row["location"] for row in readings.rows if row}) == 3


MEASURED = """\
project: project.yaml
report: {number: AB-7-1, revision: 0, date: 2026-06-12, shift: {start: "06:30", end: "18:00"}, inspector: noor}
surfaces:
  - area: A-2
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "07:00", end: "08:30", abrasive: grit}
    profile:
      gauge: g1
      readings: [{location: 3, spot: b, x1: 2.2}]
nonconformances:
  - {id: N-1, area: A-1, findings: [outlier], description: odd, disposition: rework, decided_by: noor, status: open}
  - {id: N-2, findings: [outlier], description: odd, disposition: rework, decided_by: noor, status: open}
"""


def test_what_is_owed_comes_first_and_is_said():
    job = job_of(MEASURED)
    plan = sheet_plan(job, evaluation=evaluate(job))
    readings = blocks_of(plan, "readings", "A-2")[0]
    assert readings.rows[0] == {"location": "3", "spot": "b"}
    assert len([row for row in readings.rows if row]) == 6
    heading = next(block.heading for block in plan.blocks if block.area == "A-2" and block.heading)
    assert "A reading on coarse tape at location 3, spot b." in heading


def test_a_location_that_two_apparatus_name_alike_is_not_asked_for_by_that_name_alone():
    start = MEASURED.index("  - area: A-2")
    entry = MEASURED[start : MEASURED.index("nonconformances:")]
    second = entry.replace("pot 1", "pot 2").replace("x1: 2.2", "x1: 3.0")
    job = job_of(MEASURED.replace("nonconformances:", f"{second}nonconformances:"))
    evaluation = evaluate(job)
    assert "3 (pot 1)" in [step.place.location for step in evaluation.measure_next if isinstance(step, Task)]
    plan = sheet_plan(job, evaluation=evaluation)
    assert "3 (pot 1)" not in [row.get("location") for row in blocks_of(plan, "readings", "A-2")[0].rows]
    heading = next(block.heading for block in plan.blocks if block.area == "A-2" and block.heading)
    assert "A reading on coarse tape at location 3 (pot 1), spot b." in heading


def test_an_open_nonconformance_of_an_earlier_day_is_at_the_head_of_its_area():
    files = {"project.yaml": PROJECT.encode(), "m.yaml": MEASURED.encode()}
    later = DAY.replace("2026-06-12", "2026-06-13").replace("AB-7-1", "AB-7-2")
    job = job_from_files(files | {"d.yaml": later.encode()}, "d.yaml")
    plan = sheet_plan(job, evaluation=evaluate(job))
    heading = next(block.heading for block in plan.blocks if block.area == "A-1" and block.heading)
    assert "N-1 is open: odd" in heading


@pytest.mark.parametrize(("count", "first", "last"), [(3, "a", "c"), (26, "a", "z"), (30, "1", "30")])
def test_spots_have_letters_then_numbers(count, first, last):
    project = PROJECT.replace("readings_per_location: 2", f"readings_per_location: {count}")
    block = next(block for block in sheet_plan(job_of(project=project)).blocks if block.kind == "readings")
    spots = [row["spot"] for row in block.rows if row.get("location") == block.rows[-1 - count]["location"]]
    assert (len(spots), spots[0], spots[-1]) == (count, first, last)


def test_the_same_plan_gives_the_same_bytes():
    plan = sheet_plan(job_of())
    assert render_sheet(plan) == render_sheet(plan)


PLACES = (
    PROJECT.replace("name: shell, size: 24 m2", "name: shell, size: 24 m2, place: yard")
    .replace("name: floor, size: 31 m2", "name: floor, size: 31 m2, place: paint hall")
)  # fmt: skip


@pytest.mark.parametrize(
    ("areas", "places", "note"),
    [
        (("A-1", "A-2"), ["yard"] * 3 + ["paint hall"] * 3 + [None] * 2, "yard: A-1; paint hall: A-2."),
        (("A-2",), ["paint hall"] * 3 + [None] * 2, "paint hall: A-2."),
    ],
)
def test_each_place_of_the_areas_due_has_rows_for_its_conditions(areas, places, note):
    (block,) = blocks_of(sheet_plan(job_of(project=PLACES), areas=areas), "conditions")
    assert [row.get("place") for row in block.rows] == places
    assert block.notes[-1] == f"A reading counts for the areas of its own place. {note}"


def test_where_a_contract_has_one_place_none_is_filled_in():
    one = PROJECT.replace("name: Tank", "name: Tank\n    place: yard")
    (block,) = blocks_of(sheet_plan(job_of(project=one)), "conditions")
    assert {row.get("place") for row in block.rows} == {None}
    assert len(block.notes) == 1


def _with_ids(pattern, name="{}"):
    count = iter(range(1, 1000))
    changed = Changed(
        identify=lambda _kind, _old: f"{pattern}{next(count):03d}",
        write=lambda kind, old: name.format(old) if kind == "name" else old,
    )
    files = job_files("tessowick", "2026-09-15.yaml", changed)
    return reader_of(sheet_plan(job_from_files(files, "2026-09-15.yaml")))


@pytest.mark.parametrize("pattern", ["PIER-04-EAST-", "SPAN-17W-", "G" * 20])
def test_ids_are_seen_whole_in_heads_and_fields(pattern):
    reader = _with_ids(pattern)
    given = [widget for widget in widgets(reader) if widget["/FT"] == "/Tx" and widget.get("/AP")]
    assert any(widget["/V"].startswith(pattern) for widget in given)
    for widget in given:
        [size] = re.findall(rb"/Sans ([\d.]+) Tf", widget["/AP"]["/N"].get_object().get_data())
        assert widget["/DA"] == f"/Sans {size.decode()} Tf 0 g"
        left, _, right, _ = map(float, widget["/Rect"])
        assert text_width(widget["/V"], REGULAR, float(size)) <= right - left - 6, widget["/V"]
    text = "\n".join(page.extract_text() for page in reader.pages)
    assert "…" not in text
    assert re.search(rf"{pattern}\d\d\d,\s+extra\s+coarse", text)


def test_a_head_without_room_is_a_number_that_is_explained():
    text = "\n".join(page.extract_text() for page in _with_ids("W" * 37).pages)
    assert re.search(r"3\) W{37}\d\d\d, extra coarse", text)
    assert {"3)", "4)"} <= set(re.split(r"\s+", text))


def test_letters_that_no_face_has_are_shown_as_code_points():
    text = "\n".join(page.extract_text() for page in _with_ids("A", "{} 橋 ⌀").pages)
    assert "shell, course 1 [U+6A4B] ⌀" in text


def test_a_sheet_in_a_language_that_has_no_words_for_it_is_english_and_says_so():
    pdf = PdfReader(io.BytesIO(render_sheet(sheet_plan(job_of(), language="es"))))
    first = " ".join(pdf.pages[0].extract_text().split())
    assert catalogue("es")("translation.told") in first
    assert pdf.trailer["/Root"]["/Lang"] == "en"
    english = PdfReader(io.BytesIO(render_sheet(sheet_plan(job_of()))))
    assert catalogue("en")("translation.told") not in english.pages[0].extract_text()


def test_the_sheet_has_a_place_for_walk_outs_and_for_what_was_blasted_again():
    plan = sheet_plan(job_of(), areas=["A-1"])
    [walks] = blocks_of(plan, "walk_outs")
    assert [cell.key for cell in walks.cells] == ["area", "failing", "interval", "towards", "locations", "edge"]
    assert len(walks.rows) >= 4
    assert any(cell.key == "blasted_again" for block in blocks_of(plan, "surface", "A-1") for cell in block.cells)
