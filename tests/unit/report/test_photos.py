import hashlib
import io

import pytest
from PIL import Image, ImageDraw

from reportgen.errors import InputError
from reportgen.job import Original
from reportgen.pdf import pictures as photos
from reportgen.pdf.pictures import as_drawn, camera_notes, printed_photo

ORIENTATION, TAKEN, GPS = 0x0112, 0x9003, 0x8825


def encoded(image, kind="JPEG", **options):
    target = io.BytesIO()
    image.save(target, kind, **options)
    return target.getvalue()


def original(name, data):
    return Original(name, hashlib.sha256(data).hexdigest(), lambda: data)


def printed(name, data, width, height, turn=0):
    return printed_photo(original(name, data), width, height, turn)


def opened(photo):
    return Image.open(io.BytesIO(photo.jpeg))


def code_of(name, data):
    with pytest.raises(InputError) as caught:
        printed(name, data, 200, 150)
    [diagnostic] = caught.value.diagnostics
    assert name in diagnostic.message
    return diagnostic.code


def test_a_photo_is_scaled_to_200_dpi_of_its_printed_size():
    photo = printed("a.jpg", encoded(Image.new("RGB", (4000, 3000), "grey")), 180, 135)
    assert (photo.width, photo.height) == (500, 375)


def test_a_small_photo_is_not_blown_up():
    photo = printed("a.jpg", encoded(Image.new("RGB", (40, 30), "grey")), 180, 135)
    assert (photo.width, photo.height) == (40, 30)


def test_a_photo_taken_on_its_side_is_printed_upright_without_its_metadata():
    image = Image.new("RGB", (80, 40), "white")
    ImageDraw.Draw(image).rectangle((0, 0, 19, 39), fill="black")  # left in the file, top when upright
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif.get_ifd(0x8769)[TAKEN] = "2026:06:03 11:20:05"
    exif.get_ifd(GPS).update({1: "N", 2: (59.0, 54.0, 36.2), 3: "E", 4: (10.0, 44.0, 0.0)})
    data = encoded(image, exif=exif) + b"trailing bytes"
    photo = printed("a.jpg", data, 200, 200)
    assert (photo.width, photo.height) == (40, 80)
    shown = opened(photo)
    assert shown.getpixel((20, 5))[0] < 60 < 200 < shown.getpixel((20, 70))[0]
    assert dict(shown.getexif()) == {}
    assert b"trailing" not in photo.jpeg
    assert (photo.taken, photo.position) == ("2026-06-03 11:20", "59° 54′ 36.2″ N, 10° 44′ 0.0″ E")


@pytest.mark.parametrize("latitude", [(59.0, 54.6, 0.0), (59.91, 0.0, 0.0), (59.0, 53.0, 96.0), (59.0, 54.0, 35.96)])
def test_fractions_of_a_degree_are_not_rounded_away(latitude):
    exif = Image.Exif()
    exif.get_ifd(GPS).update({1: "N", 2: latitude, 3: "E", 4: (10.0, 44.0, 0.0)})
    photo = printed("a.jpg", encoded(Image.new("RGB", (60, 40)), exif=exif), 100, 100)
    assert photo.position == "59° 54′ 36.0″ N, 10° 44′ 0.0″ E"


def test_the_hash_is_that_of_the_file_as_it_came():
    data = encoded(Image.new("RGB", (60, 40), "grey"))
    assert printed("a.jpg", data, 100, 100).sha256 == hashlib.sha256(data).hexdigest()


def test_odd_metadata_is_left_out_rather_than_trusted():
    exif = Image.Exif()
    exif.get_ifd(0x8769)[TAKEN] = "2026\u6f06"
    exif.get_ifd(GPS).update({1: "Q", 2: (1.0, 2.0, 3.0)})
    photo = printed("a.jpg", encoded(Image.new("RGB", (60, 40)), exif=exif), 100, 100)
    assert (photo.taken, photo.position) == (None, None)


@pytest.mark.parametrize("mode", ["L", "1", "P", "RGBA", "LA", "CMYK"])
def test_every_mode_becomes_a_plain_picture(mode):
    kind = "JPEG" if mode == "CMYK" else "PNG"
    photo = printed(f"{mode}.png", encoded(Image.new(mode, (50, 50)), kind), 100, 100)
    assert opened(photo).mode == "RGB"


def test_what_is_transparent_becomes_white():
    photo = printed("t.png", encoded(Image.new("RGBA", (50, 50), (0, 0, 0, 0)), "PNG"), 100, 100)
    assert min(opened(photo).getpixel((25, 25))) > 250


def test_the_bytes_are_the_same_each_time():
    data = encoded(Image.effect_noise((300, 200), 40).convert("RGB"))
    first = printed("a.jpg", data, 100, 80)
    photos._PRINTED.clear()
    assert printed("a.jpg", data, 100, 80) == first


def test_other_formats_are_refused_without_being_opened():
    eps = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n"
    assert code_of("drawing.eps", eps) == "PHO101"
    assert code_of("a.gif", encoded(Image.new("P", (5, 5)), "GIF")) == "PHO101"
    assert code_of("empty.jpg", b"") == "PHO101"


def test_a_cut_or_damaged_photo_is_refused():
    data = encoded(Image.effect_noise((400, 300), 60).convert("RGB"))
    assert code_of("cut.jpg", data[: len(data) // 2]) == "PHO102"
    png = bytearray(encoded(Image.effect_noise((100, 80), 60), "PNG"))
    png[60:70] = b"\0" * 10
    assert code_of("damaged.png", bytes(png)) == "PHO102"
    assert code_of("head.png", bytes(png[:20])) in {"PHO101", "PHO102"}


def test_a_photo_with_too_many_pixels_is_refused_before_it_is_decoded(monkeypatch):
    bomb = encoded(Image.new("1", (30_000, 12_000)), "PNG")
    assert code_of("bomb.png", bomb) == "PHO103"
    monkeypatch.setattr(photos, "MOST_PIXELS", 100)
    assert code_of("large.png", encoded(Image.new("L", (20, 20)), "PNG")) == "PHO103"


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("2026:06:03 11:20:05", "2026-06-03 11:20"),
        ("2026-06-03T11:20:05", "2026-06-03 11:20"),
        ("released by owner", None),
        ("    :  :     :  :  ", None),
    ],
)
def test_only_a_time_is_printed_as_the_time_of_a_camera(written, shown):
    exif = Image.Exif()
    exif.get_ifd(0x8769)[TAKEN] = written
    data = encoded(Image.new("RGB", (60, 40)), exif=exif)
    assert printed("a.jpg", data, 100, 100).taken == shown
    assert camera_notes(original("a.jpg", data)) == (shown, None)


def test_what_stands_for_a_photo_is_of_the_kind_that_pages_show():
    photo = printed("a.jpg", encoded(Image.new("RGB", (60, 40))), 100, 100)
    same = as_drawn("a.jpg", photo.jpeg, photo.sha256, taken=None, position=None)
    assert same == photo
    for jpeg in (b"", b"no picture", photo.jpeg[:-40], photo.jpeg + b"more", encoded(Image.new("L", (60, 40)))):
        with pytest.raises(InputError):
            as_drawn("a.jpg", jpeg, photo.sha256, taken=None, position=None)
    for notes in ({"taken": "approved", "position": None}, {"taken": None, "position": "all areas released"}):
        with pytest.raises(InputError):
            as_drawn("a.jpg", photo.jpeg, photo.sha256, **notes)


@pytest.mark.parametrize(("turn", "corner"), [(90, (29, 0)), (180, (39, 29)), (270, (0, 39))])
def test_a_photo_is_turned_clockwise_as_the_inspector_says(turn, corner):
    image = Image.new("RGB", (40, 30), "white")
    ImageDraw.Draw(image).rectangle((0, 0, 9, 9), fill="black")
    turned = opened(printed("a.png", encoded(image, "PNG"), 180, 135, turn))
    assert turned.size == ((40, 30) if turn == 180 else (30, 40))
    assert max(turned.getpixel(corner)) < 60
