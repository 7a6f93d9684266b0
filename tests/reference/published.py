"""Reads the reference rows: ``data/<name>.csv`` with its sidecar ``data/<name>.toml``.

A sidecar says source, place, how far the source was read (``confidence``), what the rows are (``kind``), the tolerance
and why it is what it is. ``kind`` is one of

published        printed by the source named
common practice  used by the trade, no source
constructed      follows from a clause of the source by hand, no arithmetic of this program in it
calculated       computed by an independent library, which the test runs again beside this program; such a file says
                 ``-calculated`` in its name
"""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

DATA = Path(__file__).parent / "data"
KINDS = {"published", "common practice", "constructed", "calculated"}


@dataclass(frozen=True)
class Published:
    """Rows of one file with what the sidecar says about them."""

    rows: list[dict[str, str]]
    source: str
    place: str
    confidence: str
    kind: str
    tolerance: Decimal
    why: str


def published(name: str) -> Published:
    """Return the rows of a file and its sidecar."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return Published(rows, **_sidecar(name))


def _sidecar(name):
    about = tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))
    about["tolerance"] = Decimal(about["tolerance"])
    return about


def names() -> list[str]:
    """Return the names of all files of rows."""
    return sorted(path.stem for path in DATA.glob("*.csv"))
