"""What a holder of the confirmed key did before signing: the page never says yes where steps 1 to 4 do not pass."""

from __future__ import annotations

import dataclasses
import json
import re
import unicodedata
import zlib
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from unittest import mock

import pikepdf
import pytest
from asn1crypto import cms, core
from asn1crypto import x509 as asn1_x509
from cryptography import x509 as cx509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.errors import SealError
from reportgen.names import UNSEEN, spelling
from reportgen.results import Amount, AreaResult
from reportgen.results.values import Cleaned
from reportgen.verification import verify_report
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.verification import Verification
    from tests.checker_page import CheckerPage

pytestmark = needs_program("chromium")
Name, Dictionary = pikepdf.Name, pikepdf.Dictionary
_VALUE = re.compile(rb"/Contents <([0-9A-Fa-f]+)>")


def root_der() -> bytes:
    return made.root().certificate.public_bytes(Encoding.DER)


def both(checker: CheckerPage, pdf: bytes) -> tuple[dict[str, Any], Verification]:
    """Return what the page and what the program say of a file."""
    found = checker.examine(pdf, [root_der()], made.LATER)
    return found, verify_report(pdf, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)


def ways(verdict: Verification) -> set[str]:
    """Return how steps 1 to 4 ended."""
    return {step.status for step in verdict.steps[:4]}


# --- what stands in the place of an action, and how it is named


def linked(action: Callable[[pikepdf.Pdf], Any]) -> Callable[[pikepdf.Pdf], None]:
    def edit(pdf: pikepdf.Pdf) -> None:
        link = Dictionary(Type=Name.Annot, Subtype=Name.Link, Rect=[0, 0, 9, 9], Border=[0, 0, 0], A=action(pdf))
        pdf.pages[0].obj["/Annots"] = pikepdf.Array([link])

    return edit


def launching(**more: Any) -> Callable[[pikepdf.Pdf], None]:
    return linked(lambda _: Dictionary(F="x", **more))


def behind(kind: str, **more: Any) -> Callable[[pikepdf.Pdf], None]:
    """An action whose kind stands behind a reference."""
    return linked(lambda pdf: Dictionary(S=pdf.make_indirect(Name(kind)), **more))


def beside(*, stream: bool = True, **types: str) -> Callable[[pikepdf.Pdf], None]:
    """A stream or dictionary on a page whose kind stands behind a reference."""

    def edit(pdf: pikepdf.Pdf) -> None:
        thing = pdf.make_stream(b"x") if stream else Dictionary()
        for key, kind in types.items():
            thing[f"/{key}"] = pdf.make_indirect(Name(kind))
        pdf.pages[0].obj["/Beside"] = thing

    return edit


def unframed(pdf: pikepdf.Pdf) -> None:
    stamp = Dictionary(Subtype=Name.Stamp, AP=Dictionary(N=pdf.make_stream(b"")))
    pdf.pages[0].obj["/Annots"] = pikepdf.Array([stamp])


def packed(data: bytes, *filters: str, **more: Any) -> Callable[[pikepdf.Pdf], None]:
    """Pages that draw what is packed like this."""

    def edit(pdf: pikepdf.Pdf) -> None:
        drawn = pdf.make_stream(b"")
        drawn.write(data, filter=pikepdf.Array([Name(one) for one in filters]) if filters else None, **more)
        pdf.pages[0].obj["/Contents"] = drawn

    return edit


def tree(change: Callable[[Any], None]) -> Callable[[pikepdf.Pdf], None]:
    return lambda pdf: change(pdf.Root.Pages)


def in_node_of_another(pages: Any) -> None:
    pages.Kids[0].Parent = pages.Kids[0]


def odd(where: Callable[[pikepdf.Pdf], Any], key: str, value: Any) -> Callable[[pikepdf.Pdf], None]:
    """An entry that our files never have, and that a reader may heed when it shows or prints them."""

    def edit(pdf: pikepdf.Pdf) -> None:
        where(pdf)[f"/{key}"] = value

    return edit


def page(pdf: pikepdf.Pdf) -> Any:
    return pdf.pages[0].obj


def catalog(pdf: pikepdf.Pdf) -> Any:
    return pdf.Root


ODD: dict[str, Callable[[pikepdf.Pdf], None]] = {
    "half of a page": odd(page, "CropBox", [0, 400, 595, 842]),
    "a page upside down": odd(page, "Rotate", 180),
    "a page ten times as large": odd(page, "UserUnit", 10),
    "a page that turns by itself": odd(page, "Dur", 1),
    "a way of turning": odd(page, "Trans", Dictionary(S=Name.Dissolve)),
    "data of another program on a page": odd(page, "PieceInfo", Dictionary()),
    "a box of all pages": odd(lambda pdf: pdf.Root.Pages, "CropBox", [0, 400, 595, 842]),
    "pages that are printed": odd(catalog, "ViewerPreferences", Dictionary(PrintPageRange=[1, 1])),
    "another way to begin": odd(catalog, "PageMode", Name.UseAttachments),
    "numbers of pages": odd(catalog, "PageLabels", Dictionary(Nums=[0, Dictionary(P="9")])),
    "a beginning of all addresses": odd(catalog, "URI", Dictionary(Base="https://x.invalid/")),
    "other presentations": odd(lambda pdf: pdf.Root.Names, "AlternatePresentations", Dictionary(Names=[])),
    "a key of nobody": odd(catalog, "Unknown", 1),
    "an order that is none": odd(page, "Tabs", 1),
    "a place among the tags that is none": odd(page, "StructParents", Name.x),
    "a language that is none": odd(catalog, "Lang", "no language"),
    "a mark of nobody": odd(catalog, "MarkInfo", Dictionary(Marked=True, Suspects=True)),
}


@pytest.mark.parametrize("name", ODD)
def test_what_our_files_never_have_is_refused(name: str, checker: CheckerPage) -> None:
    """The pages are not built again here: `verify` finds it in its step 10."""
    found, verdict = both(checker, made.sealed(made.unsigned(edit=ODD[name])))
    assert (found["intact"]["code"], ways(verdict)) == ("CONTENT", {"passed"})


def test_a_catalog_without_its_kind_is_refused(checker: CheckerPage) -> None:
    found, verdict = both(checker, made.sealed(made.unsigned(edit=lambda pdf: pdf.Root.__delitem__("/Type"))))
    assert found["intact"]["code"] == "CONTENT"
    assert ways(verdict) != {"passed"}


def test_an_identifier_is_two_texts(checker: CheckerPage) -> None:
    pages = made.unsigned()
    (held,) = re.finditer(rb"/ID \[ ?<[0-9a-f]+> ?<[0-9a-f]+> ?\]", pages)
    three = b"/ID [<00><00><00>]"
    changed = pages[: held.start()] + three.ljust(len(held[0])) + pages[held.end() :]
    found, _ = both(checker, changed)
    assert found["intact"]["code"] == "STRUCTURE"
    found, _ = both(checker, pages)
    assert found["intact"]["code"] != "STRUCTURE"


@pytest.mark.parametrize("key", ["AcroForm", "Extensions", "Perms", "Version"])
def test_what_signing_adds_is_not_there_before(key: str, checker: CheckerPage) -> None:
    """What stands there is not looked at, so nothing does: signing would leave some of it as it is."""
    stated = Name("/1.7") if key == "Version" else Dictionary()
    pages = made.unsigned(edit=odd(catalog, key, stated))
    if key == "AcroForm":
        with pytest.raises(SealError):
            made.sealed(pages)
        return
    found, _ = both(checker, made.sealed(pages))
    assert (found["intact"]["answer"], found["head"]["answer"]) == ("cannot", "cannot")


def area(**more: Any) -> AreaResult:
    stated = {"id": "A-1", "structure": "S", "name": "Deck", "verdict": "conforms"}
    stated |= {"unit": "um", "decision": "release"}
    counts = {"required_locations": 1, "n_locations": 0, "n_spots": 0}
    return AreaResult(**{**stated, **counts, **more})


def cleaned(part: int) -> Cleaned:
    done = Amount(Decimal(part), "m2")
    return Cleaned(done, done, Amount(Decimal(9), "m2"))


@pytest.mark.parametrize(
    ("held", "released"),
    [
        (area(), True),
        (area(cleaned=cleaned(9)), True),
        (area(cleaned=cleaned(8)), False),
        (area(decision="rework"), False),
        (area(decision="hold"), False),
        (area(not_inspected="later"), False),
        (area(id="A-2"), False),
    ],
    ids=["released", "cleaned whole", "in part", "rework", "hold", "not inspected", "another"],
)
def test_a_slip_is_of_an_area_that_may_be_primed(held: AreaResult, released: bool, checker: CheckerPage) -> None:
    """Told by the files alone, before anybody reads the block of signatures on the page."""
    evaluation = made.evaluation_naming([made.WHO], areas=(held,))
    files = {**made.inputs(slip="A-1"), "evaluation.json": (evaluation, "evaluation")}
    pdf = made.sealed(made.unsigned(files=files))
    found = checker.examine(pdf, [root_der()], made.LATER)
    assert (found["files"]["code"] == "FILES_SAME") == released
    assert (found["head"]["key"] == "signed") == released

    def again(inside: Any) -> Any:
        results = dataclasses.replace(made.RESULTS, areas=(held,))
        return dataclasses.replace(made.recompute(inside), results=results, evaluation=evaluation)

    verdict = verify_report(pdf, at=made.LATER, roots=[made.root().certificate], **{**made.CHECKS, "recompute": again})
    assert [one.name for one in verdict.reasons] == ([] if released else ["FILES_DISAGREE"])
    assert verdict.steps[6].status == ("passed" if released else "failed")


def test_a_part_that_was_cleaned_is_not_told_as_the_whole(checker: CheckerPage) -> None:
    """In the headline as everywhere: of the rest nothing is said."""
    evaluation = made.evaluation_naming([made.WHO], areas=(area(cleaned=cleaned(8)),))
    files = {**made.INPUTS, "evaluation.json": (evaluation, "evaluation")}
    found = checker.ask(made.sealed(made.unsigned(files=files)), [root_der()], made.LATER)
    assert "1 of 1 inspected areas may be released, 1 of them in the part cleaned alone" in found["head"]["text"]


EDITS: dict[str, Callable[[pikepdf.Pdf], None]] = {
    "launch": launching(S=Name.Launch),
    "launch, called an element of the structure": launching(Type=Name.StructElem, S=Name.Launch),
    "hide, called an element of the structure": launching(Type=Name.StructElem, S=Name.Hide),
    "to another part of a document": launching(S=Name.GoToDp),
    "an action of no kind that is known": launching(S=Name.Nothing),
    "an action after an address": launching(S=Name.URI, URI="https://x.invalid/", Next=Dictionary(S=Name.GoTo)),
    "a link to a script": launching(Type=Name.StructElem, S=Name.URI, URI="javascript:x"),
    "launch by reference": behind("/Launch", F="x"),
    "submit by reference": behind("/SubmitForm", F="x"),
    "another file by reference": behind("/GoToR", F="x"),
    "a link to a script by reference": behind("/URI", URI="javascript:x"),
    "a program of PostScript by reference": beside(Type="/XObject", Subtype="/PS"),
    "a layer by reference": beside(Type="/OCG"),
    "an embedded file by reference": beside(Type="/EmbeddedFile"),
    "a file outside by reference": beside(stream=False, Type="/Filespec"),
    "a mark without a frame": unframed,
    "a page twice": tree(lambda pages: pages.Kids.append(pages.Kids[0])),
    "a page under another node": tree(in_node_of_another),
    "what cannot be unpacked": packed(b"garbage", "/FlateDecode"),
    "packed in an unknown way": packed(b"q Q", "/Nothing"),
    "packed twice": packed(zlib.compress(b"\x02q Q\x80"), "/FlateDecode", "/RunLengthDecode"),
    "too much to unpack": packed(zlib.compress(b" " * (80 << 20), 9), "/FlateDecode"),
}
BY_LATER_STEPS = (*(name for name in EDITS if "unpack" in name or "packed" in name), "an embedded file by reference")
"""What `verify` finds when it reads the pages, rebuilds them, or looks at the files inside."""


@pytest.mark.parametrize("name", EDITS)
def test_what_the_program_refuses_is_never_called_unaltered(name: str, checker: CheckerPage) -> None:
    pdf = made.sealed(made.unsigned(edit=EDITS[name]))
    found, verdict = both(checker, pdf)
    assert (found["intact"]["answer"], found["head"]["answer"]) == ("cannot", "cannot")
    assert (ways(verdict) == {"passed"}) == (name in BY_LATER_STEPS), [one.name for one in verdict.reasons]


@pytest.mark.parametrize("count", [b"/Count 9", b"/Count 2"])
def test_a_tree_that_counts_its_pages_wrongly(count: bytes, checker: CheckerPage) -> None:
    pages = made.unsigned()
    pdf = pages.replace(b"/Count 1", count)
    assert pdf != pages
    found, verdict = both(checker, made.sealed(pdf))
    assert (found["intact"]["answer"], ways(verdict)) == ("cannot", {"failed", "passed"})


HARMLESS: dict[str, Callable[[pikepdf.Pdf], None]] = {
    "a link to an address": launching(S=Name.URI, URI="https://x.invalid/"),
    "a link to a page": linked(lambda pdf: Dictionary(S=Name.GoTo, D=[pdf.pages[0].obj, Name.Fit])),
    "pages in the place of one": packed(zlib.compress(b"q Q"), "/FlateDecode"),
}


@pytest.mark.parametrize("name", HARMLESS)
def test_what_a_report_may_hold_is_no_fault(name: str, checker: CheckerPage) -> None:
    found, verdict = both(checker, made.sealed(made.unsigned(edit=HARMLESS[name])))
    assert (found["head"]["key"], ways(verdict)) == ("signed", {"passed"})


def test_a_tree_whose_nodes_share_their_kids_is_not_walked_for_ever(checker: CheckerPage) -> None:
    """Each level doubles the ways to the last: some thirty of them take years."""

    def edit(pdf: pikepdf.Pdf) -> None:
        made.tagged(pdf)
        numbers = pdf.Root.StructTreeRoot.ParentTree
        node = pdf.make_indirect(Dictionary(Nums=pikepdf.Array()))
        for _ in range(3):
            node = pdf.make_indirect(Dictionary(Kids=pikepdf.Array([node, node])))
        numbers["/Kids"] = pikepdf.Array([node])

    found, _ = both(checker, made.sealed(made.unsigned(edit=edit)))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "LIMIT")


def test_long_tables_are_cut_and_say_so(checker: CheckerPage) -> None:
    spot = {"id": "1", "readings": []}
    location = {"id": "L1", "verdict": "conforms", "spots": [spot] * 5001}
    area = {"id": "A-1", "name": "Deck", "decision": "release", "verdict": "conforms", "reasons": []}
    areas = [{**area, "locations": [location]}]
    held = made.evaluation_naming([made.WHO], areas=areas, findings=[], not_evaluated=[], verdict="conforms")
    pdf = made.sealed(made.unsigned(files={**made.INPUTS, "evaluation.json": (held, "evaluation")}))
    found = checker.ask(pdf, [root_der()], made.LATER)
    assert "conforms: 1 of 1 inspected areas may be released." in found["head"]["text"]
    checker.do(lambda page: page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true"))
    assert "Rows that are not shown: 1." in checker.do(lambda page: page.inner_text("#data"))


def test_english_words_of_a_signature_are_quoted_as_such(checker: CheckerPage) -> None:
    checker.renew(locale="de-DE")
    checker.ask(made.report(), [root_der()], made.LATER)
    told = "(all) => all.map((one) => one.textContent)"
    assert checker.do(lambda page: page.eval_on_selector_all("#who .note [lang=en]", told)) == [
        "„inspection report, issued by the inspector“"
    ]
    checker.renew()


# --- what a signature states of itself


def restated(*, named: Any = None, protected: tuple[str, str] | None = None) -> bytes:
    """A report whose signer states other things of his certificate or algorithms, and signs them."""
    pdf = made.report()
    value = _VALUE.search(pdf)
    assert value is not None
    content = cms.ContentInfo.load(bytes.fromhex(value[1].decode()).rstrip(b"\0"))
    (signer,) = content["content"]["signer_infos"]
    own = {one["type"].native: one for one in signer["signed_attrs"]}
    if named:
        certificate = asn1_x509.Certificate.load(made.inspector().certificate.public_bytes(Encoding.DER))
        stated = {"certs": named(certificate)}
        own["signing_certificate_v2"] = cms.CMSAttribute({"type": "signing_certificate_v2", "values": [stated]})
    if protected:
        hashed, how = protected
        stated = {"digest_algorithm": {"algorithm": hashed}, "signature_algorithm": {"algorithm": how}}
        own["cms_algorithm_protection"] = cms.CMSAttribute({"type": "cms_algorithm_protection", "values": [stated]})
    attributes = cms.CMSAttributes(own.values())
    signer["signed_attrs"] = attributes
    signer["signature"] = core.OctetString(made.inspector().sign(attributes.dump()))
    der = content.dump(force=True)
    return pdf[: value.start(1)] + der.hex().upper().encode().ljust(len(value[1]), b"0") + pdf[value.end(1) :]


def own_hash(certificate: Any, **more: Any) -> dict[str, Any]:
    return {"hash_algorithm": {"algorithm": "sha256"}, "cert_hash": certificate.sha256, **more}


def issued_by(certificate: Any, serial: int) -> dict[str, Any]:
    return {"issuer": [asn1_x509.GeneralName("directory_name", certificate)], "serial_number": serial}


STATED: dict[str, tuple[dict[str, Any], str]] = {
    "the same": ({"named": lambda one: [own_hash(one)]}, "yes"),
    "by issuer and number": (
        {"named": lambda one: [own_hash(one, issuer_serial=issued_by(one.issuer, one.serial_number))]}, "yes",
    ),
    "by another number": (
        {"named": lambda one: [own_hash(one, issuer_serial=issued_by(one.issuer, 12345))]}, "no",
    ),
    "by another issuer": (
        {"named": lambda one: [own_hash(one, issuer_serial=issued_by(one.subject, one.serial_number))]}, "no",
    ),
    "another in the second place, which says nothing of the signer": (
        {"named": lambda one: [own_hash(one), {**own_hash(one), "cert_hash": bytes(32)}]}, "yes",
    ),
    "its own in the second place": (
        {"named": lambda one: [{**own_hash(one), "cert_hash": bytes(32)}, own_hash(one)]}, "no",
    ),
    "the algorithms in use": ({"protected": ("sha256", "sha256_ecdsa")}, "yes"),
    "another hash": ({"protected": ("sha1", "sha256_ecdsa")}, "cannot"),
    "another way of signing": ({"protected": ("sha256", "sha256_rsa")}, "cannot"),
}  # fmt: skip


@pytest.mark.parametrize("name", STATED)
def test_what_a_signature_states_of_itself_is_compared(name: str, checker: CheckerPage) -> None:
    given, expected = STATED[name]
    found, verdict = both(checker, restated(**given))
    assert (found["intact"]["answer"], ways(verdict) == {"passed"}) == (expected, expected == "yes")


# --- limits that a chain states


def below(extra: Any = None, **stated: Any) -> bytes:
    """A report signed below an authority that states ``extra``; the signer's certificate points to ``stated``."""
    between = made.certify(
        made.named("Between"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY, extra=extra
    )
    who = made.certify(made.named(made.inspector().name), made.ec_key(), between)
    if stated:
        pointing = cx509.AuthorityKeyIdentifier(None, [cx509.DirectoryName(stated["issuer"])], stated["serial"])
        instead = mock.Mock(from_issuer_public_key=lambda _: pointing)
        with mock.patch.object(made.x509, "AuthorityKeyIdentifier", instead):
            who = made.certify(made.named(made.inspector().name), made.ec_key(), between)
    stating = made.inputs(certificate=who.certificate.fingerprint(hashes.SHA256()).hex())
    return made.sealed(made.unsigned(files=stating), made.identity_of(who, between, made.root()))


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({}, "signed"),
        ({"extra": cx509.PolicyConstraints(0, None)}, "limits"),
        ({"issuer": made.named("Somebody"), "serial": 77}, "limits"),
    ],
    ids=["none", "of policies", "of the key above"],
)
def test_limits_that_are_not_judged_confirm_nobody(given: Any, expected: str, checker: CheckerPage) -> None:
    found, verdict = both(checker, below(**given))
    assert (found["intact"]["answer"], found["head"]["key"]) == ("yes", expected)
    assert (verdict.steps[4].status == "passed") == (expected == "signed"), verdict.reasons


# --- data inside


@pytest.mark.parametrize("half", [b"\\ud800", b"\xed\xa0\x80"])
@pytest.mark.parametrize("name", ["evaluation.json", "issue.json"])
def test_half_of_a_character_is_told_as_what_it_is(name: str, half: bytes, checker: CheckerPage) -> None:
    held, role = made.INPUTS[name]
    files = {**made.INPUTS, name: (held.replace(b'"name":"', b'"name":"' + half, 1), role)}
    assert files[name][0] != held
    found, verdict = both(checker, made.sealed(made.unsigned(files=files)))
    assert (found["files"]["answer"], found["head"]["answer"]) == ("cannot", "cannot")
    assert f"{name}: a text holds half of a character" in " ".join(one.sentence for one in verdict.reasons)
    assert verdict.overall == "failed"


ISSUE = made.INPUTS["issue.json"][0].decode().replace("Harbour shed", "Elsewhere")
FACTS = {
    "a later format": ISSUE.replace('"format":1', '"format":2'),
    "a format in words": ISSUE.replace('"format":1', '"format":"1"'),
    "a format that is no number": ISSUE.replace('"format":1', '"format":{"text":"1"}'),
    "a key twice": ISSUE.replace("{", '{"format":1,', 1),
    "nobody who signs": json.dumps(
        {key: value for key, value in json.loads(ISSUE).items() if key != "signers"}, separators=(",", ":")
    ),
    "no moment": ISSUE.replace("2026-03-02T14", "x"),
    "a revision that it cannot replace": ISSUE.replace("{", '{"supersedes":{"reason":"x","revision":7},', 1),
    "no JSON": "{",
}


@pytest.mark.parametrize("name", FACTS)
def test_where_facts_of_an_issue_are_not_understood_fields_and_place_are_compared_with_nothing(
    name: str, checker: CheckerPage
) -> None:
    """Those who read on find that the signature was made at another place."""
    files = {**made.INPUTS, "issue.json": (FACTS[name].encode(), made.INPUTS["issue.json"][1])}
    found, verdict = both(checker, made.sealed(made.unsigned(files=files)))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "FACTS_UNKNOWN")
    assert (found["head"]["answer"], found["head"]["key"]) == ("cannot", "unknown")
    assert verdict.overall == "failed"
    assert name != "a later format" or verdict.steps[3].status == "failed"


def test_names_that_agree_name_nobody_before_it_is_confirmed_whose_certificate_it_is(checker: CheckerPage) -> None:
    for roots, said in (((), ("cannot", "NAMES_AGREE")), ([root_der()], ("yes", "NAMED"))):
        (named,) = checker.examine(made.report(), roots, made.LATER)["named"]
        assert (named["answer"], named["code"]) == said


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("D. Rus\u1d0beth", "U+1D0B"), ("S. Merr\u0131n", "U+0131"), ("D. Rusket\u029c", "U+029C"),
        ("P. \u0251mbleweir", "U+0251"), ("D. Rusketh\u301e) CONFIRMED", "⟨U+301E⟩"),
        ("P. Ambleweir\u02ee) \u2014 later confirmed", "⟨U+02EE⟩"), ("D.\u2800Rusketh", "⟨U+2800⟩"),
        ("Nobody\u201d. Confirmed", "Nobody'. Confirmed"), ("a" * 400, "a" * 120 + "…”"),
        ("Zoë Łuckaß", "“Zoë Łuckaß”"),
    ],
)  # fmt: skip
def test_words_of_strangers_in_a_headline_stay_quoted(name: str, told: str, checker: CheckerPage) -> None:
    """Of one who is still to sign: nothing else in the file confirms the name."""
    waiting = made.Countersigner("project engineer", name, made.ENGINEER.box)
    pages = made.unsigned(countersigners=[waiting], files=made.inputs([waiting]))
    found = checker.ask(made.sealed(pages, countersigners=[waiting]), [root_der()], made.LATER)
    text = found["head"]["text"]
    assert found["intact"]["answer"] == "yes"
    assert told in text
    assert text.count("“") == text.count("”") == text.count("„") + 2, "the name and that of the file"
    assert not set(text) & set("\u301e\u02ee\u2800")


def test_every_letter_is_compared_as_the_program_compares_it(checker: CheckerPage) -> None:
    """But those that one of the two does not know yet: each Unicode has more of them."""
    spelt = """() => {
        const all = [];
        for (let code = 0; code < 0x110000; code++) {
            if (code >= 0xd800 && code <= 0xdfff) continue;
            all.push([code, window.reader.spelling("x" + String.fromCodePoint(code))]);
        }
        return all.filter(([, text]) => text !== undefined);
    }"""
    own = dict(checker.do(lambda page: page.evaluate(spelt)))
    assert len(own) > 100_000
    for code in range(0x110000):
        letter = chr(code)
        if unicodedata.category(letter) == "Cn":
            continue
        assert own.get(code) == spelling(f"x{letter}"), f"U+{code:04X}"
    assert unicodedata.category("ı") not in UNSEEN
    assert own[ord("ı")] != own[ord("i")]


# --- objects whose numbers other readers drop


def renumbered(pdf: bytes, to: int, size: int) -> bytes:
    """Return a file of one revision with its last object under another number, and a stated size."""
    body, _, tail = pdf.partition(b"\nxref\n")
    last = int(re.findall(rb"/Size (\d+)", tail)[0]) - 1
    body = re.sub(rb"\b%d 0 (obj|R)\b" % last, rb"%d 0 \1" % to, body) + b"\n"
    rows = [b"%010d 00000 n \n" % found.start() for found in re.finditer(rb"(?m)^\d+ 0 obj", body)]
    table = b"xref\n0 %d\n0000000000 65535 f \n%s" % (last, b"".join(rows[:-1])) + b"%d 1\n" % to + rows[-1]
    trailer = tail[tail.index(b"trailer") : tail.index(b"startxref")]
    trailer = re.sub(rb"/Size \d+", b"/Size %d" % size, trailer)
    return body + table + trailer + b"startxref\n%d\n%%%%EOF\n" % len(body)


@pytest.mark.parametrize(("beyond", "more"), [(0, 0), (1, 0), (2000, 0), (4_000_000, 0), (0, 1), (0, 4_000_000)])
def test_the_numbers_of_objects_leave_no_gap(beyond: int, more: int, checker: CheckerPage) -> None:
    """What stands under a very high number one reader shows, and another drops."""
    pages = made.unsigned()
    last = int(re.findall(rb"/Size (\d+)", pages)[-1]) - 1
    pdf = made.sealed(renumbered(pages, last + beyond, last + beyond + more + 1))
    found, verdict = both(checker, pdf)
    honest = not beyond and not more
    assert found["intact"]["code"] == ("INTACT" if honest else "STRUCTURE")
    assert {one.name for one in verdict.steps[0].reasons} >= (set() if honest else {"FORMAT_FAILURE"})
    assert (ways(verdict) == {"passed"}) == honest
