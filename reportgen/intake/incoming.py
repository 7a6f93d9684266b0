"""What came from the site: a part of a day file as plain data, and where each part of it was written."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from reportgen.layout.sheet import SheetIdentity


@dataclass(frozen=True, slots=True)
class Refused:
    """A value that was not taken: where it stands (``page 3, row 5``), field, text as written, why, what to write."""

    place: str
    name: str
    value: str
    message: str
    help_text: str | None = None


@dataclass(slots=True)
class Incoming:
    """Rows by the fields of a day file, as dict, list and str; what was refused; what is missing, in order.

    ``day`` holds only what was written down: a surface has at least its ``area``. ``source`` names the file in
    messages. ``identity`` is that of a field sheet, None for other sources. ``count`` is the number of values taken.
    """

    source: str
    day: dict[str, Any] = field(default_factory=dict)
    refused: list[Refused] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    identity: SheetIdentity | None = None
    count: int = 0

    def surface(self, area: str) -> dict[str, Any]:
        """Return the part about an area, begun when there is none."""
        surfaces: list[dict[str, Any]] = self.day.setdefault("surfaces", [])
        for surface in surfaces:
            if surface["area"] == area:
                return surface
        surfaces.append({"area": area})
        return surfaces[-1]

    def refuse(self, place: str, name: str, value: str, reason: tuple[str, str | None]) -> None:
        """Note a value that is not taken."""
        self.refused.append(Refused(place, name, value, *reason))
