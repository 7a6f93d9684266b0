"""Names of files: which are taken, which are not, and what a folder lists."""

from pathlib import PurePosixPath

import pytest

from reportgen.loader.paths import FolderFiles, MemoryFiles, ReadOnce, UnreadableFileError, read_under, refuse_outside


@pytest.mark.parametrize("name", ["a.csv", "readings/a.csv", "a..b/c.csv", "./a.csv", "..a"])
def test_names_below_the_folder(name):
    refuse_outside(name)


@pytest.mark.parametrize("name", ["", ".", "..", "/etc/passwd", "../a", "a/../../b", "a\\b", "C:a", "a\0b"])
def test_names_that_lead_elsewhere(name):
    with pytest.raises(UnreadableFileError) as caught:
        refuse_outside(name)
    assert caught.value.code == "PTH102"
    assert str(caught.value) == f"`{name}` points outside the job folder"


def test_exactly_the_limit_is_read(tmp_path):
    (tmp_path / "a").write_bytes(b"12345678")
    assert read_under(tmp_path, "a", 8) == b"12345678"
    with pytest.raises(UnreadableFileError) as caught:
        read_under(tmp_path, "a", 7)
    assert caught.value.code == "PTH104"


def test_a_file_that_grows_while_it_is_read_is_cut_at_the_limit(tmp_path, monkeypatch):
    (tmp_path / "a").write_bytes(b"123456789")
    import os

    sizes = os.fstat

    class Smaller:
        def __init__(self, status):
            self.st_mode, self.st_size = status.st_mode, 4

    monkeypatch.setattr("reportgen.loader.paths.os.fstat", lambda descriptor: Smaller(sizes(descriptor)))
    with pytest.raises(UnreadableFileError) as caught:
        read_under(tmp_path, "a", 8)
    assert caught.value.code == "PTH104"


def test_a_file_in_a_folder_that_is_a_file(tmp_path):
    (tmp_path / "a").write_bytes(b"x")
    with pytest.raises(UnreadableFileError) as caught:
        read_under(tmp_path, "a/b", 8)
    assert (caught.value.code, caught.value.help_text) == ("PTH101", f"looked in {tmp_path}/a")


def test_listing_knows_regular_files_only(tmp_path):
    (tmp_path / "b").write_bytes(b"")
    (tmp_path / "a").write_bytes(b"")
    (tmp_path / "folder").mkdir()
    (tmp_path / "link").symlink_to("a")
    assert FolderFiles(tmp_path).names() == ["a", "b"]
    assert FolderFiles(tmp_path / "none").names() == []


def test_memory_lists_what_lies_directly_in_its_base():
    files = MemoryFiles({"x/b.yaml": b"b", "x/a.yaml": b"a", "x/y/c.yaml": b"", "d.yaml": b""}, PurePosixPath("x"))
    assert files.names() == ["a.yaml", "b.yaml"]
    assert files.read("a.yaml", 8) == b"a"
    assert files.shown("a.yaml") == "x/a.yaml"
    with pytest.raises(UnreadableFileError):
        files.read("../d.yaml", 8)


def test_a_yaml_file_is_read_once_and_another_each_time(tmp_path):
    for name in ("day.yaml", "rows.csv"):
        (tmp_path / name).write_bytes(b"one")
    files = ReadOnce(FolderFiles(tmp_path))
    assert [files.read(name, 10) for name in ("day.yaml", "rows.csv")] == [b"one", b"one"]
    for name in ("day.yaml", "rows.csv"):
        (tmp_path / name).write_bytes(b"two")
    assert [files.read(name, 10) for name in ("day.yaml", "rows.csv")] == [b"one", b"two"]


def test_what_cannot_be_read_once_stays_so(tmp_path):
    files = ReadOnce(FolderFiles(tmp_path))
    for _ in range(2):
        with pytest.raises(UnreadableFileError, match="there is no file"):
            files.read("day.yaml", 10)
        (tmp_path / "day.yaml").write_bytes(b"one")
    assert files.names() == ["day.yaml"]
