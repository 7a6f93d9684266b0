"""Completion scripts work in the shells they are for."""

import json
import subprocess

import pytest

from tests.outside import needs_program


@pytest.fixture
def script(run, contract):
    def of(shell: str) -> str:
        code, out, err = run("completion", shell)
        assert (code, err) == (0, "")
        path = contract / f"completion.{shell}"
        path.write_text(out, encoding="utf-8")
        return str(path)

    return of


def asked(program: str, text: str, folder) -> list[str]:
    told = subprocess.run([program, "-c", text], cwd=folder, capture_output=True, text=True, check=True)
    return told.stdout.split()


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("ch", {"check", "checker"}),
        ("check --w", {"--watch"}),
        ("check da", {"day.yaml"}),
        ("export day.yaml --to ''", {"csv", "xlsx", "json"}),
        ("completion ''", {"bash", "zsh", "fish"}),
        ("new --overl", {"--overlap-rule"}),
        ("issue day.yaml --identity se", {"secret.p12"}),
        ("register check fol", {"folder"}),
    ],
)
@needs_program("bash")
def test_bash(script, contract, line, offered):
    (contract / "secret.p12").touch()
    (contract / "folder").mkdir()
    answers = asked(
        "bash",
        f"source {script('bash')}; COMP_WORDS=(reportgen {line}); COMP_CWORD=$(( ${{#COMP_WORDS[@]}} - 1 ));"
        ' _shtab_reportgen; echo "${COMPREPLY[@]}"',
        contract,
    )
    assert set(answers) == offered


@needs_program("fish")
def test_fish(script, contract):
    path = script("fish")
    assert asked("fish", f"source {path}; complete -C 'reportgen chec'", contract)[0] == "check"
    assert asked("fish", f"source {path}; complete -C 'reportgen check da'", contract) == ["day.yaml"]
    assert asked("fish", f"source {path}; complete -C 'reportgen check --wat'", contract)[0] == "--watch"


@needs_program("zsh")
def test_zsh_reads_it(script, contract):
    subprocess.run(["zsh", "-n", script("zsh")], check=True, capture_output=True)
    text = (contract / "completion.zsh").read_text(encoding="utf-8")
    assert text.startswith("#compdef reportgen\n")
    assert "--watch[check again whenever a file is saved, until Ctrl-C]" in text


def test_as_data(run):
    data = json.loads(run("completion", "--json", "fish").out)
    assert data["shell"] == "fish"
    assert "complete -c reportgen" in data["script"]


def test_another_shell(run):
    assert (
        run("completion", "csh").err == "error: `csh` cannot be chosen for SHELL\n help: choose bash or zsh or fish\n"
    )
