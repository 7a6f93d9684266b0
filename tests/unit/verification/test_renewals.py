"""Renewed reports: at which moment each signature is judged, and what a renewal may bring into a file."""

from __future__ import annotations

import functools
import io
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko_certvalidator.registry import SimpleCertificateStore

from reportgen.cli.verification_text import render_proof
from reportgen.errors import SealError
from reportgen.increments import RevocationData, append_renewal
from reportgen.seal import renew_report
from reportgen.verification import verify_report
from tests.e2e.tamper import appended
from tests.unit.seal.authorities import answer, crl, responder
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.verification import Verification
    from tests.unit.verification.signed_material import Pair

YEAR = timedelta(days=365)
# the writer takes the wish for new appearances away again, so that no file holds it
EDITS = [one for one in appended._edits() if one[0] != "appearances to be redrawn"]


@functools.cache
def authority(name: str, begins: int = 0, ends: int = 10, under: Pair | None = None) -> Pair:
    """Return a timestamp authority under the root, or another, valid from one year after signing to another."""
    return made.certify(
        made.named(name),
        made.rsa_key(),
        under or made.root(),
        key_usage=made.usage("digital_signature"),
        purposes=("1.3.6.1.5.5.7.3.8",),
        begin=made.AT + begins * YEAR - timedelta(days=30),
        end=made.AT + ends * YEAR,
    )


FIRST, SECOND = authority("First Time", 0, 4), authority("Second Time", 3, 9)


def renewed(pdf: bytes, by: Pair, years: float, **data: Any) -> bytes:
    at = made.AT + years * YEAR
    given = RevocationData(**{"crls": (crl(made.root(), at),), **data})
    return renew_report(pdf, made.timestamper(at, by), given=given).pdf


def verified(pdf: bytes, years: float, **more: Any) -> Verification:
    at = made.AT + years * YEAR
    return verify_report(pdf, at=at, roots=[made.root().certificate], **made.CHECKS, **more)


def names(found: Verification) -> list[str]:
    return [one.name for one in found.reasons]


ONCE = renewed(made.report(), FIRST, 1.5)
TWICE = renewed(ONCE, SECOND, 3.5)


@pytest.mark.parametrize(
    ("pdf", "years", "reasons"),
    [
        (made.report(), 1.8, []),
        (made.report(), 2.5, ["OUT_OF_BOUNDS_NO_POE"]),
        (ONCE, 2.5, []),
        (ONCE, 4.5, ["OUT_OF_BOUNDS_NO_POE"]),
        (TWICE, 4.5, []),
        (TWICE, 8.5, []),
        (TWICE, 9.5, ["OUT_OF_BOUNDS_NO_POE"]),
        # a renewal after the signer's certificate had ended, and one after that of the renewal before, prove nothing
        (renewed(made.report(), FIRST, 2.5), 2.6, ["OUT_OF_BOUNDS_NO_POE"]),
        (renewed(ONCE, SECOND, 4.2), 4.5, ["OUT_OF_BOUNDS_NO_POE"]),
    ],
)
def test_a_report_holds_as_long_as_the_newest_authority(pdf: bytes, years: float, reasons: list[str]) -> None:
    assert names(verified(pdf, years)) == reasons


def test_what_a_renewal_proves_is_told() -> None:
    found = verified(TWICE, 5)
    (signer,) = found.signers
    assert (found.time, signer.timestamp_authority) == ("proven", "First Time, Harbour Works")
    assert signer.proven_time == (made.AT + 1.5 * YEAR).isoformat(timespec="seconds")
    assert found.holds_until == (made.AT + 9 * YEAR).isoformat(timespec="seconds")
    assert found.revocation == f"checked until {(made.AT + 1.5 * YEAR).isoformat(timespec='seconds')}", (
        "the second list is dated after the signer's certificate had ended"
    )
    details = [line for line in found.steps[5].details if line.startswith("Renewal-")]
    assert [line.partition(":")[0] for line in details] == ["Renewal-2", "Renewal-1"]


def test_a_timestamp_of_its_own_counts_before_a_renewal() -> None:
    stamped = made.sealed(timestamper=made.timestamper(made.AT, FIRST))
    found = verified(renewed(stamped, SECOND, 3.5), 5)
    assert names(found) == []
    assert found.signers[0].proven_time == made.AT.isoformat(timespec="seconds")


def test_the_authority_of_a_renewal_that_is_not_trusted_proves_nothing() -> None:
    own = made.certify(
        made.named("Own Time"), made.rsa_key(), None, key_usage=made.usage("digital_signature"),
        purposes=("1.3.6.1.5.5.7.3.8",), end=made.AT + 20 * YEAR,
    )  # fmt: skip
    found = verified(renewed(made.report(), own, 1.5), 2.5)
    assert names(found) == ["OUT_OF_BOUNDS_NO_POE"]
    assert found.time == "claimed"
    early = verified(renewed(made.report(), own, 1.5), 1.8)
    assert names(early) == [], "nor does it harm"
    (said,) = early.steps[5].unproven
    assert said == "Renewal-1: a timestamp of Own Time, Harbour Works that proves nothing: its authority is not trusted"


def stamping(**more: Any) -> Pair:
    stated = {"key_usage": made.usage("digital_signature"), "purposes": ("1.3.6.1.5.5.7.3.8",), **more}
    key = stated.pop("key", None) or made.rsa_key()
    return made.certify(made.named("Some Time"), key, made.root(), end=made.AT + 20 * YEAR, **stated)


@pytest.mark.parametrize(
    ("by", "how", "why"),
    [
        (stamping(), {"override_md": "sha1"}, "it is made with SHA-1, which can be forged"),
        (stamping(), {"override_md": "md5"}, "it is made with MD5, which can be forged"),
        (stamping(key=made.rsa_key(1024)), {}, "the RSA key has 1024 bits; at least 2048 are needed"),
        (stamping(purposes=()), {}, "its certificate does not say that it stamps the time"),
    ],
    ids=["hash", "old hash", "key", "purpose"],
)
def test_of_a_trusted_authority_nobody_says_that_it_is_not_trusted(by: Pair, how: dict[str, str], why: str) -> None:
    """Whoever reads that gives its root once more, and finds no cause."""
    at = made.AT + YEAR
    (said,) = verified(renew_report(made.report(), made.timestamper(at, by, **how)).pdf, 1.5).steps[5].unproven
    assert said == f"Renewal-1: a timestamp of Some Time, Harbour Works that proves nothing: {why}"
    found = verified(made.sealed(timestamper=made.timestamper(made.AT, by, **how)), 0.1)
    assert found.time == "claimed"
    assert any(
        f"time claimed, not proven; its timestamp proves nothing: {why}" in one for one in found.steps[5].details
    )


@pytest.mark.parametrize(("years", "reasons"), [(1.2, ["REVOKED_NO_POE"]), (1.7, [])])
def test_revoked_before_it_was_proven_to_be_there_and_after(years: float, reasons: list[str]) -> None:
    at = made.AT + years * YEAR
    signer = made.Pair(made.inspector().certificate, None)
    today = crl(made.root(), made.AT + 1.8 * YEAR, [(signer, at)])
    found = verified(ONCE, 1.85, crls=(today,))
    assert names(found) == reasons
    said = [line for line in found.steps[4].details if "after it was proven to be there" in line]
    assert len(said) == (0 if reasons else 1)


def test_a_renewal_dated_before_the_one_below_it_contradicts_it() -> None:
    once = renewed(made.report(), FIRST, 1.5)
    for years, found in ((1.4, ["FORMAT_FAILURE"]), (1.5, [])):
        assert names(verified(renewed(once, FIRST, years), 1.8)) == found


def test_a_renewal_dated_before_the_signature_proves_nothing_and_is_said_to() -> None:
    back = renew_report(made.report(), made.timestamper(made.AT - timedelta(days=9), FIRST)).pdf
    found = verified(back, 0.01)
    assert (found.overall, found.time, names(found)) == ("indeterminate", "claimed", ["SIG_CONSTRAINTS_FAILURE"])
    assert found.reasons[0].sentence == (
        "the timestamp in Renewal-1, 2026-02-21 14:30 +0000, lies before the time that the signature in Inspector "
        "claims, 2026-03-02 14:30 +0000, which was there first: one of the two is wrong"
    )
    assert found.signers[0].proven_time is None
    said = "Renewal-1: a timestamp of First Time, Harbour Works that is dated before what it covers, and proves nothing"
    assert found.steps[5].unproven == (said,)
    assert f"  note: {said}" in " ".join(render_proof(found, "r.pdf").replace("\n    ", " ").splitlines())


@pytest.mark.parametrize("stale", [True, False])
def test_a_revocation_that_the_file_itself_holds_counts_though_its_list_is_old(*, stale: bool) -> None:
    signer = made.Pair(made.inspector().certificate, None)
    bad = crl(made.root(), made.AT + timedelta(days=1), [(signer, made.AT)])
    found = verified(made.sealed(revocation=RevocationData(crls=(bad,))), 1 if stale else 0.01)
    assert names(found) == ["REVOKED_NO_POE"]


def test_an_old_list_in_a_file_takes_nothing_away() -> None:
    kept = made.sealed(revocation=RevocationData(crls=(crl(made.root(), made.AT),)))
    found = verified(kept, 1)
    assert names(found) == []
    assert found.revocation == f"checked until {made.AT.isoformat(timespec='seconds')}"


def test_an_answer_about_the_signer_is_taken_with_a_renewal() -> None:
    at = made.AT + YEAR
    word = answer(made.inspector().certificate, made.root(), at)
    found = verified(renewed(made.report(), FIRST, 1, crls=(), ocsps=(word,)), 1.5)
    assert (names(found), found.revocation) == ([], f"checked until {at.isoformat(timespec='seconds')}")


def test_an_intermediate_that_no_signature_brings_is_taken_with_a_renewal() -> None:
    between = made.certify(
        made.named("Between"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY, end=made.AT + 9 * YEAR
    )
    signer = made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), between))
    alone = made.sealed(who=signer)
    with_it = renew_report(alone, made.timestamper(made.AT + YEAR, FIRST), known=[between.certificate])
    assert with_it.added.certificates == (between.certificate.public_bytes(Encoding.DER),)
    assert names(verified(alone, 0.5)) == ["NO_CERTIFICATE_CHAIN_FOUND"]
    assert names(verified(with_it.pdf, 1.5)) == []


def test_a_countersignature_may_follow_a_renewal() -> None:
    waiting = renewed(made.open_report(), FIRST, 0.5)
    signed = made.countersigned(waiting, made.engineer(), at=made.AT + 0.6 * YEAR)
    found = verified(renewed(signed, FIRST, 0.7), 1)
    assert names(found) == []
    moments = [one.proven_time for one in found.signers]
    assert moments == [(made.AT + part * YEAR).isoformat(timespec="seconds") for part in (0.5, 0.7)]


def test_only_a_signed_file_is_renewed() -> None:
    for pdf in (made.unsigned(), b"%PDF-1.7 junk"):
        with pytest.raises(SealError):
            renew_report(pdf, made.timestamper(made.AT, FIRST))


# what a renewal may not bring along


def smuggled(
    change: Callable[[Any], None],
    number: int = 1,
    data: RevocationData | None = None,
    by: Pair | None = None,
    years: float = 1,
) -> bytes:
    """Return a report with a renewal in whose revision something else was changed before its timestamp was made."""
    import asyncio
    from unittest import mock

    from reportgen.increments import writing

    place = writing.place_invisible_field

    def with_more(writer: Any, name: str, description: str) -> None:
        place(writer, name, description)
        change(writer)

    file = io.BytesIO(made.report())
    with mock.patch.object(writing, "place_invisible_field", with_more):
        prepared = append_renewal(file, number, revocation=data or RevocationData(), digest="sha256", room=32768)
    stamper = made.timestamper(made.AT + years * YEAR, by or FIRST)
    prepared.fill(asyncio.run(stamper.async_timestamp(prepared.digest, "sha256")))
    return file.getvalue()


def nothing(_: Any) -> None:
    pass


def pages_replaced(writer: Any) -> None:
    page = writer.find_page_for_modification(0)[0].get_object()
    page["/Rotate"] = writer.root["/AcroForm"]["/SigFlags"]
    writer.update_container(page)


def form_changed(writer: Any) -> None:
    from pyhanko.pdf_utils import generic

    form = writer.root.raw_get("/AcroForm")
    form.get_object()[generic.NameObject("/DA")] = generic.TextStringObject("/Helv 0 Tf")
    writer.mark_update(form)


def catalog_changed(writer: Any) -> None:
    from pyhanko.pdf_utils import generic

    writer.root["/PageMode"] = generic.NameObject("/UseAttachments")
    writer.update_root()


def stored_beside(writer: Any) -> None:
    from pyhanko.pdf_utils import generic

    store = writer.root["/DSS"]
    store["/VRI"] = generic.DictionaryObject()
    writer.update_container(store)


def an_object_more(writer: Any) -> None:
    from pyhanko.pdf_utils import generic

    writer.add_object(generic.DictionaryObject({generic.NameObject("/Hidden"): generic.TextStringObject("x")}))


def test_the_way_in_which_things_are_smuggled_is_itself_honest() -> None:
    assert names(verified(smuggled(nothing), 1.5)) == []


@pytest.mark.parametrize("change", [pages_replaced, form_changed, catalog_changed, stored_beside, an_object_more])
def test_nothing_else_comes_with_a_renewal(change: Callable[[Any], None]) -> None:
    found = verified(smuggled(change), 1.5)
    assert found.overall == "failed"
    assert "CHANGED_AFTER_SIGNING" in names(found)


@pytest.mark.parametrize(("edit", "more"), [one[1:] for one in EDITS], ids=[one[0] for one in EDITS])
def test_no_change_that_might_follow_a_signature_comes_with_a_renewal(edit: Callable[[Any], None], more: str) -> None:
    found = verified(smuggled(edit), 1.5)
    assert found.overall == "failed"
    assert {"CHANGED_AFTER_SIGNING", *more.split()} <= {*names(found)}


def test_nothing_that_no_chain_needs_comes_with_a_renewal() -> None:
    other = made.certify(made.named("Another"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    der = other.certificate.public_bytes(Encoding.DER)
    for data in (
        RevocationData(certificates=(der,)),
        RevocationData(crls=(crl(other, made.AT),)),
        RevocationData(ocsps=(answer(made.inspector().certificate, other, made.AT),)),
    ):
        found = verified(smuggled(nothing, data=data), 1.5)
        assert names(found) == ["CHANGED_AFTER_SIGNING"]
        assert found.reasons[0].sentence == "the store of validation data holds 1 that no chain of this file needs"


def test_what_no_chain_needs_of_an_answer_does_not_come_with_a_renewal() -> None:
    signer, root = made.inspector().certificate, made.root()
    own = responder("One Who Answers")
    other = made.certify(made.named("Another"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    word = answer(signer, root, made.AT, own)
    for data in (
        RevocationData(ocsps=(word,), certificates=(own.certificate.public_bytes(Encoding.DER),)),
        RevocationData(ocsps=(answer(signer, root, made.AT, responder("Stranger", other)),)),
        RevocationData(crls=(crl(own, made.AT),)),
    ):
        assert names(verified(smuggled(nothing, data=data), 1.5)) == ["CHANGED_AFTER_SIGNING"]
        assert renew_report(made.report(), made.timestamper(made.AT + YEAR, FIRST), given=data).added.crls == ()
    assert names(verified(smuggled(nothing, data=RevocationData(ocsps=(word,))), 1.5)) == []


def test_an_empty_answer_of_the_authorities_is_sealed_in_as_nothing() -> None:
    pdf = made.sealed(revocation=RevocationData())
    assert b"/DSS" not in pdf
    assert names(verified(pdf, 0.1)) == []


@pytest.mark.parametrize("number", [0, 2, 7])
def test_renewals_are_numbered_without_gaps(number: int) -> None:
    assert set(names(verified(smuggled(nothing, number), 1.5))) == {"CHANGED_AFTER_SIGNING"}


def test_a_renewal_whose_bytes_were_changed_fails() -> None:
    place = ONCE.rindex(b"/Renewal-1".replace(b"/", b"(")) if b"(Renewal-1" in ONCE else ONCE.rindex(b"/DocTimeStamp")
    changed = ONCE[:place] + ONCE[place : place + 12].swapcase() + ONCE[place + 12 :]
    assert verified(changed, 1.6).overall == "failed"


def test_a_later_renewal_is_not_older_than_what_it_covers() -> None:
    back = renewed(renewed(made.report(), FIRST, 1.5), FIRST, 1.2)
    found = verified(back, 1.8)
    assert (found.overall, "FORMAT_FAILURE" in names(found)) == ("failed", True)


@pytest.mark.parametrize(("ahead", "reasons"), [(0.000005, []), (0.01, ["SIG_CONSTRAINTS_FAILURE"])])
def test_the_clock_of_an_authority_may_be_somewhat_ahead_of_ours(ahead: float, reasons: list[str]) -> None:
    assert names(verified(renewed(made.report(), FIRST, 1 + ahead), 1)) == reasons


def test_a_store_is_shared_with_what_was_sealed_in_at_issue() -> None:
    first = crl(made.root(), made.AT)
    once = renewed(made.sealed(revocation=RevocationData(crls=(first,))), FIRST, 1, crls=(first,))
    twice = renewed(once, FIRST, 1.5)
    assert names(verified(twice, 2.5)) == []
    with pikepdf.open(io.BytesIO(twice)) as pdf:
        assert len(pdf.Root.DSS.CRLs) == 2


def test_the_chain_of_an_authority_comes_with_its_timestamp() -> None:
    between = made.certify(
        made.named("Time Between"),
        made.ec_key(),
        made.root(),
        ca=True,
        key_usage=made.AUTHORITY,
        end=made.AT + 9 * YEAR,
    )
    leaf = made.certify(
        made.named("Time Below"), made.rsa_key(), between, key_usage=made.usage("digital_signature"),
        purposes=("1.3.6.1.5.5.7.3.8",), end=made.AT + 8 * YEAR,
    )  # fmt: skip
    store = SimpleCertificateStore()
    store.register(asn1_x509.Certificate.load(between.certificate.public_bytes(Encoding.DER)))
    at: datetime = made.AT + YEAR
    pdf = renew_report(made.report(), made.timestamper(at, leaf, certs_to_embed=store)).pdf
    assert names(verified(pdf, 2.5)) == []
