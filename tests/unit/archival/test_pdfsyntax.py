"""Forms of PDF syntax."""

from __future__ import annotations

from datetime import datetime

import pytest

from reportgen.archival.pdfsyntax import date, name, stream, string


@pytest.mark.parametrize(
    ("text", "expected"),
    [("Source", b"/Source"), ("application/yaml", b"/application#2Fyaml"), ("a b(µ)#", b"/a#20b#28#C2#B5#29#23")],
)
def test_names(text, expected):
    assert name(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [("a(b)\\", rb"(a\(b\)\\)"), ("µ", b"<FEFF00B5>"), ("", b"()"), ("a\n", b"<FEFF0061000A>")],
)
def test_strings(text, expected):
    assert string(text) == expected


@pytest.mark.parametrize(
    ("moment", "expected"),
    [
        ("2026-05-14T16:30:00+02:00", b"(D:20260514163000+02'00')"),
        ("2026-01-01T00:00:59.999999+00:00", b"(D:20260101000059+00'00')"),
        ("2026-01-01T00:00:00-03:30", b"(D:20260101000000-03'30')"),
        ("2026-01-01T00:00:00+12:45", b"(D:20260101000000+12'45')"),
    ],
)
def test_dates(moment, expected):
    assert date(datetime.fromisoformat(moment)) == expected


def test_dates_need_an_offset():
    with pytest.raises(ValueError, match="a time without its offset from UTC: 2026-05-14 16:30:00"):
        date(datetime.fromisoformat("2026-05-14T16:30:00"))


def test_streams():
    assert stream(b"/Type/X", b"ab\n") == b"<</Type/X/Length 3>>\nstream\nab\n\nendstream"
