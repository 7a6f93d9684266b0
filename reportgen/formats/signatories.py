"""Whom a job names to sign its report, and in which field: the inspector, then the countersigners in their order."""

from typing import TYPE_CHECKING

from reportgen.names import Pin
from reportgen.results.facts import Value

if TYPE_CHECKING:
    from reportgen.job import Job

INSPECTOR_FIELD = "Inspector"
ENGINEER_FIELD = "Engineer"


class Signatory(Value):
    """One person who is to sign: the name of the field, then role, name and organisation as the job states them, the
    person's id there, and the certificate that it says this person signs with.
    """

    field: str
    role: str
    name: str
    organisation: str | None = None
    id: str = ""
    signs_with: Pin | None = None


def countersigner_field(number: int) -> str:
    """Return the name of the field of the countersigner ``number``, counted from 1."""
    return f"Countersigner-{number}"


def renewal_field(number: int) -> str:
    """Return the name of the field of the renewal ``number``, counted from 1."""
    return f"Renewal-{number}"


def signatories_of(job: "Job") -> tuple[Signatory, ...]:
    """Return whom the job names to sign, in the order of the fields."""
    report = job.day.report
    fields = [INSPECTOR_FIELD, *(countersigner_field(number + 1) for number in range(len(report.countersigners)))]
    ids = (report.inspector, *report.countersigners)
    return tuple(signatory_of(job, field, who) for field, who in zip(fields, ids, strict=True))


def signatory_of(job: "Job", field: str, person: str) -> Signatory:
    """Return the person of this id as the one who is to sign in ``field``."""
    who = job.project.people[person]
    pin = who.signs_with.pin if who.signs_with else None
    return Signatory(field, who.role, who.name, who.organisation, person, pin)
