"""A nonconformance that a re-inspection closed is closed for every reader of open items."""

import io
import json
import re

import pypdf
import pytest

from reportgen.loader import load_job
from reportgen.pipeline import check
from tests.unit.intake.small import Filling, filled, sheet_of

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


TOLD = "write `reinspects: [NCR-001]` in the entry of the reworked steel, which passes, to close NCR-001"


@pytest.mark.parametrize(
    ("start", "end", "told"),
    [('"08:00"', '"10:30"', True), ('"2026-05-01T08:00+00:00"', '"2026-05-01T10:30+00:00"', False)],
    ids=["reworked", "as it was"],
)
def test_steel_that_passes_and_names_none_is_told_what_to_write(run, contract, shifts, start, end, told):
    """Nothing but a line of the day file is missing where the steel was blasted again, and all of it is good."""
    again = contract / shifts[1]
    text = again.read_text(encoding="utf-8").replace("    reinspects: [NCR-001]\n", "")
    blasted = text.replace('start: "08:00", end: "10:30"', f"start: {start}, end: {end}")
    again.write_text(blasted, encoding="utf-8")
    said = " ".join(run("check", again.name).out.split())
    assert (f"A-1: {TOLD}, raised in SL-1-001 [nonconformance-open]" in said) is told
    other = (
        "A-1: prepare again and inspect again, to close NCR-001, raised in SL-1-001, with NCR-001 under `reinspects`"
    )
    assert (other in said) is not told
    german = "Beim nachgearbeiteten Stahl, der die Anforderungen erfüllt, `reinspects: [NCR-001]` eintragen"
    for template, words in (("letter-en", TOLD[1:]), ("a4-de", german)):
        assert run("draft", again.name, "-o", "draft.pdf", "--template", template).code == 0
        assert (words in words_of(contract / "draft.pdf", 1)) is told
    assert run("new", "--next", again.name, "--date", "2026-06-01").code == 0
    following = (contract / "2026-06-01.yaml").read_text(encoding="utf-8")
    what = "Inspect the steel that was prepared again" if told else "Prepare again and inspect again"
    assert f"#   {what}, to close NCR-001." in following
    assert "reinspects: [NCR-001]" in following


def test_one_entered_as_open_and_closed_by_the_same_report_is_told_of(run, contract, shifts):
    again = contract / shifts[1]
    record = RAISED.partition("  - {id: NCR-002")[0].replace("status: open", "status: open, raised_in: SL-1-001")
    again.write_text(again.read_text(encoding="utf-8") + record, encoding="utf-8")
    told = "NCR-001 is written as open, and the re-inspection in SL-1-002 passes and closes it"
    said = " ".join(run("check", again.name).out.split())
    assert f"A-1: {told}: write `status: closed` with `evidence`, or, if it is to stay open, take its number" in said
    assert run("draft", again.name, "-o", "draft.pdf").code == 0
    assert f"closed · {told}" in words_of(contract / "draft.pdf")
    text = again.read_text(encoding="utf-8")
    again.write_text(text.replace("status: open", "status: closed, evidence: inspected again"), encoding="utf-8")
    assert "closed-though-open" not in run("check", again.name, "--all").out
    again.write_text(text.replace("    reinspects: [NCR-001]\n", ""), encoding="utf-8")
    assert TOLD in " ".join(run("check", again.name).out.split())


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
        said.append(re.search(r"· closed: (.*?) ·", words_of(contract / "draft.pdf", pages=1))[1])
    assert said == ["none", "1 (NCR-001)", "none"]


def test_the_submittal_and_the_audit(run, contract, shifts):
    (contract / "reports").mkdir()
    assert run("issue", *shifts, "--identity", "demo", "-o", "reports", "--processes", "1").code == 0
    assert run("submittal", "reports", "--identity", "demo", "-o", "submittal.pdf", "--processes", "1").code == 0
    log = words_of(contract / "submittal.pdf")
    states = {name: re.search(rf"{name} .*? (open|closed)\b", log)[1] for name in ("NCR-001", "NCR-002")}
    assert states == {"NCR-001": "closed", "NCR-002": "open"}
    run("audit", "reports", "--processes", "1")
    code, out, _ = run("audit", "query", "open", "reports", "--json")
    named = [row["id"] for row in json.loads(out)["rows"] if row["kind"] == "nonconformance"]
    assert (code, named) == (0, ["NCR-002"])


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
    by_itself = disposition == "use-as-is"  # a repair is inspected too
    assert result["areas"][0]["decision"] == (decision if by_itself else "rework")
    state = result["nonconformances"][0]["status"]
    assert state == ("closed" if by_itself and decision == "release" else "open")
    if decision == "rework":
        said = " ".join(run("check", "day.yaml", "--all").out.split())
        decided = f"have `{disposition}` decided by someone who is not an inspector, to close N1"
        assert f"A-1: {decided} [nonconformance-open]" in said
        (open_,) = [one["facts"] for one in result["findings"] if one["code"] == "nonconformance-open"]
        assert open_ == {"nonconformance": "N1", "accepted": disposition}


THEIRS = "organisation: Blasters Ltd"


@pytest.mark.parametrize("disposition", ["use-as-is", "repair"])
@pytest.mark.parametrize(
    ("entered", "decision"),
    [
        (f"eng: {{name: E. Ng, role: engineer, {THEIRS}}}", "rework"),
        ("eng: {name: E. Ng, role: contractor's quality control}", "rework"),
        (f"eng: {{name: E. Ng, role: eng., organisation: Board}}, q: {{name: Ng E, role: q, {THEIRS}}}", "rework"),
        ("eng: {name: E. Ng, role: engineer, organisation: Board}", "release"),
        ("eng: {name: E. Ng, role: project engineer}", "release"),
    ],
)  # fmt: skip
def test_the_contractor_does_not_accept_his_own_work(run, contract, disposition, entered, decision):
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    (contract / "project.yaml").write_text(project.replace("people: {", f"people: {{{entered}, "), encoding="utf-8")
    day = (contract / "day.yaml").read_text(encoding="utf-8").replace("observed: SSPC-SP 10", "observed: SSPC-SP 6")
    raised = f"""\
nonconformances:
  - {{id: N1, area: A-1, findings: [grade-not-met, stain-above-limit], description: not clean,
     disposition: {disposition}, decided_by: eng, status: closed, evidence: own letter}}
"""
    (contract / "day.yaml").write_text(day + raised, encoding="utf-8")
    result = json.loads(run("check", "day.yaml", "--json").out)
    settled = decision == "release" and disposition == "use-as-is"  # a repair is inspected too
    assert (result["areas"][0]["decision"], result["nonconformances"][0]["status"]) == (
        ("release", "closed") if settled else ("rework", "open")
    )
    if decision == "rework":
        said = " ".join(run("check", "day.yaml", "--all").out.split())
        asked = f"have `{disposition}` decided by someone of the client's side, who is not of the contractor"
        assert f"A-1: {asked}, to close N1 [nonconformance-open]" in said
        assert run("draft", "day.yaml", "-o", "draft.pdf").code == 0
        assert f"but the contractor does not decide on {disposition}" in words_of(contract / "draft.pdf")


@pytest.mark.parametrize(
    ("house", "decision"),
    [("Pellworth Coating Ltd", "rework"), ("Pelworth Coatings", "rework"), ("Harrow Bridges", "release")],
)
def test_nor_under_a_mistyped_name_of_his_house(run, contract, house, decision):
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    eng = f"eng: {{name: E. Ng, role: project engineer, organisation: {house}}}, "
    project = project.replace("people: {", f"people: {{{eng}")
    project = project.replace("contractor: Blasters", "contractor: Pellworth Coatings")
    (contract / "project.yaml").write_text(project, encoding="utf-8")
    day = (contract / "day.yaml").read_text(encoding="utf-8").replace("observed: SSPC-SP 10", "observed: SSPC-SP 6")
    raised = """\
nonconformances:
  - {id: N1, area: A-1, findings: [grade-not-met, stain-above-limit], description: not clean,
     disposition: use-as-is, decided_by: eng, status: closed, evidence: own letter}
"""
    (contract / "day.yaml").write_text(day + raised, encoding="utf-8")
    result = json.loads(run("check", "day.yaml", "--json").out)
    assert result["areas"][0]["decision"] == decision


ON_THE_OTHER = """\
nonconformances:
  - {id: NCR-001, area: A-2, findings: [profile-above-maximum], description: another, disposition: rework,
     decided_by: ines, status: open}
"""


def refused(said):
    """The code, and the message in one line."""
    return said.code, " ".join(said.err.split())


def at_line(text, part):
    return next(number for number, line in enumerate(text.splitlines(), start=1) if part in line)


def test_a_re_inspection_closes_nothing_of_another_area(run, contract, shifts):
    file = contract / shifts[2]  # A-1 not inspected, A-2 good
    text = file.read_text(encoding="utf-8").replace("    profile: {", "    reinspects: [NCR-001]\n    profile: {")
    file.write_text(text, encoding="utf-8")
    code, err = refused(run("check", shifts[2]))
    assert code == 1
    assert "nonconformance `NCR-001` belongs to area `A-1`, raised in SL-1-001, not to `A-2`" in err
    assert f"{shifts[2]}:{at_line(text, 'reinspects')}:" in err
    assert "only a re-inspection of `A-1` closes it; here may stand `NCR-002`" in err


def test_a_number_belongs_to_one_area(run, contract, shifts):
    file = contract / shifts[2]
    text = file.read_text(encoding="utf-8") + ON_THE_OTHER
    file.write_text(text, encoding="utf-8")
    code, err = refused(run("check", shifts[2]))
    assert code == 1
    assert "nonconformance `NCR-001` belongs to area `A-1`, raised in SL-1-001" in err
    assert f"{shifts[2]}:{at_line(text, '{id: NCR-001')}:" in err


@pytest.mark.parametrize("area", ["", "area: A-2, "])
def test_nor_does_it_lose_its_area_or_gain_one(run, contract, shifts, area):
    """One that is written again without its area would cover the whole report."""
    file = contract / shifts[1]
    again = RAISED.replace("area: A-1, ", area).replace("NCR-002, ", "NCR-002, area: A-1, ")
    file.write_text(file.read_text(encoding="utf-8") + again, encoding="utf-8")
    code, err = refused(run("check", shifts[1]))
    assert (code, "`NCR-001` belongs to" in err, "`NCR-002` is one of the whole report" in err) == (1, True, True)


def test_one_that_names_no_area_is_closed_by_all_that_it_was_raised_on(run, contract, shifts):
    """Both areas too high on the first shift; one good again on the second, the other on the third."""
    texts = [(contract / shift).read_text(encoding="utf-8") for shift in shifts]
    head, _, surface = texts[0].partition("  - area: A-1")
    surface = "  - area: A-1" + surface.partition("not_inspected")[0]
    raised = RAISED.partition("  - {id: NCR-002")[0].replace("area: A-1, ", "")
    both = head + surface + surface.replace("A-1", "A-2") + raised
    (contract / shifts[0]).write_text(both, encoding="utf-8")
    last = texts[2].replace("    profile: {", "    reinspects: [NCR-001]\n    profile: {")
    (contract / shifts[2]).write_text(last, encoding="utf-8")
    states = []
    for shift in shifts:
        evaluation = json.loads(run("check", shift, "--json").out)
        states.append([state["status"] for state in evaluation["nonconformances"]])
    assert states == [["open"], ["open"], ["closed"]]


def test_what_a_later_revision_left_out_is_said(run, contract, shifts):
    first = (contract / shifts[0]).read_text(encoding="utf-8")
    without = first.partition("nonconformances:")[0].replace("revision: 0", "revision: 1").replace("x1: 4.2", "x1: 2.9")
    (contract / "2026-05-01-r1.yaml").write_text(without + "nonconformances: []\n", encoding="utf-8")
    code, err = refused(run("check", shifts[1]))
    assert code == 1
    assert "nonconformance `NCR-001` of SL-1-001 revision 0 is not in revision 1" in err


def test_good_steel_under_an_open_nonconformance_is_not_said_to_conform(run, contract, shifts):
    """A-1 was too high, is good again and coated, but nobody wrote that this inspection is to close NCR-001."""
    file = contract / shifts[1]
    file.write_text(file.read_text(encoding="utf-8").replace("    reinspects: [NCR-001]\n", ""), encoding="utf-8")
    first = contract / shifts[0]
    first.write_text(first.read_text(encoding="utf-8").partition("  - {id: NCR-002")[0], encoding="utf-8")
    code, out, _ = run("check", shifts[1])
    assert (code, out.splitlines()[1]) == (1, "Inconclusive: 1 of 1 inspected areas on hold; A-2 not inspected.")
    assert run("draft", shifts[1], "-o", "draft.pdf").code == 0
    page = words_of(contract / "draft.pdf", pages=1)
    assert "Inconclusive: of 1 area inspected, hold 1. Hold A-1." in page
    assert "NCR-001 open" in page


@pytest.mark.parametrize("command", ["new --next FILE --date 2026-06-01", "sheet FILE -o sheet.pdf"])
def test_nothing_goes_on_from_a_superseded_revision(run, contract, shifts, command):
    """Revision 1 takes back what revision 0 closed."""
    text = (contract / shifts[1]).read_text(encoding="utf-8")
    later = text.replace("revision: 0", "revision: 1").replace("    reinspects: [NCR-001]\n", "")
    (contract / "again.yaml").write_text(later, encoding="utf-8")
    code, err = refused(run(*command.replace("FILE", shifts[1]).split()))
    assert code == 2
    assert f"{shifts[1]} is revision 0 of SL-1-002, and again.yaml is revision 1" in err
    assert "name again.yaml" in err
    assert not (contract / "2026-06-01.yaml").exists()
    assert not (contract / "sheet.pdf").exists()
    assert run(*command.replace("FILE", "again.yaml").split()).code == 0


def test_a_sheet_that_names_one_of_another_area_is_taken_without_it(run, contract, shifts):
    first = contract / shifts[0]
    raised = RAISED.partition("  - {id: NCR-002")[0]
    other = raised.replace("NCR-001", "NCR-002").replace("area: A-1", "area: A-2").partition("nonconformances:\n")[2]
    first.write_text(first.read_text(encoding="utf-8").partition("nonconformances:")[0] + raised + other, "utf-8")
    following = "2026-06-01.yaml"
    assert run("new", "--next", shifts[0], "--date", "2026-06-01").code == 0
    for shift in shifts[1:]:
        (contract / shift).unlink()
    assert run("sheet", following, "-o", "sheet.pdf").code == 0
    filling = Filling(sheet_of(load_job(contract / following), evaluation=check(contract / following).evaluation))
    prepared = {"apparatus": "pot 1", "was_C": "x", "start": "07:30", "end": "09:00", "abrasive": "steel grit"}
    filling.write("surface", 1, "A-1", **prepared, subtracted="x", reinspects="NCR-001 NCR-002")
    filling.write("readings", 1, "A-1", roll1="2.8")
    sheet = contract / "sheet.pdf"
    sheet.write_bytes(filled(sheet.read_bytes(), filling.values))
    code, out, _ = run("intake", "sheet.pdf", "--into", following)
    assert code == 1
    assert "A-1, reinspects `NCR-002`: nonconformance `NCR-002` belongs to area `A-2`" in " ".join(out.split())
    assert load_job(contract / following).day.surfaces[0].reinspects == ["NCR-001"]


CONTRACTORS = "people: {jon: {name: J. On, role: contractor's inspector, organisation: Pellworth}, ines:"


@pytest.fixture
def by_the_contractor(contract, shifts):
    """The second shift is inspected by the contractor's inspector."""
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    (contract / "project.yaml").write_text(project.replace("people: {ines:", CONTRACTORS), encoding="utf-8")
    first, file = contract / shifts[0], contract / shifts[1]
    first.write_text(first.read_text(encoding="utf-8").partition("  - {id: NCR-002")[0], encoding="utf-8")
    file.write_text(file.read_text(encoding="utf-8").replace("inspector: ines", "inspector: jon"), encoding="utf-8")
    return shifts


def test_who_may_not_revise_the_report_that_raised_it_does_not_close_it(run, contract, by_the_contractor):
    """By a good re-inspection neither; the area stays on hold until the inspection body closes it."""
    code, out, _ = run("check", by_the_contractor[1], "--all")
    said = " ".join(out.split())
    why = "J. On, who inspected in SL-1-002, is not named in SL-1-001 in the role or the organisation of its inspector"
    assert (code, why in said) == (1, True), said
    result = json.loads(run("check", by_the_contractor[1], "--json").out)
    states = {one["id"]: one["status"] for one in result["nonconformances"]}
    assert (states["NCR-001"], result["areas"][0]["decision"]) == ("open", "hold")
    assert run("issue", by_the_contractor[1], "--identity", "demo", "-o", "r.pdf").code == 0
    assert why in words_of(contract / "r.pdf")
    file = contract / by_the_contractor[1]
    file.write_text(file.read_text(encoding="utf-8").replace("inspector: jon", "inspector: ines"), encoding="utf-8")
    assert json.loads(run("check", by_the_contractor[1], "--json").out)["areas"][0]["decision"] == "release"


def test_nor_by_a_decision_that_he_records(run, contract, by_the_contractor):
    raised = RAISED.replace("rework", "use-as-is").replace("decided_by: ines, status: open", DECIDED, 1)
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    engineer = "people: {eng: {name: E. Ng, role: client's engineer}, jon:"
    (contract / "project.yaml").write_text(project.replace("people: {jon:", engineer), encoding="utf-8")
    file = contract / by_the_contractor[1]
    text = file.read_text(encoding="utf-8").replace("    reinspects: [NCR-001]\n", "")
    file.write_text(text + raised.partition("  - {id: NCR-002")[0], encoding="utf-8")
    for who, status in (("jon", "open"), ("ines", "closed")):
        file.write_text(re.sub("inspector: (jon|ines)", f"inspector: {who}", file.read_text(encoding="utf-8")), "utf-8")
        result = json.loads(run("check", by_the_contractor[1], "--json").out)
        assert {one["id"]: one["status"] for one in result["nonconformances"]}["NCR-001"] == status


DECIDED = "decided_by: eng, status: closed, raised_in: SL-1-001, evidence: letter of the engineer"


def test_the_inspection_body_closes_what_the_contractors_inspector_raised(run, contract, by_the_contractor):
    """Every report is one of the body: its own inspectors answer for what the contractor's inspector signed."""
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    more = (
        "eva: {name: E. Va, role: lead inspector, organisation: body}, kit: {name: K. It, role: lead inspector}, jon:"
    )
    (contract / "project.yaml").write_text(project.replace("jon:", more), encoding="utf-8")
    first, second = (contract / name for name in by_the_contractor[:2])
    first.write_text(first.read_text(encoding="utf-8").replace("inspector: ines", "inspector: jon"), encoding="utf-8")
    text = second.read_text(encoding="utf-8")
    for who, decision in (("jon", "release"), ("ines", "release"), ("eva", "release"), ("kit", "hold")):
        second.write_text(text.replace("inspector: jon", f"inspector: {who}"), encoding="utf-8")
        result = json.loads(run("check", by_the_contractor[1], "--json").out)
        assert (who, result["areas"][0]["decision"]) == (who, decision)


def test_what_is_accepted_on_one_area_accepts_nothing_on_another_of_the_number(run, contract, shifts):
    """Two reports that did not know of each other gave one number twice: only A-1 was decided to stay as it is."""
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    engineer = "people: {eng: {name: E. Ng, role: client's engineer}, ines:"
    (contract / "project.yaml").write_text(project.replace("people: {ines:", engineer), encoding="utf-8")
    first, second, third = (contract / name for name in shifts)
    rework = RAISED.partition("  - {id: NCR-002")[0]
    decided = rework.replace("rework", "use-as-is").replace("decided_by: ines, status: open", DECIDED)
    text = third.read_text(encoding="utf-8")  # of A-2, which is good
    high = text.replace("x1: 2.9", "x1: 4.2").replace("-003,", "-002,").replace("2026-05-03", "2026-05-02")
    on_the_first = first.read_text(encoding="utf-8").partition("nonconformances:")[0]
    first.write_text(on_the_first + decided.replace("raised_in: SL-1-001, ", ""), encoding="utf-8")
    second.write_text(high + rework.replace("A-1", "A-2"), encoding="utf-8")
    third.write_text(text + decided, encoding="utf-8")
    result = json.loads(run("check", shifts[2], "--json").out)
    states = {(one["id"], one["area"]): one["status"] for one in result["nonconformances"]}
    assert states == {("NCR-001", "A-1"): "closed", ("NCR-001", "A-2"): "open"}
    assert (result["areas"][0]["id"], result["areas"][0]["decision"]) == ("A-2", "hold")


@pytest.mark.parametrize(("codes", "decision"), [("", "hold"), (", walk-out-missing", "release")])
def test_where_only_the_bounds_are_open_after_a_decision_the_way_out_is_told(run, contract, codes, decision):
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    entered = "people: {eng: {name: E. Ng, role: project engineer}, "
    (contract / "project.yaml").write_text(project.replace("people: {", entered), encoding="utf-8")
    day = (contract / "day.yaml").read_text(encoding="utf-8").replace("x1: 2.9", "x1: 4.2")
    raised = f"""\
nonconformances:
  - {{id: N1, area: A-1, findings: [profile-above-maximum{codes}], description: too high,
     disposition: use-as-is, decided_by: eng, status: closed, evidence: letter 7}}
"""
    (contract / "day.yaml").write_text(day + raised, encoding="utf-8")
    result = json.loads(run("check", "day.yaml", "--json").out)
    assert result["areas"][0]["decision"] == decision
    said = " ".join(run("check", "day.yaml").out.partition("Measure next")[2].split())
    told = "A-1: measure the walk-out from location 1, or have `use-as-is` decided for what is not bounded too"
    assert (told in said) is (decision == "hold")


def named_again(contract, shift, status="status: open", disposition="rework", number="NCR-001"):
    """Enter a nonconformance of the first shift once more in a later one, of an area that stands inspected there."""
    file = contract / shift
    record = RAISED.partition("  - {id: NCR-002")[0].replace("NCR-001", number)
    record = record.replace("disposition: rework", f"disposition: {disposition}").replace("status: open", status)
    if disposition == "use-as-is":
        record = record.replace("decided_by: ines", "decided_by: eng")
    file.write_text(file.read_text(encoding="utf-8") + record, encoding="utf-8")


def reopened(run, shift):
    """What a shift says of a closed number entered again, the states of its nonconformances, and the release of A-1."""
    result = json.loads(run("check", shift, "--json").out)
    told = [one for one in result["findings"] if one["code"] == "closed-nonconformance-reopened"]
    states = {one["id"]: one["status"] for one in result["nonconformances"]}
    return told, states, {one["id"]: one["decision"] for one in result["areas"]}


CLOSED_WITH = "status: closed, evidence: report of the re-inspection"


@pytest.fixture
def same_area(contract, shifts):
    """The three shifts with A-1 inspected in the last as well, no nonconformance of the whole report, an engineer."""
    project = (contract / "project.yaml").read_text(encoding="utf-8")
    people = "people: {eng: {name: E. Ng, role: client's engineer}, ines:"
    (contract / "project.yaml").write_text(project.replace("people: {ines:", people), encoding="utf-8")
    first, last = contract / shifts[0], contract / shifts[2]
    first.write_text(first.read_text(encoding="utf-8").partition("  - {id: NCR-002")[0], encoding="utf-8")
    text = last.read_text(encoding="utf-8")
    text = text.replace("area: A-2", "area: A-9").replace("area: A-1", "area: A-2").replace("area: A-9", "area: A-1")
    last.write_text(text, encoding="utf-8")
    return shifts


@pytest.mark.parametrize(
    ("status", "disposition"), [("status: open", "rework"), (CLOSED_WITH, "use-as-is"), (CLOSED_WITH, "repair")]
)
def test_one_that_a_re_inspection_closed_is_not_reopened_silently(run, contract, same_area, status, disposition):
    assert reopened(run, same_area[2])[2]["A-1"] == "release"
    named_again(contract, same_area[2], status, disposition)
    (told,), states, decisions = reopened(run, same_area[2])
    assert told["facts"] == {"nonconformance": "NCR-001", "report": "SL-1-002", "date": "2026-05-02"}
    assert (told["place"], states, decisions["A-1"]) == ({"area": "A-1"}, {"NCR-001": "closed"}, "hold")
    said = " ".join(run("check", same_area[2], "--all").out.split())
    assert "and SL-1-002 of 2026-05-02 closed it: leave the entry out, or raise what was found since" in said


def test_the_same_closing_repeated_is_no_contradiction(run, contract, same_area):
    named_again(contract, same_area[2], CLOSED_WITH)
    assert reopened(run, same_area[2]) == ([], {"NCR-001": "closed"}, {"A-1": "release", "A-2": "hold"})


def test_what_is_found_since_has_a_number_of_its_own(run, contract, same_area):
    named_again(contract, same_area[2], number="NCR-003")
    assert reopened(run, same_area[2])[:2] == ([], {"NCR-003": "open"})


def test_one_still_open_is_entered_again_as_open(run, contract, same_area):
    named_again(contract, same_area[1])
    told, states, decisions = reopened(run, same_area[1])
    assert (told, states, decisions["A-1"]) == ([], {"NCR-001": "closed"}, "release")


@pytest.mark.parametrize(("status", "held"), [("status: open", True), (CLOSED_WITH, False)])
def test_nor_is_one_that_a_decision_closed(run, contract, same_area, status, held):
    first = contract / same_area[0]
    text = first.read_text(encoding="utf-8").replace("disposition: rework", "disposition: use-as-is")
    text = text.replace("decided_by: ines, status: open", f"decided_by: eng, {CLOSED_WITH}")
    first.write_text(text, encoding="utf-8")
    (contract / same_area[1]).unlink()
    named_again(contract, same_area[2], status, "use-as-is")
    told, states, _ = reopened(run, same_area[2])
    assert ([one["facts"]["report"] for one in told], states) == (
        (["SL-1-001"], {"NCR-001": "open"}) if held else ([], {"NCR-001": "closed"})
    )
