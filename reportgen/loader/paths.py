"""Files of a job folder, read safely: inside the folder, regular, of bounded size; or taken from memory.

A folder may come from a stranger: a link that leaves it, a pipe or a device must end in a message, not in a wait.
"""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Final, Protocol

from reportgen.diagnostics import closest
from reportgen.yamlsource import HIDDEN

if TYPE_CHECKING:
    from collections.abc import Mapping

YAML_LIMIT: Final = 8 * 1024 * 1024
_OPEN_FLAGS: Final = (
    os.O_RDONLY
    | getattr(os, "O_NONBLOCK", 0)
    | getattr(os, "O_NOFOLLOW", 0)
    | getattr(os, "O_CLOEXEC", 0)
    | getattr(os, "O_BINARY", 0)
)
_MEBIBYTE: Final = 1024 * 1024
NAME_LIMIT: Final = 100
PATH_LIMIT: Final = 200
"""Characters of a file's name, and of its path below the job folder, that fit on a line of the list of files."""


class UnreadableFileError(Exception):
    """A file of the folder cannot be read: code, sentence and remedy of the diagnostic; the place is the caller's."""

    def __init__(self, code: str, message: str, help_text: str | None = None) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.help_text = help_text


class JobFiles(Protocol):
    """Where the files of a job come from: a folder, or the attachments of a report."""

    def read(self, name: str, limit: int) -> bytes:
        """Return the bytes of a file by its name relative to the job folder; ``UnreadableFileError`` otherwise."""

    def names(self) -> list[str]:
        """Return the names of the files directly in the job folder, sorted; not all of them can be read."""

    def shown(self, name: str) -> str:
        """Return the path to name in messages."""


@dataclass(frozen=True, slots=True)
class FolderFiles:
    """The files of a folder on disk; ``folder`` as the user wrote it."""

    folder: Path

    def read(self, name: str, limit: int) -> bytes:
        """Read one file of the folder."""
        return read_under(self.folder, name, limit)

    def names(self) -> list[str]:
        """List the folder: its files, and links but those to another file of the same kind that is listed itself."""
        try:
            with os.scandir(self.folder) as entries:
                return sorted(entry.name for entry in entries if self._is_file(entry))
        except OSError:
            return []

    def _is_file(self, entry: os.DirEntry[str]) -> bool:
        if not entry.is_symlink():
            return entry.is_file()
        target = Path(os.path.realpath(entry.path))
        here = target.is_file() and target.parent == Path(os.path.realpath(self.folder))
        return not target.is_dir() and not (here and target.suffix == Path(entry.name).suffix)

    def shown(self, name: str) -> str:
        """Return the path under the folder as the user wrote it."""
        return str(self.folder / name)


@dataclass(frozen=True, slots=True)
class FolderFilesWith(FolderFiles):
    """The files of a folder, one of them as it would be with a content that is not written."""

    name: str
    content: bytes

    def read(self, name: str, limit: int) -> bytes:
        """Read one file of the folder; that one from memory."""
        if name != self.name:
            return read_under(self.folder, name, limit)
        if len(self.content) > limit:
            raise UnreadableFileError("PTH104", _too_large(name, limit))
        return self.content


@dataclass(frozen=True)
class ReadOnce:
    """The files of a job of which each YAML file is read once: every question is asked of the same bytes."""

    files: JobFiles
    _known: dict[str, bytes | UnreadableFileError] = field(default_factory=dict)

    def read(self, name: str, limit: int) -> bytes:
        """Return the bytes of a file as they were when it was first asked for; of another kind than YAML, as it is."""
        if not name.endswith(".yaml"):
            return self.files.read(name, limit)
        if name not in self._known:
            try:
                self._known[name] = self.files.read(name, limit)
            except UnreadableFileError as failure:
                self._known[name] = failure
        known = self._known[name]
        if isinstance(known, UnreadableFileError):
            raise known
        return known

    @cached_property
    def _listed(self) -> list[str]:
        return self.files.names()

    def names(self) -> list[str]:
        """List the folder as it was when this was first asked for."""
        return self._listed

    def shown(self, name: str) -> str:
        """Return the path to name in messages."""
        return self.files.shown(name)


@dataclass(frozen=True, slots=True)
class MemoryFiles:
    """Files held in memory; names are relative to ``base``, a folder inside the mapping."""

    files: Mapping[str, bytes]
    base: PurePosixPath

    def read(self, name: str, limit: int) -> bytes:
        """Return the bytes under a name."""
        refuse_outside(name)
        data = self.files.get(str(self.base / name))
        if data is None:
            raise UnreadableFileError(
                "PTH101", f"there is no file `{name}`", "the report must hold every file it names"
            )
        if len(data) > limit:
            raise UnreadableFileError("PTH104", _too_large(name, limit))
        return data

    def names(self) -> list[str]:
        """List what lies directly in the base."""
        return sorted(PurePosixPath(name).name for name in self.files if PurePosixPath(name).parent == self.base)

    def shown(self, name: str) -> str:
        """Return the name itself."""
        return str(self.base / name)


def refuse_outside(name: str) -> None:
    """Refuse a name that is not a plain relative path below the folder, or cannot stand in a report.

    Raises:
        UnreadableFileError: absolute, with ``..``, with a backslash or a drive letter, or empty; not UTF-8, too long.
    """
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name or "\0" in name or not path.name:
        raise UnreadableFileError(
            "PTH102", f"`{name}` points outside the job folder", "name a file in the folder of the day file or below it"
        )
    longest = max(map(len, path.parts), default=0)
    if longest > NAME_LIMIT or len(name) > PATH_LIMIT:
        told = (
            f"a file's name has {longest} characters" if longest > NAME_LIMIT else f"a path has {len(name)} characters"
        )
        raise UnreadableFileError(
            "PTH107", f"{told}; at most {NAME_LIMIT} fit, {PATH_LIMIT} with folders", "rename the file"
        )
    if HIDDEN.search(name) or set(name) & set("\t\n\r"):  # a byte that is not UTF-8 is a lone surrogate here
        raise UnreadableFileError(
            "PTH107", f"the name `{name}` holds what is not UTF-8, invisible or a control character", "rename the file"
        )


def refuse_suffix(name: str, *suffixes: str) -> None:
    """Refuse a name without one of the endings by which the files embedded in a report are known.

    Raises:
        UnreadableFileError: naming the endings.
    """
    if not name.endswith(suffixes):
        listed = " or ".join(f"`{suffix}`" for suffix in suffixes)
        raise UnreadableFileError("PTH106", f"the name `{name}` does not end in {listed}", "rename the file")


def read_under(folder: Path, name: str, limit: int) -> bytes:
    """Read a regular file of at most ``limit`` bytes at or below ``folder``, never through a link that leaves it.

    Raises:
        UnreadableFileError: outside the folder, missing, not a regular file, too large, or not permitted.
    """
    refuse_outside(name)
    real = os.path.realpath(folder / name)
    root = os.path.realpath(folder)
    inside = False
    with suppress(ValueError):  # two drives of Windows have nothing in common
        inside = os.path.commonpath([real, root]) == root
    if not inside:
        raise UnreadableFileError(
            "PTH102", f"`{name}` is a link that leaves the job folder", "put the file itself into the folder"
        )
    try:
        descriptor = os.open(real, _OPEN_FLAGS)
    except OSError as failure:
        raise _not_opened(folder, name, failure) from None
    status = os.fstat(descriptor)
    if not stat.S_ISREG(status.st_mode):
        os.close(descriptor)
        what = "a folder" if stat.S_ISDIR(status.st_mode) else "a pipe or a device"
        raise UnreadableFileError("PTH103", f"`{name}` is {what}, not a file", "name a file")
    with os.fdopen(descriptor, "rb") as file:
        data = file.read(limit + 1) if status.st_size <= limit else b""
    if status.st_size > limit or len(data) > limit:
        raise UnreadableFileError("PTH104", _too_large(name, limit))
    return data


def _too_large(name: str, limit: int) -> str:
    return f"`{name}` is larger than {limit // _MEBIBYTE} MiB"


def _not_opened(folder: Path, name: str, failure: OSError) -> UnreadableFileError:
    if isinstance(failure, PermissionError):
        return UnreadableFileError("PTH105", f"`{name}` may not be read", "give yourself permission to read it")
    if isinstance(failure, FileNotFoundError | NotADirectoryError):
        home = (folder / name).parent
        beside: list[str] = []
        with suppress(OSError):
            beside = [entry.name for entry in home.iterdir()]
        meant = closest(PurePosixPath(name).name, beside)
        help_text = f"did you mean `{PurePosixPath(name).with_name(meant)}`?" if meant else f"looked in {home}"
        return UnreadableFileError("PTH101", f"there is no file `{name}`", help_text)
    return UnreadableFileError("PTH103", f"`{name}` cannot be opened: {failure.strerror}", "name a regular file")
