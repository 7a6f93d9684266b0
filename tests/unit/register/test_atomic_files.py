"""Files outside the register: never half, never over another one unless asked to."""

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from reportgen import atomicfile
from reportgen.errors import MachineError, UsageError


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def failing(code: int) -> Callable[..., None]:
    def fail(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    return fail


def test_a_new_file_is_written_once(tmp_path: Path) -> None:
    atomicfile.write_new(tmp_path / "a.pdf", b"first")
    with pytest.raises(UsageError) as refusal:
        atomicfile.write_new(tmp_path / "a.pdf", b"second")
    assert refusal.value.message == "`a.pdf` exists already and is never overwritten; nothing was written"
    assert (tmp_path / "a.pdf").read_bytes() == b"first"
    assert names(tmp_path) == ["a.pdf"]


def test_a_dangling_link_counts_as_taken(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(UsageError, match="exists already"):
        atomicfile.write_new(tmp_path / "a.pdf", b"first")
    assert names(tmp_path) == ["a.pdf"]


def test_replacing(tmp_path: Path) -> None:
    for content in (b"first", b"second"):
        atomicfile.write_replacing(tmp_path / "a.pdf", content)
        assert (tmp_path / "a.pdf").read_bytes() == content
    assert names(tmp_path) == ["a.pdf"]


@pytest.mark.parametrize("make", [os.mkfifo, os.mkdir])
def test_devices_and_folders_are_not_replaced(tmp_path: Path, make: Callable[[Path], None]) -> None:
    """A pipe stands for every device: a test that fails must not take away one that the machine needs."""
    path = tmp_path / "not-a-file"
    make(path)
    with pytest.raises(UsageError) as refusal:
        atomicfile.write_replacing(path, b"x")
    assert refusal.value.message == f"`{path}` is not a regular file; nothing was written"
    assert not path.is_file()


@pytest.mark.parametrize("write", [atomicfile.write_new, atomicfile.write_replacing])
@pytest.mark.parametrize(
    ("call", "code", "kind"),
    [
        ("write", errno.ENOSPC, MachineError),
        ("fsync", errno.EIO, MachineError),
        ("open", errno.EACCES, MachineError),
        ("open", errno.EROFS, MachineError),
        ("open", errno.ENAMETOOLONG, UsageError),
        ("close", errno.EDQUOT, MachineError),
    ],
)
def test_a_failing_disk_leaves_nothing(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    write: Callable[[Path, bytes], None],
    call: str,
    code: int,
    kind: type[MachineError],
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(os, call, failing(code))
        with pytest.raises(kind) as refusal:
            write(tmp_path / "a.pdf", b"content")
    assert refusal.value.message == f"cannot write `{tmp_path / 'a.pdf'}`: {os.strerror(code)}"
    assert names(tmp_path) == []


@pytest.mark.parametrize(("write", "call"), [(atomicfile.write_new, "link"), (atomicfile.write_replacing, "replace")])
def test_a_name_that_cannot_be_given_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, write: Callable[[Path, bytes], None], call: str
) -> None:
    monkeypatch.setattr(os, call, failing(errno.EIO))
    with pytest.raises(MachineError):
        write(tmp_path / "a.pdf", b"content")
    assert names(tmp_path) == []


def test_a_missing_folder_is_the_users_to_mend(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="No such file or directory"):
        atomicfile.write_new(tmp_path / "absent" / "a.pdf", b"x")


def test_a_system_that_takes_nothing_does_not_hang(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "write", lambda *_: 0)
    with pytest.raises(MachineError):
        atomicfile.write_new(tmp_path / "a.pdf", b"x")


class TestWithoutLinks:
    @pytest.fixture(autouse=True, params=[errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EINVAL])
    def _no_links(self, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
        monkeypatch.setattr(os, "link", failing(request.param))

    def test_a_new_file_is_written_once(self, tmp_path: Path) -> None:
        atomicfile.write_new(tmp_path / "a.pdf", b"first")
        with pytest.raises(UsageError, match="exists already"):
            atomicfile.write_new(tmp_path / "a.pdf", b"second")
        assert (tmp_path / "a.pdf").read_bytes() == b"first"
        assert names(tmp_path) == ["a.pdf"]

    def test_an_empty_file_of_somebody_else_stays(self, tmp_path: Path) -> None:
        (tmp_path / "a.pdf").touch()
        with pytest.raises(UsageError, match="exists already"):
            atomicfile.write_new(tmp_path / "a.pdf", b"second")
        assert names(tmp_path) == ["a.pdf"]

    def test_a_claim_is_given_up_when_the_file_cannot_follow(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(os, "replace", failing(errno.EIO))
        with pytest.raises(MachineError):
            atomicfile.write_new(tmp_path / "a.pdf", b"x")
        assert names(tmp_path) == []

    def test_a_file_that_followed_all_the_same_is_not_taken_away(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        real = os.replace

        def done_but_unanswered(*paths: Path) -> None:
            real(*paths)
            raise OSError(errno.EIO, "answer lost")

        monkeypatch.setattr(os, "replace", done_but_unanswered)
        with pytest.raises(MachineError):
            atomicfile.write_new(tmp_path / "a.pdf", b"whole")
        assert (tmp_path / "a.pdf").read_bytes() == b"whole"
        assert names(tmp_path) == ["a.pdf"]


def test_a_link_made_without_an_answer_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.link

    def repeated(part: Path, final: Path) -> None:
        real(part, final)
        real(part, final)  # as a network file system does when the first answer is lost

    monkeypatch.setattr(os, "link", repeated)
    atomicfile.write_new(tmp_path / "a.pdf", b"x")
    assert names(tmp_path) == ["a.pdf"]


@pytest.mark.parametrize(("code", "passes"), [(errno.EINVAL, True), (errno.EIO, False)])
def test_folders_that_cannot_be_synced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, passes: bool
) -> None:
    monkeypatch.setattr(atomicfile, "sync", failing(code))
    if passes:
        atomicfile.sync_folder(tmp_path)
    else:
        with pytest.raises(OSError, match="Input/output error"):
            atomicfile.sync_folder(tmp_path)


def test_windows_has_no_folders_to_sync(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(os, "name", "nt")
        patch.setattr(os, "open", failing(errno.EACCES))
        atomicfile.sync_folder(tmp_path)


def test_hidden_files_left_behind_are_found(tmp_path: Path) -> None:
    for name in (".a.pdf.1.x.part", ".a.pdf.2.y.part", ".b.pdf.1.x.part", ".a.pdf.1.x", "a.pdf"):
        (tmp_path / name).touch()
    assert [part.name for part in atomicfile.parts_of(tmp_path / "a.pdf")] == [".a.pdf.1.x.part", ".a.pdf.2.y.part"]
    assert atomicfile.parts_of(tmp_path / "absent" / "a.pdf") == []


def test_an_error_without_a_number_is_told_in_its_own_words() -> None:
    refusal = atomicfile.refusal(OSError("odd"), Path("a.pdf"), doing="read")
    assert (type(refusal), refusal.message) == (MachineError, "cannot read `a.pdf`: odd")
