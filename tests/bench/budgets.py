"""Costs of a typical day as ratios to the floor, all from one run: ``python -m tests.bench.budgets``.

Cold is a whole process, warm a call in a process that has done it before. Runs alternate with the floor, so that a
drift of the machine meets both; the spread of the floor itself is printed as the machine's noise.
"""

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench import floor

ROOT = Path(__file__).parents[2]
DAY = min(path for path in (ROOT / "jobs").glob("*/*.yaml") if path.name != "project.yaml")
AT = "2026-11-01T12:00:00Z"


def cold(command: list[str]) -> float:
    """Run a command as a whole process and return its wall time in seconds."""
    started = time.perf_counter()
    subprocess.run([sys.executable, *command], cwd=ROOT, stdout=subprocess.DEVNULL, check=False)
    return time.perf_counter() - started


def paired(measure, reference, runs: int) -> tuple[float, list[float]]:
    """Return the median ratio of two measurements taken in turn, and the reference's own values."""
    references, ratios = [], []
    for _ in range(runs):
        base = reference()
        references.append(base)
        ratios.append(measure() / base)
    return statistics.median(ratios), references


def warm_floor() -> float:
    """Draw the six warm pages of the floor once and return the seconds."""
    started = time.perf_counter()
    floor.draw(6)
    return time.perf_counter() - started


def warm_report() -> float:
    """Build one unsigned archival report of the day in this process and return the seconds."""
    from reportgen.pipeline import draft

    with tempfile.TemporaryDirectory() as folder:
        started = time.perf_counter()
        draft(DAY, Path(folder) / "draft.pdf", at=AT)
        return time.perf_counter() - started


def main() -> None:
    """Measure and print one row per budget: figure, budget, whether it is kept."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-n", "--runs", type=int, default=7)
    runs = parser.parse_args().runs
    tool = ["-c", "import sys; from reportgen.cli import main; sys.exit(main(sys.argv[1:]))"]
    with tempfile.TemporaryDirectory() as folder:
        out = str(Path(folder) / "out.pdf")
        commands = {
            "check, cold": (["check", str(DAY)], 3.0),
            "draft, cold": (["draft", str(DAY), "-o", out, "--at", AT], 7.0),
            "issue, cold": (["issue", str(DAY), "--identity", "demo", "-o", str(Path(folder) / "issue.pdf")], 11.0),
        }
        noise: list[float] = []
        for name, (arguments, budget) in commands.items():
            figure, bases = paired(
                lambda arguments=arguments: cold([*tool, *arguments]), lambda: cold(["-m", "tests.bench.floor"]), runs
            )
            noise += bases
            print_row(name, figure, budget)
        warm_floor(), warm_report()
        figure, _ = paired(warm_report, warm_floor, runs)
        print_row("report, warm", figure, 4.0)
    low, mid, high = min(noise), statistics.median(noise), max(noise)
    print(f"floor, cold: median {mid * 1000:.0f} ms, {low / mid:.2f} to {high / mid:.2f} of it over {len(noise)} runs")


def print_row(name: str, figure: float, budget: float) -> None:
    """Print a ratio beside its budget."""
    print(f"{name:<14} {figure:5.1f} x floor   budget {budget:4.1f}   {'kept' if figure <= budget else 'NOT kept'}")


if __name__ == "__main__":
    main()
