"""Who is let in and what is taken, line by line of the threat list in the room's docstring."""

import asyncio
import re

import pytest

from reportgen.browser import guard
from reportgen.browser.guard import BODY_LIMIT, HEADERS, Guard, Keys
from tests.unit.browser.site import HOST, ORIGIN, PORT, Site


@pytest.fixture
def site(tmp_path):
    return Site(tmp_path).opened()


def test_a_page_of_ours_is_answered(site):
    assert site.get("/new").status_code == 200
    assert site.post("/new/field?asked=contract", {"contract": "AB-12"}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "localhost:8137", "127.0.0.1", "127.0.0.1:80", f"{HOST}.evil.example", ""]
)
def test_t2_another_name_is_not_answered(site, host):
    assert site.get("/new", host=host).status_code == 421
    assert site.post("/new/field", {}, host=host).status_code == 421


def test_t2_two_names_are_not_answered(site):
    answered = asyncio.run(asked(site, [(b"host", HOST.encode()), (b"host", b"evil.example")]))
    assert answered[0]["status"] == 421


@pytest.mark.parametrize(
    ("header", "value"),
    [
        ("origin", "http://evil.example"),
        ("origin", "http://127.0.0.1:9999"),
        ("origin", "null"),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
        ("sec-fetch-site", "none"),
    ],
)
def test_t3_what_another_site_sends_is_refused(site, header, value):
    assert site.post("/new/field", {}, **{header: value}).status_code == 403


@pytest.mark.parametrize("header", ["origin", "sec-fetch-site"])
def test_t3_what_does_not_say_where_it_comes_from_is_refused(site, header):
    assert site.post("/new/field", {}, without=(header,)).status_code == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "QUERY"])
def test_t3_no_other_method_gets_round_it(site, method):
    foreign = {"origin": "http://evil.example", "sec-fetch-site": "cross-site"}
    assert site.client.request(method, "/new", headers=foreign).status_code == 403
    assert "access-control-allow-origin" not in site.client.request(method, "/new", headers=foreign).headers


@pytest.mark.parametrize("origin", ["cross-site", "same-site"])
def test_t4_another_site_can_neither_read_nor_embed(site, origin):
    assert site.get("/new", **{"sec-fetch-site": origin}).status_code == 403
    assert site.get("/static/open.js", **{"sec-fetch-site": origin}).status_code == 403


@pytest.mark.parametrize("address", ["/new", "/static/open.css", "/nowhere", "/open?key=x"])
def test_t4_every_answer_has_its_headers(site, address):
    answer = site.get(address)
    assert {name: answer.headers.get(name) for name in HEADERS} == HEADERS


def test_t4_the_policy_lets_nothing_in_from_elsewhere_and_nothing_run_inline():
    policy = dict(part.split(" ", 1) for part in HEADERS["content-security-policy"].split("; "))
    assert policy.pop("default-src") == "'none'"
    assert {policy.pop("base-uri"), policy.pop("frame-ancestors")} == {"'none'"}
    assert set(policy.values()) == {"'self'"}


@pytest.mark.parametrize("address", ["/", "/new", "/static/open.js", "/shift/2026-05-04", "/nowhere"])
def test_t5_without_the_cookie_nothing_is_shown(tmp_path, address):
    answer = Site(tmp_path).get(address)
    assert answer.status_code == 403
    assert "Enter" in answer.text


def test_t5_a_guessed_key_opens_nothing(tmp_path):
    site = Site(tmp_path)
    for query in ("", "?key=", "?key=AAAA", f"?key={site.keys.cookie}", f"?key={site.keys.page}", "?other=x"):
        assert site.client.get(f"/open{query}").status_code == 403
    assert not dict(site.client.cookies)


def test_t5_the_keys_are_of_256_bits_and_their_own():
    keys = Keys()
    made = {keys.cookie, keys.page, keys.home[1:], *(keys.new_opening() for _ in range(10))}
    assert len(made) == 13
    assert {len(key) for key in made} == {43}  # 32 bytes in base64


def test_t6_a_key_opens_once(tmp_path):
    site = Site(tmp_path)
    address = f"/open?key={site.keys.new_opening()}"
    assert site.client.get(address).status_code == 200
    site.client.cookies.clear()
    assert site.client.get(address).status_code == 403
    assert not dict(site.client.cookies)


def test_t6_a_key_is_dead_after_a_minute():
    now = [0.0]
    keys = Keys(clock=lambda: now[0])
    early, late = keys.new_opening(), keys.new_opening()
    now[0] = 60.0
    assert keys.opens(early)
    now[0] = 60.5
    assert not keys.opens(late)


def test_t6_the_cookie_is_for_no_script_and_no_other_site(tmp_path):
    site = Site(tmp_path)
    set_cookie = site.client.get(f"/open?key={site.keys.new_opening()}").headers["set-cookie"].lower()
    assert set_cookie.startswith(f"reportgen-{PORT}=")
    assert {"httponly", "samesite=strict", f"path={site.keys.home}".lower()} <= set(set_cookie.split("; "))


def test_t7_the_cookie_alone_changes_nothing(site):
    assert site.post("/new/field", {}, without=("x-page-key",)).status_code == 403
    assert site.post("/new/field", {}, **{"x-page-key": site.keys.cookie}).status_code == 403


@pytest.mark.parametrize("home", ["", "/", "/x", "/open", "//", "/../x"])
def test_t7_the_cookie_opens_nothing_elsewhere_than_where_it_was_set(site, home):
    headers = {"sec-fetch-site": "same-origin", "cookie": f"reportgen-{PORT}={site.keys.cookie}"}
    for address in ("/", "/new", "/static/open.js"):
        assert site.client.get(home + address, headers=headers).status_code in (400, 403), home + address
    assert site.client.get(site.keys.home + "/new", headers=headers).status_code == 200


def test_t7_a_cookie_that_another_port_set_locks_nobody_out(site):
    for order in ("theirs ours", "ours theirs"):
        values = {"theirs": "x", "ours": site.keys.cookie}
        sent = "; ".join(f"reportgen-{PORT}={values[one]}" for one in order.split())
        site.client.cookies.clear()
        assert site.get("/new", cookie=sent).status_code == 200


def test_t7_every_address_of_a_page_is_under_its_own_path(site):
    page = site.client.get(site.at("/new"), headers={"sec-fetch-site": "same-origin"}).text
    addresses = re.findall(r'(?:href|src|action|data-hx-\w+)="(/[^"]*)"', page)
    assert len(addresses) > 5
    assert all(one.startswith(site.keys.home + "/") for one in addresses)
    assert 'url("/' not in site.get("/static/open.css").text


def test_t11_a_body_without_a_length_or_too_long_is_not_read(site):
    headers = {"origin": ORIGIN, "sec-fetch-site": "same-origin", "x-page-key": site.keys.page}
    many = site.client.post(site.at("/new/field"), content=b"x" * (BODY_LIMIT + 1), headers=headers)
    assert many.status_code == 413

    async def in_parts():
        yield b"x"

    parts = site.client.post(site.at("/new/field"), content=in_parts(), headers=headers)
    assert parts.status_code == 411


def test_t11_a_body_longer_than_it_says_is_broken_off(site, monkeypatch):
    sent = [(b"host", HOST.encode()), *cookie_of(site), *ours(site), (b"content-length", b"5")]
    messages = [{"type": "http.request", "body": b"x" * (BODY_LIMIT + 1), "more_body": True}]
    assert asyncio.run(asked(site, sent, method="POST", messages=messages))[0]["status"] == 413


def test_t11_a_body_that_never_comes_is_given_up(site, monkeypatch):
    monkeypatch.setattr(guard, "BODY_SECONDS", 0.01)
    sent = [(b"host", HOST.encode()), *cookie_of(site), *ours(site), (b"content-length", b"5")]
    assert asyncio.run(asked(site, sent, method="POST"))[0]["status"] == 408


def test_t11_too_many_fields_are_refused(site):
    answer = site.post("/new/field", files={f"f{n}": (None, "x") for n in range(200)})
    assert answer.status_code in (400, 413)


def test_t13_a_page_that_is_merely_asked_for_changes_nothing(site, tmp_path):
    before = sorted(tmp_path.rglob("*"))
    for address in ("/", "/new", "/new/field?asked=contract", "/static/open.js"):
        site.get(address)
    assert sorted(tmp_path.rglob("*")) == before


def test_t14_a_bug_says_nothing_of_the_program(site, monkeypatch, capsys):
    async def broken(_, __, given):
        raise RuntimeError(given)

    monkeypatch.setattr(site.app.state.desk.workers, "quick", broken)
    answer = site.post("/new/field?asked=contract", {"contract": "secret-value"})
    assert answer.status_code == 500
    said = capsys.readouterr()
    assert "secret-value" not in answer.text + said.out + said.err
    assert "Traceback" not in answer.text
    assert "RuntimeError" in said.err


def test_t14_a_bug_is_told_once_and_not_to_the_server(site, monkeypatch):
    """The server would print it with its values."""

    async def broken(*_):
        raise RuntimeError

    monkeypatch.setattr(site.app.state.desk.workers, "quick", broken)
    sent = [(b"host", HOST.encode()), *cookie_of(site), *ours(site), (b"content-length", b"0")]
    messages = [{"type": "http.request", "body": b"", "more_body": False}]
    assert asyncio.run(asked(site, sent, method="POST", messages=messages))[0]["status"] == 500


def cookie_of(site):
    """The header by which the client sends its cookie."""
    return [(b"cookie", f"reportgen-{PORT}={site.keys.cookie}".encode())]


def ours(site):
    """The headers of what a page of ours sends."""
    return [
        (b"origin", ORIGIN.encode()),
        (b"sec-fetch-site", b"same-origin"),
        (b"x-page-key", site.keys.page.encode()),
        (b"content-type", b"application/x-www-form-urlencoded"),
    ]


async def asked(site, headers, method="GET", messages=()):
    """What the application sends for raw headers; after the messages nothing more comes."""
    waiting, sent = list(messages), []

    async def receive():
        if waiting:
            return waiting.pop(0)
        return await asyncio.Event().wait()

    async def send(message):
        sent.append(message)

    scope = {
        "type": "http",
        "method": method,
        "path": site.at("/new/field"),
        "query_string": b"asked=contract",
        "headers": headers,
        "http_version": "1.1",
        "scheme": "http",
        "raw_path": site.at("/new/field").encode(),
        "root_path": "",
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", PORT),
    }
    await Guard(site.app, PORT, site.keys)(scope, receive, send)
    return sent
