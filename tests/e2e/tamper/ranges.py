"""Bytes altered in place, forged byte ranges and values, moved ranges, and a signer who leaves things out."""

from __future__ import annotations

import asyncio
import functools
import hashlib
import re
from typing import TYPE_CHECKING
from unittest import mock

from asn1crypto import cms, core
from pyhanko.sign.ades.api import CAdESSignedAttrSpec
from pyhanko.sign.signers.pdf_cms import PdfCMSSignedAttributes

from reportgen.seal import signing
from tests.e2e.tamper.rows import LENIENT, MATHEMATICS, NOT_FOUND, Row, doubtful, failed
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_RANGE = re.compile(rb"/ByteRange \[(\d+) (\d+) (\d+) (\d+)\] *")


def in_place(pdf: bytes, old: bytes, new: bytes) -> bytes:
    """Return ``pdf`` with the last ``old`` replaced by ``new``, padded to the same length: nothing else moves."""
    assert len(new) <= len(old), "the replacement must fit"
    place = pdf.rindex(old)
    return pdf[:place] + new.ljust(len(old)) + pdf[place + len(old) :]


def revalued(pdf: bytes, value: Callable[[bytes], bytes]) -> bytes:
    """Return ``pdf`` with the value of its last signature made anew over the bytes as they are.

    ``value`` returns one (DER) for the digest (SHA-256) of what is signed.
    """
    start = pdf.rindex(b"/Contents <") + len(b"/Contents ")
    stop = pdf.index(b">", start) + 1
    old = re.compile(rb"/ByteRange \[[ \d]+\] *").search(pdf, stop)
    assert old is not None
    new = b"/ByteRange [0 %d %d %d]" % (start, stop, len(pdf) - stop)
    pdf = pdf[: old.start()] + new.ljust(len(old[0])) + pdf[old.end() :]
    made_anew = value(hashlib.sha256(pdf[:start] + pdf[stop:]).digest()).hex().upper().encode()
    return pdf[:start] + b"<" + made_anew.ljust(stop - start - 2, b"0") + b">" + pdf[stop:]


def flipped(pdf: bytes, place: int, bit: int = 0) -> bytes:
    return pdf[:place] + bytes([pdf[place] ^ 1 << bit]) + pdf[place + 1 :]


def gap(pdf: bytes) -> tuple[int, int]:
    """Return where the last signature's value begins (``<``) and where it has ended."""
    _, start, stop, _ = (int(number) for number in _RANGE.findall(pdf)[-1])
    return start, stop


def rows() -> Iterator[Row]:
    yield from _altered_bytes()
    yield from _altered_value()
    yield from _forged_ranges()
    yield from _forged_names()
    yield from _hidden_attributes()
    yield from _written_otherwise()
    yield from _dishonest_signer()
    yield failed(
        "signed range moved to another place",
        wrapped,
        "SIGNATURE_COUNT UNCOVERED_BYTES ORPHAN_OBJECTS",
        why=MATHEMATICS,
    )


def _altered_bytes() -> Iterator[Row]:
    places: tuple[tuple[str, bytes], ...] = (
        ("time of signing", b"20260302143000"),
        ("reason for signing", b"issued by the inspector"),
        ("place of signing", b"Harbour shed"),
        ("name of the signer", b"Ines Perk"),
        ("rectangle of the field", b"/Rect [ 72"),
        ("permission", b"/P 1"),
        ("field's description", b"Signature of the inspector"),
        ("identifier of the file", b"/ID ["),
        ("page content", b"stream\n"),
    )
    for what, text in places:
        build = functools.partial(_flip_after, text)
        reasons = "HASH_FAILURE CHANGED_WHEN_SIGNING"
        reasons += " TIMES_DISAGREE" if what == "time of signing" else ""
        yield failed(f"one bit altered: {what}", build, reasons, pdfsig="invalid")


def _flip_after(text: bytes) -> bytes:
    """Return the report with a bit flipped in the last byte of ``text``, or inside the stream that it begins."""
    report = made.report()
    place = report.index(text) + len(text) - 1
    if text == b"stream\n":
        place += 40
    if text == b"/ID [":
        place = report.rindex(text) + len(text) + 3
    return flipped(report, place)


def spoilt_stamp(place: int = -1) -> bytes:
    """Return a timestamped report with one bit altered in a byte of its timestamp, by default the last of all.

    The timestamp is the last part of a signature's value, and its own signature the last part of it.
    """
    report = made.sealed(timestamper=made.timestamper())
    start, stop = gap(report)
    value = bytes.fromhex(report[start + 1 : stop - 1].decode())
    length = 4 + int.from_bytes(value[2:4], "big")
    token = cms.ContentInfo.load(value[:length])["content"]["signer_infos"][0]["unsigned_attrs"][0]["values"][0].dump()
    begin = value.index(token)
    new = value[:begin] + flipped(token, place % len(token)) + value[begin + len(token) :]
    return report[: start + 1] + new.hex().upper().encode() + report[stop - 1 :]


def _altered_value() -> Iterator[Row]:
    yield doubtful(
        "one bit altered: timestamp", spoilt_stamp, "SIG_CONSTRAINTS_FAILURE", why="it looks at no timestamp"
    )
    report, (start, stop) = made.report(), gap(made.report())
    value = bytes.fromhex(report[start + 1 : stop - 1].decode())
    length = 4 + int.from_bytes(value[2:4], "big")

    def exchanged(new: bytes) -> bytes:
        return (
            report[: start + 1]
            + new.hex().upper().encode().ljust(stop - start - 2, b"0")[: stop - start - 2]
            + report[stop - 1 :]
        )

    hidden = value[:length] + b"\0" * 40 + b"hidden" + value[length + 46 :]
    yield failed("hidden data behind the value", lambda: exchanged(hidden), "HIDDEN_IN_SIGNATURE", why=MATHEMATICS)
    last = value[:-1] + b"\x01"
    yield failed(
        "one hidden bit at the end of the value", lambda: exchanged(last), "HIDDEN_IN_SIGNATURE", why=MATHEMATICS
    )
    signature = length - 5
    yield failed(
        "signature bits altered",
        lambda: exchanged(value[:signature] + bytes([value[signature] ^ 1]) + value[signature + 1 :]),
        "SIG_CRYPTO_FAILURE",
        pdfsig="invalid",
    )
    digest = value.index(bytes.fromhex("06092A864886F70D010904")) + 17
    yield failed(
        "signed digest altered",
        lambda: exchanged(value[:digest] + bytes([value[digest] ^ 1]) + value[digest + 1 :]),
        "HASH_FAILURE",
        pdfsig="invalid",
    )
    yield failed("value all zeros", lambda: exchanged(b""), "FORMAT_FAILURE", pdfsig="invalid")
    yield failed("value of another report", lambda: exchanged(_value_of_another()), "HASH_FAILURE", pdfsig="invalid")
    yield failed(
        "end of the value zeroed", lambda: exchanged(value[: length - 60]), "SIG_CRYPTO_FAILURE", pdfsig="invalid"
    )
    yield failed(
        "blank in the value", lambda: report[: stop - 2] + b" >" + report[stop:], "UNCOVERED_BYTES", why=LENIENT
    )
    comment = b"0>%" + b"0" * 3
    yield failed(
        "comment in the gap",
        lambda: report[: stop - len(comment)] + b">" + b" " * (len(comment) - 1) + report[stop:],
        "UNCOVERED_BYTES",
        why=LENIENT,
    )
    yield failed(
        "value not hexadecimal",
        lambda: report[: stop - 2] + b"Z>" + report[stop:],
        "UNCOVERED_BYTES FORMAT_FAILURE",
        why=LENIENT,
    )


def _value_of_another() -> bytes:
    other = made.sealed(made.unsigned(count=2))
    start, stop = gap(other)
    return bytes.fromhex(other[start + 1 : stop - 1].decode())


def _forged_ranges() -> Iterator[Row]:
    report = made.report()
    found = _RANGE.search(report)
    assert found
    old = found[0]
    first, start, stop, rest = (int(number) for number in found.groups())
    forms: tuple[tuple[str, bytes, str], ...] = (
        ("missing", b"", "FORMAT_FAILURE"),
        ("empty", b"/ByteRange []", "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("null", b"/ByteRange null", "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("three numbers", b"/ByteRange [0 %d %d]" % (start, stop), "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("six numbers", b"/ByteRange [0 %d %d %d 0 0]" % (start, stop, rest), "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("negative", b"/ByteRange [0 %d %d -%d]" % (start, stop, rest), "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("all zeros", b"/ByteRange [0 0 0 0]", "UNCOVERED_BYTES SIGNATURE_COUNT"),
        ("beyond the file", b"/ByteRange [0 %d %d %d]" % (start, stop, rest + 1), "UNCOVERED_BYTES SIGNATURE_COUNT"),
        ("head left out", b"/ByteRange [9 %d %d %d]" % (start - 9, stop, rest), "UNCOVERED_BYTES SIGNATURE_COUNT"),
        (
            "tail left out",
            b"/ByteRange [0 %d %d %d]" % (start, stop, rest - 20),
            "HASH_FAILURE CHANGED_AFTER_SIGNING OTHER_RELEASE",
        ),
        ("wider gap", b"/ByteRange [0 %d %d %d]" % (start - 10, stop, rest), "UNCOVERED_BYTES"),
        ("no gap", b"/ByteRange [0 %d %d %d]" % (start, start, len(report) - start), "UNCOVERED_BYTES SIGNATURE_COUNT"),
        ("real numbers", b"/ByteRange [0.0 %d %d %d]" % (start, stop, rest), "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("names", b"/ByteRange [/a /b /c /d]", "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("a reference", b"/ByteRange 1 0 R", "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("huge numbers", b"/ByteRange [0 %d %d %d]" % (start, stop, 10**14), "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("twice", b"/ByteRange[0 1 2 3]/ByteRange[0 %d %d %d]" % (start, stop, rest), "FORMAT_FAILURE UNCOVERED_BYTES"),
    )
    assert first == 0
    for what, new, reasons in forms:
        yield failed(f"byte range {what}", lambda new=new: in_place(report, old, new), reasons, pdfsig="invalid")


def _forged_names() -> Iterator[Row]:
    report = made.report()
    names: tuple[tuple[str, bytes, bytes, str], ...] = (
        ("ByteRange spelt with #", b"/ByteRange [0 ", b"/Byte#52ange[0", "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("Contents misspelt", b"/Contents <3082", b"/Kontents <3082", "FORMAT_FAILURE"),
        ("SubFilter unknown", b"/ETSI.CAdES.detached", b"/ETSI.CAdES.attached", "SIGNATURE_COUNT"),
        ("SubFilter of SHA-1", b"/ETSI.CAdES.detached", b"/adbe.pkcs7.sha1", "SIGNATURE_COUNT"),
        (
            "SubFilter of a timestamp",
            b"/ETSI.CAdES.detached",
            b"/ETSI.RFC3161",
            "FORMAT_FAILURE SIG_CONSTRAINTS_FAILURE CHANGED_WHEN_SIGNING",
        ),
        ("type of a timestamp", b"/Type /Sig\n", b"/Type /Tsm\n", "FORMAT_FAILURE CHANGED_WHEN_SIGNING"),
        ("field of text", b"/FT /Sig", b"/FT /Tx", "SIGNATURE_COUNT"),
        (
            "certification unnamed",
            b"/TransformMethod /DocMDP",
            b"/TransformMethod /DocMDQ",
            "HASH_FAILURE CHANGED_WHEN_SIGNING",
        ),
    )
    for what, old, new, reasons in names:

        def build(old: bytes = old, new: bytes = new) -> bytes:
            if len(new) > len(old):
                return in_place(report, old + b"0 ", new + b"0")
            return in_place(report, old, new)

        if what == "field of text":
            yield failed(what, build, reasons, pdfsig="none", why=NOT_FOUND)
        else:
            yield failed(what, build, reasons, pdfsig="invalid")


def signed_over(pdf: bytes, ranges: list[tuple[int, int]], written: bytes | None = None) -> bytes:
    """Return ``pdf`` signed again by its own signer, over ``ranges`` (begin, length), written as the signer pleases."""
    found = _RANGE.search(pdf)
    assert found
    start, stop = gap(pdf)
    text = written or b"/ByteRange [" + b" ".join(b"%d %d" % pair for pair in ranges) + b"]"
    pdf = in_place(pdf, found[0], text)
    digest = hashlib.sha256(b"".join(pdf[begin : begin + length] for begin, length in ranges)).digest()
    value = asyncio.run(
        signing._LoadedKeySigner(made.inspector()).async_sign(
            digest,
            "sha256",
            use_pades=True,
            signed_attr_settings=PdfCMSSignedAttributes(cades_signed_attrs=CAdESSignedAttrSpec()),
        )
    ).dump()
    digits = value.hex().upper().encode().ljust(stop - start - 2, b"0")
    return pdf[: start + 1] + digits + pdf[stop - 1 :]


def _hidden_attributes() -> Iterator[Row]:
    """The signer's own attributes (RFC 5652, 5.3), in which anything can stand that no page shows."""
    secret = {"type": "1.3.6.1.4.1.99999.1", "values": [core.OctetString(b"A-1 is on hold")]}
    for what, member, attribute in (
        ("signed attribute of a kind of its own", "signed_attrs", secret),
        (
            "place of the signer among what is signed",
            "signed_attrs",
            {"type": "1.2.840.113549.1.9.16.2.17", "values": []},
        ),
        ("unsigned attribute of a kind of its own", "unsigned_attrs", secret),
    ):
        build = functools.partial(_sealed_with, member, attribute)
        yield doubtful(what, build, "SIG_CONSTRAINTS_FAILURE", why="of attributes it reads those it knows")


def _written_otherwise() -> Iterator[Row]:
    """What nothing signs (RFC 5652, 5.1 and 5.3), written as no signature of ours is: anybody could copy so."""
    for what, change in (
        ("an empty set of unsigned attributes", _empty_unsigned),
        ("version 3", lambda data: data.__setitem__("version", "v3")),
        ("the signer's certificate twice", _certificate_twice),
    ):
        build = functools.partial(_rewritten, change)
        yield doubtful(f"signature with {what}", build, "SIG_CONSTRAINTS_FAILURE", why="nothing signs it")


def _empty_unsigned(data: cms.SignedData) -> None:
    data["signer_infos"][0]["unsigned_attrs"] = cms.CMSAttributes([])


def _certificate_twice(data: cms.SignedData) -> None:
    held = list(data["certificates"])
    data["certificates"] = cms.CertificateSet([*held, held[0]])


def _rewritten(change: Callable[[cms.SignedData], None]) -> bytes:
    """Return the report with its signature's value changed and encoded again."""
    pdf = made.report()
    start, stop = gap(pdf)
    value = cms.ContentInfo.load(bytes.fromhex(pdf[start + 1 : stop - 1].decode()))
    change(value["content"])
    digits = value.dump(force=True).hex().upper().encode().ljust(stop - start - 2, b"0")
    return pdf[: start + 1] + digits + pdf[stop - 1 :]


def _sealed_with(member: str, attribute: dict[str, object]) -> bytes:
    own = getattr(signing._LoadedKeySigner, member)

    async def more(*given: object, **named: object) -> cms.CMSAttributes:
        found = await own(*given, **named)
        return cms.CMSAttributes([*(found or ()), cms.CMSAttribute(attribute)])

    with mock.patch.object(signing._LoadedKeySigner, member, more):
        return made.sealed()


def _dishonest_signer() -> Iterator[Row]:
    report = made.report()
    start, stop = gap(report)
    rest = len(report) - stop
    leaves_out: tuple[tuple[str, list[tuple[int, int]], str], ...] = (
        ("the head", [(20, start - 20), (stop, rest)], "UNCOVERED_BYTES SIGNATURE_COUNT"),
        ("the tail", [(0, start), (stop, rest - 30)], "CHANGED_AFTER_SIGNING OTHER_RELEASE"),
        ("the page, by a wide gap", [(0, 600), (stop, rest)], "UNCOVERED_BYTES"),
        ("its own dictionary", [(0, start), (stop + 60, rest - 60)], "UNCOVERED_BYTES"),
        ("a third part", [(0, 300), (400, start - 400), (stop, rest)], "FORMAT_FAILURE SIGNATURE_COUNT"),
        ("nothing, covering twice", [(0, start), (start - 100, 100)], "UNCOVERED_BYTES SIGNATURE_COUNT"),
        ("everything", [(0, 0), (len(report), 0)], "UNCOVERED_BYTES"),
    )
    for what, ranges, reasons in leaves_out:
        build = functools.partial(signed_over, report, ranges)
        opinion = "invalid" if what == "everything" else "valid"
        yield failed(f"signer leaves out {what}", build, reasons, pdfsig=opinion, why=MATHEMATICS)


def _table(text: bytes) -> dict[bytes, bytes]:
    """Return number and place of each object in use that a classic table lists."""
    places, number = {}, 0
    for line in text[: text.index(b"trailer")].splitlines()[1:]:
        parts = line.split()
        if len(parts) == 2:
            number = int(parts[0])
            continue
        if parts[2] == b"n":
            places[b"%d" % number] = parts[0]
        number += 1
    return places


def wrapped() -> bytes:
    """Return the report with what the signature covers after its value moved to the end, and new objects in its place.

    The table of the last revision stays at its old place, where a new one now leads to another page.
    """
    report = made.report()
    start, stop = gap(report)
    second = report[stop:]
    table = int(re.findall(rb"startxref\s+(\d+)", report)[-1])
    number = int(re.findall(rb"(\d+) 0 obj\s*<<\s*/Contents <3082", report)[-1])
    size = int(re.findall(rb"/Size (\d+)", report)[-1])
    previous = re.findall(rb"/Prev (\d+)", report)[-1]
    trailer = re.search(rb"trailer.*?(/Info \d+ 0 R).*?(/Root \d+ 0 R)", second, re.DOTALL)
    objects = re.findall(rb"(\d+) 0 obj\n<<\n(.*?)\n>>\nendobj", report[:start], re.DOTALL)
    page_number, page = next(pair for pair in objects if b"/Annots" in pair[1])
    assert trailer
    evil = b"BT /F1 12 Tf 72 700 Td (conforms) Tj ET"
    table_of = _table(second[table - stop :])
    content = size

    def built(moved: int) -> bytes:
        head = b"\n/ByteRange [0 %d %d %d]\n/Type /Sig\n/Filter /Adobe.PPKLite\n/SubFilter /ETSI.CAdES.detached\n" % (
            start,
            moved,
            len(second),
        )
        head += re.search(rb"/M \(.*?\)\n", second)[0]  # type: ignore[index] # every signature has its time
        head += re.search(rb"/Reference \[.*?\]\n", second, re.DOTALL)[0]  # type: ignore[index] # it certifies
        head += b">>\nendobj\n"
        body = report[:stop] + head.ljust(table - stop)
        new_page = re.sub(rb"/Contents \d+ 0 R", b"/Contents %d 0 R" % content, page)
        places = dict(table_of)
        assert len(body) == table
        lines = b"xref\n0 1\n0000000000 65535 f \n"
        after = b""
        length_of_table = len(lines) + (len(places) + 1) * 40 + 300
        base = table + length_of_table
        for identifier, text in (
            (page_number, b"<<" + new_page + b">>"),
            (b"%d" % content, b"<< /Length %d >>\nstream\n%b\nendstream" % (len(evil), evil)),
        ):
            places[identifier] = b"%010d" % (base + len(after))
            after += b"%b 0 obj\n%b\nendobj\n" % (identifier, text)
        for identifier in sorted(places, key=int):
            lines += b"%b 1\n%b 00000 n \n" % (identifier, places[identifier])
        lines += b"trailer\n<< %b %b /Size %d /Prev %b >>\n" % (trailer[1], trailer[2], size + 1, previous)
        return body + lines.ljust(length_of_table) + after + second

    assert number
    first_try = built(10**5)
    return built(len(first_try) - len(second))
