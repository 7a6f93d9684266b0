"""Identities: a PKCS#12 file, or a PKCS#11 URI (RFC 7512); the timestamp service."""

import argparse
from pathlib import Path

import pytest

from reportgen.cli import signers
from reportgen.errors import UsageError

HOW = "write `pkcs11:token=NAME;object=LABEL?module-path=/path/of/the/library`; `object` may be left out"


def options(identity: str, pin_file: Path | None = None) -> argparse.Namespace:
    return argparse.Namespace(identity=identity, passphrase_file=pin_file)


@pytest.fixture
def opened(monkeypatch):
    """What was opened, instead of opening it."""
    calls: list[object] = []
    monkeypatch.setattr("reportgen.seal.load_identity", lambda file, secret: calls.append((file, secret)))
    monkeypatch.setattr("reportgen.seal.load_token_identity", lambda module, **named: calls.append((module, named)))
    monkeypatch.setattr(signers, "ask_passphrase", lambda name, _, word="Passphrase": f"{word} of {name}")
    return calls


def test_a_file(opened):
    signers.signer(options("keys/a.p12"))
    assert opened == [(Path("keys/a.p12"), "Passphrase of keys/a.p12")]


@pytest.mark.parametrize(
    ("uri", "named"),
    [
        ("pkcs11:token=My%20token?module-path=/lib/x.so", {"token": "My token", "label": None}),
        ("pkcs11:object=sign;token=T?module-path=/lib/x.so", {"token": "T", "label": "sign"}),
    ],
)
def test_a_token(opened, uri, named):
    signers.signer(options(uri))
    assert opened == [(Path("/lib/x.so"), {**named, "pin": f"PIN of token {named['token']}"})]


@pytest.mark.parametrize(
    ("uri", "message", "help_text"),
    [
        ("pkcs11:token=T", "the identity `pkcs11:token=T` names no library (module-path)", HOW),
        ("pkcs11:?module-path=/x", "the identity `pkcs11:?module-path=/x` names no token", HOW),
        ("pkcs11:token=T;serial=1?module-path=/x", "`serial=1` in the identity cannot be used", HOW),
        ("pkcs11:token=T;token=U?module-path=/x", "`token=U` in the identity cannot be used", HOW),
        ("pkcs11:token?module-path=/x", "`token` in the identity cannot be used", HOW),
        ("pkcs11:token=T?module-path=/x&pin-value=1", "a PIN does not belong on the command line",
         "it is asked for when needed"),
    ],
)  # fmt: skip
def test_uris_that_cannot_be_used(opened, uri, message, help_text):
    with pytest.raises(UsageError) as refused:
        signers.signer(options(uri))
    assert (refused.value.message, refused.value.help_text) == (message, help_text)
    assert opened == []


def test_a_token_needs_its_pin(opened, monkeypatch):
    monkeypatch.setattr(signers, "ask_passphrase", lambda *_, **__: None)
    with pytest.raises(UsageError) as refused:
        signers.signer(options("pkcs11:token=T?module-path=/x"))
    assert refused.value.message == "a token needs its PIN"
    assert refused.value.help_text == "type it, or use --passphrase-file FILE"


def test_timestamp_service():
    assert signers.timestamp_service(argparse.Namespace(timestamp=None)) is None
    service = signers.timestamp_service(argparse.Namespace(timestamp="https://time.example/tsa"))
    assert service.url == "https://time.example/tsa"
    with pytest.raises(UsageError, match="a timestamp service has an http or https address, not `ftp://x`"):
        signers.timestamp_service(argparse.Namespace(timestamp="ftp://x"))
