"""Facts across files: each seeded one is told of, and nothing of the honest ones beside it."""

import dataclasses

import pytest

from reportgen.audit import Usual, audit_of
from reportgen.audit.facts import USUAL
from reportgen.issued import InstrumentRecord, PhotoRecord, RequirementRecord, UseRecord
from reportgen.results.signatories import Signatory
from reportgen.words.told import said
from tests.unit.audit.test_index import make
from tests.unit.issued import records as made
from tests.unit.issued.records import finding, report, surface

FACTS = {
    "requirement-changed", "calibration-rewritten", "readings-before-blasting", "photo-outside-shift", "photo-again",
    "two-places", "pace", "instrument-stated-otherwise", "issued-late", "date-order",
    "not-countersigned",
}  # fmt: skip


@pytest.fixture
def index(tmp_path):
    with make(tmp_path / "index.sqlite") as opened:
        yield opened


def shift(place, *, day=None, began="07:00", ended="17:00", site="Mere", **more):
    day = day or f"2026-03-{place:02d}"
    times = {"began": f"{day}T{began}+00:00", "ended": f"{day}T{ended}+00:00", "date": day}
    return report(place, site=site, **{"project_sha256": f"project {place}", **times, **more})


def facts(index, *records, usual=USUAL, by="N. Hoxley"):
    for number, record in enumerate(records):
        index.store(f"{number}.pdf", made.examined(record, by=f"{by} {record.inspector}"))
    found = [one for one in audit_of(index, usual=usual).problems if one.code in FACTS]
    for one in found:
        assert said(one.sentence, "de")
    return [(one.code, one.weight, one.number) for one in found], [str(one.sentence) for one in found]


def requiring(place, limit, **more):
    return shift(place, requirements=(RequirementRecord("requirements", "profile maximum", limit),), **more)


def test_changed_limits_are_noted(index):
    found, (sentence,) = facts(index, requiring(1, "4.5 mil"), requiring(2, "5.5 mil"), requiring(3, "5.5 mil"))
    assert found == [("requirement-changed", "note", "HM-1-IR-002")]
    assert "profile maximum 4.5 mil / 5.5 mil" in sentence


def test_limits_that_a_single_report_has_are_told_and_their_return_too(index):
    found, _ = facts(index, requiring(1, "4.5 mil"), requiring(2, "5.5 mil"), requiring(3, "4.5 mil"))
    assert found == [("requirement-changed", "note", "HM-1-IR-002"), ("requirement-changed", "note", "HM-1-IR-003")]


AUTHORITY = [
    ("people", "Q. Maddock", "contractor's inspector, Dunlow", "project engineer, Dunlow", "doubt"),
    ("people", "Q. Maddock", "inspector, ", None, "note"),
    ("pins", "Q. Maddock", "aa", "bb", "doubt"),
    ("pins", "Q. Maddock", "aa", None, "doubt"),
    ("countersigners", "Q. Maddock", "project engineer", None, "note"),
    ("contract", "contractor", "Dunlow", "Pellworth", "doubt"),
    ("contract", "site", "Mere", "Mere North", "note"),
    ("areas", "A-1", "deck, Mere, 10 m2", "deck, Mere, 12 m2", "note"),
    ("requirements", "profile method", "C", "B", "note"),
]


@pytest.mark.parametrize(("part", "member", "before", "after", "weight"), AUTHORITY)
@pytest.mark.parametrize("more", [0, 2])
def test_what_changes_who_may_decide_is_a_doubt_however_often_it_is_repeated(
    index, part, member, before, after, weight, more
):
    known, now = (() if value is None else (RequirementRecord(part, member, value),) for value in (before, after))
    others = (RequirementRecord("requirements", "profile maximum", "4 mil"),)
    later = [shift(place, requirements=others + now) for place in range(2, 3 + more)]
    found, _ = facts(index, shift(1, requirements=others + known), *later)
    assert found == [("requirement-changed", weight, "HM-1-IR-002")]


def listing(place, *areas, **more):
    return shift(place, requirements=tuple(RequirementRecord("areas", one, "10 m2") for one in areas), **more)


def test_requirements_change_in_the_order_of_issue_and_areas_that_were_removed_are_named(index):
    """The last report is of a day before all others: by dates it would have removed and brought back the area."""
    _, sentences = facts(
        index,
        listing(1, "A", "B", issued_at="2026-03-01T18:00:00+00:00"),
        listing(2, "A", issued_at="2026-03-02T18:00:00+00:00"),
        listing(3, "A", issued_at="2026-03-03T18:00:00+00:00", day="2026-02-01"),
    )
    (told,) = [one for one in sentences if one.startswith("requirements differ")]
    assert "between HM-1-IR-001 revision 0 and HM-1-IR-002 revision 0" in told
    assert "areas (B removed)" in told


def with_gauge(
    place, serial="T-1", certificate="EC-1", calibrated="2026-01-02", due="2027-01-02", *, kind="thickness gauge",
    accuracy="", **more,
):  # fmt: skip
    gauge = InstrumentRecord(
        "g1", serial, kind, "mil", accuracy=accuracy, certificate=certificate, calibrated=calibrated, due=due
    )
    return shift(place, instruments=(gauge,), **more)


def test_a_certificate_with_another_date_is_told_and_a_new_certificate_is_not(index):
    found, (sentence,) = facts(
        index,
        with_gauge(1),
        with_gauge(2),
        with_gauge(3, serial="t 1", certificate="ec 1", due="2028-01-02"),
        with_gauge(4, certificate="EC-2", calibrated="2026-02-02"),
        with_gauge(5, serial="T-2", due="2026-06-02"),
    )
    assert found == [("calibration-rewritten", "doubt", "HM-1-IR-003")]
    assert "2026-01-02 / 2027-01-02 by HM-1-IR-001 r0, 2026-01-02 / 2028-01-02 by HM-1-IR-003 r0" in sentence


OTHER = "instrument-stated-otherwise"


def test_data_of_an_instrument_that_one_report_has_otherwise_are_told(index):
    """Of a meter of conductivity: another certificate, a later calibration with it, and a finer accuracy, for a day."""
    rest = {"kind": "conductivity meter", "accuracy": "2 %"}
    found, (sentence,) = facts(
        index,
        with_gauge(1, **rest),
        with_gauge(2, **rest | {"accuracy": "0.5 %"}, certificate="EC-9", calibrated="2026-02-28"),
        with_gauge(3, **rest | {"accuracy": "2.0 %"}),
    )
    assert found == [(OTHER, "doubt", "HM-1-IR-002")]
    assert sentence == (
        "instrument T-1: certificate EC-9 and calibrated 2026-02-28 and accuracy 0.5 % by HM-1-IR-002 r0;"
        " certificate EC-1 and calibrated 2026-01-02 and accuracy 2 % by HM-1-IR-001 r0 before it"
        " and by HM-1-IR-003 r0 after it"
    )


def test_one_certificate_with_another_accuracy_from_some_report_on_is_noted(index):
    found, (sentence,) = facts(
        index, with_gauge(1, accuracy="0.2 mil"), *(with_gauge(n, accuracy="0.1 mil") for n in (2, 3))
    )
    assert found == [(OTHER, "note", "HM-1-IR-002")]
    assert (
        "accuracy 0.1 mil by HM-1-IR-002 r0, HM-1-IR-003 r0; accuracy 0.2 mil by HM-1-IR-001 r0 before it" in sentence
    )


def test_a_new_calibration_and_what_was_not_stated_before_are_no_difference(index):
    found, _ = facts(
        index,
        with_gauge(1),
        with_gauge(2, accuracy="0.2 mil"),
        with_gauge(3, accuracy="0.1 mil", certificate="EC-2", calibrated="2026-03-02", due="2027-03-02"),
        with_gauge(4, accuracy="0.1 mil", certificate="EC-2", calibrated="2026-03-02", due="2027-03-02"),
    )
    assert found == []


def test_two_instruments_of_one_serial_in_one_project_file_are_two(index):
    def both(place):
        one = with_gauge(place, accuracy="0.2 mil")
        (gauge,) = one.instruments
        other = dataclasses.replace(gauge, id="g2", certificate="EC-2", accuracy="0.1 mil")
        return dataclasses.replace(one, instruments=(gauge, other))

    assert facts(index, both(1), both(2), both(3))[0] == []


def test_what_a_report_says_was_read_too_early_is_told(index):
    found, _ = facts(index, shift(1, findings=(finding("measured-before-blasting"),)), shift(2))
    assert found == [("readings-before-blasting", "doubt", "HM-1-IR-001")]


def photo(original="aa", *, at="", taken="", area="A", file="p.jpg"):
    return PhotoRecord(area, file, "seen", at, "", original, taken)


@pytest.mark.parametrize(
    ("seen", "told"),
    [
        (photo(at="2026-03-01T17:00+00:00"), None),
        (photo(at="2026-03-01T17:01+00:00"), "is stated to be of 2026-03-01 17:01 UTC"),
        (photo(taken="2026-03-01T18:20+00:00"), None),
        (photo(taken="2026-02-27T12:00+00:00"), "was taken at 2026-02-27 12:00 UTC by its camera"),
    ],
)
def test_photos_of_another_time_are_told(index, seen, told):
    found, sentences = facts(index, shift(1, photos=(seen,)))
    assert found == ([] if told is None else [("photo-outside-shift", "doubt", "HM-1-IR-001")])
    assert told is None or told in sentences[0]


def test_one_photo_in_two_reports_is_told_and_in_revisions_of_one_it_is_not(index):
    first = shift(1, photos=(photo(), photo(area="B")))
    revised = dataclasses.replace(first, revision=1, issued_at="2026-03-01T19:00:00Z", supersedes_revision=0,
                                  supersedes_reason="a name")  # fmt: skip
    found, (sentence,) = facts(
        index, first, revised, shift(2, photos=(photo(area="C"),)), shift(3, photos=(photo("bb"),))
    )
    assert found == [("photo-again", "doubt", "HM-1-IR-002")]
    assert sentence == "one photo stands in HM-1-IR-001 (area A) and HM-1-IR-002 (area C)"


def test_a_signer_at_two_sites_at_one_time_is_told(index):
    here = shift(1)
    there = shift(2, day="2026-03-01", began="16:30", ended="20:00", site="Fenwold", contract="FW-2")
    later = shift(3, day="2026-03-01", began="20:30", ended="23:00", site="Mere")
    same_site = shift(4, day="2026-03-01", began="08:00", ended="09:00", site="MERE")
    found, (sentence,) = facts(index, here, there, later, same_site)
    assert found == [("two-places", "doubt", "HM-1-IR-002")]
    assert "Mere, 2026-03-01 07:00 UTC to 2026-03-01 17:00 UTC (HM-1-IR-001)" in sentence


def test_a_gauge_at_two_sites_at_one_time_is_told(index):
    def read(place, first, last, **more):
        use = UseRecord("g1", "A", "readings", f"2026-03-01T{first}+00:00", f"2026-03-01T{last}+00:00", 12)
        return with_gauge(place, day="2026-03-01", uses=(use,), inspector=f"inspector {place}", **more)

    found, _ = facts(
        index,
        read(1, "09:00", "10:00"),
        read(2, "09:30", "10:30", site="Fenwold"),
        read(3, "09:40", "09:50", site="Fenwold", certificate="other"),
        read(4, "11:00", "12:00", site="Fenwold"),
    )
    assert [one for one in found if one[0] != OTHER] == [("two-places", "doubt", "HM-1-IR-002")]


def read_at(*times, area="A"):
    """A surface of one spot for each time, read twice."""
    readings = " ".join("3.1 3.2" for _ in times)
    one = surface(area, readings)
    stated = tuple(f"2026-03-01T{time}+00:00" for time in times for _ in range(2))
    places = tuple(str(n) for n, _ in enumerate(times) for _ in range(2))
    return dataclasses.replace(
        one, times=stated, locations=places, spots=("a",) * len(places), rolls=("x",) * len(places)
    )


@pytest.mark.parametrize(
    ("times", "told"),
    [
        (["10:00"] * 6, False),  # one time for all: when it was begun
        (["10:00", "10:01", "10:02", "10:03"], False),
        (["10:00"] * 5 + ["10:02"], True),  # five in at most three minutes
        (["10:00"] * 3 + ["10:02"], False),  # three in at most three minutes
    ],
)
def test_spots_read_faster_than_asked_about_are_a_screening(index, times, told):
    found, sentences = facts(index, shift(1, surfaces=[read_at(*times)]))
    assert found == ([("pace", "screening", "HM-1-IR-001")] if told else [])
    assert not told or "one in 36 s at most" in sentences[0]


def test_the_pace_asked_about_may_be_another(index):
    record = shift(1, surfaces=[read_at(*["10:00"] * 5, "10:02")])
    assert facts(index, record, usual=Usual(pace=30)) == ([], [])


def test_a_report_issued_late_is_noted_and_a_revision_is_not(index):
    late = shift(1, issued_at="2026-03-09T08:00:00Z")
    revised = shift(2, revision=1, issued_at="2026-05-01T08:00:00Z", supersedes_revision=0, supersedes_reason="a name")
    found, (sentence,) = facts(index, late, shift(2), revised, shift(3, issued_at="2026-03-10T08:00:00Z"))
    assert found == [("issued-late", "note", "HM-1-IR-001")]
    assert sentence == "HM-1-IR-001 of 2026-03-01 was issued on 2026-03-09, 7 days after its shift"


def test_a_report_that_somebody_has_still_to_sign_is_noted_until_a_copy_is_signed(index):
    who = (Signatory("Signature1", "inspector", "N. Hoxley"), Signatory("Countersignature1", "engineer", "P. Wye"))

    def stored(path, one, *fields):
        answer = dataclasses.replace(one.verification, unfilled_fields=fields, signatories=who)
        index.store(path, dataclasses.replace(one, verification=answer))

    def found():
        own = [one for one in audit_of(index).problems if one.code == "not-countersigned"]
        return [(one.weight, one.number, str(one.sentence), said(one.sentence, "de")) for one in own]

    record = shift(1)
    stored("0.pdf", made.examined(record), "Countersignature1")
    stored("1.pdf", made.examined(shift(2)))
    (one,) = found()
    assert one[:2] == ("note", "HM-1-IR-001")
    assert one[2].endswith("is not yet signed by P. Wye")
    assert one[3].endswith("ist noch nicht unterschrieben von P. Wye")
    stored("2.pdf", made.examined(record, countersigned=True))
    assert found() == []


def test_a_higher_number_of_an_earlier_date_is_noted(index):
    found, (sentence,) = facts(index, shift(1), shift(2, day="2026-03-09"), shift(3), shift(4, day="2026-03-09"))
    assert found == [("date-order", "note", "HM-1-IR-003")]
    assert sentence == "HM-1-IR-003 is of 2026-03-03, HM-1-IR-002 of 2026-03-09"


def test_a_date_before_a_lower_number_is_noted_without_a_pattern_too(index):
    reports = [shift(n, day=day, number_pattern=None) for n, day in ((1, None), (2, "2026-03-09"), (3, None))]
    other = shift(4, number="X2-01", number_pattern=None, day="2026-03-02")
    assert facts(index, *reports, other)[0] == [("date-order", "note", "HM-1-IR-003")]


def shared(index, *records):
    for number, record in enumerate(records):
        index.store(f"{number}.pdf", made.examined(record))
    return [
        (one.weight, one.number, str(one.sentence))
        for one in audit_of(index).problems
        if one.code == "certificate-shared" and said(one.sentence, "de")
    ]


def test_one_certificate_of_two_serials_is_a_doubt(index):
    found = shared(index, with_gauge(1), with_gauge(2, serial="t 01"), with_gauge(3, serial="T-9"))
    sentence = "one certificate is stated of instrument T-1 (by HM-1-IR-001 r0)"
    assert found == [("doubt", "HM-1-IR-003", f"{sentence} and instrument T-9 (by HM-1-IR-003 r0)")]


def test_one_certificate_for_all_gauges_of_a_project_file_is_a_note_and_one_not_stated_none(index):
    def both(certificate):
        one = with_gauge(1, certificate=certificate)
        (gauge,) = one.instruments
        return dataclasses.replace(one, instruments=(gauge, dataclasses.replace(gauge, id="g2", serial="T-9")))

    assert shared(index, both("not recorded")) == []
    assert [one[:2] for one in shared(index, dataclasses.replace(both("EC-1"), number="HM-1-IR-002"))] == [
        ("note", "HM-1-IR-002")
    ]
