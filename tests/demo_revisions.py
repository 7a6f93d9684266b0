"""A report and its revisions by several invented people under one root, signed; everything in it is invented."""

from __future__ import annotations

import dataclasses
import datetime as dt
import random
import shutil
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from tests.demo_archive import INSPECTORS, _Contract

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.seal import Identity

BODY = "Eddering Inspection"
COLLEAGUE = f"  insp2: {{name: {INSPECTORS[1]}, role: inspector, organisation: {BODY}}}\n"
NUMBER = "BF-09-IR-001"
AREA = "A-01"


@dataclasses.dataclass(frozen=True)
class Revised:
    """One report with an area to rework and an open nonconformance, and revisions of it, each a file by itself."""

    root: Path
    genuine: Path
    released: dict[str, Path]
    """Revision 1 by whom it is: ``unnamed`` in the report, ``colleague`` named beside its inspector, ``stranger``."""
    silent: Path
    """Revision 1 by the inspector, which names neither the area nor the nonconformance."""
    named: Path
    """The same report, with the colleague among its people."""


def revised_reports(place: Path) -> Revised:
    """Write the report twice, with and without a second inspector in its job, and revisions of both."""
    key, other = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    root, first, second = _under_one_root(key)
    root_file = place / "authority.pem"
    root_file.write_bytes(root)
    _, _, stranger = _under_one_root(other)
    genuine = _issued(place / "genuine", INSPECTORS[0], first)
    named = _issued(place / "named", INSPECTORS[0], first, people=COLLEAGUE)
    released = {
        "unnamed": _issued(place / "unnamed", INSPECTORS[1], second, before=genuine),
        "colleague": _issued(place / "colleague", INSPECTORS[1], second, before=named),
        "stranger": _issued(place / "stranger", INSPECTORS[1], stranger, before=genuine),
    }
    silent = _issued(place / "silent", INSPECTORS[0], first, before=genuine, area="A-02")
    return Revised(root_file, genuine, released, silent, named)


def _under_one_root(root_key: ec.EllipticCurvePrivateKey) -> tuple[bytes, Identity, Identity]:
    from reportgen.seal import authority
    from reportgen.seal.identity import assemble

    begin, end = dt.datetime(2025, 1, 1, tzinfo=dt.UTC), dt.datetime(2035, 1, 1, tzinfo=dt.UTC)
    root = authority._certificate(authority._distinguished("Root of Eddering", BODY), root_key, begin, end)
    people = []
    for name in INSPECTORS[:2]:
        key = ec.generate_private_key(ec.SECP256R1())
        subject = authority._distinguished(name, BODY)
        leaf = authority._certificate(subject, key, begin, end, issuer=(root, root_key))
        people.append(assemble(key, leaf, [root], source="the demo"))
    return root.public_bytes(serialization.Encoding.PEM), people[0], people[1]


def _issued(
    place: Path, inspector: str, identity: Identity, *, people: str = "", before: Path | None = None, area: str = AREA
) -> Path:
    """Issue the report, or its revision where there is one ``before``: that releases what the report had failed."""
    chance = random.Random(7)  # noqa: S311 - invented readings, not secrets
    made = _Contract(place / "archive", "BF-09", chance, identity)
    made._prepare(inspector)
    if people:
        project = made.work / "project.yaml"
        text = project.read_text(encoding="utf-8")
        project.write_text(text.replace("instruments:\n", f"{people}instruments:\n", 1), encoding="utf-8")
    day = dataclasses.replace(made.days[0], areas=[area], readings=[made.days[0].readings[0]])
    if before is None:
        made._issue(dataclasses.replace(day, readings=[made._failing()], nonconformance="NC-1"))
        return made.out / f"{NUMBER}.pdf"
    shutil.copy(before, made.out / f"{NUMBER}.pdf")
    made._issue(dataclasses.replace(day, revision=1, supersedes="a reading was entered wrongly"))
    return made.out / f"{NUMBER}-r1.pdf"
