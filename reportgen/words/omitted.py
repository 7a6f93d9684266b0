"""What a revision left out of the report that it replaces, in words: on its first page, and where that is proven."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.results.omitted import Omitted
    from reportgen.words.catalogue import Words
    from reportgen.words.sentences import Sentences

_NAMED = 6
"""Locations of an area that are named; of the others it is said how many they are."""


def omitted_texts(omitted: Omitted | None, words: Words, said: Sentences) -> Iterator[str]:
    """Yield a sentence each on the areas, locations and findings that are no longer there; none where all are."""
    if omitted is None:
        return
    if omitted.areas:
        areas = [words("omitted.area", area=one.id, decision=_decision(words, one.decision)) for one in omitted.areas]
        yield words("omitted.areas", areas=", ".join(areas))
    if omitted.locations:
        locations = [f"{one.area}: {_named(words, one.ids)}" for one in omitted.locations]
        yield words("omitted.locations", locations="; ".join(locations))
    if omitted.findings:
        found = [
            f"{_finding(said, one.code)}{'' if one.area is None else f' ({one.area})'}" for one in omitted.findings
        ]  # fmt: skip
        yield words("omitted.findings", findings=", ".join(found))


def _decision(words: Words, decision: str) -> str:
    key = f"decision.{decision}"
    return words(key) if words.knows(key) else decision


def _finding(said: Sentences, code: str) -> str:
    return said.say("finding", code) if said.knows("finding", code) else code


def _named(words: Words, ids: Sequence[str]) -> str:
    listed = ", ".join(ids[:_NAMED])
    return listed if len(ids) <= _NAMED else words("omitted.more", listed=listed, count=len(ids) - _NAMED)
