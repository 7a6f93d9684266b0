"""What the page that checks reports is given beside a report: roots, fingerprints, other files, folders."""

from __future__ import annotations

import base64
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding

from tests.checker_page import DROP
from tests.conftest import ROOT
from tests.e2e import signed_footbridge as real
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from tests.checker_page import CheckerPage

pytestmark = needs_program("chromium")
AXE = (ROOT / "tests" / "axe" / "axe.min.js").read_text("utf-8")
RULES = "{runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}"


def pem(pair: Any) -> bytes:
    return pair.certificate.public_bytes(Encoding.PEM)


def fingerprint(pair: Any) -> str:
    return pair.certificate.fingerprint(hashes.SHA256()).hex().upper()


def stranger(name: str, organisation: str = "Harbour Works", **more: Any) -> made.Identity:
    """Return whoever made himself a root and a certificate in any name."""
    root = made.certify(made.named("Anyone"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    own = made.certify(made.named(name, organisation), made.ec_key(), root, **more)
    return made.identity_of(own, root)


def chosen(checker: CheckerPage, where: str, *files: tuple[str, bytes]) -> None:
    given = [{"name": name, "mimeType": "", "buffer": content} for name, content in files]
    checker.do(lambda page: page.set_input_files(where, given))


def key(checker: CheckerPage) -> str:
    return str(checker.do(lambda page: page.wait_for_selector("#head") and page.get_attribute("#head", "data-key")))


# --- roots


@pytest.mark.parametrize(
    ("name", "before", "after"),
    [
        ("a report behind it", b"", b"%PDF-1.7\n"),
        ("what is no text", b"\0", b""),
        ("one that is cut off", b"", b"-----BEGIN CERTIFICATE-----\nMIIB"),
    ],
)
def test_a_root_is_a_certificate_in_a_text(name: str, before: bytes, after: bytes, checker: CheckerPage) -> None:
    """A PDF that ordinary readers open may begin with a certificate: by it nobody is believed, wherever it is given."""
    checker.renew()
    both = before + pem(made.root()) + after
    chosen(checker, "#root", ("root.pem", both))
    refused = "root.pem holds no certificate that this page can read"
    checker.do(lambda page: page.wait_for_selector(f"text={refused}"))
    chosen(checker, "#report", ("annex.pdf", both))
    assert key(checker) == "unknown"
    chosen(checker, "#report", ("report.pdf", made.report()))
    checker.do(lambda page: page.wait_for_selector("#head[data-key=who]"))
    assert refused in checker.do(lambda page: page.inner_text("#roots")), "still told beside the answer"
    assert not checker.do(lambda page: page.query_selector("#roots li"))


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (b"\xef\xbb\xbf", b""),
        (b"# Root of the body, \xc3\xa9dition 2\r\n", b""),
        (b"Bag Attributes\n    friendlyName: root\nsubject=CN=Root\n", b"\n-- \nwith kind regards\n"),
    ],
)
def test_words_around_a_root_are_passed_over(before: bytes, after: bytes, checker: CheckerPage) -> None:
    """As tools print them that show a certificate before they write it: RFC 7468, 2 and 5.2."""
    checker.renew()
    chosen(checker, "#root", ("root.pem", before + pem(made.root()) + after))
    checker.do(lambda page: page.wait_for_selector("#roots li"))
    chosen(checker, "#report", ("report.pdf", made.report()))
    assert key(checker) == "signed"


def test_a_root_comes_through_its_own_field_alone(checker: CheckerPage) -> None:
    checker.renew()
    told = "text=root.pem is a certificate and no report"
    for where in ("#report", "drop"):
        if where == "drop":
            files = [
                [name, base64.b64encode(one).decode()]
                for name, one in (("r.pdf", made.report()), ("root.pem", pem(made.root())))
            ]
            checker.do(lambda page, files=files: page.evaluate(DROP, files))
            assert key(checker) == "who", "what was dropped with it is checked, and not by it"
        else:
            chosen(checker, where, ("root.pem", pem(made.root())))
        checker.do(lambda page: page.wait_for_selector(told))
        assert fingerprint(made.root())[:8] not in checker.do(lambda page: page.inner_text("#roots"))


def test_a_root_is_shown_by_its_fingerprint_and_can_be_taken_back(checker: CheckerPage) -> None:
    checker.renew()
    chosen(
        checker,
        "#root",
        ("root.pem", pem(made.root())),
        ("again.der", made.root().certificate.public_bytes(Encoding.DER)),
    )
    checker.do(lambda page: page.wait_for_selector("#roots li"))
    chosen(checker, "#report", ("report.pdf", made.report()))
    assert key(checker) == "signed"
    shown = checker.do(lambda page: page.inner_text("#roots"))
    assert fingerprint(made.root()) in shown.replace("\n", "").replace(" ", "")
    assert shown.count("Remove") == 1, "the same certificate counts once"
    assert "must not come from the message that brought the report" in shown
    checker.do(lambda page: page.click("#roots button"))
    checker.do(lambda page: page.wait_for_selector("#head[data-key=who]"))
    assert checker.do(lambda page: page.inner_text("#roots")) == ""


def test_a_fingerprint_that_fits_nothing_is_said_whatever_a_root_confirms(checker: CheckerPage) -> None:
    """Whoever typed what the letter says, and then took the root that came with a forgery, is told of both."""
    letter, other, own = "A1" * 32, "B2" * 32, fingerprint(made.root())
    idle = made.Pair(stranger("Anyone").chain[0], None)
    checker.renew()
    chosen(checker, "#root", ("root.pem", pem(made.root())), ("other.pem", pem(idle)))
    chosen(checker, "#report", ("report.pdf", made.report()))
    assert key(checker) == "signed"
    for typed, head, word in (
        (letter, "torn", "Several may stand"),
        (letter[:-1], "unread", "63 digits are left over"),
        ("x" + own, "unread", "No fingerprint was found"),
        ("a letter " * 500 + own, "unread", "More stands here than is read"),
        (f"{own} {other} {letter[:-1]}", "signed", "63 digits are left over"),
    ):
        checker.do(lambda page, typed=typed: page.fill("#published", typed))
        checker.do(lambda page, word=word: page.wait_for_selector(f".compare :text('{word}')"))
        checker.do(lambda page, head=head: page.wait_for_selector(f"#head[data-key={head}]"))
        vain = checker.do(lambda page: [one.inner_text() for one in page.query_selector_all(".vain .hash")])
        assert [one.replace(" ", "").replace("\n", "") for one in vain] == [
            one for one in (letter, other) if one in typed
        ]
    checker.do(lambda page: page.emulate_media(media="print"))
    printed = checker.do(lambda page: page.inner_text("#who")).replace(" ", "").replace("\n", "")
    checker.do(lambda page: page.emulate_media(media="screen"))
    assert f"Confirmedbythisfingerprintthatwastyped:{own}" in printed
    assert f"fingerprint{own},whichwaschosen.Therootcertificateof" in printed
    assert f"fingerprint{fingerprint(idle)},whichwaschosen,confirmsnone" in printed
    assert "63digitsareleftover" in printed


def test_what_is_typed_of_what_stands_above_counts_wherever_trust_begins(checker: CheckerPage) -> None:
    """An authority below the root was chosen, and the letter has the root's own digits: the page itself advises it."""
    root = made.certify(made.named("Upper"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    below = made.certify(made.named("Lower"), made.ec_key(), root, ca=True, key_usage=made.AUTHORITY)
    own = made.certify(made.named("Ines Perk"), made.ec_key(), below)
    pdf = made.force_sealed(who=made.identity_of(own, below, root))
    checker.renew()
    chosen(checker, "#root", ("below.pem", pem(below)))
    chosen(checker, "#report", ("report.pdf", pdf))
    for typed in (fingerprint(root), fingerprint(below), fingerprint(own)):
        checker.do(lambda page, typed=typed: page.fill("#published", typed))
        checker.do(
            lambda page, typed=typed: page.wait_for_selector(
                f"#who .printed .hash:has-text('{typed[:8]}')", state="attached"
            )
        )
        assert key(checker) == "signed"


def test_of_two_who_signed_none_is_confirmed_by_a_file_alone_beside_digits_that_fit_nobody(
    checker: CheckerPage,
) -> None:
    client = stranger(made.ENGINEER.name)
    pdf = made.countersigned(made.countersigned(made.open_report(), client), made.owner())
    checker.renew()
    chosen(checker, "#root", ("client.pem", pem(made.Pair(client.chain[0], None))))
    chosen(checker, "#report", ("report.pdf", pdf))
    own = fingerprint(made.root())
    for typed, head in ((own, "signed"), (f"{own} {'A1' * 32}", "torn")):
        checker.do(lambda page, typed=typed: page.fill("#published", typed))
        checker.do(lambda page, head=head: page.wait_for_selector(f"#head[data-key={head}]"))


@pytest.mark.parametrize("where", ["brought along", "chosen", "of the time", "of a countersigner"])
def test_a_fingerprint_typed_is_of_who_signed_or_confirms_nobody(where: str, checker: CheckerPage) -> None:
    """The genuine root may stand anywhere: where no signature covers it, beside the forger's, above a clock."""
    forger = stranger("Ines Perk")
    roots = [("false.pem", pem(made.Pair(forger.chain[0], None)))]
    if where == "brought along":
        pdf = made.force_sealed(who=replace(forger, chain=(*forger.chain, made.root().certificate)))
    elif where == "of the time":
        pdf = made.force_sealed(who=forger, timestamper=made.timestamper())
    elif where == "of a countersigner":
        open_report = made.force_sealed(who=forger, countersigners=(made.ENGINEER, made.OWNER))
        pdf = made.countersigned(made.countersigned(open_report, made.engineer()), made.owner())
    else:
        pdf = made.force_sealed(who=forger)
        roots.append(("root.pem", pem(made.root())))
    checker.renew()
    chosen(checker, "#root", *roots)
    chosen(checker, "#report", ("report.pdf", pdf))
    key(checker)
    checker.do(lambda page: page.fill("#published", fingerprint(made.root())))
    checker.do(lambda page: page.wait_for_selector("#head[data-key=torn]"))


# --- several signers


def test_a_countersigner_under_another_root_makes_nobody_a_stranger(checker: CheckerPage) -> None:
    client = stranger(made.ENGINEER.name)
    client_root = made.Pair(client.chain[0], None)
    pdf = made.countersigned(made.countersigned(made.open_report(), client), made.owner())
    for given, head, who in (
        (fingerprint(made.root()), "partly", ["CHAIN", "CHAIN_NO_ROOT", "CHAIN"]),
        (fingerprint(made.inspector()), "partly", ["FINGERPRINT", "CHAIN_NO_ROOT", "CHAIN_NO_ROOT"]),
        (fingerprint(client_root), "countersigned", ["CHAIN_NO_ROOT", "CHAIN", "CHAIN_NO_ROOT"]),
        (f"{fingerprint(client_root)} {fingerprint(made.root())}", "signed", ["CHAIN"] * 3),
        ("AB" * 32, "stranger", ["FINGERPRINT_DIFFERS"] * 3),
    ):
        found = checker.ask(pdf, at=made.LATER, fingerprint=given)
        assert (found["head"]["key"], [one["code"] for one in found["who"]]) == (head, who)
        if head == "partly" and given == fingerprint(made.root()):
            said = (
                f"Unaltered, and signed by Ines Perk, Harbour Works; {made.OWNER.name}, Harbour Works. Not confirmed: "
            )
            assert found["head"]["text"].startswith(f"{said}Countersigner 1 (“{made.ENGINEER.name}, Harbour Works”).")
        if head == "countersigned":
            said = f"and countersigned by {made.ENGINEER.name}, Harbour Works. Not confirmed: Inspector (“Ines"
            assert said in found["head"]["text"]


@pytest.mark.parametrize(
    ("kind", "who"),
    [
        ("in that name", lambda: stranger(made.ENGINEER.name)),
        ("in another name", lambda: stranger("Nobody")),
        ("a demonstration", lambda: stranger(made.ENGINEER.name, "demonstration, not valid for issue")),
        ("for mail", lambda: stranger(made.ENGINEER.name, purposes=("1.3.6.1.5.5.7.3.4",))),
        ("past its dates", lambda: stranger(made.ENGINEER.name, end=made.AT + timedelta(hours=3))),
    ],
)  # fmt: skip
def test_what_a_stranger_puts_into_an_open_field_is_his_own(kind: str, who: Any, checker: CheckerPage) -> None:
    pdf = made.countersigned(made.open_report(), who(), "Countersigner-1")
    root = made.root().certificate.public_bytes(Encoding.DER)
    found = checker.examine(pdf, [root], made.LATER)
    assert found["head"] == {"answer": "cannot", "key": "partly"}, kind
    assert [one["answer"] for one in found["who"]] == ["yes", "cannot"]
    assert checker.examine(pdf, [], made.LATER, ["CD" * 32])["head"]["key"] == "stranger"


def test_who_is_still_to_sign_is_told_at_once(checker: CheckerPage) -> None:
    waiting = made.countersigned(made.open_report(), made.engineer())
    found = checker.ask(waiting, [made.root().certificate.public_bytes(Encoding.DER)], made.LATER)
    (head,) = found["head"]["text"].split("\n")[:1]
    assert found["head"]["key"] == "signed"
    assert head.endswith(f" Not yet signed by Countersigner 2 (“{made.OWNER.name}”).")
    complete = checker.ask(made.complete_report(), [made.root().certificate.public_bytes(Encoding.DER)], made.LATER)
    assert "Not yet signed" not in complete["head"]["text"]


def test_a_name_that_nothing_confirms_stands_apart_from_what_the_page_says(checker: CheckerPage) -> None:
    sentence = "nobody”. Confirmed by the port authority („or „so“"
    pdf = made.countersigned(made.open_report(), stranger(sentence), "Countersigner-1")
    found = checker.ask(pdf, [made.root().certificate.public_bytes(Encoding.DER)], made.LATER)
    (head,) = found["head"]["text"].split("\n")[:1]
    assert head.count("“") == head.count("”") == 2, "the stranger, and who is still to sign"
    assert "Not confirmed: Countersigner 1 (“nobody'. Confirmed by" in head


def test_a_chain_that_breaks_off_makes_nobody_a_stranger(checker: CheckerPage) -> None:
    """The root is not in the file, or not even the authority below it: its fingerprint is nowhere to be found."""
    below = made.certify(made.named("Below"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY)
    own = made.certify(made.named("Ines Perk"), made.ec_key(), below)
    root = made.root().certificate.public_bytes(Encoding.DER)
    for chain, roots, typed, key in (
        ((below,), [], fingerprint(made.root()), "absent"),
        ((below,), [root], "", "signed"),
        ((), [root], "", "absent"),
        ((), [root, below.certificate.public_bytes(Encoding.DER)], "", "signed"),
        ((below, made.root()), [], fingerprint(made.root()), "signed"),
        ((below, made.root()), [], "AB" * 32, "stranger"),
    ):
        pdf = made.sealed(who=made.identity_of(own, *chain))
        found = checker.ask(pdf, roots, made.LATER, typed)
        assert found["head"]["key"] == key, (len(chain), len(roots), typed)
        if key == "absent":
            assert "Choose the file of the root certificate" in found["head"]["text"]


def test_what_is_wrong_with_a_certificate_reaches_the_headline(checker: CheckerPage) -> None:
    """Comparing digits is no help against it, so nothing says so. A stranger's fault is not the one that is told."""
    root = [made.root().certificate.public_bytes(Encoding.DER)]
    of = lambda **more: made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), made.root(), **more))  # noqa: E731
    mail, ended = of(purposes=("1.3.6.1.5.5.7.3.1",)), of(end=made.AT + timedelta(hours=1))
    plain = made.certify(made.named("Plain"), made.ec_key(), made.root())
    no_issuer = made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), plain), plain)
    for who, code, key in (
        (mail, "UNFIT", "unfit"),
        (ended, "CHAIN_DATES", "dates"),
        (no_issuer, "CHAIN_ISSUER", "unfit"),
    ):
        found = checker.ask(made.force_sealed(who=who), root, made.LATER)
        assert (found["who"][0]["code"], found["head"]["key"]) == (code, key)
        assert "Inspector (“Ines Perk" in found["head"]["text"]
        assert "Compare the" not in found["head"]["text"]
    alien = stranger("Ines Perk", end=made.AT + timedelta(hours=1))
    found = checker.ask(made.force_sealed(who=alien), root, made.LATER)
    assert found["head"]["key"] == "stranger"


# --- what is typed


@pytest.mark.parametrize("delay", [0, 15])
def test_what_is_typed_stays_as_it_is_typed(delay: int, checker: CheckerPage) -> None:
    """By whoever types while the answers change, corrects a digit in the middle, and never leaves the field."""
    pdf, typed = real.signed(real.built(countersigned=True)), fingerprint(made.root())
    checker.ask(pdf, at=real.LATER)
    counted = """() => { window.read = 0; const own = crypto.subtle.digest;
        crypto.subtle.digest = function (...all) {
            window.read += all[1].length > 100_000;
            return own.apply(this, all); }; }"""

    def entered(page: Any) -> tuple[Any, ...]:
        page.evaluate(counted)
        page.click("#published")
        page.keyboard.type(typed[:20] + "0" + typed[20:], delay=delay)
        page.wait_for_timeout(600)
        for _ in range(44):
            page.keyboard.press("ArrowLeft")
        page.wait_for_timeout(600)
        place = page.evaluate("document.activeElement.selectionStart")
        page.keyboard.press("Backspace")
        page.wait_for_selector("#head[data-key=signed]")
        after = page.evaluate("[document.activeElement.id, document.activeElement.selectionStart, window.read]")
        return page.input_value("#published"), place, *after

    assert checker.do(entered) == (typed, 21, "published", 20, 0)
    checker.renew()


@pytest.mark.parametrize(
    "around",
    [
        "{}", "SHA256 Fingerprint={}", "sha256 Fingerprint={}", "SHA-256: {}", "SHA 256 {}",
        "Fingerprint of the root: {}",
        "Fingerabdruck: {}", "Fingerabdruck der Root CA: {}", "CA: {}", "CA={}", "Root: {} (valid until 2046)",
        "“{}”", "The body's root, B. Sandrel:\n\n{}\n\nKind regards", "{}, {}",
        "Fingerabdruck der Wurzel (gültig ab 2026): {}", "SHA-256 of the root, valid 2026-11-30 to 2029-11-30: {}",
        "1) {}", "{} (2029-11-30)", "Root 2: {}",
    ],
)  # fmt: skip
@pytest.mark.parametrize("form", ["plain", "pairs", "blanks", "lines"])
def test_the_digits_are_found_behind_the_words(around: str, form: str, checker: CheckerPage) -> None:
    digits = fingerprint(made.root())
    pairs = [digits[at : at + 2] for at in range(0, 64, 2)]
    text = {
        "plain": digits.lower(),
        "pairs": ":".join(pairs),
        "blanks": " ".join(digits[at : at + 8] for at in range(0, 64, 8)),
        "lines": ":".join(pairs[:16]) + ":\n" + ":".join(pairs[16:]),
    }[form]
    found = checker.do(
        lambda page: page.evaluate("(text) => window.reader.fingerprintsIn(text)", around.replace("{}", text))
    )
    assert found == {"published": [digits], "odd": 0, "left": "", "mistyped": False}


def test_what_is_left_over_is_told_and_makes_no_fingerprint(checker: CheckerPage) -> None:
    one, other = fingerprint(made.root()), fingerprint(made.inspector())
    for text, published, odd in (
        (one[:60], [], 60),
        (f"{one} {other}", [one, other], 0),
        (f"{one}, then {other[:40]}", [one], 40),
        (one + other[:2], [], 66),
        ("no digits of any kind here", [], 0),
    ):
        found = checker.do(lambda page, text=text: page.evaluate("(text) => window.reader.fingerprintsIn(text)", text))
        assert (found["published"], found["odd"]) == (published, odd)
        assert odd == 0 or len(found["left"].replace(" ", "")) == odd


@pytest.mark.parametrize("groups", [64, 8, 4])
def test_digits_that_were_typed_as_letters_are_told(groups: int, checker: CheckerPage) -> None:
    digits = f"{'0123456789ABCDEF' * 4}"
    text = " ".join(digits[at : at + groups] for at in range(0, 64, groups))
    wide = "".join(chr(ord(one) + 0xFEE0) if one != " " else one for one in text)
    for typed, published, mistyped in (
        (text, [digits], False),
        (wide, [digits], False),
        (text.replace("0", "O"), [], True),
        (text.replace("1", "l"), [], True),
        (text.replace("0", "X"), [], False),
    ):
        found = checker.do(
            lambda page, typed=typed: page.evaluate("(text) => window.reader.fingerprintsIn(text)", typed)
        )
        assert (found["published"], found["mistyped"]) == (published, mistyped)
    checker.ask(made.report(), at=made.LATER)
    checker.do(lambda page: page.fill("#published", text.replace("0", "O")))
    checker.do(lambda page: page.wait_for_selector("text=a letter O, I or L where only a digit can stand"))


def test_the_digits_that_are_left_over_are_named(checker: CheckerPage) -> None:
    checker.ask(made.report(), at=made.LATER)
    checker.do(lambda page: page.fill("#published", f"{fingerprint(made.root())}, then 0123456789ABCDEF0123"))
    checker.do(lambda page: page.wait_for_selector("text=20 digits are left over (0123456789ABCDEF0123)"))


# --- a doubt about one is none about another


ROOT_DER = made.root().certificate.public_bytes(Encoding.DER)


@pytest.mark.parametrize(
    ("days", "key", "answer"), [(-2, "partly-time", "no"), (1, "partly", "cannot")], ids=["early", "after"]
)
def test_a_strangers_time_takes_nobody_elses_name_away(days: int, key: str, answer: str, checker: CheckerPage) -> None:
    """Whoever countersigns under a root of his own may claim what he likes."""
    anyone = made.certify(made.named("Anyone"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    who = made.identity_of(made.certify(made.named(made.ENGINEER.name), made.ec_key(), anyone), anyone)
    pdf = made.countersigned(made.open_report(), who, at=made.AT + timedelta(days=days))
    for locale, doubt in (("en-GB", "with a time that is in doubt: "), ("de-DE", "mit zweifelhaftem Zeitpunkt: ")):
        checker.renew(locale=locale)
        found = checker.ask(pdf, [ROOT_DER], made.LATER)
        assert (found["head"]["key"], found["head"]["answer"]) == (key, answer)
        assert "Ines Perk" in found["head"]["text"]
        assert (doubt in found["head"]["text"]) == (key == "partly-time")
    checker.renew()
    own = made.countersigned(made.open_report(), made.engineer(), at=made.AT + timedelta(days=days))
    assert checker.examine(own, [ROOT_DER], made.LATER)["head"]["key"] == ("time" if days < 0 else "signed")
    assert checker.examine(pdf, [], made.LATER)["head"]["key"] == ("time" if days < 0 else "who")


def test_a_certificate_that_is_not_yet_valid_is_not_called_ended(checker: CheckerPage) -> None:
    soon = made.certify(
        made.named("Soon"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY,
        begin=made.LATER + timedelta(days=9),
    )  # fmt: skip
    who = made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), soon), soon)
    for locale, said in (("en-GB", "past its dates or not yet valid"), ("de-DE", "abgelaufen oder noch nicht gültig")):
        checker.renew(locale=locale)
        found = checker.ask(made.force_sealed(who=who), [ROOT_DER], made.LATER)
        assert found["head"]["key"] == "dates"
        assert said in found["head"]["text"]
        assert said in found["who"][0]["text"]
    checker.renew()


def test_what_is_not_compared_is_told_beside_what_is(checker: CheckerPage) -> None:
    for locale, bytes_, pages in (
        ("en-GB", "Every byte is signed, no part of the file is left out", "What the pages show is not looked at here"),
        ("de-DE", "Jedes Byte ist unterschrieben", "Was die Seiten zeigen, wird hier nicht angesehen"),
    ):
        checker.renew(locale=locale)
        found = checker.ask(made.report(), [ROOT_DER], made.LATER)
        assert pages in found["head"]["text"]
        assert bytes_ in found["intact"]["text"]
    checker.renew()


# --- what is no report


def test_of_several_files_one_is_looked_at_and_the_page_says_which(checker: CheckerPage) -> None:
    checker.renew()
    files = [[name, base64.b64encode(made.report()).decode()] for name in ("a.pdf", "b.pdf", "c.pdf")]
    checker.do(lambda page: page.evaluate(DROP, files))
    checker.do(lambda page: page.wait_for_selector("text=Only “c.pdf” was looked at. Files left aside: 2."))
    checker.do(lambda page: page.evaluate(DROP, files[:1]))
    checker.do(lambda page: page.wait_for_selector("text=“a.pdf”, "))
    assert "left aside" not in checker.do(lambda page: page.inner_text("#result"))


def test_the_answer_on_one_file_never_stands_over_another(checker: CheckerPage) -> None:
    """An unreadable file and a slow medium, after a genuine report was checked."""
    unreadable = """() => {
        const file = new File(["x"], "altered.pdf");
        file.slice = () => ({ arrayBuffer: () => Promise.reject(new DOMException("no", "NotReadableError")) });
        const drop = new DragEvent("drop", { bubbles: true, cancelable: true });
        Object.defineProperty(drop, "dataTransfer", { value: { files: [file] } });
        document.documentElement.dispatchEvent(drop);
    }"""
    slow = """() => { const own = Blob.prototype.arrayBuffer;
        Blob.prototype.arrayBuffer = function () {
            return new Promise((done) => setTimeout(() => done(own.call(this)), 2000)); }; }"""
    root = made.root().certificate.public_bytes(Encoding.DER)
    assert checker.ask(made.report(), [root], made.LATER)["head"]["key"] == "signed"
    checker.do(lambda page: page.evaluate(unreadable))
    checker.do(lambda page: page.wait_for_selector("#intact[data-code=UNREADABLE]"))
    told = checker.do(lambda page: page.inner_text("#result"))
    assert "altered.pdf" in told
    assert "If it is a folder" in told
    assert checker.ask(made.report(), [root], made.LATER)["head"]["key"] == "signed"
    checker.do(lambda page: page.evaluate(slow))
    chosen(checker, "#report", ("other.pdf", made.report()))
    assert checker.do(lambda page: page.inner_text("#result")).strip() == "Checking other.pdf …"
    checker.renew()


def test_a_folder_is_told_as_such(checker: CheckerPage, tmp_path: Any) -> None:
    (tmp_path / "reports").mkdir()
    root = made.root().certificate.public_bytes(Encoding.DER)
    assert checker.ask(made.report(), [root], made.LATER)["head"]["key"] == "signed"

    def dropped(page: Any) -> str:
        devices = page.context.new_cdp_session(page)
        for kind in ("dragEnter", "dragOver", "drop"):
            data = {"items": [], "files": [str(tmp_path / "reports")], "dragOperationsMask": 1}
            devices.send("Input.dispatchDragEvent", {"type": kind, "x": 200, "y": 200, "data": data})
        page.wait_for_selector("#intact[data-code=UNREADABLE]")
        return str(page.get_attribute("#head", "data-key"))

    assert checker.do(dropped) == "unknown"
    checker.renew()


# --- for everybody


@pytest.mark.parametrize("language", ["en-GB", "de-DE"])
@pytest.mark.parametrize("width", [390, 1280])
def test_axe_has_nothing_to_object_to(language: str, width: int, checker: CheckerPage) -> None:
    """WCAG 2.2 AA and good practice, as axe-core of the npm registry has them, in every state of the page."""
    checker.renew(locale=language, viewport={"width": width, "height": 900}, bypass_csp=True)
    root = made.root().certificate.public_bytes(Encoding.DER)

    def objected(page: Any) -> list[str]:
        page.evaluate(AXE)
        found = page.evaluate(f"() => axe.run({RULES})")["violations"]
        return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in found]

    found = {"empty": checker.do(objected)}
    for state, pdf, roots in (
        ("signed", made.complete_report(), [root]),
        ("open", made.open_report(), []),
        ("altered", made.report() + b"x", []),
        ("demonstration", (ROOT / "samples" / "tessowick-2026-09-15.pdf").read_bytes(), []),
    ):
        checker.ask(pdf, roots, made.LATER)
        found[state] = checker.do(objected)
    assert found == {state: [] for state in found}
    checker.errors.clear()
    checker.renew()
