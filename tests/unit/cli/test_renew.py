"""``renew`` as it is typed: which reports are due, and what stands in the files that it writes."""

import datetime as dt
import json
import re

import pytest
from asn1crypto import tsp
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, pkcs12

from tests.unit.cli.conftest import NOW
from tests.unit.seal.authorities import answer, responder
from tests.unit.seal.test_seal_authorities import serve  # noqa: F401 - a fixture
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
    said = run("renew", REPORT, *TRUST, "--language", "de").out
    assert said.startswith(f"{REPORT}: ist nicht bewiesen: ")
    assert "valid" not in said


@pytest.mark.parametrize("absolute", [True, False])
def test_the_policy_alone_says_whom_to_trust(run, report, contract, url, at, absolute, tmp_path_factory, monkeypatch):
    (contract / "rules").mkdir()
    (contract / "rules" / "trust.yaml").write_text("roots: [../keys/i-tern-root.pem, ../time.pem]\n", "utf-8")
    policy = ("--policy", str(contract / "rules" / "trust.yaml") if absolute else "rules/trust.yaml", "--json")
    if absolute:
        monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    shown = run("renew", str(report) if absolute else REPORT, *policy, "--due", "60months")
    (due,) = json.loads(shown.out)
    assert (shown.code, due["state"], due["holds_until"][:10], "why" in due) == (0, "due", "2029-05-04", False)
    at(NOW + YEAR)
    into = ("--timestamp", url, "--into", str(contract / "renewed"))
    shown = run("renew", str(report) if absolute else REPORT, *policy, *into)
    (one,) = json.loads(shown.out)
    assert (shown.code, one["state"], "why" in one) == (0, "renewed", False)
    assert one["holds_until"] > due["holds_until"]
    again = run("renew", str(report), *policy[:2], *into[:2], "--into", "neu", "--language", "de")
    german = " ".join(again.out.split())
    assert "Erneuerung 1 ist nach neu/SL-1-001.pdf geschrieben; sie gilt bis 20" in german


@pytest.mark.parametrize("trusting", [(), TRUST], ids=["nobody", "both"])
@pytest.mark.parametrize("days", [-700, -10, -1, 1, 700])
@pytest.mark.usefixtures("report", "at")
def test_a_service_with_another_time_renews_nothing(run, contract, service, days, trusting, monkeypatch):  # noqa: F811
    """Nor is anything put in place that would have to be taken away again."""
    monkeypatch.setattr("reportgen.atomicfile.write_new", lambda *_: pytest.fail("it was written"))

    def answer(query):
        moment = NOW + dt.timedelta(days=days)
        return 200, REPLY, made.timestamper(moment).request_tsa_response(tsp.TimeStampReq.load(query)).dump()

    (contract / "time.pem").write_bytes(made.root().certificate.public_bytes(serialization.Encoding.PEM))
    code, out, _ = run("renew", REPORT, *trusting, "--timestamp", service(answer), "--into", "renewed", "--json")
    (one,) = json.loads(out)
    assert (code, one["state"]) == (1, "not renewed")
    told = re.fullmatch(
        r"the timestamp service says that it is (\S+ \S+ \S+), this machine (\S+ \S+ \S+): its clock is "
        r"(\d+) h 0 min (ahead of|behind) the service; it was not written: set the clock of this machine, "
        r"or use another service if it is right",
        one["why"],
    )
    assert told is not None, one["why"]
    service_at, own_at = (dt.datetime.strptime(text, "%Y-%m-%d %H:%M %z") for text in told.groups()[:2])
    assert own_at - service_at == dt.timedelta(days=-days)
    assert (int(told[3]), told[4]) == (24 * abs(days), "ahead of" if days < 0 else "behind")
    assert not list(contract.rglob("renewed/*.pdf"))


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


@pytest.mark.parametrize("root_in_file", [True, False])
def test_the_word_of_one_whom_the_authority_named_is_kept(run, contract, serve, url, at, root_in_file):  # noqa: F811
    from reportgen.pipeline import renewing

    asked, who, root = [], responder("One Who Answers"), made.root()

    def word(query):
        asked.append(x509.ocsp.load_der_ocsp_request(query).serial_number)
        return answer(signer.certificate, root, renewing.now(), who)

    home = x509.UniformResourceIdentifier(serve({"/ocsp": word}) + "/ocsp")
    place = x509.AccessDescription(x509.oid.AuthorityInformationAccessOID.OCSP, home)
    named = x509.AuthorityInformationAccess([place])
    signer = made.certify(made.named("I. Tern", "Body"), made.ec_key(), root, extra=named)
    lock = BestAvailableEncryption(b"a passphrase for tests")
    chain = [root.certificate] if root_in_file else []
    stored = pkcs12.serialize_key_and_certificates(b"x", signer.key, signer.certificate, chain, lock)
    (contract / "signer.p12").write_bytes(stored)
    (contract / "time.pem").write_bytes(root.certificate.public_bytes(serialization.Encoding.PEM))
    # one root issues signers and authorities of time here, which only a policy believes
    (contract / "believed.yaml").write_text("roots: [time.pem]\ntimestamp_roots: [time.pem]\n", "utf-8")
    trusted = ("--policy", "believed.yaml")
    assert run("issue", "day.yaml", "--identity", "signer.p12").code == 0
    assert run("verify", REPORT, *trusted).code == 0
    moment = at(NOW + dt.timedelta(days=300))
    said = run("renew", REPORT, *trusted, "--timestamp", url, "--into", "renewed", "--json")
    assert (said.code, json.loads(said.out)[0]["state"]) == (0, "renewed"), said
    at(made.AT + 3 * YEAR)
    found = json.loads(run("verify", "renewed/SL-1-001.pdf", *trusted, "--json").out)[0]
    assert (found["overall"], found["revocation"]) == (
        "passed",
        f"checked until {moment.isoformat(timespec='seconds')}",
    )
    assert set(asked) == {signer.certificate.serial_number}


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
def test_a_timestamp_that_proves_nothing_by_the_trust_given_is_not_written(run, contract, url):
    given = (REPORT, "--timestamp", url, "--into", "renewed", "--trust", "keys/i-tern-root.pem")
    said = run("renew", *given, "--json")
    (one,) = json.loads(said.out)
    assert (said.code, one["state"], "holds_until" in one) == (1, "not renewed", False)
    assert "Renewal-1: a timestamp of Harbour Time, Harbour Works that proves nothing" in one["why"]
    assert "with `--trust`" in one["why"]
    assert not list(contract.rglob("renewed/*.pdf"))
    assert run("renew", *given, "--trust", "time.pem").code == 0


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
