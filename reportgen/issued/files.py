"""Files from strangers: found in folders, read whole within a limit, never a device."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from pathlib import PurePath

    from reportgen.words.told import Told

LARGEST = 256 << 20
"""Bytes of the largest file that is read."""
# printable to Python, yet drawn as nothing (Unicode, DerivedCoreProperties: Default_Ignorable_Code_Point), or a blank
_UNSEEN = "\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180d\u180f\u2800\u3164\ufe00-\ufe0f\uffa0\U000e0100-\U000e01ef"
_HIDING = re.compile(rf"[\\{_UNSEEN}]|(?<= ) |^ | $")


def read_pdf(path: Path) -> bytes:
    """Return the bytes of a regular file of at most 256 MiB; ``UsageError`` for anything else."""
    name = shown_name(path)
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(descriptor, "rb") as stream:
            if not stat.S_ISREG(os.fstat(descriptor).st_mode):
                raise UsageError(f"{name} is not a file")
            data = stream.read(LARGEST + 1)
    except OSError as reason:
        raise UsageError(f"{name} cannot be read: {reason.strerror}") from reason
    if len(data) > LARGEST:
        raise UsageError(f"{name} is larger than {LARGEST >> 20} MiB")
    return data


def shown_name(path: PurePath) -> str:
    r"""Return a path with / on one line of visible text, a different one for each path; most stay as they are.

    A byte that is not UTF-8 becomes ``\xff``, a character that does not show or moves others ``\x0a`` or ``\u202e``, a
    backslash two, and a space that would be overlooked, at an end or after another, ``\x20``.

    >>> shown_name(Path("gate hall/5\n.pdf"))
    'gate hall/5\\x0a.pdf'
    """
    text = path.as_posix()
    if text.isprintable() and not _HIDING.search(text):
        return text
    text = _HIDING.sub(lambda found: "\\\\" if found[0] == "\\" else _code(found[0]), text)
    return "".join(character if character.isprintable() else _code(character) for character in text)


def _code(character: str) -> str:
    code = ord(character)
    if 0xDC80 <= code <= 0xDCFF:  # how Python keeps a byte of a name that is not UTF-8
        return f"\\x{code - 0xDC00:02x}"
    if code < 0x80:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


_MOST_NAMED = 12
_BEGINS_WITHIN = 1024
"""Bytes within which a PDF begins, as readers take it (ISO 32000-2, Annex I, note on the header)."""
_HEADER = re.compile(rb"%PDF-[0-9]\.[0-9](?=[ \t]*(?:[\r\n]|\Z|%?[\x80-\xff]))")
_BODY = re.compile(rb"\s*(?:%[^\r\n]*[\x80-\xff]|(?:%[^\r\n]*[\r\n]\s*)*[0-9]+\s+[0-9]+\s+obj\b)")
"""What follows the header: a comment of bytes that are no text (ISO 32000-2, 7.5.2), or the first object."""
_BLANK = b"\xef\xbb\xbf\0\t\n\f\r "
_OTHER_TYPES = (
    b"PK\x03\x04", b"PK\x05\x06", b"7z\xbc\xaf\x27\x1c", b"Rar!", b"\x1f\x8b", b"%!PS", b"\xd0\xcf\x11\xe0",
    b"\xff\xd8\xff", b"\x89PNG", b"GIF8", b"RIFF", b"SQLite format 3",
)  # fmt: skip
_TAR_AT, _TAR = 257, b"ustar"


def is_pdf(path: Path) -> bool:
    """Whether a file is called a PDF or begins like one, whatever it is called; of a device neither is asked.

    A folder is none.
    """
    if path.is_dir():
        return False
    if path.name.lower().endswith(".pdf"):
        return True
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(descriptor, "rb") as stream:
            return stat.S_ISREG(os.fstat(descriptor).st_mode) and begins_like_pdf(stream.read(2 * _BEGINS_WITHIN))
    except OSError:
        return False


def begins_like_pdf(data: bytes) -> bool:
    """Whether bytes begin as a PDF does, after blanks or little else; no text or archive that only mentions a header.

    >>> begins_like_pdf(b"%PDF-1.7\\n"), begins_like_pdf(b"a report begins with %PDF-1.7\\n")
    (True, False)
    """
    for found in _HEADER.finditer(data):
        before = data[: found.start()]
        if len(before) > _BEGINS_WITHIN:
            break
        if not before.strip(_BLANK):
            return True
        other = before.startswith(_OTHER_TYPES) or before[_TAR_AT:].startswith(_TAR)
        if not other and _BODY.match(data, found.end()):
            return True
    return False


def name_left(path: Path, shown: PurePath | None = None) -> str:
    """Return the name of what was not looked at, as ``shown`` or as found; that of a linked folder ends with /."""
    return f"{shown_name(shown or path)}{'/' if path.is_dir() else ''}"


def not_looked_at(names: Sequence[str]) -> Told | None:
    """Say how many files of a folder are no PDF, how many links to folders are in it, and which; None without any."""
    linked = [name for name in names if name.endswith("/")]
    files = [name for name in names if not name.endswith("/")]
    parts = [_named(files, "files-not-looked-at")] if files else []
    parts += [_named(linked, "folders-not-looked-into")] if linked else []
    return told("not-looked-at", told=tuple(parts)) if len(parts) > 1 else parts[0] if parts else None


def _named(names: Sequence[str], code: str) -> Told:
    more = len(names) - _MOST_NAMED
    named = told("contract-number-list", numbers=tuple(names[:_MOST_NAMED]), more=more if more > 0 else None)
    return told(code, count=len(names), files=named)


def _below(folder: Path, unread: Callable[[OSError], None]) -> Iterator[Path]:
    for root, folders, names in os.walk(folder, onerror=unread):
        folders.sort()
        linked = [name for name in folders if (Path(root) / name).is_symlink()]
        yield from (Path(root) / name for name in sorted([*names, *linked]))


def pdf_files(
    given: Iterable[Path],
    unread: Callable[[OSError], None] | None = None,
    others: Callable[[Iterable[Path]], None] | None = None,
) -> list[Path]:
    """Return the files named and every PDF in and below the folders named, sorted within each folder, each once.

    A PDF is one by its name or by how it begins. Links to folders are not followed, as they may lead in circles.
    ``unread`` is told of a folder that cannot be listed, which is then left out, ``others`` of the files in folders
    that are no PDF, and of such links.

    Raises:
        UsageError: a name that does not exist, or a folder that cannot be listed where ``unread`` is not given.
    """

    def refuse(error: OSError) -> None:
        raise UsageError(f"{shown_name(Path(error.filename))} cannot be listed: {error.strerror}") from error

    found: dict[Path, None] = {}
    left: list[Path] = []
    for path in given:
        if path.is_dir():
            below = list(_below(path, unread or refuse))
            pdfs = dict.fromkeys(filter(is_pdf, below))
            found |= pdfs
            left += (one for one in below if one not in pdfs)
        elif path.exists():
            found[path] = None
        else:
            raise UsageError(f"{shown_name(path)} does not exist")
    if others is not None:
        others(left)
    return list(found)
