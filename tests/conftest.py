"""What several suites share: the demo contract and its days."""

from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
JOBS = ROOT / "jobs"


@pytest.fixture(scope="session")
def demo_days() -> list[Path]:
    """All day files of the demo contracts, in order."""
    return sorted(path for path in JOBS.glob("*/*.yaml") if path.name != "project.yaml")


@pytest.fixture(scope="session")
def clean_day(demo_days: list[Path]) -> Path:
    """The first day of the first demo contract: it conforms."""
    return demo_days[0]
