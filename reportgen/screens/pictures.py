"""Photos that look alike, also when smaller, compressed again, turned or mirrored.

The look of a photo is 255 signs of the lowest frequencies of its brightness, evened out: frames, cards and scales are
the same in many photos and would outweigh the steel. Bare steel has few features, so that short fingerprints of
gradients agree between any two photos of it: 255 signs do not. Turning and mirroring a photo changes signs and places
of its frequencies in a known way, so that eight looks follow from one.
"""

from __future__ import annotations

import io
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from PIL import Image

from reportgen.screens.sheets import Screened, Sign

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.screens.sheets import Array

SIDE = 16
SIZE = 64
_BOX = 4  # the mean of all points, as Pillow counts its ways to resize
ALIKE = 16
"""Signs of 255 in which two looks may differ: different photos of synthetic steel differ in 84 or more, drawings of
one layout in 18 or more, one photo made smaller and compressed again in 5 or fewer."""
_AROUND = 4
_FLAT = 4.0
_BLOCK = 512


class Picture(NamedTuple):
    """A photo of a report, with its look and the SHA-256 of the file that was taken."""

    path: str
    contract: str
    number: str
    when: str
    area: str
    file: str
    original: str
    look: str


@cache
def _cosines() -> Array:
    at = np.arange(SIZE)
    return np.cos(np.pi * np.outer(np.arange(SIDE), 2 * at + 1) / (2 * SIZE))


def look_of(image: Any) -> str:
    """Return the look of a picture as Pillow opens it, as hexadecimal text; empty for one of a single brightness."""
    grey = np.asarray(image.convert("L").resize((SIZE, SIZE), _BOX), float)
    if grey.std() < 1:
        return ""
    middle = _around(grey)
    even = (grey - middle) / np.sqrt(np.maximum(_around(grey * grey) - middle * middle, 0) + _FLAT)
    waves = _cosines() @ even @ _cosines().T
    return np.packbits((waves > 0).ravel()).tobytes().hex()


def look_of_jpeg(data: bytes) -> str:
    """Return the look of a JPEG; ``OSError`` or ``ValueError`` for what is none."""
    with Image.open(io.BytesIO(data), formats=["JPEG"]) as image:
        image.draft("L", (2 * SIZE, 2 * SIZE))
        return look_of(image)


def _around(grey: Array) -> Array:
    """Return the mean of each point's surroundings."""
    side = 2 * _AROUND + 1
    sums = np.pad(np.pad(grey, _AROUND, mode="reflect").cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    return np.asarray((sums[side:, side:] - sums[:-side, side:] - sums[side:, :-side] + sums[:-side, :-side]) / side**2)


def _eight(look: str) -> Array:
    """Return the looks of a picture turned and mirrored, as rows of signs without the first, which is brightness."""
    signs = np.unpackbits(np.frombuffer(bytes.fromhex(look), np.uint8)).reshape(SIDE, SIDE).astype(bool)
    odd = np.arange(SIDE) % 2 == 1
    turned = [
        one ^ (odd[:, None] & up) ^ (odd[None, :] & across)
        for one in (signs, signs.T)
        for up in (False, True)
        for across in (False, True)
    ]
    return np.array([one.ravel()[1:] for one in turned])


def photos_alike(pictures: Sequence[Picture]) -> Screened:
    """Point at photos that look like an earlier one of another report or area; one and the same file is no find."""
    seen = _comparable(pictures)
    signs: list[Sign] = []
    tests = len(seen) * (len(seen) - 1) // 2
    for start, apart in _apart(pictures, seen):
        for one, other in np.argwhere(apart <= ALIKE):
            signs += _found(pictures, seen[start + one], seen[other], int(apart[one, other]), tests)
    first = {sign.sheets[1]: sign for sign in sorted(signs, key=lambda sign: (sign.effect, sign.sheets), reverse=True)}
    return Screened("photo", tests, 0.0, float(ALIKE) if tests else None, tuple(first[at] for at in sorted(first)))


def _comparable(pictures: Sequence[Picture]) -> list[int]:
    return [place for place, one in enumerate(pictures) if len(one.look) == SIDE * SIDE // 4]


def _apart(pictures: Sequence[Picture], seen: Sequence[int]) -> Iterator[tuple[int, Array]]:
    """Yield by blocks from a first picture on in how many signs each differs from every other, turned as is nearest."""
    if not seen:
        return
    turned = np.array([_eight(pictures[place].look) for place in seen]).astype(np.float32) * 2 - 1
    plain = turned[:, 0, :]
    for start in range(0, len(seen), _BLOCK):
        block = turned[start : start + _BLOCK].reshape(-1, SIDE * SIDE - 1)
        yield start, ((SIDE * SIDE - 1 - block @ plain.T) / 2).reshape(-1, 8, len(seen)).min(1)


def _found(pictures: Sequence[Picture], one: int, other: int, apart: int, tests: int) -> list[Sign]:
    earlier, later = pictures[one], pictures[other]
    if (earlier.when, one) >= (later.when, other) or earlier.original == later.original != "":
        return []
    if (earlier.contract, earlier.number, earlier.area) == (later.contract, later.number, later.area):
        return []
    facts: dict[str, str | int] = {"apart": apart, "of": SIDE * SIDE - 1, "file": later.file, "other": earlier.file}
    return [Sign("photo", "looks", (one, other), tests, 0.0, float(apart), facts)]
