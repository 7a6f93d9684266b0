"""One answer for every kind of failure; nothing half-written after Ctrl-C; the module runs like the command."""

import io
import json
import runpy
import sys

import pytest


def failing(error):
    def run(*_, **__):
        raise error

    return run


def test_ctrl_c_while_checking(run, monkeypatch):
    monkeypatch.setattr("reportgen.pipeline.check", failing(KeyboardInterrupt()))
    assert run("check", "day.yaml") == (130, "", "\ninterrupted; nothing half-written is left behind\n")


def test_ctrl_c_while_the_options_are_read(run, monkeypatch):
    monkeypatch.setattr("reportgen.cli.commands.build_parser", failing(KeyboardInterrupt()))
    assert run("check", "day.yaml").code == 130


@pytest.mark.parametrize(
    "place", ["reportgen.pipeline.issuing.build", "reportgen.atomicfile.sync", "reportgen.atomicfile.sync_folder"]
)
def test_ctrl_c_while_a_draft_is_written_leaves_all_or_nothing(run, monkeypatch, contract, place):
    before = {path.name for path in contract.iterdir()}
    monkeypatch.setattr(place, failing(KeyboardInterrupt()))
    assert run("draft", "day.yaml", "-o", "draft.pdf").code == 130
    left = {path.name for path in contract.iterdir()} - before
    assert left in (set(), {"draft.pdf"})
    if left:
        data = (contract / "draft.pdf").read_bytes()
        assert data.startswith(b"%PDF-")
        assert data.rstrip().endswith(b"%%EOF")


class Stream(io.StringIO):
    """A stream that takes nothing, for a reason."""

    def __init__(self, error):
        super().__init__()
        self.error = error

    def write(self, _):
        raise self.error


def test_a_reader_that_went_away(run, monkeypatch):
    monkeypatch.setattr(sys, "stdout", Stream(BrokenPipeError()))
    assert run("explain", "JOB110") == (0, "", "")
    assert run("explain", "JOB110", "--json") == (0, "", "")


def test_an_answer_that_is_lost(run, monkeypatch):
    monkeypatch.setattr(sys, "stdout", Stream(OSError(28, "full")))
    lost = "error: the answer cannot be written to standard output: No space left on device\n"
    assert run("explain", "JOB110") == (4, "", lost)
    assert run("draft", "day.yaml", "-o", "d.pdf") == (4, "", f"{lost} done: `d.pdf` is written\n")
    assert run("explain", "JOB110") == (4, "", lost), "what an earlier run has done is not said again"
    code, _, err = run("draft", "--json", "absent.yaml")
    assert (code, err.startswith(lost), "PTH101" in err) == (2, True, True)


def test_what_is_done_is_said_whatever_ends_the_command(run, monkeypatch):
    monkeypatch.setattr("reportgen.cli.written.verdict_sentence", failing(ZeroDivisionError()))
    code, _, err = run("draft", "day.yaml", "-o", "d.pdf")
    assert (code, err.splitlines()[-1]) == (3, " done: `d.pdf` is written")
    monkeypatch.setattr("reportgen.cli.written.verdict_sentence", failing(KeyboardInterrupt()))
    interrupted = "\ninterrupted; nothing half-written is left behind\n done: `d.pdf` is written\n"
    assert run("draft", "day.yaml", "-o", "d.pdf") == (130, "", interrupted)


def test_a_bug_does_not_look_like_a_verdict(run, monkeypatch):
    monkeypatch.setattr("reportgen.cli.check_text.render_check", failing(ZeroDivisionError("of ours")))
    code, out, err = run("check", "day.yaml")
    assert (code, out) == (3, "")
    assert err.startswith("reportgen: internal error, which ended the command. This is a bug of the program:\nTrace")


@pytest.mark.parametrize("command", ["verify", "audit"])
def test_too_little_memory_is_the_machines(run, monkeypatch, contract, command):
    (contract / "report.pdf").write_bytes(b"%PDF-1.7")
    monkeypatch.setattr("reportgen.issued.files.stat.S_ISREG", failing(MemoryError()))
    assert run(command, "report.pdf" if command == "verify" else ".") == (
        4,
        "",
        "error: this machine has too little memory free\n",
    )


def test_failures_as_data(run):
    code, out, err = run("draft", "--json", "absent.yaml")
    assert (code, err) == (2, "")
    assert json.loads(out)["diagnostics"][0]["code"] == "PTH101"


def test_a_folder_that_is_gone(run, monkeypatch):
    monkeypatch.setattr("os.getcwd", failing(FileNotFoundError()))
    message = "error: the current folder is gone\n help: change to one that exists\n"
    said = run("check", "day.yaml")
    monkeypatch.undo()
    assert said == (2, "", message)


def test_the_folder_of_the_job_is_no_place_for_code(run, contract):
    sys.path.insert(0, str(contract))
    run("explain", "JOB110")
    assert str(contract) not in sys.path


def test_the_module_runs_like_the_command(monkeypatch, capsys, contract):
    monkeypatch.chdir(contract)
    monkeypatch.setattr(sys, "path", sys.path[:])
    monkeypatch.setattr(sys, "argv", ["reportgen", "check", "day.yaml"])
    with pytest.raises(SystemExit) as ended:
        runpy.run_module("reportgen", run_name="__main__")
    assert ended.value.code == 0
    assert "Conforms" in capsys.readouterr().out
