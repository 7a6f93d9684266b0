"""The first page of an audit: doubts beside faults, what is not proven beside the state of the contracts."""

import io

import pytest
from pypdf import PdfReader

from reportgen.audit.problems import PROBLEMS, Problem, grouped
from reportgen.audit.report import render_audit
from reportgen.audit.reportmodel import AuditPages
from reportgen.words.told import told


def first_page(**given):
    content = AuditPages(
        folder="archive", verified_at="2026-06-12T08:00:00+00:00", version="0", files=3, failed=0, contracts=1,
        reports=3, rows=(), groups=(), states=("QW-14: 12 of 12 areas released",), **given,
    )  # fmt: skip
    page = PdfReader(io.BytesIO(render_audit(content))).pages[0]
    return " ".join(page.extract_text().split())


@pytest.mark.parametrize(
    ("faults", "doubts", "said"),
    [
        (1, 3, "1 fault in 3 files; 3 doubts left open."),
        (2, 0, "2 faults in 3 files."),
        (0, 1, "No fault proven in 3 files; 1 doubt left open."),
        (0, 0, "No fault found in 3 files."),
    ],
)
def test_the_headline_leaves_out_neither_faults_nor_doubts(faults, doubts, said):
    assert said in first_page(faults=faults, doubts=doubts, passed=3, indeterminate=0)


@pytest.mark.parametrize("passed", [0, 2, 3])
def test_what_files_say_that_did_not_pass_is_not_told_as_proven(passed):
    text = first_page(faults=0, doubts=1, passed=passed, indeterminate=3 - passed)
    said = f"{passed} of 3 files passed: what stands here by the others alone is not proven."
    assert (said in text) == (passed < 3)


def test_a_screening_stands_below_faults_and_doubts():
    problems = [Problem("C", "", code, "", told("area-unproven"), ()) for code in PROBLEMS]
    weights = [weight for _, weight, _ in grouped(problems)]
    order = ["fault", "doubt", "screening", "note"]
    assert len(set(weights)) > 2
    assert weights == sorted(weights, key=order.index)
