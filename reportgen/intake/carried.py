"""What the entry of an area before says that this one does not say yet: offered, derived each time, written by a press.

Never a reading, a blank, a time, a rating, staining or a grade: what was found there was found there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.intake.changes import Address, Change, content_at, located
from reportgen.job import is_placeholder
from reportgen.job.places import folded

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

PartCarried = Literal["blasting", "condition", "profile", "salts"]

_FIELDS: Final[Mapping[PartCarried, tuple[str, ...]]] = {
    "blasting": (
        "apparatus", "blasted/abrasive", "blasted/nozzle", "blasted/pressure", "blasted/distance", "blasted/angle",
    ),
    "condition": ("initial_condition",),
    "profile": ("profile/gauge", "profile/film"),
    "salts": ("salts/area", "salts/volume", "salts/instrument"),
}  # fmt: skip
"""What is carried, by part: a part is confirmed by one press."""


@dataclass(frozen=True, slots=True)
class Carried:
    """One part that is carried over, to be confirmed by one press.

    ``origin`` is the area it was written for; ``values`` maps fields of the surface, such as ``blasted/abrasive``, to
    text as written there. ``changes`` write it; it is empty for ``salts``, which belong to a test that is still to be
    made: its values fill the new entry.
    """

    part: PartCarried
    origin: str
    values: Mapping[str, str]
    changes: tuple[Change, ...]


def carried(data: Mapping[str, Any], surface: Address, *, apparatus: str | None = None) -> tuple[Carried, ...]:
    """Return what may be carried to a surface from the entry before it on the same apparatus, part by part.

    ``data`` is a day file as plain data. The apparatus is that of the surface where it says one, else ``apparatus``,
    else that of the entry before. A part is offered only with what the surface does not say yet. Whether the film is
    in a reading depends on the gauge: both are carried together, or not at all.
    """
    own = content_at(data, surface)
    before = _before(data, surface, _text(own, "apparatus") or apparatus)
    if before is None:
        return ()
    return tuple(_offered(data, surface, own, before))


def _offered(data: Mapping[str, Any], surface: Address, own: Any, before: Mapping[str, Any]) -> Iterator[Carried]:
    """Yield the parts that the entry before says and the surface does not."""
    for part, fields in _FIELDS.items():
        said = None if part == "salts" else own  # a further test has its own
        texts = {name: _text(before, name) for name in fields if _text(said, name) is None}
        values = {name: text for name, text in texts.items() if text is not None}
        if values and (part != "profile" or "profile/gauge" in values):
            yield Carried(part, str(before["area"]), values, _changes(data, surface, values) if part != "salts" else ())


def _changes(data: Mapping[str, Any], surface: Address, values: Mapping[str, str]) -> tuple[Change, ...]:
    places = {name: Address((*surface.steps, *name.split("/"))) for name in values}
    return tuple(Change(at, content_at(data, at), values[name]) for name, at in places.items())


def _before(data: Mapping[str, Any], surface: Address, apparatus: str | None) -> dict[str, Any] | None:
    """Return the last entry before a surface, on an apparatus where one is named."""
    entries = data.get("surfaces")
    loc = located(data, surface)
    listed: Sequence[Any] = entries if isinstance(entries, list) else ()
    before = listed[: loc[1]] if loc is not None and isinstance(loc[1], int) else listed
    for entry in reversed(before):
        same = apparatus is None or folded(_text(entry, "apparatus") or "") == folded(apparatus)
        if _text(entry, "area") is not None and same:
            return dict(entry)
    return None


def _text(entry: Any, name: str) -> str | None:
    """Return what an entry says in a field; of a list of tests the last one is asked. A placeholder says nothing."""
    for part in name.split("/"):
        entry = entry[-1] if isinstance(entry, list) and entry else entry
        entry = entry.get(part) if isinstance(entry, dict) else None
    return entry if isinstance(entry, str) and entry.strip() and not is_placeholder(entry) else None
