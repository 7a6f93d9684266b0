"""Whose certificate it is: names as Unicode compares them, nothing transliterated, nothing invisible."""

from __future__ import annotations

import pytest
from asn1crypto import x509 as structure
from cryptography import x509

from reportgen.certificates import DEMONSTRATION, comparable, misnamed
from reportgen.names import spelling
from tests.unit.verification import signed_material as made

COMMON, BODY = x509.NameOID.COMMON_NAME, x509.NameOID.ORGANIZATION_NAME


def certificate(*attributes):
    subject = x509.Name([x509.NameAttribute(kind, value) for kind, value in attributes])
    return made.certify(subject, made.ec_key(), made.root()).certificate


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ines Perk", "  INES\u00a0\u2003 perk "),
        ("Zo\u00eb", "Zoe\u0308"),
        ("\u212bberg", "\u00e5berg"),  # the Angstrom sign is a letter in composed form: UAX 15, table 5
        ("Wei\u00df", "WEISS"),  # CaseFolding.txt: 00DF folds to 0073 0073
        ("Wei\u1e9e", "wei\u00df"),
        ("\u03a3\u03bf\u03c6\u03cc\u03c2", "\u03a3\u039f\u03a6\u038c\u03a3"),  # final sigma
        ("\u0130nan", "i\u0307nan"),
    ],
)
def test_spellings_of_one_name(one, other):
    assert spelling(one) == spelling(other) is not None
    assert misnamed(certificate((COMMON, one)), other) is None


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ines Perk", "Ines Park"),
        ("Ines Perk", "InesPerk"),
        ("Ines", "\u0406nes"),
        ("Ines", "In\u00e9s"),
        ("Mueller", "M\u00fcller"),
        ("Ines", "\uff29nes"),
        ("Ilse", "\u0131lse"),
        ("Smith-Jones", "Smith\u2010Jones"),
    ],
)
def test_other_names(one, other):
    assert spelling(one) != spelling(other)
    assert misnamed(certificate((COMMON, one)), other) is not None
    assert misnamed(certificate((COMMON, other)), one) is not None


@pytest.mark.parametrize("letter", ["\0", "\n", "\u00ad", "\u200b", "\u200d", "\u202e", "\u2028", "\ue000", "\u0378"])
def test_a_name_with_what_no_page_shows_is_nobodys(letter):
    name = f"Ines{letter} Perk"
    assert spelling(name) is None
    assert misnamed(certificate((COMMON, name)), "Ines Perk") is not None
    assert misnamed(certificate((COMMON, name)), name) is not None
    assert misnamed(certificate((COMMON, "Ines Perk")), name) is not None


def test_what_is_said_can_be_told_apart():
    assert (
        misnamed(certificate((COMMON, "Ines Perk")), "Edda Falk")
        == "the certificate names `Ines Perk`, not `Edda Falk`"
    )
    assert misnamed(certificate((COMMON, "J\u00f6rg Perk")), "M\u00e5ns Perk") == (
        "the certificate names `J\u00f6rg Perk`, not `M\u00e5ns Perk`"  # a J and an M, as anybody sees
    )
    assert misnamed(certificate((COMMON, "\u0406nes Perk")), "Ines Perk") == (
        "the certificate names `\u0406nes Perk`, not `Ines Perk` (U+0406 for U+0049)"
    )
    assert misnamed(certificate((COMMON, "Ines\u202e Perk")), "Ines Perk") == (
        "the certificate names `Ines<U+202E> Perk`, not `Ines Perk` (U+202E for U+0020)"
    )
    assert misnamed(certificate((COMMON, "Ines Perk\u00e9")), "Ines Perk") == (
        "the certificate names `Ines Perk\u00e9`, not `Ines Perk`"
    )
    assert (
        misnamed(certificate((BODY, "Ines Perk")), "Ines Perk")
        == "the certificate has 0 common names, not the one `Ines Perk`"
    )
    pair = certificate((COMMON, "Ines Perk"), (COMMON, "Edda Falk"))
    two = "the certificate has 2 common names (`Ines Perk, Edda Falk`), not the one `Ines Perk`"
    assert misnamed(pair, "Ines Perk") == two


def test_organisations():
    body = certificate((COMMON, "Ines Perk"), (BODY, "Harbour Works"))
    assert misnamed(body, "Ines Perk") is None
    assert misnamed(body, "Ines Perk", "harbour  WORKS") is None
    assert misnamed(body, "Ines Perk", "Rival Works") == (
        "the certificate names the organisation `Harbour Works`, not `Rival Works`"
    )
    assert misnamed(certificate((COMMON, "Ines Perk")), "Ines Perk", "Harbour Works") == (
        "the certificate names no organisation, and the job names `Harbour Works`"
    )
    both = certificate((COMMON, "Ines Perk"), (BODY, "Harbour Works"), (BODY, "Rival Works"))
    assert misnamed(both, "Ines Perk", "Harbour Works") == (
        "the certificate names the organisation `Harbour Works, Rival Works`, not `Harbour Works`"
    )
    assert misnamed(certificate((COMMON, "Ines Perk"), (BODY, DEMONSTRATION)), "Ines Perk", "Harbour Works") is None


def test_a_name_is_prepared_once_however_often_it_is_asked_about(monkeypatch):
    prepared = []
    load = structure.Name.load
    monkeypatch.setattr(structure.Name, "load", lambda data: prepared.append(data) or load(data))
    subject = certificate((COMMON, "Once Prepared")).subject
    assert [comparable(subject), comparable(subject)] == [True, True]
    assert len(prepared) == 1
