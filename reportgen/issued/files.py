"""Files from strangers: found in folders, read whole within a limit, never a device."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

LARGEST = 256 << 20
"""Bytes of the largest file that is read."""


def read_pdf(path: Path) -> bytes:
    """Return the bytes of a regular file of at most 256 MiB; ``UsageError`` for anything else."""
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(descriptor, "rb") as stream:
            if not stat.S_ISREG(os.fstat(descriptor).st_mode):
                raise UsageError(f"{path} is not a file")
            data = stream.read(LARGEST + 1)
    except OSError as reason:
        raise UsageError(f"{path} cannot be read: {reason.strerror}") from reason
    if len(data) > LARGEST:
        raise UsageError(f"{path} is larger than {LARGEST >> 20} MiB")
    return data


def pdf_files(given: Iterable[Path]) -> list[Path]:
    """Return the files named and every PDF in and below the folders named, sorted within each folder, each once.

    Links to folders are not followed. ``UsageError`` for a name that does not exist.
    """
    found: dict[Path, None] = {}
    for path in given:
        if path.is_dir():
            found |= dict.fromkeys(_below(path))
        elif path.exists():
            found[path] = None
        else:
            raise UsageError(f"{path} does not exist")
    return list(found)


def _below(folder: Path) -> Iterator[Path]:
    for root, folders, names in os.walk(folder):
        folders.sort()
        yield from (Path(root) / name for name in sorted(names) if name.lower().endswith(".pdf"))
