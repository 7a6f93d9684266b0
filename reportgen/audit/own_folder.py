"""The folder of this user in which audits keep their indexes, and the key that proves what stands in one."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import secrets
import stat
import sys
from pathlib import Path

from reportgen import atomicfile
from reportgen.errors import MachineError, UsageError
from reportgen.issued import shown_name

_KEY_SIZE = 32
_PRIVATE_FILE, _PRIVATE_FOLDER, _OF_OTHERS = 0o600, 0o700, 0o077
_UNUSUAL = re.compile(r"[^A-Za-z0-9._-]+")
_LONGEST_NAME = 60


def default_index(folder: Path) -> Path:
    """Return where the index of an audit of ``folder`` stands unless another is named: one file for each folder."""
    whole = folder.resolve()
    name = _UNUSUAL.sub("-", whole.name)[:_LONGEST_NAME]
    return _state_folder() / "audits" / f"{name}-{hashlib.sha256(os.fsencode(whole)).hexdigest()[:16]}.sqlite"


def make_private(index: Path) -> None:
    """Make an index that is not there yet a file of this user alone, and the folder of audits if it is to stand there.

    Raises ``UsageError`` or ``MachineError`` when that cannot be.
    """
    try:
        if index.parent == _state_folder() / "audits":
            _make_folder(index.parent)
        if not index.exists():
            os.close(os.open(index, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _PRIVATE_FILE))
    except OSError as error:
        raise atomicfile.refusal(error, index) from error


def own_key() -> bytes:
    """Return the key by which this user's audits prove their indexes, made where there is none.

    Raises:
        UsageError: others may read it, so that it proves nothing. MachineError: it cannot be read or made.
    """
    path = _state_folder() / "audit.key"
    try:
        if not path.exists():
            _make_folder(path.parent)
            with contextlib.suppress(FileExistsError):  # another audit began at the same moment
                atomicfile.place(path, secrets.token_bytes(_KEY_SIZE), mode=_PRIVATE_FILE)
                atomicfile.sync_folder(path.parent)
        return _read(path)
    except OSError as error:
        raise MachineError(
            f"the key of audits cannot be kept in {shown_name(path)}: {os.strerror(error.errno or 0)}",
            help_text="name a folder of your own that can be written with XDG_STATE_HOME",
        ) from error


def own_identities(contract: Path, *, make: bool = False) -> Path:
    """Return the folder of this user's identities, which only this user may enter; ``make`` it where there is none.

    Raises:
        UsageError: it would lie in the folder of a ``contract``, which is handed on. MachineError: it cannot be made.
    """
    folder = _state_folder() / "identities"
    if folder.resolve().is_relative_to(contract.resolve()):
        raise UsageError(
            f"keys are not kept in {shown_name(contract)}: whoever is given the contract would be given them",
            help_text="name a folder of your own, outside it, with XDG_STATE_HOME",
        )
    try:
        if make:
            _make_folder(folder)
    except OSError as error:
        raise atomicfile.refusal(error, folder) from error
    return folder


def _read(path: Path) -> bytes:
    with path.open("rb") as stream:
        told = os.fstat(stream.fileno())
        key = stream.read(_KEY_SIZE + 1)
    others = os.name != "nt" and (told.st_mode & _OF_OTHERS or told.st_uid != os.geteuid())
    if others or not stat.S_ISREG(told.st_mode) or len(key) != _KEY_SIZE:
        why = "belongs to others, or they may read it" if others else "is no key"
        raise UsageError(
            f"{shown_name(path)} {why}: it proves no index",
            help_text="remove it; the next audit makes a new one, and examines every file again",
        )
    return key


def _make_folder(folder: Path) -> None:
    """Make a folder of the user's state, and see to it that only this user may enter."""
    for one in (_state_folder(), folder):
        one.mkdir(mode=_PRIVATE_FOLDER, parents=True, exist_ok=True)
        one.chmod(_PRIVATE_FOLDER)


def _state_folder() -> Path:
    """Return the folder for what this program keeps of a user: where the system wants it, or in XDG_STATE_HOME."""
    given = os.environ.get("XDG_STATE_HOME", "")
    if given and Path(given).is_absolute():
        return Path(given) / "reportgen"
    if sys.platform == "win32" and os.environ.get("LOCALAPPDATA"):
        return Path(os.environ["LOCALAPPDATA"]) / "reportgen"
    try:
        home = Path.home()
    except RuntimeError as error:
        raise UsageError("this user has no home folder", help_text="name one with XDG_STATE_HOME") from error
    return home / ("Library/Application Support" if sys.platform == "darwin" else ".local/state") / "reportgen"


def is_index(path: Path) -> bool:
    """Say whether a file is a database, as the index of an audit is; whose it is, who reads it finds."""
    if not path.is_file():
        return False
    with path.open("rb") as stream:
        return stream.read(16) == b"SQLite format 3\0"
