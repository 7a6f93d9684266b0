"""Signing with a PKCS#11 token, on a software token made for the test."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from reportgen.errors import MachineError, SealError
from reportgen.seal import load_token_identity, token
from reportgen.verification import verify_report
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

MODULE = next(
    (
        path
        for path in map(Path, ("/usr/lib/softhsm/libsofthsm2.so", "/usr/local/lib/softhsm/libsofthsm2.so"))
        if path.exists()
    ),
    Path("/usr/lib/softhsm/libsofthsm2.so"),
)
PIN = "648219"
softhsm = needs_program("softhsm2-util")


def run(*words: str) -> None:
    subprocess.run(words, check=True, capture_output=True)


@pytest.fixture(scope="module")
def put(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., None]:
    """Return how to make a token and put keys and certificates on it. One folder: the library is loaded once."""
    import pkcs11

    folder = tmp_path_factory.mktemp("tokens")
    (folder / "tokens").mkdir()
    configuration = folder / "softhsm2.conf"
    configuration.write_text(f"directories.tokendir = {folder / 'tokens'}\nobjectstore.backend = file\n")
    patch = pytest.MonkeyPatch()
    patch.setenv("SOFTHSM2_CONF", str(configuration))

    def fill(name: str, *pairs: tuple[str, made.Pair], issuers: tuple[made.Pair, ...] = ()) -> None:
        run("softhsm2-util", "--init-token", "--free", "--label", name, "--pin", PIN, "--so-pin", "12345678")
        for number, (label, pair) in enumerate(pairs, start=1):
            file = folder / "key.pem"
            form = (serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
            file.write_bytes(pair.key.private_bytes(*form))
            identifier = f"{number:02x}"
            words = ("--token", name, "--label", label, "--id", identifier, "--pin", PIN)
            run("softhsm2-util", "--import", str(file), *words)
        library = pkcs11.lib(str(MODULE))
        library.reinitialize()
        certificates = [(label, bytes([number]), pair) for number, (label, pair) in enumerate(pairs, start=1)]
        certificates += [("issuer", b"\x99", pair) for pair in issuers]
        with library.get_token(token_label=name).open(user_pin=PIN, rw=True) as session:
            for label, identifier, pair in certificates:
                session.create_object(
                    {
                        pkcs11.Attribute.CLASS: pkcs11.ObjectClass.CERTIFICATE,
                        pkcs11.Attribute.CERTIFICATE_TYPE: pkcs11.CertificateType.X_509,
                        pkcs11.Attribute.TOKEN: True,
                        pkcs11.Attribute.LABEL: label,
                        pkcs11.Attribute.ID: identifier,
                        pkcs11.Attribute.SUBJECT: pair.certificate.subject.public_bytes(),
                        pkcs11.Attribute.VALUE: pair.certificate.public_bytes(serialization.Encoding.DER),
                    }
                )

    return fill


def leaf(key: Any, **more: Any) -> made.Pair:
    return made.certify(made.named("Ines Perk"), key, made.root(), **more)


@softhsm
@pytest.mark.parametrize("kind", ["rsa", "p256", "p384"])
def test_a_report_signed_by_a_token_passes(put: Any, kind: str) -> None:
    key = {"rsa": made.rsa_key, "p256": made.ec_key, "p384": lambda: made.ec_key(ec.SECP384R1())}[kind]()
    put(f"token-{kind}", ("signing", leaf(key)), issuers=(made.root(),))
    identity = load_token_identity(MODULE, token=f"token-{kind}", pin=PIN)
    assert identity.chain == (made.root().certificate,)
    report = made.sealed(who=identity)
    answer = verify_report(report, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)
    assert answer.overall == "passed"


@softhsm
def test_several_certificates_are_told_apart_by_label(put: Any) -> None:
    put("several", ("first", leaf(made.ec_key())), ("second", leaf(made.ec_key())))
    assert load_token_identity(MODULE, token="several", pin=PIN, label="second").name == "Ines Perk"
    for label, sentence in (
        (None, "the token `several` holds several certificates with keys, name one: first, second"),
        ("third", "the token `several` holds no certificate labelled `third` with its private key"),
    ):
        with pytest.raises(SealError) as caught:
            load_token_identity(MODULE, token="several", pin=PIN, label=label)
        assert caught.value.message == sentence


@softhsm
def test_token_refusals(put: Any, tmp_path: Path) -> None:
    put("empty")
    put("weak", ("signing", leaf(made.rsa_key(1024))))
    for words, sentence in (
        ({"token": "none", "pin": PIN}, "there is no token `none`"),
        (
            {"token": "empty", "pin": "999999"},
            "the PIN of token `empty` is wrong; it is not tried again, because tokens lock",
        ),
        ({"token": "empty", "pin": PIN}, "the token `empty` holds no certificate with its private key"),
        (
            {"token": "weak", "pin": PIN},
            (
                "the certificate of Ines Perk, Harbour Works cannot sign reports: "
                "the RSA key has 1024 bits; at least 2048 are needed"
            ),
        ),
    ):
        with pytest.raises(SealError) as caught:
            load_token_identity(MODULE, **words)
        assert caught.value.message == sentence
    text = tmp_path / "library.so"
    text.write_text("no library")
    with pytest.raises(SealError, match=r"library\.so is not a PKCS#11 library that can be loaded"):
        load_token_identity(text, token="empty", pin=PIN)


@softhsm
def test_a_token_that_fails_while_signing(put: Any) -> None:
    import pkcs11

    put("pulled", ("signing", leaf(made.ec_key())))
    identity = load_token_identity(MODULE, token="pulled", pin=PIN)
    pkcs11.lib(str(MODULE)).reinitialize()
    with pytest.raises(MachineError, match="the token `pulled` failed: "):
        made.sealed(who=identity)


def test_errors_of_a_token_in_words() -> None:
    import pkcs11

    for error, sentence in (
        (pkcs11.PinLocked(), "the PIN of token `t` is locked"),
        (pkcs11.PinLenRange(), "the PIN of token `t` has the wrong length or characters"),
    ):
        with pytest.raises(SealError) as caught, token._explained(pkcs11, "t"):
            raise error
        assert caught.value.message == sentence


def test_without_the_package(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pkcs11", None)
    with pytest.raises(SealError, match="signing with a token needs the package python-pkcs11"):
        load_token_identity(MODULE, token="t", pin=PIN)


def test_keys_a_token_cannot_use() -> None:
    with pytest.raises(SealError, match="only RSA and elliptic curve keys can be used on a token"):
        token._signing_operation(None, leaf(made.ed_key()).certificate, None)
