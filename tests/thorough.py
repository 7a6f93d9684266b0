"""How much of the suite a run takes: all of it with ``CI=true``, else a fixed part that takes minutes.

Where files or tests are named on the command line, they run as a whole too. Else there stay out:

- in the folders of ``ONE_IN``, all tests but one in so many, each row of a test counted as one. Which ones, their names
  say: the same in each run and for each worker, whatever is added beside them; at least one of each file;
- what is marked ``thorough``: single tests that take long;
- of what repeats itself in a test (``repeats``) and of the examples of Hypothesis, all but one in ``REPEATED``.
"""

from __future__ import annotations

import os
from collections import defaultdict
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from zlib import crc32

import pytest
from hypothesis import HealthCheck, settings

ONE_IN = {
    "tests/e2e": 8,
    "tests/unit/cli": 6,
    "tests/golden": 4,
    "tests/diagnostics": 4,
    "tests/property": 3,
    "tests/unit": 3,
}
"""Folder → one test in so many runs there; the first that holds a file counts."""
REPEATED = 5

_run = SimpleNamespace(whole=os.environ.get("CI") == "true")
_TOLD = pytest.StashKey[str]()


def repeats(number: int) -> int:
    """Return how many of so many repetitions this run takes."""
    return number if _run.whole else max(1, number // REPEATED)


def pytest_configure(config: pytest.Config) -> None:
    """Decide it before the first test is imported, as its decorators ask for ``repeats``."""
    _run.whole = _run.whole or any(Path(one.partition("::")[0]).is_file() for one in config.args)
    if not _run.whole:
        slow = [HealthCheck.too_slow]
        settings.register_profile(
            "part",
            max_examples=repeats(100),
            derandomize=True,
            database=None,
            deadline=None,
            suppress_health_check=slow,
        )
        settings.load_profile("part")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if _run.whole:
        return
    files = defaultdict(list)
    for item in items:
        files[item.nodeid.partition("::")[0]].append(item)
    kept = {item for file, tests in files.items() for item in _kept(file, tests)}
    out = [item for item in items if item not in kept]
    config.stash[_TOLD] = told = f"a part of the tests: {len(out):,} of {len(items):,} are left out; CI=true runs all"
    if hasattr(config, "workerinput"):
        Path(config.workerinput["traces"], "left-out").write_text(told, encoding="utf-8")
    items[:] = [item for item in items if item in kept]
    config.hook.pytest_deselected(items=out)


def _kept(file: str, tests: list[pytest.Item]) -> list[pytest.Item]:
    one_in = next((number for folder, number in ONE_IN.items() if file.startswith(f"{folder}/")), 1)
    drawn = {item: crc32(item.nodeid.encode()) for item in tests if item.get_closest_marker("thorough") is None}
    return [item for item, number in drawn.items() if number % one_in == 0 or number == min(drawn.values())]


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_node_collection_finished(node: Any, ids: list[str]) -> None:
    """Say it at the head of a run of several workers, which collect the tests in its place."""
    told = Path(node.workerinput["traces"], "left-out")
    if _TOLD not in node.config.stash and told.exists():
        node.config.stash[_TOLD] = told.read_text(encoding="utf-8")
        node.config.get_terminal_writer().line(f"\n{node.config.stash[_TOLD]}")


def pytest_report_collectionfinish(config: pytest.Config) -> str:
    return config.stash.get(_TOLD, "")


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Say it at the end too, where one looks first."""
    if _TOLD in config.stash:
        terminalreporter.write_line(config.stash[_TOLD])
