"""What was found of a file, as data: a code and its facts. Its sentence is made here, in the language of whoever reads.

As a text it is the English sentence, which is what files for programs hold beside code and facts.
"""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING, Any, Self

from reportgen.diagnostics import printable
from reportgen.errors import ReportgenError, ToldError, kind_of_fault
from reportgen.results import Finding
from reportgen.results.facts import Value
from reportgen.units import decimal_mark
from reportgen.words.catalogue import LANGUAGE, catalogue
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Mapping

GROUP = "verify"
"""Of the catalogue, where the sentence of each code stands."""
_OF_FIELDS = frozenset({"field", "fields", "other", "placed", "named"})
"""Facts that may be names of fields to sign."""

Fact = Any
"""A text, a number, another ``Told``, a finding, which tells what was observed, or a tuple of these.

An empty tuple stands for what is not there.
"""


class Told(str):
    """A code and its facts; its text is the sentence in English.

    ``KeyError`` for a code without a sentence, or a sentence that names another fact.
    """

    code: str
    facts: Mapping[str, Fact]

    def __new__(cls, code: str, facts: Mapping[str, Fact]) -> Self:
        """Make the English sentence."""
        made = super().__new__(cls, _sentence(code, facts, LANGUAGE))
        made.code, made.facts = code, facts
        return made

    def __reduce__(self) -> tuple[type[Told], tuple[str, Mapping[str, Fact]]]:
        """Go whole from one process to another."""
        return type(self), (self.code, self.facts)


def told(code: str, /, **facts: Fact) -> Told:
    """Return what was found; None among ``facts`` stands for what is not there."""
    return Told(code, {name: () if value is None else value for name, value in facts.items()})


def said(text: str, language: str = LANGUAGE) -> str:
    """Return the sentence of what was found in a language; any other text as it is."""
    return _sentence(text.code, text.facts, language) if isinstance(text, Told) else text


def said_as_printed(text: str, language: str) -> str:
    """Return the sentence in a language with the decimal mark of its pages, for a person to read."""
    with decimal_mark(catalogue(language).decimal):
        return said(text, language)


def _sentence(code: str, facts: Mapping[str, Fact], language: str) -> str:
    shown = {name: _fact(value, language, field=name in _OF_FIELDS) for name, value in facts.items()}
    return sentences(language).say(GROUP, code, **shown)


def _fact(value: Fact, language: str, *, field: bool) -> Fact:
    if isinstance(value, tuple):
        return tuple(_fact(one, language, field=field) for one in value)
    if field and type(value) is str:
        return field_in_words(value, language)
    if isinstance(value, Finding):
        return sentences(language).observed(value)
    return said(value, language) if isinstance(value, str) else value


def field_in_words(name: str, language: str) -> str:
    """Return who signs in a field, by its name in the file; any other text as it is.

    >>> field_in_words("Countersigner-2", "de")
    'Mitunterzeichner 2'
    """
    kind, _, number = name.partition("-")
    known = sentences(language)
    return known.say("signature-field", kind, number=number) if known.knows("signature-field", kind) else name


def words_of(fault: BaseException) -> Told:
    """Return what an exception that is worded for a person says, its code and facts where it was made of them."""
    words = fault.message if isinstance(fault, ReportgenError) else fault.args[0] if fault.args else ""
    return words if isinstance(words, Told) else told("in-its-own-words", words=str(words))


def broke(fault: BaseException) -> Told:
    """Return what broke, in words for a person, as ``told_of`` does."""
    if isinstance(fault, ReportgenError | ToldError) or (fault.args and isinstance(fault.args[0], Told)):
        return words_of(fault)
    if isinstance(fault, OSError):
        return told("broke-computer", words=fault.strerror) if fault.strerror else told("broke-undone")
    return told(f"broke-{kind_of_fault(fault)}")


def plain_told(value: Any) -> Any:
    """Return frozen values as JSON types, with code and facts beside each sentence; what has no value is left out.

    Those of a member ``sentence`` are members ``code`` and ``facts``; of any other member they stand in ``told`` under
    its name.
    """
    if isinstance(value, list | tuple):
        return [plain_told(one) for one in value]
    if not is_dataclass(value) or isinstance(value, type):
        return str(value) if isinstance(value, Told) else value
    members = {field.name: getattr(value, field.name) for field in fields(value)}
    made = {name: plain_told(one) for name, one in members.items() if one is not None}
    found = {name: _data(one) for name, one in members.items() if _holds(one)}
    made |= found.pop("sentence", {})
    return made | ({"told": found} if found else {})


def told_again(data: Any) -> Any:
    """Return what ``plain_told`` made with each sentence as ``Told`` again, still as JSON types otherwise.

    ``KeyError``, ``TypeError`` or ``ValueError`` for what it cannot have made.
    """
    if isinstance(data, list):
        return [told_again(one) for one in data]
    if not isinstance(data, dict):
        return data
    made = {name: told_again(one) for name, one in data.items() if name not in ("told", "code", "facts")}
    if "code" in data:
        made["sentence"] = _from_data(data)
    for name, found in data.get("told", {}).items():
        several = isinstance(found, list)
        made[name] = _beside(made[name], found) if several else _from_data(found)
    return made


def _beside(texts: list[str], found: list[Any]) -> list[str]:
    return [text if one is None else _from_data(one) for text, one in zip(texts, found, strict=True)]


def _holds(value: Any) -> bool:
    return isinstance(value, Told) or (isinstance(value, tuple) and any(isinstance(one, Told) for one in value))


def _data(value: Fact) -> Any:
    if isinstance(value, Told):
        return {"code": value.code, "facts": {name: _fact_data(one) for name, one in value.facts.items()}}
    return [_data(one) if isinstance(one, Told) else None for one in value]


def _fact_data(value: Fact) -> Any:
    if isinstance(value, tuple):
        return [_fact_data(one) for one in value]
    if isinstance(value, Decimal):
        return {"number": str(value)}
    if isinstance(value, Value):
        members = {field.name: _fact_data(getattr(value, field.name)) for field in fields(value)}
        return {"kind": _kind(type(value)), "members": members}
    return _data(value) if isinstance(value, Told) else value


def _from_data(data: Any) -> Told:
    try:
        return Told(str(data["code"]), {str(name): _fact_from(value) for name, value in data["facts"].items()})
    except AttributeError as fault:
        raise ValueError("facts of another kind than their sentence wants") from fault


def _fact_from(value: Any) -> Fact:
    if isinstance(value, list):
        return tuple(_fact_from(one) for one in value)
    if isinstance(value, dict):
        return _from_data(value) if "code" in value else _value_from(value)
    if not isinstance(value, str | int):
        raise TypeError("a fact is a text or a whole number")
    return value


def _value_from(data: dict[str, Any]) -> Decimal | Value:
    if "number" in data:
        return Decimal(str(data["number"]))
    members = {name: None if one is None else _fact_from(one) for name, one in data["members"].items()}
    made: Value = _kinds()[data["kind"]](**members)
    return made


@cache
def _kinds() -> Mapping[str, Any]:
    """Return every class of values by its kind."""
    found, todo = dict[str, Any](), [Value]
    while todo:
        below = todo.pop().__subclasses__()
        found |= {_kind(one): one for one in below if "__slots__" in vars(one)}
        todo += below
    return found


def _kind(of: type) -> str:
    return f"{of.__module__}.{of.__qualname__}".removeprefix("reportgen.")


def told_json(one: Told) -> str:
    """Return code and facts as a text, of which ``told_from_json`` makes the same again, with all that shows."""
    return json.dumps(_visible(_data(one)), separators=(",", ":"))


def _visible(data: Any) -> Any:
    if isinstance(data, dict):
        return {name: _visible(one) for name, one in data.items()}
    if isinstance(data, list):
        return [_visible(one) for one in data]
    return printable(data) if isinstance(data, str) else data


def told_from_json(text: str) -> Told:
    """Return what ``told_json`` wrote; ``KeyError``, ``TypeError`` or ``ValueError`` for what it cannot have."""
    return _from_data(json.loads(text))
