"""A place of the day file and what stands there, in words."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import Phrase
from reportgen.intake.changes import Address, Change, Entry
from reportgen.loader.placeholders import in_brackets
from reportgen.references import method_kind
from reportgen.units import DISPLAY
from reportgen.words.catalogue import catalogue
from reportgen.words.sentences import sentences
from reportgen.words.told import Told, said
from reportgen.yamlsource.characters import HIDDEN, character_name

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.browser.texts import Texts
    from reportgen.diagnostics import Diagnostic
    from reportgen.intake.changes import Content
    from reportgen.job.project import ProfileRequirement
    from reportgen.pipeline.contract_state import ShiftState
    from reportgen.pipeline.revising import EntryDiffers


def change_text(say: Texts, change: Change) -> str:
    """Return what a change is about, and what stands there now: ``G-6, location 4, spot b, x1: 2.3``."""
    where, last = place_text(say, change.at), change.at.steps[-1]
    if change.now is None:
        return say("write.taken-out", where=where)
    what = shown(change.now)
    if isinstance(change.now, dict) and isinstance(last, Entry):  # beside what names it
        names = {name.partition(".")[0] for name, _ in last.names}
        rest = ((name, shown(value)) for name, value in change.now.items() if name not in names)
        what = ", ".join(f"{field_text(say, last.of, name)} {value}" for name, value in rest if value)
    return say("write.change", where=where, what=what or None)


def place_text(say: Texts, at: Address) -> str:
    """Return a place of the day file in words."""
    parts, block = [], ""
    for step in at.steps:
        if isinstance(step, Entry):
            block = step.of
            named = {f"write.{name}": value for name, value in step.names if value}
            parts += [say(key, value=value) if say.knows(key) else value for key, value in named.items()]
        elif step not in ("profile", "blasted", "cleanliness"):
            parts.append(field_text(say, block, step))
    return ", ".join(parts)


def refused_text(say: Texts, field: str, content: Content | None) -> str | None:
    """Return why a text cannot stand in a field: a character that nobody sees, or what reads as still to be filled in.

    Line ends and tabs may stand in a text.
    """
    if isinstance(content, dict):
        found = (refused_text(say, name, value) for name, value in content.items())
        return next(filter(None, found), None)
    text = " ".join(map(str, content)) if isinstance(content, list) else content or ""
    hidden, brackets = HIDDEN.search(text), in_brackets(field, text)
    if hidden is not None:
        return say("write.character", name=character_name(hidden[0]))
    return None if brackets is None else say("write.brackets", text=brackets)


_WORDS: Final = {
    "finding": "finding", "kind": "instrument-kind", "grade_of_tape": "tape-grade", "expressed_as": "expressed-as",
}  # fmt: skip
"""Fields that take one of a few words, and the group of the report's catalogue that has them."""


def choice_text(say: Texts, field: str, word: str) -> str:
    """Return what one of the words of a field is called; a word that no catalogue lists as it is written."""
    if field == "role":
        return catalogue(say.language).role(word)
    if field == "method":
        kind = method_kind(word)
        return word if kind is None else say("method.named", method=word, kind=say(f"method.{kind}"))
    group, said = _WORDS.get(field, ""), sentences(say.language).marked()
    return said.say(group, word) if said.knows(group, word) else say.named("choice", word)


def limits_stated(say: Texts, profile: ProfileRequirement) -> str:
    """Return the range of the profile as the contract states it: its limits, or a grade."""
    limits = [as_read(say, str(one)) for one in (profile.minimum, profile.maximum) if one is not None]
    return say("shift.range", low=limits[0], high=limits[1]) if len(limits) == 2 else profile.range_as_stated


_LABELS: Final = (
    "of-{block}.{name}",
    "name.{name}",
    "field.{block}-{name}",
    "entry.{name}",
    "ncr.{name}",
    "beside.{name}",
)


def field_text(say: Texts, block: str, field: str) -> str:
    """Return a field of an entry as its page calls it: ``blasted.end`` of ``surfaces`` is the end of blasting."""
    names = [part.partition("[")[0] for part in field.split(".") if part]
    name = names[-1] if names else field
    keys = (one.format(block=block, name=name) for one in _LABELS)
    return next((say(key) for key in keys if say.knows(key)), name.replace("_", " "))


_FIELD: Final = re.compile(r"`([a-z_]+)`")
_BLOCKS: Final = ("surfaces", "nonconformances", "conditions", "report")


def as_labelled(say: Texts, text: str) -> str:
    """Return a sentence of the results with the fields of the day file called as the pages call them.

    A field that no page has stays as it is written.
    """

    def label(found: re.Match[str]) -> str:
        keys = (one.format(block=block, name=found[1]) for one in _LABELS for block in _BLOCKS)
        key = next((one for one in keys if say.knows(one)), None)
        return found[0] if key is None else say("write.field", name=say(key))

    return _FIELD.sub(label, text)


_AMOUNT: Final = re.compile(r"-?\d+\.\d+ \S+")
_PATH: Final = re.compile(r"`([a-z_]+)((?:\[\d+\])?(?:\.[a-z_]+(?:\[\d+\])?)+)`")
_STEP: Final = re.compile(r"([a-z_]+)(?:\[(\d+)\])?")


def with_places(say: Texts, text: str) -> str:
    """Return a sentence with places of a file, as ``not_inspected[0].reason``, called as the pages call them.

    A place that no page has stays as it is written.
    """

    def place(found: re.Match[str]) -> str:
        (block, number), *_, (last, _) = steps = _STEP.findall(found[0])
        before = steps[-2][0]
        keys = [f"term.{before}-{last}", *(one.format(block=block, name=last) for one in _LABELS), f"term.{last}"]
        own = next((key for key in keys if say.knows(key)), None)
        if own is None or (number and own != keys[0] and not say.knows(f"name.{block}")):
            return found[0]
        of = f"{say(f'name.{block}')} {int(number) + 1}" if number and own != keys[0] else None
        return say("write.field", name=say("write.place", of=of, name=say(own)))

    return _PATH.sub(place, text)


def shown(content: Content | None) -> str:
    """Return what stands somewhere as a person reads it."""
    if isinstance(content, dict):
        return ", ".join(filter(None, map(shown, content.values())))
    if isinstance(content, list):
        return ", ".join(map(shown, content))
    text = "" if content is None else str(content)
    number, space, unit = text.rpartition(" ")
    return f"{number} {DISPLAY[unit]}" if space and unit in DISPLAY else text


def term_text(say: Texts, at: Address) -> str:
    """Return what a field of the project file is called, without the entry that it is of."""
    own = f"term.{'-'.join(map(str, at.steps[-2:]))}"
    return say(own) if say.knows(own) else say.named("term", str(at.steps[-1]))


def state_word(say: Texts, shift: ShiftState, missing: int = 0) -> str:
    """Return how a shift stands, in a word or two: of a revision that is begun and not issued that it is one."""
    word = "unready" if missing and shift.state in {"ready", "held"} else shift.state
    if word in {"ready", "held"} and shift.first is not None:
        return say("short.waits", first=shift.first.number)
    if shift.issued is None or shift.revision <= shift.issued.revision:
        return say(f"short.{word}")
    return say("home.revising", revision=shift.revision, state=say(f"short.{word}"))


def as_read(say: Texts, content: Content | None) -> str:
    """Return what stands somewhere as a person reads it, an amount with the decimal mark of the language."""
    text = shown(content)
    return text.replace(".", catalogue(say.language).decimal) if _AMOUNT.fullmatch(text) else text


def differs_text(say: Texts, ones: Iterable[EntryDiffers]) -> list[str]:
    """Return of entries that are otherwise than issued what they were and are."""
    nothing = say("conflict.nothing")
    return [
        say("report.differs", where=place_text(say, one.at), issued=shown(one.before) or nothing,
            now=shown(one.after) or nothing)
        for one in ones
    ]  # fmt: skip


_ENTRY: Final = re.compile(r"([a-z_]+)\[(\d+)\]")


def diagnostic_text(say: Texts, one: Diagnostic) -> str:
    """Return what is wrong and what to write instead; of an entry that lacks a field, that in the words of its page."""
    parts = one.message.parts if one.code == "JOB111" and isinstance(one.message, Phrase) else {}
    found = _ENTRY.fullmatch(parts.get("place", ""))
    own = [key for key in (f"nav.{found[1]}", f"name.{found[1]}") if say.knows(key)] if found is not None else []
    if found is not None and own:
        return say(
            "write.lacks", where=say(own[0]), number=int(found[2]) + 1, what=field_text(say, found[1], parts["field"])
        )
    return objection_text(say, one.message, one.help_text)


def objection_text(say: Texts, message: str, help_text: str | None = None) -> str:
    """Return what is wrong and what to write instead, in the language of the page as far as it has the sentences."""
    return with_places(say, ": ".join(_in_language(say.language, text) for text in (message, help_text) if text))


def _in_language(language: str, text: str) -> str:
    others = _said_otherwise(language)
    if isinstance(text, Told):
        return said(text, language)
    if not isinstance(text, Phrase):
        return others.get(text, text)
    parts = {name: _in_language(language, part) for name, part in text.parts.items()}
    return others[text.pattern].format_map(parts) if text.pattern in others else text


@cache
def _said_otherwise(language: str) -> dict[str, str]:
    """Return how a language says the sentences of the loader that it has, by their pattern."""
    file = resources.files("reportgen.browser").joinpath(f"data/refused-{language}.toml")
    return tomllib.loads(file.read_text("utf-8"))["said"] if file.is_file() else {}
