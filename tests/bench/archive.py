"""What an archive costs: audit and batch issue on one process and on two, on a local cluster, and what is found.

``python -m tests.bench.archive FOLDER`` measures an archive that ``python -m tests.demo_archive FOLDER`` wrote;
``--files N`` takes only that many of its files for the comparisons of speed. Every figure is printed with the processor
time beside the clock's, because a shared machine stretches the clock.
"""

from __future__ import annotations

import argparse
import contextlib
import dataclasses
import json
import multiprocessing
import resource
import shutil
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench import floor

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportgen.pipeline.auditing import Audited
    from reportgen.pipeline.workers import Spread


@dataclasses.dataclass
class Cost:
    """Seconds by the clock and of processor (children included) for ``count`` things."""

    count: int
    clock: float
    processor: float

    def line(self, what: str) -> str:
        rate, each = self.count / self.clock, 1000 * self.processor / self.count
        return f"{what:<54} {self.count:>6} {self.clock:>8.1f} s {rate:>7.1f}/s {each:>8.1f} ms of processor each"


def measured(count: int, work: Callable[[], Any]) -> tuple[Any, Cost]:
    """Run ``work`` and return its result with its cost."""

    def spent() -> float:
        return sum(
            usage.ru_utime + usage.ru_stime
            for usage in map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
        )

    begun, used = time.perf_counter(), spent()
    result = work()
    return result, Cost(count, time.perf_counter() - begun, spent() - used)


def audited(folder: Path, root: Path, spread: Spread, *, quick: bool) -> tuple[Audited, int]:
    """Audit with an index of its own; return the answer and the size of the index."""
    from reportgen.pipeline.auditing import audit

    with tempfile.TemporaryDirectory() as place:
        index = Path(place) / "index.sqlite"
        done = audit(folder, trust=[root], index=index, spread=spread, quick=quick)
        return done, index.stat().st_size


def compare(found: set[tuple[str, ...]], seeded: set[tuple[str, ...]]) -> str:
    """Return precision and recall, and what was missed or falsely raised."""
    right = len(found & seeded)
    shares = f"precision {right / len(found):.4f}, recall {right / len(seeded):.4f}"
    line = f"found {len(found)}, seeded {len(seeded)}: {shares}"
    wrong = [f"  missed {one}" for one in sorted(seeded - found)] + [f"  false {one}" for one in sorted(found - seeded)]
    return "\n".join([line, *wrong])


def worker_memory(folder: Path, root: Path) -> str:
    """Return the peak memory of one worker after each tenth of the files, in MB."""
    from reportgen.audit import Task, Terms, run_task
    from reportgen.pipeline.filing import examination_checks

    terms = Terms(folder, examination_checks([root], quick=True), "bench")
    paths = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.pdf"))
    receiving, sending = multiprocessing.Pipe(duplex=False)

    def work() -> None:
        for done, path in enumerate(paths, start=1):
            run_task(terms, Task(path))
            if done % max(1, len(paths) // 10) == 0:
                sending.send((done, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))
        sending.send(None)

    child = multiprocessing.get_context("fork").Process(target=work)
    child.start()
    marks = list(iter(receiving.recv, None))
    child.join()
    return "peak memory of a worker, MB: " + ", ".join(f"{megabytes:.0f} after {done}" for done, megabytes in marks)


def part_of(folder: Path, files: int, place: Path) -> Path:
    """Return a folder with the first ``files`` of the archive, contracts whole as far as they go."""
    for path in sorted(folder.rglob("*.pdf"))[:files]:
        target = place / path.relative_to(folder)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, target)
    return place


def floor_of_audit(part: Path, root: Path) -> None:
    """Examine every file in this process, one after the other, and keep nothing: no child, no index, no comparison."""
    from reportgen.issued import load_for_examination, read_pdf
    from reportgen.issued.examination import judged
    from reportgen.pipeline.filing import examination_checks

    load_for_examination()
    checks = examination_checks([root], quick=True)
    for path in sorted(part.rglob("*.pdf")):
        judged(read_pdf(path), checks)


def speeds(part: Path, root: Path, jobs: Path, files: int, rounds: int) -> None:
    """Print the costs of audit and batch issue: floor, one process, two, a local cluster of two, in turns."""
    from reportgen.pipeline.batch import Order, issue_demonstrations
    from reportgen.pipeline.workers import Spread

    def issued(processes: int) -> None:
        with tempfile.TemporaryDirectory() as place:
            issue_demonstrations(days, Order(Path(place)), Spread(processes))

    count, days = sum(1 for _ in part.rglob("*.pdf")), sorted(jobs.glob("*/*-r0.yaml"))[: max(8, files // 4)]
    audits: dict[str, Callable[[], Any]] = {
        "floor: examined in one process, nothing kept": lambda: floor_of_audit(part, root),
        "1 process": lambda: audited(part, root, Spread(1), quick=True),
        "2 processes": lambda: audited(part, root, Spread(2), quick=True),
        "2 processes, the pages made again": lambda: audited(part, root, Spread(2), quick=False),
    }
    with local_cluster() as address:
        if address is not None:
            spread = Spread(scheduler=address)
            audited(part, root, spread, quick=True)  # the workers' own imports are not what is compared
            audits["local cluster of 2 workers"] = lambda: audited(part, root, spread, quick=True)
        compared("audit", count, audits, rounds)
    with tempfile.TemporaryDirectory() as place:
        issue_demonstrations(days, Order(Path(place)), Spread(1))
        pages = [text for path in sorted(Path(place).rglob("*.pdf")) for text in lines_of(path)]
    issues: dict[str, Callable[[], Any]] = {
        "floor: the same text on the raw canvas": lambda: [floor.draw(text) for text in pages],
        "1 process": lambda: issued(1),
        "2 processes": lambda: issued(2),
    }
    compared("issue", len(days), issues, rounds)


def compared(what: str, count: int, ways: dict[str, Callable[[], Any]], rounds: int) -> None:
    """Do the same in several ways, in turns, and print each way's best round and its ratio to one process and floor."""
    best: dict[str, Cost] = {}
    for _ in range(rounds):
        for name, work in ways.items():
            _, cost = measured(count, work)
            if name not in best or cost.clock < best[name].clock:
                best[name] = cost
    lowest, alone = best[next(iter(ways))], best["1 process"]
    for name, cost in best.items():
        ratios = f"{lowest.clock / cost.clock:.2f} of the floor's speed, {alone.clock / cost.clock:.2f} of 1 process'"
        print(cost.line(f"{what}, {name}"), ratios, flush=True)


def lines_of(path: Path) -> list[list[list[str]]]:
    """Return the pieces of text on the pages of a report, as one document of the floor's."""
    from reportgen.verification.pageread import page_texts

    return [[[line for line in text.splitlines() if line.strip()] for text in page_texts(path.read_bytes())]]


@contextlib.contextmanager
def local_cluster() -> Iterator[str | None]:
    """Start a Dask cluster of two workers on this machine and give its address; None without Dask."""
    try:
        from distributed import LocalCluster
    except ImportError:
        print("cluster: distributed is not installed")
        yield None
        return
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        yield cluster.scheduler_address


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--files", type=int, default=120)
    parser.add_argument("--rounds", type=int, default=3, help="how often each way is measured; the best one counts")
    parser.add_argument("--only", choices=("faults", "speeds", "memory"))
    options = parser.parse_args()
    archive, root = (options.folder / "archive").resolve(), options.folder / "authority.pem"
    from reportgen.pipeline.workers import Spread

    if options.only in {None, "speeds"}:
        with tempfile.TemporaryDirectory() as place:
            part = part_of(archive, options.files, Path(place) / "part")
            speeds(part, root, options.folder / "jobs", options.files, options.rounds)
    if options.only in {None, "faults"}:
        count = sum(1 for _ in archive.rglob("*.pdf"))
        (done, size), cost = measured(count, lambda: audited(archive, root, Spread(2), quick=True))
        print(cost.line("audit of everything, 2 processes"), f"index {size / count:.0f} bytes a file", flush=True)
        seeded = {tuple(one.values()) for one in json.loads((options.folder / "seeded.json").read_text("utf-8"))}
        problems = done.audit.problems
        print(compare({(one.code, one.contract, one.number, one.area) for one in problems}, seeded), flush=True)
    if options.only in {None, "memory"}:
        print(worker_memory(archive, root), flush=True)


if __name__ == "__main__":
    main()
