"""The words of the pages: whole in both languages, naming the same facts, and every one of them used."""

import ast
import re
from pathlib import Path

import jinja2
import pytest
from jinja2 import nodes

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


def asked_in_python():
    """Yield each text that is asked for by its whole name, with the facts given; None where they are many."""
    for path in ROOM.glob("*.py"):
        calls = [one for one in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(one, ast.Call) and one.args]
        for call in calls:
            first = call.args[0]
            keys = [first.body, first.orelse] if isinstance(first, ast.IfExp) else [first]
            given = {one.arg for one in call.keywords}
            for key in keys:
                if isinstance(key, ast.Constant) and getattr(call.func, "attr", "") not in ("knows", "get"):
                    yield path.name, key.value, None if None in given else given


def asked_in_templates():
    for path in ROOM.glob("templates/*.html"):
        for call in jinja2.Environment(autoescape=True).parse(path.read_text("utf-8")).find_all(nodes.Call):
            if call.args and isinstance(call.args[0], nodes.Const):
                yield path.name, call.args[0].value, {one.key for one in call.kwargs}


def test_every_text_is_given_the_facts_that_it_names():
    own = {f"{group}.{key}": set(NAME.findall(text)) for (group, key), text in entries("en").items()}
    asked = [one for one in (*asked_in_python(), *asked_in_templates()) if one[1] in own]
    assert len(asked) > 400
    assert [one for one in asked if one[2] is not None and own[one[1]] - one[2]] == []


def test_a_fact_of_a_text_may_have_any_name(monkeypatch):
    names = ("self", "key", "group", "code", "name", "facts", "place", "text", "more")
    own = texts("en")
    monkeypatch.setitem(own.groups, "any", {"any": " ".join(f"{{{one}}}" for one in names)})
    assert own("any.any", **{one: one for one in names}) == " ".join(names)


def test_german_calls_a_hold_what_the_report_calls_it():
    """A hold point is a term of its own."""
    said = {key: text for key, text in entries("de").items() if re.search(r"\bHalts?\b", text)}
    assert said == {}
    assert texts("de")("decision.hold").lower() == texts("de")("sign.hold").lower() == "zurückgestellt"


def test_a_text_is_filled_in():
    say = texts("en")
    assert say("state.missing", count=1) == "1 thing is missing."
    assert say("state.missing", count=5) == "5 things are missing."
    assert say("shift.limits", limits="1.8 mil to 3.3 mil", clause=None) == "1.8 mil to 3.3 mil"
    assert texts("xx").language == "en"
    assert [texts("en").left(205), texts("en").left(-25)] == ["in 3 h 25 min", "25 min ago"]
