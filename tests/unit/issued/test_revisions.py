"""Which file counts where several claim one number: proof decides, and who may answer for whose report."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.issued import Counting, Filed, PersonRecord, Said, Spoken, Standing, left_out, outcomes
from tests.unit.issued.test_standing import LATER, OTHER, OWN, PROVEN, REVOKED, STRANGER, standing

HALF = standing("COUNTERSIGNER:NO_CHAIN", "OTHER_RELEASE")


def places(claims):
    return [one.place for one in outcomes(claims)]


@pytest.mark.parametrize(
    ("claims", "becomes"),
    [
        ([(0, PROVEN)], ["decides"]),
        ([(0, PROVEN), (1, PROVEN)], ["superseded", "decides"]),
        ([(0, PROVEN), (1, OTHER)], ["decides", "not entitled"]),
        ([(0, PROVEN), (9, STRANGER)], ["decides", "set aside"]),
        ([(0, STRANGER), (1, PROVEN)], ["superseded", "decides"]),
        ([(1, STRANGER), (1, PROVEN)], ["set aside", "decides"]),
        ([(0, PROVEN), (1, STRANGER), (2, PROVEN)], ["superseded", "superseded", "decides"]),
        ([(0, PROVEN), (2, PROVEN), (9, STRANGER)], ["superseded", "decides", "set aside"]),
        # a stranger's report with its revision, beside the genuine one
        ([(0, PROVEN), (0, STRANGER), (1, STRANGER)], ["decides", "set aside", "set aside"]),
        ([(0, PROVEN), (0, STRANGER), (1, STRANGER), (2, STRANGER)], ["decides", *["set aside"] * 3]),
        # two files for one revision, equally proven
        ([(0, PROVEN), (0, PROVEN)], ["disputed", "disputed"]),
        ([(0, PROVEN), (0, PROVEN), (1, PROVEN)], ["superseded", "superseded", "decides"]),
        # nobody is proven: only the same certificate ties a revision to what it revises
        ([(0, OWN), (1, OWN)], ["superseded", "decides"]),
        ([(0, OWN), (9, STRANGER)], ["disputed", "disputed"]),
        # in doubt for different reasons: neither is at least as well proven as the other
        ([(0, LATER), (1, REVOKED)], ["disputed", "disputed"]),
        ([(0, standing("A", "B")), (1, standing("A"))], ["superseded", "decides"]),
        ([(0, standing("A")), (1, standing("A", "B"))], ["decides", "set aside"]),
        # whoever signed first is proven, a countersigner is not: that is above whoever is not known at all
        ([(0, HALF), (0, STRANGER)], ["decides", "set aside"]),
        ([(0, HALF), (9, STRANGER)], ["decides", "set aside"]),
        ([(0, STRANGER), (1, HALF)], ["superseded", "decides"]),
        ([(0, PROVEN), (1, HALF)], ["decides", "set aside"]),
        ([(0, HALF), (1, OTHER)], ["set aside", "decides"]),
        ([(0, HALF), (0, OTHER)], ["set aside", "decides"]),
    ],
)
def test_what_becomes_of_the_files_of_one_number(claims, becomes):
    for order in itertools.permutations(range(len(claims))):
        assert places([Filed(*claims[n]) for n in order]) == [becomes[n] for n in order]


DOUBTS = st.frozensets(st.sampled_from("ABC"))


def standing_by(doubts, name):
    return Standing(doubts, name, name)


CLAIMS = st.lists(st.tuples(st.integers(0, 3), st.builds(standing_by, DOUBTS, st.sampled_from("XY"))), min_size=1)


@given(CLAIMS)
def test_nothing_proven_less_ever_silences(claims):
    found = places([Filed(*claim) for claim in claims])
    assert {"decides", "disputed"} & set(found), "one file at least counts"
    for (revision, own), place in zip(claims, found, strict=True):
        if place == "superseded":
            assert any(later > revision and other.doubts <= own.doubts for later, other in claims)
        if place == "set aside":
            assert any(other.doubts < own.doubts for _, other in claims)
        if place == "not entitled":
            assert any(before < revision and other.name != own.name for before, other in claims)
        elif own.proven and revision == max(later for later, other in claims if other.proven):
            assert place in {"decides", "disputed"}


@given(CLAIMS)
def test_an_unproven_file_changes_nothing_for_proven_ones(claims):
    """What a stranger adds has no influence on which proven file counts."""
    proven = [claim for claim in claims if claim[1].proven]
    alone = places([Filed(*claim) for claim in proven])
    all_places = places([Filed(*claim) for claim in claims])
    among = [place for claim, place in zip(claims, all_places, strict=True) if claim[1].proven]
    counting = [place in {"decides", "disputed"} for place in alone]
    assert [place in {"decides", "disputed"} for place in among] == counting
    assert among == alone


FIRST = Filed(0, PROVEN, ("a", "a countersigned"))


@pytest.mark.parametrize(
    ("claims", "becomes"),
    [
        ([FIRST, Filed(1, PROVEN, ("b",), "a")], ["superseded", "decides"]),
        ([FIRST, Filed(1, PROVEN, ("b",), "a countersigned")], ["superseded", "decides"]),
        # what names another file is a fork, if its signer may revise the report at all
        ([FIRST, Filed(1, PROVEN, ("b",), "x")], ["disputed", "disputed"]),
        ([FIRST, Filed(1, OTHER, ("b",), "x")], ["decides", "not entitled"]),
        (
            [FIRST, Filed(1, OTHER, ("b",), "x"), Filed(2, OTHER, ("c",), "b")],
            ["decides", "not entitled", "not entitled"],
        ),
        (
            [FIRST, Filed(1, OTHER, ("b",), "x"), Filed(2, PROVEN, ("c",), "b")],
            ["disputed", "not entitled", "disputed"],
        ),
        (
            [FIRST, Filed(1, PROVEN, ("b",), "a"), Filed(1, OTHER, ("c",), "x"), Filed(2, OTHER, ("d",), "y")],
            ["superseded", "decides", "not entitled", "not entitled"],
        ),
        # each has an own report of the number, and nothing says which is the genuine one
        ([FIRST, Filed(0, OTHER, ("x",)), Filed(1, OTHER, ("b",), "x")], ["disputed", "superseded", "disputed"]),
        (
            [FIRST, Filed(1, PROVEN, ("b",), "a"), Filed(2, PROVEN, ("c",), "b")],
            ["superseded", "superseded", "decides"],
        ),
        # the one in between is not there: the same hand only
        ([FIRST, Filed(2, PROVEN, ("c",), "b")], ["superseded", "decides"]),
        ([FIRST, Filed(2, OTHER, ("c",), "b")], ["decides", "not entitled"]),
        # a file that names itself, or one after it, ends
        ([FIRST, Filed(1, OTHER, ("b",), "b")], ["decides", "not entitled"]),
    ],
)
def test_a_revision_replaces_the_file_that_it_names(claims, becomes):
    for order in itertools.permutations(range(len(claims))):
        assert places([claims[n] for n in order]) == [becomes[n] for n in order]


A, B, C = (standing(by=name, name=f"{name}, Body") for name in "ABC")
A_AND_B = (PersonRecord("A", "Body"), PersonRecord("B", "Body"))


def filed(revision, who, names, supersedes=None, may_revise=A_AND_B):
    return Filed(revision, who, (f"{who.certificate}{revision}",), supersedes, names, may_revise)


ISSUED = filed(0, A, "A")


@pytest.mark.parametrize(
    ("later", "becomes"),
    [
        # another inspector whom the report names
        ([filed(1, B, "B", "A0")], ["superseded", "decides"]),
        # by one whom it does not name, though her own job does
        ([filed(1, C, "C", "A0", (PersonRecord("C"),))], ["decides", "not entitled"]),
        # who calls herself by another's name in her own job would fail; of another body by that name is another person
        ([filed(1, standing(by="b", name="B, Elsewhere"), "B", "A0")], ["decides", "not entitled"]),
        ([filed(1, standing(by="b", name="B"), "B", "A0")], ["superseded", "decides"]),
        # revisions of revisions: her second rests on her first, which was not hers to make
        ([filed(1, C, "C", "A0", (PersonRecord("C"),)), filed(2, C, "C", "C1", (PersonRecord("C"),))],
         ["decides", "not entitled", "not entitled"]),
        # the inspector takes it over
        ([filed(1, C, "C", "A0", (PersonRecord("C"),)), filed(2, A, "A", "C1")],
         ["superseded", "not entitled", "decides"]),
        # or goes on from her own report: both name the same one, and one of them may
        ([filed(1, C, "C", "A0", (PersonRecord("C"),)), filed(1, A, "A", "A0")],
         ["superseded", "not entitled", "decides"]),
        # whom a valid revision names, though the first report did not
        ([filed(1, B, "B", "A0", (PersonRecord("C", "Body"),)), filed(2, C, "C", "B1")],
         ["superseded", "superseded", "decides"]),
        # whichever file she names; of one whom the report names it is a fork, and nothing says which is the report
        ([filed(1, C, "C", "x", (PersonRecord("C"),))], ["decides", "not entitled"]),
        ([filed(1, B, "B", "x")], ["disputed", "disputed"]),
        # whom a valid revision names is judged by that one
        ([filed(1, B, "B", "A0", (PersonRecord("C", "Body"),)), filed(2, C, "C", "x")],
         ["superseded", "disputed", "disputed"]),
        # without any hash it can mean no other than the one that is there
        ([filed(1, C, "C", None, (PersonRecord("C"),))], ["decides", "not entitled"]),
    ],
)  # fmt: skip
def test_who_may_revise_a_report(later, becomes):
    claims = [ISSUED, *later]
    for order in itertools.permutations(range(len(claims))):
        assert places([claims[n] for n in order]) == [becomes[n] for n in order]


@pytest.mark.parametrize("may_close", [(), (PersonRecord("D", "Body"),)])
def test_who_may_close_what_a_report_raised_beside_those_who_may_revise_it(may_close):
    raised = Filed(0, C, ("c",), None, "C", (PersonRecord("C"),), may_close)
    other = Filed(0, standing(by="d", name="D, Body"), ("d",), None, "D")
    assert other.may_not_close(raised) is not bool(may_close)
    assert not other.entitled(raised), "closing is not revising"


@given(st.lists(st.tuples(st.integers(1, 4), st.integers(0, 9)), max_size=5))
def test_nobody_who_is_not_named_changes_what_a_report_decides(revisions):
    """Whatever tree of revisions C makes upon A's report, where each names a file that is there, or one that is not."""
    claims = [ISSUED]
    for place, (revision, which) in enumerate(revisions):
        before = [one for one in claims if one.revision < revision]
        named = [*(one.hashes[0] for one in before), "absent"][which % (len(before) + 1)]
        claims.append(Filed(revision, C, (f"c{place}",), named, "C", (PersonRecord("C"),)))
    assert places(claims) == ["decides", *["not entitled"] * len(revisions)]


def test_a_better_proven_stranger_who_names_a_report_does_not_replace_it():
    """The countersigner's root is not at hand; who signed the report is proven, and it was not this person."""
    genuine = Filed(0, HALF, ("a",), None, "A", (PersonRecord("A"),))
    assert places([genuine, filed(1, C, "C", "a", (PersonRecord("C"),))]) == ["decides", "not entitled"]


def spoken(file, revision, what, *, counts, number="1", date="2026-03-01"):
    return Spoken(file, revision, counts, Said((date, number), PROVEN, what))


def test_what_a_revision_is_silent_about():
    first, second = spoken("a", 0, "open", counts=False), spoken("b", 1, "closed", counts=True)
    counting = {"1": [Counting("b", 1, "2026-03-02")]}
    assert list(left_out([first, second], counting)) == [], "it names it"
    ((one, by),) = left_out([first], counting)
    assert (one.file, one.said.when, by.file) == ("a", ("2026-03-02", "1"), "b")
    assert list(left_out([spoken("b", 1, "open", counts=True)], counting)) == []
    assert list(left_out([spoken("c", 2, "open", counts=False)], counting)) == [], "an earlier one cannot know of it"
