"""What a page says is so: a draft is called one, who is not inspected is told apart, German pages are German."""

import datetime as dt
import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from reportgen.formats import plain
from reportgen.issued.extraction import nonconformance_record
from reportgen.job.template import Template
from reportgen.pdf import tightening
from reportgen.pipeline import check
from reportgen.pipeline.building import Terms, build
from reportgen.report import document
from reportgen.report.document import render_report
from reportgen.report.slip import render_slip
from reportgen.words.sentences import sentences
from tests.build_samples import DAYS, issue_time
from tests.golden import sample_evaluation as sample
from tests.golden.pages import report, texts, texts_of


@pytest.mark.parametrize(("language", "said"), [("en", "This is a draft."), ("de", "Dies ist ein Entwurf.")])
def test_a_draft_speaks_of_no_signature_certificate_or_register_of_its_own(language, said):
    whole = " ".join(texts(report(2, 3, language=language, status="draft")))
    assert said in whole
    assert "reportgen verify" not in whole
    for claimed in ("name Not signed", "with the one above", "mit dem oben", "issuer unknown", "signature panel"):
        assert claimed not in whole
    assert "reportgen verify" in " ".join(texts(report(2, 3, language=language)))


def test_a_certificate_is_compared_with_the_one_above_only_where_one_is_printed():
    job, evaluation = sample.job(1, 2), sample.evaluation(1, 2)
    told = [
        " ".join(texts_of(render_report(job, evaluation, replace(sample.ISSUE, certificate=one), Template()).pdf))
        for one in ("", "ab" * 32)
    ]
    assert ["with the one above" in text for text in told] == [False, True]


def test_areas_that_were_not_inspected_are_told_apart_in_the_order_of_the_day_file():
    job = sample.job(1, 3)
    [missed] = job.day.not_inspected
    others = [missed, missed.model_copy(update={"area": "TR-901", "reason": "wet."})]
    day = job.day.model_copy(update={"not_inspected": others})
    pages = texts(render_report(replace(job, day=day), sample.evaluation(1, 3), sample.ISSUE, Template()))
    assert "Not inspected TR-900, TR-901." in pages[0]
    assert "TR-900 Inspect; not inspected today: scaffold not handed over · derived" in pages[0]
    assert "TR-901 Inspect; not inspected today: wet · derived" in pages[0]
    whole = " ".join(pages)
    assert "not inspected: scaffold not handed over. TR-901 was due and not inspected: wet." in whole


def test_the_sample_that_has_least_to_spare_is_told_with_its_own_numbers():
    job, evaluation = sample.job(2, 3), sample.evaluation(2, 3)
    first, second = evaluation.areas
    areas = (
        replace(first, n_locations=3, required_locations=3, reasons=()),
        replace(second, n_locations=5, required_locations=5, decision="release", verdict="conforms", reasons=()),
    )
    whole = " ".join(texts(render_report(job, replace(evaluation, areas=areas, findings=()), sample.ISSUE, Template())))
    assert "TR-1: 3 taken, 3 required; TR-2: 5 taken, 5 required" in whole


def derived(language):
    checked = check(DAYS[1])
    sections = [*Template().sections[:-1], "derivation", "integrity"]
    terms = Terms("demonstration", issue_time(DAYS[0]), Template(language=language, sections=sections))
    pages = PdfReader(io.BytesIO(build(checked, terms).pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_german_derivation_has_german_verdicts_and_decisions_and_sources():
    text = derived("de")
    for english in ("conforms", "two grades of replica tape", "each location average", "from memory"):
        assert english not in text.casefold(), english
    for german in ("Zwei Sorten Abdruckband", "zurückgestellt, wo etwas fehlt", "Schattierungen"):
        assert german in text, german
    assert "Halt" not in text.replace("Haltepunkt", "")
    assert "Verfärbung" not in text
    assert "Prüfer · Ostrel Surface Inspection" in text


def test_a_text_that_is_a_verdict_is_told_in_the_words_of_the_language():
    assert [sentences(one).text("conforms") for one in ("en", "de")] == ["conforms", "erfüllt"]
    assert sentences("de").text("A-1") == "A-1"


@pytest.mark.parametrize("page", ["A4", "letter"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_a_slip_is_one_page_with_a_number_of_its_own(language, page):
    job, evaluation, template = sample.job(2, 3), sample.evaluation(2, 3), Template(language=language, page=page)
    slips = [
        render_slip(job, evaluation, replace(sample.ISSUE, at=sample.ISSUE.at + dt.timedelta(minutes=later)), template,
                    None, "TR-1")
        for later in (0, 1)
    ]  # fmt: skip
    assert [one.pages for one in slips] == [1, 1]
    numbers = [re.search(r"MM-31-IR-007-TR-1-\d{8}", texts_of(one.pdf)[0])[0] for one in slips]
    assert len(set(numbers)) == 2


def test_who_decided_on_a_nonconformance_is_a_name_in_its_record():
    state = {**plain(sample.evaluation(2, 3).nonconformances[0]), "decided_by": "eng"}
    assert nonconformance_record(state, {"eng": "T. Orme"}).decided_by == "T. Orme"
    assert nonconformance_record(state, {}).decided_by == "eng"


def test_compact_areas_tell_size_abrasive_and_nozzle():
    job, evaluation = sample.job(12, 3), sample.evaluation(12, 3)
    surfaces = [
        one.model_copy(update={"blasted": one.blasted.model_copy(update={"nozzle": "no. 6"})})
        for one in job.day.surfaces
    ]
    job = replace(job, day=job.day.model_copy(update={"surfaces": surfaces}))
    whole = " ".join(texts(render_report(job, evaluation, sample.ISSUE, Template())))
    for area in ("TR-3", "TR-12"):
        told = whole[whole.index(f"{area} Trough", whole.index("How a spot was combined")) :][:300]
        for part in ("24 m²", "steel grit", "nozzle no. 6"):
            assert part in told, (area, part)


def test_words_of_spots_are_explained_where_they_stand():
    whole = " ".join(texts(report(2, 3)))
    assert "one, the single reading counts" in whole
    assert "conflict, the readings contradict each other" not in whole


def test_a_last_page_with_little_on_it_is_pulled_back():
    usual = []

    def once(build):
        usual.append(build(lambda one: one)[0].pages)
        return tightening.tightest(build)

    before, document.tightest = document.tightest, once
    try:
        rendered = render_report(sample.job(5, 3), sample.evaluation(5, 3), sample.ISSUE, Template())
    finally:
        document.tightest = before
    assert (usual, rendered.pages) == ([6], 5)
