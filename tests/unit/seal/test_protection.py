"""How identity files keep their keys: read by OpenSSL, which wrote none of it; and what is said of weaker ones."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
    pkcs12,
)

from reportgen.errors import SealError
from reportgen.seal import load_identity, new_identity, preflight, protect_identity, protection
from reportgen.seal.protection import protected, weakness
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from pathlib import Path

SECRET = "open sesame"
ROUNDS = 600_000
STRONG = pkcs12.PBES.PBESv2SHA256AndAES256CBC
TRIPLE_DES = pkcs12.PBES.PBESv1SHA1And3KeyTripleDESCBC


@pytest.fixture(autouse=True)
def as_the_program_does(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(protection, "ROUNDS", ROUNDS)


def test_a_process_of_its_own_takes_as_many_and_keys_as_long(tmp_path: Path) -> None:
    told = (
        "import datetime as dt; from pathlib import Path; "
        "from reportgen.seal import load_identity, new_identity, protection; "
        f"place, at, secret = Path({str(tmp_path)!r}), dt.datetime(2026, 1, 1, tzinfo=dt.UTC), {SECRET!r}; "
        "made = new_identity(place, name='I. Tern', organisation='Body', at=at, years=1, passphrase=secret); "
        "identity = load_identity(made.signer_file, secret); "
        "print(protection.ROUNDS, identity.certificate.public_key().key_size)"
    )
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert done.stdout.split() == [str(ROUNDS), "3072"]


def signer() -> made.Pair:
    return made.certify(made.named("Ines Perk"), made.ec_key(), made.root())


def by_the_library(lock: Any) -> bytes:
    pair = signer()
    return pkcs12.serialize_key_and_certificates(b"signer", pair.key, pair.certificate, [made.root().certificate], lock)


def locked(algorithm: pkcs12.PBES, rounds: int) -> Any:
    builder = PrivateFormat.PKCS12.encryption_builder().kdf_rounds(rounds).key_cert_algorithm(algorithm)
    return builder.hmac_hash(hashes.SHA256()).build(SECRET.encode())


def openssl(file: Path, *arguments: str, secret: str = SECRET) -> str:
    """What OpenSSL says of a file; it refuses one whose proof does not fit the passphrase."""
    command = ["openssl", "pkcs12", "-in", str(file), "-passin", "env:SECRET", *arguments]
    environment = {**os.environ, "SECRET": secret, "LC_ALL": "C.UTF-8"}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    return done.stdout + done.stderr


@needs_program("openssl")
@pytest.mark.parametrize("file", ["signer_file", "root_key_file"])
def test_openssl_reads_what_protects_a_new_identity(tmp_path: Path, file: str) -> None:
    wanted = {"name": "Ines Perk", "organisation": "Harbour Works", "at": made.AT, "years": 3, "passphrase": SECRET}
    told = openssl(getattr(new_identity(tmp_path, **wanted), file), "-info", "-noout")
    assert re.search(r"MAC: sha256, Iteration 600000\b", told)
    parts = re.findall(r"(Encrypted data|Shrouded Keybag): (.*)", told)
    by = "PBES2, PBKDF2, AES-256-CBC, Iteration 600000, PRF hmacWithSHA256"
    assert parts == [("Encrypted data", by), ("Shrouded Keybag", by)]


@needs_program("openssl")
@pytest.mark.parametrize("secret", ["open sesame", "größe", "öffne \U0001f511 dich", "x" * 100])
def test_openssl_opens_it_by_any_passphrase(tmp_path: Path, secret: str) -> None:
    pair = signer()
    file = tmp_path / "signer.p12"
    file.write_bytes(protected("signer", pair.key, pair.certificate, [made.root().certificate], secret))
    told = openssl(file, "-nodes", secret=secret)
    key = load_pem_private_key(told[told.index("-----BEGIN PRIVATE") :].encode(), None)
    assert key.public_key() == pair.key.public_key()
    assert load_identity(file, secret).chain == (made.root().certificate,)
    with pytest.raises(SealError, match="the passphrase does not open"):
        load_identity(file, f"{secret}.")


WEAK = [
    (lambda: by_the_library(locked(STRONG, ROUNDS)), "a guess at its passphrase costs 2,048 rounds, where 600,000"),
    (lambda: by_the_library(BestAvailableEncryption(SECRET.encode())), "a guess at its passphrase costs 2,048 rounds"),
    (lambda: by_the_library(locked(STRONG, 1_000)), "a guess at its passphrase costs 1,000 rounds"),
    (lambda: by_the_library(locked(TRIPLE_DES, ROUNDS)), "its key is not encrypted with AES-256"),
    (lambda: by_the_library(NoEncryption()), "its key is not encrypted"),
    (lambda: b"\x30\x03\x02\x01\x03", "how it keeps its key cannot be told"),
]


@pytest.mark.parametrize(("make", "said"), WEAK)
def test_what_a_weaker_file_lacks(make: Any, said: str) -> None:
    assert (weakness(make()) or "").startswith(said)


def test_a_weak_file_is_warned_about_and_written_anew(tmp_path: Path) -> None:
    file = tmp_path / "signer.p12"
    file.write_bytes(by_the_library(locked(TRIPLE_DES, 2_000)))
    weak = load_identity(file, SECRET)
    (warning,) = preflight(weak, "Ines Perk", made.AT).warnings
    assert warning == (
        f"the identity file {file} keeps its key badly: its key is not encrypted with AES-256; "
        f"`reportgen identity protect {file}` writes one that keeps it better"
    )
    out = protect_identity(file, SECRET, "another")
    assert out == tmp_path / "signer-protected.p12"
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    strong = load_identity(out, "another")
    assert (strong.certificate, strong.chain, strong.weakness) == (weak.certificate, weak.chain, None)
    assert preflight(strong, "Ines Perk", made.AT).warnings == ()
    with pytest.raises(SealError, match="exists and is not overwritten"):
        protect_identity(file, SECRET, "another")
    with pytest.raises(SealError, match="needs a passphrase"):
        protect_identity(file, SECRET, "")
    with pytest.raises(SealError, match="the passphrase does not open"):
        protect_identity(file, "wrong", "another")
