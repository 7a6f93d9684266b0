"""Step 10: a report is built again from itself, to the byte; and what keeps it from being built is said."""

import json

import pytest

from reportgen.archival import read_attachments
from reportgen.archival_manifest import ISSUE_NAME, MANIFEST_NAME, by_path, read_manifest
from reportgen.pipeline import issue_demonstration
from reportgen.pipeline.rebuilding import pages_rebuilt
from reportgen.verify import Evidence
from tests.build_samples import DAYS, issue_time


@pytest.fixture(scope="module")
def evidence(tmp_path_factory):
    """A signed report with photos, and its embedded files."""
    path = tmp_path_factory.mktemp("report") / "report.pdf"
    issue_demonstration(DAYS[0], path, at=issue_time(DAYS[0]))
    pdf = path.read_bytes()
    attached = read_attachments(pdf)
    manifest = read_manifest(attached[MANIFEST_NAME])
    return Evidence(pdf, by_path(manifest, attached), manifest)


def altered(evidence, **facts):
    issue = {**json.loads(evidence.files[ISSUE_NAME]), **facts}
    return Evidence(evidence.pdf, {**evidence.files, ISSUE_NAME: json.dumps(issue).encode()}, evidence.manifest)


def test_the_same_pages_come_out(evidence):
    assert pages_rebuilt(DAYS[0].parent, evidence).status == "passed"


def test_other_pages_are_noticed(evidence):
    other = Evidence(evidence.pdf.replace(b"/FontBBox", b"/FontBBoX", 1), evidence.files, evidence.manifest)
    assert pages_rebuilt(DAYS[0].parent, other).status == "failed"
    assert pages_rebuilt(DAYS[0].parent, altered(evidence, issued_at="2026-06-08T18:31:00Z")).status == "failed"


def test_what_is_needed_is_named(evidence, tmp_path):
    outcome = pages_rebuilt(None, evidence)
    assert outcome.status == "not done"
    assert "name their job folder with --photos" in outcome.sentences[0]
    outcome = pages_rebuilt(tmp_path, evidence)
    assert outcome.status == "not done"
    assert "photo photos/" in outcome.sentences[0]


def test_a_photo_that_is_not_the_one_is_not_used(evidence, tmp_path):
    import shutil

    shutil.copytree(DAYS[0].parent / "photos", tmp_path / "photos")
    for photo in (tmp_path / "photos").iterdir():
        photo.write_bytes(photo.read_bytes() + b"\0")
    assert "is not the one whose SHA-256" in pages_rebuilt(tmp_path, evidence).sentences[0]


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
