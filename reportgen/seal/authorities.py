"""Whether the certificates of a chain are revoked, asked of the authorities that they themselves name, over HTTP."""

from __future__ import annotations

import urllib.error
import urllib.request
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp
from cryptography.x509.oid import AuthorityInformationAccessOID

from reportgen import certificates
from reportgen.increments import RevocationData, needed, read_answer, read_list

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

_LARGEST_ANSWER = 16 << 20
_QUERY, _REPLY = "application/ocsp-request", "application/ocsp-response"  # RFC 6960, appendix A


def ask_authorities(
    chain: Sequence[x509.Certificate], *, by_list: Collection[x509.Certificate] = (), seconds: float = 20.0
) -> tuple[RevocationData, list[str]]:
    """Return what the authorities say that the certificates of ``chain`` name, and a clause for each that fails.

    Each certificate that names a responder or a list, and whose issuer is in the chain, is asked about once: the
    responder first, since its answer is newer and smaller, then the list; the list alone about one of ``by_list``.
    What does not fit the chain is not taken.
    """
    crls: list[bytes] = []
    ocsps: list[bytes] = []
    failed: list[str] = []
    for subject in chain:
        issuer = next((one for one in chain if one is not subject and certificates.issued(one, subject)), None)
        if issuer is None:
            continue
        for url, query in _addresses(subject, issuer, lists_alone=subject in by_list):
            try:
                found = _asked(url, query, chain, seconds)
            except (OSError, ValueError) as reason:
                failed.append(f"{url} {_why(reason)}")
                continue
            crls += found.crls
            ocsps += found.ocsps
            break
    return RevocationData(crls=tuple(dict.fromkeys(crls)), ocsps=tuple(dict.fromkeys(ocsps))), failed


def _addresses(
    subject: x509.Certificate, issuer: x509.Certificate, *, lists_alone: bool
) -> Iterator[tuple[str, bytes | None]]:
    """Yield where to ask about a certificate, with the question: none for a list."""
    named = certificates.extension(subject.extensions, x509.AuthorityInformationAccess) or ()
    for one in () if lists_alone else named:
        if one.access_method == AuthorityInformationAccessOID.OCSP and _is_web(one.access_location):
            request = ocsp.OCSPRequestBuilder().add_certificate(subject, issuer, hashes.SHA1()).build()  # noqa: S303 - an identifier, which responders know by no other hash
            yield one.access_location.value, request.public_bytes(Encoding.DER)
    for point in certificates.extension(subject.extensions, x509.CRLDistributionPoints) or ():
        yield from ((name.value, None) for name in point.full_name or () if _is_web(name))


def _asked(url: str, query: bytes | None, chain: Sequence[x509.Certificate], seconds: float) -> RevocationData:
    answer = _answer(url, query, seconds)
    if query:
        read_answer(answer)
        found = RevocationData(ocsps=(answer,))
    else:
        found = RevocationData(crls=(read_list(answer).public_bytes(Encoding.DER),))
    if not needed(chain, (), found):
        raise ValueError("answers for another certificate")
    return found


def _is_web(name: x509.GeneralName) -> bool:
    return isinstance(name, x509.UniformResourceIdentifier) and name.value.startswith(("http://", "https://"))


def _answer(url: str, query: bytes | None, seconds: float) -> bytes:
    headers = {"Content-Type": _QUERY, "Accept": _REPLY} if query else {}
    request = urllib.request.Request(url, query, headers)  # noqa: S310 - http and https only, see above
    with urllib.request.urlopen(request, timeout=seconds) as answer:  # noqa: S310 - as above
        data: bytes = answer.read(_LARGEST_ANSWER + 1)
    if len(data) > _LARGEST_ANSWER:
        raise ValueError("answers with more than 16 MiB")
    return data


def _why(reason: Exception) -> str:
    if isinstance(reason, urllib.error.HTTPError):
        reason.close()
        return f"answers {reason.code} {reason.reason}"
    if isinstance(reason, urllib.error.URLError):
        return f"cannot be reached: {reason.reason}"
    if isinstance(reason, OSError):
        return f"cannot be reached: {reason}"
    return str(reason) if str(reason).startswith("answers") else "does not answer with revocation data"
