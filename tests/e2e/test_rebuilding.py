"""Step 10: a report is built again from itself, to the byte; and what keeps it from being built is said."""

import json
import shutil
from dataclasses import replace
from functools import partial
from unittest import mock

import pytest

from reportgen.errors import ProgramError
from reportgen.formats import ISSUE_NAME
from reportgen.issued import Recomputation
from reportgen.pipeline import issue_demonstration, rebuilding
from reportgen.pipeline.building import build
from reportgen.pipeline.rebuilding import pages_rebuilt
from reportgen.verification import Outcome, pagetext, verify_report
from reportgen.verification.pageread import ContentError
from reportgen.verification.pagetext import page_text_agrees
from tests.build_samples import DAYS, issue_time


@pytest.fixture(scope="module")
def evidence(tmp_path_factory):
    """What verification hands to step 10 of a signed report with photos."""
    path = tmp_path_factory.mktemp("report") / "report.pdf"
    issue_demonstration(DAYS[0], path, at=issue_time(DAYS[0]))
    seen = []

    def look(given):
        seen.append(given)
        return Outcome("passed")

    verify_report(path.read_bytes(), at=issue_time(DAYS[0]), rebuild_check=look)
    return seen[0]


def altered(evidence, **facts):
    issue = {**json.loads(evidence.files[ISSUE_NAME]), **facts}
    return replace(evidence, files={**evidence.files, ISSUE_NAME: json.dumps(issue).encode()})


def test_the_same_pages_come_out(evidence):
    assert pages_rebuilt(DAYS[0].parent, evidence).status == "passed"


def test_other_pages_are_noticed(evidence):
    other = replace(evidence, pdf=evidence.pdf.replace(b"/FontBBox", b"/FontBBoX", 1))
    assert pages_rebuilt(DAYS[0].parent, other).status == "failed"
    assert pages_rebuilt(DAYS[0].parent, altered(evidence, issued_at="2026-06-08T18:31:00Z")).status == "failed"


def test_pages_that_go_on_before_the_signature_are_noticed(evidence):
    """The built pages are all there is before the signature's revision, not merely how the file begins."""
    longer = replace(evidence.signing, unsigned=evidence.signing.unsigned + 100)
    assert pages_rebuilt(DAYS[0].parent, replace(evidence, signing=longer)).status == "failed"
    assert pages_rebuilt(DAYS[0].parent, replace(evidence, signing=None)).status == "not done"


def test_a_field_that_lies_elsewhere_than_its_block_is_noticed(evidence):
    page, *corners = evidence.signing.fields[0].box
    moved = replace(evidence.signing.fields[0], box=(page, *(corner + 9 for corner in corners)))
    outcome = pages_rebuilt(DAYS[0].parent, replace(evidence, signing=replace(evidence.signing, fields=(moved,))))
    assert outcome.status == "failed"
    assert outcome.sentences == ("the signature fields do not lie on the signature blocks of the pages",)


def test_without_originals_the_pictures_on_the_pages_stand_for_them(evidence, tmp_path):
    outcome = pages_rebuilt(None, evidence)
    assert outcome.status == "passed"
    (unproven,) = outcome.unproven
    assert unproven.startswith(
        "what the 4 pictures show was not compared, only place, size and text: the originals are"
    )
    outcome = pages_rebuilt(tmp_path, evidence)
    assert outcome.status == "passed"
    assert "photos/" in outcome.unproven[1]
    assert pages_rebuilt(DAYS[0].parent, evidence).unproven == ()
    other = replace(evidence, pdf=evidence.pdf.replace(b"/FontBBox", b"/FontBBoX", 1))
    assert pages_rebuilt(None, other).status == "failed"


def test_a_photo_that_is_not_the_one_is_not_used(evidence, tmp_path):
    shutil.copytree(DAYS[0].parent / "photos", tmp_path / "photos")
    one, *_ = sorted((tmp_path / "photos").glob("qw-001-*"))
    one.write_bytes(one.read_bytes() + b"\0")
    outcome = pages_rebuilt(tmp_path, evidence)
    assert outcome.status == "passed"
    assert outcome.unproven == (
        "what the picture shows was not compared, only place, size and text",
        f"photos/{one.name} is not the one whose SHA-256 the report holds",
    )


def test_an_original_that_changes_under_the_verification_says_nothing_of_the_report(evidence, tmp_path):
    shutil.copytree(DAYS[0].parent / "photos", tmp_path / "photos")
    one, *_ = sorted((tmp_path / "photos").glob("qw-001-*"))

    def changed(checked, terms):
        one.write_bytes(one.read_bytes() + b"\0")
        return build(checked, terms)

    with mock.patch.object(rebuilding, "build", changed):
        outcome = pages_rebuilt(tmp_path, evidence)
    assert outcome.status == "not done"
    assert outcome.sentences == (f"`photos/{one.name}` has changed since the day was read",)


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"generator": "reportgen 0.0.1"}, "was made by reportgen 0.0.1"),
        ({"made_with": {"reportlab": "1.0"}}, "was made with reportlab 1.0, which is not installed here"),
        ({"made_with": None}, "does not say how it was issued"),
    ],
)
def test_another_release_is_named_and_not_held_against_the_report(evidence, facts, said):
    outcome = pages_rebuilt(DAYS[0].parent, altered(evidence, **facts))
    assert outcome.status == "not done"
    assert said in outcome.sentences[0]


def test_a_template_of_another_kind_fails(evidence):
    outcome = pages_rebuilt(DAYS[0].parent, altered(evidence, template={"page": "A3"}))
    assert outcome.status == "failed"
    assert "template" in outcome.sentences[0]


def test_pages_that_are_the_same_again_are_not_read_once_more(evidence):
    """What step 9 says is then what it would say of the text; pages that are merely alike are read."""
    known = {"at": issue_time(DAYS[0]), "recompute": Recomputation(), "page_text_check": page_text_agrees}
    read = verify_report(evidence.pdf, **known).steps[8]
    checks = {**known, "rebuild_check": partial(pages_rebuilt, DAYS[0].parent)}
    with mock.patch.object(pagetext, "page_texts", side_effect=ContentError("read")):
        answer = verify_report(evidence.pdf, **checks)
        assert [step.number for step in answer.steps] == [*range(1, 13)]
        assert (answer.steps[8], answer.steps[9].status) == (read, "passed")
        otherwise = mock.patch.object(rebuilding, "build", lambda *given: replace(build(*given), pdf=b"otherwise"))
        with otherwise, mock.patch("reportgen.archival.repacked", return_value=True):
            answer = verify_report(evidence.pdf, **checks)
    assert (answer.steps[8].status, answer.steps[9].status) == ("failed", "passed")


def test_what_is_issued_is_read_before(tmp_path):
    """Its own pages are the same again by their making: whether they say what they should, their text alone tells."""
    with (
        mock.patch.object(pagetext, "page_texts", return_value=["blank"]),
        pytest.raises(ProgramError, match="PAGE_TEXT_DIFFERS"),
    ):
        issue_demonstration(DAYS[0], tmp_path / "report.pdf", at=issue_time(DAYS[0]))
    assert list(tmp_path.iterdir()) == []
