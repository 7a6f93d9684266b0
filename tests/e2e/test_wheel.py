"""The wheel alone, away from the checkout, issues a report: templates, fonts and data travel with it."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import JOBS, ROOT


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built and unpacked as pip installs it, into a folder of its own."""
    folder = tmp_path_factory.mktemp("wheel")
    built = subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(folder), str(ROOT)],
        capture_output=True,
        text=True,
        check=False,
    )
    if built.returncode and os.environ.get("CI") != "true":
        pytest.skip("the wheel cannot be built here: its build needs the package index")
    assert built.returncode == 0, built.stderr
    wheel = next(folder.glob("*.whl"))
    site = folder / "site"
    subprocess.run(
        [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", str(site), str(wheel)], check=True
    )
    return site


def test_the_wheel_issues_a_report_from_outside_the_checkout(installed, tmp_path):
    job = shutil.copytree(min(path for path in JOBS.iterdir() if path.is_dir()), tmp_path / "job")
    day = min(Path(job).glob("2*.yaml"))
    code = (
        "import sys, reportgen; from reportgen.cli import main; "
        "assert reportgen.__file__.startswith(sys.argv[1]), reportgen.__file__; "
        "sys.exit(main(['issue', sys.argv[2], '--identity', 'demo', '-o', 'out.pdf', '--template', 'letter-en']))"
    )
    environment = {**os.environ, "PYTHONPATH": str(installed)}
    result = subprocess.run(
        [sys.executable, "-c", code, str(installed), str(day)],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 0, result.stdout + result.stderr
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF-")


def test_the_wheel_holds_no_tests_and_no_jobs(installed):
    names = {path.relative_to(installed).parts[0] for path in installed.rglob("*") if path.is_file()}
    assert {name for name in names if not name.endswith(".dist-info")} <= {"reportgen", "bin"}
    assert list((installed / "reportgen" / "templates").glob("*.yaml"))


def test_the_wheel_holds_all_that_the_pages_are_made_of(installed):
    here, there = ROOT / "reportgen" / "browser", installed / "reportgen" / "browser"
    parts = [path.relative_to(here) for folder in ("templates", "static", "data") for path in (here / folder).iterdir()]
    assert {"templates/base.html", "static/htmx.min.js", "static/htmx-LICENSE.txt", "data/de.toml"} <= {
        part.as_posix() for part in parts
    }
    assert [part for part in parts if not (there / part).is_file()] == []
    assert [part for part in parts if (there / part).read_bytes() != (here / part).read_bytes()] == []
