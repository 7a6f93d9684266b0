"""The last step of a report's bytes: metadata, colour profile and embedded files, without parsing the pages again.

Of many large files each is read, packed, written and forgotten before the next.

`reportgen.pdf.pdffile` writes the information dictionary and the catalog as the last two objects. They are cut off
and written anew with what an archive needs, so that this costs less than a millisecond and leaves no orphan behind.
"""

from __future__ import annotations

import io
import re
import zlib
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from reportgen.archival import attachments as files
from reportgen.archival import pdfsyntax
from reportgen.archival.metadata import Metadata, accessible_packet, information, xmp_packet

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

_ROW = 20  # bytes of a row of the cross-reference table
_TRAILER = re.compile(
    rb"trailer\n<</Size (\d+)/Root (\d+) 0 R/Info (\d+) 0 R/ID\[[^\]]*\]>>\nstartxref\n(\d+)\n%%EOF\n\Z"
)
_STREAM = re.compile(rb"(\d+ 0 obj\n<<.*?/Length )(\d+)\b(.*?>>\s*stream\r?\n)", re.DOTALL)
_GIVEAWAY = re.compile(rb"startxref|ByteRange|%%EOF|trailer")
_UNREADABLE = "not a file that reportgen.pdf wrote, or changed since"


@dataclass(frozen=True, slots=True)
class _Pages:
    """A file of the layout, taken apart: everything before the last two objects, and what has to go on."""

    head: bytes
    rows: bytes  # of the cross-reference table, from object 0
    catalog_number: int
    info_number: int
    catalog: bytes  # its entries, without the brackets


def _trailer_of(pdf: bytes) -> tuple[int, int, int, int, slice]:
    """Return how many objects there are, the numbers of catalog and information, where the table and its rows stand."""
    trailer = _TRAILER.search(pdf, max(0, len(pdf) - 400))
    if trailer is None:
        raise ValueError(_UNREADABLE)
    size, catalog, info, table = (int(group) for group in trailer.groups())
    return size, catalog, info, table, slice(table + len(b"xref\n0 %d\n" % size), trailer.start())


def _take_apart(pdf: bytes) -> _Pages:
    size, catalog_number, info_number, table, place = _trailer_of(pdf)
    rows = pdf[place]
    if len(rows) != size * _ROW or not 0 < catalog_number < size or info_number != size - 1:
        raise ValueError(_UNREADABLE)
    info_at, catalog_at = (int(rows[_ROW * number : _ROW * number + 10]) for number in (info_number, catalog_number))
    opening, closing = b"%d 0 obj\n<<" % catalog_number, b">>\nendobj\n"
    body = pdf[catalog_at:table]
    if not (info_at < catalog_at and body.startswith(opening) and body.endswith(closing)) or b"/AF" in body:
        raise ValueError(_UNREADABLE)
    return _Pages(pdf[:info_at], rows, catalog_number, info_number, body[len(opening) : -len(closing)])


def make_archival(pdf: bytes, *, metadata: Metadata, attachments: Sequence[files.Attachment] = ()) -> bytes:
    """The file with XMP metadata, information dictionary, output intent, embedded files and an identifier of its own.

    Parameters
    ----------
    pdf : what a `reportgen.pdf.canvas.ReportCanvas` saved, unchanged (ValueError for any other file)
    metadata : what the report says of itself; its claims of conformance must fit the pages (level A and accessible only
        for tagged ones, ValueError)
    attachments : the files to embed, names unique (ValueError)

    The same arguments give the same bytes. The identifier (``/ID``) is a hash of the content.
    """
    out = io.BytesIO()
    write_archival(pdf, out, metadata=metadata, attachments=sorted(attachments, key=files.name_key))
    return out.getvalue()


def write_archival(pdf: bytes, out: BinaryIO, *, metadata: Metadata, attachments: Iterable[files.Attachment]) -> None:
    """Write to ``out`` what ``make_archival`` returns, with one attachment in memory at a time.

    ``attachments`` come in the order of ``attachments.name_key`` (ValueError otherwise, as for a name used twice).
    ``out`` must be at its beginning.
    """
    pages = _take_apart(pdf)
    if metadata.conformance == "A" and b"/StructTreeRoot" not in pages.catalog:
        raise ValueError("pages without tags can be PDF/A of level B at most")
    sink = _Sink(out, pages.rows)
    sink.plain(pages.head)
    first = pages.info_number + 1
    sink.body(first, pdfsyntax.stream(b"/Type/Metadata/Subtype/XML", xmp_packet(metadata)))
    # an sRGB profile, ICC version 2 (IEC 61966-2-1 primaries and tone curve)
    profile = zlib.compress((Path(__file__).parent / "data" / "srgb-v2.icc").read_bytes())
    sink.body(first + 1, pdfsyntax.stream(b"/N 3/Filter/FlateDecode", profile))
    specifications: dict[bytes, int] = {}
    number, before = first + 2, b""
    for attachment in attachments:
        if files.name_key(attachment) <= before:
            raise ValueError(f"{attachment.name} is embedded out of order, or twice")
        before = files.name_key(attachment)
        packed = files.embedded_file(attachment, metadata.issued)
        if _GIVEAWAY.search(packed):
            packed = files.embedded_file(attachment, metadata.issued, pack=cut_and_packed)
        sink.body(number, packed)
        sink.body(number + 1, files.file_specification(attachment, number))
        specifications[pdfsyntax.string(attachment.name)] = number + 1
        number += 2
    sink.body(pages.info_number, information(metadata))
    entries = [
        pages.catalog,
        b"/Metadata %d 0 R" % first,
        b"/OutputIntents[<</Type/OutputIntent/S/GTS_PDFA1/OutputConditionIdentifier(sRGB IEC61966-2.1)"
        b"/Info(sRGB IEC61966-2.1)/RegistryName(http://www.color.org)/DestOutputProfile %d 0 R>>]" % (first + 1),
    ]
    if specifications:
        names = b"\n".join([b"%b %d 0 R" % pair for pair in specifications.items()])
        entries.append(b"/Names<</EmbeddedFiles<</Names[%b]>>>>" % names)
        entries.append(b"/AF[%b]" % b" ".join([b"%d 0 R" % number for number in specifications.values()]))
    sink.body(pages.catalog_number, b"<<%b>>" % b"\n".join(entries))
    sink.end(pages.catalog_number, pages.info_number)


def make_accessible(pdf: bytes, *, title: str, language: str) -> bytes:
    """Return pages that are no archival document with the metadata of PDF/UA-1, and with nothing of a time.

    ``pdf`` is what a `reportgen.pdf.canvas.ReportCanvas` saved, unchanged (ValueError for any other file).
    """
    pages, out = _take_apart(pdf), io.BytesIO()
    sink = _Sink(out, pages.rows)
    sink.plain(pages.head)
    packet = pages.info_number + 1
    sink.body(packet, pdfsyntax.stream(b"/Type/Metadata/Subtype/XML", accessible_packet(title, language)))
    sink.body(pages.info_number, b"<</Title %b>>" % pdfsyntax.string(" ".join(title.split())))
    sink.body(pages.catalog_number, b"<<%b\n/Metadata %d 0 R>>" % (pages.catalog, packet))
    sink.end(pages.catalog_number, pages.info_number)
    return out.getvalue()


def cut_and_packed(data: bytes) -> bytes:
    """Deflate ``data`` so that no mark of a PDF's structure shows through, as one does in a block that is only stored.

    The marks of an embedded PDF would be counted as this file's own. Each is cut in two by the border of a block.
    """
    packer = zlib.compressobj()
    parts, start = [], 0
    for found in _GIVEAWAY.finditer(data):
        cut = (found.start() + found.end()) // 2
        parts += [packer.compress(data[start:cut]), packer.flush(zlib.Z_SYNC_FLUSH)]
        start = cut
    return b"".join([*parts, packer.compress(data[start:]), packer.flush()])


def repacked(file: bytes, own: bytes) -> bool:
    """Say whether ``file`` is ``own``, which was made here, but for the packing of its streams: by another zlib, say.

    ``own`` is written again as it was, each stream with the content that ``file`` has for it where that is the same
    unpacked. Then the two must be equal, byte for byte: so nothing can be moved, or be added between the objects.
    """
    try:
        places, catalog, info = _places(own)
        there, _, _ = _places(file)
    except ValueError:
        return False
    numbers = sorted(places, key=places.__getitem__)
    out = io.BytesIO()
    sink = _Sink(out, b"0000000000 65535 f \n")
    sink.plain(own[: places[numbers[0]]])
    for number, stop in zip(numbers, [*(places[one] for one in numbers[1:]), own.rindex(b"xref\n0 ")], strict=True):
        part, head = own[places[number] : stop], _STREAM.match(own, places[number], stop)
        other = head and _STREAM.match(file, there.get(number, 0))
        if head and other:
            packed = own[head.end() : head.end() + int(head[2])]
            content = file[other.end() : other.end() + int(other[2])]
            if packed != content and not (b"/FlateDecode" in head[0] and _alike(packed, content)):
                return False
            part = b"%b%d%b%b%b" % (head[1], len(content), head[3], content, own[head.end() + len(packed) : stop])
        sink.body(number, part.removeprefix(b"%d 0 obj\n" % number).removesuffix(b"\nendobj\n"))
    sink.end(catalog, info)
    return out.getvalue() == file


def _places(pdf: bytes) -> tuple[dict[int, int], int, int]:
    """Return where each object of a file of ours begins, and the numbers of its catalog and information."""
    size, catalog, info, _, place = _trailer_of(pdf)
    return {number: int(pdf[place.start + _ROW * number :][:10]) for number in range(1, size)}, catalog, info


def _alike(own: bytes, other: bytes) -> bool:
    """Say whether two packed contents are the same unpacked, whole and with nothing behind."""
    try:
        expected, unpacker = zlib.decompress(own), zlib.decompressobj()
        found = unpacker.decompress(other, len(expected) + 1)
    except zlib.error:
        return False
    return found == expected and unpacker.eof and not unpacker.unused_data


class _Sink:
    """Objects written one after the other, with their places and a running hash for the identifier."""

    def __init__(self, out: BinaryIO, rows: bytes) -> None:
        self._out, self._position, self._hash = out, 0, sha256()
        self._rows = {number: rows[_ROW * number : _ROW * (number + 1)] for number in range(len(rows) // _ROW)}

    def plain(self, data: bytes) -> None:
        """Write bytes that are no object."""
        self._out.write(data)
        self._hash.update(data)
        self._position += len(data)

    def body(self, number: int, body: bytes) -> None:
        """Write an object and note its place."""
        self._rows[number] = f"{self._position:010d} 00000 n \n".encode("ascii")
        self.plain(b"%d 0 obj\n%b\nendobj\n" % (number, body))

    def end(self, catalog: int, info: int) -> None:
        """Write the table of places and the trailer; the identifier is the hash of all before."""
        table = b"".join([self._rows[number] for number in range(len(self._rows))])
        identifier = self._hash.hexdigest()[:32].encode("ascii")
        self._out.write(b"xref\n0 %d\n%b" % (len(self._rows), table))
        self._out.write(
            b"trailer\n<</Size %d/Root %d 0 R/Info %d 0 R/ID[<%b><%b>]>>\nstartxref\n%d\n%%%%EOF\n"
            % (len(self._rows), catalog, info, identifier, identifier, self._position)
        )
