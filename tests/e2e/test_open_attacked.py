"""The served pages as an attacker meets them: raw bytes on the socket, paths, hostile files, what is left behind."""

import contextlib
import json
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from tests.browsing import commanded

pytestmark = pytest.mark.enable_socket

DAY = "2026-06-09"
FIRST = "2026-06-08"
"""The day that can be issued."""
READING = "surfaces[area=G-6]/profile/readings[location=9,spot=a]/x1"


def test_t1_it_listens_on_this_computer_alone_and_ends_with_the_command(tmp_path):
    with commanded(tmp_path) as (process, opening):
        port = int(opening.split(":")[2].split("/")[0])
        listening = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
        addresses = {
            one[1].split(":")[0] for one in listening if int(one[1].split(":")[1], 16) == port and one[3] == "0A"
        }
        assert addresses == {"0100007F"}
        workers = subprocess.run(
            ["pgrep", "-P", str(process.pid)], capture_output=True, text=True, check=True
        ).stdout.split()
        assert len(workers) == 2
    for worker in workers:  # killed, not asked to end: what it began ends with it
        for _ in range(200):
            if not Path(f"/proc/{worker}").exists() or " Z " in Path(f"/proc/{worker}/stat").read_text():
                break
            __import__("time").sleep(0.05)
        else:
            pytest.fail("a worker outlived the server")


def test_t2_t11_raw_requests_are_answered_with_a_refusal_or_not_at_all(tmp_path):
    with commanded(tmp_path) as (process, opening):
        port = int(opening.split(":")[2].split("/")[0])
        for sent, wanted in (
            (b"GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n", b"421"),
            (b"GET / HTTP/1.0\r\n\r\n", b"421"),
            (f"GET http://evil.example/ HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode(), b"40"),
            (f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nX: {'a' * 70_000}\r\n\r\n".encode(), b"40"),
            (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc", b"400"),
        ):
            with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
                connection.sendall(sent)
                with contextlib.suppress(ConnectionResetError):
                    answer = connection.recv(4096)
                    assert answer.split(b" ", 2)[1].startswith(wanted), answer[:200]
                    assert b"uvicorn" not in answer.lower()
        assert process.poll() is None


def test_t11_connections_that_say_nothing_whole_shut_nobody_out(tmp_path):
    """More than are taken at all, some silent, some with half a head, and one that drips."""
    with commanded(tmp_path) as (process, opening), contextlib.ExitStack() as held:
        port = int(opening.split(":")[2].split("/")[0])
        for number in range(100):
            connection = held.enter_context(socket.create_connection(("127.0.0.1", port), timeout=20))
            if number % 2:
                connection.sendall(b"GET / HTTP/1.1\r\nX: ")
            if number % 10 == 0:
                with socket.create_connection(("127.0.0.1", port), timeout=20) as other:
                    other.sendall(f"GET /x HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode())
                    assert other.recv(4096).split(b" ", 2)[1] == b"403", number
        began = time.monotonic()
        with contextlib.suppress(OSError):  # closed by the other side
            while time.monotonic() < began + 30:
                connection.sendall(b"a")
                time.sleep(0.5)
        assert 5 < time.monotonic() - began < 25
        with urllib.request.urlopen(opening, timeout=30) as answer:  # noqa: S310 - our own, of http
            assert answer.status == 200
        assert process.poll() is None


@pytest.mark.parametrize(
    "path",
    [
        "/shift/..%2F..%2Fetc%2Fpasswd",
        "/shift/%2e%2e",
        "/shift/project",
        "/shift/.hidden",
        "/static/..%2Fapp.py",
        "/static/guard.py",
        "/report/..%2F..%2Fsecret/0",
        "/report/QW-14-IR-001/0/report.pdf",
        f"/shift/{DAY}/photo/0-99.jpg",
        f"/shift/{DAY}/photo/..%2F..-1.jpg",
        f"/shift/{DAY}/pages/{'0' * 64}/1.png",
        "/shift/2026-06-09%00",
        "/shift/C:",
    ],
)
def test_t10_no_address_leads_out_of_the_folder(site, folder, path):
    (folder.parent / "secret.yaml").write_text("secret: yes\n")
    answer = site.get(path)
    assert answer.status_code in (404, 405, 422, 403), path
    assert "root:" not in answer.text
    assert "secret:" not in answer.text


def test_t10_a_photo_cannot_be_put_or_read_elsewhere(site, folder):
    picture = next((folder / "photos").iterdir()).read_bytes()
    given = {"surface": "surfaces[area=G-4]", "caption": "x"}
    files = {"file": ("../../../evil.jpg", picture, "image/jpeg")}
    site.post(f"/files/shift/{DAY}/photo", given, files=files)
    assert not list(folder.parent.glob("evil*"))
    assert len(list((folder / "photos").iterdir())) >= 6


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"\x89PNG\r\n\x1a\n" + b"\0" * 40, b"%PDF-1.7", b"<svg onload='x'/>"])
def test_t12_a_hostile_picture_is_refused_in_words(site, folder, data):
    before = sorted(folder.rglob("*"))
    files = {"file": ("p.jpg", data, "image/jpeg")}
    answer = site.post(f"/files/shift/{DAY}/photo", {"surface": "surfaces[area=G-4]", "caption": "x"}, files=files)
    assert "refused" in answer.text
    assert sorted(folder.rglob("*")) == before


SCRIPT = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'"


def test_t8_script_in_any_text_is_text(site, folder):
    day, project = folder / f"{DAY}.yaml", folder / "project.yaml"
    quoted = json.dumps(SCRIPT)
    day.write_text(
        day.read_text()
        .replace("apparatus: pot B", f"apparatus: {quoted}")
        .replace("remarks: Primer", f"remarks: {json.dumps(SCRIPT + 'Primer')[:-1]}", 1)
        .replace("notice.\n", 'notice."\n', 1)
    )
    project.write_text(
        project.read_text()
        .replace("name: Ostrel Surface Inspection", f"name: {quoted}", 1)
        .replace("girder 2, bays 3 and 4", SCRIPT.replace('"', ""))
    )
    for path in (
        "/",
        f"/shift/{DAY}",
        f"/shift/{DAY}/area/G-6",
        f"/shift/{DAY}/area/K-3",
        f"/shift/{DAY}/checks",
        f"/shift/{DAY}/photos",
        f"/shift/{DAY}/nonconformances",
    ):
        answer = site.get(path)
        assert answer.status_code == 200, path
        assert "<script>alert" not in answer.text, path
        assert "<img src=x" not in answer.text, path
        assert "&lt;script&gt;alert" in answer.text or path.endswith(("photos", "nonconformances", "checks", "G-6")), (
            path
        )


def test_t8_templates_let_nothing_through_unescaped():
    templates = (Path(__file__).parents[2] / "reportgen" / "browser" / "templates").glob("*.html")
    text = "".join(path.read_text("utf-8") for path in templates)
    assert [
        one
        for one in ("|safe", "autoescape", "Markup", "hx-on", "js:", "javascript:", "style=", "onclick")
        if one in text
    ] == []


def test_t9_the_passphrase_is_nowhere_afterwards(site, folder, identities, capfd):
    secret = "correct-horse-battery-staple"
    made = site.post(f"/shift/{FIRST}/pages/identity", {"passphrase": secret, "again": secret})
    assert made.headers.get("hx-redirect") == f"/shift/{FIRST}/pages", made.text
    files = {"identity": ("x.p12", (identities / "d-rusketh.p12").read_bytes())}
    site.get(f"/shift/{FIRST}/pages")
    held = site.app.state.desk.prepared[FIRST]
    held.seen = set(range(1, held.view["pages"] + 1))
    wrong = site.post(
        f"/shift/{FIRST}/pages/sign", {"passphrase": f"{secret}-not", "sha256": held.view["sha256"]}, files=files
    )
    assert "passphrase" in wrong.text
    done = site.post(f"/shift/{FIRST}/pages/sign", {"passphrase": secret, "sha256": held.view["sha256"]}, files=files)
    assert done.headers.get("hx-redirect", "").startswith("/report/"), done.text
    page = site.get(done.headers["hx-redirect"])
    said = capfd.readouterr()
    texts = [wrong.text, done.text, page.text, said.out, said.err, repr(vars(site.app.state))]
    texts += [path.read_bytes().decode("latin-1") for path in folder.rglob("*") if path.is_file()]
    assert [text[:80] for text in texts if secret in text] == []


def test_t9_no_page_is_signed_unseen_and_none_that_has_changed(site, folder):
    files = {"identity": ("x.p12", b"x")}
    site.get(f"/shift/{FIRST}/pages")
    held = site.app.state.desk.prepared[FIRST]
    sent = {"passphrase": "x", "sha256": held.view["sha256"]}
    assert "Not yet" in site.post(f"/shift/{FIRST}/pages/sign", sent, files=files).text
    seen = site.post(f"/shift/{FIRST}/pages/seen", {"page": "1", "sha256": held.view["sha256"]})
    assert seen.status_code == 200
    assert held.seen == set()  # it was never drawn


def test_t13_what_is_merely_asked_for_writes_nothing(site, folder):
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    for path in ("", "/checks", "/area/G-6", "/nonconformances", "/photos", "/pages", "/write", "/area/G-6/write"):
        site.get(f"/shift/{DAY}{path}")
    after = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file() and ".lock" not in path.name}
    assert after == before


def test_check_loads_nothing_that_serves_pages(folder):
    code = (
        "import sys; from reportgen.cli.main import main; "
        f"main(['check', {str(folder / f'{DAY}.yaml')!r}]); "
        "print([m for m in ('starlette', 'uvicorn', 'jinja2', 'python_multipart', 'h11', 'pypdfium2') "
        "if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.splitlines()[-1] == "[]"


def test_a_browser_that_follows_the_opening_address_is_let_in(tmp_path):
    with commanded(tmp_path) as (_, opening):
        request = urllib.request.Request(opening)  # noqa: S310 - our own, of http
        with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310
            assert "HttpOnly" in answer.headers["set-cookie"]
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(request, timeout=30)  # noqa: S310


def test_a_browser_command_that_does_nothing_leaves_an_address_to_open(tmp_path):
    """It says that it did; nobody has to press Enter to hear of it, and its own key stays good for a minute alone."""
    with commanded(tmp_path, browser="true") as (process, opening):
        assert process.poll() is None
        with urllib.request.urlopen(opening, timeout=30) as answer:  # noqa: S310 - our own, of http
            assert "HttpOnly" in answer.headers["set-cookie"]
