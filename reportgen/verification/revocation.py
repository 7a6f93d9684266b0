"""What lists and answers say of the certificates of a chain, whatever their age: revoked when, and known until when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.x509 import ocsp

from reportgen import certificates
from reportgen.increments import RevocationData, needed

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

Word = tuple["datetime", "datetime | None"]
"""The date of a list or an answer, and that of the revocation which it states."""


def revoked(chain: Sequence[x509.Certificate], data: RevocationData) -> datetime | None:
    """Return when the first of ``chain`` was revoked, by ``data``; ``chain`` is in order, its root at the end."""
    words = [word for place in range(len(chain) - 1) for word in _words(chain, place, data)]
    return min((moment for _, moment in words if moment is not None), default=None)


def known_until(chain: Sequence[x509.Certificate], data: RevocationData) -> datetime | None:
    """Return until when ``data`` says of each of ``chain`` whether it was revoked; None where it does not of one.

    What is dated after a certificate ended says nothing of it: an authority then leaves it out of its lists.
    """
    dates = []
    for place in range(len(chain) - 1):
        ends = chain[place].not_valid_after_utc
        own = [date for date, _ in _words(chain, place, data) if date <= ends]
        if not own:
            return None
        dates.append(max(own))
    return min(dates, default=None)


def _words(chain: Sequence[x509.Certificate], place: int, data: RevocationData) -> Iterator[Word]:
    """Yield what ``data`` says of one of ``chain``, by its issuer or whom that one names."""
    subject, issuer = chain[place], chain[place + 1]
    for crl in needed([issuer], (), RevocationData(crls=data.crls)).crls:
        listed = x509.load_der_x509_crl(crl)
        entry = listed.get_revoked_certificate_by_serial_number(subject.serial_number)
        yield listed.last_update_utc, None if entry is None else entry.revocation_date_utc
    for der in needed([subject, issuer], (), RevocationData(ocsps=data.ocsps)).ocsps:
        answer = ocsp.load_der_ocsp_response(der)
        if answer.serial_number == subject.serial_number:
            yield answer.this_update_utc, answer.revocation_time_utc


def in_order(leaf: x509.Certificate, others: Sequence[x509.Certificate]) -> tuple[x509.Certificate, ...]:
    """Return a certificate and its issuers among ``others``, up to a root."""
    return (leaf, *certificates.in_order(leaf, others))
