"""Completeness: what a contract lists is the denominator, and the newest report says how many were issued."""

from decimal import Decimal

import pytest

from reportgen.issued import PlannedAreaRecord
from reportgen.issued.completeness import AreaDecided, Numbered, completeness, numbers_of


def planned(*sizes, unit="m2"):
    return [
        PlannedAreaRecord(f"A{n}", f"part {n}", "gate", "Gate", str(size), unit if size else "")
        for n, size in enumerate(sizes, start=1)
    ]


def test_areas_are_counted_by_the_contract_and_not_by_what_was_met():
    found = completeness(
        planned("20", "30.5", "", "4"),
        {"A1": AreaDecided("release"), "A2": AreaDecided("release", coated=True), "A9": AreaDecided("release")},
    )
    assert [one.word for one in found.areas] == [
        "released", "coated", "not inspected", "not inspected", "no longer listed",
    ]  # fmt: skip
    assert (found.done, len(found.listed), found.unsized) == (2, 4, 1)
    assert found.amounts == ((Decimal("50.5"), Decimal("54.5"), "m2"),)


@pytest.mark.parametrize(
    ("decided", "word"),
    [
        (AreaDecided("release", in_part=True, coated=True), "released in part"),
        (AreaDecided("hold"), "hold"),
        (AreaDecided("hold", inspected=False), "not inspected"),
        (AreaDecided("rework"), "rework"),
        (AreaDecided("disputed"), "disputed"),
        (AreaDecided("unproven", coated=True), "unproven"),
    ],
)
def test_nothing_but_a_whole_release_is_done(decided, word):
    found = completeness(planned("20"), {"A1": decided})
    assert (found.areas[0].word, found.done) == (word, 0)


def test_lengths_and_areas_are_not_added_up():
    found = completeness([*planned("20"), *planned("7", unit="m")[:1]], {"A1": AreaDecided("release")})
    assert [one.unit for one in found.amounts] == ["m"], "one id is one area: the last that lists it"
    both = completeness([*planned("20"), PlannedAreaRecord("W", "weld", "gate", "Gate", "7", "m")], {})
    assert both.amounts == ((Decimal(0), Decimal(20), "m2"), (Decimal(0), Decimal(7), "m"))


def issued(place, revision=0, *, row=None, pattern="HM-###", area=None):
    row = 2 * (place - 1) if row is None else row
    return Numbered(f"HM-{place:03d}", revision, f"2026-03-{place:02d}T18:0{revision}:00Z", pattern, row, area)


def test_the_newest_report_says_how_many_were_issued():
    found = numbers_of([issued(n) for n in (1, 3, 5)])
    assert found == ("HM-005", "2026-03-05", 5, 3, ("HM-002", "HM-004"), 0, "HM-###", (), (), None)
    assert not found.whole
    assert numbers_of([issued(n) for n in (1, 2, 3)]).whole


def test_rows_of_the_register_that_nothing_explains_are_told():
    # 1, 2, a revision of 1, a slip of 3, and 3: that is upon eight rows
    there = [issued(1), issued(2), issued(3, row=8)]
    assert numbers_of(there).further == 2
    revision, slip = issued(1, 1, row=4), issued(3, row=6, area="A1")
    assert numbers_of([*there, revision]).further == 1
    assert numbers_of([*there, revision, slip]).further == 0


def second(place, row, day):
    number = f"X-{place:02d}"
    return Numbered(number, 0, f"2026-03-{day:02d}T18:00:00Z", "X-##", row)


def test_each_register_is_counted_by_itself_and_the_sum_is_the_sum():
    found = numbers_of([*(issued(n) for n in (1, 2, 4, 6)), second(1, 0, 9), second(3, 4, 10)])
    assert found[:6] == ("X-03", "2026-03-10", 9, 6, ("X-02", "HM-003", "HM-005"), 0)
    assert [(one.pattern, one.issued, one.here, one.by) for one in found.apart] == [
        ("X-##", 3, 2, "2026-03-10"),
        ("HM-###", 6, 4, "2026-03-06"),
    ]
    assert not found.whole


def test_an_issue_that_nothing_explains_is_told_of_the_register_that_holds_it():
    found = numbers_of([issued(1), issued(2, row=6), second(1, 0, 9)])
    assert [(one.pattern, one.further) for one in found.apart] == [("X-##", 0), ("HM-###", 2)]
    assert found.further == 2


def test_a_register_that_goes_on_under_another_pattern_holds_no_more():
    found = numbers_of([issued(1), issued(2), second(1, 4, 9), second(2, 6, 10)])
    assert (found.issued, found.here, found.further) == (4, 4, 0)


def test_a_report_without_a_register_tells_its_number_alone():
    there = [issued(n)._replace(row=None) for n in (1, 2)]
    assert numbers_of(there)[:6] == ("HM-002", "2026-03-02", 2, 2, (), 0)


def test_without_a_pattern_the_last_digits_count():
    there = [issued(n, pattern=None) for n in (1, 3)]
    assert numbers_of(there).missing == ("HM-002",)
    assert numbers_of([issued(1)._replace(number="FIRST", pattern=None)]) is None
    assert numbers_of([]) is None


def test_each_numbering_counts_where_no_report_states_a_pattern():
    """One report of another numbering, the newest of all, neither replaces the count nor hides a gap."""
    first = [issued(n, pattern=None) for n in (1, 2, 4)]
    other = second(1, 0, 9)
    for one in (other, other._replace(pattern=None)):
        found = numbers_of([*first, one])
        assert (found.issued, found.here, found.missing) == (5, 4, ("HM-003",))
        assert [(part.pattern, part.issued, part.here) for part in found.apart] == [("X-##", 1, 1), ("HM-###", 4, 3)]


def test_a_pattern_that_others_state_or_that_a_number_does_not_fit_leaves_no_report_out():
    found = numbers_of([issued(1, pattern=None), issued(3), second(2, 0, 9)._replace(pattern="HM-###")])
    assert [(part.pattern, part.missing) for part in found.apart] == [("X-##", ("X-01",)), ("HM-###", ("HM-002",))]


def test_a_number_with_a_letter_more_is_no_numbering_of_its_own():
    there = [issued(n, pattern=None) for n in (1, 2)]
    found = numbers_of([*there, issued(3, pattern=None)._replace(number="HM-002A")])
    assert (found.issued, found.here, found.missing) == (2, 2, ())


def test_numbers_without_zeros_in_front_are_one_numbering():
    there = [issued(n, pattern=None)._replace(number=f"HM-{n}") for n in (1, 2, 9, 10, 12)]
    found = numbers_of(there)
    assert (found.pattern, found.issued, found.here) == ("HM-#\u2026", 12, 5)
    assert found.missing == ("HM-3", "HM-4", "HM-5", "HM-6", "HM-7", "HM-8", "HM-11")


def test_a_number_that_leaps_beyond_any_register_tells_of_none_below_it():
    """A date is no place in a sequence; nor does one number make a list of a hundred million."""
    there = [
        Numbered("K-20260608", 0, "2026-06-08T18:00:00Z", None, None),
        Numbered("K-99999999", 0, "2026-06-09T18:00:00Z", "K-########", None),
        Numbered("A-02", 0, "2026-06-07T18:00:00Z", None, None),
    ]
    found = numbers_of(there)
    assert (found.pattern, found.issued, found.missing) == ("A-##", 2, ("A-01",))
    assert numbers_of(there[:2]) is None
