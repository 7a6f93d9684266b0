"""Each signature checked: intact, whole, permitted; by whom, under which root, when.

The signature library's word is necessary, not sufficient: it calls several kinds of altered files valid.
"""

from __future__ import annotations

import asyncio
import dataclasses
import hashlib
import io
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from asn1crypto import core
from cryptography import x509
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import enumerate_sig_fields
from pyhanko.sign.general import CMSExtractionError, find_unique_cms_attribute
from pyhanko.sign.validation.errors import SignatureValidationError
from pyhanko.sign.validation.generic_cms import extract_self_reported_ts, extract_tst_data_iter
from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature, async_validate_pdf_signature
from pyhanko.sign.validation.settings import KeyUsageConstraints

from reportgen import certificates
from reportgen.names import shown
from reportgen.verification import brought, holding, moments, naming, replay, revocation, signature_form, trust
from reportgen.verification.naming import SignatureFindings
from reportgen.verification.rendering import chain_words
from reportgen.verification.verdict import Reason, Signer
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from reportgen.increments import RevocationData
    from reportgen.verification.outer_bytes import Gap

LATEST_STAMP = timedelta(hours=24)
"""How long after the claimed time a timestamp still speaks for it."""

_PADES, _TIMESTAMP = "/ETSI.CAdES.detached", "/ETSI.RFC3161"
_UNREADABLE = frozenset({"UNCOVERED_BYTES", "FORMAT_FAILURE"})
_SIGNED = frozenset({
    "content_type", "message_digest", "signing_time", "cms_algorithm_protection", "signing_certificate",
    "signing_certificate_v2", "content_time_stamp",
})  # fmt: skip
"""Attributes that a signature may sign beside the file: RFC 5652, 11; RFC 6211; RFC 5035; ETSI EN 319 122-1, 5.2.8."""
_UNSIGNED = frozenset({"signature_time_stamp_token"})


def open_reader(pdf: bytes) -> PdfFileReader:
    """Return the library's strict reader over ``pdf``."""
    return PdfFileReader(io.BytesIO(pdf), strict=True)


def check_signatures(pdf: bytes, reader: PdfFileReader, belief: trust.Trust, found: SignatureFindings) -> None:
    """Check all signatures of ``pdf`` and add to ``found``, which holds what its bytes alone have said."""
    signatures = sorted(reader.embedded_signatures, key=lambda signature: signature.signed_revision)
    if len(found.gaps) != len(signatures):
        counts = told("signatures-and-ranges", signatures=len(signatures), ranges=len(found.gaps))
        found.reasons[2].append(Reason("SIGNATURE_COUNT", counts))
    elif not signatures and not found.reasons[2]:
        found.reasons[2].append(Reason("NO_SIGNATURE", told("not-signed")))
    found.details[2].append(told("signatures-counted", count=len(signatures)))
    found.details[4].append(told("revisions-counted", revisions=reader.total_revisions, size=len(pdf)))
    in_doubt = any(reason.name in _UNREADABLE for reason in (*found.reasons[2], *found.reasons[4]))
    if not signatures or found.reasons[2] or in_doubt:
        return
    if unusable := _of_each(signatures, _misnamed) or _of_each(signatures, _unusable):
        found.reasons[3] += _of_each(signatures, _over_others) + unusable
        found.reasons[4] += unusable
        return
    found.signing, changes = replay.replayed(pdf, found.gaps, reader, signatures)
    found.reasons[4] += changes
    belief, wrong = moments.with_store(belief, signatures, reader.root)
    found.reasons[4] += [one for one in wrong if one not in changes]
    found.details[5] += belief.left_out()
    found.reasons[3] += _value_faults(signatures, belief)
    _judge(pdf, signatures, belief, found)
    found.ends = holding.ends(
        signatures, belief, found, lambda later: _judge(pdf, signatures, later, SignatureFindings(found.gaps))
    )
    found.unfilled += [name for name, _, _ in enumerate_sig_fields(reader, filled_status=False)]
    if found.unfilled:
        found.details[2].append(told("not-yet-signed", fields=tuple(found.unfilled)))


def _of_each(
    signatures: Sequence[EmbeddedPdfSignature], faults: Callable[[EmbeddedPdfSignature], list[Reason]]
) -> list[Reason]:
    return [reason for signature in signatures for reason in faults(signature)]


def _judge(
    pdf: bytes, signatures: Sequence[EmbeddedPdfSignature], belief: trust.Trust, found: SignatureFindings
) -> SignatureFindings:
    """Add to ``found``, and return, what is so of each signature at the moment of ``belief``."""
    reached, stamped = moments.moments(signatures, belief, found)
    times: list[moments.Dated] = []
    for gap, signature, moment in zip(found.gaps, signatures, reached, strict=True):
        found.reasons[3] += _form_faults(pdf, gap, signature)
        name = str(signature.field_name)
        if signature.sig_object_type != replay.RENEWAL:
            proven = _check_one(pdf, gap, signature, belief, found, moment)
            times += moments.times_of(signature, proven)
        elif name in stamped:
            times.append(moments.Dated(signature.signed_revision, told("time-stamped-in", field=name), stamped[name]))
    found.reasons[6] += moments.out_of_order(times)
    found.reasons[5] += naming.signed_twice(found)
    found.judged = True
    return found


def _unusable(signature: EmbeddedPdfSignature) -> list[Reason]:
    """Return a doubt where certificates of a signature, or of its timestamp, make the library give up: no damage to
    the file.
    """
    tokens = [signature.signed_data, *_stamps_on(signature)]
    held = [one.chosen.dump() for token in tokens for one in token["certificates"] if one.name == "certificate"]
    faults = [fault for one in held for fault in certificates.reading_faults(one, whole=False)]
    if not faults:  # else the library does not even find the signer's
        # the use of an authority's is judged only where a root above it is trusted
        own = None if signature.sig_object_type == replay.RENEWAL else signature.signer_cert.dump()
        faults = [fault for one in held for fault in certificates.reading_faults(one, whole=one != own)]
    lacks = [one.sentence for one in faults] + [told("time-unreadable")] * any(map(moments.tells_no_time, tokens))
    field = str(signature.field_name)
    return [Reason("NOT_DONE", told("signature-not-checked", field=field, why=one)) for one in lacks[:1]]


def _over_others(signature: EmbeddedPdfSignature) -> list[Reason]:
    """Return that a signature is over other bytes than stand there: that is told without its certificate."""
    renewal = signature.sig_object_type == replay.RENEWAL
    try:
        if renewal:
            stated = signature.signed_data["encap_content_info"]["content"].parsed["message_imprint"]["hashed_message"]
        else:
            stated = find_unique_cms_attribute(signature.signer_info["signed_attrs"], "message_digest")
        same = stated.native == signature.compute_digest()
    except (ValueError, KeyError, SignatureValidationError, CMSExtractionError):
        return []  # a doubt about it is told as well
    field = str(signature.field_name)
    return [] if same else [Reason("HASH_FAILURE", told("signature-over-other-bytes", field=field))]


def _check_one(
    pdf: bytes,
    gap: Gap,
    signature: EmbeddedPdfSignature,
    belief: trust.Trust,
    found: SignatureFindings,
    reached: moments.Moment,
) -> datetime | None:
    """Add to ``found`` what is so of one signature; return the time that a trusted timestamp on it proves."""
    where = str(signature.field_name)
    try:
        judged = _validate(signature, belief, reached)
    except SignatureValidationError as refusal:
        missing = "NO_SIGNING_CERTIFICATE_FOUND"
        name = missing if getattr(refusal.ades_subindication, "name", "") == missing else "FORMAT_FAILURE"
        found.reasons[3].append(Reason(name, told("signature-malformed", field=where)))
        return None
    status, stamped = judged.status, judged.proven
    own = []
    if not status.intact:
        own.append(Reason("HASH_FAILURE", told("signature-over-other-bytes", field=where)))
    elif not status.valid:
        own.append(Reason("SIG_CRYPTO_FAILURE", told("signature-by-another-key", field=where)))
    found.reasons[3] += own
    certificate = x509.load_der_x509_certificate(signature.signer_cert.dump())
    brought = (*(one.dump() for one in signature.other_embedded_certs), *belief.stored.certificates)
    others = [x509.load_der_x509_certificate(one) for one in brought]
    moment = judged.latest or reached.at
    chain = trust.chain_of(certificate, [*others, *belief.roots], status)
    trusted = trust.doubts(chain, judged.problem, others, belief, moment)
    revoked = revocation.revoked(chain, belief.revocation)
    since, proven = revoked or judged.heard(moment), moment if reached.authority else judged.latest
    found.reasons[5] += (trusted := trusted or _revoked(since, proven, where, found))
    state, ended = trust.state_of(chain, trusted, moment, revoked and revoked.at, revoked=since is not None)
    timed = _time_faults(certificate, signature, status, judged.stated, belief.at)
    found.reasons[6] += timed
    checked = revocation.known_until(chain, belief.revocation, belief.at)
    refused = revocation.refused(chain, belief.revocation, belief.at)
    lacking = (*revocation.not_current(chain, belief.revocation, moment, belief.at), *judged.unchecked)
    signer = dataclasses.replace(
        _describe(signature, certificate, status, stamped, reached, checked, refused),
        chain=state,
        chain_since=_iso(ended),
        kind="countersigner" if found.signers else "inspector",
        doubts=tuple(dict.fromkeys(reason.name for reason in (*own, *trusted, *timed))),
        left_sha256=hashlib.sha256(pdf[: gap.end]).hexdigest(),
        revoked_not_before=_iso(checked),
        unchecked=(*lacking, *reached.unchecked),
    )
    found.add(signer, certificate, (*others, *belief.roots))
    _tell(signature, signer, found, judged.told, refused)
    return stamped


def _tell(
    signature: EmbeddedPdfSignature,
    signer: Signer,
    found: SignatureFindings,
    of_stamp: Told | None,
    refused: Sequence[Told],
) -> None:
    """Add to the details who signed, under which root, and when; ``of_stamp`` is said of its timestamp, and
    ``refused`` what revocation data about its chain is not used.
    """
    who = {"field": signer.field, "subject": shown(signer.subject), "revocation": signer.revocation}
    if signer.chain_told == "itself":
        found.details[5].append(told("signed-under-itself", **who, fingerprint=signer.fingerprint))
    else:
        root = told("under-root", root=signer.anchor) if signer.chain_told == "trusted" else chain_words(signer)
        found.details[5].append(told("signed-under", **who, issuer=signer.issuer, root=root))
    if signer.proven_time:
        by = {"time": signer.proven_time, "authority": signer.timestamp_authority, "more": of_stamp}
        found.details[6].append(told("time-proven", field=signer.field, **by))
    else:
        untrusted = told("stamp-untrusted") if signer.timestamp_authority else None
        if of_stamp not in {None, trust.STRANGE}:
            untrusted = told("stamp-proves-nothing", why=of_stamp)
        found.details[6].append(told("time-claimed", field=signer.field, time=str(signer.claimed_time), more=untrusted))
    if signer.kind == "countersigner":  # of which no page says reason and place
        reason, place = (str(signature.sig_object.get(key, "")) for key in ("/Reason", "/Location"))
        found.details[5].append(told("reason-stated", field=signer.field, reason=reason, where=place))
    found.details[5] += [told("of-a-field", field=signer.field, what=why) for why in refused]


def _revoked(
    since: revocation.Revocation | None, proven: datetime | None, where: str, found: SignatureFindings
) -> list[Reason]:
    """Return the doubt about a signature whose chain was revoked, unless it is proven to be older; then say so."""
    if since is None:
        return []
    if proven is None or since.at <= proven:
        return [Reason("REVOKED_NO_POE", since.of_signature)]
    found.details[5].append(told("revoked-after-proof", field=where, at=f"{since.at:%Y-%m-%d %H:%M %z}"))
    return []


def _form_faults(pdf: bytes, gap: Gap, signature: EmbeddedPdfSignature) -> list[Reason]:
    faults = []
    ranges = [int(number) for number in signature.byte_range]
    if ranges != [0, gap.start, gap.stop, gap.end - gap.stop]:
        faults.append(Reason("SIGNATURE_COUNT", told("ranges-of-others")))
    if bytes.fromhex(pdf[gap.start + 1 : gap.stop - 1].decode("latin-1")) != signature.pkcs7_content:
        faults.append(Reason("HIDDEN_IN_SIGNATURE", told("value-elsewhere")))
    renewal = signature.sig_object_type == replay.RENEWAL
    tokens = [signature.signed_data] if renewal else _stamps_on(signature)
    if any(_carries_more(one) for one in tokens):
        faults.append(Reason("SIG_CONSTRAINTS_FAILURE", told("stamp-carries-more")))
    unknown = () if renewal else tuple(dict.fromkeys(_unknown_attributes(signature.signer_info)))
    if unknown:
        faults.append(Reason("SIG_CONSTRAINTS_FAILURE", told("signature-carries-more", names=unknown)))
    form = _TIMESTAMP if renewal else _PADES
    if str(signature.sig_object.get("/SubFilter", "")) != form:
        faults.append(Reason("SIG_CONSTRAINTS_FAILURE", told("no-archive-form")))
    return faults


def _unknown_attributes(signer: Any) -> Iterator[str]:
    """Yield the attributes of a signature that none of ours has, or has once with one value: they can hold anything,
    and no page shows it.
    """
    signed = [] if isinstance(signer["signed_attrs"], core.Void) else list(signer["signed_attrs"])
    unsigned = [] if isinstance(signer["unsigned_attrs"], core.Void) else list(signer["unsigned_attrs"])
    names = [one["type"].native for one in signed]
    for name, one in zip(names, signed, strict=True):
        if name not in _SIGNED or names.count(name) > 1 or len(one["values"]) != 1:
            yield name
    yield from (one["type"].native for one in unsigned if one["type"].native not in _UNSIGNED)


def _misnamed(signature: EmbeddedPdfSignature) -> list[Reason]:
    """Return that a signature names another certificate as its signer's than it states, which contradict each
    other: the library does not even find the signer then.
    """
    faults = signature_form.form_faults(
        signature.pkcs7_content, of_time=signature.sig_object_type == replay.RENEWAL, alone=True
    )
    field = str(signature.field_name)
    return [
        Reason("FORMAT_FAILURE", told("of-a-field", field=field, what=one))
        for one in faults
        if one.code == signature_form.MISNAMED
    ]


def _value_faults(signatures: Sequence[EmbeddedPdfSignature], belief: trust.Trust) -> list[Reason]:
    """Return what of the values of signatures could hide words: their form, and certificates that nothing proves."""
    faults, values = list[Told](), list[tuple[str, bytes]]()
    for signature in signatures:
        field, value = str(signature.field_name), signature.pkcs7_content
        wrong = signature_form.form_faults(value, of_time=signature.sig_object_type == replay.RENEWAL)
        faults += [told("of-a-field", field=field, what=why) for why in wrong]
        values += [] if wrong else [(field, one) for one in signature_form.values_in(value)]
    return [Reason("SIG_CONSTRAINTS_FAILURE", why) for why in (*faults, *brought.unproven_in(values, belief))]


def _stamps_on(signature: EmbeddedPdfSignature) -> list[Any]:
    """Return the tokens of the timestamps that a signature bears, over it or over what it signs."""
    return [one for signed in (False, True) for one in extract_tst_data_iter(signature.signer_info, signed=signed)]


def _carries_more(token: Any) -> bool:
    """Whether a timestamp's ``token`` holds attributes that nothing signs: whoever passes it on could add them."""
    return any(not isinstance(signer["unsigned_attrs"], core.Void) for signer in token["signer_infos"])


@dataclasses.dataclass(frozen=True, slots=True)
class _Judged:
    """The library's status of a signature, its word on whether the signer's chain is revoked, and what a timestamp on
    it proves, at ``latest`` by the accuracy that its authority states.

    ``unchecked`` is what is lacking for the chain of that, ``told`` a clause that says so, or why it proves nothing.
    ``stated`` is the time of one that may contradict, though it be of the signer's own house.
    """

    status: Any
    revoked: bool
    proven: datetime | None = None
    latest: datetime | None = None
    stated: datetime | None = None
    unchecked: tuple[str, ...] = ()
    told: Told | None = None

    def heard(self, at: datetime) -> revocation.Revocation | None:
        """Return that the chain was revoked by ``at``, where the library says so."""
        return revocation.Revocation(at) if self.revoked else None

    @property
    def problem(self) -> str | None:
        """The library's sub-indication, where it does not believe the chain."""
        indicated = self.status.trust_problem_indic
        return None if indicated is None else str(indicated.name)


def _validate(signature: EmbeddedPdfSignature, belief: trust.Trust, reached: moments.Moment) -> _Judged:
    """Return the signature judged at the moment ``reached``; with a trusted timestamp the chain at its own."""
    others = [*signature.other_embedded_certs, *trust.brought(belief)]

    def status_at(moment: datetime, data: RevocationData = trust.NO_DATA) -> Any:
        context = [
            trust.validation_context(belief, one, others, data, of_time=of_time)
            for one, of_time in ((moment, False), (reached.at, True))
        ]
        return asyncio.run(
            async_validate_pdf_signature(
                signature,
                signer_validation_context=context[0],
                ts_validation_context=context[1],
                key_usage_settings=KeyUsageConstraints(key_usage=set()),  # our own rule says which usages count
                skip_diff=True,  # what may follow a signature is known from writing it again
            )
        )

    status, data = status_at(reached.at), belief.revocation
    heard = status_at(reached.at, data) if data else None
    stamp = status.timestamp_validity
    stamp_revoked = heard is not None and stamp is not None and trust.says_revoked(
        heard.timestamp_validity.trust_problem_indic
    )  # fmt: skip
    heard_revoked = heard is not None and trust.says_revoked(heard.trust_problem_indic)
    if stamp is None or not (stamp.intact and stamp.valid):
        return _Judged(status, heard_revoked)
    above = trust.keys_above([signature], belief)
    token = _stamps_on(signature)[0]
    if lacks := trust.stamp_faults(stamp, token, belief, reached.at, above=above, heard=stamp_revoked):
        can_contradict = {*lacks} <= {trust.OWN_HOUSE, trust.OUTSIDE_DATES}  # what proves nothing may still disagree
        return _Judged(status, heard_revoked, stated=stamp.timestamp if can_contradict else None, told=lacks[0])
    proven, chain = stamp.timestamp, trust.chain_in(stamp.validation_path)
    latest = revocation.moved(proven, trust.accuracy_of(token))
    heard = status_at(latest, data) if data else None
    lacking = tuple(revocation.not_current(chain, data, reached.at, belief.at))
    return _Judged(
        status_at(latest),
        heard is not None and trust.says_revoked(heard.trust_problem_indic),
        proven,
        latest,
        proven,
        lacking,
        revocation.authority_checked(chain, data, lacking, belief.at),
    )


def _time_faults(
    certificate: x509.Certificate,
    signature: EmbeddedPdfSignature,
    status: Any,
    stated: datetime | None,
    at: datetime,
) -> list[Reason]:
    faults = []
    claimed, token = replay.claimed_time(signature), status.timestamp_validity
    if claimed is None:
        faults.append(Reason("SIG_CONSTRAINTS_FAILURE", told("no-time-claimed")))
        claimed = stated or at
    else:
        lapsed = certificates.life_faults(certificate, claimed)
        faults += [Reason(fault.name, told("at-claimed-time", why=fault.sentence)) for fault in lapsed]
    if claimed - at > revocation.CLOCK_TOLERANCE:
        faults.append(Reason("CLAIMED_TIME_IN_FUTURE", told("claimed-in-future", at=f"{claimed:%Y-%m-%d %H:%M %z}")))
    signed = extract_self_reported_ts(signature.signer_info)
    if signed is not None and signed != claimed:
        times = {"one": f"{claimed:%Y-%m-%d %H:%M:%S %z}", "other": f"{signed:%Y-%m-%d %H:%M:%S %z}"}
        faults.append(Reason("TIMES_DISAGREE", told("claims-two-times", field=str(signature.field_name), **times)))
    stamped = stated or claimed
    implausible = {
        "claimed-after-stamp": claimed - stamped > revocation.CLOCK_TOLERANCE,
        "stamped-a-day-later": stamped - claimed > LATEST_STAMP,
        "stamp-in-future": stated is not None and stated - at > revocation.CLOCK_TOLERANCE,
        # a timestamp of an unknown authority merely proves nothing
        "stamp-for-another": token is not None and not (token.intact and token.valid),
        "stamps-several": len(_stamps_on(signature)) > 1,  # of which the library reads one
    }
    return faults + [Reason("SIG_CONSTRAINTS_FAILURE", told(code)) for code, is_so in implausible.items() if is_so]


def untimely_stamp(pdf: bytes, at: datetime) -> Told | None:
    """Return why the timestamp on the last signature of ``pdf``, or that it is, made at ``at``, does not speak for that
    time, or whoever verifies would doubt it; None where neither is so, or there is none. Nobody's trust is asked.
    """
    last = max(PdfFileReader(io.BytesIO(pdf)).embedded_signatures, key=lambda one: one.signed_revision)
    renewal = last.sig_object_type == replay.RENEWAL
    token = last.signed_data if renewal else next(extract_tst_data_iter(last.signer_info, signed=False), None)
    if token is None:
        return None
    if _carries_more(token):
        return told("stamp-carries-more")
    if faults := signature_form.form_faults(last.pkcs7_content, of_time=renewal):
        return faults[0]
    stamped = token["encap_content_info"]["content"].parsed["gen_time"].native
    if -revocation.CLOCK_TOLERANCE <= stamped - at <= (revocation.CLOCK_TOLERANCE if renewal else LATEST_STAMP):
        return None
    apart, code = (at - stamped, "clock-ahead") if at > stamped else (stamped - at, "clock-behind")
    hours, minutes = divmod(int(apart.total_seconds() // 60), 60)
    by = f"{hours} h {minutes} min" if hours else f"{minutes} min"
    return told(code, stamped=f"{stamped:%Y-%m-%d %H:%M %z}", own=f"{at:%Y-%m-%d %H:%M %z}", by=by)


def _describe(
    signature: EmbeddedPdfSignature,
    certificate: x509.Certificate,
    status: Any,
    stamped: datetime | None,
    reached: moments.Moment,
    checked: datetime | None,
    refused: Sequence[Told],
) -> Signer:
    path = status.validation_path if status.trust_problem_indic is None else None
    anchor = path.trust_anchor.certificate.sha256_fingerprint.replace(" ", ":") if path is not None else None
    fingerprint = certificates.fingerprint(certificate)
    alone = anchor == fingerprint
    lacking = told("revocation-data-unusable" if refused else "revocation-without-data")
    unchecked = told("revocation-without-authority") if alone else lacking
    return Signer(
        field=str(signature.field_name),
        kind="inspector",
        subject=certificates.readable_name(certificate.subject),
        issuer=certificates.readable_name(certificate.issuer),
        fingerprint=fingerprint,
        anchor=anchor,
        chain="unknown",  # what is known of it is more than the library says
        claimed_time=_iso(replay.claimed_time(signature)),
        proven_time=_iso(stamped or (reached.at if reached.authority else None)),
        timestamp_authority=_authority(status, stamped, reached),
        revocation=told("revocation-checked") if checked else unchecked,
        algorithm=f"{status.pkcs7_signature_mechanism}, {status.md_algorithm}",
        demonstration=certificates.is_demonstration(certificate),
    )


def _authority(status: Any, stamped: datetime | None, reached: moments.Moment) -> str | None:
    """Return who says when the signature was there: its own timestamp, trusted or not, or else a renewal."""
    token = status.timestamp_validity
    if token is None or (stamped is None and reached.authority):
        return reached.authority
    return certificates.readable_name(x509.load_der_x509_certificate(token.signing_cert.dump()).subject)


def _iso(moment: datetime | None) -> str | None:
    return revocation.moved(moment).isoformat(timespec="seconds") if moment is not None else None
