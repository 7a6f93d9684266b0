"""Where the passphrase of an identity comes from: never the command line, never a job file."""

from __future__ import annotations

import getpass
import os
import stat
import sys
from typing import TYPE_CHECKING

from reportgen.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path

VARIABLE = "REPORTGEN_PASSPHRASE"


def ask_passphrase(identity: str, file: Path | None) -> str | None:
    """Return the passphrase from ``file``, the terminal, or the environment, in this order; None when there is none.

    Raises:
        UsageError: when the file can be read by others, or not at all.
    """
    if file is not None:
        return _from_file(file)
    if sys.stdin.isatty() and VARIABLE not in os.environ:
        return getpass.getpass(f"Passphrase of {identity}: ")
    return os.environ.get(VARIABLE)


def _from_file(file: Path) -> str:
    try:
        mode = file.stat().st_mode
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as failure:
        raise UsageError(f"the passphrase file {file} cannot be read: {failure}") from failure
    if os.name == "posix" and mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise UsageError(
            f"the passphrase file {file} can be read by others", help_text=f"make it private: chmod 600 {file}"
        )
    return text.rstrip("\r\n")
