"""Photos and logo: read safely, and known by their first bytes as JPEG or PNG of a size that can be decoded.

Only the header is looked at: decoding, which takes a library and time, belongs to the layout. Until then each is known
by its hash, and its bytes are let go.
"""

from __future__ import annotations

import hashlib
import struct
from functools import partial
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import Diagnostic
from reportgen.errors import ChangedFileError
from reportgen.job import Original, SourceFile
from reportgen.loader.paths import UnreadableFileError, refuse_suffix

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.diagnostics import Span
    from reportgen.job import Project
    from reportgen.loader.paths import JobFiles
    from reportgen.loader.sheets import Sheets

PICTURE_LIMIT: Final = 40 * 1024 * 1024
PIXEL_LIMIT: Final = 100_000_000

_SUFFIXES: Final = (".jpg", ".jpeg", ".png", ".JPG", ".JPEG", ".PNG")
_PNG: Final = b"\x89PNG\r\n\x1a\n"
_JPEG: Final = b"\xff\xd8\xff"
_JPEG_SIZES: Final = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_JPEG_BARE: Final = frozenset({0x01, *range(0xD0, 0xD8)})


def load_photos(files: JobFiles, sheets: Sheets) -> dict[str, Original]:
    """Return the photos of the day by name; a photo shown twice is looked at once."""
    found: dict[str, Original] = {}
    for index, surface in enumerate(sheets.day.surfaces):
        for number, photo in enumerate(surface.photos):
            name = str(photo.file)
            place = sheets.place(("surfaces", index, "photos", number, "file"))
            original = found[name] if name in found else _picture(files, name, place, sheets)
            found |= {name: original} if original is not None else {}
    return found


def load_logo(files: JobFiles, sheets: Sheets, project_name: str) -> SourceFile | None:
    """Return the logo of the inspection body, whose path is relative to the project file."""
    name = logo_of(sheets.project, project_name)
    if name is None:
        return None
    original = _picture(files, name, sheets.project_document.span(("inspection_body", "logo")), sheets)
    return SourceFile(name, "logo", original) if original is not None else None


def logo_of(project: Project, project_name: str) -> str | None:
    """Return the name of the logo in the job folder, of which the project file has the name given; None without one."""
    logo = project.inspection_body.logo
    folder = project_name.rpartition("/")[0]
    return None if logo is None else f"{folder}/{logo}" if folder else str(logo)


def _picture(files: JobFiles, name: str, place: Span, sheets: Sheets) -> Original | None:
    read = partial(files.read, name, PICTURE_LIMIT)
    try:
        refuse_suffix(name, *_SUFFIXES)
        data = read()
        refuse_picture(name, data)
    except UnreadableFileError as failure:
        sheets.found.at(place, failure.code, failure.message, failure.help_text)
        return None
    return original_of(name, hashlib.sha256(data).hexdigest(), read)


def original_of(name: str, sha256: str, read: Callable[[], bytes]) -> Original:
    """Return a picture that is known by its hash, whose bytes are asked of ``read`` each time they are needed."""
    return Original(name, sha256, partial(_again, name, sha256, read))


def _again(name: str, sha256: str, read: Callable[[], bytes]) -> bytes:
    """Return the bytes of a picture, which must be those that were looked at: a report states the hash of these."""
    try:
        data = read()
    except UnreadableFileError as failure:
        raise ChangedFileError([Diagnostic(failure.code, failure.message, help_text=failure.help_text)]) from failure
    if hashlib.sha256(data).hexdigest() != sha256:
        message = f"`{name}` has changed since the day was read"
        raise ChangedFileError([Diagnostic("PHO104", message, help_text="leave the photos alone, then do it again")])
    return data


def refuse_picture(name: str, data: bytes) -> None:
    """Refuse bytes that are no JPEG or PNG, have no size, or too many pixels to decode.

    Raises:
        UnreadableFileError: saying which.
    """
    size = None
    if data.startswith(_PNG):  # from its first chunk, where it has its last
        if data[12:16] == b"IHDR" and len(data) >= 33 and data.rfind(b"IEND") >= 0:  # it stands at the end
            size = struct.unpack(">II", data[16:24])
    elif data.startswith(_JPEG):
        size = _jpeg_size(data)
    else:
        raise UnreadableFileError("PHO101", f"`{name}` is neither JPEG nor PNG", "save the picture as JPEG or PNG")
    if size is None or 0 in size:
        raise UnreadableFileError("PHO102", f"`{name}` is a damaged or cut picture", "copy it from the camera again")
    if size[0] * size[1] > PIXEL_LIMIT:
        message = f"`{name}` has {size[0]} × {size[1]} pixels; at most {PIXEL_LIMIT // 1_000_000} million are read"
        raise UnreadableFileError("PHO103", message, "scale the picture down")


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Return width and height from the frame header of a JPEG that has its end, stepping over other segments."""
    at = 2
    while at + 9 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker in _JPEG_BARE or marker == 0xFF:
            at += 1 if marker == 0xFF else 2
            continue
        if marker in _JPEG_SIZES:
            height, width = struct.unpack(">HH", data[at + 5 : at + 9])
            return (width, height) if data.rfind(b"\xff\xd9", at) > 0 else None
        at += 2 + int(struct.unpack(">H", data[at + 2 : at + 4])[0])
    return None
