"""Copies of one issue in which what nobody signs is written otherwise: it counts once, and stops nothing."""

import datetime as dt
import json
import shutil

import pytest
from asn1crypto import tsp
from cryptography.hazmat.primitives import serialization

from reportgen.seal import new_identity
from tests.copies_otherwise import (
    LESS_PROVEN,
    OTHERWISE,
    foreign_certificate,
    lower_case,
    other_half,
    without_stamp,
)
from tests.unit.cli.conftest import _CLOCKS, NOW
from tests.unit.seal.test_seal_trusted_time import REPLY, service  # noqa: F401 - a fixture
from tests.unit.verification import signed_material as made

pytestmark = pytest.mark.usefixtures("stopped_clock")

TRUST = ("--trust", "keys/i-tern-root.pem")
KEY = ("--identity", "keys/i-tern.p12")
REPORT = "reports/SL-1-001.pdf"


@pytest.fixture
def report(run, contract):
    """The contract folder with a report, and an archive with that alone."""
    (contract / "keys").mkdir()
    new_identity(
        contract / "keys", name="I. Tern", organisation="Body", at=NOW, years=3, passphrase="a passphrase for tests"
    )
    assert run("issue", "day.yaml", *KEY).code == 0
    (contract / "archive").mkdir()
    return shutil.copy(contract / REPORT, contract / "archive")


def audited(run, *more):
    said = run("audit", "archive", *TRUST, "--index", "i.sqlite", "--json", *more)
    found = json.loads(said.out)
    return said.code, {one["code"]: one for one in found["problems"]}, found


def verified(run, *files, more=()):
    said = run("verify", *files, *TRUST, "--json", *more)
    return json.loads(said.out)


@pytest.mark.parametrize("copied", [*OTHERWISE, *LESS_PROVEN])
def test_a_copy_counts_once_and_stops_no_release(run, contract, report, copied):
    data = (contract / REPORT).read_bytes()
    other = copied(data)
    assert other != data
    (contract / "archive/copy.pdf").write_bytes(other)
    (alone,) = verified(run, "archive/copy.pdf")
    assert alone["overall"] == ("indeterminate" if copied in LESS_PROVEN else "passed"), alone["reasons"]
    code, problems, found = audited(run)
    assert code == (copied in LESS_PROVEN), "a file that is not proven, whatever else there is"
    assert problems.keys() == {"copy-written-otherwise"}
    assert problems["copy-written-otherwise"]["weight"] == "note"
    assert sorted(problems["copy-written-otherwise"]["files"]) == ["SL-1-001.pdf", "copy.pdf"]
    assert found["reports"] == 1
    said = run("release", "A-1", "archive", *KEY, *TRUST, "--index", "i.sqlite", "-o", "page.pdf")
    assert said.code == 0, said.err
    said = run("submittal", "archive", *KEY, *TRUST, "-o", "s.pdf")
    assert said.code == 0, said.err


def test_copies_given_together_say_so_and_dispute_nothing(run, contract, report):
    (contract / "copy.pdf").write_bytes(other_half((contract / REPORT).read_bytes()))
    answers = verified(run, REPORT, "copy.pdf")
    assert [one["overall"] for one in answers] == ["passed", "passed"]
    assert [[each["name"] for each in one["notices"]] for one in answers] == [["WRITTEN_OTHERWISE"]] * 2
    assert [one["standing"] for one in answers] == ["unknown", "unknown"]
    assert "disputed" not in json.dumps(answers)


def test_a_register_knows_a_copy_and_says_that_it_is_one(run, contract, report):
    (contract / "copy.pdf").write_bytes(lower_case((contract / REPORT).read_bytes()))
    (answer,) = verified(run, "copy.pdf", more=("--register", "."))
    assert (answer["overall"], answer["standing"]) == ("passed", "current")
    assert [one["name"] for one in answer["notices"]] == ["WRITTEN_OTHERWISE"]
    (own,) = verified(run, REPORT, more=("--register", "."))
    assert own["notices"] == []
    (contract / "archive/SL-1-001.pdf").unlink()
    shutil.copy(contract / "copy.pdf", contract / "archive")
    code, problems, _ = audited(run, "--register", ".")
    assert (code, problems.keys()) == (0, {"copy-written-otherwise"})
    said = run("submittal", "archive", *KEY, *TRUST, "--register", ".", "-o", "s.pdf")
    assert said.code == 0, said.err
    assert "not among the files" not in said.err
    assert run("register", "check", ".").code == 0
    said = run("register", "check", ".", "--report", "copy.pdf", *TRUST)
    assert said.code == 0, said.out + said.err
    assert "is a copy" in " ".join((said.out + said.err).split())


@pytest.fixture
def second(run, contract, report):
    """A second report, which proves the row that the first left."""
    text = (contract / "day.yaml").read_text("utf-8")
    (contract / "next.yaml").write_text(text.replace("SL-1-001", "SL-1-002"), "utf-8")
    assert run("issue", "next.yaml", *KEY).code == 0
    return contract / "reports/SL-1-002.pdf"


@pytest.mark.parametrize("name", ["0-copy.pdf", "copy.pdf"])
def test_a_register_is_rebuilt_of_the_file_that_was_issued(run, contract, second, name):
    (contract / "reports" / name).write_bytes(lower_case((contract / REPORT).read_bytes()))
    before = (contract / "register.jsonl").read_bytes()
    (contract / "register.jsonl").unlink()
    said = run("register", "rebuild", ".", *TRUST)
    assert said.code == 0, said.err
    assert (contract / "register.jsonl").read_bytes() == before


def test_a_copy_beside_the_report_is_no_fork_of_the_register(run, contract, second):
    for file in (contract / REPORT, second):
        shutil.copy(file, contract / "archive")
    (contract / "archive/copy.pdf").write_bytes(foreign_certificate(second.read_bytes()))
    _, problems, _ = audited(run)
    assert problems.keys().isdisjoint({"register-forked", "issued-astray", "number-duplicate"})
    answers = verified(run, REPORT, second, "archive/copy.pdf")
    assert [[each["name"] for each in one["notices"]] for one in answers] == [[], *[["WRITTEN_OTHERWISE"]] * 2]


def test_two_issues_under_one_number_are_two(run, contract, report, tmp_path, monkeypatch):
    """Other readings signed by the same person, upon the same row: however like a copy its file is."""
    shutil.copytree(contract, tmp_path / "other", ignore=shutil.ignore_patterns("other", "reports", "register.jsonl"))
    monkeypatch.chdir(tmp_path / "other")
    day = tmp_path / "other/day.yaml"
    day.write_text(day.read_text("utf-8").replace("x1: 2.9", "x1: 2.8"), "utf-8")
    assert run("issue", "day.yaml", *KEY).code == 0
    monkeypatch.chdir(contract)
    other = tmp_path / "other" / REPORT
    (contract / "archive/copy.pdf").write_bytes(lower_case(other.read_bytes()))
    code, problems, found = audited(run)
    assert (code, found["reports"]) == (1, 2)
    assert problems["number-duplicate"]["weight"] == "fault"
    said = run("release", "A-1", "archive", *KEY, *TRUST, "--index", "i.sqlite", "-o", "page.pdf")
    assert said.code == 2
    said = run("submittal", "archive", *KEY, *TRUST, "-o", "s.pdf")
    assert "there are two different files for SL-1-001" in " ".join(said.err.split())
    (answer,) = verified(run, "archive/copy.pdf", more=("--register", "."))
    assert answer["overall"] == "failed"


@pytest.mark.parametrize("first", [True, False])
def test_a_revision_replaces_the_copies_of_what_it_names(run, contract, report, first):
    text = (contract / "day.yaml").read_text("utf-8")
    replaced = "revision: 1, supersedes: {revision: 0, reason: a reading was misread},"
    (contract / "day.yaml").write_text(text.replace("revision: 0,", replaced).replace("x1: 2.9", "x1: 2.8"), "utf-8")
    assert run("issue", "day.yaml", *KEY).code == 0
    shutil.copy(contract / "reports/SL-1-001-r1.pdf", contract / "archive")
    copy = contract / "archive" / ("0.pdf" if first else "z.pdf")
    copy.write_bytes(lower_case((contract / REPORT).read_bytes()))
    _, problems, found = audited(run)
    assert (found["reports"], problems.keys() - {"copy-written-otherwise", "revision-in-favour"}) == (2, set())
    answers = verified(run, *sorted((contract / "archive").glob("*.pdf")))
    assert [one["standing"] for one in answers].count("superseded by revision 1") == 2


@pytest.mark.parametrize("named", ["report", "copy"])
def test_a_release_page_is_borne_out_by_any_copy_of_the_report_it_names(run, contract, report, named):
    """Whichever of them lay there when it was made; of another issue of that number it is not."""
    genuine = (contract / REPORT).read_bytes()
    both = {"report": genuine, "copy": other_half(genuine)}
    (contract / "archive/SL-1-001.pdf").write_bytes(both.pop(named))
    said = run("release", "A-1", "archive", *KEY, *TRUST, "--index", "i.sqlite", "-o", "archive/page.pdf")
    assert said.code == 0, said.err
    (contract / "archive/SL-1-001.pdf").write_bytes(*both.values())
    answers = verified(run, "archive/page.pdf", "archive/SL-1-001.pdf", more=("--register", "."))
    assert [(one["overall"], one["standing"]) for one in answers] == [("passed", "current")] * 2
    (notice,) = [one["sentence"] for one in answers[0]["notices"] if one["name"] == "OWN_WORDS"]
    assert "the file given is another copy of the same signed report" in notice
    code, problems, _ = audited(run)
    assert (code, problems.keys()) == (0, {"papers"})


@pytest.fixture
def stamped(run, contract, service):  # noqa: F811 - the fixture
    """An archive with a report whose time an authority proves, under an identity of a year."""
    (contract / "keys").mkdir()
    new_identity(
        contract / "keys", name="I. Tern", organisation="Body", at=NOW, years=1, passphrase="a passphrase for tests"
    )
    (contract / "time.pem").write_bytes(made.root().certificate.public_bytes(serialization.Encoding.PEM))

    def answer(query):
        return 200, REPLY, made.timestamper(NOW).request_tsa_response(tsp.TimeStampReq.load(query)).dump()

    assert run("issue", "day.yaml", *KEY, "--timestamp", service(answer)).code == 0
    (contract / "archive").mkdir()
    return shutil.copy(contract / REPORT, contract / "archive/m.pdf")


@pytest.mark.allow_hosts(["127.0.0.1"])
@pytest.mark.enable_socket
@pytest.mark.parametrize("name", ["a.pdf", "z.pdf"])
@pytest.mark.parametrize("years", [0, 2])
def test_a_copy_without_its_timestamp_takes_nothing_from_the_report(run, contract, stamped, monkeypatch, name, years):
    """While the signer's certificate is valid both pass; then the time of one alone is proven, and that counts."""
    (contract / "archive" / name).write_bytes(without_stamp((contract / REPORT).read_bytes()))
    for place in _CLOCKS:
        monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: NOW + years * dt.timedelta(366), raising=False)
    trust = (*TRUST, "--trust", "time.pem")
    answers = json.loads(run("verify", f"archive/{name}", "archive/m.pdf", *trust, "--json").out)
    assert [one["overall"] for one in answers] == ["indeterminate" if years else "passed", "passed"]
    assert "disputed" not in json.dumps(answers)
    said = run("audit", "archive", *trust, "--index", "i.sqlite", "--json")
    assert [one["code"] for one in json.loads(said.out)["problems"]] == ["copy-written-otherwise"]
    asked = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    assert [(one["state"], one["file"]) for one in asked if one["area"] == "A-1"] == [("released", "m.pdf")]
    said = run("submittal", "archive", "--identity", "demo", *trust, "-o", "s.pdf")
    assert said.code == 0, said.err
    assert f"{name} is left out: it is a copy, and nobody signs what differs" in " ".join(said.err.split())
    said = run("release", "A-1", "archive", "--identity", "demo", *trust, "--index", "i.sqlite", "-o", "page.pdf")
    assert said.code == 0, said.err
    (contract / "archive/m.pdf").unlink()
    said = run("release", "A-1", "archive", "--identity", "demo", *trust, "--index", "i.sqlite", "-o", "other.pdf")
    assert said.code == (2 if years else 0), "alone it proves no more than it does"
