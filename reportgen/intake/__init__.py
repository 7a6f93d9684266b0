"""From the site into the day file: a filled-in sheet, a table or typed lines, checked, joined, nothing overwritten."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.intake.doubts import Ask, Doubted, doubted, settle
from reportgen.intake.fitting import fitted
from reportgen.intake.incoming import Incoming, Refused
from reportgen.intake.left_over import keep

if TYPE_CHECKING:
    from reportgen.intake.merge import Difference
    from reportgen.job import Job

__all__ = ["Ask", "Doubted", "Incoming", "Intake", "take_in"]


@dataclass(frozen=True, slots=True)
class Intake:
    """The day file as it would be now, and what became of everything that came in.

    ``data`` loads, and equals the old file when nothing was taken and nothing refused. ``added`` and ``removed`` are
    sentences; ``already`` counts values that were there; ``differences`` are values that are there otherwise;
    ``refused`` were not taken; ``doubted`` were taken and are mostly slips; ``missing`` was to be filled in and was
    not; ``notes`` are to be read.
    """

    data: bytes
    added: tuple[str, ...]
    removed: tuple[str, ...]
    already: int
    differences: tuple[Difference, ...]
    refused: tuple[Refused, ...]
    doubted: tuple[Doubted, ...]
    missing: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def complete(self) -> bool:
        """Whether everything that came in stands in the day file now, undoubted, and nothing is missing."""
        kept = all(difference.replaced for difference in self.differences)
        return kept and not self.refused and not self.doubted and not self.missing


def take_in(incoming: Incoming, job: Job, *, overwrite: bool = False, ask: Ask | None = None) -> Intake:
    """Return what a filled sheet, a table or typed lines, once read, make of the job's day file.

    ``overwrite`` lets what came in replace what differs; ``ask`` answers for entries in doubt, which are taken and
    listed without it. What is valid is taken; the rest is refused by page and row, and kept beside it as ``not_taken``.
    Nothing is written: the caller puts ``Intake.data`` in place.

    Raises:
        UsageError: the day file is written in a way in which what is refused cannot be kept.
    """
    settled: set[tuple[str, ...]] = set()
    while True:
        merged = fitted(job, incoming, overwrite=overwrite)
        left = [one for one in doubted(job, merged, incoming) if _key(one) not in settled]
        if ask is None or not left:
            break
        settle(incoming, left[0], ask(left[0]))
        settled.add(_key(left[0]))
    keep(merged.text, incoming, [area.id for structure in job.project.structures for area in structure.areas])
    return Intake(
        merged.text.encoded(), tuple(merged.added), tuple(merged.removed), merged.already, tuple(merged.differences),
        incoming.refused_in_order(), tuple(left), tuple(incoming.missing), tuple(incoming.notes),
    )  # fmt: skip


def _key(doubt: Doubted) -> tuple[str, ...]:
    return doubt.place, doubt.name, doubt.value, doubt.kind
