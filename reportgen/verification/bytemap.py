"""Every byte between the objects of a file accounted for: no second copy of an object waits there for its turn.

The cross-reference tables say where each object of each revision begins. What follows an object, up to the next one or
to a table, may only be white space, comments and the end of a revision. Numbers of objects leave no gap: readers differ
in how high a number they still take for one of an object.
"""

from __future__ import annotations

import re
from typing import Any

from reportgen.verification.verdict import Reason
from reportgen.words.told import told

# what repeats gives nothing back (`++`, `*+`): else each blank or `%` more would double the time of a mismatch
_HEADER = re.compile(rb"%PDF-\d\.\d[\r\n](?:%[^\r\n]*+[\r\n]|\s++)*+\Z")
_OBJECT = re.compile(rb"\s*\d+\s+\d+\s+obj\b")
_BETWEEN = re.compile(rb"\s*endobj(?:\s++|%(?!%EOF)[^\r\n]*+)*+(?:startxref\s+\d+\s+%%EOF\s*)?\Z")
_TABLE = re.compile(rb"\s*xref\s[\s\dfn]*trailer\b(?P<trailer>.*)startxref\s+\d+\s+%%EOF\s*\Z", re.DOTALL)
_STREAM = re.compile(rb"\bstream\r?\n")
_TAIL = re.compile(rb"\s*endstream\b")
_LENGTH = re.compile(rb"/Length\s+(\d+)(?:\s+(\d+)\s+R)?")
_STRING = re.compile(rb"\((?:[^()\\]|\\.|\((?:[^()\\]|\\.)*\))*\)|%[^\r\n]*", re.DOTALL)


def orphan_bytes(pdf: bytes, reader: Any) -> list[Reason]:
    """Return ORPHAN_OBJECTS with the place of the first bytes that belong to no object and no table."""
    found: set[int] = set()  # where each object of each revision, and each classic table, begins
    for revision in range(reader.total_revisions):
        found.add(reader.xrefs.get_startxref_for_revision(revision))
        references = reader.xrefs.explicit_refs_in_revision(revision)
        places = (reader.xrefs.get_historical_ref(reference, revision) for reference in references)
        found.update(place for place in places if isinstance(place, int))
    starts = sorted(found)
    wrong = None
    if not starts or not _HEADER.match(pdf[: starts[0]]):
        wrong = 0
    else:
        pairs = zip(starts, [*starts[1:], len(pdf)], strict=True)
        wrong = next((start for start, stop in pairs if not _accounted_for(pdf[start:stop], reader)), None)
    if wrong is None:
        return []
    return [Reason("ORPHAN_OBJECTS", told("orphan-bytes", after=wrong))]


def number_gaps(reader: Any) -> list[Reason]:
    """Return FORMAT_FAILURE with the first number below a revision's ``/Size`` that no table lists.

    The library of signing passes one number over when it begins a revision.
    """
    free = 1
    for revision in range(reader.total_revisions):
        listed = {reference.idnum for reference in reader.xrefs.explicit_refs_in_revision(revision)}
        size = int(reader.trailer.raw_get("/Size", revision=revision))
        missing = next((number for number in range(free, size) if number not in listed), None)
        if missing is None and (max(listed, default=0) >= size or size < free - 1):
            missing = size
        if missing is not None:
            return [Reason("FORMAT_FAILURE", told("object-numbers-with-gaps", number=missing))]
        free = size + 1
    return []


def _accounted_for(segment: bytes, reader: Any) -> bool:
    """Say whether a segment is one object or table, whose stream ends where its dictionary says, and nothing else."""
    if not _OBJECT.match(segment):
        table = _TABLE.match(segment)
        return table is not None and b"endobj" not in _STRING.sub(b"", table["trailer"])
    end = segment.find(b"endobj")
    if end >= 0 and _BETWEEN.match(segment, end) and b"stream" not in segment[:end]:
        return True
    stream = _STREAM.search(segment)
    if not stream or b"endobj" in _STRING.sub(b"", segment[: stream.start()]):
        plain = _STRING.sub(b"()", segment)
        end = plain.find(b"endobj")
        return end >= 0 and _BETWEEN.match(plain, end) is not None
    stated = _LENGTH.search(segment, 0, stream.start())
    if not stated:
        return False
    length = int(stated[1])
    if stated[2] is not None:
        from pyhanko.pdf_utils.generic import Reference

        length = int(reader.get_object(Reference(length, int(stated[2]), reader)))
    tail = _TAIL.match(segment, stream.end() + length)
    return tail is not None and _BETWEEN.match(segment, tail.end()) is not None
