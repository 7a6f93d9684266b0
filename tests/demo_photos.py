"""Draws the pictures of the demonstration contracts: stylised steel with a scale and a tag, plainly not photographs.

``python -m tests.demo_photos`` writes every file that ``PICTURES`` names, below ``jobs/``. The same Pillow gives the
same bytes; nothing is random but a generator seeded with the picture's name.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw, ImageFilter, ImageFont

from reportgen.pdf.fonts import font_path

SIZE = (1000, 750)
INK, PAPER, STEEL, SHADE, EDGE, RUST = "#16202a", "#f7f5ef", "#a9b0b4", "#8d969b", "#5f6a70", "#9a6b4a"


@dataclass(frozen=True)
class Picture:
    """One picture: where it goes, what its tag says, and which of the subjects it shows."""

    file: str
    area: str
    day: str
    subject: str


_BRIDGE = "quarrowmere/photos/qw-"
PICTURES = (
    Picture(_BRIDGE + "001-g1-web.jpg", "G-1", "2026-06-08", "girder"),
    Picture(_BRIDGE + "001-g1-loc2.jpg", "G-1 / 2", "2026-06-08", "replicas"),
    Picture(_BRIDGE + "001-g3-rivets.jpg", "G-3", "2026-06-08", "rivets"),
    Picture(_BRIDGE + "001-k1-skin.jpg", "K-1", "2026-06-08", "plate"),
    Picture(_BRIDGE + "002-g4-web.jpg", "G-4", "2026-06-09", "girder"),
    Picture(_BRIDGE + "002-g5-loc3.jpg", "G-5 / 3", "2026-06-09", "walk-out"),
    Picture(_BRIDGE + "002-nozzle.jpg", "pot A", "2026-06-09", "nozzles"),
    Picture(_BRIDGE + "002-g6-flange.jpg", "G-6", "2026-06-09", "girder"),
    Picture(_BRIDGE + "002-k3-skin.jpg", "K-3", "2026-06-09", "plate"),
    Picture(_BRIDGE + "002-h1-stain.jpg", "H-1", "2026-06-09", "stain"),
    Picture(_BRIDGE + "003-g5-web.jpg", "G-5", "2026-06-11", "girder"),
    Picture(_BRIDGE + "003-g6-flange.jpg", "G-6", "2026-06-11", "girder"),
    Picture(_BRIDGE + "003-k3-skin.jpg", "K-3", "2026-06-11", "plate"),
    Picture(_BRIDGE + "003-h1-post.jpg", "H-1", "2026-06-11", "post"),
    Picture("tessowick/photos/tsk-07-s1.jpg", "S-1", "2026-09-15", "plate"),
    Picture("tessowick/photos/tsk-07-f1.jpg", "F-1", "2026-09-15", "plate"),
    Picture("tessowick/photos/tsk-07-f1-loc3.jpg", "F-1 / 3", "2026-09-15", "replicas"),
)


def draw(picture: Picture) -> Image.Image:
    """Return the picture, 1000 x 750, RGB."""
    chance = random.Random(picture.file)  # noqa: S311 - a drawing, nothing secret
    image = Image.new("RGB", SIZE, "#d8dcdd")
    canvas = ImageDraw.Draw(image)
    SUBJECTS[picture.subject](canvas, chance)
    image = image.filter(ImageFilter.SMOOTH)
    canvas = ImageDraw.Draw(image)
    _scale(canvas)
    _tag(canvas, picture)
    return image


def _font(points: int, face: str = "PlexSans") -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(font_path(face)), points)


def _speckle(canvas: ImageDraw.ImageDraw, chance: random.Random, box: tuple[int, int, int, int], count: int) -> None:
    for _ in range(count):
        x, y = chance.randint(box[0], box[2]), chance.randint(box[1], box[3])
        length = chance.randint(2, 6)
        canvas.line([(x, y), (x + length, y + chance.randint(-2, 2))], fill=chance.choice((SHADE, "#b9c0c3")), width=2)


def _plate(canvas: ImageDraw.ImageDraw, chance: random.Random) -> None:
    canvas.rectangle([60, 50, 940, 640], fill=STEEL, outline=EDGE, width=4)
    seam = chance.randint(300, 420)
    _speckle(canvas, chance, (70, 60, 920, 630), 1500)
    canvas.line([(60, seam), (940, seam)], fill=EDGE, width=6)
    joint = chance.choice((220, 780))
    canvas.line([(joint, seam), (joint, 640)], fill=EDGE, width=6)


def _girder(canvas: ImageDraw.ImageDraw, chance: random.Random) -> None:
    canvas.rectangle([0, 170, 1000, 560], fill=STEEL)
    _speckle(canvas, chance, (0, 175, 990, 555), 1300)
    for top in (110, 560):
        canvas.polygon([(0, top), (1000, top), (1000, top + 60), (0, top + 60)], fill=SHADE, outline=EDGE)
    first = chance.randint(120, 260)
    for x in range(first, 1000, 330):
        canvas.rectangle([x, 170, x + 26, 560], fill=SHADE, outline=EDGE, width=3)


def _rivets(canvas: ImageDraw.ImageDraw, chance: random.Random) -> None:
    _girder(canvas, chance)
    for y in (215, 515):
        for x in range(40, 1000, 75):
            canvas.ellipse([x - 17, y - 17, x + 17, y + 17], fill="#b9c0c3", outline=EDGE, width=3)
    for _ in range(60):
        x, y, r = chance.randint(20, 980), chance.randint(260, 470), chance.randint(3, 7)
        canvas.ellipse([x - r, y - r, x + r, y + r], fill=EDGE)


def _replicas(canvas: ImageDraw.ImageDraw, chance: random.Random) -> None:
    _plate(canvas, chance)
    canvas.rectangle([300, 140, 700, 540], outline=PAPER, width=5)
    for label, x in (("a", 350), ("b", 540)):
        canvas.rectangle([x, 260, x + 110, 410], fill="#e9e6da", outline=EDGE, width=3)
        canvas.ellipse([x + 30, 310, x + 80, 360], fill=STEEL, outline=EDGE, width=3)
        canvas.text((x + 46, 420), label, font=_font(40, "PlexSans-SemiBold"), fill=INK)


def _walk_out(canvas: ImageDraw.ImageDraw, chance: random.Random) -> None:
    _plate(canvas, chance)
    places = {(500, 330): "3", (500, 200): "3N1", (500, 90): "3N2", (500, 440): "3S1", (500, 530): "3S2",
              (500, 610): "3S3", (330, 330): "3W1", (170, 330): "3W2"}  # fmt: skip
    for (x, y), label in places.items():
        canvas.rectangle([x - 34, y - 26, x + 34, y + 26], outline=PAPER, width=5)
        canvas.text((x, y), label, font=_font(26, "PlexSans-SemiBold"), fill=INK, anchor="mm")
    canvas.line([(700, 60), (700, 630)], fill=EDGE, width=14)


def _nozzles(canvas: ImageDraw.ImageDraw, chance: random.Random) -> None:
    canvas.rectangle([60, 50, 940, 640], fill="#c9b79a", outline=EDGE, width=4)
    for x, bore, name in ((310, (52, 40), "worn"), (690, (31, 31), "new")):
        canvas.ellipse([x - 150, 180, x + 150, 480], fill=SHADE, outline=INK, width=5)
        canvas.ellipse([x - 90, 240, x + 90, 420], fill=EDGE, outline=INK, width=4)
        canvas.ellipse([x - bore[0], 330 - bore[1], x + bore[0], 330 + bore[1]], fill="#0d1216")
        canvas.text((x, 530), name, font=_font(44, "PlexSans-SemiBold"), fill=INK, anchor="mm")
    _speckle(canvas, chance, (70, 560, 920, 630), 120)


def _post(canvas: ImageDraw.ImageDraw, chance: random.Random) -> None:
    canvas.rectangle([340, 0, 660, 660], fill=STEEL, outline=EDGE, width=4)
    _speckle(canvas, chance, (350, 5, 645, 655), 800)
    canvas.polygon([(660, 120), (1000, 330), (1000, 400), (660, 190)], fill=SHADE, outline=EDGE)
    canvas.polygon([(340, 120), (0, 330), (0, 400), (340, 190)], fill=SHADE, outline=EDGE)


def _stain(canvas: ImageDraw.ImageDraw, chance: random.Random) -> None:
    _post(canvas, chance)
    for _ in range(26):
        x, y, r = chance.randint(400, 600), chance.randint(240, 560), chance.randint(8, 26)
        canvas.ellipse([x - r, y - r // 2, x + r, y + r // 2], fill=RUST)
    canvas.rectangle([420, 330, 580, 490], outline=PAPER, width=5)


def _scale(canvas: ImageDraw.ImageDraw) -> None:
    canvas.rectangle([60, 668, 560, 718], fill=PAPER, outline=INK, width=3)
    for centimetre in range(11):
        x = 75 + centimetre * 46
        canvas.line([(x, 668), (x, 696 if centimetre % 5 == 0 else 684)], fill=INK, width=3)
        canvas.text((x, 706), str(centimetre), font=_font(16), fill=INK, anchor="mm")
    canvas.text((98, 684), "cm", font=_font(16), fill=INK, anchor="mm")


def _tag(canvas: ImageDraw.ImageDraw, picture: Picture) -> None:
    canvas.rectangle([640, 560, 970, 722], fill=PAPER, outline=INK, width=4)
    canvas.text((660, 572), picture.area, font=_font(52, "PlexSans-SemiBold"), fill=INK)
    canvas.text((660, 640), picture.day, font=_font(30), fill=INK)
    canvas.text((660, 684), "drawn, not a photograph", font=_font(24, "PlexSans-Italic"), fill=INK)


SUBJECTS = {
    "plate": _plate,
    "girder": _girder,
    "rivets": _rivets,
    "replicas": _replicas,
    "walk-out": _walk_out,
    "nozzles": _nozzles,
    "post": _post,
    "stain": _stain,
}


def write_all(root: Path) -> list[Path]:
    """Draw every picture into its contract folder below ``root``."""
    written = []
    for picture in PICTURES:
        target = root / picture.file
        target.parent.mkdir(parents=True, exist_ok=True)
        draw(picture).save(target, "JPEG", quality=78, optimize=True)
        written.append(target)
    return written


if __name__ == "__main__":
    for path in write_all(Path(__file__).parent.parent / "jobs"):
        print(path)
