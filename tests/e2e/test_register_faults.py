"""Failing calls, kills and lost power at every step of an issue: a whole report and a register that agrees, or neither.

Each defence is switched off once (`MUTANTS`), and the same sweep must then find violations: a sweep that cannot fail
proves nothing. ``REPORTGEN_ALL_FAULTS=1`` runs 300 kills at random moments and faults during recovery as well.
"""

import itertools
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from unittest import mock

import pytest

from reportgen import atomicfile
from reportgen.errors import ReportgenError, UsageError
from reportgen.register import Register, journal
from reportgen.register.chain import RegisterError, read_chain
from tests.unit.register import samples
from tests.unit.register.faults import (
    FAULTS,
    KILLS,
    ONLY,
    Injector,
    Scenario,
    issue_first,
    issue_second,
    killed,
    violations,
)
from tests.unit.register.powerloss import Recorder, materialize, snapshot, states_after

EVERYTHING = bool(os.environ.get("REPORTGEN_ALL_FAULTS"))


class Place:
    """A scenario with the folder it starts from and the number it should issue."""

    def __init__(self, scenario: Scenario, number: str, file: str, issued_before: int) -> None:
        self.scenario, self.number, self.file, self.issued_before = scenario, number, file, issued_before

    def prepare(self, folder: Path) -> Path:
        folder.mkdir()
        (folder / "reports").mkdir()
        if self.issued_before:
            samples.issue_some(folder, self.issued_before)
        return folder

    def faults_of(self, folder: Path, *, acknowledged: bool) -> list[str]:
        return violations(folder, self.number, self.file, acknowledged=acknowledged)


FIRST = Place(issue_first, "AB-12-001", "reports/AB-12-001-r0.pdf", 0)
SECOND = Place(issue_second, "AB-12-002", "AB-12-002-r0.pdf", 1)


PLACES = pytest.mark.parametrize("place", [FIRST, SECOND], ids=["no register yet", "one issued"])


@contextmanager
def no_hard_links() -> Iterator[None]:
    """A file system such as FAT, that has no links."""

    def refused(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    with mock.patch.object(os, "link", refused):
        yield


@contextmanager
def hard_links() -> Iterator[None]:
    yield


Links = Callable[[], AbstractContextManager[None]]
LINKS = pytest.mark.parametrize("links", [hard_links, no_hard_links])


def failing_calls(place: Place, base: Path, kinds: tuple[str, ...]) -> tuple[int, list[str]]:
    """Let every call of an issue fail in every way; returns the number of faults that struck, and the violations."""
    struck, found = 0, []
    for kind in kinds:
        for at in itertools.count():
            folder = place.prepare(base / f"{kind}-{at}".replace(" ", "-"))
            injector = Injector(at, kind)
            acknowledged, wrong = False, ""
            with injector.active():
                try:
                    place.scenario(folder)
                    acknowledged = True
                except ReportgenError:
                    pass
                except Exception as error:  # noqa: BLE001 - anything else is what the sweep looks for
                    wrong = repr(error)
            if not injector.struck:
                break
            struck += 1
            if wrong:
                found.append(f"{kind} at {at} ({injector.seen[at]}): escaped as {wrong}")
            found += [
                f"{kind} at {at} ({injector.seen[at]}): {sentence}"
                for sentence in place.faults_of(folder, acknowledged=acknowledged)
            ]
    return struck, found


def kills(place: Place, base: Path, kinds: tuple[str, ...], *, step: int = 1) -> tuple[int, list[str]]:
    """Kill the process before, in and after every call of an issue; returns the number of kills, and the violations."""
    count, found = 0, []
    for kind in kinds:
        for at in itertools.count(0, step):
            folder = place.prepare(base / f"{kind}-{at}".replace(" ", "-"))
            was_killed, acknowledged = killed(place.scenario, folder, at, kind)
            if not was_killed:
                assert acknowledged
                break
            count += 1
            found += [f"{kind} call {at}: {sentence}" for sentence in place.faults_of(folder, acknowledged=False)]
    return count, found


def lost_power(place: Place, base: Path) -> tuple[int, list[str]]:
    """Lose the power after every change of an issue; returns the number of states looked at, and the violations."""
    folder = place.prepare(base / "recorded")
    before = snapshot(folder)
    recorder = Recorder(folder)
    with recorder.active():
        place.scenario(folder)
    steps = recorder.steps
    count, found = 0, []
    for done in range(len(steps) + 1):
        for state in states_after(before, steps[:done]):
            count += 1
            root = base / f"state-{count}"
            (root / "reports").mkdir(parents=True)
            materialize(state, root)
            acknowledged = done == len(steps)
            found += [f"after step {done}: {text}" for text in place.faults_of(root, acknowledged=acknowledged)]
    return count, found


@PLACES
@LINKS
def test_every_failing_call(place: Place, links: Links, tmp_path: Path) -> None:
    kinds = FAULTS if EVERYTHING or links is hard_links else ("EIO", "done but EIO", "full disk")
    with links():
        struck, found = failing_calls(place, tmp_path, kinds)
    print(f"{struck} faults")
    assert not found
    assert struck > 30 * len(set(kinds) - ONLY.keys())


@PLACES
@LINKS
def test_killed_at_every_call(place: Place, links: Links, tmp_path: Path) -> None:
    kinds = KILLS if EVERYTHING or (links is hard_links and place is SECOND) else ("killed after",)
    with links():
        count, found = kills(place, tmp_path, kinds)
    print(f"{count} kills")
    assert not found
    assert count > 30 * len(set(kinds) - ONLY.keys())


@PLACES
@LINKS
def test_lost_power_after_every_change(place: Place, links: Links, tmp_path: Path) -> None:
    with links():
        count, found = lost_power(place, tmp_path)
    print(f"{count} states")
    assert not found
    assert count > 30


def stop(*_: object, **__: object) -> None:
    raise SystemExit


CRASHES = [(atomicfile, "sync_folder"), (atomicfile, "place"), (atomicfile, "publish"), (journal, "_look")]


@pytest.mark.parametrize("crash", CRASHES, ids=lambda crash: crash[1])
@pytest.mark.parametrize("torn", [b"", b'{"clock_back":fal'], ids=["whole", "torn"])
def test_lost_power_after_a_crash_and_its_recovery(crash: tuple[object, str], torn: bytes, tmp_path: Path) -> None:
    """What the crashed run did not sync may still be lost after the next run has recovered and issued the report.

    Without the sync of the register's folder in `_recover`, a register made by the crashed run could vanish.
    """

    def crash_then_issue(folder: Path) -> None:
        with mock.patch.object(*crash, stop), suppress(SystemExit):
            issue_first(folder)
        descriptor = os.open(folder / "register.jsonl", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
        os.write(descriptor, torn)
        os.close(descriptor)
        with suppress(UsageError):  # where the crash came after the link, the report is issued already
            issue_first(folder)

    count, found = lost_power(Place(crash_then_issue, FIRST.number, FIRST.file, 0), tmp_path)
    print(f"{count} states")
    assert not found
    assert count > 40


@pytest.mark.parametrize("stopped_at", range(6, 30, 1 if EVERYTHING else 13))
def test_recovery_is_itself_recovered(stopped_at: int, tmp_path: Path) -> None:
    """A run is killed; the run that recovers is killed, fails or loses its power; the third finds all in order."""

    class Interrupted(Place):
        def prepare(self, folder: Path) -> Path:
            super().prepare(folder)
            assert killed(issue_second, folder, stopped_at, "killed after")[0]
            return folder

        def faults_of(self, folder: Path, *, acknowledged: bool) -> list[str]:
            del acknowledged  # opening a register acknowledges nothing
            return super().faults_of(folder, acknowledged=False)

    def only_open(folder: Path) -> None:
        with Register.open(folder, clock=samples.clock, pattern=samples.PATTERN):
            pass

    place = Interrupted(only_open, SECOND.number, SECOND.file, 1)
    count, found = kills(place, tmp_path, KILLS if EVERYTHING else ("killed after",))
    (tmp_path / "faults").mkdir()
    struck, wrong = failing_calls(place, tmp_path / "faults", ("EIO", "half then ENOSPC"))
    states, lost = lost_power(place, tmp_path)
    print(f"{struck} faults")
    print(f"{count} kills")
    print(f"{states} states")
    assert not found + wrong + lost
    assert min(count, struck) > 5
    assert states


def unsynced(*_: object) -> None:
    """Stands for a sync that was left out."""


def single_write(descriptor: int, data: bytes) -> None:
    os.write(descriptor, data)


def written_in_place(path: Path, data: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL)
    os.write(descriptor, data)
    os.fsync(descriptor)
    os.close(descriptor)


def opened_without_recovery(register: Register) -> None:
    register._read()


def torn_row_refused(data: bytes) -> object:
    reading = read_chain(data)
    if reading.torn:
        raise RegisterError(reading.torn, "is not whole", reading.chain)
    return reading


def names_unsynced_by_part(descriptor: int) -> None:
    """Sync folders and the register, but not the report."""
    if Path(f"/proc/self/fd/{descriptor}").readlink().suffix != ".part":
        os.fsync(descriptor)


def register_unsynced(descriptor: int) -> None:
    """Sync folders and the report, but not the register."""
    if Path(f"/proc/self/fd/{descriptor}").readlink().suffix != ".jsonl":
        os.fsync(descriptor)


MUTANTS = {
    "report not synced": (lost_power, atomicfile, "sync", names_unsynced_by_part),
    "register not synced": (lost_power, atomicfile, "sync", register_unsynced),
    "names not synced": (lost_power, atomicfile, "sync_folder", unsynced),
    "torn row refused": (lost_power, journal, "read_chain", torn_row_refused),
    "no recovery": (lambda place, base: kills(place, base, ("killed after",), step=3), Register, "_recover",
                    opened_without_recovery),
    "no hidden file": (lambda place, base: kills(place, base, ("killed half",)), atomicfile, "place", written_in_place),
    "short write ignored": (lambda place, base: failing_calls(place, base, ("short",)), atomicfile, "write_all",
                            single_write),
}  # fmt: skip


@pytest.mark.parametrize("mutant", MUTANTS)
def test_a_defence_left_out_is_noticed(mutant: str, tmp_path: Path) -> None:
    sweep, owner, name, replacement = MUTANTS[mutant]
    with mock.patch.object(owner, name, replacement):
        _, found = sweep(FIRST if mutant == "names not synced" else SECOND, tmp_path)
    assert found, f"the sweep does not see: {mutant}"


ENDLESS = """
import sys
from pathlib import Path
from reportgen.errors import UsageError
from reportgen.register import Register
from tests.unit.register import samples
folder = Path(sys.argv[1])
print("ready", flush=True)
while True:
    with Register.open(folder, clock=samples.clock, pattern=samples.PATTERN) as register:
        number = register.next_number()
        samples.issue(register, folder, number)
    print(number, flush=True)
"""


def test_real_processes_killed_at_random(tmp_path: Path) -> None:
    """A process that issues one report after another is killed; no answered report is ever lost, none is half."""
    luck = random.Random(20260302)  # noqa: S311 - moments to kill at, the same in every run
    answered: list[str] = []
    for _ in range(300 if EVERYTHING else 6):
        command = [sys.executable, "-c", ENDLESS, str(tmp_path)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
            time.sleep(luck.uniform(0.001, 0.05))
            process.send_signal(signal.SIGKILL)
            answered += process.stdout.read().split("\n")[:-1]
    with Register.open(tmp_path, clock=samples.clock) as register:
        issued = [report.number for report in register.issued]
    for number in issued:
        assert (tmp_path / samples.file_of(number)).read_bytes().endswith(b"%%EOF\n")
    assert len(list(tmp_path.glob("*.pdf"))) == len(issued)
    assert not list(tmp_path.glob(".*.part"))
    assert set(answered) <= set(issued)
    assert issued == [f"AB-12-{place:03d}" for place in range(1, len(issued) + 1)]


def test_a_small_disk_that_fills_up(tmp_path: Path) -> None:
    """A real file system of a few pages: reports are issued until it is full, then cleanly not."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = subprocess.run(
        ["/bin/mount", "-t", "tmpfs", "-o", "size=60k", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if mount.returncode != 0:
        pytest.skip("mounting a file system is not permitted here; the injected full disk covers the same calls")
    try:
        with pytest.raises(ReportgenError) as full:
            issue_until_full(disk)
        assert full.value.exit_code == 4
        assert "No space left on device" in full.value.message
        before = sorted(path.name for path in disk.iterdir())
        assert all(name.endswith("-r0.pdf") or name == "register.jsonl" for name in before)
        for name in before[:2]:  # make room
            shutil.move(disk / name, tmp_path / name)
        with Register.open(disk, clock=samples.clock, pattern=samples.PATTERN) as register:
            assert samples.issue(register, disk, str(register.next_number())).event == "issued"
        subprocess.run(["/bin/mount", "-o", "remount,ro", str(disk)], check=True)
        with pytest.raises(ReportgenError, match="Read-only file system") as fixed:
            issue_until_full(disk)
        assert fixed.value.exit_code == 4
    finally:
        with suppress(subprocess.CalledProcessError):
            subprocess.run(["/bin/umount", str(disk)], check=True)


def issue_until_full(disk: Path) -> None:
    while True:
        with Register.open(disk, clock=samples.clock, pattern=samples.PATTERN) as register:
            samples.issue(register, disk, str(register.next_number()))
