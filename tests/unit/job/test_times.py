"""Clock times of a shift as instants."""

import datetime as dt

import pytest

from reportgen.errors import RangeError
from reportgen.job import SiteClock

DATE = dt.date(2026, 5, 14)


def _clock(start="06:00", end="18:00", date=DATE, zone="Europe/Oslo"):
    return SiteClock(date, dt.time.fromisoformat(start), dt.time.fromisoformat(end), zone)


def _utc(clock, text):
    return clock.instant(dt.time.fromisoformat(text)).astimezone(dt.UTC).isoformat(timespec="minutes")


def test_a_day_shift_is_all_on_its_date():
    assert _utc(_clock(), "07:30") == "2026-05-14T05:30+00:00"
    assert _utc(_clock(), "23:30") == "2026-05-14T21:30+00:00"


@pytest.mark.parametrize(
    ("text", "day"), [("20:00", 14), ("23:59", 14), ("00:20", 15), ("06:00", 15), ("12:59", 15), ("13:00", 14)]
)
def test_a_night_shift_passes_midnight_and_the_border_lies_in_the_time_off(text, day):
    clock = _clock("20:00", "06:00")
    assert clock.instant(dt.time.fromisoformat(text)).day == day


def test_a_full_instant_is_itself_in_the_zone_of_the_site():
    instant = dt.datetime(2026, 5, 15, 0, 20, tzinfo=dt.UTC)
    assert _clock().instant(instant) == instant
    assert _clock().instant(instant).hour == 2


def test_start_and_end():
    start, end = _clock("20:00", "06:00").shift()
    assert end - start == dt.timedelta(hours=10)


@pytest.mark.parametrize(("date", "what"), [("2026-03-29", "does not exist"), ("2026-10-25", "occurs twice")])
def test_the_hours_of_the_change(date, what):
    clock = _clock("00:00", "10:00", dt.date.fromisoformat(date))
    with pytest.raises(RangeError, match=f"02:30 {what} on {date} in Europe/Oslo"):
        clock.instant(dt.time(2, 30))
    assert clock.instant(dt.time(3, 30)).hour == 3
