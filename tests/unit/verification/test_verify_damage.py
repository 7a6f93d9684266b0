"""Whatever happens to the bytes of a report: one flipped bit fails it, and no damage brings anything but a verdict."""

from __future__ import annotations

import random
import re

import pytest
from cryptography.hazmat.primitives.serialization import Encoding
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.e2e.tamper.ranges import flipped, gap
from tests.thorough import repeats
from tests.unit.verification import damaged as in_a_child
from tests.unit.verification import signed_material as made

ROOT = made.root().certificate.public_bytes(Encoding.DER)
TOKENS = (
    *(b"endobj", b"stream", b"endstream", b"xref", b"trailer", b"startxref", b"%%EOF", b"<<", b">>", b"[", b"]", b"("),
    *(b")", b"<", b">", b"/ByteRange", b"/Contents", b"/Prev 0", b"/Length 0", b"/Kids", b"0 0 R", b"1 0 R", b"null"),
    *(b"-1", b"99999999999", b"\0", b"\xff", b"/Filter/FlateDecode", b"/Type/ObjStm", b"/Encrypt 1 0 R"),
)


def overall(pdf: bytes) -> str:
    return in_a_child.overall(pdf, ROOT)


def signed_places(pdf: bytes) -> list[int]:
    start, stop = gap(pdf)
    return [*range(start), *range(stop, len(pdf))]


@pytest.mark.parametrize("make", [made.report, made.complete_report])
def test_a_flipped_bit_in_signed_bytes_fails(make: object) -> None:
    """A sample, new on each run and named in the failure; all of them take a minute and were tried by hand."""
    report = make()  # type: ignore[operator] # one of two functions
    chance = random.Random()  # noqa: S311 - a sample, not a secret
    flips = [(place, chance.randrange(8)) for place in chance.sample(signed_places(report), 40)]
    found = in_a_child.overall_with(report, ROOT, flips)
    assert {flip: verdict for flip, verdict in found.items() if verdict != "failed"} == {}


def test_a_later_signature_tells_that_a_certificate_below_it_was_altered() -> None:
    """One that cannot be read any more stops the look at its own signature, not at those over it."""
    report = made.complete_report()
    first = report.index(b"/Contents <")
    dates = [
        one.start()
        for one in re.finditer(rb"170d3|180f3", report[: gap(report)[0]], re.IGNORECASE)
        if one.start() > first
    ]
    assert dates, "UTCTime or GeneralizedTime of a certificate, as hexadecimal digits"
    flips = [(place, 0) for place in dates[:12]]
    found = in_a_child.overall_with(report, ROOT, flips)
    assert set(found.values()) == {"failed"}


def test_bits_of_the_value_fail_or_do_not_matter() -> None:
    """Digits in the value: of the signature, or of what only a hash of the whole file covers (certificates, case)."""
    report = made.report()
    start, stop = gap(report)
    places = [(place, 0) for place in range(start + 1, start + 2500, 121)]
    outcomes = set(in_a_child.overall_with(report, ROOT, places).values())
    assert outcomes <= {"failed", "passed", "indeterminate"}
    assert "failed" in outcomes
    assert overall(flipped(report, stop - 2)) == "failed"


@pytest.mark.parametrize("blanks", [b"\n" * 60, b"% " * 60, b"%" * 60], ids=["lines", "blanks", "comments"])
@pytest.mark.parametrize("where", ["xref\n0 ", "1 0 obj"])
def test_many_blanks_take_no_time(blanks: bytes, where: str) -> None:
    """Bytes that belong to no object, behind blanks: one blank more must not double the time of saying so."""
    pdf = made.unsigned()
    place = pdf.index(where.encode())
    head, table = pdf[:place] + blanks + b"\nx\n" + pdf[place : pdf.index(b"xref\n0 ")], pdf[pdf.index(b"xref\n0 ") :]
    more = len(blanks) + 3
    if where == "1 0 obj":
        table = re.sub(rb"(\d{10})(?= 00000 n)", lambda found: b"%010d" % (int(found[0]) + more), table)
    start = int(table[table.rindex(b"startxref") :].split()[1])
    report = made.sealed(head + table.replace(b"startxref\n%d" % start, b"startxref\n%d" % (start + more)))
    assert overall(report) == "indeterminate"


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    pdf = draw(st.sampled_from([made.report(), made.complete_report(), made.unsigned()]))
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(pdf) - 1))
        stop = min(len(pdf), start + draw(st.integers(0, 200)))
        insert = draw(st.sampled_from(TOKENS) | st.binary(max_size=8) | st.just(pdf[start:stop]))
        pdf = pdf[:start] + insert + draw(st.sampled_from([pdf[start:], pdf[stop:], pdf[start + len(insert) :]]))
        if not pdf:
            break
    return pdf


@given(damaged())
@settings(max_examples=repeats(120), deadline=None)
def test_damage_brings_a_verdict_and_never_a_pass(pdf: bytes) -> None:
    answer = overall(pdf)
    if answer == "passed":
        assert any(pdf.startswith(original[: gap(original)[0]]) for original in (made.report(), made.complete_report()))
        assert _same_outside_of_values(pdf)


def _same_outside_of_values(pdf: bytes) -> bool:
    """Say whether only digits of signature values differ from an original report."""
    for original in (made.report(), made.complete_report()):
        start, stop = gap(original)
        if len(pdf) == len(original) and pdf[:start] + pdf[stop:] == original[:start] + original[stop:]:
            return True
    return made.complete_report().startswith(pdf)  # a countersignature cut off: only the register knows of it
