"""No English word and no decimal point on a German page, whatever kind of document it is of.

English is what the English catalogues say and the German ones never do. Words of the job, which a person wrote, and
names of published sources are left out.
"""

import io
import json
import re
import tomllib
from dataclasses import fields, is_dataclass, replace
from decimal import Decimal
from functools import cache
from importlib import resources

import pytest
from pypdf import PdfReader

from reportgen.archival import read_attachments
from reportgen.audit.problems import PROBLEMS
from reportgen.audit.report import render_audit
from reportgen.audit.reportmodel import AuditPages, FileRow, ProblemGroup, ProblemRow, ScreenRow
from reportgen.audit.screening import NAMES
from reportgen.job.template import Template
from reportgen.pdf.signing import SignerBlock
from reportgen.pipeline import check
from reportgen.pipeline.building import Terms, build
from reportgen.report.record import render_record
from reportgen.report.slip import render_slip
from reportgen.rules.relied_on import relied_on
from reportgen.sheet import render_sheet, sheet_plan
from reportgen.submittal import Transmittal, submittal_of
from reportgen.submittal.pages.document import render_submittal
from reportgen.submittal.pages.model import LogRow
from reportgen.verification.pagetext import page_texts, text_agrees
from reportgen.verification.verdict import NOTICES, REASONS
from reportgen.words.numbers import typeset
from reportgen.words.sentences import sources
from reportgen.words.told import said, told
from tests.build_samples import DAYS, issue_time
from tests.golden import sample_evaluation as sample
from tests.unit.issued import records as made
from tests.unit.report.test_record import PASSED

DATA = resources.files("reportgen.words").joinpath("data")
WORD = re.compile(r"[A-Za-zÄÖÜäöüß]{3,}")
FUNCTION_WORDS = {
    "the", "and", "are", "not", "with", "from", "which", "that", "this", "has", "have", "were", "been", "than", "each",
    "every", "between", "after", "before", "does", "their", "its", "where", "whose", "without", "other", "because",
}  # fmt: skip
"""Of English, and words of no German sentence."""
QUOTED = {
    "finer",
    "than",
    "fine",
    "medium",
    "coarse",
    "coarser",
    "check",
    "verify",
    "bytes",
    "bit",
    "file",
    "html",
    "issue",
    "report",
}
"""What a comparator's grades are called in a day file, and names of commands, files and settings."""


def entries(language):
    """Every text of a language's catalogues, by file and key."""
    for name in (f"{language}.json", f"sheet/{language}.json", f"filing/{language}.json"):
        yield from ((f"{name} {key}", text) for key, text in json.loads(DATA.joinpath(name).read_text("utf-8")).items())
    for file in sources(language):
        for group, texts in tomllib.loads(file.read_text("utf-8")).items():
            yield from ((f"{file.name} {group} {key}", text) for key, text in texts.items())


def words_in(text):
    text = re.sub(r"(\b[0-9a-f]{8}\b ?)+", " ", text)  # parts of a hash
    return {one.lower() for one in WORD.findall(re.sub(r"`[^`]*`|\{\w+(:and)?[:}]", " ", text))}


@cache
def english_only():
    german = set().union(*(words_in(text) for _, text in entries("de")))
    return set().union(*(words_in(text) for _, text in entries("en"))) - german


def written(value):
    """Every text within a value of the job."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, one in value.items():
            yield from (str(key), *written(one))
    elif isinstance(value, list | tuple):
        for one in value:
            yield from written(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from written(getattr(value, field.name))
    elif hasattr(value, "model_dump"):
        yield from written(value.model_dump())


def text_of(pdf):
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def english_on(text, *own):
    return words_in(text) & english_only() - words_in(" ".join(own)) - QUOTED


@pytest.mark.parametrize("key", ["de"])
def test_no_entry_of_a_german_catalogue_has_an_english_word(key):
    found = {
        name: hit
        for name, text in entries(key)
        if (hit := words_in(text.replace(":and-as", "")) & FUNCTION_WORDS - QUOTED)
    }
    assert {name: hit for name, hit in found.items() if "sources" not in name} == {}


def test_the_words_looked_for_are_english():
    assert {"location", "released", "rounded", "humidity"} <= english_only()
    assert english_on("die Messstelle conforms") == {"conforms"}


@cache
def archived(path):
    checked = check(path)
    return checked, build(checked, Terms("demonstration", issue_time(DAYS[0]), Template(language="de"))).pdf


def day(path):
    checked, pdf = archived(path)
    return checked, " ".join(text_of(pdf).split())


@pytest.mark.parametrize("path", DAYS, ids=lambda path: path.stem)
def test_printed_numbers_are_compared_with_their_commas(path):
    """Step 9 of a verification; and the table of readings beside the pages has points."""
    checked, pdf = archived(path)
    files, pages = read_attachments(pdf), page_texts(pdf)
    assert text_agrees(pages, files, checked.evaluation).status == "passed"
    [location, *_] = [one for area in checked.evaluation.areas for one in area.locations if one.profile is not None]
    shown = f"{location.profile}".replace(".", ",")
    for other in (shown.replace(",", "."), f"{location.profile + 1}".replace(".", ",")):
        altered = [" ".join(page.split()).replace(shown, other) for page in pages]
        assert text_agrees(altered, files, checked.evaluation).status == "failed"
    assert f",{location.profile}," in files["readings.csv"].decode()


@pytest.mark.parametrize("path", DAYS, ids=lambda path: path.stem)
def test_a_report(path):
    checked, text = day(path)
    own = [
        *written(checked.job.project),
        *written(checked.job.day),
        *(one.source for one in relied_on(checked.evaluation)),
    ]
    own += [one.description for one in checked.evaluation.nonconformances]
    assert english_on(text, *own) == set()


def decimals(value):
    """Every number with decimals within a result."""
    if isinstance(value, Decimal):
        yield f"{value:f}"
    elif isinstance(value, tuple):
        for one in value:
            yield from decimals(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from decimals(getattr(value, field.name))


@pytest.mark.parametrize("path", DAYS, ids=lambda path: path.stem)
def test_no_number_of_a_report_has_a_point(path):
    checked, text = day(path)
    shown = {one for one in decimals(checked.evaluation) if "." in one}
    own = [*written(checked.job.day), *written(checked.evaluation.nonconformances)]
    own += [typeset(one.source) for one in relied_on(checked.evaluation)]
    for one in (one for one in own if "." in one and " " in one):  # as somebody wrote it
        text = text.replace(" ".join(one.split()), " ")
    by_comma = {one for one in shown if re.search(rf"(?<![\d,]){one.replace('.', ',')}(?![\d,])", text)}
    found = {one for one in shown if re.search(rf"(?<![\d.]){re.escape(one)}(?![\d.])(?! ‡)", text)}
    assert len(by_comma) > 8
    assert {one for one in found if f"Abschnitt {one}" not in text and f", {one}" not in text} == set()


def test_a_slip():
    job, evaluation = sample.job(2, 3), sample.evaluation(2, 3)
    text = text_of(render_slip(job, evaluation, sample.ISSUE, Template(language="de"), None, "TR-1").pdf)
    assert english_on(text, *written(job.project), *written(job.day)) == set()
    profile = evaluation.areas[0].locations[0].profile
    assert f"{profile}".replace(".", ",") in text
    assert f"{profile}" not in text


def test_a_field_sheet():
    job = sample.job(2, 3)
    text = text_of(render_sheet(sheet_plan(job, language="de")))
    assert english_on(text, *written(job.project), *written(job.day)) == set()
    assert "Vertrag: 2,0 mil – 3,5 mil" in text


def test_a_record_of_a_verification():
    text = text_of(render_record(PASSED, "report.pdf", language="de"))
    own = written(PASSED)
    assert english_on(text, *own) == set()


def submittal(language):
    areas = [made.area("A", "3.1"), made.area("B", "3.3")]
    at = made.examined(made.report(1, areas=areas))
    sent = Transmittal(issue_time(DAYS[0]), SignerBlock("R. Hethe", None, None), "0.1.0", language=language)
    return submittal_of([at], sent)[0]


def test_a_submittal():
    content = submittal("de")
    text = text_of(render_submittal(content, bytes).pdf)
    assert english_on(text, *written(replace(content, language=""))) == set()
    assert "3,1" in text
    assert not re.search(r"(?<![\d.])3\.[13]0?(?![\d.])", text)


def languages_of(pdf):
    """How many elements are of which language."""
    found = {}

    def walk(node):
        for one in (kid.get_object() if hasattr(kid, "get_object") else kid for kid in node):
            if isinstance(one, dict):
                if "/Lang" in one:
                    found[str(one["/Lang"])] = found.get(str(one["/Lang"]), 0) + 1
                kids = one.get("/K", [])
                walk(kids if isinstance(kids, list) else [kids])

    walk([PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"]["/K"]])
    return found


def test_an_audit_with_every_problem():
    german = said(told("revisions-in-doubt", what="A-1", file="a.pdf", other=1, better="b.pdf"), "de")
    groups = tuple(
        ProblemGroup(code, one.weight, one.meaning, (ProblemRow("A-1", german, "a.pdf", "failed", doubted=True),))
        for code, one in PROBLEMS.items()
    )
    empty = AuditPages(
        "archive", issue_time(DAYS[0]).isoformat(), "0.1.0", 3, 1, 1, 1, 1, 3, 1, 1,
        (FileRow("a.pdf", "failed", german),), groups,
        screens=tuple(ScreenRow(name, 10, "0.05", 0, "") for name in NAMES),
    )  # fmt: skip
    pdf = render_audit(empty, language="de")
    text = text_of(pdf)
    assert english_on(text, "archive", "audit") == set()
    assert "(nicht bestanden; ein Zweifel)" in text
    assert languages_of(pdf) == {}


def test_every_problem_and_every_screen_of_an_audit_has_german_words():
    words = json.loads(DATA.joinpath("filing/de.json").read_text("utf-8"))
    assert {key.removeprefix("problem.") for key in words if key.startswith("problem.")} == set(PROBLEMS)
    for group in ("screen.", "method."):
        assert {key.removeprefix(group) for key in words if key.startswith(group)} == set(NAMES)


@pytest.mark.parametrize("document", ["filing", "sheet"])
def test_german_words_of_other_documents_are_complete_and_fill_in_the_same_names(document):
    english, german = (json.loads(DATA.joinpath(document, f"{name}.json").read_text("utf-8")) for name in ("en", "de"))
    assert set(english) - set(german) == set()
    names = re.compile(r"\{(\w+)")
    assert [key for key in english if {*names.findall(english[key])} != {*names.findall(german[key])}] == []


def test_what_reports_differ_in_is_german_in_a_submittal():
    differing = (told("contract-also-written", contract="A", others=("B",)),)
    open_ones = {name for name, weight in REASONS.items() if weight == "indeterminate"}
    rows = tuple(replace(one, remarks=tuple(sorted(open_ones | NOTICES))) for one in submittal("de").reports)
    content = replace(submittal("de"), differing=differing, reports=rows)
    pdf = render_submittal(content, bytes).pdf
    text = " ".join(text_of(pdf).split())
    assert "Vertrag A wird auch B geschrieben" in text
    assert english_on(text, *written(submittal("de"))) == set()
    assert languages_of(pdf) == {}


def test_what_was_decided_on_a_nonconformance_is_german_in_a_submittal():
    row = LogRow("N-1", "A", "was", "use-as-is", "I. Tern", "R r0", "open", "R r0", "", "")
    text = text_of(render_submittal(replace(submittal("de"), nonconformances=(row,)), bytes).pdf)
    assert "belassen, entschieden von I. Tern" in " ".join(text.split())
