"""The page that checks reports in Firefox: another engine of scripts, of unpacking and of arithmetic.

The browser is driven by its own remote protocol, Marionette: lines of JSON, each after its length (Mozilla's source
documentation, from memory).
"""

from __future__ import annotations

import contextlib
import json
import shutil
import socket
import subprocess
import time
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.checker import checker_page
from tests.conftest import ROOT
from tests.e2e import signed_footbridge as real
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

NAME = "firefox-esr"
pytestmark = [needs_program(NAME), pytest.mark.enable_socket]
LONGEST_START = 60.0  # seconds
_READ = """const head = document.querySelector("#head");
    const coded = [...document.querySelectorAll("[data-code]")];
    return head && [head.dataset.key, ...coded.map((one) => one.dataset.code)];"""


class Firefox:
    """The browser without a screen, in a profile of its own in ``folder``."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        (folder / "user.js").write_text(f'user_pref("marionette.port", {port});\n', "utf-8")
        program = str(shutil.which(NAME))
        command = [program, "--headless", "--marionette", "--profile", str(folder)]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self._number = 0
        end = time.monotonic() + LONGEST_START
        while True:
            try:
                self._socket = socket.create_connection(("127.0.0.1", port))
                break
            except OSError:
                if time.monotonic() > end:
                    self.process.kill()
                    raise
                time.sleep(0.2)
        self._stream = self._socket.makefile("rwb")
        self._answer()
        self.does("NewSession", capabilities={})

    def does(self, command: str, **given: Any) -> Any:
        self._number += 1
        said = json.dumps([0, self._number, f"WebDriver:{command}", given]).encode()
        self._stream.write(b"%d:%b" % (len(said), said))
        self._stream.flush()
        _, _, fault, found = self._answer()
        assert fault is None, fault
        return found

    def _answer(self) -> Any:
        length = b""
        while (one := self._stream.read(1)) != b":":
            length += one
        return json.loads(self._stream.read(int(length)))

    def chooses(self, where: str, file: Path) -> None:
        found = self.does("FindElement", using="css selector", value=where)["value"]
        self.does("ElementSendKeys", id=next(iter(found.values())), text=str(file))

    def waits_for(self, script: str) -> Any:
        end = time.monotonic() + LONGEST_START
        while not (found := self.does("ExecuteScript", script=script, args=[])["value"]):
            assert time.monotonic() < end, script
            time.sleep(0.1)
        return found

    def close(self) -> None:
        self._stream.close()
        self._socket.close()
        self.process.terminate()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(20)
        self.process.kill()


@pytest.fixture(scope="module")
def firefox(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Firefox]:
    browser = Firefox(tmp_path_factory.mktemp("profile"))
    yield browser
    browser.close()


def sample() -> bytes:
    return (ROOT / "samples" / "tessowick-2026-09-15.pdf").read_bytes()


FILES: dict[str, tuple[Callable[[], bytes], str, set[str]]] = {
    "a report": (
        lambda: real.signed(real.built(countersigned=True)),
        "signed",
        {"INTACT", "CHAIN", "NAMED", "FILES_SAME"},
    ),
    "countersigned": (made.complete_report, "signed", {"INTACT", "COUNTERSIGNED"}),
    "signed with RSA": (lambda: made.sealed(who=_with(made.rsa_key())), "signed", {"INTACT", "CHAIN"}),
    "signed with Ed25519": (lambda: made.sealed(who=_with(made.ed_key())), "signed", {"INTACT", "CHAIN"}),
    "changed": (lambda: made.report().replace(b"(a", b"(b", 1), "altered", {"HASH"}),
    "more behind it": (lambda: made.report() + b"\n", "altered", {"TRAILING"}),
    "no report": (lambda: b"no report at all", "unknown", {"NOT_PDF"}),
    "a sample": (sample, "demonstration", {"INTACT", "DEMONSTRATION", "FILES_SAME"}),
}


def _with(key: Any) -> made.Identity:
    return made.identity_of(made.certify(made.named("Ines Perk"), key, made.root()), made.root())


@pytest.mark.parametrize("name", FILES)
def test_the_answers_are_those_of_the_other_browser(name: str, firefox: Firefox, tmp_path: Path) -> None:
    build, head, codes = FILES[name]
    for file, content in (
        ("check.html", checker_page()),
        ("root.der", made.root().certificate.public_bytes(Encoding.DER)),
        ("report.pdf", build()),
    ):
        (tmp_path / file).write_bytes(content)
    firefox.does("Navigate", url=(tmp_path / "check.html").as_uri())
    firefox.chooses("#root", tmp_path / "root.der")
    firefox.waits_for('return document.querySelector("#roots li") !== null;')
    firefox.chooses("#report", tmp_path / "report.pdf")
    found = firefox.waits_for(_READ)
    assert found[0] == head, found
    assert codes <= set(found[1:])
