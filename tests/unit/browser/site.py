"""A folder's pages in this process, as a browser that was let in sees them, and as everybody else does."""

import asyncio
import threading

import httpx

from reportgen.browser.app import pages
from reportgen.browser.guard import Guard, Keys

PORT = 8137
HOST = f"127.0.0.1:{PORT}"
ORIGIN = f"http://{HOST}"


class Here:
    """Does the work of the pages in this process, one thing after another."""

    def __init__(self):
        self._turn = threading.Lock()

    async def quick(self, work, *args):
        """Return what the function answers."""
        return await asyncio.to_thread(self._done, work, args)

    slow = quick

    def _done(self, work, args):
        with self._turn:
            return work(*args)


class Client:
    """Sends requests to an application in this process, and keeps its cookies."""

    def __init__(self, app):
        self._transport = httpx.ASGITransport(app, raise_app_exceptions=False)
        self.cookies = httpx.Cookies()

    def request(self, method, address, **how):
        """Return the answer to one request."""
        return asyncio.run(self._request(method, address, how))

    def get(self, address, **how):
        """Return the answer to a GET."""
        return self.request("GET", address, **how)

    def post(self, address, **how):
        """Return the answer to a POST."""
        return self.request("POST", address, **how)

    async def _request(self, method, address, how):
        client = httpx.AsyncClient(transport=self._transport, base_url=ORIGIN, cookies=self.cookies, trust_env=False)
        async with client:
            answer = await client.request(method, address, **how)
        self.cookies.update(client.cookies)
        return answer


class Site:
    """The guarded application, its keys, and a client that has the cookie once it has opened."""

    def __init__(self, folder, language=None):
        self.keys = Keys()
        self.app = pages(folder, Here(), self.keys, language=language)
        self.client = Client(Guard(self.app, PORT, self.keys))

    def opened(self):
        """Let the client in."""
        answer = self.client.get(f"/open?key={self.keys.new_opening()}")
        assert answer.status_code == 200
        return self

    def get(self, address, **headers):
        """Ask as a page of ours does."""
        answer = self.client.get(self.at(address), headers={"sec-fetch-site": "same-origin", **headers})
        return self._as_of_the_folder(answer)

    def post(self, address, data=None, *, files=None, without=(), **headers):
        """Send as a page of ours does, less some of its headers."""
        own = {"origin": ORIGIN, "sec-fetch-site": "same-origin", "x-page-key": self.keys.page}
        sent = {name: value for name, value in {**own, **headers}.items() if name not in without}
        return self._as_of_the_folder(self.client.post(self.at(address), data=data or {}, files=files, headers=sent))

    def at(self, address):
        """Where an address of the folder is; that which opens is where it says."""
        return address if address.startswith("/open") else self.keys.home + address

    def _as_of_the_folder(self, answer):
        """An answer whose addresses are those of the folder."""
        if not answer.headers.get("content-type", "text/").startswith("text/"):
            return answer
        for name in ("location", "hx-redirect"):
            if name in answer.headers:
                answer.headers[name] = answer.headers[name].removeprefix(self.keys.home)
        answer._content = answer.content.replace(self.keys.home.encode(), b"")
        return answer
