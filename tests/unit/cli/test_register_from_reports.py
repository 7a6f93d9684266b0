"""What a register believes of reports: only what passes enters one, or speaks against it."""

import hashlib
import json
import shutil

import pytest

from reportgen.seal import new_identity
from tests.unit.cli.conftest import NOW

pytestmark = pytest.mark.usefixtures("stopped_clock")

TRUST = ("--trust", "keys/i-tern-root.pem")
REPLACED = "supersedes: {revision: 0, reason: a reading was misread}"
REPORT, REVISION = "reports/SL-1-001.pdf", "reports/SL-1-001-r1.pdf"


@pytest.fixture(scope="module")
def identities(tmp_path_factory):
    """Those of the inspector, and of somebody who made an authority of the same names."""
    place = tmp_path_factory.mktemp("identities")
    for folder in ("keys", "others"):
        (place / folder).mkdir()
        new_identity(
            place / folder, name="I. Tern", organisation="Body", at=NOW, years=3, passphrase="a passphrase for tests"
        )
    return place


@pytest.fixture
def issued(run, contract, identities):
    """The contract folder with its report."""
    shutil.copytree(identities, contract, dirs_exist_ok=True)
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    return contract


def revise(run, folder, key="keys"):
    """Issue the next revision in a folder."""
    day = folder / "day.yaml"
    text = day.read_text("utf-8").replace("revision: 0,", f"revision: 1, {REPLACED},").replace("x1: 2.9", "x1: 2.8")
    day.write_text(text, "utf-8")
    assert run("issue", day, "--identity", f"{key}/i-tern.p12").code == 0


@pytest.fixture
def strange(run, issued, tmp_path):
    """The folder with a revision of its report beside it that a stranger signed by the same names."""
    copy = shutil.copytree(issued, tmp_path / "copy")
    revise(run, copy, "others")
    shutil.copy(copy / REVISION, issued / "reports")
    return issued


def verified(run, *arguments):
    said = run("verify", "--json", *arguments)
    return said.code, json.loads(said.out)


def flat(said):
    return " ".join((said.out + said.err).split())


def test_a_stranger_s_revision_does_not_enter_and_is_told(run, strange):
    (strange / "register.jsonl").unlink()
    said = run("register", "rebuild", ".", *TRUST)
    assert said.code == 1
    assert "register of . rebuilt: 1 report" in said.out
    assert f"`{REVISION}` is set aside, verdict indeterminate: " in flat(said)
    assert "(NO_CERTIFICATE_CHAIN_FOUND)" in flat(said)
    code, (answer,) = verified(run, REPORT, *TRUST, "--register", ".")
    assert (code, answer["overall"], answer["standing"]) == (0, "passed", "current")
    assert run("register", "rebuild", ".", *TRUST).code == 2
    (strange / "register.jsonl").unlink()
    german = flat(run("register", "rebuild", ".", *TRUST, "--language", "de"))
    assert f"`{REVISION}` bleibt draußen, Ergebnis offen: " in german


def test_a_genuine_revision_enters(run, issued):
    revise(run, issued)
    before = (issued / "register.jsonl").read_bytes()
    (issued / "register.jsonl").unlink()
    assert run("register", "rebuild", ".", *TRUST).code == 0
    assert (issued / "register.jsonl").read_bytes() == before


@pytest.mark.parametrize("given", [("--identity", "keys/i-tern.p12"), ("--policy", "trust.yaml")])
def test_who_is_trusted_may_be_said_by_identity_or_policy(run, strange, given):
    (strange / "trust.yaml").write_text("roots: [keys/i-tern-root.pem]\nrequire: [register]\n", "utf-8")
    (strange / "register.jsonl").unlink()
    said = run("register", "rebuild", "--json", ".", *given)
    answer = json.loads(said.out)
    assert (said.code, answer["reports"], [one["file"] for one in answer["set_aside"]]) == (1, 1, [REVISION])


def test_where_nobody_is_trusted_nothing_enters_and_that_is_said(run, issued):
    (issued / "register.jsonl").unlink()
    said = run("register", "rebuild", ".")
    assert said.code == 2
    assert "only a report that passes enters a register, and where no authority is trusted none passes" in flat(said)
    assert not (issued / "register.jsonl").exists()


def test_files_that_are_broken_end_nothing(run, issued):
    whole = (issued / REPORT).read_bytes()
    changed = bytearray(whole)
    changed[len(changed) // 3] ^= 1
    (issued / "reports" / "A-changed.pdf").write_bytes(changed)
    (issued / "reports" / "B-none.pdf").write_bytes(b"no PDF")
    (issued / "reports" / "C-folder.pdf").mkdir()
    for given in (TRUST, ()):
        said = run("register", "check", ".", *given)
        assert said.code == 1
        told = flat(said)
        assert "reports/A-changed.pdf` is set aside, verdict failed: " in told
        assert "`reports/B-none.pdf` is set aside, " in told
        assert "reports/C-folder.pdf cannot be read: Is a directory [report-unproven]" in told
        assert "register of .: 3 problems" in told
    (issued / "register.jsonl").unlink()
    said = run("register", "rebuild", ".", *TRUST)
    assert (said.code, flat(said).count("is set aside")) == (1, 3)
    assert "rebuilt: 1 report" in said.out


def test_where_nothing_passes_nothing_is_changed_and_all_is_told(run, strange):
    (strange / REPORT).unlink()
    before = (strange / "register.jsonl").read_bytes()
    said = run("register", "rebuild", ".", *TRUST)
    assert said.code == 2
    assert "there is no report to rebuild the register from" in flat(said)
    assert f"`{REVISION}` is set aside" in flat(said)
    assert (strange / "register.jsonl").read_bytes() == before


def test_a_check_names_a_stranger_s_revision_and_accuses_no_register(run, strange):
    said = run("register", "check", "--json", ".", *TRUST)
    (problem,) = json.loads(said.out)["problems"]
    assert (said.code, problem["code"]) == (1, "report-unproven")
    assert REVISION in problem["message"]


def test_a_stranger_s_file_blocks_an_issue_only_until_it_is_taken_out(run, strange):
    said = run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    assert "take what does not, or is of another contract, out of the folder" in flat(said)
    (strange / REVISION).unlink()
    revise(run, strange)


def forged(folder, **members):
    """Write the register with other members in the rows of its report, and the chain of it made whole."""
    file, previous, lines = folder / "register.jsonl", "0" * 64, []
    for line in file.read_bytes().splitlines():
        row = {**json.loads(line), **members, "previous": previous}
        text = json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        previous = hashlib.sha256(text).hexdigest()
        lines.append(text + b"\n")
    file.write_bytes(b"".join(lines))


@pytest.mark.parametrize(
    ("member", "value", "words"),
    [
        ("verdict", "does not conform", "the verdict"),
        ("date", "2026-05-03", "the date"),
        ("issued_at", "2026-05-04T15:09:00Z", "the time of issue"),
        ("evaluation_sha256", "0" * 64, "the hash of the evaluation"),
        ("unsigned_sha256", "0" * 64, "the hash of the unsigned file"),
        ("size", 5, "the size of the file"),
        ("inputs", {"day.yaml": "0" * 64}, "the input files"),
    ],
)
def test_a_row_that_says_otherwise_of_a_report(run, issued, member, value, words):
    forged(issued)
    assert verified(run, REPORT, *TRUST, "--register", ".")[0] == 0
    forged(issued, **{member: value})
    code, (answer,) = verified(run, REPORT, *TRUST, "--register", ".")
    sentence = f"SL-1-001 revision 0: the register has it otherwise in {words}"
    assert (code, answer["overall"]) == (1, "failed")
    assert [(one["name"], one["sentence"]) for one in answer["reasons"]] == [("REGISTER_DISAGREES", sentence)]
    said = run("register", "check", ".", *TRUST)
    assert (said.code, f"{sentence} [register-contradicted]" in flat(said)) == (1, True)


def standings(answers):
    return [one["standing"] for one in answers]


def twelfth(answer):
    return " ".join(answer["steps"][11]["details"])


def test_files_given_together_are_at_hand_for_each_other(run, issued):
    revise(run, issued)
    code, answers = verified(run, REPORT, REVISION, *TRUST)
    assert (code, standings(answers)) == (1, ["superseded by revision 1", "unknown"])
    assert REVISION in twelfth(answers[0])
    assert "none of the files given with it replaces it" in twelfth(answers[1])
    code, answers = verified(run, REVISION, REVISION, *TRUST)
    assert (code, standings(answers)) == (0, ["unknown", "unknown"])


def test_a_less_proven_file_supersedes_nothing(run, strange):
    code, answers = verified(run, REPORT, REVISION, *TRUST)
    assert (code, standings(answers)) == (1, ["unknown", "unknown"])
    assert [one["overall"] for one in answers] == ["passed", "indeterminate"]
    assert f"a better proven file of the same number was given with it: {REPORT}" in twelfth(answers[1])


def test_two_reports_of_one_number_contradict_each_other(run, contract, issued, tmp_path):
    other = tmp_path / "again"
    shutil.copytree(issued, other, ignore=shutil.ignore_patterns("register.jsonl", "reports"))
    day = other / "day.yaml"
    day.write_text(day.read_text("utf-8").replace("x1: 2.9", "x1: 2.8"), "utf-8")
    assert run("issue", day, "--identity", "keys/i-tern.p12").code == 0
    code, answers = verified(run, REPORT, other / REPORT, *TRUST)
    assert code == 1
    for one in answers:
        (notice,) = (one for one in one["notices"] if one["name"] == "NUMBER_DISPUTED")
        assert "claims the same number, and neither replaces the other" in notice["sentence"]


def test_what_cannot_be_read_keeps_no_other_from_its_verdict(run, issued):
    said = run("verify", "none.pdf", REPORT, *TRUST)
    assert said.code == 2
    assert "none.pdf cannot be read: No such file or directory" in flat(said)
    assert f"{REPORT}: passed" in said.out
    code, (lost, answer) = verified(run, "none.pdf", REPORT, *TRUST)
    assert (code, answer["overall"], "cannot be read" in lost["error"]) == (2, "passed", True)


def test_a_damaged_register_leaves_the_verdict_on_the_report(run, issued):
    register = issued / "register.jsonl"
    register.write_bytes(register.read_bytes().replace(b"SL-1-001", b"SL-1-009", 1))
    said = run("verify", REPORT, *TRUST, "--register", ".")
    assert said.code == 2
    assert f"{REPORT}: passed" in said.out
    assert "the register that was given cannot be read: register.jsonl, line 2:" in flat(said)
    (issued / "trust.yaml").write_text("roots: [keys/i-tern-root.pem]\nrequire: [register]\n", "utf-8")
    said = run("verify", REPORT, "--policy", "trust.yaml", "--register", ".")
    assert (said.code, f"{REPORT}: indeterminate" in said.out) == (2, True)


def test_audit_and_submittal_hold_reports_against_registers(run, issued):
    (issued / "trust.yaml").write_text("roots: [keys/i-tern-root.pem]\nrequire: [register]\n", "utf-8")
    policy = ("--policy", "trust.yaml")
    audit = ("audit", "reports", *policy, "--index", "a.sqlite", "--json")
    assert json.loads(run(*audit).out)["files"] == {"indeterminate": 1}
    assert json.loads(run(*audit, "--register", ".").out)["files"] == {"passed": 1}
    sent = ("submittal", "reports", *policy, "--identity", "demo", "-o", "s.pdf", "--register", ".")
    said = run(*sent)
    assert (said.code, "not proven" in flat(said)) == (0, False)
    forged(issued, verdict="does not conform")
    told = json.loads(run(*audit, "--register", ".").out)
    assert told["files"] == {"failed": 1}
    assert "REGISTER_DISAGREES" in str(told)
    (issued / "s.pdf").unlink()
    assert run(*sent).code == 2
