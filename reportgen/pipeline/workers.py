"""Over what long work is spread: processes of this machine, or a cluster."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

A = TypeVar("A")
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Spread:
    """Over what the work is spread: local ``processes`` (0: as many as the machine has), or a Dask ``scheduler``."""

    processes: int = 0
    scheduler: str | None = None

    def finished(self, work: Callable[[A], R], tasks: Sequence[A]) -> Iterator[R]:
        """Yield results as they come."""
        from reportgen.audit import finished_here, finished_on_cluster

        if self.scheduler is not None:
            return finished_on_cluster(work, tasks, self.scheduler)
        return finished_here(work, tasks, min(self.processes or os.cpu_count() or 1, max(1, len(tasks))))
