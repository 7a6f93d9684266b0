"""Revocation data sealed in: fetched from a CRL and an OCSP responder on the loopback interface, and what it proves."""

from __future__ import annotations

import http.server
import io
import threading
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.x509 import ocsp

from reportgen.errors import MachineError, SealError
from reportgen.seal import Identity, RevocationData, fetch_revocation_data
from reportgen.verification import verify_report
from tests.e2e.tamper.controls import crl
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

pytestmark = [pytest.mark.allow_hosts(["127.0.0.1"]), pytest.mark.enable_socket]
DER = serialization.Encoding.DER


@pytest.fixture
def serve() -> Iterator[Callable[[dict[str, Any]], str]]:
    """Start a service that answers each path with bytes, or with what a function makes of the request's body."""
    running: list[http.server.HTTPServer] = []

    def start(answers: dict[str, Any]) -> str:
        class Responder(http.server.BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                answer = answers.get(self.path)
                body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
                self.send_response(200 if answer is not None else 404)
                self.end_headers()
                self.wfile.write(answer(body) if callable(answer) else answer or b"")

            do_POST = do_GET  # noqa: N815 - as above

            def log_message(self, *_: Any) -> None:
                pass

        server = http.server.HTTPServer(("127.0.0.1", 0), Responder)
        running.append(server)
        threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True).start()
        return f"http://127.0.0.1:{server.server_port}"

    yield start
    for server in running:
        server.shutdown()
        server.server_close()


def asking(*, crl_at: str | None = None, ocsp_at: str | None = None) -> Identity:
    """Return an identity whose certificate says where to ask about it."""
    key, root = made.ec_key(), made.root()
    builder = x509.CertificateBuilder(
        root.certificate.subject,
        made.named("Ines Perk"),
        key.public_key(),
        x509.random_serial_number(),
        made.AT - timedelta(days=1),
        made.AT + timedelta(days=100),
    )
    builder = builder.add_extension(made.SIGNING, critical=True)
    if crl_at:
        point = x509.DistributionPoint([x509.UniformResourceIdentifier(crl_at)], None, None, None)
        builder = builder.add_extension(x509.CRLDistributionPoints([point]), critical=False)
    if ocsp_at:
        access = x509.AccessDescription(
            x509.AuthorityInformationAccessOID.OCSP, x509.UniformResourceIdentifier(ocsp_at)
        )
        builder = builder.add_extension(x509.AuthorityInformationAccess([access]), critical=False)
    return made.identity_of(made.Pair(builder.sign(root.key, hashes.SHA256()), key), root)


def responder(status: ocsp.OCSPCertStatus, identity: list[Identity]) -> Callable[[bytes], bytes]:
    def answer(body: bytes) -> bytes:
        assert ocsp.load_der_ocsp_request(body).serial_number == identity[0].certificate.serial_number
        revoked = status is ocsp.OCSPCertStatus.REVOKED
        builder = ocsp.OCSPResponseBuilder().add_response(
            cert=identity[0].certificate,
            issuer=made.root().certificate,
            algorithm=hashes.SHA256(),
            cert_status=status,
            this_update=made.AT,
            next_update=made.AT + timedelta(days=7),
            revocation_time=made.AT if revoked else None,
            revocation_reason=None,
        )
        builder = builder.responder_id(ocsp.OCSPResponderEncoding.HASH, made.root().certificate)
        return builder.sign(made.root().key, hashes.SHA256()).public_bytes(DER)

    return answer


def verified(report: bytes) -> Any:
    return verify_report(report, at=made.LATER, roots=[made.root().certificate], recompute=made.recompute)


def test_a_crl_is_fetched_sealed_in_and_used(serve: Any) -> None:
    who = asking(crl_at=serve({"/crl": crl()}) + "/crl")
    data = fetch_revocation_data(who)
    assert [len(kind) for kind in (data.crls, data.ocsps, data.certificates)] == [1, 0, 2]
    report = made.sealed(who=who, revocation=data)
    answer = verified(report)
    assert answer.overall == "passed", answer.reasons
    assert answer.signers[0].revocation == "checked with the data at hand"
    with pikepdf.open(io.BytesIO(report)) as pdf:
        assert len(pdf.Root.DSS.CRLs) == 1
        assert len(pdf.Root.DSS.Certs) == 2


def test_an_ocsp_answer_is_fetched_sealed_in_and_used(serve: Any) -> None:
    known: list[Identity] = []
    who = asking(ocsp_at=serve({"/": responder(ocsp.OCSPCertStatus.GOOD, known)}) + "/")
    known.append(who)
    data = fetch_revocation_data(who)
    assert len(data.ocsps) == 1
    assert verified(made.sealed(who=who, revocation=data)).overall == "passed"


def test_the_timestamp_service_is_covered_too(serve: Any) -> None:
    who = asking(crl_at=serve({"/crl": crl()}) + "/crl")
    with pytest.raises(SealError, match="Harbour Time, Harbour Works does not say where to ask whether it is revoked"):
        fetch_revocation_data(who, timestamper=made.timestamper(certs_to_embed=root_store()))


def root_store() -> Any:
    from asn1crypto import x509 as asn1_x509
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    return SimpleCertificateStore.from_certs([asn1_x509.Certificate.load(made.root().certificate.public_bytes(DER))])


def test_certificates_that_are_revoked_or_unknown(serve: Any) -> None:
    known: list[Identity] = []
    for status, error, sentence in (
        (ocsp.OCSPCertStatus.REVOKED, SealError, "the certificate of Ines Perk, Harbour Works is revoked"),
        (ocsp.OCSPCertStatus.UNKNOWN, MachineError, "does not know the certificate of Ines Perk, Harbour Works"),
    ):
        who = asking(ocsp_at=serve({"/": responder(status, known)}) + "/")
        known[:] = [who]
        with pytest.raises(error, match=sentence):
            fetch_revocation_data(who)
    answers: dict[str, Any] = {}
    who = asking(crl_at=serve(answers) + "/crl")
    answers["/crl"] = crl(who.certificate.serial_number)
    with pytest.raises(SealError, match=r"^the certificate of Ines Perk, Harbour Works is revoked$"):
        fetch_revocation_data(who)


def test_answers_that_are_none(serve: Any) -> None:
    url = serve({"/junk": b"junk"})
    for who, sentence in (
        (asking(crl_at=f"{url}/junk"), f"{url}/junk does not answer with a list of revoked certificates"),
        (asking(ocsp_at=f"{url}/junk"), f"{url}/junk does not answer whether a certificate is revoked"),
        (asking(crl_at=f"{url}/none"), f"{url}/none answers 404 Not Found"),
        (asking(crl_at="http://127.0.0.1:1/"), "http://127.0.0.1:1/ cannot be reached: [Errno 111] Connection refused"),
    ):
        with pytest.raises(MachineError) as caught:
            fetch_revocation_data(who)
        assert caught.value.message == sentence


def test_a_crl_signed_by_someone_else(serve: Any) -> None:
    key = made.ec_key()
    builder = x509.CertificateRevocationListBuilder(
        made.root().certificate.subject, made.AT, made.AT + timedelta(days=1)
    )
    url = serve({"/crl": builder.sign(key, hashes.SHA256()).public_bytes(DER)}) + "/crl"
    with pytest.raises(MachineError, match="is not signed by the issuer"):
        fetch_revocation_data(asking(crl_at=url))


def test_a_certificate_that_names_nobody() -> None:
    with pytest.raises(SealError, match="does not say where to ask whether it is revoked"):
        fetch_revocation_data(asking())
    with pytest.raises(SealError, match="does not say where to ask whether it is revoked"):
        fetch_revocation_data(asking(crl_at="ldap://example.org/"))


def test_sealed_in_data_that_does_not_help() -> None:
    who = asking()
    serial = who.certificate.serial_number
    for data, reason in (
        (RevocationData(crls=(crl(serial),)), "REVOKED_NO_POE"),
        (RevocationData(crls=(crl(),)), None),
    ):
        answer = verified(made.sealed(who=who, revocation=data))
        assert {one.name for one in answer.reasons} == ({reason} if reason else set())


def test_sealed_in_data_that_cannot_be_read() -> None:
    def junk(pdf: pikepdf.Pdf) -> None:
        pdf.Root["/DSS"] = pikepdf.Dictionary(CRLs=pikepdf.Array([pdf.make_stream(b"junk")]))

    answer = verified(made.sealed(made.unsigned(edit=junk)))
    assert [reason.sentence for reason in answer.reasons] == ["the revocation data in the file cannot be read"]
