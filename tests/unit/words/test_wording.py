import json
import re
from importlib import resources
from pathlib import Path

import pytest

from reportgen.errors import UsageError
from reportgen.pdf.fonts import drawable
from reportgen.words.catalogue import Words, catalogue, languages

PAGES = Path(__file__).parents[3] / "reportgen" / "report"
FOLDER = resources.files("reportgen.words").joinpath("data")
TEXTS = {name: json.loads(FOLDER.joinpath(f"{name}.json").read_text("utf-8")) for name in languages(drafts=False)}
NAMED_ONLY = ("finding", "instrument")  # groups whose codes English prints in plain words


def test_there_is_english_and_at_least_one_more():
    assert "en" in languages()
    assert len(languages()) > 1


@pytest.mark.parametrize("language", sorted(set(TEXTS) - {"en"}))
def test_a_translation_is_complete_and_fills_in_the_same_names(language):
    english, other = TEXTS["en"], TEXTS[language]
    assert set(english) - set(other) == set()
    assert {key for key in set(other) - set(english) if key.split(".")[0] not in NAMED_ONLY} == set()
    fields = re.compile(r"\{\w+\}")
    assert [key for key in english if set(fields.findall(english[key])) != set(fields.findall(other[key]))] == []


@pytest.mark.parametrize("language", sorted(TEXTS))
def test_every_text_can_be_printed(language):
    assert {key: found for key, text in TEXTS[language].items() if (found := drawable(text)) != text} == {}


def test_every_key_in_the_source_is_in_the_catalogue():
    keys = set()
    for module in PAGES.glob("*.py"):
        keys |= set(re.findall(r'\bwords\(\s*"([a-z0-9._ -]+)"', module.read_text("utf-8")))
    assert len(keys) > 120
    assert keys - set(TEXTS["en"]) == set()


def test_a_language_without_a_catalogue_is_refused_with_the_ones_there_are():
    with pytest.raises(UsageError, match="there is no language `xx`") as caught:
        catalogue("xx")
    assert "`en`" in caught.value.help_text


def test_what_a_catalogue_lacks_is_taken_from_english():
    words = Words("xx", {"a": "A"}, {"a": "a", "b": "b {n}"})
    assert (words("a"), words("b", n=2)) == ("A", "b 2")
    with pytest.raises(KeyError):
        words("c")


def test_codes_new_to_the_catalogue_are_printed_in_plain_words():
    words = catalogue("en")
    assert words.named("finding", "wind-too-strong") == "Wind too strong"
    assert words.named("disposition", "use-as-is") == "use as is"
    assert (words.count(3), words.count(300)) == ("three", "300")
