"""What failed or was in doubt is put right in a revision: nothing is released or withdrawn by leaving it out."""

import json

import pypdfium2 as pdfium
import pytest

from tests.unit.cli.test_left_open import project
from tests.unit.cli.test_raised_in_error import CLOSED, SALTS, revised
from tests.unit.cli.test_reinspection import CLEAN, HIGH, NEXT, OLD, contract, raised, report
from tests.unit.cli.test_reinspection_apart import ENGINEER

__all__ = ["contract", "project"]


def page_text(path):
    """The first page of a report, as one line."""
    with pdfium.PdfDocument(path) as document:
        page = document[0]
        text = page.get_textpage().get_text_bounded()
    return " ".join(text.split())


SALT = '{{location: {}, chloride: {} mg/m2, time: "10:40"}}'
DUST = "dust: [{location: D1, quantity: 1, size: 1}]\n"
ONE, TWO = SALT.format("S1", 10), SALT.format("S2", 60)
MISREAD = SALT.format("S2", 10)
LATER = report(2, OLD, tests=f"salts: [{ONE}]\n    {DUST}".replace("10:40", "09:40"), **NEXT)
READ = "readings: [{location: 1, spot: a, x1: 2.9}, {location: 2, spot: a, x1: 4.2}]"
READ_ONE = "readings: [{location: 1, spot: a, x1: 2.9}]"


def salts(*tests):
    return f"salts: [{', '.join(tests)}]\n    {DUST}"


def withdrawn(text):
    """The same in a revision that says that N1 was raised in error, by the engineer."""
    return revised(text).replace("status: open", CLOSED).replace("decided_by: ines", "decided_by: eng")


@pytest.fixture
def issued(run, contract, project, monkeypatch):
    """Issue day files one after the other, and check the last; answer with what the last said, and its decision."""
    project(("people: {", ENGINEER))
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0

    days = (f"day{number}.yaml" for number in range(1, 9))

    def issue(*texts):
        for text, name in zip(texts, days, strict=False):
            (contract / name).write_text(text, "utf-8")
            said = run("issue", name, "--identity", "keys/i-tern.p12")
            assert said.code == 0 or text is texts[-1], said.err
            last = name
        result = json.loads(run("check", last, "--json").out)
        decisions = {one["id"]: one["decision"] for one in result.get("areas", ())}
        return decisions.get("A-1"), " ".join((said.err + run("check", last).out).split())

    return issue


FAILED = report(1, tests=salts(ONE, TWO), more=raised(SALTS))
TAPES = report(1, more=raised(HIGH)).replace(READ_ONE, READ)


def test_the_next_report_releases_upon_what_was_put_right(issued):
    right = withdrawn(FAILED.replace(TWO, MISREAD))
    assert issued(FAILED, right)[0] == "release"
    assert issued(LATER)[0] == "release"


def test_what_was_withdrawn_and_is_entered_as_open_again_is_told(issued):
    right = withdrawn(FAILED.replace(TWO, MISREAD))
    decision, said = issued(FAILED, right, LATER + raised(SALTS, more=", raised_in: SL-1-001"))
    assert decision == "hold"
    assert "or with another disposition, and SL-1-001 of 2026-05-04 closed it" in said


def test_a_failing_test_left_out_withdraws_nothing(issued):
    """Here nor in the report after, whoever says so there."""
    decision, said = issued(FAILED, withdrawn(FAILED.replace(f", {TWO}", "")))
    assert decision is None
    assert (
        "error[JOB258]: SL-1-001 revision 1 releases A-1 without what failed or was in doubt: salt test at S2 of"
        in said
    )
    assert "error[JOB258]: N1 is not to be closed as raised in error: SL-1-001 revision 1 does not have what fa" in said


def test_nor_where_the_report_after_says_that_it_was_an_error(issued):
    left = revised(FAILED.replace(f", {TWO}", ""))
    later = LATER + raised(SALTS, more=", raised_in: SL-1-001").replace("status: open", CLOSED)
    decision, said = issued(FAILED, left, later.replace("decided_by: ines", "decided_by: eng"))
    assert decision is None
    assert "error[JOB258]: N1 is not to be closed as raised in error: SL-1-001 revision 1 does not have what" in said
    assert "salt test at S2 of A-1, pot 1 (revision 0)" in said


def test_what_the_first_revision_left_out_a_second_one_may_not_forget(issued):
    left = revised(FAILED.replace(f", {TWO}", ""))
    again = (
        revised(FAILED.replace(f", {TWO}", ""), 2).replace("status: open", CLOSED).replace(": ines, st", ": eng, st")
    )
    decision, said = issued(FAILED, left, again)
    assert decision is None
    assert "salt test at S2 of A-1, pot 1 (revision 0)" in said


def test_without_the_test_the_nonconformance_stays_open_and_so_does_the_next_report(issued):
    assert issued(FAILED, revised(FAILED.replace(f", {TWO}", "")), LATER)[0] == "hold"


NONE_LEFT = "not_inspected: [{area: A-2, reason: scaffold not released}]\n"
HEAD, _, ENTRY = FAILED.replace(NONE_LEFT, "").partition("  - area")
ENTRY = "  - area" + ENTRY.partition("nonconformances")[0]
OTHER = ENTRY.replace("A-1", "A-2").replace("60 mg", "10 mg")


def test_an_area_left_out_is_not_judged(issued):
    """Its nonconformance stays open, nobody is invited to close it, and the next report is on hold."""
    both, alone = (HEAD + entries + raised(SALTS) for entries in (ENTRY + OTHER, OTHER))
    decision, said = issued(both, withdrawn(alone))
    assert decision is None
    assert "raised in error, the sample" not in said
    assert "close N1, if it was raised in error" not in said
    assert "enter again what N1 was written against: this revision does not judge it" in said
    assert issued(LATER)[0] == "hold"


@pytest.mark.parametrize("disposition", ["rework", "use-as-is", "reject"])
def test_confirming_readings_left_out_leave_it_on_hold_and_the_nonconformance_open(issued, project, disposition):
    project(("readings_per_location: 1", "readings_per_location: 2"))
    spots = READ_ONE.replace("}]", "}, {location: 1, spot: b, x1: 2.9}]")
    bad = spots.replace("2.9", "4.2")
    first = report(1, more=raised(HIGH)).replace(READ_ONE, bad)
    decision, said = issued(
        first, withdrawn(first.replace(bad, READ_ONE)).replace("disposition: rework", f"disposition: {disposition}")
    )
    assert decision == "hold"
    assert "raised in error, the sample" not in said
    assert "close N1, if it was raised in error" not in said
    later = report(2, OLD, tests=CLEAN.replace("10:40", "09:40"), **NEXT).replace(READ_ONE, spots)
    assert issued(later)[0] == "hold"


def test_a_location_that_failed_is_not_left_out_of_what_is_released(issued):
    decision, said = issued(TAPES, withdrawn(TAPES.replace(READ, READ_ONE)))
    assert decision is None
    assert "readings at 2 of A-1, pot 1 (revision 0)" in said


def test_a_doubtful_entry_is_not_deleted_in_silence(issued):
    first = report(1, tests=salts(ONE, SALT.format("S2", "10000")))
    decision, said = issued(first, revised(report(1, tests=salts(ONE))))
    assert decision is None
    assert "releases A-1 without what failed or was in doubt: salt test at S2 of A-1, pot 1 (revision 0)" in said


def test_what_passed_may_be_left_out(issued):
    """A location or a test that was good, entered by mistake, takes nothing from what is known."""
    first = report(1, tests=salts(ONE, MISREAD))
    decision, said = issued(first, revised(report(1, tests=salts(ONE))))
    assert (decision, "JOB258" in said) == ("release", False)


# What a revision leaves out of what failed stays so in later reports

UNRAISED = FAILED.partition("nonconformances")[0]
BESIDE = OTHER.replace("pot 1", "pot 2")
BOTH, WITHOUT = (HEAD + entries for entries in (ENTRY + BESIDE, BESIDE))
NOT_IN = WITHOUT + NONE_LEFT.replace("A-2, reason: scaffold not released", "A-1, reason: rain")
TIMED_LATER = LATER.replace("x1: 2.9", 'x1: 2.9, time: "08:30"')
SALTY_LATER = LATER.replace("location: S1", "location: S2")
LEFT = "revision 1 of SL-1-001 leaves it out"


def on(area, text):
    """A later report of another area alone."""
    return text.replace("area: A-1", "area: X-9").replace(NONE_LEFT, "").replace("X-9", area)


@pytest.mark.parametrize("left", [WITHOUT, NOT_IN, BOTH.replace(f"salts: [{ONE}, {TWO}]\n    ", "")])
@pytest.mark.parametrize("later", [LATER, SALTY_LATER])
def test_a_later_report_of_that_steel_is_on_hold(issued, left, later):
    """Whether the revision names its area no more, says why it was not inspected, or has no test."""
    decision, said = issued(BOTH, revised(left), later)
    assert decision == "hold"
    assert f"{LEFT}, which settles nothing" in said


@pytest.mark.parametrize("later", [(), (on("A-2", LATER),)])
def test_the_revision_and_a_later_report_of_another_area_name_what_is_left_out(issued, contract, later):
    _, said = issued(BOTH, revised(WITHOUT), *later)
    assert "A-1: failed before, and no nonconformance is open for it or accepts it: salts above maximum of" in said
    assert f"and this report does not inspect the area; {LEFT}" in said
    name = "SL-1-002.pdf" if later else "SL-1-001-r1.pdf"
    page = page_text(contract / "reports" / name)
    assert f"Inspect again after rework, or raise a nonconformance for what failed; {LEFT}" in page


def test_an_area_that_is_left_to_a_nonconformance_is_told_of_by_that(issued):
    both, alone = (HEAD + entries + raised(SALTS) for entries in (ENTRY + OTHER, OTHER))
    assert LEFT not in issued(both, revised(alone))[1]


def test_a_nonconformance_that_stays_open_is_not_closed_by_the_same_steel(issued):
    both, alone = (HEAD + entries + raised(SALTS) for entries in (ENTRY + OTHER, OTHER))
    again = LATER.replace("    salts", "    reinspects: [N1]\n    salts")
    decision, said = issued(both, revised(alone), again)
    assert decision == "hold"
    assert "A-1: prepare again and inspect again, to close N1, raised in SL-1-001" in said


def test_a_profile_location_left_out_is_not_replaced_by_another(issued, project):
    three = READ.replace("4.2}]", "4.2}, {location: 3, spot: a, x1: 2.8}]")
    other = READ_ONE.replace("}]", "}, {location: 4, spot: a, x1: 2.8}]")
    first = report(1).replace(READ_ONE, three)
    less = three.replace("{location: 2, spot: a, x1: 4.2}, ", "")
    assert less != three
    late = report(2, OLD, tests=CLEAN.replace("10:40", "09:40"), **NEXT).replace(READ_ONE, other)
    left = on("A-2", report(1)).replace(READ_ONE, less)
    decision, said = issued(first, revised(left), late)
    assert (decision, LEFT in said) == ("hold", True)


def test_steel_blasted_anew_and_good_is_released(issued):
    anew = LATER.replace("2026-05-04T07:00", "2026-05-05T07:30").replace("2026-05-04T09:00", "2026-05-05T09:00")
    decision, said = issued(BOTH, revised(WITHOUT), anew)
    assert (decision, LEFT in said) == ("release", False)


def test_what_a_revision_between_corrected_and_judged_good_is_not_left_out_by_the_next(issued):
    right = revised(BOTH.replace(TWO, MISREAD))
    decision, said = issued(BOTH, right, revised(WITHOUT, 2), TIMED_LATER)
    assert (decision, "leaves it out" in said) == ("release", False)


def test_what_was_typed_under_the_wrong_area_and_is_judged_there_is_not_left_out(issued):
    """The steel of the area that was named wrongly is released as soon as it is inspected."""
    own = TIMED_LATER.replace("2026-05-04T07", "2026-05-04T05").replace("2026-05-04T09", "2026-05-04T06")
    first, right = (text.replace(NONE_LEFT, "") for text in (UNRAISED, on("A-2", UNRAISED)))
    decision, said = issued(first, revised(right), own)
    assert (decision, LEFT in said) == ("release", False)


def test_the_later_report_holds_what_it_rests_on(issued, run, contract):
    """It is evaluated and built again out of its own file, in a folder of its own."""
    issued(BOTH, revised(WITHOUT), LATER)
    (contract / "alone").mkdir()
    pdf = (contract / "reports" / "SL-1-002.pdf").read_bytes()
    (contract / "alone" / "SL-1-002.pdf").write_bytes(pdf)
    said = run("verify", "alone/SL-1-002.pdf")
    assert "passed         embedded input re-evaluated gives the embedded evaluation" in said.out
    assert "passed         rebuilt pages are identical" in said.out


def test_of_a_location_that_is_there_still_the_spot_and_the_tape_are_named_that_are_not(issued):
    both = READ_ONE.replace("x1: 2.9}]", "x1: 2.9}, {location: 1, spot: b, x1: 4.9}]")
    decision, said = issued(report(1).replace(READ_ONE, both), revised(report(1)))
    assert decision is None
    assert "readings at 1, spot b on x1, of A-1, pot 1 (revision 0)" in said
