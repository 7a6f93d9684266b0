"""What a revision left out of the reports that it replaces, in words: on its first page, and where that is proven."""

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
    """Yield a sentence on each kind of what is no longer there; none where all is."""
    if omitted is None:
        return
    if omitted.areas:
        areas = [words("omitted.area", area=one.id, decision=_decision(words, one.decision)) for one in omitted.areas]
        yield words("omitted.areas", areas=", ".join(areas))
    if omitted.entries:
        entries = [words("omitted.entry", area=one.area, apparatus=one.apparatus) for one in omitted.entries]
        yield words("omitted.entries", entries=_named(words, entries))
    if omitted.locations:
        locations = [f"{one.area}: {_named(words, one.ids)}" for one in omitted.locations]
        yield words("omitted.locations", locations="; ".join(locations))
    if omitted.tests:
        tests = [f"{one.area}: {_kind(said, one.kind, one.ids)} {_named(words, one.ids)}" for one in omitted.tests]
        yield words("omitted.tests", tests="; ".join(tests))
    yield from _of_findings(omitted, words, said)


def _of_findings(omitted: Omitted, words: Words, said: Sentences) -> Iterator[str]:
    if omitted.findings:
        yield words("omitted.findings", findings=", ".join(_findings(omitted, words, said)))
    if omitted.judged_otherwise:
        findings = ", ".join(_finding(said, code) for code in omitted.judged_otherwise)
        yield words("omitted.judged-otherwise", findings=findings)


def _findings(omitted: Omitted, words: Words, said: Sentences) -> Iterator[str]:
    """Yield what failed once for each area, with the locations there."""
    at: dict[tuple[str, str | None], list[str]] = {}
    for one in omitted.findings:
        at.setdefault((one.code, one.area), []).extend([] if one.location is None else [one.location])
    for (code, area), locations in at.items():
        where = "" if area is None else f" ({area}: {_named(words, locations)})" if locations else f" ({area})"
        yield f"{_finding(said, code)}{where}"


def _decision(words: Words, decision: str) -> str:
    key = f"decision.{decision}"
    return words(key) if words.knows(key) else decision


def _finding(said: Sentences, code: str) -> str:
    return said.say("finding", code) if said.knows("finding", code) else code


def _kind(said: Sentences, kind: str, ids: Sequence[str]) -> str:
    return said.filled("tests", kind, {"count": len(ids)}) if said.knows("tests", kind) else kind


def _named(words: Words, ids: Sequence[str]) -> str:
    listed = ", ".join(ids[:_NAMED])
    return listed if len(ids) <= _NAMED else words("omitted.more", listed=listed, count=len(ids) - _NAMED)
