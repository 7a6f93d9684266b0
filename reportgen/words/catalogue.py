"""The language catalogue: every word the tool itself prints, by key. Another language is another data file."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources

from reportgen.errors import UsageError
from reportgen.words.editions import WORDS_EDITION, earlier_texts

LANGUAGE = "en"
_COUNTED = 12


class Words:
    """Texts of one language; what a catalogue lacks is taken from English, which is complete."""

    def __init__(self, language: str, texts: dict[str, str], fallback: dict[str, str]) -> None:
        self.language = language
        self._texts = texts
        self._fallback = fallback
        self.lowers = texts.get("nouns", fallback.get("nouns")) != "capital"
        """Whether a name put into a sentence begins with a small letter; not so in German."""

    def __call__(self, key: str, /, **values: object) -> str:
        """Return the text of a key with its ``{names}`` filled in; KeyError for a key English does not have."""
        text = self._texts.get(key)
        if text is None:
            text = self._fallback[key]
        return text.format_map(values) if values else text

    def knows(self, key: str) -> bool:
        """Whether the catalogue has a text for a key."""
        return key in self._texts or key in self._fallback

    def named(self, group: str, code: str) -> str:
        """Return the text of ``group.code``, or the code in plain words when it is new to the catalogue."""
        key = f"{group}.{code}"
        return self(key) if self.knows(key) else code.replace("-", " ").capitalize()

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


def languages() -> list[str]:
    """Return the languages that have a catalogue."""
    folder = resources.files("reportgen.words").joinpath("data")
    return sorted(item.name.removesuffix(".json") for item in folder.iterdir() if item.name.endswith(".json"))
