"""Entries that are asked about and stand in the day file: where each is, and what a page asks there."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from reportgen.browser.contents import shown
from reportgen.browser.fields import Field
from reportgen.intake.changes import Entry, address_of, content_at
from reportgen.intake.entries import NO_READING
from reportgen.pipeline.confirming import FLAG, compared_with, field_of
from reportgen.pipeline.looking import DOUBTS, SINGLE
from reportgen.results.codes.doubts import ENTRY_CONFIRMED, DoubtedEntry
from reportgen.results.codes.records import HOLD_DOUBTFUL, HoldPassed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from reportgen.intake.changes import Address, Change, Content
    from reportgen.results import Evaluation, Finding
    from reportgen.words.sentences import Sentences
    from reportgen.yamlsource import Loc

    Record = tuple[Loc, Mapping[str, Any]]

_LOGS: Final = {
    "air": "conditions", "steel": "conditions", "steel_warmest": "conditions", "humidity": "conditions",
    "pressure": "air_checks", "preset": "gauge_checks", "zero": "gauge_checks", "shim": "gauge_checks",
    "shim_reading": "gauge_checks",
    "thickness": "tape_checks", "tolerance": "function_checks", "shown": "function_checks",
}  # fmt: skip
_READINGS: Final = ("reading", "readings")


_SUBJECTS: Final = ("apparatus", "abrasive")
_NUMBER: Final = re.compile(r"[\d.,\s]+")


def is_number(content: Content | None) -> bool:
    """Say whether a text is a number alone."""
    return isinstance(content, str) and _NUMBER.fullmatch(content) is not None


def new_name(data: Mapping[str, Any], change: Change) -> tuple[str, list[str]] | None:
    """Return an apparatus or abrasive that a change names and the day does not know, with those it knows; or None.

    A number is asked about wherever it becomes a name: it was mostly meant for the field beside. Any other name is
    asked about where checks of its own begin with it, unless it is the first of the day.
    """
    step = change.at.steps[-1]
    begun = isinstance(step, Entry)
    names: Mapping[str, Any] = dict(step.names) if isinstance(step, Entry) else {step: change.now}
    for subject in _SUBJECTS if change.now is not None else ():
        name, known = names.get(subject), _known(data, subject)
        if isinstance(name, str) and name and name not in known and (is_number(name) or (begun and known)):
            return name, known
    return None


def _known(data: Mapping[str, Any], subject: str) -> list[str]:
    entries = [each for several in data.values() if isinstance(several, list) for each in several]
    found = [one.get(subject) or (one.get("blasted") or {}).get(subject) for one in entries if isinstance(one, dict)]
    return list(dict.fromkeys(str(one) for one in found if one))


def question_text(said: Sentences, finding: Finding) -> str:
    """Return what a page asks: what was found and what is usual; how a file would say the answer is not for a page."""
    return f"{said.observed(finding)}; {said.required(finding)}" if finding.code in DOUBTS else said.told(finding)


def questions(data: Mapping[str, Any], evaluation: Evaluation, said: Sentences) -> dict[str, Any]:
    """Return what is asked at which field, by the field's name on the page."""
    doubts = [one for one in evaluation.findings if one.code != ENTRY_CONFIRMED.name]
    asked = [(at, question_text(said, one), one) for one in doubts for at in place_of(data, one)]
    found: dict[str, dict[str, Any]] = {}
    for at, _, one in asked:
        name, there = Field(str(at), "").id, content_at(data, at)
        found[name] = {
            "at": str(at),
            "was": json.dumps(there),
            "field": name,
            "value": shown(there),
            # whoever says that an entry is true says it of all that is asked in it
            "why": list(dict.fromkeys(why for other, why, _ in asked if other.parent == at.parent)),
            "number": one.code in SINGLE,
            "confirmed": False,
        }
    for one in evaluation.findings:
        for at in place_of(data, one) if one.code == ENTRY_CONFIRMED.name else ():
            flag = at.parent / FLAG
            found.setdefault(
                Field(str(at), "").id,
                {"confirmed": True, "at": str(flag), "was": json.dumps(content_at(data, flag)), "why": []},
            )["why"].append(said.observed(one))
    return found


def place_of(data: Mapping[str, Any], finding: Finding) -> Iterator[Address]:
    """Yield where the entry of a doubt stands that nobody has confirmed: once, of readings under one doubt each.

    Of a finding that it was confirmed that of one that somebody has. After it stands what it was compared with in the
    same entry, where that may be the slip.
    """
    facts = finding.facts
    if finding.code == HOLD_DOUBTFUL.name:
        yield from _hold_places(data, facts)
    is_confirmed = finding.code == ENTRY_CONFIRMED.name
    if not (is_confirmed or finding.code in SINGLE) or not isinstance(facts, DoubtedEntry):
        return
    what = facts.entry.key
    found = [each for each in _records(data, finding, facts) if (each[1].get(FLAG) == "yes") == is_confirmed]
    named = [(loc, record) for loc, record in found if _name_in(record, finding) in record]
    for loc, record in named if what == "readings" else named[:1]:
        fields = (_name_in(record, finding), *compared_with(finding))
        yield from (address_of(data, (*loc, field)) for field in fields if field in record)


def _hold_places(data: Mapping[str, Any], facts: Any) -> Iterator[Address]:
    """Yield who released a hold point, of which nothing tells who it was."""
    hold = facts.hold if isinstance(facts, HoldPassed) else facts
    for at, row in enumerate(_listed(data, "hold_points")):
        of = (row.get("step"), row.get("by")) == (getattr(hold, "step", None), getattr(hold, "by", None))
        if of and row.get("confirmed") != "yes" and str(row.get("released", "")) in (getattr(hold, "since", "") or ""):
            yield address_of(data, ("hold_points", at, "by"))


def _name_in(record: Mapping[str, Any], finding: Finding) -> str:
    """Return the field of a record that a doubt is about; nothing where it has none."""
    facts = finding.facts
    if (name := field_of(finding)) or not isinstance(facts, DoubtedEntry):
        return name
    return next((key for key in record if key not in NO_READING and facts.roll in (None, key)), "")


def _records(data: Mapping[str, Any], finding: Finding, facts: DoubtedEntry) -> Iterator[Record]:
    """Yield the records that a doubt may be about, with their places."""
    what, area = facts.entry.key, finding.place.area
    block = _LOGS.get(field_of(finding))
    surfaces = [(("surfaces", at), one) for at, one in enumerate(_listed(data, "surfaces")) if one.get("area") == area]
    if what == "blasting-pressure":
        own = (each for each in surfaces if each[1].get("apparatus") in (None, facts.apparatus))
        yield from (((*loc, "blasted"), surface.get("blasted") or {}) for loc, surface in own)
    elif block is not None:
        rows = enumerate(_listed(data, block))
        yield from (((block, at), row) for at, row in rows if _is_of_log(row, finding, facts, block))
    else:
        for loc, surface in surfaces:
            yield from _rows_of(loc, surface, finding, facts)


def _is_of_log(row: Mapping[str, Any], finding: Finding, facts: DoubtedEntry, block: str) -> bool:
    """Whether a row of a log has the time, and what was checked, of a doubt."""
    subjects = {facts.apparatus, facts.gauge, facts.roll}
    named = {str(row[key]) for key in ("apparatus", "gauge", "instrument", "roll") if key in row}
    time = finding.place.time
    return time is not None and str(row.get("time", "")) in time and (block == "conditions" or named <= subjects)


def _rows_of(loc: Loc, surface: Mapping[str, Any], finding: Finding, facts: DoubtedEntry) -> Iterator[Record]:
    """Yield the readings, or the salt tests, of a surface that a doubt may be about."""
    place = finding.place
    steps = ("profile", "readings") if facts.entry.key in _READINGS else ("salts",)
    home = surface.get("profile") or {} if len(steps) > 1 else surface
    for number, row in enumerate(_listed(home, steps[-1])):
        here = place.location in (None, str(row.get("location", "")))
        if here and place.spot in (None, str(row.get("spot", "a"))) and _as_told(row, facts):
            yield (*loc, *steps, number), row


def _as_told(row: Mapping[str, Any], facts: DoubtedEntry) -> bool:
    """Whether a row has the value of a doubt; of readings under one doubt every row may be meant."""
    if facts.entry.key == "readings":
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
