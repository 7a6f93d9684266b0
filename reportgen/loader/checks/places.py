"""A reading of the conditions is taken where areas of the contract are, and lists only areas that are there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import closest
from reportgen.job import Places

if TYPE_CHECKING:
    from reportgen.loader.sheets import Sheets

_LISTED: Final = 8
_BIND: Final = "state `place:` of the structure or area that is there, or list the `areas:` it covers"


def check_places(sheets: Sheets) -> None:
    """Refuse each place where no area is, once, and an area that a reading lists although it is elsewhere."""
    readings = sheets.day.conditions
    places = Places(sheets.project.structures, readings)
    unknown = dict.fromkeys(one.place for one in readings if one.place is not None and places.unknown(one))
    for name in unknown:
        index = next(index for index, one in enumerate(readings) if one.place == name)
        meant = closest(name, places.known)
        help_text = f"did you mean `{meant}`?" if meant else f"{_named(sheets, places)}; {_BIND}"
        sheets.refuse(("conditions", index, "place"), "JOB209", f"no area is at `{name}`", help_text)
    for index, reading in enumerate(readings):
        for area in places.elsewhere(reading):
            message = f"area `{area}` is not at `{reading.place}`"
            loc = ("conditions", index, "areas", reading.areas.index(area))
            sheets.refuse(loc, "JOB218", message, "leave out what is not covered, or correct the place")


def _named(sheets: Sheets, places: Places) -> str:
    """Name the places that are stated, or the structures where none is."""
    known = places.stated or [structure.name for structure in sheets.project.structures]
    listed = ", ".join(f"`{name}`" for name in known[:_LISTED])
    return f"known are {listed}" + (", …" if len(known) > _LISTED else "")
