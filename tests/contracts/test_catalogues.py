"""Catalogues of sentences: whole in every language, and naming only facts that are there."""

import functools
import re
import tomllib
from collections import Counter
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from types import UnionType
from typing import Annotated, Union, get_args, get_origin, get_type_hints

import pytest

from reportgen.measurements import CODES, LOGS, MEASUREMENTS, OF_A_SURFACE, STATEMENTS, TESTS, WORDS
from reportgen.pdf.fonts import drawable
from reportgen.references import COMPARATOR_GRADES, citation_keys
from reportgen.results import BudgetLine, SamplingPart, Verdict
from reportgen.results.codes import WORDS as OWN_WORDS
from reportgen.results.codes.coating import TimeAllowed, TimeTaken
from reportgen.results.codes.doubts import Asked
from reportgen.results.codes.profile import SpotCame, SpotsMissing
from reportgen.results.facts import Amount, Facts, Nothing, Place, Stated, Word
from reportgen.results.statements import CheckCode, Code, GapCode, StepCode, TaskCode, words_of
from reportgen.results.values import Bounded
from reportgen.units import Quantity
from reportgen.words.catalogue import languages
from reportgen.words.sentences import part_name, sentences, sources
from reportgen.words.told import GROUP as FOUND
from reportgen.words.told import said, told, told_from_json, told_json
from tests.contracts.codes_found import CODES_FOUND

GROUPS = {
    Code: ("finding", "observed", "required", "told", "meaning", "rule", "remedy"),
    TaskCode: ("task", "because"),
    GapCode: ("left-out",),
    CheckCode: ("check-of", "checked", "check-required"),
}
"""Groups in which each code of a kind of statement needs its sentence; a step stands in the group it names."""
OF_A_LIMIT = ("limit", "whole-limit", "applied", "method", "entry", "note")
"""Groups whose sentences are filled in with the limit of a kind of measurement."""
OF_A_RESULT = ("result", "follows", "measured", "rule-of", "derived")
"""Groups whose sentences are filled in with a result of a kind of measurement."""
BARE = {
    "finding",
    "meaning",
    "rule",
    "remedy",
    "measurement",
    "topic",
    "sheet",
    "ask",
    "without-limit",
    "comparator-grade",
}
"""Groups whose sentences are filled in with nothing."""
GIVEN = {"told": {"observed", "required"}}
"""What a group is filled in with instead of facts and place."""
MORE = {
    "task": {"count"},
    "told": {"task"},
    "short": {"allowed"},
    "check-of": {"subject"},
    "checked": {"subject"},
    "check-required": {"subject"},
}
"""What a group may name besides facts and place."""
AROUND = {"why": {"grade"}}
"""What words of a closed list name of the facts that they stand among, where not all of those have it."""
STEPS = {"spot": SpotCame, "spot-without": SpotCame, "budget-line": BudgetLine, "sampled": SamplingPart}
"""Steps of a derivation that are facts, with their kind."""
OTHERS = {
    "limit.time-to-coat": TimeAllowed,
    "limit.time-to-coat-derived": TimeAllowed,
    "measured.time-to-coat": Nothing,
    "result.time-to-coat": TimeTaken,
    "result.not-coated": Nothing,
    # no sheet has a field for a warmest steel
    **{f"asked.{usual}": Asked for usual in WORDS["usual"] if usual != "warmest-colder"},
}
"""The sentences that are filled in with facts and belong to no code and no kind of measurement."""
SHARED = {
    "seen.finding": {"location", "observed", "code"},
    "reason.counted": {"code", "location", "observed", "accepted"},
    "reason.more": {"count"},
    "reason.not-inspected": {"why"},
    "asked.released-by": set(),
    "list.separator": set(),
    **{f"signature-field.{kind}": {"number"} for kind in ("Inspector", "Engineer", "Countersigner", "Renewal")},
    "list.and": set(),
    "list.and-as": set(),
    "list.semicolon": set(),
    "note.open": {"nonconformance", "description"},
    "note.in-part": {"by_now", "size"},
    "note.open-everywhere": {"nonconformance", "description"},
    "note.closed-by": {"report"},
    "place.locations": {"count", "names"},
    "place.clause": {"clause"},
    "deadline.coat-by": {"area", "until"},
    "too-late.primed": {"time"},
    "too-late.primed-rework": {"time"},
}
"""The sentences that are filled in with no facts, and what each may name."""
TOLD = {one.name: one for one in STATEMENTS if isinstance(one, TaskCode) and sentences().knows("told", one.name)}
"""Things to do that a check tells in a sentence of their own."""
LANGUAGES = languages(drafts=False)
IN_BOTH = {
    "RSA", "SHA", "Unicode", "UTF", "JSON", "MiB", "PDF", "PAdES", "was", "manifest",
    "rules", "edition", "issued", "files", "role", "sha", "attachment", "name",  # members of files
}  # fmt: skip
"""Words of what `verify` finds that are the same in English and in German."""
PLACE = {field.name for field in fields(Place)}
NAME = re.compile(r"\{(\w+)[}:]")
UNFILLED = re.compile(r"(?<!: )[\[{}]|[\]{}](?!`)|None\b(?!:)")
"""What a sentence must not show; a remedy may begin with ``None:``."""


@functools.cache
def entries(language):
    """Every entry of a language as it stands in its files: group, key, text."""
    return [
        (group, key, text)
        for source in sources(language)
        for group, texts in tomllib.loads(source.read_text("utf-8")).items()
        for key, text in texts.items()
    ]


def hints_of(kind):
    """Types of the fields of a kind of facts; a word's is annotated with its closed list."""
    return get_type_hints(kind, include_extras=True)


def stated(make):
    """The kind of facts that a function makes."""
    return get_type_hints(make)["return"]


def kinds_of(statement):
    """Every kind of facts of a code."""
    return statement.kinds if isinstance(statement, Code) else (statement.facts,)


def is_facts(hint):
    """Whether a type is a kind of facts."""
    return is_dataclass(hint) and issubclass(hint, Facts)


def within(hint):
    """Kinds of facts and annotated words that a type holds, without those that stand in its facts."""
    if is_facts(hint) or get_origin(hint) is Annotated:
        yield hint
    else:
        for part in get_args(hint):
            yield from within(part)


def held(kind):
    """Kinds of facts and annotated words in the fields of a kind of facts itself."""
    return [one for hint in hints_of(kind).values() for one in within(hint)]


def all_kinds():
    """Every kind of facts that is stated, and every one that stands within others, by the key of its sentence."""
    tops = [kind for one in STATEMENTS for kind in kinds_of(one)]
    tops += [*STEPS.values(), *OTHERS.values(), Bounded]
    tops += [stated(make) for kind in MEASUREMENTS for make in (kind.limit_facts, kind.result_facts)]
    parts, todo = {Bounded}, [*tops]
    while todo:
        new = {one for one in held(todo.pop()) if is_facts(one)} - parts
        parts |= new
        todo += new
    return {*tops, *parts}, {part_name(part): part for part in parts}


KINDS, PARTS = all_kinds()


def groups_of(kind):
    """Groups of the closed lists from which a kind of facts takes its words itself."""
    return {one.__metadata__[0] for one in held(kind) if get_origin(one) is Annotated}


def groups_for(statement):
    """Groups in which a code needs its sentence."""
    return (statement.group,) if isinstance(statement, StepCode) else GROUPS[type(statement)]


def keys_of(statement, group, language):
    """Keys of the sentences of a code in a group: of each kind of facts that has one, and of all that have none."""
    own = [f"{statement.name}.{part_name(kind)}" for kind in kinds_of(statement)]
    there = [key for key in own if sentences(language).knows(group, key)]
    return there if len(there) == len(own) else [*there, statement.name]


def facts_of(group, key):
    """The kinds of facts that the sentence of a group is filled in with."""
    own = {f"told.{name}": task.facts for name, task in TOLD.items()} | OTHERS
    if f"{group}.{key}" in own:
        return [own[f"{group}.{key}"]]
    if group == "part":
        return [PARTS[key]]
    if group == "step" and key in STEPS:
        return [STEPS[key]]
    for one in STATEMENTS:
        if key.split(".")[0] == one.name and group in groups_for(one):
            return [kind for kind in kinds_of(one) if key == f"{one.name}.{part_name(kind)}"] or kinds_of(one)
        if group == "short" and key.split(".")[0] == one.name:
            return [kind for kind in kinds_of(one) if key == f"{one.name}.{part_name(kind)}"] or kinds_of(one)
    for kind in MEASUREMENTS:
        if kind.key == key.split(".")[0] and group in (*OF_A_LIMIT, *OF_A_RESULT):
            bare = group == "entry" and kind in LOGS  # the sheet has it without a limit as well
            return [] if bare else [stated(kind.limit_facts if group in OF_A_LIMIT else kind.result_facts)]
    return []


def needed(language):
    """Every group and key that there must be."""
    for one in STATEMENTS:
        for group in groups_for(one):
            yield from ((group, key) for key in keys_of(one, group, language))
    yield from ((FOUND, code) for code in CODES_FOUND)
    yield from ((FOUND, f"differs-in-{one}") for one in WORDS["slip-difference"] if one not in ("release", "primed"))
    yield from (("step", key) for key in STEPS)
    yield from (("comparator-grade", f"{one}{of}") for one in COMPARATOR_GRADES for of in ("", " G", " S"))
    yield from (("told", key) for key in TOLD)
    yield from (("part", key) for key in PARTS)
    yield from ((group, key) for group, keys in WORDS.items() for key in keys)
    yield from (tuple(name.split(".")) for name in (*SHARED, *OTHERS))
    for kind in MEASUREMENTS:
        yield from ((group, kind.key) for group in groups_of_measurement(kind))
        yield from (("entry", f"{kind.key}.{one.field}") for one in kind.entries)
        yield from (("topic", one.topic) for one in kind.formulas)


def groups_of_measurement(kind):
    """Groups in which a kind of measurement needs its sentence."""
    yield from ("limit", "method", "result", "measurement")
    yield from () if kind in LOGS else ("applied",)
    yield from () if kind in OF_A_SURFACE else ("entry",)
    yield from ("measured",) if kind.derived or "budgets" in kind.result.__dataclass_fields__ else ()
    yield from ("measured", "rule-of", "derived") if kind.bears_on else ()
    yield from ("without-limit",) if kind.subject else ()


def optional():
    """Every group and key that there may be; a finding said in fewer words than what was observed, for page 1."""
    yield from (("short", name) for name in CODES)
    yield from (("short", f"{one.name}.{part_name(kind)}") for one in STATEMENTS for kind in kinds_of(one))
    for kind in MEASUREMENTS:
        yield from (("exported", f"{kind.key}.{name}") for name in kind.exported)
        yield from ((group, kind.key) for group in ("whole-limit", "sheet", "note", "follows"))
        yield from (("ask", f"{kind.key}.{one.field}") for one in kind.entries)


def allowed(group, key):
    """Names that a sentence may use."""
    if group == FOUND:
        return CODES_FOUND[key]
    if f"{group}.{key}" in SHARED:
        return SHARED[f"{group}.{key}"]
    if group in BARE:
        return set()
    if group in GIVEN and key not in TOLD:
        return GIVEN[group]
    if group == "exported":
        return {name for kind in MEASUREMENTS if key.startswith(f"{kind.key}.") for name in kind.exported}
    words = group in WORDS
    kinds = [kind for kind in KINDS if group in groups_of(kind)] if words else facts_of(group, key)
    named = [{field.name for field in fields(kind)} for kind in kinds]
    more = AROUND.get(group, set()) | MORE.get(group, set())
    return PLACE | more | (set.intersection(*named) if named else set())


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_every_sentence_and_no_other(language):
    found = [(group, key) for group, key, _ in entries(language)]
    assert [one for one, times in Counter(found).items() if times > 1] == []
    wanted = set(needed(language))
    assert wanted - set(found) == set()
    assert set(found) - wanted - set(optional()) == set()


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
    assert "maximum_staining" not in allowed("applied", "salts")
    assert "grade" not in allowed("verdict", "conforms")


TIMED = {
    key.split(".")[0]
    for group, key, text in entries("en")
    if group in ("observed", "required") and "{time}" in re.sub(r"\[[^]]*\]", "", text)
}
"""Findings that always have a time."""
NAMED = {
    (group, key): {name for language in LANGUAGES for found, own, text in entries(language)
                   if (found, own) == (group, key) for name in NAME.findall(text)}
    for group in AROUND for key in WORDS[group]
}  # fmt: skip
"""What words name of the facts that not all of those have that they stand among."""


def examples(kind, *, full):
    """Facts of a kind with a value in every field, or in none that may be empty; with each word of a list."""
    longest = max((len(WORDS[group]) for group in groups_of(kind)), default=1)
    return [example(kind, full=full, nth=nth) for nth in range(longest)]


def example(kind, *, full, nth=0):
    """Facts of a kind, with the nth word of each list that names nothing which is not there."""
    hints = hints_of(kind)
    made = {field.name: value(hints[field.name], field, full=full, nth=nth) for field in fields(kind)}
    there = {name for name, one in made.items() if one is not None}
    for name, one in made.items():
        if isinstance(one, Word) and NAMED.get((one.group, one.key), set()) - there:
            made[name] = next(Word(one.group, key) for key in WORDS[one.group] if not NAMED[one.group, key])
    return kind(**made)


def value(hint, field, *, full, nth):
    """A value of a type that facts may have; of several kinds, the nth."""
    origin, members = get_origin(hint), [part for part in get_args(hint) if part is not type(None)]
    if origin is Annotated:
        group, _ = hint.__metadata__
        return Word(group, WORDS[group][nth % len(WORDS[group])])
    if origin is tuple:  # without a default it is never empty, and no member says nothing
        there = full or field.default is MISSING
        return (value(members[0], field, full=True, nth=nth),) if there else ()
    if members:
        absent = len(members) < len(get_args(hint)) and not full
        return None if absent else value(members[nth % len(members)], field, full=full, nth=nth)
    if is_facts(hint):
        return example(hint, full=full, nth=nth)
    return EXAMPLES[hint]


EXAMPLES = {
    int: 2, bool: True, str: "x", Decimal: Decimal("1.0"), Amount: Amount(Decimal("1.0"), "mil"),
    Stated: Stated("observed", "spots-missing", SpotsMissing(1, 2)),
}  # fmt: skip


@pytest.mark.parametrize("full", [True, False])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("statement", STATEMENTS, ids=lambda one: one.name)
def test_every_code_is_rendered(statement, language, full):
    place = Place("A", "1", "a", "06:40" if full or statement.name in TIMED else None)
    for facts in (facts for kind in kinds_of(statement) for facts in examples(kind, full=full)):
        for text in rendered(sentences(language), statement, facts, place):
            assert text.strip() == text != ""
            assert not UNFILLED.search(text), f"{text!r} shows an empty fact; a remedy that is none begins `None: `"


@pytest.mark.parametrize("statement", [one for one in STATEMENTS if isinstance(one, Code)], ids=lambda one: one.name)
def test_what_a_code_observed_is_said_in_every_language_after_an_index_kept_it(statement):
    place = Place("A", "1", "a", "06:40")
    for facts in (facts for kind in kinds_of(statement) for facts in examples(kind, full=True)):
        found = statement.found(facts, place)
        kept = told_from_json(told_json(told("finding-of-area", number="N-1", area="A", what=found)))
        for language in LANGUAGES:
            assert said(kept, language).endswith(f"A: {sentences(language).observed(found)}")


def rendered(said, statement, facts, place):
    """Every sentence that is made of a code with such facts."""
    if isinstance(statement, Code):
        made = statement.found(facts, place)
        return [said.observed(made), said.required(made), said.told(made), *said.explained(made.code).values()]
    if isinstance(statement, TaskCode):
        made = statement.due(facts, place, count=2)
        return [said.task(made), said.because(made)]
    if isinstance(statement, StepCode):
        return [said.text(statement.of(facts, place))]
    if isinstance(statement, CheckCode):
        made = statement.of("g1", facts, "conforms")
        return [said.check_of(made), said.checked(made), said.check_required(made)]
    return [said.left_out(statement.at(facts, place))]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", MEASUREMENTS, ids=lambda one: one.key)
def test_every_kind_of_measurement_is_rendered(kind, language):
    said, place = sentences(language), Place("A", "1", "a", "06:40")
    for group in {*groups_of_measurement(kind), "entry"} - BARE:
        keys = [f"{kind.key}.{one.field}" for one in kind.entries] if group == "entry" else [kind.key]
        make = kind.limit_facts if group in OF_A_LIMIT else kind.result_facts
        for facts in examples(stated(make), full=True):
            texts = [said.say(group, key, facts, place) for key in keys]
            assert [text for text in texts if not text.strip() or UNFILLED.search(text)] == []


def vars_of(facts):
    """Fields of facts by their names."""
    return {field.name: getattr(facts, field.name) for field in fields(facts)}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_part_and_every_word_is_rendered(language):
    said = sentences(language)
    made = [said.shown(facts) for kind in PARTS.values() for facts in examples(kind, full=True)]
    place = vars_of(Place("A", "1", "a", "06:40"))
    for facts in (facts for kind in KINDS for facts in examples(kind, full=True)):
        around = place | vars_of(facts)
        made += [said.shown(one, around) for one in around.values() if isinstance(one, Word)]
    assert [text for text in made if not text.strip() or UNFILLED.search(text)] == []


def test_the_closed_lists_are_those_of_the_formulas_and_of_the_models():
    from reportgen.measurements.conditions.uncertainty import _FIELDS
    from reportgen.measurements.salts import SaltLimit, codes
    from reportgen.metrology import comparison, conductivity, conformity, plausibility, tape, uncertainty

    assert set(WORDS["tape-grade"]) == set(get_args(tape.Grade))
    assert set(WORDS["overlap-rule"]) == set(get_args(tape.OverlapRule))
    assert set(WORDS["how"]) == {*get_args(tape.How), "compared"}
    assert set(WORDS["why"]) == {*get_args(tape.Reason), "as-taken", "read-twice"}
    assert set(WORDS["decision-rule"]) == set(get_args(conformity.DecisionRule))
    assert set(WORDS["guard-band"]) == set(get_args(conformity.Band))
    assert set(WORDS["distribution"]) == set(get_args(uncertainty.Distribution))
    assert set(WORDS["usual"]) == set(get_args(plausibility.DoubtKind))
    assert set(WORDS["verdict"]) == set(get_args(Verdict))
    limited = set(get_args(SaltLimit.model_fields["expressed_as"].annotation))
    assert set(WORDS["expressed-as"]) == {*limited, codes.CHLORIDE_BY_CONDUCTIVITY}
    assert set(WORDS["tests"]) == {"reading", "comparison", *(kind.key for kind in (*OF_A_SURFACE, *TESTS))}
    gauge = uncertainty.Gauge("mil", 1, 1, 2, 1, 1, 1, 1, 1)
    one = uncertainty.location_budget(gauge, uncertainty.Pooled(1, 2), 2).components
    mean = uncertainty.area_budget(gauge, 1, 2).components
    read = uncertainty.instrument_components("relative humidity", uncertainty.Errors("%", 3, 1, 2, 1))
    salts = tuple(_parts_of_salts(conductivity, uncertainty.Errors("uS/cm", 1)))
    compared = comparison.mean_difference(
        [1, 3],
        [part for known in ({"stated": 1}, {"accuracy": 1}) for part in comparison.error_of_the_other("mil", **known)],
        "mil",
    )[1].components
    named = {part.name for part in (*one, *mean, *salts, *compared)} | {"conductivity meter", "instrument"}
    assert named | _FIELDS.keys() == set(WORDS["component"])
    at_reading = uncertainty.gauge_components(uncertainty.Gauge("mil", accuracy_share=1).at_reading(1))
    sources = {part.source for part in (*one, *mean, *read, *salts, *at_reading)} | {"contract", "stated-repeatability"}
    assert sources - set(citation_keys()) == set(WORDS["budget-source"])


def _parts_of_salts(conductivity, errors):
    """Every component of a salt test with all its errors stated, inside and beyond the published range."""
    ml, cm2 = Quantity(Decimal(3), "ml"), Quantity(Decimal(12), "cm2")
    made = conductivity.Extraction(Quantity(Decimal(9), "uS/cm"), Quantity(Decimal(1), "uS/cm"), ml, cm2, ml, cm2)
    for text in ("10", "50"):
        density = Quantity(Decimal(text), "mg/m2")
        precision = conductivity.salt_precision_component(density)
        yield from conductivity.salt_budget(
            density, made, 5, precision, at_sample=errors, at_blank=errors
        ).components  # fmt: skip


def test_some_fact_has_words_of_each_closed_list():
    groups = [*OWN_WORDS, *(group for kind in MEASUREMENTS for group in words_of(kind.codes))]
    assert set(groups) == WORDS.keys() == {"topic"} | {group for kind in KINDS for group in groups_of(kind)}


def test_what_is_only_observed_is_never_told_as_out_of_limits():
    """`check` would tell it as noted."""
    assert [one.name for one in CODES.values() if one.severity == "observation" and one.part == "out of limits"] == []


def test_names_are_of_one_code_each_and_a_task_answers_a_finding():
    names = [one.name for one in STATEMENTS]
    assert len(names) == len(set(names))
    assert {one.answers for one in STATEMENTS if isinstance(one, TaskCode)} - {None} <= CODES.keys()
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", name) for name in names)


def test_facts_have_only_the_types_that_facts_may_have():
    plain = {int, str, bool, Decimal, Amount, Stated, type(None)}

    def fit(hint):
        if get_origin(hint) is Annotated:
            return hint.__origin__ is Word and hint.__metadata__[0] in WORDS
        if get_origin(hint) in (tuple, Union, UnionType):
            return all(fit(part) for part in get_args(hint) if part is not Ellipsis)
        return hint in plain or is_facts(hint)

    for kind in KINDS:
        assert [name for name, hint in hints_of(kind).items() if not fit(hint)] == [], kind
        assert all(field.default is MISSING or field.default in (None, ()) for field in fields(kind)), kind


def test_a_code_that_has_no_sentence_and_one_that_nothing_finds_would_be_found():
    assert {"issuer-unknown", "step-not-done", "proof-unchanged", "broke-value"} <= CODES_FOUND.keys()
    assert CODES_FOUND["step-not-done"] == {"number", "why"}
    assert "never-told" not in CODES_FOUND


def test_what_verify_finds_is_said_in_german_without_an_english_word():
    """Of the words of an English sentence none stands in the German one that is not both; both name the same facts."""
    told = {language: {key: text for one, key, text in entries(language) if one == FOUND} for language in ("en", "de")}
    common, facts = {}, {}
    for code, english in told["en"].items():
        texts = (english, told["de"][code])
        bare = [re.sub(r"\{[^}]*\}|`[^`]*`", " ", text) for text in texts]
        one, other = (set(re.findall(r"[A-Za-zÄÖÜäöüß]{3,}", text)) for text in bare)
        common |= {code: words} if (words := (one & other) - IN_BOTH) else {}
        named = [set(NAME.findall(text)) for text in texts]
        facts |= {code: named} if named[0] != named[1] else {}
    assert (common, facts) == ({}, {})
