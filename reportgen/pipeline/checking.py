"""From a day file to its evaluation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.errors import InputError
from reportgen.formats import encode
from reportgen.pipeline.as_issued import against_the_report_replaced, load
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


def evaluated(
    day: Path, *, at: dt.datetime | None = None, until: dt.datetime | None = None, itself: bool = False
) -> Checked:
    """Load, validate and evaluate one day file upon earlier days as they were issued.

    ``at`` is the present moment, or that of issue, while the shift lasts; without it the shift is taken to be over.
    ``until`` as for ``load_job``. With ``itself`` the day is judged as an earlier day too: by the project file that its
    own report was issued by.

    Raises:
        InputError: with every diagnostic of every file, when the input cannot be used.
    """
    job = load(day, until=until, itself=itself)
    evaluation = evaluate(job, at=at)
    return Checked(job, evaluation, encode(evaluation))


def check(day: Path, *, at: dt.datetime | None = None, until: dt.datetime | None = None) -> Checked:
    """Evaluate one day file, and hold a revision against the report that it replaces; write nothing.

    ``at`` and ``until`` as for ``evaluated``.

    Raises:
        InputError: as ``evaluated``, and where something stands against the revision.
    """
    checked = evaluated(day, at=at, until=until)
    against = list(against_the_report_replaced(day, checked.job, checked.evaluation))
    if against:
        raise InputError([*checked.job.warnings, *against])
    return checked
