"""Names of people and houses: when two may be one, for what a doubt forbids."""

from types import SimpleNamespace

import pytest

from reportgen.names import (
    file_stem,
    full_title,
    look_alike,
    names_house,
    names_nobody,
    names_somebody,
    perhaps_one,
    perhaps_one_house,
    says_nothing,
    short_title,
    shown,
    told_apart,
)


@pytest.mark.parametrize(
    ("one", "other", "may_be"),
    [
        ("S. Ollendry", "Ollendry, S.", True), ("Mr Ollendry", "S. Ollendry", True),
        ("Sam Ollendry", "S. Ollendry", True), ("Ollendry", "Sam Ollendry", True), ("Sam", "Sam Ollendry", True),
        ("R. Ollendry", "S. Ollendry", False), ("Rose Ollendry", "S. Ollendry", False), ("S.", "S. Ollendry", False),
        ("S. Hall", "S. Ollendry", False), ("", "S. Ollendry", False), ("A. V", "V, A.", True), ("A.", "A. V", False),
    ],
)  # fmt: skip
def test_two_names_may_be_one_persons(one, other, may_be):
    assert perhaps_one(one, other) is may_be
    assert perhaps_one(other, one) is may_be


@pytest.mark.parametrize(
    ("text", "person", "meant"),
    [
        ("Mr Ollendry, for the works", "S. Ollendry", True), ("(OLLENDRY)", "Ollendry, Sam", True),
        ("Sam Hall", "Sam Ollendry", False), ("S.", "S. Ollendry", False), ("Hall", "S. O.", False),
    ],
)  # fmt: skip
def test_a_text_names_somebody_by_the_surname(text, person, meant):
    assert names_somebody(text, person) is meant


def test_a_house_called_by_what_it_is_in_law_is_named_all_the_same():
    assert perhaps_one_house("Co", "Co.")
    assert not perhaps_one_house("Harrow Co", "Co")  # what an organisation is called is stated, and is not in a text
    assert names_house("H. Renn of Co", "Co")
    assert not names_house("H. Renn", "Co")
    assert perhaps_one_house("Pellworth", "Pellworth Coatings Ltd")


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("Pellworth Coating Ltd", True), ("Pelworth Coatings", True), ("Coatings Pellwoth", True),
        ("Fellworth Coatings", False), ("Pellworth Bridge", False), ("Harrow Coatings", False),
    ],
)  # fmt: skip
def test_a_house_that_is_mistyped_may_be_that_house(name, meant):
    assert perhaps_one_house(name, "Pellworth Coatings") is meant
    assert perhaps_one_house("Pellworth Coatings", name) is meant


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ("\u0410. Vintry", "A. Vintry", True),  # Cyrillic A
        ("\u0391. VINTRY", "A. Vintry", True),  # Greek Alpha, and capitals
        ("\u0406. Tern", "i. tern", True),  # Cyrillic I, beside a small letter
        ("A. Vlntry", "A. VIntry", True),
        ("O\u2019Neil", "O'Neil", True),
        ("A.\u200b Vintry", "A. Vintry", True),  # with a space of no width
        ("A. Vintry", "a.  VINTRY", False),  # one name
        ("A. Vintry", "A. Vintri", False),
        ("M\u00fcller", "Muller", False),
    ],
)
def test_which_names_look_alike(one, other, alike):
    assert look_alike(one, other) is look_alike(other, one) is alike


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("\u0410. Vintry", "\u0410<U+0410>. Vintry"),
        ("\u0421. \u0421\u043e\u0445", "\u0421<U+0421>. \u0421<U+0421>\u043e<U+043E>\u0445<U+0445>"),  # reads C. Cox
        ("A.\u200bVintry", "A.<U+200B>Vintry"),
        ("\u0418\u0432\u0430\u043d \u041f\u0435\u0442\u0440\u043e\u0432", None),
        ("\u00c7. Y\u0131ld\u0131z", None),
        ("\u7530\u4e2d Tanaka", None),
        ("A. Vintry", None),
    ],
)
def test_letters_that_cannot_be_told_by_looking_are_shown_as_code_points(name, told):
    assert shown(name) == (told or name)


def test_two_look_alikes_are_told_apart():
    assert told_apart("\u0410. Vintry", "A. Vintry") == "\u0410<U+0410>. Vintry"
    assert told_apart("A. Vintry", "\u0410. Vintry") == "A. Vintry"
    assert told_apart("Vlntry", "VIntry") == "Vl<U+006C>ntry"


@pytest.mark.parametrize("text", [
    "Board", "N. Body", "A. Nunn", "N. Nash", "Nan Oakes", "O. Kay", "Ann Open", "Laura Later", "N. Missing",
    "Leer GmbH", "dry", "90 deg", "venturi 8", "below", "see sketch 4", "in the box girder", "clear", "calm",
])  # fmt: skip
def test_what_says_something(text):
    assert not says_nothing(text)
    assert not names_nobody(text)


@pytest.mark.parametrize(
    "text", ["nicht erfaßt", "Später", "spaeter", "gemäß Protokoll", "Entfa\u0308llt", "MÜNDLICH", "lost!"]
)
def test_umlauts_capitals_and_marks_hide_no_word_that_says_nothing(text):
    assert names_nobody(text)


def test_a_revision_is_named_one_way_in_sentences_tables_and_files():
    first, second = (SimpleNamespace(number="IR-002", revision=one) for one in (0, 1))
    assert [full_title(one) for one in (first, second)] == ["IR-002 revision 0", "IR-002 revision 1"]
    assert [short_title(one) for one in (first, second)] == ["IR-002 r0", "IR-002 r1"]
    assert [file_stem(one) for one in (first, second)] == ["IR-002", "IR-002-r1"]
    assert short_title(second, 0) == "IR-002 r0"
