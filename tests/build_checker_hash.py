"""Write the SHA-256 of the page that checks reports where it is published: ``python -m tests.build_checker_hash``.

After every change to the page, to its words, or to what findings, verdicts and decisions are called.
"""

import hashlib
import re

from reportgen.checker import checker_page
from tests.conftest import ROOT

PUBLISHED_IN = ("README.md", "CHANGELOG.md")
STATED = re.compile(r"(?<=`check\.html` of this release has the SHA-256 `)[0-9a-f]{64}(?=`)")
"""Never on a report: whoever forges the page that comes with one could print its own there."""


def page_hash() -> str:
    """Return the SHA-256 of the page, as its command prints it."""
    return hashlib.sha256(checker_page()).hexdigest()


def main() -> None:
    """Write the hash into each place."""
    for name in PUBLISHED_IN:
        file = ROOT / name
        file.write_text(STATED.sub(page_hash(), file.read_text("utf-8")), encoding="utf-8")
        print(f"{name}: {page_hash()}")


if __name__ == "__main__":
    main()
