"""Pictures for pages: decoded, turned upright, stripped of metadata, scaled, encoded again; their hash is kept."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from reportgen.diagnostics import Diagnostic
from reportgen.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.job import Original

MOST_PIXELS = 100_000_000
"""Pixels of the largest photo that is decoded (common practice: twice the largest camera of today)."""

PRINTED_DPI = 200
MOST_PRINTED = 2000
"""Pixels of the longer side of any picture on a page: more than the widest text at that resolution has."""
_QUALITY = 85
_EXIF_BLOCK, _GPS_BLOCK = 0x8769, 0x8825
_TAKEN, _LATITUDE, _LONGITUDE = 0x9003, (1, 2), (3, 4)
_WRITTEN_TIME = re.compile(
    r"(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d:\d\d)", re.ASCII
)  # Exif 2.32, clause 4.6.5, DateTimeOriginal
_TIME = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d", re.ASCII)
_ANGLE = r"\d{1,3}° \d{1,2}′ \d{1,2}\.\d″ "
_POSITION = re.compile(f"{_ANGLE}[NS], {_ANGLE}[EW]", re.ASCII)


@dataclass(frozen=True, slots=True)
class PrintedPhoto:
    """A photo ready to print: JPEG bytes, pixels, hash of the original file, time and place its camera wrote."""

    jpeg: bytes
    width: int
    height: int
    sha256: str
    taken: str | None = None
    position: str | None = None


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures ready to print in place of their originals: photos by file, and the logo of the inspection body."""

    photos: Mapping[str, PrintedPhoto] = field(default_factory=dict)
    logo: PrintedPhoto | None = None


def as_drawn(name: str, jpeg: bytes, sha256: str, *, taken: str | None, position: str | None) -> PrintedPhoto:
    """Return a picture as a page of a report shows it, with the hash of its original and what its camera noted.

    ``jpeg`` must be what ``printed_photo`` makes of some picture, as far as its form tells; what it shows may be any.

    Raises:
        InputError: PHO102 for another kind of JPEG, or notes that no camera's are printed as.
    """
    from PIL import Image

    strange = _refused("PHO102", f"the picture that stands for `{name}` is not one that a report prints", "-")
    if not (taken is None or _TIME.fullmatch(taken)) or not (position is None or _POSITION.fullmatch(position)):
        raise strange
    try:
        image = Image.open(io.BytesIO(jpeg), formats=("JPEG",))
        plain = set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        if image.mode != "RGB" or not plain or max(image.size) > MOST_PRINTED or not jpeg.endswith(b"\xff\xd9"):
            raise strange
        image.load()
    except (OSError, SyntaxError, ValueError, EOFError, IndexError, Image.DecompressionBombWarning) as reason:
        raise strange from reason
    return PrintedPhoto(jpeg, *image.size, sha256, taken, position)


def printed_photo(original: Original, width: float, height: float, turn: int = 0) -> PrintedPhoto:
    """Return a photo scaled to at most ``width`` x ``height`` points at 200 dpi; its bytes depend on the original's.

    ``turn`` is by how many degrees it is turned clockwise, a multiple of 90, after what its camera says of it. Only
    what is printed is kept, for the pages may be laid out again; the original is read, and let go.

    Raises:
        InputError: PHO101 neither JPEG nor PNG, PHO102 damaged, PHO103 too many pixels, PHO104 changed meanwhile.
    """
    wide, high = (round(side / 72 * PRINTED_DPI) for side in (width, height))
    key = original.sha256, wide, high, turn
    if key not in _PRINTED:
        printed = _printed(original, wide, high, turn)
        while len(_PRINTED) >= _MOST_KEPT:
            _PRINTED.pop(next(iter(_PRINTED)))
        _PRINTED[key] = printed
    return _PRINTED[key]


_PRINTED: dict[tuple[str, int, int, int], PrintedPhoto] = {}
_MOST_KEPT = 500


def _printed(original: Original, wide: int, high: int, turn: int) -> PrintedPhoto:
    from PIL import Image, ImageOps

    name = original.name
    image = _opened(original)
    try:
        taken, position = _notes(image)
        side = 2 * max(wide, high)
        image.draft("RGB", (side, side))  # a JPEG is decoded no larger than needed
        flat = ImageOps.exif_transpose(image)
        if turn:
            flat = flat.rotate(-turn, expand=True)
        if flat.mode in {"RGBA", "LA", "PA"} or "transparency" in flat.info:
            # what is transparent becomes white, since a PDF/A page keeps no transparency
            flat = flat.convert("RGBA")
            flat = Image.alpha_composite(Image.new("RGBA", flat.size, (255, 255, 255, 255)), flat)
        flat = flat.convert("RGB")
        flat.thumbnail((wide, high), resample=Image.Resampling.LANCZOS)
        target = io.BytesIO()
        flat.save(target, "JPEG", quality=_QUALITY, optimize=False, progressive=False, subsampling=2)
    except (OSError, SyntaxError, ValueError, EOFError, IndexError) as reason:
        raise _damaged(name) from reason
    wide, high = flat.size
    return PrintedPhoto(target.getvalue(), wide, high, original.sha256, taken, position)


def _opened(original: Original) -> Any:
    """Open without decoding; only two formats, since some decoders start programs."""
    from PIL import Image, UnidentifiedImageError

    name = original.name
    try:
        image = Image.open(io.BytesIO(original.read()), formats=("JPEG", "PNG"))
    except UnidentifiedImageError as reason:
        raise _refused("PHO101", f"photo `{name}` is neither JPEG nor PNG", "save it as JPEG") from reason
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as reason:
        raise _too_large(name) from reason
    except (OSError, SyntaxError, ValueError) as reason:
        raise _damaged(name) from reason
    if image.width * image.height > MOST_PIXELS:
        raise _too_large(name)
    return image


def _too_large(name: str) -> InputError:
    return _refused(
        "PHO103", f"photo `{name}` has more than {MOST_PIXELS // 1_000_000} million pixels", "make it smaller"
    )


def _damaged(name: str) -> InputError:
    return _refused("PHO102", f"photo `{name}` is cut short or damaged", "save it again from the camera")


def _refused(code: str, message: str, help_text: str) -> InputError:
    return InputError([Diagnostic(code, message, help_text=help_text)])


def camera_notes(original: Original) -> tuple[str | None, str | None]:
    """Return time and position as the camera wrote them, when it did and they are plain; InputError as above."""
    try:
        return _notes(_opened(original))
    except (OSError, SyntaxError, ValueError, EOFError, IndexError) as reason:
        raise _damaged(original.name) from reason


def _notes(image: Any) -> tuple[str | None, str | None]:
    exif = image.getexif()
    taken = exif.get_ifd(_EXIF_BLOCK).get(_TAKEN)
    written = _WRITTEN_TIME.match(taken.strip("\0 ")) if isinstance(taken, str) else None
    shown = "{}-{}-{} {}".format(*written.groups()) if written else None
    return shown, _position(exif.get_ifd(_GPS_BLOCK))


def _position(gps: Any) -> str | None:
    parts = []
    for reference, angle in (_LATITUDE, _LONGITUDE):
        letter, value = gps.get(reference), gps.get(angle)
        if letter not in {"N", "S", "E", "W"} or not isinstance(value, tuple) or len(value) != 3:
            return None
        degrees, minutes, seconds = (float(part) for part in value)  # a camera may put fractions into any of them
        minutes, tenths = divmod(round(degrees * 36000 + minutes * 600 + seconds * 10), 600)
        parts.append(f"{minutes // 60}° {minutes % 60}′ {tenths / 10:.1f}″ {letter}")
    position = ", ".join(parts)
    return position if _POSITION.fullmatch(position) else None
