"""Standards and public specifications as data: one file for each edition, numbers and clause numbers only."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from reportgen.references.datafiles import read_toml, shipped_names

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.references.citations import Confidence


@dataclass(frozen=True, slots=True)
class Standard:
    """One edition; ``data`` are its numbers by subject, where a subject may carry its own confidence."""

    id: str
    edition: str
    title: str
    confidence: Confidence
    data: Mapping[str, Any]

    def confidence_of(self, subject: str) -> Confidence:
        """Confidence of one subject: its own where it has one, else the standard's."""
        entry = self.data[subject]
        own: Confidence = entry["confidence"] if isinstance(entry, dict) and "confidence" in entry else self.confidence
        return own


@lru_cache(maxsize=64)
def standard(identifier: str, edition: str) -> Standard:
    """Return one edition of a standard, such as ``standard("astm-d4417", "2021")``.

    Raises:
        UsageError: that edition is not shipped.
    """
    entry = read_toml("standards", f"{identifier}-{edition}.toml")
    data = {name: value for name, value in entry.items() if name not in {"title", "confidence"}}
    return Standard(identifier, edition, entry["title"], entry["confidence"], data)


def editions(identifier: str) -> tuple[str, ...]:
    """Return the editions shipped of a standard, oldest first."""
    prefix = f"{identifier}-"
    stems = shipped_names("standards", ".toml")
    return tuple(stem.removeprefix(prefix) for stem in stems if stem.rpartition("-")[0] == identifier)


def standard_files() -> tuple[tuple[str, str], ...]:
    """Return (id, edition) of everything shipped."""
    return tuple((stem.rpartition("-")[0], stem.rpartition("-")[2]) for stem in shipped_names("standards", ".toml"))
