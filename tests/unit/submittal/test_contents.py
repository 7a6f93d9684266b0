"""What a submittal prints, from the records of its reports."""

import dataclasses
import datetime as dt
from decimal import Decimal

import pytest

from reportgen.errors import UsageError
from reportgen.issued import PersonRecord, read_list
from reportgen.pdf.signing import SignerBlock
from reportgen.submittal import Transmittal, contradictions, submittal_of
from reportgen.submittal.trends import groups_of
from tests.unit.issued import records as made
from tests.unit.issued.records import area, nonconformance, report, surface

SENT = Transmittal(dt.datetime(2026, 4, 1, 9, tzinfo=dt.UTC), SignerBlock("P. Ashgrove", "project engineer"), "0.1.0")


def content(*records, sent=SENT):
    return submittal_of([made.examined(record) for record in records], sent)


def test_reports_come_in_the_order_of_the_contract_and_once():
    shown, listed = content(report(2), report(1), report(1))
    assert [row.number for row in shown.reports] == ["HM-1-IR-001", "HM-1-IR-002"]
    found = read_list(listed)
    assert found.reference == shown.reference == "HM-1, 2026-04-01"
    assert [one.file for one in found.reports] == ["HM-1-IR-001.pdf", "HM-1-IR-002.pdf"]
    assert shown.recipient == "Mere Trust"


def test_a_superseded_revision_is_enclosed_marked_and_counts_no_longer():
    old = report(1, areas=[area("A", "3.1", decision="hold")])
    new = report(1, 1, areas=[area("A", "3.3")])
    shown, _ = content(old, new)
    assert [(row.revision, row.place, row.beside) for row in shown.reports] == [
        (0, "superseded", 1),
        (1, "decides", None),
    ]
    assert [row.file for row in shown.reports] == ["HM-1-IR-001.pdf", "HM-1-IR-001-r1.pdf"]
    (history,) = shown.areas
    assert [event.decision for event in history.events] == ["release"]
    assert [point.value for point in shown.groups[0].points] == [Decimal("3.3")]


def test_an_area_over_time():
    first = report(1, areas=[area("A", "3.1", decision="rework"), area("B", "3.0")])
    second = report(2, areas=[area("A", "3.3")], surfaces=[surface("A", "3.3", coated="2026-03-02T15:00+00:00")])
    shown, _ = content(first, second)
    events = {one.id: [(event.decision, event.coated) for event in one.events] for one in shown.areas}
    assert events == {"A": [("rework", False), ("release", True)], "B": [("release", False)]}


def test_the_log_has_open_ones_first_as_last_named():
    one = report(1, nonconformances=(nonconformance("NC-1"), nonconformance("NC-2", corrective_action="blast again")))
    two = report(2, nonconformances=(nonconformance("NC-1", "closed", evidence="seen"),))
    rows = content(one, two)[0].nonconformances
    assert [(row.id, row.status, row.last_in) for row in rows] == [
        ("NC-2", "open", "HM-1-IR-001"),
        ("NC-1", "closed", "HM-1-IR-002"),
    ]
    assert rows[0].action == "blast again"
    assert rows[1].evidence == "seen"
    other = report(2, nonconformances=(nonconformance("NC-1", "closed", area="B"),))
    rows = content(report(1, nonconformances=(nonconformance("NC-1"),)), other)[0].nonconformances
    assert [(row.id, row.area, row.status) for row in rows] == [("NC-1", "A", "open"), ("NC-1", "B", "closed")]


@pytest.mark.parametrize(
    ("records", "sentence"),
    [
        ([], "there is no report to submit"),
        ([report(1), report(2, contract="XX-2")], "the reports belong to 2 contracts"),
        ([report(1), report(1, verdict="inconclusive")], "two different files for HM-1-IR-001 revision 0"),
    ],
)
def test_what_cannot_be_one_submittal_is_refused(records, sentence):
    with pytest.raises(UsageError, match=sentence):
        content(*records)


def test_the_unit_of_a_chart_is_the_mean_of_a_shifts_areas():
    """Two areas in a shift, of two and of one location: each area weighs as much."""
    (group,) = groups_of(
        [report(1, areas=[area("A", "3.0", "3.2"), area("B", "3.5")]), report(2, areas=[area("C", "3")])]
    )
    assert [(one.mean, one.areas) for one in group.work.shifts] == [(pytest.approx(3.3), 2), (3.0, 1)]
    assert (group.work.chart.step, group.work.trend) == (None, None), "too few shifts to say anything"


def test_abrasives_are_compared_by_shifts_once_there_are_four_on_each_side():
    def by(place, abrasive, value):
        one = area("A", value)
        return report(place, areas=[dataclasses.replace(one, locations=tuple(
            dataclasses.replace(location, abrasive=abrasive) for location in one.locations))])  # fmt: skip

    coarse = [by(place, "coarse", f"3.{place}") for place in range(1, 5)]
    fine = [by(place, "fine", f"2.{place}") for place in range(5, 9)]
    (compared,) = content(*coarse, *fine)[0].compared
    assert (compared.by, compared.first.abrasive, compared.second.abrasive) == ("abrasive", "coarse", "fine")
    assert compared.found.shifts == (4, 4)
    assert compared.found.difference == pytest.approx(-0.6)
    assert compared.found.low < compared.found.difference < compared.found.high
    assert content(*coarse, *fine[:3])[0].compared[0].found is None


def test_groups_are_by_structure_apparatus_and_abrasive():
    other = area("B", "3.0", "3.1")
    other = dataclasses.replace(
        other, locations=tuple(dataclasses.replace(one, abrasive="garnet") for one in other.locations)
    )
    groups = groups_of([report(1, areas=[area("A", "3.2"), other])])
    assert [(one.abrasive, len(one.points)) for one in groups] == [("garnet", 2), ("grit", 1)]
    assert groups[1].standard_deviation is None


# --- files of other standing

STRANGER = {"doubts": ("NO_CERTIFICATE_CHAIN_FOUND",), "by": "S. Tranger"}


def mixed(*files):
    return submittal_of([made.examined(record, **known) for record, known in files], SENT)[0]


def test_what_is_proven_less_replaces_closes_and_releases_nothing():
    bad = report(1, areas=[area("A", "1.1", decision="hold")], nonconformances=(nonconformance(),))
    good = {"areas": [area("A", "3.1")], "nonconformances": (nonconformance(status="closed"),)}
    for stranger in (report(1, 9, **good), report(2, **good)):
        shown = mixed((bad, {}), (stranger, STRANGER))
        (only,) = shown.areas
        assert (only.decision, only.by) == ("hold", "HM-1-IR-001 r0")
        assert [event.decision for event in only.events] == ["hold"]
        assert [(row.id, row.status) for row in shown.nonconformances] == [("NC-1", "open")]
    assert only.contested == ("HM-1-IR-002 r0",)
    assert contradictions(shown) == (
        "HM-1-IR-002 r0 says otherwise of area A than HM-1-IR-001 r0, which is better proven",
    )


def test_two_reports_that_nothing_tells_apart_dispute_an_area():
    """In doubt for different reasons, a report and its revision contradict: nothing is released or closed."""
    bad = report(1, areas=[area("A", "1.1", decision="hold")], nonconformances=(nonconformance(),))
    good = report(1, 1, areas=[area("A", "3.1")], nonconformances=(nonconformance(status="closed"),))
    shown = mixed((bad, {"doubts": ("TRY_LATER",)}), (good, {"doubts": ("REVOKED_NO_POE",)}))
    assert [(row.place, row.beside) for row in shown.reports] == [("disputed", 1), ("disputed", 0)]
    assert [one.decision for one in shown.areas] == ["disputed"]
    assert [row.status for row in shown.nonconformances] == ["open"]
    assert contradictions(shown)[0] == "HM-1-IR-001 revision 0 is disputed, as revision 1 counts too"


def test_two_files_of_one_number_that_measured_otherwise_dispute_an_area_though_both_release_it():
    first, second = (report(1, number, areas=[area("A", value)]) for number, value in enumerate(("3.1", "2.6")))
    shown = mixed((first, {"doubts": ("TRY_LATER",)}), (second, {"doubts": ("REVOKED_NO_POE",)}))
    assert [one.decision for one in shown.areas] == ["disputed"]


def test_statistics_and_cover_are_of_what_is_proven():
    """A stranger's report comes first by date and has values of its own."""
    early = report(1, date="2020-01-01", client="Nobody", contractor="Others", areas=[area("B", "9.9", "9.9")])
    shown = mixed((early, STRANGER), (report(2, areas=[area("A", "3.1", "3.2")]), {}))
    assert (shown.client, shown.contractor) == ("Mere Trust", "Blasters")
    assert [(group.greatest, len(group.points)) for group in shown.groups] == [(Decimal("3.2"), 2)]
    assert shown.left_out == 1
    assert {one.id: one.decision for one in shown.areas} == {"A": "release", "B": "unproven"}
    alone = mixed((early, STRANGER))
    assert (alone.left_out, alone.areas[0].decision, len(alone.groups)) == (0, "release", 1)


def test_a_strangers_file_of_the_same_revision_does_not_stop_a_submittal():
    bad = report(1, areas=[area("A", "1.1", decision="hold")], nonconformances=(nonconformance(),))
    shown = mixed((bad, {}), (report(1, areas=[area("A", "3.1")]), STRANGER))
    assert sorted((row.place, row.beside, row.signature) for row in shown.reports) == [
        ("decides", None, "passed"),
        ("set aside", 0, "indeterminate"),
    ]
    assert [(one.decision, one.by) for one in shown.areas] == [("hold", "HM-1-IR-001 r0")]
    assert shown.open_nonconformances == 1
    assert contradictions(shown) == (
        "HM-1-IR-001 revision 0 is less proven than another file of that revision, and does not count",
    )


def test_two_files_for_one_revision_of_which_neither_is_better_proven_are_named():
    for known in ({}, STRANGER):
        with pytest.raises(UsageError, match=r"HM-1-IR-001 revision 0 \(SHA-256 .*\), neither better proven"):
            mixed((report(1), known), (report(1, verdict="inconclusive"), known))


UNNAMED = {"inspector": "O. Ther", "may_revise": (PersonRecord("O. Ther", "Inspectors"),)}


def revision_of(record, known=(), **more):
    digest = made.examined(record, **dict(known)).verification.sha256
    given = {"supersedes_revision": record.revision, "supersedes_sha256": digest, "supersedes_reason": "clerical"}
    return report(1, record.revision + 1, **{**given, **more})


def test_a_revision_by_one_whom_the_report_does_not_name_is_disputed_and_the_report_decides():
    """Under a trusted root, with the right hash: said on the cover, in the index, beside the area and in the log."""
    bad = report(1, areas=[area("A", "1.1", decision="hold")], nonconformances=(nonconformance(),))
    good = {"areas": [area("A", "3.1")], "nonconformances": (nonconformance(status="closed"),)}
    hers = revision_of(bad, **good, **UNNAMED)
    shown = mixed((bad, {}), (hers, {"by": "O. Ther"}))
    assert [(row.place, row.beside) for row in shown.reports] == [("decides", None), ("not entitled", 0)]
    assert shown.not_entitled == ("HM-1-IR-001 r1 (O. Ther)",)
    (only,) = shown.areas
    assert (only.decision, only.by, only.barred) == ("hold", "HM-1-IR-001 r0", ("HM-1-IR-001 r1",))
    assert [event.decision for event in only.events] == ["hold"]
    (row,) = shown.nonconformances
    assert (row.status, row.barred) == ("open", ("HM-1-IR-001 r1",))
    assert contradictions(shown) == (
        (
            "HM-1-IR-001 revision 1 is disputed: revision 0 does not name its signer in the role or the"
            " organisation of its inspector; it does not count"
        ),
        "HM-1-IR-001 r1 says otherwise of area A than HM-1-IR-001 r0, which it may not revise",
        "HM-1-IR-001 r1 says otherwise of NC-1 than HM-1-IR-001, and may not",
    )
    assert [float(value) for group in shown.groups for value in group.spots] == [1.1]
    named = revision_of(bad, **good, inspector="C. Olleague")
    shown = mixed((bad, {}), (named, {"by": "C. Olleague"}))
    assert [row.place for row in shown.reports] == ["superseded", "decides"]
    assert [one.decision for one in shown.areas] == ["release"]
    (told,) = contradictions(shown)
    assert told.endswith("of area A than revision 0: the decision is `release`, not `hold`; reason given: clerical")


def test_beside_a_genuine_revision_one_that_may_not_be_does_not_stop_a_submittal():
    bad = report(1, areas=[area("A", "1.1", decision="hold")])
    his, hers = revision_of(bad, areas=[area("A", "3.3")]), revision_of(bad, areas=[area("A", "3.1")], **UNNAMED)
    shown = mixed((bad, {}), (his, {}), (hers, {"by": "O. Ther"}))
    assert sorted(row.place for row in shown.reports) == ["decides", "not entitled", "superseded"]
    assert [float(value) for group in shown.groups for value in group.spots] == [3.3]


def test_what_a_revision_leaves_out_stays_open_in_the_log_and_is_told_of():
    raised = report(
        1, areas=[area("A", "1.1", decision="rework"), area("B", "3.1")], nonconformances=(nonconformance(),)
    )
    shown = mixed((raised, {}), (revision_of(raised, areas=[area("B", "3.1")]), {}))
    (row,) = shown.nonconformances
    assert (row.status, row.silent, shown.open_nonconformances) == ("open", "HM-1-IR-001 r1", 1)
    assert [(one.area, one.report, one.decision, one.by) for one in shown.gone] == [
        ("A", "HM-1-IR-001 r0", "rework", "HM-1-IR-001 r1")
    ]
    assert [one.id for one in shown.areas] == ["B"]
    assert contradictions(shown) == (
        "HM-1-IR-001 r1 says nothing of NC-1, which stays open",
        "HM-1-IR-001 r1 says nothing of area A, of which HM-1-IR-001 r0 said rework",
    )
    closed = report(2, nonconformances=(nonconformance(status="closed"),))
    shown = mixed((raised, {}), (revision_of(raised, areas=[area("B", "3.1")]), {}), (closed, {}))
    assert [row.status for row in shown.nonconformances] == ["closed"]


def test_a_released_area_that_a_revision_leaves_out_is_told_of_where_nobody_names_it_any_more():
    released = report(1, areas=[area("A", "3.1"), area("B", "3.1")])
    silent = revision_of(released, areas=[area("B", "3.1")])
    shown = mixed((released, {}), (silent, {}))
    assert [(one.area, one.decision) for one in shown.gone] == [("A", "release")]
    assert "HM-1-IR-001 r1 says nothing of area A, of which HM-1-IR-001 r0 said release" in contradictions(shown)
    assert mixed((released, {}), (silent, {}), (report(2, areas=[area("A", "3.1")]), {})).gone == ()


def test_copies_of_one_report_that_carry_different_signatures_are_both_enclosed_and_speak_once():
    record = report(1, areas=[area("A", "3.1")])
    alone = (record, {"content": "x"})
    copies = [(record, {"content": "x", "countersigned": who}) for who in ("C. Other", "D. Other")]
    shown = mixed(alone, *copies)
    assert sorted(row.place for row in shown.reports) == ["copy", "decides"]
    assert len({row.file for row in shown.reports}) == 2
    assert shown.count == 1
    assert [len(group.points) for group in shown.groups] == [1]
    assert contradictions(shown) == (
        "HM-1-IR-001 revision 0 is enclosed in more than one copy, as their signatures differ",
    )
    for copy in copies:
        revision = revision_of(record, copy[1])
        shown = mixed(*copies, (revision, {}))
        assert sorted(row.place for row in shown.reports) == ["copy", "decides", "superseded"], "it may name any copy"
    doubted = (record, {"content": "x", "countersigned": True, "doubts": STRANGER["doubts"]})
    shown = mixed(alone, doubted)
    assert [(row.place, row.signature) for row in shown.reports] == [("decides", "passed"), ("copy", "indeterminate")]
    assert shown.unproven == (), "the report is proven; the index says what its further signature is"


def test_what_a_stranger_says_is_no_fact_under_the_signature():
    """An earlier report that says coated, a nonconformance of its own, an area that nobody else inspected."""
    genuine = report(2, areas=[area("A", "1.1", decision="hold")], nonconformances=(nonconformance(),))
    strangers = report(
        4,
        date="2026-03-01",
        areas=[area("A", "3.1"), area("B", "3.1")],
        surfaces=[surface("A", "3.1", coated="2026-03-01T12:00:00Z")],
        nonconformances=(nonconformance("NC-9"),),
    )
    for known in ({}, {"doubts": STRANGER["doubts"], "countersigned": True}):
        shown = mixed((genuine, known), (strangers, STRANGER))
        states = {one.id: (one.decision, any(event.coated for event in one.events)) for one in shown.areas}
        assert states["A"] == ("hold", False)
        assert states["B"][0] == "unproven"
        assert [(row.id, row.counts) for row in shown.nonconformances] == [("NC-1", True), ("NC-9", False)]
        assert shown.open_nonconformances == 1
        assert "HM-1-IR-004 r0" in shown.unproven
    later = dataclasses.replace(strangers, date="2026-03-09", areas=(area("A", "1.1", decision="hold"),))
    (only,) = mixed((genuine, {}), (later, STRANGER)).areas
    assert only.contested == ("HM-1-IR-004 r0",), "it says coated"
    (row,) = mixed((later, STRANGER)).nonconformances
    assert (row.counts, row.proven) == (True, False), "nothing better is there, and it is marked"


def test_a_revision_of_another_file_is_disputed():
    bad = report(1, areas=[area("A", "1.1", decision="hold")])
    fork = report(1, 1, areas=[area("A", "3.1")], supersedes_revision=0, supersedes_sha256="0" * 64)
    shown = mixed((bad, {}), (fork, {"by": "A. Vintry"}))
    assert [row.place for row in shown.reports] == ["decides", "not entitled"], "whom the report does not name"
    shown = mixed((bad, {}), (fork, {}))
    assert [(row.place, row.beside) for row in shown.reports] == [("disputed", 1), ("disputed", 0)]
    assert [one.decision for one in shown.areas] == ["disputed"]
    assert contradictions(shown)[0] == "HM-1-IR-001 revision 0 is disputed, as revision 1 counts too"


def test_of_a_report_and_its_countersigned_copy_the_more_signed_is_enclosed():
    alone, both = (made.examined(report(1), content="x", countersigned=how) for how in (False, True))
    for pair in ([alone, both], [both, alone]):
        shown, _ = submittal_of(pair, SENT)
        assert [row.sha256 for row in shown.reports] == [both.verification.sha256]


def test_an_area_blasted_again_after_its_primer_is_bare():
    """What a report says of the primer holds until the next one on that steel; nor is steel to be reworked on hold."""
    coated = [surface("A", "3.3", coated="2026-03-01T15:00+00:00")]
    first = report(1, areas=[area("A", "3.3")], surfaces=coated)
    raised = (nonconformance("NC-1"),)
    second = report(2, areas=[area("A", "4.1", decision="rework")], surfaces=[surface("A", "4.1")])
    shown, _ = content(first, dataclasses.replace(second, nonconformances=raised))
    assert [(one.decision, one.coated) for one in shown.areas] == [("rework", False)]
    assert [row.held for row in shown.reports] == [(), ()]
    assert content(first)[0].areas[0].coated
