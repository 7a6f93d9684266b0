"""Many reports exported at once: every row says which file it is from and how that stands; what fails gives nothing."""

import json
import shutil

import openpyxl
import pytest

from tests.command import run
from tests.demo_archive import shared_archive


@pytest.fixture(scope="session")
def archive(tmp_path_factory):
    return shared_archive(tmp_path_factory)


@pytest.fixture
def folder(archive, tmp_path):
    place = tmp_path / "received"
    place.mkdir()
    for path in sorted((archive.folder / "BF-03").glob("*-00[89]*.pdf")):
        shutil.copy(path, place)
    shutil.copy(place / "BF-03-IR-008.pdf", place / "once more.pdf")
    (place / "cut short.pdf").write_bytes((place / "BF-03-IR-008.pdf").read_bytes()[:9000])
    (place / "letter.pdf").write_bytes(b"%PDF-1.4\n%%EOF\n")
    return place


def rows_of(book, sheet):
    heads, *rows = book[sheet].iter_rows(values_only=True)
    return [dict(zip(heads, row, strict=True)) for row in rows]


def test_a_folder_of_reports_becomes_one_workbook_in_which_each_row_says_how_its_file_stands(archive, folder):
    answer = run("export", folder, "--trust", archive.root, "-o", folder / "all.xlsx")
    assert answer.returncode == 0, answer.stderr
    assert "no data of 2 files: the table `files` says why" in answer.stdout
    book = openpyxl.load_workbook(folder / "all.xlsx")
    files = {row["file"].rpartition("/")[2]: row for row in rows_of(book, "files")}
    assert {name: (one["data given"], one["standing"]) for name, one in files.items()} == {
        "BF-03-IR-008.pdf": ("yes", "proven"),
        "once more.pdf": ("the same file, above", "proven"),
        "BF-03-IR-009.pdf": ("yes", "proven"),
        "BF-03-IR-009-r1.pdf": ("yes", "proven"),
        "cut short.pdf": ("no", "failed"),
        "letter.pdf": ("no", "failed"),
    }
    assert files["BF-03-IR-009.pdf"]["place among its number"] == "superseded"
    assert files["BF-03-IR-009-r1.pdf"]["place among its number"] == "decides"
    readings = rows_of(book, "readings")
    assert {(row["report"], row["revision"], row["file"].rpartition("/")[2]) for row in readings} == {
        ("BF-03-IR-008", 0, "BF-03-IR-008.pdf"),
        ("BF-03-IR-009", 0, "BF-03-IR-009.pdf"),
        ("BF-03-IR-009", 1, "BF-03-IR-009-r1.pdf"),
    }
    assert all(row["standing"] == "proven" and row["verification"] == "passed" for row in readings)
    assert all(isinstance(row["reading (mil)"], int | float) for row in readings)


def test_what_is_exported_together_is_what_each_report_gives_by_itself(archive, folder):
    several = [folder / "BF-03-IR-009.pdf", folder / "BF-03-IR-008.pdf"]
    run("export", *several, "--trust", archive.root, "--to", "json", "-o", folder / "two.json")
    together = json.loads((folder / "two.json").read_bytes())["reports"]
    assert [one["evaluation"]["report"]["number"] for one in together] == ["BF-03-IR-008", "BF-03-IR-009"]
    for path, row in zip(sorted(several), together, strict=True):
        run("export", path, "--to", "json", "-o", path.with_suffix(".json"))
        (alone,) = json.loads(path.with_suffix(".json").read_bytes())["reports"]
        assert {name: row[name] for name in alone} == alone
        assert row["file"].endswith(path.name)


def test_an_original_inside_a_submittal_counts_like_a_file_by_itself(archive, folder, tmp_path):
    given = [folder / "BF-03-IR-008.pdf", folder / "BF-03-IR-009-r1.pdf"]
    out = tmp_path / "submittal.pdf"
    sent = run("submittal", *given, "--identity", "demo", "--trust", archive.root, "-o", out)
    assert sent.returncode == 0, sent.stderr
    answer = run("export", out, given[0], "--trust", archive.root, "-o", tmp_path / "x.xlsx")
    assert answer.returncode == 0, answer.stderr
    book = openpyxl.load_workbook(tmp_path / "x.xlsx")
    files = rows_of(book, "files")
    assert sorted((one["kind"], bool(one["inside"]), one["data given"]) for one in files) == [
        ("report", False, "yes"),
        ("report", True, "the same file, above"),
        ("report", True, "yes"),
        ("submittal", False, "no"),
    ]
    assert {row["report"] for row in rows_of(book, "areas")} == {"BF-03-IR-008", "BF-03-IR-009"}


def test_nothing_to_export_is_said(folder):
    assert "none of the files is a report" in " ".join(
        run("export", folder / "letter.pdf", folder / "cut short.pdf", "-o", folder / "x.xlsx").stderr.split()
    )
    assert not (folder / "x.xlsx").exists()
