"""Two inspectors, a folder each: the audit holds what one releases or closes against what the other found."""

import json
import shutil

import pytest

from tests.e2e.conftest import PASSPHRASE, Tool
from tests.footbridge import BODY, CLOSED, COLLEAGUE, FIRST_BLASTING, INSPECTOR, OPEN, SMOOTH, day, folder

SECRET = {"REPORTGEN_PASSPHRASE": PASSPHRASE}
FAILED, FAILED_AND_RAISED = day(1, SMOOTH), day(1, SMOOTH, raised=OPEN)
OLD = {"blasted": FIRST_BLASTING, "inspector": "sandrel"}
AGAIN = {"inspector": "sandrel"}


@pytest.fixture(scope="session")
def signers(tmp_path_factory):
    place = tmp_path_factory.mktemp("signers")
    for name in (INSPECTOR, COLLEAGUE):
        Tool(place)("identity", "new", "made", "--name", name, "--organisation", BODY, env=SECRET)
    return place / "made"


def audited(place, signers, first, second, code):
    """What the audit of both reports finds, and its answers on areas and what is open."""
    for name, text, signer in (("one", first, "a-vintry"), ("two", second, "b-sandrel")):
        Tool(folder(place / name, **{name: text}))(
            "issue", f"{name}.yaml", "--identity", signers / f"{signer}.p12", env=SECRET
        )
    (place / "all").mkdir()
    for file in place.glob("*/reports/*.pdf"):
        shutil.copy(file, place / "all")
    roots = [part for root in sorted(signers.glob("*-root.pem")) for part in ("--trust", root)]
    run = Tool(place)
    outputs = ["--without-text", "--index", "i.sqlite", "--json", "-o", "audit.pdf"]
    found = json.loads(run("audit", "all", *roots, *outputs, code=code).stdout)["problems"]
    asked = [
        json.loads(run("audit", "query", one, "--index", "i.sqlite", "--json").stdout)["rows"]
        for one in ("areas", "open")
    ]
    return found, *asked


def submitted(place, signers, code):
    """The submittal of both reports."""
    roots = [part for root in sorted(signers.glob("*-root.pem")) for part in ("--trust", root)]
    return Tool(place)("submittal", "all", *roots, "--identity", "demo", "-o", "s.pdf", code=code)


@pytest.mark.parametrize(
    ("first", "second", "what"),
    [
        (FAILED_AND_RAISED, day(2, raised=CLOSED, reinspects=True, **OLD), "closes NCR-001"),
        (FAILED, day(2, **OLD), "releases area B-1"),
    ],
)
def test_steel_measured_again_without_blasting_is_found_across_folders(tmp_path, signers, first, second, what):
    problems, areas, still_open = audited(tmp_path, signers, first, second, 1)
    (one,) = [one for one in problems if one["code"] == "failure-not-undone"]
    assert (one["weight"], one["number"], one["area"]) == ("fault", "HD-9-002", "B-1")
    assert one["sentence"].startswith(f"HD-9-002 revision 0 {what}; ")
    assert "HD-9-001" in one["sentence"].partition(";")[2]
    assert one["files"] == ["HD-9-002.pdf", "HD-9-001.pdf"]
    assert [(row["area"], row["decision"]) for row in areas] == [("B-1", "hold")]
    assert one["sentence"] in [row["sentence"] for row in still_open]
    from pypdf import PdfReader

    pages = " ".join(" ".join(page.extract_text() for page in PdfReader(tmp_path / "audit.pdf").pages).split())
    assert what in pages
    said = " ".join(submitted(tmp_path, signers, 2).stderr.split())
    assert f"HD-9-002.pdf {what}; beside" in said
    assert not (tmp_path / "s.pdf").exists()


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (FAILED_AND_RAISED, day(2, raised=CLOSED, reinspects=True, **AGAIN)),
        (FAILED, day(2, **AGAIN)),
        (day(1), day(2, **OLD)),
        (FAILED, day(2, area="B-2", **AGAIN)),
    ],
)
def test_steel_blasted_again_is_no_fault_across_folders(tmp_path, signers, first, second):
    problems, areas, still_open = audited(tmp_path, signers, first, second, 0)
    assert problems == []
    assert still_open == []
    assert areas[-1]["decision"] == "release"
    submitted(tmp_path, signers, 0)
