"""Whether two files of ours are one but for how their streams are packed: by another zlib, or another release of it.

Both are read in step, from the first byte to the last, after the form in which our own writer puts things down. All
that is not packed must be the same byte for byte; what is packed the same unpacked, with nothing before or after it.
Places in the table of objects move by what came before them, and the identifier follows from the bytes. So nothing can
be moved, added or hidden between objects, which comparing them by their numbers would not see.
"""

from __future__ import annotations

import re
import zlib
from hashlib import sha256
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

_STREAM = re.compile(rb"\d+ 0 obj\n<<.*?/Length (\d+)\b.*?>>\s*stream\r?\n", re.DOTALL)
_NUMBER = re.compile(rb"\d{1,10}")
_PACKED = b"/FlateDecode"
_TAIL = re.compile(
    rb"xref\n0 \d+\n(?P<rows>(?:\d{10} \d{5} [fn] \n)+)(?P<trailer>trailer\n<<[^\n]*/ID)"
    rb"\[<[0-9a-f]{32}><[0-9a-f]{32}>\]>>\nstartxref\n(?P<table>\d+)\n%%EOF\n\Z"
)


def repacked(file: bytes, own: bytes) -> bool:
    """Say whether ``file`` is ``own``, which `make_archival` wrote here, but for the packing of its streams."""
    tail = _TAIL.search(own, own.rfind(b"xref\n0 ", 0, own.rfind(b"startxref")))
    if tail is None:
        return False
    here = there = 0
    moved = [(0, 0)]  # from which place of ``own`` on, by how many bytes
    for head in _streams(own, tail):
        lead, follows = own[here : head.start(1)], own[head.end(1) : head.end()]
        length = _NUMBER.match(file, there + len(lead))
        if length is None or file[there : length.start()] != lead or not file.startswith(follows, length.end()):
            return False
        begin, here = length.end() + len(follows), head.end() + int(head[1])
        there = begin + int(length[0])
        one, other = file[begin:there], own[head.end() : here]
        if one != other and not (_PACKED in head[0] and _unpacked(one, other)):
            return False
        moved.append((here, there - here))
    rest = own[here : tail.start()]
    body = file[: there + len(rest)]
    return body[there:] == rest and file[len(body) :] == _tail(tail, moved, body)


def _streams(own: bytes, tail: re.Match[bytes]) -> Iterator[re.Match[bytes]]:
    """Yield how each object that is a stream begins, with the length of its content, in the order of the file."""
    places = sorted(int(row[:10]) for row in tail["rows"].splitlines() if row[17:18] == b"n")
    for start, stop in zip(places, [*places[1:], tail.start()], strict=True):
        head = _STREAM.match(own, start, stop)
        if head is not None:
            yield head


def _unpacked(one: bytes, other: bytes) -> bool:
    """Say whether two contents are the same unpacked: whole, and nothing after it."""
    try:
        expected, unpacker = zlib.decompress(other), zlib.decompressobj()
        found = unpacker.decompress(one, len(expected) + 1)
    except zlib.error:
        return False
    return found == expected and unpacker.eof and not unpacker.unused_data


def _tail(own: re.Match[bytes], moved: list[tuple[int, int]], body: bytes) -> bytes:
    """Return table and trailer as our writer puts them after ``body``."""

    def place(number: int) -> int:
        return number + next(by for start, by in reversed(moved) if start <= number)

    rows = [
        row if row[17:18] == b"f" else b"%010d%b" % (place(int(row[:10])), row[10:])
        for row in own["rows"].splitlines(keepends=True)
    ]
    identifier = sha256(body).hexdigest()[:32].encode("ascii")
    table = own.string[own.start() : own.start("rows")] + b"".join(rows) + own["trailer"]
    return table + b"[<%b><%b>]>>\nstartxref\n%d\n%%%%EOF\n" % (identifier, identifier, len(body))
