"""Each signature's revision written again, upon the bytes before it, by the writer that signs.

All but the signature's value must come out the same. What else could stand in a revision is then no question, for the
revision of the first signature as for those after it: whatever signing does not write was put there by somebody.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from cryptography import x509
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.pdf_utils.reader import PdfFileReader

from reportgen import certificates
from reportgen.formats import countersigner_field
from reportgen.increments import (
    LONGEST_WORDS,
    REASONS,
    SignatureField,
    Statement,
    UnreadableItemError,
    append_first,
    append_further,
    append_renewal,
    described,
    stored,
)
from reportgen.verification.verdict import Reason
from reportgen.words.told import Told, broke, told

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterator, Sequence
    from typing import BinaryIO

    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature

    from reportgen.increments import RevocationData
    from reportgen.verification.outer_bytes import Gap

    Number = tuple[int, int]

_END = re.compile(rb"startxref\s+\d+\s+%%EOF(?:\r\n|\n|\r)?")
_MOST_NAMED = 5
RENEWAL = "/DocTimeStamp"
"""Kind of the signature of a renewal, which is a timestamp: ISO 32000-2, table 255 (from memory)."""


@dataclass(frozen=True, slots=True)
class Signing:
    """What the first signature's revision states: size of the unsigned file before it, its fields, its place."""

    unsigned: int
    fields: tuple[SignatureField, ...]
    location: str


def replayed(
    pdf: bytes, gaps: Sequence[Gap], reader: PdfFileReader, signatures: Sequence[EmbeddedPdfSignature]
) -> tuple[Signing | None, list[Reason]]:
    """Return what the first signature's revision states, and what stands in any revision that signing does not write.

    ``gaps`` and ``signatures`` stand in the order of their revisions.
    """
    made = [signature.signed_revision for signature in signatures]
    if made[0] != 1:
        return None, [_changed(1, told("first-signature-elsewhere"))]
    faults: list[Reason] = []
    signing, first = None, signatures[0]
    try:
        signing = signing_of(pdf, reader, first, gaps[0].start)
        fields = signing.fields
        data = _data_added(reader, 1)
    except UnreadableItemError:  # what the first signature covers may be what an authority gave
        faults.append(store_unreadable())
    except (ArithmeticError, AttributeError, LookupError, PdfError, TypeError, ValueError) as fault:
        signing = None
        faults.append(_changed(1, told("first-revision-unreadable", why=broke(fault))))
    else:
        # a report has its inspector's field and those of countersigners, a submittal the one of its engineer
        inspector, engineer = REASONS
        countersigners = list(map(countersigner_field, range(1, len(fields))))
        if [field.name for field in fields] in ([engineer], [inspector, *countersigners]):
            words = _statement(first)
            own = replace(fields[0], description=described(fields[0].name, "", words.name))
            words = replace(words, reason=REASONS[own.name])
            written: Callable[..., Any] = partial(
                append_first, fields=[own, *fields[1:]], statement=words, revocation=data
            )
            faults += _differences(pdf, signing.unsigned, gaps[0], reader, first, written)
        else:
            faults.append(_changed(1, told("fields-not-ours")))
    if made != list(range(1, reader.total_revisions)):
        return signing, [*faults, _changed(2, told("revision-no-signature"))]
    renewals = 0
    for before, gap, signature in zip(gaps, gaps[1:], signatures[1:], strict=False):
        if signature.sig_object_type == RENEWAL:
            renewals += 1
            write: Callable[..., Any] = partial(append_renewal, number=renewals)
        else:
            words = replace(_statement(signature), reason=_word(signature, "/Reason"))
            if max(map(len, (words.reason, words.location))) > LONGEST_WORDS:
                faults.append(_changed(2, told("words-too-long", field=str(signature.field_name))))
            write = partial(append_further, field=str(signature.field_name), statement=words)
        written = partial(_with_data, write, reader, signature.signed_revision)
        faults += _differences(pdf, before.end, gap, reader, signature, written)
    return signing, faults


def signing_of(pdf: bytes, reader: PdfFileReader, first: EmbeddedPdfSignature, before: int) -> Signing:
    """Return what the revision of the first signature states; the unsigned pages end ``before`` its value.

    Raises ``ValueError``, and what the library raises, where it cannot be read as one.
    """
    end = _END.search(pdf, reader.xrefs.get_startxref_for_revision(0), before)
    if end is None:
        raise ValueError(told("unsigned-without-end"))
    return Signing(end.end(), tuple(_fields(reader)), _word(first, "/Location"))


def first_signed(pdf: bytes) -> tuple[Signing, dt.datetime | None, x509.Certificate]:
    """Return what the revision of the first signature states, the time that it claims, and the signer's certificate.

    For a file whose signatures were verified; raises as ``signing_of`` for others.
    """
    reader = PdfFileReader(io.BytesIO(pdf))
    first = reader.embedded_signatures[0]
    certificate = x509.load_der_x509_certificate(first.signer_cert.dump())
    return signing_of(pdf, reader, first, int(first.byte_range[1])), claimed_time(first), certificate


def _with_data(write: Callable[..., Any], reader: PdfFileReader, revision: int, file: BinaryIO, **more: Any) -> None:
    """Append a revision after the first signature's again, with the validation data that it added."""
    write(file, revocation=_data_added(reader, revision), **more)


def store_unreadable() -> Reason:
    """Return a doubt about a file whose store cannot be read: no proof of a change, as authorities may write what this
    release does not read.
    """
    return Reason("NOT_DONE", told("store-unreadable"))


def _changed(revision: int, sentence: Told) -> Reason:
    return Reason("CHANGED_WHEN_SIGNING" if revision == 1 else "CHANGED_AFTER_SIGNING", sentence)


def _statement(signature: EmbeddedPdfSignature) -> Statement:
    certificate = x509.load_der_x509_certificate(signature.signer_cert.dump())
    at = claimed_time(signature)
    return Statement(certificates.common_name(certificate), at, "", _word(signature, "/Location"))


def claimed_time(signature: EmbeddedPdfSignature) -> dt.datetime | None:
    """Return the time that a signature claims in the file; ``ValueError`` for what is no time.

    What is signed may state one too, which our form has not (EN 319 142-1, 6.3, from memory): it is compared.
    """
    stated = signature.sig_object.get("/M")
    return None if stated is None else generic.parse_pdf_date(stated, strict=True)


def _word(signature: EmbeddedPdfSignature, key: str) -> str:
    return str(signature.sig_object[key]) if key in signature.sig_object else ""


def _fields(reader: PdfFileReader) -> Iterator[SignatureField]:
    """Yield the fields of the form in the first signature's revision, in its order."""
    order: list[Number] = []  # of the page objects
    waiting = [reader.get_historical_resolver(0).root.raw_get("/Pages")]
    while waiting:
        reference = waiting.pop()
        node = reference.get_object()
        if node["/Type"] == "/Pages":
            kids = node["/Kids"]
            waiting += [kids.raw_get(place) for place in reversed(range(len(kids)))]
        else:
            order.append(_number(reference))
    pages = {number: place for place, number in enumerate(order, start=1)}
    listed = reader.get_historical_resolver(1).root["/AcroForm"]["/Fields"]
    for field in (listed[place] for place in range(len(listed))):
        page = pages[_number(field.raw_get("/P"))]
        left, bottom, right, top = (float(corner) for corner in field["/Rect"])
        yield SignatureField(str(field["/T"]), str(field["/TU"]), (page, left, bottom, right, top))


def _number(reference: Any) -> Number:
    return (reference.idnum, reference.generation)


def _data_added(reader: PdfFileReader, revision: int) -> RevocationData:
    """Return the validation data that a revision added, each item exactly what it claims to be."""
    now, before = (reader.get_historical_resolver(number).root for number in (revision, revision - 1))
    return stored(now).beyond(stored(before))


def _differences(
    pdf: bytes,
    start: int,
    gap: Gap,
    reader: PdfFileReader,
    signature: EmbeddedPdfSignature,
    written: Callable[..., Any],
) -> list[Reason]:
    """Return where a revision is not what ``written`` appends to the ``start`` bytes before it."""
    revision, name = signature.signed_revision, str(signature.field_name)
    file = io.BytesIO(pdf[:start])
    try:
        written(file, digest=str(signature.md_algorithm), room=gap.stop - gap.start - 2)
    except MemoryError:
        raise
    except UnreadableItemError:
        return [store_unreadable()]
    except Exception as fault:  # noqa: BLE001 - the library's kinds vary; what cannot be signed like this was not
        return [_changed(revision, told("not-written-by-signing", field=name, why=broke(fault)))]
    own = file.getbuffer()
    if own[start : gap.start] == pdf[start : gap.start] and own[gap.stop :] == pdf[gap.stop : gap.end]:
        return []
    value = _number(signature.sig_field.raw_get("/V"))
    found = _objects(reader, revision, value)
    again = _objects(PdfFileReader(file, strict=True), revision, value)
    differing = sorted(key for key in found.keys() | again.keys() if found.get(key) != again.get(key))
    if not differing:
        return [Reason("OTHER_RELEASE", told("spelled-otherwise", field=name))]
    what = tuple((found.get(key) or again[key])[0] for key in differing[:_MOST_NAMED])
    more = len(differing) - _MOST_NAMED
    return [_changed(revision, told("revision-otherwise", field=name, what=what, more=more if more > 0 else None))]


def _objects(reader: PdfFileReader, revision: int, value: Number) -> dict[Number, tuple[Told, bytes]]:
    """Return kind and written form of each object of a revision, by its number; the trailer is number 0."""
    resolver = reader.get_historical_resolver(revision)
    trailer = resolver.trailer_view
    found = {(0, 0): (told("object-trailer"), b"".join(_entry(trailer, key) for key in sorted(trailer)))}
    table = reader.xrefs.get_xref_container_info(revision).stream_ref
    for reference in reader.xrefs.explicit_refs_in_revision(revision):
        number = _number(reference)
        if table is not None and number == _number(table):
            continue
        thing = resolver.get_object(generic.Reference(*number))
        kind, written = _kind_and_form(thing, ("/Contents", "/ByteRange") if number == value else ())
        found[number] = (told(f"object-{kind}" if kind in _KINDS else "object", kind=kind, number=number[0]), written)
    for reference in reader.xrefs.refs_freed_in_revision(revision):
        found[_number(reference)] = (told("object-removed", number=reference.idnum), b"")
    return found


_KINDS = ("value", "dictionary")
"""Kinds of objects that have no name of their own."""


def _kind_and_form(thing: Any, left_out: Sequence[str]) -> tuple[str, bytes]:
    if not isinstance(thing, generic.DictionaryObject):
        return "value", _spelled(thing)
    names = [str(thing[key])[1:] for key in ("/Type", "/Subtype", "/S") if key in thing]
    entries = b"".join(_entry(thing, key) for key in sorted(thing) if key not in left_out)
    return " ".join(names) or "dictionary", entries + bytes(getattr(thing, "encoded_data", b"") or b"")


def _entry(thing: Any, key: str) -> bytes:
    return key.encode() + b" " + _spelled(thing.raw_get(key)) + b"\n"


def _spelled(thing: Any) -> bytes:
    stream = io.BytesIO()
    thing.write_to_stream(stream, None)
    return stream.getvalue()
