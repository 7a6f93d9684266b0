"""What the authorities that certificates name say, asked on the loopback interface."""

from __future__ import annotations

import http.server
import threading
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ocsp
from cryptography.x509.oid import AuthorityInformationAccessOID, ExtendedKeyUsageOID

from reportgen.increments import RevocationData, needed
from reportgen.seal.authorities import ask_authorities
from tests.unit.seal.authorities import answer, crl
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

pytestmark = [pytest.mark.allow_hosts(["127.0.0.1"]), pytest.mark.enable_socket]


@pytest.fixture
def serve() -> Iterator[Callable[[dict[str, bytes | int]], str]]:
    """Start a server that answers by path, with bytes or a status; its address is returned, and what it was asked."""
    running: list[http.server.HTTPServer] = []

    def start(answers: dict[str, Any]) -> str:
        class Responder(http.server.BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                found = answers[self.path]
                if callable(found):
                    found = found(self.rfile.read(int(self.headers["Content-Length"])))
                self.send_response(200 if isinstance(found, bytes) else found)
                self.end_headers()
                self.wfile.write(found if isinstance(found, bytes) else b"")

            do_POST = do_GET  # noqa: N815 - its way

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


def naming(*, lists: str = "", responder: str = "") -> x509.Certificate:
    """Return a signer's certificate that names where its authority is asked."""
    key = made.ec_key()
    builder = x509.CertificateBuilder(
        made.root().certificate.subject, made.named("Ines Perk"), key.public_key(), 77, made.AT, made.LATER
    )
    if lists:
        uri = x509.UniformResourceIdentifier(lists)
        point = x509.DistributionPoint([uri], None, None, None)
        builder = builder.add_extension(x509.CRLDistributionPoints([point]), critical=False)
    if responder:
        uri = x509.UniformResourceIdentifier(responder)
        named = x509.AccessDescription(AuthorityInformationAccessOID.OCSP, uri)
        builder = builder.add_extension(x509.AuthorityInformationAccess([named]), critical=False)
    return builder.sign(made.root().key, hashes.SHA256())


def test_a_responder_is_asked_about_the_certificate_and_a_list_fetched_where_there_is_none(serve: Any) -> None:
    held: dict[str, Any] = {"/list": crl(made.root(), made.AT)}
    home = serve(held)
    signer = naming(responder=f"{home}/ocsp", lists=f"{home}/list")

    def asked(query: bytes) -> bytes:
        assert ocsp.load_der_ocsp_request(query).serial_number == signer.serial_number
        return answer(signer, made.root(), made.AT)

    held["/ocsp"] = asked
    data, failed = ask_authorities([signer, made.root().certificate])
    assert (len(data.ocsps), data.crls, failed) == (1, (), [])
    data, failed = ask_authorities([naming(lists=f"{home}/list"), made.root().certificate])
    assert (data.crls, data.ocsps, failed) == ((held["/list"],), (), [])


def test_where_a_responder_fails_the_list_is_taken_and_the_failure_told(serve: Any) -> None:
    held: dict[str, Any] = {"/ocsp": lambda _: 503, "/list": crl(made.root(), made.AT)}
    home = serve(held)
    signer = naming(responder=f"{home}/ocsp", lists=f"{home}/list")
    data, failed = ask_authorities([signer, made.root().certificate])
    assert (data.crls, failed) == ((held["/list"],), [f"{home}/ocsp answers 503 Service Unavailable"])


def test_what_is_of_another_authority_or_no_such_data_is_not_taken(serve: Any) -> None:
    other = made.certify(made.named("Another"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    home = serve({"/other": crl(other, made.AT), "/junk": b"junk"})
    for path, how in (("/other", "answers for another certificate"), ("/junk", "does not answer with revocation data")):
        data, failed = ask_authorities([naming(lists=home + path), made.root().certificate])
        assert (bool(data), failed) == (False, [f"{home}{path} {how}"])
    data, (said,) = ask_authorities([naming(lists="http://127.0.0.1:1/x"), made.root().certificate])
    assert (bool(data), said.partition(" cannot be reached: ")[0]) == (False, "http://127.0.0.1:1/x")


def test_other_addresses_than_web_ones_are_not_asked() -> None:
    signer = naming(lists="ldap://127.0.0.1/x", responder="file:///etc/passwd")
    assert ask_authorities([signer, made.root().certificate]) == (RevocationData(), [])


def test_what_a_chain_needs() -> None:
    root, other = made.root(), made.certify(made.named("Another"), made.ec_key(), None, ca=True)
    between = made.certify(made.named("Between"), made.ec_key(), root, ca=True, key_usage=made.AUTHORITY)
    signer = made.certify(made.named("Ines Perk"), made.ec_key(), between)
    der = [one.certificate.public_bytes(Encoding.DER) for one in (root, between, other)]
    lists = [crl(one, made.AT) for one in (root, between, other)]
    good = answer(signer.certificate, between, made.AT)
    foreign = answer(signer.certificate, other, made.AT)
    data = RevocationData(crls=tuple(lists), ocsps=(good, foreign), certificates=tuple(der))
    found = needed([signer.certificate], (), data)
    assert found == RevocationData(crls=tuple(lists[:2]), ocsps=(good,), certificates=tuple(der[:2]))
    assert data.beyond(found) == RevocationData(crls=(lists[2],), ocsps=(foreign,), certificates=(der[2],))
    assert not needed([signer.certificate], (), RevocationData(crls=(lists[0],))), "nothing leads to its root"


@pytest.mark.parametrize(
    ("purpose", "taken"), [(ExtendedKeyUsageOID.OCSP_SIGNING, True), (ExtendedKeyUsageOID.TIME_STAMPING, False)]
)
def test_an_answer_by_whom_the_issuer_certified_for_it(purpose: x509.ObjectIdentifier, taken: bool) -> None:
    responder = made.certify(made.named("Responder"), made.rsa_key(), made.root(), purposes=(purpose.dotted_string,))
    about = made.inspector().certificate
    data = RevocationData(ocsps=(answer(about, made.root(), made.AT, responder),))
    assert bool(needed([about], [made.root().certificate], data)) is taken


def test_a_list_that_somebody_else_signed_in_the_name_of_the_authority_is_not_needed() -> None:
    forger = made.certify(made.root().certificate.subject, made.ec_key(), None, ca=True)
    data = RevocationData(crls=(crl(forger, made.AT + timedelta(days=1)),))
    assert not needed([made.inspector().certificate], [made.root().certificate], data)
