"""The samples are what the present code makes of the demo contracts: rebuilt, and compared byte for byte.

A signed file begins with its unsigned bytes; the signature after them is the demonstration's and differs each time.
With other versions of the libraries that draw and pack the pages, other bytes are to be expected: then the text and
the evaluation must still agree, and the comparison of bytes is skipped with its reason.
"""

import json

import pytest

from reportgen.archival import read_attachments
from reportgen.formats import EVALUATION_NAME, ISSUE_NAME
from reportgen.pipeline.building import made_with
from reportgen.verification.pageread import page_texts
from reportgen.verification.pagetext import text_agrees
from tests.build_samples import DAYS, SAMPLES, issue_time, sample_of


@pytest.mark.parametrize("day", DAYS, ids=lambda day: f"{day.parent.name}-{day.stem}")
def test_sample_is_rebuilt_to_the_byte(day):
    from reportgen.loader.template import load_template
    from reportgen.pipeline import check
    from reportgen.pipeline.building import Terms, build

    checked = check(day)
    template = load_template(checked.job.project.template or "a4-en")
    built = build(checked, Terms("demonstration", issue_time(day), template))
    sample = sample_of(day).read_bytes()
    files = read_attachments(sample)
    assert files[EVALUATION_NAME] == checked.canonical
    assert text_agrees(page_texts(sample), files, checked.evaluation).status == "passed"
    made = json.loads(files[ISSUE_NAME])["made_with"]
    if made != made_with():
        pytest.skip(f"the sample was made with {made}")
    assert sample.startswith(built.pdf), "run `python -m tests.build_samples`, look at the pages, commit them"
    assert b"/ByteRange" in sample[len(built.pdf) :]


def test_there_is_no_sample_without_a_day():
    assert {path.name for path in SAMPLES.glob("*.pdf")} == {sample_of(day).name for day in DAYS}
