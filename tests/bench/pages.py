"""What the pages of ``open`` cost, as ratios to the commands: ``python -m tests.bench.pages``.

Looking at what is typed, and writing it, against a warm check of the same day; the first page to be signed against a
warm draft; the start against a cold check; a key to its verdict in a browser, without the pause for typing, against a
warm check, of a usual day and of one with sixty areas.
"""

import argparse
import shutil
import tempfile
import time
from pathlib import Path

from tests.bench import readings
from tests.bench.budgets import AT, DAY, TOOL, print_row
from tests.bench.measuring import Cost, by_turns, cold, environment, warm
from tests.browsing import Person, chromium, commanded, served

READING = "surfaces[area={area}]/profile/readings[location={location},spot=a]/x1"
PAUSE = 0.08
"""Seconds for which the page waits for the next key before it asks."""


def quick(folder: Path, runs: int) -> None:
    """The verbs of the quick worker, and the first page of what is to be signed."""
    from reportgen.intake.changes import Address, Change
    from reportgen.pipeline import check, draft, parse_instant
    from reportgen.pipeline.looking import look
    from reportgen.pipeline.preparing import page_images, prepare
    from reportgen.pipeline.writing import undo, write_entry

    at = parse_instant(AT)
    day = Path(shutil.copytree(DAY.parent, folder / "job")) / DAY.name
    (day.parent / "2026-06-09.yaml").unlink()
    (day.parent / "2026-06-11.yaml").unlink()
    change = Change(Address.parse(READING.format(area="G-1", location="9")), None, "2.8")

    def first_page() -> None:
        page_images(prepare(day, at=at).pdf, [0], width=1240, name="the pages")

    def written() -> None:
        undo(day, write_entry(day, change, at=at), at=at)

    measures = {
        "check": lambda: warm(lambda: check(day, at=at)),
        "look": lambda: warm(lambda: look(day, change, at=at)),
        "write and undo": lambda: warm(written),
    }
    for one in (written, first_page, lambda: look(day, change, at=at)):
        one()
    ratios, _ = by_turns(measures, "check", runs)
    print_row("look", ratios["look"], 1.3, of="check")
    print_row("write and undo", ratios["write and undo"], 4.0, of="check")
    drawn = {
        "draft": lambda: warm(lambda: draft(day, folder / "draft.pdf", at=at)),
        "first page": lambda: warm(first_page),
    }  # fmt: skip
    ratios, _ = by_turns(drawn, "draft", runs)
    print_row("first page", ratios["first page"], 1.5, of="draft")


def start(folder: Path, runs: int) -> None:
    """Until an address can be opened, against a check that begins from nothing."""
    env = environment(folder / "bytecode")

    def opened() -> Cost:
        begun = time.perf_counter()
        with commanded(DAY.parent):
            return Cost(time.perf_counter() - begun, 0.0)

    measures = {"check, cold": lambda: cold([*TOOL, "check", str(DAY)], env, good=(0, 1)), "open": opened}
    ratios, _ = by_turns(measures, "check, cold", runs)
    print_row("open, until its address", ratios["open"], 2.0, of="check")


def typed(folder: Path, name: str, area: str, runs: int) -> None:
    """From a key to the verdict on the page, without the pause, against a warm check of the day."""
    from reportgen.pipeline import check

    check(folder / f"{name}.yaml")
    base = min(warm(lambda: check(folder / f"{name}.yaml")).wall for _ in range(runs))
    with chromium() as browser, served(folder) as opening:
        person = Person(browser, opening())
        person.goes(f"/shift/{name}/area/{area}?location=99#profile")
        person.until("document.activeElement.dataset.at")
        found = []
        for number in range(runs + 1):
            before = person.page.inner_text("#live")
            begun = time.perf_counter()
            person.page.keyboard.press("Control+A")
            person.page.keyboard.type("2.9" if number % 2 else "2.7")
            person.page.wait_for_function("before => document.querySelector('#live').innerText !== before", arg=before)
            found.append(time.perf_counter() - begun - PAUSE)
        person.page.keyboard.press("Escape")
    ratio = sorted(found[1:])[len(found) // 2 - 1] / base
    kept = "kept" if ratio <= 2.5 else "NOT kept"
    print(f"key to verdict, {area:<8} clock {ratio:5.2f} x check ({base * 1000:.0f} ms)  2.50 {kept}")


def sixty_areas(folder: Path) -> Path:
    """Write a day of sixty areas with their readings in it."""
    folder.mkdir()
    rows = ", ".join(f"{{location: {n // 2 + 1}, spot: {'ab'[n % 2]}, x1: {2.6 + n % 9 / 10:.1f}}}" for n in range(10))
    for file, data in readings.job_files(600, 10).items():
        text = data.decode()
        for area in range(1, 61):
            text = text.replace(f"{{csv: {area}.csv}}", f"[{rows}]")
        (folder / file).write_text(text, "utf-8")
    return folder


def main() -> None:
    """Measure and print one row for each ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-n", "--runs", type=int, default=7)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        quick(Path(name), options.runs)
        start(Path(name), options.runs)
        typed(Path(name) / "job", "2026-06-08", "G-1", options.runs)
        typed(sixty_areas(Path(name) / "large"), "day", "A-1", options.runs)


if __name__ == "__main__":
    main()
