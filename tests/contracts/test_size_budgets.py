"""Modules of at most 400 lines, functions of at most 40 lines of code, a docstring on every public name."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "reportgen"
MODULES = sorted(PACKAGE.rglob("*.py"))
MODULE_LINES = 400
FUNCTION_LINES = 40


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_module_keeps_its_budget(module):
    source = module.read_text(encoding="utf-8")
    assert len(source.splitlines()) <= MODULE_LINES
    tree = ast.parse(source)
    assert [offence for offence in map(_long, _functions(tree)) if offence] == []
    assert _undocumented(tree) == []


def _functions(tree):
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]


def _long(function):
    """Count the lines that hold code: the docstring, comments and blank lines are free."""
    nested = {line for inner in _functions(function) if inner is not function for line in _code_lines(inner)}
    lines = _code_lines(function) - nested
    return f"{function.name}: {len(lines)} lines of code" if len(lines) > FUNCTION_LINES else None


def _code_lines(function):
    docstring = function.body[0] if ast.get_docstring(function) else None
    found = set()
    for node in ast.walk(function):
        if node is docstring or (docstring is not None and node is docstring.value):
            continue
        if hasattr(node, "lineno") and not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            found.update((node.lineno, node.end_lineno))
    return found


def _undocumented(tree):
    scopes = [tree, *(node for node in ast.walk(tree) if isinstance(node, ast.ClassDef))]
    return [
        node.name
        for scope in scopes
        for node in scope.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not any(getattr(d, "id", getattr(d, "attr", "")) in {"setter", "override"} for d in node.decorator_list)
        and not ast.get_docstring(node)
    ]


def test_the_budgets_can_fail():
    body = "\n".join(f"    x{n} = {n}" for n in range(FUNCTION_LINES + 1))
    assert _long(_functions(ast.parse(f"def long():\n{body}"))[0]) == "long: 41 lines of code"
    assert _undocumented(ast.parse("def bare():\n    pass")) == ["bare"]
