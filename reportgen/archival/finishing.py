"""The last step of a report's bytes: metadata, colour profile and embedded files, without parsing the pages again.

`reportgen.pdf.pdffile` writes the information dictionary and the catalog as the last two objects. They are cut off
and written anew with what an archive needs, so that this costs less than a millisecond and leaves no orphan behind.
"""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.archival import attachments as files
from reportgen.archival import pdfsyntax
from reportgen.archival.metadata import Metadata, information, xmp_packet

if TYPE_CHECKING:
    from collections.abc import Sequence

_ROW = 20  # bytes of a row of the cross-reference table
_TRAILER = re.compile(
    rb"trailer\n<</Size (\d+)/Root (\d+) 0 R/Info (\d+) 0 R/ID\[[^\]]*\]>>\nstartxref\n(\d+)\n%%EOF\n\Z"
)
_UNREADABLE = "not a file that reportgen.pdf wrote, or changed since"


@cache
def _colour_profile() -> bytes:
    """An sRGB profile, ICC version 2 (IEC 61966-2-1 primaries and tone curve)."""
    return zlib.compress((Path(__file__).parent / "data" / "srgb-v2.icc").read_bytes())


@dataclass(frozen=True, slots=True)
class _Pages:
    """A file of the layout, taken apart: everything before the last two objects, and what has to go on."""

    head: bytes
    rows: bytes  # of the cross-reference table, from object 0
    catalog_number: int
    info_number: int
    catalog: bytes  # its entries, without the brackets


def _take_apart(pdf: bytes) -> _Pages:
    trailer = _TRAILER.search(pdf, max(0, len(pdf) - 400))
    if trailer is None:
        raise ValueError(_UNREADABLE)
    size, catalog_number, info_number, table = (int(group) for group in trailer.groups())
    start = table + len(b"xref\n0 %d\n" % size)
    rows = pdf[start : trailer.start()]
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
    pages = _take_apart(pdf)
    if metadata.conformance == "A" and b"/StructTreeRoot" not in pages.catalog:
        raise ValueError("pages without tags can be PDF/A of level B at most")
    names = [attachment.name for attachment in attachments]
    if len(set(names)) != len(names):
        raise ValueError("two files to embed have the same name")
    first = pages.info_number + 1
    added = [
        pdfsyntax.stream(b"/Type/Metadata/Subtype/XML", xmp_packet(metadata)),
        pdfsyntax.stream(b"/N 3/Filter/FlateDecode", _colour_profile()),
    ]
    specifications: dict[bytes, int] = {}
    for attachment in sorted(attachments, key=files.name_key):
        added.append(files.embedded_file(attachment, metadata.issued))
        added.append(files.file_specification(attachment, first + len(added) - 1))
        specifications[pdfsyntax.string(attachment.name)] = first + len(added) - 1
    catalog = b"<<%b\n%b>>" % (pages.catalog, _catalog_entries(first, first + 1, specifications))
    numbered = [*enumerate(added, first), (pages.info_number, information(metadata)), (pages.catalog_number, catalog)]
    return _put_together(pages, numbered)


def _catalog_entries(packet: int, profile: int, specifications: dict[bytes, int]) -> bytes:
    intent = (
        b"/OutputIntents[<</Type/OutputIntent/S/GTS_PDFA1/OutputConditionIdentifier(sRGB IEC61966-2.1)"
        b"/Info(sRGB IEC61966-2.1)/RegistryName(http://www.color.org)/DestOutputProfile %d 0 R>>]" % profile
    )
    entries = [b"/Metadata %d 0 R" % packet, intent]
    if specifications:
        names = b"\n".join([b"%b %d 0 R" % pair for pair in specifications.items()])
        entries.append(b"/Names<</EmbeddedFiles<</Names[%b]>>>>" % names)
        entries.append(b"/AF[%b]" % b" ".join([b"%d 0 R" % number for number in specifications.values()]))
    return b"\n".join(entries)


def _put_together(pages: _Pages, numbered: list[tuple[int, bytes]]) -> bytes:
    parts, position = [pages.head], len(pages.head)
    rows = [pages.rows[start : start + _ROW] for start in range(0, len(pages.rows), _ROW)]
    rows += [b""] * (len(numbered) - 2)  # two of them have a row already
    for number, body in numbered:
        rows[number] = f"{position:010d} 00000 n \n".encode("ascii")
        part = b"%d 0 obj\n%b\nendobj\n" % (number, body)
        parts.append(part)
        position += len(part)
    identifier = sha256(b"".join(parts)).hexdigest()[:32].encode("ascii")
    parts.append(b"xref\n0 %d\n%b" % (len(rows), b"".join(rows)))
    parts.append(
        b"trailer\n<</Size %d/Root %d 0 R/Info %d 0 R/ID[<%b><%b>]>>\nstartxref\n%d\n%%%%EOF\n"
        % (len(rows), pages.catalog_number, pages.info_number, identifier, identifier, position)
    )
    return b"".join(parts)
