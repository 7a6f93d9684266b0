"""Signatures written by hand, of which one thing is another: what the page and the program are compared by.

Whoever signs can write anything into his certificates and his signature; all that is written here is signed.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import hashlib
from typing import TYPE_CHECKING, Any

from asn1crypto import cms
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from tests.e2e.test_checker_odd_values import (
    ANYONE,
    NULL,
    PLACES,
    der,
    file_of,
    in_last_signature,
    object_id,
    part,
    sequence,
    stamped_with,
)
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

Edit = "Callable[[str, bytes], bytes]"
SHA256 = sequence(object_id("2.16.840.1.101.3.4.2.1"))
ECDSA = sequence(object_id("1.2.840.10045.4.3.2"))
PARTS = ("leaf", "leaf", "leaf", "issuer", "issuer", "issuer", "certificate", "statements", "signer", "whole", "told")
"""What is changed, by its share."""


@dataclasses.dataclass(slots=True)
class Node:
    """An element of DER with those inside it, also where it calls them a mere string of octets."""

    tag: int
    body: bytes
    kids: list[Node] | None

    def dump(self) -> bytes:
        return der(self.tag, *(kid.dump() for kid in self.kids)) if self.kids is not None else der(self.tag, self.body)

    def every(self) -> list[Node]:
        return [self, *(found for kid in self.kids or () for found in kid.every())]


def read(data: bytes) -> list[Node]:
    nodes = []
    while data:
        tag, size, start = data[0], data[1], 2
        if size & 0x80:
            start += size & 0x7F
            size = int.from_bytes(data[2:start], "big")
        if start + size > len(data) or tag & 0x1F == 0x1F:
            raise ValueError("no DER")
        body = data[start : start + size]
        kids = None
        if tag & 0x20:
            kids = read(body)
        elif tag == 4 and body[:1] in {b"\x30", b"\x03", b"\x04", b"\x02"}:
            try:
                kids = read(body)
            except (ValueError, IndexError):
                kids = None
        nodes.append(Node(tag, body, kids))
        data = data[start + size :]
    return nodes


def respelt(data: bytes) -> bytes:
    """Return DER in which every text of UTF-8 has the kind of printable letters."""
    (whole,) = read(data)
    for one in whole.every():
        one.tag = 0x13 if one.tag == 0x0C else one.tag
    return whole.dump()


STRINGS = (0x0C, 0x13, 0x14, 0x16, 0x1C, 0x1E, 0x12, 0x1A)
TAGS = (*STRINGS, 1, 2, 3, 4, 5, 6, 0x0A, 0x17, 0x18, 0x30, 0x31, 0x80, 0x81, 0x82, 0x86, 0xA0, 0xA1, 0xA3, 0xA4)
TEXTS = [
    *(
        one.encode()
        for one in ("\U0001f600", "a\U0001f600", "\u0378", "\ue000", "\ufffd", "\u05d0", "\u05d0a", "\u1e9e")
    ),
    *(one.encode() for one in ("a*b", "a@b", "a_b", "a&b", "a\0b", "a\nb", " ", "\u202ea", "\ufeffa", "a" * 3000)),
    *(b"a@xn--zz\x7f", b"xn--99999999999", b"a@xn--mller-kva.example", b"\xff", b"\xc3\xa4", b"12", b"a..b", b"."),
    *("a\u00e4".encode("utf-16-be"), b"\xd8\x00\x00a", b"\0a\0", b"\0\0\0a", "\U0001f600".encode("utf-16-be")),
]
TIMES = (
    *(b"20600101000000.5Z", b"20600101000000Z", b"20260302143000.0Z", b"20260302143000+0000", b"202603021430Z"),
    *(b"491231235959Z", b"500101000000Z", b"260302143000+0000", b"2603021430Z", b"260302146000Z", b"260230143000Z"),
    *(b"00000101000000Z", b"99991231235959Z", b"20260302143000", b"20260302143000Z", b"260302143000Z"),
    *(b"99991231235600Z", b"99991231235959.9Z", b"99991231000001Z", b"00010101000000Z", b"01000101000000Z"),
    *(b"19491231235959Z", b"20500101000000Z", b"99991231235959-0100", b"20260302143000.999999999Z"),
)
NUMBERS = (b"", b"\0", b"\1", b"\xff", b"\0\1", b"\xff\xff", b"\0\xff", b"\x7f" * 9, b"\1" * 21, b"\x85")


def changed(chance: random.Random, data: bytes) -> bytes:
    """Return one element of DER in which one thing is another."""
    (whole,) = read(data)
    node = chance.choice(whole.every())
    parents = [one for one in whole.every() if one.kids]
    parent = chance.choice(parents)
    place = chance.randrange(len(parent.kids or ()))
    kids = parent.kids or []

    def replaced(body: bytes) -> None:
        node.body, node.kids = body, None

    def swapped() -> None:
        other = chance.randrange(len(kids))
        kids[place], kids[other] = kids[other], kids[place]

    def flipped() -> None:
        body = bytearray(node.dump()[-len(node.body) :] if node.body else b"\0")
        body[chance.randrange(len(body))] ^= 1 << chance.randrange(8)
        replaced(bytes(body))

    def fitting() -> None:
        leaves = [one for one in whole.every() if one.kids is None]
        kinds = {0x17: TIMES, 0x18: TIMES, 2: NUMBERS, 3: (b"", b"\0", b"\x07\x80", b"\x08\x80", b"\x01\xff", b"\0\0")}
        one = chance.choice(leaves)
        one.body = chance.choice([*kinds.get(one.tag, TEXTS), b""])

    def renamed() -> None:
        strings = [one for one in whole.every() if one.tag in STRINGS]
        one = chance.choice(strings or [node])
        one.tag, one.body, one.kids = chance.choice(STRINGS), chance.choice([one.body, *TEXTS]), None

    def timed() -> None:
        times = [one for one in whole.every() if one.tag in {0x17, 0x18} and one.kids is None]
        one = chance.choice(times or [node])
        one.tag, one.body, one.kids = chance.choice((0x17, 0x18, 0x18)), chance.choice(TIMES), None

    ways: list[Callable[[], Any]] = [
        timed,
        parent.kids.clear if parent.kids else kids.clear,
        kids.reverse,
        lambda: setattr(node, "tag", chance.choice(TAGS)),
        lambda: kids.pop(place),
        lambda: kids.insert(place, kids[place]),
        swapped,
        lambda: replaced(chance.choice((b"", b"\0", b"\5\0", NULL + NULL, b"\x30\0", b"\xff", node.body + b"\0"))),
        flipped,
        fitting,
        fitting,
        renamed,
        renamed,
        lambda: kids.insert(place, Node(chance.choice(TAGS), b"", None)),
        lambda: kids.insert(place, Node(5, b"", None)),
        lambda: kids.__setitem__(place, Node(0x30, b"", [kids[place]])),
        lambda: kids.__setitem__(
            place, Node(chance.choice((1, 2, 4, 5, 6)), chance.choice((b"", b"\0", b"\x2a")), None)
        ),
    ]
    chance.choice(ways)()
    return whole.dump()


# --- a signature as it would be without


def extension(number: str, value: bytes, *, critical: bool = False) -> bytes:
    return sequence(object_id(number), b"\1\1\xff" if critical else b"", der(4, value))


def _name(common: str) -> bytes:
    two = sorted(
        [sequence(object_id("2.5.4.7"), der(0x13, b"Harbour")), sequence(object_id("2.5.4.8"), der(12, b"Shire"))]
    )
    return sequence(
        *(part("2.5.4.6", b"GB", 0x13), part("2.5.4.10", b"Harbour Works"), part("2.5.4.3", common.encode())),
        *(part("2.5.4.11", "Sheds".encode("utf-16-be"), 0x1E), part("2.5.4.5", b"12-34", 0x13), der(0x31, *two)),
        *(part("1.2.840.113549.1.9.1", b"a@works.example", 0x16), part("0.9.2342.19200300.100.1.25", b"example", 0x16)),
    )


ADDRESS = der(0x86, b"http://works.example/a")
ALSO_CALLED = sequence(der(0x81, b"a@works.example"), der(0x82, b"works.example"), ADDRESS, der(0xA4, _name("Perk")))
KEYS = [made.ec_key(), made.ec_key()]


def _extensions(*more: bytes, key: Any, above: bytes) -> bytes:
    own = hashlib.sha1(_public(key)).digest()  # noqa: S324 - a name of a key, as RFC 5280, 4.2.1.2, makes it
    return sequence(
        extension("2.5.29.14", der(4, own)),
        extension("2.5.29.35", sequence(der(0x80, above))),
        extension("2.5.29.17", ALSO_CALLED),
        extension("2.5.29.31", sequence(sequence(der(0xA0, der(0xA0, ADDRESS))))),
        extension("1.3.6.1.5.5.7.1.1", sequence(sequence(object_id("1.3.6.1.5.5.7.48.2"), ADDRESS))),
        extension("1.3.6.1.5.5.7.1.3", sequence(sequence(object_id("0.4.0.1862.1.1")))),
        *more,
    )


def _public(key: Any) -> bytes:
    return bytes(key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo))


def statement(subject: bytes, issuer: bytes, key: Any, number: int, extensions: bytes) -> bytes:
    dates = sequence(der(0x17, b"260101000000Z"), der(0x17, b"330101000000Z"))
    version = der(0xA0, b"\2\1\2")
    serial = der(2, bytes([number, 7, 7, 7]))
    return sequence(version, serial, ECDSA, issuer, dates, subject, _public(key), der(0xA3, extensions))


def _signed(key: Any, data: bytes) -> bytes:
    return bytes(key.sign(data, ec.ECDSA(hashes.SHA256())))


@functools.cache
def statements_of(place: str) -> tuple[bytes, bytes]:
    """Return what is stated of an issuer and of one whom it certifies, as they speak at a place."""
    top = _top(place)
    policy = extension("2.5.29.32", sequence(sequence(object_id("1.2.3.4"))))
    authority = [
        extension("2.5.29.19", sequence(b"\1\1\xff", b"\2\1\0"), critical=True),
        extension("2.5.29.15", b"\3\2\1\6", critical=True),
        policy,
    ]
    if place in ("countersigner", "renewal"):
        authority += [
            extension("2.5.29.30", sequence(der(0xA1, sequence(der(0x82, b"other.example")))), critical=True),
            extension("2.5.29.33", sequence(sequence(object_id("1.2.3.4"), object_id("1.2.3.5")))),
            extension("2.5.29.36", sequence(der(0x80, b"\0"))),
            extension("2.5.29.54", b"\2\1\1"),
        ]
    own = [
        extension("2.5.29.19", sequence(), critical=True),
        extension("2.5.29.15", b"\3\2\6\xc0", critical=True),
        policy,
    ]
    clock = place in ("timestamp", "renewal")
    if clock:
        own.append(extension("2.5.29.37", sequence(object_id("1.3.6.1.5.5.7.3.8")), critical=True))
    who = {"signer": made.WHO[1], "countersigner": made.ENGINEER.name}.get(place, "Clock")
    above = top.certificate.subject.public_bytes()
    issuer = _extensions(*authority, key=KEYS[0], above=_key_of(top))
    leaf = _extensions(*own, key=KEYS[1], above=hashlib.sha1(_public(KEYS[0])).digest())  # noqa: S324
    return (
        statement(_name("Works"), above, KEYS[0], 1, issuer),
        statement(_name(who), _name("Works"), KEYS[1], 2, leaf),
    )


def _top(place: str) -> made.Pair:
    return ANYONE if place in ("timestamp", "renewal") else made.root()


def _key_of(top: made.Pair) -> bytes:
    from cryptography import x509

    return x509.SubjectKeyIdentifier.from_public_key(top.key.public_key()).digest


def _fields(told: bytes, otherwise: bytes) -> list[bytes]:
    """Return number, algorithm, issuer, dates and subject of what a certificate states; ``otherwise`` for a ruin."""
    for one in (told, otherwise):
        try:
            kids = [kid.dump() for kid in read(one)[0].kids or ()]
        except (ValueError, IndexError):
            continue
        kids = kids[1:] if kids and kids[0][:1] == b"\xa0" else kids
        if len(kids) >= 5:
            return kids[:5]
    raise AssertionError


def _issued_by(told: bytes, name: bytes) -> bytes:
    """Return what a certificate states, with another ``name`` of its issuer, of whatever length."""
    (whole,) = read(told)
    (whole.kids or [])[3] = read(name)[0]
    return whole.dump()


def content_of(place: str, old: bytes, edit: Callable[[str, bytes], bytes]) -> bytes:
    """Return a signature in the place of an ``old`` one, each of whose parts is as ``edit`` makes it."""
    issuer, leaf = statements_of(place)
    above = edit("issuer", issuer)
    leaf = _issued_by(leaf, _fields(above, issuer)[4])
    own = edit("leaf", leaf)
    certificates = [
        sequence(above, ECDSA, der(3, b"\0", _signed(_top(place).key, above))),
        edit("certificate", sequence(own, ECDSA, der(3, b"\0", _signed(KEYS[0], own)))),
        _top(place).certificate.public_bytes(Encoding.DER),
    ]
    data = cms.ContentInfo.load(old)["content"]
    (signer,) = data["signer_infos"]
    digest = next(one["values"][0].native for one in signer["signed_attrs"] if one["type"].native == "message_digest")
    kind, inside = "1.2.840.113549.1.7.1", b""
    if data["encap_content_info"]["content_type"].native == "tst_info":
        kind = "1.2.840.113549.1.9.16.1.4"
        told = edit("told", bytes(data["encap_content_info"]["content"].contents))
        inside, digest = der(0xA0, der(4, told)), hashlib.sha256(told).digest()
    named = sequence(sequence(sequence(der(4, hashlib.sha256(certificates[1]).digest()))))
    stated = [
        sequence(object_id("1.2.840.113549.1.9.3"), der(0x31, object_id(kind))),
        sequence(object_id("1.2.840.113549.1.9.4"), der(0x31, der(4, digest))),
        sequence(object_id("1.2.840.113549.1.9.16.2.47"), der(0x31, named)),
    ]
    signed = edit("statements", der(0x31, *sorted(stated)))
    number, _, name, *_ = _fields(own, leaf)
    kept = read(signed)[0].body
    whole = sequence(
        *(b"\2\1\1", sequence(name, number), SHA256, der(0xA0, kept), ECDSA),
        der(4, _signed(KEYS[1], signed)),
    )
    version = b"\2\1\3" if inside else b"\2\1\1"
    listed = der(0xA0, *sorted(certificates))
    inner = sequence(
        version, der(0x31, SHA256), sequence(object_id(kind), inside), listed, der(0x31, edit("signer", whole))
    )
    return edit("whole", sequence(object_id("1.2.840.113549.1.7.2"), der(0xA0, inner)))


def file_with(place: str, edit: Callable[[str, bytes], bytes]) -> bytes:
    """Return a file in which whoever speaks at a place does so with parts as ``edit`` makes them."""

    def change(content: bytes) -> bytes:
        return content_of(place, content, edit)

    old = file_of(place)
    return in_last_signature(old, (lambda content: stamped_with(content, change)) if place == "timestamp" else change)


def mutant(chance: random.Random) -> tuple[str, str, bytes]:
    """Return the place and the part that is changed, and the file."""
    while True:
        place, name = chance.choice(PLACES), chance.choice(PARTS)
        if name == "told" and place in ("signer", "countersigner"):
            name = "leaf"
        with contextlib.suppress(AssertionError, IndexError, ValueError):  # nothing is left that could be signed
            return place, name, file_with(place, lambda one, data: changed(chance, data) if one == name else data)  # noqa: B023
