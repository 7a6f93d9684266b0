"""What is also recorded, in few rows: of the day beside the equipment, of an area in its section."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.rules.also_recorded import also_recorded

if TYPE_CHECKING:
    from reportgen.report.context import Context


def recorded_facts(context: Context, area: str | None) -> list[tuple[str, str]]:
    """The facts recorded of an area, or of the day; what is the same at several places stands once."""
    words, said = context.words, context.said
    texts: dict[tuple[str, str], list[str]] = {}
    whole = next((each.cleaned for each in context.evaluation.areas if each.id == area), None)
    for one in (each for each in also_recorded(context.job) if each.area == area):
        summed = one.record.key == "area_cleaned"  # the sum says what each entry does
        places = texts.setdefault((said.shown(one.record), said.shown(whole if summed else one.value)), [])
        places += [one.where] if one.where is not None and not summed else []
    return [
        (words("recorded.at", what=name, where=", ".join(places)) if places else name, text)
        for (name, text), places in texts.items()
    ]
