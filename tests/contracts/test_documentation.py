"""README and DEVELOPERS.md say what the program does: commands, codes, modules, and an example job that loads."""

import argparse
import dataclasses
import re
from pathlib import Path

import pytest

from reportgen.audit import PROBLEMS
from reportgen.cli.commands import build_parser
from reportgen.loader.codes import CODES
from reportgen.measurements import CODES as FINDING_CODES
from reportgen.words.sentences import sentences

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w*)\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def commands() -> dict[str, str]:
    parser = build_parser()
    verbs = next(action for action in parser._actions if isinstance(action, argparse._SubParsersAction))
    return {choice.dest: choice.help for choice in verbs._choices_actions}


def test_the_first_paragraph_states_the_job():
    title, first = README.split("\n\n")[:2]
    assert title.startswith("# ")
    assert "blast-cleaned" in first
    assert "signed" in first


def test_the_results_that_have_an_uncertainty_are_those_named():
    """The README says which: whoever gives another result its uncertainty mends that sentence and this list."""
    from reportgen import results
    from reportgen.measurements import MEASUREMENTS

    values = [one for one in vars(results).values() if isinstance(one, type) and dataclasses.is_dataclass(one)]
    values += [kind.result for kind in MEASUREMENTS]
    having = {one.__name__ for one in values for field in dataclasses.fields(one) if "uncertainty" in field.name}
    named = {
        "AreaResult": "as the mean of an area",
        "LocationResult": "the profile, at each location",
        "ConditionResult": "air and steel temperature, humidity, dew point and margin of each reading",
        "SaltResult": "each test of soluble salts",
        "AbrasiveResult": "the conductivity of the abrasive",
        "ComparedLocation": "how far somebody else's readings lie from the inspector's",
        "ComparisonResult": "how far somebody else's readings lie from the inspector's",
    }
    assert having - {"BudgetLine", "ResultBudget"} == named.keys()
    first = README.split("\n\n")[1]
    sentence = first[first.index("These results are stated with their uncertainty") : first.index("They are the only")]
    assert [text for text in named.values() if text not in sentence] == []
    without = first[first.index("They are the only ones that have one") :]
    assert "dust, stains and times are judged as they were written down" in without
    assert "uncertainty of every" not in README


def test_the_two_commands_stand_alone_in_their_blocks():
    shell = [text for language, text in BLOCKS if language == "sh"]
    assert "reportgen issue" in shell[0]
    assert "pytest" in shell[1]
    assert all(len(text.strip().splitlines()) == 1 for text in shell[:2])


def test_every_command_is_in_the_table_with_its_help():
    rows = dict(re.findall(r"^\| `reportgen ([\w-]+)` \| (.+) \|$", README, re.MULTILINE))
    assert rows == commands()


def test_every_message_code_is_explained():
    rows = dict(re.findall(r"^\| ([A-Z]{3}\d{3}) \| (.+) \|$", README, re.MULTILINE))
    assert rows == CODES


def test_every_finding_is_explained():
    rows = re.findall(r"^\| `([a-z-]+)` \| (.+?) \| (.+) \|$", README, re.MULTILINE)
    said = {code: sentences().explained(code) for code in FINDING_CODES}
    assert {code: (meaning, remedy) for code, meaning, remedy in rows if code not in PROBLEMS} == {
        code: (texts["meaning"], texts["remedy"]) for code, texts in said.items()
    }


def test_every_problem_that_an_audit_names_is_explained(capsys):
    from reportgen.cli import main

    rows = re.findall(r"^\| `([a-z-]+)` \| (\w+) \| (.+?) \| (.+?) \|$", README, re.MULTILINE)
    assert {code: tuple(told) for code, *told in rows} == {
        code: (kind.weight, kind.explained()["meaning"], kind.remedy) for code, kind in PROBLEMS.items()
    }
    for code, kind in PROBLEMS.items():
        assert main(["explain", code]) == 0
        assert " ".join(kind.remedy.split()) in " ".join(capsys.readouterr().out.split())


def test_the_example_job_is_answered_as_printed(tmp_path, monkeypatch, capsys):
    from reportgen.cli import main

    project, day = [text for language, text in BLOCKS if language == "yaml"][:2]
    (tmp_path / "project.yaml").write_text(project, encoding="utf-8")
    (tmp_path / "2026-05-04.yaml").write_text(day, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    command, printed = next(text for language, text in BLOCKS if language == "console").split("\n", 1)
    assert main(command.removeprefix("$ reportgen ").split()) == 0
    assert capsys.readouterr().out == printed


def test_the_example_of_a_message_is_printed_as_shown(tmp_path, monkeypatch, capsys):
    from reportgen.cli import main

    shown = re.search(r"^error\[JOB110\].*?(?=^```)", README, re.MULTILINE | re.DOTALL)[0]
    name, line = re.search(r"--> (\S+):(\d+):", shown).groups()
    entry = re.search(rf"^ *{line} \| (.*)$", shown, re.MULTILINE)[1]
    project, day = [text for language, text in BLOCKS if language == "yaml"][:2]
    first, report, rest = day.split("\n", 2)
    around = ["conditions:", '  - time: "07:00"', "    humidity: 60 %", "    steel: 17.0 degC"]
    comments = ["#"] * (int(line) - 1 - 2 - len(around))
    (tmp_path / "project.yaml").write_text(project, encoding="utf-8")
    (tmp_path / name).write_text("\n".join([first, report, *comments, *around, entry, rest]), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["check", name]) == 1  # what is wrong within an entry is set aside
    assert shown.strip() in capsys.readouterr().err


def test_every_room_is_in_the_layer_diagram():
    rooms = {
        path.stem for path in (ROOT / "reportgen").iterdir() if path.suffix == ".py" or (path / "__init__.py").exists()
    }
    rooms -= {"__init__"}
    diagram = DEVELOPERS.split("## Layers")[1].split("```")[1]
    assert set(re.findall(r"\w+", diagram)) == rooms


@pytest.mark.parametrize(
    "path",
    sorted(set(re.findall(r"`((?:tests|reportgen|jobs|samples|templates|\.ci)/[\w./-]+)`", DEVELOPERS + README))),
)
def test_every_path_named_exists(path):
    assert (ROOT / path).exists()


LINKED = sorted(
    {
        link
        for text in (DEVELOPERS, README)
        for link in re.findall(r"\]\(([^)#\s]+)(?:#[^)\s]*)?\)", text)
        if not link.startswith("http")
    }
)


@pytest.mark.parametrize("path", LINKED)
def test_every_link_leads_somewhere(path):
    assert (ROOT / path).exists()


def walked():
    """The rows of the walk of one reading: its shapes, and the file or room that each is made in."""
    chapter = DEVELOPERS.split("## The walk of one reading")[1].split("\n## ")[0]
    return re.findall(r"^\| [^|]+ \| ([^|]+) \| (.*\]\([^|]+\)) \|$", chapter, re.MULTILINE)


def test_the_walk_of_one_reading_names_what_stands_where_it_says():
    rows = walked()
    assert len(rows) == 10
    named = [
        (shape, re.findall(r"\]\(([^)]+)\)", where))
        for shapes, where in rows
        for shape in re.findall(r"`(\w+)`", shapes)
    ]
    assert len(named) >= 8
    for shape, places in named:
        files = [
            file
            for place in places
            for file in ([ROOT / place] if place.endswith(".py") else (ROOT / place).rglob("*.py"))
        ]
        assert any(re.search(rf"\b{shape}\b", file.read_text("utf-8")) for file in files), (shape, places)


def test_every_dependency_has_its_reason():
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    named = [*project["dependencies"], *(one for extra in project["optional-dependencies"].values() for one in extra)]
    names = {re.match(r"[\w-]+", requirement)[0].lower() for requirement in named}
    given = {"reportlab", "pydantic", "pyyaml", "pint", "pypdf", "pytest"}
    rows = {
        name.lower() for name in re.findall(r"^\| `([\w-]+)` \| ", DEVELOPERS.split("## Dependencies")[1], re.MULTILINE)
    }
    assert names - given <= rows


def test_the_public_safety_and_limits_are_stated():
    assert "## Safety" in README
    assert "## What is not promised" in README


def test_the_changes_to_come_are_told_by_interface():
    newest = (ROOT / "CHANGELOG.md").read_text("utf-8").split("\n## ")[1]
    headings = re.findall(r"^\*\*(.+)\*\*$", newest, re.MULTILINE)
    assert headings == ["Job files", "Command line", "Pages", "Python", "Archive"]


def test_the_reference_of_all_fields_is_that_of_the_models():
    from tests import build_fields

    written = build_fields.PAGE.read_text("utf-8")
    assert written == build_fields.page(), "run `python -m tests.build_fields`"
    for field in ("countersigners", "supersedes", "reinspects", "walk_outs", "comparator", "blasted_again"):
        (row,) = re.findall(rf"^\| \**`{field}`\** \| (.+) \|$", written, re.MULTILINE)[:1]
        assert f"`{field}: " in row, field
    assert "](samples/fields.md)" in README


def test_every_picture_of_the_pages_is_there():
    shown = re.findall(r"\]\((samples/[\w/-]+\.png)\)", README)
    assert len(shown) >= 3
    assert [one for one in shown if not (ROOT / one).read_bytes().startswith(b"\x89PNG")] == []
