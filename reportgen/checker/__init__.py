"""``check.html``: the page on which anyone can check a report, with a browser and nothing else.

Its sources lie in ``data`` as they are read: scripts, a style sheet, a page to put them in, and a file of words for
each language. They are joined, never compressed or rewritten, so that an expert can read the file that a client uses.
It is the second, independent reader of reports: no line and no library of it is shared with ``verification``.
"""

from __future__ import annotations

import base64
import hashlib
import json
import tomllib
from importlib import resources
from typing import TYPE_CHECKING, Final

from reportgen import __version__
from reportgen.units import DISPLAY
from reportgen.words.catalogue import catalogue, languages
from reportgen.words.sentences import sources

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

SCRIPTS: Final = (
    *("pdf", "der", "names", "certificates", "signatures", "revocation", "revisions", "content", "answers", "page"),
)
"""In the order in which they are joined: each uses those before it."""

_SHARED: Final = {
    "verdict": ("conforms", "does not conform", "inconclusive", "not evaluated"),
    "decision": ("release", "hold", "rework"),
}
"""What a report and this page call by one name."""


def checker_page() -> bytes:
    """Return the page, UTF-8; the same sources give the same bytes."""
    data = resources.files("reportgen.checker").joinpath("data")
    constants = {
        "WORDS": {file.name.removesuffix(".json"): json.loads(file.read_text("utf-8")) for file in word_files(data)},
        "LABELS": {language: _labels(language) for language in languages()},
        "UNITS": DISPLAY,
    }
    written = [
        f"const {name} = {json.dumps(value, ensure_ascii=False, indent=1)};" for name, value in constants.items()
    ]
    scripts = [_text(data, f"{name}.js") for name in SCRIPTS]
    script = "\n".join(["(() => {", '"use strict";', *written, *scripts, "})();"])
    page = _text(data, "page.html").replace("@VERSION@", __version__)
    for name, content in (("STYLE", _text(data, "style.css")), ("SCRIPT", script)):
        # by this hash a browser runs this script, or takes this style sheet, and no other
        own = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode("ascii")
        page = page.replace(f"@{name}-HASH@", own).replace(f"@{name}@", content)
    return page.encode()


def word_files(data: Traversable) -> list[Traversable]:
    """Return the files of words in ``data``, English first: it stands in for what a language lacks."""
    files = (file for file in data.joinpath("words").iterdir() if file.name.endswith(".json"))
    return sorted(files, key=lambda file: (file.name != "en.json", file.name))


def _labels(language: str) -> dict[str, dict[str, str]]:
    """Return what the report itself calls verdicts, decisions and findings."""
    named = catalogue(language)
    shared = {group: {key: named(f"{group}.{key}") for key in keys} for group, keys in _SHARED.items()}
    findings: dict[str, str] = {}
    for source in sources(language):
        findings |= tomllib.loads(source.read_text("utf-8")).get("finding", {})
    return {**shared, "finding": dict(sorted(findings.items()))}


def _text(data: Traversable, name: str) -> str:
    return data.joinpath(name).read_text("utf-8")
