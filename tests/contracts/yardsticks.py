"""What the size of the code is measured by; `python -m tests.contracts.yardsticks [ROOM]` prints what lies beyond."""

import ast
import statistics
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import complexipy

PACKAGE = Path(__file__).parents[2] / "reportgen"
MODULE_LINES = 600
SMALL_MODULE_LINES = 60
FUNCTION_LINES = 50
STORY_LINES, STORY_COMPLEXITY = 80, 4
COMPLEXITY = 15
NESTING = 3
USED_ONCE_SHARE = 0.5

_BLOCKS = (ast.If, ast.For, ast.While, ast.With, ast.Try, ast.Match)
_FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


@dataclass(frozen=True)
class Function:
    """One function: code lines (docstring, comments and blank lines are free), complexity, deepest nesting."""

    name: str
    lines: int
    complexity: int
    nesting: int


def functions(source: str) -> list[Function]:
    """Return every function of a module's text, methods and inner ones too."""
    tree = ast.parse(source)
    complexity = {f.line_start: f.complexity for f in complexipy.code_complexity(source).functions}
    return [
        Function(node.name, len(_code_lines(node)), complexity.get(node.lineno, 0), _depth(node.body))
        for node in ast.walk(tree)
        if isinstance(node, _FUNCTIONS)
    ]


def offences(source: str) -> list[str]:
    """Return what in a module's text lies beyond a yardstick, one line each."""
    found = []
    lines = len(source.splitlines())
    if lines > MODULE_LINES:
        found.append(f"{lines} lines")
    for function in functions(source):
        longest = STORY_LINES if function.complexity <= STORY_COMPLEXITY else FUNCTION_LINES
        if function.lines > longest:
            found.append(f"{function.name}: {function.lines} lines of code, {longest} allowed")
        if function.complexity > COMPLEXITY:
            found.append(f"{function.name}: cognitive complexity {function.complexity}")
        if function.nesting > NESTING:
            found.append(f"{function.name}: {function.nesting} blocks deep")
    return found + [f"{name}: no docstring" for name in _undocumented(ast.parse(source))]


def used_once(room: Path) -> tuple[list[str], int]:
    """Return the private functions of a room that stand in one place only, and how many private ones there are.

    A place is a mention outside the function itself: a call, a decorator, an argument.
    """
    private, mentions = [], Counter()
    for path in sorted(room.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        private += [
            (path, node.name)
            for node in ast.walk(tree)
            if isinstance(node, _FUNCTIONS) and node.name.startswith("_") and not node.name.endswith("__")
        ]
        mentions.update((path, name) for name in _mentions(tree))
    once = [f"{path.relative_to(PACKAGE)}:{name}" for path, name in private if mentions[path, name] == 1]
    return once, len(private)


def importers() -> dict[str, set[str]]:
    """Return, for each module of the package by dotted name, the modules that import it or a name out of it."""
    names = {_dotted(path): path for path in PACKAGE.rglob("*.py")}
    found: dict[str, set[str]] = {name: set() for name in names}
    for name, path in names.items():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                targets = [node.module or "", *(f"{node.module}.{alias.name}" for alias in node.names)]
            elif isinstance(node, ast.Import):
                targets = [alias.name for alias in node.names]
            else:
                continue
            for target in targets:
                if target in found and target != name:
                    found[target].add(name)
    return found


def lonely() -> list[str]:
    """Return the modules under the size that needs more than one importer, and have none or one.

    A command and a slice are found by their place; what makes imports lean is loaded before any room.
    """
    found = importers()
    return [
        str(path.relative_to(PACKAGE))
        for path in sorted(PACKAGE.rglob("*.py"))
        if path.name not in {"__init__.py", "__main__.py", "lean_import.py"}
        and not {"commands", "measurements"} & set(path.relative_to(PACKAGE).parts)
        and len(path.read_text(encoding="utf-8").splitlines()) < SMALL_MODULE_LINES
        and len(found[_dotted(path)]) <= 1
    ]


def _dotted(path):
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _mentions(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr


def _code_lines(function):
    docstring = function.body[0] if ast.get_docstring(function) else None
    inner = {node for node in ast.walk(function) if isinstance(node, _FUNCTIONS) and node is not function}
    skipped = {id(node) for other in inner for node in ast.walk(other)}
    found = set()
    for node in ast.walk(function):
        if id(node) in skipped or (docstring is not None and node in (docstring, docstring.value)):
            continue
        if hasattr(node, "lineno") and node is not function:
            found.update((node.lineno, node.end_lineno))
    return found


def _depth(statements, depth=0):
    deepest = depth
    for node in statements:
        for block in _inner_blocks(node):
            deepest = max(deepest, _depth(block, depth + 1))
    return deepest


def _inner_blocks(node):
    if isinstance(node, ast.If):
        yield node.body
        # `elif` reads as one level, not as one inside the other.
        while len(node.orelse) == 1 and isinstance(node.orelse[0], ast.If):
            node = node.orelse[0]
            yield node.body
        yield node.orelse
    elif isinstance(node, ast.Match):
        yield from (case.body for case in node.cases)
    elif isinstance(node, _BLOCKS):
        yield node.body
        yield from (handler.body for handler in getattr(node, "handlers", ()))
        yield getattr(node, "orelse", [])
        yield getattr(node, "finalbody", [])


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


def rooms() -> list[Path]:
    """Return the rooms of the package: its folders that hold modules."""
    return sorted(path.parent for path in PACKAGE.glob("*/__init__.py"))


def main(names: list[str]) -> None:
    """Print what lies beyond the yardsticks in the rooms named, or in all."""
    sizes = []
    lone = lonely()
    for room in rooms():
        if names and room.name not in names:
            continue
        for path in sorted(room.rglob("*.py")):
            source = path.read_text(encoding="utf-8")
            sizes += [function.lines for function in functions(source)]
            for offence in offences(source):
                print(f"{path.relative_to(PACKAGE)}: {offence}")
        print(*(f"{name}: small, and one importer" for name in lone if name.startswith(f"{room.name}/")), sep="\n")
        once, private = used_once(room)
        total = sum(len(path.read_text(encoding="utf-8").splitlines()) for path in room.rglob("*.py"))
        share = len(once) / private if private else 0
        print(f"{room.name}: {total} lines, {len(once)} of {private} private functions used once ({share:.0%})")
        if names and share > USED_ONCE_SHARE:
            print("  " + "\n  ".join(once))
    sizes.sort()
    if sizes:
        nine = sizes[int(len(sizes) * 0.9)]
        print(f"functions: {len(sizes)}, median {statistics.median(sizes)}, 90 % {nine}, longest {sizes[-1]}")


if __name__ == "__main__":
    main(sys.argv[1:])
