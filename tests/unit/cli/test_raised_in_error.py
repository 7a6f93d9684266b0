"""What a revision no longer finds, as a test was misread, was raised in error: it is closed as that, and said so."""

import json

import pytest

from tests.unit.cli.test_left_open import project
from tests.unit.cli.test_reinspection import CLEAN, NEXT, OLD, SALTY, contract, raised, report
from tests.unit.cli.test_reinspection_apart import ENGINEER
from tests.unit.cli.test_tested_before import SALTS

__all__ = ["contract", "project"]

CLOSED = "status: closed, evidence: the sample was misread"
FOUND = report(1, tests=SALTY, more=raised(SALTS))


def revised(text, number=1):
    return text.replace("revision: 0", f"revision: {number}").replace(
        "inspector: ines}", f"inspector: ines,\n  supersedes: {{revision: {number - 1}, reason: a test was misread}}}}"
    )


def corrected(status, tests=CLEAN, by="eng", **changed):
    text = revised(report(1, tests=tests, more=raised(SALTS), **changed)).replace("status: open", status)
    return text.replace("decided_by: ines", f"decided_by: {by}")


@pytest.fixture
def checked(run, contract, project):
    """Check the last of some day files; answer with its decision, its nonconformances and what it says."""

    project(("people: {", ENGINEER))

    def check(**days):
        for name, text in days.items():
            (contract / f"{name}.yaml").write_text(text, "utf-8")
        last = f"{[*days][-1]}.yaml"
        result = json.loads(run("check", last, "--json").out)
        states = [one["status"] for one in result["nonconformances"]]
        return result["areas"][0]["decision"], states, " ".join(run("check", last).out.split())

    return check


def test_a_misread_test_put_right_releases_and_says_so(checked):
    decision, states, said = checked(day1=FOUND, day1b=corrected(CLOSED))
    assert (decision, states) == ("release", ["closed"])
    assert "N1 is closed as raised in error, the sample was misread: this revision judges what it names" in said
    assert checked(day2=report(2, OLD, tests=CLEAN.replace("10:40", "09:40"), **NEXT))[:2] == ("release", [])


@pytest.mark.parametrize("disposition", ["use-as-is", "reject"])
def test_what_was_decided_of_what_is_no_longer_found_is_raised_in_error_too(checked, disposition):
    """Nothing is there to be used as it is: the reader learns why the finding is gone, and nothing was accepted."""
    ruled = corrected(CLOSED).replace("disposition: rework", f"disposition: {disposition}")
    decision, states, said = checked(day1=FOUND, day1b=ruled)
    assert (decision, states) == ("release", ["closed"])
    assert "N1 is closed as raised in error, the sample was misread: this revision judges what" in said
    again = report(2, OLD, tests=SALTY.replace("10:40", "09:40"), **NEXT)  # found after all: the word covers none of it
    assert checked(day2=again)[0] == "rework"


@pytest.mark.parametrize("disposition", ["use-as-is", "reject", "rework"])
@pytest.mark.parametrize("by", ["ines", "con"])
def test_nor_does_the_word_of_inspector_or_contractor_drop_what_was_found(checked, project, disposition, by):
    project(("people: {", "people: {con: {name: R. Stone, role: quality control, organisation: Blasters}, "))
    ruled = corrected(CLOSED, by=by).replace("disposition: rework", f"disposition: {disposition}")
    decision, states, said = checked(day1=FOUND, day1b=ruled)
    assert (decision, states) == ("hold", ["open"])
    assert "raised in error, the sample" not in said
    assert "`decided_by` who is neither an inspector nor of the contractor" in said


def test_a_repair_of_what_is_no_longer_found_is_seen_first(checked):
    """Steel was changed: that is inspected, whatever the revision finds."""
    decision, states, _ = checked(
        day1=FOUND, day1b=corrected(CLOSED).replace("disposition: rework", "disposition: repair")
    )
    assert (decision, states) == ("hold", ["open"])


@pytest.mark.parametrize("disposition", ["use-as-is", "reject"])
def test_decided_later_it_is_said_in_the_report_that_decides(checked, disposition):
    left = corrected("status: open").replace("disposition: rework", f"disposition: {disposition}")
    later = report(
        2, OLD, tests=CLEAN.replace("10:40", "09:40"), more=raised(SALTS, more=", raised_in: SL-1-001"), **NEXT
    )
    later = later.replace("status: open", CLOSED).replace("decided_by: ines", "decided_by: eng")
    decision, states, said = checked(day1=FOUND, day1b=left, day2=later.replace("rework", disposition))
    assert (decision, states) == ("release", ["closed"])
    assert "N1 is closed as raised in error, the sample was misread: the last revision of SL-1-001 no longer" in said


def test_left_open_it_is_said_how_to_close_it(checked):
    decision, states, said = checked(day1=FOUND, day1b=corrected("status: open"))
    assert (decision, states) == ("hold", ["open"])
    assert "close N1, if it was raised in error and all that failed is still entered here: this revision" in said
    again = corrected(CLOSED).replace("revision: 1", "revision: 2").replace("{revision: 0", "{revision: 1")
    assert checked(day1c=again)[:2] == ("release", ["closed"])


@pytest.mark.parametrize("by", ["ines", "con"])
def test_it_is_not_for_the_inspector_nor_the_contractor_to_say_so(checked, project, by):
    """A failed test that is left out of a revision would vanish on the word of one person."""
    project(("people: {", "people: {con: {name: R. Stone, role: quality control, organisation: Blasters}, "))
    decision, states, said = checked(day1=FOUND, day1b=corrected(CLOSED, by=by))
    assert (decision, states) == ("hold", ["open"])
    assert "`decided_by` who is neither an inspector nor of the contractor" in said


@pytest.mark.parametrize("status", [CLOSED, "status: open"])
def test_what_the_revision_still_finds_is_no_error(checked, status):
    assert checked(day1=FOUND, day1b=corrected(status, SALTY))[:2] == ("rework", ["open"])
    doubtful = CLEAN.replace("chloride: 10", "chloride: 10000")
    assert checked(day1=FOUND, day1b=corrected(status, doubtful))[0] != "release"


def test_nothing_is_raised_in_error_but_by_a_revision(checked):
    first = report(1, tests=CLEAN, more=raised(SALTS)).replace("status: open", CLOSED)
    assert checked(day1=first)[:2] == ("hold", ["open"])
    later = report(2, OLD, tests=CLEAN.replace("10:40", "09:40"), more=raised(SALTS), **NEXT)
    assert checked(day1=FOUND, day2=later.replace("status: open", CLOSED))[:2] == ("hold", ["open"])


def test_two_findings_of_one_are_both_to_be_gone(checked):
    both = report(1, tests=SALTY, reading="4.2", more=raised(SALTS, "profile-above-maximum"))
    one_left = revised(both.replace("chloride: 60", "chloride: 10")).replace("status: open", CLOSED)
    assert checked(day1=both, day1b=one_left)[:2] == ("rework", ["open"])


def test_silence_is_refused_and_told_what_to_write(run, checked, contract):
    checked(day1=FOUND)
    (contract / "day1b.yaml").write_text(revised(report(1, tests=CLEAN)), "utf-8")
    said = " ".join(run("check", "day1b.yaml").err.split())
    assert "JOB252" in said
    assert "misread, closed as `rework`, with that as `evidence`" in said
