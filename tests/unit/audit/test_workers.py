"""Work spread over processes: everything is done once, a killed worker is named, one process needs no other."""

import os

import pytest

from reportgen.audit import finished_here
from reportgen.errors import MachineError


def square(number):
    return number * number


def pid(_):
    return os.getpid()


def end_at_three(number):
    if number == 3:
        os._exit(9)
    return number


@pytest.mark.parametrize("processes", [1, 2])
def test_every_task_is_done_once(processes):
    assert sorted(finished_here(square, range(40), processes)) == [n * n for n in range(40)]


def test_one_process_is_this_one():
    assert set(finished_here(pid, range(3), 1)) == {os.getpid()}


def test_workers_are_replaced_after_their_share(monkeypatch):
    monkeypatch.setattr("reportgen.audit.workers._TASKS_PER_PROCESS", 5)
    assert len(set(finished_here(pid, range(40), 2))) >= 4


def test_a_worker_that_is_killed_is_said():
    with pytest.raises(MachineError, match="ended from outside"):
        list(finished_here(end_at_three, range(9), 2))


def test_nothing_to_do():
    assert list(finished_here(square, [], 2)) == []
