"""Holders of a trusted certificate: they sign in another's name, or change the report in the revision of a signature.

Every signature in these files is sound and leads to the trusted root; no outside program has anything against them.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any
from unittest import mock

import pikepdf
from cryptography import x509

from reportgen.increments import PreparedRevision, Statement, writing
from reportgen.seal import Countersigner, signing
from tests.e2e.tamper import appended
from tests.e2e.tamper.appended import dictionary, field, first_page, form, name, numbers, page, root, stream
from tests.e2e.tamper.ranges import revalued
from tests.e2e.tamper.rows import MATHEMATICS, Row, doubtful, failed, passed
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportgen.seal import Identity

    Edit = Callable[[Any], None]

CN, BODY, UNIT = x509.NameOID.COMMON_NAME, x509.NameOID.ORGANIZATION_NAME, x509.NameOID.ORGANIZATIONAL_UNIT_NAME
PAIR = (made.ENGINEER, made.OWNER)
BOTH = (made.WHO, ("coating engineer", "Edda Falk", None), ("owner's representative", "Olin Marsh", None))


def rows() -> Iterator[Row]:
    yield from _names_that_hold()
    yield from _names_of_others()
    yield from _fields_of_others()
    yield from _words()
    yield from _along_with_the_first()
    yield from _along_with_a_further_one()
    yield from _by_hand()


# --- who


def holder(*attributes: tuple[x509.ObjectIdentifier, str]) -> Identity:
    """Return an identity of the trusted authority with this subject."""
    subject = x509.Name([x509.NameAttribute(kind, value) for kind, value in attributes])
    return made.identity_of(made.certify(subject, made.ec_key(), made.root()), made.root())


def naming(*people: tuple[str, str, str | None], who: Identity | None = None, **more: Any) -> bytes:
    """Return a report whose job names these people, sealed by ``who`` (the inspector of the other reports)."""
    waiting = tuple(Countersigner(role, person, (1, 72.0, 200.0, 272.0, 240.0)) for role, person, _ in people[1:])
    pdf = made.unsigned(files=made.inputs_naming(*people))
    return made.sealed(pdf, who, countersigners=more.pop("countersigners", waiting), **more)


def _of(
    person: str, organisation: str | None = None, *subject: tuple[x509.ObjectIdentifier, str]
) -> Callable[[], bytes]:
    """Return how to seal the report of this inspector with a certificate for ``subject``."""
    return lambda: naming(("inspector", person, organisation), who=holder(*subject))


def _names_that_hold() -> Iterator[Row]:
    perk = (CN, "Ines Perk")
    yield passed("name in capitals", _of("Ines Perk", None, (CN, "INES PERK")))
    yield passed("name with other blanks", _of("Ines Perk", None, (CN, " Ines\u00a0  Perk ")))
    yield passed("accents composed in the certificate", _of("Zoe\u0308 A\u030aberg", None, (CN, "Zo\u00eb \u00c5berg")))
    yield passed("accents apart in the certificate", _of("Zo\u00eb \u00c5berg", None, (CN, "Zoe\u0308 A\u030aberg")))
    yield passed("sharp s in capitals", _of("J\u00f6rg Wei\u00df", None, (CN, "J\u00d6RG WEISS")))
    yield passed(
        "name in Greek",
        _of(
            "\u0396\u03ce\u03b7 \u03a3\u03bf\u03c6\u03cc\u03c2",
            None,
            (CN, "\u0396\u03ce\u03b7 \u03a3\u03bf\u03c6\u03cc\u03c2"),
        ),
    )
    yield passed(
        "organisation of the authority's own, none in the job", _of("Ines Perk", None, perk, (BODY, "Trust Services"))
    )
    yield passed(
        "same organisation", _of("Ines Perk", "Harbour Works", perk, (BODY, "HARBOUR  works"), (UNIT, "Coatings"))
    )
    person = ((x509.NameOID.COUNTRY_NAME, "DE"), (BODY, "Harbour Works"), (UNIT, "Coatings"), (UNIT, "Field staff"))
    more = ((x509.NameOID.GIVEN_NAME, "Ines"), (x509.NameOID.SURNAME, "Perk"), (x509.NameOID.SERIAL_NUMBER, "PNO-1"))
    yield passed("a long subject", _of("Ines Perk", "Harbour Works", *person, *more, perk))
    father = ("coating engineer", "Ines Perk", None)
    own = functools.partial(made.countersigned, who=holder(perk), field="Countersigner-1")
    yield passed("two people of one name, each with a key", lambda: own(naming(made.WHO, father)))


def _names_of_others() -> Iterator[Row]:
    wrong = "SIGNER_NOT_NAMED"
    yield doubtful("signed by another person", lambda: naming(made.WHO, who=made.engineer()), wrong, why=MATHEMATICS)
    subjects: tuple[tuple[str, str], ...] = (
        ("a letter that looks alike", "\u0406nes Perk"),
        ("a wide letter", "\uff29nes Perk"),
        ("an accent less", "In\u00e9s Perk"),
        ("a mark of direction", "\u202eInes Perk"),
        ("a mark of direction at the end", "Ines Perk\u200f"),
        ("a joiner", "Ines\u200d Perk"),
        ("a blank of no width", "Ines\u200b Perk"),
        ("a soft hyphen", "Ines Per\u00adk"),
        ("a byte order mark", "Ines Perk\ufeff"),
        ("a control character", "Ines\x07 Perk"),
        ("a zero", "Ines Perk\0"),
        ("a line end", "Ines\nPerk"),
        ("a line separator", "Ines\u2028Perk"),
        ("a title", "Dr. Ines Perk"),
        ("the names turned round", "Perk, Ines"),
        ("an initial", "I. Perk"),
        ("two names in one", "Ines Perk, Edda Falk"),
    )
    for what, common in subjects:
        yield doubtful(f"name with {what}", _of("Ines Perk", None, (CN, common)), wrong, why=MATHEMATICS)
    yield doubtful(
        "two common names", _of("Ines Perk", None, (CN, "Ines Perk"), (CN, "Edda Falk")), wrong, why=MATHEMATICS
    )
    yield doubtful("no common name", _of("Ines Perk", None, (BODY, "Ines Perk")), wrong, why=MATHEMATICS)
    others = {"pseudonym": x509.NameOID.PSEUDONYM, "unit": UNIT, "title": x509.NameOID.TITLE}
    for what, kind in others.items():
        subject = ((CN, "Rolf Krahn"), (kind, "Ines Perk"))
        yield doubtful(f"the name as a {what}", _of("Ines Perk", None, *subject), wrong, why=MATHEMATICS)
    silent = _of("Ines Perk", "Harbour Works", (CN, "Ines Perk"))
    yield doubtful("no organisation, where the job names one", silent, wrong, why=MATHEMATICS)
    elsewhere = _of("Ines Perk", "Harbour Works", (CN, "Ines Perk"), (BODY, "Rival Works"))
    yield doubtful("a namesake of another organisation", elsewhere, wrong, why=MATHEMATICS)
    two = _of("Ines Perk", "Harbour Works", (CN, "Ines Perk"), (BODY, "Rival Works"), (BODY, "Harbour Works"))
    yield doubtful("a namesake of two organisations", two, wrong, why=MATHEMATICS)


def _fields_of_others() -> Iterator[Row]:
    wrong, fields = "SIGNER_NOT_NAMED", "CHANGED_WHEN_SIGNING"
    signed = made.countersigned

    def swapped() -> bytes:
        return signed(signed(naming(*BOTH), made.owner(), "Countersigner-1"), made.engineer(), "Countersigner-2")

    yield doubtful("two countersigners in each other's fields", swapped, wrong, why=MATHEMATICS)
    one = functools.partial(naming, *BOTH)
    yield doubtful(
        "one in the other's field", lambda: signed(one(), made.owner(), "Countersigner-1"), wrong, why=MATHEMATICS
    )
    self_signed = functools.partial(lambda: signed(one(), made.inspector(), "Countersigner-1"))
    yield failed("countersigned by the inspector", self_signed, f"{wrong} SIGNED_TWICE", why=MATHEMATICS)
    stranger = holder((CN, "Rolf Krahn"))
    other = lambda: signed(one(), stranger, "Countersigner-2")  # noqa: E731 - one of many short ways
    yield doubtful("countersigned by another", other, wrong, why=MATHEMATICS)
    twice = (made.WHO, ("coating engineer", "Ines Perk", None))
    again = functools.partial(made.countersigned, field="Countersigner-1")
    yield failed(
        "one certificate for two people",
        lambda: again(naming(*twice), made.inspector()),
        "SIGNED_TWICE",
        why=MATHEMATICS,
    )
    yield failed("one key in two certificates", _one_key, "SIGNED_TWICE", why=MATHEMATICS)
    engineers = (made.WHO, BOTH[1], ("owner's representative", "Edda Falk", None))

    def both() -> bytes:
        return signed(
            signed(naming(*engineers), made.engineer(), "Countersigner-1"), made.engineer(), "Countersigner-2"
        )

    yield failed("one certificate for both countersigners", both, "SIGNED_TWICE", why=MATHEMATICS)
    yield failed("no field for the engineer", lambda: naming(*BOTH[:2], countersigners=()), fields, why=MATHEMATICS)
    yield failed(
        "a field for nobody", lambda: naming(made.WHO, countersigners=(made.ENGINEER,)), fields, why=MATHEMATICS
    )
    yield failed(
        "the fields the other way round", lambda: naming(*BOTH, countersigners=PAIR[::-1]), fields, why=MATHEMATICS
    )
    lying = Countersigner("coating engineer", "Rolf Krahn", made.ENGINEER.box)
    yield failed(
        "a field described as another's", lambda: naming(*BOTH[:2], countersigners=(lying,)), fields, why=MATHEMATICS
    )
    role = Countersigner("witness", "Edda Falk", made.ENGINEER.box)
    yield failed("a field of another role", lambda: naming(*BOTH[:2], countersigners=(role,)), fields, why=MATHEMATICS)
    for what, new in (("a name of its own", "Inspector-2"), ("the name of a submittal's", "Engineer")):
        build = functools.partial(_in_a_field_called, new)
        reasons = f"{wrong} {fields}"
        yield failed(f"the inspector's field has {what}", build, reasons, why=MATHEMATICS)


def _one_key() -> bytes:
    key = made.ec_key()
    people = [made.identity_of(made.certify(made.named("Ines Perk"), key, made.root()), made.root()) for _ in range(2)]
    waiting = naming(made.WHO, ("coating engineer", "Ines Perk", None), who=people[0])
    return made.countersigned(waiting, people[1], "Countersigner-1")


def _in_a_field_called(new: str) -> bytes:
    reasons = {new: "inspection report, issued by the inspector"}
    with mock.patch.object(signing, "INSPECTOR_FIELD", new), mock.patch.object(signing, "REASONS", reasons):
        return made.sealed()


# --- what the signatures say of themselves


def _words() -> Iterator[Row]:
    wrong, later = "CHANGED_WHEN_SIGNING", "CHANGED_AFTER_SIGNING"
    yield failed("states another place", lambda: made.sealed(location="Other shed"), wrong, why=MATHEMATICS)
    yield failed(
        "states another name", functools.partial(_saying, made.sealed, name="Edda Falk"), wrong, why=MATHEMATICS
    )
    yield failed(
        "states another reason", functools.partial(_saying, made.sealed, reason="draft"), wrong, why=MATHEMATICS
    )
    seen = functools.partial(made.countersigned, made.open_report(), made.engineer())
    yield failed(
        "countersigner states another name", functools.partial(_saying, seen, name="Ines Perk"), later, why=MATHEMATICS
    )
    for base, what, reasons in ((made.sealed, "inspector", wrong), (seen, "countersigner", later)):
        for key in ("ContactInfo", "Prop_Build", "Cert", "Changes"):
            build = functools.partial(_with_entry, base, key)
            yield failed(f"the {what}'s signature has an entry {key}", build, reasons, why=MATHEMATICS)


def _saying(build: Callable[[], bytes], **words: str) -> bytes:
    def lying(name: str, at: Any, reason: str, location: str) -> Statement:
        return Statement(**{"name": name, "at": at, "reason": reason, "location": location, **words})

    with mock.patch.object(signing, "Statement", lying):
        return build()


def _with_entry(build: Callable[[], bytes], key: str) -> bytes:
    kind = writing.SignatureObject

    def more(**words: Any) -> Any:
        value = kind(**words)
        value[f"/{key}"] = dictionary(Name=name("Other"))
        return value

    with mock.patch.object(writing, "SignatureObject", more):
        return build()


# --- what is changed in the revision of a signature


def _sealed_while(edit: Edit, pdf: bytes | None = None, **more: Any) -> bytes:
    """Return a report whose inspector changes something in the last moment before the signature."""

    class Tampering(writing.SigMDPSetup):  # type: ignore[misc] # the library is not annotated here
        def apply(self, value: Any, writer: Any) -> None:
            super().apply(value, writer)
            edit(writer)

    with mock.patch.object(writing, "SigMDPSetup", Tampering):
        return made.sealed(pdf, **more)


def _countersigned_while(edit: Edit, pdf: bytes | None = None) -> bytes:
    opened = writing._opened

    def tampering(file: Any, at: Any) -> Any:
        writer = opened(file, at)
        edit(writer)
        return writer

    report = made.open_report() if pdf is None else made.sealed(pdf, countersigners=PAIR)
    with mock.patch.object(writing, "_opened", tampering):
        return made.countersigned(report, made.engineer())


def _rich(pdf: pikepdf.Pdf) -> None:
    """Give the file all that a report has: tags, outline, links, labels, language, files that belong to it."""
    made.tagged(pdf)
    inside = pikepdf.Dictionary(S=pikepdf.Name("/GoTo"), D=pikepdf.Array([pdf.pages[1].obj, pikepdf.Name("/Fit")]))
    link = pikepdf.Dictionary(
        Type=pikepdf.Name("/Annot"), Subtype=pikepdf.Name("/Link"), Rect=pikepdf.Array([72, 690, 200, 710]), A=inside,
        Border=pikepdf.Array([0, 0, 0]),
    )  # fmt: skip
    pdf.pages[0].obj["/Annots"] = pikepdf.Array([pdf.make_indirect(link)])
    with pdf.open_outline() as outline:
        outline.root.append(pikepdf.OutlineItem("Summary", 0))
    pdf.Root["/Lang"] = pikepdf.String("en")
    pdf.Root["/PageLabels"] = pikepdf.Dictionary(Nums=pikepdf.Array([0, pikepdf.Dictionary(S=pikepdf.Name("/D"))]))
    pdf.Root["/ViewerPreferences"] = pikepdf.Dictionary(DisplayDocTitle=True)


def _within(where: Callable[[Any], Any], key: str, value: Any) -> Edit:
    def edit(writer: Any) -> None:
        target = where(writer)
        target[f"/{key}"] = value(writer) if callable(value) else value
        writer.update_container(target)

    return edit


def _text(words: str) -> Any:
    from pyhanko.pdf_utils.generic import pdf_string

    return pdf_string(words)


def _list(*things: Any) -> Any:
    from pyhanko.pdf_utils.generic import ArrayObject

    return ArrayObject(things)


def _overwritten(where: Callable[[Any], Any], content: bytes) -> Edit:
    """Put other content under the number of a stream."""

    def edit(writer: Any) -> None:
        from pyhanko.pdf_utils.generic import StreamObject

        reference = where(writer)
        old = reference.get_object()
        new = StreamObject({key: old.raw_get(key) for key in old if key not in ("/Length", "/Filter")}, content)
        writer.objects[(reference.generation, reference.idnum)] = new

    return edit


def _element(writer: Any) -> Any:
    return root(writer)["/StructTreeRoot"]["/K"]["/K"][0]


def _file(writer: Any) -> Any:
    return root(writer)["/Names"]["/EmbeddedFiles"]["/Names"][1]


def _turned_round(writer: Any) -> None:
    fields = form(writer)["/Fields"]
    fields.reverse()


def _kinds() -> Iterator[tuple[str, Edit, str]]:
    """Yield what is changed of a report that has everything, how, and what else is said of it."""
    tree = lambda writer: root(writer)["/StructTreeRoot"]  # noqa: E731 - one of many short ways
    yield "text of a page", _overwritten(lambda w: first_page(w).raw_get("/Contents"), b"BT ET"), ""
    covering = lambda w: _list(first_page(w).raw_get("/Contents"), stream(b"1 g 0 0 600 800 re f")(w))  # noqa: E731
    yield "more drawn on a page", _within(first_page, "Contents", covering), ""
    for box in ("MediaBox", "CropBox", "BleedBox", "TrimBox", "ArtBox"):
        more = "FORMAT_FAILURE" if box == "MediaBox" else ""
        yield f"{box} of a page", _within(first_page, box, numbers(0, 0, 300, 300)), more
    yield "scale of a page", _within(first_page, "UserUnit", numbers(2)[0]), ""
    yield "transparency of a page", _within(first_page, "Group", dictionary(S=name("Transparency"))), ""
    yield "resources of a page", _within(first_page, "Resources", dictionary()), ""
    yield (
        "links of a page",
        _within(first_page, "Annots", lambda w: _list(first_page(w)["/Annots"].raw_get(1))),
        "ORPHAN_OBJECTS",
    )
    yield (
        "target of a link",
        _within(
            lambda w: first_page(w)["/Annots"][0], "A", dictionary(S=name("URI"), URI=_text("https://example.org/"))
        ),
        "",
    )
    yield "order of the pages", _pages_turned_round, ""
    yield "title in the outline", _within(lambda w: root(w)["/Outlines"]["/First"], "Title", _text("Conforms")), ""
    yield "outline", _within(root, "Outlines", dictionary(Count=numbers(0)[0])), "ORPHAN_OBJECTS"
    yield "text of a tag", _within(_element, "ActualText", _text("conforms")), ""
    yield "alternative text of a tag", _within(_element, "Alt", _text("conforms")), ""
    yield "kind of a tag", _within(_element, "S", name("Artifact")), ""
    yield "roles of the tags", _within(tree, "RoleMap", dictionary(P=name("Artifact"))), ""
    yield "tags", _within(root, "StructTreeRoot", dictionary(Type=name("StructTreeRoot"))), "ORPHAN_OBJECTS"
    yield (
        "embedded file, under its number",
        _overwritten(lambda w: _file(w)["/EF"].raw_get("/F"), b"other"),
        "EMBEDDED_FILES INPUT_REFUSED",
    )
    yield "description of an embedded file", _within(_file, "Desc", _text("as measured")), ""
    yield "role of an embedded file", _within(_file, "AFRelationship", name("Source")), ""
    yield "files that belong to the report", _within(root, "AF", _list()), "FILES_DISAGREE"
    yield "metadata, under their number", _overwritten(lambda w: root(w).raw_get("/Metadata"), b"<x/>"), ""
    yield "language", _within(root, "Lang", _text("de")), ""
    yield "version", _within(root, "Version", name("2.0")), ""
    yield "layout of pages", _within(root, "PageLayout", name("TwoColumnLeft")), ""
    yield "mode of pages", _within(root, "PageMode", name("UseAttachments")), ""
    yield "labels of pages", _within(root, "PageLabels", dictionary(Nums=_list())), ""
    yield "preferences", _within(root, "ViewerPreferences", dictionary(HideToolbar=numbers(1)[0])), ""
    yield "a collection of files", _within(root, "Collection", dictionary(View=name("D"))), "PORTFOLIO"
    yield "where to open", _within(root, "OpenAction", lambda w: _list(page(w), name("Fit"))), "ACTIVE_CONTENT"
    yield "an extension", _within(root, "Extensions", dictionary(XYZ_=dictionary(ExtensionLevel=numbers(9)[0]))), ""
    yield "colours for output", _within(root, "OutputIntents", _list(dictionary(S=name("GTS_PDFA1")))), ""
    yield "flags of the form", _within(form, "SigFlags", numbers(1)[0]), ""
    yield "letters of the form", _within(form, "DA", _text("/F1 9 Tf")), ""
    yield "the field's name for a screen", _within(field, "TU", _text("Signature of the inspector, Edda Falk")), ""
    yield "the field is hidden", _within(field, "F", numbers(2)[0]), ""
    yield "an object nothing refers to", lambda w: w.add_object(_text("x")), "ORPHAN_OBJECTS"
    yield "an object as it was", lambda w: w.mark_update(root(w).raw_get("/Metadata")), ""
    yield "a key in the trailer", lambda w: w.set_custom_trailer_entry(name("Note"), _text("x")), ""
    yield "other information", lambda w: w.set_info(dictionary(Title=_text("Other"))), "ORPHAN_OBJECTS"
    yield "identifier of the file", lambda w: setattr(w, "_document_id", _list(*[_text("0" * 16)] * 2)), ""
    yield "revocation data that are none", _within(root, "DSS", _junk_store), "CHANGED_AFTER_SIGNING"


def _pages_turned_round(writer: Any) -> None:
    kids = writer.root["/Pages"]["/Kids"]
    kids.reverse()
    writer.update_container(kids)


def _junk_store(writer: Any) -> Any:
    return writer.add_object(dictionary(Certs=_list(stream(b"conforms")(writer))))


def _along_with_the_first() -> Iterator[Row]:
    wrong = "CHANGED_WHEN_SIGNING"
    for what, edit, more in appended._edits():
        build = functools.partial(_sealed_while, edit)
        yield failed(f"while signing: {what}", build, f"{wrong} {more}", why=MATHEMATICS)
    for what, edit, more in _kinds():
        build = functools.partial(_sealed_while, edit, made.unsigned(count=2, edit=_rich))
        yield failed(f"while signing, changed: {what}", build, f"{wrong} {more}", why=MATHEMATICS)
    waiting = functools.partial(_sealed_while, _turned_round, countersigners=PAIR)
    yield failed("while signing, changed: order of the fields", waiting, wrong, why=MATHEMATICS)
    for what, edit, more in list(appended._edits())[3:8]:
        build = functools.partial(_signed_on_top, edit)
        yield failed(f"a revision before signing: {what}", build, f"{wrong} {more}", why=MATHEMATICS)


def _signed_on_top(edit: Edit) -> bytes:
    return made.sealed(appended.appended(made.unsigned(), edit))


def _along_with_a_further_one() -> Iterator[Row]:
    for what, edit, more in _kinds():
        pdf = functools.partial(made.unsigned, count=2, edit=_rich, countersigners=PAIR)
        build = functools.partial(lambda edit, pdf: _countersigned_while(edit, pdf()), edit, pdf)
        reasons = f"CHANGED_AFTER_SIGNING {more}"
        yield failed(f"while countersigning, changed: {what}", build, reasons, why=MATHEMATICS)


# --- what is written by hand and signed again


def resigned(pdf: bytes) -> bytes:
    """Return ``pdf`` with the value of its signature made anew over the bytes as they are."""
    return revalued(
        pdf, lambda digest: bytes(signing._value(made.inspector(), PreparedRevision(digest, None), None).dump())
    )


def _exchanged(old: bytes, new: bytes) -> bytes:
    """Return the report with the last ``old`` exchanged for ``new`` of the same length, signed again."""
    report = made.report()
    place = report.rindex(old)
    assert len(old) == len(new)
    return resigned(report[:place] + new + report[place + len(old) :])


def _grown(more: bytes, before: bytes = b"xref\n0 ") -> bytes:
    """Return the report with ``more`` written before the last ``before``, behind what is referred to, signed again."""
    report = made.report()
    place, start = report.rindex(before), int(report[report.rindex(b"startxref") :].split()[1])
    moved = start + len(more) if place <= start else start
    tail = report[place:].replace(b"startxref\n%d" % start, b"startxref\n%d" % moved)
    return resigned(report[:place] + more + tail)


def _by_hand() -> Iterator[Row]:
    wrong = "CHANGED_WHEN_SIGNING"
    yield passed("signed again as it was", lambda: resigned(made.report()))
    spelled = "OTHER_RELEASE"
    yield doubtful("spelled otherwise", lambda: _exchanged(b"/SigFlags 3\n", b"/SigFlags 3 "), spelled, why=MATHEMATICS)
    yield doubtful("a comment between objects", lambda: _grown(b"% conforms\n"), spelled, why=MATHEMATICS)
    yield failed("another number", lambda: _exchanged(b"/SigFlags 3", b"/SigFlags 1"), wrong, why=MATHEMATICS)
    twice = functools.partial(_grown, b"/Name (Edda Falk)\n", b">>\nendobj\nxref")
    yield failed("an entry twice", twice, "FORMAT_FAILURE", why=MATHEMATICS)
    entry = functools.partial(_grown, b"/Note (conforms)\n", b">>\nendobj\nxref")
    yield failed("an entry more", entry, wrong, why=MATHEMATICS)
    unlisted = functools.partial(_grown, b"25 0 obj\n(conforms)\nendobj\n")
    yield doubtful("an object that no table lists", unlisted, f"{spelled} ORPHAN_OBJECTS", why=MATHEMATICS)
    in_trailer = functools.partial(_grown, b"/Note (conforms)\n", b"/Prev ")
    yield failed("an entry more in the trailer", in_trailer, wrong, why=MATHEMATICS)
