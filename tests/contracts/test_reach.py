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
from pypdf import PdfReader

from reportgen.words.catalogue import languages
from tests.unit.cli.conftest import _CLOCKS, DAY, PROJECT
from tests.unit.cli.test_slip import LATE_CHECK

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
OPTIONAL = {
    "record.py": ("    location: Ident\n", "    location: Ident | None = None\n"),
    "rule.py": ("    location: str\n", "    location: str | None\n"),
    "en.toml": (" at location {location}", "[ at location {location}]"),
    "de.toml": (" an Messstelle {location}", "[ an Messstelle {location}]"),
}
"""What the copied kind has otherwise: a test may be of a whole surface."""
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
            if file.name in OPTIONAL:
                assert text.count(OPTIONAL[file.name][0]) == 1, file.name
                text = text.replace(*OPTIONAL[file.name])
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
    found = "    fins: [{location: F1, quantity: 4, size: 2}, {quantity: 1, size: 1}]\n"
    first = re.search(r"(?m)^surfaces:\n  - (area: \S+)\n", day.read_text("utf-8"))
    day.write_text(day.read_text("utf-8").replace(first[0], first[0] + found, 1), "utf-8")
    return folder


SCRIPT = """
import contextlib, datetime, importlib, io, json, os, pathlib, sys
from reportgen.cli.main import main
asked = json.load(sys.stdin)
kept = dict(os.environ)
said = []
for given in asked["steps"]:
    out = io.StringIO()
    if isinstance(given, dict):
        pathlib.Path(given["file"]).write_text(given["text"], "utf-8")
        moment = datetime.datetime.fromisoformat(given["at"])
        for place in asked["clocks"]:
            importlib.import_module(f"reportgen.pipeline{place}").now = lambda: moment
        continue
    os.environ.update(kept)
    with contextlib.redirect_stdout(out):
        code = main(given)
    said.append((code, out.getvalue()))
json.dump(said, sys.stdout)
"""
"""Commands of the seeded package, one after the other: exit code and answer of each; between them a file is written."""


def answered(seeded, *commands, folder=None):
    """What commands of the seeded package answer in the contract's folder: exit code and words of each."""
    steps = [one if isinstance(one, dict) else list(map(str, one)) for one in commands]
    done = subprocess.run(
        [sys.executable, "-P", "-c", SCRIPT], cwd=folder or seeded / "job",
        env={**os.environ, "PYTHONPATH": str(seeded), "REPORTGEN_PASSPHRASE": "a passphrase for tests"},
        input=json.dumps({"clocks": _CLOCKS, "steps": steps}), capture_output=True, text=True, check=False,
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
    pages = " ".join(" ".join(page.extract_text() for page in PdfReader(tmp_path / "draft.pdf").pages).split())
    assert "quantity 1, size class 1 · required: quantity rating at most 2 " in pages
    assert "None" not in pages
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


def test_a_slip_that_differs_in_it_is_told(seeded, tmp_path):
    project = PROJECT.replace("  time_to_coat:", "  fins: {maximum_quantity: 2}\n  time_to_coat:")
    (tmp_path / "project.yaml").write_text(project, "utf-8")
    noon = DAY.replace("    profile:", "    fins: [{location: 1, quantity: 1, size: 1}]\n    profile:")
    early = LATE_CHECK.replace("14:30", "11:30")
    late = noon.replace(LATE_CHECK, early + LATE_CHECK).replace("quantity: 1, size: 1", "quantity: 2, size: 1")
    said, wrong = answered(
        seeded,
        {"file": "day.yaml", "text": noon.replace(LATE_CHECK, early), "at": "2026-05-04T11:40:00+00:00"},
        ("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body"),
        ("slip", "day.yaml", "A-1", "--identity", "keys/i-tern.p12"),
        {"file": "day.yaml", "text": late, "at": "2026-05-04T15:10:00+00:00"},
        ("check", "day.yaml", "--all"),
        ("issue", "day.yaml", "--identity", "keys/i-tern.p12", "-o", "report.pdf"),
        ("verify", "report.pdf", "--trust", "keys/i-tern-root.pem"),
        ("verify", "report.pdf", "--trust", "keys/i-tern-root.pem", "--language", "de"),
        folder=tmp_path,
    )
    words = [" ".join(text.split()) for _, text in said]
    assert [code for code, _ in said][:2] == [0, 0], (wrong, words)
    assert "otherwise here: the fins tests" in words[2], words[2]
    assert said[3][0] == 0, wrong
    assert ", on other fins tests;" in words[4]
    assert "bei anderen Angaben (Staubprüfungen)" in words[5]


TERMS = """
import json, pathlib
from reportgen.browser.terms_views import terms_view
parts = terms_view(pathlib.Path("."), "de")["parts"]
print(json.dumps([[one.at, one.label, one.value] for part in parts for one in part["fields"]]))
"""


def test_its_limit_can_be_entered_on_the_page_of_the_terms(seeded):
    done = subprocess.run(
        [sys.executable, "-P", "-c", TERMS], cwd=seeded / "job", env={**os.environ, "PYTHONPATH": str(seeded)},
        capture_output=True, text=True, check=False, encoding="utf-8",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    shown = {path: (label, value) for path, label, value in json.loads(done.stdout)}
    assert shown["specification/fins/maximum_quantity"] == ("Staub: Staub: zulässige Menge", "2")
