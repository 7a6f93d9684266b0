"""The size of the code: whole stories, few jumps. Beyond a yardstick the design is asked first."""

import os
import sys
from pathlib import Path

import pytest

import reportgen
from reportgen.metrology import climate
from tests.contracts import yardsticks

JOBS = Path(__file__).parents[2] / "jobs"
MODULES = sorted(yardsticks.PACKAGE.rglob("*.py"))
CALLS_TO_A_FORMULA = 6
MORE = {
    "submittal": 0.7, "readings": 0.72, "audit": 0.7, "pipeline": 0.71, "rules": 0.7, "measurements": 0.68,
    "report": 0.68, "loader": 0.64, "sheet": 0.62, "verification": 0.55, "sandbox": 0.72, "seal": 0.61, "cli": 0.54,
    "browser": 0.74, "screens": 0.66,
}  # fmt: skip
FORMULAS = {"overlap.spot_result", "uncertainty.location_budget", "climate.dew_point"}


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(yardsticks.PACKAGE)))
def test_a_module_keeps_its_yardsticks(module):
    assert yardsticks.offences(module.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("room", yardsticks.rooms(), ids=lambda path: path.name)
def test_at_most_half_of_the_private_functions_of_a_room_are_used_once(room):
    """In a few rooms it is more: put together, their callers would be too complex. There the share may only fall."""
    once, private = yardsticks.used_once(room)
    assert len(once) <= MORE.get(room.name, yardsticks.USED_ONCE_SHARE) * private, once


def test_a_small_module_has_more_than_one_importer():
    assert yardsticks.lonely() == []


def name_of(frame):
    """Module and name of a function of the package, nothing of another's."""
    file = frame.f_code.co_filename
    return f"{Path(file).stem}.{frame.f_code.co_name}" if file.startswith(f"{yardsticks.PACKAGE}{os.sep}") else ""


def test_from_the_verb_to_the_formula_are_at_most_six_calls():
    shortest = {}

    def watch(frame, event, _argument):
        called = name_of(frame) if event == "call" and "metrology" in frame.f_code.co_filename else ""
        if called in FORMULAS:
            chain = []
            while frame is not None:
                name = name_of(frame)
                chain += [name] if name and not name.endswith(">") else []  # comprehensions are no step of the reader's
                frame = frame.f_back
            shortest[called] = min(shortest.get(called, chain), chain, key=len)

    climate.dew_point.cache_clear()  # another test may have asked for the same day
    before = sys.getprofile()
    sys.setprofile(watch)
    try:
        reportgen.check(JOBS / "quarrowmere" / "2026-06-09.yaml")
    finally:
        sys.setprofile(before)
    assert set(shortest) == FORMULAS
    assert {name: chain[::-1] for name, chain in shortest.items() if len(chain) - 1 > CALLS_TO_A_FORMULA} == {}


def test_the_yardsticks_can_fail():
    many = "\n".join(f"    x{n} = {n}" for n in range(yardsticks.STORY_LINES + 1))
    assert yardsticks.offences(f"def _long():\n{many}") == ["_long: 81 lines of code, 80 allowed"]
    branches = "    if x:\n        y()\n" * (yardsticks.COMPLEXITY + 1)
    assert yardsticks.offences(f"def _branching(x, y):\n{branches}") == ["_branching: cognitive complexity 16"]
    deep = "def _deep(x):\n for a in x:\n  for b in a:\n   if b:\n    with b:\n     b()"
    assert "_deep: 4 blocks deep" in yardsticks.offences(deep)
    chain = "def _chain(x):\n if x == 1:\n  pass\n elif x == 2:\n  pass\n elif x == 3:\n  pass\n elif x:\n  pass"
    assert yardsticks.offences(chain) == []
    assert yardsticks.offences("def bare():\n    pass") == ["bare: no docstring"]
    assert yardsticks.offences("\n" * (yardsticks.MODULE_LINES + 1)) == ["601 lines"]
