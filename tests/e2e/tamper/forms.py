"""Values of signatures in other forms than the one that is known: with room for words where nothing signs them.

No rows: what the page and the program say of them stands in ``test_checker_forms``. Each is made by hand from the rule
that it breaks, and signed soundly where it is signed at all.
"""

from __future__ import annotations

import functools
import hashlib
from typing import TYPE_CHECKING, Any

from asn1crypto import cms
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from tests.e2e import mutated
from tests.e2e.mutated import ECDSA, SHA256
from tests.e2e.test_checker_odd_values import (
    NULL,
    der,
    file_of,
    in_last_signature,
    object_id,
    sequence,
    stamped_with,
)
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

WORDS = der(0x04, b"conforms: may be coated")
STATED, STATED_BY_SHA1 = "1.2.840.113549.1.9.16.2.47", "1.2.840.113549.1.9.16.2.12"

# --- RSA-PSS: RFC 4055, 3.1

SHA384 = sequence(object_id("2.16.840.1.101.3.4.2.2"))
MASK = object_id("1.2.840.113549.1.1.8")
HASHED, MASKED, SALTED = der(0xA0, SHA256), der(0xA1, sequence(MASK, SHA256)), der(0xA2, b"\2\1\x20")
PARAMETERS: dict[str, tuple[bytes, ...]] = {
    "in another order": (sequence(MASKED, HASHED, SALTED),),
    "with the hash twice": (sequence(HASHED, HASHED, MASKED, SALTED),),
    "with the salt twice": (sequence(HASHED, MASKED, SALTED, SALTED),),
    "with the usual end stated": (sequence(HASHED, MASKED, SALTED, der(0xA3, b"\2\1\1")),),
    "with another end": (sequence(HASHED, MASKED, SALTED, der(0xA3, b"\2\1\2")),),
    "with words as a field": (sequence(HASHED, MASKED, SALTED, der(0xA4, WORDS)),),
    "with words in the salt": (sequence(HASHED, MASKED, der(0xA2, b"\2\1\x20", WORDS)),),
    "with words in the mask": (sequence(HASHED, der(0xA1, sequence(MASK, SHA256, WORDS)), SALTED),),
    "with words in the hash": (sequence(der(0xA0, sequence(SHA256[2:], WORDS)), MASKED, SALTED),),
    "with a mask by another hash": (sequence(HASHED, der(0xA1, sequence(MASK, SHA384)), SALTED),),
    "with a mask of another kind": (
        sequence(HASHED, der(0xA1, sequence(object_id("1.2.840.113549.1.1.9"), SHA256)), SALTED),
    ),
    "without a salt": (sequence(HASHED, MASKED),),
    "with an idle zero": (sequence(HASHED, MASKED, der(0xA2, b"\2\2\0\x20")),),
    "with words after them": (sequence(HASHED, MASKED, SALTED), WORDS),
    "without any": (),
}


def pss(*parameters: bytes) -> bytes:
    return sequence(object_id("1.2.840.113549.1.1.10"), *(parameters or ()))


SOUND = pss(sequence(HASHED, MASKED, SALTED))


def _padded(key: Any, data: bytes) -> bytes:
    digest = hashes.SHA256()
    return bytes(key.sign(data, padding.PSS(padding.MGF1(digest), digest.digest_size), digest))


@functools.cache
def _holders() -> tuple[made.Pair, made.Pair]:
    """An inspector and a clock with keys for RSA."""
    stamping = {"key_usage": made.usage("digital_signature"), "purposes": ("1.3.6.1.5.5.7.3.8",)}
    clock: made.Pair = made.certify(made.named("Clock"), made.rsa_key(2048, 2), made.root(), **stamping)  # type: ignore[arg-type]
    return made.certify(made.named(made.WHO[1]), made.rsa_key(2048, 1), made.root()), clock


@functools.cache
def _padded_file(place: str) -> bytes:
    inspector, clock = _holders()
    if place == "signer":
        return made.sealed(who=made.identity_of(inspector, made.root()))
    if place == "timestamp":
        return made.sealed(timestamper=made.timestamper(made.AT, clock))
    return file_of("signer")


def padded_at(place: str, algorithm: bytes) -> bytes:
    """Return a file signed, or stamped, with RSA-PSS by an ``algorithm`` as it is written; or with a certificate so."""
    if place == "certificate":
        return _padded_certificate(algorithm)
    key = _holders()[place == "timestamp"].key

    def change(content: bytes) -> bytes:
        data = cms.ContentInfo.load(content)["content"]
        (signer,) = data["signer_infos"]
        kept = sorted(one.dump() for one in signer["signed_attrs"] if "protection" not in str(one["type"].native))
        signed = b"".join(kept)
        whole = sequence(
            *(signer[name].dump() for name in ("version", "sid")),
            *(SHA256, der(0xA0, signed), algorithm, der(4, _padded(key, der(0x31, signed)))),
        )
        parts = [data["version"].dump(), der(0x31, SHA256), data["encap_content_info"].dump()]
        inside = sequence(*parts, data["certificates"].dump(), der(0x31, whole))
        return sequence(object_id("1.2.840.113549.1.7.2"), der(0xA0, inside))

    old = _padded_file(place)
    return in_last_signature(old, (lambda content: stamped_with(content, change)) if place == "timestamp" else change)


@functools.cache
def padding_root() -> made.Pair:
    return made.certify(made.named("Root with RSA"), made.rsa_key(2048, 3), None, ca=True, key_usage=made.AUTHORITY)


def _padded_certificate(algorithm: bytes) -> bytes:
    """Return a file whose signer's certificate was signed by ``padding_root`` with the ``algorithm``."""

    def edit(name: str, data: bytes) -> bytes:
        if name == "issuer":
            parts = [one.dump() for one in mutated.read(data)[0].kids or []]
            parts[2:4] = algorithm, padding_root().certificate.subject.public_bytes()
            return sequence(*parts)
        if name != "whole":
            return data
        (whole,) = mutated.read(data)
        held = ((whole.kids or [])[1].kids or [])[0].kids or []
        listed = held[3].kids or []
        for place, one in enumerate(listed):
            statement = (one.kids or [])[0].dump()
            if algorithm in statement:
                signature = der(3, b"\0", _padded(padding_root().key, statement))
                listed[place] = mutated.read(sequence(statement, algorithm, signature))[0]
        root = made.root().certificate.public_bytes(Encoding.DER)
        listed[:] = [one for one in listed if one.dump() != root]
        return whole.dump()

    return mutated.file_with("signer", edit)


# --- certificates that are brought along

EXTENSION = mutated.extension("1.3.6.1.4.1.55555.9", WORDS)


def _named_so(root: made.Pair, issuer: bytes, sign: Callable[[bytes], bytes], other: bytes = b"") -> bytes:
    """Return a certificate with name and public key (or an ``other``) of a ``root``, by an ``issuer``, with words."""
    kids = [one.dump() for one in mutated.read(root.certificate.tbs_certificate_bytes)[0].kids or []]
    version, number, _, _, dates, subject, key, listed = kids
    key = other or key
    (inside,) = mutated.read(listed)[0].kids or []
    extensions = sequence(*(one.dump() for one in inside.kids or []), EXTENSION)
    statement = sequence(version, number, ECDSA, issuer, dates, subject, key, der(0xA3, extensions))
    return sequence(statement, ECDSA, der(3, b"\0", sign(statement)))


@functools.cache
def forger() -> made.Pair:
    return made.certify(made.named("Whoever passes it on"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)


def _signed(data: bytes, by: made.Pair | None = None) -> bytes:
    return bytes((by or forger()).key.sign(data, ec.ECDSA(hashes.SHA256())))


def second_key(certificate: x509.Certificate, first: x509.Certificate) -> bytes:
    """Return the other public key that the ECDSA signature of a certificate (P-256) fits: SEC 1, 4.1.6."""
    r, s = decode_dss_signature(certificate.signature)
    digest = int.from_bytes(hashlib.sha256(certificate.tbs_certificate_bytes).digest())
    y = pow(r**3 - 3 * r + _B, (_P + 1) // 4, _P)
    inverse = pow(r, -1, _ORDER)
    for point in ((r, y), (r, -y % _P)):
        x, y = _sum(_times(s * inverse, point), _times(-digest * inverse, _G))
        key = ec.EllipticCurvePublicNumbers(x, y, ec.SECP256R1()).public_key()
        if key != first.public_key():
            return key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    raise AssertionError


_P = 2**256 - 2**224 + 2**192 + 2**96 - 1
_ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551
_B = 0x5AC635D8AA3A93E7B3EBBD55769886BC651D06B0CC53B0F63BCE3C3E27D2604B
_G = (
    0x6B17D1F2E12C4247F8BCE6E563A440F277037D812DEB33A0F4A13945D898C296,
    0x4FE342E2FE1A7F9B8EE7EB4A7C0F9E162BCE33576B315ECECBB6406837BF51F5,
)
"""The curve P-256: FIPS 186-4, D.1.2.3."""


def _sum(one: tuple[int, int] | None, other: tuple[int, int] | None) -> Any:
    if one is None or other is None:
        return one or other
    if one == other:
        slope = (3 * one[0] ** 2 - 3) * pow(2 * one[1], -1, _P)
    else:
        slope = (other[1] - one[1]) * pow(other[0] - one[0], -1, _P)
    x = (slope**2 - one[0] - other[0]) % _P
    return x, (slope * (one[0] - x) - one[1]) % _P


def _times(count: int, point: tuple[int, int]) -> Any:
    found = None
    for bit in f"{count % _ORDER:b}":
        found = _sum(_sum(found, found), point if bit == "1" else None)
    return found


def brought_to(place: str, way: str) -> bytes:
    """Return a file with a made-up certificate of the root among those that a signature brings along."""
    root = mutated._top(place)
    above = forger().certificate.subject.public_bytes()
    own = root.certificate.public_bytes(Encoding.DER)
    unsigned = _named_so(root, above, lambda _: sequence(b"\2\1\1", b"\2\1\1"))
    issued = _named_so(root, above, _signed)
    maker = forger().certificate.public_bytes(Encoding.DER)
    leaf = made.certify(made.named("Somebody below"), made.ec_key(), root)
    below = _named_so(root, leaf.certificate.subject.public_bytes(), functools.partial(_signed, by=leaf))
    lists = {
        "of another key that fits": (own, maker),
        "issued by a leaf": (own, below, leaf.certificate.public_bytes(Encoding.DER)),
        "beside": (own, unsigned),
        "instead": (unsigned,),
        "beside, with who made it": (own, issued, maker),
        "instead, with who made it": (issued, maker),
        "which has nothing to do with it": (own, maker),
        "none but who issued it": (),
        "as it is": (own,),
    }

    def edit(kids: list[Any]) -> None:
        listed = kids[3].kids
        listed[:] = [one for one in listed if one.dump() != own]
        if way == "of another key that fits":
            signer = x509.load_der_x509_certificate(listed[0].dump())
            other = _named_so(root, above, _signed, second_key(signer, root.certificate))
            listed += mutated.read(other)
        listed += [each for one in lists[way] for each in mutated.read(one)]
        listed.sort(key=lambda one: one.dump())

    return mutated.file_with(place, in_value(edit))


def in_value(change: Callable[[list[Any]], None]) -> Callable[[str, bytes], bytes]:
    """Return an edit of the parts of a SignedData, which no signature covers as they stand there."""

    def edit(name: str, data: bytes) -> bytes:
        if name != "whole":
            return data
        (whole,) = mutated.read(data)
        change((whole.kids or [])[1].kids[0].kids)  # type: ignore[index]
        return whole.dump()

    return edit


def with_another_key_above(name: str, data: bytes) -> bytes:
    """An edit by which a certificate names another key as that above it."""
    if name != "leaf":
        return data
    own = hashlib.sha1(mutated._public(mutated.KEYS[0])).digest()  # noqa: S324 - a name of a key
    assert data.count(own) == 1
    return data.replace(own, bytes(20))


# --- what nothing signs


def _into(place: int, *more: bytes) -> Callable[[list[Any]], None]:
    def change(kids: list[Any]) -> None:
        kids[place].kids += [one for each in more for one in mutated.read(each)]

    return change


def _signer(change: Callable[[list[Any]], None]) -> Callable[[list[Any]], None]:
    return lambda kids: change(kids[-1].kids[0].kids)


def _set(place: int, new: bytes) -> Callable[[list[Any]], None]:
    return lambda kids: kids.__setitem__(place, mutated.read(new)[0])


UNSIGNED: dict[str, Callable[[list[Any]], None]] = {
    "a second digest": _into(1, SHA384),
    "a digest with words": _set(1, der(0x31, sequence(SHA256[2:], WORDS))),
    "the digest of the signer with words": _signer(_set(2, sequence(SHA256[2:], WORDS))),
    "an algorithm with words": _signer(_set(4, sequence(ECDSA[2:], WORDS))),
    "an algorithm with nothing": _signer(_set(4, sequence(ECDSA[2:], NULL))),
    "a list of revoked ones": lambda kids: kids.insert(
        4, mutated.read(der(0xA1, der(0xA1, object_id("1.2.3"), WORDS)))[0]
    ),
    "a certificate of another kind": _into(3, der(0xA3, object_id("1.2.3"), WORDS)),
    "a certificate twice": lambda kids: kids[3].kids.append(kids[3].kids[0]),
    "no certificate of the signer": lambda kids: kids[3].kids.clear(),
    "unsigned attributes that are none": _signer(lambda kids: kids.append(mutated.read(der(0xA1))[0])),
    "another version": _set(0, b"\2\1\5"),
    "another version of the signer": _signer(_set(0, b"\2\1\3")),
}


def long_way(name: str, data: bytes) -> bytes:
    """An edit by which the length of the list of digests is not in its shortest form: X.690, 10.1."""
    if name != "whole":
        return data
    plain = der(0x31, SHA256)
    short = b"\x31\x81" + plain[1:]
    (whole,) = mutated.read(data)
    kids: list[Any] = (whole.kids or [])[1].kids[0].kids  # type: ignore[index]
    parts = [one.dump() for one in kids]
    assert parts[1] == plain
    return sequence(object_id("1.2.840.113549.1.7.2"), der(0xA0, sequence(parts[0], short, *parts[2:])))


def naming_another(kids: list[Any]) -> None:
    """Let the signature name the issuer's certificate as that of its signer."""
    for one in kids[3].kids:
        fields = [each.dump() for each in one.kids[0].kids]
        if fields[1] == der(2, b"\1\7\7\7"):
            kids[-1].kids[0].kids[1] = mutated.read(sequence(fields[3], fields[1]))[0]


# --- what is stated of the signer's certificate, and signed


def stating(*written: Callable[[bytes], bytes]) -> Callable[[str, bytes], bytes]:
    """Return an edit by which the statements of the signer's certificate are as ``written`` of it."""
    own = b""

    def edit(name: str, data: bytes) -> bytes:
        nonlocal own
        if name == "certificate":
            own = data
        if name != "statements":
            return data
        (whole,) = mutated.read(data)
        others = [one.dump() for one in whole.kids or [] if (one.kids or [])[0].dump() != object_id(STATED)]
        return der(0x31, *sorted([*others, *(one(own) for one in written)]))

    return edit


def by_sha256(*before: bytes, after: bytes = b"", more: bytes = b"", wrong: bool = False) -> Callable[[bytes], bytes]:
    """Return how a certificate is stated: RFC 5035, 4."""
    return lambda own: _statement(STATED, before, hashlib.sha256(own[wrong:]).digest(), after, more)


def by_sha1(*before: bytes, after: bytes = b"", more: bytes = b"", wrong: bool = False) -> Callable[[bytes], bytes]:
    """Return how a certificate is stated in the older way: RFC 2634, 5.4."""
    return lambda own: _statement(STATED_BY_SHA1, before, hashlib.sha1(own[wrong:]).digest(), after, more)  # noqa: S324


def _statement(kind: str, before: tuple[bytes, ...], digest: bytes, after: bytes, more: bytes) -> bytes:
    named = sequence(sequence(*before, der(4, digest), after), more)
    return sequence(object_id(kind), der(0x31, sequence(named)))
