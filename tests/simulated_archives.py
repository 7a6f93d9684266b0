"""Archives of readings made by chance, honest or with something done to them; seeded, for the screens. All invented."""

from dataclasses import dataclass, replace

import numpy as np
from PIL import Image, ImageFilter

from reportgen.screens.sheets import ReadingSheet

MIL_A_MICROMETRE = 1 / 25.4


@dataclass(frozen=True)
class Made:
    """How an archive is made: its size, the gauge's step, and what varies by how much, in mil."""

    contracts: int = 5
    reports: int = 60
    locations: int = 6
    each: int = 2
    digit: float = 0.1
    spot: float = 0.3
    location: float = 0.25
    area: float = 0.2
    shift: float = 0.1
    varying: float = 0.2
    inspectors: int = 3
    heaped: float = 0.0


GRID = tuple(
    Made(digit=digit, spot=spot, varying=varying, location=location)
    for digit in (0.1, 0.05, MIL_A_MICROMETRE)
    for spot in (0.12, 0.2, 0.3, 0.4)
    for varying in (0.0, 0.2, 0.4, 0.6)
    for location in (0.1, 0.25)
)
"""The grid of the honest archives."""


def archive(made: Made, chance: np.random.Generator) -> list[ReadingSheet]:
    """Return the sheets of an honest archive, in the order of their reports; 2 or 3 surfaces to a report."""
    n = made.locations * made.each
    sheets = []
    names = tuple(f"{at // made.each + 1}" for at in range(n))
    for contract in range(made.contracts):
        for place in range(made.reports):
            shift = chance.normal(3.2, made.shift)
            for surface in range(2 + place % 2):
                level = shift + chance.normal(0, made.area)
                spot = made.spot * np.exp(made.varying * chance.normal())
                where = np.repeat(chance.normal(0, made.location, made.locations), made.each)
                read = level + where + chance.normal(0, spot, n)
                steps = np.rint(read / made.digit).astype(int)
                if made.heaped:
                    steps = np.where(chance.random(n) < made.heaped, 5 * np.rint(steps / 5).astype(int), steps)
                who = place % made.inspectors
                sheets.append(
                    ReadingSheet(
                        contract=f"C{contract}", number=f"C{contract}-{place:03d}", place=place,
                        when=f"{place:05d} {contract}", area=f"A{place}.{surface}", path=f"C{contract}/{place:03d}.pdf",
                        gauge=f"G{contract}.{who}", inspector=f"I{contract}.{who}", apparatus="pot", abrasive="grit",
                        unit="mil", digit=1, values=tuple(steps.tolist()), locations=names,
                        steel=("pot", f"C{contract} {place} {surface}"),
                    )
                )  # fmt: skip
    return sheets


def with_values(sheet: ReadingSheet, values) -> ReadingSheet:
    return replace(sheet, values=tuple(int(one) for one in values))


def edited(values, count, chance):
    """Change so many readings, each by one or two steps."""
    made = np.array(values)
    at = chance.choice(len(made), count, replace=False)
    made[at] += chance.choice([-2, -1, 1, 2], count)
    return made


def disguised(how: str, values, each: int, chance) -> np.ndarray:
    """Return the readings of one sheet as somebody may enter them a second time."""
    read = np.array(values)
    n = len(read)
    if how == "as is":
        return read
    if how == "reversed":
        return read[::-1]
    if how == "rotated":
        return np.roll(read, int(chance.integers(1, n)))
    if how == "exchanged":
        return read.reshape(-1, each)[:, ::-1].reshape(-1)
    if how == "reordered":
        return chance.permutation(read.reshape(-1, each)).reshape(-1)
    if how == "shifted":
        return read + int(chance.choice([-2, -1, 1, 2]))
    if how.startswith("edited"):
        return edited(read, int(how.split()[1]), chance)
    if how == "resorted":
        return np.sort(read)
    raise ValueError(how)


def narrowed(sheets, who, ratio, chance):
    """Draw the readings in an inspector's reports together."""
    return [_drawn_together(one, ratio, chance) if one.inspector == who else one for one in sheets]


def _drawn_together(sheet, ratio, chance):
    read = np.array(sheet.values) + chance.uniform(-0.5, 0.5, len(sheet.values))
    return with_values(sheet, np.rint(read.mean() + ratio * (read - read.mean())))


def heaped(sheets, gauge, reports, share, chance):
    """Round a share of a gauge's readings to fives, over so many reports running."""
    numbers = list(dict.fromkeys(one.number for one in sheets if one.gauge == gauge))
    start = int(chance.integers(0, len(numbers) - reports + 1))
    chosen = set(numbers[start : start + reports])
    return [_rounded(one, share, chance) if one.number in chosen and one.gauge == gauge else one for one in sheets]


def _rounded(sheet, share, chance):
    read = np.array(sheet.values)
    return with_values(sheet, np.where(chance.random(len(read)) < share, 5 * np.rint(read / 5), read))


def without_repeats(sheets, who, chance):
    """Change nine in ten of the readings that equal the one before, in an inspector's reports."""
    return [_unrepeated(one, chance) if one.inspector == who else one for one in sheets]


def _unrepeated(sheet, chance):
    read = np.array(sheet.values)
    for at in range(1, len(read)):
        if read[at] == read[at - 1] and chance.random() < 0.9:
            read[at] += chance.choice([-1, 1])
    return with_values(sheet, read)


def shift_means(count, chance, *, drift=0.0, step=0.0, after=0):
    """Return the means of so many shifts of two areas of six locations, in mil, with a drift or a step in them."""
    at = np.arange(count)
    level = 3.2 + chance.normal(0, 0.1, count) + drift * at / max(1, count - 1) + step * (at >= after)
    areas = level[:, None] + chance.normal(0, 0.2, (count, 2))
    return (areas + chance.normal(0, 0.25 / np.sqrt(6), (count, 2))).mean(1).tolist()


def steel_photo(chance, size=(640, 480)):
    """Return a picture of steel as noise of two grains under uneven light."""
    coarse = Image.fromarray(chance.integers(0, 255, (12, 16), np.uint8)).resize(size, Image.Resampling.BICUBIC)
    fine = Image.fromarray(chance.integers(0, 255, (size[1], size[0]), np.uint8)).filter(ImageFilter.GaussianBlur(2))
    return Image.blend(coarse, fine, 0.4)
