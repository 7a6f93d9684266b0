"""A report stands as it was issued: a revision of one before it does not settle what that left open."""

import json

import pytest

from reportgen.archival import read_attachments
from tests.unit.cli.test_reinspection import CLEAN, HIGH, contract, raised, report
from tests.unit.cli.test_reinspection_apart import accepted, engineer
from tests.unit.cli.test_sizes_again import reworked, sized

__all__ = ["contract", "engineer"]

THIRD = {"date: 2026-05-04": "date: 2026-05-06"}
FOURTH = {"date: 2026-05-04": "date: 2026-05-07"}
DUST = CLEAN[CLEAN.index("dust") :]
FAILED = report(1, reading="4.2", more=raised(HIGH))


def revised(text):
    return text.replace("revision: 0", "revision: 1").replace(
        "inspector: ines}", "inspector: ines,\n  supersedes: {revision: 0, reason: size measured again}}"
    )


@pytest.fixture
def issue(run, contract, monkeypatch):
    """Issue a day, as the inspector whom the contract names."""
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0

    def issued(name, text):
        (contract / f"{name}.yaml").write_text(text, "utf-8")
        said = run("issue", f"{name}.yaml", "--identity", "keys/i-tern.p12")
        assert said.code == 0, said.err
        return " ".join(said.err.split())

    return issued


@pytest.fixture
def stands(run, contract):
    """Check a day; answer with its decision on A-1, the nonconformances it tells of, and what it is warned of."""

    def told(text, name="day3"):
        (contract / f"{name}.yaml").write_text(text, "utf-8")
        said = run("check", f"{name}.yaml", "--json")
        result = json.loads(said.out)
        states = [(one["id"], one["status"]) for one in result["nonconformances"]]
        return result["areas"][0]["decision"], states, " ".join(said.err.split())

    return told


@pytest.fixture
def failing(run, contract):
    """Check a day; answer with the areas that failed before, or were left open."""

    def told(text):
        (contract / "day3.yaml").write_text(text, "utf-8")
        result = json.loads(run("check", "day3.yaml", "--json").out)
        late = "coating-overdue"  # was not yet when the report between was issued
        standing = ("failed-earlier", "left-open-earlier")
        return [
            (one["place"]["area"], one["code"])
            for one in result["findings"]
            if one["code"] in standing and late not in one["facts"].values()
        ]

    return told


@pytest.fixture(params=["day1", "day1-r1"])
def shrunk(request, issue, stands):
    """Of 5 m2 that failed 2 were blasted again, and N1 stayed open; then 2 m2 had failed, by a revision."""
    issue("day1", sized("5 m2", FAILED))
    issue("day2", reworked("2 m2"))
    assert stands(report(3, **THIRD))[:2] == ("hold", [("N1", "open")])
    issue(request.param, revised(sized("2 m2", FAILED)))


@pytest.mark.usefixtures("shrunk")
def test_what_a_report_left_open_is_not_closed_by_a_revision_of_the_one_before(run, contract, issue, stands):
    assert stands(report(3, **THIRD)) == ("hold", [("N1", "open")], "")
    said = " ".join(run("check", "day3.yaml").out.split())
    assert "SL-1-002 was issued with it open, before an earlier report was revised: inspect again, or issue" in said
    issue("day3", report(3, **THIRD))
    held = read_attachments((contract / "reports/SL-1-003.pdf").read_bytes())
    listed = {one["name"]: one["role"] for one in json.loads(held["manifest.json"])["files"]}
    assert listed["as-issued/SL-1-002-r0/day1.yaml"] == "earlier-basis"
    (verified,) = json.loads(run("verify", "reports/SL-1-003.pdf", "--trust", "keys/i-tern-root.pem", "--json").out)
    assert verified["overall"] == "passed", verified


@pytest.mark.usefixtures("shrunk")
def test_it_is_closed_by_a_re_inspection_since(issue, stands):
    issue("day3", report(3, **THIRD))
    again = sized("3 m2", report(4, reinspects="N1", **FOURTH))
    assert stands(again, "day4")[:2] == ("release", [("N1", "closed")])


@pytest.mark.usefixtures("shrunk")
def test_or_by_a_revision_of_the_report_that_left_it_open(issue, stands):
    issue("day2", revised(reworked("2 m2")))
    assert stands(report(3, **THIRD)) == ("release", [], "")


def test_a_report_issued_upon_the_revision_closes_it(issue, stands):
    issue("day1", sized("5 m2", FAILED))
    issue("day1-r1", revised(sized("2 m2", FAILED)))
    issue("day2", reworked("2 m2"))
    assert stands(report(3, **THIRD)) == ("release", [], "")


@pytest.mark.parametrize("how", [{"reading": "4.2"}, {"tests": DUST}])
def test_so_stands_what_failed_or_lacked_something_with_no_nonconformance(issue, failing, how):
    first = sized("5 m2", report(1, **how))
    part = reworked("2 m2").replace("reinspects: [N1]", "blasted_again: [pot 1]")
    issue("day1", first)
    issue("day2", part)
    silent = (
        report(3, **THIRD).replace("area: A-1\n", "area: A-2\n").replace("{area: A-2, reason", "{area: A-1, reason")
    )
    before = failing(silent)
    assert before
    issue("day1-r1", revised(first.replace("5 m2", "2 m2")))
    assert failing(silent) == before


@pytest.mark.usefixtures("engineer")
def test_what_the_revision_itself_decides_is_decided(issue, stands):
    issue("day1", sized("5 m2", FAILED))
    issue("day2", reworked("2 m2"))
    issue("day1-r1", revised(accepted(sized("5 m2", FAILED))))
    _, states, err = stands(sized("1 m2", report(3, **THIRD)))  # what is bare there has to be primed still
    assert (states, err) == ([], "")


def test_where_the_report_between_is_not_at_hand_nothing_rests_on_it(contract, issue, stands):
    issue("day1", sized("5 m2", FAILED))
    issue("day2", reworked("2 m2"))
    issue("day1-r1", revised(sized("2 m2", FAILED)))
    (contract / "reports/SL-1-002.pdf").unlink()
    decision, _, err = stands(report(3, **THIRD))
    assert decision == "hold"
    assert "warning[JOB251]: what SL-1-002 was issued upon was revised since, and `reports/SL-1-002.pdf` is not" in err
