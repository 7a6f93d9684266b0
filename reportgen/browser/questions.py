"""Entries that are asked about and stand in the day file: where each is, and what a page asks there."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from reportgen.browser.contents import shown
from reportgen.browser.fields import Field
from reportgen.intake.changes import address_of, content_at
from reportgen.intake.entries import NO_READING
from reportgen.pipeline.looking import DOUBTS, SINGLE
from reportgen.results.codes.doubts import DoubtedEntry

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from reportgen.intake.changes import Address
    from reportgen.results import Evaluation, Finding
    from reportgen.words.sentences import Sentences
    from reportgen.yamlsource import Loc

_LOGS: Final = {
    "air": "conditions", "steel": "conditions", "steel_warmest": "conditions", "humidity": "conditions",
    "pressure": "air_checks", "preset": "gauge_checks", "zero": "gauge_checks", "shim_reading": "gauge_checks",
    "thickness": "tape_checks", "tolerance": "function_checks",
}  # fmt: skip
_FIELDS: Final = {"air-pressure": "pressure", "blasting-pressure": "pressure"}
"""Entries whose field is not called as they are; of the rest each is called so, with a hyphen for a low line."""


def question_text(said: Sentences, finding: Finding) -> str:
    """Return what a page asks: what was found and what is usual; how a file would say the answer is not for a page."""
    return f"{said.observed(finding)}; {said.required(finding)}" if finding.code in DOUBTS else said.told(finding)


def questions(data: Mapping[str, Any], evaluation: Evaluation, said: Sentences) -> dict[str, Any]:
    """Return what is asked at which field, by the field's name on the page."""
    found: dict[str, dict[str, Any]] = {}
    for one in evaluation.findings:
        for at in place_of(data, one):
            name = Field(str(at), "").id
            asked = found.setdefault(
                name,
                {
                    "at": str(at),
                    "was": json.dumps(content_at(data, at)),
                    "field": name,
                    "value": shown(content_at(data, at)),
                    "why": [],
                    "number": True,
                },
            )
            asked["why"] = list(dict.fromkeys([*asked["why"], question_text(said, one)]))
    return found


def place_of(data: Mapping[str, Any], finding: Finding) -> Iterator[Address]:
    """Yield where the entry of a doubt stands that nobody has confirmed: once, of readings under one doubt each."""
    facts = finding.facts
    if finding.code not in SINGLE or not isinstance(facts, DoubtedEntry):
        return
    what = facts.entry.key
    for loc, record in _records(data, finding, what):
        name = _FIELDS.get(what, what.replace("-", "_"))
        if record.get("confirmed") == "yes":
            continue
        if what in ("reading", "readings"):
            names = [key for key in record if key not in NO_READING and facts.roll in (None, key)]
            name = names[0] if names else ""
        if name in record:
            yield address_of(data, (*loc, name))
            if what != "readings":
                return


def _records(data: Mapping[str, Any], finding: Finding, what: str) -> Iterator[tuple[Loc, Mapping[str, Any]]]:
    """Yield the records that a doubt may be about, with their places."""
    place = finding.place
    name = _FIELDS.get(what, what.replace("-", "_"))
    if name in _LOGS and what != "blasting-pressure":
        block = _LOGS[name]
        subjects = {getattr(finding.facts, each) for each in ("apparatus", "gauge", "roll", "where")}
        for index, one in enumerate(_listed(data, block)):
            named = {str(one[key]) for key in ("apparatus", "gauge", "instrument", "place") if key in one}
            fits = named <= subjects or block == "conditions"
            if fits and place.time is not None and str(one.get("time", "")) in place.time:
                yield (block, index), one
        return
    for index, surface in enumerate(_listed(data, "surfaces")):
        if surface.get("area") != place.area:
            continue
        at: Loc = ("surfaces", index)
        if what == "blasting-pressure":
            if surface.get("apparatus") in (None, getattr(finding.facts, "apparatus", None)):
                yield (*at, "blasted"), surface.get("blasted") or {}
            continue
        part = "profile" if what in ("reading", "readings") else ""
        home, key = (surface.get("profile") or {}, "readings") if part else (surface, "salts")
        for number, row in enumerate(_listed(home, key)):
            same = place.location in (None, str(row.get("location", ""))) and (
                place.spot is None or place.spot == str(row.get("spot", "a"))
            )
            if same and _as_told(row, finding):
                yield (*at, *([part] if part else []), key, number), row


def _as_told(row: Mapping[str, Any], finding: Finding) -> bool:
    """Whether a row has the value of a doubt; of readings under one doubt every row may be meant."""
    facts = finding.facts
    if not isinstance(facts, DoubtedEntry) or facts.entry.key == "readings":
        return True
    written = (str(value).partition(" ")[0] for key, value in row.items() if key not in NO_READING)
    return any(_is_number(text, facts.value.value) for text in written)


def _is_number(text: str, number: Decimal) -> bool:
    try:
        return Decimal(text) == number
    except ArithmeticError:
        return False


def _listed(home: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    found = home.get(key)
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []
