"""Local clock times of a shift as instants: shifts past midnight, time zones, the hour that occurs twice or never."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from reportgen.errors import RangeError


@dataclass(frozen=True, slots=True)
class SiteClock:
    """Turns clock times of one report into instants.

    ``start`` and ``end`` are the shift's; when the end is not after the start the shift runs past midnight, and a
    clock time belongs to the next day when it is nearer to the shift that way (the border is half-way through the
    time off).
    """

    date: dt.date
    start: dt.time
    end: dt.time
    zone: str

    def instant(self, clock: dt.time | dt.datetime) -> dt.datetime:
        """Return the aware instant of a clock time, in the site's zone.

        Raises:
            RangeError: when the local time does not exist or occurs twice on that day (change of daylight-saving
                time): the entry must then be written with its date and offset.
        """
        zone = ZoneInfo(self.zone)
        if isinstance(clock, dt.datetime):
            return clock.astimezone(zone)
        day = self.date + dt.timedelta(days=1) if self._next_day(clock) else self.date
        local = dt.datetime.combine(day, clock, zone)
        if local.utcoffset() != local.replace(fold=1).utcoffset():
            what = "occurs twice" if local.astimezone(dt.UTC).astimezone(zone).time() == clock else "does not exist"
            raise RangeError(
                f"{clock:%H:%M} {what} on {day} in {self.zone} (change of daylight-saving time)",
                help_text=f"write it with date and offset, such as `{local.isoformat(timespec='minutes')}`",
            )
        return local

    def shift(self) -> tuple[dt.datetime, dt.datetime]:
        """Return start and end of the shift as instants."""
        return self.instant(self.start), self.instant(self.end)

    def _next_day(self, clock: dt.time) -> bool:
        start, end, at = (time.hour * 60 + time.minute for time in (self.start, self.end, clock))
        if start < end:
            return False
        return at < (start + end) / 2
