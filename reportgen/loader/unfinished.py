"""Areas whose preparation is still to be filled in: everything else written about them stays, and they are on hold.

Without the initial condition, the apparatus, the abrasive or the times of blasting nothing can be said of an area, and
one slip there must not cost what was measured. In the model such an entry is an area not inspected, with an entry not
taken in for each gap; in the file it stays as it is, and counts as soon as the gaps are filled.
"""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, Any, Final

from reportgen.fields import is_placeholder

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.yamlsource import Document

Path = tuple[str, ...]

GAPS: Final[dict[Path, str]] = {
    ("apparatus",): "apparatus", ("initial_condition",): "initial condition", ("blasted", "start"): "start of blasting",
    ("blasted", "end"): "end of blasting", ("blasted", "abrasive"): "abrasive",
}  # fmt: skip
"""Fields without which an entry of an area says nothing yet, and what is to be filled in there."""

_STAND_IN: Final[dict[Path, str]] = {
    ("initial_condition",): "C", ("blasted", "start"): "00:00", ("blasted", "end"): "00:01",
}  # fmt: skip
"""Values with which the shape of the other fields can be looked at; they go no further."""


def gap(path: Path, written: str = "") -> str:
    """Return what stands in a field that is still to be filled in; ``written`` is what could not be taken there.

    >>> gap(("blasted", "end"), "07:3O")
    '<end of blasting, written as 07:3O>'
    """
    said = f", written as {written}" if written and not set("<>") & set(written) else ""
    return f"<{GAPS[path]}{said}>"


def gaps_of(surface: Any) -> Iterator[tuple[Path, str]]:
    """Yield the fields of an entry of an area that are still to be filled in, and what stands there."""
    for path in GAPS:
        value = surface
        for part in path:
            value = value.get(part) if isinstance(value, dict) else None
        if isinstance(value, str) and is_placeholder(value):
            yield path, value


def stood_in(data: dict[str, Any]) -> dict[str, Any]:
    """Return a day with a value in place of each gap, so that the shape of everything else can be looked at."""
    if not any(_unfinished(data)):
        return data
    filled = copy.deepcopy(data)
    for _, surface in _unfinished(filled):
        for path, _ in gaps_of(surface):
            if path in _STAND_IN:
                home = surface if len(path) == 1 else surface[path[0]]
                home[path[-1]] = _STAND_IN[path]
    return filled


def set_aside(document: Document) -> Document:
    """Return a day file without its unfinished entries of areas: each area is listed as not inspected instead.

    Where an area has another entry that is whole, the gaps alone are listed, as not taken in: they hold it.
    """
    found = list(_unfinished(document.data))
    if not found:
        return document
    whole = document.without("surfaces", [index for index, _ in found])
    listed = {_area_of(one) for key in ("surfaces", "not_inspected") for one in whole.data.get(key) or ()}
    for index, surface in found:
        loc, area, gaps = ("surfaces", index), surface["area"], list(gaps_of(surface))
        where = f"line {document.span(loc).line}"
        for path, text in gaps:
            entry = {"area": area, "where": where, "entry": ".".join(path), "written": text}
            whole = whole.with_entry("not_taken", entry, document, loc)
        if area not in listed:
            reason = "still to be filled in: " + ", ".join(GAPS[path] for path, _ in gaps)
            whole = whole.with_entry("not_inspected", {"area": area, "reason": reason}, document, loc)
            listed.add(area)
    return whole


def _unfinished(data: dict[str, Any]) -> Iterator[tuple[int, dict[str, Any]]]:
    surfaces = data.get("surfaces")
    for index, surface in enumerate(surfaces if isinstance(surfaces, list) else ()):
        if isinstance(surface, dict) and isinstance(surface.get("area"), str) and any(gaps_of(surface)):
            yield index, surface


def _area_of(entry: Any) -> Any:
    return entry.get("area") if isinstance(entry, dict) else None
