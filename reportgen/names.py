"""How names of people and organisations are compared, wherever they are, and what stands for a name: a pin."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

UNSEEN: Final = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"})
"""General categories of characters that a page does not show: control, format, unassigned, private, line ends."""


@dataclass(frozen=True, slots=True)
class Pin:
    """By which certificate a person signs: the SHA-256 of it; or the SHA-256 of its issuer's, and its subject.

    Hashes are 64 hexadecimal digits in lower case, the subject is written as in RFC 4514.
    """

    certificate: str | None = None
    issuer: str | None = None
    subject: str | None = None


def spelling(name: str) -> str | None:
    """Return how a name is compared: composed (NFC), case folded, blanks joined; nothing is transliterated.

    None for a name with a character that a page does not show, which therefore equals no other, not even itself.
    """
    if any(unicodedata.category(letter) in UNSEEN for letter in name):
        return None
    folded = unicodedata.normalize("NFC", name).casefold()
    return " ".join(unicodedata.normalize("NFC", folded).split())


def spelt_alike(one: str, other: str) -> bool:
    """Say whether two names are one as names are compared everywhere."""
    spelt = spelling(one)
    return spelt is not None and spelt == spelling(other)


def plain_words(name: str) -> tuple[str, ...]:
    """Return the words and numbers of a name: without capitals, blanks, dashes and points."""
    plain = unicodedata.normalize("NFKC", name).casefold()
    return tuple(re.findall(r"\d+|[^\W\d_]+", plain))


def perhaps_one(one: str, other: str) -> bool:
    """Say whether two names may be one person's: the same words in any order, without marks, points and titles.

    For what a person may not do alone: here a doubt is enough, where ``spelt_alike`` must be sure.
    """
    return bool(_words(one)) and _words(one) == _words(other)


def perhaps_one_house(one: str, other: str) -> bool:
    """Say whether two names may be one organisation's: all words of the one among those of the other, in any order.

    Marks, points, capitals and what a company is in law aside. As ``perhaps_one``, for what a doubt forbids.
    """
    first, second = (_words(name) - _LEGAL_FORMS for name in (one, other))
    return bool(first and second) and (first <= second or second <= first)


def _words(name: str) -> frozenset[str]:
    plain = unicodedata.normalize("NFKD", re.sub(r"\(.*?\)", " ", name)).casefold()
    bare = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return frozenset(re.findall(r"\w+", bare)) - _TITLES


_LEGAL_FORMS: Final = frozenset({
    "ltd", "limited", "llc", "llp", "plc", "inc", "incorporated", "corp", "corporation", "co", "company", "gmbh", "mbh",
    "ag", "kg", "ohg", "ug", "se", "sa", "sarl", "srl", "spa", "bv", "nv", "ab", "as", "oy", "and", "und", "the",
})  # fmt: skip
_TITLES: Final = frozenset({"dr", "prof", "ing", "dipl", "mr", "mrs", "ms", "herr", "frau", "eng"})
