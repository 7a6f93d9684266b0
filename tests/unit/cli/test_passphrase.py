"""Where a passphrase comes from, in order: a named file; else terminal, key ring, environment. Never shown."""

import getpass
import io
import os
import sys
import types
import warnings

import pytest

from reportgen.cli.passphrase import ask_passphrase, new_passphrase
from reportgen.errors import UsageError


@pytest.fixture(autouse=True)
def sources(monkeypatch):
    """No terminal, no key ring, an environment with an answer."""
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    monkeypatch.setitem(sys.modules, "keyring", None)
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "from the environment")


@pytest.fixture
def typed(monkeypatch):
    """Answers at a terminal, one for each prompt; the prompts are kept."""
    prompts: list[str] = []

    def give(*answers: str) -> list[str]:
        waiting = list(answers)
        monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
        monkeypatch.setattr(getpass, "getpass", lambda prompt: prompts.append(prompt) or waiting.pop(0))
        return prompts

    return give


@pytest.fixture
def key_ring(monkeypatch):
    """A key ring that holds something, nothing, or has no store behind it."""

    def hold(answer):
        class KeyringError(Exception):
            pass

        def get_password(service, name):
            assert (service, name) == ("reportgen", "a.p12")
            if answer is KeyringError:
                raise KeyringError("no store")
            return answer

        errors = types.SimpleNamespace(KeyringError=KeyringError)
        if answer == "no store":
            answer = KeyringError
        monkeypatch.setitem(sys.modules, "keyring", types.SimpleNamespace(get_password=get_password, errors=errors))
        monkeypatch.setitem(sys.modules, "keyring.errors", errors)

    return hold


def private(path, data: bytes):
    path.write_bytes(data)
    path.chmod(0o600)
    return path


def test_a_named_file_is_the_answer(tmp_path, typed, key_ring):
    prompts = typed("from the terminal")
    key_ring("from the key ring")
    assert ask_passphrase("a.p12", private(tmp_path / "p", b"from the file\n")) == "from the file"
    assert prompts == []


@pytest.mark.parametrize("data", [b"caf\xc3\xa9 \n", b"\xef\xbb\xbfcaf\xc3\xa9 \r\n", b"caf\xc3\xa9 "])
def test_a_file_from_any_system(tmp_path, data):
    assert ask_passphrase("a.p12", private(tmp_path / "p", data)) == "café "


def test_a_file_that_cannot_be_used(tmp_path):
    with pytest.raises(UsageError) as refused:
        ask_passphrase("a.p12", tmp_path / "none")
    assert refused.value.message == f"the passphrase file {tmp_path / 'none'} cannot be read: No such file or directory"
    with pytest.raises(UsageError) as refused:
        ask_passphrase("a.p12", private(tmp_path / "p", b"\xff"))
    assert refused.value.message == f"the passphrase file {tmp_path / 'p'} is not UTF-8 text"
    (tmp_path / "p").write_bytes(b"x")
    (tmp_path / "p").chmod(0o640)
    with pytest.raises(UsageError) as refused:
        ask_passphrase("a.p12", tmp_path / "p")
    assert refused.value.message == f"the passphrase file {tmp_path / 'p'} can be read by others"
    assert refused.value.help_text == f"make it private: chmod 600 {tmp_path / 'p'}"


def test_the_terminal_comes_before_key_ring_and_environment(typed, key_ring):
    prompts = typed("from the terminal")
    key_ring("from the key ring")
    assert ask_passphrase("a.p12", None) == "from the terminal"
    assert ask_passphrase.__kwdefaults__ == {"word": "Passphrase"}
    assert prompts == ["Passphrase of a.p12: "]


def test_an_empty_answer_looks_further(typed, key_ring):
    prompts = typed("")
    key_ring("from the key ring")
    assert ask_passphrase("a.p12", None, word="PIN") == "from the key ring"
    assert prompts == ["PIN of a.p12: "]


def test_the_key_ring_comes_before_the_environment(key_ring):
    key_ring("from the key ring")
    assert ask_passphrase("a.p12", None) == "from the key ring"


@pytest.mark.parametrize("held", [None, "no store"])
def test_a_key_ring_without_an_answer(key_ring, held):
    key_ring(held)
    assert ask_passphrase("a.p12", None) == "from the environment"


def test_the_environment_is_last_and_may_be_empty():
    assert ask_passphrase("a.p12", None) == "from the environment"
    assert ask_passphrase("a.p12", None) is None


def test_it_leaves_our_environment_whoever_answers(tmp_path, typed):
    for asked in (ask_passphrase, new_passphrase):
        os.environ["REPORTGEN_PASSPHRASE"] = "from the environment"
        assert asked("a.p12", None) == "from the environment"
        assert "REPORTGEN_PASSPHRASE" not in os.environ
        os.environ["REPORTGEN_PASSPHRASE"] = "from the environment"
        assert asked("a.p12", private(tmp_path / "p", b"from the file")) == "from the file"
        assert "REPORTGEN_PASSPHRASE" not in os.environ
    os.environ["REPORTGEN_PASSPHRASE"] = "from the environment"
    typed("from the terminal", "from the terminal")
    assert new_passphrase("the new identity", None) == "from the terminal"
    assert "REPORTGEN_PASSPHRASE" not in os.environ


def test_nothing_is_typed_where_it_would_be_shown(monkeypatch):
    def shows(prompt):
        warnings.warn("Can not control echo on the terminal.", getpass.GetPassWarning, stacklevel=2)
        raise AssertionError("it read on")

    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(getpass, "getpass", shows)
    with pytest.raises(UsageError) as refused:
        ask_passphrase("a.p12", None)
    assert refused.value.message == "this terminal would show the passphrase while it is typed"
    assert refused.value.help_text == "use --passphrase-file FILE"


def test_the_end_of_input_is_no_answer(monkeypatch):
    def ended(prompt):
        raise EOFError

    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(getpass, "getpass", ended)
    assert ask_passphrase("a.p12", None) == "from the environment"


def test_a_new_one_is_typed_twice(typed, tmp_path, monkeypatch):
    prompts = typed("one", "one")
    assert new_passphrase("the new identity", None) == "one"
    assert prompts == ["Passphrase of the new identity: ", "The same again: "]
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "from the environment")
    typed("one", "two")
    with pytest.raises(UsageError) as refused:
        new_passphrase("the new identity", None)
    assert refused.value.message == "the two passphrases differ; nothing was made"
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "from the environment")
    typed("")
    assert new_passphrase("the new identity", None) == "from the environment"
    assert new_passphrase("the new identity", private(tmp_path / "p", b"x\n")) == "x"


def test_a_new_one_without_a_terminal():
    assert new_passphrase("the new identity", None) == "from the environment"
