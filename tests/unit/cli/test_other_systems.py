"""Habits of Windows, as far as they can be seen from elsewhere: line ends, byte-order marks, code pages, modules."""

import os
import subprocess
import sys

import pytest

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
