"""What lists and answers say of the certificates of a chain: whether each was revoked, and until when that is known.

Whatever revokes counts, however old it is; that a certificate was not revoked is told only by what could name it.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Final, NamedTuple

from cryptography import x509
from cryptography.x509 import ocsp
from cryptography.x509.oid import CRLEntryExtensionOID

from reportgen import certificates
from reportgen.increments import RevocationData, answered_by, answers_about, listed_by, lists_all, needed
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

CLOCK_TOLERANCE = timedelta(minutes=5)
"""How far clocks may disagree before a time counts as lying in the future."""

_WITHOUT_END = timedelta(days=1)
"""How long an answer that names no next one still speaks for the present."""
_FIRST, _LAST = datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)
_ENTRY_ISSUER = CRLEntryExtensionOID.CERTIFICATE_ISSUER
_KEY_LOST: Final = frozenset({
    x509.ReasonFlags.key_compromise, x509.ReasonFlags.ca_compromise, x509.ReasonFlags.aa_compromise
})  # fmt: skip


def moved(moment: datetime, by: timedelta = timedelta(0)) -> datetime:
    """Return a moment, moved on by so much, in UTC: the first or the last there is where it lies beyond the years 1 to
    9999. Two moments are compared by their difference, which is always within them.
    """
    return _FIRST + min(max(moment - _FIRST + by, timedelta(0)), _LAST - _FIRST)


def current_until(dated: datetime, following: datetime | None) -> datetime:
    """Return until when a list or an answer speaks for the present; ``following`` is when the next one comes."""
    return following or moved(dated, _WITHOUT_END)


class Revocation(NamedTuple):
    """Since when a certificate is revoked, and whether its key is held to be in other hands since: then that is the
    date from which on its owner or authority holds it so, where it is told and earlier (RFC 5280, 5.3.2).
    """

    at: datetime
    key_lost: bool = False

    @property
    def of_signature(self) -> Told:
        """What is told of a signature that nothing proves to be older."""
        if self.key_lost:
            return told("certificate-compromised-unproven", on=f"{self.at:%Y-%m-%d}")
        return told("certificate-revoked-unproven")

    @property
    def of_stamp(self) -> Told:
        """What is told of a timestamp by such a certificate."""
        code = "stamp-chain-compromised-since" if self.key_lost else "stamp-chain-revoked-on"
        return told(code, on=f"{self.at:%Y-%m-%d}")


class RevocationWord(NamedTuple):
    """What a list or an answer says of a certificate: its date and until when it is current, where it knows of the
    certificate, and when that was revoked.
    """

    dated: datetime | None
    current_until: datetime
    revoked: Revocation | None


def revoked(chain: Sequence[x509.Certificate], data: RevocationData) -> Revocation | None:
    """Return since when the first of ``chain`` was revoked, by ``data``; ``chain`` is in order, its root at the end."""
    words = [word for place in range(len(chain) - 1) for word in _words(chain, place, data)]
    return min((one.revoked for one in words if one.revoked is not None), default=None)


def known_until(chain: Sequence[x509.Certificate], data: RevocationData, now: datetime) -> datetime | None:
    """Return until when ``data`` says of each of ``chain`` whether it was revoked; None where it does not of one."""
    dates = [_dated(chain, place, data, now)[0] for place in range(len(chain) - 1)]
    return None if None in dates else min(filter(None, dates), default=None)


def not_current(chain: Sequence[x509.Certificate], data: RevocationData, at: datetime, now: datetime) -> list[Told]:
    """Return a clause for each of ``chain`` of which ``data`` does not say whether it was revoked at the moment ``at``.

    It names the authority that would say so, and the date of its last word, where there is any.
    """
    lacking = []
    for place in range(len(chain) - 1):
        dated, until = _dated(chain, place, data, now)
        if dated is None or (dated < at and (until is None or until < at)):
            issuer = certificates.readable_name(chain[place + 1].subject)
            last = [] if dated is None else [told("last-list-dated", on=f"{dated:%Y-%m-%d}")]
            last += _refused(chain, place, data, now)
            lacking.append(told("list-lacking", issuer=issuer, on=f"{at:%Y-%m-%d}", last=tuple(last)))
    return list(dict.fromkeys(lacking))


def refused(chain: Sequence[x509.Certificate], data: RevocationData, now: datetime) -> list[Told]:
    """Return a clause for each list and answer about one of ``chain`` that does not say that it was not revoked."""
    return [
        told("not-used-of", what=why, issuer=certificates.readable_name(chain[place + 1].subject))
        for place in range(len(chain) - 1)
        for why in _refused(chain, place, data, now)
    ]


def _refused(chain: Sequence[x509.Certificate], place: int, data: RevocationData, now: datetime) -> list[Told]:
    subject, issuer = chain[place], chain[place + 1]
    unused = [
        told("list-not-used", on=f"{listed.last_update_utc:%Y-%m-%d}", why=told(why))
        for der in data.crls
        if (listed := x509.load_der_x509_crl(der)).issuer == issuer.subject
        and (why := _faults_of_list(der, listed, subject, issuer, now))
    ]
    unused += [
        told("list-of-another", on=f"{listed.last_update_utc:%Y-%m-%d}", who=certificates.readable_name(listed.issuer))
        for listed in map(x509.load_der_x509_crl, data.crls)
        if listed.issuer != issuer.subject and _names_as_revoked(listed, subject)
    ]
    for der in data.ocsps:
        answer = ocsp.load_der_ocsp_response(der)
        if answer.response_status is ocsp.OCSPResponseStatus.SUCCESSFUL:
            who = answered_by(answer, issuer)
            disowned = who is not None and _disowned(who, issuer, answer, data)
            unused += [
                told("answer-not-used", on=f"{one.this_update_utc:%Y-%m-%d}", why=told(why))
                for one in answers_about(subject, issuer, answer)
                if (why := "answer-by-revoked" if disowned else _faults_of_answer(one, who, subject, now))
            ]
    return list(dict.fromkeys(unused))


def _names_as_revoked(listed: x509.CertificateRevocationList, subject: x509.Certificate) -> bool:
    """Whether a list about the certificates of several authorities has ``subject`` among them: RFC 5280, 5.3.3."""
    entry = listed.get_revoked_certificate_by_serial_number(subject.serial_number)
    named = [] if entry is None else [one.value for one in entry.extensions if one.oid == _ENTRY_ISSUER]
    return any(name.value == subject.issuer for one in named for name in one if isinstance(name, x509.DirectoryName))


def _faults_of_list(
    der: bytes,
    listed: x509.CertificateRevocationList,
    subject: x509.Certificate,
    issuer: x509.Certificate,
    now: datetime,
) -> str:
    """Return the code of why a list says nothing of ``subject``, or nothing."""
    if not listed_by(der, [issuer]):
        return "list-of-another-key"
    if not certificates.may_list(issuer):
        return "list-not-permitted"
    if not lists_all(listed, subject):
        return "list-of-some"
    return _faults_of_word(subject, listed.last_update_utc, now)


def _faults_of_answer(
    one: ocsp.OCSPSingleResponse, who: x509.Certificate | None, subject: x509.Certificate, now: datetime
) -> str:
    if who is None:
        return "answer-of-another"
    if one.certificate_status is ocsp.OCSPCertStatus.UNKNOWN:
        return "answer-unknown"
    if certificates.life_faults(who, one.this_update_utc):
        return "answer-by-ended"
    return _faults_of_word(subject, one.this_update_utc, now)


def _faults_of_word(subject: x509.Certificate, dated: datetime, now: datetime) -> str:
    """Return the code of why the date of a list or an answer makes it say nothing of ``subject``, as ``_dated``."""
    if dated - now > CLOCK_TOLERANCE:
        return "word-in-future"
    if dated < subject.not_valid_before_utc:
        return "word-before-certificate"
    return "word-after-end" if dated > subject.not_valid_after_utc else ""


def authority_checked(
    chain: Sequence[x509.Certificate], data: RevocationData, lacking: Sequence[Told], now: datetime
) -> Told | None:
    """Return a clause that says until when the authority of a timestamp is known to be unrevoked, where not to the end;
    ``lacking`` is what ``not_current`` says of it.
    """
    since = known_until(chain, data, now)
    return told("authority-unchecked", after=None if since is None else f"{since:%Y-%m-%d}") if lacking else None


def _dated(
    chain: Sequence[x509.Certificate], place: int, data: RevocationData, now: datetime
) -> tuple[datetime | None, datetime | None]:
    """Return the date of the newest word on one of ``chain``, and until when there is a current one.

    What is dated after a certificate ended says nothing of it: an authority then leaves it out of its lists; what is
    older than it could not name it. Nobody knows what is dated after ``now``, the moment of verification.
    """
    subject = chain[place]
    own = [one for one in _words(chain, place, data) if one.dated and not _faults_of_word(subject, one.dated, now)]
    newest = max((one.dated for one in own if one.dated is not None), default=None)
    return newest, max((one.current_until for one in own), default=None)


def _words(chain: Sequence[x509.Certificate], place: int, data: RevocationData) -> Iterator[RevocationWord]:
    """Yield what ``data`` says of one of ``chain``, by its issuer or whom that one names."""
    subject, issuer = chain[place], chain[place + 1]
    for listed, since in _listings(subject, issuer, data):
        dated = listed.last_update_utc
        known = dated if lists_all(listed, subject) and certificates.may_list(issuer) else None
        yield RevocationWord(known, current_until(dated, listed.next_update_utc), since)
    for answer, one, since in _answers(subject, issuer, data):
        who = answered_by(answer, issuer) or issuer
        unknown = one.certificate_status is ocsp.OCSPCertStatus.UNKNOWN
        unknown |= bool(certificates.life_faults(who, one.this_update_utc)) or _disowned(who, issuer, answer, data)
        until = current_until(one.this_update_utc, one.next_update_utc)
        yield RevocationWord(None if unknown else one.this_update_utc, until, since)


def _disowned(
    responder: x509.Certificate, issuer: x509.Certificate, answer: ocsp.OCSPResponse, data: RevocationData
) -> bool:
    """Say whether ``data`` has the one who answered for ``issuer`` as revoked by then, or its key as in other hands:
    then the moment that the answer states is nobody's word.
    """
    if responder == issuer:
        return False
    told_of = [since for _, since in _listings(responder, issuer, data)]
    told_of += [since for _, _, since in _answers(responder, issuer, data)]
    return any(one is not None and (one.key_lost or one.at <= answer.produced_at_utc) for one in told_of)


def _listings(
    subject: x509.Certificate, issuer: x509.Certificate, data: RevocationData
) -> Iterator[tuple[x509.CertificateRevocationList, Revocation | None]]:
    """Yield the lists signed by ``issuer``, each with its entry on ``subject``."""
    for listed in (x509.load_der_x509_crl(der) for der in data.crls if listed_by(der, [issuer])):
        entry = listed.get_revoked_certificate_by_serial_number(subject.serial_number)
        yield listed, None if entry is None else _of_entry(entry)


def _answers(
    subject: x509.Certificate, issuer: x509.Certificate, data: RevocationData
) -> Iterator[tuple[ocsp.OCSPResponse, ocsp.OCSPSingleResponse, Revocation | None]]:
    """Yield what answers by ``issuer``, or by whom it named for that, say of ``subject``."""
    for der in needed([subject, issuer], (), RevocationData(ocsps=data.ocsps)).ocsps:
        answer = ocsp.load_der_ocsp_response(der)
        for one in answers_about(subject, issuer, answer):
            yield answer, one, None if one.revocation_time_utc is None else _of_answer(one.revocation_time_utc, one)


def _of_entry(entry: x509.RevokedCertificate) -> Revocation:
    """Return what an entry of a list says; of a reason that cannot be read nobody knows that it is a harmless one."""
    try:
        reason = certificates.extension(entry.extensions, x509.CRLReason)
        invalid = certificates.extension(entry.extensions, x509.InvalidityDate)
    except certificates.UNREADABLE:
        return Revocation(entry.revocation_date_utc, key_lost=True)
    if reason is None or reason.reason not in _KEY_LOST:
        return Revocation(entry.revocation_date_utc)
    since = (
        entry.revocation_date_utc if invalid is None else min(entry.revocation_date_utc, invalid.invalidity_date_utc)
    )
    return Revocation(since, key_lost=True)


def _of_answer(since: datetime, one: ocsp.OCSPSingleResponse) -> Revocation:
    try:
        return Revocation(since, key_lost=one.revocation_reason in _KEY_LOST)
    except certificates.UNREADABLE:
        return Revocation(since, key_lost=True)
