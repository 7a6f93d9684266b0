"""A register made again from reports: the same bytes where they tell them, a visible loss where they do not."""

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
    Register,
    Witness,
    check_register,
    read_register,
    rebuild_register,
)
from tests.unit.register import samples

LATER = samples.NOON.replace(year=2027)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three numbers, the second with a revision issued last."""
    samples.issue_some(tmp_path, 3)
    with Register.open(tmp_path, clock=samples.clock, pattern=samples.PATTERN) as register:
        samples.issue(register, tmp_path, "AB-12-002", 1, reason="roll was mistyped")
    return tmp_path


@pytest.fixture
def witnesses(folder: Path) -> list[Witness]:
    return samples.witnesses_in(folder)


def kept(folder: Path) -> bytes:
    return (folder / "register-before-2027-03-02T120000Z.jsonl").read_bytes()


def change(folder: Path, how: str) -> bytes:
    file = folder / REGISTER_NAME
    lines = file.read_bytes().splitlines(keepends=True)
    changed = {
        "cut": lines[:4],
        "cut within a report": lines[:5],
        "edited": [*lines[:2], lines[2].replace(b"does not conform", b"conforms"), *lines[3:]],
        "emptied": [],
        "nonsense": [b"\xef\xbb\xbf", *lines],
    }[how]
    file.write_bytes(b"".join(changed))
    return file.read_bytes()


@pytest.mark.parametrize(
    ("how", "rows_kept"),
    [("cut", 4), ("cut within a report", 4), ("edited", 2), ("emptied", 0), ("nonsense", 0)],
)
def test_the_very_bytes_come_back(folder: Path, witnesses: list[Witness], how: str, rows_kept: int) -> None:
    original = (folder / REGISTER_NAME).read_bytes()
    damaged = change(folder, how)
    outcome = rebuild_register(folder, reversed(witnesses), at=LATER)
    assert (folder / REGISTER_NAME).read_bytes() == original
    assert (outcome.reports, outcome.rows_kept, outcome.losses) == (4, rows_kept, ())
    if damaged:
        assert outcome.kept_aside == "register-before-2027-03-02T120000Z.jsonl"
        assert kept(folder) == damaged
    else:
        assert outcome.kept_aside is None
    assert check_register(folder, witnesses, pattern=samples.PATTERN) == []


def test_a_register_that_is_gone_comes_back(folder: Path, witnesses: list[Witness]) -> None:
    original = (folder / REGISTER_NAME).read_bytes()
    (folder / REGISTER_NAME).unlink()
    rebuild_register(folder, witnesses, at=LATER)
    assert (folder / REGISTER_NAME).read_bytes() == original


def test_a_report_that_is_gone_stays_a_visible_loss(folder: Path, witnesses: list[Witness]) -> None:
    (folder / REGISTER_NAME).unlink()
    del witnesses[1]
    outcome = rebuild_register(folder, witnesses, at=LATER)
    assert outcome.losses == ("the rows before AB-12-003 revision 0, up to row 4, are not as they were",)
    rows = read_register(folder).chain.rows
    assert [(row.event, row.sequence) for row in rows] == [
        ("intent", 1), ("issued", 2), ("rebuilt", 4), ("intent", 5), ("issued", 6), ("intent", 7), ("issued", 8),
    ]  # fmt: skip
    assert (rows[2].recovered_at, rows[2].note) == ("2027-03-02T12:00:00Z", "rows lost; rebuilt from the reports")
    found = check_register(folder, witnesses, pattern=samples.PATTERN)
    assert [(problem.code, problem.line, problem.number) for problem in found] == [
        ("rows-lost", 3, None),
    ]
    assert found[0].message == "register.jsonl, line 3: rows up to 4 are lost or rebuilt from reports"


def test_the_loss_of_failed_runs_contradicts_no_report(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rows of a run that failed are in no report; the head in the next report stands in for them."""
    samples.issue_some(tmp_path, 1)

    def refuse(*_: object, **_options: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with Register.open(tmp_path, clock=samples.clock) as register:
        with monkeypatch.context() as patch:
            patch.setattr(atomicfile, "write_part", refuse)
            with pytest.raises(MachineError):
                samples.issue(register, tmp_path, "AB-12-002")
        samples.issue(register, tmp_path, "AB-12-002")
    witnesses = samples.witnesses_in(tmp_path)
    (tmp_path / REGISTER_NAME).unlink()
    rebuild_register(tmp_path, witnesses, at=LATER)
    assert [problem.code for problem in check_register(tmp_path, witnesses)] == ["rows-lost"]
    with Register.open(tmp_path, clock=samples.clock, pattern=samples.PATTERN) as register:
        assert register.next_number() == "AB-12-003"
        samples.issue(register, tmp_path, "AB-12-003")
    assert [problem.code for problem in check_register(tmp_path)] == ["rows-lost"]


def test_a_report_that_was_moved_changes_its_row_but_contradicts_nothing(
    folder: Path, witnesses: list[Witness]
) -> None:
    (folder / REGISTER_NAME).unlink()
    (folder / witnesses[0].file).rename(folder / "moved.pdf")
    witnesses[0] = replace(witnesses[0], file="moved.pdf")
    outcome = rebuild_register(folder, witnesses, at=LATER)
    assert outcome.losses == ("the rows before AB-12-002 revision 0, up to row 2, are not as they were",)
    assert [problem.code for problem in check_register(folder, witnesses)] == ["rows-lost"]


def test_a_register_written_anew_gives_way_to_the_reports(
    folder: Path, witnesses: list[Witness], tmp_path_factory: pytest.TempPathFactory
) -> None:
    original = (folder / REGISTER_NAME).read_bytes()
    forged = tmp_path_factory.mktemp("forged")
    with Register.open(forged, clock=samples.clock) as register:
        for place in (1, 2, 3):
            samples.issue(register, forged, f"AB-12-{place:03d}", issued_at=samples.NOON.replace(minute=place))
    (folder / REGISTER_NAME).write_bytes((forged / REGISTER_NAME).read_bytes())
    outcome = rebuild_register(folder, witnesses, at=LATER)
    assert (outcome.rows_kept, outcome.losses) == (0, ())
    assert (folder / REGISTER_NAME).read_bytes() == original


def test_an_open_intent_whose_report_is_gone_is_not_kept(folder: Path, witnesses: list[Witness]) -> None:
    lines = (folder / REGISTER_NAME).read_bytes().splitlines(keepends=True)
    (folder / REGISTER_NAME).write_bytes(b"".join([*lines[:3], b"?\n"]))
    outcome = rebuild_register(folder, [witnesses[0], witnesses[2]], at=LATER)
    assert outcome.rows_kept == 2
    assert outcome.losses == ("the rows before AB-12-003 revision 0, up to row 4, are not as they were",)


def test_an_open_intent_at_the_end_is_not_kept(folder: Path, witnesses: list[Witness]) -> None:
    original = (folder / REGISTER_NAME).read_bytes()
    lines = original.splitlines(keepends=True)
    (folder / REGISTER_NAME).write_bytes(b"".join([*lines[:3], b"?\n"]))
    outcome = rebuild_register(folder, witnesses, at=LATER)
    assert outcome.rows_kept == 2
    assert (folder / REGISTER_NAME).read_bytes() == original


def refused(folder: Path, witnesses: list[Witness]) -> UsageError:
    before = sorted((path.name, path.read_bytes()) for path in folder.iterdir() if path.is_file())
    with pytest.raises(UsageError) as refusal:
        rebuild_register(folder, witnesses, at=LATER)
    assert sorted((path.name, path.read_bytes()) for path in folder.iterdir() if path.is_file()) == before
    return refusal.value


def test_a_sound_register_is_left_alone(folder: Path, witnesses: list[Witness]) -> None:
    assert refused(folder, witnesses).message == (
        "`register.jsonl` is sound and agrees with the reports: there is nothing to rebuild"
    )


def test_without_reports_there_is_nothing_to_rebuild_from(folder: Path) -> None:
    assert refused(folder, []).message == "there is no report to rebuild the register from"


def test_two_reports_of_one_number_are_named(folder: Path, witnesses: list[Witness]) -> None:
    (folder / REGISTER_NAME).unlink()
    second = Witness(replace(witnesses[0].entry, head=Head(9, "a" * 64)), "other.pdf", 7, "b" * 64)
    refusal = refused(folder, [*witnesses, second])
    assert refusal.message == (
        "`other.pdf` (AB-12-001 revision 0) contradicts the other reports: "
        "its row announces AB-12-001 revision 0 a second time"
    )
    assert refusal.help_text == ("leave out the report that is not genuine; of two genuine ones, keep the one to stand")


def test_two_reports_issued_on_one_row_are_named(folder: Path, witnesses: list[Witness]) -> None:
    """As when an old copy of the register was put back and work went on from there."""
    (folder / REGISTER_NAME).unlink()
    entry = replace(witnesses[3].entry, head=witnesses[1].entry.head, number="AB-12-009", revision=0, supersedes=None)
    refusal = refused(folder, [*witnesses, Witness(entry, "forked.pdf", 7, "b" * 64)])
    assert refusal.message == (
        "AB-12-002 revision 0 and AB-12-009 revision 0 were each issued as the next after row 2 of the same register "
        "(`AB-12-002-r0.pdf` and `forked.pdf`)"
    )


def test_reports_that_exclude_each_other_are_named(folder: Path, witnesses: list[Witness]) -> None:
    head = replace(witnesses[1].entry.head, sha256="c" * 64)
    entry = replace(witnesses[0].entry, head=head, number="AB-12-009")
    refusal = refused(folder, [*witnesses, Witness(entry, "forked.pdf", 7, "b" * 64)])
    assert refusal.message == ("`forked.pdf` and `AB-12-002-r1.pdf` were issued upon registers that exclude each other")


def test_a_failing_disk_changes_nothing(
    folder: Path, witnesses: list[Witness], monkeypatch: pytest.MonkeyPatch
) -> None:
    damaged = change(folder, "cut")

    def refuse(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", refuse)
        with pytest.raises(MachineError, match="No space left on device"):
            rebuild_register(folder, witnesses, at=LATER)
    assert (folder / REGISTER_NAME).read_bytes() == damaged
    with monkeypatch.context() as patch:
        patch.setattr(os, "read", lambda *_: (_ for _ in ()).throw(OSError(errno.EIO, "Input/output error")))
        with pytest.raises(MachineError, match="Input/output error"):
            rebuild_register(folder, witnesses, at=LATER)
    assert (folder / REGISTER_NAME).read_bytes() == damaged
