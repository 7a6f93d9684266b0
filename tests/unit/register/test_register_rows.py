"""Rows as lines: one spelling, every field checked."""

import datetime as dt
import hashlib
import json
from dataclasses import replace
from typing import Any

import pytest

from reportgen.formats import canonical_json
from reportgen.register import EMPTY, Row, Supersedes, utc_text
from reportgen.register.rows import NO_ROW, decode_row, encode_row, report_of
from tests.unit.register import samples

REPORT = report_of(samples.entry_for(EMPTY), file="reports/AB-12-001.pdf", size=3000, signed_sha256="a" * 64)
ROW = Row("intent", 1, NO_ROW, REPORT)
LINE = encode_row(ROW)


def changed(**fields: Any) -> bytes:
    return json.dumps(json.loads(LINE) | fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def test_the_line_is_what_the_register_is_said_to_hold() -> None:
    assert LINE.decode() == (
        '{"clock_back":false,"date":"2026-03-02",'
        f'"evaluation_sha256":"{hashlib.sha256(b"evaluation AB-12-001").hexdigest()}",'
        '"event":"intent","file":"reports/AB-12-001.pdf","format":1,'
        f'"inputs":{{"2026-03-02.yaml":"{hashlib.sha256(b"day").hexdigest()}",'
        f'"project.yaml":"{hashlib.sha256(b"project").hexdigest()}"}},'
        '"issued_at":"2026-03-02T12:00:00Z","number":"AB-12-001",'
        f'"previous":"{"0" * 64}","revision":0,"sequence":1,"signed_sha256":"{"a" * 64}",'
        '"size":3000,'
        f'"unsigned_sha256":"{hashlib.sha256(b"unsigned AB-12-001").hexdigest()}","verdict":"does not conform"}}'
    )


def test_a_line_is_the_projects_canonical_json() -> None:
    assert canonical_json(json.loads(LINE)) == LINE


@pytest.mark.parametrize(
    "row",
    [
        ROW,
        replace(ROW, event="void", clock_back=True, note="“why” – ½", recovered_at="2026-03-02T13:00:00Z"),
        replace(ROW, report=replace(REPORT, revision=1, supersedes=Supersedes(0, "b" * 64, "roll was mistyped"))),
        Row("rebuilt", 4, "c" * 64, note="rows lost", original_sha256="d" * 64),
    ],
)
def test_what_is_written_is_read_back(row: Row) -> None:
    assert decode_row(encode_row(row)) == row


@pytest.mark.parametrize(
    ("line", "clause"),
    [
        (b"", "is not JSON in UTF-8"),
        (b"{", "is not JSON in UTF-8"),
        (b'{"note":"\xff"}', "is not JSON in UTF-8"),
        (b'{"note":"\\ud800"}', "is not JSON in UTF-8"),
        (b"[" * 100_000, "is not JSON in UTF-8"),
        (b'{"size":' + b"9" * 5000 + b"}", "is not JSON in UTF-8"),
        (b"[1]", "is not written as the register writes its rows"),
        (LINE.replace(b",", b", "), "is not written as the register writes its rows"),
        (LINE.replace(b'"size":3000', b'"size":1,"size":3000'), "is not written as the register writes its rows"),
        (changed(format=0), "does not have a proper `format`"),
        (changed(format=2, previous="?"), "is of format 2, which needs a later release than reportgen 0.1.0"),
        (changed(note=None), "is not written as the register writes its rows"),
        (changed(format=True), "does not have a proper `format`"),
        (changed(event="rebuilt"), "has the unknown field `clock_back`"),
        (changed(extra=1), "has the unknown field `extra`"),
        (changed(event="printed"), "does not have a proper `event`"),
        (changed(sequence=0), "does not have a proper `sequence`"),
        (changed(previous="A" * 64), "does not have a proper `previous`"),
        (changed(clock_back="no"), "does not have a proper `clock_back`"),
        (changed(note=" "), "does not have a proper `note`"),
        (changed(recovered_at="2026-03-02"), "does not have a proper `recovered_at`"),
        (changed(number="ab-1"), "does not have a proper `number`"),
        (changed(number="AB."), "does not have a proper `number`"),
        (changed(number="AB-1\n"), "does not have a proper `number`"),
        (changed(number=1), "does not have a proper `number`"),
        (changed(revision=True), "does not have a proper `revision`"),
        (changed(revision=1000), "does not have a proper `revision`"),
        (changed(date="2.3.2026"), "does not have a proper `date`"),
        (changed(issued_at="2026-03-02T12:00:00+00:00"), "does not have a proper `issued_at`"),
        (changed(verdict="passed"), "does not have a proper `verdict`"),
        (changed(file="/etc/passwd"), "does not have a proper `file`"),
        (changed(file="a\u202eb"), "does not have a proper `file`"),
        (changed(size=0), "does not have a proper `size`"),
        (changed(signed_sha256="a" * 63), "does not have a proper `signed_sha256`"),
        (changed(inputs=[]), "does not have a proper `inputs`"),
        (changed(inputs={"": "a" * 64}), "does not have a proper `inputs`"),
        (changed(inputs={"day.yaml": "x"}), "does not have a proper `inputs`"),
        (changed(supersedes={}), "does not have a proper `supersedes`"),
        (changed(supersedes={"revision": 0, "sha256": "a" * 64, "reason": ""}), "does not have a proper `supersedes`"),
    ],
)
def test_anything_else_is_refused(line: bytes, clause: str) -> None:
    with pytest.raises(ValueError, match=r"^[a-z]") as refusal:
        decode_row(line)
    assert str(refusal.value) == clause


def test_a_missing_field_is_refused() -> None:
    data = json.loads(LINE)
    del data["verdict"]
    with pytest.raises(ValueError, match=r"^does not have a proper `verdict`$"):
        decode_row(canonical_json(data))


def test_an_entry_with_unfit_values_makes_no_report() -> None:
    with pytest.raises(ValueError, match=r"^does not have a proper `unsigned_sha256`$"):
        report_of(replace(samples.entry_for(EMPTY), unsigned_sha256="?"), file="a.pdf", size=1, signed_sha256="a" * 64)


def test_times_are_written_in_utc_and_sort_as_text() -> None:
    east = dt.timezone(dt.timedelta(hours=5, minutes=30))
    assert utc_text(dt.datetime(2026, 3, 2, 1, 15, 9, 999_999, tzinfo=east)) == "2026-03-01T19:45:09Z"
    with pytest.raises(ValueError, match="without its offset"):
        utc_text(dt.datetime(2026, 3, 2, 1, 15, 9))  # noqa: DTZ001 - the missing offset is what is tested


def test_a_row_of_lost_rows_has_its_moment_too() -> None:
    assert Row("rebuilt", 4, "c" * 64, original_sha256="d" * 64).moment is None
    assert ROW.moment == "2026-03-02T12:00:00Z"
    assert replace(ROW, recovered_at="2026-03-03T12:00:00Z").moment == "2026-03-03T12:00:00Z"
