"""One is one: no page says `1 locations`, in any language, and no entry of a catalogue can make one say so."""

import io
import json
import re
import tomllib
from functools import cache
from importlib import resources

import pytest
from pypdf import PdfReader

from reportgen.job.template import Template
from reportgen.loader.template import load_template
from reportgen.pipeline import check
from reportgen.pipeline.building import Terms, build
from reportgen.report.document import render_report
from reportgen.words.catalogue import catalogue, languages
from reportgen.words.sentences import sources
from tests.build_samples import DAYS, issue_time
from tests.golden import demo
from tests.golden import sample_evaluation as sample
from tests.golden.pages import texts_of
from tests.unit.cli.conftest import DAY, PROJECT

BY_NUMBER = re.compile(r"\{\w+:(?:[^|{}]*\|(?=#))?(?:# ?)?([^|{}]*)\|(?:# ?)?([^|{}]*)\}")
NEVER_ONE = {
    "headline.all", "comparison-equal", "comparison-shifted", "series-entered-twice", "series-confirmed",
    "series-entered-twice.series-within", "series-entered-twice.series-reversed", "series-confirmed.series-within",
    "series-confirmed.series-reversed",
    "readings-too-fast", "outlier", "outlier-test", "fields-off-blocks", "alike-same", "alike-as-is", "alike-turned",
    "alike-shifted", "alike-reordered", "alike-run", "surface-narrow", "group-inspector", "group-gauge",
    "digits-heaped", "regular-steps", "regular-period", "unseen-alike", "unseen-regular", "signed-with-one-key",
    "requirements-differ", "copies-signed-apart",
}  # fmt: skip
"""What is said of several alone: the rules that say it ask for more than one."""
DATA = resources.files("reportgen.words").joinpath("data")


@cache
def entries(language):
    """Every text of a language with its key: labels and sentences."""
    labels = json.loads(DATA.joinpath(f"{language}.json").read_text("utf-8"))
    files = [tomllib.loads(source.read_text("utf-8")) for source in sources(language)]
    return [*labels.items(), *(entry for file in files for texts in file.values() for entry in texts.items())]


@cache
def plurals(language):
    """The words that a catalogue uses for several, with that for one."""
    found = {two: one for _, text in entries(language) for one, two in BY_NUMBER.findall(text) if two[:1].isalpha()}
    return {two: one for two, one in found.items() if one != two}


def wrong(text, language):
    """Where a text says one and means several."""
    words = "|".join(sorted(map(re.escape, plurals(language)), key=len, reverse=True))
    return re.findall(rf"(?<![\d.,–:/-])\b1\s+(?:{words})\b(?!-)", text)


def test_the_lists_are_there():
    assert {"locations", "areas", "spots", "readings"} <= plurals("en").keys()
    assert {"Messstellen", "Flächen", "Messpunkte", "Messwerte"} <= plurals("de").keys()
    assert wrong("1 locations, 11 locations, 0.1 spots; of 1 areas", "en") == ["1 locations", "1 areas"]


@pytest.mark.parametrize("language", [one for one in languages() if plurals(one)])
def test_no_entry_counts_with_a_plural_alone(language):
    """A number is followed by a word that goes by it, never by the word for several."""
    words = "|".join(sorted(map(re.escape, plurals(language)), key=len, reverse=True))
    counted = re.compile(rf"\{{\w+\}} (?:{words})\b")
    assert {key for key, text in entries(language) if counted.search(text)} <= NEVER_ONE


def test_a_word_goes_by_its_number():
    words = catalogue("en")
    assert words("result.locations", count=1) == "1 location"
    assert words("result.locations", count=2) == "2 locations"
    assert words("result.locations", count="1") == "1 location"


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_pages_of_a_day_of_which_there_is_one_of_everything(language, tmp_path):
    (tmp_path / "project.yaml").write_text(PROJECT, encoding="utf-8")
    (tmp_path / "day.yaml").write_text(DAY, encoding="utf-8")
    terms = Terms("demonstration", issue_time(DAYS[0]), load_template(f"a4-{language}"))
    smallest = texts_of(build(check(tmp_path / "day.yaml"), terms).pdf)
    drawn = render_report(sample.job(1, 1), sample.evaluation(1, 1), sample.ISSUE, Template(language=language))
    for page in (*smallest, *texts_of(drawn.pdf)):
        assert wrong(page, language) == []


def test_the_stored_pages_and_the_samples():
    stored = (demo.STORED / "2026-06-09.txt").read_text("utf-8")
    assert wrong(" ".join(stored.split()), "en") == []
    for day in DAYS:
        checked = check(day)
        built = build(checked, Terms("demonstration", issue_time(day), load_template("a4-de")))
        german = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(built.pdf)).pages)
        assert wrong(" ".join(german.split()), "de") == []
