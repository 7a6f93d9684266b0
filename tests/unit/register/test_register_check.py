"""A register against itself, its files and the reports that others hold."""

import errno
import os
from dataclasses import replace
from pathlib import Path

import pytest

from reportgen import atomicfile
from reportgen.errors import MachineError, UsageError
from reportgen.register import (
    REGISTER_NAME,
    Head,
    Problem,
    Register,
    Witness,
    check_register,
    contradictions,
    read_register,
)
from tests.unit.register import samples


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    samples.issue_some(tmp_path, 4)
    return tmp_path


def codes(problems: list[Problem]) -> list[str]:
    return [problem.code for problem in problems]


def cut_to(folder: Path, rows: int) -> None:
    file = folder / REGISTER_NAME
    file.write_bytes(b"".join(file.read_bytes().splitlines(keepends=True)[:rows]))


def test_a_sound_archive(folder: Path) -> None:
    witnesses = samples.witnesses_in(folder)
    assert check_register(folder, witnesses, pattern=samples.PATTERN) == []
    assert len(witnesses) == 4


def test_a_register_cut_short_is_contradicted_by_every_later_report(folder: Path) -> None:
    """The chain alone cannot see this; without the heads in the reports the cut would pass."""
    *_, third, last = samples.witnesses_in(folder)
    cut_to(folder, 4)
    assert check_register(folder) == []
    assert check_register(folder, [last]) == [
        Problem(
            "register-contradicted",
            "AB-12-004 revision 0 was issued when the register had 6 rows, now it has 4: its end was cut off",
            number="AB-12-004",
        )
    ]
    assert check_register(folder, [third]) == [
        Problem(
            "report-unregistered",
            "AB-12-003 revision 0 (`AB-12-003-r0.pdf`) is signed but not in the register",
            number="AB-12-003",
        )
    ]


def test_a_register_written_anew_is_contradicted(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    witnesses = samples.witnesses_in(folder)
    forged = tmp_path_factory.mktemp("forged")
    with Register.open(forged, clock=samples.clock) as register:
        for place in range(1, 5):
            samples.issue(register, forged, f"AB-12-{place:03d}", issued_at=samples.NOON.replace(minute=place))
    found = check_register(forged, witnesses[1:])
    assert codes(found) == ["register-contradicted"] * 3
    assert found[0].message == (
        "AB-12-002 revision 0 was issued upon a row 2 that is not the one in the register: it was rewritten"
    )


def test_an_emptied_or_absent_register(folder: Path) -> None:
    witnesses = samples.witnesses_in(folder)
    (folder / REGISTER_NAME).write_bytes(b"")
    assert codes(check_register(folder, witnesses)) == ["report-unregistered"] + ["register-contradicted"] * 3
    (folder / REGISTER_NAME).unlink()
    assert check_register(folder, witnesses) == [
        Problem("register-missing", "there is no `register.jsonl`, but 4 signed reports")
    ]
    assert check_register(folder) == []


def test_a_changed_register_is_told_with_its_line(folder: Path) -> None:
    file = folder / REGISTER_NAME
    file.write_bytes(file.read_bytes().replace(b"AB-12-002", b"AB-12-009", 1))
    (problem,) = check_register(folder)
    assert (problem.code, problem.line, problem.grave) == ("register-changed", 4, True)


def test_files_are_compared_by_hash(folder: Path) -> None:
    (folder / "AB-12-001-r0.pdf").unlink()
    (folder / "AB-12-002-r0.pdf").write_bytes(b"another")
    (folder / "AB-12-003-r0.pdf").unlink()
    (folder / "AB-12-003-r0.pdf").mkdir()
    with (folder / "AB-12-004-r0.pdf").open("ab") as file:
        file.write(b"a countersignature is appended and leaves what was issued alone")
    assert check_register(folder) == [
        Problem(
            "report-missing", "AB-12-001 revision 0 is issued, but `AB-12-001-r0.pdf` is not there", 2, "AB-12-001"
        ),
        Problem(
            "report-changed",
            "`AB-12-002-r0.pdf` is not the file that was issued as AB-12-002 revision 0",
            4,
            "AB-12-002",
        ),
        Problem(
            "report-changed",
            "`AB-12-003-r0.pdf` is not the file that was issued as AB-12-003 revision 0",
            6,
            "AB-12-003",
        ),
    ]


def test_a_report_kept_elsewhere_is_not_missing(folder: Path) -> None:
    witnesses = samples.witnesses_in(folder)
    (folder / "AB-12-001-r0.pdf").unlink()
    assert check_register(folder, [replace(witnesses[0], file="archive/1.pdf")]) == []


def test_another_report_of_the_same_number(folder: Path) -> None:
    first = samples.witnesses_in(folder)[0]
    other = replace(first, signed_sha256="e" * 64, file="other.pdf")
    for one in (replace(other, entry=replace(other.entry, unsigned_sha256="d" * 64)), replace(other, size=7)):
        assert check_register(folder, [one]) == [
            Problem(
                "report-changed",
                "`other.pdf` is not the file that the register records for AB-12-001 revision 0",
                number="AB-12-001",
            )
        ]


def test_a_copy_whose_signature_is_written_otherwise(folder: Path) -> None:
    """What was signed is the same: it is told, and accuses nobody, be it in the place of the file that was issued."""
    first = samples.witnesses_in(folder)[0]
    copy = replace(first, signed_sha256="e" * 64, file="copy.pdf")
    (problem,) = check_register(folder, [copy, first])
    assert (problem.code, problem.number, problem.grave) == ("report-copied", "AB-12-001", False)
    assert "`copy.pdf`) is a copy" in problem.message
    path = folder / first.file
    path.write_bytes(path.read_bytes()[:-1] + b"x")
    assert codes(check_register(folder, [replace(copy, file=first.file)])) == ["report-copied"]
    assert codes(check_register(folder)) == ["report-changed"]


def test_a_report_that_claims_another_place(folder: Path) -> None:
    chain = read_register(folder).chain
    first, second, *_ = samples.witnesses_in(folder)
    moved = Witness(replace(second.entry, head=first.entry.head), second.file, second.size, second.signed_sha256)
    assert [problem.message for problem in contradictions(chain, moved)] == [
        "AB-12-002 revision 0 was issued upon row 0, the register says otherwise"
    ]
    odd = Witness(replace(second.entry, head=Head(2, "9" * 64)), second.file, second.size, second.signed_sha256)
    assert codes(contradictions(chain, odd)) == ["register-contradicted"]


def test_numbers_left_out(tmp_path: Path) -> None:
    with Register.open(tmp_path, clock=samples.clock) as register:
        samples.issue(register, tmp_path, "AB-12-001")
        samples.issue(register, tmp_path, "AB-12-003")
    assert check_register(tmp_path, pattern=samples.PATTERN) == [
        Problem("number-missing", "AB-12-002 was never issued, but a later number was", number="AB-12-002")
    ]


def stop(*_: object) -> None:
    raise SystemExit


def test_what_should_be_seen_but_accuses_nobody(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Register.open(tmp_path, clock=lambda: samples.NOON.replace(hour=1)) as register:
        samples.issue(register, tmp_path, "A1")
        samples.issue(register, tmp_path, "A2", issued_at=samples.NOON.replace(hour=3))
        with monkeypatch.context() as patch:
            patch.setattr(atomicfile, "place", stop)
            with pytest.raises(SystemExit):
                samples.issue(register, tmp_path, "A3")
    assert check_register(tmp_path) == [
        Problem("intent-open", "A3 was announced and neither issued nor given up; the next issue settles that", 5, "A3",
                grave=False),
        Problem("clock-back", "register.jsonl, line 3: the clock was behind an earlier row (2026-03-02T03:00:00Z)", 3,
                "A2", grave=False),
    ]  # fmt: skip
    (tmp_path / "A3-r0.pdf").write_bytes(b"not ours")
    with Register.open(tmp_path, clock=lambda: samples.NOON.replace(hour=1)):
        pass
    file = tmp_path / REGISTER_NAME
    file.write_bytes(file.read_bytes() + b'{"torn')
    assert [(problem.code, problem.line, problem.grave) for problem in check_register(tmp_path)] == [
        ("row-unfinished", 7, False),
        ("clock-back", 3, False),
        ("clock-back", 6, False),
        ("number-conflict", 6, False),
    ]


def test_reading_needs_a_register(tmp_path: Path) -> None:
    with pytest.raises(UsageError) as refusal:
        read_register(tmp_path)
    assert refusal.value.message == f"cannot read `{tmp_path}/register.jsonl`: No such file or directory"


@pytest.mark.parametrize("call", ["open", "read"])
def test_a_disk_that_fails_while_checking(folder: Path, monkeypatch: pytest.MonkeyPatch, call: str) -> None:
    real = getattr(os, call)
    calls = iter(range(1000))

    def fail(*args: object, **named: object) -> object:
        if next(calls) >= 2:
            raise OSError(errno.EIO, "Input/output error")
        return real(*args, **named)

    monkeypatch.setattr(os, call, fail)
    with pytest.raises(MachineError, match=r"^cannot read `.*\.pdf`: Input/output error$"):
        check_register(folder)


def test_a_report_that_replaces_another_file_than_the_register_says(folder: Path) -> None:
    with Register.open(folder, clock=samples.clock, pattern=samples.PATTERN) as register:
        row = samples.issue(register, folder, revision=1, reason="roll was mistyped")
    chain, revised = read_register(folder).chain, samples.witnesses_in(folder)[-1]
    assert row.report is not None
    assert row.report.supersedes is not None
    assert contradictions(chain, revised) == []
    for told in (None, replace(row.report.supersedes, sha256="e" * 64), replace(row.report.supersedes, reason="other")):
        other = replace(revised, entry=replace(revised.entry, supersedes=told))
        assert codes(contradictions(chain, other)) == ["register-contradicted"]
