"""Standard output full, closed or no longer read: what is done is said, and the exit code is that of what happened."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.command import run
from tests.conftest import ROOT
from tests.e2e.conftest import COMMAND

FULL = Path("/dev/full")
LOST = {
    "full": "the answer cannot be written to standard output: No space left on device",
    "closed": "the answer cannot be written to standard output: it is closed",
}

pytestmark = pytest.mark.skipif(not FULL.exists(), reason="needs /dev/full: a disk that is always full")


def ran(folder, *arguments, into="full", errors=subprocess.PIPE, **more):
    """Run the command with standard output full or closed, and return its exit code and what it said on the other."""
    if into == "closed":
        words = ["bash", "-c", 'exec "$@" >&-', "bash", str(COMMAND), *map(str, arguments)]
        done = subprocess.run(words, cwd=folder, stderr=errors, check=False, timeout=300, **more)
    else:
        with FULL.open("wb", buffering=0) as full:
            words = [str(COMMAND), *map(str, arguments)]
            done = subprocess.run(words, cwd=folder, stdout=full, stderr=errors, check=False, timeout=300, **more)
    return done.returncode, " ".join((done.stderr or b"").decode().split())


@pytest.fixture
def sign(keys):
    return ("--identity", keys["inspector"], "--passphrase-file", keys["passphrase"])


@pytest.fixture
def report(tool, days, sign, contract):
    """A report that the engineer is to countersign."""
    text = days[0].read_text(encoding="utf-8")
    wanted = text.replace("  inspector: ", "  countersigners: [ambleweir]\n  inspector: ", 1)
    days[0].write_text(wanted, encoding="utf-8")
    tool("issue", days[0].name, *sign)
    return next((contract / "reports").glob("*.pdf"))


@pytest.mark.parametrize("into", ["full", "closed"])
@pytest.mark.parametrize("form", [(), ("--json",)], ids=["words", "json"])
def test_a_report_that_was_registered_is_not_denied(tool, contract, days, keys, sign, into, form):
    code, said = ran(contract, "issue", days[0].name, *sign, *form, into=into)
    assert code == 4
    assert LOST[into] in said
    assert "reports/QW-14-IR-001.pdf` is written, issued and registered as QW-14-IR-001 revision 0" in said
    assert "nothing was issued" not in said
    assert "Traceback" not in said
    tool("verify", contract / "reports" / "QW-14-IR-001.pdf", "--trust", keys["inspector-root"], "--register", ".")
    assert "no problems" in tool("register", "check", ".").stdout


def test_a_batch_names_every_report_it_has_issued(contract, days, sign):
    code, said = ran(contract, "issue", *[day.name for day in days], *sign)
    assert code == 4, said
    assert [number for number in ("001", "002", "003") if f"registered as QW-14-IR-{number} revision 0" in said] == [
        "001",
        "002",
        "003",
    ]


@pytest.mark.parametrize("into", ["full", "closed"])
def test_every_command_that_writes_says_what_it_wrote(contract, days, keys, report, into):
    secret = ("--passphrase-file", keys["passphrase"])
    day, engineer = days[1].name, ("--identity", keys["engineer"], *secret)
    answers = (
        "--contract AB-12 --name Crane --document D --inspector N.Tern --grade SSPC-SP~10 --minimum 2.0~mil "
        "--maximum 3.5~mil --unit mil --edition 2021 --overlap-rule average --decision-rule simple --rounding none "
        "--method ASTM~D4417~Method~C --locations 3"
    )
    filled = contract / "typed.csv"
    filled.write_text("area,location,spot,roll,reading\nK-4,9,a,x1,2.5\n", encoding="utf-8")
    commands = {
        "draft.pdf": ("draft", day, "-o", "draft.pdf"),
        "demo.pdf": ("issue", day, "--identity", "demo", "-o", "demo.pdf"),
        "both.pdf": ("countersign", report, *engineer, "-o", "both.pdf"),
        "record.pdf": ("verify", report, "--record", "record.pdf"),
        "sheet.pdf": ("sheet", day, "-o", "sheet.pdf"),
        "data.json": ("export", day, "--to", "json", "-o", "data.json"),
        "tables/readings.csv": ("export", day, "--to", "csv", "-o", "tables"),
        "crane/project.yaml": ("new", "crane", *[word.replace("~", " ") for word in answers.split()]),
        "2027-01-01.yaml": ("new", "--next", day, "--date", "2027-01-01"),
        "made/a-b.p12": ("identity", "new", "made", "--name", "A. B", "--organisation", "C", *secret),
        "submittal.pdf": ("submittal", report, "--identity", "demo", "-o", "submittal.pdf"),
        "audit.pdf": ("audit", "reports", "-o", "audit.pdf", "--csv", "csv", "--processes", "1"),
        day: ("intake", filled, "--into", day),
    }
    for wrote, command in commands.items():
        with FULL.open("w", encoding="utf-8") as full:
            done = run(*command, cwd=contract, into=full if into == "full" else None)
        code, said = done.returncode, " ".join(done.stderr.split())
        assert (code, "Traceback" in said) == (4, False), (command, said)
        assert LOST[into] in said, command
        assert wrote in said.partition("done: ")[2], (command, said)
        assert (contract / wrote).is_file()


def test_commands_that_only_say_something_have_nothing_to_report(contract, days):
    for command in (["check", days[0].name], ["explain", "JOB110"], ["schema", "day"], ["--help"], ["--version"]):
        assert ran(contract, *command) == (4, f"error: {LOST['full']}")


def test_a_failure_keeps_its_own_exit_code(contract):
    code, said = ran(contract, "draft", "--json", "absent.yaml")
    assert code == 2
    assert LOST["full"] in said
    assert "there is no file `absent.yaml`" in said


def test_messages_that_cannot_be_said_stop_nothing(contract, days):
    with FULL.open("wb") as full:
        assert ran(contract, "issue", days[0].name, "--identity", "demo", "-o", "a.pdf", errors=full)[0] == 4
        words = [str(COMMAND), "issue", "absent.yaml", days[0].name, "--identity", "demo"]
        done = subprocess.run(
            words, cwd=contract, capture_output=False, stderr=full, stdout=subprocess.PIPE, check=False
        )
    assert done.returncode == 2
    assert b"demonstration" in done.stdout
    assert (contract / "a.pdf").is_file()


def test_a_reader_that_goes_away_changes_no_exit_code(contract, days):
    """``check | head`` must not turn findings into *nothing to object*."""
    for day, code in ((days[0], 0), (days[1], 1)):
        script = f'"{COMMAND}" check {day.name} | true; exit ${{PIPESTATUS[0]}}'
        done = subprocess.run(["bash", "-c", script], cwd=contract, capture_output=True, check=False)
        assert (done.returncode, done.stderr) == (code, b"")


def test_watching_ends_when_nobody_reads(contract, days):
    script = f'"{COMMAND}" check --watch {days[0].name} | true; exit ${{PIPESTATUS[0]}}'
    done = subprocess.run(["bash", "-c", script], cwd=contract, capture_output=True, check=False, timeout=60)
    assert (done.returncode, done.stderr) == (0, b"")


def test_no_file_takes_the_number_of_a_closed_stream(contract, days, sign):
    """What a library prints must not land in the register: standard output closed, the next file would be number 1."""
    probe = "import os\nfrom reportgen.cli import output\nwith output.standard_streams():\n  os._exit(os.open('x', 66))"
    words = ["bash", "-c", 'exec "$@" <&- >&- 2>&-', "bash", str(COMMAND.parent / "python"), "-c", probe]
    assert subprocess.run(words, cwd=contract, check=False).returncode >= 3


def test_standard_input_may_be_closed(contract, days):
    words = ["bash", "-c", 'exec "$@" <&-', "bash", str(COMMAND), "issue", days[0].name, "--identity", "demo"]
    assert subprocess.run(words, cwd=contract, capture_output=True, check=False).returncode == 0


@pytest.mark.parametrize("home", ["/dev/null", "/nowhere/at/all", "", None])
def test_no_home_folder_is_needed(contract, days, tmp_path, home):
    """As for a service or a container; nothing is left in the folder for temporary files either."""
    (tmp_path / "temporary").mkdir()
    environment = {key: value for key, value in os.environ.items() if key not in ("HOME", "MPLCONFIGDIR")}
    environment |= {"TMPDIR": str(tmp_path / "temporary")} | ({} if home is None else {"HOME": home})
    shutil.copy(ROOT / "samples" / "tessowick-2026-09-15.pdf", contract)
    commands = (
        ["issue", days[0].name, "--identity", "demo", "-o", "a.pdf"],
        ["sheet", days[0].name, "-o", "b.pdf"],
        ["submittal", "tessowick-2026-09-15.pdf", "--identity", "demo", "-o", "c.pdf"],
    )
    calls = f"import sys; from reportgen.cli import main; sys.exit(max(map(main, {commands})))"
    words = [str(COMMAND.parent / "python"), "-c", calls]
    done = subprocess.run(words, cwd=contract, env=environment, capture_output=True, check=False)
    assert (done.returncode, b"atplotlib" in done.stderr) == (0, False), done.stderr
    assert list((tmp_path / "temporary").iterdir()) == []


def test_a_settings_file_in_the_home_folder_changes_no_page(contract, days, tmp_path):
    words = [str(COMMAND), "draft", days[0].name, "--at", "2026-06-08T18:00:00Z", "-o"]
    pages = []
    for number, text in enumerate(("", "pageCompression = 0\n")):
        home = tmp_path / f"home{number}"
        home.mkdir()
        (home / ".reportlab_settings").write_text(text, encoding="utf-8")
        environment = {**os.environ, "HOME": str(home)}
        subprocess.run([*words, f"{number}.pdf"], cwd=contract, env=environment, capture_output=True, check=True)
        pages.append((contract / f"{number}.pdf").read_bytes())
    assert pages[0] == pages[1]


def test_an_audit_says_at_once_that_its_report_cannot_be_written(contract):
    (contract / "audit.pdf").touch()
    (contract / "reports").mkdir()
    words = [str(COMMAND), "audit", "reports", "-o", "audit.pdf", "--csv", "csv"]
    done = subprocess.run(words, cwd=contract, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "nothing was examined" in done.stderr
    assert not (contract / "csv").exists()
    assert not list(contract.glob("*.sqlite"))
