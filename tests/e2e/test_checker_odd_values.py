"""Certificates, timestamps and lists with values that readers take differently: never called unaltered."""

from __future__ import annotations

import functools
import hashlib
import json
import re
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import cms, core, tsp
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.verification import verify_report
from tests.e2e.test_checker_agreement import both, ways
from tests.outside import needs_program
from tests.unit.verification import signed_material as made
from tests.unit.verification import test_renewals as renewals

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.checker_page import CheckerPage

pytestmark = needs_program("chromium")
_VALUE = re.compile(rb"/Contents <([0-9A-Fa-f]+)>")
NULL = b"\x05\x00"


def der(tag: int, *parts: bytes) -> bytes:
    body = b"".join(parts)
    size = len(body)
    if size < 0x80:
        return bytes([tag, size]) + body
    digits = size.to_bytes((size.bit_length() + 7) // 8, "big")
    return bytes([tag, 0x80 + len(digits)]) + digits + body


sequence = functools.partial(der, 0x30)


def object_id(number: str) -> bytes:
    return bytes(core.ObjectIdentifier(number).dump())


def part(kind: str, value: bytes, tag: int = 0x0C) -> bytes:
    return der(0x31, sequence(object_id(kind), der(tag, value)))


def between(begin: bytes, end: bytes) -> dict[str, bytes]:
    return {"validity": sequence(begin, end)}


def called(*more: bytes) -> dict[str, bytes]:
    """A subject with the name of whoever it is, and ``more``."""
    return {"more of the subject": b"".join(more)}


BEGIN, END = der(0x17, b"260101000000Z"), der(0x17, b"300101000000Z")
UNIT, MAIL = "2.5.4.11", "1.2.840.113549.1.9.1"
ISSUER_NUMBER, SUBJECT_NUMBER = der(0x81, b"\0a"), der(0x82, b"\0a")

CERTIFICATES: dict[str, dict[str, bytes]] = {
    "an end with parts of a second": between(BEGIN, der(0x18, b"20600101000000.5Z")),
    "a beginning in the year 0": between(der(0x18, b"00000101000000Z"), END),
    "letters beyond ASCII that are printable": called(part(UNIT, b"Ostr\xe9l", 0x13)),
    "letters beyond ASCII of a teletype": called(part(UNIT, b"Ostr\xe9l", 0x14)),
    "letters beyond ASCII in an address": called(part(MAIL, b"a@\xff", 0x16)),
    "letters that are none": called(part(UNIT, b"\xff\xfe")),
    "a number in the name": called(part(UNIT, b"\x05", 2)),
    "a part of the name that is empty": called(der(0x31)),
    "an algorithm with a parameter": {"signature": sequence(object_id("1.2.840.10045.4.3.2"), NULL)},
    "a number of the issuer that is empty": {"after the key": der(0x81)},
    "a number of the issuer twice": {"after the key": ISSUER_NUMBER * 2},
    "numbers in another order": {"after the key": SUBJECT_NUMBER + ISSUER_NUMBER},
    "a number after the extensions": {"at the end": SUBJECT_NUMBER},
    "two lists of extensions": {"more extensions": sequence(sequence(object_id("2.5.29.14"), der(4, NULL)))},
    "a use of the key of no bits": {
        "extensions": sequence(sequence(object_id("2.5.29.15"), b"\x01\x01\xff", der(4, b"\x03\x00"))),
    },
}  # fmt: skip
"""RFC 5280, 4.1 and 4.1.2.5; RFC 5758, 3.2; X.690, 8.6."""


def written(certificate: Any, issuer: made.Pair, changes: dict[str, bytes]) -> bytes:
    """Return a certificate written again with ``changes``, and signed so by its issuer."""
    held = asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER))["tbs_certificate"]
    was = {name: held[name].dump() for name in held if held[name].native is not None}
    extensions = changes.get("extensions", held["extensions"].untag().dump())
    subject = sequence(held["subject"].chosen.contents, changes.get("more of the subject", b""))
    fields = [
        *(changes.get(name, was[name]) for name in ("version", "serial_number", "signature", "issuer", "validity")),
        *(subject, was["subject_public_key_info"], changes.get("after the key", b"")),
        *(der(0xA3, extensions, changes.get("more extensions", b"")), changes.get("at the end", b"")),
    ]
    statement = sequence(*fields)
    signature = issuer.key.sign(statement, ec.ECDSA(hashes.SHA256()))
    return sequence(statement, changes.get("signature", was["signature"]), der(3, b"\0", signature))


def signed_again(
    content: bytes, key: Any, certificate: bytes, told: bytes | None = None, also: bytes | None = None
) -> bytes:
    """Return a signature with another certificate of its signer, with what else is ``told`` and ``also`` stated."""
    data = cms.ContentInfo.load(content)["content"]
    (signer,) = data["signer_infos"]
    number = asn1_x509.Certificate.load(certificate)["tbs_certificate"]["serial_number"].native
    others = [one.dump() for one in data["certificates"] if one.chosen.serial_number != number]
    stated = {one["type"].native: one.dump() for one in signer["signed_attrs"]}
    stated.pop("signing_certificate", None)
    named = sequence(sequence(sequence(der(4, hashlib.sha256(certificate).digest()))))
    stated["signing_certificate_v2"] = sequence(object_id("1.2.840.113549.1.9.16.2.47"), der(0x31, named))
    signed = data["encap_content_info"].dump()
    if told is not None:
        signed = sequence(object_id("1.2.840.113549.1.9.16.1.4"), der(0xA0, der(4, told)))
        digest = der(4, hashlib.sha256(told).digest())
        stated["message_digest"] = sequence(object_id("1.2.840.113549.1.9.4"), der(0x31, digest))
    if also is not None:
        stated["signing_time"] = also
    parts = sorted(stated.values())
    way = [ec.ECDSA(hashes.SHA256())] if isinstance(key, ec.EllipticCurvePrivateKey) else [_PADDED, hashes.SHA256()]
    how = signer["signature_algorithm"].dump(), der(4, key.sign(der(0x31, *parts), *way))
    whole = _information(signer, der(0xA0, *parts), *how)
    return _wrapped(data, signed, der(0xA0, *sorted([certificate, *others])), whole)


def stamped_with(content: bytes, token: Callable[[bytes], bytes]) -> bytes:
    """Return a signature with another timestamp on it."""
    data = cms.ContentInfo.load(content)["content"]
    (signer,) = data["signer_infos"]
    (stamp,) = signer["unsigned_attrs"]
    new = sequence(stamp["type"].dump(), der(0x31, token(stamp["values"][0].dump())))
    kept = [signer[name].dump() for name in ("signed_attrs", "signature_algorithm", "signature")]
    whole = _information(signer, *kept, der(0xA1, new))
    return _wrapped(data, data["encap_content_info"].dump(), data["certificates"].dump(), whole)


def _information(signer: Any, *more: bytes) -> bytes:
    return sequence(*(signer[name].dump() for name in ("version", "sid", "digest_algorithm")), *more)


def _wrapped(data: Any, signed: bytes, certificates: bytes, signer: bytes) -> bytes:
    begin = [data[name].dump() for name in ("version", "digest_algorithms")]
    inside = sequence(*begin, signed, certificates, der(0x31, signer))
    return sequence(object_id("1.2.840.113549.1.7.2"), der(0xA0, inside))


def in_last_signature(pdf: bytes, change: Callable[[bytes], bytes]) -> bytes:
    *_, value = _VALUE.finditer(pdf)
    digits = change(bytes.fromhex(value[1].decode())).hex().upper().encode()
    assert len(digits) <= len(value[1])
    return pdf[: value.start(1)] + digits.ljust(len(value[1]), b"0") + pdf[value.end(1) :]


_PADDED = padding.PKCS1v15()
ANYONE = made.certify(made.named("Anyone"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
CLOCK = renewals.authority("Anyone's Clock", 0, 4, ANYONE)
INSPECTOR, ENGINEER = (
    made.certify(made.named(name), made.ec_key(), made.root()) for name in (made.WHO[1], made.ENGINEER.name)
)


@functools.cache
def file_of(place: str) -> bytes:
    if place == "signer":
        return made.sealed(who=made.identity_of(INSPECTOR, made.root()))
    if place == "countersigner":
        return made.countersigned(made.open_report(), made.identity_of(ENGINEER, made.root()))
    if place == "timestamp":
        return made.sealed(timestamper=made.timestamper(made.AT, CLOCK))
    return renewals.renewed(made.report(), CLOCK, 1 / 365)


def told_by(place: str, changes: dict[str, bytes], **more: Any) -> bytes:
    """Return a file in which the certificate of one who speaks there has ``changes``."""
    pair, issuer = {"signer": (INSPECTOR, made.root()), "countersigner": (ENGINEER, made.root())}.get(
        place, (CLOCK, ANYONE)
    )
    certificate = written(pair.certificate, issuer, changes)

    def change(content: bytes) -> bytes:
        return signed_again(content, pair.key, certificate, **more)

    return in_last_signature(
        file_of(place), (lambda content: stamped_with(content, change)) if place == "timestamp" else change
    )


PLACES = ("signer", "countersigner", "timestamp", "renewal")


@pytest.mark.parametrize("place", PLACES)
def test_what_is_written_again_without_a_change_is_as_it_was(place: str, checker: CheckerPage) -> None:
    for changes in ({}, {"after the key": ISSUER_NUMBER + SUBJECT_NUMBER}):
        found, verdict = both(checker, told_by(place, changes))
        assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", CERTIFICATES)
def test_a_certificate_with_odd_values_is_not_understood(name: str, place: str, checker: CheckerPage) -> None:
    """Whoever it is of: of a stranger, too, who confirms nothing."""
    found, verdict = both(checker, told_by(place, CERTIFICATES[name]))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "SIGNATURE_FORM")
    assert ways(verdict) != {"passed"}


STAMPS: dict[str, tuple[str, bytes]] = {
    "a time of two digits for the year": ("gen_time", der(0x17, b"260302143000Z")),
    "a time with an idle zero": ("gen_time", der(0x18, b"20260302143000.10Z")),
    "accuracy in another order": ("accuracy", sequence(der(0x81, b"\1"), der(2, b"\1"))),
    "an order of neither kind": ("ordering", der(1, b"\5")),
    "no number": ("serial_number", NULL),
    "no policy": ("policy", NULL),
    "an empty number of the request": ("nonce", der(2)),
    "an empty name of the authority": ("tsa", der(0xA0)),
    "no condition in their list": ("extensions", der(0xA1)),
    "a condition that is none": ("extensions", der(0xA1, sequence(NULL))),
    "a condition twice": ("extensions", der(0xA1, *[sequence(object_id("1.2.3.4"), der(4, NULL))] * 2)),
    "a name of the authority that is none": ("tsa", der(0xA0, NULL)),
    "a thousand thousandths": ("accuracy", sequence(der(0x80, b"\3\xe8"))),
    "no thousandth": ("accuracy", sequence(der(0x80, b"\0"))),
}
"""RFC 3161, 2.4.2."""
STAMPED = ("version", "policy", "message_imprint", "serial_number", "gen_time", "accuracy", "ordering", "nonce", "tsa")


def stamp_telling(what: str, value: bytes) -> bytes:
    (content,) = [
        cms.ContentInfo.load(bytes.fromhex(found[1].decode()))["content"]
        for found in _VALUE.finditer(file_of("timestamp"))
    ]
    stamp = content["signer_infos"][0]["unsigned_attrs"][0]["values"][0]
    held = tsp.TSTInfo.load(stamp["content"]["encap_content_info"]["content"].contents)
    was = {name: held[name].dump() for name in STAMPED[:5]}
    told = sequence(*((was | {what: value}).get(name, b"") for name in (*STAMPED, "extensions")))
    return told_by("timestamp", {}, told=told)


@pytest.mark.parametrize("name", STAMPS)
def test_a_timestamp_with_odd_values_is_not_understood(name: str, checker: CheckerPage) -> None:
    assert both(checker, stamp_telling("accuracy", sequence(der(2, b"\1"))))[0]["intact"]["code"] == "INTACT"
    found, _ = both(checker, stamp_telling(*STAMPS[name]))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "SIGNATURE_FORM")


READ_ALL_THE_SAME = {
    *("a time with an idle zero", "accuracy in another order", "an order of neither kind"),
    *("an empty number of the request", "no condition in their list"),
}
"""What says the same however it is spelt: `verify` believes a trusted authority in it; the page does not know it."""


@pytest.mark.parametrize("name", [*STAMPS, ""])
def test_a_timestamp_of_another_form_proves_nothing_whoever_made_it(name: str) -> None:
    pdf = stamp_telling(*STAMPS.get(name, ("accuracy", sequence(der(2, b"\1"), der(0x80, b"\3\xe7")))))
    trusted = {**made.CHECKS, "timestamp_roots": [ANYONE.certificate]}
    verdict = verify_report(pdf, at=made.LATER, roots=[made.root().certificate], **trusted)
    if name == "a time of two digits for the year":
        assert [one.status for one in verdict.steps[:4]] == ["passed", "not done", "indeterminate", "indeterminate"]
        return
    (signer,) = verdict.signers
    assert (signer.proven_time is not None) == (name in READ_ALL_THE_SAME or not name)
    assert ("not in the form of a timestamp" in str(verdict.steps[5])) == (signer.proven_time is None)


LATER_CLOCK = between(der(0x17, b"260303000000Z"), END)
"""From a moment after its timestamp and before the file is checked."""


def test_a_timestamp_in_doubt_is_told_for_what_it_is(checker: CheckerPage) -> None:
    """A stranger's leads to nothing that was given; one that leads there is no stranger's."""
    root, anyone = (one.certificate.public_bytes(Encoding.DER) for one in (made.root(), ANYONE))
    printed = hashlib.sha256(root).hexdigest().upper()
    above = hashlib.sha256(anyone).hexdigest().upper()
    own = file_of("timestamp")
    for pdf, roots, published, code in (
        (own, [root, anyone], [], "PROVEN"),
        (own, [root], [], "STAMP_UNKNOWN"),
        (own, [], [printed], "STAMP_NOT_TYPED"),
        (own, [], [printed, above], "STAMP_NOT_TYPED"),  # it does not bring its root along
        (told_by("timestamp", LATER_CLOCK), [root, anyone], [], "STAMP_DATES"),
        (told_by("timestamp", LATER_CLOCK), [root], [], "STAMP_UNKNOWN"),
    ):
        found = checker.examine(pdf, roots, made.LATER, published)
        assert (found["intact"]["code"], found["when"][0]["code"]) == ("INTACT", code)


@pytest.mark.parametrize(("time", "code"), [("20260302143000Z", "INTACT"), ("20260302143000.5Z", "SIGNATURE_FORM")])
def test_a_time_of_signing_has_no_parts_of_a_second(time: str, code: str, checker: CheckerPage) -> None:
    """RFC 5652, 11.3: beside the other time of a signature the program takes them into account."""
    also = sequence(object_id("1.2.840.113549.1.9.5"), der(0x31, der(0x18, time.encode())))
    assert both(checker, told_by("signer", {}, also=also))[0]["intact"]["code"] == code


# --- the list of files


def listing(change: Callable[[dict[str, Any]], object]) -> bytes:
    manifest = json.loads(made.manifest_of(made.INPUTS))
    change(manifest)
    files = {name: content for name, (content, _) in made.INPUTS.items()}
    told = json.dumps(manifest, sort_keys=True, separators=(",", ":")).encode()
    return made.sealed(made.unsigned(contents={**files, "manifest.json": told}))


def photo(name: Any = "photos/1.jpg", **more: Any) -> Callable[[dict[str, Any]], object]:
    return lambda told: told["files"].append({"name": name, "role": "photo-hash", "sha256": "0" * 64, **more})


LISTS: dict[str, Callable[[dict[str, Any]], object]] = {
    "a role in a list": lambda told: told["files"][0].update(role=[told["files"][0]["role"]]),
    "a hash in a list": photo(sha256=["0" * 64]),
    "a program that is a number": lambda told: told.update(generator=5),
    "rules that are no number": lambda told: told.update(rules_edition={"x": 1}),
    "an attachment that is no name": lambda told: told["files"][0].update(attachment=5),
    "no entry": lambda told: told["files"].append(5),
    **{f"a photo {name!r}": photo(name) for name in ("a\\b", "a\0b", "../a", "/a", "./a", "a//b", "a/", "")},
}


@pytest.mark.parametrize("name", LISTS)
def test_a_list_of_files_with_values_of_another_kind(name: str, checker: CheckerPage) -> None:
    found, verdict = both(checker, listing(LISTS[name]))
    assert (found["files"]["answer"], found["files"]["code"]) == ("cannot", "OTHER_FORMAT")
    assert verdict.steps[6].status == "failed"
    found, verdict = both(checker, listing(photo()))
    assert (found["files"]["answer"], verdict.steps[6].status) == ("yes", "passed")
