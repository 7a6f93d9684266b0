"""``issue``, ``countersign``, ``register``, ``identity`` as they are typed: files, tokens, timestamps."""

import datetime as dt
import json
import re

import pytest
from asn1crypto import tsp
from cryptography.hazmat.primitives import serialization

from tests.outside import needs_program
from tests.unit.seal.test_seal_token import MODULE, PIN, put  # noqa: F401 - a fixture
from tests.unit.seal.test_seal_trusted_time import REPLY, service  # noqa: F401 - a fixture
from tests.unit.verify import signed_material as made

NOW = dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    for place in ("issuing", "verifying", "countersigning", "registering", "filing"):
        monkeypatch.setattr(f"reportgen.pipeline.{place}.now", lambda: NOW, raising=False)
    monkeypatch.setattr("reportgen.pipeline.now", lambda: NOW)
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")


@pytest.fixture
def keys(run, contract):
    """Identities of the inspector and of an engineer."""
    for name in ("I. Tern", "E. Falk"):
        assert run("identity", "new", "keys", "--name", name, "--organisation", "Body").code == 0
    return contract / "keys"


@pytest.fixture
def two_signers(contract):
    """The engineer is to sign after the inspector."""
    project, day = contract / "project.yaml", contract / "day.yaml"
    people = "people: {falk: {name: E. Falk, role: engineer}, "
    project.write_text(project.read_text(encoding="utf-8").replace("people: {", people), encoding="utf-8")
    text = day.read_text(encoding="utf-8").replace("inspector: ines}", "inspector: ines, countersigners: [falk]}")
    day.write_text(text, encoding="utf-8")


def test_an_identity_is_made_and_shown(run):
    code, out, err = run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[:4] == [
        "sign with        keys/i-tern.p12   (private, until 2029-05-04)",
        "lock away        keys/i-tern-root.p12   (private: it makes signers)",
        "hand to auditors keys/i-tern-root.pem",
        "                 and tell them its fingerprint by another way:",
    ]
    fingerprint = r"\s+([0-9A-F]{2}:){16}\n\s+([0-9A-F]{2}:){15}[0-9A-F]{2}"
    assert re.fullmatch(fingerprint, "\n".join(lines[4:]))
    code, out, _ = run("identity", "show", "keys/i-tern.p12")
    assert code == 0
    assert out.startswith(
        "subject      I. Tern, Body\n"
        "issuer       Root of Body, Body\n"
        "valid from   2026-05-04\nvalid until  2029-05-04\nfingerprint  "
    )
    assert all(len(line) <= 80 for line in out.splitlines())
    data = json.loads(run("identity", "show", "--json", "keys/i-tern.p12").out)
    assert data["subject"] == "I. Tern, Body"
    assert data["fingerprint"].count(":") == 31
    made_again = run("identity", "new", "--json", "more", "--name", "A. Other", "--organisation", "Body")
    assert json.loads(made_again.out)["signer"] == "more/a-other.p12"
    refused = run("identity", "new", "keys", "--name", "I. Tern")
    assert refused == (2, "", "error: a new identity needs --name and --organisation\n")


def test_a_report_is_issued_and_registered(run, keys, contract):
    code, out, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    assert (code, err) == (0, "")
    assert out == (
        "reports/SL-1-001.pdf: SL-1-001 revision 0, issued, 6 pages\n"
        "Conforms: 1 of 1 inspected areas may be released; A-2 not inspected.\n"
    )
    assert run("register", "check", ".") == (0, "register of .: no problems\n", "")
    assert json.loads(run("register", "check", "--json", ".").out) == []
    (contract / "register.jsonl").unlink()
    code, out, _ = run("register", "check", ".")
    assert code == 1
    assert out.endswith("register of .: 1 problem\n")
    assert " [register-missing]" in " ".join(out.split())
    code, out, err = run("register", "rebuild", ".")
    assert (code, err) == (0, "")
    assert out.startswith("register of . rebuilt: 1 reports, 0 rows kept\n")
    assert json.loads(run("register", "check", "--json", ".").out) == []


def test_a_rebuilt_register_as_data(run, keys, contract):
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    register = contract / "register.jsonl"
    register.write_bytes(register.read_bytes().splitlines(keepends=True)[0])
    code, out, _ = run("register", "rebuild", "--json", ".")
    assert code == 0
    assert json.loads(out)["reports"] == 1


def test_an_identity_with_a_doubt_is_noted(run, keys, monkeypatch):
    from reportgen.seal import Preflight

    monkeypatch.setattr("reportgen.seal.preflight", lambda *_: Preflight(("the certificate ends in 3 days; " * 4,)))
    code, _, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    assert code == 0
    assert err.startswith("note: the certificate ends in 3 days; ")
    assert all(len(line) <= 80 for line in err.splitlines())


def test_a_demonstration(run, contract):
    code, out, err = run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf", "--at", "2026-05-04T15:00:00Z")
    assert (code, err) == (0, "")
    assert " ".join(out.split()).startswith(
        "demo.pdf: SL-1-001 revision 0, demonstration, not valid for issue and not registered, 6 pages Conforms: "
    )
    data = json.loads(run("issue", "--json", "day.yaml", "--identity", "demo", "-o", "demo.pdf").out)
    assert data["status"] == "demonstration, not valid for issue and not registered"
    assert (data["number"], data["pages"], data["verdict"]) == ("SL-1-001", 6, "conforms")


def test_times_that_are_not_for_this(run, keys):
    message = "error: --at is for drafts and demonstrations\n help: an issued report bears the time of issue\n"
    at = ("--at", "2026-05-04T15:00:00Z")
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12", *at) == (2, "", message)
    message = "error: a demonstration takes no timestamp\n help: leave --timestamp out\n"
    assert run("issue", "day.yaml", "--identity", "demo", "--timestamp", "http://x") == (2, "", message)


def test_a_further_signature(run, keys, two_signers):
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    sign = ("countersign", "reports/SL-1-001.pdf", "--identity", "keys/e-falk.p12", "-o")
    assert run(*sign, "both.pdf") == (0, "both.pdf: signed by E. Falk; the earlier signatures stand\n", "")
    assert json.loads(run(*sign, "again.pdf", "--json").out) == {"file": "again.pdf", "signer": "E. Falk"}


@pytest.mark.allow_hosts(["127.0.0.1"])
@pytest.mark.enable_socket
def test_a_time_that_is_proven(run, keys, two_signers, contract, service):  # noqa: F811 - the fixture
    def answer(query: bytes):
        stamper = made.timestamper(NOW + dt.timedelta(seconds=2))
        return 200, REPLY, stamper.request_tsa_response(tsp.TimeStampReq.load(query)).dump()

    authority = contract / "time.pem"
    authority.write_bytes(made.root().certificate.public_bytes(serialization.Encoding.PEM))
    url = service(answer)
    code, _, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "--timestamp", url)
    assert (code, err) == (0, "")
    trust = [
        word for name in ("keys/i-tern-root.pem", "keys/e-falk-root.pem", "time.pem") for word in ("--trust", name)
    ]
    said = " ".join(run("verify", "reports/SL-1-001.pdf", *trust).out.split())
    assert "a certificate you trust, at 2026-05-04T15:10:02+00:00, proven by Harbour Time, Harbour Works." in said
    sign = ("countersign", "reports/SL-1-001.pdf", "--identity", "keys/e-falk.p12", "-o", "both.pdf")
    assert run(*sign, "--timestamp", url).code == 0
    said = " ".join(run("verify", "both.pdf", *trust).out.split())
    assert said.count("proven by Harbour Time") == 2


@pytest.mark.allow_hosts(["127.0.0.1"])
@pytest.mark.enable_socket
def test_a_service_that_fails_leaves_nothing(run, keys, contract, service):  # noqa: F811 - the fixture
    url = service(lambda _: (503, "text/plain", b""))
    code, out, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "--timestamp", url)
    assert (code, out) == (4, "")
    assert "answers 503 Service Unavailable" in " ".join(err.split())
    assert err.endswith(" help: sign without a timestamp, or later\n")
    assert not list(contract.rglob("SL-1-001*"))
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0, "the number is still free"


@needs_program("softhsm2-util")
def test_a_key_that_never_leaves_its_token(run, contract, put):  # noqa: F811 - the fixture
    put("work", ("signing", made.certify(made.named("I. Tern"), made.ec_key(), made.root())), issuers=(made.root(),))
    pin = contract / "pin"
    pin.write_text(PIN + "\n", encoding="utf-8")
    pin.chmod(0o600)
    uri = f"pkcs11:token=work;object=signing?module-path={MODULE}"
    code, _, err = run("issue", "day.yaml", "--identity", uri, "--passphrase-file", "pin")
    assert (code, err) == (0, "")
    root = contract / "root.pem"
    root.write_bytes(made.root().certificate.public_bytes(serialization.Encoding.PEM))
    assert run("verify", "reports/SL-1-001.pdf", "--trust", "root.pem").code == 0


def test_codes_and_areas_are_explained(run, demo):
    code, out, _ = run("explain", "dew-point-margin")
    assert code == 0
    assert out.startswith("code:    dew-point-margin\nmeaning: The steel was too near to the dew point")
    assert json.loads(run("explain", "--json", "JOB110").out)["code"] == "JOB110"
    assert run("explain", "JOB999").err == (
        "error: `JOB999` is neither a finding nor a message of this program\n"
        " help: a day file is explained with --area ID\n"
    )
    assert "did you mean `dew-point-margin`?" in run("explain", "dew-point-margins").err
    code, out, _ = run("explain", demo / "2026-06-09.yaml", "--area", "K-3")
    assert code == 0
    assert all(len(line) <= 80 for line in out.splitlines())
    assert out.startswith("  1  ")
    assert isinstance(json.loads(run("explain", "--json", "day.yaml", "--area", "A-1").out), list)
