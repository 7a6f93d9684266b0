"""Every byte between the objects of a file accounted for: no second copy of an object waits there for its turn.

The cross-reference tables say where each object of each revision begins. What follows an object, up to the next one or
to a table, may only be white space, comments and the end of a revision.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from reportgen.verification.verdict import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator

_HEADER = re.compile(rb"%PDF-\d\.\d[\r\n]+(?:%[^\r\n]*[\r\n]+|\s+)*\Z")
_OBJECT = re.compile(rb"\s*\d+\s+\d+\s+obj\b")
_BETWEEN = re.compile(rb"\s*endobj(?:\s+|%(?!%EOF)[^\r\n]*)*(?:startxref\s+\d+\s+%%EOF\s*)?\Z")
_TABLE = re.compile(rb"\s*xref\s[\s\dfn]*trailer\b(?P<trailer>.*)startxref\s+\d+\s+%%EOF\s*\Z", re.DOTALL)
_STREAM = re.compile(rb"\bstream\r?\n")
_LENGTH = re.compile(rb"/Length\s+(\d+)(?:\s+(\d+)\s+R)?")
_STRING = re.compile(rb"\((?:[^()\\]|\\.|\((?:[^()\\]|\\.)*\))*\)|%[^\r\n]*", re.DOTALL)


def orphan_bytes(pdf: bytes, reader: Any) -> list[Reason]:
    """Return ORPHAN_OBJECTS with the place of the first bytes that belong to no object and no table."""
    starts = sorted(set(_starts(reader)))
    if not starts or not _HEADER.match(pdf[: starts[0]]):
        return [_orphan(0)]
    for start, stop in zip(starts, [*starts[1:], len(pdf)], strict=True):
        if not _accounted_for(pdf[start:stop], reader):
            return [_orphan(start)]
    return []


def _orphan(place: int) -> Reason:
    return Reason("ORPHAN_OBJECTS", f"the file holds bytes that belong to no object, after byte {place}")


def _starts(reader: Any) -> Iterator[int]:
    """Yield where each object of each revision, and each classic table, begins."""
    for revision in range(reader.total_revisions):
        yield reader.xrefs.get_startxref_for_revision(revision)
        for reference in reader.xrefs.explicit_refs_in_revision(revision):
            place = reader.xrefs.get_historical_ref(reference, revision)
            if isinstance(place, int):
                yield place


def _accounted_for(segment: bytes, reader: Any) -> bool:
    if not _OBJECT.match(segment):
        table = _TABLE.match(segment)
        return table is not None and b"endobj" not in _STRING.sub(b"", table["trailer"])
    end = segment.find(b"endobj")
    if end >= 0 and _BETWEEN.match(segment, end) and b"stream" not in segment[:end]:
        return True
    stream = _STREAM.search(segment)
    if stream and b"endobj" not in _STRING.sub(b"", segment[: stream.start()]):
        return _stream_ends(segment, stream, reader)
    plain = _STRING.sub(b"()", segment)
    end = plain.find(b"endobj")
    return end >= 0 and _BETWEEN.match(plain, end) is not None


def _stream_ends(segment: bytes, stream: re.Match[bytes], reader: Any) -> bool:
    """Say whether the stream ends where its dictionary says and nothing follows it."""
    stated = _LENGTH.search(segment, 0, stream.start())
    if not stated:
        return False
    length = int(stated[1])
    if stated[2] is not None:
        from pyhanko.pdf_utils.generic import Reference

        length = int(reader.get_object(Reference(length, int(stated[2]), reader)))
    tail = re.compile(rb"\s*endstream\b").match(segment, stream.end() + length)
    return tail is not None and _BETWEEN.match(segment, tail.end()) is not None
