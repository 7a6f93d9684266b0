"""Sentences made of facts, in one language: the only place where a code becomes prose.

A catalogue is TOML: groups of sentences by code, or by ``code.kind-of-facts`` where more than one kind of facts can be
found under a code; for facts within facts a group ``part``, for each closed list of words a group of its own.
``{fact}`` is a fact, ``{count:test|tests}`` one of two by number,
``{count:no test|# test|# tests}`` one of three, the number in it, ``{facts:and}`` several joined by a word of the group
``list``, ``{code:finding}`` a code in words, as a name within a sentence. ``[, {other} of another kind]`` is dropped
where a fact in it is absent, ``[[{other}]]`` prints the fact in brackets. ``{area}``, ``{location}``, ``{spot}`` and
``{time}`` are the place's, where the facts have none of that
name. A sentence that a language lacks is English.
"""

from __future__ import annotations

import re
import tomllib
from contextlib import nullcontext
from copy import copy
from dataclasses import fields
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements import MEASUREMENTS
from reportgen.results import Finding, LeftOut, Stated, Task
from reportgen.results.facts import Amount, Facts, Place, Word
from reportgen.units import DISPLAY, decimal_mark
from reportgen.words.catalogue import LANGUAGE, catalogue
from reportgen.words.editions import WORDS_EDITION, earlier_texts
from reportgen.words.numbers import by_number, digits

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from importlib.resources.abc import Traversable

    from reportgen.results import AreaResult, CheckResult, Evaluation
    from reportgen.rules.due import AreaDue

REASONS_SHOWN: Final = 12
_OPTIONAL: Final = re.compile(r"\[([^\[\]]*)\]")
_FACT: Final = re.compile(r"\{(\w+)(?::([^|{}]*)(?:\|([^{}]*))?)?\}")
_GRADES: Final = "comparator-grade"
_CAPITAL: Final = re.compile(r"(?<!^)(?=[A-Z])")


class Sentences:
    """The sentences of one language; ``lacking`` are the groups and codes of those that are English."""

    def __init__(
        self, language: str, texts: Mapping[str, Mapping[str, str]], lacking: frozenset[tuple[str, str]] = frozenset()
    ) -> None:
        self.language = language
        self._texts, self._lacking = texts, lacking
        self._amount: Callable[[Amount], str] = amount_text
        self._borrowed: set[str] | None = None
        self._mark: str | None = None

    def marked(self) -> Sentences:
        """Return the same sentences, numbers in them with the decimal mark of their language."""
        return self._with(_mark=catalogue(self.language).decimal)

    def showing(self, amount: Callable[[Amount], str]) -> Sentences:
        """Return the same sentences with amounts shown in another way."""
        return self._with(_amount=amount)

    def noting(self, borrowed: set[str]) -> Sentences:
        """Return the same sentences; those that are English are noted."""
        return self._with(_borrowed=borrowed)

    def _with(self, **changes: Any) -> Sentences:
        other = copy(self)
        other.__dict__.update(changes)
        return other

    def knows(self, group: str, code: str) -> bool:
        """Whether there is a sentence for a code in a group."""
        return code in self._texts.get(group, ())

    def say(
        self, group: str, code: str, /, facts: Facts | None = None, place: Place | None = None, **more: object
    ) -> str:
        """Return the sentence of a group for a code, filled in with facts, place and whatever else it names.

        Raises:
            KeyError: no sentence for the code, or one that names what is not there; only a bug of ours can do either.
        """
        return self.filled(group, self._key(group, code, facts), members_of(place) | members_of(facts) | more)

    def filled(self, group: str, key: str, facts: Mapping[str, Any]) -> str:
        """Return a sentence filled in with facts of any name.

        Raises:
            KeyError: as ``say``.
        """
        with nullcontext() if self._mark is None else decimal_mark(self._mark):
            return self._said(group, key, facts)

    def _said(self, group: str, key: str, facts: Mapping[str, Any]) -> str:
        text = self._filled(self._texts[group][key], facts)
        if self._borrowed is not None and (group, key) in self._lacking:
            self._borrowed.add(text)
        return text

    def _key(self, group: str, code: str, facts: Facts | None) -> str:
        """Return the code, or that of its kind of facts where the group has a sentence for it."""
        own = code if facts is None else f"{code}.{part_name(type(facts))}"
        return own if own in self._texts[group] else code

    def name(self, kind: str) -> str | None:
        """Return the name of a kind of measurement; None for what is none."""
        return self._texts["measurement"].get(kind)

    def topic(self, key: str) -> str | None:
        """Return what a rule that was applied is about; None for what is no topic."""
        return self.name(key) or self._texts["topic"].get(key)

    def observed(self, finding: Finding) -> str:
        """Return what was found."""
        return self._of("observed", finding)

    def required(self, finding: Finding) -> str:
        """Return what it was held against."""
        return self._of("required", finding)

    def task(self, step: Task) -> str:
        """Return what to do next."""
        return self._of("task", step, count=step.count)

    def task_at(self, step: Task, locations: tuple[str, ...]) -> str:
        """Return what to do next, the same at several locations."""
        return self._of("task", step, count=step.count, location=locations)

    def because(self, step: Task) -> str:
        """Return why to do it."""
        return self._of("because", step)

    def left_out(self, gap: LeftOut) -> str:
        """Return what was not evaluated."""
        return self._of("left-out", gap)

    def check_of(self, check: CheckResult) -> str:
        """Return what was checked."""
        return self._checked("check-of", check)

    def checked(self, check: CheckResult) -> str:
        """Return what a check showed."""
        return self._checked("checked", check)

    def check_required(self, check: CheckResult) -> str:
        """Return what a check was held against."""
        return self._checked("check-required", check)

    def _checked(self, group: str, check: CheckResult) -> str:
        return self.say(group, check.kind, check.facts, subject=check.subject)

    def explained(self, code: str) -> dict[str, str]:
        """Return meaning, rule and remedy of a finding code."""
        return {group: self.say(group, code) for group in ("meaning", "rule", "remedy")}

    def told(self, finding: Finding) -> str:
        """Return how a check tells a finding."""
        code = self._key("told", finding.code, finding.facts)
        return self.say("told", code, observed=self.observed(finding), required=self.required(finding))

    def notes(self, due: AreaDue) -> list[str]:
        """Return what stands at the head of an area to measure: what is still to do there, and what is open."""
        steps = [self.task(step) for step in due.steps]
        left_open = [] if due.cleaned is None else [self.say("note", "in-part", due.cleaned)]
        left_open += [self.say("note", "open", nonconformance=one.id, description=one.description) for one in due.open]
        return [*(f"{step[0].upper()}{step[1:]}." for step in steps), *left_open]

    def text(self, value: str | Stated | Finding) -> str:
        """Return a text as it is, a verdict in words, a sentence made of its facts, or a finding after its code."""
        if isinstance(value, str):
            return self._texts["verdict"].get(value, value)
        if isinstance(value, Stated):
            return self.say(value.group, value.code, value.facts, value.place)
        return f"{value.code}: {self.observed(value)}"

    def seen(self, finding: Finding, name: str | None = None) -> str:
        """Return what a nonconformance was raised for, with its name, or else its code, at the end."""
        return self.say(
            "seen", "finding", location=finding.location, observed=self.observed(finding), code=name or finding.code
        )

    def evidence(self, written: str | None, closed_by: str | None) -> str | None:
        """Return what closed a nonconformance: as written, or the report whose re-inspection passed."""
        return written or (None if closed_by is None else self.say("note", "closed-by", report=closed_by))

    def reasons(self, evaluation: Evaluation, area: AreaResult) -> list[str]:
        """Return why an area is not simply released, a line for each finding that counts."""
        if area.not_inspected is not None:
            return [self.say("reason", "not-inspected", why=area.not_inspected)]
        lines = [self._reason(evaluation.findings[one.finding], accepted=one.accepted) for one in area.reasons]
        shown = [*lines[:REASONS_SHOWN], self.say("reason", "more", count=len(lines) - REASONS_SHOWN)]
        return shown if len(lines) > REASONS_SHOWN else lines

    def _reason(self, finding: Finding, *, accepted: bool) -> str:
        under = finding.nonconformance if accepted else None
        return self.say(
            "reason", "counted", code=finding.code, location=finding.location, observed=self.observed(finding),
            accepted=under,
        )  # fmt: skip

    def _of(self, group: str, one: Finding | Task | LeftOut, **more: object) -> str:
        return self.say(group, one.code, one.facts, one.place, **more)

    def _filled(self, text: str, facts: Mapping[str, Any]) -> str:
        def optional(part: re.Match[str]) -> str:
            return part[1] if all(facts[name[1]] not in (None, ()) for name in _FACT.finditer(part[1])) else ""

        def fact(name: re.Match[str]) -> str:
            value = facts[name[1]]
            if name[3] is not None:
                return by_number(f"{name[2]}|{name[3]}", 1 if isinstance(value, str) else value)
            if isinstance(value, str) and name[2] is not None:
                return self._of_group(name[2], value)
            return self.shown(value, facts) if name[2] is None else self._joined(value, facts, name[2])

        return _FACT.sub(fact, _OPTIONAL.sub(optional, text))

    def _of_group(self, group: str, key: str) -> str:
        """A word of a group inside a sentence; one that is not there stands as it is."""
        return self.graded(key) if group == _GRADES else self._within(self._texts[group].get(key, key))

    def _within(self, name: str) -> str:
        """A name inside a sentence: with a small letter where the language writes it so."""
        return name[:1].lower() + name[1:] if catalogue(self.language).lowers else name

    def graded(self, seen: str) -> str:
        """Grades seen beside a comparator, or named by a contract, as the language has them; others as they stand."""
        known = self._texts[_GRADES]
        return ", ".join(known.get(one, one) for one in seen.split(", "))

    def shown(self, value: object, around: Mapping[str, Any] | None = None) -> str:
        """Return one fact as text; ``around`` are the facts that it stands among."""
        if isinstance(value, Amount):
            return self._amount(value)
        if isinstance(value, Word):
            return self._said(value.group, value.key, around or {})
        if isinstance(value, Stated):
            return self.text(value)
        if isinstance(value, Facts):
            return self._said("part", part_name(type(value)), {**(around or {}), **members_of(value)})
        if isinstance(value, tuple):
            return self._joined(value, around)
        return digits(value) if isinstance(value, Decimal) else str(value)

    def _joined(self, several: tuple[object, ...], around: Mapping[str, Any] | None, by: str = "separator") -> str:
        return self._texts["list"][by].join(self.shown(one, around) for one in several)


def amount_text(amount: Amount) -> str:
    """Return an amount with its digits and its unit."""
    return f"{digits(amount.value)} {DISPLAY.get(amount.unit, amount.unit)}"


def part_name(kind: type[Facts]) -> str:
    """Return the name under which a catalogue holds facts that stand within others: ``SpotTaken`` as ``spot-taken``."""
    return _CAPITAL.sub("-", kind.__name__).lower()


def members_of(facts: Facts | Place | None) -> dict[str, Any]:
    """Return facts or a place by their names, for a sentence to be filled in with."""
    return {} if facts is None else {field.name: getattr(facts, field.name) for field in fields(facts)}


def sentences(language: str = LANGUAGE, edition: int = WORDS_EDITION) -> Sentences:
    """Return the sentences of a language, in an edition of the words; what it lacks is English."""
    return _sentences(language, edition)


@cache  # of both arguments, however they are given
def _sentences(language: str, edition: int) -> Sentences:
    texts: dict[str, dict[str, str]] = {}
    lacking: set[tuple[str, str]] = set()
    for each in dict.fromkeys((LANGUAGE, language)):
        for group, entries in _texts(each, edition):
            texts.setdefault(group, {}).update(entries)
            keys = {(group, key) for key in entries}
            lacking = lacking | keys if each != language else lacking - keys
    return Sentences(language, texts, frozenset(lacking))


@cache
def _texts(language: str, edition: int) -> list[tuple[str, dict[str, str]]]:
    """Return the groups of all catalogue files of a language, the newest first."""
    newest = [source.read_text("utf-8") for source in sources(language)]
    files = map(tomllib.loads, (*newest, *earlier_texts(f"{language}.toml", edition)))
    return [group for file in files for group in file.items()]


def sources(language: str) -> list[Traversable]:
    """Return the catalogue files of a language: those of the rules, and that of each kind of measurement."""
    folder = resources.files("reportgen.words").joinpath(f"data/{language}")
    files = sorted(folder.iterdir(), key=lambda file: file.name) if folder.is_dir() else []
    own = (resources.files(f"reportgen.measurements.{one.key}") for one in MEASUREMENTS)
    files += [room.joinpath(f"{language}.toml") for room in own]
    return [file for file in files if file.is_file()]
