"""What stays true of reports that were issued: a folder for each release, with the reports and what was said of them.

From the first release on, ``tests/archive/RELEASE`` holds its reports, its forgeries and the root of their signer, as
they were and never edited. ``python -m tests.archive.corpus FOLDER`` writes what this release says of such a folder.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.archive.release import verify

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

EXPECTED = "expected.json"
LEFT_OPEN = {"NOT_REBUILT"}
"""Why a later release may leave a genuine report open: it prints pages otherwise, and says which release to use."""


def told(answer: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a later release is held to: the answer, and which steps passed."""
    passed = [step["number"] for step in answer["steps"] if step["status"] == "passed"]
    return {"overall": answer["overall"], "passed": passed}


def astray(expected: Mapping[str, Any], answer: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is said otherwise of a file than is allowed, one line each."""
    now, open_for = told(answer), {reason["name"] for reason in answer["reasons"]}
    may_be_open = expected["overall"] == "passed" and open_for == LEFT_OPEN
    if now["overall"] != expected["overall"] and not (now["overall"] == "indeterminate" and may_be_open):
        yield f"{expected['overall']}, now {now['overall']}: {sorted(open_for)}"
    lost = set(expected["passed"]) - set(now["passed"]) - ({10} if may_be_open else set())
    if expected["overall"] == "passed" and lost:
        yield f"steps {sorted(lost)} passed, and no longer do"


def main(folder: Path) -> None:
    """Write what this release says of the files of a folder."""
    found = {path.name: told(verify(path)) for path in sorted(folder.glob("*.pdf"))}
    (folder / EXPECTED).write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
