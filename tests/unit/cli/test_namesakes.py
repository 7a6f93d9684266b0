"""Two countersigners of one name: a certificate that does not tell them apart signs for neither."""

import datetime as dt

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, pkcs12

from tests.unit.verification import signed_material as made

NOW = dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC)
SIGN = ("countersign", "reports/SL-1-001.pdf", "-o", "both.pdf", "--identity")


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    for place in (".issuing", ".verifying", ".countersigning", ".filing", ""):
        monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: NOW, raising=False)
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")


@pytest.fixture
def report(run, contract):
    """A report that awaits E. Falk of the board and E. Falk of the blasters; returns the folder of the contract."""
    project, day = contract / "project.yaml", contract / "day.yaml"
    people = (
        "people: {one: {name: E. Falk, role: engineer, organisation: Board}, "
        "other: {name: E. Falk, role: foreman, organisation: Blasters}, "
    )
    project.write_text(project.read_text("utf-8").replace("people: {", people), "utf-8")
    signing = "inspector: ines, countersigners: [one, other]}"
    day.write_text(day.read_text("utf-8").replace("inspector: ines}", signing), "utf-8")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    return contract


def test_a_certificate_without_organisation_is_refused(run, report):
    subject = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "E. Falk")])
    pair = made.certify(subject, made.ec_key(), made.root())
    lock = BestAvailableEncryption(b"a passphrase for tests")
    chain = [made.root().certificate]
    data = pkcs12.serialize_key_and_certificates(b"falk", pair.key, pair.certificate, chain, lock)
    (report / "falk.p12").write_bytes(data)
    code, _, err = run(*SIGN, "falk.p12")
    assert code == 2
    said = " ".join(err.split())
    assert "the certificate names no organisation, and the job names `Board`" in said
    assert "to sign: E. Falk (engineer), E. Falk (foreman); each with an identity in that name" in said
    assert not (report / "both.pdf").exists()


def test_one_with_organisation_signs_in_its_own_field(run, report):
    assert run("identity", "new", "keys", "--name", "E. Falk", "--organisation", "Blasters").code == 0
    assert run(*SIGN, "keys/e-falk.p12").code == 0
    assert "Countersigner-1" in run("verify", "both.pdf", "--json").out.split('"unfilled_fields"')[1][:60]
