"""A nonconformance that a re-inspection closed is closed for every reader of open items."""

import io
import json
import re

import pypdf
import pytest

RAISED = """\
nonconformances:
  - {id: NCR-001, area: A-1, findings: [profile-above-maximum], description: too high, disposition: rework,
     decided_by: ines, status: open}
  - {id: NCR-002, findings: [gauge-check-missing], description: record of the shift lost, disposition: use-as-is,
     decided_by: ines, status: open}
"""


@pytest.fixture
def shifts(contract):
    """Three shifts: NCR-001 raised, the area inspected again and good, another area; NCR-002 stays open."""
    day = (contract / "day.yaml").read_text(encoding="utf-8")
    (contract / "day.yaml").unlink()
    again = day.replace("    profile: {", '    reinspects: [NCR-001]\n    coated: "12:00"\n    profile: {')
    other = day.replace("area: A-1", "area: A-9").replace("area: A-2", "area: A-1").replace("area: A-9", "area: A-2")
    texts = (day.replace("x1: 2.9", "x1: 4.2") + RAISED, again, other)
    for number, text in enumerate(texts, start=1):
        file = contract / f"2026-05-0{number}.yaml"
        file.write_text(text.replace("2026-05-04", file.stem).replace("-001,", f"-00{number},"), encoding="utf-8")
    return [f"2026-05-0{number}.yaml" for number in (1, 2, 3)]


def words_of(pdf, pages=None):
    reader = pypdf.PdfReader(io.BytesIO(pdf.read_bytes()))
    return " ".join(" ".join(page.extract_text() for page in reader.pages[:pages]).split())


@pytest.mark.parametrize(("shift", "due"), [(0, ["A-1", "A-2"]), (1, ["A-1", "A-2"]), (2, ["A-1", "A-2"])])
def test_the_next_shift_and_the_sheet(run, contract, shifts, shift, due):
    code, out, _ = run("new", "--next", shifts[shift], "--date", "2026-06-01", "--json")
    assert (code, json.loads(out)["areas_due"]) == (0, due)
    text = (contract / "2026-06-01.yaml").read_text(encoding="utf-8")
    assert run("sheet", shifts[shift], "--area", "A-1", "-o", "sheet.pdf").code == 0
    sheet = words_of(contract / "sheet.pdf")
    is_open = shift == 0
    assert ("NCR-001 is open: too high" in text) is is_open
    assert ("reinspects: [NCR-001]" in text) is is_open
    assert ("NCR-001 is open: too high" in sheet) is is_open
    assert "NCR-002 is open for the whole contract: record of the shift lost" in text
    assert "#  - id: NCR-003" in text


def test_an_area_whose_nonconformance_is_closed_is_not_due(run, contract, shifts):
    first = contract / shifts[0]
    first.write_text(first.read_text(encoding="utf-8").partition("  - {id: NCR-002")[0], encoding="utf-8")
    assert json.loads(run("new", "--next", shifts[1], "--date", "2026-06-01", "--json").out)["areas_due"] == ["A-2"]
    assert json.loads(run("new", "--next", shifts[0], "--date", "2026-06-02", "--json").out)["areas_due"] == [
        "A-1",
        "A-2",
    ]


def test_page_1_says_which_were_closed(run, contract, shifts):
    said = []
    for shift in shifts:
        assert run("draft", shift, "-o", "draft.pdf").code == 0
        said.append(re.search(r"Nonconformances closed: [^.]*\.", words_of(contract / "draft.pdf", pages=1)))
    assert (said[0], said[1][0], said[2]) == (None, "Nonconformances closed: NCR-001 (A-1).", None)


def test_the_submittal_and_the_audit(run, contract, shifts):
    (contract / "reports").mkdir()
    assert run("issue", *shifts, "--identity", "demo", "-o", "reports", "--processes", "1").code == 0
    assert run("submittal", "reports", "--identity", "demo", "-o", "submittal.pdf", "--processes", "1").code == 0
    log = words_of(contract / "submittal.pdf")
    states = {name: re.search(rf"{name} .*? (open|closed)\b", log)[1] for name in ("NCR-001", "NCR-002")}
    assert states == {"NCR-001": "closed", "NCR-002": "open"}
    run("audit", "reports", "--processes", "1")
    code, out, _ = run("audit", "query", "open", "--index", "reports-audit.sqlite", "--json")
    assert (code, ["NCR-002" in row["sentence"] for row in json.loads(out)]) == (0, [True])


@pytest.mark.parametrize("disposition", ["use-as-is", "repair"])
@pytest.mark.parametrize(("who", "decision"), [("ines", "rework"), ("jon", "rework"), ("eng", "release")])
def test_the_inspector_who_finds_does_not_accept(run, contract, disposition, who, decision):
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    people = "people: {jon: {name: J. On, role: Coating Inspector}, eng: {name: E. Ng, role: client's engineer}, ines:"
    (contract / "project.yaml").write_text(project.replace("people: {ines:", people), encoding="utf-8")
    day = (contract / "day.yaml").read_text(encoding="utf-8").replace("observed: SSPC-SP 10", "observed: SSPC-SP 6")
    raised = f"""\
nonconformances:
  - {{id: N1, area: A-1, findings: [grade-not-met, stain-above-limit], description: not clean,
     disposition: {disposition}, decided_by: {who}, status: closed, evidence: note of the day}}
"""
    (contract / "day.yaml").write_text(day + raised, encoding="utf-8")
    result = json.loads(run("check", "day.yaml", "--json").out)
    assert result["areas"][0]["decision"] == decision
    state = result["nonconformances"][0]["status"]
    assert state == ("closed" if decision == "release" else "open")
    if state == "open":
        said = " ".join(run("check", "day.yaml", "--all").out.split())
        assert f"bring evidence of `{disposition}` to close N1" in said or "does not decide" in said
        (open_,) = [one["observed"] for one in result["findings"] if one["code"] == "nonconformance-open"]
        assert open_ == f"N1 is written as closed, but the inspector does not decide on {disposition}"
