"""One concept, one word: names of the code keep to the glossary and avoid the words that say nothing."""

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BANNED_MODULES = {"utils", "util", "helpers", "helper", "common", "misc", "manager", "tools"}
BANNED_PREFIXES = ("process_", "handle_", "do_", "perform_", "manage_")
SYNONYMS = {
    "ncr": "nonconformance",
    "nonconformity": "nonconformance",
    "anchor_pattern": "profile",
    "roughness": "profile",
    "substrate_temperature": "steel",
    "surface_temperature": "steel",
    "pass_fail": "verdict",
    "site_location": "location",
}
"""Banned synonym → the word of the glossary in DEVELOPERS.md."""

MODULES = sorted((ROOT / "reportgen").rglob("*.py"))


def names(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield node.name
        elif isinstance(node, ast.arg):
            yield node.arg
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.id


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_names_keep_to_the_glossary(module):
    assert module.stem not in BANNED_MODULES
    tree = ast.parse(module.read_text(encoding="utf-8"))
    found = set(names(tree))
    functions = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
    assert [name for name in functions if name.strip("_").startswith(BANNED_PREFIXES)] == []
    parts = {part for name in found for part in (name.lower(), *name.lower().split("_"))}
    assert parts & SYNONYMS.keys() == set()


def test_the_glossary_lists_the_words():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    glossary = set(re.findall(r"^\| \*\*(.+?)\*\*", text, re.MULTILINE))
    assert set(SYNONYMS.values()) - {"steel"} <= glossary


SEVERAL = {
    "Answer", "Blasted", "Drawing", "Entry", "Facts", "Instrument", "Issue", "Judged", "Lacking", "NotInspected",
    "OnTape", "Order", "Outcome", "Problem", "Question", "Report", "Standing", "Statement", "Supersedes",
    "Task", "Terms", "Told",
}  # fmt: skip
"""Names that more than one class has so far, each in a room of its own: there may only be fewer."""


def test_a_class_has_a_name_of_its_own():
    found = Counter(
        node.name
        for module in MODULES
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
    )
    assert {name for name, times in found.items() if times > 1} == SEVERAL
