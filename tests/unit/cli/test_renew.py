"""``renew`` as it is typed: which reports are due, and what stands in the files that it writes."""

import datetime as dt
import json

import pytest
from asn1crypto import tsp
from cryptography.hazmat.primitives import serialization

from tests.unit.cli.conftest import NOW
from tests.unit.seal.test_seal_trusted_time import REPLY, service  # noqa: F401 - a fixture
from tests.unit.verification import signed_material as made

pytestmark = [
    pytest.mark.usefixtures("stopped_clock"),
    pytest.mark.allow_hosts(["127.0.0.1"]),
    pytest.mark.enable_socket,
]
YEAR = dt.timedelta(days=365)
REPORT = "reports/SL-1-001.pdf"
TRUST = ("--trust", "keys/i-tern-root.pem", "--trust", "time.pem")


@pytest.fixture
def at(monkeypatch):
    """Turn the clock to a moment after the report was issued."""

    def turn(moment):
        for place in ("renewing", "verifying", "filing"):
            monkeypatch.setattr(f"reportgen.pipeline.{place}.now", lambda: moment, raising=False)
        return moment

    return turn


@pytest.fixture
def url(service, at):  # noqa: F811 - the fixture
    """A service that tells the time of the clock."""
    from reportgen.pipeline import renewing

    def answer(query):
        return 200, REPLY, made.timestamper(renewing.now()).request_tsa_response(tsp.TimeStampReq.load(query)).dump()

    return service(answer)


@pytest.fixture
def report(run, contract, stopped_clock):
    """A report by an identity that ends after three years."""
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    (contract / "time.pem").write_bytes(made.root().certificate.public_bytes(serialization.Encoding.PEM))
    return contract / REPORT


def told(run, *arguments):
    said = run("renew", *arguments, *TRUST, "--json")
    assert said.err == ""
    assert said.out.startswith("["), said.out
    return said.code, json.loads(said.out)


@pytest.mark.usefixtures("report")
def test_it_says_until_when_a_proof_holds_and_what_is_due(run, at):
    code, (one,) = told(run, REPORT)
    assert (code, one["state"], one["holds_until"][:10]) == (0, "due", "2029-05-04")
    assert told(run, "reports", "--due", "12months")[1][0]["state"] == "not due"
    at(NOW + 2.5 * YEAR)
    assert told(run, "reports", "--due", "12months")[1][0]["state"] == "due"
    at(NOW + 3.5 * YEAR)
    code, (one,) = told(run, REPORT)
    assert (code, "holds_until" in one) == (1, False)
    assert "no longer valid" in one["why"]


def test_a_renewed_report_outlives_the_identity_and_may_be_renewed_again(run, report, contract, url, at):
    at(NOW + 2.5 * YEAR)
    before = report.read_bytes()
    code, (one,) = told(run, "reports", "--timestamp", url, "--into", "renewed")
    assert (code, one["state"], one["renewal"]) == (0, "renewed", 1)
    assert one["holds_until"][:10] == (made.AT + dt.timedelta(days=6000)).date().isoformat()
    renewed = contract / "renewed" / "SL-1-001.pdf"
    assert report.read_bytes() == before
    assert renewed.read_bytes().startswith(before)
    at(NOW + 5 * YEAR)
    assert run("verify", REPORT, *TRUST).code == 1
    assert run("verify", str(renewed), *TRUST, "--register", ".").code == 0
    code, (one,) = told(run, "renewed/SL-1-001.pdf", "--timestamp", url, "--into", "again")
    assert (code, one["renewal"]) == (0, 2)
    said = json.loads(run("verify", "again/SL-1-001.pdf", *TRUST, "--json").out)[0]
    assert (said["overall"], said["time"]) == ("passed", "proven")
    assert said["signers"][0]["proven_time"][:10] == (NOW + 2.5 * YEAR).date().isoformat()


def test_what_fails_is_not_renewed_and_nothing_is_overwritten(run, report, contract, url):
    (contract / "bad").mkdir()
    pdf = report.read_bytes()
    (contract / "bad" / "a.pdf").write_bytes(pdf[:3000] + bytes([pdf[3000] ^ 1]) + pdf[3001:])
    (contract / "bad" / "b.pdf").write_bytes(pdf)
    code, found = told(run, "bad", "--timestamp", url, "--into", "renewed")
    assert (code, [one["state"] for one in found]) == (1, ["not renewed", "renewed"])
    assert [path.name for path in (contract / "renewed").iterdir()] == ["b.pdf"]
    kept = (contract / "renewed" / "b.pdf").read_bytes()
    code, _, err = run("renew", "bad/b.pdf", *TRUST, "--timestamp", url, "--into", "renewed")
    assert (code, "is not overwritten" in err) == (2, True)
    assert (contract / "renewed" / "b.pdf").read_bytes() == kept


@pytest.mark.usefixtures("report")
@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--into", "x"), "a renewal needs --timestamp URL too"),
        (("--timestamp", "http://127.0.0.1:1/"), "a renewal needs --into FOLDER too"),
        (("--due", "soon"), "--due"),
    ],
)
def test_what_is_asked_for_must_be_whole(run, given, said):
    code, _, err = run("renew", REPORT, *given)
    assert (code, said in err) == (2, True)


@pytest.mark.usefixtures("report")
def test_a_service_out_of_reach_leaves_nothing(run, contract):
    code, _, err = run("renew", REPORT, *TRUST, "--timestamp", "http://127.0.0.1:1/", "--into", "renewed")
    assert (code, "cannot be reached" in err) == (4, True)
    assert not list(contract.rglob("renewed/*.pdf"))
