"""Over what long work is spread: processes of this machine, or a cluster."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

A = TypeVar("A")
R = TypeVar("R")

WORTH_A_PROCESS: Final = 4
"""Files to examine, for which a process begins one of its own to open them in: it imports as long as reading three."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Over what the work is spread: local ``processes`` (0: as many as the machine has), or a Dask ``scheduler``."""

    processes: int = 0
    scheduler: str | None = None

    def finished(
        self, work: Callable[[A], R], tasks: Sequence[A], *, worth: int = 1, first: Callable[[], object] | None = None
    ) -> Iterator[R]:
        """Yield results as they come; ``worth`` tasks make up for the start of a process that nobody asked for.

        ``first`` is done in this process before others are forked from it.
        """
        from reportgen.audit import finished_here, finished_on_cluster

        if self.scheduler is not None:
            return finished_on_cluster(work, tasks, self.scheduler)
        wanted = self.processes or min(os.cpu_count() or 1, len(tasks) // worth)
        processes = max(1, min(wanted, len(tasks)))
        if processes > 1 and first is not None:
            first()
        return finished_here(work, tasks, processes)
