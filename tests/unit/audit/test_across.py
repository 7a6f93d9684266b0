# ruff: noqa: S311 - invented readings, not secrets
"""What an audit finds across files, and what it leaves alone, on an index in memory."""

import dataclasses
import random
from decimal import Decimal
from pathlib import Path

import pytest

from reportgen.audit import Index, Narrowed, ask, audit_of
from reportgen.issued import Listed, LocationRecord, PersonRecord, PlannedAreaRecord
from reportgen.issued.record import InstrumentRecord, UseRecord
from reportgen.register import Issue
from reportgen.verification import Notice
from tests.unit.issued import records as made
from tests.unit.issued.records import area, finding, nonconformance, report, surface


def audited(*records, failed=()):
    index = Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00")
    with index:
        for n, record in enumerate(records):
            index.store(f"{n:04d}.pdf", made.examined(record, failed=n in failed))
        return audit_of(index)


def found(*records, failed=()):
    return [(one.code, one.number, one.area) for one in audited(*records, failed=failed).problems]


def readings(seed, n=12, spread=0.3, level=3.3):
    chance = random.Random(seed)
    return " ".join(f"{chance.gauss(level, spread):.1f}" for _ in range(n))


def revised(place, revision, reason="clerical", **more):
    return report(place, revision, supersedes_revision=revision - 1, supersedes_reason=reason, **more)


def test_nothing_is_found_where_nothing_is_wrong():
    assert found(*(report(n, surfaces=[surface("A", readings(n))]) for n in range(1, 30))) == []


def test_rules_corrected_since_are_no_fault_of_a_report():
    notices = (Notice("SINCE_CORRECTED", "a verdict is another"), Notice("OLD_RULES", "the rules were long replaced"))
    examined = made.examined(report(1))
    passed = examined.verification
    noticed = passed.with_step(dataclasses.replace(passed.steps[7], notices=notices))
    index = Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00")
    with index:
        index.store("1.pdf", dataclasses.replace(examined, verification=noticed))
        answer = audit_of(index)
    assert [(one.code, one.weight, one.sentence) for one in answer.problems] == [
        ("rules-corrected", "screening", "1.pdf: a verdict is another"),
        ("rules-long-replaced", "screening", "1.pdf: the rules were long replaced"),
    ]
    assert (answer.faults, answer.doubts) == (0, 0)


def test_a_gap_is_found_with_and_without_a_pattern():
    assert found(report(1), report(3)) == [("number-missing", "HM-1-IR-002", "")]
    assert found(report(1, number_pattern=None), report(3, number_pattern=None)) == [
        ("number-missing", "HM-1-IR-002", "")
    ]
    assert found(report(1, number="FIRST", number_pattern=None)) == []


def test_a_number_that_only_a_failed_file_claims_is_a_gap_that_names_the_file():
    failed, missing = audited(report(1), report(2), report(3), failed={1}).problems
    assert (failed.code, missing.code, missing.number) == ("file-failed", "number-missing", "HM-1-IR-002")
    assert missing.sentence.endswith("was issued; 0001.pdf, which claims it, is failed")


def test_gaps_are_found_in_each_pattern_that_a_contract_had():
    new = {"number_pattern": "HM-1-Q-##"}
    records = [report(1), report(3), report(5, number="HM-1-Q-01", **new), report(7, number="HM-1-Q-03", **new)]
    assert found(*records) == [("number-missing", "HM-1-IR-002", ""), ("number-missing", "HM-1-Q-02", "")]


def test_a_long_gap_is_told_in_one_sentence():
    (gap,) = audited(report(1), report(999)).problems
    assert gap.sentence.startswith("there are no HM-1-IR-002 to HM-1-IR-998, 997 numbers, although HM-1-IR-999 was")


def test_a_number_in_two_files_is_found_and_a_copy_of_one_file_is_not():
    assert found(report(1), report(1, verdict="inconclusive")) == [("number-duplicate", "HM-1-IR-001", "")]
    assert found(report(1), report(1)) == []


def test_revisions():
    assert found(report(1), revised(1, 1)) == []
    assert found(report(1), report(1, 1)) == [("revision-without-reason", "HM-1-IR-001", "")]
    assert found(report(1), revised(1, 1, reason=" ")) == [("revision-without-reason", "HM-1-IR-001", "")]
    assert found(report(1), revised(1, 2)) == [("revision-missing", "HM-1-IR-001", "")]
    first = report(1)
    digest = made.examined(first).verification.sha256
    assert found(first, revised(1, 1, supersedes_sha256=digest)) == []
    assert found(first, revised(1, 1, supersedes_sha256="0" * 64)) == [("revision-of-other-file", "HM-1-IR-001", "")]


def test_building_upon_a_superseded_revision():
    old, new = report(1), revised(1, 1)
    assert found(old, new, report(2, earlier=(new.day_sha256,))) == []
    assert found(old, new, report(2, earlier=(old.day_sha256,))) == [("superseded-in-use", "HM-1-IR-002", "")]
    late = revised(1, 1, issued_at="2026-03-09T00:00:00Z")
    assert found(old, late, report(2, earlier=(old.day_sha256,))) == [], "it was not superseded yet"


def test_a_nonconformance_is_open_when_the_last_word_on_it_is():
    raised = report(1, nonconformances=(nonconformance(),))
    closed = report(2, nonconformances=(nonconformance(status="closed"),))
    assert found(raised, closed, report(3)) == []
    assert found(raised, report(2)) == [("nonconformance-never-closed", "HM-1-IR-001", "A")]
    assert found(raised, revised(1, 1, nonconformances=(nonconformance(status="closed"),))) == []


def test_a_number_used_for_another_area_closes_nothing_of_the_first():
    raised = report(1, nonconformances=(nonconformance(),))
    other = report(2, nonconformances=(nonconformance(status="closed", area="B"),))
    assert found(raised, other) == [
        ("nonconformance-never-closed", "HM-1-IR-001", "A"),
        ("nonconformance-not-raised", "HM-1-IR-002", "B"),
    ]


def test_what_a_report_says_itself_counts_once_and_only_in_its_latest_revision():
    wrong = report(1, findings=(finding("coated-without-release"), finding("calibration-overdue", "B")))
    assert found(wrong) == [
        ("coated-while-not-released", "HM-1-IR-001", "A"),
        ("instrument-past-calibration", "HM-1-IR-001", "B"),
    ]
    assert found(wrong, revised(1, 1)) == []


def test_copied_readings_are_found_between_reports_and_within_one():
    text = readings(5)
    one, other = report(1, surfaces=[surface("A", text)]), report(2, surfaces=[surface("B", text)])
    assert found(one, other) == [("readings-alike", "HM-1-IR-002", "B")]
    both = report(1, surfaces=[surface("A", text), surface("B", text)])
    assert found(both) == [("readings-alike", "HM-1-IR-001", "B")]


def test_a_revision_repeats_its_readings_rightly():
    text = readings(5)
    assert found(report(1, surfaces=[surface("A", text)]), revised(1, 1, surfaces=[surface("A", text)])) == []


def test_short_or_even_sequences_coincide_by_chance():
    for text in ("3.1 3.4", "3.3 3.3 3.3 3.3 3.3 3.3 3.3 3.4 3.3 3.3 3.3 3.3"):
        records = [report(n, surfaces=[surface("A", text if n < 3 else readings(n))]) for n in range(1, 7)]
        assert found(*records) == [], text


TEN = "3.4 2.9 3.1 3.7 3.0 3.6 3.2 3.7 3.3 3.5"


def test_the_probability_is_stated_as_derived():
    (problem,) = audited(*(report(n, surfaces=[surface("A", TEN)]) for n in (1, 2))).problems
    # by hand: of 10·9 ordered pairs of readings 2 agree, q = 2/90 = 0.022; one pair of sheets, four nearnesses and five
    # families: 20·(2/90)^10 = 6e-16
    assert "show the same number with probability 0.022, and among 1 comparison" in problem.sentence
    assert "between reports at most five numbers apart chance is expected to do as much 6e-16 times" in problem.sentence
    assert (problem.evidence.tests, problem.evidence.expected, problem.evidence.effect) == (1, "6e-16", "1")


def test_pairs_are_counted_by_kind():
    """Two contracts with three and one report, two surfaces each: 4 pairs in reports, 12 in contracts, 12 between."""
    records = [
        report(n, surfaces=[surface("A", readings(f"a{n}")), surface("B", readings(f"b{n}"))]) for n in (1, 2, 3)
    ]
    copied = " ".join(map(str, records[0].surfaces[0].readings))
    surfaces = [surface("A", copied), surface("B", readings("c"))]
    far = report(9, number="XX-001", contract="XX", number_pattern=None, surfaces=surfaces)
    (problem,) = audited(*records, far).problems
    assert "among 12 comparisons between contracts" in problem.sentence
    text = readings("d")
    inside = report(1, surfaces=[surface("A", text), surface("B", text)])
    (problem,) = audited(inside, *records[1:]).problems
    assert "among 3 comparisons within one report" in problem.sentence
    records[1] = report(
        2, surfaces=[surface("A", " ".join(map(str, records[0].surfaces[0].readings))), surface("B", text)]
    )
    (problem,) = audited(*records).problems
    assert "among 12 comparisons between reports at most five numbers apart" in problem.sentence


@pytest.mark.parametrize("seed", range(5))
def test_the_screens_leave_an_honest_gauge_alone(seed):
    chance = random.Random(seed)
    records = [
        report(n, surfaces=[surface("A", readings(f"{seed} {n}", spread=chance.choice((0.25, 0.3, 0.35))))])
        for n in range(1, 29)
    ]
    assert found(*records) == []


def test_digits_of_a_gauge_that_is_rounded_are_shown_as_a_screening():
    def half(text):
        return " ".join(f"{round(float(one) * 2) / 2:.1f}" for one in text.split())

    records = [report(n, surfaces=[surface("A", half(readings(n, spread=0.5)))]) for n in range(1, 13)]
    problems = audited(*records).problems
    assert [(one.code, one.weight) for one in problems] == [("digits-heaped", "screening")]
    assert "a share of 0.9" in problems[0].sentence or "a share of 1.0" in problems[0].sentence


def test_a_narrow_spread_is_shown_and_a_coarse_gauge_hides_it():
    narrow = report(
        20, surfaces=[surface("A", "3.3 3.3 3.4 3.3 3.3 3.3 3.3 3.4 3.3 3.3 3.3 3.3")], number="HM-1-IR-012"
    )
    others = [report(n, surfaces=[surface("A", readings(n, spread=0.3))]) for n in range(1, 12)]
    assert found(*others, narrow) == [("spread-narrow", "HM-1-IR-012", "A")]
    coarse = [report(n, surfaces=[surface("A", readings(n, spread=0.05))]) for n in range(1, 12)]
    assert found(*coarse, narrow) == []


def test_what_is_rare_in_one_contract_is_not_in_a_large_archive():
    """The same surface: one of 12 in the audit of a contract, one of 252 in that of an archive."""
    evenly = surface("A", "3.3 3.5 3.3 3.2 3.3 3.4 3.2 3.3 3.2 3.3 3.4 3.4")

    def contract(name):
        return [
            report(n, number=f"{name}-{n}", contract=name, number_pattern=f"{name}-#", **with_surface(f"{name} {n}"))
            for n in range(1, 13)
        ]

    def with_surface(seed):
        return {"surfaces": [surface("A", readings(seed, spread=0.3))]}

    own = contract("HM-1")
    own[4] = dataclasses.replace(own[4], surfaces=(evenly,))
    assert found(*own) == [("spread-narrow", "HM-1-5", "A")]
    assert found(*own, *(one for n in range(2, 22) for one in contract(f"HM-{n}"))) == []


def test_the_order_in_which_files_were_done_does_not_matter():
    records = [report(n, surfaces=[surface("A", readings(n // 3))], areas=[area("A", "3.1")]) for n in range(1, 12)]
    names = {record.number: f"{n}.pdf" for n, record in enumerate(records)}
    answers = []
    for order in (records, records[::-1]):
        with Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="t") as index:
            for record in order:
                index.store(names[record.number], made.examined(record))
            answers.append(audit_of(index))
    assert answers[0] == answers[1]
    assert answers[0].problems


# --- who may say what: files of other standing

STRANGER = {"doubts": ("NO_CERTIFICATE_CHAIN_FOUND",), "by": "S. Tranger"}
PEER = {"by": "O. Ther"}


def compared(*files):
    """The audit of records, each with what is known of its file."""
    with Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00") as index:
        for n, (record, known) in enumerate(files):
            index.store(f"{n:04d}.pdf", made.examined(record, **known))
        answer = audit_of(index)
        return [one for one in answer.problems if not one.code.startswith("file-")], index.rows(
            "SELECT area, decision, path FROM states ORDER BY area"
        )


BETTER = ("revision-in-favour", "HM-1-IR-001", "doubt")
"""A revision releases what the report before it had on hold: said beside whatever else is found."""


def told(problems):
    return [(one.code, one.number, one.weight) for one in problems]


BAD = report(
    1,
    areas=[area("A", "1.1", decision="hold")],
    nonconformances=(nonconformance(),),
    findings=(finding("coated-without-release"), finding("calibration-overdue")),
)
GOOD = {"areas": [area("A", "3.1")], "nonconformances": (nonconformance(status="closed"),)}
FAULTS = [
    ("coated-while-not-released", "HM-1-IR-001", "fault"),
    ("instrument-past-calibration", "HM-1-IR-001", "fault"),
    ("nonconformance-never-closed", "HM-1-IR-001", "fault"),
]


@pytest.mark.parametrize("revision", [1, 9])
def test_a_strangers_revision_erases_nothing(revision):
    problems, states = compared((BAD, {}), (revised(1, revision, **GOOD), STRANGER))
    assert told(problems) == sorted([*FAULTS, ("revision-less-proven", "HM-1-IR-001", "fault")])
    assert states == [("A", "hold", "0000.pdf")]
    (less,) = [one for one in problems if one.code == "revision-less-proven"]
    assert less.verdict == "indeterminate"
    assert less.sentence == (
        f"HM-1-IR-001 revision {revision}, 0001.pdf (indeterminate, NO_CERTIFICATE_CHAIN_FOUND), is proven less than"
        " 0000.pdf, revision 0, and does not replace it"
    )


def naming(record, known=(), **more):
    """What a revision of a file says of it: its hash."""
    return {"supersedes_sha256": made.examined(record, **dict(known)).verification.sha256, **more}


COLLEAGUE = {"by": "C. Olleague"}
NAMED_ALONE = {"inspector": "O. Ther", "may_revise": (PersonRecord("O. Ther", "Inspectors"),)}


def test_a_proven_revision_replaces_and_one_by_another_inspector_whom_the_report_names_is_a_doubt():
    problems, states = compared((BAD, {}), (revised(1, 1, **GOOD, **naming(BAD)), {}))
    assert (told(problems), states) == ([BETTER], [("A", "release", "0001.pdf")])
    problems, states = compared((BAD, {}), (revised(1, 1, inspector="C. Olleague", **GOOD, **naming(BAD)), COLLEAGUE))
    assert told(problems) == [("revision-by-other-signer", "HM-1-IR-001", "doubt"), BETTER]
    assert states == [("A", "release", "0001.pdf")]


def test_a_revision_by_one_whom_the_report_does_not_name_is_a_fault_and_replaces_nothing():
    """Under a trusted root, of a job that names her, and with the right hash: it passes, and is not hers to revise."""
    problems, states = compared((BAD, {}), (revised(1, 1, **GOOD, **naming(BAD), **NAMED_ALONE), PEER))
    assert told(problems) == sorted([*FAULTS, ("revision-not-entitled", "HM-1-IR-001", "fault")])
    assert states == [("A", "hold", "0000.pdf")]
    assert [one.sentence for one in problems if one.code == "revision-not-entitled"] == [
        (
            "HM-1-IR-001 revision 1, 0001.pdf (passed), is signed by O. Ther, Inspectors, whom revision 0, 0000.pdf"
            " (passed), does not name in the role or the organisation of its inspector;"
            " it replaces nothing, and what revision 0 says stands"
        )
    ]


def test_a_person_of_the_name_in_the_report_but_of_another_body_may_not_revise_it():
    other = {**COLLEAGUE, "body": "Elsewhere"}
    revision = revised(1, 1, inspector="C. Olleague", **GOOD, **naming(BAD))
    problems, states = compared((BAD, {}), (revision, other))
    assert ("revision-not-entitled", "HM-1-IR-001", "fault") in told(problems)
    assert states == [("A", "hold", "0000.pdf")]


def test_revisions_of_a_revision_that_was_not_hers_to_make():
    first = revised(1, 1, **GOOD, **naming(BAD), **NAMED_ALONE)
    hers = revised(1, 2, **GOOD, **naming(first, PEER), **NAMED_ALONE)
    problems, states = compared((BAD, {}), (first, PEER), (hers, PEER))
    assert told(problems) == sorted([*FAULTS, *[("revision-not-entitled", "HM-1-IR-001", "fault")] * 2])
    assert states == [("A", "hold", "0000.pdf")]
    his = revised(1, 2, **GOOD, **naming(first, PEER))
    problems, states = compared((BAD, {}), (first, PEER), (his, {}))
    assert told(problems) == [("revision-by-other-signer", "HM-1-IR-001", "doubt"), BETTER]
    assert states == [("A", "release", "0002.pdf")]
    strangers = revised(1, 2, **GOOD, **naming(first, PEER))
    problems, _ = compared((BAD, {}), (first, PEER), (strangers, STRANGER))
    assert ("revision-not-entitled", "HM-1-IR-001", "fault") in told(problems), "whoever names it takes nothing over"


def test_what_does_not_count_is_said_beside_the_area():
    good = report(1, areas=[area("A", "3.1"), area("B", "3.1")])
    withdrawn = revised(
        1, 1, areas=[area("A", "1.1", decision="rework"), area("C", "3.1")], **naming(good), **NAMED_ALONE
    )
    with Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00") as index:
        index.store("0.pdf", made.examined(good))
        index.store("1.pdf", made.examined(withdrawn, **PEER))
        audit_of(index)
        heads, rows, _ = ask(index, "areas")
    told_of = [dict(zip(heads, row, strict=True)) for row in rows]
    assert [(row["area"], row["decision"], row["contested"]) for row in told_of] == [
        ("A", "release", "HM-1-IR-001 r1: rework"),
        ("B", "release", ""),
    ]


def test_a_better_proven_revision_that_names_another_hand_is_a_doubt():
    """Nothing proves who signed the first report; the second one says itself that it revises it."""
    first = report(1)
    revision = revised(1, 1, **naming(first, STRANGER), **NAMED_ALONE)
    assert told(compared((first, STRANGER), (revision, PEER))[0]) == [
        ("revision-by-other-signer", "HM-1-IR-001", "doubt")
    ]


# --- what a revision is silent about


def test_a_nonconformance_that_a_revision_leaves_out_is_still_open():
    raised = report(1, areas=[area("A", "3.1")], nonconformances=(nonconformance(),))
    silent = revised(1, 1, areas=[area("A", "3.1")], **naming(raised))
    (problem,) = audited(raised, silent).problems
    assert (problem.code, problem.weight, problem.files) == (
        "nonconformance-never-closed", "fault", ("0000.pdf", "0001.pdf"),
    )  # fmt: skip
    assert problem.sentence == (
        "NC-1, raised in HM-1-IR-001, was never closed: revision 0 of HM-1-IR-001 leaves it open, and revision 1 says"
        " nothing of it"
    )
    again = revised(1, 2, areas=[area("A", "3.1")], **naming(silent))
    assert [one.code for one in audited(raised, silent, again).problems] == ["nonconformance-never-closed"]


@pytest.mark.parametrize("closing", [report(2), revised(1, 1), revised(1, 2)])
def test_a_nonconformance_is_closed_by_whoever_says_so_later(closing):
    raised = report(1, nonconformances=(nonconformance(),))
    closing = dataclasses.replace(closing, nonconformances=(nonconformance(status="closed"),))
    files = [raised, revised(1, 1)] if closing.revision != 1 else [raised]
    assert [one.code for one in audited(*files, closing).problems] == []


def test_a_closing_that_a_revision_takes_back_by_silence_closes_nothing():
    raised = report(1, nonconformances=(nonconformance(),))
    closed = report(2, nonconformances=(nonconformance(status="closed"),))
    assert found(raised, closed, revised(2, 1)) == [("nonconformance-never-closed", "HM-1-IR-001", "A")]
    moved = revised(1, 1, nonconformances=(nonconformance(area="B", status="closed"),))
    assert found(raised, moved) == [("nonconformance-never-closed", "HM-1-IR-001", "A")], "that of another area"


def test_a_stranger_neither_leaves_out_nor_brings_up():
    """A stranger's revision is silent for nobody, and what was planted before a genuine one is a doubt."""
    raised = report(1, nonconformances=(nonconformance(),))
    problems, _ = compared((raised, {}), (revised(1, 1), STRANGER))
    assert ("nonconformance-never-closed", "HM-1-IR-001", "fault") in told(problems)
    problems, _ = compared((raised, STRANGER), (revised(1, 1), {}))
    assert [one.weight for one in problems if one.code == "nonconformance-never-closed"] == ["doubt"]


def test_an_area_left_to_be_reworked_is_a_fault_where_no_nonconformance_is_open_for_it():
    failed = report(1, areas=[area("A", "1.1", decision="rework")])
    problems, _ = compared((failed, {}), (report(2, areas=[area("B", "3.1")]), {}))
    assert [(one.code, one.area, one.weight) for one in problems] == [("rework-not-followed", "A", "fault")]
    raised = report(1, areas=[area("A", "1.1", decision="rework")], nonconformances=(nonconformance(),))
    problems, _ = compared((raised, {}))
    assert [one.code for one in problems] == ["nonconformance-never-closed"]
    assert compared((failed, {}), (report(2, areas=[area("A", "3.1")]), {}))[0] == []


def test_an_area_that_a_revision_leaves_out_unreleased_is_a_doubt():
    """An earlier report had released it: that stands again, and is not silent about it."""
    first = report(1, areas=[area("A", "3.1")])
    failed = report(2, areas=[area("A", "1.1", decision="rework"), area("B", "3.1"), area("C", "1.1", decision="hold")])
    silent = revised(2, 1, areas=[area("B", "3.1")], **naming(failed))
    problems, states = compared((first, {}), (failed, {}), (silent, {}))
    assert [(one.code, one.area, one.weight) for one in problems] == [
        ("area-left-out", "A", "doubt"),
        ("area-left-out", "C", "doubt"),
    ]
    assert states == [("A", "release", "0000.pdf"), ("B", "release", "0002.pdf"), ("C", "hold", "0001.pdf")]
    assert problems[0].sentence == ("HM-1-IR-002 revision 1 says nothing of area A, of which revision 0 said `rework`")
    released = report(2, areas=[area("A", "3.1"), area("B", "3.1")])
    assert (
        compared((released, {}), (revised(2, 1, areas=[area("B", "3.1")], **naming(released)), {}), (first, {}))[0]
        == []
    )


def test_a_released_area_that_a_revision_leaves_out_is_named_where_nobody_speaks_of_it_any_more():
    released = report(1, areas=[area("A", "3.1"), area("B", "3.1")])
    silent = revised(1, 1, areas=[area("B", "2.9")], **naming(released))
    problems, states = compared((released, {}), (silent, {}))
    assert [(one.code, one.area, one.weight) for one in problems] == [("area-left-out", "A", "doubt")]
    assert problems[0].sentence.endswith("says nothing of area A, of which revision 0 said `release`")
    assert states == [("B", "release", "0001.pdf")]


# --- copies of one report


def test_a_revision_may_name_any_copy_of_what_it_replaces():
    """Two people countersigned two copies of one report apart; only one of the copies has rows of its own."""
    copies = [{"content": "BAD", "countersigned": who} for who in ("C. Other", "D. Other")]
    for named in copies:
        revision = revised(1, 1, **GOOD, supersedes_sha256=made.examined(BAD, **named).verification.sha256)
        problems, states = compared(*((BAD, copy) for copy in copies), (revision, {}))
        assert (told(problems), states) == ([BETTER], [("A", "release", "0002.pdf")])


def test_a_submittal_that_encloses_either_copy_of_a_superseded_report_is_told_of():
    signed = [made.examined(report(1), content="x", countersigned=who) for who in ("C. Other", "D. Other")]
    later = made.examined(revised(1, 1, supersedes_sha256=signed[0].verification.sha256))
    for one in signed:
        listed = (Listed("HM-1-IR-001.pdf", one.verification.sha256, 1000, "HM-1-IR-001", 0, "2026-03-01"),)
        sent = made.examined(None, content=f"submittal of {one.verification.sha256}")
        signer = dataclasses.replace(sent.verification.signers[0], claimed_time="2026-03-09T18:00:00+00:00")
        sent = dataclasses.replace(
            sent, verification=dataclasses.replace(sent.verification, signers=(signer,)), listed=listed, reference="S"
        )
        with Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="t") as index:
            for name, file in zip("abcd", (*signed, later, sent), strict=True):
                index.store(f"{name}.pdf", file)
            codes = [problem.code for problem in audit_of(index).problems]
        assert codes == ["superseded-in-use"]


def test_without_any_proof_a_revision_by_another_certificate_replaces_nothing():
    own = {**STRANGER, "by": "N. Hoxley"}
    problems, _ = compared((BAD, own), (revised(1, 1, **GOOD), own))
    assert told(problems) == [BETTER]
    problems, states = compared((BAD, own), (revised(1, 1, **GOOD), STRANGER))
    assert told(problems) == sorted([*FAULTS, ("revision-by-other-signer", "HM-1-IR-001", "doubt")])
    assert next(one for one in problems if one.weight == "doubt").sentence.endswith("by different people; both stand")
    assert states == [("A", "disputed", "0001.pdf")]


def test_files_in_doubt_for_different_reasons_both_stand():
    later, revoked = {"doubts": ("TRY_LATER",)}, {"doubts": ("REVOKED_NO_POE",)}
    problems, states = compared((BAD, later), (revised(1, 1, **GOOD), revoked))
    assert told(problems) == sorted([*FAULTS, ("revision-less-proven", "HM-1-IR-001", "fault")])
    assert states == [("A", "disputed", "0001.pdf")]


def test_a_strangers_later_report_closes_and_releases_nothing():
    problems, states = compared((BAD, {}), (report(2, **GOOD), STRANGER))
    claims = [("claim-less-proven", "HM-1-IR-002", "doubt")] * 3  # a number beyond, an area, a nonconformance
    assert sorted(told(problems)) == sorted([*FAULTS, *claims])
    assert states == [("A", "hold", "0000.pdf")]
    sentences = {one.sentence for one in problems if one.code == "claim-less-proven"}
    assert (
        "0001.pdf, which is indeterminate, says `closed` of NC-1; 0000.pdf is better proven and decides: `open`"
        in sentences
    )


def test_a_strangers_report_accuses_nobody_of_a_fault():
    """What it says of itself is a doubt; what it says against a proven report does not count."""
    good = report(1, **GOOD)
    bad = dataclasses.replace(
        BAD, number="HM-1-IR-002", nonconformances=(nonconformance(), nonconformance("NC-9", raised_in="HM-1-IR-002"))
    )
    problems, states = compared((good, {}), (bad, STRANGER))
    assert {one.weight for one in problems} == {"doubt"}
    assert [one.sentence for one in problems if one.code == "nonconformance-never-closed"] == [
        "NC-9, raised in HM-1-IR-002, was never closed; HM-1-IR-002 is the last to name it"
    ]
    assert all(one.verdict == "indeterminate" for one in problems)
    assert states == [("A", "release", "0000.pdf")]


def test_two_proven_files_for_one_revision_release_and_close_nothing_where_they_contradict():
    dated = report(1, **GOOD, date="2026-03-09")
    for pair in ((BAD, report(1, **GOOD)), (report(1, **GOOD), BAD), (BAD, dated)):
        problems, states = compared(*((one, {}) for one in pair))
        assert told(problems) == sorted([*FAULTS, ("number-duplicate", "HM-1-IR-001", "fault")])
        assert states == [("A", "disputed", "0001.pdf")]


def test_two_proven_files_for_one_revision_that_measured_otherwise_dispute_the_area_though_both_release_it():
    pair = [report(1, areas=[area("A", value, mean=Decimal(value))]) for value in ("3.1", "2.6")]
    index = Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00")
    with index:
        for n, record in enumerate(pair):
            index.store(f"{n:04d}.pdf", made.examined(record))
        audit_of(index)
        heads, ((*row,), *_), _ = ask(index, "areas")
        told = dict(zip(heads, row, strict=True))
        opened = [dict(zip(heads, row, strict=True)) for heads, rows, _ in [ask(index, "open")] for row in rows]
    assert (told["state"], told["mean"], told["minimum"], told["locations"]) == ("disputed", None, None, None)
    assert told["contested"] == "0000.pdf: release, 0001.pdf: release"
    assert [(one["kind"], one["what"]) for one in opened] == [("disputed", "0000.pdf: release, 0001.pdf: release")]


def test_a_copy_of_a_report_that_measured_the_same_disputes_nothing():
    same = report(1, areas=[area("A", "3.1")])
    _, states = compared((same, {}), (dataclasses.replace(same, issued_at="2026-03-02T19:00:00Z"), {}))
    assert [state for _, state, _ in states] == ["release"]


def test_a_stranger_who_claims_a_number_is_no_duplicate():
    problems, states = compared((BAD, {}), (report(1, **GOOD), STRANGER))
    assert told(problems) == sorted([*FAULTS, ("claim-less-proven", "HM-1-IR-001", "doubt")])
    assert states == [("A", "hold", "0000.pdf")]


def test_a_stranger_neither_fills_nor_makes_a_gap():
    """The number that was taken away stays missing; one far above, by another pattern, accuses nobody."""
    other = {"number_pattern": "XX-###"}
    problems, _ = compared(
        (report(1), {}), (report(3), {}), (report(2, **other), STRANGER), (report(900, **other), STRANGER)
    )
    assert told(problems) == [
        ("number-missing", "HM-1-IR-002", "fault"),
        ("claim-less-proven", "HM-1-IR-900", "doubt"),
    ]
    assert problems[0].sentence.endswith("; 0002.pdf, which claims it, is indeterminate")


def test_a_stranger_does_not_stand_in_for_the_revision_that_was_replaced():
    """Only its hash, as the later revision records it, makes a less proven file the one that was replaced."""
    first = report(1)
    second = revised(1, 1)
    assert told(compared((second, {}), (first, STRANGER))[0]) == [("revision-missing", "HM-1-IR-001", "fault")]
    own = {**STRANGER, "by": "N. Hoxley"}
    problems, _ = compared((revised(1, 1, **naming(first, own)), {}), (first, own))
    assert problems == []


def test_a_strangers_revision_makes_nobody_build_upon_what_was_superseded():
    old = report(1)
    user = report(3, earlier=(old.day_sha256,))
    backdated = revised(1, 1, issued_at="2026-03-01T18:30:00Z")
    problems, _ = compared((old, {}), (report(2), {}), (user, {}), (backdated, STRANGER))
    assert told(problems) == [("revision-less-proven", "HM-1-IR-001", "fault")]


def test_a_stranger_can_neither_hide_nor_make_copied_readings():
    text = readings(5)
    one, other = report(1, surfaces=[surface("A", text)]), report(2, surfaces=[surface("B", text)])
    even = " ".join(["3.3"] * 11 + ["3.4"])
    hiding = [(report(n, contract="ZZ", number=f"ZZ-{n}", surfaces=[surface("A", even)]), STRANGER) for n in range(60)]
    problems, _ = compared((one, {}), (other, {}), *hiding)
    copied = [one for one in problems if one.code == "readings-alike" and one.contract == "HM-1"]
    assert told(copied) == [("readings-alike", "HM-1-IR-002", "doubt")]
    forged = report(1, contract="ZZ", number="ZZ-1", number_pattern=None, date="2020-01-01",
                    surfaces=[surface("A", text)])  # fmt: skip
    problems, _ = compared((one, {}), (forged, STRANGER))
    assert told(problems) == [("readings-alike", "ZZ-1", "doubt")], "said of the file that proves nothing"


def test_a_stranger_can_neither_hide_nor_cause_a_screening():
    def half(text):
        return " ".join(f"{round(float(one) * 2) / 2:.1f}" for one in text.split())

    rounded = [(report(n, surfaces=[surface("A", half(readings(n, spread=0.5)))]), {}) for n in range(1, 13)]
    diluting = [
        (report(n, contract="ZZ", number=f"ZZ-{n}", number_pattern=None, surfaces=[surface("A", readings(f"z{n}"))]),
         STRANGER)
        for n in range(1, 60)
    ]  # fmt: skip
    assert screened(*rounded, *diluting) == [("digits-heaped", "HM-1", "passed")]
    honest = [(report(n, surfaces=[surface("A", readings(n))]), {}) for n in range(1, 13)]
    smear = [
        (report(n, contract="ZZ", number=f"ZZ-{n}", number_pattern=None,
                surfaces=[surface("A", half(readings(f"y{n}", spread=0.5)))]), STRANGER)
        for n in range(1, 13)
    ]  # fmt: skip
    assert screened(*honest, *smear) == [("digits-heaped", "ZZ", "indeterminate")]


def screened(*files):
    return [(one.code, one.contract, one.verdict) for one in compared(*files)[0] if one.weight == "screening"]


def test_reports_whose_contract_cannot_be_read_are_not_of_one_contract():
    """An older release wrote them: nothing in one of them closes, supersedes or misses anything in another."""
    unread = {"doubts": ("OTHER_RELEASE",)}
    unknown = {"contract": "not stated", "number_pattern": None}
    bad = dataclasses.replace(BAD, **unknown)
    problems, states = compared(
        (bad, unread), (report(3, **unknown, **GOOD), unread), (report(1, 1, **unknown), unread)
    )
    assert sorted(told(problems))[:3] == FAULTS
    assert {one.code for one in problems} <= {*(code for code, _, _ in FAULTS), "revision-without-reason",
                                              "revision-missing"}  # fmt: skip
    assert [decision for _, decision, _ in states] == ["hold", "release"]


def test_a_second_copy_is_dropped_and_one_that_could_not_be_read_is_not_the_first():
    """The same bytes twice, of which one was not read in time: what they say is not lost."""
    with Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="t") as index:
        good = made.examined(BAD)
        late = made.examined(None, doubts=("RESOURCE_LIMIT",))
        late = dataclasses.replace(
            late, verification=dataclasses.replace(late.verification, sha256=good.verification.sha256)
        )
        index.store("a.pdf", late)
        index.store("b.pdf", good)
        index.store("c.pdf", good)
        codes = [(one.code, one.files) for one in audit_of(index).problems if not one.code.startswith("file-")]
    assert ("nonconformance-never-closed", ("b.pdf",)) in codes
    assert len(codes) == 3


def test_a_countersigner_in_doubt_does_not_make_a_report_equal_to_a_strangers():
    """The inspector is trusted, the root of the countersigner not at hand; the other file anyone can make."""
    genuine = {"doubts": STRANGER["doubts"], "countersigned": True}
    problems, states = compared((BAD, genuine), (report(2, **GOOD), STRANGER))
    assert "nonconformance-never-closed" in {one.code for one in problems}
    assert states == [("A", "hold", "0000.pdf")]


OWN_FILE = {"supersedes_sha256": "0" * 64, **NAMED_ALONE}
"""A revision of a file that is not there, by one whom only her own job names."""


def test_a_strangers_revision_of_her_own_file_releases_and_closes_nothing():
    """Nor does a report of hers that comes after it; what the genuine report says decides."""
    hers = revised(1, 1, **GOOD, **OWN_FILE)
    problems, states = compared((BAD, {}), (hers, PEER))
    assert told(problems) == sorted([*FAULTS, ("revision-not-entitled", "HM-1-IR-001", "fault")])
    assert [one.sentence for one in problems if one.code == "revision-not-entitled"] == [
        (
            "HM-1-IR-001 revision 1, 0001.pdf (passed), is signed by O. Ther, Inspectors, whom revision 0, 0000.pdf"
            " (passed), does not name in the role or the organisation of its inspector;"
            " the file that it names is not here; it replaces nothing, and what revision 0 says stands"
        )
    ]
    assert states == [("A", "hold", "0000.pdf")]
    rework = dataclasses.replace(BAD, areas=(area("A", "1.1", decision="rework"),), nonconformances=())
    later = report(2, areas=[area("A", "3.1")], **NAMED_ALONE)
    problems, states = compared((rework, {}), (hers, PEER), (later, PEER))
    assert ("release-not-entitled", "HM-1-IR-002", "fault") in told(problems)
    assert states == [("A", "rework", "0000.pdf")]


def test_a_strangers_revision_of_her_own_file_takes_no_release_and_accuses_nobody():
    hers = dataclasses.replace(BAD, revision=1, supersedes_revision=0, supersedes_reason="clerical", **OWN_FILE)
    problems, states = compared((report(1, **GOOD), {}), (hers, PEER))
    assert told(problems) == [("revision-not-entitled", "HM-1-IR-001", "fault")]
    assert states == [("A", "release", "0000.pdf")]


def test_a_strangers_own_report_of_the_number_does_not_let_her_release_what_the_other_left_open():
    """Which of the two is genuine, nothing says: both stand, with her revision or without."""
    rework = dataclasses.replace(BAD, areas=(area("A", "1.1", decision="rework"),), nonconformances=())
    hers = report(1, areas=[area("A", "3.1")], **NAMED_ALONE)
    further = revised(1, 1, areas=[area("A", "3.1")], **naming(hers, PEER), **NAMED_ALONE)
    later = report(2, areas=[area("A", "3.1")], **NAMED_ALONE)
    for beside in ([(hers, PEER)], [(hers, PEER), (further, PEER)]):
        problems, states = compared((rework, {}), *beside, (later, PEER))
        assert ("release-not-entitled", "HM-1-IR-002", "fault") in told(problems)
        assert [state for _, state, _ in states] == ["disputed"]


def test_a_revision_of_another_file_by_the_inspector_is_a_fork():
    problems, states = compared((BAD, {}), (revised(1, 1, supersedes_sha256="0" * 64, **GOOD), {}))
    assert states == [("A", "disputed", "0001.pdf")]
    assert {"nonconformance-never-closed", "revision-of-other-file"} <= {one.code for one in problems}


def test_a_revision_of_a_report_that_was_countersigned_since_names_it_as_it_was_issued():
    issued = made.examined(report(1)).verification.sha256
    problems, _ = compared((report(1), {"countersigned": True}), (revised(1, 1, supersedes_sha256=issued), {}))
    assert problems == []


def test_a_report_and_its_countersigned_copy_are_one_report():
    files = [(BAD, {"content": "BAD"}), (BAD, {"content": "BAD", "countersigned": True})]
    for pair in (files, files[::-1]):
        problems, states = compared(*pair)
        assert sorted(told(problems)) == sorted(FAULTS)
        assert states == [("A", "hold", f"{pair.index(files[1]):04d}.pdf")]
    doubted = (BAD, {"content": "BAD", "countersigned": True, "doubts": STRANGER["doubts"]})
    assert compared(files[0], doubted)[1] == [("A", "hold", "0000.pdf")], "the better proven one"


def test_a_forged_revision_between_two_genuine_ones_casts_no_doubt_on_the_first():
    problems, _ = compared((report(1), {}), (revised(1, 1), STRANGER), (revised(1, 2), {}))
    (told_of,) = [one.sentence for one in problems if one.code == "revision-less-proven"]
    assert told_of == (
        "HM-1-IR-001 revision 1, 0001.pdf (indeterminate, NO_CERTIFICATE_CHAIN_FOUND), is proven less than 0000.pdf,"
        " revision 0, and does not replace it"
    )


LOCATION = LocationRecord("4", Decimal("1.1"), "does not conform", (Decimal("1.1"),), "pot B", "grit")
POTS = (surface("A", "3.1"), dataclasses.replace(surface("A", "1.1"), apparatus="pot B"))


@pytest.mark.parametrize(
    ("decision", "surfaces", "locations", "said"),
    [
        ("rework", POTS, (LOCATION,), None),
        ("hold", POTS, (LOCATION,), "the decision is `hold`, not `rework`"),
        ("rework", POTS[:1], (LOCATION,), "an entry of pot B is gone"),
        ("rework", POTS, (), "location 4, which did not conform, is gone"),
        (
            "rework",
            POTS,
            (dataclasses.replace(LOCATION, verdict="conforms"),),
            "location 4, which did not conform, conforms",
        ),
        ("rework", (*POTS, POTS[0]), (LOCATION, dataclasses.replace(LOCATION, id="5")), None),
    ],
)
def test_what_a_revision_finds_better_or_leaves_out_is_named(decision, surfaces, locations, said):
    bad = area("A", decision="rework", locations=(LOCATION,))
    first = report(1, areas=[bad], surfaces=POTS)
    then = revised(1, 1, areas=[dataclasses.replace(bad, decision=decision, locations=locations)], surfaces=surfaces)
    found = [one.sentence for one in audited(first, then).problems if one.code == "revision-in-favour"]
    start = "HM-1-IR-001 revision 1 finds better of area A than revision 0: "
    assert found == ([] if said is None else [f"{start}{said}; reason given: clerical"])


def released(place, by, decision="release", **more):
    """A report on area A by a person whom no other report names, unless that is N. Hoxley."""
    people = {} if by == "N. Hoxley" else {"inspector": by, "may_revise": (PersonRecord(by, "Inspectors"),)}
    return report(place, areas=[area("A", decision=decision)], **people, **more), {"by": by}


@pytest.mark.parametrize(
    ("later", "void", "state"),
    [
        ([released(2, "N. Hoxley")], 0, "release"),
        ([released(2, "O. Ther")], 1, "hold"),
        ([released(2, "O. Ther"), released(3, "O. Ther")], 2, "hold"),
        ([released(2, "O. Ther"), released(3, "N. Hoxley"), released(4, "O. Ther")], 1, "release"),
        ([released(2, "O. Ther", "rework"), released(3, "O. Ther"), released(4, "N. Hoxley")], 1, "release"),
    ],
)
def test_an_area_is_released_by_whom_the_report_names_that_had_not(later, void, state):
    problems, states = compared(released(1, "N. Hoxley", "hold"), *later)
    assert [one.code for one in problems] == ["release-not-entitled"] * void
    assert [decision for _, decision, _ in states] == [state]


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        (("HM-1", "hm-1"), ["contract HM-1 is also written hm-1: taken for one"]),
        (("HM-1", "hm-1", "HM–1"), [
            "contract HM-1 is also written hm-1: taken for one",
            "contracts HM-1 and HM–<U+2013>1 are written much alike, and were not held against each other",
        ]),
        (("HM-1-12", "HM-11-2"), []),
    ],
)  # fmt: skip
def test_contract_numbers_that_look_alike(numbers, said):
    records = [report(n, contract=one) for n, one in enumerate(numbers, start=1)]
    codes = [one for one in audited(*records).problems if one.code == "contract-written-otherwise"]
    assert [one.sentence for one in codes] == said


def test_how_a_contract_is_called_does_not_depend_on_what_was_there_before():
    with Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="t") as index:
        index.store("b.pdf", made.examined(report(1, contract="hm-1")))
        audit_of(index)
        for name, n in (("c", 2), ("d", 3)):
            index.store(f"{name}.pdf", made.examined(report(n)))
        audit_of(index)
        assert {contract for (contract,) in index.rows("SELECT contract FROM reports")} == {"HM-1"}


def upon(n, sequence=12, sha256="a" * 64):
    one = made.examined(report(n))
    signed = one.verification.signers[0].left_sha256
    return dataclasses.replace(one, upon=Issue(one.record.number, 0, sequence, sha256, signed))


def audited_upon(*given):
    with Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00") as index:
        for n, one in enumerate(given):
            index.store(f"{n}.pdf", one)
        return audit_of(index).problems


def test_two_reports_that_each_followed_one_row_of_a_register():
    """Two copies of a folder went on apart; copies of one issue, other rows and none are no fork."""
    (problem,) = audited_upon(upon(1), upon(2))
    assert (problem.code, problem.number, problem.weight) == ("register-forked", "HM-1-IR-002", "fault")
    named = "HM-1-IR-001 revision 0 and HM-1-IR-002 revision 0"
    assert problem.sentence == f"{named} were each issued as the next after row 12 of the same register"
    assert audited_upon(upon(1), upon(2, 13)) == ()
    assert audited_upon(upon(1), upon(2, sha256="b" * 64)) == ()
    assert audited_upon(upon(1), upon(1)) == ()
    assert audited_upon(upon(1, 0), upon(2, 0)) == ()


SERIALS = ["T-1", "t-1", "t - 1", "\u0422-1", "T - 1", "T-01"]


def gauges_in(*serials):
    index = Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00")
    for n, serial in enumerate(serials, 1):
        gauge = InstrumentRecord("g1", serial, "thickness gauge", "mil", "", "", f"C-{n}", "", "")
        use = UseRecord("g1", f"A{n}", "readings", "2026-03-01", "2026-03-01", 1)
        record = report(n, areas=[area(f"A{n}", "3.1")])
        index.store(f"{n}.pdf", made.examined(dataclasses.replace(record, instruments=(gauge,), uses=(use,))))
    return index


def test_a_recall_shows_serials_that_are_written_alike_and_an_audit_names_them():
    with gauges_in(*SERIALS, "T-2", "T-11") as index:
        answer = audit_of(index)
        heads, rows, below = ask(index, "recall", Narrowed(gauge="T-1"))
    assert {row[heads.index("area")] for row in rows} == {"A1", "A2", "A3", "A4", "A5", "A6"}
    assert len(rows) == len(SERIALS)
    assert "these may be gauge T-1 too" in below[0]
    assert "T-01" in below[0]
    (one,) = [one for one in answer.problems if one.code == "gauge-written-otherwise"]
    assert (one.weight, "T-2" in one.sentence, "T-11" in one.sentence) == ("screening", False, False)


CYRILLIC_M, CYRILLIC_K = "\u041c", "\u041a"


@pytest.mark.parametrize("other", [f"H{CYRILLIC_M}-1", "HM-I", "HM-l", "hm 1"])
def test_contract_numbers_that_look_alike_are_named(other):
    """A report of a contract whose number looks the same is held against none of it, and that is said."""
    (one,) = [
        one
        for one in audited(report(1), report(2, contract=other)).problems
        if one.code == "contract-written-otherwise"
    ]
    assert (one.weight, len(one.files)) == ("doubt", 2)
    assert "were not held against each other" in one.sentence
    assert CYRILLIC_M not in other or f"H{CYRILLIC_M}<U+041C>-1" in one.sentence


def test_contract_numbers_that_do_not_look_alike_are_not_named():
    contracts = ("HM-1", "HM-11", "HM-2", "HM-1-1", "HN-1")
    answer = audited(*(report(n, contract=name) for n, name in enumerate(contracts, 1)))
    assert "contract-written-otherwise" not in [one.code for one in answer.problems]


@pytest.mark.parametrize("other", ["H M-1", "HM-01", "HM-I1", "HM1"])
def test_contract_numbers_that_look_alike_at_a_glance_are_asked_about(other):
    answer = audited(report(1), report(2, contract=other))
    (one,) = [one for one in answer.problems if one.code == "contract-written-otherwise"]
    assert one.weight == ("doubt" if other == "HM1" else "screening")


@pytest.mark.parametrize(
    ("one", "other", "listed", "weight"),
    [
        ("K-1", f"{CYRILLIC_K}-1", True, "doubt"),
        ("K-1", f"{CYRILLIC_K}-1", False, "doubt"),
        ("K-1", "K-I", False, "screening"),
        ("K-1", "K-I", True, None),
        ("B-4", "B-4.", True, "doubt"),
        ("B-4", "b 4", True, "doubt"),
        ("B-4.1", "B-41", True, None),
        ("K-O", "k 0", False, "screening"),
        ("K-1", "K-11", False, None),
    ],
)
def test_areas_that_look_alike_are_named_unless_a_project_file_lists_them_as_two(one, other, listed, weight):
    plans = [PlannedAreaRecord(name, "part", "gate", "Gate", "20", "m2") for name in (one, other)]
    first = report(1, areas=[area(one, "3.1")], planned=tuple(plans if listed else plans[:1]), project_sha256="1")
    second = report(2, areas=[area(other, "3.1")], planned=tuple(plans if listed else plans[1:]), project_sha256="2")
    found = [problem for problem in audited(first, second).problems if problem.code == "area-written-otherwise"]
    assert [problem.weight for problem in found] == ([] if weight is None else [weight])
    if CYRILLIC_K in other:
        assert f"{CYRILLIC_K}<U+041A>-1" in found[0].sentence
    elif weight == "doubt":
        assert "stand on one list and differ in nothing but capitals, blanks, dashes or points" in found[0].sentence


def test_serials_with_0_for_o_are_named():
    with gauges_in("T-O4", "T-04") as index:
        (one,) = [one for one in audit_of(index).problems if one.code == "gauge-written-otherwise"]
        _, rows, _ = ask(index, "recall", Narrowed(gauge="T-O4"))
    assert ("T-O<U+004F>4" in one.sentence, len(rows)) == (True, 2)


def test_a_gauge_that_no_other_looks_like_is_recalled_alone():
    with gauges_in("T-1", "T-2", "T-11") as index:
        found = [one.code for one in audit_of(index).problems]
        _, rows, below = ask(index, "recall", Narrowed(gauge="T-1"))
    assert (found.count("gauge-written-otherwise"), len(rows), below) == (0, 1, ())


def test_the_areas_say_of_how_many_locations_their_mean_is():
    index = Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00")
    with index:
        one = area("A", "3.1", "3.2", "3.3")
        last = dataclasses.replace(one.locations[-1], profile=None)
        one = dataclasses.replace(one, locations=(*one.locations[:2], last))
        index.store("1.pdf", made.examined(report(1, areas=[one])))
        audit_of(index)
        heads, rows, _ = ask(index, "areas")
    assert (rows[0][heads.index("locations")], rows[0][heads.index("valued")]) == (3, 2)


def test_a_report_of_another_contract_is_told_to_be_no_raising_one():
    closed = nonconformance("NC-1", raised_in="FN-IR-005", status="closed")
    own = report(6, nonconformances=(closed,), areas=[area("A", "3.1")])
    other = report(
        5, number="FN-IR-005", contract="FN-2", nonconformances=(nonconformance("NC-1", raised_in="FN-IR-005"),)
    )
    (one,) = [one for one in audited(own, other).problems if one.code == "raising-report-absent"]
    assert "was raised in FN-IR-005; " in one.sentence
    assert "has that number and is a report of contract FN-2, so that nothing in it is closed by this" in one.sentence
    assert len(one.files) == 2


def test_readings_that_a_revision_has_under_another_area_are_told():
    first = report(1, surfaces=[surface("A", readings(1)), surface("B", readings(2)), surface("C", readings(3))])
    swapped = revised(1, 1, surfaces=[surface("A", readings(2)), surface("B", readings(1)), surface("C", readings(3))])
    moved = [one for one in audited(first, swapped).problems if one.code == "revision-moves-readings"]
    assert [(one.weight, one.area) for one in moved] == [("note", "A"), ("note", "B")]
    assert moved[0].sentence == (
        "HM-1-IR-001 revision 1: the readings that stood under area B in revision 0 stand under area A"
    )
    twice = revised(1, 1, surfaces=[surface(name, readings(n)) for name, n in (("A", 1), ("B", 1), ("C", 3))])
    assert "revision-moves-readings" not in {one.code for one in audited(first, twice).problems}, "they are A's too"
