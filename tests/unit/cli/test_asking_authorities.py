"""``issue --timestamp``, where the signer's certificate names an authority that can be asked."""

import dataclasses
import datetime as dt
import io
import shutil

import pikepdf
import pytest
from asn1crypto import tsp
from cryptography import x509
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, pkcs12
from cryptography.x509.oid import AuthorityInformationAccessOID

from tests.unit.cli.conftest import NOW
from tests.unit.seal.authorities import answer, crl
from tests.unit.seal.test_seal_authorities import serve  # noqa: F401 - a fixture
from tests.unit.seal.test_seal_trusted_time import REPLY, service  # noqa: F401 - a fixture
from tests.unit.verification import signed_material as made

pytestmark = [
    pytest.mark.usefixtures("stopped_clock"), pytest.mark.allow_hosts(["127.0.0.1"]), pytest.mark.enable_socket,
]  # fmt: skip


@dataclasses.dataclass
class Authority:
    """What it answers by now, what it was asked, and how the inspector whom it certified signs."""

    answers: dict[str, object]
    asked: list[bytes]
    signer: x509.Certificate
    sign: tuple[str, ...]


@pytest.fixture
def authority(contract, serve, service):  # noqa: F811 - the fixtures
    answers: dict[str, object] = {}
    asked: list[bytes] = []

    def told(query: bytes):
        asked.append(query)
        found = answers["now"]
        return found() if callable(found) else found

    home = serve({"/ocsp": told})
    named = x509.AccessDescription(AuthorityInformationAccessOID.OCSP, x509.UniformResourceIdentifier(f"{home}/ocsp"))
    pair = made.certify(
        made.named("I. Tern"), made.rsa_key(), made.root(), extra=x509.AuthorityInformationAccess([named])
    )
    lock = BestAvailableEncryption(b"a passphrase for tests")
    chain = [made.root().certificate]
    stored = pkcs12.serialize_key_and_certificates(b"i", pair.key, pair.certificate, chain, lock)
    (contract / "tern.p12").write_bytes(stored)
    (contract / "root.pem").write_bytes(chain[0].public_bytes(Encoding.PEM))
    stamps = service(
        lambda query: (200, REPLY, made.timestamper(NOW).request_tsa_response(tsp.TimeStampReq.load(query)).dump())
    )
    sign = ("--identity", "tern.p12", "--timestamp", stamps)
    answers["now"] = answer(pair.certificate, made.root(), NOW - dt.timedelta(hours=1))
    return Authority(answers, asked, pair.certificate, sign)


def store(path):
    with pikepdf.open(io.BytesIO(path.read_bytes())) as pdf:
        return [key for key, held in pdf.Root.get("/DSS", pikepdf.Dictionary()).items() if key != "/Type" and len(held)]


def test_what_the_authority_answers_is_sealed_in_and_checked(run, contract, authority):
    code, _, err = run("issue", "day.yaml", *authority.sign)
    assert (code, err) == (0, "")
    assert store(contract / "reports" / "SL-1-001.pdf") == ["/OCSPs"]
    code, out, _ = run("verify", "reports/SL-1-001.pdf", "--trust", "root.pem", "--json")
    assert code == 0, out
    assert '"revocation": "checked until 2026-05-04T14:10:00+00:00"' in out


def test_without_a_timestamp_nobody_is_asked(run, contract, authority):
    code, _, err = run("issue", "day.yaml", *authority.sign[:2])
    assert (code, err) == (0, "")
    assert authority.asked == []
    assert store(contract / "reports" / "SL-1-001.pdf") == []
    code, out, _ = run("verify", "reports/SL-1-001.pdf", "--trust", "root.pem", "--json")
    assert code == 0
    assert '"revocation": "not checked"' in out


def test_an_authority_that_does_not_answer_stops_nothing(run, contract, authority):
    authority.answers["now"] = 503
    code, _, err = run("issue", "day.yaml", *authority.sign)
    assert code == 0
    said = " ".join(err.split())
    assert "/ocsp answers 503 Service Unavailable; what it would say of the signer is not sealed in" in said
    assert store(contract / "reports" / "SL-1-001.pdf") == []
    assert run("verify", "reports/SL-1-001.pdf", "--trust", "root.pem").code == 0


def test_an_authority_that_never_answers_is_waited_for_in_vain_for_seconds_alone(run, contract, authority, monkeypatch):
    import threading

    ended = threading.Event()
    monkeypatch.setattr("reportgen.pipeline.sealed_in._PATIENCE", 0.2)
    authority.answers["now"] = lambda: ended.wait(20) and 503
    try:
        code, _, err = run("issue", "day.yaml", *authority.sign)
    finally:
        ended.set()
    assert code == 0
    assert "cannot be reached: timed out" in " ".join(err.split())
    assert (contract / "reports" / "SL-1-001.pdf").exists()


def test_a_certificate_that_its_authority_calls_revoked_signs_nothing(run, contract, authority):
    since = NOW - dt.timedelta(days=2)
    authority.answers["now"] = answer(authority.signer, made.root(), NOW - dt.timedelta(hours=1), revoked=since)
    code, out, err = run("issue", "day.yaml", *authority.sign)
    assert (code, out) == (2, "")
    assert "was revoked on 2026-05-02, as its authority says" in " ".join(err.split())
    assert not list(contract.rglob("SL-1-001*"))
    assert run("issue", "day.yaml", *authority.sign[:2]).code == 0, "the number is still free"


def test_many_reports_ask_once(run, contract, authority):
    day = (contract / "day.yaml").read_text(encoding="utf-8")
    (contract / "other.yaml").write_text(day.replace("SL-1-001", "SL-1-002"), encoding="utf-8")
    shutil.copy(contract / "day.yaml", contract / "one.yaml")
    code, _, err = run("issue", "one.yaml", "other.yaml", *authority.sign, "--processes", "1")
    assert code == 0, err
    assert len(authority.asked) == 1
    assert [store(contract / "reports" / f"SL-1-00{n}.pdf") for n in (1, 2)] == [["/OCSPs"], ["/OCSPs"]]


@pytest.fixture
def second(contract, authority):
    """A countersigner whose certificate names no authority to ask, and the policy of whoever asks for revocation."""
    project, day = contract / "project.yaml", contract / "day.yaml"
    people = "people: {falk: {name: E. Falk, role: engineer}, "
    project.write_text(project.read_text(encoding="utf-8").replace("people: {", people), encoding="utf-8")
    text = day.read_text(encoding="utf-8").replace("inspector: ines}", "inspector: ines, countersigners: [falk]}")
    day.write_text(text, encoding="utf-8")
    policy = "roots: [root.pem]\nrequire: [revocation]\nnot_rebuilt: allow\n"
    (contract / "trust.yaml").write_text(policy, encoding="utf-8")
    pair = made.certify(made.named("E. Falk"), made.rsa_key(number=1), made.root())
    lock = BestAvailableEncryption(b"a passphrase for tests")
    chain = [made.root().certificate]
    file = pkcs12.serialize_key_and_certificates(b"e", pair.key, pair.certificate, chain, lock)
    (contract / "falk.p12").write_bytes(file)
    return pair.certificate


def signed_again(run, *more):
    return run("countersign", "reports/SL-1-001.pdf", "--identity", "falk.p12", "-o", "both.pdf", *more)


def test_a_list_in_a_file_is_sealed_in_by_issue_and_countersign(run, contract, authority, second):
    data = crl(made.root(), NOW - dt.timedelta(hours=1))
    (contract / "root.crl").write_bytes(data)
    assert run("issue", "day.yaml", *authority.sign[:2], "--crl", "root.crl").code == 0
    assert store(contract / "reports" / "SL-1-001.pdf") == ["/CRLs"]
    assert run("verify", "reports/SL-1-001.pdf", "--policy", "trust.yaml").code == 0
    assert signed_again(run, "--crl", "root.crl").code == 0, "which the file holds already, once"
    assert run("verify", "both.pdf", "--policy", "trust.yaml").code == 0
    with pikepdf.open(contract / "both.pdf") as pdf:
        assert len(pdf.Root.DSS.CRLs) == 1
    assert authority.asked == []


def test_countersign_seals_in_what_is_said_of_every_chain(run, contract, authority, second):
    assert run("issue", "day.yaml", *authority.sign[:2]).code == 0
    (contract / "falk.ocsp").write_bytes(answer(second, made.root(), NOW - dt.timedelta(hours=1)))
    assert signed_again(run, "--ocsp", "falk.ocsp").code == 0
    code, out, _ = run("verify", "both.pdf", "--policy", "trust.yaml")
    assert code == 1, "of the inspector nothing is known"
    assert "REQUIRED" in out
    (contract / "both.pdf").unlink()
    (contract / "root.crl").write_bytes(crl(made.root(), NOW - dt.timedelta(hours=1)))
    # the authority answers about the inspector, the list tells of the authority of the time
    said = signed_again(run, "--ocsp", "falk.ocsp", "--crl", "root.crl", *authority.sign[2:])
    assert (said.code, said.err, len(authority.asked)) == (0, "", 1)
    assert store(contract / "both.pdf") == ["/CRLs", "/OCSPs"]
    assert run("verify", "both.pdf", "--policy", "trust.yaml").code == 0


def test_what_says_nothing_of_these_certificates_is_not_sealed_in(run, contract, authority, second):
    other = made.certify(made.named("Another"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    (contract / "other.crl").write_bytes(crl(other, NOW))
    code, _, err = run("issue", "day.yaml", *authority.sign[:2], "--crl", "other.crl")
    assert code == 2
    assert "other.crl says nothing of the certificates that this report is signed with" in " ".join(err.split())
    assert run("issue", "day.yaml", *authority.sign[:2]).code == 0
    assert signed_again(run, "--crl", "other.crl").code == 2
    assert not (contract / "both.pdf").exists()


def test_a_countersigner_who_is_revoked_signs_nothing_and_of_an_inspector_it_is_noted(run, contract, authority, second):
    assert run("issue", "day.yaml", *authority.sign[:2]).code == 0
    signers = {"inspector": authority.signer, "countersigner": second}
    for who, certificate in signers.items():
        since = NOW - dt.timedelta(days=2)
        (contract / f"{who}.ocsp").write_bytes(answer(certificate, made.root(), NOW, revoked=since))
    code, _, err = signed_again(run, "--ocsp", "countersigner.ocsp")
    assert (code, (contract / "both.pdf").exists()) == (2, False)
    assert "E. Falk, Harbour Works, or of who issued it, was revoked on 2026-05-02" in " ".join(err.split())
    code, _, err = signed_again(run, "--ocsp", "inspector.ocsp")
    assert code == 0
    assert "I. Tern, Harbour Works, or of who issued it, was revoked on 2026-05-02" in " ".join(err.split())
