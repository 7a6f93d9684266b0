"""The same input gives the same bytes in every process, whatever hash seed, time zone, locale or folder it runs in."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.golden.pages import report

ROOT = Path(__file__).parents[2]
SCRIPT = (
    "import hashlib, sys; sys.path.insert(0, {root!r});"
    "from tests.golden.pages import report;"
    "print(hashlib.sha256(report(2, 3).pdf).hexdigest())"
)


def digest_in(folder, **environment):
    settings = {
        key: value for key, value in os.environ.items() if key not in {"TZ", "LANG", "LC_ALL", "PYTHONHASHSEED"}
    }
    out = subprocess.run(
        [sys.executable, "-c", SCRIPT.format(root=str(ROOT))],
        capture_output=True, text=True, check=True, cwd=folder, env=settings | environment,
    )  # fmt: skip
    return out.stdout.strip()


@pytest.mark.parametrize(
    "environment",
    [
        {"PYTHONHASHSEED": "1", "TZ": "Asia/Kathmandu", "LC_ALL": "C"},
        {"PYTHONHASHSEED": "77", "TZ": "America/St_Johns", "LANG": "de_DE.UTF-8"},
    ],
    ids=["seed 1", "seed 77"],
)
def test_bytes_do_not_depend_on_the_process(tmp_path, environment):
    assert digest_in(tmp_path, **environment) == hashlib.sha256(report(2, 3).pdf).hexdigest()


def test_bytes_do_not_depend_on_what_was_rendered_before():
    first = report(2, 3).pdf
    report.cache_clear()
    report(1, 2)
    assert report(2, 3).pdf == first


def test_no_clock_and_no_folder_is_in_the_file():
    data = report(2, 3).pdf
    assert str(ROOT).encode() not in data
    assert b"site-packages" not in data
