"""What several suites share: the demo contract and its days."""

import gc
import os
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from reportgen.seal import authority, protection

pytest_plugins = ("tests.crashes", "tests.thorough")
"""Of the second: what a run leaves out that is not of CI."""

gc.disable()
"""While tests are collected: all they bring stays, and looking through it again and again is half of that work."""

ROOT = Path(__file__).parents[1]
JOBS = ROOT / "jobs"

# Compiled once, not again by each worker and in each of the processes that tests start, whatever the surroundings say.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

os.fsync = lambda _: None
"""Tests look at what is written, not at the disk; lost power has its own model (``tests/unit/register/powerloss.py``).
The processes that tests start do wait for the disk."""

protection.ROUNDS = 2_048
"""Identity files that tests make in this process take few, but where their protection is tried."""


def _drawn(public_exponent: int, key_size: int) -> Any:
    """A key of a kind that costs nothing to make and to load, new each time: nobody signs with another's.

    What the program itself draws is seen where a process of its own is started, and in the tests of its identities.
    """
    return ec.generate_private_key(ec.SECP256R1())


authority.rsa = SimpleNamespace(generate_private_key=_drawn)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int | None:
    """Use every processor that this run may have; the plugin's own count is of cores, half of them on some machines."""
    if "PYTEST_XDIST_AUTO_NUM_WORKERS" in os.environ:
        return None
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def pytest_collection_finish() -> None:
    """Keep the collector out of thousands of tests, here and in each process that is forked: they all stay."""
    gc.collect()
    gc.freeze()
    gc.enable()


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
