"""How far a change reaches, on a copy of the package: a ninth kind of measurement, a new finding code.

The ninth kind is the dust slice under another name: one folder, its line in the registry, its four fields. A finding
code is a line in one file and its sentences in the catalogues of the same name; a rule that finds it asks for nothing
more. How far a reworded sentence and a new member of a result reach is seeded in `tests/archive`.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from reportgen.words.catalogue import languages

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
CODE = (
    "results/codes/records.py",
    (
        '\n\nclass StairsSeen(Facts):\n    """How many flights of stairs were seen."""\n\n    flights: int\n\n\n'
        'STAIRS_SEEN = notes("stairs-seen", StairsSeen)\n'
    ),
)
"""A finding code, as DEVELOPERS.md says: its file, and what it declares there."""
SENTENCES = {
    "finding": "Stairs seen", "observed": "{flights} {flights:flight|flights} of stairs", "required": "no stairs",
    "told": "{observed}: {required}", "meaning": "Stairs were seen.", "rule": "None are expected.", "remedy": "Count.",
}  # fmt: skip
FINDS = (
    "rules/required_records.py",
    "    yield from slips_not_upheld(view, areas)\n",
    (
        "    yield from slips_not_upheld(view, areas)\n"
        "    yield from (codes.STAIRS_SEEN.found(codes.StairsSeen(2), Place(area.id)) for area in areas)\n"
    ),
)
"""A rule that finds it."""
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
    _with_code(package)
    return _with_contract(folder)


def _with_code(package):
    name, declared = CODE
    (package / name).write_text((package / name).read_text("utf-8") + declared, "utf-8")
    name, old, new = FINDS
    text = (package / name).read_text("utf-8")
    assert text.count(old) == 1
    (package / name).write_text(text.replace(old, new), "utf-8")
    for language in languages(drafts=False):
        path = package / f"words/data/{language}/records.toml"
        text = path.read_text("utf-8")
        for group, said in SENTENCES.items():
            assert text.count(f"[{group}]\n") == 1
            text = text.replace(f"[{group}]\n", f'[{group}]\nstairs-seen = "{said}"\n')
        path.write_text(text, "utf-8")


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


SCRIPT = """
import contextlib, io, json, sys
from reportgen.cli.main import main
said = []
for given in json.load(sys.stdin):
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = main(given)
    said.append((code, out.getvalue()))
json.dump(said, sys.stdout)
"""
"""Commands of the seeded package, one after the other: exit code and answer of each."""


def answered(seeded, *commands):
    """What commands of the seeded package answer in the contract's folder: exit code and words of each."""
    done = subprocess.run(
        [sys.executable, "-P", "-c", SCRIPT], cwd=seeded / "job", env={**os.environ, "PYTHONPATH": str(seeded)},
        input=json.dumps([list(map(str, one)) for one in commands]), capture_output=True, text=True, check=False,
        encoding="utf-8",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout), done.stderr


def test_it_needs_few_files_outside_its_folder():
    assert len(FIELDS) + 1 <= MOST_FILES  # and its formula


def test_it_is_checked_drawn_exported_issued_and_verified(seeded, tmp_path):
    day = "2026-09-15.yaml"
    said, wrong = answered(
        seeded,
        ("check", day, "--json"),
        ("check", day, "--all"),
        ("sheet", day, "-o", tmp_path / "sheet.pdf"),
        ("draft", day, "-o", tmp_path / "draft.pdf"),
        ("export", day, "--to", "csv", "-o", tmp_path / "tables"),
        ("issue", day, "--identity", "demo", "-o", tmp_path / "report.pdf"),
        ("verify", tmp_path / "report.pdf", "--photos", ".", "--json"),
        ("explain", "stairs-seen"),
        ("verify", tmp_path / "report.pdf", "--photos", ".", "--language", "de"),
    )
    codes, words = zip(*said, strict=True)
    assert set(codes[:2]) <= {0, 1}, wrong
    assert codes[2:] == (0, 0, 0, 0, 1, 0, 1), wrong
    told = json.loads(words[0])
    (above,) = [one for one in told["findings"] if one["code"] == "fins-above-maximum"]
    assert (above["place"]["location"], above["facts"]["quantity"], told["fins"][0]["verdict"]) == (
        "F1", 4, "does not conform",
    )  # fmt: skip
    assert "fins of quantity 4, size class 2" in words[1]
    assert "F1" in (tmp_path / "tables/fins.csv").read_text("utf-8")
    assert {one["facts"]["flights"] for one in told["findings"] if one["code"] == "stairs-seen"} == {2}
    assert "2 flights of stairs" in words[1]
    assert "Stairs were seen." in words[7]
    (verified,) = json.loads(words[6])
    steps = {step["number"]: step["status"] for step in verified["steps"]}
    assert [steps[number] for number in (7, 8, 9, 10)] == ["passed"] * 4
