"""Each signature checked: intact, whole, permitted; by whom, under which root, when.

The signature library's word is necessary, not sufficient: it calls several kinds of altered files valid.
"""

from __future__ import annotations

import asyncio
import dataclasses
import hashlib
import io
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from cryptography import x509
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import enumerate_sig_fields
from pyhanko.sign.validation.errors import SignatureValidationError
from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature, async_validate_pdf_signature
from pyhanko.sign.validation.settings import KeyUsageConstraints

from reportgen import certificates
from reportgen.increments import RevocationData
from reportgen.verification import moments, naming, replay, trust
from reportgen.verification.verdict import Reason, Signer

if TYPE_CHECKING:
    from reportgen.verification.naming import SignatureFindings
    from reportgen.verification.outer_bytes import Gap

LATEST_STAMP = timedelta(hours=24)
"""How long after the claimed time a timestamp still speaks for it."""

_PADES, _TIMESTAMP = "/ETSI.CAdES.detached", "/ETSI.RFC3161"
_UNREADABLE = frozenset({"UNCOVERED_BYTES", "FORMAT_FAILURE"})


def open_reader(pdf: bytes) -> PdfFileReader:
    """Return the library's strict reader over ``pdf``."""
    return PdfFileReader(io.BytesIO(pdf), strict=True)


def check_signatures(pdf: bytes, reader: PdfFileReader, belief: trust.Trust, found: SignatureFindings) -> None:
    """Check all signatures of ``pdf`` and add to ``found``, which holds what its bytes alone have said."""
    signatures = sorted(reader.embedded_signatures, key=lambda signature: signature.signed_revision)
    if len(found.gaps) != len(signatures):
        ranges = f"the file holds {len(found.gaps)} byte ranges of signatures"
        found.reasons[2].append(Reason("SIGNATURE_COUNT", f"{ranges}, but {len(signatures)} signatures are in use"))
    elif not signatures and not found.reasons[2]:
        found.reasons[2].append(Reason("NO_SIGNATURE", "the file is not signed"))
    found.details[2].append("1 signature" if len(signatures) == 1 else f"{len(signatures)} signatures")
    found.details[4].append(f"{reader.total_revisions} revisions, {len(pdf)} bytes")
    in_doubt = any(reason.name in _UNREADABLE for reason in (*found.reasons[2], *found.reasons[4]))
    if not signatures or found.reasons[2] or in_doubt:
        return
    unusable = [reason for signature in signatures for reason in _unusable_names(signature)]
    if unusable:
        found.reasons[3] += unusable
        found.reasons[4] += unusable
        return
    found.signing, changes = replay.replayed(pdf, found.gaps, reader, signatures)
    found.reasons[4] += changes
    belief, wrong = moments.with_store(belief, signatures, reader.root)
    found.reasons[4] += wrong
    found.details[5] += belief.left_out()
    reached, faults, told = moments.moments(signatures, belief)
    found.reasons[3] += faults
    found.details[6] += told
    for gap, signature, moment in zip(found.gaps, signatures, reached, strict=True):
        found.reasons[3] += _form_faults(pdf, gap, signature)
        if signature.sig_object_type != replay.RENEWAL:
            _check_one(pdf, gap, signature, belief, found, moment)
    found.reasons[5] += naming.signed_twice(found)
    found.unfilled += [name for name, _, _ in enumerate_sig_fields(reader, filled_status=False)]
    if found.unfilled:
        found.details[2].append(f"not yet signed: {', '.join(found.unfilled)}")
    found.judged = True


def _unusable_names(signature: EmbeddedPdfSignature) -> list[Reason]:
    """Return a doubt where names in the certificates of a signature make the library give up: no damage to the file."""
    held = [choice.chosen for choice in signature.signed_data["certificates"] if choice.name == "certificate"]
    faults = [fault for one in held for fault in certificates.name_faults(x509.load_der_x509_certificate(one.dump()))]
    where = f"the signature in {signature.field_name} was not checked"
    return [Reason("NOT_DONE", f"{where}: {fault.sentence}") for fault in faults[:1]]


def _check_one(
    pdf: bytes,
    gap: Gap,
    signature: EmbeddedPdfSignature,
    belief: trust.Trust,
    found: SignatureFindings,
    reached: moments.Moment,
) -> None:
    where = f"the signature in {signature.field_name}"
    try:
        status = _validate(signature, belief, reached)
    except SignatureValidationError as refusal:
        missing = getattr(refusal.ades_subindication, "name", "") == "NO_SIGNING_CERTIFICATE_FOUND"
        name = "NO_SIGNING_CERTIFICATE_FOUND" if missing else "FORMAT_FAILURE"
        found.reasons[3].append(Reason(name, f"{where} is malformed"))
        return
    own = []
    if not status.intact:
        own.append(Reason("HASH_FAILURE", f"{where} was made over other bytes: the file was altered"))
    elif not status.valid:
        own.append(Reason("SIG_CRYPTO_FAILURE", f"{where} was not made with the key of its certificate"))
    found.reasons[3] += own
    certificate = x509.load_der_x509_certificate(signature.signer_cert.dump())
    others = [x509.load_der_x509_certificate(other.dump()) for other in signature.other_embedded_certs]
    others += [x509.load_der_x509_certificate(other) for other in belief.stored.certificates]
    moment = _proven_time(status) or reached.at
    trusted = trust.certificate_reasons(certificate, others, belief.roots, moment)
    trusted += trust.chain_reasons(_chain_problem(signature, status, belief, reached), certificate, others, belief)
    chain = trust.chain_of(certificate, [*others, *belief.roots])
    proven = moment if reached.authority else _proven_time(status)
    trusted = trusted or _revoked(trust.revoked(chain, belief.revocation), proven, where, found)
    found.reasons[5] += trusted
    timed = _time_faults(certificate, signature.self_reported_timestamp, status, belief.at)
    found.reasons[6] += timed
    since = trust.known_until(chain, belief.revocation)
    signer = dataclasses.replace(
        _describe(signature, certificate, status, reached),
        kind="countersigner" if found.signers else "inspector",
        doubts=tuple(dict.fromkeys(reason.name for reason in (*own, *trusted, *timed))),
        left_sha256=hashlib.sha256(pdf[: gap.end]).hexdigest(),
        holds_until=_holds_until(status, certificate, reached),
        revoked_not_before=_iso(since),
        revocation="checked with the data at hand" if since else "not checked (no data at hand)",
    )
    found.signers.append(signer)
    found.certificates.append(certificate)
    found.issuers.append((*others, *belief.roots))
    _tell(signer, found)


def _tell(signer: Signer, found: SignatureFindings) -> None:
    """Add to the details who signed, under which root, and when."""
    under = f"trusted root {signer.anchor}" if signer.anchor else "no trusted root"
    who = f"{signer.field}: {signer.subject}, issued by {signer.issuer}"
    found.details[5].append(f"{who}; {under}; revocation {signer.revocation}")
    if signer.proven_time:
        time = f"{signer.proven_time}, proven by {signer.timestamp_authority}"
    else:
        untrusted = "; its timestamp is not from a trusted authority" if signer.timestamp_authority else ""
        time = f"{signer.claimed_time}, time claimed, not proven{untrusted}"
    found.details[6].append(f"{signer.field}: {time}")


def _revoked(since: datetime | None, proven: datetime | None, where: str, found: SignatureFindings) -> list[Reason]:
    """Return the doubt about a signature whose chain was revoked, unless it is proven to be older; then say so."""
    if since is None:
        return []
    if proven is None or since <= proven:
        return [Reason("REVOKED_NO_POE", trust.SENTENCES["REVOKED_NO_POE"])]
    told = f"a certificate of its chain was revoked on {since:%Y-%m-%d %H:%M %z}, after it was proven to be there"
    found.details[5].append(f"{where}: {told}")
    return []


def _form_faults(pdf: bytes, gap: Gap, signature: EmbeddedPdfSignature) -> list[Reason]:
    faults = []
    ranges = [int(number) for number in signature.byte_range]
    if ranges != [0, gap.start, gap.stop, gap.end - gap.stop]:
        faults.append(Reason("SIGNATURE_COUNT", "the byte ranges in the file are not those of its signatures"))
    if bytes.fromhex(pdf[gap.start + 1 : gap.stop - 1].decode("latin-1")) != signature.pkcs7_content:
        faults.append(Reason("HIDDEN_IN_SIGNATURE", "a signature's value lies elsewhere than its ranges say"))
    form = _TIMESTAMP if signature.sig_object_type == replay.RENEWAL else _PADES
    if str(signature.sig_object.get("/SubFilter", "")) != form:
        faults.append(Reason("SIG_CONSTRAINTS_FAILURE", "the signature is not of the PAdES form"))
    return faults


def _validate(signature: EmbeddedPdfSignature, belief: trust.Trust, reached: moments.Moment) -> Any:
    """Return the library's status at the moment ``reached``; with a trusted timestamp the chain at its own."""

    def status_in(signer_context: Any) -> Any:
        return asyncio.run(
            async_validate_pdf_signature(
                signature,
                signer_validation_context=signer_context,
                ts_validation_context=now,
                key_usage_settings=KeyUsageConstraints(key_usage=set()),  # our own rule says which usages count
                skip_diff=True,  # what may follow a signature is known from writing it again
            )
        )

    others = [*signature.other_embedded_certs, *trust.brought(belief)]
    now = trust.validation_context(belief, reached.at, others)
    status = status_in(now)
    proven = _proven_time(status)
    return status if proven is None else status_in(trust.validation_context(belief, proven, others))


def _chain_problem(
    signature: EmbeddedPdfSignature, status: Any, belief: trust.Trust, reached: moments.Moment
) -> str | None:
    """Return the name of what is wrong with the chain; TRY_LATER where only the revocation data does not fit it."""
    problem = status.trust_problem_indic
    if problem is None:
        return None
    if problem.name == "CERTIFICATE_CHAIN_GENERAL_FAILURE" and belief.revocation_known:
        without = dataclasses.replace(belief, crls=(), ocsps=(), stored=RevocationData())
        if _validate(signature, without, reached).trust_problem_indic is None:
            return "TRY_LATER"
    return str(problem.name)


def _proven_time(status: Any) -> datetime | None:
    validity = status.timestamp_validity
    if validity is None or not (validity.intact and validity.valid and validity.trusted):
        return None
    moment: datetime = validity.timestamp
    return moment


def _time_faults(certificate: x509.Certificate, claimed: datetime | None, status: Any, at: datetime) -> list[Reason]:
    faults = []
    proven, token = _proven_time(status), status.timestamp_validity
    if claimed is None:
        faults.append(Reason("SIG_CONSTRAINTS_FAILURE", "the signature claims no time of signing"))
        claimed = proven or at
    else:
        lapsed = certificates.life_faults(certificate, claimed)
        faults += [Reason(fault.name, f"at the claimed time {fault.sentence}") for fault in lapsed]
    if claimed > at + moments.CLOCK_TOLERANCE:
        sentence = f"the claimed time, {claimed:%Y-%m-%d %H:%M %z}, is in the future"
        faults.append(Reason("CLAIMED_TIME_IN_FUTURE", sentence))
    stamped = proven or claimed
    implausible = {
        "the claimed time is later than the timestamp on the signature": claimed > stamped + moments.CLOCK_TOLERANCE,
        "the timestamp is more than a day later than the claimed time": stamped > claimed + LATEST_STAMP,
        "the timestamp lies in the future: is the clock of this machine right?": proven is not None
        and proven > at + moments.CLOCK_TOLERANCE,
        # a timestamp of an unknown authority merely proves nothing
        "the timestamp on the signature was not made for it": token is not None and not (token.intact and token.valid),
    }
    return faults + [Reason("SIG_CONSTRAINTS_FAILURE", told) for told, is_so in implausible.items() if is_so]


def _describe(
    signature: EmbeddedPdfSignature,
    certificate: x509.Certificate,
    status: Any,
    reached: moments.Moment,
) -> Signer:
    path = status.validation_path if status.trust_problem_indic is None else None
    anchor = path.trust_anchor.certificate.sha256_fingerprint.replace(" ", ":") if path is not None else None
    return Signer(
        field=str(signature.field_name),
        kind="inspector",
        subject=certificates.readable_name(certificate.subject),
        issuer=certificates.readable_name(certificate.issuer),
        fingerprint=certificates.fingerprint(certificate),
        anchor=anchor,
        claimed_time=_iso(signature.self_reported_timestamp),
        proven_time=_iso(_proven_time(status) or (reached.at if reached.authority else None)),
        timestamp_authority=_authority(status, reached),
        revocation="not checked (no data at hand)",
        algorithm=f"{status.pkcs7_signature_mechanism}, {status.md_algorithm}",
        demonstration=certificates.is_demonstration(certificate),
    )


def _authority(status: Any, reached: moments.Moment) -> str | None:
    """Return who says when the signature was there: its own timestamp, trusted or not, or else a renewal."""
    token = status.timestamp_validity
    if token is None or (_proven_time(status) is None and reached.authority):
        return reached.authority
    return certificates.readable_name(x509.load_der_x509_certificate(token.signing_cert.dump()).subject)


def _holds_until(status: Any, certificate: x509.Certificate, reached: moments.Moment) -> str | None:
    """Return until when the proof of a signature holds.

    The newest trusted timestamp is judged now, and what it proves at its moment; else the signer's chain is judged now.
    """
    judged = status if _proven_time(status) is None else status.timestamp_validity
    if None in (status.validation_path, judged.validation_path) or status.trust_problem_indic is not None:
        return None
    # without the root, unless that signs itself
    now = [x509.load_der_x509_certificate(one.dump()) for one in judged.validation_path.iter_certs(include_root=False)]
    return _iso(reached.until or min(one.not_valid_after_utc for one in now or [certificate]))


def _iso(moment: datetime | None) -> str | None:
    return moment.astimezone(UTC).isoformat(timespec="seconds") if moment is not None else None
