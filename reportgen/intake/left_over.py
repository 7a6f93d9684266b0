"""What was written on site and could not be taken in, kept in the day file as it was written.

It may be the reading that fails: said once on a screen it would be lost, and the next check would release the area. In
the day file it is an entry of its own, not a comment: the loader reads it, a copy of the file carries it along, and
only whoever deletes the entry makes it go.
"""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

from reportgen.fields import TEXT_LIMIT, WORD_LIMIT
from reportgen.loader.unfinished import gap, gaps_of
from reportgen.yamlsource import HIDDEN

if TYPE_CHECKING:
    from collections.abc import Collection

    from reportgen.intake.incoming import Incoming, Refused
    from reportgen.yamlsource import DayText

KEY: Final = "not_taken"
_SHORT: Final = 40
"""Characters of what fits a field beside what is to be filled in there."""
_LONG_WORD: Final = re.compile(rf"(\S{{{WORD_LIMIT}}})(?=\S)")


def keep(text: DayText, incoming: Incoming, areas: Collection[str]) -> None:
    """Add what was refused to the list ``not_taken`` of a day file; what stands there already is not added again.

    ``areas`` are those of the contract: what names another may be about any of them.

    Raises:
        UsageError: the day file is written in a way that cannot be added to; then nothing may be taken in.
    """
    source = PurePath(incoming.source).name
    present = text.data.get(KEY) or []
    new: list[dict[str, Any]] = []
    for one in incoming.refused_in_order():
        said = {
            "area": one.area if one.area in areas else None,
            "where": f"{source}, {one.place}", "entry": one.name, "written": one.value, "reason": one.message,
        }  # fmt: skip
        entry = {name: plain for name, words in said.items() if words and (plain := fitting(words))}
        if one.kept and entry not in [*present, *new] and not _stands_in_its_gap(one, text.data):
            new.append(entry)
    if new and KEY in text.data:
        text.add_items((KEY,), new)
    elif new:
        text.add_field((), KEY, new)


def _stands_in_its_gap(one: Refused, day: dict[str, Any]) -> bool:
    """Whether what was refused stands in the field of its area that is still to be filled in."""
    surfaces = (surface for surface in day.get("surfaces") or () if surface.get("area") == one.area)
    gaps = (found for surface in surfaces for found in gaps_of(surface))
    told = ((path, text) for path, text in gaps if text != gap(path))
    return any(one.name == ".".join(path) and text == gap_for(path, one.value) for path, text in told)


def gap_for(path: tuple[str, ...], written: str) -> str:
    """Return what stands in a field that is still to be filled in, with what was written there."""
    return gap(path, fitting(written) if len(written) <= _SHORT else "")


def fitting(text: str) -> str:
    """Return a text as a day file can hold it: odd characters by their number, long words parted, an end cut off."""
    visible = HIDDEN.sub(lambda found: f"U+{ord(found[0]):04X}", " ".join(text.split()))
    parted = _LONG_WORD.sub(r"\1 ", visible)
    return parted if len(parted) <= TEXT_LIMIT else f"{parted[: TEXT_LIMIT - 2]} …"
