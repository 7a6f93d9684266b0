"""Issuing, refusing and recovering, one case at a time; the sweeps over every call are in tests/e2e."""

import errno
import os
import subprocess
from pathlib import Path
from typing import Any

import pytest

from reportgen import atomicfile
from reportgen.errors import MachineError, UsageError
from reportgen.register import EMPTY, REGISTER_NAME, Head, Register, Supersedes, check_register, journal, read_register
from tests.unit.register import samples
from tests.unit.register.faults import Injector


def opened(folder: Path, **options: Any) -> Any:
    return Register.open(folder, clock=samples.clock, pattern=samples.PATTERN, **options)


def events(folder: Path) -> list[str]:
    return [row.event for row in read_register(folder).chain.rows]


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_an_issued_report_and_its_rows(tmp_path: Path) -> None:
    with opened(tmp_path) as register:
        assert (register.head, register.next_number(), register.issued) == (EMPTY, "AB-12-001", ())
        row = samples.issue(register, tmp_path)
        assert register.head == Head(2, register.head.sha256)
        assert register.next_number() == "AB-12-002"
        assert register.issued == (row.report,)
    content = (tmp_path / "AB-12-001-r0.pdf").read_bytes()
    assert row.report is not None
    assert content == samples.signed_for(EMPTY)
    assert row.report.signed_sha256 == samples.sha(content)
    assert (row.event, row.sequence, row.note, row.recovered_at, row.clock_back) == ("issued", 2, None, None, False)
    assert (row.report.size, row.report.file) == (len(content), "AB-12-001-r0.pdf")
    assert events(tmp_path) == ["intent", "issued"]
    assert names(tmp_path) == ["AB-12-001-r0.pdf", REGISTER_NAME]


def test_the_head_in_a_report_is_the_row_before_its_intent(tmp_path: Path) -> None:
    samples.issue_some(tmp_path, 2)
    chain = read_register(tmp_path).chain
    head = Head(2, chain.hashes[2])
    assert (tmp_path / "AB-12-002-r0.pdf").read_bytes() == samples.signed_for(head, "AB-12-002")
    line = (tmp_path / REGISTER_NAME).read_bytes().splitlines()[1]
    told = subprocess.run(["sha256sum"], input=line, capture_output=True, check=True).stdout.decode()
    assert told.split()[0] == head.sha256


def test_without_a_pattern_there_is_no_next_number(tmp_path: Path) -> None:
    with Register.open(tmp_path, clock=samples.clock) as register:
        assert register.next_number() is None
        samples.issue(register, tmp_path, "X-77")


def test_a_revision_says_what_it_supersedes(tmp_path: Path) -> None:
    samples.issue_some(tmp_path, 2)
    before = (tmp_path / "AB-12-001-r0.pdf").read_bytes()
    with opened(tmp_path) as register:
        row = samples.issue(register, tmp_path, "AB-12-001", 1, reason="roll was mistyped")
    assert row.report is not None
    assert row.report.supersedes == Supersedes(0, samples.sha(before), "roll was mistyped")
    assert (tmp_path / "AB-12-001-r0.pdf").read_bytes() == before
    assert check_register(tmp_path, pattern=samples.PATTERN) == []


def test_an_issued_number_is_refused(tmp_path: Path) -> None:
    samples.issue_some(tmp_path, 1)
    before = (tmp_path / REGISTER_NAME).read_bytes()
    with opened(tmp_path) as register, pytest.raises(UsageError) as refusal:
        register.issue(samples.entry_for(register.head), b"other", tmp_path / "other.pdf")
    assert refusal.value.message == (
        "AB-12-001 revision 0 was already issued on 2026-03-02 at 12:00 UTC as `AB-12-001-r0.pdf`"
    )
    assert (tmp_path / REGISTER_NAME).read_bytes() == before
    assert not (tmp_path / "other.pdf").exists()


def test_a_gap_is_refused_when_issuing_too(tmp_path: Path) -> None:
    with opened(tmp_path) as register, pytest.raises(UsageError, match="the next report number is AB-12-001"):
        register.issue(samples.entry_for(register.head, "AB-12-002"), b"x", tmp_path / "x.pdf")
    assert names(tmp_path) == []  # a register in which nothing was written is taken away


def test_what_only_a_bug_can_ask_for(tmp_path: Path) -> None:
    samples.issue_some(tmp_path, 1)
    with opened(tmp_path) as register:
        entry = samples.entry_for(Head(0, "0" * 64), "AB-12-002")
        with pytest.raises(ValueError, match="was built on head"):
            register.issue(entry, b"x", tmp_path / "x.pdf")
        wrong = Supersedes(0, "f" * 64, "roll was mistyped")
        with pytest.raises(ValueError, match="does not hold the hash"):
            register.issue(samples.entry_for(register.head, "AB-12-001", 1, wrong), b"x", tmp_path / "x.pdf")
        with pytest.raises(ValueError, match="does not have a proper `size`"):
            register.issue(samples.entry_for(register.head, "AB-12-002"), b"", tmp_path / "x.pdf")
    assert events(tmp_path) == ["intent", "issued"]


@pytest.mark.parametrize(
    ("target", "message"),
    [
        ("taken.pdf", "`taken.pdf` exists already and is never overwritten; nothing was written"),
        ("dangling.pdf", "`dangling.pdf` exists already and is never overwritten; nothing was written"),
        ("register.jsonl", "`register.jsonl` exists already and is never overwritten; nothing was written"),
        ("absent/a.pdf", "the folder `{folder}/absent` does not exist; nothing was written"),
        ("a\u202eb.pdf", "'a\\u202eb.pdf' has characters that nobody can read in the register; choose another name"),
    ],
)
def test_a_file_name_that_will_not_do(tmp_path: Path, target: str, message: str) -> None:
    (tmp_path / "taken.pdf").touch()
    (tmp_path / "dangling.pdf").symlink_to("nowhere")
    with opened(tmp_path) as register, pytest.raises(UsageError) as refusal:
        samples.issue(register, tmp_path, file=target)
    assert refusal.value.message == message.replace("{folder}", str(tmp_path))
    assert names(tmp_path) == ["dangling.pdf", "taken.pdf"]


def test_another_drive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> str:
        raise ValueError("path is on mount 'C:', start on mount 'D:'")

    monkeypatch.setattr(os.path, "relpath", refuse)
    with opened(tmp_path) as register, pytest.raises(UsageError, match=r"is on another drive than its register$"):
        samples.issue(register, tmp_path)


def test_a_report_beside_the_folder(tmp_path: Path) -> None:
    (tmp_path / "contract").mkdir()
    (tmp_path / "out").mkdir()
    with opened(tmp_path / "contract") as register:
        row = samples.issue(register, tmp_path / "out")
    assert row.report is not None
    assert row.report.file == "../out/AB-12-001-r0.pdf"
    assert check_register(tmp_path / "contract") == []


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UsageError) as refusal, opened(tmp_path / "absent"):
        pass
    assert refusal.value.message == f"cannot write `{tmp_path}/absent/register.jsonl`: No such file or directory"


def test_a_register_that_may_not_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> int:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(MachineError, match=r"register\.jsonl`: Permission denied$"), opened(tmp_path):
        pass


@pytest.mark.parametrize("change", ["append", "replace"])
def test_a_register_changed_by_another_program_meanwhile(tmp_path: Path, change: str) -> None:
    samples.issue_some(tmp_path, 1)
    register_file = tmp_path / REGISTER_NAME
    with opened(tmp_path) as register:
        content = register_file.read_bytes()
        if change == "replace":  # as editors and synchronising programs do
            register_file.unlink()
        register_file.write_bytes(content + b"{}\n" * (change == "append"))
        with pytest.raises(UsageError) as refusal:
            samples.issue(register, tmp_path, "AB-12-002")
    assert refusal.value.message == "`register.jsonl` was changed by something else meanwhile; nothing was written"
    assert names(tmp_path) == ["AB-12-001-r0.pdf", REGISTER_NAME]


def failed(folder: Path, write: int) -> MachineError:
    """Issue AB-12-001, then AB-12-002 with that of its writes half done: intent row, report, closing row."""
    samples.issue_some(folder, 1)
    with (
        pytest.raises(MachineError) as refusal,
        Injector(write, "half then ENOSPC").active(),
        opened(folder) as register,
    ):
        samples.issue(register, folder, "AB-12-002")
    return refusal.value


@pytest.mark.parametrize(
    ("which", "left", "message"),
    [
        (0, ["intent", "issued"], "cannot write `{folder}/register.jsonl`: No space left on device"),
        (
            1,
            ["intent", "issued", "intent", "void"],
            "cannot write `{folder}/AB-12-002-r0.pdf`: No space left on device",
        ),
    ],
    ids=["intent row", "report"],
)
def test_a_full_disk_leaves_nothing(tmp_path: Path, which: int, left: list[str], message: str) -> None:
    error = failed(tmp_path, which)
    assert error.message == message.replace("{folder}", str(tmp_path))
    assert events(tmp_path) == left
    assert names(tmp_path) == ["AB-12-001-r0.pdf", REGISTER_NAME]


def test_a_disk_that_is_full_for_the_last_row(tmp_path: Path) -> None:
    error = failed(tmp_path, 2)
    assert error.message == (
        "`AB-12-002-r0.pdf` is written and whole, but the register could not record it: No space left on device"
    )
    assert error.help_text == "the next command that opens the register completes its entry"
    assert events(tmp_path) == ["intent", "issued", "intent"]
    with opened(tmp_path) as register:
        assert register.notices == [
            (
                "an interrupted run had written AB-12-002 revision 0 as `AB-12-002-r0.pdf`; "
                "the register now says that it is issued"
            )
        ]
    assert events(tmp_path) == ["intent", "issued", "intent", "issued"]
    last = read_register(tmp_path).chain.rows[-1]
    assert last.recovered_at == "2026-03-02T18:00:00Z"
    assert last.note == "the run that announced it was interrupted; closed at a later start"


def test_a_disk_that_stays_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    samples.issue_some(tmp_path, 1)
    real, calls = os.write, iter(range(100))

    def full(descriptor: int, data: bytes) -> int:
        if next(calls) > 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(descriptor, data)

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", full)
        with pytest.raises(MachineError) as refusal, opened(tmp_path) as register:
            samples.issue(register, tmp_path, "AB-12-002")
    assert refusal.value.message == "AB-12-002 was not issued: No space left on device"
    assert events(tmp_path) == ["intent", "issued", "intent"]
    assert names(tmp_path) == ["AB-12-001-r0.pdf", REGISTER_NAME]
    with opened(tmp_path) as register:
        assert register.notices == [
            "an interrupted run had announced AB-12-002 revision 0 without writing it; it is not issued"
        ]
    assert events(tmp_path)[-1] == "void"


def test_the_same_run_goes_on_after_a_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A row that failed half is cut off before the next one is written, even where cutting it off failed at first.

    Without `_unclean` the second row would follow half of the first.
    """
    samples.issue_some(tmp_path, 1)
    real_write, real_cut = os.write, os.ftruncate

    def half(descriptor: int, data: bytes) -> int:
        real_write(descriptor, bytes(data)[:20])
        raise OSError(errno.ENOSPC, "No space left on device")

    def refuse(*_: object) -> None:
        raise OSError(errno.EIO, "Input/output error")

    with opened(tmp_path) as register:
        with monkeypatch.context() as patch:
            patch.setattr(os, "write", half)
            patch.setattr(os, "ftruncate", refuse)
            with pytest.raises(MachineError):
                samples.issue(register, tmp_path, "AB-12-002")
        assert os.ftruncate is real_cut
        assert samples.issue(register, tmp_path, "AB-12-002").sequence == 4
    assert check_register(tmp_path) == []


def test_a_run_whose_register_is_incomplete_issues_nothing_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    samples.issue_some(tmp_path, 1)

    def refuse(*_: object) -> None:
        raise OSError(errno.EIO, "Input/output error")

    with opened(tmp_path) as register:
        with monkeypatch.context() as patch:
            patch.setattr(atomicfile, "sync_folder", refuse)
            with pytest.raises(MachineError, match="is written and whole"):
                samples.issue(register, tmp_path, "AB-12-002")
        with pytest.raises(MachineError) as refusal:
            register.issue(samples.entry_for(register.head, "AB-12-002"), b"x", tmp_path / "b.pdf")
    assert refusal.value.message == (
        "the register could not be completed after the last failure; run the command again"
    )


def interrupted(folder: Path, monkeypatch: pytest.MonkeyPatch, at: str) -> None:
    """Issue AB-12-001 and stop, as a crash would, when ``at`` of ``atomic`` is called."""

    def stop(*_: object) -> None:
        raise SystemExit

    with monkeypatch.context() as patch:
        patch.setattr(atomicfile, at, stop)
        with pytest.raises(SystemExit), opened(folder) as register:
            samples.issue(register, folder)


def test_recovery_of_a_report_that_never_came_to_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    interrupted(tmp_path, monkeypatch, "place")
    (tmp_path / ".AB-12-001-r0.pdf.77.aa.part").write_bytes(b"half")
    with opened(tmp_path) as register:
        assert register.next_number() == "AB-12-001"
        assert samples.issue(register, tmp_path).sequence == 4
    assert events(tmp_path) == ["intent", "void", "intent", "issued"]
    assert names(tmp_path) == ["AB-12-001-r0.pdf", REGISTER_NAME]


def test_recovery_that_cannot_tidy_up_is_tried_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Once the entry were closed, nobody would look for the hidden file any more."""
    interrupted(tmp_path, monkeypatch, "place")
    part = tmp_path / ".AB-12-001-r0.pdf.77.aa.part"
    part.write_bytes(b"half")

    def refuse(*_: object) -> None:
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as patch:
        patch.setattr(os, "unlink", refuse)
        with pytest.raises(MachineError), opened(tmp_path):
            pass
    assert events(tmp_path) == ["intent"]
    with opened(tmp_path):
        pass
    assert events(tmp_path) == ["intent", "void"]
    assert not part.exists()


@pytest.mark.parametrize("make", ["file", "folder"])
def test_recovery_beside_a_file_that_is_not_ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, make: str) -> None:
    interrupted(tmp_path, monkeypatch, "place")
    target = tmp_path / "AB-12-001-r0.pdf"
    if make == "file":
        target.write_bytes(b"something else")
    else:
        target.mkdir()
    with opened(tmp_path) as register:
        assert register.notices == [
            (
                "an interrupted run had announced AB-12-001 revision 0, but `AB-12-001-r0.pdf` is another file; "
                "it is not issued"
            )
        ]
    assert target.exists()
    assert events(tmp_path) == ["intent", "conflict"]


def test_recovery_of_a_claim_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    interrupted(tmp_path, monkeypatch, "place")
    (tmp_path / "AB-12-001-r0.pdf").touch()
    with opened(tmp_path):
        pass
    assert events(tmp_path) == ["intent", "void"]
    assert names(tmp_path) == [REGISTER_NAME]


@pytest.mark.parametrize("lost", ["removed", "a file now"])
def test_recovery_when_the_reports_folder_is_gone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lost: str) -> None:
    (tmp_path / "reports").mkdir()
    with monkeypatch.context() as patch:
        patch.setattr(atomicfile, "place", lambda *_: (_ for _ in ()).throw(SystemExit))
        with pytest.raises(SystemExit), opened(tmp_path) as register:
            samples.issue(register, tmp_path, file="reports/a.pdf")
    (tmp_path / "reports").rmdir()
    if lost == "a file now":
        (tmp_path / "reports").touch()
    with opened(tmp_path):
        pass
    assert events(tmp_path) == ["intent", "void"]


def test_recovery_of_a_report_that_was_countersigned_since(tmp_path: Path) -> None:
    failed(tmp_path, 2)
    with (tmp_path / "AB-12-002-r0.pdf").open("ab") as file:
        file.write(b"second signature")
    with opened(tmp_path) as register:
        assert [report.number for report in register.issued] == ["AB-12-001", "AB-12-002"]


def test_recovery_that_fails_says_what_failed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    interrupted(tmp_path, monkeypatch, "place")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(tmp_path / "AB-12-001-r0.pdf"))

    with monkeypatch.context() as patch:
        patch.setattr(journal, "_look", refuse)
        with pytest.raises(MachineError) as refusal, opened(tmp_path):
            pass
    assert refusal.value.message == f"cannot write `{tmp_path}/AB-12-001-r0.pdf`: Permission denied"
    assert events(tmp_path) == ["intent"]


@pytest.mark.parametrize(
    ("cut", "notice", "left"),
    [
        (1, "register.jsonl, line 4: the missing line end is added", ["intent", "issued", "intent", "issued"]),
        (
            9,
            "register.jsonl, line 4: the row was never finished and is dropped",
            ["intent", "issued", "intent", "issued"],
        ),
    ],
)
def test_a_last_row_that_was_not_finished(tmp_path: Path, cut: int, notice: str, left: list[str]) -> None:
    samples.issue_some(tmp_path, 2)
    file = tmp_path / REGISTER_NAME
    whole = file.read_bytes()
    file.write_bytes(whole[:-cut])
    with opened(tmp_path) as register:
        assert register.notices[0] == notice
        samples.issue(register, tmp_path, "AB-12-003", issued_at=samples.NOON.replace(hour=19))
    assert events(tmp_path) == [*left, "intent", "issued"]
    assert check_register(tmp_path) == []


def test_crlf_rows_are_read_on_and_extended(tmp_path: Path) -> None:
    samples.issue_some(tmp_path, 1)
    file = tmp_path / REGISTER_NAME
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    samples.issue_some(tmp_path, 1, first=2)
    assert check_register(tmp_path) == []
    assert file.read_bytes().count(b"\r\n") == 2


def test_a_target_overtaken_by_an_empty_file_keeps_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = atomicfile.place

    def overtaken(path: Path, data: bytes) -> None:
        path.touch()
        real(path, data)

    monkeypatch.setattr(atomicfile, "place", overtaken)
    with opened(tmp_path) as register, pytest.raises(UsageError, match="was written by something else meanwhile"):
        samples.issue(register, tmp_path)
    assert names(tmp_path) == ["AB-12-001-r0.pdf", REGISTER_NAME]
    assert events(tmp_path) == ["intent", "conflict"]
