"""What reading a register refuses, with the line; and what it lets pass."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from reportgen.register import (
    EMPTY,
    REGISTER_NAME,
    Chain,
    Register,
    RegisterAsRead,
    RegisterError,
    Row,
    Supersedes,
    read_chain,
)
from reportgen.register import chain as chain_module
from reportgen.register.rows import NO_ROW, Report, decode_row, encode_row, report_of
from tests.unit.register import samples


@pytest.fixture
def lines(tmp_path: Path) -> list[bytes]:
    """Three reports, six rows."""
    samples.issue_some(tmp_path, 3)
    return (tmp_path / REGISTER_NAME).read_bytes().splitlines()


def text(lines: list[bytes], end: bytes = b"\n") -> bytes:
    return b"".join(line + end for line in lines)


def refused(data: bytes) -> RegisterError:
    with pytest.raises(RegisterError) as refusal:
        read_chain(data)
    assert refusal.value.exit_code == 2
    assert refusal.value.help_text == "restore the register from a copy, or rebuild it from the reports"
    return refusal.value


def test_the_chain_is_what_sha256sum_says(lines: list[bytes]) -> None:
    previous = "0" * 64
    for line in lines:
        assert json.loads(line)["previous"] == previous
        previous = hashlib.sha256(line).hexdigest()
    assert read_chain(text(lines)).chain.head.sha256 == previous


def test_an_empty_register_is_sound() -> None:
    assert read_chain(b"") == RegisterAsRead(Chain(), 0)
    assert Chain().head == EMPTY


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_line_ends_do_not_matter(lines: list[bytes], end: bytes) -> None:
    reading = read_chain(text(lines, end))
    assert reading.chain == read_chain(text(lines)).chain
    assert (reading.torn, reading.unfinished, reading.size) == (None, None, len(text(lines, end)))


BROKEN = "does not follow the line before it: a row was changed, removed, added or moved at this place"
CHANGES: dict[str, tuple[Callable[[list[bytes]], bytes], int, str]] = {
    "byte-order mark": (
        lambda rows: b"\xef\xbb\xbf" + text(rows),
        1,
        "begins with a byte-order mark: an editor has rewritten the file",
    ),
    "first row removed": (lambda rows: text(rows[1:]), 1, BROKEN),
    "row removed": (lambda rows: text(rows[:2] + rows[3:]), 3, BROKEN),
    "rows swapped": (lambda rows: text([rows[0], rows[1], rows[3], rows[2], *rows[4:]]), 3, BROKEN),
    "row repeated": (lambda rows: text([*rows[:3], rows[2], *rows[3:]]), 4, BROKEN),
    "row edited": (
        lambda rows: text([rows[0].replace(b"does not conform", b"conforms"), *rows[1:]]),
        2,
        BROKEN,
    ),
    "last row edited": (
        lambda rows: text([*rows[:5], rows[5].replace(b"does not conform", b"conforms")]),
        6,
        "closes an intent that the line before it does not state",
    ),
    "last row edited, no line end": (
        lambda rows: text([*rows[:5], rows[5].replace(b"does not conform", b"conforms")])[:-1],
        6,
        "closes an intent that the line before it does not state",
    ),
    "reformatted": (
        lambda rows: text([rows[0], rows[1].replace(b":", b": "), *rows[2:]]),
        2,
        "is not written as the register writes its rows",
    ),
    "blank line": (lambda rows: text([*rows[:2], b"", *rows[2:]]), 3, "is not JSON in UTF-8"),
    "blank line at the end": (lambda rows: text([*rows, b""]), 7, "is not JSON in UTF-8"),
    "UTF-16": (lambda rows: text(rows).decode().encode("utf-16-le"), 1, "is not JSON in UTF-8"),
    "NUL in the middle": (lambda rows: text([rows[0][:-1] + b"\0", *rows[1:]]), 1, "is not JSON in UTF-8"),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_is_refused_at_its_line(change: str, lines: list[bytes]) -> None:
    make, line, clause = CHANGES[change]
    error = refused(make(lines))
    assert error.message == f"register.jsonl, line {line}: {clause}"
    assert error.line == line
    assert len(error.sound.rows) == line - 1


def test_every_byte_matters(lines: list[bytes]) -> None:
    """No single changed character passes, wherever it is; the line ends may be CR LF, so those are left out."""
    whole = text(lines[:2])
    for place in range(0, len(whole) - 1, 7):
        if whole[place : place + 1] != b"\n":
            changed = whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :]
            try:
                survived = read_chain(changed + lines[2] + b"\n")
            except RegisterError:
                continue
            assert survived is None, f"a change at byte {place} is not seen"


def test_a_file_of_any_size_is_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chain_module, "MOST_BYTES", 100)
    assert refused(b" " * 101).message == "register.jsonl, line 1: the file is larger than 100 bytes"


@pytest.mark.parametrize("cut", range(1, 60, 7))
def test_a_row_never_finished_is_told_apart_from_a_changed_one(lines: list[bytes], cut: int) -> None:
    reading = read_chain(text(lines)[:-cut])
    if cut == 1:
        assert (reading.torn, reading.unfinished, reading.size) == (None, 6, len(text(lines)) - 1)
        assert len(reading.chain.rows) == 6
    else:
        assert (reading.torn, reading.unfinished, reading.size) == (6, None, len(text(lines[:5])))
        assert len(reading.chain.rows) == 5


@pytest.mark.parametrize("tail", [bytes(50), bytes(50) + b'"}\n', b'{"a":{"b":1}', b"[" * 100_000, b"\r"])
def test_what_lost_power_leaves_at_the_end(lines: list[bytes], tail: bytes) -> None:
    reading = read_chain(text(lines[:4]) + tail)
    assert (reading.torn, reading.unfinished, reading.size) == (5, None, len(text(lines[:4])))


def report(number: str = "AB-12-001", revision: int = 0, supersedes: Supersedes | None = None) -> Report:
    entry = samples.entry_for(EMPTY, number, revision, supersedes)
    return report_of(entry, file=f"{number}-{revision}.pdf", size=10, signed_sha256=samples.sha(number.encode()))


def added(*rows: Row) -> Chain:
    chain = Chain()
    for row in rows:
        placed = chain.next_row(row)
        chain.add(placed, encode_row(placed))
    return chain


def refused_row(chain: Chain, row: Row) -> str:
    with pytest.raises(ValueError, match=r"^[a-z]") as refusal:
        chain.add(row, encode_row(row))
    return str(refusal.value)


INTENT = Row("intent", 0, NO_ROW, report())
ISSUED = Row("issued", 0, NO_ROW, report())


def test_rows_that_hash_well_but_make_no_sense_are_refused() -> None:
    chain = added(INTENT)
    assert refused_row(chain, chain.next_row(INTENT)) == "follows an intent for AB-12-001 left open"
    other = chain.next_row(replace(ISSUED, report=report("AB-12-002")))
    assert refused_row(chain, other) == "closes an intent that the line before it does not state"
    chain = added(INTENT, ISSUED)
    assert refused_row(chain, chain.next_row(ISSUED)) == "closes an intent that the line before it does not state"
    assert refused_row(chain, chain.next_row(INTENT)) == "announces AB-12-001 revision 0 a second time"
    fresh = Row("intent", 0, NO_ROW, report("AB-12-002"))
    assert refused_row(chain, replace(chain.next_row(fresh), sequence=4)) == "has sequence 4 where 3 is due"
    flagged = replace(chain.next_row(fresh), clock_back=True)
    assert refused_row(chain, flagged) == "has a `clock_back` that its times contradict"


def test_a_void_number_may_be_announced_again() -> None:
    chain = added(INTENT, replace(ISSUED, event="void"), INTENT, replace(ISSUED, event="conflict"), INTENT, ISSUED)
    assert list(chain.issued) == [("AB-12-001", 0)]
    assert chain.unclosed is None


def told(revision: int, sha256: str | None = None) -> Supersedes:
    return Supersedes(revision, sha256 or samples.sha(b"AB-12-001"), "roll was mistyped")


@pytest.mark.parametrize(
    ("revision", "supersedes", "fits"),
    [
        (1, told(0), True),
        (1, None, False),
        (1, told(1), False),
        (1, told(0, "e" * 64), False),
        (2, told(1), False),
    ],
)
def test_a_revision_supersedes_the_one_before_it(revision: int, supersedes: Supersedes | None, fits: bool) -> None:
    chain = added(INTENT, ISSUED)
    row = chain.next_row(Row("intent", 0, NO_ROW, report(revision=revision, supersedes=supersedes)))
    if fits:
        chain.add(row, encode_row(row))
    else:
        clause = "does not supersede the revision before it as the register has it"
        assert refused_row(chain, row) == clause


def test_a_first_revision_supersedes_nothing() -> None:
    row = Chain().next_row(Row("intent", 0, NO_ROW, report("AB-12-002", 0, told(0))))
    assert refused_row(Chain(), row) == "does not supersede the revision before it as the register has it"


def test_a_rebuilt_row_takes_the_place_of_lost_ones() -> None:
    chain = added(INTENT, ISSUED)
    lost = Row("rebuilt", 6, chain.head.sha256, original_sha256="d" * 64)
    chain.add(lost, encode_row(lost))
    assert (chain.head.sequence, chain.head.sha256, chain.rebuilt) == (6, "d" * 64, True)
    late = chain.next_row(Row("intent", 0, NO_ROW, report("AB-12-005", 3, told(2))))
    assert (late.sequence, late.previous) == (7, "d" * 64)
    chain.add(late, encode_row(late))  # what it replaces is among the lost
    assert refused_row(chain, replace(lost, previous=chain.head.sha256, sequence=9)) == (
        "stands for lost rows at a place where none can be lost"
    )
    assert "none can be lost" in refused_row(added(INTENT, ISSUED), Row("rebuilt", 1, added(INTENT, ISSUED).head.sha256,
                                                                      original_sha256="d" * 64))  # fmt: skip


def test_a_clock_set_back_is_marked_and_never_refused(tmp_path: Path) -> None:
    with Register.open(tmp_path, clock=samples.clock) as register:
        first = samples.issue(register, tmp_path, "A1")
        back = samples.issue(register, tmp_path, "A2", issued_at=samples.NOON.replace(hour=3))
        later = samples.issue(register, tmp_path, "A3", issued_at=samples.NOON.replace(hour=13))
    assert [first.clock_back, back.clock_back, later.clock_back] == [False, True, False]
    assert len(read_chain((tmp_path / REGISTER_NAME).read_bytes()).chain.rows) == 6


def test_a_closing_row_is_read_from_its_intent_as_from_its_own_line(lines: list[bytes]) -> None:
    chain = Chain()
    for line in lines:
        row = decode_row(line)
        assert chain.closing(line) == (row if row.event == "issued" else None)
        chain.add(row, line)


def test_of_a_closing_row_no_byte_is_passed_over(lines: list[bytes]) -> None:
    chain = read_chain(text(lines[:3])).chain
    closing = lines[3]
    assert chain.closing(closing) is not None
    for at in range(len(closing)):
        assert chain.closing(closing[:at] + bytes([closing[at] ^ 1]) + closing[at + 1 :]) is None
        assert chain.closing(closing[:at] + closing[at + 1 :]) is None
        assert chain.closing(closing[:at] + b" " + closing[at:]) is None


def test_a_file_named_like_a_member_of_the_row_is_no_place_in_the_chain(tmp_path: Path) -> None:
    """An input called `previous` may have any hash; it is not taken for the row's own."""
    with Register.open(tmp_path, clock=samples.clock) as register:
        entry = samples.entry_for(register.head)
        entry = replace(entry, inputs={"previous": NO_ROW, "zone.yaml": samples.sha(b"zone")})
        register.issue(entry, b"%PDF", tmp_path / "one.pdf")
    data = (tmp_path / REGISTER_NAME).read_bytes()
    reading = read_chain(data)
    assert [row.event for row in reading.chain.rows] == ["intent", "issued"]
    first, second = data.splitlines()
    assert read_chain(first).chain.closing(second) is None
    own = json.loads(second)
    forged = second.replace(own["previous"].encode(), NO_ROW.encode()).replace(
        f'"previous":"{NO_ROW}"'.encode(), f'"previous":"{own["previous"]}"'.encode(), 1
    )
    assert forged != second
    refused(text([first, forged]))


def test_what_is_added_to_a_register_read_twice_is_added_to_one(lines: list[bytes]) -> None:
    one, other = (read_chain(text(lines[:2])).chain for _ in range(2))
    for line in lines[2:]:
        one.add(decode_row(line), line)
    assert (one.head, len(one.rows), len(one.issued), len(one.hashes)) == (read_chain(text(lines)).chain.head, 6, 3, 7)
    assert (len(other.rows), len(other.issued), len(other.hashes)) == (2, 1, 3)
    assert other == read_chain(text(lines[:2])).chain
