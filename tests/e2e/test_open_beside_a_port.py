"""Another server on 127.0.0.1, opened in the same browser: it is sent no cookie of ours."""

import http.server
import shutil
import threading
import typing
import urllib.error
import urllib.request

import pytest

from tests.browsing import needs_chromium, served
from tests.conftest import JOBS

pytestmark = [needs_chromium, pytest.mark.enable_socket]


class Listening(http.server.BaseHTTPRequestHandler):
    """Answers with a page that asks again by itself, and keeps what it was sent."""

    sent: typing.ClassVar = []

    def do_GET(self):
        """Answer."""
        self.sent.append((self.path, self.headers["Cookie"], self.headers["Referer"]))
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(b"<h1>tool</h1><script>fetch('/again/' + document.referrer)</script>")

    def log_message(self, *_):
        """Say nothing."""


def test_t7_a_server_on_another_port_is_sent_no_cookie_and_learns_no_address(tmp_path, person_at):
    folder = shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")
    other = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Listening)
    threading.Thread(target=other.serve_forever, daemon=True).start()
    try:
        with served(folder) as opening:
            person = person_at(opening())
            ours = person.context.cookies(person.page.url)
            assert [one["name"].startswith("reportgen-") for one in ours] == [True]
            address = f"http://127.0.0.1:{other.server_port}/seen"
            person.page.evaluate("address => document.querySelector('nav a').setAttribute('href', address)", address)
            person.page.click("nav a")
            person.page.wait_for_selector("text=tool")
            person.page.wait_for_timeout(500)
            assert [path for path, _, _ in Listening.sent if path.startswith("/again/")] == ["/again/"]
            assert {(cookie, referrer) for path, cookie, referrer in Listening.sent if path == "/seen"} == {
                (None, None)
            }
            assert {cookie for _, cookie, _ in Listening.sent} == {None}
            # even with the cookie there is no address to send it to
            request = urllib.request.Request(opening().split("/open")[0] + "/shift/2026-06-09")  # noqa: S310 - our own
            request.add_header("Cookie", f"{ours[0]['name']}={ours[0]['value']}")
            with pytest.raises(urllib.error.HTTPError, match="403"):
                urllib.request.urlopen(request, timeout=30)  # noqa: S310
            person.goes("/shift/2026-06-09")
            assert "Before you leave" in person.margin
    finally:
        other.shutdown()
        other.server_close()
