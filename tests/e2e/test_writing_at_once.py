"""Pages and an editor write one day file at the same time, and are killed: it is whole always, and nothing is lost."""

import contextlib
import multiprocessing
import os
import random
import time

from reportgen import atomicfile
from reportgen.errors import InputError, UsageError
from reportgen.intake.changes import Change, content_at, reading_at, surface_at
from reportgen.pipeline import writing
from reportgen.pipeline.looking import Look
from reportgen.pipeline.writing import Conflict, Wrote, write_entry
from reportgen.yamlsource import DayText
from tests import footbridge

B1 = surface_at("B-1")
SPOTS = [(location, spot) for location in "123" for spot in "ab"]
SPAWN = multiprocessing.get_context("spawn")
ROUNDS, WRITES = 3, 8


def at(location, spot, roll):
    return reading_at(B1, location, spot, roll)


def page(day, log, seed, roll, spots):
    """Write random readings of one roll, each on what stands there; note what was acknowledged, line by line."""
    # what follows from a reading is shown elsewhere: here it only takes time
    writing.looked = lambda *_, **__: Look("")
    dice = random.Random(seed)  # noqa: S311 - no secret
    with log.open("a") as acknowledged:
        while True:
            location, spot = dice.choice(spots)
            value = f"2.{dice.randrange(10**6):06}"
            with contextlib.suppress(InputError, UsageError):  # caught the file half saved by the editor
                present = content_at(DayText(day.read_bytes(), "day").data, at(location, spot, roll))
                answer = write_entry(day, Change(at(location, spot, roll), present, value))
                assert isinstance(answer, Wrote | Conflict)
                if isinstance(answer, Wrote):
                    acknowledged.write(f"{location} {spot} {roll} {value}\n")
                    acknowledged.flush()


def editor(day, log, seed):
    """Open, add a line, save: in place as some editors do, or by another name as others do."""
    dice = random.Random(seed)  # noqa: S311 - no secret
    for number in range(10**6):
        text = day.read_text("utf-8")
        if "\nproject:" not in text:
            continue
        time.sleep(dice.random() / 50)  # somebody types
        mark = f"# saved {seed}-{number}"
        text = text.replace("\nproject:", f"\n{mark}\nproject:", 1)
        if dice.random() < 0.5:
            other = day.with_name("editing~")
            other.write_text(text, "utf-8")
            other.replace(day)
        else:
            with day.open("r+", encoding="utf-8") as file:
                file.write(text)
                file.truncate()
        with log.open("a") as saved:
            saved.write(f"{mark}\n")
        time.sleep(dice.random() / 20)


def started(work, *arguments):
    process = SPAWN.Process(target=work, args=arguments)
    process.start()
    return process


def lines(log):
    return log.read_text("utf-8").count("\n") if log.exists() else 0


def run_and_kill(works, dice, watch=lambda: None):
    """Let them run, and kill one after the other at a random moment."""
    before = [lines(work[2]) for work in works]
    running = [started(*work) for work in works]
    late = time.monotonic() + 60  # a process of its own takes a while to start
    while any(lines(work[2]) < old + WRITES for work, old in zip(works, before, strict=True)):
        assert time.monotonic() < late
        watch()
        time.sleep(0.002)
    time.sleep(dice.random() / 20)
    for process in dice.sample(running, len(running)):
        process.kill()
        process.join()
        watch()


def settled(day):
    """One more write, which settles what a killed one left."""
    data = DayText(day.read_bytes(), "day").data
    present = content_at(data, B1 / "remarks")
    assert isinstance(write_entry(day, Change(B1 / "remarks", present, "done")), Wrote)
    hidden = [path.name for path in day.parent.iterdir() if path.name.startswith(".")]
    assert hidden == []


def test_two_pages_killed_at_random_lose_nothing_and_the_file_is_always_whole(tmp_path):
    day = footbridge.folder(tmp_path / "job", day=footbridge.day(1)) / "day.yaml"
    logs = [tmp_path / f"log{number}" for number in range(2)]
    dice = random.Random(5)  # noqa: S311

    def watch():
        assert len(DayText(day.read_bytes(), "day").data["surfaces"][0]["profile"]["readings"]) == len(SPOTS)

    for number in range(ROUNDS):
        works = [(page, day, logs[0], number, "x1", SPOTS[:3]), (page, day, logs[1], 100 + number, "c1", SPOTS[3:])]
        run_and_kill(works, dice, watch)
    written = {}
    for log in logs:
        for line in log.read_text().splitlines():
            location, spot, roll, value = line.split()
            written[location, spot, roll] = written.get((location, spot, roll), [])
            written[location, spot, roll].append(value)
    data = DayText(day.read_bytes(), "day").data
    for (location, spot, roll), values in written.items():
        present = content_at(data, at(location, spot, roll))
        # the last one acknowledged, or the one after it that was killed before it could say so
        assert present == values[-1] or present not in values
    settled(day)
    assert sorted(path.name for path in day.parent.iterdir()) == ["day.yaml", "project.yaml"]


def killed_half_written(day):
    """Write an entry, and end without a word when half of the new file is on the disk."""

    def half(descriptor, data):
        os.write(descriptor, data[: len(data) // 2])
        os._exit(9)

    atomicfile.write_all = half
    write_entry(day, Change(B1 / "remarks", None, "x"))


def test_a_write_killed_half_way_leaves_nothing_that_looks_like_an_editors(tmp_path):
    day = footbridge.folder(tmp_path / "job", day=footbridge.day(1)) / "day.yaml"
    before = day.read_bytes()
    killed = started(killed_half_written, day)
    killed.join()
    assert killed.exitcode == 9
    assert day.read_bytes() == before
    assert len([path for path in day.parent.iterdir() if path.suffix == ".part"]) == 1
    settled(day)
    assert sorted(path.name for path in day.parent.iterdir()) == ["day.yaml", "project.yaml"]


def test_what_an_editor_saves_between_is_in_the_file_or_beside_it(tmp_path):
    day = footbridge.folder(tmp_path / "job", day=footbridge.day(1)) / "day.yaml"
    pages, saved = tmp_path / "pages", tmp_path / "saved"
    dice = random.Random(7)  # noqa: S311
    writer = started(editor, day, saved, 1)
    for number in range(ROUNDS):
        run_and_kill([(page, day, pages, number, "x1", SPOTS)], dice)
    writer.kill()
    writer.join()
    marks = saved.read_text().splitlines()
    if "\nproject:" not in day.read_text("utf-8"):  # killed in the middle of saving in place: that is the editor's
        return
    settled(day)
    everywhere = "".join(path.read_text("utf-8") for path in day.parent.glob("day*.yaml"))
    assert len(marks) > ROUNDS
    assert [mark for mark in marks if f"{mark}\n" not in everywhere] == []
