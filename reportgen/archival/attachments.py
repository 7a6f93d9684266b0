"""Files embedded in a report: written with their relationship to it, read back with limits."""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass
from hashlib import md5
from typing import TYPE_CHECKING, Any, Literal, get_args

from reportgen.archival import pdfsyntax

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

Relationship = Literal["Source", "Data", "Alternative", "Supplement", "Unspecified"]

MIME_TYPES = {
    ".yaml": "application/yaml",
    ".csv": "text/csv",
    ".json": "application/json",
    ".txt": "text/plain",
    ".pdf": "application/pdf",
    ".jpg": "image/jpeg",
    ".png": "image/png",
}
"""MIME type by suffix, for what reports embed; RFC 9512, RFC 4180, RFC 8259, RFC 2046, RFC 8118."""

LARGEST_TOTAL = 64 << 20
"""Decoded bytes that `read_attachments` takes out of one file unless told otherwise."""
_MOST_NODES = 10_000
_UNREADABLE = "the list of embedded files cannot be read"
_LONGEST_NAME = 200
_STREAM_NUMBER = re.compile(rb"/EF<</F (\d+) 0 R")
_WRITTEN = re.compile(
    rb"/Subtype[^\n]*?/Params<</Size (\d+)/CheckSum<([0-9A-F]{32})>[^\n]*?/Filter/FlateDecode/Length (\d+)>>\nstream\n"
)
_NAME = re.compile(r"[^/\\:\x00-\x1f\x7f]+")


@dataclass(frozen=True, slots=True)
class Attachment:
    """One file to embed.

    Parameters
    ----------
    name : name of a file without folders, under which viewers save it; unique in the report, at most 200 characters
    data : its bytes, unchanged
    mime : MIME type, e.g. ``MIME_TYPES[".csv"]``
    relationship : ``Source`` for the input the report was made from, ``Data`` for its results as data
    description : one line for a reader of the viewer's list
    """

    name: str
    data: bytes
    mime: str
    relationship: Relationship
    description: str

    def __post_init__(self) -> None:
        if not _NAME.fullmatch(self.name) or self.name in (".", "..") or len(self.name) > _LONGEST_NAME:
            raise ValueError(f"not a plain name of a file: {self.name!r}")
        if not re.fullmatch(r"[a-z]+/[a-z0-9.+-]+", self.mime):
            raise ValueError(f"not a MIME type: {self.mime!r}")
        if self.relationship not in get_args(Relationship):
            raise ValueError(f"not a relationship of ISO 19005-3: {self.relationship!r}")


def embedded_file(
    attachment: Attachment, modified: datetime, *, pack: Callable[[bytes], bytes] = zlib.compress
) -> bytes:
    """The embedded file stream, with size, MD5 checksum (as ISO 32000-1 has it) and a date that is not the disk's."""
    parameters = b"/Params<</Size %d/CheckSum<%b>/CreationDate%b/ModDate%b>>" % (
        len(attachment.data),
        md5(attachment.data, usedforsecurity=False).hexdigest().upper().encode("ascii"),
        pdfsyntax.date(modified),
        pdfsyntax.date(modified),
    )
    kind = b"/Type/EmbeddedFile/Subtype%b" % pdfsyntax.name(attachment.mime)
    return pdfsyntax.stream(kind + parameters + b"/Filter/FlateDecode", pack(attachment.data))


def file_specification(attachment: Attachment, stream_number: int) -> bytes:
    """The file specification dictionary of an embedded file stream."""
    shown = pdfsyntax.string(attachment.name)
    return b"<</Type/Filespec/F%b/UF%b/Desc%b/AFRelationship%b/EF<</F %d 0 R/UF %d 0 R>>>>" % (
        shown,
        shown,
        pdfsyntax.string(attachment.description),
        pdfsyntax.name(attachment.relationship),
        stream_number,
        stream_number,
    )


def name_key(attachment: Attachment) -> bytes:
    """The bytes by which a viewer sorts the name tree (ISO 32000-1 §7.9.6)."""
    if attachment.name.isascii():
        return attachment.name.encode("ascii")
    return b"\xfe\xff" + attachment.name.encode("utf-16-be")


def read_attachments(pdf: bytes, *, largest_total: int = LARGEST_TOTAL) -> dict[str, bytes]:
    """Name and content of each file embedded in a PDF, in the order of its name tree.

    A name is only a label: it may look like a path and must not be used as one. At most ``largest_total`` bytes are
    unpacked. Raises ValueError with one sentence: not a PDF, a name used twice, no content, an unusual packing, damage,
    a size or checksum that does not agree, more than the limit.
    """
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    try:
        import io

        root = PdfReader(io.BytesIO(pdf), strict=False).root_object
        tree = _entry(_entry(root, "/Names"), "/EmbeddedFiles")
        files: dict[str, bytes] = {}
        for name, specification in _name_tree(tree):
            if name in files:
                raise ValueError("two embedded files have the same name")
            files[name] = _content(specification, largest_total - sum(map(len, files.values())))
    except (PyPdfError, RecursionError, KeyError, TypeError, AttributeError, OSError) as reason:
        raise ValueError(_UNREADABLE) from reason
    return files


def written_attachment(pdf: bytes, name: str) -> bytes | None:
    """Content of one embedded file of a report that this package wrote, found without parsing the whole file.

    None for a file that is not plainly of that kind: another PDF inside, no or several such names, damage. What is
    found is what the first revision holds; a proof needs `read_attachments`.
    """
    marker = b"<</Type/Filespec/F%b/UF" % pdfsyntax.string(name)
    if pdf.count(b"%PDF-") != 1 or pdf.count(marker) != 1:
        return None
    stream = _STREAM_NUMBER.search(pdf, pdf.index(marker))
    found = stream and re.compile(rb"\n%b 0 obj\n<</Type/EmbeddedFile" % stream[1]).search(pdf)
    facts = found and _WRITTEN.match(pdf, found.end())
    if not facts:
        return None
    try:
        data = _inflated(pdf[facts.end() : facts.end() + int(facts[3])], int(facts[1]))
    except ValueError:
        return None
    digest = md5(data, usedforsecurity=False).hexdigest().upper().encode("ascii")
    return data if (len(data), digest) == (int(facts[1]), facts[2]) else None


def _entry(dictionary: Any, key: str) -> Any:
    found = dictionary.get(key) if dictionary is not None else None
    return found.get_object() if found is not None else None


def _array(node: Any, key: str) -> list[Any]:
    found = _entry(node, key)
    if found is None:
        return []
    if not isinstance(found, list):
        raise ValueError(_UNREADABLE)  # noqa: TRY004  # a fault of the file, not of the caller
    return found


def _name_tree(root: Any) -> Iterator[tuple[str, Any]]:
    waiting, visited = [root] if root is not None else [], 0
    while waiting:
        node = waiting.pop(0)
        visited += 1
        if visited > _MOST_NODES:
            raise ValueError("the list of embedded files has no end")
        names, kids = _array(node, "/Names"), _array(node, "/Kids")
        if len(names) % 2:
            raise ValueError(_UNREADABLE)
        for name, specification in zip(names[::2], names[1::2], strict=True):
            yield str(name.get_object()), specification.get_object()
        waiting[:0] = [kid.get_object() for kid in kids]


def _content(specification: Any, limit: int) -> bytes:
    stream = _entry(_entry(specification, "/EF"), "/F")
    packed = getattr(stream, "_data", None)
    if not isinstance(packed, bytes):
        raise ValueError("an embedded file has no content")  # noqa: TRY004  # a fault of the file, not of the caller
    filters = _entry(stream, "/Filter")
    names = [] if filters is None else [str(item) for item in (filters if isinstance(filters, list) else [filters])]
    if names not in ([], ["/FlateDecode"]) or "/DecodeParms" in stream:
        raise ValueError("an embedded file is packed in an unusual way")
    data = _inflated(packed, limit) if names else packed
    if len(data) > limit:
        raise ValueError("the embedded files are larger than the limit")
    parameters = _entry(stream, "/Params")
    size, checksum = _entry(parameters, "/Size"), _entry(parameters, "/CheckSum")
    if size is not None and int(size) != len(data):
        raise ValueError("an embedded file does not have its recorded size")
    recorded = getattr(checksum, "original_bytes", checksum)
    if recorded not in (None, md5(data, usedforsecurity=False).digest()):
        raise ValueError("an embedded file does not have its recorded checksum")
    return data


def _inflated(packed: bytes, limit: int) -> bytes:
    unpacker = zlib.decompressobj()
    try:
        data = unpacker.decompress(packed, limit + 1)
    except zlib.error as reason:
        raise ValueError("an embedded file cannot be unpacked") from reason
    if len(data) <= limit and not unpacker.eof:
        raise ValueError("an embedded file is cut short")
    return data
