"""Catalogues of sentences: whole in every language, and naming only facts that are there."""

import re
import sys
import tomllib
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from types import UnionType
from typing import Annotated, Union, get_args, get_origin, get_type_hints

import pytest

from reportgen.measurements import CODES, FINDING_CODES, MEASUREMENTS, STATEMENTS, TESTS
from reportgen.measurements.gaps import Gap
from reportgen.pdf.fonts import drawable
from reportgen.results.codes import FINDING_CODES as OWN_CODES
from reportgen.results.codes import WORDS
from reportgen.results.codes.doubts import Asked
from reportgen.results.facts import Amount, Facts, Place, Word
from reportgen.results.statements import Code, GapCode, TaskCode
from reportgen.words.catalogue import languages
from reportgen.words.sentences import part_name, sentences, sources

GROUPS = {
    Code: ("finding", "observed", "required", "told", "meaning", "rule", "remedy"),
    TaskCode: ("task", "because"),
    GapCode: ("left-out",),
}
"""Groups in which each code of a kind of statement needs its sentence."""
OF_A_KIND = ("limit", "result", "measurement", "method", "entry")
"""Groups in which each kind of measurement needs its sentence."""
DERIVED = ("measured", "rule-of", "derived")
"""Groups in which a log needs its sentence that says how a result came about."""
KNOWN = {"Amount": Amount, "Word": Word, "Decimal": Decimal, "Gap": Gap}
"""Types that annotations of facts may name without their module importing them."""
GIVEN = {"told": {"observed", "required"}}
"""What a group is filled in with besides facts and place."""
BARE = {"finding", "meaning", "rule", "remedy", "measurement", "method", "entry", "sheet", "ask", "without-limit"}
"""Groups whose sentences are filled in with nothing."""
SHARED = {
    "seen.finding": {"location", "observed", "code"},
    "reason.counted": {"code", "location", "observed", "accepted"},
    "reason.more": {"count"},
    "reason.not-inspected": {"why"},
    "list.separator": set(),
    "list.and": set(),
    "limit.time-to-coat": {"limit"},
    "limit.time-to-coat-derived": {"limit"},
    "measured.time-to-coat": set(),
    "result.time-to-coat": {"taken"},
    "result.not-coated": set(),
    **{
        f"asked.{kind}": {field.name for field in fields(Asked)}
        for kind in WORDS["usual"]
        if kind != "warmest-colder"  # no sheet has a field for a warmest steel
    },
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


def hints_of(kind):
    """Fields of a kind of facts with their types."""
    known = {**vars_of_module(kind), "Amount": Amount, "Word": Word, "Decimal": Decimal}
    return get_type_hints(kind, known, include_extras=True)


def within(kind):
    """Types that stand in the fields of a kind of facts, at any depth."""
    todo = list(hints_of(kind).values())
    while todo:
        hint = todo.pop()
        yield hint
        todo += get_args(hint)
        todo += hints_of(hint).values() if is_dataclass(hint) and issubclass(hint, Facts) else ()


PARTS = {
    part_name(part): part
    for one in STATEMENTS
    for part in within(one.facts)
    if is_dataclass(part) and issubclass(part, Facts)
}
"""Kinds of facts that stand within others, by the name of their sentence."""
CLOSED = {**WORDS, "tests": (*WORDS["tests"], *(kind.key for kind in MEASUREMENTS if kind.scope != "log of the shift"))}
"""The closed lists, with the kinds of measurement."""


def lists_in(kind):
    """Groups of the closed lists from which the facts of a kind take a word."""
    return {one.__metadata__[0] for one in within(kind) if get_origin(one) is Annotated}


def facts_of(group, key):
    """The kind of facts that the sentence of a group is filled in with; None where there are none."""
    if group == "part":
        return PARTS.get(key)
    for one in STATEMENTS:
        if one.name == key and group in GROUPS[type(one)]:
            return one.facts
    for kind in MEASUREMENTS:
        if kind.key == key and group in ("limit", "note", "result", "measured", *DERIVED):
            return stated(kind.limit_facts if group in ("limit", "note") else kind.result_facts)
    return within().get(key) if group == "part" else None


def stated(make):
    """The kind of facts that a function makes."""
    return vars_of_module(make)[make.__annotations__["return"]]


def within():
    """Kinds of facts that stand within other facts, by the names of their sentences."""
    found, kinds = {}, [one.facts for one in STATEMENTS]
    kinds += [stated(make) for kind in MEASUREMENTS for make in (kind.limit_facts, kind.result_facts)]
    for kind in kinds:
        parts = [part for hint in hints_of(kind).values() for part in parts_of(hint) if part not in found.values()]
        found |= {part_name(part): part for part in parts}
        kinds += parts
    return found


def hints_of(kind):
    """Types of the fields of facts."""
    return get_type_hints(kind, {**vars_of_module(kind), **KNOWN})


def parts_of(hint):
    """Kinds of facts within the type of a field."""
    if is_dataclass(hint) and issubclass(hint, Facts):
        return [hint]
    return [part for each in get_args(hint) for part in parts_of(each)]


def needed():
    """Every group and key that there must be."""
    yield from ((group, one.name) for one in STATEMENTS for group in GROUPS[type(one)])
    for kind in MEASUREMENTS:
        yield from ((group, kind.key) for group in OF_A_KIND)
        yield from (("entry", f"{kind.key}.{one.field}") for one in kind.entries)
        yield from ((group, word) for group, words in kind.lists.items() for word in words)
        yield from [("measured", kind.key)] if kind in TESTS else []
        yield from [(group, kind.key) for group in DERIVED] if kind.derived else []
        yield from [("without-limit", kind.key)] if kind.subject else []
    yield from (("part", name) for name in within())
    yield from ((group, key) for group, keys in CLOSED.items() for key in keys)
    yield from (tuple(name.split(".")) for name in SHARED)


def allowed(group, key):
    """Names that a sentence may use."""
    if f"{group}.{key}" in SHARED:
        return SHARED[f"{group}.{key}"]
    if group in BARE:
        return set()
    if group in GIVEN:
        return GIVEN[group]
    if group == "exported":
        return {name for kind in MEASUREMENTS if key.startswith(f"{kind.key}.") for name in kind.exported}
    if group in CLOSED:
        around = [{field.name for field in fields(one.facts)} for one in STATEMENTS if group in lists_in(one.facts)]
        return PLACE | set.intersection(*around)
    facts = facts_of(group, key)
    return PLACE | ({field.name for field in fields(facts)} if facts else set())


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_every_sentence_and_no_other(language):
    found = [(group, key) for group, key, _ in entries(language)]
    assert len(found) == len(set(found))
    optional = {("exported", f"{kind.key}.{name}") for kind in MEASUREMENTS for name in kind.exported}
    optional |= {(group, kind.key) for group in ("sheet", "note") for kind in MEASUREMENTS}
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


def example(kind, *, full, nth=0):
    """Facts of a kind with a value in every field, or with nothing where nothing may stand; the nth word of a list."""
    hints = hints_of(kind)
    return kind(**{field.name: value(hints[field.name], full=full, nth=nth) for field in fields(kind)})


def value(hint, *, full, nth):
    """A value of a type that facts may have."""
    parts = [part for part in get_args(hint) if part is not type(None)]
    if get_origin(hint) is tuple:  # without a default it is never empty
        return (value(parts[0], field, full=full, nth=nth),) if full or field.default is MISSING else ()
    if get_origin(hint) is Annotated:
        (group,) = hint.__metadata__
        return Word(group, CLOSED[group][nth % len(CLOSED[group])])
    if len(parts) < len(get_args(hint)):
        return value(parts[0], field, full=full, nth=nth) if full else None
    if parts:
        return value(parts[0 if full else -1], field, full=full, nth=nth)
    if is_dataclass(hint) and issubclass(hint, Facts):
        return example(hint, full=full, nth=nth)
    if hint is Amount:
        return Amount(Decimal("1.0"), "mil")
    if hint is Word:  # any will do: that the lists are whole is proved elsewhere
        return Word("measurement", "dust")
    return {int: 2, str: "x", Decimal: Decimal("1.0")}[hint]


@pytest.mark.parametrize("full", [True, False])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("statement", STATEMENTS, ids=lambda one: one.name)
def test_every_code_is_rendered(statement, language, full):
    said, place = sentences(language), Place("A", "1", "a", "06:40") if full else Place("A", "1")
    longest = max((len(CLOSED[group]) for group in lists_in(statement.facts)), default=1)
    for facts in (example(statement.facts, full=full, nth=nth) for nth in range(longest)):
        for text in rendered(said, statement, facts, place):
            assert text.strip() == text != ""
            assert not re.search(r"[\[\]{}]|None(?!:)", text)  # a remedy may begin with "None:"


def rendered(said, statement, facts, place):
    """Every sentence of a code."""
    if isinstance(statement, Code):
        made = statement.found(facts, place)
        return [said.observed(made), said.required(made), said.told(made), *said.explained(made.code).values()]
    if isinstance(statement, TaskCode):
        made = statement.due(facts, place)
        return [said.task(made), said.because(made)]
    return [said.left_out(statement.at(facts, place))]


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
        if get_origin(hint) is Annotated:
            return hint.__origin__ is Word and set(hint.__metadata__) <= CLOSED.keys()
        return hint in plain or (is_dataclass(hint) and issubclass(hint, Facts))

    for one in STATEMENTS:
        assert [name for name, hint in hints_of(one.facts).items() if not fit(hint)] == [], one.name
        assert all(field.default is MISSING or field.default in (None, ()) for field in fields(one.facts)), one.name
