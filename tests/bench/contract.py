"""What a long contract costs the next report: ``python -m tests.bench.contract``.

The last of so many days is loaded upon the others of its folder, and registers of so many reports are read.
Each figure is the processor's, of one process, and the exponent is that of the last step of the number.
"""

import argparse
import datetime as dt
import math
import tempfile
from functools import partial
from pathlib import Path

from tests.bench.measuring import ROOT, warm

DAYS = (10, 30, 100)
REPORTS = (10, 100, 1_000, 5_000)
FIRST = dt.date(2026, 5, 1)
HASH = "5" * 64


def write_days(folder: Path, number: int) -> Path:
    """Write a contract of so many days, an area each, and return the last one."""
    source = ROOT / "jobs" / "tessowick"
    project = (source / "project.yaml").read_text("utf-8").replace("TSK-3-##", "TSK-3-#####")
    listed = "".join(f'      - {{id: A-{at}, name: "part {at}", size: 60 m2}}\n' for at in range(1, number + 1))
    (folder / "project.yaml").write_text(project[: project.index("      - {id: S-1")] + listed, "utf-8")
    text = (source / "2026-09-15.yaml").read_text("utf-8")
    text = text[: text.index("    photos:")]
    for at in range(1, number + 1):
        date = FIRST + dt.timedelta(days=at)
        day = text.replace("TSK-3-07", f"TSK-3-{at:05d}").replace("2026-09-15", date.isoformat())
        path = folder / f"{date}.yaml"
        path.write_text(day.replace("area: S-1", f"area: A-{at}"), "utf-8")
    return path


def load_upon(number: int) -> float:
    """Return the seconds that loading the last of so many days takes, the others taken to be issued and to conform."""
    from reportgen.loader import load_job

    with tempfile.TemporaryDirectory() as name:
        day = write_days(Path(name), number)
        work = partial(load_job, day, conformed=lambda _day, _file: True)
        work()
        return min(warm(work).cpu for _ in range(3))


def register_of(number: int) -> bytes:
    """Return a register of so many reports."""
    from reportgen.register import Chain, Entry, Row
    from reportgen.register.rows import NO_ROW, encode_row, report_of

    chain, lines = Chain(), []
    inputs = dict.fromkeys(("project.yaml", "day.yaml", "readings.csv", "photos/1.jpg", "photos/2.jpg"), HASH)
    for at in range(1, number + 1):
        moment = dt.datetime.combine(FIRST, dt.time(18), dt.UTC) + dt.timedelta(days=at)
        name = f"TSK-3-{at:05d}"
        entry = Entry(name, 0, moment.date(), moment, "conforms", HASH, HASH, inputs, chain.head)
        report = report_of(entry, file=f"reports/{name}.pdf", size=300_000, signed_sha256=HASH)
        for event in ("intent", "issued"):
            row = chain.next_row(Row(event, 0, NO_ROW, report))
            lines.append(encode_row(row))
            chain.add(row, lines[-1])
    return b"".join(line + b"\n" for line in lines)


def read(number: int) -> float:
    """Return the seconds that reading a register of so many reports takes."""
    from reportgen.register import chain

    def anew() -> None:
        chain._read.cache_clear()
        chain.read_chain(data)

    data = register_of(number)
    return min(warm(anew).cpu for _ in range(5))


def print_growth(name: str, numbers: tuple[int, ...], costs: list[float]) -> None:
    """Print the cost of each number as a ratio to the first, and the exponent of the last step."""
    ratios = " ".join(f"{number:,}: {cost / costs[0]:.2f}" for number, cost in zip(numbers, costs, strict=True))
    exponent = math.log(costs[-1] / costs[-2]) / math.log(numbers[-1] / numbers[-2])
    print(f"{name:<28} x that of {numbers[0]}   {ratios}   exponent {exponent:.2f}")


def main() -> None:
    """Measure and print one row of each kind."""
    argparse.ArgumentParser(description=__doc__).parse_args()
    print_growth("loading of the last day", DAYS, [load_upon(number) for number in DAYS])
    print_growth("reading of the register", REPORTS, [read(number) for number in REPORTS])


if __name__ == "__main__":
    main()
