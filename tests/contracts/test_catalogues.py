"""Catalogues of sentences: whole in every language, and naming only facts that are there."""

import re
import sys
import tomllib
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from types import UnionType
from typing import Union, get_args, get_origin, get_type_hints

import pytest

from reportgen.job import Nonconformance
from reportgen.measurements import CODES, FINDING_CODES, MEASUREMENTS, STATEMENTS
from reportgen.pdf.fonts import drawable
from reportgen.results.codes import FINDING_CODES as OWN_CODES
from reportgen.results.codes import WORDS
from reportgen.results.codes.follow_up import Uncovered
from reportgen.results.facts import Amount, Facts, Place, Stated, Word
from reportgen.results.statements import Code, GapCode, TaskCode
from reportgen.words.catalogue import languages
from reportgen.words.sentences import part_name, sentences, sources
from reportgen.words.standing import StandingText

GROUPS = {
    Code: ("finding", "observed", "required", "told", "meaning", "rule", "remedy"),
    TaskCode: ("task", "because"),
    GapCode: ("left-out",),
}
"""Groups in which each code of a kind of statement needs its sentence."""
OF_A_KIND = ("limit", "result", "measured", "measurement", "method", "entry")
"""Groups in which each kind of measurement needs its sentence."""
GIVEN = {"told": {"observed", "required"}}
"""What a group is filled in with besides facts and place."""
TOLD = [one for one in STATEMENTS if isinstance(one, TaskCode) and sentences().knows("told", one.name)]
"""Tasks that a check tells in a sentence of their own, without their reason."""
COUNTED = {"task"}
"""Groups whose sentences may say how many."""
BARE = {"finding", "meaning", "rule", "remedy", "measurement", "method", "entry", "exported"}
"""Groups whose sentences are filled in with nothing."""
SHARED = {
    "seen.finding": {"location", "observed", "code"},
    "reason.counted": {"code", "location", "observed", "accepted"},
    "reason.more": {"count"},
    "reason.not-inspected": {"why"},
    "list.separator": set(),
    "note.open": {"nonconformance", "description"},
    "note.open-everywhere": {"nonconformance", "description"},
    "note.closed-by": {"report"},
    "place.locations": {"count", "names"},
    "place.clause": {"clause"},
    "deadline.coat-by": {"area", "until"},
}
"""The sentences that belong to no code, and what each may name."""
LANGUAGES = languages()
PLACE = {field.name for field in fields(Place)}
YAML = re.compile("`[^`]*`")
"""What is to be written as it stands, brackets and all."""
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


def kinds_of(statement):
    """Every kind of facts of a code."""
    return statement.kinds if isinstance(statement, Code) else (statement.facts,)


def hints_of(kind):
    """Types of the fields of a kind of facts."""
    own = {one.__name__: one for one in (Amount, Word, Decimal)}
    return get_type_hints(kind, {**vars_of_module(kind), **own})


def within(hint):
    """Every kind of facts that a type holds, at any depth."""
    for part in get_args(hint):
        yield from within(part)
    if is_dataclass(hint) and issubclass(hint, Facts):
        yield hint
        for deeper in hints_of(hint).values():
            yield from within(deeper)


def parts():
    """Kinds of facts that are filled into others, by the key of their sentence."""
    tops = [kind for one in STATEMENTS for kind in kinds_of(one)]
    found = {part for kind in tops for hint in hints_of(kind).values() for part in within(hint)}
    return {part_name(kind): kind for kind in found}


def keys_of(statement, group, language):
    """Keys of the sentences of a code in a group: of each kind of facts that has one, and of all that have none."""
    own = [f"{statement.name}.{part_name(kind)}" for kind in kinds_of(statement)]
    there = [key for key in own if sentences(language).knows(group, key)]
    return there if len(there) == len(own) else [*there, statement.name]


def facts_of(group, key):
    """The kinds of facts that the sentence of a group is filled in with."""
    if group == "part":
        return [parts()[key]]
    for one in STATEMENTS:
        if key.split(".")[0] == one.name and group in GROUPS[type(one)]:
            return [kind for kind in kinds_of(one) if key == f"{one.name}.{part_name(kind)}"] or kinds_of(one)
    for kind in MEASUREMENTS:
        if kind.key == key and group in ("limit", "result", "measured"):
            stated = kind.limit_facts if group == "limit" else kind.result_facts
            return [vars_of_module(stated)[stated.__annotations__["return"]]]
    return []


def needed(language):
    """Every group and key that there must be."""
    for one in STATEMENTS:
        for group in GROUPS[type(one)]:
            yield from ((group, key) for key in keys_of(one, group, language))
    yield from (("told", one.name) for one in TOLD)
    yield from (("part", key) for key in parts())
    yield from ((group, key) for group, keys in WORDS.items() for key in keys)
    for kind in MEASUREMENTS:
        yield from ((group, kind.key) for group in OF_A_KIND)
        yield from (("entry", f"{kind.key}.{one.field}") for one in kind.entries)
    yield from (tuple(name.split(".")) for name in SHARED)


def allowed(group, key):
    """Names that a sentence may use."""
    if f"{group}.{key}" in SHARED:
        return SHARED[f"{group}.{key}"]
    if group in BARE:
        return set()
    for one in TOLD:
        if (group, key) == ("told", one.name):
            return {"task"} | PLACE | {field.name for field in fields(one.facts)}
    if group in GIVEN:
        return GIVEN[group]
    if group in WORDS:
        return set()
    named = [{field.name for field in fields(kind)} for kind in facts_of(group, key)]
    counted = {"count"} if group in COUNTED else set()
    return PLACE | counted | (set.intersection(*named) if named else set())


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_every_sentence_and_no_other(language):
    found = [(group, key) for group, key, _ in entries(language)]
    assert len(found) == len(set(found))
    optional = {("exported", f"{kind.key}.{name}") for kind in MEASUREMENTS for name in kind.exported}
    assert set(found) - optional == set(needed(language))


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
    members = [part for part in get_args(hint) if part is not type(None)]
    if get_origin(hint) is tuple:
        return (value(members[0], field, full=True),) if full or field.default is MISSING else ()
    if members:
        return value(members[0], field, full=full) if full or len(members) == len(get_args(hint)) else None
    if is_dataclass(hint) and issubclass(hint, Facts):
        return example(hint, full=full)
    return EXAMPLES[hint]


EXAMPLES = {
    int: 2, str: "x", Decimal: Decimal("1.0"), Amount: Amount(Decimal("1.0"), "mil"),
    Word: Word("disposition", "rework"), Stated: Stated("observed", "nonconformance-missing", Uncovered("x")),
}  # fmt: skip


@pytest.mark.parametrize("full", [True, False])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("statement", STATEMENTS, ids=lambda one: one.name)
def test_every_code_is_rendered(statement, language, full):
    place = Place("A", "1", "a", "06:40") if full else Place("A", "1", "a")
    for kind in kinds_of(statement):
        for text in rendered(sentences(language), statement, example(kind, full=full), place):
            assert text.strip() == text != ""
            assert not re.search(r"[\[\]{}]|None\b(?!:)", YAML.sub("", text))


def rendered(said, statement, facts, place):
    """Every sentence that is made of a code with such facts."""
    if isinstance(statement, Code):
        made = statement.found(facts, place)
        return [said.observed(made), said.required(made), said.told(made), *said.explained(made.code).values()]
    if isinstance(statement, TaskCode):
        made = statement.due(facts, place, count=2)
        told = StandingText(str, said.language).task(made)
        return [said.task(made), said.because(made), told.removesuffix(f" [{made.answers}]")]
    return [said.left_out(statement.at(facts, place))]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_part_and_every_word_is_rendered(language):
    said = sentences(language)
    made = [said.shown(example(kind, full=True)) for kind in parts().values()]
    made += [said.shown(Word(group, key)) for group, keys in WORDS.items() for key in keys]
    assert [text for text in made if not text.strip() or re.search(r"[\[\]{}]|None\b(?!:)", text)] == []


def test_the_closed_lists_are_those_of_the_job_file():
    assert set(WORDS["disposition"]) == set(get_args(Nonconformance.model_fields["disposition"].annotation))


def test_names_are_of_one_code_each_and_a_task_answers_a_finding():
    names = [one.name for one in STATEMENTS]
    assert len(names) == len(set(names))
    assert not CODES.keys() & OWN_CODES.keys()
    assert {one.answers for one in STATEMENTS if isinstance(one, TaskCode)} - {None} <= FINDING_CODES.keys()
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", name) for name in names)


def test_facts_have_only_the_types_that_facts_may_have():
    plain = {int, str, Decimal, Amount, Word, Stated, type(None)}

    def fit(hint):
        if get_origin(hint) in (tuple, Union, UnionType):
            return all(fit(part) for part in get_args(hint) if part is not Ellipsis)
        return hint in plain or (is_dataclass(hint) and issubclass(hint, Facts))

    kinds = {kind for one in STATEMENTS for kind in kinds_of(one)}
    for kind in (*kinds, *parts().values()):
        assert [name for name, hint in hints_of(kind).items() if not fit(hint)] == [], kind
        assert all(field.default is MISSING or field.default in (None, ()) for field in fields(kind)), kind
