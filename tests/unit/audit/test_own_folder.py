"""The user's own folder of audits: where it is, whose, and the key in it."""

import os
import sys
from pathlib import Path

import pytest

from reportgen.audit import default_index, own_key
from reportgen.errors import MachineError, UsageError

only_posix = pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")


@pytest.fixture
def state(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return tmp_path / "state" / "reportgen"


def test_the_key_is_made_once(state):
    key = own_key()
    assert len(key) == 32
    assert own_key() == key
    assert [path.name for path in state.iterdir()] == ["audit.key"]


def test_each_user_has_a_key_of_his_own(state, tmp_path, monkeypatch):
    key = own_key()
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "of another"))
    assert own_key() != key


@only_posix
def test_the_key_is_made_for_its_user_alone_whatever_the_surroundings_allow(state):
    before = os.umask(0)
    try:
        own_key()
    finally:
        os.umask(before)
    assert (state / "audit.key").stat().st_mode & 0o777 == 0o600
    assert state.stat().st_mode & 0o777 == 0o700


@only_posix
@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620])
def test_a_key_that_others_know_proves_nothing(state, mode):
    own_key()
    (state / "audit.key").chmod(mode)
    with pytest.raises(UsageError, match="belongs to others, or they may read it: it proves no index"):
        own_key()


@pytest.mark.parametrize("content", [b"", b"short", b"x" * 33])
def test_a_key_that_is_none_is_said(state, content):
    own_key()
    (state / "audit.key").write_bytes(content)
    with pytest.raises(UsageError, match="is no key"):
        own_key()


def test_a_place_that_cannot_be_written_is_said(state):
    state.parent.write_text("a file", encoding="utf-8")
    with pytest.raises(MachineError, match=r"the key of audits cannot be kept in .*: (Not a directory|File exists)"):
        own_key()


@pytest.mark.parametrize(("system", "environment", "expected"), [
    ("linux", {}, ".local/state/reportgen"),
    ("linux", {"XDG_STATE_HOME": "relative"}, ".local/state/reportgen"),
    ("darwin", {}, "Library/Application Support/reportgen"),
    ("win32", {"LOCALAPPDATA": "/home/x/AppData/Local"}, "AppData/Local/reportgen"),
])  # fmt: skip
def test_each_system_has_its_place(system, environment, expected, monkeypatch):
    monkeypatch.setattr(sys, "platform", system)
    monkeypatch.setattr(Path, "home", lambda: Path("/home/x"))
    for name in ("XDG_STATE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert default_index(Path("/a")).parent == Path("/home/x") / expected / "audits"


def test_a_user_without_a_home_is_told_how_to_name_a_place(monkeypatch):
    def none():
        raise RuntimeError

    monkeypatch.delenv("XDG_STATE_HOME")
    monkeypatch.delenv("LOCALAPPDATA", raising=False)
    monkeypatch.setattr(Path, "home", none)
    with pytest.raises(UsageError, match="has no home folder") as refusal:
        own_key()
    assert "XDG_STATE_HOME" in refusal.value.help_text


def test_each_folder_has_its_index_whatever_it_is_called(state, tmp_path):
    folders = [
        tmp_path / "a" / "reports",
        tmp_path / "b" / "reports",
        tmp_path / "r\xe9ports \n",
        tmp_path / ("x" * 250),
    ]
    places = {default_index(folder) for folder in folders}
    assert len(places) == 4
    assert all(len(place.name) < 100 and place.name.isascii() and place.name.isprintable() for place in places)
    assert default_index(tmp_path / "a" / ".." / "a" / "reports") == default_index(folders[0])
