"""Timestamps from an RFC 3161 service on the loopback interface, good and bad answers."""

from __future__ import annotations

import http.server
import threading
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import tsp
from cryptography import x509

from reportgen.errors import MachineError, UsageError
from reportgen.seal import TimestampService
from reportgen.verification import verify_report
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

pytestmark = [pytest.mark.allow_hosts(["127.0.0.1"]), pytest.mark.enable_socket]

Answer = tuple[int, str, bytes]
REPLY = "application/timestamp-reply"


@pytest.fixture
def service() -> Iterator[Callable[[Callable[[bytes], Answer]], str]]:
    """Start a service that answers with the given function; its address is returned."""
    running: list[http.server.HTTPServer] = []

    def start(answer: Callable[[bytes], Answer]) -> str:
        class Responder(http.server.BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                assert self.headers["Content-Type"] == "application/timestamp-query"
                status, kind, body = answer(self.rfile.read(int(self.headers["Content-Length"])))
                self.send_response(status)
                self.send_header("Content-Type", kind)
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *_: Any) -> None:
                pass

        server = http.server.HTTPServer(("127.0.0.1", 0), Responder)
        running.append(server)
        threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True).start()
        return f"http://127.0.0.1:{server.server_port}/"

    yield start
    for server in running:
        server.shutdown()
        server.server_close()


def honest(query: bytes) -> Answer:
    return 200, REPLY, made.timestamper().request_tsa_response(tsp.TimeStampReq.load(query)).dump()


def test_a_timestamped_report_proves_its_time(service: Any) -> None:
    report = made.sealed(timestamper=TimestampService(service(honest)))
    answer = verify_report(report, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)
    assert answer.overall == "passed"
    assert answer.signers[0].proven_time == "2026-03-02T14:30:00+00:00"


def refused(query: bytes) -> Answer:
    del query
    status = tsp.PKIStatusInfo({"status": "rejection", "status_string": ["no credit"]}).dump()
    return 200, REPLY, b"\x30" + bytes([len(status)]) + status


@pytest.mark.parametrize(
    ("answer", "sentence"),
    [
        (lambda _: (503, "text/plain", b""), "answers 503 Service Unavailable"),
        (lambda _: (200, "text/html", b"<p>hello"), "does not answer with a timestamp"),
        (lambda _: (200, REPLY, b"junk"), "does not answer with a timestamp"),
    ],
)
def test_services_that_fail(service: Any, answer: Any, sentence: str) -> None:
    url = service(answer)
    with pytest.raises(MachineError) as caught:
        made.sealed(timestamper=TimestampService(url))
    assert caught.value.message == f"the timestamp service {url} {sentence}"


def test_a_service_that_refuses(service: Any) -> None:
    url = service(refused)
    with pytest.raises(MachineError) as caught:
        made.sealed(timestamper=TimestampService(url))
    assert caught.value.message == f"the timestamp service {url} refuses: no credit"


def test_a_service_that_answers_another_question(service: Any) -> None:
    def other(query: bytes) -> Answer:
        request = tsp.TimeStampReq.load(query)
        request["nonce"] = 1
        return 200, REPLY, made.timestamper().request_tsa_response(request).dump()

    with pytest.raises(MachineError, match=r" gives no usable timestamp$"):
        made.sealed(timestamper=TimestampService(service(other)))


def test_a_service_whose_certificate_cannot_be_read(service: Any) -> None:
    """RFC 5280, 4.2.1.4: the rules of a policy have an address in ASCII. Such a timestamp could never be verified."""

    rules = bytes.fromhex("3019 3017 06022a03 3011 300f 06082b06010505070201 0c0378797a")
    clock = made.certify(
        made.named("Clock"),
        made.rsa_key(),
        made.root(),
        key_usage=made.usage("digital_signature"),
        purposes=("1.3.6.1.5.5.7.3.8",),
        extra=x509.UnrecognizedExtension(x509.ObjectIdentifier("2.5.29.32"), rules),
    )

    def odd(query: bytes) -> Answer:
        stamper = made.timestamper(authority=clock)
        return 200, REPLY, stamper.request_tsa_response(tsp.TimeStampReq.load(query)).dump()

    with pytest.raises(MachineError, match=r" gives a timestamp that could not be checked: .* has an extension that "):
        made.sealed(timestamper=TimestampService(service(odd)))


def test_a_service_out_of_reach(service: Any) -> None:
    url = service(honest)
    nobody = "http://127.0.0.1:1/"
    with pytest.raises(MachineError) as caught:
        made.sealed(timestamper=TimestampService(nobody))
    assert caught.value.message == f"the timestamp service {nobody} cannot be reached: [Errno 111] Connection refused"
    assert caught.value.exit_code == 4

    def slow(query: bytes) -> Answer:
        threading.Event().wait(0.5)
        return honest(query)

    url = service(slow)
    with pytest.raises(MachineError, match="cannot be reached: timed out"):
        made.sealed(timestamper=TimestampService(url, seconds=0.05))


def test_an_address_of_another_kind() -> None:
    with pytest.raises(UsageError) as caught:
        TimestampService("file:///etc/passwd")
    assert caught.value.message == "a timestamp service has an http or https address, not `file:///etc/passwd`"
