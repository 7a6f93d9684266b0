"""Catalogues of sentences: whole in every language, and naming only facts that are there."""

import re
import sys
import tomllib
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from types import UnionType
from typing import Union, get_args, get_origin, get_type_hints

import pytest

from reportgen.measurements import CODES, FINDING_CODES, MEASUREMENTS, STATEMENTS, TESTS
from reportgen.pdf.fonts import drawable
from reportgen.results import Verdict
from reportgen.results.codes import FINDING_CODES as OWN_CODES
from reportgen.results.facts import Amount, Facts, Place, Word
from reportgen.results.statements import Code, GapCode, StepCode, TaskCode
from reportgen.words.catalogue import languages
from reportgen.words.sentences import part_name, sentences, sources

GROUPS = {
    Code: ("finding", "observed", "required", "told", "meaning", "rule", "remedy"),
    TaskCode: ("task", "because"),
    GapCode: ("left-out",),
    StepCode: ("step",),
}
"""Groups in which each code of a kind of statement needs its sentence."""
OF_A_KIND = ("limit", "applied", "method", "result", "measured", "measurement")
"""Groups in which each kind of measurement needs its sentence."""
OF_A_LIMIT = ("limit", "whole-limit", "applied", "method", "entry")
"""Groups whose sentences are filled in with the limit of a kind of measurement."""
GIVEN = {"told": {"observed", "required"}}
"""What a group is filled in with besides facts and place."""
BARE = {"finding", "meaning", "rule", "remedy", "measurement", "exported", "ask", "topic"}
"""Groups whose sentences are filled in with nothing."""
SHARED = {
    "seen.finding": {"location", "observed", "code"},
    "reason.counted": {"code", "location", "observed", "accepted"},
    "reason.more": {"count"},
    "reason.not-inspected": {"why"},
    "list.separator": set(),
    **{f"verdict.{verdict}": set() for verdict in get_args(Verdict)},
}
"""The sentences that belong to no code, and what each may name."""
LANGUAGES = languages()
PLACE = {field.name for field in fields(Place)}
NAME = re.compile(r"\{(\w+)[}:]")


def entries(language):
    """Every entry of a language as it stands in its files: group, key, text."""
    for source in sources(language):
        for group, texts in tomllib.loads(source.read_text("utf-8")).items():
            for key, text in texts.items():
                yield group, key, text


def vars_of_module(one):
    """Names of the module that defines a class or function, to resolve its annotations."""
    return vars(sys.modules[one.__module__])


def facts_of(group, key):
    """The kind of facts that the sentence of a group is filled in with; None where there are none."""
    for one in STATEMENTS:
        if one.name == key and group in GROUPS[type(one)]:
            return one.facts
    if group == "part":
        return {part_name(part): part for part in parts()}[key]
    for kind in MEASUREMENTS:
        if kind.key == key.split(".")[0] and group in (*OF_A_LIMIT, "result", "measured"):
            stated = kind.limit_facts if group in OF_A_LIMIT else kind.result_facts
            return vars_of_module(stated)[stated.__annotations__["return"]]
    return None


def types_in(hint):
    """The types that a hint allows."""
    inner = [part for part in get_args(hint) if part is not Ellipsis]
    return [one for part in inner for one in types_in(part)] if inner else [hint]


def hints_of(facts):
    """The types of the fields of a kind of facts."""
    return get_type_hints(facts, {**vars_of_module(facts), "Amount": Amount, "Word": Word})


def parts():
    """Every kind of facts that stands within others."""
    found, seen = [], [one.facts for one in STATEMENTS]
    while seen:
        kinds = [kind for hint in hints_of(seen.pop()).values() for kind in types_in(hint)]
        new = [kind for kind in kinds if is_dataclass(kind) and issubclass(kind, Facts) and kind not in found]
        found, seen = [*found, *new], [*seen, *new]
    return found


def needed():
    """Every group and key that there must be."""
    yield from ((group, one.name) for one in STATEMENTS for group in GROUPS[type(one)])
    for kind in MEASUREMENTS:
        yield from ((group, kind.key) for group in OF_A_KIND)
        yield from (("entry", f"{kind.key}.{one.field}") for one in kind.entries)
        yield from ((group, key) for group, keys in kind.words.items() for key in keys)
        yield from (("topic", one.topic) for one in kind.formulas)
    yield from (("entry", kind.key) for kind in TESTS)
    yield from (("part", part_name(part)) for part in parts())
    yield from (tuple(name.split(".")) for name in SHARED)


def allowed(group, key):
    """Names that a sentence may use."""
    if f"{group}.{key}" in SHARED:
        return SHARED[f"{group}.{key}"]
    if group in BARE or any(group in kind.words for kind in MEASUREMENTS):
        return set()
    if group in GIVEN:
        return GIVEN[group]
    facts = facts_of(group, key)
    return PLACE | ({field.name for field in fields(facts)} if facts else set())


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_every_sentence_and_no_other(language):
    found = [(group, key) for group, key, _ in entries(language)]
    assert len(found) == len(set(found))
    optional = {("exported", f"{kind.key}.{name}") for kind in MEASUREMENTS for name in kind.exported}
    optional |= {("whole-limit", kind.key) for kind in MEASUREMENTS}
    optional |= {("ask", f"{kind.key}.{one.field}") for kind in MEASUREMENTS for one in kind.entries}
    assert set(found) - optional == set(needed())


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_sentence_names_only_facts_of_its_code_and_its_place(language):
    strange = {
        (group, key): names
        for group, key, text in entries(language)
        if (names := set(NAME.findall(text)) - allowed(group, key))
    }
    assert strange == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_can_be_printed(language):
    assert [text for _, _, text in entries(language) if drawable(text) != text] == []


def test_a_name_that_is_no_fact_would_be_found():
    assert set(NAME.findall("{quantity} {count:test|tests}[, {size}]")) == {"quantity", "count", "size"}
    assert "colour" not in allowed("observed", "dust-above-maximum")
    assert {"maximum_size", "area", "location"} <= allowed("observed", "dust-above-maximum")


def example(kind, *, full):
    """Facts of a kind with a value in every field, or with nothing where nothing may stand."""
    hints = hints_of(kind)
    return kind(**{field.name: value(hints[field.name], field, full=full) for field in fields(kind)})


def value(hint, field, *, full):
    """A value of a type that facts may have."""
    parts = [part for part in get_args(hint) if part is not type(None)]
    if get_origin(hint) is not tuple and parts:
        absent = len(parts) < len(get_args(hint)) and not full
        return None if absent else value(parts[-1 if full else 0], field, full=full)
    if get_origin(hint) is tuple:
        return (value(parts[0], field, full=full),) if full else ()
    if is_dataclass(hint) and issubclass(hint, Facts):
        return example(hint, full=full)
    if hint is Amount:
        return Amount(Decimal("1.0"), "mil")
    if hint is Word:
        return Word("verdict", "conforms")
    return {int: 2, str: "x", Decimal: Decimal("1.0")}[hint]


@pytest.mark.parametrize("full", [True, False])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("statement", STATEMENTS, ids=lambda one: one.name)
def test_every_code_is_rendered(statement, language, full):
    said, facts = sentences(language), example(statement.facts, full=full)
    place = Place("A", "1", "a", "06:40") if full else Place("A", "1")
    if isinstance(statement, Code):
        made = statement.found(facts, place)
        texts = [said.observed(made), said.required(made), said.told(made), *said.explained(made.code).values()]
    elif isinstance(statement, TaskCode):
        made = statement.due(facts, place)
        texts = [said.task(made), said.because(made)]
    elif isinstance(statement, StepCode):
        texts = [said.text(statement.of(facts, place))]
    else:
        texts = [said.left_out(statement.at(facts, place))]
    for text in texts:
        assert text.strip() == text != ""
        assert not re.search(r"[\[\]{}]|None", text)


def test_names_are_of_one_code_each_and_a_task_answers_a_finding():
    names = [one.name for one in STATEMENTS]
    assert len(names) == len(set(names))
    assert not CODES.keys() & OWN_CODES.keys()
    assert {one.answers for one in STATEMENTS if isinstance(one, TaskCode)} - {None} <= FINDING_CODES.keys()
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)+", name) for name in names)


def test_facts_have_only_the_types_that_facts_may_have():
    plain = {int, str, Decimal, Amount, Word, type(None)}

    def fit(hint):
        if get_origin(hint) in (tuple, Union, UnionType):
            return all(fit(part) for part in get_args(hint) if part is not Ellipsis)
        return hint in plain or (is_dataclass(hint) and issubclass(hint, Facts))

    for one in STATEMENTS:
        hints = hints_of(one.facts)
        assert [name for name, hint in hints.items() if not fit(hint)] == [], one.name
        assert all(field.default is MISSING or field.default in (None, ()) for field in fields(one.facts)), one.name
