"""Photos: decoded, turned upright, stripped of metadata, scaled for print, encoded again; their hash is kept."""

from __future__ import annotations

import hashlib
import io
import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from reportgen.diagnostics import Diagnostic
from reportgen.errors import InputError
from reportgen.pdf.blocks import SECTION_HEIGHT, SectionTitle, running_text, write, write_lines
from reportgen.pdf.canvas import artifact, tagged
from reportgen.pdf.flow import CondPageBreak, Flowable, ImageReader
from reportgen.pdf.styles import BODY, HAIRLINE, INK, LABEL, MUTED, PANEL, REGULAR, colour
from reportgen.pdf.textlines import SMALLEST, unbroken, widest_piece

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.job import Photo
    from reportgen.report.context import Context

MOST_PIXELS = 100_000_000
"""Pixels of the largest photo that is decoded (common practice: twice the largest camera of today)."""

PRINTED_DPI = 200
MOST_PRINTED = 2000
"""Pixels of the longer side of any picture on a page: more than the widest text at that resolution has."""
_QUALITY = 85
_COLUMNS = 2
_GAP = 14.0
_TALLEST = 136.0
_LONG_CAPTION = 12  # lines of half the text width; a longer caption has the whole
_HASH_SIZE = 5.9  # 64 digits in half the text width
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

    def of(self, role: str, name: str) -> PrintedPhoto | None:
        """Return the picture that stands for the file of this name, whose role is ``photo`` or ``logo``."""
        return self.logo if role == "logo" else self.photos.get(name) if role == "photo" else None


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


def printed_photo(name: str, data: bytes, width: float, height: float, turn: int = 0) -> PrintedPhoto:
    """Return the photo scaled to at most ``width`` x ``height`` points at 200 dpi; the bytes depend on ``data`` alone.

    ``turn`` is by how many degrees it is turned clockwise, a multiple of 90, after what its camera says of it.

    Raises:
        InputError: PHO101 neither JPEG nor PNG, PHO102 damaged, PHO103 too many pixels.
    """
    return _printed(name, data, round(width / 72 * PRINTED_DPI), round(height / 72 * PRINTED_DPI), turn)


@lru_cache(maxsize=64)
def _printed(name: str, data: bytes, wide: int, high: int, turn: int) -> PrintedPhoto:
    from PIL import Image, ImageOps

    image = _opened(name, data)
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
    return PrintedPhoto(target.getvalue(), wide, high, hashlib.sha256(data).hexdigest(), taken, position)


def _opened(name: str, data: bytes) -> Any:
    """Open without decoding; only two formats, since some decoders start programs."""
    from PIL import Image, UnidentifiedImageError

    try:
        image = Image.open(io.BytesIO(data), formats=("JPEG", "PNG"))
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


def camera_notes(name: str, data: bytes) -> tuple[str | None, str | None]:
    """Return time and position as the camera wrote them, when it did and they are plain; InputError as above."""
    try:
        return _notes(_opened(name, data))
    except (OSError, SyntaxError, ValueError, EOFError, IndexError) as reason:
        raise _damaged(name) from reason


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


class PhotoRow(Flowable):  # type: ignore[misc] # reportlab has no types
    """Photos side by side, each with its caption, time and hash below.

    A photo ``alone`` has the whole width for what is said of it; its caption stands below the row, as text that may
    break over pages.
    """

    def __init__(
        self, context: Context, photos: list[tuple[Photo, PrintedPhoto | None]], *, alone: bool = False
    ) -> None:
        super().__init__()
        self.context, self.photos, self.alone = context, photos, alone
        self.spaceBefore = 8.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width; the tallest photo and the longest caption."""
        self.width = aW
        self._room = (aW - _GAP * (_COLUMNS - 1)) / _COLUMNS
        self._text_room = aW if self.alone else self._room
        texts = ["" if self.alone else caption_of(self.context, photo) for photo, _ in self.photos]
        self._captions = [unbroken(text, REGULAR, BODY, self._room) if text else (BODY, ()) for text in texts]
        self._notes = [self._note_lines(photo, printed) for photo, printed in self.photos]
        self._picture = max(self._size(photo, printed)[1] for photo, printed in self.photos)
        parts = zip(self._captions, self._notes, strict=True)
        below = [11 * len(lines) + 8.5 * len(notes) for (_, lines), notes in parts]
        self.height = self._picture + 14 + max(below)
        return self.width, self.height

    def draw(self) -> None:
        """Pictures with their texts."""
        for index, ((photo, printed), (size, caption)) in enumerate(zip(self.photos, self._captions, strict=True)):
            x, y = index * (self._room + _GAP), self.height - self._picture
            self._draw_picture(x, y, photo, printed)
            if caption:
                with tagged(self.canv, "Caption"):
                    write_lines(self.canv, x, y - 12, caption, 11, size, INK)
            with tagged(self.canv, "P"):
                below = y - 12 - 11 * len(caption)
                for number, (small, line) in enumerate(self._notes[index]):
                    write(self.canv, x, below - 8.5 * number, line, small, MUTED)

    def _draw_picture(self, x: float, y: float, photo: Photo, printed: PrintedPhoto | None) -> None:
        canvas = self.canv
        wide, high = self._size(photo, printed)
        if printed is None:
            with artifact(canvas, "Background"):
                canvas.setFillColor(colour(PANEL))
                canvas.setStrokeColor(colour(HAIRLINE))
                canvas.rect(x, y + self._picture - high, wide, high, stroke=1, fill=1)
            with tagged(canvas, "P"):
                size, lines = self._missing(photo)
                top = y + self._picture - high / 2 + 4.5 * (len(lines) - 1)
                write_lines(canvas, x + 8, top, lines, 9, size, MUTED)
            return
        alt = self.context.words("photo.alt", caption=caption_of(self.context, photo))
        at = (x, y + self._picture - high, wide, high)
        with tagged(canvas, "Figure", alt=alt, at=at):
            canvas.drawImage(ImageReader(io.BytesIO(printed.jpeg)), *at)

    def _missing(self, photo: Photo) -> tuple[float, tuple[str, ...]]:
        return unbroken(self.context.words("photo.missing", file=photo.file), REGULAR, LABEL, self._text_room - 16)

    def _size(self, photo: Photo, printed: PrintedPhoto | None) -> tuple[float, float]:
        if printed is None:
            return self._text_room, max(48.0, 12.0 + 9 * len(self._missing(photo)[1]))
        scale = min(self._room / printed.width, _TALLEST / printed.height, 72 / 100)
        return printed.width * scale, printed.height * scale

    def _note_lines(self, photo: Photo, printed: PrintedPhoto | None) -> list[tuple[float, str]]:
        """Sizes and lines below the caption: time, file, what the camera noted, hash."""
        style = self.context.template.photos
        parts = [f"{photo.time:%H:%M}", str(photo.file)] if photo.time else [str(photo.file)]
        if printed is not None:
            if style.time and printed.taken:
                parts.append(self.context.words("photo.taken", time=printed.taken))
            if style.position and printed.position:
                parts.append(printed.position)
            parts.append("SHA-256")
        notes = [(" · ".join(parts), LABEL - 0.5)]
        notes += [(printed.sha256, _HASH_SIZE)] if printed is not None else []
        set_texts = [unbroken(text, REGULAR, size, self._text_room) for text, size in notes]
        return [(size, line) for size, lines in set_texts for line in lines]


def caption_of(context: Context, photo: Photo) -> str:
    """The caption of a photo, with its location unless the caption names that itself."""
    if not photo.location:
        return photo.caption
    place = context.words("location", location=photo.location)
    return photo.caption if place.lower() in photo.caption.lower() else f"{place}: {photo.caption}"


def _rows(context: Context, photos: list[tuple[Photo, PrintedPhoto | None]], room: float) -> list[list[Flowable]]:
    """The rows of photos, each with what follows it: a photo with a long caption or name has a row to itself."""
    rows: list[list[Flowable]] = []
    waiting: list[tuple[Photo, PrintedPhoto | None]] = []
    for one in photos:
        caption = caption_of(context, one[0])
        named = widest_piece(str(one[0].file), REGULAR, SMALLEST) <= room
        if not named or len(unbroken(caption, REGULAR, BODY, room)[1]) > _LONG_CAPTION:
            rows += [[PhotoRow(context, waiting)]] if waiting else []
            rows.append([PhotoRow(context, [one], alone=True), running_text(caption, before=2, role="Caption")])
            waiting = []
        elif len(waiting) == _COLUMNS - 1:
            rows.append([PhotoRow(context, [*waiting, one])])
            waiting = []
        else:
            waiting = [*waiting, one]
    return [*rows, [PhotoRow(context, waiting)]] if waiting else rows


def photo_blocks(context: Context, area: str) -> list[Flowable]:
    """The photos of an area, two to a row."""
    photos = [photo for surface in context.surfaces.get(area, []) for photo in surface.photos]
    if not photos:
        return []
    room = (context.width - _GAP) / _COLUMNS
    ready: list[tuple[Photo, PrintedPhoto | None]] = []
    for photo in photos:
        name = str(photo.file)
        printed, data = context.pictures.photos.get(name), context.job.photos.get(name)
        if printed is None and data is not None:
            printed = printed_photo(name, data, room, _TALLEST, int(photo.turn or 0))
        ready.append((photo, printed))
    rows = [block for row in _rows(context, ready, room) for block in row]
    title = SectionTitle(context.words("photo.title"), f"area-{area}-photos", level=3, outline=False)
    rows[0].wrap(context.width, context.height)
    return [CondPageBreak(SECTION_HEIGHT + float(rows[0].height) + 20), title, *rows]
