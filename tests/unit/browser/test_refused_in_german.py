"""What the loader says of an entry, said in German by its pattern and never by reading the English sentence."""

import ast
import copy
import string
import tomllib
from pathlib import Path

import pytest

from reportgen.browser.contents import diagnostic_text, objection_text
from reportgen.browser.texts import Texts
from reportgen.diagnostics import Phrase
from reportgen.errors import InputError
from reportgen.loader import load_job
from tests import footbridge

PACKAGE = Path(__file__).parents[3] / "reportgen"
SAID = tomllib.loads((PACKAGE / "browser/data/refused-de.toml").read_text("utf-8"))["said"]
GERMAN = Texts("de")
WRONG = {
    "unit": (
        ("calibrated: 2026-01-10", "calibrated: 2026-01-1"),
        "`2026-01-1` ist kein Datum: Jahr-Monat-Tag schreiben, etwa `2026-05-14`",
    ),
    "zone": (
        ("time_zone: UTC", "time_zone: nowhere"),
        "`nowhere` ist keine bekannte Zeitzone: einen Namen schreiben, etwa `Europe/Oslo`, oder `UTC`",
    ),
    "choice": (
        ("tape_rolls:\n  x1: {grade: extra coarse", "tape_rolls:\n  x1: {grade: extra coars"),
        "`extra coars` steht hier nicht zur Wahl: war `extra coarse` gemeint? eines davon schreiben: ",
    ),
    "height": (
        ("minimum: 2.0 mil", "minimum: 2.0"),
        "`2.0` hat keine Einheit: eine Zahl mit Einheit schreiben, etwa `2.0 mil`",
    ),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_wrong_entry_is_told_in_german(tmp_path, wrong):
    (was, entered), told = WRONG[wrong]
    assert was in footbridge.PROJECT
    place = footbridge.folder(tmp_path, project=footbridge.PROJECT.replace(was, entered, 1), day=footbridge.day(1))
    with pytest.raises(InputError) as failed:
        load_job(place / "day.yaml")
    texts = [diagnostic_text(GERMAN, one) for one in failed.value.diagnostics]
    assert [text for text in texts if text.startswith(told)] != [], texts


def test_readings_out_of_order_are_told_in_german_to_the_end(tmp_path):
    """Read by the sentence, this was taken for the entries of a log, and ended in English."""
    first = footbridge.day(1)
    line = next(one for one in first.splitlines() if "location: 2" in one)
    again = line.replace("{", '{time: "09:10", ', 1) + "\n" + line.replace("location: 2", 'time: "09:00", location: 3')
    place = footbridge.folder(tmp_path, day=first.replace(line, again, 1))
    with pytest.raises(InputError) as failed:
        load_job(place / "day.yaml")
    texts = [diagnostic_text(GERMAN, one) for one in failed.value.diagnostics if one.code == "JOB222"]
    told = "09:00 steht hinter 09:10 in der Zeile davor: die Messungen in der Reihenfolge schreiben, "
    assert texts[-1] == told + "in der sie genommen wurden"


@pytest.mark.parametrize(("place", "called"), [
    ("not_inspected[0].reason", "not inspected 1, reason"),
    ("specification.conditions.clause", "clause with the limits of the weather"),
])  # fmt: skip
def test_a_place_of_a_file_is_called_as_the_pages_call_it(place, called):
    told = objection_text(Texts("en"), f"`{place}` is still to be filled in")
    assert told == f"“{called}” is still to be filled in"
    assert place not in objection_text(GERMAN, f"`{place}` is still to be filled in")
    assert objection_text(GERMAN, "`surfaces[0].odd`") == "`surfaces[0].odd`"


def test_every_sentence_that_has_a_german_one_stands_in_the_code():
    written = set()
    for path in PACKAGE.rglob("*.py"):
        written |= {
            node.value for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.Constant)
        }
    assert SAID.keys() - written == set()


def test_a_german_sentence_names_what_its_pattern_names():
    def names(text):
        return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}

    assert {text: other for text, other in SAID.items() if not names(other) <= names(text)} == {}


def test_a_phrase_is_its_english_sentence_and_keeps_its_parts_on_its_way():
    inner = Phrase("`{text}` is no area", text="{x}: y")
    outer = Phrase("{remedy}; past midnight write date and offset, as `{at}`", remedy=inner, at="z")
    again = copy.deepcopy(outer)
    assert again == outer == "`{x}: y` is no area; past midnight write date and offset, as `z`"
    assert objection_text(GERMAN, again) == (
        "`{x}: y` ist keine Fläche; nach Mitternacht mit Datum und Zeitverschiebung schreiben: `z`"
    )
    assert objection_text(Texts("en"), again) == again
