"""Which file counts where several speak of the same thing: proof decides, never the number alone."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.issued import Filed, Said, Standing, last_words, places, standing_of
from tests.unit.issued.records import examined, report


def standing(*doubts, by="A", name=""):
    return Standing(frozenset(doubts), by, name or by)


PROVEN, OTHER, STRANGER = standing(), standing(by="B"), standing("NO_CERTIFICATE_CHAIN_FOUND", by="S")
HALF = standing("COUNTERSIGNER:NO_CHAIN", "OTHER_RELEASE")
OWN, LATER, REVOKED = standing("NO_CERTIFICATE_CHAIN_FOUND"), standing("TRY_LATER"), standing("REVOKED_NO_POE", by="R")


@pytest.mark.parametrize(
    ("claims", "becomes"),
    [
        ([(0, PROVEN)], ["decides"]),
        ([(0, PROVEN), (1, PROVEN)], ["superseded", "decides"]),
        ([(0, PROVEN), (1, OTHER)], ["superseded", "decides"]),
        ([(0, PROVEN), (9, STRANGER)], ["decides", "set aside"]),
        ([(0, STRANGER), (1, PROVEN)], ["superseded", "decides"]),
        ([(1, STRANGER), (1, PROVEN)], ["set aside", "decides"]),
        ([(0, PROVEN), (1, STRANGER), (2, PROVEN)], ["superseded", "superseded", "decides"]),
        ([(0, PROVEN), (2, PROVEN), (9, STRANGER)], ["superseded", "decides", "set aside"]),
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
    ],
)
def test_what_becomes_of_the_files_of_one_number(claims, becomes):
    for order in itertools.permutations(range(len(claims))):
        assert places([Filed(*claims[n]) for n in order]) == [becomes[n] for n in order]


def test_one_name_is_one_hand_only_where_both_are_proven():
    renewed = standing(by="A renewed", name="A")
    assert PROVEN.same_hand(renewed)
    written = [standing(by=name, name=name) for name in ("Zoë  VINTRY, Inspectors", "Zoe\u0308 Vintry, Inspectors")]
    assert written[0].same_hand(written[1]), "as a name is compared everywhere"
    assert not standing(by="1", name="A\u200b").same_hand(standing(by="2", name="A"))
    assert not PROVEN.same_hand(OTHER)
    assert not OWN.same_hand(standing("NO_CERTIFICATE_CHAIN_FOUND", by="S", name="A")), (
        "anyone can write a name into a certificate"
    )


DOUBTS = st.frozensets(st.sampled_from("ABC"))
CLAIMS = st.lists(st.tuples(st.integers(0, 3), st.builds(Standing, DOUBTS, st.sampled_from("XY"))), min_size=1)


@given(CLAIMS)
def test_nothing_proven_less_ever_silences(claims):
    found = places([Filed(*claim) for claim in claims])
    assert {"decides", "disputed"} & set(found), "one file at least counts"
    for (revision, own), place in zip(claims, found, strict=True):
        if place == "superseded":
            assert any(later > revision and other.doubts <= own.doubts for later, other in claims)
        if place == "set aside":
            assert any(other.doubts < own.doubts for _, other in claims)
        if own.proven and revision == max(later for later, other in claims if other.proven):
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


def words(*said):
    return [Said(when, standing, what) for when, standing, what in said]


def test_the_last_word_is_the_latest_that_is_proven_enough():
    first, second, third = ("2026-03-01", "1"), ("2026-03-02", "2"), ("2026-03-03", "3")
    stands, less = last_words(words((second, PROVEN, "hold"), (first, PROVEN, "rework"), (third, STRANGER, "release")))
    assert ([one.what for one in stands], [one.what for one in less]) == (["hold"], ["release"])
    stands, less = last_words(words((first, STRANGER, "release"), (second, PROVEN, "hold")))
    assert ([one.what for one in stands], less) == (["hold"], [])
    stands, _ = last_words(words((first, LATER, "hold"), (second, REVOKED, "release")))
    assert [one.what for one in stands] == ["hold", "release"], "neither silences the other"
    for date in ("2026-03-01", "2026-03-09"):
        stands, _ = last_words(words((first, PROVEN, "hold"), ((date, "1"), OTHER, "release")))
        assert [one.what for one in stands] == ["hold", "release"], "one number: neither is the later report"


@given(st.lists(st.tuples(st.integers(0, 4), st.sampled_from("123"), DOUBTS), min_size=1))
def test_last_words_are_never_overridden_by_less(said):
    given_words = [Said((str(when), number), Standing(doubts), n) for n, (when, number, doubts) in enumerate(said)]
    stands, less = last_words(given_words)
    assert stands
    for one in given_words:
        others = [other for other in given_words if other.when > one.when and other.when[1] != one.when[1]]
        later = [other for other in others if other.standing.at_least(one.standing)]
        assert (one in stands or one in less) == (not later)
    for one in less:
        assert any(other.standing.doubts < one.standing.doubts for other in stands)


def test_standing_is_read_off_a_verification():
    assert standing_of(examined(report(1)).verification).proven
    found = standing_of(examined(report(1), doubts=("TRY_LATER",), by="X").verification)
    assert (found.doubts, found.certificate, found.name) == (frozenset({"TRY_LATER"}), "AA:BB:X", "X, Inspectors")


def test_a_doubt_is_about_the_signature_that_it_is_about():
    """Genuine, but for a countersigner whose root is not at hand, against a file that anyone made."""
    unknown = ("NO_CERTIFICATE_CHAIN_FOUND",)
    genuine = standing_of(examined(report(1), doubts=unknown, countersigned=True).verification)
    stranger = standing_of(examined(report(2), doubts=unknown, by="S. Tranger").verification)
    assert genuine.doubts == {"COUNTERSIGNER:NO_CERTIFICATE_CHAIN_FOUND"}
    assert (genuine.known, stranger.known, genuine.better(stranger), stranger.at_least(genuine)) == (
        True, False, True, False,
    )  # fmt: skip
    stands, less = last_words(words((("2026-03-01", "1"), genuine, "open"), (("2026-03-02", "2"), stranger, "closed")))
    assert ([one.what for one in stands], [one.what for one in less]) == (["open"], ["closed"])


FIRST = Filed(0, PROVEN, ("a", "a countersigned"))


@pytest.mark.parametrize(
    ("claims", "becomes"),
    [
        ([FIRST, Filed(1, OTHER, ("b",), "a")], ["superseded", "decides"]),
        ([FIRST, Filed(1, OTHER, ("b",), "a countersigned")], ["superseded", "decides"]),
        # what names another file is a fork, whoever signed it
        ([FIRST, Filed(1, OTHER, ("b",), "x")], ["disputed", "disputed"]),
        ([FIRST, Filed(1, PROVEN, ("b",), "x")], ["disputed", "disputed"]),
        ([FIRST, Filed(1, OTHER, ("b",), "x"), Filed(2, OTHER, ("c",), "b")], ["disputed", "superseded", "disputed"]),
        ([FIRST, Filed(1, PROVEN, ("b",), "a"), Filed(2, OTHER, ("c",), "b")], ["superseded", "superseded", "decides"]),
        # the one in between is not there: the same hand only
        ([FIRST, Filed(2, PROVEN, ("c",), "b")], ["superseded", "decides"]),
        ([FIRST, Filed(2, OTHER, ("c",), "b")], ["disputed", "disputed"]),
        # a file that names itself, or one after it, ends
        ([FIRST, Filed(1, OTHER, ("b",), "b")], ["disputed", "disputed"]),
    ],
)
def test_a_revision_replaces_the_file_that_it_names(claims, becomes):
    for order in itertools.permutations(range(len(claims))):
        assert places([claims[n] for n in order]) == [becomes[n] for n in order]
