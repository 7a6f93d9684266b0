"""The words of submittal and audit report: a catalogue of their own, English where a language lacks it."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources

from reportgen.words.catalogue import Words


@cache
def filing_words(language: str) -> Words:
    """Return the catalogue for ``language``; texts it lacks are English."""
    folder = resources.files("reportgen.words").joinpath("data/filing")
    english = json.loads(folder.joinpath("en.json").read_text("utf-8"))
    own = folder.joinpath(f"{language}.json")
    texts = json.loads(own.read_text("utf-8")) if own.is_file() else english
    return Words(language if texts is not english else "en", texts, english)
