"""No English word in what a German reader is given of an audit: pages, histories, a submittal, a page for browsers."""

import html
import re

import openpyxl
import pytest

from reportgen.audit.problems import PROBLEMS
from reportgen.measurements import CODES
from reportgen.pipeline import check
from tests.build_samples import DAYS
from tests.command import run
from tests.golden.test_german_pages import english_on, text_of, written

SAMPLES = DAYS[0].parents[2] / "samples"
OURS = {"demonstration", "valid", "for", "pdf", "audit", "demo", "sheet"}
"""Words in the certificates and names of the samples."""


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """An audit of the samples in German: as pages, as a page for browsers, as a workbook."""
    made = tmp_path_factory.mktemp("audit")
    outs = ("-o", made / "audit.pdf", "--html", made / "audit.html", "--xlsx", made / "audit.xlsx")
    answer = run(
        "audit", SAMPLES, "--quick", "--language", "de", "--index", made / "index", *outs, "--processes", "1",
    )  # fmt: skip
    assert answer.returncode == 1, answer.stderr
    return made


@pytest.fixture(scope="module")
def own():
    """What people wrote in the samples."""
    jobs = [check(path).job for path in DAYS]
    return " ".join(one for job in jobs for part in (job.project, job.day) for one in written(part))


def english(text, own):
    """The English words in a text that neither people wrote nor a code, a file, a folder or a certificate has."""
    text = re.sub(r"\s*".join(map(re.escape, str(SAMPLES))), " ", text)  # a page may break it
    for code in sorted({*CODES, *PROBLEMS}, key=len, reverse=True):
        text = text.replace(code, " ")
    text = re.sub(r"\b[A-Z]+_[A-Z_]+\b|\bDEMONSTRATION\b|[\w/-]+\.(pdf|jpg|json|md|png)", " ", text)
    text = re.sub(r"\b(?=[a-f]*\d)[0-9a-f]{6,}\b", " ", text)  # a hash may spell anything
    return english_on(" ".join(text.split()), own) - OURS


def test_its_pages(place, own):
    text = text_of((place / "audit.pdf").read_bytes())
    assert "Fläche G-6: grundiert 15:45" in " ".join(text.split())
    assert english(text, own) == set()


def test_its_page_for_browsers(place, own):
    page = re.sub(r"<(style|script)>.*?</\1>", " ", (place / "audit.html").read_text("utf-8"), flags=re.DOTALL)
    text = html.unescape(re.sub(r"<[^>]+>", " ", page))
    assert english(text, own) == set()
    assert "1,8 bis 3,3 mil" in text
    assert not re.search(r"(?<![\d.-])\d+\.\d+ (mil|µm|°C)", text)


def test_its_workbook(place, own):
    sheets = openpyxl.load_workbook(place / "audit.xlsx", read_only=True)
    cells = [str(cell) for sheet in sheets for row in sheet.iter_rows(values_only=True) for cell in row if cell]
    assert english(" ".join([*sheets.sheetnames, *cells]), own) == set()


@pytest.mark.parametrize("of", [("--area", "G-5"), ("--gauge", "OSI-T-31"), ("--number", "QW-14-IR-002")])
def test_a_history(place, own, of):
    out = place / f"{of[1]}.pdf"
    assert run("history", place / "index", *of, "--language", "de", "-o", out).returncode == 0
    text = text_of(out.read_bytes())
    assert english(text, own) == set()
    assert not re.search(r"(?<![\d.-])\d\.\d\d(?![\d.])", text)


def test_a_submittal(place, own):
    out = place / "submittal.pdf"
    reports = sorted(SAMPLES.glob("quarrowmere-*.pdf"))
    answer = run("submittal", *reports, "--identity", "demo", "--language", "de", "-o", out, "--processes", "1")
    assert out.exists(), answer.stderr
    assert english(text_of(out.read_bytes()), own) == set()
