"""A language that is a draft: one file, English where it lacks something and tagged so, and the pages say it."""

import io
import json
import re
import shutil
from importlib import resources
from pathlib import Path

import pytest
from pypdf import PdfReader

import reportgen
from reportgen.job.template import Template
from reportgen.report.document import render_report
from reportgen.words import catalogue as words
from tests.golden import sample_evaluation as sample
from tests.golden.pages import texts_of

DATA = Path(str(resources.files("reportgen.words"))) / "data"
DRAFTS = sorted(set(words.languages()) - set(words.languages(drafts=False)))


def rendered(language):
    return render_report(sample.job(3, 4), sample.evaluation(3, 4), sample.ISSUE, Template(language=language)).pdf


def elements(pdf):
    """Each element of the structure that holds content: its language if it states one, its text in place of it."""
    reader = PdfReader(io.BytesIO(pdf))
    waiting = [reader.trailer["/Root"]["/StructTreeRoot"]["/K"]]
    while waiting:
        one = waiting.pop().get_object()
        if isinstance(one, list):
            waiting += one
        elif isinstance(one, dict) and "/S" in one:
            yield one["/S"], one.get("/Lang"), one.get("/Alt")
            waiting += [one["/K"]] if "/K" in one else []


def test_there_is_a_draft_and_it_is_one_file():
    assert DRAFTS == ["es"]
    package = Path(reportgen.__file__).parent
    named = {path for path in package.rglob("*") if re.fullmatch(r"(?:.*[._-])?es(?:\.\w+)?", path.name)}
    pages, checking = package / "words" / "data" / "es.json", package / "checker" / "data" / "words" / "es.json"
    assert named == {pages, checking}  # one of the pages of a report, one of the page that checks them
    assert not list((package.parent / "templates").glob("*es*"))


@pytest.mark.parametrize("language", DRAFTS)
def test_what_it_has_fills_in_the_same_names_as_english(language):
    own, english = (json.loads((DATA / f"{name}.json").read_text("utf-8")) for name in (language, "en"))
    assert set(own) - set(english) == set()
    names = re.compile(r"\{(\w+)")
    assert [key for key, text in own.items() if set(names.findall(text)) != set(names.findall(english[key]))] == []


def test_the_pages_say_that_it_is_a_draft():
    pages = texts_of(rendered("es"))
    assert "Traducción en borrador, sin revisar. Lo que le falta está en inglés" in pages[0]
    assert all("Traducción en borrador." in page for page in pages)
    assert "No conforme: de 3 áreas inspeccionadas, liberar 2, rehacer 1." in pages[0]
    for language in words.languages(drafts=False):
        assert all(words.catalogue(language)("translation.page") not in page for page in texts_of(rendered(language)))


def test_what_it_lacks_is_english_and_tagged():
    pdf = rendered("es")
    reader = PdfReader(io.BytesIO(pdf))
    assert reader.trailer["/Root"]["/Lang"] == "es"
    whole = " ".join(texts_of(pdf))
    assert words.catalogue("en")("safety.1") in whole
    told = list(elements(pdf))
    english = [role for role, language, _ in told if language == "en"]
    assert {language for _, language, _ in told} == {None, "en"}
    assert 40 < len(english) < len(told) / 2
    headings = [language for role, language, _ in told if role == "/H1"]
    assert headings == [None]
    assert all(language is None for _, language, _ in elements(rendered("de")))


def test_the_tags_do_not_depend_on_what_was_made_before():
    first = rendered("es")
    rendered("en")
    assert rendered("es") == first


def test_one_more_file_is_one_more_language(tmp_path, monkeypatch):
    shutil.copytree(DATA, tmp_path / "data")
    new = {"translation": "draft", "title": "Contrôle de la préparation de surface", "safety.title": "Précautions"}
    (tmp_path / "data" / "fr.json").write_text(json.dumps(new), "utf-8")
    real = resources.files
    monkeypatch.setattr(resources, "files", lambda name: tmp_path if name == "reportgen.words" else real(name))
    words.catalogue.cache_clear()
    try:
        assert "fr" in words.languages()
        pages = texts_of(rendered("fr"))
    finally:
        words.catalogue.cache_clear()
    assert "Contrôle de la préparation de surface" in pages[0]
    assert "Draft translation, not reviewed." in pages[0]
    assert "Précautions" in " ".join(pages)
