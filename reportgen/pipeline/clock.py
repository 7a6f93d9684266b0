"""The only place where the clock is read."""

from __future__ import annotations

import datetime as dt

from reportgen.errors import UsageError


def now() -> dt.datetime:
    """Return the present instant, to the second, in UTC."""
    return dt.datetime.now(dt.UTC).replace(microsecond=0)  # noqa: TID251 - the one place


def parse_instant(text: str) -> dt.datetime:
    """Read an issue time given for a rebuild, such as ``2026-05-14T17:42:00Z``, to the second.

    Raises:
        UsageError: for anything that is not a date and time with an offset.
    """
    try:
        instant = dt.datetime.fromisoformat(text)
    except ValueError:
        instant = None
    if instant is None or instant.tzinfo is None:
        raise UsageError(f"`{text}` is not a time with an offset", help_text="write it like `2026-05-14T17:42:00Z`")
    return instant.astimezone(dt.UTC).replace(microsecond=0)
