"""Whatever ids and texts a job may legally hold: its pages are built, no id breaks, no value is cut, step 9 agrees."""

import datetime as dt

from hypothesis import example, given, settings
from hypothesis import strategies as st

from reportgen.archival import read_attachments
from reportgen.formats import MANIFEST_NAME, canonical_json, read_manifest
from reportgen.loader import job_from_files
from reportgen.loader.template import load_template
from reportgen.pipeline.building import Terms, build
from reportgen.pipeline.checking import Checked
from reportgen.rules import evaluate
from reportgen.verification.embedded_files import Evidence
from reportgen.verification.pageread import page_texts
from reportgen.verification.pagetext import page_text_agrees
from tests.legal_jobs import Changed, job_files
from tests.thorough import repeats

DAYS = FIRST, SECOND = [("tessowick", "2026-09-15.yaml"), ("quarrowmere", "2026-06-09.yaml")]
TEMPLATES = ["a4-en", "letter-en", "a4-de"]
PRINTED = {"area", "location", "spot", "instrument", "roll", "nonconformance", "number", "file"}
AT = dt.datetime(2026, 9, 16, 7, 30, tzinfo=dt.UTC)

IDS = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,36}", fullmatch=True, alphabet=st.characters(codec="ascii"))
LETTERS = st.characters(min_codepoint=33, max_codepoint=126) | st.sampled_from("µ²½°–Żßøя⌀☑℃漆橋ก" + "e\u0301")
WORDS = st.text(LETTERS, min_size=1, max_size=40) | st.sampled_from(["W" * 58, "-" * 58, "a,b;c/d:e", "PIER-04-EAST"])


def built(files, day, template):
    """The report of a job, the text of its pages, its evaluation."""
    job = job_from_files(files, day)
    evaluation = evaluate(job)
    terms = Terms("demonstration", AT, load_template(template))
    pdf = build(Checked(job, evaluation, canonical_json(evaluation)), terms).pdf
    return pdf, page_texts(pdf), evaluation


def require_agreement(pdf, pages, evaluation):
    files = read_attachments(pdf)
    outcome = page_text_agrees(Evidence(pdf, files, read_manifest(files[MANIFEST_NAME]), results=evaluation))
    assert outcome.status == "passed", outcome.sentences
    assert not any("\u2026" in page for page in pages)


class Numbered:
    """Ids of a legal pattern, made different by a number at their end; a report number has capitals only."""

    def __init__(self, pattern):
        self.pattern, self.count = pattern, 0

    def __call__(self, kind, _old):
        self.count += 1
        name = f"{self.pattern[:37]}{self.count:03d}"
        if kind == "file":
            # of the widest letters more have no room across a page at the smallest size
            return f"photos/{name * 3:.76}-{self.count}.jpg"
        return name.upper().replace("_", "-") if kind == "number" else name


@settings(max_examples=repeats(8), deadline=None)
@example(FIRST, "PIER-04-EAST-", "a4-en")
@example(SECOND, "SPAN-17W-", "letter-en")
@example(FIRST, "W" * 37, "a4-de")
@example(SECOND, "A.-_" * 9, "a4-en")
@given(st.sampled_from(DAYS), IDS, st.sampled_from(TEMPLATES))
def test_no_legal_id_breaks_on_any_page(place, pattern, template):
    contract, day = place
    changed = Changed(identify=Numbered(pattern))
    files = job_files(contract, day, changed)
    pdf, pages, evaluation = built(files, day, template)
    require_agreement(pdf, pages, evaluation)
    used = b"".join(data for name, data in files.items() if name != "project.yaml").decode()
    lines = {line for page in pages for line in page.split("\n")}
    for (kind, _), name in changed.ids.items():
        if kind in PRINTED and name in used:
            assert any(name.rpartition("/")[2] in line for line in lines), (kind, name)


class Long:
    """Texts of the greatest legal length from given words, no two alike."""

    def __init__(self, words):
        self.words, self.count = words, 0

    def __call__(self, kind, _old):
        self.count += 1
        limit = 3990 if kind == "text" else 110
        text = f"{self.count}"
        while len(text) < limit:
            for word in self.words:
                if len(text) + 1 + len(word) > limit:
                    return text
                text = f"{text} {word}"
        return text


@settings(max_examples=repeats(8), deadline=None)
@example(FIRST, ["W" * 58], "a4-en")
@example(SECOND, ["a"], "letter-en")
@example(FIRST, ["漆"], "a4-de")
@example(SECOND, ["Bru\u0308cke", "⌀12"], "a4-en")
@given(st.sampled_from(DAYS), st.lists(WORDS, min_size=1, max_size=12), st.sampled_from(TEMPLATES))
def test_no_legal_text_is_cut_or_stops_the_pages(place, words, template):
    contract, day = place
    pdf, pages, evaluation = built(job_files(contract, day, Changed(write=Long(words))), day, template)
    require_agreement(pdf, pages, evaluation)


def test_a_location_that_goes_on_over_a_page_agrees():
    """Head, foot and the heads of the table stand between its spots on the pages."""
    contract, day = DAYS[0]
    files = job_files(contract, day, Changed())
    first = b'    - "location": "1"\n'
    more = b"".join(first + f'      "spot": "s{n}"\n      "xcoarse-4": "{120 + n % 9}"\n'.encode() for n in range(70))
    before, _, after = files[day].partition(first)
    files[day] = before + more + first + after
    pdf, pages, evaluation = built(files, day, "a4-en")
    heads = [page for page in pages if "judged" in page]
    assert len(heads) > len(evaluation.areas), "the table of an area goes on over a page"
    require_agreement(pdf, pages, evaluation)
