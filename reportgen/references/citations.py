"""Citations: the source of a formula or number, with edition, clause and how far it was read."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from reportgen.errors import UsageError
from reportgen.references.shipped import read_toml

Confidence = Literal["V", "V2", "M", "CALC"]

REMARKS: Final[dict[Confidence, str]] = {
    "V": "read in the text cited",
    "V2": "read in a secondary text, not in the standard itself",
    "M": "from memory, not checked against a text; check it against the edition in force",
    "CALC": "computed from the formula stated",
}
"""What each degree of confidence means, in the words that are printed."""


@dataclass(frozen=True, slots=True)
class Citation:
    """One source. ``clause`` and ``edition`` are empty where none applies; ``note`` says what was decided and why."""

    key: str
    title: str
    edition: str
    clause: str
    confidence: Confidence
    note: str

    @property
    def remark(self) -> str:
        """What the confidence means, in words; empty for a text that was read."""
        return "" if self.confidence == "V" else REMARKS[self.confidence]

    @property
    def text(self) -> str:
        """The citation on one line, its confidence included where the text was not read itself."""
        clause = "" if self.clause in self.title else self.clause  # named there already: `Method C`
        parts = (self.title, self.edition, clause, self.remark)
        return ", ".join(part for part in parts if part)


@lru_cache(maxsize=1)
def _citations() -> dict[str, Citation]:
    shipped = read_toml("citations.toml")
    return {
        key: Citation(
            key, entry["title"], entry.get("edition", ""), entry.get("clause", ""), entry["confidence"],
            entry.get("note", ""),
        )
        for key, entry in shipped.items()
    }  # fmt: skip


def citation(key: str) -> Citation:
    """Return the citation of a source key.

    Raises:
        UsageError: no such key.
    """
    try:
        return _citations()[key]
    except KeyError:
        raise UsageError(f"`{key}` is not a source this program knows") from None


def citation_keys() -> tuple[str, ...]:
    """Return all source keys, sorted."""
    return tuple(sorted(_citations()))
