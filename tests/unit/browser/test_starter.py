"""The starter file: a double click opens the folder it lies in, on three systems."""

import os
import subprocess
import sys

from reportgen.browser.serving import starter_files, write_starter


def test_each_changes_to_its_own_folder_and_runs_this_program(tmp_path):
    files = starter_files("/opt/a tool/bin/python")
    assert set(files) == {"open-reports.desktop", "open-reports.command", "open-reports.bat"}
    assert "'/opt/a tool/bin/python' -m reportgen open ." in files["open-reports.command"]
    assert '"/opt/a tool/bin/python" -m reportgen open .' in files["open-reports.bat"]
    assert files["open-reports.bat"].count("\r\n") == 5
    assert "Terminal=true" in files["open-reports.desktop"]


def test_it_runs_where_it_lies(tmp_path):
    folder = tmp_path / "a contract's folder"
    folder.mkdir()
    program = tmp_path / "python"
    program.write_text('#!/bin/sh\necho "$PWD" "$@"\n')
    program.chmod(0o755)
    script = folder / "open-reports.command"
    script.write_text(starter_files(str(program))["open-reports.command"])
    ran = subprocess.run(["sh", str(script)], capture_output=True, text=True, check=True, cwd=os.sep)
    assert ran.stdout.strip() == f"{folder} -m reportgen open ."


def test_the_one_of_this_system_is_written(tmp_path):
    path = write_starter(tmp_path)
    assert path.parent == tmp_path
    assert sys.executable in path.read_text()
    assert os.access(path, os.X_OK)
