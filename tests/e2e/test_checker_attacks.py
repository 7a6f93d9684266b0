"""Files that were attacked for the page that checks reports: none is called unaltered."""

from __future__ import annotations

import base64
import contextlib
import random
import re
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from unittest import mock

import pytest
from asn1crypto import cms, core
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.sign.timestamps import DummyTimeStamper

from reportgen.formats import Signatory
from reportgen.increments import RevocationData
from reportgen.names import Pin
from reportgen.pipeline import building
from reportgen.seal import renew_report, seal_report, signing
from reportgen.verification import verify_report
from reportgen.verification.signatures import untimely_stamp
from tests.e2e import signed_footbridge as real
from tests.e2e.tamper import controls
from tests.outside import needs_program
from tests.property import test_every_object as objects
from tests.unit.seal.authorities import answer, crl
from tests.unit.verification import signed_material as made
from tests.unit.verification import test_renewals as renewals

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.checker_page import CheckerPage

pytestmark = needs_program("chromium")
YEAR = timedelta(days=365)
_VALUE = re.compile(rb"/Contents <((?:[0-9A-Fa-f]{2})+?)(?:00)*>")

_FLIP = """async ([pdf, count, masks]) => {
    const { readPdf, View, signaturesIn, readSignature, refuseUnproven } = window.reader;
    const read = async () => {
        const wrong = await readSignature(bytes, revisions, signature);
        for (const one of [signature.cms, ...signature.tokens]) if (!one.wrong) await refuseUnproven(one, [], []);
        return wrong;
    };
    const bytes = Uint8Array.from(atob(pdf), (one) => one.charCodeAt(0));
    const revisions = readPdf(bytes);
    const [signature] = signaturesIn(revisions, new View(revisions)).signatures;
    const value = signature.value.get("Contents");
    const accepted = [];
    for (let place = 0; place < count; place++) {
        for (const mask of masks) {
            value.bytes[place] ^= mask;
            const wrong = await read().catch((fault) => fault.code ?? fault);
            const damaged = signature.tokens.some((one) => one.wrong && one.wrong !== "STAMP");
            if (wrong === undefined && !damaged) accepted.push([place, mask]);
            value.bytes[place] ^= mask;
        }
    }
    return accepted;
}"""
"""Change each byte of the value of a signature: what the reader of signatures and of what proves them accepts."""

SIGNED: dict[str, Callable[[], bytes]] = {
    "P-256": made.report,
    "RSA": lambda: made.sealed(who=controls._with_key(made.rsa_key())),
    "Ed25519": lambda: made.sealed(who=controls._with_key(made.ed_key())),
    "timestamped": lambda: made.sealed(timestamper=made.timestamper()),
}


def root_der() -> bytes:
    return made.root().certificate.public_bytes(Encoding.DER)


def intact(checker: CheckerPage, pdf: bytes) -> str:
    return str(checker.examine(pdf, [root_der()], made.LATER)["intact"]["answer"])


@pytest.mark.parametrize("kind", SIGNED)
def test_no_byte_of_a_signature_can_be_changed(kind: str, checker: CheckerPage) -> None:
    pdf = SIGNED[kind]()
    assert intact(checker, pdf) == "yes"
    value = _VALUE.search(pdf)
    assert value is not None
    der = bytes.fromhex(value[1].decode())
    masks = [1, 0x80, 2 + len(der) % 0x7D]
    accepted = checker.do(lambda page: page.evaluate(_FLIP, [base64.b64encode(pdf).decode(), len(der), masks]))
    assert accepted == []


def test_random_bytes_changed_dropped_and_added(checker: CheckerPage) -> None:
    chance = random.Random(18)  # noqa: S311 - where bytes are changed is no secret
    pdf = made.complete_report()
    for _ in range(400):
        place = chance.randrange(len(pdf))
        old, other = pdf[place : place + 1], bytes([chance.randrange(256)])
        change = chance.choice((other, b"", old + other))
        changed = pdf[:place] + change + pdf[place + 1 :]
        if changed != pdf:
            assert intact(checker, changed) != "yes", (place, old, change)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"%PDF-1.3\n", b"%PDF-2.0\n"),
        (b"%PDF-1.3\n", b"%PDF-1.3\n% conforms, says this comment\n"),
        (b"\n1 0 obj\n", b"\n1 0 obj % conforms\n"),
        (b"\n1 0 obj\n", b"\n1 1 obj\n"),
        (b"\nxref\n0 22\n", b"\n99 0 obj\n(conforms)\nendobj\nxref\n0 22\n"),
        (b"\nxref\n0 22\n", b"\n7 0 obj\n(conforms)\nendobj\nxref\n0 22\n"),
        (b"\nxref\n0 22\n", b"\nconforms\nxref\n0 22\n"),
        (b"0000000000 65535 f", b"0000000000 65535 n"),
        (b"/Type /Catalog >>", b"/Type /Catalog /Type /Page >>"),
        (b"/Type /Catalog >>", b"/Type /Catalog /#54ype /Page >>"),
        (b"/Type /Catalog >>", b"/Type /Catalog /Lang null >>"),
        (b"/Type /Catalog >>", b"/Type /Catalog /Lang (a\\qb) >>"),
        (b"/Type /Catalog >>", b"/Type /Catalog /Lang <6 1> >>"),
        (b"/Type /Catalog >>", b"/Type /Catalog"),
        (b"/Kids [ 18 0 R ]", b"/Kids [ 18 1 R ]"),
        (b"/Size 22 ", b"/Size 20 "),
        (b"/Size 22 ", b"/Size 22 /Prev 9 "),
        (b"/Size 22 ", b"/Size 22 /XRefStm 9 "),
        (b"/Size 22 ", b"/Size 22 /Other /A "),
        (b"/Info 2 0 R", b"/Info << /Title (Report) >>"),
        (b"\n21 0 obj\n<<", b"\n21 0 obj\n/Launch % <<"),
        (b"endstream\nendobj\n10 0 obj", b"endstream (conforms)\nendobj\n10 0 obj"),
        (b"endstream\nendobj\n10 0 obj", b"  conforms endstream\nendobj\n10 0 obj"),
        (b"%%EOF", b"%%EOF\n(conforms)"),
        # spelled as no library of ours does, and as others may read otherwise
        (b"/Count 1 ", b"/Count " + b"0" * 40 + b"1 "),
        (b"/Count 1 ", b"/Count " + b"0" * 39 + b"1endobj "),
        (b"/Count 1 ", b"/Count 01 "),
        (b"/Count 1 ", b"/Count +1 "),
        (b"/Count 1 ", b"/Count 1. "),
        (b"/Count 1 ", b"/Count 1 /A -0 "),
        (b"/Count 1 ", b"/Count 1 /A +.5 "),
        (b"/Count 1 ", b"/Count 1 /A 999999999999999999999999 "),
        (b"/Count 1 ", b"/Count 1 /A 1.0000000 "),
        (b"/Count 1 ", b"/Count 1 /A#00 2 "),
        (b"/Count 1 ", b"/Count 1 /A#20 2 "),
        (b"/Count 1 ", b"/Count 1 /A#2f 2 "),
        (b"/Count 1 ", b"/Count 1 /A#41 2 "),
        (b"/Count 1 ", b"/Count 1 /A\x01 2 "),
        (b"/Count 1 ", b"/Count 1 /A\x80 2 "),
        (b"/Count 1 ", b"/Count 1 /" + b"A" * 128 + b" 2 "),
        (b"/Count 1 ", b"/Count 1 /A (a\rb) "),
        (b"/Count 1 ", b"/Count\t1 "),
        (b"/Count 1 ", b"/Count 1" + b" " * 63),
        (b"/Kids [ 18 0 R ]", b"/Kids [ 018 0 R ]"),
        (b"/Kids [ 18 0 R ]", b"/Kids [ 18  0 R ]"),
        (b"/Kids [ 18 0 R ]", b"/Kids [ 18 0 Rx ]"),
        (b"\n10 0 obj", b"\n" + b"\0" * 5000 + b"\n10 0 obj"),
        (b"\n10 0 obj", b"\n010 0 obj"),
        (b"\n10 0 obj", b"\n10 00 obj"),
        (b"\n10 0 obj", b"\n10\n0 obj"),
        (b">>\nstream\n", b">>\0\nstream\n"),
        (b">>\nstream\n", b">>\t\f\nstream\n"),
        (b">>\nstream\n", b">>\nstream\r\n"),
        (b"\nendstream\nendobj", b"\0\0endstream\nendobj"),
        (b"\nendstream\nendobj", b"endstream\nendobj"),
        (b" 00000 n \n", b" 00000 n\n"),
        (b" 00000 n \n", b" 00000 n \r\n"),
        (b" 00000 n \n", b" 00000 n" + b" " * 21 + b"\n"),
        (b" 00000 n \n", b" 00000 n\r\n"),
        (b"0000000000 65535 f", b"0000000000 00007 f"),
        (b"0000000000 65535 f", b"0000000007 65535 f"),
        (b"xref\n0 22\n", b"xref\n0 0\n0 22\n"),
        (b"xref\n0 22\n", b"xref\n 0 22\n"),
        (b"startxref\n", b"startxref\n0"),
        (b"startxref\n", b"startxref\n\0 "),
        (b"startxref\n", b"startxref \n"),
        (b"\n%%EOF\n", b"\n%%EOF"),
        (b"\n%%EOF\n", b"\n%%EOF\r\n"),
        (b"%\xbf\xf7\xa2\xfe\n", b""),
        (b"%\xbf\xf7\xa2\xfe\n", b"%\xbf\xf7\xa2\xfe\r\n"),
    ],
)
def test_a_file_that_another_reader_may_take_otherwise(old: bytes, new: bytes, checker: CheckerPage) -> None:
    """Places of objects and of the table are mended, so that nothing but the change itself is refused."""
    pdf = made.unsigned()
    assert old in pdf
    assert read(checker, pdf) == "read"
    assert read(checker, _places_mended(pdf.replace(old, new, 1))) in ("STRUCTURE", "TRAILING")


def read(checker: CheckerPage, pdf: bytes) -> str:
    tried = """(pdf) => {
        try { window.reader.readPdf(Uint8Array.from(atob(pdf), (one) => one.charCodeAt(0))); return "read"; }
        catch (fault) { return fault.code; }
    }"""
    return str(checker.do(lambda page: page.evaluate(tried, base64.b64encode(pdf).decode())))


def _places_mended(pdf: bytes, first: int = 1) -> bytes:
    """Return a file of one revision with the places of its objects and of its table as they are."""
    table = pdf.index(b"\nxref\n") + 1
    rows = iter(range(first, 100))

    def row(_: re.Match[bytes]) -> bytes:
        found = re.search(rb"(?m)^0*%d\s[01]+ obj\b" % next(rows), pdf)
        assert found is not None
        return b"%010d 00000 n" % found.start()

    mended = pdf[:table] + re.sub(rb"\d{10} 00000 n", row, pdf[table:])
    return re.sub(rb"(startxref[ \n\0]*0*)[1-9]\d*", rb"\g<1>%d" % table, mended)


def test_there_is_no_object_0(checker: CheckerPage) -> None:
    pdf = made.unsigned().replace(b"\n21 0 obj", b"\n0 0 obj").replace(b" 21 0 R", b" 0 0 R")
    pdf = pdf.replace(b"xref\n0 22\n0000000000 65535 f ", b"xref\n0 21\n0000000015 00000 n ")
    before, _, last = pdf.rpartition(b"\n0000")
    pdf = before + last[last.index(b"\n") :]
    assert read(checker, _places_mended(pdf, 0)) == "STRUCTURE"


def test_a_file_that_would_be_read_for_long_is_refused(checker: CheckerPage) -> None:
    tried = """() => {
        const text = "%PDF-1.7\\n%\\xe2\\xe3\\xcf\\xd3\\n1 0 obj\\n[" + "0 ".repeat(31 << 20) + "]\\nendobj\\n";
        const bytes = new Uint8Array(text.length);
        for (let at = 0; at < text.length; at++) bytes[at] = text.charCodeAt(at);
        const begun = performance.now();
        try { window.reader.readPdf(bytes); } catch (fault) { return [fault.code, performance.now() - begun]; }
    }"""
    code, milliseconds = checker.do(lambda page: page.evaluate(tried))
    assert code == "LIMIT"
    assert milliseconds < 15_000, "without a bound it was a minute"


@pytest.mark.parametrize("key", [b"Properties", b"Usage", b"OC", b"OCProperties"])
def test_nothing_that_shows_here_and_not_there(key: bytes, checker: CheckerPage) -> None:
    """Resources that state whether to show, of no type and in no list: readers of `/Usage` on paper ask no more."""
    states = b"<< /Usage << /View << /ViewState /OFF >> /Print << /PrintState /ON >> >> >>"
    stated = {b"Properties": b"<< /M0 << /A 1 >> >>", b"Usage": b"<< /View << /ViewState /OFF >> >>"}.get(key, states)
    pages = made.unsigned()
    pdf = pages.replace(b"/Resources << ", b"/Resources << /" + key + b" " + stated + b" ", 1)
    assert pdf != pages
    report = made.sealed(_places_mended(pdf))
    assert checker.examine(report, [root_der()], made.LATER)["intact"]["code"] == "CONTENT"
    verdict = verify_report(report, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)
    assert [one.name for one in verdict.steps[0].reasons] == ["LAYERS"]


@pytest.mark.parametrize("kind", objects.KINDS)
@pytest.mark.parametrize("case", objects.CASES)
def test_no_object_of_a_signatures_revision_can_be_changed(case: str, kind: str, checker: CheckerPage) -> None:
    """By whoever holds the certificate and signs again what came of it."""
    make, who = objects.CASES[case]
    assert intact(checker, objects.whole(make(), who)) == "yes"
    for place in range(len(objects.Revision(make()).bodies) - (kind == "moved")):
        changed = objects.in_revision(make(), place, kind)
        with contextlib.suppress(AttributeError, ValueError, AssertionError):  # a value that has no place any more
            changed = objects.whole(changed, who)
        assert intact(checker, changed) != "yes", place


@pytest.mark.parametrize("kind", ["duplicated", "duplicated, the first in use", "added"])
def test_no_object_of_a_real_report_is_there_twice_or_for_nothing(kind: str, checker: CheckerPage) -> None:
    """What is drawn is the signer's word; a second copy, or an object that waits for its turn, is not."""
    pages = objects.pages()
    refused = 0
    for place in range(3, objects.numbers() - 1, objects.numbers() // 6):
        pdf = objects.altered(pages.pdf, place, kind)
        assert read(checker, pdf) == ("read" if kind == "added" else "STRUCTURE")
        try:
            report = real.signed(pages, lambda _, pdf=pdf: pdf)
        except Exception:  # noqa: BLE001 - the library of signing refuses some of them itself
            refused += 1
        else:
            assert intact(checker, report) != "yes", place
    assert kind != "added" or refused == 0


# --- timestamps


class Stating(DummyTimeStamper):
    """A timestamp authority that states more in its timestamps, or to whose timestamps something was added."""

    states: dict[str, Any]
    carried = False

    def _build_tst_info(self, *given: Any) -> Any:
        info = super()._build_tst_info(*given)
        for name, value in self.states.items():
            info[name] = value
        return info

    def _build_signed_data(self, *given: Any) -> Any:
        data = super()._build_signed_data(*given)
        if self.carried:
            note = {"type": "1.3.6.1.4.1.55555.1", "values": [core.UTF8String("conforms")]}
            data["signer_infos"][0]["unsigned_attrs"] = cms.CMSAttributes([note])
        return data


def stating(clock: Any, *, carried: bool = False, **states: Any) -> Any:
    clock.__class__ = Stating
    clock.carried, clock.states = carried, states
    return clock


# --- renewals


CLOCK = made.certify(
    made.named("Root of Clocks"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY, begin=made.AT - YEAR,
    end=made.AT + 19 * YEAR,
)  # fmt: skip
FIRST, SECOND = (renewals.authority(*one, CLOCK) for one in (("First Clock", 0, 4), ("Second Clock", 3, 9)))
ONCE = renewals.renewed(made.report(), FIRST, 1.5)
TWICE = renewals.renewed(ONCE, SECOND, 3.5)


def both_roots() -> list[bytes]:
    return [root_der(), CLOCK.certificate.public_bytes(Encoding.DER)]


@pytest.mark.parametrize(("pdf", "years"), [(ONCE, 2.5), (TWICE, 4.5), (TWICE, 8.5)])
def test_a_renewed_report_holds_as_long_as_the_newest_authority(pdf: bytes, years: float, checker: CheckerPage) -> None:
    found = checker.examine(pdf, both_roots(), made.AT + years * YEAR)
    assert (found["intact"]["answer"], found["after"]["code"]) == ("yes", "RENEWED")
    assert [found[kind][0]["code"] for kind in ("who", "when")] == ["CHAIN", "PROVEN_SINCE"]
    assert found["head"]["answer"] == "yes"


def test_what_a_renewal_does_not_prove_is_not_believed(checker: CheckerPage) -> None:
    late = renewals.renewed(made.report(), FIRST, 2.5)
    own_house = (renewals.ONCE, 2.5)  # its authority stands under the root of whoever signed
    for pdf, years in ((made.report(), 2.5), (ONCE, 4.5), (TWICE, 9.5), (late, 2.6), own_house):
        found = checker.examine(pdf, both_roots(), made.AT + years * YEAR)
        assert (found["intact"]["answer"], found["who"][0]["code"]) == ("yes", "CHAIN_DATES")
        assert found["head"]["key"] == "dates"
    back = renewals.renewed(ONCE, FIRST, 1.2)
    found = checker.examine(back, both_roots(), made.AT + 1.8 * YEAR)
    assert (found["head"]["answer"], found["head"]["key"]) == ("no", "renewal")


def test_what_was_signed_after_it_was_renewed_contradicts_itself(checker: CheckerPage) -> None:
    """A trusted clock that is slow by ten days: it, or the signer, or the clock on the signature goes wrong."""
    slow = renewals.authority("Slow Clock", -1, 4, CLOCK)
    stamped = made.sealed(timestamper=made.timestamper(made.AT, FIRST))
    checks = {**made.CHECKS, "timestamp_roots": (CLOCK.certificate,)}
    for days, code in ((-10, "AFTER_LATER"), (1, "PROVEN_SINCE")):
        for pdf in (made.report(), stamped):
            both = renewals.renewed(pdf, slow, days / 365)
            found = checker.examine(both, both_roots(), made.LATER)
            good = "PROVEN" if pdf is stamped and days > 0 else code
            assert (found["when"][0]["code"], found["head"]["key"]) == (good, "time" if days < 0 else "signed")
            verdict = verify_report(both, at=made.LATER, roots=both_roots(), **checks)
            assert verdict.overall == ("indeterminate" if days < 0 else "passed")


def test_a_time_beside_the_stated_one_is_compared_with_it(checker: CheckerPage) -> None:
    """What signing wrote is the time in the file: that is no change of it, and contradicts what is signed."""
    attributes, sign = signing.PdfCMSSignedAttributes, signing._LoadedKeySigner.async_sign
    for seconds in (0, 1, 3600, -86400, 9 * 365 * 86400):
        told = attributes(signing_time=made.AT + timedelta(seconds=seconds))

        def telling(self: Any, data: bytes, algorithm: str, told: Any = told, **_: Any) -> Any:
            return sign(self, data, algorithm, signed_attr_settings=told)

        with mock.patch.object(signing._LoadedKeySigner, "async_sign", telling):
            pdf = made.sealed()
        found = checker.examine(pdf, [root_der()], made.LATER)
        expected = ("TWO_TIMES", "time") if seconds else ("CLAIMED", "signed")
        assert (found["when"][0]["code"], found["head"]["key"]) == expected
        verdict = verify_report(pdf, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)
        assert (found["intact"]["answer"], {step.status for step in verdict.steps[:4]}) == ("yes", {"passed"})
        assert [one.name for one in verdict.reasons] == (["TIMES_DISAGREE"] if seconds else [])
        if seconds:
            assert "claims two times of signing: 2026-03-02 14:30:00 +0000 in the file" in verdict.reasons[0].sentence


def test_a_clock_of_the_signers_own_house_proves_nothing(checker: CheckerPage) -> None:
    """Whoever holds the root makes an authority of time below it; by a policy alone is such a one believed."""
    below = made.certify(made.named("Below"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY)
    house = [made.timestamp_authority(), renewals.authority("Of an authority below", 0, 4, below)]
    with_below = [root_der(), below.certificate.public_bytes(Encoding.DER)]
    for authority in (*house, FIRST):
        pdf = made.sealed(timestamper=made.timestamper(made.AT, authority))
        proven = authority is FIRST
        roots = both_roots() if proven else with_below
        found = checker.examine(pdf, roots, made.LATER)
        assert found["when"][0]["code"] == ("PROVEN" if proven else "STAMP_OWN_HOUSE")
        checks = {**made.CHECKS, "timestamp_roots": ()}
        verdict = verify_report(pdf, at=made.LATER, roots=roots, **checks)
        assert (verdict.overall, verdict.time) == ("passed", "proven" if proven else "claimed")
        assert proven != ("whoever holds that makes any time" in " ".join(verdict.steps[5].details))
        believed = verify_report(pdf, at=made.LATER, roots=roots, **made.CHECKS)
        assert believed.time == "proven", "a policy names the root"
    typed = made.root().certificate.fingerprint(hashes.SHA256()).hex().upper()
    pdf = made.sealed(timestamper=made.timestamper(made.AT))
    found = checker.examine(pdf, [], made.LATER, [typed])
    assert (found["who"][0]["code"], found["when"][0]["code"]) == ("CHAIN", "STAMP_OWN_HOUSE")
    late = made.sealed(timestamper=made.timestamper(made.AT + timedelta(days=2)))
    assert checker.examine(late, [root_der()], made.AT + YEAR)["when"][0]["code"] == "LATE_STAMP", "it may contradict"
    verdict = verify_report(late, at=made.AT + YEAR, roots=[root_der()], **{**made.CHECKS, "timestamp_roots": ()})
    assert [one.name for one in verdict.reasons] == ["SIG_CONSTRAINTS_FAILURE"]


_STAMPS: list[tuple[dict[str, Any], str]] = [
    ({}, "PROVEN"),
    ({"accuracy": {"seconds": 299, "millis": 999, "micros": 999}, "ordering": True}, "PROVEN"),
    ({"accuracy": {"seconds": 300}}, "PROVEN"),
    ({"accuracy": {"seconds": 300, "micros": 1}}, "STAMP_COARSE"),
    ({"accuracy": {"seconds": 365 * 86400}}, "STAMP_COARSE"),
]


@pytest.mark.parametrize(("states", "code"), _STAMPS, ids=str)
def test_what_a_timestamp_states_of_itself_is_heeded(states: dict[str, Any], code: str, checker: CheckerPage) -> None:
    """By how much it may be wrong (RFC 3161, 2.4.2)."""
    checks = {**made.CHECKS, "timestamp_roots": (CLOCK.certificate,)}
    stamped = made.sealed(timestamper=stating(made.timestamper(made.AT, FIRST), **states))
    found = checker.examine(stamped, both_roots(), made.LATER)
    assert (found["when"][0]["code"], found["head"]["key"]) == (code, "signed")
    verdict = verify_report(stamped, at=made.LATER, roots=both_roots(), **checks)
    assert (verdict.overall, verdict.time == "proven") == ("passed", code == "PROVEN")
    renewed = renew_report(made.report(), stating(made.timestamper(made.AT + 1.5 * YEAR, FIRST), **states)).pdf
    found = checker.examine(renewed, both_roots(), made.AT + 2.5 * YEAR)
    assert (found["who"][0]["code"], found["when"][0]["code"]) == (
        ("CHAIN", "PROVEN_SINCE") if code == "PROVEN" else ("CHAIN_DATES", "CLAIMED")
    )
    verdict = verify_report(renewed, at=made.AT + 2.5 * YEAR, roots=both_roots(), **checks)
    assert verdict.overall == ("passed" if code == "PROVEN" else "indeterminate")


@pytest.mark.parametrize(("seconds", "who"), [(99, "CHAIN"), (100, "REVOKED"), (200, "REVOKED")])
def test_what_was_revoked_within_a_clocks_accuracy_is_not_proven_older(
    seconds: int, who: str, checker: CheckerPage
) -> None:
    """A list in the file says revoked 100 seconds after the moment of the timestamp, or of the renewal."""
    signer = made.Pair(made.inspector().certificate, None)
    clock = stating(made.timestamper(made.AT, FIRST), accuracy={"seconds": seconds})
    revoked = crl(made.root(), made.AT + YEAR, [(signer, made.AT + timedelta(seconds=100))])
    for pdf in (made.sealed(timestamper=clock), renew_report(made.report(), clock, given=RevocationData()).pdf):
        renewed = renewals.renewed(pdf, FIRST, 1, crls=(revoked,))
        found = checker.examine(renewed, both_roots(), made.AT + 1.1 * YEAR)
        assert (found["intact"]["answer"], found["who"][0]["code"]) == ("yes", who)


@pytest.mark.parametrize("renewal", [False, True])
def test_nothing_that_nobody_signed_stands_in_a_timestamp(renewal: bool, checker: CheckerPage) -> None:
    roots, checks = both_roots(), {**made.CHECKS, "timestamp_roots": (CLOCK.certificate,)}
    for carried in (False, True):
        clock = stating(made.timestamper(made.AT, FIRST), carried=carried)
        pdf = renew_report(made.report(), clock).pdf if renewal else made.sealed(timestamper=clock)
        found = checker.examine(pdf, roots, made.LATER)
        assert found["intact"]["code"] == ("SIGNATURE_FORM" if carried else "INTACT")
        verdict = verify_report(pdf, at=made.LATER, roots=roots, **checks)
        assert verdict.overall == ("indeterminate" if carried else "passed")
        assert (untimely_stamp(pdf, made.AT) is not None) == carried, "nothing is issued or renewed with it"


def test_a_revocation_that_the_file_itself_brings_counts(checker: CheckerPage) -> None:
    signer = made.Pair(made.inspector().certificate, None)
    for at, who in ((1.2, "REVOKED"), (1.7, "CHAIN")):
        revoked = crl(made.root(), made.AT + 1.75 * YEAR, [(signer, made.AT + at * YEAR)])
        pdf = renewals.renewed(ONCE, FIRST, 1.8, crls=(revoked,))
        found = checker.examine(pdf, both_roots(), made.AT + 1.9 * YEAR)
        assert (found["intact"]["answer"], found["who"][0]["code"]) == ("yes", who)
        assert found["head"]["key"] == ("revoked" if who == "REVOKED" else "signed")


def test_an_answer_in_the_store_and_a_countersignature_between_renewals(checker: CheckerPage) -> None:
    at = made.AT + YEAR
    word = answer(made.inspector().certificate, made.root(), at)
    answered = renewals.renewed(made.report(), renewals.FIRST, 1, crls=(), ocsps=(word,))
    waiting = renewals.renewed(made.open_report(), renewals.FIRST, 0.5)
    signed = made.countersigned(waiting, made.engineer(), at=made.AT + 0.6 * YEAR)
    once = made.sealed(revocation=RevocationData(crls=(crl(made.root(), made.AT),)))
    for pdf in (answered, renewals.renewed(signed, renewals.FIRST, 0.7), renewals.renewed(once, renewals.FIRST, 1)):
        found = checker.examine(pdf, [root_der()], made.AT + 1.5 * YEAR)
        assert (found["intact"]["answer"], found["head"]["answer"]) == ("yes", "yes")


CHANGES: list[tuple[str, Callable[[Any], None]]] = [
    *((one.__name__, one) for one in (renewals.pages_replaced, renewals.form_changed, renewals.catalog_changed)),
    *((one.__name__, one) for one in (renewals.stored_beside, renewals.an_object_more)),
    *((what, edit) for what, edit, _ in renewals.EDITS),
]


@pytest.mark.parametrize("change", [one[1] for one in CHANGES], ids=[one[0] for one in CHANGES])
def test_nothing_is_smuggled_in_with_a_renewal(change: Callable[[Any], None], checker: CheckerPage) -> None:
    assert intact(checker, renewals.smuggled(change)) != "yes"


def test_a_store_holds_nothing_that_no_chain_needs(checker: CheckerPage) -> None:
    other = made.certify(made.named("Another"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    der = other.certificate.public_bytes(Encoding.DER)
    for data in (
        RevocationData(certificates=(der,)),
        RevocationData(crls=(crl(other, made.AT),)),
        RevocationData(ocsps=(answer(made.inspector().certificate, other, made.AT),)),
    ):
        found = checker.examine(renewals.smuggled(renewals.nothing, data=data))
        assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "STORE")
    for number in (0, 2, 7):
        assert intact(checker, renewals.smuggled(renewals.nothing, number)) != "yes"


def test_a_store_may_hold_as_many_certificates_as_it_may_lists(checker: CheckerPage) -> None:
    """An authority that certified its own key anew each year; and one of them too many."""
    own = made.root()
    again = [
        made.certify(own.certificate.subject, own.key, None, ca=True, key_usage=made.AUTHORITY) for _ in range(201)
    ]
    ders = tuple(one.certificate.public_bytes(Encoding.DER) for one in again)
    for count, code in ((40, "INTACT"), (201, "LIMIT")):
        pdf = renewals.smuggled(renewals.nothing, data=RevocationData(certificates=ders[:count]))
        assert checker.examine(pdf, [root_der()], made.AT + 1.6 * YEAR)["intact"]["code"] == code


# --- data inside


def test_issue_facts_that_name_another_than_the_job(checker: CheckerPage) -> None:
    """By another holder of a certificate under the same root, who rewrites them alone, and no page."""
    other = real.identity("M. Allory")
    pin = other.certificate.fingerprint(hashes.SHA256()).hex()
    honest = real.built()
    assert checker.examine(real.signed(honest), [root_der()], real.LATER)["head"]["key"] == "signed"
    for more in ({}, {"signs_with": Pin(pin)}):
        named = (Signatory("Inspector", "inspector", "M. Allory", None, "insp", **more),)
        pages = real.built(signers=named, certificate=pin)
        (box,) = building.signature_boxes(pages)
        pdf = seal_report(pages.pdf, other, at=real.AT, location="Harrowdell", box=box)
        found = checker.examine(pdf, [root_der()], real.LATER)
        assert (found["files"]["code"], found["head"]["answer"]) == ("FILES_DISAGREE", "cannot")
        assert [one["answer"] for one in found["named"]] == ["cannot"]
        assert real.verified(pdf).overall == "failed"
    later = {**made.INPUTS, "evaluation.json": (b'{"format":9}', "evaluation")}
    found = checker.examine(made.sealed(made.unsigned(files=later)), [root_der()], made.LATER)
    assert (found["named"][0]["code"], found["head"]["answer"]) == ("NAMES_UNKNOWN", "cannot")


@pytest.mark.parametrize("time", ["2026-13-45T99:99:99Z", "2026-02-30T10:00:00Z", "2026-03-02T14:30:00+24:00"])
def test_a_time_of_issue_that_is_none(time: str, checker: CheckerPage) -> None:
    pdf = made.sealed(made.unsigned(files=made.inputs(issued_at=time)))
    assert checker.examine(pdf, [root_der()], made.LATER)["files"]["code"] == "EMBEDDED"


def test_a_verdict_is_one_of_those_there_are(checker: CheckerPage) -> None:
    """It stands in the headline: a sentence in its place would be read as the page's own."""
    for verdict in ("inconclusive", "conforms. Confirmed by the port authority", "Conforms"):
        held = made.evaluation_naming([made.WHO], verdict=verdict)
        pdf = made.sealed(made.unsigned(files={**made.INPUTS, "evaluation.json": (held, "evaluation")}))
        found = checker.examine(pdf, [root_der()], made.LATER)
        assert found["files"]["code"] == ("FILES_SAME" if verdict == "inconclusive" else "EMBEDDED")


@pytest.mark.parametrize(
    "text",
    [
        '{"a":1,"a":2}', '{"a":1,"\\u0061":2}', '{"a":null}', "[1,]", '{"a":1}x', '{"a":01}', "NaN", '"\n"', "\ufeff{}",
        "[" * 60 + "]" * 60,
    ],
)  # fmt: skip
def test_json_that_another_reader_may_take_otherwise(text: str, checker: CheckerPage) -> None:
    tried = """(text) => { try { window.reader.JsonReader.read(new TextEncoder().encode(text)); return "read"; }
        catch (fault) { return fault.code; } }"""
    assert checker.do(lambda page: page.evaluate(tried, text)) == "EMBEDDED"


def test_names_are_compared_as_everywhere(checker: CheckerPage) -> None:
    from reportgen.names import spelling

    names = [
        "Ines Perk", " INES\u00a0  perk ", "Zoe\u0308", "Zo\u00eb", "WEISS", "wei\u00df", "\u0406nes", "\uff29nes",
        "\u03a3\u03bf\u03c6\u03cc\u03c2", "\u03a3\u039f\u03a6\u038c\u03a3", "Ines\u202e", "a\u00adb", "\u0130",
        "\u0131nes perk", "WEI\u1e9e", "\u13a0", "\uab70",
    ]  # fmt: skip
    compared = "(names) => names.map((one) => window.reader.spelling(one) ?? null)"
    own = checker.do(lambda page: page.evaluate(compared, names))
    for i, one in enumerate(names):
        for j, other in enumerate(names):
            assert (own[i] is not None and own[i] == own[j]) == (
                spelling(one) is not None and spelling(one) == spelling(other)
            ), (one, other)
