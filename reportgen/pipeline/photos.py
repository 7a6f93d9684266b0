"""Photos brought to a shift: kept byte for byte, entered in the day file; how one is turned is a field."""

from __future__ import annotations

import contextlib
import hashlib
import re
import unicodedata
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING, Final

from reportgen import atomicfile
from reportgen.errors import UsageError
from reportgen.intake.changes import Change, Entry
from reportgen.loader.paths import UnreadableFileError
from reportgen.loader.pictures import PICTURE_LIMIT, refuse_picture
from reportgen.pipeline.writing import Wrote, file_now, refuse_issued, write_entry

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    from reportgen.intake.changes import Address
    from reportgen.pipeline.writing import Conflict, Objection

PHOTOS_FOLDER: Final = "photos"
_NOT_IN_A_NAME: Final = re.compile(r"[^\w.-]+")
_RESERVED: Final = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\.|\Z)", re.IGNORECASE)
"""Names of devices on Windows, with whatever ending: no file there can have one."""
_LONGEST: Final = 80
_HEIF: Final = frozenset({b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif"})
"""Brands of a file that holds pictures as phones compress them."""
_AS_JPEG: Final = (
    "have the phone take photos as JPEG (its camera settings: the most compatible format), or share the photo from it"
    " as JPEG, and choose that one"
)


@dataclass(frozen=True, slots=True)
class PhotoAdded:
    """Where a photo lies, relative to the contract folder; the address of its entry; what was written."""

    file: str
    at: Address
    wrote: Wrote | Conflict | Objection


def add_photo(
    day: Path,
    data: bytes,
    name: str,
    surface: Address,
    *,
    caption: str,
    time: str | None = None,
    location: str | None = None,
    at: dt.datetime | None = None,
) -> PhotoAdded:
    """Put a photo into the folder ``photos`` beside the day file, as it is, and enter it with its surface.

    ``name`` is the file's own name, of which what can stand in a path is kept; another file of that name stays, and
    the new one gets a number. A photo that is there already, byte for byte, is not kept twice. Taking an entry out
    leaves the bytes where they are. Where the entry is not written, a photo that was new is taken away again.

    Raises:
        UsageError: it is no picture that a report can show (for HEIC: what to do), or too large. As ``write_entry``.
    """
    shown = PurePath(name.replace("\\", "/")).name
    suffix = _refuse_unfit(shown, data)
    refuse_issued(day, file_now(day))
    folder = day.parent / PHOTOS_FOLDER
    if folder.is_symlink():
        raise UsageError(f"`{folder}` is a link; photos belong into a folder of their own")
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise atomicfile.refusal(error, folder) from error
    path, new = _placed(folder, _stem(shown), suffix, data)
    file = f"{PHOTOS_FOLDER}/{path.name}"
    more = {"caption": caption, "time": time, "location": location}
    entry = {"file": file, **{key: value for key, value in more.items() if value is not None}}
    target = surface / Entry("photos", (("file", file),))
    wrote = None
    try:
        wrote = write_entry(day, Change(target, None, entry), at=at)
    finally:
        if new and not isinstance(wrote, Wrote):
            atomicfile.remove(path)
            with contextlib.suppress(OSError):
                folder.rmdir()  # where it was made for this
    return PhotoAdded(file, target, wrote)


def _refuse_unfit(name: str, data: bytes) -> str:
    """Return the ending of a photo's name by what it is; refuse one that no report can show."""
    if len(data) > PICTURE_LIMIT:
        raise UsageError(f"`{name}` is larger than {PICTURE_LIMIT >> 20} MiB", help_text="take it with fewer pixels")
    if data[4:8] == b"ftyp" and data[8:12] in _HEIF:
        raise UsageError(f"`{name}` is HEIC, which a report that lasts cannot show", help_text=_AS_JPEG)
    try:
        refuse_picture(name, data)
    except UnreadableFileError as failure:
        raise UsageError(failure.message, help_text=failure.help_text) from failure
    return ".png" if data.startswith(b"\x89PNG") else ".jpg"


def _stem(name: str) -> str:
    """Return what of a name can stand in a path on every system and in a report."""
    plain = _NOT_IN_A_NAME.sub("-", unicodedata.normalize("NFC", PurePath(name).stem)).strip("-._")
    plain = plain[:_LONGEST] or "photo"
    return f"photo-{plain}" if _RESERVED.match(plain) else plain


def _placed(folder: Path, stem: str, suffix: str, data: bytes) -> tuple[Path, bool]:
    """Return where a photo lies, and whether it is new there."""
    digest = hashlib.sha256(data).digest()
    for number in range(10_000):
        path = folder / f"{stem}{f'-{number + 1}' if number else ''}{suffix}"
        try:
            atomicfile.place(path, data)
            atomicfile.sync_folder(folder)
        except FileExistsError:
            if path.is_file() and hashlib.sha256(path.read_bytes()).digest() == digest:
                return path, False
        except OSError as error:
            raise atomicfile.refusal(error, path) from error
        else:
            return path, True
    raise UsageError(f"`{folder}` has too many photos named `{stem}`")
