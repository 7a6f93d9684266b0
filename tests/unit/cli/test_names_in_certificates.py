"""A name that the libraries cannot compare stops its own signer with a clear error, and nobody else's file."""

import json

import pytest

from reportgen import certificates

MIXED = "ABC شركة"
UNUSABLE = [("A. Vintry", MIXED), ("A. Vintry", "Łódź ₿"), ("A. Vintry", "Coatings 🛡"), ("Dr. محمد", "Body")]


pytestmark = pytest.mark.usefixtures("stopped_clock")


@pytest.fixture
def keys(run):
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0


@pytest.fixture
def stranger(run, contract, monkeypatch):
    """An identity made by another program, which does not mind the name of its organisation."""
    with monkeypatch.context() as patch:
        patch.setattr(certificates, "name_faults", lambda _: (), raising=False)
        assert run("identity", "new", "others", "--name", "I. Tern", "--organisation", MIXED).code == 0
    return contract / "others"


@pytest.mark.parametrize(("name", "organisation"), UNUSABLE)
def test_an_identity_that_could_not_be_verified_is_not_made(run, contract, name, organisation):
    code, out, err = run("identity", "new", "keys", "--name", name, "--organisation", organisation)
    assert (code, out) == (2, "")
    assert "cannot be compared with that of its issuer" in " ".join(err.split())
    assert not list((contract / "keys").iterdir())


@pytest.mark.parametrize(("name", "organisation"), [("محمد", "شركة"), ("Łucja Żak", "Łódź"), ("山田", "検査")])
def test_a_name_in_one_script_of_any_language_is_taken(run, name, organisation):
    assert run("identity", "new", "keys", "--name", name, "--organisation", organisation).code == 0


def test_nothing_is_issued_with_such_an_identity(run, stranger, contract):
    code, _, err = run("issue", "day.yaml", "--identity", "others/i-tern.p12")
    assert code == 2
    assert "cannot be compared with that of its issuer" in " ".join(err.split())
    assert not list(contract.glob("reports/*.pdf"))


def test_such_a_root_fails_no_other_signers_file(run, keys, stranger):
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    roots = ("--trust", "keys/i-tern-root.pem", "--trust", "others/i-tern-root.pem")
    code, out, _ = run("verify", "reports/SL-1-001.pdf", *roots, "--json")
    said = json.loads(out)[0]
    assert (code, said["overall"], said["reasons"]) == (0, "passed", [])
    assert any("a trusted root is left out" in detail for detail in said["steps"][4]["details"])
    assert run("audit", "reports", *roots).code == 0


def test_a_signature_that_cannot_be_checked_is_not_called_forged(run, stranger, monkeypatch):
    from asn1crypto import x509

    with monkeypatch.context() as patch:
        patch.setattr(certificates, "name_faults", lambda _: (), raising=False)
        patch.setattr(x509.NameTypeAndValue, "_ldap_string_prep", lambda _, text: text)
        assert run("issue", "day.yaml", "--identity", "others/i-tern.p12").code == 0
    said = json.loads(run("verify", "reports/SL-1-001.pdf", "--trust", "others/i-tern-root.pem", "--json").out)[0]
    assert (said["overall"], {reason["name"] for reason in said["reasons"]}) == (
        "indeterminate",
        {"NOT_DONE", "NOT_REBUILT"},  # nor is it known where the pages end
    )
    assert "cannot be compared with that of its issuer" in said["reasons"][0]["sentence"]
    assert [said["steps"][place]["status"] for place in (2, 3)] == ["indeterminate", "indeterminate"]
