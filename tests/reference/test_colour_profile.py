"""The output intent's profile against the published primaries of sRGB and against another implementation of it."""

from __future__ import annotations

import struct
from importlib import resources

import pytest
from PIL import Image, ImageCms

PROFILE = resources.files("reportgen.archival").joinpath("data/srgb-v2.icc").read_bytes()

# sRGB primaries adapted to D50 by the Bradford method, as the ICC's own sRGB profiles carry them; four digits, from
# memory of "How to interpret the sRGB color space (specified in IEC 61966-2-1) for ICC profiles", International Color
# Consortium. The tolerance is half a unit of the last digit, widened to one for the rounding of the adaptation.
PRIMARIES = {
    "rXYZ": (0.4361, 0.2225, 0.0139),
    "gXYZ": (0.3851, 0.7169, 0.0971),
    "bXYZ": (0.1431, 0.0606, 0.7139),
    "wtpt": (0.9642, 1.0, 0.8249),
}


def tags() -> dict[str, bytes]:
    """Content of each tag (ICC.1:2001-04 §6.2)."""
    (count,) = struct.unpack_from(">I", PROFILE, 128)
    rows = (struct.unpack_from(">4sII", PROFILE, 132 + 12 * row) for row in range(count))
    return {name.decode("ascii"): PROFILE[start : start + size] for name, start, size in rows}


@pytest.mark.parametrize("name", PRIMARIES)
def test_primaries(name):
    values = [number / 65536 for number in struct.unpack(">3i", tags()[name][8:20])]
    assert values == pytest.approx(PRIMARIES[name], abs=1e-4)


def test_header_is_version_2_with_a_fixed_date():
    size, version, kind, space, connection = struct.unpack_from(">I4xI4s4s4s", PROFILE)
    assert (size, version, kind, space, connection) == (len(PROFILE), 0x02100000, b"mntr", b"RGB ", b"XYZ ")
    assert struct.unpack_from(">6H", PROFILE, 24) == (2026, 1, 1, 0, 0, 0)


@pytest.mark.parametrize(
    ("encoded", "linear"),
    [(0.0, 0.0), (0.04045, 0.04045 / 12.92), (0.5, 0.21404), (0.73536, 0.5), (1.0, 1.0)],
)
def test_tone_curve(encoded, linear):
    """IEC 61966-2-1: linear below 0.04045, then ((x + 0.055) / 1.055) ** 2.4; 0.5 ↔ 0.21404, 0.73536 ↔ 0.5."""
    curve = tags()["rTRC"]
    (count,) = struct.unpack_from(">I", curve, 8)
    points = struct.unpack_from(f">{count}H", curve, 12)
    place = encoded * (count - 1)
    low = min(int(place), count - 2)
    value = points[low] + (points[low + 1] - points[low]) * (place - low)
    assert value / 65535 == pytest.approx(linear, abs=2e-5)
    assert tags()["gTRC"] == tags()["bTRC"] == curve


def test_another_implementation_takes_it_for_srgb():
    """LittleCMS, from our profile to its own sRGB: no 8-bit value moves by more than one."""
    import io

    colours = [(r, g, b) for r in range(0, 256, 17) for g in range(0, 256, 17) for b in range(0, 256, 17)]
    image = Image.new("RGB", (len(colours), 1))
    image.putdata(colours)
    moved = ImageCms.profileToProfile(image, io.BytesIO(PROFILE), ImageCms.createProfile("sRGB"))
    assert moved is not None
    pairs = zip(image.tobytes(), moved.tobytes(), strict=True)
    assert max(abs(before - after) for before, after in pairs) <= 1
