"""A child process that answers, refuses, fails, grows or hangs; and the one that forks it."""

import contextlib
import os
import resource
import socket
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path

import pytest

from reportgen import sandbox
from reportgen.errors import MachineError, UsageError
from reportgen.sandbox import ChildLimits, _answer, confined, opener
from tests.unit.sandbox import probes

ROOT = Path(__file__).parents[3]


def answering(data):
    return data


def refusing():
    raise UsageError("not this one", help_text="that one")


def refusing_bare():
    raise UsageError("not this one")


def failing():
    raise KeyError("x")


def growing():
    return bytes(4 << 30)


def recursing():
    return recursing()


def hanging():
    time.sleep(60)
    return b""


def spinning():
    while True:
        pass


def dying():
    os._exit(7)


def short():
    raise MemoryError


def opening_many():
    kept = [os.dup(0) for _ in range(100)]
    return bytes(kept)


def open_files():
    found = []
    for number in range(3, 200):
        with contextlib.suppress(OSError):
            os.fstat(number)
            found.append(number)
    return bytes(found)


def modules():
    return b" ".join(name.encode() for name in ("wave", "reportgen.sheet.filled") if name in sys.modules)


def who_begins_children():
    return str(os.getppid()).encode()


def load_wave():
    __import__("wave")


def load_nothing_here():
    raise FileNotFoundError("no folder for a cache")


def load_a_fault():
    raise KeyError("x")


def test_an_answer_of_any_size_comes_back():
    assert confined(partial(answering, b"x" * (3 << 20)), "a.pdf") == b"x" * (3 << 20)
    assert confined(partial(answering, b""), "a.pdf") == b""


def test_a_refusal_comes_back_with_its_help():
    with pytest.raises(UsageError, match=r"^not this one$") as refused:
        confined(refusing, "a.pdf")
    assert refused.value.help_text == "that one"
    with pytest.raises(UsageError) as refused:
        confined(refusing_bare, "a.pdf")
    assert refused.value.help_text is None


FAULTS = [
    (failing, "a.pdf cannot be read: it is damaged, or not what its name says"),
    (growing, "a.pdf cannot be read: it needs more memory than it is given"),
    (recursing, "a.pdf cannot be read: it is nested without end"),
    (opening_many, "a.pdf cannot be read: it is damaged, or not what its name says"),
    (dying, "a.pdf cannot be read: reading it ended the process that read it"),
]


@pytest.mark.parametrize(("work", "message"), FAULTS)
def test_a_fault_is_the_file_s(work, message):
    with pytest.raises(UsageError, match=f"^{message}$"):
        confined(work, "a.pdf")


def test_a_file_that_takes_too_long_is_given_up():
    with pytest.raises(UsageError, match=r"^a.pdf takes longer to read than 0.2 s; it is damaged or made to do so$"):
        confined(hanging, "a.pdf", seconds=0.2)


def test_processor_time_is_bounded_too():
    asked = sandbox.pickle.dumps(opener.ChildTask(spinning, ChildLimits(cpu_seconds=1, wall_seconds=60)))
    assert sandbox._through_opener(asked, sandbox.nothing, 60) == b""


def test_an_answer_without_end_is_not_taken(monkeypatch):
    monkeypatch.setattr(sandbox, "ANSWER_LIMIT", 1000)
    with pytest.raises(UsageError, match=r"^a.pdf cannot be read"):
        confined(partial(answering, bytes(1 << 20)), "a.pdf")


def test_a_child_has_no_file_of_ours_open_but_the_way_to_answer():
    with (ROOT / "README.md").open("rb") as held:
        os.set_inheritable(held.fileno(), True)
        assert len(confined(open_files, "a.pdf")) == 1


def test_what_is_asked_for_is_loaded_before_and_once():
    assert confined(modules, "a.pdf", load=load_wave) == b"wave"
    assert confined(modules, "a.pdf") == b"wave"


def test_what_cannot_be_loaded_here_is_left_to_the_child():
    assert confined(partial(answering, b"x"), "a.pdf", load=load_nothing_here) == b"x"


def test_a_fault_of_ours_is_not_the_file_s():
    with pytest.raises(MachineError, match=r"something that belongs there is missing$"):
        confined(partial(answering, b"x"), "a.pdf", load=load_a_fault)
    assert confined(partial(answering, b"x"), "a.pdf") == b"x"


def test_no_process_can_be_begun(monkeypatch):
    sandbox._end_all()
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with pytest.raises(MachineError, match=r"^the process that opens files of others cannot be started"):
        confined(partial(answering, b"x"), "a.pdf")
    monkeypatch.setattr(sys, "executable", "/bin/true")
    with pytest.raises(MachineError, match=r"ended while it started"):
        confined(partial(answering, b"x"), "a.pdf")


def test_a_lost_opener_costs_one_file():
    assert confined(partial(answering, b"x"), "a.pdf") == b"x"
    sandbox._OPENERS[0]._process.kill()
    sandbox._OPENERS[0]._process.wait()
    with pytest.raises(UsageError, match="ended the process"):
        confined(partial(answering, b"x"), "a.pdf")
    assert confined(partial(answering, b"x"), "a.pdf") == b"x"


def test_a_process_forked_from_ours_has_an_opener_of_its_own(monkeypatch):
    """It is forked from ours: nothing is imported again, and nobody waits for the other."""
    assert confined(modules, "a.pdf", load=load_wave) == b"wave"
    ours = sandbox._OPENERS[0]

    def asked():
        return b"%s %r %r" % (confined(modules, "a.pdf"), sandbox.is_confined(), sandbox._OPENERS[0] is ours)

    with monkeypatch.context() as changed:
        changed.setattr(sandbox, "_fresh", None)
        told = probes.in_a_process_of_its_own(asked)
    assert told == f"wave {sandbox.is_confined()} False"
    assert [ours] == sandbox._OPENERS
    assert not sandbox._FOR_A_FORK
    assert confined(partial(answering, b"x"), "a.pdf") == b"x"


def test_a_process_forked_while_ours_is_busy_or_lost_begins_its_own():
    assert confined(partial(answering, b"x"), "a.pdf") == b"x"
    with sandbox._OPENERS[0].lock:
        assert probes.in_a_process_of_its_own(lambda: confined(partial(answering, b"y"), "a.pdf")) == "y"
    sandbox._OPENERS[0]._process.kill()
    sandbox._OPENERS[0]._process.wait()
    assert probes.in_a_process_of_its_own(lambda: confined(partial(answering, b"y"), "a.pdf")) == "y"


def test_an_opener_forked_from_ours_ends_with_the_process_that_has_it(monkeypatch):
    assert confined(partial(answering, b"x"), "a.pdf") == b"x"
    other = sandbox._OPENERS[0].another()
    with monkeypatch.context() as changed:
        changed.setattr(sandbox, "_OPENERS", [other])
        process = int(confined(who_begins_children, "a.pdf"))
    assert process != sandbox._OPENERS[0]._process.pid
    assert Path(f"/proc/{process}/exe").exists()
    other.end()
    assert eventually(lambda: not Path(f"/proc/{process}/exe").exists())


def children_of(process):
    return [int(one) for one in Path(f"/proc/{process}/task/{process}/children").read_text().split()]


def eventually(what):
    deadline = time.monotonic() + 20
    while not what() and time.monotonic() < deadline:
        time.sleep(0.02)
    return what()


def test_no_child_is_left_behind():
    confined(partial(answering, b"x"), "a.pdf")
    with pytest.raises(UsageError):
        confined(hanging, "a.pdf", seconds=0.2)
    assert children_of(sandbox._OPENERS[0]._process.pid) == []


def test_all_ends_with_the_process_that_asked():
    run = "from reportgen.sandbox import confined; from tests.unit.sandbox.test_confined import hanging as work; "
    asking = subprocess.Popen([sys.executable, "-c", f"{run} confined(work, 'a.pdf', seconds=60)"], cwd=ROOT)
    try:
        assert eventually(lambda: [child for one in children_of(asking.pid) for child in children_of(one)])
        (begun,) = children_of(asking.pid)
        (child,) = children_of(begun)
    finally:
        asking.kill()
        asking.wait()
    assert eventually(lambda: not any(Path(f"/proc/{one}/exe").exists() for one in (begun, child)))


def test_what_a_child_began_ends_with_it():
    child = os.fork()
    if child == 0:
        os.setpgid(0, 0)
        subprocess.Popen(["/bin/sleep", "60"])
        time.sleep(60)
    assert eventually(lambda: children_of(child))
    (begun,) = children_of(child)
    opener._end(child)
    assert eventually(lambda: not Path(f"/proc/{begun}/exe").exists())


@pytest.mark.parametrize("work", [partial(answering, b"x"), refusing, failing, recursing])
def test_the_answer_in_this_process_is_the_child_s(work):
    kind = _answer(work)[:1]
    assert kind == {answering: b"+"}.get(getattr(work, "func", work), b"-" if work is refusing else b"!")


def test_memory_that_runs_out_is_said():
    assert _answer(short) == b"!it needs more memory than it is given"


def test_without_fork_a_fresh_process_is_started(monkeypatch):
    monkeypatch.delattr(os, "fork")
    assert not sandbox.is_confined()
    assert confined(partial(answering, b"x"), "a.pdf") == b"x"
    with pytest.raises(UsageError, match=r"takes longer"):
        confined(hanging, "a.pdf", seconds=0.1)
    with pytest.raises(UsageError, match=r"ended the process"):
        confined(dying, "a.pdf")


class Ended(Exception):  # noqa: N818 - not an error
    """Stands for the end of a process."""


def test_what_the_child_does(monkeypatch):
    """The child's own lines, run here: limits, then confinement, then the answer, and an end without clean-up."""
    done = []

    def end(status):
        done.append(status)
        raise Ended

    monkeypatch.setattr(os, "_exit", end)
    monkeypatch.setattr(os, "setpgid", lambda *_: done.append("group"))
    monkeypatch.setattr(resource, "setrlimit", lambda kind, bounds: done.append((kind, bounds)))
    monkeypatch.setattr(opener, "confine", done.append)
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    ours, theirs = socket.socketpair()
    with ours, theirs:
        task = opener.ChildTask(partial(answering, b"verdict"), ChildLimits(memory=1 << 30), (Path("/photos"),))
        ours.sendall(sandbox.pickle.dumps(task))
        ours.shutdown(socket.SHUT_WR)
        with pytest.raises(Ended):
            opener._in_child(theirs, confined=True)
        assert ours.recv(100) == b"verdict"
    limits = dict(entry for entry in done if isinstance(entry, tuple) and len(entry) == 2)
    assert limits[resource.RLIMIT_CORE] == (0, 0)
    assert limits[resource.RLIMIT_NOFILE] == (64, 64)
    assert limits[resource.RLIMIT_FSIZE] == (64 << 10, 64 << 10)
    assert limits[resource.RLIMIT_AS][0] > 1 << 30
    assert done[0] == "group"
    assert done[-2:] == [(Path("/photos"),), 0]


def test_limits_never_exceed_those_in_force(monkeypatch):
    found = {}
    monkeypatch.setattr(resource, "getrlimit", lambda _: (10, 10))
    monkeypatch.setattr(resource, "setrlimit", found.__setitem__)
    opener.limit(ChildLimits())
    assert found[resource.RLIMIT_NOFILE] == (10, 10)
    monkeypatch.setattr("pathlib.Path.read_text", lambda *_, **__: "no number")
    assert opener._address_space() == 0


def test_a_fork_that_the_machine_refuses_is_told(monkeypatch):
    def refused():
        raise OSError(12, "Cannot allocate memory")

    monkeypatch.setattr(opener, "_tried", lambda: False)
    monkeypatch.setattr(os, "fork", refused)
    monkeypatch.setattr(opener.gc, "freeze", lambda: None)
    monkeypatch.setattr(opener.os, "environ", {})
    control, theirs = socket.socketpair()
    serving = threading.Thread(target=opener.serve, args=(theirs.detach(),))
    serving.start()
    job, given = socket.socketpair()
    with control, job:
        assert control.recv(1) == opener.LIMITED
        load = sandbox.pickle.dumps(sandbox.nothing)
        job.sendall(len(load).to_bytes(4, "big") + load)
        with given:
            socket.send_fds(control, [opener.FORKED], [given.fileno()])
        assert control.recv(1) == opener.NOT_FORKED
        assert b"Cannot allocate memory" in opener.read_all(job)
    serving.join()
