"""Files that are whole or absent: written beside their place, synced, and only then given their name.

A crash at any moment leaves the old state or the new one, and at worst a hidden ``.NAME.PID.TOKEN.part`` file.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import os
import secrets
import stat
from typing import TYPE_CHECKING

from reportgen.errors import MachineError, ReportgenError, UsageError

if TYPE_CHECKING:
    from pathlib import Path

_BINARY = getattr(os, "O_BINARY", 0)  # Windows would translate line ends without it
_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EINVAL, errno.EMLINK}
"""What file systems without hard links answer; EINVAL is Windows's "incorrect function" on FAT."""
_NO_FOLDER_SYNC = {errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP}
_HERE, _EXCHANGE = -100, 2
"""AT_FDCWD and RENAME_EXCHANGE of Linux: a name relative to the working folder; two names exchanged."""
_USERS_CHOICE = {errno.ENOENT, errno.ENOTDIR, errno.EISDIR, errno.ENAMETOOLONG, errno.EINVAL, errno.ELOOP}
"""Errors that another output path cures; every other one is the machine's."""


def write_new(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path``, which must not exist; the file appears whole or not at all, and survives power loss.

    Raises ``UsageError`` when the name is taken or the path cannot name a file, ``MachineError`` when the disk fails;
    then nothing is left behind.
    """
    try:
        place(path, data)
        sync_folder(path.parent)
    except FileExistsError:
        raise UsageError(f"`{path.name}` exists already and is never overwritten; nothing was written") from None
    except OSError as error:
        raise refusal(error, path) from error


def write_replacing(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path``, in place of a regular file of that name if there is one, never half.

    Raises ``UsageError`` when the path cannot name a file, or names a device or a folder; ``MachineError`` when the
    disk fails. Then the old file is as it was.
    """
    try:
        # replacing `/dev/null` would be obeyed by a system that trusts its caller
        with contextlib.suppress(FileNotFoundError):
            if not stat.S_ISREG(path.stat().st_mode):
                raise UsageError(f"`{path}` is not a regular file; nothing was written")
        part = write_part(path, data)
        try:
            part.replace(path)
        except BaseException:
            remove(part)
            raise
        sync_folder(path.parent)
    except OSError as error:
        raise refusal(error, path) from error


def write_in_place_of(path: Path, data: bytes, *, mark: str) -> Path:
    """Put ``data`` in the place of a file, never half; return the hidden file beside it that holds what stood there.

    That is what stood there in the very moment, also where somebody saved it a moment before. ``mark`` is part of the
    hidden name, ``.NAME.PID.TOKEN.MARK.kept``, so that who finds one after a crash knows what it is.

    Raises ``UsageError`` when the path names no regular file, ``MachineError`` when the disk fails. Then the old file
    is as it was.
    """
    try:
        state = os.lstat(path)
        if not stat.S_ISREG(state.st_mode):
            raise UsageError(f"`{path}` is not a regular file; nothing was written")
        part = write_part(path, data, mode=stat.S_IMODE(state.st_mode), end=f"{mark}.part")
        kept = part.with_suffix(".kept")
        try:
            part.chmod(stat.S_IMODE(state.st_mode))
            part.replace(kept)  # whole by now: what is half written never has the name of what is kept
            if not _exchange(kept, path):
                kept.replace(part)
                _keep(path, kept)
                part.replace(path)
        except BaseException:
            remove(part)
            remove(kept)
            raise
        sync_folder(path.parent)
    except OSError as error:
        raise refusal(error, path) from error
    return kept


def _exchange(one: Path, other: Path) -> bool:
    """Exchange the names of two files in one step, where the system can; say whether it did."""
    try:
        exchange = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError, TypeError):  # not Linux, or without this call
        return False
    return bool(exchange(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0)


def _keep(path: Path, kept: Path) -> None:
    """Give a file a second name, or where no links are to be had a copy."""
    try:
        os.link(path, kept)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        descriptor = os.open(kept, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, 0o600)
        try:
            write_all(descriptor, path.read_bytes())
            sync(descriptor)
        finally:
            os.close(descriptor)


def place(path: Path, data: bytes, *, mode: int = 0o666) -> None:
    """Write ``data`` to the new file ``path``, synced itself but not its folder; ``mode`` says who may do what.

    Raises ``FileExistsError`` when the name is taken and ``OSError`` when the disk fails.
    """
    part = write_part(path, data, mode=mode)
    try:
        publish(part, path)
    except BaseException:
        remove(part)
        raise


def write_part(path: Path, data: bytes, *, mode: int = 0o666, end: str = "part") -> Path:
    """Write ``data`` to a hidden file beside ``path`` and sync it; returns its path. ``OSError`` leaves nothing."""
    part = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}.{end}")
    descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, mode)
    try:
        try:
            write_all(descriptor, data)
            sync(descriptor)
        finally:
            os.close(descriptor)
    except BaseException:
        remove(part)
        raise
    return part


def publish(part: Path, final: Path) -> None:
    """Give a whole file its final name, taking ``part`` away; ``FileExistsError`` when the name is taken.

    A hard link fails where a rename would overwrite. Without links the name is claimed by an empty file first.
    """
    try:
        os.link(part, final)
    except OSError as error:
        linked = False
        with contextlib.suppress(OSError):  # a network file system may lose the answer to a link that was made
            linked = os.path.samestat(os.lstat(part), os.lstat(final))
        if not linked and error.errno not in _NO_LINKS:
            raise
        if not linked:
            _publish_without_link(part, final)
            return
    part.unlink()


def _publish_without_link(part: Path, final: Path) -> None:
    try:
        os.close(os.open(final, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, 0o666))
        part.replace(final)
    except FileExistsError:
        raise
    except BaseException:
        with contextlib.suppress(OSError):
            if final.stat().st_size == 0:
                final.unlink()
        raise


def parts_of(path: Path, end: str = ".part") -> list[Path]:
    """Return the hidden files that interrupted writes of ``path`` left beside it, in order of name."""
    start = f".{path.name}."
    try:
        beside = list(path.parent.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        return []
    return sorted(file for file in beside if file.name.startswith(start) and file.name.endswith(end))


def remove(path: Path) -> None:
    """Remove a file that nobody will miss, if that can be done."""
    with contextlib.suppress(OSError):
        path.unlink()


def write_all(descriptor: int, data: bytes) -> None:
    """Write every byte: one call to the system may take fewer than it was given. ``OSError`` when it takes none."""
    rest = memoryview(data)
    while rest:
        taken = os.write(descriptor, rest)
        if taken == 0:
            raise OSError(errno.EIO, "the system accepted no byte")
        rest = rest[taken:]


def sync(descriptor: int) -> None:
    """Wait until what was written to an open file is on the disk."""
    os.fsync(descriptor)


def sync_folder(folder: Path) -> None:
    """Wait until the names in ``folder`` are on the disk, where the system offers that (Windows does not)."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
    try:
        sync(descriptor)
    except OSError as error:
        if error.errno not in _NO_FOLDER_SYNC:
            raise
    finally:
        os.close(descriptor)


def refusal(error: OSError, path: Path, *, doing: str = "write") -> ReportgenError:
    """Return what to tell the user about a failed write or read: ``UsageError`` when another path would do."""
    reason = os.strerror(error.errno) if error.errno else str(error)
    if error.errno in _USERS_CHOICE:
        return UsageError(f"cannot {doing} `{path}`: {reason}")
    return MachineError(f"cannot {doing} `{path}`: {reason}")
