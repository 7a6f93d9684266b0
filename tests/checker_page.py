"""The page that checks reports, in a real browser: files are chosen as a person would, answers read off the page."""

from __future__ import annotations

import base64
import functools
import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from importlib import resources
from typing import TYPE_CHECKING, Any

from reportgen.checker import SCRIPTS, checker_page

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

BROWSER = "chromium"
_READ = """() => {
    const of = (one) => one && { answer: one.dataset.answer, code: one.dataset.code, text: one.innerText };
    const all = (selector) => [...document.querySelectorAll(selector)].map(of);
    const head = document.querySelector("#head");
    return {
        head: { ...of(head), key: head.dataset.key },
        ...Object.fromEntries(["intact", "after", "files"].map((id) => [id, of(document.getElementById(id))])),
        who: all("#who .signer"), named: all("#named .word"), when: all("#when [data-answer]"),
        data: document.querySelector("#data")?.innerText ?? "",
    };
}"""


DROP = """(files) => {
    const given = new DataTransfer();
    const bytes = (text) => Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
    for (const [name, text] of files) given.items.add(new File([bytes(text)], name));
    const drop = new DragEvent("drop", { dataTransfer: given, bubbles: true, cancelable: true });
    document.documentElement.dispatchEvent(drop);
}"""
"""Drops files, pairs of a name and base64, on the page."""

_EXAMINE = """async ([pdf, roots, at, published]) => {
    const bytes = (text) => Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
    const { examine, headline, certificatesIn } = window.reader;
    const given = [];
    for (const root of roots) given.push(...(await certificatesIn(bytes(root))));
    const found = await examine(bytes(pdf), { roots: given, published, now: new Date(at) });
    const of = ({ answer, code, facts }) => ({ answer, code, detail: facts?.detail ?? "" });
    const all = (kind) => found.signers.map((one) => of(one[kind]));
    const each = Object.fromEntries(["intact", "after", "files"].map((kind) => [kind, of(found[kind])]));
    const signers = { who: all("who"), named: all("named"), when: all("when") };
    return { head: headline(found), ...each, ...signers, broke: found.who ?? null };
}"""


class CheckerPage:
    """The page, open in a browser of its own. ``folder`` is where the page itself is put.

    The browser is driven in a thread of its own: its driver keeps an event loop running there.
    """

    def __init__(self, folder: Path) -> None:
        self._file = folder / "check.html"
        self._file.write_bytes(checker_page())
        self._thread = ThreadPoolExecutor(1)
        self.errors: list[str] = []
        self.requests: list[str] = []
        self._within(self._open)

    def close(self) -> None:
        self._within(self._shut)
        self._thread.shutdown()

    def ask(
        self, pdf: bytes, roots: Sequence[bytes] = (), at: datetime | None = None, fingerprint: str = ""
    ) -> dict[str, Any]:
        """Return the answers on a file, checked at the moment ``at`` with these root certificates (DER)."""
        return self._within(self._ask, pdf, roots, at, fingerprint)

    def examine(
        self, pdf: bytes, roots: Sequence[bytes] = (), at: datetime | None = None, published: Sequence[str] = ()
    ) -> dict[str, Any]:
        """Return the answers of the page's reader alone, as ``ask`` but quicker."""
        encoded = [base64.b64encode(one).decode("ascii") for one in (pdf, *roots)]
        # never the page's own clock: `ask` stops it for whoever comes after
        moment = (at or datetime.now(UTC)).isoformat()
        return self.do(lambda page: page.evaluate(_EXAMINE, [encoded[0], encoded[1:], moment, list(published)]))

    def do(self, work: Callable[[Any], Any]) -> Any:
        """Do something with the browser's page."""
        return self._within(lambda: work(self.page))

    def _within(self, work: Callable[..., Any], *given: Any) -> Any:
        return self._thread.submit(work, *given).result()

    def _open(self) -> None:
        from playwright.sync_api import sync_playwright

        self._driver = sync_playwright().start()
        self._browser = self._driver.chromium.launch(executable_path=shutil.which(BROWSER), args=["--no-sandbox"])
        self._renew({})

    def renew(self, **context: Any) -> None:
        """Open the page anew; ``context`` is what the browser says of its user and screen."""
        self._within(self._renew, context)

    def _renew(self, context: dict[str, Any]) -> None:
        self.page = self._browser.new_context(**{"locale": "en-GB", **context}).new_page()
        self.page.on("console", lambda message: self.errors.append(message.text))
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.add_init_script(f"window.reader = {reader_script()}")
        self.page.goto(self._file.as_uri())

    def _shut(self) -> None:
        self._browser.close()
        self._driver.stop()

    def _ask(self, pdf: bytes, roots: Sequence[bytes], at: datetime | None, fingerprint: str) -> dict[str, Any]:
        self.page.clock.set_fixed_time(at or datetime.now(UTC))
        self.page.goto(self._file.as_uri())
        if roots:
            given = [{"name": "root.der", "mimeType": "", "buffer": root} for root in roots]
            self.page.set_input_files("#root", given)
            self.page.wait_for_selector("#roots:not(:empty)")
        self.page.set_input_files("#report", {"name": "report.pdf", "mimeType": "application/pdf", "buffer": pdf})
        self.page.wait_for_selector("#head")
        if fingerprint:
            self.page.fill("#published", fingerprint)
            self.page.wait_for_selector("#who :is(.printed, .vain)", state="attached")
        return self.page.evaluate(_READ)


@functools.cache
def reader_script() -> str:
    """Return an expression that gives the reader of the page alone, as functions to call in a test."""
    data = resources.files("reportgen.checker").joinpath("data")
    scripts = [data.joinpath(f"{name}.js").read_text("utf-8") for name in SCRIPTS if name != "page"]
    names = "examine, headline, certificatesIn, JsonReader, spelling, readPdf, View, signaturesIn, readSignature"
    names += ", fingerprintsIn, isPrepared, refuseUnproven"
    whole = "const examine = async (bytes, given) => judge(await readReport(bytes), given);"
    return "\n".join(["(() => {", "'use strict';", *scripts, whole, f"return {{ {names} }};", "})()"])
