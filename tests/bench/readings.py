"""Growth of loading and evaluating with the readings of a day: ``python -m tests.bench.readings``.

From 1,000 to 100,000 readings, once all in one area and once ten to an area. Every measurement is a process of its own,
because peak memory is a process's; small and large take turns. Time is processor time, since nothing here waits, and
the small case is evaluated as often as it takes to come to as many readings as the large one. The imports and the first
use of everything are paid for by a small job beforehand and do not count.
"""

import argparse
import json
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
SMALL, LARGE = 1_000, 100_000
SHAPES = {"one area": None, "ten an area": 10}
GROWTH, MEMORY_MB = 1.3, 300
PROJECT = """\
project: {name: Bench, contract: B-1, client: Client, contractor: Contractor, site: Site, time_zone: UTC}
inspection_body: {name: Body, address: Street 1}
specification:
  document: B-1
  surface_preparation: {clause: "1", grade: SSPC-SP 10}
  profile: {clause: "2", minimum: 2.0 mil, maximum: 3.5 mil, method: ASTM D4417 Method C, edition: "2021",
    overlap_rule: average, readings_per_location: 2, decision_rule: guarded, rounding: half-even}
  sampling: {plan: fixed, locations: 3}
people: {ann: {name: Ann, role: inspector}}
instruments:
  g1: {kind: thickness gauge, serial: "1", unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil}
tape_rolls: {x1: {grade: extra coarse, lot: "1"}}
structures:
  - id: S
    name: Structure
    areas:
"""
DAY = """\
project: project.yaml
report: {number: B-1, revision: 0, date: 2026-05-14, shift: {start: "06:00", end: "18:00"}, inspector: ann}
surfaces:
"""
SURFACE = """\
  - area: A-%d
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "06:00", end: "08:00", abrasive: grit}
    cleanliness: {observed: SSPC-SP 10}
    profile: {gauge: g1, film: subtracted, readings: {csv: %d.csv}}
"""


def job_files(readings: int, per_area: int | None) -> dict[str, bytes]:
    """Return the files of a job: two readings a location, repeating 2.6 to 3.4 mil, one CSV file an area."""
    each = per_area or readings
    areas = range(1, readings // each + 1)
    rows = [f"{number // 2 + 1},{'ab'[number % 2]},x1,{26 + number % 9}" for number in range(each)]
    sheet = "location,spot,roll,reading,unit\n" + "".join(f"{row[:-1]}.{row[-1]},mil\n" for row in rows)
    project = PROJECT + "".join(f"      - {{id: A-{area}, name: area {area}, size: 20 m2}}\n" for area in areas)
    day = DAY + "".join(SURFACE % (area, area) for area in areas)
    texts = {"project.yaml": project, "day.yaml": day, **{f"{area}.csv": sheet for area in areas}}
    return {name: text.encode() for name, text in texts.items()}


def measured(readings: int, per_area: int | None) -> dict[str, float]:
    """Load and evaluate in this process; return microseconds a reading for each, and the peak in megabytes."""
    from reportgen.loader import job_from_files
    from reportgen.rules import evaluate

    evaluate(job_from_files(job_files(20, 10), "day.yaml"))
    files = job_files(readings, per_area)
    loading = evaluating = 0.0
    rounds = LARGE // readings
    for _ in range(rounds):
        started = time.process_time()
        job = job_from_files(files, "day.yaml")
        loaded = time.process_time()
        evaluation = evaluate(job)
        evaluating += time.process_time() - loaded
        loading += loaded - started
        spots = [spot for area in evaluation.areas for location in area.locations for spot in location.spots]
        if sum(len(spot.readings) for spot in spots) != readings:
            raise SystemExit("not every reading was evaluated")
    peak_bytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
    share = 1e6 / (readings * rounds)
    return {"load": loading * share, "evaluate": evaluating * share, "peak": peak_bytes / 1e6}


def apart(readings: int, shape: str) -> dict[str, float]:
    """Measure in a process of its own."""
    command = [sys.executable, "-m", "tests.bench.readings", "--one", shape, str(readings)]
    answer = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=True)
    return json.loads(answer.stdout)


def compare(shape: str, runs: int) -> None:
    """Print both sizes of a shape and the ratios of their cost a reading."""
    pairs = [(apart(SMALL, shape), apart(LARGE, shape)) for _ in range(runs)]
    for column, readings in enumerate((SMALL, LARGE)):
        load, rules, peak = (
            statistics.median(pair[column][key] for pair in pairs) for key in ("load", "evaluate", "peak")
        )
        costs = f"load {load:6.2f}   evaluate {rules:6.2f} µs each   peak {peak:4.0f} MB"
        print(f"{shape:<12} {readings:>8,} readings   {costs}")
    for key in ("load", "evaluate"):
        ratios = sorted(large[key] / small[key] for small, large in pairs)
        spread = f"{ratios[0]:.2f} to {ratios[-1]:.2f}"
        print_row(f"{shape}, {key}", statistics.median(ratios), GROWTH, f"x the small case ({spread})")
    print_row(f"{shape}, peak", max(large["peak"] for _, large in pairs), MEMORY_MB, "MB")


def print_row(name: str, figure: float, budget: float, unit: str) -> None:
    """Print a figure beside its budget."""
    print(f"{name:<22} {figure:7.2f} {unit:<32} budget {budget:5.1f}   {'kept' if figure <= budget else 'NOT kept'}")


def main() -> None:
    """Measure and print two sizes a shape, and a row per budget."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-n", "--runs", type=int, default=3)
    parser.add_argument("--one", nargs=2, metavar=("SHAPE", "READINGS"), help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.one:
        shape, readings = arguments.one
        print(json.dumps(measured(int(readings), SHAPES[shape])))
        return
    for shape in SHAPES:
        compare(shape, arguments.runs)


if __name__ == "__main__":
    main()
