"""veraPDF, the reference validator for PDF/A and PDF/UA, run on files that a test has made.

Maven fetches its libraries (`tests/verapdf/pom.xml`), a dozen lines of Java call them. What is compiled is kept in the
user's cache folder, under a hash of its sources.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from tests.java import compiled, needs_java, run_java

if TYPE_CHECKING:
    from collections.abc import Sequence

Flavour = Literal["3a", "3b", "ua1"]

_SOURCES = Path(__file__).parent / "verapdf"

needs_verapdf = needs_java


def verapdf(paths: Sequence[Path], *flavours: Flavour) -> dict[Path, list[str]]:
    """Per file, what it fails: "clause-test: message (at place)", each clause once; empty for a compliant file.

    One run of Java validates all files against all flavours. A file that cannot be parsed at all is a RuntimeError.
    """
    answer = run_java(compiled(_SOURCES, "Validate"), "Validate", ",".join(flavours), *map(str, paths))
    failures: dict[Path, list[str]] = {}
    judged = set()
    for line in answer.splitlines():
        kind, *rest = line.split("\t")
        if kind in ("compliant", "failed"):
            judged.add((Path(rest[0]), rest[1]))
            current = failures.setdefault(Path(rest[0]), [])
            clauses = set()
            if kind == "failed":
                current.append(f"not compliant with {rest[1]}")
        elif rest[0] not in clauses:
            clauses.add(rest[0])
            current.append(f"{rest[0]}: {rest[1]} (at {rest[2]})")
    asked = {(path, flavour) for path in paths for flavour in flavours}
    if judged != asked:
        raise RuntimeError(f"no verdict on {asked - judged}: {answer}")
    return failures
