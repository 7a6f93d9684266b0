"""The whole walk as its users take it: check, draft, issue, countersign, verify; and what stops it."""

import json
import re
import shutil
import signal
import subprocess
import sys
import time

import pytest

from tests.outside import needs_program


def test_check_speaks_and_writes_nothing(tool, days, contract):
    before = sorted(contract.rglob("*"))
    said = tool("check", days[0].name).stdout
    assert said.splitlines()[1].startswith("Conforms")
    tool("check", days[1].name, code=1)
    assert sorted(contract.rglob("*")) == before


def test_check_prints_the_evaluation_as_canonical_json(tool, days):
    text = tool("check", "--json", days[0].name).stdout
    data = json.loads(text)
    assert (
        text.rstrip("\n") == json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False) or "." in text
    )
    assert {"format", "report", "verdict", "areas", "conditions", "salts", "findings"} <= data.keys()
    assert data["report"].keys() >= {"number", "revision", "date"}
    location = data["areas"][0]["locations"][0]
    assert location.keys() >= {"id", "profile", "verdict", "expanded_uncertainty", "probability_of_conformity", "spots"}
    assert location["spots"][0].keys() >= {"id", "profile", "how"}


def test_draft_is_marked_on_every_page_and_can_be_repeated(tool, days, contract):
    tool("draft", days[0].name, "-o", "draft.pdf")
    tool("draft", days[0].name, "-o", "draft.pdf")
    import pypdf

    pages = pypdf.PdfReader(contract / "draft.pdf").pages
    assert all("DRAFT" in page.extract_text() for page in pages)


@needs_program("pdfsig")
@needs_program("pdftotext")
def test_demonstration_is_signed_labelled_and_not_registered(tool, days, contract):
    tool("issue", days[0].name, "--identity", "demo", "-o", "demo.pdf")
    tool("issue", days[0].name, "--identity", "demo", "-o", "demo.pdf")
    assert not (contract / "register.jsonl").exists()
    signed = subprocess.run(["pdfsig", "demo.pdf"], cwd=contract, capture_output=True, text=True, check=False).stdout
    assert "Signature is Valid" in signed
    assert "Total document signed" in signed
    first = subprocess.run(
        ["pdftotext", "-l", "1", "demo.pdf", "-"], cwd=contract, capture_output=True, text=True, check=True
    ).stdout
    number = re.search(r"number: (\S+)", days[0].read_text(encoding="utf-8"))[1]
    assert number in first
    assert re.search(r"\b1 of \d+\b", first)
    assert "demonstration, not valid for issue" in first
    said = tool("verify", "demo.pdf", code=1).stdout
    assert "DEMONSTRATION" in said
    assert "issuer unknown" in said


def test_issue_registers_verifies_and_never_overwrites(installed, days, contract, keys):
    sign = ("--identity", keys["inspector"], "--passphrase-file", keys["passphrase"])
    installed("issue", days[0].name, *sign)
    report = next((contract / "reports").glob("*.pdf"))
    before = report.read_bytes()
    said = installed("issue", days[0].name, *sign, code=2).stderr
    assert "was already issued" in said
    assert report.read_bytes() == before
    passed = installed("verify", report, "--trust", keys["inspector-root"], "--register", ".").stdout
    assert passed.splitlines()[0].endswith(": passed")
    assert "no problems" in installed("register", "check", ".").stdout
    said = installed("draft", days[0].name, "-o", report, code=2).stderr
    assert "neither a draft nor a demonstration" in said
    assert report.read_bytes() == before


def test_numbers_have_no_gaps(tool, days, keys, contract):
    sign = ("--identity", keys["inspector"], "--passphrase-file", keys["passphrase"])
    said = tool("issue", days[1].name, *sign, code=2).stderr
    assert "next" in said
    assert not list((contract / "reports").glob("*.pdf")) if (contract / "reports").exists() else True


def test_an_altered_report_fails(tool, days, contract, keys):
    sign = ("--identity", keys["inspector"], "--passphrase-file", keys["passphrase"])
    tool("issue", days[0].name, *sign)
    report = next((contract / "reports").glob("*.pdf"))
    changed = bytearray(report.read_bytes())
    changed[len(changed) // 3] ^= 1
    (contract / "changed.pdf").write_bytes(changed)
    said = tool("verify", "changed.pdf", "--trust", keys["inspector-root"], code=1).stdout
    assert said.splitlines()[0].endswith(": failed")


def test_a_lost_register_is_rebuilt_from_the_reports(tool, days, contract, keys):
    sign = ("--identity", keys["inspector"], "--passphrase-file", keys["passphrase"])
    for day in days[:2]:
        tool("issue", day.name, *sign)
    register = contract / "register.jsonl"
    kept = register.read_bytes()
    register.unlink()
    assert "register-missing" in tool("register", "check", ".", code=1).stdout
    tool("register", "rebuild", ".", "--trust", keys["inspector-root"])
    assert "no problems" in tool("register", "check", ".").stdout
    assert register.read_bytes() == kept


def test_a_register_cut_short_is_contradicted_by_a_report(tool, days, contract, keys):
    sign = ("--identity", keys["inspector"], "--passphrase-file", keys["passphrase"])
    for day in days[:2]:
        tool("issue", day.name, *sign)
    register = contract / "register.jsonl"
    rows = register.read_bytes().splitlines(keepends=True)
    register.write_bytes(b"".join(rows[:2]))
    assert "report-unregistered" in tool("register", "check", ".", code=1).stdout
    register.write_bytes(rows[0])
    assert "register-contradicted" in tool("register", "check", ".", code=1).stdout


def test_a_countersignature_leaves_the_first_alone(tool, days, contract, keys):
    text = days[0].read_text(encoding="utf-8")
    days[0].write_text(
        re.sub(r"(  inspector: \w+\n)", r"\1  countersigners: [ambleweir]\n", text, count=1), encoding="utf-8"
    )
    tool("issue", days[0].name, "--identity", keys["inspector"], "--passphrase-file", keys["passphrase"])
    report = next((contract / "reports").glob("*.pdf"))
    trust = ("--trust", keys["inspector-root"], "--trust", keys["engineer-root"])
    tool("verify", report, *trust)
    sign = ("--identity", keys["engineer"], "--passphrase-file", keys["passphrase"])
    tool("countersign", report, *sign, "-o", "both.pdf")
    said = tool("verify", "both.pdf", *trust).stdout
    assert "P. Ambleweir" in said
    assert "D. Rusketh" in said
    assert "no empty signature field" in tool("countersign", "both.pdf", *sign, "-o", "thrice.pdf", code=2).stderr


def test_only_the_inspector_named_in_the_job_can_issue(tool, days, contract, keys):
    said = tool(
        "issue", days[0].name, "--identity", keys["stranger"], "--passphrase-file", keys["passphrase"], code=2
    ).stderr
    assert "is not that of the inspector: the certificate names `Someone Else`" in " ".join(said.split())
    assert not (contract / "register.jsonl").exists()


def test_the_passphrase_is_never_taken_from_a_readable_file(tool, days, keys, tmp_path):
    open_file = tmp_path / "open"
    shutil.copy(keys["passphrase"], open_file)
    open_file.chmod(0o644)
    said = tool("issue", days[0].name, "--identity", keys["inspector"], "--passphrase-file", open_file, code=2).stderr
    assert "can be read by others" in " ".join(said.split())


def test_the_passphrase_may_come_from_the_environment(tool, days, keys, contract):
    tool("issue", days[0].name, "--identity", keys["inspector"], env={"REPORTGEN_PASSPHRASE": "wrong"}, code=2)
    from tests.e2e.conftest import PASSPHRASE

    tool("issue", days[0].name, "--identity", keys["inspector"], env={"REPORTGEN_PASSPHRASE": PASSPHRASE})


def test_explain_a_code_and_an_area(tool, days):
    assert "remedy" in tool("explain", "dew-point-margin").stdout
    assert "JOB110" in tool("explain", "JOB110").stdout
    assert "did you mean `dew-point-margin`" in tool("explain", "dew-point-margins", code=2).stderr
    area = re.search(r"- area: (\S+)", days[0].read_text(encoding="utf-8"))[1]
    said = tool("explain", days[0].name, "--area", area).stdout
    assert "decision" in said
    assert "source" in said


def test_code_beside_the_job_is_not_run(installed, days, contract):
    """A process of its own has not loaded what the folder would replace."""
    for name in ("reportlab_settings.py", "yaml.py", "sitecustomize.py"):
        (contract / name).write_text("raise SystemExit('code of the job folder ran')\n", encoding="utf-8")
    installed("draft", days[0].name, "-o", "draft.pdf")


@pytest.mark.parametrize(
    "command", ["check", "draft", "issue", "countersign", "verify", "explain", "register", "identity"]
)
def test_help_shows_an_example_and_the_exit_codes(tool, command):
    said = tool(command, "--help").stdout
    assert "example:\n  reportgen " in said
    assert "exit codes: 0 done" in said


def test_a_word_that_is_no_command_is_refused(tool):
    assert "there is no command `frobnicate`" in tool("frobnicate", code=2).stderr
    tool(code=2)


def test_a_verification_is_recorded_on_a_page(tool, days, contract):
    tool("issue", days[0].name, "--identity", "demo", "-o", "demo.pdf")
    tool("verify", "demo.pdf", "--record", "record.pdf", code=1)
    import pypdf

    text = pypdf.PdfReader(contract / "record.pdf").pages[0].extract_text()
    assert "demo.pdf" in text
    assert "indeterminate" in text.lower()
    assert "exists already" in tool("verify", "demo.pdf", "--record", "record.pdf", code=2).stderr
    assert "one by one" in tool("verify", "demo.pdf", "demo.pdf", "--record", "more.pdf", code=2).stderr


def test_watching_ends_with_the_last_exit_code(contract, days):
    from tests.e2e.conftest import COMMAND

    day = days[0]
    with subprocess.Popen(
        [str(COMMAND), "check", "--watch", day.name], cwd=contract, stdout=subprocess.PIPE, text=True, encoding="utf-8"
    ) as watching:
        try:
            until(watching, "Ctrl-C ends")
            day.write_text(day.read_text(encoding="utf-8").replace("project: ", "projekt: ", 1), encoding="utf-8")
            until(watching, "Ctrl-C ends")
            watching.send_signal(signal.SIGINT)
            assert watching.wait(timeout=60) == 2
        finally:
            watching.kill()


def until(process: subprocess.Popen[str], words: str) -> None:
    """Read what a process says up to a line with ``words``."""
    for line in process.stdout:
        if words in line:
            return
    raise AssertionError(f"it ended without saying {words}")


def test_ctrl_c_while_a_report_is_issued_leaves_nothing_half_written(tool, contract, days, keys):
    """The key is pressed at a moment of its own in each run, wherever the program then is."""
    from tests.e2e.conftest import COMMAND

    sign = ["--identity", str(keys["inspector"]), "--passphrase-file", str(keys["passphrase"])]
    for wait in (0.3, 0.9, 1.5):
        with subprocess.Popen(
            [str(COMMAND), "issue", days[0].name, *sign], cwd=contract, stderr=subprocess.PIPE, stdout=subprocess.PIPE
        ) as issuing:
            time.sleep(wait)
            issuing.send_signal(signal.SIGINT)
            code = issuing.wait(timeout=120)
        assert code in (130, -signal.SIGINT, 0, 2)
        assert not [path for path in contract.rglob("*") if path.name.endswith(".part")]
        for report in contract.rglob("reports/*.pdf"):
            tool("verify", report, "--trust", keys["inspector-root"])


def test_the_module_is_the_command(contract, days):
    ran = subprocess.run(
        [sys.executable, "-m", "reportgen", "check", days[0].name], cwd=contract, capture_output=True, check=False
    )
    assert ran.returncode == 0
