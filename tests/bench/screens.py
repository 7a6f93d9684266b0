"""What the screens keep of their promise: ``python -m tests.bench.screens [--archives N] [--each N]``.

Prints for honest archives over a grid how many had a finding, by screen; then, of so many archives each, in how many
what was done to one was found; then the charts of shifts. Seeded; everything is invented.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from reportgen import screens, shifts
from reportgen.screens.pictures import _apart
from tests.simulated_archives import (
    GRID,
    MIL_A_MICROMETRE,
    Made,
    archive,
    disguised,
    heaped,
    narrowed,
    shift_means,
    steel_photo,
    with_values,
    without_repeats,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportgen.screens import ReadingSheet

SCREENS = (
    screens.alike, screens.narrow_surfaces, screens.narrow_groups, screens.heaped_digits, screens.regular,
    screens.repeats_avoided,
)  # fmt: skip
GAUGES = {"0.1 mil, spot 0.3": (0.1, 0.3), "0.1 mil, spot 0.2": (0.1, 0.2), "1 um, spot 0.3": (MIL_A_MICROMETRE, 0.3)}
WAYS = (
    "as is", "reversed", "rotated", "exchanged", "reordered", "shifted", "edited 1", "edited 2", "edited 3", "run 10",
    "run 7", "resorted",
)  # fmt: skip


def honest(archives: int, chance: np.random.Generator, size: Made | None = None) -> Counter[str]:
    """Return in how many of so many honest archives over the grid each screen points anywhere, and any does.

    Every third has inspectors who round up to three tenths of their readings.
    """
    found: Counter[str] = Counter()
    for place in range(archives):
        made = replace(GRID[place * 7 % len(GRID)], heaped=0.0 if place % 3 else 0.1 + 0.2 * (place % 2))
        made = made if size is None else replace(made, contracts=size.contracts, reports=size.reports)
        sheets = archive(made, chance)
        seen = {one.screen for one in (screen(sheets) for screen in SCREENS) if one.signs}
        found.update(seen)
        found["any"] += bool(seen)
    return found


def entered_again(how: str, made: Made, chance: np.random.Generator) -> bool:
    """Enter a sheet again under a number at most five later, and say whether that pair is pointed at."""
    sheets = archive(made, chance)
    places = [place for place, one in enumerate(sheets) if one.place < made.reports - 5]
    first = int(chance.choice(places))
    near = [place for place, one in enumerate(sheets)
            if one.contract == sheets[first].contract and 1 <= one.place - sheets[first].place <= 5]  # fmt: skip
    other = int(chance.choice(near))
    sheets[other] = with_values(sheets[other], _again(how, sheets[first], sheets[other], made, chance))
    return any(sign.sheets == (first, other) for sign in screens.alike(sheets).signs)


def _again(how: str, first: ReadingSheet, other: ReadingSheet, made: Made, chance: np.random.Generator) -> np.ndarray:
    if not how.startswith("run"):
        return disguised(how, first.values, made.each, chance)
    length, values = int(how.split()[1]), np.array(other.values)
    at, where = (int(chance.integers(0, len(values) - length + 1)) for _ in range(2))
    values[where : where + length] = first.values[at : at + length]
    return values


def found_of(each: int, doing: Callable[[], bool]) -> int:
    """Return in how many of so many tries what was done is found."""
    return sum(doing() for _ in range(each))


def others(chance: np.random.Generator) -> Iterator[tuple[str, Callable[[], bool]]]:
    """Yield what else is done to an archive, with whether it is found."""
    for varying in (0.2, 0.4):
        for ratio in (0.7, 0.6, 0.5):

            def drawn(varying: float = varying, ratio: float = ratio) -> bool:
                sheets = narrowed(archive(Made(varying=varying), chance), "I2.1", ratio, chance)
                return any(sign.facts["name"] == "I2.1" for sign in screens.narrow_groups(sheets).signs)

            yield f"an inspector's spread x {ratio}, spread varying {varying:.0%}", drawn
    for share in (0.5, 0.6, 0.7):

        def rounded(share: float = share) -> bool:
            sheets = heaped(archive(Made(), chance), "G1.1", 5, share, chance)
            return any(sign.facts["gauge"] == "G1.1" for sign in screens.heaped_digits(sheets).signs)

        yield f"five reports rounded, {share}", rounded
    for gauge, (digit, spot) in GAUGES.items():
        for n in (8, 10, 12):
            for rule in ("a ramp", "four that come again"):

                def ruled(digit: float = digit, spot: float = spot, n: int = n, rule: str = rule) -> bool:
                    sheets = archive(Made(digit=digit, spot=spot, locations=n // 2), chance)
                    at = int(chance.integers(len(sheets)))
                    sheets[at] = with_values(sheets[at], by_rule(rule, np.array(sheets[at].values)))
                    return any(sign.sheets == (at,) for sign in screens.regular(sheets).signs)

                yield f"{rule}, n = {n}, {gauge}", ruled
    yield (
        "an inspector's repeats avoided, nine in ten",
        lambda: any(
            sign.facts["name"] == "I1.1"
            for sign in screens.repeats_avoided(without_repeats(archive(Made(), chance), "I1.1", chance)).signs
        ),
    )


def by_rule(rule: str, values: np.ndarray) -> np.ndarray:
    """Return readings that a rule makes, about as high and as far apart as those there."""
    n = len(values)
    if rule == "a ramp":
        return np.rint(values.mean()) + max(1, round(3.5 * values.std() / n)) * (np.arange(n) - n // 2)
    return np.resize(values[:4], n)


def weather(days: int, chance: np.random.Generator) -> int:
    """Return how many pairs of simulated days have two rows in common: four a day, tenths of a degree, percents."""
    rows = []
    air, damp = 14.0, 65.0
    for day in range(days):
        air, damp = air + 0.5 * (14 - air) + chance.normal(0, 2.5), damp + 0.5 * (65 - damp) + chance.normal(0, 8)
        for hour in range(4):
            read = air + 1.5 * hour + chance.normal(0, 0.4), damp - 4 * hour + chance.normal(0, 2)
            steel = read[0] + 1 + chance.normal(0, 0.6)
            values = f"{read[0]:.1f}", f"{read[1]:.0f}", f"{steel:.1f}"
            rows.append(screens.Weather(f"{day}", "C", f"{day:05d}", f"{day} {hour}", f"{day:05d}", *values))
    return len(screens.weather_alike(rows).signs)


def nearest_photos(count: int, chance: np.random.Generator) -> float:
    """Return in how many signs the two likest of so many photos of simulated steel differ."""
    looks = [screens.look_of(steel_photo(chance)) for _ in range(count)]
    pictures = [screens.Picture(f"{at}", "C", f"{at}", f"{at:05d}", "A", "", "", look) for at, look in enumerate(looks)]
    apart = [block for _, block in _apart(pictures, range(count))]
    return float(np.sort(np.concatenate(apart), axis=1)[:, 1].min())  # the likest of each is itself


def charts(runs: int, chance: np.random.Generator) -> Iterator[tuple[str, str]]:
    """Yield what the charts of shifts do, over so many runs each."""
    yield "run length without a change, shifts (370)", f"{np.mean([_run_length(chance) for _ in range(runs)]):.0f}"
    alarms = np.mean([bool(shifts.chart(shift_means(50, chance)).alarms) for _ in range(runs)])
    yield "alarms within 100 areas", f"{alarms:.1%}"
    for step in (0.2, 0.3, 0.4):
        for before in (25, 50):
            late = [_areas_to_alarm(before, step, chance) for _ in range(runs // 4)]
            yield f"median areas to an alarm, step {step} mil after {2 * before} areas", f"{np.median(late):.0f}"
    for n in (30, 60):
        seen = np.mean([_trend(shift_means(n, chance, drift=0.4)) for _ in range(runs)])
        false = np.mean([_trend(shift_means(n, chance)) for _ in range(runs)])
        yield f"trend of 0.4 mil over {2 * n} areas", f"{seen:.0%}, without one {false:.1%}"
    for one, other in ((4, 4), (6, 10), (20, 20)):
        inside = np.mean([_covers(shift_means(one, chance), shift_means(other, chance)) for _ in range(2 * runs)])
        yield f"95 % interval of a difference, {one} and {other} shifts", f"covers {inside:.1%}"
    for n in (20, 40, 80):
        means = [chance.normal(size=n) + shifts.step_seen(n) * (np.arange(n) >= n // 2) for _ in range(runs)]
        seen = np.mean([any(at >= n // 2 for at in shifts.chart(list(one)).alarms) for one in means])
        yield f"the step that is said to be seen in half of the cases, {n} shifts", f"seen in {seen:.0%}"


def _run_length(chance: np.random.Generator) -> int:
    level, at = 0.0, 0
    while abs(level) <= shifts.BOUND:
        level, at = level + shifts.WEIGHT * (float(chance.normal()) - level), at + 1
    return at


def _areas_to_alarm(before: int, step: float, chance: np.random.Generator) -> int:
    alarms = shifts.chart(shift_means(before + 80, chance, step=step, after=before)).alarms
    return next((2 * (at - before + 1) for at in alarms if at >= before), 999)


def _trend(means: list[float]) -> bool:
    found = shifts.trend(means)
    return found is not None and found.there


def _covers(one: list[float], other: list[float]) -> bool:
    found = shifts.comparison(one, other)
    return found is not None and found.low <= 0 <= found.high


def main() -> None:
    """Print all of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--archives", type=int, default=200)
    parser.add_argument("--each", type=int, default=20)
    parser.add_argument("--seed", type=int, default=17)
    given = parser.parse_args()
    chance = np.random.default_rng(given.seed)
    began = time.perf_counter()
    for name, count in sorted(honest(given.archives, chance).items()):
        print(f"honest archives with a finding, {name}: {count} of {given.archives}")
    print(f"{(time.perf_counter() - began) / max(1, given.archives):.2f} s an archive of 750 surfaces, with its making")
    print(f"pairs of 925 days with two rows of weather in common: {weather(925, chance)} of {925 * 924 // 2}")
    print(f"signs by which the likest of 400 photos of steel differ: {nearest_photos(400, chance):.0f}", flush=True)
    for how in WAYS:
        counts = []
        for digit, spot in GAUGES.values():
            doing = partial(entered_again, how, Made(digit=digit, spot=spot), chance)
            counts.append(found_of(given.each, doing))
        print(f"{how}: {' '.join(map(str, counts))} of {given.each} at {'; '.join(GAUGES)}", flush=True)
    for name, doing in others(chance):
        print(f"{name}: {found_of(given.each, doing)} of {given.each}", flush=True)
    for name, value in charts(20 * given.each, chance):
        print(f"{name}: {value}", flush=True)


if __name__ == "__main__":
    main()
