"""How well a file is proven, and whose word is the last: proof decides, never the date alone."""

from hypothesis import given
from hypothesis import strategies as st

from reportgen.issued import Said, Standing, last_words, measured_otherwise, standing_of
from tests.unit.issued.records import examined, report


def standing(*doubts, by="A", name=""):
    return Standing(frozenset(doubts), by, name or by)


PROVEN, OTHER, STRANGER = standing(), standing(by="B"), standing("NO_CERTIFICATE_CHAIN_FOUND", by="S")
OWN, LATER, REVOKED = standing("NO_CERTIFICATE_CHAIN_FOUND"), standing("TRY_LATER"), standing("REVOKED_NO_POE", by="R")


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


def test_files_of_one_number_that_measured_otherwise_are_found_by_it():
    assert measured_otherwise([("IR-1", (1, 2)), ("IR-2", (3,)), ("IR-1", (1, 2))]) == set()
    assert measured_otherwise([("IR-1", (1, 2)), ("IR-2", (3,)), ("IR-1", (1, 3)), ("IR-2", (3,))]) == {"IR-1"}
