"""What came from the site: a part of a day file as plain data, and where each part of it was written."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from operator import itemgetter
from typing import TYPE_CHECKING, Any, Final

from reportgen.intake.entries import NO_READING
from reportgen.yamlsource import Loc, value_at

if TYPE_CHECKING:
    from reportgen.intake.form import SheetIdentity

Reason = tuple[str, str | None]
"""Why a value is not taken, and what to write instead."""

_NUMBER: Final = re.compile(r"\d+")


@dataclass(frozen=True, slots=True)
class Refused:
    """A value that was not taken: where it stands (``page 3, row 5``), field, text as written, why, what to write.

    The field is ``row`` or ``area`` where a whole entry was not taken. ``area`` is the area it is about, where it is
    about one. ``kept`` is whether it goes into the day file as something still to be entered.
    """

    place: str
    name: str
    value: str
    message: str
    help_text: str | None = None
    area: str | None = None
    kept: bool = True


@dataclass(slots=True)
class Incoming:
    """Rows by the fields of a day file, as dict, list and str; what was refused; what is missing, in order.

    ``day`` holds only what was written down: a surface has at least its ``area``. ``places`` says where the parts of
    it were written. ``source`` names the file in messages. ``identity`` is that of a field sheet, None for other
    sources. ``about`` is the area being read.
    """

    source: str
    day: dict[str, Any] = field(default_factory=dict)
    places: dict[Loc, str] = field(default_factory=dict)
    refused: list[Refused] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    identity: SheetIdentity | None = None
    about: str | None = None

    def surface(self, area: str, place: str, apparatus: str | None = None) -> tuple[Loc, dict[str, Any]]:
        """Return the part about an area and where it is, begun at ``place`` when there is none.

        ``apparatus`` is named where the day file has the area more than once.
        """
        surfaces: list[dict[str, Any]] = self.day.setdefault("surfaces", [])
        for index, surface in enumerate(surfaces):
            if surface["area"] == area and apparatus in (None, surface.get("apparatus")):
                return ("surfaces", index), surface
        named = {"area": area} if apparatus is None else {"area": area, "apparatus": apparatus}
        return self.add((), "surfaces", named, place), surfaces[-1]

    def add(self, home: Loc, key: str, entry: dict[str, Any], place: str) -> Loc:
        """Add an entry to the list ``key`` of the block at ``home``; return where it is."""
        entries: list[dict[str, Any]] = value_at(self.day, home).setdefault(key, [])
        entries.append(entry)
        loc = (*home, key, len(entries) - 1)
        self.places[loc] = place
        return loc

    def place_of(self, loc: Loc) -> str:
        """Return where a part was written: its own place, or that of the entry around it."""
        around = (loc[:length] for length in range(len(loc), 0, -1))
        return next((self.places[part] for part in around if part in self.places), self.source)

    def take_out(self, loc: Loc) -> Any:
        """Take a part out and return it; what is left of an entry that says nothing without it goes too."""
        home = value_at(self.day, loc[:-1])
        value = home.pop(loc[-1])
        self.places = {moved: place for part, place in self.places.items() if (moved := _moved(part, loc)) is not None}
        around = loc[:-1]
        if not home or around[-1:] == ("profile",):
            says_nothing = not home or "readings" not in home
        elif around[-2:-1] == ("readings",):
            says_nothing = not home.keys() - NO_READING
        else:
            says_nothing = around[:1] == ("surfaces",) and len(around) == 2 and home.keys() == {"area"}
        if around and says_nothing:
            self.take_out(around)
        return value

    def refuse(self, place: str, name: str, value: str, reason: Reason, *, kept: bool = True) -> None:
        """Note a value that is not taken, of the area being read."""
        self.refused.append(Refused(place, name, value, *reason, self.about, kept))

    def refuse_part(self, loc: Loc, name: str, value: str, reason: Reason, *, kept: bool = True) -> None:
        """Note a value that is not taken, at a place in what came in."""
        entry = value_at(self.day, loc[:2]) if len(loc) > 1 else {}
        self.about = entry.get("area") if isinstance(entry, dict) else None
        self.refuse(self.place_of(loc), name, value, reason, kept=kept)
        self.about = None

    def refused_in_order(self) -> tuple[Refused, ...]:
        """Return what was not taken by page, or by line."""
        numbers = [_NUMBER.search(one.place) for one in self.refused]
        keys = [int(number[0]) if number else 0 for number in numbers]
        return tuple(one for _, one in sorted(zip(keys, self.refused, strict=True), key=itemgetter(0)))


def _moved(part: Loc, gone: Loc) -> Loc | None:
    """Return where a part is when another is gone: entries after it in its list move up; None for what went along."""
    home, last = gone[:-1], gone[-1]
    if part[: len(home)] != home or len(part) < len(gone):
        return part
    at = part[len(home)]
    if at == last:
        return None
    moves = isinstance(at, int) and isinstance(last, int) and at > last
    return (*home, at - 1, *part[len(gone) :]) if moves else part  # type: ignore[operator] # both are indexes
