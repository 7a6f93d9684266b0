"""Imports point downward only, and each heavy library has one door: checked by import-linter."""

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def _lint(folder):
    return subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys; from importlinter.cli import lint_imports_command as run; run()",
            "--no-cache",
        ],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_layers_hold():
    result = _lint(ROOT)
    assert result.returncode == 0, result.stdout + result.stderr
    assert re.search(r"Contracts: [1-9]\d* kept, 0 broken", result.stdout)


def test_a_planted_upward_import_and_a_stray_door_are_caught(tmp_path):
    import shutil

    shutil.copytree(ROOT / "reportgen", tmp_path / "reportgen", ignore=shutil.ignore_patterns("data", "__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    errors = tmp_path / "reportgen" / "errors.py"
    errors.write_text(errors.read_text(encoding="utf-8") + "\nimport reportgen.job\nimport yaml\n", encoding="utf-8")
    result = _lint(tmp_path)
    assert result.returncode == 1
    assert "reportgen.errors -> reportgen.job" in result.stdout
    assert "reportgen.errors -> yaml" in result.stdout
