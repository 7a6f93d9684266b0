"""The signature validator of the European Commission's DSS project, run on files that a test has made.

It goes by ETSI EN 319 102-1, with the policy that it brings; where no revocation data is given, none is asked for.
Maven fetches its libraries (`tests/dss/pom.xml`), some lines of Java call them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.serialization import Encoding

from tests.java import compiled, needs_java, run_java

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from cryptography import x509

_SOURCES = Path(__file__).parent / "dss"

needs_dss = needs_java


@dataclass(frozen=True)
class Question:
    """A file, the moment at which it is judged (aware), whom to trust, and lists of revocation (DER)."""

    pdf: bytes
    at: datetime
    roots: Sequence[x509.Certificate]
    crls: Sequence[bytes] = field(default=())


def judged(questions: Mapping[str, Question], folder: Path) -> dict[str, list[str]]:
    """Return per question what is said of each signature: indication, or with its sub-indication after a blank.

    No signature found is the empty list, a file that cannot be read ``UNREADABLE``. All are judged by one run of Java,
    which reads them from ``folder``.
    """
    names: dict[str, str] = {}
    lines = []
    for number, (name, asked) in enumerate(questions.items()):
        file = _written(folder, f"{number}.pdf", asked.pdf)
        roots = [
            _written(folder, f"{number}-{place}.der", root.public_bytes(Encoding.DER))
            for place, root in enumerate(asked.roots)
        ]
        lists = [_written(folder, f"{number}-{place}.crl", crl) for place, crl in enumerate(asked.crls)]
        moment = asked.at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        lines.append("\t".join((file, moment, ":".join(roots), ":".join(lists))))
        names[file] = name
    list_of_questions = _written(folder, "questions", "\n".join(lines).encode())
    answer = run_java(compiled(_SOURCES, "Judge"), "Judge", list_of_questions)
    told = {names[file]: [one for one in said if one] for file, *said in _rows(answer)}
    if set(told) != set(questions):
        raise RuntimeError(f"no verdict on {set(questions) - set(told)}: {answer}")
    return told


def _rows(answer: str) -> list[list[str]]:
    return [line.split("\t") for line in answer.splitlines()]


def _written(folder: Path, name: str, data: bytes) -> str:
    (folder / name).write_bytes(data)
    return str(folder / name)
