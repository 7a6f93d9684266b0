"""The package's own data files: tables and standards as they are shipped, TOML and CSV, nothing outside the package."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from reportgen.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.references.citations import Confidence


def _text(*place: str) -> str:
    file = resources.files("reportgen.references").joinpath("data", *place)
    if not file.is_file():
        raise UsageError(f"`{'/'.join(place)}` is not among the shipped references")
    return file.read_text("utf-8")


def read_toml(*place: str) -> dict[str, Any]:
    """Read a TOML file below ``data/``.

    Raises:
        UsageError: no such file is shipped.
    """
    import tomllib  # a day that cites nothing need not pay for it

    return tomllib.loads(_text(*place))


def shipped_names(folder: str, suffix: str) -> tuple[str, ...]:
    """Return the stems of the files of one kind in a folder below ``data/``, sorted."""
    found = (entry.name for entry in resources.files("reportgen.references").joinpath("data", folder).iterdir())
    return tuple(sorted(name.removesuffix(suffix) for name in found if name.endswith(suffix)))


@dataclass(frozen=True, slots=True)
class ReferenceTable:
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
def table(name: str) -> ReferenceTable:
    """Return a shipped table by name.

    Raises:
        UsageError: no such table.
    """
    rows = tuple(csv.DictReader(_text("tables", f"{name}.csv").splitlines()))
    about = _described()[name]
    return ReferenceTable(
        name, rows, about["source"], about["unit"], about["digits"], about["confidence"], about.get("note", "")
    )


@dataclass(frozen=True, slots=True)
class Standard:
    """One edition of a standard or public specification: numbers and clause numbers only.

    ``data`` are its numbers by subject, where a subject may carry its own ``confidence``.
    """

    id: str
    edition: str
    title: str
    confidence: Confidence
    data: Mapping[str, Any]


@lru_cache(maxsize=64)
def standard(identifier: str, edition: str) -> Standard:
    """Return one edition of a standard, such as ``standard("astm-d4417", "2021")``.

    Raises:
        UsageError: that edition is not shipped.
    """
    entry = read_toml("standards", f"{identifier}-{edition}.toml")
    data = {name: value for name, value in entry.items() if name not in {"title", "confidence"}}
    return Standard(identifier, edition, entry["title"], entry["confidence"], data)


def standard_files() -> tuple[tuple[str, str], ...]:
    """Return (id, edition) of everything shipped, the editions of each oldest first."""
    return tuple((stem.rpartition("-")[0], stem.rpartition("-")[2]) for stem in shipped_names("standards", ".toml"))


def editions(identifier: str) -> tuple[str, ...]:
    """Return the editions shipped of a standard, oldest first."""
    return tuple(edition for name, edition in standard_files() if name == identifier)
