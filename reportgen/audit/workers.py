"""Work spread over local processes, or over a cluster, a few tasks ahead of what is finished; results as they come."""

from __future__ import annotations

import importlib
import itertools
import multiprocessing
import os
import threading
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from typing import TYPE_CHECKING, Any, TypeVar

from reportgen.errors import MachineError, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

A = TypeVar("A")
R = TypeVar("R")

_AHEAD = 4
_BATCH = 4
_PATIENCE = "10s"
_TASKS_PER_PROCESS = 2000


def finished_here(work: Callable[[A], R], tasks: Iterable[A], processes: int) -> Iterator[R]:
    """Yield the result of each task, in the order in which they finish; one process works in this one.

    A worker is replaced after some thousand tasks, so that what a library forgets to free cannot add up. ``work`` and
    tasks must be picklable. Raises ``MachineError`` when a worker is killed from outside.
    """
    if processes <= 1:
        yield from map(work, tasks)
        return
    context: Any = multiprocessing.get_context("fork" if "fork" in multiprocessing.get_all_start_methods() else "spawn")
    waiting = iter(tasks)
    try:
        while True:
            part = list(itertools.islice(waiting, _TASKS_PER_PROCESS * processes))
            if not part:
                return
            with ProcessPoolExecutor(processes, mp_context=context, initializer=_end_with_parent) as pool:
                yield from _windowed(pool, work, iter(part), processes * _AHEAD)
    except BrokenProcessPool as fault:
        raise MachineError("a worker process was ended from outside; run the same command again to go on") from fault


def _end_with_parent() -> None:
    """End this worker when the process that began it is killed: it would wait for work for ever, and hold its files."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_after, args=(parent,), daemon=True).start()


def _end_after(parent: Any) -> None:
    parent.join()
    os._exit(1)


def _windowed(pool: Any, work: Callable[[A], R], tasks: Iterator[A], ahead: int) -> Iterator[R]:
    running = {pool.submit(work, task) for task in itertools.islice(tasks, ahead)}
    while running:
        done, running = wait(running, return_when=FIRST_COMPLETED)
        for future in done:
            running |= {pool.submit(work, task) for task in itertools.islice(tasks, 1)}
            yield future.result()


def finished_on_cluster(work: Callable[[A], R], tasks: Iterable[A], address: str) -> Iterator[R]:
    """Yield the result of each task from the workers of the Dask scheduler at ``address``.

    Every worker needs this release and the same files under the same paths. Raises ``UsageError`` when Dask is not
    installed, ``MachineError`` when the scheduler cannot be reached or a worker fails.
    """
    try:
        dask: Any = importlib.import_module("distributed")
    except ImportError as lack:
        raise UsageError(
            "a scheduler needs dask.distributed, which is not installed", help_text="pip install 'reportgen[cluster]'"
        ) from lack
    try:
        client = dask.Client(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError) as fault:
        raise MachineError(f"the scheduler at {address} cannot be reached: {fault}") from fault
    with client, client.as_current():
        waiting = iter(tasks)
        ahead = _AHEAD * max(1, sum(client.nthreads().values()))
        batches = iter(lambda: list(itertools.islice(waiting, _BATCH)), [])

        def submitted() -> Any:
            batch = next(batches, None)
            return None if batch is None else client.submit(_each, work, batch, pure=False, retries=2)

        running = dask.as_completed([one for one in (submitted() for _ in range(ahead)) if one is not None])
        for future in running:
            if future.status != "finished":
                raise MachineError(f"a worker of the cluster failed: {future.exception()}")
            results = future.result()
            future.release()
            following = submitted()
            if following is not None:
                running.add(following)
            yield from results


def _each(work: Callable[[A], R], batch: list[A]) -> list[R]:
    """Several tasks in one message: a message costs as much as examining a small file."""
    return [work(task) for task in batch]
