"""What is also recorded, in few rows: of the day beside the equipment, of an area in its section."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.pdf.blocks import SECTION_HEIGHT, Facts, SectionTitle
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.rules.also_recorded import also_recorded

if TYPE_CHECKING:
    from reportgen.job import Instrument, TapeRoll
    from reportgen.report.context import Context

_ROOM = 90.0
_COLUMNS = 3


def recorded_blocks(context: Context, area: str | None) -> list[Flowable]:
    """The facts recorded of an area, or of the day; what is the same at several places stands once."""
    words, said = context.words, context.said
    texts: dict[tuple[str, str], list[str]] = {}
    whole = next((each.cleaned for each in context.evaluation.areas if each.id == area), None)
    for one in (each for each in also_recorded(context.job) if each.area == area):
        summed = one.record.key == "area_cleaned"  # the sum says what each entry does
        places = texts.setdefault((said.shown(one.record), said.shown(whole if summed else one.value)), [])
        places += [one.where] if one.where is not None and not summed else []
    if not texts:
        return []
    facts = [
        (words("recorded.at", what=name, where=", ".join(places)) if places else name, text)
        for (name, text), places in texts.items()
    ]
    anchor = "recorded" if area is None else f"area-{area}-recorded"
    title = SectionTitle(words("recorded.title"), anchor, level=3, outline=False)
    table = Facts(facts, _COLUMNS, before=3)
    need = min(_ROOM, float(table.wrap(context.width, context.height)[1]))
    return [CondPageBreak(SECTION_HEIGHT + need), title, table]


def made(name: str, one: Instrument | TapeRoll) -> str:
    """A name with make and model behind it, as far as they are stated."""
    parts = [part for part in (one.make, one.model) if part is not None]
    return f"{name}, {' '.join(parts)}" if parts else name
