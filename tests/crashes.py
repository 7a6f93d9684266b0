"""What a worker of a test run leaves behind when it ends in the middle of a test, printed at the end of the run."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

import pytest
from _pytest.faulthandler import fault_handler_stderr_fd_key

_TRACES, _KILLED = pytest.StashKey[Path](), pytest.StashKey[int]()
_FOUND = pytest.StashKey[list[str]]()


def killed_for_memory() -> int:
    """Return how many processes of this machine the system has ended for want of memory; 0 where it does not say."""
    try:
        rows = Path("/proc/vmstat").read_text(encoding="ascii").split("\n")
    except OSError:
        return 0
    return next((int(row.split()[1]) for row in rows if row.startswith("oom_kill ")), 0)


@pytest.hookimpl(trylast=True)
def pytest_configure(config: pytest.Config) -> None:
    """In a worker: what it was at when it ends, by a signal or for taking too long, goes to a file of its own."""
    if not hasattr(config, "workerinput"):
        config.stash[_KILLED], config.stash[_FOUND] = killed_for_memory(), []
        return
    place = Path(config.workerinput["traces"], config.workerinput["workerid"])
    trace = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    os.dup2(trace, config.stash[fault_handler_stderr_fd_key])
    os.close(trace)


@pytest.hookimpl(optionalhook=True)
def pytest_configure_node(node: Any) -> None:
    """Name the folder of these files to a worker that is about to start."""
    if _TRACES not in node.config.stash:
        node.config.stash[_TRACES] = Path(tempfile.mkdtemp(prefix="traces-"))
    node.workerinput["traces"] = str(node.config.stash[_TRACES])


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any, error: object) -> None:
    """Keep how a worker ended that was not told to."""
    if not error:
        return
    name, config = node.gateway.id, node.config
    status = node.gateway._io.popen.wait(10)
    told = f"{name} ended with {status}" + (f", signal {-status}" if status < 0 else "")
    killed = killed_for_memory() - config.stash[_KILLED]
    told += f"; since the run began the system ended {killed} processes for want of memory"
    trace = config.stash[_TRACES] / name
    config.stash[_FOUND].append(f"{told}\n{trace.read_text(encoding='utf-8') if trace.exists() else ''}")


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    for one in config.stash.get(_FOUND, []):
        terminalreporter.section("a worker that ended")
        terminalreporter.write_line(one)
