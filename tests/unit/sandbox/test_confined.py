"""A child process that answers, refuses, fails, grows or hangs."""

import os
import time
from functools import partial

import pytest

from reportgen import sandbox
from reportgen.errors import UsageError
from reportgen.sandbox import _answer, confined


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


def dying():
    os._exit(7)


def writing(path):
    path.write_bytes(bytes(1 << 20))
    return b"written"


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
    (dying, "a.pdf cannot be read: reading it ended the process that read it"),
]


@pytest.mark.parametrize(("work", "message"), FAULTS)
def test_a_fault_is_the_file_s(work, message):
    with pytest.raises(UsageError, match=f"^{message}$"):
        confined(work, "a.pdf")


def test_a_file_that_takes_too_long_is_given_up():
    with pytest.raises(UsageError, match=r"^a.pdf takes longer to read than 0.2 s; it is damaged or made to do so$"):
        confined(hanging, "a.pdf", seconds=0.2)


def test_an_answer_without_end_is_not_taken(monkeypatch):
    monkeypatch.setattr(sandbox, "ANSWER_LIMIT", 1000)
    with pytest.raises(UsageError, match=r"^a.pdf cannot be read"):
        confined(partial(answering, bytes(1 << 20)), "a.pdf")


def test_large_files_cannot_be_written(tmp_path):
    with pytest.raises(UsageError, match=r"^a.pdf cannot be read"):
        confined(partial(writing, tmp_path / "large"), "a.pdf")


@pytest.mark.parametrize("work", [partial(answering, b"x"), refusing, failing, recursing])
def test_the_answer_in_this_process_is_the_child_s(work):
    kind = _answer(work)[:1]
    assert kind == {answering: b"+"}.get(getattr(work, "func", work), b"-" if work is refusing else b"!")


def test_memory_that_runs_out_is_said():
    def short():
        raise MemoryError

    assert _answer(short) == b"!it needs more memory than it is given"


def test_without_fork_a_fresh_process_is_started(monkeypatch):
    monkeypatch.delattr(os, "fork")
    assert confined(partial(answering, b"x"), "a.pdf") == b"x"
    with pytest.raises(UsageError, match=r"takes longer"):
        confined(hanging, "a.pdf", seconds=0.1)
    with pytest.raises(UsageError, match=r"ended the process"):
        confined(dying, "a.pdf")
