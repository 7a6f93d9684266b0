"""The words of documents beside the report: catalogues of their own, English where a language lacks them."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources

from reportgen.words.catalogue import Words


def filing_words(language: str) -> Words:
    """Return the catalogue of submittal and audit report for ``language``; texts it lacks are English."""
    return _words_of("filing", language)


def sheet_words(language: str) -> Words:
    """Return the catalogue of the field sheet for ``language``; texts it lacks are English."""
    return _words_of("sheet", language)


@cache
def _words_of(documents: str, language: str) -> Words:
    folder = resources.files("reportgen.words").joinpath(f"data/{documents}")
    english = json.loads(folder.joinpath("en.json").read_text("utf-8"))
    own = folder.joinpath(f"{language}.json")
    texts = json.loads(own.read_text("utf-8")) if own.is_file() else english
    return Words(language if texts is not english else "en", texts, english)
