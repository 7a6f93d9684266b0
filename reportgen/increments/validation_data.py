"""What proves the state of a chain without asking anyone: certificates, CRLs and OCSP responses, in a file and needed.

A file may hold nothing else in its store, so that nothing can be brought along under a renewal's name.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp
from pyhanko.sign.general import extract_certificate_info, find_cms_attribute_iter

from reportgen import certificates

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature

_KINDS = {"/CRLs": "crls", "/OCSPs": "ocsps", "/Certs": "certificates"}


@dataclass(frozen=True, slots=True)
class RevocationData:
    """CRLs, OCSP responses and certificates, all DER, that prove a chain's state without asking anyone."""

    crls: tuple[bytes, ...] = ()
    ocsps: tuple[bytes, ...] = ()
    certificates: tuple[bytes, ...] = ()

    def beyond(self, other: RevocationData) -> RevocationData:
        """Return what is here and not in ``other``, each once."""
        return RevocationData(
            **{
                kind: tuple(one for one in dict.fromkeys(getattr(self, kind)) if one not in getattr(other, kind))
                for kind in _KINDS.values()
            }
        )

    def __bool__(self) -> bool:
        """Whether there is any."""
        return bool(self.crls or self.ocsps or self.certificates)


def stored(root: Any) -> RevocationData:
    """Return what the store of a file's catalog ``root`` holds, as it stands there.

    Raises ``ValueError`` where an item is not exactly one of its kind, or the store has another entry.
    """
    if "/DSS" not in root:
        return RevocationData()
    store = root["/DSS"]
    if set(store) - {"/Type", *_KINDS}:
        raise ValueError("the store has entries that are never written")
    found = {}
    for key, kind in _KINDS.items():
        entries = store[key] if key in store else ()  # noqa: SIM401 - the library's `get` resolves no reference
        found[kind] = tuple(bytes(entries[place].data) for place in range(len(entries)))
    data = RevocationData(**found)
    exact = [
        *(x509.load_der_x509_certificate(one).public_bytes(Encoding.DER) == one for one in data.certificates),
        *(x509.load_der_x509_crl(one).public_bytes(Encoding.DER) == one for one in data.crls),
        *(ocsp.load_der_ocsp_response(one).public_bytes(Encoding.DER) == one for one in data.ocsps),
    ]
    if not all(exact):
        raise ValueError("an item of the store has bytes beyond it")
    return data


def signing_certificates(
    signatures: Iterable[EmbeddedPdfSignature],
) -> tuple[list[x509.Certificate], list[x509.Certificate]]:
    """Return the certificates by which signatures and the timestamps on and among them were made, and what they bring.

    Raises ``ValueError`` for a structure that holds no such certificate.
    """
    leaves, others = [], []
    for signature in signatures:
        tokens = find_cms_attribute_iter(signature.signer_info["unsigned_attrs"], "signature_time_stamp_token")
        for signed in (signature.signed_data, *(token["content"] for token in tokens)):
            held = extract_certificate_info(signed)
            leaves.append(x509.load_der_x509_certificate(held.signer_cert.dump()))
            others += [x509.load_der_x509_certificate(one.dump()) for one in held.other_certs]
    return leaves, others


def needed(
    leaves: Iterable[x509.Certificate], others: Iterable[x509.Certificate], data: RevocationData
) -> RevocationData:
    """Return what of ``data`` a chain from one of ``leaves`` needs, found through ``others`` and ``data`` itself.

    A certificate is needed that issued one of a chain, a CRL that such a one issued, an answer that is about one.
    """
    given = [x509.load_der_x509_certificate(one) for one in data.certificates]
    chain = certificates.issuers(leaves, [*others, *given])
    return RevocationData(
        crls=tuple(one for one in data.crls if _is_of(one, chain)),
        ocsps=tuple(one for one in data.ocsps if _answers(one, chain)),
        certificates=tuple(
            der for der, one in zip(data.certificates, given, strict=True) if one in chain
        ),
    )  # fmt: skip


def _is_of(der: bytes, chain: list[x509.Certificate]) -> bool:
    """Say whether a CRL was issued by one of ``chain``."""
    listed = x509.load_der_x509_crl(der)
    for issuer in chain:
        key = issuer.public_key()
        try:
            if listed.issuer == issuer.subject and listed.is_signature_valid(key):  # type: ignore[arg-type] # others raise
                return True
        except (TypeError, ValueError):  # a key that signs nothing, a list whose algorithms differ
            continue
    return False


def _answers(der: bytes, chain: list[x509.Certificate]) -> bool:
    """Say whether an OCSP response is about one of ``chain``, by its issuer or a responder that this one named."""
    answer = ocsp.load_der_ocsp_response(der)
    if answer.response_status is not ocsp.OCSPResponseStatus.SUCCESSFUL:
        return False
    for issuer in chain:
        about = [one for one in chain if one.serial_number == answer.serial_number and one.issuer == issuer.subject]
        if not about:
            continue
        asked = ocsp.OCSPRequestBuilder().add_certificate(about[0], issuer, answer.hash_algorithm).build()
        named = (asked.issuer_key_hash, asked.issuer_name_hash) == (answer.issuer_key_hash, answer.issuer_name_hash)
        if named and _signed_for(answer, issuer):
            return True
    return False


def _signed_for(answer: ocsp.OCSPResponse, issuer: x509.Certificate) -> bool:
    """Say whether ``issuer`` signed, or one whom it certified for nothing but this: RFC 6960, 4.2.2.2."""
    responders = [issuer]
    for one in answer.certificates:
        purposes = certificates.extension(one.extensions, x509.ExtendedKeyUsage)
        named = purposes is not None and x509.oid.ExtendedKeyUsageOID.OCSP_SIGNING in purposes
        if named and certificates.leads_to(one, [], [issuer]):
            responders.append(one)
    algorithm, data = answer.signature_hash_algorithm, answer.tbs_response_bytes
    return algorithm is not None and any(
        certificates.signed_by(one, answer.signature, data, algorithm) for one in responders
    )
