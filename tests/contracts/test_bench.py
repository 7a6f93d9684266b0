"""What measures is not part of a test run, and must not break unseen: each measuring module loads, its floor draws."""

import importlib
from pathlib import Path

import pytest

MODULES = sorted(path.stem for path in (Path(__file__).parents[1] / "bench").glob("*.py") if path.stem != "__init__")


@pytest.mark.parametrize("name", MODULES)
def test_measuring_modules_load(name):
    importlib.import_module(f"tests.bench.{name}")


def test_the_floor_draws():
    from tests.bench import floor

    assert floor.draw(floor.FIXED[:1]).startswith(b"%PDF-")
