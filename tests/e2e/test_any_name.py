"""Through the command: ids and texts of any legal kind stop neither a draft nor an issue, nor what is made of them."""

import json
import os
import shutil
from pathlib import Path

import pytest

from reportgen.archival import read_attachments
from reportgen.verification.pageread import page_texts
from tests.conftest import JOBS
from tests.e2e.conftest import Tool
from tests.legal_jobs import Changed, job_files, written

DAY = "2026-09-15.yaml"


def folder_with(tmp_path, **changes):
    """The second demo contract with other ids or texts, with its photos, and the command in its folder."""
    folder = written(job_files("tessowick", DAY, Changed(**changes)), tmp_path / "job")
    shutil.copytree(JOBS / "tessowick" / "photos", folder / "photos")
    return Tool(folder)


@pytest.mark.parametrize("pattern", ["PIER-{:02d}-EAST", "SPAN-{:d}W-18", "A{:d}-" + "W" * 36, "x.y_z-{:d}"])
def test_a_legal_id_does_not_stop_an_issue(pattern, tmp_path):
    count = iter(range(1, 1000))

    def other(kind, old):
        return old if kind in ("spot", "number", "file") else pattern.format(next(count))

    tool = folder_with(tmp_path, identify=other)
    tool("issue", DAY, "--identity", "demo", "-o", "report.pdf")
    lines = page_texts((tool.folder / "report.pdf").read_bytes())[0].split("\n")
    areas = [area["id"] for area in json.loads(tool("check", DAY, "--json", code=1).stdout)["areas"]]
    assert len(areas) == 3
    assert all(area in lines for area in areas), lines
    assert not any("\u2026" in line for line in lines)


def test_units_and_signs_that_a_person_wrote_in_a_text_stand_as_written(tmp_path):
    """Sentences of the program have `µm` and a minus where it writes `um` and a hyphen; what a person wrote has not."""
    own = "Below 50 um at -2 degC, 6 m2 patch"
    tool = folder_with(tmp_path, write=lambda kind, old: f"{old} {own}" if kind == "text" or "garnet" in old else old)
    tool("issue", DAY, "--identity", "demo", "-o", "report.pdf")
    text = " ".join(" ".join(page_texts((tool.folder / "report.pdf").read_bytes())).split())
    assert text.count(own) >= 3


@pytest.fixture(scope="module")
def lettered(tmp_path_factory):
    """A contract with letters of no face, of the fallback, and with accents apart in every name and remark."""
    return folder_with(tmp_path_factory.mktemp("letters"), write=lambda _kind, old: f"{old} 橋 ⌀12 u\u0308")


def test_letters_that_no_face_has_are_told_and_do_not_stop_an_issue(lettered):
    said = lettered("issue", DAY, "--identity", "demo", "-o", "report.pdf", "--json")
    assert "warning[SRC106]: no font of the report has U+6A4B" in said.stderr
    pdf = (lettered.folder / "report.pdf").read_bytes()
    first = page_texts(pdf)[0]
    assert "C. Velliper [U+6A4B] ⌀12 ü" in " ".join(first.split())
    assert "橋" in json.dumps(json.loads(read_attachments(pdf)["evaluation.json"]), ensure_ascii=False)
    answer = json.loads(lettered("verify", "report.pdf", "--json", "--photos", ".", code=1).stdout)
    steps = {step["number"]: step["status"] for step in (answer[0] if isinstance(answer, list) else answer)["steps"]}
    assert (steps[8], steps[9], steps[10]) == ("passed", "passed", "passed")


def test_tables_and_sheets_of_such_a_job_hold_its_letters(lettered):
    lettered("export", DAY, "--to", "csv", "-o", "tables")
    assert "橋 ⌀12" in "".join(path.read_text("utf-8") for path in (lettered.folder / "tables").iterdir())
    lettered("export", DAY, "--to", "xlsx", "-o", "book.xlsx")
    from openpyxl import load_workbook

    cells = [cell for sheet in load_workbook(lettered.folder / "book.xlsx") for row in sheet.values for cell in row]
    assert any("橋 ⌀12" in str(cell) for cell in cells)
    lettered("sheet", DAY, "-o", "sheet.pdf")
    from pypdf import PdfReader

    text = "\n".join(page.extract_text() for page in PdfReader(lettered.folder / "sheet.pdf").pages)
    assert "shell, course 1 [U+6A4B] ⌀12" in text


@pytest.mark.skipif(os.name != "posix", reason="names of files are bytes on POSIX alone")
def test_a_file_name_that_is_no_text_is_shown_by_its_bytes(lettered):
    lettered("issue", DAY, "--identity", "demo", "-o", "report.pdf")
    odd = os.fsencode(lettered.folder / "r") + b"\xff\xfe \xe6\xa9\x8b.pdf"
    shutil.copy(lettered.folder / "report.pdf", odd)
    lettered("verify", Path(os.fsdecode(odd)).name, "--record", "record.pdf", code=1)
    text = " ".join(" ".join(page_texts((lettered.folder / "record.pdf").read_bytes())).split())
    assert "r[0xFF 0xFE] [U+6A4B].pdf" in text
