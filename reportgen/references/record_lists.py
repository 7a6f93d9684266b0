"""What public specifications ask to be recorded each day, as lists of the keys of `requires:`, by their source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from reportgen.references.shipped import read_toml

if TYPE_CHECKING:
    from reportgen.references.citations import Confidence


@dataclass(frozen=True, slots=True)
class RecordList:
    """What one source asks for: keys of records, and within what time of the shift the report is due (``24 h``).

    ``also`` are other names by which the same is cited.
    """

    name: str
    title: str
    records: tuple[str, ...]
    confidence: Confidence
    report_within: str | None = None
    also: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def record_lists() -> dict[str, RecordList]:
    """Return every list by the name under which a project file asks for it."""
    return {
        name: RecordList(
            name,
            one["title"],
            tuple(one["records"]),
            one["confidence"],
            one.get("report_within"),
            tuple(one.get("also", ())),
        )
        for name, one in read_toml("record-lists.toml").items()
    }
