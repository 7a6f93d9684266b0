"""Whom a job names to sign its report, and in which field: the inspector, then the countersigners in their order."""

from reportgen.names import Pin
from reportgen.results.facts import Value

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
