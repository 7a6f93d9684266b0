"""A browser on the pages of a folder: served in this process, or by the command in a process of its own."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

from tests.outside import needs_program

WAIT = 30_000
"""Milliseconds that an answer may take on a machine that has other things to do."""
needs_chromium = needs_program("chromium")
sizes = {"laptop": (1280, 800), "tablet": (768, 1024), "phone": (390, 844)}


@contextlib.contextmanager
def chromium():
    """A browser process; while it is there, nothing else in this thread can run an event loop."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()


@contextlib.contextmanager
def served(folder: Path, language: str | None = None):
    """Serve a folder in a thread of this process; yields a function that returns an address that opens it."""
    import uvicorn

    from reportgen.browser.app import pages
    from reportgen.browser.guard import ADDRESS, Guard, Keys
    from tests.unit.browser.site import Here

    keys = Keys()
    with socket.socket() as listening:
        listening.bind((ADDRESS, 0))
        port = listening.getsockname()[1]
        app = Guard(pages(folder, Here(), keys, language=language), port, keys)
        config = uvicorn.Config(app, access_log=False, log_config=None, lifespan="off", ws="none")
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        try:
            yield lambda: f"http://{ADDRESS}:{port}/open?key={keys.new_opening()}"
        finally:
            server.should_exit = True
            thread.join(10)


@contextlib.contextmanager
def commanded(folder: Path, browser: str | None = None):
    """Serve a folder by the command in a process of its own; yields the process and an address that opens it.

    ``browser`` is the command by which it opens one; without it none is opened.
    """
    command = [Path(sys.executable).parent / "reportgen", "open", *([] if browser else ["--no-browser"]), str(folder)]
    env = {**os.environ, **({"BROWSER": browser} if browser else {})}
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, env=env, **pipes) as process:
        try:
            yield process, next(line.strip() for line in process.stdout if line.startswith("http"))
        finally:
            process.kill()


class Person:
    """Somebody at the keyboard of a browser."""

    def __init__(self, browser, opening: str, size=sizes["laptop"]) -> None:
        self.context = browser.new_context(viewport={"width": size[0], "height": size[1]})
        self.page = self.context.new_page()
        self.page.set_default_timeout(WAIT)
        self.faults: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("console", lambda message: message.type == "error" and self.faults.append(message.text))
        self.page.on("dialog", lambda dialog: dialog.accept())
        self.page.goto(opening)
        self.page.wait_for_url(lambda address: "/open" not in address)
        self.origin = re.match("http://[^/]+/[^/]+", self.page.url)[0]
        self.pressed = 0

    def goes(self, address: str) -> None:
        """Follow an address of the folder."""
        self.page.goto(self.origin + address)
        self.settled()

    def types(self, text: str) -> None:
        """Type at the place that has the focus, without waiting for anything; ``⏎`` in the text is Enter."""
        for part in text.replace("⏎", "\n⏎").split("⏎"):
            self.page.keyboard.type(part)
        self.pressed += sum(not (one.isdigit() or one in ".-") for one in text)
        self.settled()

    def settled(self) -> None:
        """Wait until everything that was typed has been answered."""
        self.until("!held && !queued.size")
        self.page.evaluate("chain")

    def until(self, what: str) -> None:
        """Wait until a condition holds; it is asked from outside, as the pages let no text be run in them."""
        end = time.monotonic() + WAIT / 1000
        while not self.page.evaluate(f"() => !!({what})"):
            assert time.monotonic() < end, f"never: {what}"
            self.page.wait_for_timeout(20)

    @property
    def at(self) -> str:
        """The place of the day file that has the focus."""
        return self.page.evaluate("document.activeElement.dataset.at || ''")

    @property
    def margin(self) -> str:
        """What the margin says."""
        return self.page.inner_text("#margin")

    def leaves(self) -> None:
        """Close the window; nothing may have gone wrong in it."""
        self.context.close()
        assert self.faults == [], self.faults
