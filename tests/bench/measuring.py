"""Time of the clock and of the processor, by turns with a reference, so that a drift of the machine meets both.

Processor time is what counts where other work shares the machine; the clock is what a person waits for.
"""

import os
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]


class Cost(NamedTuple):
    """Seconds of the clock and of the processor."""

    wall: float
    cpu: float


class Ratio(NamedTuple):
    """Medians of the ratios of two costs measured by turns, and how far the clock's lay apart."""

    wall: float
    cpu: float
    low: float
    high: float


def environment(bytecode: Path) -> dict[str, str]:
    """Return an environment in which modules are compiled once, as an installer does, into the folder ``bytecode``."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return kept | {"PYTHONPYCACHEPREFIX": str(bytecode)}


def cold(command: list[str], env: dict[str, str], *, good: tuple[int, ...] = (0,)) -> Cost:
    """Run a Python command as a whole process; it must end with one of the ``good`` codes."""
    before, started = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run([sys.executable, *command], cwd=ROOT, env=env, capture_output=True, check=False)
    wall, after = time.perf_counter() - started, resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in good:
        raise SystemExit(done.stderr.decode())
    return Cost(wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def warm(work) -> Cost:
    """Call ``work`` in this process."""
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    return Cost(time.perf_counter() - wall, time.process_time() - cpu)


def by_turns(measures: dict, reference: str, runs: int) -> tuple[dict[str, Ratio], dict[str, list[Cost]]]:
    """Measure each once to warm up, then all in turn ``runs`` times; return ratios to the reference, and all costs."""
    costs: dict[str, list[Cost]] = {name: [] for name in measures}
    for run in range(runs + 1):
        for name, measure in measures.items():
            cost = measure()
            costs[name] += [cost] if run else []
    ratios = {name: _ratio(those, costs[reference]) for name, those in costs.items() if name != reference}
    return ratios, costs


def _ratio(those: list[Cost], base: list[Cost]) -> Ratio:
    wall = [one.wall / other.wall for one, other in zip(those, base, strict=True)]
    cpu = [one.cpu / other.cpu for one, other in zip(those, base, strict=True)]
    return Ratio(statistics.median(wall), statistics.median(cpu), min(wall), max(wall))


def noise(costs: list[Cost]) -> str:
    """Return the median of a reference and how far its values lie apart, as a share of the median."""
    words = []
    for name, values in (("clock", [cost.wall for cost in costs]), ("processor", [cost.cpu for cost in costs])):
        mid = statistics.median(values)
        words.append(f"{name} {mid * 1000:.0f} ms ({min(values) / mid:.2f} to {max(values) / mid:.2f} of it)")
    return ", ".join(words)
