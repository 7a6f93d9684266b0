"""When the inspector of a report is gone, one whom that report names on the client's side names who answers for it."""

import json

import pypdf
import pytest

from tests.footbridge import (
    BODY,
    CLOSED,
    COLLEAGUE,
    CONTRACTORS,
    FIRST_BLASTING,
    INSPECTOR,
    OPEN,
    PROJECT,
    SMOOTH,
    day,
    folder,
)

pytestmark = pytest.mark.usefixtures("known_passphrase")
VINTRY = f"  vintry: {{name: {INSPECTOR}, role: inspector}}\n"
SANDREL = f"  sandrel: {{name: {COLLEAGUE}, role: inspector}}\n"
FIRST = PROJECT.replace(SANDREL, "").replace("role: project engineer}", "role: project engineer, organisation: Parish}")
FIRST = FIRST.replace("  eng:", "  clerk: {name: C. Arrow, role: clerk of works, organisation: Parish}\n  eng:")
"""The project file while the first inspector was there: with him alone."""
AGAIN = day(2, raised=CLOSED.replace("decided_by: vintry", "decided_by: eng"), reinspects=True, inspector="sandrel")
EVIDENCE = "letter of 4 May 2026"


def since(inspector=INSPECTOR, namer="eng", *, more=""):
    """The project file since: the first inspector is gone, and somebody is named as his successor."""
    taken = f"takes_over: {{inspector: {inspector}, named_by: {namer}, evidence: {EVIDENCE}}}" if namer else ""
    text = FIRST.replace(VINTRY, f"  sandrel: {{name: {COLLEAGUE}, role: inspector, organisation: {BODY}, {taken}}}\n")
    return text.replace("  eng:", f"{more}  eng:", 1)


@pytest.fixture
def known_passphrase(monkeypatch):
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")


@pytest.fixture
def failed(run, contract):
    """A folder with the report of the first inspector, whose area failed; answers with a changed project file."""
    for name in (INSPECTOR, COLLEAGUE):
        assert run("identity", "new", "keys", "--name", name, "--organisation", BODY).code == 0
    (contract / "day.yaml").unlink()

    def write(second, since_then, first=None, project=FIRST):
        folder(contract, project=project, one=first or day(1, SMOOTH, raised=OPEN))
        said = run("issue", "one.yaml", "--identity", "keys/a-vintry.p12")
        assert said.code == 0, said.err
        (contract / "project.yaml").write_text(since_then, "utf-8")
        (contract / "two.yaml").write_text(second, "utf-8")
        said = run("check", "two.yaml", "--json")
        assert said.out, said.err
        result = json.loads(said.out)
        assert "areas" in result, said.err
        return result["areas"][0]["decision"], {one["status"] for one in result["nonconformances"]}, result

    return write


def pages(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def test_a_successor_who_was_named_closes_it_and_that_is_printed_and_asked_about(run, contract, failed):
    decision, states, result = failed(AGAIN, since())
    assert (decision, states) == ("release", {"closed"})
    (told,) = [one for one in result["findings"] if one["code"] == "inspector-succeeded"]
    assert told["facts"] == {
        "name": COLLEAGUE, "former": INSPECTOR, "report": "HD-9-001", "named_by": "E. Torrance", "evidence": EVIDENCE
    }  # fmt: skip
    assert run("issue", "two.yaml", "--identity", "keys/b-sandrel.p12").code == 0
    sentence = f"answers for what {INSPECTOR} found in HD-9-001, named as successor by E. Torrance: {EVIDENCE}"
    first = " ".join(pypdf.PdfReader("reports/HD-9-002.pdf").pages[0].extract_text().split())
    assert sentence in first
    assert f"takes over from {INSPECTOR}, named by E. Torrance: {EVIDENCE}" in pages("reports/HD-9-002.pdf")
    trust = [part for root in sorted((contract / "keys").glob("*-root.pem")) for part in ("--trust", root)]
    said = run("audit", "reports", *trust, "--index", "i.sqlite", "--json")
    problems = {one["code"]: one for one in json.loads(said.out)["problems"]}
    assert set(problems) - {"issued-late"} == {"closed-by-successor", "requirement-changed"}
    asked = problems["closed-by-successor"]
    assert (asked["weight"], asked["number"], asked["area"]) == ("doubt", "HD-9-002", "B-1")
    question = (
        f"HD-9-002 revision 0 closes NCR-001, which HD-9-001 left open: {COLLEAGUE} signed it as successor of"
        f" {INSPECTOR}, named by E. Torrance ({EVIDENCE}), not confirmed until E. Torrance of Parish countersigns it"
    )
    assert asked["sentence"] == question
    rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    assert [row["state"] for row in rows if row["area"] == "B-1"] == ["disputed"]
    done = run("submittal", "reports", *trust, "--identity", "demo", "-o", "s.pdf", "--processes", "1")
    assert done.code == 0, done.err
    assert question.partition(", which")[0] in pages("s.pdf")
    assert f"named by E. Torrance ({EVIDENCE})" in pages("s.pdf")
    refused = run("release", "B-1", "reports", *trust, "--identity", "demo", "-o", "r.pdf")
    assert (refused.code, "closed-by-successor" in refused.err) == (2, True)
    assert "Areas released 0 of" in pages("s.pdf")  # as whose successor he signs is his own word
    assert "disputed rests on a release by a successor" in pages("s.pdf") or "by a successor" in pages("s.pdf")


@pytest.mark.parametrize(
    ("who", "name", "state"), [("eng", "E. Torrance", "released"), ("clerk", "C. Arrow", "disputed")]
)
def test_who_named_a_successor_confirms_it_by_countersigning(run, contract, failed, who, name, state):
    """Nobody else does, though the first report names them too."""
    assert run("identity", "new", "keys", "--name", name, "--organisation", "Parish").code == 0
    second = AGAIN.replace("inspector: sandrel", f"inspector: sandrel, countersigners: [{who}]")
    assert failed(second, since())[0] == "release"
    assert run("issue", "two.yaml", "--identity", "keys/b-sandrel.p12").code == 0
    trust = [part for root in sorted((contract / "keys").glob("*-root.pem")) for part in ("--trust", root)]

    def found():
        said = run("audit", "reports", *trust, "--index", "i.sqlite", "--json")
        rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
        asked = {one["code"] for one in json.loads(said.out)["problems"]} & {"closed-by-successor"}
        return [row["state"] for row in rows if row["area"] == "B-1"], asked

    assert found() == (["disputed"], {"closed-by-successor"})
    key = f"keys/{name.lower().replace('. ', '-')}.p12"
    said = run("countersign", "reports/HD-9-002.pdf", "--identity", key, "-o", "both.pdf")
    assert said.code == 0, said.err
    (contract / "both.pdf").rename(contract / "reports" / "HD-9-002.pdf")
    assert found() == ([state], set() if state == "released" else {"closed-by-successor"})
    done = run("submittal", "reports", *trust, "--identity", "demo", "-o", "s.pdf", "--processes", "1", "--json")
    still = {item["kind"] for item in json.loads(done.out)["open_items"] if item["area"] == "B-1"}
    assert still == ({"disputed"} if state == "disputed" else set())


def test_what_a_successor_undid_stays_asked_about_until_the_former_inspector_settles_it(run, contract, failed):
    """Whoever releases it after the successor rests on his word too."""
    one, two = day(1, "2.4"), day(2, inspector="sandrel", blasted=FIRST_BLASTING)
    assert failed(two, since(more=VINTRY), first=one)[0] == "release"
    assert run("issue", "two.yaml", "--identity", "keys/b-sandrel.p12").code == 0
    trust = [part for root in sorted((contract / "keys").glob("*-root.pem")) for part in ("--trust", root)]

    def released():
        assert run("audit", "reports", *trust, "--index", "i.sqlite", "--json").out
        rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
        (contract / "s.pdf").unlink(missing_ok=True)
        made = run("submittal", "reports", *trust, "--identity", "demo", "-o", "s.pdf", "--processes", "1", "--json")
        still = [item["kind"] for item in json.loads(made.out)["open_items"] if item["area"] == "B-1"]
        return [row["state"] for row in rows if row["area"] == "B-1"], still

    assert released() == (["disputed"], ["disputed"])
    for name, key, state in (("sandrel", "b-sandrel", "disputed"), ("vintry", "a-vintry", "released")):
        number = 3 if name == "sandrel" else 4
        (contract / "next.yaml").write_text(day(number, inspector=name), "utf-8")
        said = run("issue", "next.yaml", "--identity", f"keys/{key}.p12")
        assert said.code == 0, said.err
        assert released()[0] == [state]
        (contract / "next.yaml").rename(contract / f"day{number}.yaml")


def test_he_undoes_and_releases_what_no_nonconformance_was_raised_for(run, contract, failed):
    one, two = day(1, "2.4"), day(2, inspector="sandrel", blasted=FIRST_BLASTING)
    assert failed(two, since(), first=one)[0] == "release"
    assert run("issue", "two.yaml", "--identity", "keys/b-sandrel.p12").code == 0
    trust = [part for root in sorted((contract / "keys").glob("*-root.pem")) for part in ("--trust", root)]
    said = run("audit", "reports", *trust, "--index", "i.sqlite", "--json")
    problems = {one["code"]: one["sentence"] for one in json.loads(said.out)["problems"]}
    assert set(problems) - {"issued-late"} == {"closed-by-successor", "requirement-changed"}
    assert problems["closed-by-successor"].startswith("HD-9-002 revision 0 releases area B-1, which HD-9-001 ")


@pytest.mark.parametrize(("namer", "decision", "status"), [("eng", "release", "closed"), ("", "rework", "open")])
def test_a_decision_of_the_engineer_is_recorded_by_a_successor(failed, namer, decision, status):
    decided = CLOSED.replace("rework, decided_by: vintry", "use-as-is, decided_by: eng")
    decided = decided.replace("[profile-below-minimum]", "[profile-below-minimum, walk-out-missing]")
    raised = OPEN.replace("[profile-below-minimum]", "[profile-below-minimum, walk-out-missing]")
    second = day(2, SMOOTH, raised=decided, inspector="sandrel", blasted=FIRST_BLASTING)
    first = day(1, SMOOTH, raised=raised)
    assert failed(second, since(namer=namer), first=first)[:2] == (decision, {status})


NEW_CLERK = "  new: {name: N. Ewell, role: owner's engineer, organisation: Parish}\n"


@pytest.mark.parametrize(
    ("project", "known"),
    [
        (since(namer=""), True),
        (since(namer="new", more=NEW_CLERK), True),  # whom the first report does not name
        (since(inspector="E. Torrance"), True),  # who was not its inspector
        (since(namer="maddock"), False),  # the contractor's inspector
        (since(namer="sandrel"), False),  # himself
        (since(namer="nobody"), False),
    ],
)
def test_nobody_names_himself_nor_is_named_by_the_contractor_or_a_newcomer(run, contract, failed, project, known):
    if not known:
        folder(contract, project=project, two=AGAIN)
        said = run("check", "two.yaml")
        assert said.code == 2
        assert ("JOB256" in said.err) is ("nobody" not in project)
        assert ("JOB201" in said.err) is ("nobody" in project)
        return
    decision, states, result = failed(AGAIN, project)
    assert (decision, states) == ("hold", {"open"})
    assert "inspector-succeeded" not in [one["code"] for one in result["findings"]]
    said = " ".join(run("check", "two.yaml").out.split())
    told = "one whom HD-9-001 names, with an organisation, no inspector and not of the contractor"
    assert f"{told}, names {COLLEAGUE} successor" in said
    assert run("issue", "two.yaml", "--identity", "keys/b-sandrel.p12").code == 0
    trust = [part for root in sorted((contract / "keys").glob("*-root.pem")) for part in ("--trust", root)]
    answer = json.loads(run("audit", "reports", *trust, "--index", "i.sqlite", "--json").out)
    assert "closed-by-successor" not in [one["code"] for one in answer["problems"]]


@pytest.mark.parametrize(("client", "decision"), [("PARISH", "release"), ("Harbour Board", "hold")])
def test_where_the_first_report_states_no_organisation_its_client_s_people_name_him(failed, client, decision):
    """Stated since, and the client of that report itself: else nobody could ever follow him."""
    named = since().replace("organisation: Parish", f"organisation: {client}")
    assert failed(AGAIN, named, project=FIRST.replace(", organisation: Parish", ""))[0] == decision


def test_who_names_him_is_of_the_organisation_that_the_first_report_states(failed):
    """Called the successor's own colleague since, the person is not the one whom that report names."""
    later = since().replace(
        "role: project engineer, organisation: Parish", f"role: project engineer, organisation: {BODY}"
    )
    decision, _, result = failed(AGAIN, later)
    assert (decision, [one for one in result["findings"] if one["code"] == "inspector-succeeded"]) == ("hold", [])


def test_who_names_him_is_judged_by_the_report_itself_and_not_by_the_project_file_since(failed):
    """The contractor's inspector of the first report is called the client's by the project file since."""
    project = since(namer="maddock").replace(
        f"name: {CONTRACTORS}, role: contractor's inspector, organisation: Pellworth",
        f"name: {CONTRACTORS}, role: client's engineer, organisation: Parish",
    )
    assert failed(AGAIN, project)[:2] == ("hold", {"open"})


def test_a_former_inspector_who_is_no_key_is_written_by_name(run, contract):
    folder(contract, project=since("vintry"), one=day(1))
    said = run("check", "one.yaml")
    assert "`vintry`, from whom `sandrel` takes over, is no key of `people`" in " ".join(said.err.split())


def test_a_successor_may_not_revise(run, failed, contract):
    failed(AGAIN, since())
    revision = day(1, revision=1, inspector="sandrel", raised=CLOSED.replace("decided_by: vintry", "decided_by: eng"))
    (contract / "one-r1.yaml").write_text(revision.replace(", raised_in: HD-9-001", ""), "utf-8")
    said = run("issue", "one-r1.yaml", "--identity", "keys/b-sandrel.p12")
    assert (said.code, "JOB253" in said.err) == (2, True)


@pytest.mark.parametrize(
    ("before", "after"),
    [("", ""), ("revision: 1, date", "revision: 3, date"), ('end: "18:00"}', "end: <end of the shift>}"),
     (", supersedes: {revision: 0, reason: a reading was wrong}", "")],
)  # fmt: skip
def test_check_says_that_he_may_not_whatever_else_is_still_open(run, failed, contract, before, after):
    """A number further on, a head that is being typed: whose report it is does not hang on that."""
    failed(AGAIN, since())
    revision = day(1, revision=1, inspector="sandrel", raised=CLOSED.replace("decided_by: vintry", "decided_by: eng"))
    assert before in revision
    (contract / "one-r1.yaml").write_text(revision.replace(", raised_in: HD-9-001", "").replace(before, after), "utf-8")
    for told in (run("check", "one-r1.yaml"), run("check", "one-r1.yaml", "--json")):
        assert (told.code, "JOB253" in told.err + told.out) == (2, True)
        assert "may not sign HD-9-001 revision" in told.err + told.out


@pytest.mark.parametrize(
    ("role", "organisation"),
    [
        ("site manager", ""),
        ("site manager", "Pellworth"),
        ("site manager", "PELLWORTH Ltd."),
        ("site manager", "Pell-worth Ltd"),
        ("site manager", "Pellworth Blasting & Painting (North)"),
        ("quality control", "Parish"),
        ("Q.C. manager", "Parish"),
        ("Foreman", "Parish"),
        ("painters' superintendent", "Parish"),
        ("contractor's representative", "Parish"),
    ],
)
def test_nobody_of_the_contractor_names_him_however_that_is_written(run, contract, failed, role, organisation):
    """The one entry is that of the first report and of the project file since, which then is refused; or of the first
    alone, which the client's engineer of the same name since does not put right.
    """
    stated = f", organisation: {organisation}" if organisation else ""
    own = "role: project engineer, organisation: Parish}"
    theirs = f"role: {role}{stated}}}"
    contractor = "Pell-worth Limited" if "-" in organisation else "Pellworth Ltd"
    first, later = (text.replace("contractor: Pellworth", f"contractor: {contractor}") for text in (FIRST, since()))
    folder(contract, project=later.replace(own, theirs), two=AGAIN)
    said = run("check", "two.yaml")
    assert (said.code, "JOB256" in said.err) == (2, True)
    help_text = "name one of the client's side whom the earlier reports name with their `organisation`"
    assert help_text in " ".join(said.err.split())
    assert ("no organisation is stated" in said.err) is (not organisation)
    (contract / "two.yaml").unlink()
    assert failed(AGAIN, later, project=first.replace(own, theirs))[:2] == ("hold", {"open"})


def test_whose_a_namer_is_the_day_files_say_as_well(run, contract):
    """She was present for the contractor, by the day file alone: the project file may not have her name anybody."""
    folder(contract, project=since(), two=AGAIN)
    assert "JOB256" not in run("check", "two.yaml").err
    theirs = AGAIN.replace("inspector: sandrel}", "inspector: sandrel, present: ['E. Torrance, Pellworth']}")
    folder(contract, project=since(), two=theirs)
    said = run("check", "two.yaml")
    assert (said.code, "JOB256" in said.err) == (2, True)


@pytest.mark.parametrize(
    ("more", "present", "asked"),
    [
        (VINTRY, "", f"{INSPECTOR} is still named in its project file"),
        ("", f", present: [{INSPECTOR} (until noon)]", f"{INSPECTOR} was present that day nevertheless"),
        ("", "", ""),
    ],
)
def test_a_former_inspector_who_is_still_there_is_asked_about(run, contract, failed, more, present, asked):
    second = AGAIN.replace("inspector: sandrel}", f"inspector: sandrel{present}}}")
    assert failed(second, since(more=more))[:2] == ("release", {"closed"})
    assert run("issue", "two.yaml", "--identity", "keys/b-sandrel.p12").code == 0
    trust = [part for root in sorted((contract / "keys").glob("*-root.pem")) for part in ("--trust", root)]
    said = run("audit", "reports", *trust, "--index", "i.sqlite", "--json")
    (told,) = [one["sentence"] for one in json.loads(said.out)["problems"] if one["code"] == "closed-by-successor"]
    assert told.partition(" countersigns it")[2] == (f"; {asked}" if asked else "")
    assert run("submittal", "reports", *trust, "--identity", "demo", "-o", "s.pdf", "--processes", "1").code == 0
    assert asked in pages("s.pdf")


@pytest.mark.parametrize(
    ("theirs", "refused"),
    [
        (f"organisation: {BODY}", False),
        ("organisation: Pellworth", True),
        ("organisation: Pellworth Coatings Ltd", True),
        ("organisation: Another Body", False),
    ],
)
def test_a_successor_is_not_of_the_contractor(run, contract, theirs, refused):
    changed = since().replace(f"organisation: {BODY}, takes_over", f"{theirs}, takes_over")
    assert theirs in changed
    folder(contract, project=changed, one=AGAIN.replace("HD-9-002", "HD-9-001"))
    err = " ".join(run("check", "one.yaml").err.split())
    assert ("JOB256" in err and "is of the contractor" in err) is refused
