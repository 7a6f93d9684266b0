"""One small real report, signed by a holder of a trusted certificate whose program does as it likes before signing."""

from __future__ import annotations

import datetime as dt
import functools
import re
import tempfile
import zlib
from copy import copy
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest import mock

from reportgen.issued import Recomputation
from reportgen.job.template import Template
from reportgen.pipeline import building
from reportgen.pipeline.checking import check
from reportgen.pipeline.rebuilding import pages_rebuilt
from reportgen.seal import Countersigner, seal_report
from reportgen.verification import verify_report
from reportgen.verification.pagetext import page_text_agrees
from tests import footbridge
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.verification import Verification

AT = dt.datetime(2026, 5, 4, 18, 30, tzinfo=dt.UTC)
LATER = AT + dt.timedelta(days=30)
ENGINEER = "E. Torrance"
_LENGTH = re.compile(rb"/Length (\d+)\b.*?>>\s*stream\r?\n", re.DOTALL)


@functools.cache
def identity(name: str) -> made.Identity:
    return made.identity_of(made.certify(made.named(name), made.ec_key(), made.root()), made.root())


@functools.cache
def _checked(countersigned: bool = False) -> Any:
    with tempfile.TemporaryDirectory() as place:
        job = footbridge.folder(Path(place) / "job", day=footbridge.day(1))
        day = job / "day.yaml"
        if countersigned:
            text = day.read_text("utf-8")
            day.write_text(text.replace("inspector: ", "countersigners: [eng], inspector: ", 1), "utf-8")
        return check(day, at=AT)


def built(*, countersigned: bool = False, **facts: Any) -> building.Built:
    """Return the unsigned report; ``facts`` is what its issue says that is not so."""
    whole = building.IssueFacts

    def claimed(**given: Any) -> Any:
        return whole(**{**given, **facts})

    with mock.patch.object(building, "IssueFacts", claimed):
        return building.build(_checked(countersigned), building.Terms("issue", AT, Template()))


def signed(pages: building.Built, edit: Callable[[bytes], bytes] = bytes, **more: Any) -> bytes:
    """Return the report, its pages edited before they were signed."""
    own, *boxes = building.signature_boxes(pages)
    waiting = [Countersigner("project engineer", ENGINEER, box) for box in boxes]
    who = identity(footbridge.INSPECTOR)
    return seal_report(edit(pages.pdf), who, at=AT, location="Harrowdell", box=own, countersigners=waiting, **more)


def verified(pdf: bytes, **instead: Any) -> Verification:
    """Return the verdict by all that `verify` brings along."""
    checks = {
        "recompute": Recomputation(),
        "page_text_check": page_text_agrees,
        "rebuild_check": functools.partial(pages_rebuilt, None),
        "timestamp_roots": [made.root().certificate],
    }
    return verify_report(pdf, at=LATER, roots=[made.root().certificate], **{**checks, **instead})


class Objects:
    """The objects of a file that our own writer wrote, in their order, to be written again as it does."""

    def __init__(self, pdf: bytes) -> None:
        start = int(pdf[pdf.rindex(b"startxref") :].split()[1])
        rows = pdf[pdf.index(b"0000000000 65535", start) : pdf.index(b"trailer", start)].splitlines()
        places = sorted((int(row[:10]), number) for number, row in enumerate(rows) if row[17:18] == b"n")
        stops = [place for place, _ in places[1:]] + [start]
        self.head = pdf[: places[0][0]]
        self.bodies = [(number, pdf[place:stop]) for (place, number), stop in zip(places, stops, strict=True)]
        self.trailer = re.search(rb"/Root \d+ 0 R/Info \d+ 0 R", pdf[start:])[0]  # type: ignore[index]

    def copy(self) -> Objects:
        """Return the same objects, in a list of their own."""
        other = copy(self)
        other.bodies = list(self.bodies)
        return other

    def written(self, *more: tuple[int, bytes]) -> bytes:
        """Return the file with ``more`` at its end; of two objects of a number the later one is in use."""
        places, size, bodies = {}, len(self.head), [*self.bodies, *more]
        for number, body in bodies:
            places[number] = size
            size += len(body)
        out, size = b"".join([self.head, *(body for _, body in bodies)]), max(places) + 1
        rows = b"".join(b"%010d 00000 n \n" % places[number] for number in range(1, size))
        name = sha256(out).hexdigest()[:32].encode()
        table = b"xref\n0 %d\n0000000000 65535 f \n%b" % (size, rows)
        end = b"trailer\n<</Size %d%b/ID[<%b><%b>]>>\nstartxref\n%d\n%%%%EOF\n"
        return out + table + end % (size, self.trailer, name, name, len(out))

    def other(self, place: int, body: bytes) -> bytes:
        """Return the file with another body at ``place``."""
        kept = self.bodies[place]
        self.bodies[place] = (kept[0], body)
        try:
            return self.written()
        finally:
            self.bodies[place] = kept


def repacked(body: bytes, change: Callable[[bytes], bytes] = bytes, *, level: int = 9, after: bytes = b"") -> bytes:
    """Return an object with its content changed and packed anew, ``after`` behind it; what is not packed as it was."""
    head = _LENGTH.search(body)
    if head is None or b"/FlateDecode" not in body[: head.end()]:
        return body
    end = head.end() + int(head[1])
    packed = zlib.compress(change(zlib.decompress(body[head.end() : end])), level) + after
    begin = body[: head.start(1)] + b"%d" % len(packed) + body[head.end(1) : head.end()]
    return begin + packed + body[end:]


def all_repacked(pdf: bytes, level: int = 9) -> bytes:
    """Return a file with every stream packed by another compressor."""
    objects = Objects(pdf)
    objects.bodies = [(number, repacked(body, level=level)) for number, body in objects.bodies]
    return objects.written()
