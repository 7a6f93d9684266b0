"""``check --watch``: checks again after a save, notices files that appear, ends with the last exit code."""

import os

import pytest

from reportgen.cli import watching
from reportgen.cli.watching import named_files, watch
from reportgen.pipeline import check


class Script:
    """A ``sleep`` that carries out what it is told, one step a call, then presses Ctrl-C."""

    def __init__(self, *steps) -> None:
        self.steps = list(steps)

    def __call__(self, seconds: float) -> None:
        assert seconds == watching.INTERVAL
        if not self.steps:
            raise KeyboardInterrupt
        self.steps.pop(0)()


def rest() -> None:
    """Nothing happens."""


def saved(path, old: str, new: str):
    def save() -> None:
        path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
        later = path.stat().st_mtime_ns + 10_000_000
        os.utime(path, ns=(later, later))

    return save


@pytest.fixture
def watched(run, monkeypatch):
    def command(*arguments, steps):
        monkeypatch.setattr(watching.watch, "__kwdefaults__", {"quiet": False, "sleep": Script(*steps)})
        return run("check", "--watch", *arguments)

    return command


def test_a_save_is_checked_again_once_it_has_settled(watched, contract):
    day = contract / "day.yaml"
    bad, good = saved(day, "x1: 2.9", "x1: 4.2"), saved(day, "x1: 4.2", "x1: 2.8")
    code, out, _ = watched("day.yaml", steps=(rest, bad, rest))
    assert code == 1
    assert out.count("watching 2 files; Ctrl-C ends\n") == 2
    assert out.index("Conforms") < out.index("Does not conform")
    assert "\x1b" not in out
    code, out, _ = watched("day.yaml", steps=(good, rest))
    assert code == 0


def test_a_file_still_being_written_is_waited_for(watched, contract):
    day = contract / "day.yaml"
    steps = (saved(day, "x1: 2.9", "x1: 4.2"), saved(day, "x1: 4.2", "x1: 2.7"), rest)
    code, out, _ = watched("day.yaml", steps=steps)
    assert code == 0
    assert out.count("Conforms") == 2


def test_a_missing_file_is_noticed_when_it_appears(watched, contract):
    project = contract / "project.yaml"
    text = project.read_text(encoding="utf-8")
    project.unlink()
    code, out, err = watched("day.yaml", steps=(lambda: project.write_text(text, encoding="utf-8"), rest))
    assert code == 0
    assert "PTH101" in err
    assert "Conforms" in out


def test_the_project_file_is_watched_while_the_day_is_wrong(watched, contract):
    wrong = saved(contract / "day.yaml", "gauge: g1", "gauge: g7")
    wrong()
    steps = (saved(contract / "project.yaml", "  g1: {kind", "  g7: {kind"), rest)
    code, _, err = watched("day.yaml", steps=steps)
    assert code == 0
    assert "JOB202" in err


def test_the_screen_is_cleared_on_a_terminal_only(watched, terminal):
    terminal("stdout")
    assert watched("day.yaml", steps=()).out.startswith("\x1b[2J\x1b[3J\x1b[HSL-1-001")


def test_data_stay_data(watched, contract, terminal, monkeypatch):
    terminal("stdout")
    monkeypatch.setattr(watching.watch, "__kwdefaults__", {"quiet": False, "sleep": Script()})
    code, out, err = watched("--json", "day.yaml", steps=())
    assert (code, err) == (0, "")
    assert len(out.splitlines()) == 1


def test_ctrl_c_during_the_first_check_ends_it_too(capsys):
    def interrupted():
        raise KeyboardInterrupt

    assert watch(interrupted) == 0
    assert capsys.readouterr().out == "\n"


def test_what_a_day_depends_on(demo):
    day = demo / "2026-06-09.yaml"
    names = {file.relative_to(demo).as_posix() for file in named_files(day, check(day))}
    assert {"2026-06-09.yaml", "project.yaml", "readings/2026-06-09-K-4.csv", "photos/qw-002-nozzle.jpg"} <= names
    guessed = {file.relative_to(demo).as_posix() for file in named_files(day, None)}
    assert {name for name in names if "2026-06-08" not in name} <= guessed  # an earlier day it does not name
    assert named_files(demo / "absent.yaml", None) == {demo / "absent.yaml"}
