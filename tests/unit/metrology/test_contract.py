"""The contract of a public formula: docstring sections, known sources, a reference test, imports downward only."""

import ast
import doctest
import inspect
from importlib import import_module
from pathlib import Path

import pytest

import reportgen.metrology
from reportgen.references import citation_keys

PACKAGE = Path(reportgen.metrology.__file__).parent
REFERENCE = Path(__file__).parents[2] / "reference"
LEVELS = {
    "exact": 0, "distributions": 1, "statistics": 2, "uncertainty": 2,
    "climate": 3, "contamination": 3, "sampling": 3, "conformity": 3, "plausibility": 3, "tape": 3, "overlap": 4,
    "conductivity": 4, "comparison": 4,
}  # fmt: skip
FOUNDATION = {"exact"}
SECTIONS = ("Parameters:", "Returns:", "Raises:", "Valid range:", "Accuracy:", "Source:", "Examples:")
MAY_BE_LEFT_OUT = {"Returns:", "Raises:", "Valid range:", "Accuracy:"}
WRITERS = {"computed_grubbs_critical", "computed_two_sided_factor"}


def formulas():
    for name in sorted(LEVELS.keys() - FOUNDATION):
        module = import_module(f"reportgen.metrology.{name}")
        for entry, function in vars(module).items():
            public = inspect.isroutine(inspect.unwrap(function)) and not entry.startswith("_")
            if public and function.__module__ == module.__name__ and entry not in WRITERS:
                yield function


FORMULAS = list(formulas())


def section(text, title):
    start = text.index(title) + len(title)
    ends = [text.find(other, start) for other in SECTIONS if text.find(other, start) != -1]
    return text[start : min(ends, default=len(text))].strip()


def test_all_modules_are_placed_on_a_level():
    assert {path.stem for path in PACKAGE.glob("*.py")} == LEVELS.keys() | {"__init__"}
    assert len(FORMULAS) > 40


@pytest.mark.parametrize("function", FORMULAS, ids=lambda function: function.__name__)
def test_docstring_has_its_sections_in_order(function):
    text = inspect.getdoc(function)
    there = [title for title in SECTIONS if title in text]
    assert set(SECTIONS) - set(there) <= MAY_BE_LEFT_OUT
    assert ("Returns:" in there) == (inspect.signature(function).return_annotation != "None")
    places = [text.index(title) for title in there]
    assert places == sorted(places)
    assert ">>> " in section(text, "Examples:")
    lines = section(text, "Parameters:").splitlines()
    named = [line.strip().partition(" : ")[0] for line in lines if " : " in line]
    assert named == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("function", FORMULAS, ids=lambda function: function.__name__)
def test_sources_are_known(function):
    keys = section(inspect.getdoc(function), "Source:").split(", ")
    assert set(keys) <= set(citation_keys())


@pytest.mark.parametrize("function", FORMULAS, ids=lambda function: function.__name__)
def test_a_reference_test_names_the_function(function):
    texts = [path.read_text("utf-8") for path in REFERENCE.glob("test_*.py")]
    assert any(f"{function.__name__}(" in text for text in texts)


@pytest.mark.parametrize("name", sorted(LEVELS))
def test_examples_give_what_they_say(name):
    assert doctest.testmod(import_module(f"reportgen.metrology.{name}")).failed == 0


@pytest.mark.parametrize("name", sorted(LEVELS))
def test_imports_point_downward_only(name):
    tree = ast.parse((PACKAGE / f"{name}.py").read_text("utf-8"))
    imported = {
        node.module.rpartition(".")[2]
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("reportgen.metrology.")
    }
    assert all(LEVELS[other] < LEVELS[name] for other in imported)
