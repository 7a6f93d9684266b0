"""Who may revise a report, and what a revision is silent about: in an audit and in a submittal, by command."""

import csv
import hashlib
import json
import re
import shutil
import sqlite3
import subprocess
import sys

import pytest

from tests.command import run
from tests.demo_archive import INSPECTORS, made_once
from tests.demo_revisions import AREA, NUMBER, Revised, revised_reports


@pytest.fixture(scope="session")
def revised(tmp_path_factory) -> Revised:
    return made_once(tmp_path_factory, "revisions", revised_reports)


@pytest.fixture
def laid(tmp_path):
    """Files side by side in a folder, each under a name of its own."""

    def lay(*files):
        folder = tmp_path / "in"
        folder.mkdir(exist_ok=True)
        for number, file in enumerate(files):
            shutil.copy(file, folder / f"{number}-{file.name}")
        return folder

    return lay


def audited(folder, revised, place):
    """What an audit ends with, its problems as code and weight, and the rows of its questions."""
    outputs = ["--index", "i.sqlite", "--csv", "tables", "--json"]
    result = run("audit", folder, "--trust", revised.root, *outputs, cwd=place)
    problems = [(one["code"], one["weight"]) for one in json.loads(result.stdout)["problems"]]
    with (place / "tables" / "problems.csv").open(encoding="utf-8", newline="") as table:
        assert [(row["code"], row["weight"]) for row in csv.DictReader(table)] == problems
    asked = {
        name: json.loads(run("audit", "query", name, "--index", "i.sqlite", "--json", cwd=place).stdout)["rows"]
        for name in ("areas", "open", "history")
    }
    asked["areas"] = [row for row in asked["areas"] if row["state"] != "not inspected"]
    asked["open"] = [row for row in asked["open"] if row["kind"] == "nonconformance"]
    return result.returncode, problems, asked


def submitted(folder, revised, place):
    """What a submittal says at the terminal, and on its pages."""
    from pypdf import PdfReader

    out = place / "o.pdf"
    result = run("submittal", folder, "--identity", "demo", "--trust", revised.root, "-o", out, "--json", cwd=place)
    assert result.returncode == 0, result.stderr
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    cover = text[text.index("State of the contract") : text.index("Index of reports")]
    return json.loads(result.stdout), " ".join(result.stderr.split()), cover, text


def test_a_revision_by_one_whom_the_report_does_not_name_is_a_fault_and_clears_nothing(revised, laid, tmp_path):
    """A passing file under the trusted root, with the right hash."""
    code, problems, asked = audited(laid(revised.genuine, revised.released["unnamed"]), revised, tmp_path)
    assert code == 1
    assert problems == [("nonconformance-never-closed", "fault"), ("revision-not-entitled", "fault")]
    assert [(row["area"], row["state"], row["contested"]) for row in asked["areas"]] == [
        (AREA, "hold", f"{NUMBER} r1: release")
    ]
    assert [row["number"] for row in asked["open"]] == [NUMBER]
    assert [(row["revision"], row["place"], row["verdict"]) for row in asked["history"]] == [
        (0, "decides", "passed"),
        (1, "not entitled", "passed"),
    ]
    report = run("audit", "in", "--trust", revised.root, "-o", "a.pdf", cwd=tmp_path)
    assert f"is signed by {INSPECTORS[1]}, Eddering Inspection, whom revision 0" in report.stdout
    from pypdf import PdfReader

    pages = " ".join(" ".join(page.extract_text() for page in PdfReader(tmp_path / "a.pdf").pages).split())
    assert "whom revision 0" in pages


@pytest.mark.parametrize("which", ["unnamed", "colleague"])  # of the report that is there; of another file
def test_a_submittal_says_of_such_a_revision_on_its_cover_and_beside_the_area(revised, laid, tmp_path, which):
    facts, notes, cover, text = submitted(laid(revised.genuine, revised.released[which]), revised, tmp_path)
    assert facts["open_nonconformances"] == 1
    assert (
        f"{NUMBER} revision 1 is disputed: revision 0 does not name its signer in the role or the organisation" in notes
    )
    assert f"Disputed: {NUMBER} r1 ({INSPECTORS[1]})." in cover
    assert "0 of 25" in cover
    assert (
        "disputed: revision 0 does not name its signer in the role or the organisation of its inspector; does not count"
        in text
    )
    areas = text[text.index("State of every area") : text.index("Nonconformance log")]
    assert f"disputed by {NUMBER} r1, which may not revise it" in areas


def test_what_a_revision_releases_does_not_count_without_the_report_that_it_revises(revised, laid, tmp_path):
    """Whether its signer may, stands in that report alone."""
    folder = laid(revised.released["unnamed"])
    _, problems, asked = audited(folder, revised, tmp_path)
    assert ("revision-missing", "fault") in problems
    found = [(row["area"], row["state"], row["contested"]) for row in asked["areas"]]
    assert found == [(AREA, "unproven", f"{NUMBER} r0: missing")]
    page = run("release", AREA, folder, "--identity", "demo", "--trust", revised.root, "-o", "r.pdf", cwd=tmp_path)
    assert (page.returncode, "revision-missing" in page.stderr) == (2, True)
    facts, notes, cover, text = submitted(folder, revised, tmp_path)
    digest = hashlib.sha256(revised.genuine.read_bytes()).hexdigest()
    assert f"{NUMBER} revision 1 revises revision 0 (SHA-256 {digest}), which is not enclosed" in notes
    assert "which is not enclosed: whether its signer may do so is not known" in cover
    assert "Areas released 0 of 25" in " ".join(cover.split())
    assert [(one["kind"], one["area"]) for one in facts["open_items"]] == [("unproven", AREA)]
    assert f"{NUMBER} r0 is not enclosed" in text
    trust = ("--trust", revised.root)
    said = run("verify", "o.pdf", revised.genuine, *trust, "--json", cwd=tmp_path)
    (told,) = json.loads(said.stdout)[0]["notices"]
    assert told["name"] == "NOT_ENCLOSED"
    assert "is not enclosed, and is signed by one who may not revise that: " in told["sentence"]
    said = run("verify", revised.genuine, revised.released["unnamed"], *trust, "--json", cwd=tmp_path)
    answers = json.loads(said.stdout)
    assert (said.returncode, [one["standing"] for one in answers]) == (1, ["unknown", "unknown"])
    assert [[one["name"] for one in each["notices"] if one["name"] != "REGISTER_FORKED"] for each in answers] == [
        ["NOT_ENTITLED"]
    ] * 2
    for each in answers:
        assert each["steps"][11]["details"] == [
            "no register was given, and none of the files given with it replaces it"
        ]


def test_a_revision_by_another_inspector_whom_the_report_names_replaces_it(revised, laid, tmp_path):
    folder = laid(revised.named, revised.released["colleague"])
    code, problems, asked = audited(folder, revised, tmp_path)
    assert [(row["area"], row["state"], row["contested"], row["open_items"]) for row in asked["areas"]] == [
        (AREA, "hold", "", f"NC-1 (raised in {NUMBER})")
    ]
    assert problems == [
        ("nonconformance-never-closed", "fault"),
        ("requirement-changed", "note"),  # its project file no longer has the first inspector
        ("revision-by-other-signer", "doubt"),
        ("revision-in-favour", "doubt"),
    ]
    assert code == 1, "it is silent about the nonconformance"
    _, notes, cover, text = submitted(folder, revised, tmp_path)
    assert (
        "Areas released 0 of 25 Areas on hold 1 Areas to be reworked 0 Not inspected here 24 Nonconformances open 1"
        in " ".join(cover.split())
    )
    assert "on hold: NC-1 is open" in text[text.index("State of every area") : text.index("Nonconformance log")]
    assert f"{AREA} release (now on hold: NC-1 open)" in text
    assert "Disputed" not in cover.replace("Disputed or unproven", "")
    assert f"{NUMBER} r1 says nothing of NC-1, which stays open" in notes


def test_a_revision_by_an_untrusted_person_replaces_nothing(revised, laid, tmp_path):
    folder = laid(revised.genuine, revised.released["stranger"])
    code, problems, asked = audited(folder, revised, tmp_path)
    assert code == 1
    assert ("revision-less-proven", "fault") in problems
    assert [(row["area"], row["state"]) for row in asked["areas"]] == [(AREA, "hold")]
    _, notes, _, _ = submitted(folder, revised, tmp_path)
    assert f"{NUMBER} revision 1 is less proven than revision 0, and does not count" in notes


def test_what_a_revision_by_the_inspector_leaves_out_stays_open(revised, laid, tmp_path):
    folder = laid(revised.genuine, revised.silent)
    code, problems, asked = audited(folder, revised, tmp_path)
    assert code == 1
    assert problems == [("area-left-out", "doubt"), ("nonconformance-never-closed", "fault")]
    told = f"was never closed: revision 0 of {NUMBER} leaves it open, and revision 1 says nothing of it"
    assert [row["what"] for row in asked["open"]] == [f"NC-1, raised in {NUMBER}, {told}"]
    facts, _, _, text = submitted(folder, revised, tmp_path)
    assert facts["open_nonconformances"] == 1
    assert f"Still open: {NUMBER} r1 says nothing of it." in text
    assert f"{NUMBER} r1 says nothing of area {AREA}, of which {NUMBER} r0 had decided: hold." in text


def test_a_strangers_file_of_the_same_revision_does_not_stop_a_submittal(revised, laid, tmp_path):
    folder = laid(revised.named, revised.released["colleague"], revised.released["stranger"])
    facts, notes, _, text = submitted(folder, revised, tmp_path)
    assert facts["reports"] == 3
    assert f"{NUMBER} revision 1 is less proven than another file of that revision, and does not count" in notes
    assert "less proven than another file of this revision, does not count" in text


# --- an index that another program holds


def test_an_index_that_another_program_locks_is_said_with_who_and_what_to_do(revised, laid, tmp_path):
    folder, index = laid(revised.genuine), tmp_path / "i.sqlite"
    audited(folder, revised, tmp_path)
    hold = (
        "import sqlite3, sys; one = sqlite3.connect(sys.argv[1], isolation_level=None);"
        " one.execute('BEGIN EXCLUSIVE'); print('held', flush=True); sys.stdin.read()"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", hold, index], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    try:
        assert holder.stdout.readline() == "held\n"
        for arguments in (["audit", "query", "files"], ["audit", folder]):
            said = run(*arguments, "--index", index, cwd=tmp_path)
            told = " ".join(said.stderr.split())
            assert said.returncode == 4, said.stdout + said.stderr
            assert f"error: the index {index} is locked by " in told
            assert f"process {holder.pid}" in told or "another program" in told
            assert "close the index there" in told
            assert "database is locked" not in told
    finally:
        holder.communicate("")
    assert run("audit", "query", "files", "--index", index, cwd=tmp_path).returncode == 0
    with sqlite3.connect(index) as kept:
        assert kept.execute("SELECT COUNT(*) FROM files").fetchone() == (1,)


# --- one report, countersigned by two people apart


def test_two_copies_of_a_report_that_two_people_countersigned_are_both_enclosed(tool, days, contract, keys):
    """Each copy holds a signature that the other lacks; the copy that nobody countersigned holds none of its own."""
    project = contract / "project.yaml"
    second = "  second: {name: Someone Else, role: coating adviser, organisation: Other Body}\n"
    text = project.read_text(encoding="utf-8").replace("\ninstruments:\n", f"{second}\ninstruments:\n", 1)
    project.write_text(text, encoding="utf-8")
    text = days[0].read_text(encoding="utf-8")
    days[0].write_text(
        re.sub(r"(  inspector: \w+\n)", r"\1  countersigners: [ambleweir, second]\n", text, count=1), encoding="utf-8"
    )
    secret = ("--passphrase-file", keys["passphrase"])
    tool("issue", days[0].name, "--identity", keys["inspector"], *secret)
    report = next((contract / "reports").glob("*.pdf"))
    folder = contract / "sent"
    folder.mkdir()
    shutil.copy(report, folder / "alone.pdf")
    tool("countersign", report, "--identity", keys["engineer"], *secret, "-o", folder / "engineer.pdf")
    tool("countersign", report, "--identity", keys["stranger"], *secret, "-o", folder / "adviser.pdf")
    roots = [keys["inspector-root"], keys["engineer-root"], keys["stranger"].with_name("someone-else-root.pem")]
    trust = [part for root in roots for part in ("--trust", root)]
    said = tool("submittal", folder, "--identity", "demo", *trust, "-o", "s.pdf", "--json")
    assert json.loads(said.stdout)["reports"] == 1
    notes = " ".join(said.stderr.split())
    assert "alone.pdf is left out: " in notes
    assert "is that report with further signatures" in notes
    assert "engineer.pdf is left out" not in notes
    assert "adviser.pdf is left out" not in notes
    from pypdf import PdfReader

    inside = {bytes(data) for name, (data, *_) in PdfReader(contract / "s.pdf").attachments.items()}
    assert {(folder / f"{name}.pdf").read_bytes() in inside for name in ("engineer", "adviser")} == {True}
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(contract / "s.pdf").pages).split())
    assert "one more copy of this report, with other signatures" in text
    assert "encloses 1 inspection report" in text
