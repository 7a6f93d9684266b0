"""What an audit makes of PDFs that are no reports: papers, what looks like a report, and reports that are broken."""

import datetime as dt
import io
import shutil
from dataclasses import replace

import pikepdf
import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from reportgen.issued.papers import draft_of
from reportgen.pipeline import draft
from reportgen.verification import Reason, Step
from reportgen.verification.steps import unreadable
from tests.build_samples import DAYS, issue_time
from tests.command import run
from tests.demo_archive import Archive, shared_archive
from tests.unit.issued.records import report


@pytest.fixture(scope="module")
def archive(tmp_path_factory) -> Archive:
    return shared_archive(tmp_path_factory)


@pytest.fixture
def few(archive, tmp_path):
    folder = tmp_path / "few"
    folder.mkdir()
    for path in sorted((archive.folder / "BF-04").glob("*.pdf"))[:3]:
        shutil.copy(path, folder)
    return folder


def paper(text, **told):
    stream = io.BytesIO()
    canvas = Canvas(stream, pageCompression=1)
    canvas.setTitle(told.get("title", "A drawing"))
    canvas.drawString(72, 700, text)
    canvas.save()
    return stream.getvalue()


def audited(archive, folder, tmp_path):
    return run("audit", folder, "--trust", archive.root, "--index", tmp_path / "index.sqlite")


def test_thirty_papers_are_one_counted_line_and_leave_the_exit_code_alone(archive, few, tmp_path):
    for number in range(30):
        (few / f"drawing-{number}.pdf").write_bytes(paper(f"Weir gate {number}, sheet 4 of 12"))
    answer = audited(archive, few, tmp_path)
    assert answer.returncode == 0, answer.stdout
    assert "3 files, 3 passed; 3 reports of 1 contract; 30 papers" in answer.stdout
    assert (
        answer.stdout.count("neither reports nor submittals, and naming no contract that reports are of: 30 files") == 1
    )


@pytest.mark.parametrize(
    ("name", "text", "title"),
    [
        ("letter.pdf", "Concerning BF-04-IR-002 we write", "Letter"),
        ("letter.pdf", "Concerning contract bf-04 we write", "Letter"),
        ("BF-04-IR-009.pdf", "scanned", "Scan"),
        ("scan.pdf", "scanned", "BF-04-IR-009, printed"),
    ],
)
def test_what_names_a_contract_as_a_report_does_is_in_doubt(archive, few, tmp_path, name, text, title):
    (few / name).write_bytes(paper(text, title=title))
    answer = audited(archive, few, tmp_path)
    assert answer.returncode == 1
    assert "file-in-doubt (doubt, 1)" in answer.stdout
    assert "4 files, 1 indeterminate, 3 passed" in answer.stdout
    assert "BF-04" in answer.stdout.split("it is neither a report nor a submittal, and names ", 1)[1].upper()


def test_pages_of_ours_without_what_makes_them_a_report_are_in_doubt(archive, few, tmp_path):
    with pikepdf.open(io.BytesIO(paper("Area 1 released"))) as bare:
        bare.docinfo["/Producer"] = "reportgen 9"
        bare.save(few / "pages.pdf")
    answer = audited(archive, few, tmp_path)
    assert answer.returncode == 1
    assert "pages.pdf: it is neither a report nor a submittal, and says that this program made it" in answer.stdout


def test_a_report_cut_short_is_linked_to_the_number_that_lacks_it(archive, few, tmp_path):
    second = sorted(few.glob("*.pdf"))[1]
    second.write_bytes(second.read_bytes()[:-9000])
    answer = audited(archive, few, tmp_path)
    assert answer.returncode == 1
    told = "there is no BF-04-IR-002, although a higher number of BF-04 was issued; a file of that name, which is no"
    assert f"{told} report that can be read, is here: BF-04-IR-002.pdf (failed)" in " ".join(answer.stdout.split())
    assert "papers" not in answer.stdout


def without_signature(pdf, out):
    with pikepdf.open(pdf) as opened:
        del opened.Root.AcroForm
        for page in opened.pages:
            if "/Annots" in page:
                del page["/Annots"]
        opened.save(out)


def test_a_draft_is_named_as_one_and_decides_nothing(archive, few, tmp_path):
    """It is no fault and no doubt, so that a release is still written beside it."""
    draft(DAYS[0], few / "today.pdf", at=issue_time(DAYS[0]))
    answer = audited(archive, few, tmp_path)
    assert answer.returncode == 0, answer.stdout
    assert "3 files, 3 passed; 3 reports of 1 contract; 1 paper" in answer.stdout
    assert "drafts that nobody issued, which decide nothing: today.pdf (QW-14-IR-001 r0, 2026-06-08)" in answer.stdout


def test_a_report_that_lost_its_signature_is_no_draft(archive, few, tmp_path):
    without_signature(few / "BF-04-IR-002.pdf", few / "copy.pdf")
    answer = audited(archive, few, tmp_path)
    assert answer.returncode == 1
    assert "file-failed (fault, 1)" in answer.stdout
    assert "  copy.pdf: " in answer.stdout


def test_a_submittal_names_drafts_and_letters_and_encloses_the_reports(archive, few, tmp_path):
    draft(DAYS[0], few / "today.pdf", at=issue_time(DAYS[0]))
    (few / "letter.pdf").write_bytes(paper("Letter on BF-04"))
    out = tmp_path / "out.pdf"
    answer = run("submittal", few, "--identity", "demo", "--trust", archive.root, "-o", out)
    assert answer.returncode == 0, answer.stderr
    told = " ".join((answer.stdout + answer.stderr).split())
    assert "is a draft of QW-14-IR-001, which nobody issued: it is not enclosed" in told
    assert "letter.pdf is a paper and no report: it is not enclosed" in told
    enclosed = [name for name in PdfReader(out).attachments if name.endswith(".pdf")]
    assert sorted(enclosed) == [f"BF-04-IR-00{number}.pdf" for number in (1, 2, 3)]


def test_a_submittal_names_every_file_that_lost_what_made_it_a_report(archive, few, tmp_path):
    """One that was altered, and one that we made and whose data was taken out, at once; a letter stops nothing."""
    (few / "letter.pdf").write_bytes(paper("Letter"))
    without_signature(few / "BF-04-IR-002.pdf", few / "copy.pdf")
    with pikepdf.open(few / "BF-04-IR-001.pdf") as report_without_data:
        for page in report_without_data.pages:
            if "/Annots" in page:
                del page.Annots
        del report_without_data.Root.Names, report_without_data.Root.AcroForm
        report_without_data.save(few / "stripped.pdf")
    out = tmp_path / "out.pdf"
    answer = run("submittal", few, "--identity", "demo", "--trust", archive.root, "-o", out)
    told = " ".join(answer.stderr.split())
    assert (answer.returncode, out.exists(), "letter.pdf" in told) == (2, False, False)
    assert "copy.pdf does not verify: " in told
    assert "stripped.pdf" in told


@pytest.mark.parametrize("status", ["draft", "issue"])
def test_only_pages_that_say_so_are_a_draft(status, tmp_path):
    """What calls itself a draft in its data alone is none."""
    draft(DAYS[0], tmp_path / "draft.pdf", at=issue_time(DAYS[0]))
    marked = (tmp_path / "draft.pdf").read_bytes()
    steps = (Step(2, "failed", (Reason("NO_SIGNATURE", "."),)), Step(6, "failed", (Reason("NOT_ISSUED", "."),)))
    answer = replace(unreadable(marked, dt.datetime.now(dt.UTC), steps[0].reasons[0]), steps=steps)
    found = draft_of(marked, answer, report(1, status=status))
    assert (found is not None) == (status == "draft")
    assert draft_of(paper("Area 1 released"), answer, report(1, status=status)) is None
