"""A copy that is proven less, or spoilt, takes nothing from the better one: it is named, and stops nothing."""

import json
import re
import shutil

import pytest

from tests.copies_otherwise import lower_case
from tests.unit.cli.test_signed_apart import (
    KEY,
    REPORT,
    TRUST,
    by_another,
    countersigned,
    enclosed,
    namesake,
    of_zeros,
    waiting,  # noqa: F401 - a fixture
)
from tests.unit.verification import signed_material as made

pytestmark = pytest.mark.usefixtures("stopped_clock")

BUT_THE_STRANGER = TRUST[:4]
NAMES = [("a.pdf", "z.pdf"), ("z.pdf", "a.pdf")]


def audited(run, *trust):
    said = run("audit", "archive", *trust, "--index", "i.sqlite", "--json")
    assert said.out, said.err
    rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    (row,) = [one for one in rows if one["area"] == "A-1"]
    return said.code, json.loads(said.out)["problems"], (row["state"], row["file"])


def released(run, *trust, out="page.pdf"):
    return run("release", "A-1", "archive", *KEY, *trust, "--index", "i.sqlite", "-o", out, "--role", "inspector")


def submitted(run, *trust):
    said = run("submittal", "archive", *KEY, "--role", "inspector", *trust, "-o", "s.pdf")
    assert said.code == 0, said.err
    (answer,) = json.loads(run("verify", "s.pdf", *trust, "--json").out)
    return " ".join(said.err.split()), answer["overall"], [one["sha256"] for one in enclosed("s.pdf")]


@pytest.mark.parametrize("names", NAMES)
def test_a_strangers_countersignature_weighs_nothing_beside_one_that_is_proven(run, contract, waiting, names):  # noqa: F811
    pins = countersigned(run, names)
    genuine, strange = names
    _, problems, stands = audited(run, *BUT_THE_STRANGER)
    (one,) = [each for each in problems if "copy" in each["code"]]
    assert (one["code"], one["weight"]) == ("copy-written-otherwise", "note")
    assert {each["weight"] for each in problems} == {"note", "screening"}
    assert one["files"] == [strange, genuine]
    assert f"SHA-256 {pins[strange]}, which says E. Falk, Body" in one["sentence"]
    assert stands == ("released", genuine)
    said = released(run, *BUT_THE_STRANGER)
    assert said.code == 0, said.err
    told, overall, rows = submitted(run, *BUT_THE_STRANGER)
    assert f"archive/{strange} is left out: archive/{strange} is a copy in which" in told
    assert (overall, rows) == ("passed", [made.sha256((contract / "archive" / genuine).read_bytes())])
    answers = json.loads(run("verify", "archive/a.pdf", "archive/z.pdf", *BUT_THE_STRANGER, "--json").out)
    assert [[each["name"] for each in one["notices"]] for one in answers] == [["SIGNED_BY_ANOTHER"]] * 2
    assert all(f"{strange} is a copy in which" in one["notices"][0]["sentence"] for one in answers)


@pytest.mark.parametrize("names", NAMES)
def test_where_neither_is_proven_both_are_told_apart(run, contract, waiting, names):  # noqa: F811
    countersigned(run, names)
    _, problems, _ = audited(run, *TRUST[:2])
    (one,) = [each for each in problems if "copy" in each["code"]]
    assert (one["code"], one["weight"]) == ("copy-signed-apart", "doubt")
    assert released(run, *TRUST[:2]).code == 2


def test_of_one_file_one_thing_is_said(run, contract, waiting):  # noqa: F811
    """Countersigned by another upon a first signature that is encoded otherwise: that it is another who signed."""
    key = ("--identity", "keys/e-falk.p12")
    assert run("countersign", REPORT, *key, "-o", "archive/a.pdf").code == 0
    (contract / "otherwise.pdf").write_bytes(lower_case(waiting.read_bytes()))
    key = ("--identity", "others/e-falk.p12")
    assert run("countersign", "otherwise.pdf", *key, "-o", "archive/z.pdf").code == 0
    _, problems, _ = audited(run, *TRUST)
    assert [each["code"] for each in problems if "copy" in each["code"]] == ["copy-signed-apart"]
    answers = json.loads(run("verify", "archive/a.pdf", "archive/z.pdf", *TRUST, "--json").out)
    assert [[each["name"] for each in one["notices"]] for one in answers] == [["SIGNED_BY_ANOTHER"]] * 2


@pytest.mark.parametrize("names", NAMES)
def test_the_pin_that_is_asked_for_leads_to_a_release(run, contract, waiting, names):  # noqa: F811
    pins = countersigned(run, names)
    genuine, other = names
    assert released(run, *TRUST).code == 2
    people = f"people: {{falk: {{certificate: {pins[genuine]}}}}}"
    (contract / "trust.yaml").write_text(f"roots: [{', '.join(TRUST[1::2])}]\n{people}\n", "utf-8")
    given = ("--policy", "trust.yaml")
    code, problems, stands = audited(run, *given)
    (one,) = [each for each in problems if each["code"] == "file-failed"]
    assert (code, one["weight"], one["files"], stands) == (1, "fault", [other], ("released", genuine))
    assert f"it is a copy of {genuine}, which is here and proven" in one["sentence"]
    said = released(run, *given)
    assert said.code == 0, said.err
    told, overall, rows = submitted(run, *given)
    assert f"archive/{other} is left out: it is a copy of archive/{genuine} that failed" in told
    assert (overall, rows) == ("passed", [made.sha256((contract / "archive" / genuine).read_bytes())])


@pytest.mark.parametrize("names", NAMES)
@pytest.mark.parametrize("changed", [by_another(made.inspector), of_zeros], ids=["stranger", "zeros"])
def test_a_spoilt_copy_stops_nothing_and_alone_it_stops_all(run, contract, waiting, names, changed):  # noqa: F811
    genuine, spoilt = names
    (contract / "archive" / genuine).write_bytes(waiting.read_bytes())
    (contract / "archive" / spoilt).write_bytes(changed(waiting.read_bytes()))
    code, problems, stands = audited(run, *TRUST)
    (one,) = [each for each in problems if each["code"] == "file-failed"]
    assert (code, one["files"], stands) == (1, [spoilt], ("released", genuine))
    assert f"it is a copy of {genuine}" in one["sentence"]
    said = released(run, *TRUST)
    assert said.code == 0, said.err
    assert f"archive/{spoilt} is left out: it is a copy of archive/{genuine} that failed" in submitted(run, *TRUST)[0]


def test_a_failed_file_of_which_nothing_is_here_stops_a_release_still(run, contract, waiting):  # noqa: F811
    shutil.copy(waiting, contract / "archive/a.pdf")
    text = (contract / "day.yaml").read_text("utf-8").replace("SL-1-001", "SL-1-002")
    (contract / "next.yaml").write_text(text, "utf-8")
    assert run("issue", "next.yaml", *KEY).code == 0
    (contract / "archive/b.pdf").write_bytes(of_zeros((contract / "reports/SL-1-002.pdf").read_bytes()))
    _, problems, _ = audited(run, *TRUST)
    (one,) = [each for each in problems if each["code"] == "file-failed"]
    assert "it is a copy of" not in one["sentence"]
    said = released(run, *TRUST)
    assert (said.code, "file-failed" in said.err) == (2, True)
    said = run("submittal", "archive", *KEY, "--role", "inspector", *TRUST, "-o", "s.pdf")
    assert (said.code, "does not verify" in said.err) == (2, True)


@pytest.mark.parametrize("names", NAMES)
@pytest.mark.parametrize("made_as", ["submittal", "release"])
@pytest.mark.parametrize("trusted", [True, False])
def test_a_submittal_or_page_signed_by_another_is_told(run, contract, waiting, names, made_as, trusted):  # noqa: F811
    assert run("identity", "new", "more", "--name", "I. Tern", "--organisation", "Body").code == 0
    shutil.copy(waiting, contract / "archive/m.pdf")
    submitted(run, *TRUST) if made_as == "submittal" else released(run, *TRUST, out="s.pdf")
    genuine, other = (contract / "archive" / name for name in names)
    genuine.write_bytes((contract / "s.pdf").read_bytes())
    other.write_bytes(by_another(namesake)(genuine.read_bytes()))
    trust = (*TRUST, *(("--trust", "more/i-tern-root.pem") if trusted else ()))
    answers = json.loads(run("verify", genuine, other, "archive/m.pdf", *trust, "--json").out)
    told = [[each["name"] for each in one["notices"] if "SIGNED" in each["name"]] for one in answers]
    assert told == [["SIGNED_BY_ANOTHER"], ["SIGNED_BY_ANOTHER"], []]
    _, problems, _ = audited(run, *trust)
    found = [(each["code"], sorted(each["files"])) for each in problems if "copy" in each["code"]]
    assert found == [("copy-signed-apart" if trusted else "copy-written-otherwise", ["a.pdf", "z.pdf"])]


@pytest.mark.parametrize("made_as", ["submittal", "release"])
def test_a_submittal_or_page_written_otherwise_is_told(run, contract, waiting, made_as):  # noqa: F811
    shutil.copy(waiting, contract / "archive/m.pdf")
    submitted(run, *TRUST) if made_as == "submittal" else released(run, *TRUST, out="s.pdf")
    data = (contract / "s.pdf").read_bytes()
    (contract / "archive/a.pdf").write_bytes(data)
    start = data.rindex(b"/Contents <")
    (contract / "archive/z.pdf").write_bytes(data[:start] + lower_case(data[start:]))
    answers = json.loads(run("verify", "archive/a.pdf", "archive/z.pdf", *TRUST, "--json").out)
    told = [[each["name"] for each in one["notices"] if "OTHERWISE" in each["name"]] for one in answers]
    assert told == [["WRITTEN_OTHERWISE"]] * 2
    _, problems, _ = audited(run, *TRUST)
    assert [each["code"] for each in problems if "copy" in each["code"]] == ["copy-written-otherwise"]


@pytest.mark.parametrize("later", [True, False])
def test_a_register_is_rebuilt_of_the_file_that_was_issued_beside_copies_signed_since(run, contract, waiting, later):  # noqa: F811
    """Whether a later report states the row that it left, or none does: one copy is countersigned, one re-encoded."""
    if later:
        text = (contract / "day.yaml").read_text("utf-8").replace("SL-1-001", "SL-1-002")
        (contract / "next.yaml").write_text(text, "utf-8")
        assert run("issue", "next.yaml", *KEY).code == 0
    key = ("--identity", "others/e-falk.p12")
    assert run("countersign", REPORT, *key, "-o", "reports/000.pdf").code == 0
    (contract / "reports/AAA.pdf").write_bytes(lower_case(waiting.read_bytes()))
    before = (contract / "register.jsonl").read_bytes()
    (contract / "register.jsonl").unlink()
    said = run("register", "rebuild", ".", *TRUST)
    assert said.code == 0, said.err
    rebuilt = (contract / "register.jsonl").read_bytes()
    assert b"000.pdf" not in rebuilt
    assert REPORT.encode() in rebuilt
    assert rebuilt == before


@pytest.mark.parametrize("names", NAMES)
@pytest.mark.parametrize("inside", [True, False], ids=["inside its value", "after it"])
def test_a_copy_cut_in_its_countersignature_stops_nothing(run, contract, waiting, names, inside):  # noqa: F811
    """What the first signature covers is whole, and tells whose copy it is."""
    genuine, spoilt = (contract / "archive" / name for name in names)
    assert run("countersign", REPORT, "--identity", "keys/e-falk.p12", "-o", str(genuine)).code == 0
    pdf = genuine.read_bytes()
    *_, last = re.finditer(rb"/ByteRange \[0 (\d+) (\d+) ", pdf)
    spoilt.write_bytes(pdf[: int(last[1]) + 1000] if inside else pdf[: int(last[2]) + 20])
    _, problems, stands = audited(run, *TRUST)
    (one,) = [each for each in problems if each["code"] == "file-failed"]
    assert (one["files"], stands) == ([names[1]], ("released", names[0]))
    assert f"it is a copy of {names[0]}" in one["sentence"]
    said = released(run, *TRUST)
    assert said.code == 0, said.err
    assert f"archive/{names[1]} is left out: it is a copy of archive/{names[0]}" in submitted(run, *TRUST)[0]


def test_an_envelope_signed_again_stops_no_release(run, contract, waiting):  # noqa: F811
    """The reports inside are the same, whoever sends them."""
    shutil.copy(waiting, contract / "archive/a.pdf")
    assert run("submittal", "archive", *KEY, "--role", "inspector", *TRUST, "-o", "archive/s.pdf").code == 0
    assert run("identity", "new", "more", "--name", "I. Tern", "--organisation", "Body").code == 0
    again = by_another(namesake)((contract / "archive/s.pdf").read_bytes())
    (contract / "archive/t.pdf").write_bytes(again)
    trust = (*TRUST, "--trust", "more/i-tern-root.pem")
    _, problems, _ = audited(run, *trust)
    assert ("copy-signed-apart", "doubt") in [(one["code"], one["weight"]) for one in problems]
    said = released(run, *trust)
    assert said.code == 0, said.err
