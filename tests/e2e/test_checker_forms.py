"""Signatures and timestamps in other forms than the one that is known: neither the page nor the program passes them."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any
from unittest import mock

import pytest
from asn1crypto import core
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.verification import verify_report
from tests.e2e import mutated
from tests.e2e.tamper import forms
from tests.e2e.test_checker_agreement import both, ways
from tests.e2e.test_checker_odd_values import NULL, PLACES, der, object_id, sequence, stamp_telling
from tests.e2e.test_checker_times import asked
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from tests.checker_page import CheckerPage

pytestmark = [needs_program("chromium"), pytest.mark.filterwarnings("ignore")]  # of what is odd, libraries warn


def reasons(verdict: Any) -> str:
    return " ".join(one.sentence for step in verdict.steps[:4] for one in step.reasons)


def require_refused(found: dict[str, Any], verdict: Any) -> None:
    assert found["broke"] is None
    assert found["intact"]["answer"] != "yes"
    assert found["head"]["answer"] != "yes"
    assert ways(verdict) != {"passed"}
    assert verdict.overall != "passed"


# --- RSA-PSS


def padded(checker: CheckerPage, place: str, algorithm: bytes) -> tuple[dict[str, Any], Any]:
    pdf = forms.padded_at(place, algorithm)
    roots = [made.root().certificate, forms.padding_root().certificate]
    given = [one.public_bytes(Encoding.DER) for one in roots]
    return checker.examine(pdf, given, made.LATER), verify_report(pdf, at=made.LATER, roots=roots, **made.CHECKS)


@pytest.mark.parametrize("place", ["signer", "timestamp", "certificate"])
def test_parameters_of_rsa_pss_as_they_are(place: str, checker: CheckerPage) -> None:
    found, verdict = padded(checker, place, forms.SOUND)
    assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"}), (found, verdict.reasons)


@pytest.mark.parametrize("place", ["signer", "timestamp", "certificate"])
@pytest.mark.parametrize("name", forms.PARAMETERS)
def test_parameters_of_rsa_pss_have_one_form(name: str, place: str, checker: CheckerPage) -> None:
    require_refused(*padded(checker, place, forms.pss(*forms.PARAMETERS[name])))


# --- certificates that are brought along


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(
    "way",
    ["beside", "instead", "which has nothing to do with it", "of another key that fits", "issued by a leaf"],
)
def test_a_certificate_that_nothing_proves_is_not_passed_over(way: str, place: str, checker: CheckerPage) -> None:
    pdf = forms.brought_to(place, way)
    for trusted in (True, False):
        found, verdict = asked(checker, pdf, trusted=trusted)
        require_refused(found, verdict)
        assert found["intact"]["code"] == "UNPROVEN"
        assert "nothing proves that it is genuine" in reasons(verdict)
    assert checker.examine(pdf, [], made.LATER)["intact"]["code"] == "UNPROVEN"


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("way", ["beside, with who made it", "instead, with who made it"])
def test_who_made_it_proves_nothing_to_whom_trusts_the_root(way: str, place: str, checker: CheckerPage) -> None:
    found, verdict = asked(checker, forms.brought_to(place, way))
    require_refused(found, verdict)
    assert found["intact"]["code"] == "UNPROVEN"
    untold = checker.examine(forms.brought_to(place, way), [], made.LATER)["intact"]["code"]
    another = place == "countersigner"  # whose report holds the genuine root
    told = "INTACT" if way.startswith("instead") and not another else "UNPROVEN"
    assert untold == told, "without a root, it may be who issued it"


@pytest.mark.parametrize("place", PLACES)
def test_a_chain_without_its_root_is_refused_by_nobody(place: str, checker: CheckerPage) -> None:
    """Many authorities leave it out of what they issue, those of timestamps above all."""
    pdf = forms.brought_to(place, "none but who issued it")
    found, verdict = asked(checker, pdf)
    assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})
    assert checker.examine(pdf, [], made.LATER)["intact"]["code"] == "INTACT"
    _, untold = asked(checker, pdf, trusted=False)
    assert "nothing proves that it is genuine" not in reasons(untold)


def test_a_root_that_signed_itself_with_sha1_is_as_good_as_others(checker: CheckerPage) -> None:
    for soundly, code in ((True, "INTACT"), (False, "UNPROVEN")):
        older = made.signed_with_sha1(soundly=soundly)
        signer = made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), older), older)
        pdf = made.force_sealed(who=signer)
        assert checker.examine(pdf, [], made.LATER)["intact"]["code"] == code
        _, verdict = asked(checker, pdf, trusted=False)
        assert ("nothing proves that it is genuine" in reasons(verdict)) is not soundly


def test_a_fingerprint_can_be_typed_where_a_certificate_is_unproven(checker: CheckerPage) -> None:
    pdf = forms.brought_to("signer", "beside")
    said = checker.ask(pdf, at=made.LATER)
    assert said["intact"]["code"] == "UNPROVEN"
    assert checker.do(lambda page: page.locator("#intact #published").count()) == 1
    text = checker.do(lambda page: page.inner_text("#intact"))
    assert "Whoever passes it on" in text, "who is said to have issued it"


def test_the_curve_25519_goes_with_one_hash(checker: CheckerPage) -> None:
    """RFC 8419, 3.1: a signature with signed attributes hashes by SHA-512."""
    pair = made.certify(made.named("Ines Perk"), made.ed_key(), made.root())
    signer = made.identity_of(pair, made.root())
    for digest, intact in ((signer.digest, True), ("sha256", False)):
        with mock.patch("pyhanko.sign.signers.pdf_cms.Signer._check_digest_algorithm"):
            pdf = made.force_sealed(who=dataclasses.replace(signer, digest=digest))
        found, verdict = asked(checker, pdf)
        assert (found["intact"]["answer"] == "yes", verdict.overall == "passed") == (intact, intact)


@pytest.mark.parametrize("place", PLACES)
def test_another_key_named_as_that_above_condemns_nobody(place: str, checker: CheckerPage) -> None:
    """The signature proves who issued it: RFC 5280, 4.2.1.1, only helps to find that."""
    for edit in (forms.with_another_key_above, lambda _, data: data):
        found, verdict = asked(checker, mutated.file_with(place, edit))
        assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})
    found, verdict = asked(checker, forms.brought_to(place, "as it is"))
    assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})


# --- what nothing signs


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", forms.UNSIGNED)
def test_what_nothing_signs_has_one_form(name: str, place: str, checker: CheckerPage) -> None:
    require_refused(*asked(checker, mutated.file_with(place, forms.in_value(forms.UNSIGNED[name]))))


@pytest.mark.parametrize("place", PLACES)
def test_a_length_has_one_form(place: str, checker: CheckerPage) -> None:
    require_refused(*asked(checker, mutated.file_with(place, forms.long_way)))


@pytest.mark.parametrize("place", PLACES)
def test_a_signature_that_names_another_certificate(place: str, checker: CheckerPage) -> None:
    found, verdict = asked(checker, mutated.file_with(place, forms.in_value(forms.naming_another)))
    require_refused(found, verdict)
    assert found["intact"]["code"] == ("STAMP_DAMAGED" if place == "timestamp" else "SIGNER_MISNAMED")
    assert "names one certificate as that of its signer" in reasons(verdict)


# --- what is stated of the signer's certificate

USUAL = forms.by_sha256()
STATED = {
    "words after it": (forms.by_sha256(after=forms.WORDS),),
    "words after its issuer": (forms.by_sha256(after=sequence(sequence(), b"\2\1\1") + forms.WORDS),),
    "words beside it": (forms.by_sha256(more=forms.WORDS),),
    "another beside it with words": (forms.by_sha256(more=sequence(der(4, bytes(32)), forms.WORDS)),),
    "another beside it that is none": (forms.by_sha256(more=sequence(forms.WORDS)),),
    "the hash with words": (forms.by_sha256(sequence(mutated.SHA256[2:], forms.WORDS)),),
    "an older one beside it, of another": (USUAL, forms.by_sha1(wrong=True)),
    "an older one beside it, with words": (USUAL, forms.by_sha1(after=forms.WORDS)),
    "an older one beside it, with a hash": (USUAL, forms.by_sha1(mutated.SHA256)),
    "an older one alone, with a hash": (forms.by_sha1(mutated.SHA256),),
    "an older one alone, of another": (forms.by_sha1(wrong=True),),
    "an older one alone, with words": (forms.by_sha1(after=forms.WORDS),),
    "none": (),
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", STATED)
def test_a_certificate_is_stated_in_one_form(name: str, place: str, checker: CheckerPage) -> None:
    require_refused(*asked(checker, mutated.file_with(place, forms.stating(*STATED[name]))))


@pytest.mark.parametrize("place", PLACES)
def test_a_certificate_is_stated_in_both_ways(place: str, checker: CheckerPage) -> None:
    """RFC 5816: authorities of time write both, for readers that know the older one alone."""
    for written in ((USUAL,), (USUAL, forms.by_sha1()), (forms.by_sha256(more=sequence(der(4, bytes(32)))),)):
        found, verdict = asked(checker, mutated.file_with(place, forms.stating(*written)))
        assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"}), verdict.reasons
    found, verdict = asked(checker, mutated.file_with(place, forms.stating(forms.by_sha1())))
    alone = place in ("timestamp", "renewal")
    assert (found["intact"]["answer"], ways(verdict) == {"passed"}) == ("yes" if alone else "cannot", alone)


# --- what a timestamp states besides

NAME = der(0xA4, made.named("Clock").public_bytes())
QUALIFIED = sequence(sequence(object_id("0.4.0.19422.1.1")))


def stated(kind: str, value: bytes, *, critical: bool = False) -> bytes:
    return sequence(object_id(kind), b"\1\1\xff" if critical else b"", der(4, value))


QUALIFIES = "1.3.6.1.5.5.7.1.3"
MORE = {
    "two names": ("tsa", der(0xA0, NAME, NAME)),
    "a name and words": ("tsa", der(0xA0, NAME, forms.WORDS)),
    "words": ("extensions", der(0xA1, stated("1.3.6.1.4.1.55555.2", forms.WORDS))),
    "a condition": ("extensions", der(0xA1, stated("1.3.6.1.4.1.55555.2", NULL, critical=True))),
    "that it is qualified, and words": (
        "extensions", der(0xA1, stated(QUALIFIES, QUALIFIED), stated("1.3.6.1.4.1.55555.2", forms.WORDS)),
    ),
    "that it is qualified, with words": (
        "extensions", der(0xA1, stated(QUALIFIES, sequence(QUALIFIED[2:], forms.WORDS))),
    ),
    "that it is qualified, as a condition": ("extensions", der(0xA1, stated(QUALIFIES, QUALIFIED, critical=True))),
}  # fmt: skip


@pytest.mark.parametrize("name", MORE)
def test_a_timestamp_states_nothing_that_no_page_shows(name: str, checker: CheckerPage) -> None:
    for trusted in (True, False):
        found, verdict = asked(checker, stamp_telling(*MORE[name]), trusted=trusted)
        require_refused(found, verdict)
        assert "a timestamp states more" in reasons(verdict)


def test_a_timestamp_may_be_qualified_and_name_who_tells_it(checker: CheckerPage) -> None:
    """ETSI EN 319 422, 9.1 (from memory); RFC 3161, 2.4.2."""
    assert core.ObjectIdentifier.load(QUALIFIED[4:]).native == "0.4.0.19422.1.1"
    for what, value in (("extensions", der(0xA1, stated(QUALIFIES, QUALIFIED))), ("tsa", der(0xA0, NAME))):
        found, verdict = asked(checker, stamp_telling(what, value))
        assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})
        assert (found["when"][0]["code"], verdict.time) == ("PROVEN", "proven")


def test_a_report_as_it_is_passes(checker: CheckerPage) -> None:
    found, verdict = both(checker, made.complete_report())
    assert (found["intact"]["code"], verdict.overall) == ("INTACT", "passed")
    assert checker.examine(made.complete_report(), [], made.LATER)["intact"]["code"] == "INTACT"
