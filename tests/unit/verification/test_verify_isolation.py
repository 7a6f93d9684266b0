"""The child process: same verdict as without it; bounded in memory, processor, clock and output; nothing stays."""

from __future__ import annotations

import os
import signal
import time
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from reportgen import sandbox
from reportgen.errors import UsageError
from reportgen.verification import Limits, isolation, verify_bytes, verify_file, verify_report
from tests.unit.verification import signed_material as made

ROOTS = (made.root().certificate,)


def reasons(**more: Any) -> list[tuple[str, str]]:
    pdf = more.pop("pdf", None) or made.report()
    answer = verify_bytes(pdf, at=made.LATER, roots=ROOTS, **more)
    assert answer.sha256 == made.sha256(pdf)
    return [(reason.name, reason.sentence) for reason in answer.reasons]


@pytest.mark.parametrize("make", [made.report, made.complete_report, made.unsigned, lambda: b"", made.pages])
def test_same_answer_as_without_a_child(make: Any, tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    file.write_bytes(make())
    asked = {"at": made.LATER, "roots": ROOTS, **made.CHECKS}
    assert verify_file(file, **asked) == verify_report(make(), **asked)


def test_in_a_fresh_process_with_a_note() -> None:
    asked = {"at": made.LATER, "roots": ROOTS, **made.CHECKS}
    answer = verify_bytes(made.report(), mode="spawn", **asked)
    plain = verify_report(made.report(), **asked)
    assert answer.overall == "passed"
    assert answer.steps[1:] == plain.steps[1:]
    assert answer.steps[0].details == (
        *plain.steps[0].details,
        "this platform has no limits on memory: only the time was bounded, in a child process",
    )


def sleep(_: Any) -> bytes:
    time.sleep(60)
    return b""


def crash(_: Any) -> bytes:
    os.kill(os.getpid(), signal.SIGKILL)
    return b""


def spin(_: Any) -> bytes:
    while True:
        pass


def hoard(_: Any) -> bytes:
    return bytes(3 << 30)


BROKE_OFF = "step 8 was not done: it broke off here, through no fault of the file that is known (OSError)"


def descend(_: Any) -> bytes:
    return descend(_)


def test_limits_of_the_child() -> None:
    slow = ("RESOURCE_LIMIT", "reading the file takes longer than it is given")
    ended = ("RESOURCE_LIMIT", "reading the file ended the process that read it")
    large = ("RESOURCE_LIMIT", "reading the file needs more memory than it is given")
    assert reasons(recompute=sleep, limits=Limits(wall_seconds=0.3)) == [slow]
    assert reasons(recompute=crash) == [ended]
    assert reasons(recompute=spin, limits=Limits(cpu_seconds=1)) == [ended]
    assert reasons(recompute=hoard) == [large]
    assert reasons(recompute=hoard, limits=Limits(memory=64 << 20)) == [large]
    assert reasons(recompute=sleep, limits=Limits(wall_seconds=2.0), mode="spawn") == [slow]
    assert reasons(recompute=crash, mode="spawn") == [ended]


def test_an_evaluation_that_fails_on_strange_input_is_the_inputs_fault() -> None:
    name, sentence = reasons(recompute=descend)[0]
    assert (name, sentence) == ("INPUT_REFUSED", "the embedded input cannot be evaluated (RecursionError)")


def test_child_has_few_descriptors_and_writes_little(tmp_path: Path) -> None:
    target = tmp_path / "written"

    def write(_: Any) -> bytes:
        target.write_bytes(bytes(1 << 20))
        return b""

    def open_many(_: Any) -> bytes:
        kept = [Path("/dev/null").open("rb") for _ in range(100)]  # noqa: SIM115 - they are to stay open
        return bytes(len(kept))

    assert reasons(recompute=write)[0][1] == BROKE_OFF
    assert target.stat().st_size <= 64 << 10
    assert reasons(recompute=open_many)[0][1] == BROKE_OFF


def test_child_inherits_no_open_file() -> None:
    with open("/dev/null", "rb") as held:  # noqa: PTH123 - a bare descriptor is what is looked for

        def look(_: Any) -> bytes:
            os.fstat(held.fileno())
            return made.EVALUATION

        assert reasons(recompute=look)[0][1] == BROKE_OFF


def test_no_child_is_left_behind() -> None:
    mine = Path(f"/proc/self/task/{os.getpid()}/children")
    before = mine.read_text()
    reasons(**made.CHECKS)
    reasons(recompute=sleep, limits=Limits(wall_seconds=0.2))
    assert mine.read_text() == before


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path, sentence in (
        (tmp_path / "none.pdf", "cannot be read: No such file or directory"),
        (tmp_path, "cannot be read: Is a directory"),
        (pipe, "is not a file"),
    ):
        with pytest.raises(UsageError) as caught:
            verify_file(path, at=made.LATER)
        assert caught.value.message == f"{path} {sentence}"
    large = tmp_path / "large.pdf"
    large.write_bytes(bytes(2 << 20))
    with pytest.raises(UsageError, match=r"large\.pdf is larger than 1 MiB"):
        verify_file(large, at=made.LATER, limits=Limits(input_bytes=1 << 20))


def test_unusable_roots_are_the_callers_fault(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="cannot be read"):
        verify_bytes(made.report(), at=made.LATER, roots=[tmp_path / "none.pem"])


class Ended(Exception):  # noqa: N818 - not an error
    """Stands for the end of a process."""


def test_what_the_child_does(monkeypatch: pytest.MonkeyPatch) -> None:
    """The child's own lines, run here: limits first, then the verdict to the pipe, and an end without clean-up."""
    import resource

    done: list[Any] = []

    def end(status: int) -> None:
        done.append(status)
        raise Ended

    monkeypatch.setattr(os, "_exit", end)
    monkeypatch.setattr(os, "closerange", lambda *bounds: done.append(bounds))
    monkeypatch.setattr(resource, "setrlimit", lambda kind, bounds: done.append((kind, bounds)))
    monkeypatch.setattr(sandbox.sys, "dont_write_bytecode", False)
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "8")
    reading, writing = os.pipe()
    with pytest.raises(Ended):
        sandbox._in_child(writing, Limits(memory=1 << 30), lambda: b"verdict")
    assert os.read(reading, 100) == b"verdict"
    limits = {entry[0]: entry[1] for entry in done[2:-1]}
    assert limits[resource.RLIMIT_CORE] == (0, 0)
    assert limits[resource.RLIMIT_NOFILE] == (64, 64)
    assert limits[resource.RLIMIT_AS][0] > 1 << 30
    assert done[-1] == 0

    def fail() -> bytes:
        raise ValueError

    with pytest.raises(Ended):
        sandbox._in_child(writing, Limits(), fail)
    assert done[-1] == 1
    os.close(reading)
    os.close(writing)


def test_limits_never_exceed_those_in_force(monkeypatch: pytest.MonkeyPatch) -> None:
    import resource

    found: dict[int, Any] = {}
    monkeypatch.setattr(resource, "getrlimit", lambda _: (10, 10))
    monkeypatch.setattr(resource, "setrlimit", found.__setitem__)
    monkeypatch.setattr(sandbox.sys, "dont_write_bytecode", True)
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "1")
    sandbox._limit(Limits())
    assert found[resource.RLIMIT_NOFILE] == (10, 10)
    monkeypatch.setattr("pathlib.Path.read_text", lambda *_, **__: "no number")
    assert sandbox._address_space() == 0


def test_an_answer_that_is_none_and_one_too_deep(monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as child:
        child.setattr(isolation, "answer_of_child", lambda *_: (b"[]", True))
        answer = verify_bytes(b"x", at=made.LATER)
    assert answer.reasons[0].sentence == "reading the file ended the process that read it"

    def too_deep(*_: Any, **__: Any) -> Any:
        raise RecursionError

    monkeypatch.setattr(isolation, "verify_report", too_deep)
    assert b"nested without end" in isolation._verdict(b"x", made.LATER, {})
    monkeypatch.setattr(isolation, "verify_report", lambda *_, **__: (_ for _ in ()).throw(MemoryError))
    assert b"needs more memory" in isolation._verdict(b"x", made.LATER, {})


def test_the_mode_of_other_platforms(monkeypatch: pytest.MonkeyPatch) -> None:
    assert sandbox.available_mode() == "fork"
    monkeypatch.setattr(sandbox.sys, "platform", "win32")
    assert sandbox.available_mode() == "spawn"


def test_verdict_of_the_spawned_child_goes_through_its_pipe() -> None:
    sent: list[bytes] = []

    class Pipe:
        def send_bytes(self, data: bytes) -> None:
            sent.append(data)

    sandbox._send(Pipe(), partial(isolation._verdict, b"", made.LATER, {}))
    assert b"FORMAT_FAILURE" in sent[0]
