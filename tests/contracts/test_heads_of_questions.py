"""Every column that a question answers with has words in every language, and so has the question."""

import json
import sqlite3
from importlib import resources

import pytest

from reportgen.audit import QUESTIONS

PACKAGE = resources.files("reportgen")


def heads(question):
    database = sqlite3.connect(":memory:")
    database.executescript(PACKAGE.joinpath("audit/schema.sql").read_text("utf-8"))
    answer = database.execute(question.query.replace("{where}", "1"), {"as_of": "2026-01-01"})
    return question.made([]).heads if question.made else [column[0] for column in answer.description]


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("name", QUESTIONS)
def test_every_head_of_every_question_has_words(name, language):
    own = json.loads(PACKAGE.joinpath(f"words/data/filing/{language}.json").read_text("utf-8"))
    needed = {f"question.{name}", *(f"column.{head}" for head in heads(QUESTIONS[name]))}
    assert needed - own.keys() == set()
