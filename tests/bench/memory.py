"""Peak memory of whole commands as a day grows: ``python -m tests.bench.memory``.

Photos of 12 million pixels, areas of ten readings each, and loading with evaluating alone. Every measurement is a
process of its own, and its peak is ``VmHWM``: ``ru_maxrss`` would be inherited from the parent. What counts is how much
more the large day takes than the small one.
"""

import argparse
import io
import json
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench import readings
from tests.bench.measuring import ROOT

NAMES = {
    b"client: Client, contractor: Contractor, site: Site": b"client: Weir Trust, contractor: Grit, site: Weir 3",
    b"name: Body, address: Street 1": b"name: Weir Inspection, address: 3 Weir Lane",
}
"""What the small job is filled in with, and what a report is issued with in its place."""
AT = "2026-11-01T12:00:00Z"
PHOTOS, AREAS, EVALUATED = (10, 40, 400), (10, 100, 1_000), (1_000, 10_000)
PIXELS = (4000, 3000)


def peak_mb() -> float:
    """Return the most memory that this process has held at once."""
    status = Path("/proc/self/status").read_text("ascii")
    return int(next(line for line in status.splitlines() if line.startswith("VmHWM")).split()[1]) / 1000


def write_photos(folder: Path, number: int) -> None:
    """Write photos of a realistic size, no two alike: pieces of one picture of steel, each at a place of its own."""
    from PIL import Image

    chance = random.Random(1)  # noqa: S311 - a drawing, nothing secret
    large = Image.effect_noise((PIXELS[0] + 500, PIXELS[1] + 500), 24).convert("RGB")
    folder.mkdir(exist_ok=True)
    for one in range(number):
        left, top = chance.randrange(500), chance.randrange(500)
        target = io.BytesIO()
        large.crop((left, top, left + PIXELS[0], top + PIXELS[1])).save(target, "JPEG", quality=80)
        (folder / f"{one}.jpg").write_bytes(target.getvalue())


def job_files(areas: int) -> dict[str, bytes]:
    """Return the files of a day that may be issued: nothing in them is called what a starter file calls it."""
    files = readings.job_files(10 * areas, 10)
    for there, name in NAMES.items():
        files["project.yaml"] = files["project.yaml"].replace(there, name)
    return files


def photo_day(folder: Path, number: int) -> Path:
    """Write a day that shows the first photos of its folder; return the day file."""
    files = job_files(1)
    shown = [
        f"      - {{file: photos/{one}.jpg, caption: the web after blasting no. {one}}}\n" for one in range(number)
    ]
    files["day.yaml"] += ("    photos:\n" + "".join(shown)).encode()
    for name, data in files.items():
        (folder / name).write_bytes(data)
    day = folder / f"{number}.yaml"
    (folder / "day.yaml").rename(day)
    return day


def area_day(folder: Path, number: int) -> Path:
    """Write a day of so many areas into a folder of its own; return the day file."""
    own = folder / f"areas-{number}"
    own.mkdir(exist_ok=True)
    for name, data in job_files(number).items():
        (own / name).write_bytes(data)
    return own / "day.yaml"


def measured(what: str, day: Path) -> dict[str, float]:
    """Do one thing in this process; return its seconds of the processor and the peak in megabytes."""
    from reportgen.loader import load_job
    from reportgen.pipeline import check, draft, issue_demonstration, parse_instant
    from reportgen.rules import evaluate

    at, began = parse_instant(AT), time.process_time()
    if what == "evaluate":
        evaluate(load_job(day, with_earlier=False))
    elif what == "check":
        check(day, at=at)
    else:
        work = draft if what == "draft" else issue_demonstration
        work(day, day.with_suffix(f".{what}.pdf"), at=at)
    return {"cpu": time.process_time() - began, "peak": peak_mb()}


def apart(what: str, day: Path) -> dict[str, float]:
    """Measure in a process of its own."""
    command = [sys.executable, "-m", "tests.bench.memory", "--one", what, str(day)]
    return json.loads(subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=True).stdout)


def rows(kind: str, whats: tuple[str, ...], days: dict[int, Path]) -> None:
    """Print what each size costs, and how much more than the smallest."""
    for what in whats:
        base = None
        for number, day in days.items():
            cost = apart(what, day)
            base = base or (number, cost)
            share = cost["cpu"] / number / (base[1]["cpu"] / base[0])
            print(
                f"{what:<9} {number:>6,} {kind:<7} peak {cost['peak']:6.0f} MB  {cost['peak'] / base[1]['peak']:5.2f} x"
                f"   processor {cost['cpu']:7.2f} s, each {share:4.2f} x those of {base[0]:,}",
                flush=True,
            )


def main() -> None:
    """Measure and print a row for each size."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kinds", nargs="*", default=["photos", "areas", "evaluated"])
    parser.add_argument("--folder", type=Path, help="where the photos are kept from one run to the next")
    parser.add_argument("--one", nargs=2, metavar=("WHAT", "DAY"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.one:
        print(json.dumps(measured(options.one[0], Path(options.one[1]))))
        return
    with tempfile.TemporaryDirectory() as name:
        folder = options.folder or Path(name)
        if "photos" in options.kinds:
            if not (folder / "photos" / f"{PHOTOS[-1] - 1}.jpg").exists():
                write_photos(folder / "photos", PHOTOS[-1])
            rows("photos", ("check", "draft", "issue"), {number: photo_day(folder, number) for number in PHOTOS})
        if "areas" in options.kinds:
            rows("areas", ("draft", "issue"), {number: area_day(folder, number) for number in AREAS})
        if "evaluated" in options.kinds:
            rows("areas", ("evaluate",), {number: area_day(folder, number) for number in EVALUATED})


if __name__ == "__main__":
    main()
