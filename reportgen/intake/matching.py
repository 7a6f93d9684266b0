"""Which entry of the day file an entry that came in is about: the same one, to be completed, or a further one.

Most entries are named by their fields. An area may be there more than once: it is blasted again by each apparatus and
in each period, and what was measured of one must not come to stand with another.
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from reportgen.errors import QuantityError, RangeError
from reportgen.intake.entries import NAMED_BY, NO_READING, named, needed_names
from reportgen.job import parse_clock
from reportgen.job.places import folded
from reportgen.readings.rows import grade_written

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from reportgen.job import SiteClock

    Entry = Mapping[str, Any]


def matches(
    key: str, present: Sequence[dict[str, Any]], came: Sequence[dict[str, Any]], clock: SiteClock
) -> list[dict[str, Any] | None]:
    """Return of each entry that came in for the list ``key`` which one of ``present`` it is; None for a new one."""
    if key == "surfaces":
        return [_surface(present, entry, clock) for entry in came]
    there = {named(key, entry): entry for entry in present}
    found = [there.get(named(key, entry)) for entry in came]
    if needed_names(key) != NAMED_BY.get(key, ()):
        return [_same_test(present, entry) if one is None else one for one, entry in zip(found, came, strict=True)]
    return found


def _same_test(present: Sequence[dict[str, Any]], came: Entry) -> dict[str, Any] | None:
    """Return the same test with a time that only one of the two states: its values are those that came in."""
    alike = [
        one
        for one in present
        if ("time" in one) != ("time" in came)
        and all(same_value(one.get(name), came.get(name)) for name in (one.keys() | came.keys()) - {"time"})
    ]
    return alike[0] if len(alike) == 1 else None


def _surface(present: Sequence[dict[str, Any]], came: Entry, clock: SiteClock) -> dict[str, Any] | None:
    """Return the same area, blasted by the same apparatus at the same time, as far as either says so.

    One that came in with another apparatus or another time, but with the readings that are there, is the same one too:
    it was corrected.
    """
    agreeing, corrected = [], []
    for one in present:
        apparatus = {folded(str(entry["apparatus"])) for entry in (one, came) if "apparatus" in entry}
        first, second = _period(one, clock), _period(came, clock)
        same_period = first is None or second is None or (first[0] < second[1] and second[0] < first[1])
        # in how many of the two do they agree
        agree = (len(apparatus) < 2) + same_period if one.get("area") == came.get("area") else 0
        if agree == 2:
            agreeing.append(one)
        elif agree == 1 and _has_its_readings(one, came):
            corrected.append(one)
    found = agreeing or corrected
    return found[0] if len(found) == 1 else None


def _period(surface: Entry, clock: SiteClock) -> tuple[dt.datetime, dt.datetime] | None:
    """Return start and end of the blasting; None where they say nothing."""
    try:
        blasted = surface["blasted"]
        start, end = (clock.instant(parse_clock(blasted[name])) for name in ("start", "end"))
    except (KeyError, TypeError, QuantityError, RangeError):
        return None
    return start, end


def _has_its_readings(one: Entry, came: Entry) -> bool:
    """Whether spots of one were measured as those of the other, and none otherwise."""
    there = {named("readings", row): row for row in _rows(one)}
    pairs = [(there[named("readings", row)], row) for row in _rows(came) if named("readings", row) in there]
    return any(not set(a) & set(b) <= NO_READING for a, b in pairs) and not any(differ(a, b) for a, b in pairs)


def _rows(surface: Entry) -> Sequence[Entry]:
    rows = surface.get("profile", {}).get("readings", ())
    return rows if isinstance(rows, list) else ()  # of a CSV file nothing is known here


def differ(present: Entry, came: Entry) -> bool:
    """Whether a spot has another reading on a roll than the one that came in."""
    return any(not same_value(present[name], came[name]) for name in (present.keys() & came.keys()) - NO_READING)


def measured_otherwise(present: Entry, came: Entry) -> bool:
    """Whether readings of a spot came in that are not those there, with some that are not there at all.

    Together they would be a pair that nobody measured.
    """
    return differ(present, came) and bool(came.keys() - present.keys() - NO_READING)


def left_beside(present: Entry, came: Entry) -> list[str]:
    """Return the rolls whose readings would stay in a spot beside others that come in their neighbours' place.

    One reading of a pair measured again makes no pair with the other: both are of one replica each, taken together.
    """
    return [name for name in present if name not in NO_READING | came.keys()] if differ(present, came) else []


def same_value(present: Any, came: Any) -> bool:
    """Whether two values say the same: text by text, equal numbers with one unit, or one grade of a comparator."""
    if present == came:
        return True
    if not (isinstance(present, str) and isinstance(came, str)):
        return False
    if (grade := grade_written(came)) is not None:
        return grade == grade_written(present)
    (left, _, left_unit), (right, _, right_unit) = (text.strip().partition(" ") for text in (present, came))
    try:
        return Decimal(left) == Decimal(right) and left_unit.strip() == right_unit.strip()
    except InvalidOperation:
        return False
