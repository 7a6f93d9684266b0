"""What proves the state of a chain without asking anyone: certificates, CRLs and OCSP responses, in a file and needed.

A file may hold nothing else in its store, so that nothing can be brought along under a renewal's name.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp
from pyhanko.sign.general import extract_certificate_info, find_cms_attribute_iter

from reportgen import certificates

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature

_KINDS = {"/CRLs": "crls", "/OCSPs": "ocsps", "/Certs": "certificates"}


class UnreadableItemError(ValueError):
    """An item is of its kind, and has a part that cannot be read."""


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

    def __len__(self) -> int:
        """How many there are."""
        return len(self.crls) + len(self.ocsps) + len(self.certificates)


def read_list(data: bytes) -> x509.CertificateRevocationList:
    """Return a CRL (DER, or PEM) of which every part that is asked for later can be read; ``ValueError`` otherwise."""
    told = "it is no list of revoked certificates that can be read"
    try:
        pem = b"-----BEGIN" in data
        found = x509.load_pem_x509_crl(data) if pem else x509.load_der_x509_crl(data)
    except x509.InvalidVersion as other:
        raise ValueError(
            f"it is a list of version {other.parsed_version + 1}, and does not say what it lists"
        ) from other
    except certificates.UNREADABLE as reason:
        raise ValueError(told) from reason
    try:
        _ = (found.issuer, found.last_update_utc, found.next_update_utc, found.signature)
        _ = [one.value for one in found.extensions]
    except certificates.UNREADABLE as reason:
        raise UnreadableItemError(told) from reason
    return found


def read_answer(data: bytes) -> ocsp.OCSPResponse:
    """Return an OCSP response (DER) of which every part that is asked for later can be read; ``ValueError`` otherwise.

    One that answers nothing has no parts.
    """
    told = "it is no answer about revocation that can be read"
    try:
        found = ocsp.load_der_ocsp_response(data)
    except certificates.UNREADABLE as reason:
        raise ValueError(told) from reason
    try:
        if found.response_status is not ocsp.OCSPResponseStatus.SUCCESSFUL:
            return found
        _ = (found.produced_at_utc, found.signature, found.tbs_response_bytes)
        for one in found.responses:
            _ = (one.serial_number, one.hash_algorithm, one.issuer_key_hash, one.issuer_name_hash)
            _ = (one.certificate_status, one.this_update_utc, one.next_update_utc, one.revocation_time_utc)
        for each in found.certificates:
            certificates.require_readable(each)
    except certificates.UNREADABLE as reason:
        raise UnreadableItemError(told) from reason
    return found


def stored(root: Any) -> RevocationData:
    """Return what the store of a file's catalog ``root`` holds, as it stands there.

    Raises ``UnreadableItemError`` where a part of an item cannot be read; ``ValueError`` where an item is not exactly
    one of its kind, or the store has another entry.
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
        *(read_list(one).public_bytes(Encoding.DER) == one for one in data.crls),
        *(read_answer(one).public_bytes(Encoding.DER) == one for one in data.ocsps),
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

    A certificate is needed that issued one of a chain, a CRL that such a one signed, an answer that is about one.
    """
    given = [x509.load_der_x509_certificate(one) for one in data.certificates]
    chain = certificates.issuers(leaves, [*others, *given])
    # a list by who issued none of them is of no use: a signer could bring along what he likes in one of his own
    issuing = [issuer for issuer in chain if any(certificates.issued(issuer, one) for one in chain)]
    return RevocationData(
        crls=tuple(one for one in data.crls if listed_by(one, issuing)),
        ocsps=tuple(one for one in data.ocsps if _answers(one, chain)),
        certificates=tuple(
            der for der, one in zip(data.certificates, given, strict=True) if one in chain
        ),
    )  # fmt: skip


def of_unknown(
    leaves: Iterable[x509.Certificate], others: Iterable[x509.Certificate], data: RevocationData
) -> RevocationData:
    """Return what of ``data`` is, by the name in it, an authority's above a chain from ``leaves`` whose certificate is
    not among ``others`` or in ``data``.
    """
    given = [x509.load_der_x509_certificate(one) for one in data.certificates]
    chain = certificates.issuers(leaves, [*others, *given])
    ends = [one for one in chain if not any(certificates.issued(issuer, one) for issuer in chain)]
    names = {one.issuer for one in ends}
    serials = {one.serial_number for one in ends}
    answers = [(der, ocsp.load_der_ocsp_response(der)) for der in data.ocsps]
    return RevocationData(
        crls=tuple(der for der in data.crls if x509.load_der_x509_crl(der).issuer in names),
        ocsps=tuple(
            der
            for der, answer in answers
            if answer.response_status is ocsp.OCSPResponseStatus.SUCCESSFUL
            and any(one.serial_number in serials for one in answer.responses)
        ),
    )


def listed_by(der: bytes, issuers: Iterable[x509.Certificate]) -> bool:
    """Say whether a CRL was signed by one of ``issuers``, in its name."""
    listed = x509.load_der_x509_crl(der)
    for issuer in issuers:
        try:
            key = issuer.public_key()
            if listed.issuer == issuer.subject and listed.is_signature_valid(key):  # type: ignore[arg-type] # others raise
                return True
        except (
            TypeError,
            ValueError,
            UnsupportedAlgorithm,
        ):  # a key that signs nothing, a list whose algorithms differ
            continue
    return False


def _answers(der: bytes, chain: list[x509.Certificate]) -> bool:
    """Say whether an OCSP response is about one of ``chain``, by its issuer or a responder that this one named."""
    answer = ocsp.load_der_ocsp_response(der)
    if answer.response_status is not ocsp.OCSPResponseStatus.SUCCESSFUL:
        return False
    pairs = ((issuer, one) for issuer in chain for one in chain if one.issuer == issuer.subject)
    return any(
        list(answers_about(subject, issuer, answer)) and _signed_for(answer, issuer) for issuer, subject in pairs
    )


def answers_about(
    subject: x509.Certificate, issuer: x509.Certificate, answer: ocsp.OCSPResponse
) -> Iterator[ocsp.OCSPSingleResponse]:
    """Yield what a successful answer, which may be about several certificates, says of ``subject``."""
    for one in answer.responses:
        if one.serial_number != subject.serial_number:
            continue
        asked = ocsp.OCSPRequestBuilder().add_certificate(subject, issuer, one.hash_algorithm).build()
        if (asked.issuer_key_hash, asked.issuer_name_hash) == (one.issuer_key_hash, one.issuer_name_hash):
            yield one


def lists_all(listed: x509.CertificateRevocationList, subject: x509.Certificate) -> bool:
    """Say whether ``subject`` would stand in this list of its issuer if it were revoked: RFC 5280, 5.2.

    A list may be of other certificates only, of some reasons, of others' certificates, or what is new since another.
    """
    for one in listed.extensions:
        if one.critical and not isinstance(one.value, x509.IssuingDistributionPoint):
            return False
    scope = certificates.extension(listed.extensions, x509.IssuingDistributionPoint)
    if scope is None:
        return True
    constraints = certificates.extension(subject.extensions, x509.BasicConstraints)
    authority = constraints is not None and constraints.ca
    of_others = scope.only_contains_user_certs if authority else scope.only_contains_ca_certs
    if of_others or scope.only_contains_attribute_certs or scope.only_some_reasons or scope.indirect_crl:
        return False
    if scope.full_name is None:
        return scope.relative_name is None
    points = certificates.extension(subject.extensions, x509.CRLDistributionPoints) or ()
    return any(name in scope.full_name for point in points for name in point.full_name or ())


def _signed_for(answer: ocsp.OCSPResponse, issuer: x509.Certificate) -> bool:
    return answered_by(answer, issuer) is not None


def answered_by(answer: ocsp.OCSPResponse, issuer: x509.Certificate) -> x509.Certificate | None:
    """Return who signed: ``issuer``, or one whom it certified for nothing but this (RFC 6960, 4.2.2.2), or None."""
    responders = [issuer]
    for one in answer.certificates:
        purposes = certificates.extension(one.extensions, x509.ExtendedKeyUsage)
        named = purposes is not None and x509.oid.ExtendedKeyUsageOID.OCSP_SIGNING in purposes
        if named and certificates.leads_to(one, [], [issuer]):
            responders.append(one)
    try:
        algorithm = answer.signature_hash_algorithm
    except UnsupportedAlgorithm:  # what cannot be checked says nothing
        return None
    data = answer.tbs_response_bytes
    return next((one for one in responders if certificates.signed_by(one, answer.signature, data, algorithm)), None)
