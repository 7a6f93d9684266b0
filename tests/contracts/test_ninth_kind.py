"""A ninth kind of measurement, seeded: one folder, its line in the registry, its four fields; everything else follows.

The seed is the dust slice under another name, put into a copy of the package; nothing else of the copy is touched.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FIELDS = {
    "measurements/__init__.py": [
        ("from reportgen.measurements.dust import DUST\n",
         "from reportgen.measurements.dust import DUST\nfrom reportgen.measurements.fins import FINS\n"),
        ("SALTS, DUST,", "SALTS, DUST, FINS,"),
    ],
    "job/day.py": [
        ("from reportgen.measurements.dust import DustTest\n",
         "from reportgen.measurements.dust import DustTest\nfrom reportgen.measurements.fins import FinsTest\n"),
        ("    dust: list[DustTest] = []\n", "    dust: list[DustTest] = []\n    fins: list[FinsTest] = []\n"),
    ],
    "job/project.py": [
        ("from reportgen.measurements.dust import DustLimit\n",
         "from reportgen.measurements.dust import DustLimit\nfrom reportgen.measurements.fins import FinsLimit\n"),
        ("    dust: DustLimit | None = None\n",
         "    dust: DustLimit | None = None\n    fins: FinsLimit | None = None\n"),
    ],
    "results/values.py": [
        ("    dust: tuple[Any, ...] = ()\n", "    dust: tuple[Any, ...] = ()\n    fins: tuple[Any, ...] = ()\n"),
    ],
}  # fmt: skip
"""What a new kind needs outside its folder, as DEVELOPERS.md says."""
MOST_FILES = 6
KEPT = ("metrology.contamination import Dust, dust_of_sizes, dust_within", "dust_within(Dust(", "dust_of_sizes(Dust(")
"""What the copied rule goes on using of dust: the formulas."""


@pytest.fixture(scope="module")
def seeded(tmp_path_factory):
    """A folder with the package and its ninth kind, and a contract that limits and tests it."""
    folder = tmp_path_factory.mktemp("ninth")
    package = folder / "reportgen"
    shutil.copytree(ROOT / "reportgen", package, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "templates", folder / "templates")
    for file in (ROOT / "reportgen/measurements/dust").iterdir():
        if file.is_file():
            text = file.read_text("utf-8")
            for number, kept in enumerate(KEPT):
                text = text.replace(kept, f"KEPT_{number};")
            text = re.sub(r"\bDUST\b", "FINS", re.sub("Dust", "Fins", re.sub("dust", "fins", text)))
            for number, kept in enumerate(KEPT):
                text = text.replace(f"KEPT_{number};", kept)
            target = package / "measurements/fins" / file.name
            target.parent.mkdir(exist_ok=True)
            target.write_text(text, "utf-8")
    for name, changes in FIELDS.items():
        text = (package / name).read_text("utf-8")
        for old, new in changes:
            assert text.count(old) == 1, (name, old)
            text = text.replace(old, new)
        (package / name).write_text(text, "utf-8")
    return _with_contract(folder)


def _with_contract(folder):
    job = folder / "job"
    shutil.copytree(ROOT / "jobs/tessowick", job)
    project, day = job / "project.yaml", job / "2026-09-15.yaml"
    limited = re.sub(
        r"(?m)^specification:\n", "specification:\n  fins: {maximum_quantity: 2}\n", project.read_text("utf-8")
    )
    project.write_text(limited, "utf-8")
    found = "    fins: [{location: F1, quantity: 4, size: 2}]\n"
    first = re.search(r"(?m)^surfaces:\n  - (area: \S+)\n", day.read_text("utf-8"))
    day.write_text(day.read_text("utf-8").replace(first[0], first[0] + found, 1), "utf-8")
    return folder


@pytest.fixture
def run(seeded):
    """Run a command of the seeded package in the contract's folder."""

    def command(*given, codes=(0,)):
        environment = {**os.environ, "PYTHONPATH": str(seeded), "PYTHONDONTWRITEBYTECODE": "1"}
        code = "import sys; from reportgen.cli.main import main; sys.exit(main(sys.argv[1:]))"
        done = subprocess.run(
            [sys.executable, "-P", "-c", code, *given], cwd=seeded / "job", env=environment, capture_output=True,
            text=True, check=False, encoding="utf-8",
        )  # fmt: skip
        assert done.returncode in codes, done.stderr
        return done.stdout

    return command


def test_it_needs_few_files_outside_its_folder():
    assert len(FIELDS) + 1 <= MOST_FILES  # and its formula


def test_it_is_checked_drawn_exported_issued_and_verified(run, seeded, tmp_path):
    told = json.loads(run("check", "2026-09-15.yaml", "--json", codes=(0, 1)))
    (above,) = [one for one in told["findings"] if one["code"] == "fins-above-maximum"]
    assert (above["place"]["location"], above["facts"]["quantity"], told["fins"][0]["verdict"]) == (
        "F1", 4, "does not conform",
    )  # fmt: skip
    assert "fins of quantity 4, size class 2" in run("check", "2026-09-15.yaml", "--all", codes=(0, 1))
    run("sheet", "2026-09-15.yaml", "-o", str(tmp_path / "sheet.pdf"))
    run("draft", "2026-09-15.yaml", "-o", str(tmp_path / "draft.pdf"))
    run("export", "2026-09-15.yaml", "--to", "csv", "-o", str(tmp_path / "tables"))
    assert "F1" in (tmp_path / "tables/fins.csv").read_text("utf-8")
    run("issue", "2026-09-15.yaml", "--identity", "demo", "-o", str(tmp_path / "report.pdf"))
    (verified,) = json.loads(run("verify", str(tmp_path / "report.pdf"), "--photos", ".", "--json", codes=(1,)))
    steps = {step["number"]: step["status"] for step in verified["steps"]}
    assert [steps[number] for number in (7, 8, 9, 10)] == ["passed"] * 4
