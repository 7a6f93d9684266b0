"""From a day file to its evaluation; and from embedded files to the same evaluation, years later."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from reportgen.formats import encode, issue_moment
from reportgen.loader import job_from_files, load_job
from reportgen.rules import evaluate

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from reportgen.job import Job
    from reportgen.results import Evaluation


@dataclass(frozen=True, slots=True)
class Checked:
    """A validated job, what follows from it, and that as canonical JSON."""

    job: Job
    evaluation: Evaluation
    canonical: bytes


def check(day: Path, *, at: dt.datetime | None = None, until: dt.datetime | None = None) -> Checked:
    """Load, validate and evaluate one day file; write nothing.

    ``at`` is the present moment, or that of issue, while the shift lasts; without it the shift is taken to be over.
    ``until`` as for ``load_job``.

    Raises:
        InputError: with every diagnostic of every file, when the input cannot be used.
    """
    job = load_job(day, until=until)
    evaluation = evaluate(job, at=at)
    return Checked(job, evaluation, encode(evaluation))


@dataclass(frozen=True, slots=True)
class Deadline:
    """Until when an area that is not coated yet may be coated: as printed, and as an instant in the site's zone."""

    area: str
    coat_by: str
    instant: dt.datetime


def coating_deadlines(checked: Checked) -> list[Deadline]:
    """Return the end of the time to coat of every area that is released and not coated yet, the next one first."""
    clock = checked.job.clock
    found = {}
    for time in checked.evaluation.coating_times:
        if time.coat_by is None:
            continue
        dated = time.coat_by[len("2026") :].startswith("-")
        at = dt.datetime.fromisoformat(time.coat_by if dated else f"{clock.date} {time.coat_by}")
        instant = clock.instant(at if at.tzinfo is not None else at.replace(tzinfo=ZoneInfo(clock.zone)))
        found[time.area] = Deadline(time.area, time.coat_by, instant)
    return sorted(found.values(), key=lambda deadline: deadline.instant)


def recompute(files: Mapping[str, bytes], day_name: str) -> bytes:
    """Evaluate embedded input again; the result must equal the evaluation embedded beside it, byte for byte."""
    return encode(evaluate(job_from_files(files, day_name, have_photos=False), at=issue_moment(files)))
