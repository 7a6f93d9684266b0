"""Slips are doubted and ordinary entries are not, in every unit; the ends of the ranges are ordinary."""

import pint
import pytest

from reportgen.metrology.plausibility import (
    HIGHEST_BLANK,
    HOTTEST_AIR,
    LARGEST_PATCH,
    LARGEST_VOLUME,
    LOWEST_BLAST,
    LOWEST_HUMIDITY,
    SMALLEST_PATCH,
    SMALLEST_VOLUME,
    Doubt,
    air_doubt,
    blank_doubt,
    blast_pressure_doubt,
    cold_air_doubt,
    cold_rows,
    dial_doubt,
    digits_doubt,
    humidity_doubt,
    moved_temperature_doubt,
    neighbour_doubt,
    other_unit_doubt,
    patch_doubt,
    reference_doubt,
    restored_doubt,
    steel_doubt,
    tolerance_doubt,
    volume_doubt,
    warmest_doubt,
    widest_tolerance,
)
from reportgen.units import parse_quantity
from tests.reference.published import published


def entries(kind):
    rows = [row for row in published("plausibility").rows if row["kind"] == kind]
    return pytest.mark.parametrize("row", rows, ids=lambda row: " ".join(row.values()))


def read(row, kind):
    value = parse_quantity(f"{row['value']} {row['unit']}", kind)
    return (value, parse_quantity(row["beside"], kind)) if row["beside"] else (value, None)


def asked(row):
    return row["doubted"] == "yes"


@entries("steel")
def test_steel_far_from_the_air(row):
    steel, air = read(row, "temperature")
    assert (steel_doubt(steel, air) is not None) == asked(row)


@entries("air")
def test_hot_air(row):
    air, _ = read(row, "temperature")
    assert air_doubt(air) == (Doubt("air-hot", air, HOTTEST_AIR) if asked(row) else None)


@entries("warmest")
def test_the_warmest_is_not_colder(row):
    warmest, coldest = read(row, "temperature")
    assert (warmest_doubt(warmest, coldest) is not None) == asked(row)


@entries("moved")
def test_a_temperature_with_its_point_one_place_off(row):
    value, beside = read(row, "temperature")
    assert moved_temperature_doubt(value, [beside]) == (Doubt("point-moved", value, beside) if asked(row) else None)
    assert moved_temperature_doubt(value, []) is None


@entries("patch")
def test_patch_of_another_size(row):
    area, _ = read(row, "area")
    end = SMALLEST_PATCH if area.in_unit("cm2") < 1 else LARGEST_PATCH
    assert patch_doubt(area) == (Doubt("patch-area", area, end) if asked(row) else None)


@entries("volume")
def test_volume_of_another_kit(row):
    volume, _ = read(row, "volume")
    end = SMALLEST_VOLUME if volume.in_unit("ml") < 1 else LARGEST_VOLUME
    assert volume_doubt(volume) == (Doubt("test-volume", volume, end) if asked(row) else None)


@entries("pressure")
def test_air_that_cannot_blast(row):
    pressure, _ = read(row, "pressure")
    assert blast_pressure_doubt(pressure) == (
        Doubt("blast-pressure-low", pressure, LOWEST_BLAST) if asked(row) else None
    )


@entries("humidity")
def test_air_that_is_seldom_so_dry(row):
    humidity, _ = read(row, "share")
    assert humidity_doubt(humidity) == (Doubt("humidity-low", humidity, LOWEST_HUMIDITY) if asked(row) else None)


@entries("blank")
def test_water_that_is_not_pure(row):
    blank, _ = read(row, "conductivity")
    assert blank_doubt(blank) == (Doubt("blank-high", blank, HIGHEST_BLANK) if asked(row) else None)


@entries("digits")
def test_more_digits_than_the_gauge_shows(row):
    reading, step = read(row, "height")
    assert digits_doubt(reading, step) == (Doubt("finer-than-gauge", reading, step) if asked(row) else None)


@pytest.mark.parametrize("row", published("moved-points").rows, ids=lambda row: " ".join(row.values()))
def test_a_point_one_place_off_is_doubted(row):
    beside = [parse_quantity(text, "height") for text in row["beside"].split("|")]
    doubt = neighbour_doubt(parse_quantity(row["value"], "height"), beside)
    assert (None if doubt is None else str(doubt.bound)) == (row["middle"] or None)


@pytest.mark.parametrize(
    ("kind", "reference", "ordinary", "odd"),
    [
        ("share", "75.3 %", "10 %", "10.1 %"), ("temperature", "18 degC", "2 delta_degC", "3.7 delta_degF"),
        ("pressure", "1013 hPa", "20 hPa", "2.1 kPa"), ("conductivity", "100 uS/cm", "1 mS/m", "11 uS/cm"),
        ("conductivity", "100 uS/cm", "10 %", "11 %"),
    ],
)  # fmt: skip
def test_a_tolerance_by_which_a_check_could_hardly_fail(kind, reference, ordinary, odd):
    """Common practice without a source, as the bounds of the module."""
    of = "share" if "%" in ordinary else "temperature difference" if kind == "temperature" else kind
    should = parse_quantity(reference, kind)
    assert tolerance_doubt(parse_quantity(ordinary, of), should) is None
    assert tolerance_doubt(parse_quantity(odd, of), should).kind == "tolerance-wide"
    widest = widest_tolerance(of, should)
    assert (
        parse_quantity(ordinary, of).in_unit(widest.unit) <= widest.exact < parse_quantity(odd, of).in_unit(widest.unit)
    )


def test_what_a_check_showed_is_doubted_where_a_point_one_place_off_explains_it():
    """Our choice, from memory: a value within half and twice its reference is no slip of the point."""
    for shown, reference, asked in (
        ("30 mil", "3.0 mil", True), ("0.3 mil", "3.0 mil", True), ("1.5 mil", "3.0 mil", False),
        ("6.0 mil", "3.0 mil", False), ("0 mil", "3.0 mil", False), ("0.3 mil", "0 mil", False),
    ):  # fmt: skip
        found = reference_doubt(parse_quantity(shown, "height"), parse_quantity(reference, "height"))
        assert (found is not None) is asked, shown


UNITS = pint.UnitRegistry()


def in_fahrenheit(celsius):
    """The temperature as pint converts it."""
    degrees = UNITS.Quantity(celsius, "degC").to("degF").magnitude
    return parse_quantity(f"{round(degrees, 1)} degF", "temperature")


@pytest.mark.parametrize("celsius", [1, 12, 20, 31])
def test_celsius_written_as_fahrenheit(celsius):
    written, meant = parse_quantity(f"{celsius} degF", "temperature"), in_fahrenheit(celsius)
    assert cold_air_doubt(written) is not None
    assert cold_air_doubt(meant) is None
    assert sorted(cold_rows([(written, [written]), (meant, [meant])])) == [0]
    assert other_unit_doubt(written, meant) is not None
    assert other_unit_doubt(meant, meant) is None


@pytest.mark.parametrize(
    ("times", "asked_about"), [("10", True), ("0.1", True), ("8", True), ("5", False), ("16", False)]
)
def test_a_point_one_place_off_and_no_other_ratio(times, asked_about):
    beside = [parse_quantity("3.0 mil", "height")] * 3
    value = parse_quantity(f"{float(times) * 3:g} mil", "height")
    assert (restored_doubt(value, beside) is not None) == asked_about


@pytest.mark.parametrize(
    ("shown", "asked_about"),
    [
        ("-2.0 mil", False),
        ("2.0 mil", True),
        ("20 mil", True),
        ("-0.2 mil", False),
        ("-50.8 um", False),
        ("-1.7 mil", False),
    ],
)
def test_a_dial_is_set_to_minus_the_film(shown, asked_about):
    """The film is 2.0 mil thick (ASTM D4417, method C): the dial shows minus that at rest, or zero with the film in."""
    presets = [parse_quantity("-2.0 mil", "height"), parse_quantity("0 mil", "height")]
    assert (dial_doubt(parse_quantity(shown, "height"), presets) is not None) == asked_about
