"""The list of originals in a submittal: what is refused, and why."""

import dataclasses
import json

import pytest

from reportgen.issued import Listed, looks_like_submittal, read_list, render_list

ONE = Listed("reports/HM-1-IR-001.pdf", "a" * 64, 1000, "HM-1-IR-001", 0, "2026-03-01")


def row(**change):
    return {**dataclasses.asdict(ONE), **change}


def altered(**change):
    plain = json.loads(render_list("S-1", "reportgen 0", "2026-03-02T00:00:00Z", (ONE,)))
    return json.dumps({**plain, **change}).encode()


def test_a_list_is_read_as_it_was_written():
    assert read_list(render_list("S-1", "reportgen 0", "2026-03-02T00:00:00Z", (ONE,))) == ("S-1", (ONE,))


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"{", "submittal.json is not a list of reports"),
        (b"[]", "submittal.json is not a list of reports"),
        (altered(format=2), "submittal.json has a format this release does not know (it knows 1)"),
        (altered(reports=[{"file": "x"}]), "submittal.json is not a list of reports"),
        (altered(reports=[row(copied_pages=-1)]), "submittal.json is not a list of reports"),
    ],
)
def test_what_is_no_list_is_refused(data, sentence):
    with pytest.raises(ValueError, match=sentence.replace("(", r"\(").replace(")", r"\)")):
        read_list(data)


@pytest.mark.parametrize("name", ["../x.pdf", "reports/../x.pdf", "/etc/x.pdf", "reports/a b.pdf", "HM-1.pdf"])
def test_a_name_that_leaves_its_folder_is_refused(name):
    with pytest.raises(ValueError, match="unusual name"):
        read_list(altered(reports=[row(file=name)]))


def test_a_name_used_twice_is_refused():
    with pytest.raises(ValueError, match="names a report twice"):
        read_list(render_list("S-1", "x", "y", (ONE, ONE)))


def test_the_hint_is_only_the_name():
    assert looks_like_submittal(b"... /F(submittal.json) ...")
    assert not looks_like_submittal(b"... submittal.json ...")
