"""Many processes at one register: every number is issued once, everyone else gets a clean refusal.

Switched off in turn: the lock, then also the link that refuses a taken name, which the lock would hide.
"""

import os
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from unittest import mock

import pytest

from reportgen import atomicfile
from reportgen.errors import MachineError, UsageError
from reportgen.register import Register, check_register, lock, read_register
from tests.unit.register import samples

ISSUED, REFUSED, MACHINE, BROKEN = 0, 2, 4, 9


def race(folder: Path, numbers: list[str], *, build_seconds: float = 0.0) -> Counter[tuple[str, int]]:
    """Start one process for each of ``numbers`` at the same moment; returns how often each number ended how."""
    starting, start = os.pipe()
    children = {}
    for number in numbers:
        child = os.fork()
        if child == 0:
            code = BROKEN
            try:
                os.close(start)
                os.read(starting, 1)
                code = attempt(folder, number, build_seconds)
            finally:
                os._exit(code)
        children[child] = number
    os.close(starting)
    os.close(start)
    return Counter((number, os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])) for child, number in children.items())


def attempt(folder: Path, number: str, build_seconds: float) -> int:
    try:
        with Register.open(folder, clock=samples.clock, patience=300) as register:  # the machine may be busy
            register.admit(number, 0)
            time.sleep(build_seconds)
            samples.issue(register, folder, number)
    except UsageError as refusal:
        return REFUSED if "was already issued on 2026-03-02 at" in refusal.message else BROKEN
    except MachineError:
        return MACHINE
    return ISSUED


def test_two_processes_one_number(tmp_path: Path) -> None:
    for round_number in range(1, 11):
        number = f"AB-12-{round_number:03d}"
        assert race(tmp_path, [number] * 2, build_seconds=0.005) == {(number, ISSUED): 1, (number, REFUSED): 1}
    assert check_register(tmp_path) == []


def test_two_hundred_issues_of_ten_numbers(tmp_path: Path) -> None:
    numbers = [f"AB-12-{place:03d}" for place in range(1, 11)]
    outcome = race(tmp_path, [number for _ in range(20) for number in numbers])
    assert outcome == {(number, code): 1 if code == ISSUED else 19 for number in numbers for code in (ISSUED, REFUSED)}
    assert sum(count for (_, code), count in outcome.items() if code == ISSUED) == 10
    assert sum(count for (_, code), count in outcome.items() if code == REFUSED) == 190
    chain = read_register(tmp_path).chain
    assert [row.event for row in chain.rows] == ["intent", "issued"] * 10
    assert sorted(number for number, _ in chain.issued) == numbers
    assert check_register(tmp_path) == []
    assert sorted(path.name for path in tmp_path.iterdir()) == [samples.file_of(number) for number in numbers] + [
        "register.jsonl"
    ]


def unlocked(*_: object, **__: object) -> None:
    """Stands for a lock that is taken by everyone at once."""


def overwriting(part: Path, final: Path) -> None:
    part.replace(final)


@contextmanager
def without(*defences: tuple[object, str, Callable[..., None]]) -> Iterator[None]:
    with ExitStack() as stack:
        for owner, name, replacement in defences:
            stack.enter_context(mock.patch.object(owner, name, replacement))
        yield


NO_LOCK = (lock, "_lock", unlocked)
NO_LINK = (atomicfile, "publish", overwriting)


@pytest.mark.parametrize("defences", [(NO_LOCK,), (NO_LOCK, NO_LINK)], ids=["lock", "lock and link"])
def test_a_defence_left_out_is_noticed(
    defences: tuple[tuple[object, str, Callable[..., None]], ...], tmp_path: Path
) -> None:
    with without(*defences):
        outcome = race(tmp_path, [f"AB-12-{place:03d}" for _ in range(4) for place in range(1, 4)], build_seconds=0.01)
    once_each = {(f"AB-12-{place:03d}", code): 1 if code == ISSUED else 3 for place in range(1, 4) for code in (0, 2)}
    try:
        agrees = check_register(tmp_path) == []
    except UsageError:
        agrees = False
    assert outcome != once_each or not agrees


def test_link_left_out_is_noticed_when_others_write_the_name(tmp_path: Path) -> None:
    """A program that is not ours makes the file after we looked: it is kept, and the number is not issued."""

    def issue_against_a_stranger() -> None:
        target = tmp_path / samples.file_of("AB-12-001")
        real = atomicfile.write_part

        def overtaken(path: Path, data: bytes, **options: int) -> Path:
            target.write_bytes(b"not ours")
            return real(path, data, **options)

        with (
            mock.patch.object(atomicfile, "write_part", overtaken),
            Register.open(tmp_path, clock=samples.clock) as register,
        ):
            samples.issue(register, tmp_path)

    with pytest.raises(UsageError) as refusal:
        issue_against_a_stranger()
    assert refusal.value.message == (
        "`AB-12-001-r0.pdf` was written by something else meanwhile; AB-12-001 was not issued"
    )
    assert (tmp_path / "AB-12-001-r0.pdf").read_bytes() == b"not ours"
    assert [row.event for row in read_register(tmp_path).chain.rows] == ["intent", "conflict"]
    assert not list(tmp_path.glob(".*"))
    assert [problem.code for problem in check_register(tmp_path)] == ["number-conflict"]
    (tmp_path / "AB-12-001-r0.pdf").unlink()
    with without(NO_LINK):
        issue_against_a_stranger()
    assert (tmp_path / "AB-12-001-r0.pdf").read_bytes() != b"not ours"  # the stranger's file is gone without a word
