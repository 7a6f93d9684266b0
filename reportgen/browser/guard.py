"""Who may ask: every request passes here before anything of it is read. The threats are in the room's docstring."""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import hmac
import secrets
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, PlainTextResponse

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

ADDRESS: Final = "127.0.0.1"
KEY_BYTES: Final = 32
KEY_SECONDS: Final = 60.0
PAGE_KEY: Final = "x-page-key"
BODY_LIMIT: Final = 64 << 10
FILES_LIMIT: Final = 64 << 20
BODY_SECONDS: Final = 30.0
"""Longest silence while a body is sent."""
OPENING: Final = "/open"
FILES: Final = "/files/"
"""Beginning of the addresses that take files, and so a larger body."""

POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS: Final = {
    "content-security-policy": POLICY,
    "cache-control": "no-store",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
}

_GO_ON: Final = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><meta http-equiv="refresh" content="0;url={home}/">'
    '<link rel="icon" href="{home}/static/icon.svg"><title>reportgen</title>'
    '<p><a href="{home}/">reportgen</a></p></html>'
)
_LEADING: Final = ("location", "hx-redirect")
"""Headers that lead on to another address of ours."""


@dataclass(slots=True)
class Keys:
    """The keys of one run: one-time keys for opening addresses, the cookie's value, the pages' key, where they are.

    ``home`` is what every address but the opening one begins with: a browser sends a cookie to every port of a host,
    and to no address outside the path that it was set for, which nobody else can guess. ``clock`` counts seconds. Of a
    one-time key only its hash is kept.
    """

    clock: Callable[[], float] = time.monotonic
    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(KEY_BYTES))
    page: str = field(default_factory=lambda: secrets.token_urlsafe(KEY_BYTES))
    home: str = field(default_factory=lambda: f"/{secrets.token_urlsafe(KEY_BYTES)}")
    _opening: dict[bytes, float] = field(default_factory=dict)

    def new_opening(self) -> str:
        """Return a key that opens once, within a minute."""
        key = secrets.token_urlsafe(KEY_BYTES)
        self._opening[_hash(key)] = self.clock() + KEY_SECONDS
        return key

    def opens(self, key: str) -> bool:
        """Whether a key opens now; it never will again."""
        until = self._opening.pop(_hash(key), None)
        return until is not None and self.clock() <= until


def _hash(key: str) -> bytes:
    return hashlib.sha256(key.encode()).digest()


class RefusedError(Exception):
    """A request that is not answered: status and the word for why."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status, self.why = status, why


class Guard:
    """Lets through what comes from our own page in the browser that was let in, and nothing else."""

    def __init__(self, app: ASGIApp, port: int, keys: Keys) -> None:
        self.app, self.keys = app, keys
        self.host = f"{ADDRESS}:{port}"
        self.cookie = f"reportgen-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it before its body is read."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # none is offered
            return
        sender = _with_headers(send, self.keys.home)
        try:
            headers = Headers(scope=scope)
            self._refuse_foreign(scope, headers)
            if scope["path"] == OPENING and scope["method"] == "GET":
                await self._opened(scope["query_string"].decode("latin-1"))(scope, receive, sender)
                return
            scope = self._known(scope, headers)
            limited = _limited(receive, _body_limit(scope, headers))
            with contextlib.suppress(Exception):  # answered and told by the application: the server would print values
                await self.app(scope, limited, sender)
        except RefusedError as refused:
            # whoever holds a body back holds no connection with it
            answer = PlainTextResponse(refused.why, refused.status, headers={"connection": "close"})
            await answer(scope, receive, sender)

    def _refuse_foreign(self, scope: Scope, headers: Headers) -> None:
        """Refuse another name, another site and another port."""
        if headers.getlist("host") != [self.host]:
            raise RefusedError(421, "not this host")
        site = headers.get("sec-fetch-site")
        if scope["method"] in {"GET", "HEAD"}:
            # whoever has the key that opens may come from anywhere: a link in another program's window
            if site not in {None, "none", "same-origin"} and scope["path"] != OPENING:
                raise RefusedError(403, "asked for by another site")
            return
        if headers.getlist("origin") != [f"http://{self.host}"] or site != "same-origin":
            raise RefusedError(403, "sent by another site")

    def _known(self, scope: Scope, headers: Headers) -> Scope:
        """Return what is asked for in the folder; refuse who has no cookie and, where something may change, no page."""
        _, home, rest = scope["path"].split("/", 2) if scope["path"].count("/") > 1 else ("", "", "")
        has_cookie = any(_same(one, self.keys.cookie) for one in _cookies(headers, self.cookie))
        if not (_same(f"/{home}", self.keys.home) and has_cookie):
            raise RefusedError(403, "not opened here: in the window of reportgen press Enter for a new address")
        if scope["method"] not in {"GET", "HEAD"} and not _same(headers.get(PAGE_KEY, ""), self.keys.page):
            raise RefusedError(403, "not sent by a page of this run: load the page again")
        return {**scope, "path": f"/{rest}", "raw_path": f"/{rest}".encode()}

    def _opened(self, query: str) -> ASGIApp:
        """Exchange the one-time key for the cookie; the page, not the answer, goes on, so that it comes from us."""
        name, _, key = query.partition("=")
        if name != "key" or not self.keys.opens(key):
            raise RefusedError(403, "this address is used up: in the window of reportgen press Enter for a new one")
        answer = HTMLResponse(_GO_ON.format(home=self.keys.home))
        answer.set_cookie(self.cookie, self.keys.cookie, httponly=True, samesite="strict", path=self.keys.home)
        return answer


def _same(given: str, ours: str) -> bool:
    return hmac.compare_digest(given.encode(), ours.encode())


def _cookies(headers: Headers, name: str) -> list[str]:
    """Return every cookie of a name: another port may set one of ours too, which locks nobody out."""
    pairs = (one.strip().partition("=") for one in headers.get("cookie", "").split(";"))
    return [value for found, _, value in pairs if found == name]


def _body_limit(scope: Scope, headers: Headers) -> int:
    """Return how much may be read of a body, after its stated length was looked at."""
    if scope["method"] in {"GET", "HEAD"}:
        return 0
    limit = FILES_LIMIT if scope["path"].startswith(FILES) else BODY_LIMIT
    length = headers.get("content-length", "")
    if not (length.isascii() and length.isdigit()) or "transfer-encoding" in headers:
        raise RefusedError(411, "the length is not stated")
    if int(length) > limit:
        raise RefusedError(413, "larger than is taken here")
    return limit


def _limited(receive: Receive, limit: int) -> Receive:
    """Return a receiver that breaks off a body that is longer than allowed, or silent for too long."""
    taken = 0
    complete = False

    async def receiver() -> Message:
        nonlocal taken, complete
        if complete:  # what comes now is that the browser went away
            return await receive()
        try:
            message = await asyncio.wait_for(receive(), BODY_SECONDS)
        except TimeoutError:
            raise RefusedError(408, "nothing came for too long") from None
        taken += len(message.get("body", b""))
        complete = not message.get("more_body", False)
        if taken > limit:
            raise RefusedError(413, "larger than is taken here")
        return message

    return receiver


def _with_headers(send: Send, home: str) -> Send:
    """Return a sender that sets the headers of every answer, refusals too, and leads on to addresses under ``home``."""

    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            for name in _LEADING:
                if headers.get(name, "").startswith("/"):
                    headers[name] = home + headers[name]
        await send(message)

    return sender
