"""From a day file to its evaluation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.errors import InputError
from reportgen.formats import encode
from reportgen.loader import load_job
from reportgen.results import Evaluation, Standing  # noqa: TC001 - named in the annotations of a public class
from reportgen.rules import evaluate
from reportgen.rules.standing import standing

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    from reportgen.job import Job
    from reportgen.results import Evaluation


@dataclass(frozen=True, slots=True)
class Checked:
    """A validated job, what follows from it, and that as canonical JSON."""

    job: Job
    evaluation: Evaluation
    canonical: bytes

    @property
    def standing(self) -> Standing:
        """Where the day stands."""
        return standing(self.job, self.evaluation)


def check(day: Path, *, at: dt.datetime | None = None, until: dt.datetime | None = None) -> Checked:
    """Load, validate and evaluate one day file, and hold it against what was issued before; write nothing.

    ``at`` is the present moment, or that of issue, while the shift lasts; without it the shift is taken to be over.
    ``until`` as for ``load_job``.

    Raises:
        InputError: with every diagnostic of every file, when the input cannot be used.
    """
    from reportgen.pipeline.as_issued import against_the_report_replaced, otherwise_than_issued, with_warnings

    job = load_job(day, until=until)
    evaluation = evaluate(job, at=at)
    against = list(against_the_report_replaced(day, job, evaluation))
    job = with_warnings(job, list(otherwise_than_issued(day.parent, job)))
    if against:
        raise InputError([*job.warnings, *against])
    return Checked(job, evaluation, encode(evaluation))
