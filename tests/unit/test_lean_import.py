"""pyHanko is imported without its network client, and nobody else notices."""

import importlib
import subprocess
import sys

import pytest

from reportgen.lean_import import network_client_left_out


@pytest.fixture
def unloaded(monkeypatch):
    monkeypatch.delitem(sys.modules, "aiohttp", raising=False)


def test_inside_a_placeholder_serves_annotations_and_except_clauses(unloaded):
    with network_client_left_out():
        client = importlib.import_module("aiohttp")
        assert (client.BasicAuth | None) is not None
        assert issubclass(client.ClientError, BaseException)
        with pytest.raises(RuntimeError, match="is not loaded"):
            client.ClientSession(timeout=3)
        with pytest.raises(AttributeError):
            _ = client.__path__
    assert "aiohttp" not in sys.modules


def test_a_client_that_is_loaded_stays(monkeypatch):
    here = object()
    monkeypatch.setitem(sys.modules, "aiohttp", here)
    with network_client_left_out():
        assert sys.modules["aiohttp"] is here
    assert sys.modules["aiohttp"] is here


def test_signing_and_verifying_load_no_network_client():
    code = "import sys, reportgen.seal, reportgen.verification; print('aiohttp' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"
