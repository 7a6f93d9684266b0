"""Where the passphrase of an identity comes from: never the command line, never a job file, and never shown.

A file that is named on the command line is the answer. Otherwise, in this order: the terminal, the system's key ring
where the library ``keyring`` and a store behind it are there, and the environment, which every child inherits: so it is
taken out of ours at the first question, whoever answers.
"""

from __future__ import annotations

import contextlib
import getpass
import os
import stat
import sys
import warnings
from typing import TYPE_CHECKING

from reportgen.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path

VARIABLE = "REPORTGEN_PASSPHRASE"
SERVICE = "reportgen"
"""Under this name and the identity's own a passphrase is kept in a key ring."""


def ask_passphrase(identity: str, file: Path | None, *, word: str = "Passphrase") -> str | None:
    """Return the passphrase (or PIN: ``word``) of ``identity``; None when there is none anywhere.

    An empty answer on the terminal means: look further. Raises ``UsageError`` when ``file`` can be read by others, or
    not at all, or when a terminal would show what is typed.
    """
    given = os.environ.pop(VARIABLE, None)
    if file is not None:
        return _from_file(file)
    if sys.stdin.isatty():
        answer = _typed(f"{word} of {identity}: ")
        if answer:
            return answer
    # the key ring may lack the library, a store, or an entry
    with contextlib.suppress(ImportError):
        import keyring
        from keyring.errors import KeyringError

        with contextlib.suppress(KeyringError):
            kept: str | None = keyring.get_password(SERVICE, identity)
            if kept is not None:
                return kept
    return given


def new_passphrase(identity: str, file: Path | None) -> str | None:
    """Return the passphrase for an identity that is being made: from ``file``, typed twice, or from the environment.

    Raises ``UsageError`` as ``ask_passphrase``, and when the two answers differ.
    """
    given = os.environ.pop(VARIABLE, None)
    if file is not None:
        return _from_file(file)
    if not sys.stdin.isatty():
        return given
    answer = _typed(f"Passphrase of {identity}: ")
    if answer and answer != _typed("The same again: "):
        raise UsageError("the two passphrases differ; nothing was made")
    return answer or given


def _typed(prompt: str) -> str:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", getpass.GetPassWarning)
            return getpass.getpass(prompt)
    except getpass.GetPassWarning:
        raise UsageError(
            "this terminal would show the passphrase while it is typed", help_text="use --passphrase-file FILE"
        ) from None
    except EOFError:
        return ""


def _from_file(file: Path) -> str:
    try:
        mode = file.stat().st_mode
        text = file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise UsageError(f"the passphrase file {file} is not UTF-8 text") from None
    except OSError as failure:
        raise UsageError(f"the passphrase file {file} cannot be read: {failure.strerror}") from failure
    if os.name == "posix" and mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise UsageError(
            f"the passphrase file {file} can be read by others", help_text=f"make it private: chmod 600 {file}"
        )
    return text.rstrip("\r\n")
