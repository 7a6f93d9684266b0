"""Doubts: entries that can be true and are mostly slips, of a point, a unit or a column, to be asked before believed.

Nothing here refuses a value or judges steel. The thresholds stand here once, for whoever asks while an entry is taken
in and for whoever finds it in a file.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal

from reportgen.units import Kind, Quantity, kind_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

DoubtKind = Literal[
    "steel-far-from-air", "air-hot", "air-cold", "other-unit",
    "warmest-colder", "point-moved", "patch-area", "test-volume", "blast-pressure-low",
    "unlike-neighbours", "unlike-reference", "finer-than-gauge", "tolerance-wide", "cleaned-small",
    "humidity-low", "blank-high",
]  # fmt: skip

STEEL_FROM_AIR: Final = Quantity(Decimal(20), "delta_degC")
HOTTEST_AIR: Final = Quantity(Decimal(45), "degC")
FREEZING: Final = Quantity(Decimal(32), "degF")
SMALLEST_PATCH: Final = Quantity(Decimal(1), "cm2")
LARGEST_PATCH: Final = Quantity(Decimal(100), "cm2")
SMALLEST_VOLUME: Final = Quantity(Decimal(1), "ml")
LARGEST_VOLUME: Final = Quantity(Decimal(20), "ml")
"""Water in a patch or a sleeve; common practice, no published source."""
SMALLEST_CLEANED: Final = (Quantity(Decimal(225), "cm2"), Quantity(Decimal(15), "cm"))
"""What one location takes, of 15 × 15 cm: less than that is a slip of the unit. Our choice, as its size is."""
LOWEST_HUMIDITY: Final = Quantity(Decimal(15), "%")
"""Air in which steel is blasted is seldom drier; common practice, no published source."""
HIGHEST_BLANK: Final = Quantity(Decimal(5), "uS/cm")
"""Water of grade 3, as ISO 3696 has it, conducts no more (0.5 mS/m at 25 °C); a salt test needs none that is worse."""
LOWEST_BLAST: Final = Quantity(Decimal(100), "kPa")
LEAST_CONDUCTIVITY: Final = Quantity(Decimal(1), "uS/cm")
"""What a tenth of a small conductivity does not go below: the last digit of a meter that shows whole ones; our own."""
WIDEST_TOLERANCES: Final = (
    Quantity(Decimal(10), "%"), Quantity(Decimal(2), "delta_degC"), Quantity(Decimal(2), "kPa"),
)  # fmt: skip
"""How far off an instrument may be in a check on site: of humidity, temperature and pressure; of a conductivity the
first is a share of it. Common practice, no published source."""
MOVED_POINT: Final = 5
"""A point one place off makes ten times or a tenth of a value; of one that lay within half and twice its neighbours'
middle that is at least five times, or at most a fifth, of the middle, where no such value lies itself."""
RESTORED_RATIO: Final = (Fraction(8), Fraction(25, 2))
"""How many times as large, or as small, a value is that equals its neighbours once its point is put back. What varies
by nature, as salts do, or is chosen, as a shim is, honestly differs by five; our own choice, from memory."""
FEWEST_NEIGHBOURS: Final = 2
"""With one neighbour nothing says which of the two is the slip; both are asked about, where they should be alike."""
APART: Final = Quantity(Decimal(10), "delta_degC")
"""Temperatures of a shift that honestly differ by less; nearer ones are not looked at."""
RESTORED: Final = Quantity(Decimal(5), "delta_degC")
"""How near to its neighbours a temperature comes when its point is put back."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is doubted, the value observed and the bound it passes; both carry their unit.

    ``observed`` is the entry itself, for steel its difference from the air; ``bound`` is a threshold of this module,
    for neighbours their middle value, for digits the resolution of the gauge.
    """

    kind: DoubtKind
    observed: Quantity
    bound: Quantity


def steel_doubt(steel: Quantity, air: Quantity) -> Doubt | None:
    """Doubt steel more than 20 °C from the air around it: 85 typed for 8.5, or °F for °C.

    Parameters:
        steel : Quantity [temperature].
        air : Quantity [temperature], at the same place and time.
    Returns:
        Doubt with the difference in delta_degC, its sign kept; None where there is none.
    Valid range: any temperature; steel in strong sun can honestly be further, which is why it is asked.
    Source: doubtful-entries
    Examples:
        >>> found = steel_doubt(Quantity(Decimal(85), "degC"), Quantity(Decimal("13.5"), "degC"))
        >>> found.kind, str(found.bound)
        ('steel-far-from-air', '20 °C')
    """
    difference = steel.in_unit("degC") - air.in_unit("degC")
    if abs(difference) <= STEEL_FROM_AIR.exact:
        return None
    return Doubt("steel-far-from-air", Quantity(difference, "delta_degC"), STEEL_FROM_AIR)


def air_doubt(air: Quantity) -> Doubt | None:
    """Doubt air above 45 °C: 55 read in °F and written as °C.

    Parameters:
        air : Quantity [temperature].
    Returns:
        Doubt, or None.
    Source: doubtful-entries
    Examples:
        >>> air_doubt(Quantity(Decimal(55), "degC")).kind
        'air-hot'
        >>> air_doubt(Quantity(Decimal(55), "degF"))
    """
    return Doubt("air-hot", air, HOTTEST_AIR) if air.in_unit("degC") > HOTTEST_AIR.exact else None


def cold_air_doubt(air: Quantity, lowest: Iterable[Quantity] = ()) -> Doubt | None:
    """Doubt air from 0 to 32 °F: 20 read in °C and written as °F.

    Parameters:
        air : Quantity [temperature], as written.
        lowest : Quantity [temperature], what the contract allows as the lowest of air and steel; one below freezing
            says that there is work in such cold, and then nothing is doubted.
    Returns:
        Doubt, or None; None too for what is written in °C, of which no number of such air is one in °F.
    Source: doubtful-entries
    Examples:
        >>> cold_air_doubt(Quantity(Decimal(20), "degF")).kind
        'air-cold'
        >>> cold_air_doubt(Quantity(Decimal(20), "degF"), [Quantity(Decimal(10), "degF")])
        >>> cold_air_doubt(Quantity(Decimal(-3), "degC"))
    """
    if air.unit != FREEZING.unit or not 0 <= air.exact < FREEZING.exact:
        return None
    winter = any(one.in_unit(FREEZING.unit) < FREEZING.exact for one in lowest)
    return None if winter else Doubt("air-cold", air, FREEZING)


def cold_rows(
    rows: Sequence[tuple[Quantity, Sequence[Quantity]]], lowest: Iterable[Quantity] = ()
) -> dict[int, Doubt]:  # fmt: skip
    """Doubt the air of a day's readings from 0 to 32 °F where nothing else that was read says that it was as cold.

    Parameters:
        rows : Quantity [temperature], the air of each reading, and the steel beside it.
        lowest : as for ``cold_air_doubt``.
    Returns:
        The doubts by the index of the reading; none where some air or steel not so cold is within 10 °C of one of them,
        and further from its number in °C: 36 °F at noon says that it froze at seven.
    Source: doubtful-entries
    Examples:
        >>> degF = lambda text: Quantity(Decimal(text), "degF")
        >>> sorted(cold_rows([(degF("20"), [degF("19")]), (degF("22"), [degF("21")])]))
        [0, 1]
        >>> cold_rows([(degF("28"), [degF("27")]), (degF("36"), [degF("35")])])
        {}
    """
    limits = list(lowest)
    doubts = {at: found for at, (air, _) in enumerate(rows) if (found := cold_air_doubt(air, limits)) is not None}
    others = [one for air, steel in rows for one in (air, *steel) if cold_air_doubt(one) is None]
    return {} if any(_is_as_cold(found.observed, one) for found in doubts.values() for one in others) else doubts


def _is_as_cold(air: Quantity, other: Quantity) -> bool:
    """Whether another temperature says that air was written in its own unit, and not read in °C."""
    apart = abs(other.in_unit("degC") - air.in_unit("degC"))
    return apart <= APART.exact and apart < abs(other.in_unit("degC") - air.exact)


def other_unit_doubt(steel: Quantity, air: Quantity) -> Doubt | None:
    """Doubt steel that its number in the other unit brings to the air beside it: 12 °F for 12 °C, where air has 45 °F.

    Parameters:
        steel : Quantity [temperature], as written.
        air : Quantity [temperature], at the same place and time.
    Returns:
        Doubt with the air as its bound: that is more than 10 °C away, and the number in the other unit less than
        half as far; None else.
    Source: doubtful-entries
    Examples:
        >>> degF = lambda text: Quantity(Decimal(text), "degF")
        >>> other_unit_doubt(degF("12"), degF("45")).kind
        'other-unit'
        >>> other_unit_doubt(degF("50"), degF("72"))
    """
    meant = air.in_unit("degC")
    apart = abs(steel.in_unit("degC") - meant)
    other = Quantity(steel.magnitude, "degC" if steel.unit == "degF" else "degF")
    near = abs(other.in_unit("degC") - meant) * 2 < apart
    return Doubt("other-unit", steel, air) if near and apart > APART.exact else None


def warmest_doubt(warmest: Quantity, coldest: Quantity) -> Doubt | None:
    """Doubt a warmest steel that is colder than the coldest: two columns exchanged.

    Parameters:
        warmest : Quantity [temperature].
        coldest : Quantity [temperature], of the same reading.
    Returns:
        Doubt with the coldest as its bound, or None.
    Source: doubtful-entries
    Examples:
        >>> warmest_doubt(Quantity(Decimal(15), "degC"), Quantity(Decimal(19), "degC")).kind
        'warmest-colder'
        >>> warmest_doubt(Quantity(Decimal(66), "degF"), Quantity(Decimal(18), "degC"))
    """
    colder = warmest.in_unit("degC") < coldest.in_unit("degC")
    return Doubt("warmest-colder", warmest, coldest) if colder else None


def moved_temperature_doubt(value: Quantity, neighbours: Iterable[Quantity]) -> Doubt | None:
    """Doubt a temperature that a point one place off brings to its neighbours: 1.6 for 16 beside 15.

    Parameters:
        value : Quantity [temperature], as written: the point is moved in °C and in °F, so that no conversion of a log
            changes what is asked.
        neighbours : Quantity [temperature], of the same place and shift; the other values, without ``value``.
    Returns:
        Doubt with the neighbours' middle value as its bound: that is more than 10 °C away, and within 5 °C of ten times
        the value or of a tenth of it; None else, and without neighbours. Of an even number the middle nearer to the
        value is taken.
    Valid range: temperatures of the air and of steel outdoors; nearer slips, such as 0.9 for 9, are not noticed.
    Source: doubtful-entries
    Examples:
        >>> degC = lambda text: Quantity(Decimal(text), "degC")
        >>> moved_temperature_doubt(degC("1.6"), [degC("15")]).kind
        'point-moved'
        >>> moved_temperature_doubt(Quantity(Decimal("34.88"), "degF"), [degC("15")]).kind
        'point-moved'
        >>> moved_temperature_doubt(degC("6"), [degC("15")])
    """
    ordered = sorted(neighbours, key=lambda one: one.in_unit("degC"))
    if not ordered:
        return None
    written = value.in_unit("degC")
    middles = (ordered[(len(ordered) - 1) // 2], ordered[len(ordered) // 2])
    middle = min(middles, key=lambda one: abs(one.in_unit("degC") - written))
    meant = middle.in_unit("degC")
    scales = (("degC", written), ("degF", value.in_unit("degF")))
    moved = ((number, unit) for unit, own in scales for number in (own * 10, own / 10))
    restored = [Quantity(number, unit).in_unit("degC") for number, unit in moved]
    near = any(abs(one - meant) <= RESTORED.exact for one in restored)
    return Doubt("point-moved", value, middle) if near and abs(written - meant) > APART.exact else None


def patch_doubt(area: Quantity) -> Doubt | None:
    """Doubt an area of extraction of a salt test outside 1 to 100 cm2: a wrong unit, or a point lost.

    Parameters:
        area : Quantity [area], of the steel under the patch.
    Returns:
        Doubt with the end of the range that is passed, or None; both ends belong to the range.
    Valid range: any area.
    Source: doubtful-entries
    Examples:
        >>> str(patch_doubt(Quantity(Decimal("12.25"), "m2")).bound)
        '100 cm²'
        >>> patch_doubt(Quantity(Decimal("12.25"), "cm2"))
    """
    return _outside("patch-area", area, SMALLEST_PATCH, LARGEST_PATCH)


def volume_doubt(volume: Quantity) -> Doubt | None:
    """Doubt a volume of water of a salt test outside 1 to 20 ml: a point one place off, or a wrong unit.

    Parameters:
        volume : Quantity [volume], of the water in the patch or the sleeve.
    Returns:
        Doubt with the end of the range that is passed, or None; both ends belong to the range.
    Valid range: any volume; a swab rinsed in more is confirmed.
    Source: doubtful-entries
    Examples:
        >>> str(volume_doubt(Quantity(Decimal("0.3"), "ml")).bound)
        '1 ml'
        >>> volume_doubt(Quantity(Decimal(3), "ml"))
    """
    return _outside("test-volume", volume, SMALLEST_VOLUME, LARGEST_VOLUME)


def humidity_doubt(humidity: Quantity) -> Doubt | None:
    """Doubt a relative humidity below 15 %: a point one place off, or a digit that was lost.

    Parameters:
        humidity : Quantity [share], relative, of the air where steel is blasted.
    Returns:
        Doubt with the lowest that is usual, or None; it belongs to the range.
    Valid range: any humidity; drier air, as in winter under a heated cover, is confirmed.
    Source: doubtful-entries
    Examples:
        >>> str(humidity_doubt(Quantity(Decimal(9), "%")).bound)
        '15 %'
        >>> humidity_doubt(Quantity(Decimal(15), "%"))
    """
    low = humidity.in_unit(LOWEST_HUMIDITY.unit) < LOWEST_HUMIDITY.exact
    return Doubt("humidity-low", humidity, LOWEST_HUMIDITY) if low else None


def blank_doubt(blank: Quantity) -> Doubt | None:
    """Doubt a blank of a salt test above 5 µS/cm: its water is not pure enough, or a point is one place off.

    What the water brings along is taken from the sample: a blank that is read too high hides salt.

    Parameters:
        blank : Quantity [conductivity], of the water before it touched the steel.
    Returns:
        Doubt with the highest that is usual, or None; it belongs to the range.
    Valid range: any conductivity; worse water that was used is confirmed.
    Source: doubtful-entries
    Examples:
        >>> str(blank_doubt(Quantity(Decimal(19), "uS/cm")).bound)
        '5 µS/cm'
        >>> blank_doubt(Quantity(Decimal(5), "uS/cm"))
    """
    high = blank.in_unit(HIGHEST_BLANK.unit) > HIGHEST_BLANK.exact
    return Doubt("blank-high", blank, HIGHEST_BLANK) if high else None


def _outside(kind: DoubtKind, value: Quantity, smallest: Quantity, largest: Quantity) -> Doubt | None:
    """Doubt a value outside a range, whose ends are in one unit and belong to it."""
    size = value.in_unit(smallest.unit)
    if size < smallest.exact:
        return Doubt(kind, value, smallest)
    return Doubt(kind, value, largest) if size > largest.exact else None


def blast_pressure_doubt(pressure: Quantity) -> Doubt | None:
    """Doubt compressed air below 100 kPa, at the nozzle or the compressor: 7 bar written as 7 kPa.

    Parameters:
        pressure : Quantity [pressure], above the surroundings.
    Returns:
        Doubt, or None.
    Valid range: compressed air for blasting, not the pressure of the weather.
    Source: doubtful-entries
    Examples:
        >>> blast_pressure_doubt(Quantity(Decimal(7), "kPa")).kind
        'blast-pressure-low'
        >>> blast_pressure_doubt(Quantity(Decimal(7), "bar"))
    """
    return Doubt("blast-pressure-low", pressure, LOWEST_BLAST) if pressure.in_unit("kPa") < LOWEST_BLAST.exact else None


def tolerance_doubt(tolerance: Quantity, reference: Quantity) -> Doubt | None:
    """Doubt a tolerance of a check on site so wide that the check could hardly fail: 30 % of humidity for 3 %.

    Parameters:
        tolerance : Quantity, how far off the instrument may be; a share of a conductivity is one of the reference.
        reference : Quantity, what it should show.
    Returns:
        Doubt with the widest usual tolerance, or None.
    Valid range: hygrometers, thermometers, barometers and conductivity meters on site.
    Source: doubtful-entries
    Examples:
        >>> percent = lambda text: Quantity(Decimal(text), "%")
        >>> tolerance_doubt(percent("30"), percent("75.3")).kind
        'tolerance-wide'
        >>> tolerance_doubt(percent("3"), percent("75.3"))
        >>> str(tolerance_doubt(Quantity(Decimal(20), "uS/cm"), Quantity(Decimal(100), "uS/cm")).bound)
        '10 µS/cm'
    """
    bound = widest_tolerance(kind_of(tolerance.unit), reference)
    return Doubt("tolerance-wide", tolerance, bound) if tolerance.in_unit(bound.unit) > bound.exact else None


def widest_tolerance(kind: Kind, reference: Quantity) -> Quantity:
    """The widest usual tolerance of a check on site, of the kind of quantity in which that is stated.

    Parameters:
        kind : str, `share`, `temperature difference`, `pressure`, or `conductivity` for a share of the reference.
        reference : Quantity, what the instrument should show.
    Returns:
        Quantity
    Valid range: hygrometers, thermometers, barometers and conductivity meters on site.
    Source: doubtful-entries
    Examples:
        >>> str(widest_tolerance("temperature difference", Quantity(Decimal(18), "degC")))
        '2 °C'
        >>> str(widest_tolerance("conductivity", Quantity(Decimal(2), "uS/cm")))
        '1 µS/cm'
    """
    if kind != "conductivity":
        return next(one for one in WIDEST_TOLERANCES if kind_of(one.unit) == kind)
    share = Quantity(abs(reference.exact) * WIDEST_TOLERANCES[0].in_unit("%") / 100, reference.unit)
    return max(share, LEAST_CONDUCTIVITY.to(reference.unit), key=lambda one: one.exact)


def neighbour_doubt(
    value: Quantity, neighbours: Iterable[Quantity], *, fewest: int = FEWEST_NEIGHBOURS
) -> Doubt | None:  # fmt: skip
    """Doubt a value that its neighbours say has its point one place off: 24 among 2.4, 2.5 and 2.6.

    Parameters:
        value : Quantity of a ratio scale, such as a reading or a conductivity; never a temperature.
        neighbours : Quantity of the same kind; the other values of the same series, without ``value``.
        fewest : 1 or more; fewer neighbours say nothing.
    Returns:
        Doubt with the neighbours' middle value in the unit of ``value``; None with too few neighbours, or where
        the value is less than five times and more than a fifth of it. Of an even number of neighbours the middle
        nearer to the value is taken, so that a slip among two does not cast doubt on the third.
    Raises:
        QuantityError: a neighbour of another kind.
    Valid range: neighbours that honestly lie within half and twice their middle.
    Source: doubtful-entries
    Examples:
        >>> mil = lambda text: Quantity(Decimal(text), "mil")
        >>> str(neighbour_doubt(mil("24"), map(mil, ("2.4", "2.5", "2.6"))).bound)
        '2.5 mil'
        >>> neighbour_doubt(mil("4.8"), map(mil, ("2.4", "2.5", "2.6")))
    """
    ordered = sorted((one.to(value.unit) for one in neighbours), key=lambda one: one.exact)
    if len(ordered) < fewest:
        return None
    lower, upper = ordered[(len(ordered) - 1) // 2], ordered[len(ordered) // 2]
    if value.exact >= MOVED_POINT * upper.exact > 0:
        return Doubt("unlike-neighbours", value, upper)
    if lower.exact > 0 and MOVED_POINT * value.exact <= lower.exact:
        return Doubt("unlike-neighbours", value, lower)
    return None


def restored_doubt(
    value: Quantity, neighbours: Iterable[Quantity], *, fewest: int = FEWEST_NEIGHBOURS
) -> Doubt | None:  # fmt: skip
    """Doubt a value that its neighbours equal once its point is put back: a shim of 30 mil among those of 3.0 mil.

    Parameters:
        value : Quantity of a ratio scale, as for ``neighbour_doubt``.
        neighbours : Quantity of the same kind; the other values of the same series, without ``value``.
        fewest : 1 or more; fewer neighbours say nothing.
    Returns:
        The doubt of ``neighbour_doubt`` where the value is 8 to 12.5 times its bound, or as much smaller; None else.
    Raises:
        QuantityError: a neighbour of another kind.
    Valid range: what varies by nature or is chosen: salts of one surface, patches and volumes of kits, shims.
    Source: doubtful-entries
    Examples:
        >>> mil = lambda text: Quantity(Decimal(text), "mil")
        >>> str(restored_doubt(mil("30"), [mil("3.0"), mil("3.0")]).bound)
        '3.0 mil'
        >>> restored_doubt(mil("5.0"), [mil("1.0"), mil("1.0")])
    """
    found = neighbour_doubt(value, neighbours, fewest=fewest)
    if found is None or not value.exact:
        return None
    smaller, larger = sorted((value.exact, found.bound.exact))
    least, most = RESTORED_RATIO
    return found if least * smaller <= larger <= most * smaller else None


def reference_doubt(shown: Quantity, reference: Quantity) -> Doubt | None:
    """Doubt what an instrument showed in a check on a reference where the point may be one place off: 30 on 3.0.

    Parameters:
        shown : Quantity, as written.
        reference : Quantity of the same kind, what it should show; temperatures too.
    Returns:
        Doubt with the reference as its bound; None where the two are nearer, or one of them is zero.
    Valid range: shims, unused tape, salt solutions, standards of conductivity, thermometers; a zero has no point.
    Source: doubtful-entries
    Examples:
        >>> reference_doubt(Quantity(Decimal(30), "mil"), Quantity(Decimal("3.0"), "mil")).kind
        'unlike-reference'
        >>> reference_doubt(Quantity(Decimal("1.82"), "degC"), Quantity(Decimal("18.0"), "degC")).kind
        'unlike-reference'
        >>> reference_doubt(Quantity(Decimal("3.3"), "mil"), Quantity(Decimal("3.0"), "mil"))
    """
    if kind_of(reference.unit) == "temperature":
        found = moved_temperature_doubt(shown, [reference])
    else:
        found = neighbour_doubt(shown, [reference], fewest=1)
    return None if found is None or not shown.exact else Doubt("unlike-reference", shown, reference)


def dial_doubt(shown: Quantity, presets: Iterable[Quantity]) -> Doubt | None:
    """Doubt a pre-set that is none, and is one with its point one place off, its sign lost or in the gauge's unit.

    Parameters:
        shown : Quantity [height], what the dial showed at rest, as written.
        presets : Quantity [height], what it should show, all in the gauge's unit; zero where the film is included.
    Returns:
        Doubt with the pre-set that was meant as its bound; None within half the film of one of them, as a dial that has
        drifted may be, and where nothing of that kind explains the value within a tenth of the pre-set.
    Valid range: dials that are set to minus the film, or to what a dial without minus shows for it.
    Source: doubtful-entries
    Examples:
        >>> mil = lambda text: Quantity(Decimal(text), "mil")
        >>> str(dial_doubt(mil("20"), [mil("-2.0"), mil("8.0")]).bound)
        '-2.0 mil'
        >>> dial_doubt(mil("-2.3"), [mil("-2.0"), mil("8.0")])
        >>> dial_doubt(mil("0.2"), [mil("0"), mil("-2.0")])
    """
    known = list(presets)
    meant = [one for one in known if one.exact]
    if not meant:
        return None
    unit = meant[0].unit
    film = min(abs(one.exact) for one in meant)
    if any(abs(shown.in_unit(unit) - one.exact) * 2 <= film for one in known):
        return None
    own = shown.in_unit(unit)
    moved = [own, own * 10, own / 10, shown.exact]
    for one in sorted(meant, key=lambda each: abs(each.exact)):
        if any(abs(abs(number) - abs(one.exact)) * 10 <= abs(one.exact) for number in moved):
            return Doubt("unlike-reference", shown, one)
    return None


def digits_doubt(reading: Quantity, resolution: Quantity) -> Doubt | None:
    """Doubt a reading with more digits than its gauge shows: 2.45 off a gauge that shows tenths.

    Parameters:
        reading : Quantity [height], as written down, before any film is taken off.
        resolution : Quantity [height], the step of the gauge.
    Returns:
        Doubt, or None; None too where the resolution is stated in another unit than the reading, which says nothing
        about digits.
    Valid range: a reading that is one the gauge showed, not a mean.
    Source: doubtful-entries
    Examples:
        >>> step = Quantity(Decimal("0.1"), "mil")
        >>> digits_doubt(Quantity(Decimal("2.45"), "mil"), step).kind
        'finer-than-gauge'
        >>> digits_doubt(Quantity(Decimal("2.4"), "mil"), step)
    """
    if reading.unit != resolution.unit or resolution.exact <= 0:
        return None
    shown = reading.places <= resolution.places and (reading.exact / resolution.exact).denominator == 1
    return None if shown else Doubt("finer-than-gauge", reading, resolution)
