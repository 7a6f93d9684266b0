"""A folder of trusted authorities in which not every file can be read; and one that is named by itself."""

import json
import os

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

REPORT = "reports/SL-1-001.pdf"


pytestmark = pytest.mark.usefixtures("stopped_clock")


@pytest.fixture
def folder(run, contract):
    """An issued report, and a folder with the certificate of its authority."""
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    roots = contract / "roots"
    roots.mkdir()
    (roots / "body.pem").write_bytes((contract / "keys/i-tern-root.pem").read_bytes())
    return roots


def of_another_version(folder):
    """The certificate with the number of its version, the one integer behind the tag [0], set to one that is none."""
    certificate = x509.load_pem_x509_certificate((folder / "body.pem").read_bytes())
    der = certificate.public_bytes(Encoding.DER)
    assert der.count(b"\xa0\x03\x02\x01\x02") == 1
    (folder / "bad.der").write_bytes(der.replace(b"\xa0\x03\x02\x01\x02", b"\xa0\x03\x02\x01\x09"))


def cut(folder):
    text = (folder / "body.pem").read_text("ascii")
    (folder / "bad.pem").write_text(text[: len(text) // 2], "ascii")


UNREADABLE = {
    "no certificate": lambda folder: (folder / "bad.pem").write_text("see the other folder"),
    "empty": lambda folder: (folder / "bad.cer").write_bytes(b""),
    "cut short": cut,
    "a folder": lambda folder: (folder / "bad.pem").mkdir(),
    "a pipe": lambda folder: os.mkfifo(folder / "bad.pem"),
    "a broken link": lambda folder: (folder / "bad.crt").symlink_to("nowhere"),
    "of a version that is none": of_another_version,
}


@pytest.mark.parametrize("spoil", UNREADABLE.values(), ids=UNREADABLE)
def test_one_file_that_cannot_be_read_costs_a_folder_only_itself(run, folder, spoil):
    spoil(folder)
    code, out, err = run("verify", REPORT, "--trust", "roots", "--json")
    (said,) = json.loads(out)
    assert (code, said["overall"]) == (0, "passed")
    (note,) = err.splitlines()
    assert note.startswith("note: roots/bad.")
    assert note.endswith("; it is passed over, and nobody is trusted by it")
    assert note.removeprefix("note: ") in said["steps"][4]["details"]
    for command in (("audit", "reports"), ("submittal", REPORT, "--identity", "demo", "-o", "s.pdf")):
        code, _, err = run(*command, "--trust", "roots")
        assert (code, err.splitlines()[0]) == (0, note)


@pytest.mark.parametrize("spoil", UNREADABLE.values(), ids=UNREADABLE)
def test_one_that_is_named_is_an_error(run, folder, spoil):
    spoil(folder)
    (bad,) = folder.glob("bad.*")
    if bad.is_dir():
        return
    code, out, err = run("verify", REPORT, "--trust", bad.relative_to(folder.parent), "--trust", "roots")
    assert (code, out) == (2, "")
    assert f"roots/{bad.name}" in err


def test_a_folder_of_nothing_else_is_an_error(run, folder):
    (folder / "body.pem").write_text("none")
    for command in (("verify", REPORT), ("audit", "reports")):
        code, _, err = run(*command, "--trust", "roots")
        assert code == 2
        assert (
            "the folder roots holds no certificate that can be read: roots/body.pem holds no certificate"
            in " ".join(err.split())
        )
