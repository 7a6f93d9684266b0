"""Costs of a typical day as ratios to the floor, all from one run: ``python -m tests.bench.budgets``.

Cold is a whole process, warm a call in a process that has done it before. What is compared runs by turns. Each row has
the ratio of the clock and of the processor; the floor's own spread is the machine's noise. The growth with the number
of readings is measured by ``python -m tests.bench.readings``, and here with it.
"""

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path

from tests.bench import floor, readings
from tests.bench.measuring import ROOT, Cost, Ratio, by_turns, cold, environment, noise, warm

DAY = ROOT / "jobs" / "quarrowmere" / "2026-06-08.yaml"
AT = "2026-11-01T12:00:00Z"
TOOL = ["-m", "reportgen"]
AREAS = (10, 1_000)
COPIES = 16
TWICE = 1.8


def print_row(name: str, ratio: Ratio, budget: float, *, of: str = "floor") -> None:
    """Print a ratio beside its budget, which is one of the clock."""
    kept = "kept" if ratio.wall <= budget else "NOT kept"
    spread = f"({ratio.low:.1f} to {ratio.high:.1f})"
    print(f"{name:<22} clock {ratio.wall:5.2f} {spread:<15} processor {ratio.cpu:5.2f} x {of:<9} {budget:5.2f} {kept}")


def typical_day(folder: Path, runs: int) -> None:
    """The commands as whole processes against the floor with the same text, and against the fixed one."""
    env, out, lines = environment(folder / "bytecode"), folder / "issue.pdf", folder / "lines.json"
    issue = [*TOOL, "issue", str(DAY), "--identity", "demo", "--at", AT, "-o", str(out)]
    draft = [*TOOL, "draft", str(DAY), "--at", AT, "-o", str(folder / "draft.pdf")]
    cold(issue, env)
    lines.write_text(json.dumps(lines_of(out.read_bytes())), "utf-8")
    measures = {
        "floor": lambda: cold(["-m", "tests.bench.floor", str(lines)], env),
        "fixed floor": lambda: cold(["-m", "tests.bench.floor"], env),
        "check, cold": lambda: cold([*TOOL, "check", str(DAY)], env, good=(0, 1)),
        "draft, cold": lambda: cold(draft, env),
        "issue, cold": lambda: cold(issue, env),
    }
    ratios, costs = by_turns(measures, "floor", runs)
    budgets = {"check, cold": 3.0, "draft, cold": 7.0, "issue, cold": ratios["draft, cold"].wall + 4}
    for name, budget in budgets.items():
        print_row(name, ratios[name], budget)
    print(f"  floor, {len(json.loads(lines.read_text('utf-8')))} pages of the same text: {noise(costs['floor'])}")
    print(f"  fixed floor, four pages: {noise(costs['fixed floor'])}, {ratios['fixed floor'].cpu:.2f} x floor")


def lines_of(pdf: bytes) -> list[list[str]]:
    """Return the pieces of text of each page of a report."""
    from reportgen.verification.pageread import page_texts

    return [[piece for piece in text.split("\n") if piece.strip()] for text in page_texts(pdf)]


def warm_report(folder: Path, runs: int) -> None:
    """A report in a process that has made one before, against the floor; its verification against its making.

    The process is set up as that of a batch is, for the floor as well.
    """
    from reportgen.cli.main import _start_sooner
    from reportgen.issued import Recomputation
    from reportgen.pipeline import draft, issue_demonstration, parse_instant
    from reportgen.pipeline.rebuilding import load_for_rebuilding, pages_rebuilt
    from reportgen.verification import verify_report
    from reportgen.verification.pagetext import page_text_agrees

    _start_sooner()
    at = parse_instant(AT)
    issue_demonstration(DAY, folder / "warm.pdf", at=at)
    pdf = (folder / "warm.pdf").read_bytes()
    pages = lines_of(pdf)
    load_for_rebuilding()
    quick = {"recompute": Recomputation(), "page_text_check": page_text_agrees}
    whole = {**quick, "rebuild_check": partial(pages_rebuilt, None)}
    measures = {
        "floor": lambda: warm(lambda: floor.draw(pages)),
        "report, warm": lambda: warm(lambda: draft(DAY, folder / "draft.pdf", at=at)),
        "verify, quick": lambda: warm(lambda: verify_report(pdf, at=at, roots=[], **quick)),
        "verify": lambda: warm(lambda: verify_report(pdf, at=at, roots=[], **whole)),
    }
    ratios, costs = by_turns(measures, "floor", runs)
    print_row("report, warm", ratios["report, warm"], 4.0)
    print(f"  floor, warm: {noise(costs['floor'])}")
    shown = {name: measures[name] for name in ("report, warm", "verify, quick", "verify")}
    against, _ = by_turns(shown, "report, warm", runs)
    print_row("verify --quick, warm", against["verify, quick"], 2.0, of="report")
    print_row("verify, warm", against["verify"], 3.0, of="report")


def batch(folder: Path, runs: int) -> None:
    """Many day files issued by two processes, against one."""
    env = environment(folder / "bytecode")
    days = []
    for copy in range(COPIES):
        shutil.copytree(DAY.parent, folder / f"contract-{copy}")
        days += [str(folder / f"contract-{copy}" / f"2026-06-{day}.yaml") for day in ("08", "09", "11")]
    issue = [*TOOL, "issue", *days, "--identity", "demo", "--at", AT, "-o", str(folder), "--processes"]
    measures = {number: lambda number=number: cold([*issue, number], env) for number in ("2", "1")}
    _, costs = by_turns(measures, "2", runs)
    gains = sorted(one.wall / two.wall for one, two in zip(costs["1"], costs["2"], strict=True))
    gain, spread = gains[len(gains) // 2], f"({gains[0]:.2f} to {gains[-1]:.2f})"
    kept = "kept" if gain >= TWICE else "NOT kept"
    print(f"issue {len(days)}, two processes   clock {gain:.2f} x as fast {spread}  {TWICE:.2f} {kept}")


def areas(runs: int) -> None:
    """Time an area of a whole draft, each size in a process of its own."""
    measures = {str(number): lambda number=number: drafted(number) for number in AREAS}
    ratios, _ = by_turns(measures, str(AREAS[0]), runs)
    print_row(f"{AREAS[0]} to {AREAS[1]} areas", ratios[str(AREAS[1])], 1.3, of="small")


def drafted(number: int) -> Cost:
    """Draft a day of ``number`` areas in a process of its own; return the cost of an area without starting."""
    command = [sys.executable, "-m", "tests.bench.budgets", "--areas", str(number)]
    return Cost(*json.loads(subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=True).stdout))


def cost_of_an_area(number: int) -> Cost:
    """Draft a day of ``number`` areas, ten readings each, as often as gives the number of areas of the large case."""
    from reportgen.pipeline import draft, parse_instant

    rounds, at = AREAS[1] // number, parse_instant(AT)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_job(folder / "first", AREAS[0])
        draft(folder / "first" / "day.yaml", folder / "draft.pdf", at=at)
        write_job(folder / "measured", number)
        day = folder / "measured" / "day.yaml"
        cost = warm(lambda: [draft(day, folder / "draft.pdf", at=at) for _ in range(rounds)])
    return Cost(cost.wall / AREAS[1], cost.cpu / AREAS[1])


def write_job(folder: Path, number: int) -> None:
    """Write the files of a day of ``number`` areas."""
    folder.mkdir()
    for file, data in readings.job_files(10 * number, 10).items():
        (folder / file).write_bytes(data)


def main() -> None:
    """Measure and print one row per budget: figure, budget, whether it is kept."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-n", "--runs", type=int, default=9)
    parser.add_argument("--areas", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.areas:
        print(json.dumps(cost_of_an_area(options.areas)))
        return
    with tempfile.TemporaryDirectory() as name:
        typical_day(Path(name), options.runs)
        warm_report(Path(name), options.runs)
        batch(Path(name), 1)
    areas(1)
    for shape in readings.SHAPES:
        readings.compare(shape, 1)


if __name__ == "__main__":
    main()
