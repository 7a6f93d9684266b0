"""Whom a job names to sign its report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.fields import is_placeholder
from reportgen.results.signatories import INSPECTOR_FIELD, Signatory, countersigner_field

if TYPE_CHECKING:
    from reportgen.job import Job


def signatories_of(job: Job) -> tuple[Signatory, ...]:
    """Return whom the job names to sign, in the order of the fields; without the inspector while none is named."""
    report = job.day.report
    fields = [INSPECTOR_FIELD, *(countersigner_field(number + 1) for number in range(len(report.countersigners)))]
    ids = (report.inspector, *report.countersigners)
    named = ((field, one) for field, one in zip(fields, ids, strict=True) if not is_placeholder(one))
    return tuple(_signatory(job, field, person) for field, person in named)


def _signatory(job: Job, field: str, person: str) -> Signatory:
    who = job.project.people[person]
    pin = who.signs_with.pin if who.signs_with else None
    return Signatory(field, who.role, who.name, who.organisation, person, pin)
