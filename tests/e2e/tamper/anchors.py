"""Which trusted certificate carries what: authorities, one signer's own, and who says what time it was.

Strangers and holders of a trusted certificate alike: the signatures are sound, the timestamps were made for them.
"""

from __future__ import annotations

import functools
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko_certvalidator.registry import SimpleCertificateStore

from reportgen.increments import RevocationData
from reportgen.seal import renew_report
from tests.e2e.tamper.controls import crl
from tests.e2e.tamper.rows import CERTIFICATES, RENEWED, Row, doubtful, passed
from tests.unit.seal.authorities import answer, joined, responder
from tests.unit.seal.authorities import crl as lists
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

YEAR = timedelta(days=365)
TIME, MAIL, SERVER = "1.3.6.1.5.5.7.3.8", "1.3.6.1.5.5.7.3.4", "1.3.6.1.5.5.7.3.1"
LONG = {"end": made.AT + 15 * YEAR}


def rows() -> Iterator[Row]:
    yield from _signers_own()
    yield from _authorities_renewed()
    yield from _says_the_time()
    yield from _tells_of_revocation()


def _by(pair: made.Pair, *chain: made.Pair) -> Callable[[], bytes]:
    return lambda: made.force_sealed(who=made.identity_of(pair, *chain))


def _trusting(*pairs: made.Pair) -> dict[str, Any]:
    return {"roots": lambda: tuple(pair.certificate for pair in pairs)}


def _alone(name: str = "Ines Perk", **more: Any) -> made.Pair:
    return made.certify(made.named(name), made.ec_key(), None, **more)


def _signers_own() -> Iterator[Row]:
    """Trust in a certificate that is no authority's: just that one where none stands above it, else none at all."""
    own = _alone()
    yield passed("self-signed, trusted as itself", _by(own), **_trusting(own))
    given = {"options": {"crls": (crl(),)}, **_trusting(own, made.root())}
    yield passed("self-signed, trusted as itself, lists of others given", _by(own), **given)
    unknown, limits = "NO_CERTIFICATE_CHAIN_FOUND", "CHAIN_CONSTRAINTS_FAILURE"
    ended = _alone(end=made.AT + timedelta(days=1))
    for what, pair, trusted, reasons in (
        ("self-signed, another of that name trusted", own, _alone(), unknown),
        ("self-signed, trusted as itself, ended since", ended, ended, "OUT_OF_BOUNDS_NO_POE"),
        *(
            (f"self-signed, trusted as itself, {how}", pair, pair, reasons)
            for how, pair, reasons in (
                ("in another name", _alone("Edda Falk"), "SIGNER_NOT_NAMED"),
                ("without key usage", _alone(key_usage=None), limits),
                ("for a web server", _alone(purposes=(SERVER,)), limits),
                ("being an authority", _alone(ca=True, key_usage=made.usage("digital_signature")), limits),
            )
        ),
    ):
        yield doubtful(what, _by(pair), reasons, why=CERTIFICATES, **_trusting(trusted))
    issuing = _alone("Rolf Krahn", key_usage=made.usage("digital_signature", "key_cert_sign"))
    below = made.certify(made.named("Ines Perk"), made.ec_key(), issuing)
    what = "issued by one that is trusted as itself"
    yield doubtful(what, _by(below, issuing), limits, why=CERTIFICATES, **_trusting(issuing))
    leaf = made.certify(made.named("Ines Perk"), made.ec_key(), made.root())
    revoked = {"options": {"crls": (crl(leaf.certificate.serial_number),)}}
    for what, chain, more in (
        ("a signer's certificate trusted in place of its authority's", (made.root(),), {}),
        ("a signer's certificate trusted in place of its authority's, which is not in the file", (), {}),
        ("a signer's certificate trusted, its authority revoked it", (), revoked),
    ):
        yield doubtful(what, _by(leaf, *chain), unknown, why=CERTIFICATES, **more, **_trusting(leaf))
    yield passed("a signer's certificate trusted beside its authority's", _by(leaf), **_trusting(leaf, made.root()))
    yield doubtful(
        "a signer's certificate trusted beside its authority's, which revoked it", _by(leaf), "REVOKED_NO_POE",
        why=CERTIFICATES, **revoked, **_trusting(leaf, made.root()),
    )  # fmt: skip
    middle = _authority("Middle", made.root())
    yield passed("an authority below another trusted", _by(_leaf_of(middle)), **_trusting(middle))


def _authority(name: str, issuer: made.Pair | None = None, key: Any = None, **more: Any) -> made.Pair:
    more = {"ca": True, "key_usage": made.AUTHORITY, **LONG, **more}
    return made.certify(made.named(name), key or made.ec_key(), issuer, **more)


def _leaf_of(issuer: made.Pair) -> made.Pair:
    return made.certify(made.named("Ines Perk"), made.ec_key(), issuer)


def _authorities_renewed() -> Iterator[Row]:
    """An authority that has two certificates for one key."""
    key = made.ec_key()
    past = {"begin": made.AT - 3 * YEAR, "end": made.AT + timedelta(days=1)}
    older, newer = _authority("Authority", key=key, **past), _authority("Authority", key=key)
    pdf = _by(_leaf_of(older), older)
    yield passed("both certificates of an authority trusted, the older has ended", pdf, **_trusting(older, newer))
    yield passed("the newer certificate of an authority trusted, the older in the file", pdf, **_trusting(newer))
    beside = _by(_leaf_of(older), newer)
    why = "the trusted certificate of an authority has ended, another of its key is in the file"
    yield doubtful(why, beside, "NO_CERTIFICATE_CHAIN_FOUND", why=CERTIFICATES, **_trusting(older))


def stamping(issuer: made.Pair | None = None, key: Any = None, **more: Any) -> made.Pair:
    """Return who says the time, under the root, ``issuer`` or (False) nobody."""
    more = {"key_usage": made.usage("digital_signature"), "purposes": (TIME,), **LONG, **more}
    return made.certify(made.named("Some Time"), key or made.rsa_key(number=7), issuer or made.root(), **more)


def _renewed(by: made.Pair, *chain: made.Pair, pdf: Callable[[], bytes] = made.report, **more: Any) -> bytes:
    store = SimpleCertificateStore()
    for one in chain:
        store.register(asn1_x509.Certificate.load(one.certificate.public_bytes(Encoding.DER)))
    return renew_report(pdf(), made.timestamper(made.AT + 1.5 * YEAR, by, certs_to_embed=store), **more).pdf


def _says_the_time() -> Iterator[Row]:
    """Renewed in time, judged when the signer's certificate has ended: what the timestamp proves alone carries it."""
    late: dict[str, Any] = {"at": made.AT + 3 * YEAR, "pdfsig": "invalid", "why": RENEWED}
    ended = _authority("Ended", begin=made.AT - 2 * YEAR, end=made.AT + 2 * YEAR)
    powerless = _authority("Powerless", ca=False)
    signing = _authority("Signing", key_usage=made.SIGNING)
    web = _authority("Web", purposes=(SERVER,))
    above = _authority("Above", length=0)
    between = _authority("Between", above)
    middle = _authority("Middle", made.root(), purposes=(SERVER,))
    short = stamping(end=made.AT + 2 * YEAR)
    alone = made.certify(
        made.named("Own Time"), made.rsa_key(number=8), None, key_usage=made.usage("digital_signature"),
        purposes=(TIME,), **LONG,
    )  # fmt: skip
    yield passed("renewed in time", functools.partial(_renewed, stamping()), **late)
    yield passed("renewed by one who is trusted as himself", functools.partial(_renewed, alone), **late, **_with(alone))
    signed_by_mail = _authority("Mail and time", made.root(), purposes=(MAIL, TIME))
    fine = functools.partial(_renewed, stamping(signed_by_mail), signed_by_mail)
    yield passed("renewed under an authority for mail and time", fine, **late)
    for what, by, chain, more in (
        ("a purpose beside", stamping(purposes=(MAIL, TIME)), (), {}),
        ("no purpose", stamping(purposes=()), (), {}),
        ("a key for enciphering", stamping(key_usage=made.usage("key_encipherment")), (), {}),
        ("a certificate that issues others", stamping(ca=True), (), {}),
        ("a short key", stamping(key=made.rsa_key(1024)), (), {}),
        ("a root that has ended", stamping(ended), (), _with(ended)),
        ("a root that is no authority", stamping(powerless), (), _with(powerless)),
        ("a root that may not sign certificates", stamping(signing), (), _with(signing)),
        ("a root for web servers", stamping(web), (), _with(web)),
        ("an authority for web servers", stamping(middle), (middle,), {}),
        ("a path longer than its root allows", stamping(between), (between,), _with(above)),
        ("his own certificate trusted, which has ended", short, (), _with(short)),
        ("his own certificate trusted in place of its authority's", stamping(web), (), _with(stamping(web))),
    ):
        build = functools.partial(_renewed, by, *chain)
        yield doubtful(f"renewed by one with {what}", build, "OUT_OF_BOUNDS_NO_POE", **late, **more)
    gone = stamping()
    revoked = lists(made.root(), made.AT + YEAR, [(gone, made.AT + YEAR / 2)])
    for what, pdf in (("that its own renewal holds", made.report), ("sealed in with it", _sealed_with(revoked))):
        build = functools.partial(_renewed, gone, pdf=pdf, given=RevocationData(crls=(revoked,)))
        yield doubtful(f"renewed by one who is revoked by a list {what}", build, "OUT_OF_BOUNDS_NO_POE", **late)
    both = made.certify(made.named("Ines Perk"), made.rsa_key(number=9), made.root(), purposes=(MAIL, TIME))
    herself = _by(both, made.root())
    stamped = lambda: made.sealed(who=made.identity_of(both, made.root()), timestamper=made.timestamper(made.AT, both))  # noqa: E731
    ends = "OUT_OF_BOUNDS_NO_POE"
    yield doubtful("renewed by its own signer", functools.partial(_renewed, both, pdf=herself), ends, **late)
    yield doubtful("timestamped by its own signer", stamped, ends, why=CERTIFICATES, at=late["at"])
    yield from _with_the_signers_key(late)


def _with_the_signers_key(late: dict[str, Any]) -> Iterator[Row]:
    """Whose certificate stamps the time alone, as it must, and for the key of one who signed the report."""
    key = made.rsa_key(number=9)
    signer = made.identity_of(made.certify(made.named("Ines Perk"), key, made.root()), made.root())
    own, ends = stamping(key=key), "OUT_OF_BOUNDS_NO_POE"
    alone = lambda: made.sealed(who=signer)  # noqa: E731
    stamped = lambda: made.sealed(who=signer, timestamper=made.timestamper(made.AT, own))  # noqa: E731
    middle = _authority("Signs and issues", made.root(), key)
    below = stamping(middle)
    for what, build in (
        ("renewed by one who has the signer's key", functools.partial(_renewed, own, pdf=alone)),
        ("renewed by one below the signer's key", functools.partial(_renewed, below, middle, pdf=alone)),
    ):
        yield doubtful(what, build, ends, **late)
    yield doubtful("timestamped with the signer's key", stamped, ends, why=CERTIFICATES, at=late["at"])


def _tells_of_revocation() -> Iterator[Row]:
    """Renewed in time with what proves that nobody was revoked, in each form in which an authority gives it."""
    late: dict[str, Any] = {"at": made.AT + 3 * YEAR, "pdfsig": "invalid", "why": RENEWED}
    at, signer, root = made.AT + YEAR, made.inspector().certificate, made.root()
    one, other, time = responder("One Who Answers"), responder("Another Who Answers"), stamping()
    single = answer(signer, root, at, one)
    both = joined(single, answer(made.engineer().certificate, root, at, one), one)
    alone = made.certify(made.named("Ines Perk"), made.rsa_key(number=10), root)
    middle = _authority("Middle", root)
    below = _leaf_of(middle)
    for what, pdf, given in (
        ("an answer of its root", made.report, {"ocsps": (answer(signer, root, at),)}),
        ("an answer of one whom its root named", made.report, {"ocsps": (single,)}),
        ("answers of two whom its root named", made.report, {"ocsps": (single, answer(signer, root, at, other))}),
        ("an answer about two certificates", made.report, {"ocsps": (both,)}),
        ("an answer and a list", made.report, {"ocsps": (single,), "crls": (lists(root, at),)}),
        ("a list of its root, which no signature brings", _by(alone), {"crls": (lists(root, at),)}),
        (
            "certificates that no signature brings, their lists and an answer", _by(below),
            {"crls": (lists(middle, at), lists(root, at)), "ocsps": (answer(middle.certificate, root, at, one),)},
        ),
    ):  # fmt: skip
        data = RevocationData(**given)
        known = [pair.certificate for pair in (root, middle)]
        build = functools.partial(_renewed, time, pdf=pdf, given=data, known=known)
        yield passed(f"renewed with {what}", build, **late)
    sealed = RevocationData(ocsps=(answer(signer, root, made.AT, one),))
    yield passed("an answer of one whom its root named sealed in", lambda: made.sealed(revocation=sealed))
    once = functools.partial(_renewed, time, pdf=_by(below), known=[middle.certificate])
    twice = functools.partial(_renewed, time, pdf=once, given=RevocationData(crls=(lists(middle, at),)))
    yield passed("renewed again with a list of one whom the renewal before brings", twice, **late)
    yield from _names_where_to_ask(one)
    yield from _listed_below_a_root(late)
    yield from _in_other_hands(root, made.inspector())
    gone = answer(signer, root, at, one, made.AT + YEAR / 2)
    several = joined(answer(made.engineer().certificate, root, at, one), gone, one)
    for what, word in (("", gone), (", among others", several)):
        build = functools.partial(_renewed, time, given=RevocationData(ocsps=(word,)))
        yield doubtful(f"renewed with an answer that its signer was revoked{what}", build, "REVOKED_NO_POE", **late)


def _in_other_hands(root: made.Pair, signer: made.Pair) -> Iterator[Row]:
    """Revoked after the proven time; its key, or the whole, held to be bad from a day before (RFC 5280, 5.3.2)."""
    day, flags = timedelta(days=1), x509.ReasonFlags
    stamped = lambda: made.sealed(timestamper=made.timestamper(made.AT))  # noqa: E731
    for what, reason, row in (
        ("its key in other hands from before", flags.key_compromise, doubtful),
        ("replaced by another", flags.superseded, None),
    ):
        held = lists(root, made.AT + day, [(signer, made.AT + day)], reason=reason, invalid=made.AT - day)
        more: dict[str, Any] = {"options": {"crls": (held,)}}
        name = f"timestamped before its signer was revoked, {what}"
        yield row(name, stamped, "REVOKED_NO_POE", why=CERTIFICATES, **more) if row else passed(name, stamped, **more)


def _listed_below_a_root(late: dict[str, Any]) -> Iterator[Row]:
    """Lists of an authority below the root, of its signers or of who stamps the time: given, or in the file."""
    root, day = made.root(), timedelta(days=1)
    middle = _authority("Middle", root)
    below, stamps = _leaf_of(middle), stamping(middle)
    gone = lists(middle, made.AT, [(below, made.AT - day)])
    fine = (lists(middle, made.AT), lists(root, made.AT))
    signed = lambda *held: made.sealed(  # noqa: E731
        who=made.identity_of(below, middle, root), revocation=RevocationData(crls=held) if held else None
    )
    told = "the list of an authority below the root"
    yield passed(f"{told} given", signed, options={"crls": fine})
    yield passed(f"{told} sealed in", functools.partial(signed, *fine))
    unable = _authority("Unable", root, key_usage=made.usage("key_cert_sign"))
    own = _leaf_of(unable)
    by_unable = lists(unable, made.AT, [(own, made.AT - day)])
    for what, build, held in (
        (f"{told}, given", signed, (gone,)),
        (f"{told}, given with that of the root", signed, (gone, fine[1])),
        (f"{told}, sealed in", functools.partial(signed, gone), ()),
        (f"{told}, and not by a later one", signed, (gone, lists(middle, made.AT + day))),
        ("an authority below the root that may sign no lists", _by(own, unable), (by_unable,)),
    ):
        options: dict[str, Any] = {"crls": held} if held else {}
        yield doubtful(f"revoked by {what}", build, "REVOKED_NO_POE", why=CERTIFICATES, options=options)
    time_gone = lists(middle, made.AT + YEAR, [(stamps, made.AT + YEAR)])
    yield doubtful(
        f"renewed by one who is revoked by {told}", functools.partial(_renewed, stamps, middle),
        "OUT_OF_BOUNDS_NO_POE", options={"crls": (time_gone,)}, **late,
    )  # fmt: skip


def _names_where_to_ask(responder_of_root: made.Pair) -> Iterator[Row]:
    """Certificates that say where their authority is asked, whose answers lie in the file and have grown old."""
    web = x509.UniformResourceIdentifier("http://127.0.0.1:9/")
    asked = x509.AuthorityInformationAccess([x509.AccessDescription(x509.oid.AuthorityInformationAccessOID.OCSP, web)])
    listed = x509.CRLDistributionPoints([x509.DistributionPoint([web], None, None, None)])
    old: dict[str, Any] = {"at": made.AT + YEAR}
    late: dict[str, Any] = {"at": made.AT + 3 * YEAR, "pdfsig": "invalid", "why": RENEWED}
    root = made.root()
    for what, where in (("who answers", asked), ("a list", listed)):
        own, second = (
            made.identity_of(made.certify(made.named(name), made.ec_key(), root, extra=where), root)
            for name in ("Ines Perk", made.ENGINEER.name)
        )
        word = answer(own.certificate, root, made.AT, responder_of_root)
        revoked = answer(own.certificate, root, made.AT, responder_of_root, made.AT - timedelta(days=1))
        sealed = functools.partial(_sealed_by, own, RevocationData(ocsps=(word,), crls=(lists(root, made.AT),)))
        yield passed(f"sealed with what has grown old, by one who names {what}", sealed, **old)
        both = functools.partial(_sealed_by, own, RevocationData(ocsps=(word,)), second)
        yield passed(f"sealed with an answer about another, countersigned by one who names {what}", both)
        bad = functools.partial(_sealed_by, own, RevocationData(ocsps=(revoked,)))
        kept = RevocationData(
            ocsps=(answer(own.certificate, root, made.AT + YEAR),), crls=(lists(root, made.AT + YEAR),)
        )
        again = functools.partial(_renewed, stamping(extra=where), pdf=_by_identity(own), given=kept)
        yield passed(f"renewed with what has grown old, by one who names {what}", again, **late)
        told = f"sealed with an answer, grown old, that its signer was revoked, who names {what}"
        yield doubtful(told, bad, "REVOKED_NO_POE", why=CERTIFICATES, **old)


def _by_identity(who: made.Identity) -> Callable[[], bytes]:
    return lambda: made.sealed(who=who)


def _sealed_by(who: made.Identity, data: RevocationData, second: made.Identity | None = None) -> bytes:
    pdf = made.sealed(who=who, revocation=data, countersigners=(made.ENGINEER,) if second else ())
    return made.countersigned(pdf, second, at=made.AT + timedelta(hours=2)) if second else pdf


def _sealed_with(crl_of_root: bytes) -> Callable[[], bytes]:
    return lambda: made.sealed(revocation=RevocationData(crls=(crl_of_root,)))


def _with(*pairs: made.Pair) -> dict[str, Any]:
    return _trusting(made.root(), *pairs)
