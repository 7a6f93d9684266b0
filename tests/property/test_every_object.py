"""Each object of a signed report overwritten, moved, duplicated or added, in any revision: never passed.

Whoever does it holds a trusted certificate and signs what came of it. The file before the signature is a real report:
there every object is compared with the pages built again, and a sample goes through the whole verification. In the
revisions of the signatures every object goes through it.
"""

import asyncio
import functools
import hashlib
import re
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.increments import RevocationData
from reportgen.pipeline.rebuilding import compared
from reportgen.seal import renew_report
from reportgen.verification import Outcome, verify_report
from tests.e2e.signed_footbridge import Objects, all_repacked, built, repacked, signed, verified
from tests.e2e.tamper.controls import crl
from tests.e2e.tamper.insiders import resigned
from tests.thorough import repeats
from tests.unit.verification import signed_material as made

KINDS = ("overwritten", "moved", "duplicated", "duplicated, the first in use", "added")


@functools.cache
def pages():
    return built()


@functools.cache
def evidence():
    """What verification hands to step 10."""
    seen = []
    verified(signed(pages()), rebuild_check=lambda given: seen.append(given) or Outcome("passed"))
    return seen[0]


def overwritten(body):
    """Return an object with another content, or with an entry more, in whatever form it has."""
    other = repacked(body, lambda content: content[:-1] + bytes([content[-1] ^ 1]) if content else b" ", level=-1)
    if other != body:
        return other
    begin = body.index(b" obj\n") + len(b" obj\n")
    if body[begin : begin + 2] == b"<<":
        return body[: begin + 2] + b"/Note(x)" + body[begin + 2 :]
    return body[:begin] + b"[" + body[begin:].replace(b"\nendobj", b"]\nendobj", 1)


@functools.cache
def objects_of(pdf):
    return Objects(pdf)


def altered(pdf, place, kind):
    """Return a file of our own writer with one of its objects changed, its table and identifier as they should be."""
    objects = objects_of(pdf).copy()
    number, body = objects.bodies[place]
    if kind == "overwritten":
        return objects.other(place, overwritten(body))
    if kind == "moved":
        del objects.bodies[place]
        return objects.written((number, body))
    if kind == "duplicated":
        return objects.written((number, body))
    if kind == "duplicated, the first in use":
        objects.bodies.insert(place, (number, overwritten(body)))
        return objects.written()
    fresh = max(number for number, _ in objects.bodies) + 1
    return objects.written((fresh, body.replace(b"%d 0 obj" % number, b"%d 0 obj" % fresh, 1)))


def numbers():
    return len(objects_of(pages().pdf).bodies)


@pytest.mark.parametrize("kind", KINDS)
def test_no_object_of_the_pages_can_be_changed(kind):
    own, last = pages(), numbers() - 1
    for place in range(numbers()):
        if kind == "moved" and place == last:  # it is at the end
            continue
        pdf = altered(own.pdf, place, kind)
        signing = replace(evidence().signing, unsigned=len(pdf))
        outcome = compared(replace(evidence(), pdf=pdf, signing=signing), own)
        assert outcome.status == "failed", (kind, objects_of(own.pdf).bodies[place][1][:80])


def test_what_only_another_compressor_packed_is_the_same():
    """Else the property above could hold by refusing everything."""
    own = pages()
    for pdf in (own.pdf, all_repacked(own.pdf), all_repacked(own.pdf, level=0)):
        signing = replace(evidence().signing, unsigned=len(pdf))
        assert compared(replace(evidence(), pdf=pdf, signing=signing), own).status == "passed"
    assert pages().pdf != all_repacked(own.pdf)


@settings(max_examples=repeats(12), deadline=None)
@given(data=st.data())
def test_the_whole_verification_never_passes_what_was_changed_in_the_pages(data):
    place, kind = data.draw(st.integers(0, numbers() - 2)), data.draw(st.sampled_from(KINDS))
    pdf = altered(pages().pdf, place, kind)
    try:
        report = signed(pages(), lambda _: pdf)
    except Exception:  # noqa: BLE001 - what cannot be signed is no report
        return
    assert verified(report).overall != "passed"


# --- the revisions of signatures


class Revision:
    """The last revision of a file with a classic table: its objects in their order, to be written again."""

    def __init__(self, pdf):
        start = int(pdf[pdf.rindex(b"startxref") :].split()[1])
        self.tail = pdf[start:]
        rows = []
        for first, count, block in re.findall(rb"(\d+) (\d+)[ \r]*\n((?:\d{10} \d{5} [nf][ \r]*\n)+)", self.tail):
            rows += [
                (int(row[:10]), int(first) + at) for at, row in enumerate(block.splitlines()) if row[17:18] == b"n"
            ]
            assert int(count) == len(block.splitlines())
        rows.sort()
        stops = [place for place, _ in rows[1:]] + [start]
        self.before = pdf[: rows[0][0]]
        self.bodies = [(number, pdf[place:stop]) for (place, number), stop in zip(rows, stops, strict=True)]

    def written(self, bodies):
        out, places = self.before, {}
        for number, body in bodies:
            places[number] = len(out)
            out += body
        rows = b"".join(b"%d 1\n%010d 00000 n \n" % (number, places[number]) for number in sorted(places))
        trailer = self.tail[self.tail.index(b"trailer") : self.tail.rindex(b"startxref")]
        size = max([*places, int(re.search(rb"/Size (\d+)", trailer)[1]) - 1]) + 1
        trailer = re.sub(rb"/Size \d+", b"/Size %d" % size, trailer)
        return out + b"xref\n" + rows + trailer + b"startxref\n%d\n%%%%EOF\n" % len(out)


def in_revision(pdf, place, kind):
    revision = Revision(pdf)
    bodies = list(revision.bodies)
    number, body = bodies[place]
    if kind == "overwritten":
        bodies[place] = (number, body.replace(b"<<", b"<<\n/Note (x)", 1))
    elif kind == "moved":
        bodies.append(bodies.pop(place))
    elif kind == "duplicated":
        bodies.append((number, body))
    elif kind == "duplicated, the first in use":
        bodies.insert(place, (number, body.replace(b"<<", b"<<\n/Note (x)", 1)))
    else:
        bodies.append((900, body.replace(b"%d 0 obj" % number, b"900 0 obj", 1)))
    return revision.written(bodies)


def whole(pdf, who):
    """Sign what was written by hand, as the holder of the certificate can, or have its time stamped."""
    from unittest import mock

    if who is None:
        return restamped(pdf)
    with mock.patch.object(made, "inspector", who):
        return resigned(pdf)


def restamped(pdf):
    """Return ``pdf`` with the timestamp of its last renewal made anew over the bytes as they are."""
    start = pdf.rindex(b"/Contents <") + len(b"/Contents ")
    stop = pdf.index(b">", start) + 1
    old = re.compile(rb"/ByteRange \[[ \d]+\] *").search(pdf, stop)
    new = b"/ByteRange [0 %d %d %d]" % (start, stop, len(pdf) - stop)
    pdf = pdf[: old.start()] + new.ljust(len(old[0])) + pdf[old.end() :]
    digest = hashlib.sha256(pdf[:start] + pdf[stop:]).digest()
    value = asyncio.run(made.timestamper(RENEWED_AT).async_timestamp(digest, "sha256")).dump().hex().upper().encode()
    return pdf[:start] + b"<" + value.ljust(stop - start - 2, b"0") + b">" + pdf[stop:]


RENEWED_AT = made.AT + timedelta(days=1)


@functools.cache
def renewed():
    """A report renewed with a list of its authority, so that its store has every kind of object."""
    given = RevocationData(crls=(crl(),))
    return renew_report(made.report(), made.timestamper(RENEWED_AT), given=given).pdf


CASES = {
    "the first signature's": (made.report, made.inspector),
    "a countersignature's": (lambda: made.countersigned(made.open_report(), made.engineer()), made.engineer),
    "a renewal's": (renewed, None),
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("case", CASES)
def test_no_object_of_a_signatures_revision_can_be_changed(case, kind):
    make, who = CASES[case]
    count = len(Revision(make()).bodies)
    assert count >= 2
    for place in range(count - (kind == "moved")):
        pdf = in_revision(make(), place, kind)
        try:
            report = whole(pdf, who)
        except (AttributeError, ValueError, AssertionError):
            report = pdf  # its own value no longer stands where it can be made anew
        answer = verify_report(report, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)
        assert answer.overall != "passed", (place, Revision(make()).bodies[place])


@pytest.mark.parametrize("case", CASES)
def test_a_revision_written_again_as_it_was_passes(case):
    make, who = CASES[case]
    report = whole(make(), who)
    answer = verify_report(report, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)
    assert answer.overall == "passed", answer.reasons
