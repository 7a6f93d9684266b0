"""The words of the pages: whole in both languages, naming the same facts, and every one of them used."""

import re
from pathlib import Path

import pytest

from reportgen.browser.texts import LANGUAGES, groups, texts

ROOM = Path(__file__).parents[3] / "reportgen" / "browser"
NAME = re.compile(r"\{(\w+)[}:]")


def entries(language):
    return {(group, key): text for group, several in groups(language).items() for key, text in several.items()}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_says_everything_and_names_the_same_facts(language):
    own, english = entries(language), entries("en")
    assert own.keys() == english.keys()
    assert {key for key, text in own.items() if set(NAME.findall(text)) != set(NAME.findall(english[key]))} == set()


def test_no_text_is_left_over():
    """Those of some groups are asked for with names that a file, or a form, holds."""
    source = "".join(path.read_text("utf-8") for path in [*ROOM.glob("*.py"), *ROOM.glob("templates/*.html")])
    asked = set(re.findall(r"""["'](\w+\.[\w-]+)["']""", source))
    by_name = set(re.findall(r"""["'](\w+)\.(?:\{|["'] ~)""", source)) | {
        "name",
        "seen",
        "clean",
        "choice",
        "of-report",
    }
    assert [
        f"{group}.{key}" for group, key in entries("en") if f"{group}.{key}" not in asked and group not in by_name
    ] == []


def test_a_text_is_filled_in():
    say = texts("en")
    assert say("state.missing", count=1) == "1 thing is missing."
    assert say("state.missing", count=5) == "5 things are missing."
    assert say("shift.limits", limits="1.8 mil to 3.3 mil", clause=None) == "1.8 mil to 3.3 mil"
    assert texts("xx").language == "en"
    assert [texts("en").left(205), texts("en").left(-25)] == ["in 3 h 25 min", "25 min ago"]
