"""The language catalogue: every word the tool itself prints, by key. Another language is another data file."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.words.editions import WORDS_EDITION, earlier_texts
from reportgen.words.numbers import by_number, digits

if TYPE_CHECKING:
    from collections.abc import Callable

LANGUAGE = "en"
_COUNTED = 12
_BY_NUMBER = re.compile(r"\{(\w+):([^|{}]*\|[^{}]*)\}")


class Words:
    """Texts of one language; what a catalogue lacks is taken from English, which is complete.

    ``borrowed`` collects what was taken from there, where somebody wants to know.
    """

    def __init__(
        self, language: str, texts: dict[str, str], fallback: dict[str, str], borrowed: set[str] | None = None
    ) -> None:
        self.language = language
        self._texts = texts
        self._fallback = fallback
        self.borrowed = borrowed
        self.draft = texts.get("translation") == "draft"
        """Whether nobody has reviewed the catalogue, and it may lack entries."""
        self.decimal = texts.get("decimal", fallback.get("decimal", "."))
        """The mark between a number and its decimals."""
        self.lowers = texts.get("nouns", fallback.get("nouns")) != "capital"
        """Whether a name put into a sentence begins with a small letter; not so in German."""
        self._small = frozenset(texts.get("small-within", "").split())

    def __call__(self, key: str, /, **values: object) -> str:
        """Return the text of a key with its ``{names}`` filled in; KeyError for a key English does not have.

        ``{count:area|areas}`` is one of two or three by number, as in a sentence.
        """
        own = self._texts.get(key)
        text = self._fallback[key] if own is None else own
        if values:
            text = _BY_NUMBER.sub(lambda found: by_number(found[2], values[found[1]]), text)
            text = text.format_map(
                {name: digits(one) if isinstance(one, Decimal) else one for name, one in values.items()}
            )
        if own is None and self.borrowed is not None:
            self.borrowed.add(text)
        return text

    def noting(self, borrowed: set[str]) -> Words:
        """Return the same texts; what they lack is noted."""
        return Words(self.language, self._texts, self._fallback, borrowed)

    def knows(self, key: str) -> bool:
        """Whether the catalogue has a text for a key."""
        return key in self._texts or key in self._fallback

    def named(self, group: str, code: str) -> str:
        """Return the text of ``group.code``, or the code in plain words when it is new to the catalogue."""
        key = f"{group}.{code}"
        return self(key) if self.knows(key) else code.replace("-", " ").capitalize()

    def within(self, name: str) -> str:
        """Return a name inside a sentence: with a small letter where the language writes its first word so."""
        small = self.lowers or name.replace(",", " ").split(" ")[0] in self._small
        return name[:1].lower() + name[1:] if small else name

    def continued(self, key: str) -> Callable[[str], str]:
        """Return what is said where something goes on upon a later page: of its title ``key``, or of a part by name."""
        again = self if self.knows("continued") else catalogue(self.language)
        return lambda name: again("continued", what=name or self(key))

    def role(self, role: str) -> str:
        """Return a role that is usual in the words of the language, any other as somebody wrote it."""
        key = f"person.{role.lower()}"
        return self(key) if self.knows(key) else role

    def source(self, text: str) -> str:
        """Return the source of a rule with what is described of it in the words of the language; names stay."""
        for key, told in self._texts.items():
            group, _, said = key.partition(".")
            if group in {"source", "confidence"}:
                text = text.replace(said, told)
        return text

    def count(self, number: int) -> str:
        """Return a small number as a word, a larger one in digits."""
        return self(f"number.{number}") if 0 <= number <= _COUNTED else str(number)


@cache
def catalogue(language: str, edition: int = WORDS_EDITION) -> Words:
    """Return the catalogue of a language, in an edition of the words.

    Raises:
        UsageError: when there is none of that name.
    """
    try:
        texts = _labels(f"{language}.json", edition)
        english = texts if language == LANGUAGE else _labels(f"{LANGUAGE}.json", edition)
    except FileNotFoundError as reason:
        known = ", ".join(f"`{name}`" for name in languages())
        raise UsageError(f"there is no language `{language}`", help_text=f"use one of {known}") from reason
    return Words(language, texts, english)


def _labels(file: str, edition: int) -> dict[str, str]:
    texts: dict[str, str] = json.loads(resources.files("reportgen.words").joinpath("data", file).read_text("utf-8"))
    for earlier in earlier_texts(file, edition):
        texts |= json.loads(earlier)
    return texts


def languages(*, drafts: bool = True) -> list[str]:
    """Return the languages that have a catalogue, those of which it is a draft only where asked for."""
    folder = resources.files("reportgen.words").joinpath("data")
    known = sorted(item.name.removesuffix(".json") for item in folder.iterdir() if item.name.endswith(".json"))
    return [name for name in known if drafts or not catalogue(name).draft]
