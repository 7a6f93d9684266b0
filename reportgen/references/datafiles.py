"""Reads the package's own data files: TOML and CSV, nothing else, and nothing outside the package."""

from __future__ import annotations

import csv
from importlib import resources
from typing import Any

from reportgen.errors import UsageError


def read_toml(*place: str) -> dict[str, Any]:
    """Read a TOML file below ``data/``.

    Raises:
        UsageError: no such file is shipped.
    """
    import tomllib  # a day that cites nothing need not pay for it

    return tomllib.loads(_text(*place))


def read_csv(*place: str) -> tuple[dict[str, str], ...]:
    """Read a CSV file below ``data/`` as rows of column → text.

    Raises:
        UsageError: no such file is shipped.
    """
    return tuple(csv.DictReader(_text(*place).splitlines()))


def shipped_names(folder: str, suffix: str) -> tuple[str, ...]:
    """Return the stems of the files of one kind in a folder below ``data/``, sorted."""
    found = (entry.name for entry in resources.files("reportgen.references").joinpath("data", folder).iterdir())
    return tuple(sorted(name.removesuffix(suffix) for name in found if name.endswith(suffix)))


def _text(*place: str) -> str:
    file = resources.files("reportgen.references").joinpath("data", *place)
    if not file.is_file():
        raise UsageError(f"`{'/'.join(place)}` is not among the shipped references")
    return file.read_text("utf-8")
