"""Habits of Windows, as far as they can be seen from elsewhere: line ends, byte-order marks, code pages, modules."""

import ntpath
import os
import subprocess
import sys

import pytest

from reportgen.browser.serving import starter_files, write_starter
from reportgen.cli.commands import new
from reportgen.loader.paths import UnreadableFileError, read_under
from tests.conftest import ROOT

IMPORT_ALL = """
import sys
for name in ("fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "syslog", "readline"):
    sys.modules[name] = None
import importlib, pkgutil, reportgen
for module in pkgutil.walk_packages(reportgen.__path__, "reportgen."):
    importlib.import_module(module.name)
print("all imported")
"""


def test_no_module_needs_what_only_posix_has():
    ran = subprocess.run([sys.executable, "-c", IMPORT_ALL], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stdout) == (0, "all imported\n"), ran.stderr


def as_notepad_saves(text: bytes) -> bytes:
    return b"\xef\xbb\xbf" + text.replace(b"\n", b"\r\n")


def test_project_day_and_readings_with_crlf_and_mark(run, demo):
    plain = run("check", "--json", demo / "2026-06-09.yaml").out
    for file in [*demo.glob("*.yaml"), *demo.glob("readings/*.csv")]:
        file.write_bytes(as_notepad_saves(file.read_bytes()))
    said = run("check", "--json", demo / "2026-06-09.yaml")
    assert said.code == 1
    assert said.out == plain


def test_typed_lines_with_crlf_and_mark(run, contract, monkeypatch):
    import io
    from types import SimpleNamespace

    for line in (b"A-1 2 a x1 2.7\r\n", b"\xef\xbb\xbfA-1 3 a x1 2.6\r\n"):
        typed = SimpleNamespace(buffer=io.BytesIO(line), isatty=lambda: False)
        monkeypatch.setattr(sys, "stdin", typed)
        said = run("intake", "-", "--into", "day.yaml")
        assert (said.code, said.err) == (0, "")
    assert "3 locations" in run("check", "day.yaml").out


def test_a_certificate_with_crlf_and_mark(run, contract, monkeypatch):
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "-o", "reports/SL-1-001.pdf")
    root = contract / "keys" / "i-tern-root.pem"
    root.write_bytes(as_notepad_saves(root.read_bytes()))
    said = run("verify", "reports/SL-1-001.pdf", "--trust", root, "--register", ".")
    assert said.code == 0, said.out + said.err
    assert said.out.startswith("reports/SL-1-001.pdf: passed\n")


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii"])
def test_a_console_that_lacks_characters_gets_escapes(demo, encoding):
    day = demo / "2026-06-09.yaml"
    day.write_text(day.read_text(encoding="utf-8").replace("project: project.yaml", "projekt\u0436: x"), "utf-8")
    environment = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    command = [sys.executable, "-m", "reportgen", "check"]
    for name, code in (("2026-06-09.yaml", 2), ("2026-06-08.yaml", 0)):
        ran = subprocess.run([*command, name], cwd=demo, env=environment, capture_output=True, check=False)
        assert ran.returncode == code, ran.stderr
        said = (ran.stdout + ran.stderr).decode(encoding)
        assert "internal error" not in said
    refused = subprocess.run([*command, day.name], cwd=demo, env=environment, capture_output=True, check=False)
    assert b"\\u0436" in refused.stderr


def test_a_link_to_another_drive_leaves_the_folder(monkeypatch, tmp_path):
    """Two drives have no path in common, and asking for it is an error of its own."""
    lies = {str(tmp_path): r"C:\job", str(tmp_path / "a.jpg"): r"D:\camera\a.jpg"}
    monkeypatch.setattr(os.path, "realpath", lambda path: lies[str(path)])
    monkeypatch.setattr(os.path, "commonpath", ntpath.commonpath)
    with pytest.raises(UnreadableFileError, match="is a link that leaves the job folder"):
        read_under(tmp_path, "a.jpg", 10)


@pytest.mark.parametrize("name", [r"photos\a.jpg", r"C:\photos\a.jpg", "C:a.jpg", r"\\server\share\a.jpg"])
def test_a_path_of_windows_is_refused_on_every_system(tmp_path, name):
    with pytest.raises(UnreadableFileError, match="points outside the job folder"):
        read_under(tmp_path, name, 10)


def test_the_starter_file_of_windows_finds_a_program_whose_path_has_other_letters(monkeypatch, tmp_path):
    """A console reads the file in its own code page: from the second line on in that of the file."""
    program = r"C:\Users\Jörg 100%\python.exe"
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(sys, "executable", program)
    path = write_starter(tmp_path)
    assert path.name == "open-reports.bat"
    lines = path.read_bytes().split(b"\r\n")
    assert lines[:3] == [b"@echo off", b"chcp 65001 >nul", b'cd /d "%~dp0"']
    assert lines[3].decode() == r'"C:\Users\Jörg 100%%\python.exe" -m reportgen open .'
    assert starter_files("python")["open-reports.bat"].isascii()


def test_without_a_line_to_edit_a_question_is_asked_plainly(monkeypatch):
    monkeypatch.setattr("builtins.input", lambda prompt: f" {prompt}answer ")
    monkeypatch.setitem(sys.modules, "readline", None)
    assert new._typed("? ", "before") == "? answer"
    monkeypatch.setattr(sys, "platform", "win32")
    assert new._typed("? ", "before") == "? answer"


@pytest.mark.parametrize("told", [True, False])
def test_a_browser_that_cannot_be_started_is_no_failure(run, contract, monkeypatch, told):
    """What starts one on Windows may do nothing, say that it did, or find none: the address is told in any case."""
    import webbrowser

    from reportgen import browser

    asked = []
    monkeypatch.setattr(webbrowser, "open", lambda address: bool(asked.append(address)) or told)
    monkeypatch.setattr(browser, "open_folder", lambda _, begun, **__: begun(lambda: "http://127.0.0.1:1/"))
    said = run("open", ".")
    assert (said.code, asked) == (0, ["http://127.0.0.1:1/"])
    assert "open this address within a minute; it opens once:\nhttp://127.0.0.1:1/" in said.out
