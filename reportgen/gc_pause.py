"""The cyclic collector kept out of the way where many objects are made that all stay."""

from __future__ import annotations

import gc
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextmanager
def collector_off() -> Iterator[None]:
    """Keep the collector out inside: it would look at every object of a job, or of its pages, over and over."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()
