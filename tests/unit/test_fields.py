"""Field types: each reads the text of one scalar and refuses everything else with a code and a remedy."""

import datetime as dt
from decimal import Decimal
from pathlib import PurePosixPath
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from reportgen import fields
from reportgen.errors import QuantityError
from reportgen.fields import parse_clock
from reportgen.units import SPELLINGS, Quantity

_PLAIN = "write digits with at most one decimal point, such as `2.4`"


def _read(kind: Any, value: Any) -> Any:
    return TypeAdapter(kind).validate_python(value)


def _refusal(kind: Any, value: Any) -> tuple[str, str, str | None]:
    with pytest.raises(ValidationError) as caught:
        _read(kind, value)
    (error,) = caught.value.errors()
    return error["type"], error["msg"], error["ctx"]["help"]


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        (fields.Text, "  two words ", "two words"),
        (fields.Text, "x" * 60, "x" * 60),
        (fields.Ident, "NT-1.a_b", "NT-1.a_b"),
        (fields.ReportNumber, "T-001.2", "T-001.2"),
        (fields.ReportNumberPattern, "AB-12-###", "AB-12-###"),
        (fields.Date, "2024-02-29", dt.date(2024, 2, 29)),
        (fields.Clock, "00:00", dt.time(0, 0)),
        (fields.Clock, "23:59", dt.time(23, 59)),
        (fields.Count, "1", 1),
        (fields.Rating, "0", 0),
        (fields.Revision, "999", 999),
        (fields.Number, "2.10", Decimal("2.10")),
        (fields.YesNo, "yes", True),
        (fields.YesNo, "true", True),
        (fields.YesNo, "no", False),
        (fields.YesNo, "false", False),
        (fields.RelativePath, "a/b.csv", PurePosixPath("a/b.csv")),
        (fields.Height, "-2.0 mil", Quantity(Decimal("-2.0"), "mil")),
        (fields.Percent, "64 %", Quantity(Decimal(64), "%")),
    ],
)
def test_what_is_read(kind, text, value):
    assert _read(kind, text) == value


def test_an_instant_keeps_its_offset():
    instant = _read(fields.Clock, "2026-05-15T00:20+02:00")
    assert instant == dt.datetime(2026, 5, 15, 0, 20, tzinfo=dt.timezone(dt.timedelta(hours=2)))
    assert parse_clock("2026-05-15 00:20:30Z").second == 30


@pytest.mark.parametrize(
    ("kind", "value", "code", "message", "help_text"),
    [
        (fields.Text, "", "JOB120", "the entry is empty; expected text", None),
        (fields.Text, " ", "JOB120", "the entry is empty; expected text", None),
        (fields.Text, ["a"], "JOB121", "expected text, got a list", None),
        (fields.Date, {"a": "b"}, "JOB121", "expected a date, got a block of fields", None),
        (fields.Text, "x " * 2001, "JOB122", "the text has 4001 characters; at most 4000 fit", "shorten it"),
        (fields.Name, "x " * 61, "JOB122", "the text has 121 characters; at most 120 fit", "shorten it"),
        (fields.Text, "y" * 61, "JOB122", f"the word `{'y' * 20}…` has 61 characters; at most 60 fit", None),
        (fields.Clock, "2026-02-30T00:20Z", "JOB125", "`2026-02-30T00:20Z` is not a day of the calendar", None),
        (fields.Count, "0", "JOB126", "`0` is not a whole number from 1 to 999999", None),
        (fields.Count, "1.0", "JOB126", "`1.0` is not a whole number from 1 to 999999", None),
        (fields.Count, "1e3", "JOB126", "`1e3` is not a whole number from 1 to 999999", None),
        (fields.Count, "٢", "JOB126", "`٢` is not a whole number from 1 to 999999", None),
        (fields.YesNo, "on", "JOB127", "`on` is neither yes nor no", "write `yes` or `no`"),
        (fields.Number, "1e3", "JOB130", "`1e3` is not a number", _PLAIN),
        (fields.AnyQuantity, "2 mil", "JOB130", "`2 mil` cannot be read without a known `kind`", None),
    ],
)  # fmt: skip
def test_what_is_refused(kind, value, code, message, help_text):
    assert _refusal(kind, value) == (code, message, help_text)


@pytest.mark.parametrize("text", ["CON", "NUL.1", "a-1", "T 1", "T-1.", "", "R-1\n2", "-1", "T" * 41, "COM1"])
def test_names_that_cannot_name_a_report(text):
    assert _refusal(fields.ReportNumber, text)[0] in {"JOB120", "JOB123"}


@pytest.mark.parametrize("text", ["T-1", "###", "T-#-#", "T-##########", "t-###", "T" * 40 + "#"])
def test_patterns_of_numbers_that_are_none(text):
    assert _refusal(fields.ReportNumberPattern, text)[0] == "JOB123"


@pytest.mark.parametrize("text", ["20261101", "5", "2024-13-45", "2026-5-14", "14.05.2026", "٢٠٢٦-05-14", "2026-02-29"])
def test_dates_that_are_none(text):
    assert _refusal(fields.Date, text)[0] == "JOB124"


@pytest.mark.parametrize(
    "text", ["6:40", "24:00", "06:60", "0640", "06:40:10", "٠٦:40", "2026-05-15T00:20", "06.40", "390"]
)
def test_times_that_are_none(text):
    assert _refusal(fields.Clock, text)[0] == "JOB125"
    with pytest.raises(QuantityError, match="is not a time"):
        parse_clock(text)


@pytest.mark.parametrize("text", ["/etc/x", "../x", "a/../../x", "a\\b", "C:x", "file:x"])
def test_paths_that_leave(text):
    assert _refusal(fields.RelativePath, text)[0] == "JOB140"


def test_a_path_without_a_name_is_left_to_the_reader_of_files():
    assert _read(fields.RelativePath, ".") == PurePosixPath(".")


NO_QUANTITIES = [
    "nan mil", ".nan", "inf mil", "1e400 mil", "2.2", "mil", "2,2 mil", "2.2mil2", "2.2 Mil", "2 2 mil", "--3 mil",
    "9**9**9 mil", "(1+2) mil", "2.5 ± 0.1 mil", '0.0025"', "−3 mil", "٢ mil", "2.2  mil x", "<2.5 mil", "OL",
    "1_0 mil",
]  # fmt: skip


@pytest.mark.parametrize("text", NO_QUANTITIES)
def test_quantities_that_are_none(text):
    assert _refusal(fields.Height, text)[0] == "JOB130"


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [("2.2 mm", "0.0025 mm", "0.5 mm"), ("999 um", "2.5 µm", "500 µm"), ("0 mil", "0.1 mil", "20 mil")],
)
def test_a_limit_outside_all_profiles_names_the_bounds_in_its_own_unit(text, low, high):
    code, message, help_text = _refusal(fields.ProfileLimit, text)
    assert (code, help_text) == ("JOB131", "check the number and the unit")
    assert message == f"`{text}` is outside anything this field can hold ({low} to {high})"


QUANTITIES = {
    "height": fields.Height, "length": fields.Length, "area": fields.Area, "volume": fields.Volume,
    "temperature": fields.Temperature, "temperature difference": fields.Margin, "share": fields.Percent,
    "time": fields.Duration, "pressure": fields.AirPressure, "areal density": fields.ArealDensity,
    "conductivity": fields.Conductivity,
}  # fmt: skip


def test_every_kind_of_quantity_has_its_field():
    assert set(QUANTITIES) == set(SPELLINGS)


@pytest.mark.parametrize(
    ("kind", "field"), [*QUANTITIES.items(), ("height", fields.ProfileLimit), ("pressure", fields.Pressure)]
)
def test_the_bounds_are_the_same_height_in_every_unit(kind, field):
    """Bounds are round numbers per unit, so that nothing is converted; they must still say nearly the same."""
    ends = {}
    for unit in dict.fromkeys(SPELLINGS[kind].values()):
        with pytest.raises(ValidationError) as caught:
            _read(field, f"-999999999 {unit}")
        message = caught.value.errors()[0]["msg"]
        low, high = message.rpartition("(")[2].rstrip(")").split(" to ")
        ends[unit] = [Quantity(Decimal(text.split(" ", maxsplit=1)[0]), unit) for text in (low, high)]
    first = next(iter(ends))
    for low, high in ends.values():
        for got, wanted in zip((low, high), ends[first], strict=True):
            span = abs(float(ends[first][1].exact)) or 1.0
            assert float(got.in_unit(first)) == pytest.approx(float(wanted.exact), rel=0.06, abs=0.06 * span)
