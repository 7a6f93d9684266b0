"""What a submittal says of the whole contract: areas by its list, numbers by the newest report, open items by age."""

import dataclasses
import datetime as dt
import io
import re

import pytest
from pypdf import PdfReader

from reportgen.issued import PlannedAreaRecord
from reportgen.register import Issue
from reportgen.results.signatories import Signatory
from reportgen.submittal import submittal_of
from reportgen.submittal.pages.document import render_submittal
from tests.unit.issued import records as made
from tests.unit.issued.records import area, nonconformance, report, surface
from tests.unit.submittal.test_contents import SENT, STRANGER, content, mixed

ABC = tuple(PlannedAreaRecord(name, f"part {name}", "gate", "Gate", "20", "m2") for name in "ABC")


def told(*records):
    return content(*records)[0]


def words(shown):
    return {one.area: one.word for one in shown.complete.areas}


def test_areas_are_counted_by_the_list_of_the_newest_project_file():
    first = report(1, areas=[area("A", "3.1"), area("D", "3.1")], planned=(*ABC, *ABC[:1]))
    second = report(2, areas=[area("B", "3.1", decision="rework")], planned=ABC)
    shown = told(first, second)
    assert words(shown) == {"A": "released", "B": "rework", "C": "not inspected", "D": "no longer listed"}
    assert (shown.complete.done, len(shown.complete.listed), shown.listed_by) == (1, 3, "HM-1-IR-002 r0")


def test_the_cover_counts_an_area_on_hold_that_was_taken_off_the_list():
    first = report(1, areas=[area("A", "3.1"), area("D", "3.1", decision="hold")], planned=ABC)
    shown = told(first, report(2, areas=[area("B", "3.1", decision="rework")], planned=ABC[:1]))
    assert [(one.kind, one.area) for one in shown.open_items] == [("hold", "D"), ("rework", "B")]
    assert (shown.complete.unsettled("hold"), shown.complete.unsettled("rework")) == (1, 1)
    pages = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(render_submittal(shown, bytes).pdf)).pages)
    said = " ".join(pages.split())
    assert "Not released of these, and counted above: B (to be reworked), D (on hold)." in said


def test_an_area_that_nobody_inspected_is_named_once_it_is_taken_off_the_list():
    shown = told(report(1, areas=[area("A", "3.1")], planned=ABC), report(2, planned=ABC[:2]))
    assert words(shown) == {"A": "released", "B": "not inspected", "C": "no longer listed"}
    pages = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(render_submittal(shown, bytes).pdf)).pages)
    assert "No longer on the contract's list: C (not inspected, since HM-1-IR-002 r0)." in " ".join(pages.split())


def test_a_list_of_areas_by_who_is_not_proven_shortens_nothing():
    shown = mixed((report(1, areas=[area("A", "3.1")], planned=ABC), {}), (report(2, planned=ABC[:1]), STRANGER))
    assert (len(shown.complete.listed), shown.listed_by) == (3, "HM-1-IR-001 r0")


def test_without_a_project_file_the_areas_met_are_counted_and_that_is_said():
    shown = told(report(1, areas=[area("A", "3.1")]))
    assert (words(shown), shown.listed_by) == ({"A": "released"}, "")


@pytest.mark.parametrize("partial", [None, "the rest follows"])
def test_reports_left_out_make_a_selection(partial):
    sent = dataclasses.replace(SENT, partial=partial)
    shown, _ = submittal_of([made.examined(report(place)) for place in (1, 4)], sent)
    assert (shown.selection, shown.partial) == (True, partial)
    assert shown.numbers[:5] == ("HM-1-IR-004", "2026-03-04", 4, 2, ("HM-1-IR-002", "HM-1-IR-003"))


def test_a_second_numbering_hides_no_report_left_out():
    own = [dataclasses.replace(report(n), number_pattern="HM-1-IR-###") for n in (1, 4)]
    other = dataclasses.replace(report(5), number="X2-01", number_pattern="X2-##")
    shown = told(*own, other)
    assert (shown.selection, shown.numbers.missing) == (True, ("HM-1-IR-002", "HM-1-IR-003"))
    pages = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(render_submittal(shown, bytes).pdf)).pages)
    said = " ".join(pages.split())
    assert "5 reports, of which 3 enclosed; later ones are not visible here. Not enclosed: HM-1-IR-002, HM" in said
    assert "By numbering: X2-##: 1 of 1 enclosed; HM-1-IR-###: 2 of 4 enclosed." in said


def test_all_that_was_issued_is_no_selection():
    assert not told(report(1), report(2)).selection


def test_a_revision_left_out_shows_in_the_rows_of_the_register():
    issues = [(report(1), 0), (report(2), 4)]
    examined = [
        dataclasses.replace(made.examined(one), upon=Issue(one.number, 0, row, f"{row:064d}", f"{row:064x}"))
        for one, row in issues
    ]
    shown, _ = submittal_of(examined, SENT)
    assert (shown.numbers.missing, shown.numbers.further) == ((), 1)


def test_open_items_stand_by_age():
    held = [report(n, areas=[area("A", "3.1", decision="hold")]) for n in (2, 4)]
    number = nonconformance(raised_in="HM-1-IR-003", area="B")
    raised = report(3, areas=[area("B", "3.1", decision="rework")], nonconformances=(number,))
    until = dataclasses.replace(surface("C", "3.1 3.2"), prime_by="2026-03-01T20:00+00:00")
    bare = report(1, areas=[area("C", "3.1")], surfaces=[until])
    shown = told(bare, *held, raised)
    assert [(one.kind, one.area, one.since, one.by, one.days) for one in shown.open_items] == [
        ("bare", "C", "2026-03-01", "HM-1-IR-001 r0", 31),
        ("hold", "A", "2026-03-02", "HM-1-IR-002 r0", 30),
        ("nonconformance", "B", "2026-03-03", "HM-1-IR-003", 29),
        ("rework", "B", "2026-03-03", "HM-1-IR-003 r0", 29),
    ]


def pages_of(shown):
    pages = PdfReader(io.BytesIO(render_submittal(shown, bytes).pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.parametrize("planned", [ABC, ()])
def test_an_area_that_was_never_inspected_is_on_hold_nowhere(planned):
    """Neither counted, nor told as open, nor in the row of the area, whether or not the list of areas can be read."""
    never = dataclasses.replace(area("C", "3.1", decision="hold"), verdict="not evaluated", n_locations=0)
    shown = told(*(report(n, areas=[area("A", "3.1"), never], planned=planned) for n in (1, 2)))
    assert (shown.complete.counts["not inspected"], shown.complete.unsettled("hold")) == (1 + bool(planned), 0)
    told_open = [(one.kind, one.area, one.since, one.by) for one in shown.open_items]
    assert told_open == [("not inspected", "C", "2026-03-01", "HM-1-IR-001 r0")]
    said = pages_of(shown)
    assert "not inspected: " in said
    assert "on hold: " not in said
    assert re.search(r"\bhold HM-1-IR-00\d", said) is None  # its row: how it is now, by which report
    assert re.search(r"not inspected HM-1-IR-002 r0", said)


def test_a_missing_countersignature_is_open_and_said_on_the_cover():
    who = (Signatory("Signature1", "inspector", "N. Hoxley"), Signatory("Countersignature1", "engineer", "P. Wye"))

    def awaiting(one, *fields):
        answer = dataclasses.replace(one.verification, unfilled_fields=fields, signatories=who)
        return dataclasses.replace(one, verification=answer)

    first = awaiting(made.examined(report(1)), "Countersignature1")
    shown, _ = submittal_of([first, awaiting(made.examined(report(2)))], SENT)
    (one,) = [one for one in shown.open_items if one.kind == "countersignature"]
    assert (one.what, one.by, one.since) == ("P. Wye, engineer", "HM-1-IR-001 r0", "2026-03-01")
    said = pages_of(shown)
    assert "awaits countersignature of P. Wye, engineer" in said
    assert "Not yet signed by everyone whom the report names: HM-1-IR-001 r0 (P. Wye, engineer)." in said
    signed = awaiting(made.examined(report(1), countersigned=True))
    for several in ([signed], [first, signed]):
        shown, _ = submittal_of(several, SENT)
        assert "countersignature" not in {one.kind for one in shown.open_items}


def test_what_is_primed_released_or_closed_is_not_open():
    until = dataclasses.replace(surface("C", "3.1 3.2"), prime_by="2026-04-01T20:00+00:00")
    shown = told(
        report(1, areas=[area("A", "3.1", decision="hold"), area("C", "3.1")], surfaces=[until]),
        report(2, areas=[area("A", "3.1")], nonconformances=(nonconformance(status="closed"),)),
    )
    assert SENT.at < dt.datetime(2026, 4, 1, 20, tzinfo=dt.UTC)
    assert shown.open_items == ()


def test_areas_judged_by_different_limits_are_told_with_how_many():
    old = {"minimum": None, "areas": [area("A", "3.1"), area("B", "3.1")]}
    shown = told(report(1, **old), report(2, areas=[area("B", "3.1")]))
    assert shown.judged_under == (("4.5 mil", 1), ("2.5 – 4.5 mil", 1))
    assert told(report(1, areas=[area("A", "3.1")]), report(2, areas=[area("B", "3.1")])).judged_under == ()


def test_a_second_numbering_hides_nothing_where_no_pattern_is_stated():
    own = [dataclasses.replace(report(n), number_pattern=None) for n in (1, 4)]
    shown = told(*own, dataclasses.replace(report(5), number="X2-01", number_pattern=None))
    assert (shown.selection, shown.numbers.issued, shown.numbers.here) == (True, 5, 3)
