"""Whom to believe: the roots given by file or folder, never those of the operating system."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen import certificates
from reportgen.errors import UsageError
from reportgen.increments import RevocationData
from reportgen.verification.revocation import CLOCK_TOLERANCE, revoked
from reportgen.verification.verdict import REASONS, Reason
from reportgen.words.told import Told, told, words_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from reportgen.verification.verdict import ChainState

Root = bytes | str | Path | x509.Certificate
"""A trusted root: a certificate, its bytes (PEM or DER), its file, or a folder of such files."""

NO_DATA = RevocationData()

_SUFFIXES = {".pem", ".crt", ".cer", ".der"}

SENTENCES = {
    "NO_CERTIFICATE_CHAIN_FOUND": "issuer-unknown",
    "OUT_OF_BOUNDS_NO_POE": "certificate-ended-unproven",
    "REVOKED_NO_POE": "certificate-revoked-unproven",
    "CRYPTO_CONSTRAINTS_FAILURE": "algorithm-too-weak",
    "CHAIN_CONSTRAINTS_FAILURE": "chain-forbids-use",
}
"""Codes of what is told for a reason, where the library says no more."""
_EQUIVALENT = {
    "REVOKED_CA_NO_POE": "REVOKED_NO_POE",
    "CRYPTO_CONSTRAINTS_FAILURE_NO_POE": "CRYPTO_CONSTRAINTS_FAILURE",
    "OUT_OF_BOUNDS_NOT_REVOKED": "OUT_OF_BOUNDS_NO_POE",
}


OWN_HOUSE = told("stamp-of-own-house")

STRANGE = told("stamp-of-stranger")
OUTSIDE_DATES = told("stamp-outside-dates")


@dataclass(frozen=True, slots=True)
class Trust:
    """Trusted roots, the moment of verification, and revocation data (DER) where there is any.

    ``signers`` were given as trusted and are no authorities: nobody is believed by them. ``notices`` say what else was
    given and could not be read; ``stored`` is what the file itself brings, which can only take trust away: of what a
    signer leaves out of his file nothing follows. ``signing_keys`` are those of whoever signed the file
    (``certificates.key_of``): none of them proves when he did. ``clocks`` are authorities that are believed about the
    time, and about nothing else, also where they stand above a signer.
    """

    roots: tuple[x509.Certificate, ...]
    at: datetime
    crls: tuple[bytes, ...] = ()
    ocsps: tuple[bytes, ...] = ()
    signers: tuple[x509.Certificate, ...] = ()
    notices: tuple[str, ...] = ()
    stored: RevocationData = field(default_factory=RevocationData)
    signing_keys: frozenset[bytes] = frozenset()
    clocks: tuple[x509.Certificate, ...] = ()

    @classmethod
    def given(
        cls, roots: Iterable[Root], clocks: Iterable[Root], at: datetime, notices: Iterable[str], **more: Any
    ) -> Trust:
        """Return the trust in what is named; ``UsageError`` for a file that holds no certificate."""
        known, unread = read_trusted(roots)
        named, unread_too = read_trusted(clocks)
        of_time = cls.in_those(named, at)
        told = (*notices, *unread, *unread_too, *of_time.left_out())
        return cls.in_those(known, at, notices=told, clocks=of_time.usable(), **more)

    @property
    def revocation(self) -> RevocationData:
        """All revocation data, that of the file after what was given."""
        return RevocationData((*self.crls, *self.stored.crls), (*self.ocsps, *self.stored.ocsps))

    @classmethod
    def in_those(cls, given: Iterable[x509.Certificate], at: datetime, **more: Any) -> Trust:
        """Return the trust in the authorities among ``given``, and in those that have none above them.

        A signer's certificate that an authority issued is left out: in its place it would take that authority's limits
        and its revocations away. One that signed itself is trusted as just this certificate; it can issue no other.
        """
        every = tuple(given)
        signers = tuple(one for one in every if certificates.vouches_for_none(one))
        return cls(tuple(one for one in every if one not in signers), at, signers=signers, **more)

    def usable(self, *, of_time: bool = False) -> tuple[x509.Certificate, ...]:
        """Return the roots whose names can be compared; one that is left out takes no other with it."""
        usable = tuple(root for root in self.roots if not certificates.name_faults(root))
        return (*usable, *self.clocks) if of_time else usable

    def left_out(self) -> list[str | Told]:
        """Return a sentence for each root that is not usable, and for each file that holds none."""
        faults = (fault for root in self.roots for fault in certificates.name_faults(root))
        named = [told("root-left-out", why=fault.sentence) for fault in faults]
        return [*self.notices, *named, *map(_no_authority, self.signers)]


def _no_authority(certificate: x509.Certificate) -> Told:
    name, issuer = (certificates.readable_name(one) for one in (certificate.subject, certificate.issuer))
    return told("no-authority", name=name, issuer=issuer)


def read_trusted(given: Iterable[Root]) -> tuple[tuple[x509.Certificate, ...], tuple[str, ...]]:
    """Return the certificates in ``given``, and a sentence for each file of a folder that was passed over.

    ``UsageError`` for what is named and holds no certificate; a file that cannot be used costs a folder only itself.
    """
    found: list[x509.Certificate] = []
    passed_over: list[str] = []
    for root in given:
        if isinstance(root, x509.Certificate):
            found.append(root)
        elif isinstance(root, bytes):
            found += _parsed(root, told("root-given"))
        elif Path(root).is_dir():
            found += _in_folder(Path(root), passed_over)
        else:
            found += _in_file(Path(root))
    return tuple(dict.fromkeys(found)), tuple(passed_over)


def _in_folder(folder: Path, passed_over: list[str]) -> list[x509.Certificate]:
    try:
        files = sorted(file for file in folder.iterdir() if file.suffix.lower() in _SUFFIXES)
    except OSError as reason:
        raise UsageError(f"the folder {folder} cannot be listed: {reason.strerror}") from reason
    if not files:
        raise UsageError(f"the folder {folder} holds no certificate files ({', '.join(sorted(_SUFFIXES))})")
    found: list[x509.Certificate] = []
    unusable: list[Told] = []
    for file in files:
        try:
            found += _in_file(file)
        except UsageError as refusal:
            unusable.append(words_of(refusal))
    if not found:
        raise UsageError(f"the folder {folder} holds no certificate that can be read: {'; '.join(unusable)}")
    passed_over += [told("root-not-read", why=sentence) for sentence in unusable]
    return found


def _in_file(path: Path) -> list[x509.Certificate]:
    try:
        if path.exists() and not path.is_file():  # a pipe would be waited for without end
            raise UsageError(told("root-no-file", file=str(path)))
        data = path.read_bytes()
    except OSError as reason:
        raise UsageError(told("root-unreadable", file=str(path), words=reason.strerror)) from reason
    return _parsed(data, str(path))


def _parsed(data: bytes, source: str) -> list[x509.Certificate]:
    try:
        return certificates.read_certificates(data)
    except ValueError as reason:
        raise UsageError(told("root-without-certificate", file=source)) from reason


def validation_context(
    trust: Trust, moment: datetime, others: Sequence[Any], data: RevocationData = NO_DATA, *, of_time: bool = False
) -> Any:
    """Return the library's context: these roots only, this moment, nothing fetched from the network.

    The library asks no root for its dates: one that is not valid at that moment is left out. Where it is given
    revocation ``data`` about one chain it believes no other any longer, so only what it holds for revoked is listened
    to (``says_revoked``); whether a chain is believed is asked without.
    """
    from asn1crypto import x509 as asn1_x509
    from pyhanko_certvalidator import ValidationContext
    from pyhanko_certvalidator.authority import CertTrustAnchor, TrustQualifiers, derive_quals_from_cert

    roots = []
    for root in trust.usable(of_time=of_time):
        if certificates.life_faults(root, moment):
            continue
        held = asn1_x509.Certificate.load(root.public_bytes(Encoding.DER))
        names = derive_quals_from_cert(held).standard_parameters
        if names is not None:  # the names a root permits bind those below it; its policies are its own affair
            names = dataclasses.replace(
                names, user_initial_policy_set=frozenset({"any_policy"}), initial_explicit_policy=False
            )
        roots.append(CertTrustAnchor(held, TrustQualifiers(standard_parameters=names)))
    return ValidationContext(
        trust_roots=roots,
        other_certs=others,
        moment=moment,
        allow_fetching=False,
        crls=list(data.crls),
        ocsps=list(data.ocsps),
        revocation_mode="soft-fail",
        retroactive_revinfo=True,
        time_tolerance=timedelta(0),
    )


def says_revoked(problem: Any) -> bool:
    """Say whether the library's sub-indication is that a certificate is revoked."""
    return problem is not None and problem.name in {"REVOKED", "REVOKED_NO_POE", "REVOKED_CA_NO_POE"}


def brought(trust: Trust) -> list[Any]:
    """Return the certificates stored in the file, as the library takes them."""
    from asn1crypto import x509 as asn1_x509

    return [asn1_x509.Certificate.load(one) for one in trust.stored.certificates]


def chain_reasons(
    problem: str | None,
    chain: Sequence[x509.Certificate],
    others: Iterable[x509.Certificate],
    trust: Trust,
    at: datetime,
) -> list[Reason]:
    """Return why the chain is not believed: no signatures lead to a root, or the library's sub-indication ``problem``.

    The library finds chains by the names in them and then says only that such a chain is broken. ``chain``
    begins with the signer's certificate and is judged at the moment ``at``.
    """
    certificate = chain[0]
    if not certificates.leads_to(certificate, others, trust.roots):
        alone = certificate in trust.signers
        why = _no_authority(certificate) if alone else told(SENTENCES["NO_CERTIFICATE_CHAIN_FOUND"])
        return [Reason("NO_CERTIFICATE_CHAIN_FOUND", why)]
    if problem is None:
        return []
    name = _EQUIVALENT.get(problem, problem)
    if name not in REASONS:
        name = "CERTIFICATE_CHAIN_GENERAL_FAILURE"
    over = any(certificates.life_faults(one, at) for one in chain)
    if over and name == "CERTIFICATE_CHAIN_GENERAL_FAILURE":  # so it calls an authority's certificate that has ended
        name = "OUT_OF_BOUNDS_NO_POE"
    return [Reason(name, told(SENTENCES.get(name, "chain-not-validated")))]


def doubts(
    chain: Sequence[x509.Certificate],
    problem: str | None,
    others: Iterable[x509.Certificate],
    trust: Trust,
    at: datetime,
) -> list[Reason]:
    """Return why ``chain``, a signer's, is not believed at the moment ``at``, ``problem`` being the library's word."""
    found = certificate_reasons(chain, trust.roots, at)
    if any(one.name == "OUT_OF_BOUNDS_NO_POE" for one in found):  # without its root the library finds no chain
        return found
    return found + chain_reasons(problem, chain, others, trust, at)


def certificate_reasons(
    chain: Sequence[x509.Certificate], roots: Sequence[x509.Certificate], at: datetime
) -> list[Reason]:
    """Return what a signer's certificate and its chain lack at the moment ``at``, a trusted root's own limits too.

    ``chain`` begins with the signer's, each after the one it issued.
    """
    certificate, *issuers = chain
    faults = [*certificates.strength_faults(certificate), *certificates.usage_faults(certificate)]
    for below, issuer in enumerate(issuers):
        faults += [*certificates.authority_faults(issuer, below), *certificates.purpose_faults(issuer)]
        faults += () if issuer in roots else certificates.strength_faults(issuer)
    ended = [one for one in chain if certificates.life_faults(one, at)]
    if any(one in roots for one in ended):  # without its root the library finds no chain, and says nothing of the rest
        for one in ended:
            name = certificates.readable_name(one.subject)
            of_root = told("root-not-valid", name=name, on=f"{at:%Y-%m-%d}")
            why = of_root if one in roots else told(SENTENCES["OUT_OF_BOUNDS_NO_POE"])
            faults.append(certificates.CertificateFault("OUT_OF_BOUNDS_NO_POE", why))
    reasons = [Reason(fault.name, fault.sentence) for fault in faults]
    if certificates.is_demonstration(certificate):
        reasons.append(Reason("DEMONSTRATION", told("certificate-a-demonstration")))
    return reasons


def keys_above(signatures: Iterable[Any], belief: Trust) -> frozenset[bytes]:
    """Return the keys of all certificates that stand above who made ``signatures``, known or brought by the file.

    Whoever holds one of them is of the signer's own house, and makes a clock of his own below it.
    """
    above: list[x509.Certificate] = []
    for signature in signatures:
        if signature.sig_object_type == "/DocTimeStamp":
            continue
        leaf = x509.load_der_x509_certificate(signature.signer_cert.dump())
        held = [*(one.dump() for one in signature.other_embedded_certs), *belief.stored.certificates]
        others = [*(x509.load_der_x509_certificate(one) for one in held), *belief.roots, *belief.clocks]
        above += [one for one in certificates.issuers([leaf], others) if one != leaf]
    return frozenset(certificates.key_of(one) for one in above)


def of_own_house(house: Iterable[x509.Certificate], above: frozenset[bytes], trust: Trust) -> list[Told]:
    """Return OWN_HOUSE where ``house`` has a key of those above a signer, and is not believed about the time."""
    held = list(house)
    own = not any(one in trust.clocks for one in held) and any(certificates.key_of(one) in above for one in held)
    return [OWN_HOUSE] if own else []


def state_of(
    chain: Sequence[x509.Certificate], reasons: Sequence[Reason], at: datetime, since: datetime | None, *, revoked: bool
) -> tuple[ChainState, datetime | None]:
    """Return what the chain of a signature is worth, and when it ended or was revoked, where that is known.

    ``reasons`` are why it is not believed at the moment ``at``; ``since`` is when it was revoked, as far as that is
    told.
    """
    names = {reason.name for reason in reasons}
    if "NO_CERTIFICATE_CHAIN_FOUND" in names:
        return "unknown", None
    if revoked:
        return "revoked", since
    ended = [one.not_valid_after_utc for one in chain if one.not_valid_after_utc < at]
    if "OUT_OF_BOUNDS_NO_POE" in names and ended:
        return "ended", min(ended)
    return ("unfit" if names else "trusted"), None


def accuracy_of(token: Any) -> timedelta:
    """Return by how much a timestamp's ``token`` may be wrong as it states: RFC 3161, 2.4.2; none where silent."""
    accuracy = token["encap_content_info"]["content"].parsed["accuracy"].native or {}
    parts = {"seconds": "seconds", "milliseconds": "millis", "microseconds": "micros"}
    try:
        return timedelta(**{unit: accuracy.get(name) or 0 for unit, name in parts.items()})
    except OverflowError:
        return timedelta.max if (accuracy["seconds"] or 0) > 0 else timedelta.min


def _token_faults(token: Any) -> list[Told]:
    """Return what a timestamp's ``token`` lacks by itself: a time as near as clocks are, and whose key it is of.

    RFC 3161, 2.4.2, asks for the certificate's digest among what is signed, so that no other may be put in its place.
    """
    if not _is_in_form(token["encap_content_info"]["content"].parsed):
        return [told("stamp-of-another-form")]
    (signer,) = token["signer_infos"]
    named = {attribute["type"].native for attribute in signer["signed_attrs"]}
    faults = [] if named & {"signing_certificate", "signing_certificate_v2"} else [told("stamp-names-no-certificate")]
    accuracy = accuracy_of(token)
    coarse = not timedelta(0) <= accuracy <= CLOCK_TOLERANCE
    return faults + [told("stamp-coarse", seconds=int(accuracy.total_seconds()))] * coarse


def stamp_faults(
    status: Any, token: Any, trust: Trust, at: datetime, *, above: frozenset[bytes] = frozenset(), heard: bool = False
) -> list[Told]:
    """Return why a timestamp proves nothing, judged at the moment ``at``: a sentence for each limit that is broken.

    ``above`` are the keys that stand above whom it speaks for (``keys_above``): an authority under one of them is
    believed only where it is trusted about the time as such.

    The library, whose ``status`` of the ``token`` it is, asks little of a timestamp authority and nothing of its root.
    It passes over lists and answers that are in the file where a certificate does not say that there are any;
    ``heard`` is that it holds a certificate of the chain for revoked by them.
    """
    if not status.trusted or status.validation_path is None:
        problem, ended = status.trust_problem_indic, "OUT_OF_BOUNDS_NO_POE"
        past = problem is not None and ended in (problem.name, _EQUIVALENT.get(problem.name))
        return [told(SENTENCES[ended])] if past else _not_believed(status, trust)
    chain = chain_in(status.validation_path)
    authority, *issuers = chain
    brings = [x509.load_der_x509_certificate(one) for one in trust.stored.certificates]
    house = certificates.issuers(chain, [*brings, *trust.roots, *trust.clocks])
    if any(certificates.key_of(one) in trust.signing_keys for one in chain):
        return [told("stamp-by-signer")]
    faults = [*certificates.stamping_faults(authority)]
    for below, issuer in enumerate(issuers):
        faults += [*certificates.authority_faults(issuer, below), *certificates.purpose_faults(issuer, of_time=True)]
    for one in (authority, *issuers[:-1]):
        faults += certificates.strength_faults(one)
    since = revoked((authority, *issuers), trust.revocation)
    lacks = [since.of_stamp] if since is not None and since.at <= at else []
    lacks += [told("stamp-chain-revoked")] if heard and not lacks else []
    lacks += [fault.sentence for fault in faults]
    # the library looks at the dates of the chain, not at the time that is told by who had no certificate then
    lacks += [OUTSIDE_DATES] * bool(certificates.life_faults(authority, status.timestamp))
    return lacks + _token_faults(token) + of_own_house(house, above, trust)


_THOUSAND = 1000


def _is_in_form(stated: Any) -> bool:
    """Whether every part of what a timestamp states is what RFC 3161, 2.4.2, has in its place."""
    try:
        _ = stated.native
        kinds = [one["extn_id"].dotted for one in stated["extensions"]]
        accuracy = stated["accuracy"].native or {}
    except (ValueError, TypeError):
        return False
    parts = [accuracy.get(name) for name in ("millis", "micros")]
    return len(set(kinds)) == len(kinds) and all(part is None or 0 < part < _THOUSAND for part in parts)


_WEAK = {"md5": "MD5", "sha1": "SHA-1"}


def _not_believed(status: Any, trust: Trust) -> list[Told]:
    """Return why the library does not believe a timestamp: where a root is trusted above it, that is not the cause."""
    leaf = x509.load_der_x509_certificate(status.signing_cert.dump())
    brings = [x509.load_der_x509_certificate(one) for one in trust.stored.certificates]
    if not certificates.leads_to(leaf, brings, (*trust.roots, *trust.clocks)):
        return [STRANGE]
    digest = str(status.md_algorithm).lower()
    lacks = [told("stamp-weak", algorithm=_WEAK[digest])] if digest in _WEAK else []
    lacks += [one.sentence for one in (*certificates.strength_faults(leaf), *certificates.stamping_faults(leaf))]
    problem = status.trust_problem_indic
    name = None if problem is None else _EQUIVALENT.get(problem.name, problem.name)
    of_chain = {
        "CRYPTO_CONSTRAINTS_FAILURE": "stamp-algorithm-too-weak",
        "CHAIN_CONSTRAINTS_FAILURE": "stamp-chain-forbids",
        "REVOKED_NO_POE": "stamp-chain-revoked",
    }
    return lacks or [told(of_chain.get(str(name), "stamp-chain-not-valid"))]


def chain_in(path: Any) -> tuple[x509.Certificate, ...]:
    """Return the certificates of the library's ``path``, each before the one that issued it, its root at the end."""
    held = [x509.load_der_x509_certificate(one.dump()) for one in path.iter_certs(include_root=True)]
    return tuple(reversed(held))


def chain_of(
    leaf: x509.Certificate, others: Sequence[x509.Certificate], status: Any = None
) -> tuple[x509.Certificate, ...]:
    """Return a certificate and its issuers among ``others``, in order, up to a root; of several chains the one that
    the library believes, by its ``status``.
    """
    if status is not None and status.trust_problem_indic is None and status.validation_path is not None:
        return chain_in(status.validation_path)
    return (leaf, *certificates.in_order(leaf, others))
