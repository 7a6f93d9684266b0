"""The one form of a signature's value, read to its last byte: where no signature covers it, there is no room for words.

The library reads what it looks for and passes over the rest: more beside the parameters of an algorithm, a field twice,
a list of something else. X.690, clauses 8 and 10; RFC 5652, 5; RFC 4055, 3.1; RFC 2634, 5.4; RFC 5035, 4; RFC 3161,
2.4.2.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from asn1crypto import core, x509

from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

MOST_CERTIFICATES: Final = 30
"""In one signature: each is tried as the issuer of each."""

_DEEPEST, _LONGEST_LENGTH = 40, 4
_INTEGER, _BITS, _OCTETS, _OBJECT, _SEQUENCE, _SET = 0x02, 0x03, 0x04, 0x06, 0x30, 0x31
_NULL = b"\x05\x00"
_DATA, _SIGNED_DATA, _TSTINFO = "1.2.840.113549.1.7.1", "1.2.840.113549.1.7.2", "1.2.840.113549.1.9.16.1.4"
_PSS, _MASK, _ED25519, _ECDSA = "1.2.840.113549.1.1.10", "1.2.840.113549.1.1.8", "1.3.101.112", "1.2.840.10045.4."
_STATED, _STATED_BY_SHA1 = "1.2.840.113549.1.9.16.2.47", "1.2.840.113549.1.9.16.2.12"
_STAMPS = frozenset({"1.2.840.113549.1.9.16.2.14", "1.2.840.113549.1.9.16.2.20"})  # on a signature; on what it signs
_HASHES = {
    "2.16.840.1.101.3.4.2.1": hashlib.sha256,
    "2.16.840.1.101.3.4.2.2": hashlib.sha384,
    "2.16.840.1.101.3.4.2.3": hashlib.sha512,
}
_LONGEST_SALT = 512  # bytes: no key in use has room for more
_QUALIFIED = bytes.fromhex("06082b06010505070103") + bytes.fromhex("040d300b30090607040081975e0101")
"""What else a timestamp may state: that it is qualified, as EU law has it. ETSI EN 319 422, 9.1 (from memory)."""


MISNAMED: Final = "signer-named-otherwise"
MISSTATED: Final = "signer-stated-otherwise"
WITH_MORE: Final = "signature-algorithm-with-more"


class OtherFormError(Exception):
    """Something is not written in the one form that is known; ``code`` of what is told of it."""

    def __init__(self, code: str = "signature-written-otherwise") -> None:
        super().__init__(code)
        self.code = code


@dataclass(frozen=True, slots=True)
class DerNode:
    """One element of DER: its tag, what is in it, all of it, and the elements inside."""

    tag: int
    body: bytes
    whole: bytes
    kids: tuple[DerNode, ...]


def read_der(data: bytes, depth: int = 0) -> tuple[DerNode, int]:
    """Return the element that ``data`` begins with, every length in its shortest form, and where it ends.

    ``OtherFormError`` for anything else.
    """
    if depth > _DEEPEST or len(data) < len(_NULL) or data[0] & 0x1F == 0x1F:
        raise OtherFormError
    length, start = data[1], 2
    if length & 0x80:
        count = length & 0x7F
        start += count
        length = int.from_bytes(data[2:start], "big")
        if not 1 <= count <= _LONGEST_LENGTH or length < max(0x80, 1 << 8 * (count - 1)):
            raise OtherFormError
    end = start + length
    if end > len(data):
        raise OtherFormError
    body, kids = data[start:end], []
    place = 0
    while data[0] & 0x20 and place < len(body):
        kid, size = read_der(body[place:], depth + 1)
        kids.append(kid)
        place += size
    return DerNode(data[0], body, data[:end], tuple(kids)), end


def only(data: bytes) -> DerNode:
    """Return the one element that ``data`` is."""
    element, end = read_der(data)
    if end != len(data):
        raise OtherFormError
    return element


def _parts(element: DerNode, tag: int = _SEQUENCE, *, count: int | None = None, least: int = 0) -> tuple[DerNode, ...]:
    """Return the elements in one of this tag, as many as there have to be."""
    if element.tag != tag or (count is not None and len(element.kids) != count) or len(element.kids) < least:
        raise OtherFormError
    return element.kids


def _object_id(element: DerNode) -> str:
    try:
        return str(core.ObjectIdentifier.load(_require(element, _OBJECT).whole).dotted)
    except (ValueError, TypeError, IndexError) as reason:
        raise OtherFormError from reason


def _require(element: DerNode, tag: int) -> DerNode:
    if element.tag != tag:
        raise OtherFormError
    return element


# --- algorithms


def require_algorithm(element: DerNode) -> str:
    """Return which algorithm an element names; ``OtherFormError`` where more than its own parameters is beside it."""
    kind, *parameters = _parts(element, least=1)
    name = _object_id(kind)
    if name == _PSS:
        _padding(parameters)
    elif parameters and (name == _ED25519 or name.startswith(_ECDSA) or [one.whole for one in parameters] != [_NULL]):
        raise OtherFormError(WITH_MORE)
    return name


def _padding(parameters: Sequence[DerNode]) -> str:
    """Return the hash of RSA-PSS: hash, mask and salt are stated, each once and in this order, and nothing else.

    What is as usual is not stated in DER (X.690, 11.5): so it is with the last field, of which there is one value.
    """
    try:
        fields = _parts(parameters[0], count=3)
        (hashed,), (mask,), (salt,) = (_parts(one, 0xA0 + place, count=1) for place, one in enumerate(fields))
        function, under = _parts(mask, count=2)
        name, size = require_algorithm(hashed), int.from_bytes(_shortest(salt).body, "big", signed=True)
        other = len(parameters) > 1 or _object_id(function) != _MASK or require_algorithm(under) != name
        other = other or not _HASHES[name]().digest_size <= size <= _LONGEST_SALT
    except (OtherFormError, LookupError) as reason:
        raise OtherFormError(WITH_MORE) from reason
    if other:
        raise OtherFormError(WITH_MORE)
    return name


def _shortest(element: DerNode) -> DerNode:
    """Return a whole number without an idle byte: X.690, 8.3.2."""
    body = _require(element, _INTEGER).body
    if not body or (len(body) > 1 and body[0] in {0, 0xFF} and body[0] >> 7 == body[1] >> 7):
        raise OtherFormError
    return element


def require_certificate(element: DerNode) -> None:
    """Raise ``OtherFormError`` where a certificate is none, or says twice and differently how it was signed."""
    statement, algorithm, value = _parts(element, count=3)
    _require(value, _BITS)
    fields = _parts(statement, least=6)
    place = 2 if fields[0].tag == 0xA0 else 1
    if fields[place].whole != algorithm.whole:
        raise OtherFormError
    require_algorithm(algorithm)


# --- the whole value


def form_faults(value: bytes, *, of_time: bool = False, alone: bool = False) -> list[Told]:
    """Return, in a sentence each, how a signature's value (CMS, DER) and, unless it is looked at ``alone``, the
    timestamps in it are written otherwise than in the one form; ``of_time``: it is itself a timestamp.
    """
    faults = []
    try:
        first, _ = read_der(value)
        stamps = _signed_data(first, of_time=of_time)
    except OtherFormError as fault:
        return [told(fault.code)]
    for stamp in () if alone else stamps:
        faults += form_faults(stamp.whole, of_time=True)
    return list(dict.fromkeys(faults))


def brought_in(value: bytes) -> tuple[bytes, ...]:
    """Return the certificates that a value of the one form brings, that of the signer first."""
    first, _ = read_der(value)
    data = first.kids[1].kids[0]
    held = data.kids[3].kids if data.kids[3].tag == 0xA0 else ()
    signer = _named(data.kids[-1].kids[0].kids[1], held)
    return (signer.whole, *(one.whole for one in held if one is not signer))


def values_in(value: bytes) -> list[bytes]:
    """Return a value of the one form, and those of the timestamps in it."""
    first, _ = read_der(value)
    info = first.kids[1].kids[0].kids[-1].kids[0]
    return [first.whole, *(one.whole for one in _stamps(info))]


def _signed_data(whole: DerNode, *, of_time: bool) -> list[DerNode]:
    """Return the timestamps in a value; ``OtherFormError`` where it is not of the one form."""
    kind, wrapped = _parts(whole, count=2)
    (data,) = _parts(wrapped, 0xA0, count=1)
    if _object_id(kind) != _SIGNED_DATA:
        raise OtherFormError
    version, digests, content, *rest = _parts(data, least=4)
    held = _parts(rest.pop(0), 0xA0, least=1) if rest[0].tag == 0xA0 else ()
    if len(rest) != 1 or _shortest(version).body != (
        b"\3" if of_time else b"\1"
    ):  # lists of revoked ones, among others
        raise OtherFormError
    (info,) = _parts(rest[0], _SET, count=1)
    (digest,) = _parts(digests, _SET, count=1)
    _certificates(held)
    _content(content, of_time=of_time)
    fields = _parts(info, least=6)
    signed = _signer(fields, digest)
    _statements(signed, _named(fields[1], held), held, of_time=of_time)
    return _stamps(info)


def _certificates(held: Sequence[DerNode]) -> None:
    if len({one.whole for one in held}) < len(held) or len(held) > MOST_CERTIFICATES:
        raise OtherFormError
    for one in held:
        require_certificate(one)


def _content(content: DerNode, *, of_time: bool) -> None:
    kind, *inside = _parts(content, least=1)
    if _object_id(kind) != (_TSTINFO if of_time else _DATA) or len(inside) != of_time:
        raise OtherFormError
    if of_time:
        (octets,) = _parts(inside[0], 0xA0, count=1)
        _stated_time(only(_require(octets, _OCTETS).body))


def _stated_time(stated: DerNode) -> None:
    """Look at what follows the time in a timestamp: nobody would see words there, nor does any page show them."""
    fields = list(_parts(stated, least=5))[5:]
    for tag in (_SEQUENCE, 0x01, _INTEGER):  # accuracy, order and the number of the request are judged elsewhere
        if fields and fields[0].tag == tag:
            fields.pop(0)
    authority = fields.pop(0) if fields and fields[0].tag == 0xA0 else None
    listed = fields.pop(0) if fields and fields[0].tag == 0xA1 else None
    known = listed is None or all(one.tag == _SEQUENCE and one.body == _QUALIFIED for one in listed.kids)
    if fields or not known or (authority is not None and len(authority.kids) != 1):
        raise OtherFormError("stamp-states-more")


def _signer(fields: Sequence[DerNode], digest: DerNode) -> DerNode:
    """Return what a signer signs besides; ``OtherFormError`` where his algorithms have more beside them."""
    version, _, own, signed, how, value, *unsigned = fields
    wrong = _shortest(version).body != b"\1" or signed.tag != 0xA0 or value.tag != _OCTETS
    if wrong or len(unsigned) > 1 or any(one.tag != 0xA1 or not one.kids for one in unsigned):
        raise OtherFormError
    hashed = require_algorithm(own)
    if require_algorithm(digest) != hashed:
        raise OtherFormError(WITH_MORE)
    if require_algorithm(how) == _PSS and _padding(how.kids[1:]) != hashed:
        raise OtherFormError(WITH_MORE)
    return signed


def _named(identifier: DerNode, held: Sequence[DerNode]) -> DerNode:
    """Return the one certificate that a signature names as its signer's, by who issued it and its number."""
    issuer, serial = _parts(identifier, count=2)
    found = [one for one in held if _is_called(one, issuer, serial)]
    if len(found) != 1:
        raise OtherFormError(MISNAMED)
    return found[0]


def _is_called(certificate: DerNode, issuer: DerNode, serial: DerNode) -> bool:
    fields = certificate.kids[0].kids
    place = 1 if fields[0].tag == 0xA0 else 0
    if fields[place].whole != _shortest(serial).whole:
        return False
    try:
        return bool(x509.Name.load(issuer.whole) == x509.Name.load(fields[place + 2].whole))
    except (ValueError, TypeError, KeyError) as reason:
        raise OtherFormError from reason


def _stamps(info: DerNode) -> list[DerNode]:
    found: list[DerNode] = []
    for listed in (one for one in info.kids if one.tag in {0xA0, 0xA1}):
        for attribute in listed.kids:
            kind, values = _parts(attribute, count=2)
            found += _parts(values, _SET) if _object_id(kind) in _STAMPS else ()
    return found


# --- what is stated of the signer's certificate


def _statements(signed: DerNode, signer: DerNode, held: Sequence[DerNode], *, of_time: bool) -> None:
    """Look at the statements of which certificate a signature was made with: by SHA-1 only beside another, or of an
    authority of time.
    """
    stated = _stated(signed)
    if not stated or (not of_time and _STATED not in stated):
        raise OtherFormError(MISSTATED)
    for name, statement in stated.items():
        own, *_ = _identified(statement, by_sha1=name == _STATED_BY_SHA1)
        if not _is_of(own, signer):
            raise OtherFormError(MISNAMED if any(_is_of(own, one) for one in held) else MISSTATED)


def _stated(signed: DerNode) -> dict[str, DerNode]:
    """Return the statements of which certificate a signature was made with, by their kind, each there once."""
    stated: dict[str, DerNode] = {}
    for attribute in signed.kids:
        kind, values = _parts(attribute, count=2)
        name = _object_id(kind)
        if name in {_STATED, _STATED_BY_SHA1}:
            if name in stated:
                raise OtherFormError(MISSTATED)
            (stated[name],) = _parts(values, _SET, count=1)
    return stated


Identified = tuple[str, bytes, tuple[DerNode, DerNode] | None]


def _identified(statement: DerNode, *, by_sha1: bool) -> Iterator[Identified]:
    """Yield each certificate that is stated: the name of the hash, the hash, issuer and number where they are there."""
    try:
        (listed,) = _parts(statement, count=1)
        for one in _parts(listed, least=1):
            yield _one_identified(list(_parts(one, least=1)), by_sha1=by_sha1)
    except (OtherFormError, LookupError) as reason:
        raise OtherFormError(MISSTATED) from reason


def _one_identified(parts: list[DerNode], *, by_sha1: bool) -> Identified:
    hashed = "sha1" if by_sha1 else "sha256"
    if not by_sha1 and parts[0].tag == _SEQUENCE:
        hashed = _HASHES[require_algorithm(parts.pop(0))]().name
    value = _require(parts.pop(0), _OCTETS).body
    issued = _issued(parts.pop(0)) if parts else None
    if parts or len(value) != hashlib.new(hashed).digest_size:
        raise OtherFormError
    return hashed, value, issued


def _issued(stated: DerNode) -> tuple[DerNode, DerNode]:
    """Return who issued a certificate, one name of a directory, and its number."""
    names, serial = _parts(stated, count=2)
    (directory,) = _parts(names, count=1)
    (name,) = _parts(directory, 0xA4, count=1)
    return name, _shortest(serial)


def _is_of(identified: Identified, certificate: DerNode) -> bool:
    hashed, value, issued = identified
    own = hashlib.new(hashed, certificate.whole).digest()
    return own == value and (issued is None or _is_called(certificate, *issued))
