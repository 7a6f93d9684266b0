"""Copies of a signed file in which what nobody signs is written otherwise, as anybody who holds the file can."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from asn1crypto import algos, cms
from asn1crypto import x509 as structure
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature, encode_dss_signature
from cryptography.hazmat.primitives.serialization import Encoding

from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

_ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551
"""Of P-256: FIPS 186-4, D.1.2.3."""
_VALUE = re.compile(rb"/Contents <([0-9A-Fa-f]+)>")


def value_of(pdf: bytes) -> cms.ContentInfo:
    """The value of the first signature."""
    return cms.ContentInfo.load(bytes.fromhex(_digits(pdf)[1].decode()), strict=False)


def _digits(pdf: bytes) -> re.Match[bytes]:
    found = _VALUE.search(pdf)
    assert found is not None
    return found


def _with(pdf: bytes, digits: bytes) -> bytes:
    """The file with other digits in the place of the first signature, which is as long as before."""
    found = _digits(pdf)
    filled = digits.ljust(len(found[1]), b"0")
    assert len(filled) == len(found[1])
    return pdf[: found.start(1)] + filled + pdf[found.end(1) :]


def _encoded(pdf: bytes, change: Callable[[cms.SignedData], None]) -> bytes:
    value = value_of(pdf)
    change(value["content"])
    return _with(pdf, value.dump(force=True).hex().upper().encode())


def lower_case(pdf: bytes) -> bytes:
    """The digits in small letters."""
    return _with(pdf, _digits(pdf)[1].lower())


def long_lengths(pdf: bytes) -> bytes:
    """The outermost length in more bytes than it needs."""
    data = value_of(pdf).dump()
    size = data[1] & 0x7F
    assert data[1] & 0x80
    return _with(pdf, (data[:1] + bytes([0x80 | (size + 1), 0]) + data[2:]).hex().upper().encode())


def foreign_certificate(pdf: bytes) -> bytes:
    """A certificate more, of somebody who has nothing to do with it."""

    def change(data: cms.SignedData) -> None:
        other = structure.Certificate.load(made.engineer().certificate.public_bytes(Encoding.DER))
        data["certificates"] = cms.CertificateSet([*data["certificates"], other])

    return _encoded(pdf, change)


def second_digest(pdf: bytes) -> bytes:
    """A second algorithm in the list of those used."""

    def change(data: cms.SignedData) -> None:
        more = algos.DigestAlgorithm({"algorithm": "sha512"})
        data["digest_algorithms"] = cms.DigestAlgorithms([*data["digest_algorithms"], more])

    return _encoded(pdf, change)


def without_stamp(pdf: bytes) -> bytes:
    """The timestamp taken off."""

    def change(data: cms.SignedData) -> None:
        (signer,) = data["signer_infos"]
        assert len(signer["unsigned_attrs"]) == 1
        members = (name for name in signer if name != "unsigned_attrs")
        data["signer_infos"] = cms.SignerInfos([cms.SignerInfo({name: signer[name] for name in members})])

    return _encoded(pdf, change)


def third_version(pdf: bytes) -> bytes:
    """Another version stated, which none of ours has: it is in doubt."""
    return _encoded(pdf, lambda data: data.__setitem__("version", "v3"))


def unreadable_certificate(pdf: bytes) -> bytes:
    """A certificate more of which no reader understands what it may be used for: signatures are not looked at."""
    der = made.engineer().certificate.public_bytes(Encoding.DER)
    usage = b"\x06\x03\x55\x1d\x0f\x01\x01\xff\x04\x04\x03"
    assert der.count(usage) == 1
    other = der.replace(usage, usage[:-1] + b"\x05")
    digits = _digits(foreign_certificate(pdf))[1]
    return _with(pdf, digits.replace(der.hex().upper().encode(), other.hex().upper().encode()))


def other_half(pdf: bytes) -> bytes:
    """The second number of the signature from the other half of the curve P-256: it verifies as well (SEC 1, 4.1.4)."""

    def change(data: cms.SignedData) -> None:
        (signer,) = data["signer_infos"]
        first, second = decode_dss_signature(signer["signature"].native)
        signer["signature"] = encode_dss_signature(first, _ORDER - second)

    return _encoded(pdf, change)


OTHERWISE = (lower_case, other_half)
"""As good as the file itself."""
LESS_PROVEN = (long_lengths, foreign_certificate, second_digest, third_version, unreadable_certificate)
"""In doubt, though nobody signed anything else."""
