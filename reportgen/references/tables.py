"""Published tables as rows of text, each with its source, unit, printed digits and confidence."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from reportgen.references.datafiles import read_csv, read_toml, shipped_names

if TYPE_CHECKING:
    from reportgen.references.citations import Confidence


@dataclass(frozen=True, slots=True)
class Table:
    """A table: ``rows`` hold the digits as printed; ``source`` is a citation key."""

    name: str
    rows: tuple[dict[str, str], ...]
    source: str
    unit: str
    digits: str
    confidence: Confidence
    note: str


@lru_cache(maxsize=1)
def _described() -> dict[str, Any]:
    return read_toml("tables", "tables.toml")


@lru_cache(maxsize=64)
def table(name: str) -> Table:
    """Return a shipped table by name.

    Raises:
        UsageError: no such table.
    """
    rows = read_csv("tables", f"{name}.csv")
    about = _described()[name]
    return Table(
        name, rows, about["source"], about["unit"], about["digits"], about["confidence"], about.get("note", "")
    )


def table_names() -> tuple[str, ...]:
    """Return the names of all shipped tables, sorted."""
    return shipped_names("tables", ".csv")
