"""What several suites share: the demo contract and its days."""

import gc
import os
import sys
from pathlib import Path

import pytest

from reportgen.seal import protection

ROOT = Path(__file__).parents[1]
JOBS = ROOT / "jobs"

# Compiled once, not again by each worker and in each of the processes that tests start, whatever the surroundings say.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

protection.ROUNDS = 2_048
"""Identity files that tests make in this process take few, but where their protection is tried."""


def pytest_collection_finish() -> None:
    """Keep the collector out of thousands of tests, here and in each process that is forked: they all stay."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def state_of_the_user(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A state folder for the run, one for its workers and the processes they start: the user's own stays as it is."""
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    os.environ["XDG_STATE_HOME"] = str(shared / "state")


@pytest.fixture(scope="session")
def demo_days() -> list[Path]:
    """All day files of the demo contracts, in order."""
    return sorted(path for path in JOBS.glob("*/*.yaml") if path.name != "project.yaml")


@pytest.fixture(scope="session")
def clean_day(demo_days: list[Path]) -> Path:
    """The first day of the first demo contract: it conforms."""
    return demo_days[0]
