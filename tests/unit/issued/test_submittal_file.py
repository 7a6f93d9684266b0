"""The list of originals in a submittal: what is refused, and why."""

import dataclasses
import io
import json

import pikepdf
import pytest

from reportgen.copies import Drawing
from reportgen.formats import OtherReleaseError
from reportgen.issued import (
    Cover,
    Inside,
    Listed,
    SubmittalList,
    inside_of,
    looks_like_submittal,
    read_list,
    render_list,
)
from reportgen.issued.examination import compared_copies

ONE = Listed("HM-1-IR-001.pdf", "a" * 64, 1000, "HM-1-IR-001", 0, "2026-03-01")


COVER = Cover("P. Ashgrove", "project engineer", None, "Mere Trust", "", "issue", "A4", "en")


def made(*originals):
    return render_list(SubmittalList("reportgen 0", "2026-03-02T00:00:00Z", "S-1", originals, COVER, {"zlib": "1.3"}))


def row(**change):
    return {**dataclasses.asdict(ONE), **change}


def altered(**change):
    plain = json.loads(made(ONE))
    return json.dumps({**plain, **change}).encode()


def test_a_list_is_read_as_it_was_written():
    found = read_list(made(ONE))
    assert (found.reference, found.reports, found.format) == ("S-1", (ONE,), 1)
    assert (found.cover, found.made_with) == (COVER, {"zlib": "1.3"})


def test_a_list_of_a_later_format_is_read_as_far_as_its_hashes():
    found = read_list(altered(format=2, reports=[row(copies="of all pages")], sent_to="Mere Trust"))
    assert (found.reports, found.format) == ((ONE,), 2)
    with pytest.raises(
        OtherReleaseError, match=r"^format 3 of submittal.json is not known .*: use reportgen 9 or a later"
    ):
        read_list(altered(format=3, generator="reportgen 9", reports={"HM-1": "elsewhere"}))


def test_a_list_with_more_in_it_than_its_format_has_is_refused():
    with pytest.raises(ValueError, match="is not written as a list of reports is"):
        read_list(altered(sent_to="Mere Trust"))


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"{", "submittal.json is not a list of reports"),
        (b"[]", "submittal.json is not a list of reports"),
        (altered(cover=None), "submittal.json is not a list of reports"),
        (altered(cover={**dataclasses.asdict(COVER), "status": "final"}), "submittal.json is not a list of reports"),
        (altered(format=0), "submittal.json is not written as a list of reports is"),
        (altered(reports=[{"file": "x"}]), "submittal.json is not a list of reports"),
        (altered(reports=[row(copied_pages=-1)]), "submittal.json is not a list of reports"),
    ],
)
def test_what_is_no_list_is_refused(data, sentence):
    with pytest.raises(ValueError, match=sentence.replace("(", r"\(").replace(")", r"\)")):
        read_list(data)


@pytest.mark.parametrize("name", ["../x.pdf", "reports/HM-1.pdf", "/etc/x.pdf", "a b.pdf", "nul", "HM-1"])
def test_a_name_that_leaves_its_folder_is_refused(name):
    with pytest.raises(ValueError, match="unusual name"):
        read_list(altered(reports=[row(file=name)]))


def test_a_name_used_twice_is_refused():
    with pytest.raises(ValueError, match="names a report twice"):
        read_list(made(ONE, ONE))


def test_the_hint_is_only_the_name():
    assert looks_like_submittal(b"... /F(submittal.json) ...")
    assert not looks_like_submittal(b"... submittal.json ...")


def test_the_copies_of_all_originals_end_the_file():
    listed = [dataclasses.replace(ONE, copied_pages=pages) for pages in (3, 0, 2)]
    assert [(one.listed.copied_pages, one.from_end) for one in inside_of(listed)] == [(3, 5), (0, 2), (2, 2)]


@pytest.mark.parametrize(
    ("count", "pages", "sentence"),
    [
        (2, 3, "2 of its 3 pages are listed as copied"),
        (4, 4, "4 of its 4 pages are listed as copied"),
    ],
)
def test_copies_that_cannot_be_all_are_told(count, pages, sentence):
    """The submittal has three pages in all."""
    inside = Inside(dataclasses.replace(ONE, copied_pages=count), count)
    step = compared_copies(Drawing(blank(3)), blank(pages), inside)
    assert (step.number, step.status) == (10, "failed")
    assert [reason.sentence for reason in step.reasons] == [sentence]


def test_what_cannot_be_compared_is_no_true_copy():
    inside = Inside(dataclasses.replace(ONE, copied_pages=1), 1)
    step = compared_copies(Drawing(blank(1)), b"%PDF-1.7 and no more", inside)
    assert [reason.name for reason in step.reasons] == ["PAGES_DIFFER"]
    assert step.reasons[0].sentence == "the copies of its pages cannot be compared: not a PDF whose pages can be copied"


def blank(pages):
    pdf = pikepdf.new()
    for _ in range(pages):
        pdf.add_blank_page()
    out = io.BytesIO()
    pdf.save(out)
    return out.getvalue()
