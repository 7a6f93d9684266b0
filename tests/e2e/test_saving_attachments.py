"""What is attached can be saved by anybody with a viewer or a common tool, on any system, and is listed on the page."""

import hashlib
import json
import re

import pytest

from reportgen.verification.pageread import page_texts
from tests.outside import needs_program
from tests.saving import saved_attachments

CSV = "readings/2026-06-09-K-4.csv"
MADE = ("evaluation.json", "issue.json", "README.txt", "readings.csv")
ROWS = re.compile(r"(- area: K-3\n(?:.*\n)*?      readings:)\n(?:        - .*\n)+")


@pytest.fixture
def day(contract):
    """A day with two files of readings that differ in their folders alone, under a name with letters of two scripts."""
    (contract / "more").mkdir()
    (contract / "more" / "2026-06-09-K-4.csv").write_bytes((contract / CSV).read_bytes().replace(b"2.7", b"2.6"))
    source = contract / "2026-06-09.yaml"
    text, count = ROWS.subn(r"\1 {csv: more/2026-06-09-K-4.csv}\n", source.read_text("utf-8"))
    assert count == 1
    source.unlink()
    path = contract / "Brücke 橋 2026-06-09.yaml"
    path.write_text(text, "utf-8")
    return path


@needs_program("pdfdetach")
@needs_program("pdftk")
@pytest.mark.parametrize("verb", [["draft"], ["issue", "--identity", "demo"]], ids=["draft", "demonstration"])
def test_attachments_are_saved_flat_and_whole_and_listed_by_path(verb, day, tool, tmp_path):
    tool(*verb, day.name, "-o", "report.pdf")
    report = day.parent / "report.pdf"
    saved = saved_attachments(report, tmp_path)
    assert set(saved) == {
        day.name, "2026-06-08.yaml", "2026-06-08-G-2.csv", "project.yaml", "2026-06-09-K-4.csv", "2026-06-09-K-4-2.csv",
        "evaluation.json", "issue.json", "manifest.json", "README.txt", "readings.csv",
    }  # fmt: skip
    listed = {row["name"]: row for row in json.loads(saved["manifest.json"])["files"] if "attachment" in row}
    assert set(saved) == {row["attachment"] for row in listed.values()} | {"manifest.json"}
    for name, row in listed.items():
        data = saved[row["attachment"]]
        assert hashlib.sha256(data).hexdigest() == row["sha256"]
        path = day.parent / name
        assert data == path.read_bytes() if path.exists() else name in MADE
    assert listed["more/2026-06-09-K-4.csv"]["attachment"] == "2026-06-09-K-4.csv"
    assert listed[CSV]["attachment"] == "2026-06-09-K-4-2.csv"

    printed = "\n".join(page_texts(report.read_bytes())[-2:]).split("\n")
    digest = hashlib.sha256(saved["manifest.json"]).hexdigest()
    assert any(digest in each.replace(" ", "") for each in printed)
    for line in (CSV, "attached as 2026-06-09-K-4-2.csv", "more/2026-06-09-K-4.csv", "manifest.json", "list of files",
                 "Brücke [U+6A4B] 2026-06-09.yaml"):  # fmt: skip
        assert any(line in each for each in printed), line


def test_a_report_with_such_files_verifies_and_is_recorded_with_all_of_them(day, tool):
    tool("issue", "--identity", "demo", day.name, "-o", "report.pdf")
    told = json.loads(tool("verify", "report.pdf", "--json", "--record", "record.pdf", code=1).stdout)
    answer = told[0] if isinstance(told, list) else told
    assert {reason["name"] for reason in answer["reasons"]} == {"DEMONSTRATION", "NO_CERTIFICATE_CHAIN_FOUND"}
    text = " ".join(" ".join(page_texts((day.parent / "record.pdf").read_bytes())).split())
    for line in (CSV, "manifest.json list of files", "Brücke [U+6A4B] 2026-06-09.yaml"):
        assert line in text, line
