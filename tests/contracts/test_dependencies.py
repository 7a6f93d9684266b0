"""What the code imports is declared, and what is declared is used: nothing works by accident of another package."""

import ast
import functools
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
PLUGINS = {
    "pytest-cov",
    "pytest-randomly",
    "pytest-socket",
    "pytest-xdist",
    "import-linter",
    "tzdata",
    "python-multipart",
}
"""Used without being imported by name: by pytest, by its command, by the standard library, by starlette."""


def declared(requirements):
    return {re.match(r"[\w.-]+", one)[0].lower().replace("_", "-") for one in requirements}


@functools.cache
def imported(folder):
    names = set()
    for path in (ROOT / folder).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names.add(node.module.split(".")[0])
    own = {"reportgen", "tests", *sys.stdlib_module_names}
    homes = packages_distributions()
    return frozenset(homes.get(name, [name])[0].lower().replace("_", "-") for name in names - own)


OPTIONAL = {name: declared(requirements) for name, requirements in PROJECT["optional-dependencies"].items()}
CORE = declared(PROJECT["dependencies"])


def test_every_import_of_the_package_is_declared():
    extras = set().union(*(found for name, found in OPTIONAL.items() if name not in {"test", "lint"}))
    assert imported("reportgen") - CORE - extras == set()


def test_every_import_of_the_tests_is_declared():
    assert imported("tests") - CORE - OPTIONAL["test"] - {"distributed", "dask"} == set()


def test_everything_declared_is_used():
    assert CORE - imported("reportgen") - PLUGINS == set()
    assert OPTIONAL["test"] - imported("tests") - PLUGINS == set()
