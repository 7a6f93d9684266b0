"""From the site into the day file: a filled-in sheet, a table or typed lines, checked, joined, nothing overwritten."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.intake.incoming import Incoming, Refused
from reportgen.intake.merge import Difference, Merged, merge
from reportgen.intake.sheetfile import read_filled_sheet
from reportgen.intake.sheetrows import sheet_rows
from reportgen.intake.table import table_rows

if TYPE_CHECKING:
    from reportgen.job import Job

__all__ = ["Difference", "Incoming", "Intake", "Merged", "Refused", "merge", "take_in"]


@dataclass(frozen=True, slots=True)
class Intake:
    """The day file as it would be now, and what became of everything that came in.

    ``data`` equals the old file when nothing was taken. ``added`` and ``removed`` are sentences; ``already`` counts
    values that were there; ``differences`` are values that are there otherwise; ``refused`` were not taken;
    ``missing`` was to be filled in and was not; ``notes`` are to be read.
    """

    data: bytes
    added: tuple[str, ...]
    removed: tuple[str, ...]
    already: int
    differences: tuple[Difference, ...]
    refused: tuple[Refused, ...]
    missing: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def complete(self) -> bool:
        """Whether everything that came in stands in the day file now and nothing is missing."""
        kept = all(difference.replaced for difference in self.differences)
        return kept and not self.refused and not self.missing


def take_in(data: bytes, name: str, job: Job, *, area: str | None = None, overwrite: bool = False) -> Intake:
    """Return what the bytes of a filled sheet (PDF), a table (CSV, XLSX) or typed lines make of the job's day file.

    ``name`` is the source's in messages; ``area`` the area of a table that does not name one; ``overwrite`` lets what
    came in replace what differs. Nothing is written: the caller puts ``Intake.data`` in place.

    Raises:
        UsageError: a sheet of another job, an area of another contract, a file that is none of these.
        InputError: a CSV file with faults, each with its place.
    """
    if data[:1024].lstrip().startswith(b"%PDF"):
        incoming = sheet_rows(read_filled_sheet(data, name), job, name)
    else:
        incoming = table_rows(data, job, name, area=area)
    day = next(file for file in job.files if file.role == "day")
    merged = merge(day.data, day.name, incoming.day, overwrite=overwrite)
    return Intake(
        merged.data, tuple(merged.added), tuple(merged.removed), merged.already, tuple(merged.differences),
        tuple(incoming.refused), tuple(incoming.missing), tuple(incoming.notes),
    )  # fmt: skip
