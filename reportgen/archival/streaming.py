"""Embedding many large files without holding them: each is read, packed, written and forgotten before the next."""

from __future__ import annotations

import re
import zlib
from hashlib import sha256
from typing import TYPE_CHECKING, BinaryIO

from reportgen.archival import attachments as files
from reportgen.archival import pdfsyntax
from reportgen.archival.finishing import _catalog_entries, _colour_profile, _take_apart
from reportgen.archival.metadata import Metadata, information, xmp_packet

if TYPE_CHECKING:
    from collections.abc import Iterable

_ROW = 20
_GIVEAWAY = re.compile(rb"startxref|ByteRange|%%EOF|trailer")


def write_archival(pdf: bytes, out: BinaryIO, *, metadata: Metadata, attachments: Iterable[files.Attachment]) -> None:
    """Write to ``out`` what ``make_archival`` returns, with one attachment in memory at a time.

    ``attachments`` come in the order of ``attachments.name_key`` (ValueError otherwise, as for a name used twice).
    ``out`` must be at its beginning.
    """
    pages = _take_apart(pdf)
    sink = _Sink(out, pages.rows)
    sink.plain(pages.head)
    first = pages.info_number + 1
    sink.body(first, pdfsyntax.stream(b"/Type/Metadata/Subtype/XML", xmp_packet(metadata)))
    sink.body(first + 1, pdfsyntax.stream(b"/N 3/Filter/FlateDecode", _colour_profile()))
    specifications: dict[bytes, int] = {}
    number, before = first + 2, b""
    for attachment in attachments:
        if files.name_key(attachment) <= before:
            raise ValueError(f"{attachment.name} is embedded out of order, or twice")
        before = files.name_key(attachment)
        packed = files.embedded_file(attachment, metadata.issued)
        if _GIVEAWAY.search(packed):
            packed = files.embedded_file(attachment, metadata.issued, pack=_cut_and_packed)
        sink.body(number, packed)
        sink.body(number + 1, files.file_specification(attachment, number))
        specifications[pdfsyntax.string(attachment.name)] = number + 1
        number += 2
    sink.body(pages.info_number, information(metadata))
    catalog = b"<<%b\n%b>>" % (pages.catalog, _catalog_entries(first, first + 1, specifications))
    sink.body(pages.catalog_number, catalog)
    sink.end(pages.catalog_number, pages.info_number)


def _cut_and_packed(data: bytes) -> bytes:
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
