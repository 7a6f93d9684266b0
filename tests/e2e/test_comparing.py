"""Two issued reports compared by the command: a revision against what it revises."""

import json
import shutil

import pytest

from tests.command import run
from tests.demo_archive import shared_archive
from tests.demo_revisions import revised_reports


@pytest.fixture(scope="module")
def revised(tmp_path_factory):
    return revised_reports(tmp_path_factory.mktemp("revised"))


def test_a_revision_is_held_against_the_report_it_revises(revised):
    before, now = revised.named, revised.released["colleague"]
    answer = run("compare", before, now, "--trust", revised.root)
    assert answer.returncode == 1, answer.stderr
    assert "revision 0" in answer.stdout
    assert "proven" in answer.stdout
    assert "reason of the revision:" in answer.stdout
    data = json.loads(run("compare", before, now, "--trust", revised.root, "--json").stdout)
    assert (data["before"]["standing"], data["now"]["standing"]) == ("proven", "proven")
    assert (data["before"]["revision"], data["now"]["revision"]) == (0, 1)
    assert data["different"] is True
    judged = {tuple(row["place"]): (row["before"], row["now"]) for row in data["results"] if row["changes_a_verdict"]}
    assert judged[("areas", "A-01", "decision")] == ("hold", "release")
    changing = [row for row in data["entries"] if row["changes_a_verdict"]]
    assert changing
    assert all("named_in_the_reason" in row for row in data["entries"])


def test_a_copy_does_not_differ_and_one_that_fails_is_compared_and_says_so(revised, tmp_path):
    copy = tmp_path / "copy.pdf"
    shutil.copy(revised.genuine, copy)
    answer = run("compare", revised.genuine, copy, "--trust", revised.root)
    assert answer.returncode == 0, answer.stderr
    assert "Nothing differs" in answer.stdout
    copy.write_bytes(copy.read_bytes() + b"\n% more\n")
    answer = run("compare", revised.genuine, copy, "--trust", revised.root)
    assert answer.returncode == 0
    assert "failed" in answer.stdout


def test_what_is_no_report_is_refused(revised, tmp_path):
    letter = tmp_path / "letter.pdf"
    letter.write_bytes(b"%PDF-1.4\n%%EOF\n")
    assert run("compare", revised.genuine, letter).returncode == 2


def test_two_reports_of_a_contract_are_compared_without_trials(tmp_path_factory):
    archive = shared_archive(tmp_path_factory)
    first, second = sorted((archive.folder / "BF-04").glob("*.pdf"))[:2]
    answer = run("compare", first, second, "--trust", archive.root)
    assert answer.returncode == 1, answer.stderr
    assert "These are two reports" in answer.stdout
