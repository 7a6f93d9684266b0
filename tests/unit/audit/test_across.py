# ruff: noqa: S311 - invented readings, not secrets
"""What an audit finds across files, and what it leaves alone, on an index in memory."""

import dataclasses
import random
from pathlib import Path

import pytest

from reportgen.audit import Index, audit_of
from tests.unit.issued import records as made
from tests.unit.issued.records import area, finding, nonconformance, report, surface


def audited(*records, failed=()):
    index = Index.make(Path(":memory:"), folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00")
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


def test_a_gap_is_found_with_and_without_a_pattern():
    assert found(report(1), report(3)) == [("number-missing", "HM-1-IR-002", "")]
    assert found(report(1, number_pattern=None), report(3, number_pattern=None)) == [
        ("number-missing", "HM-1-IR-002", "")
    ]
    assert found(report(1, number="FIRST", number_pattern=None)) == []


def test_a_number_that_a_failed_file_claims_is_no_gap():
    assert found(report(1), report(2), report(3), failed={1}) == [("file-failed", "HM-1-IR-002", "")]


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
    assert found(one, other) == [("readings-copied", "HM-1-IR-002", "B")]
    both = report(1, surfaces=[surface("A", text), surface("B", text)])
    assert found(both) == [("readings-copied", "HM-1-IR-001", "B")]


def test_a_revision_repeats_its_readings_rightly():
    text = readings(5)
    assert found(report(1, surfaces=[surface("A", text)]), revised(1, 1, surfaces=[surface("A", text)])) == []


def test_short_or_even_sequences_coincide_by_chance():
    for text in ("3.1 3.4", "3.3 3.3 3.3 3.3 3.3 3.3 3.3 3.4 3.3 3.3 3.3 3.3"):
        records = [report(n, surfaces=[surface("A", text if n < 3 else readings(n))]) for n in range(1, 7)]
        assert found(*records) == [], text


TEN = "2.9 3.0 3.1 3.2 3.3 3.4 3.5 3.6 3.7 3.7"


def test_the_probability_is_stated_as_derived():
    (problem,) = audited(*(report(n, surfaces=[surface("A", TEN)]) for n in (1, 2))).problems
    # by hand: of 10·9 ordered pairs of readings 2 agree, q = 2/90 = 0.022; one pair of sequences; (2/90)^10 = 2.9e-17
    assert "agree with probability 0.022, so that of the 1 pairs of such sequences" in problem.sentence
    assert problem.sentence.endswith("between reports of one contract 3e-17 would agree by chance")


def test_pairs_are_counted_by_kind():
    """Two contracts with three and one report, two surfaces each: 4 pairs in reports, 12 in contracts, 12 between."""
    records = [
        report(n, surfaces=[surface("A", readings(f"a{n}")), surface("B", readings(f"b{n}"))]) for n in (1, 2, 3)
    ]
    copied = " ".join(map(str, records[0].surfaces[0].readings))
    surfaces = [surface("A", copied), surface("B", readings("c"))]
    far = report(9, number="XX-001", contract="XX", number_pattern=None, surfaces=surfaces)
    (problem,) = audited(*records, far).problems
    assert "of the 12 pairs of such sequences between contracts" in problem.sentence
    text = readings("d")
    inside = report(1, surfaces=[surface("A", text), surface("B", text)])
    (problem,) = audited(inside, *records[1:]).problems
    assert "of the 3 pairs of such sequences within one report" in problem.sentence
    records[1] = report(
        2, surfaces=[surface("A", " ".join(map(str, records[0].surfaces[0].readings))), surface("B", text)]
    )
    (problem,) = audited(*records).problems
    assert "of the 12 pairs of such sequences between reports of one contract" in problem.sentence


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
    assert [(one.code, one.weight) for one in problems] == [("digits-uneven", "screening")]
    assert "This is a screening, not a proof" in problems[0].sentence


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
    evenly = surface("A", "3.3 3.4 3.3 3.2 3.3 3.4 3.3 3.3 3.2 3.3 3.4 3.3")

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
        with Index.make(Path(":memory:"), folder="/a", fingerprint="f", at="t") as index:
            for record in order:
                index.store(names[record.number], made.examined(record))
            answers.append(audit_of(index))
    assert answers[0] == answers[1]
    assert answers[0].problems
