"""Files to start from: a contract folder, and the next shift of one."""

from reportgen.starter.answers import (
    GAUGES,
    METHODS,
    OF_EDITION,
    QUESTIONS,
    asked_with,
    edition_unknown,
    is_asked,
    is_needed,
    is_put,
    missing,
)
from reportgen.starter.contract import (
    SCHEMAS,
    FurtherArea,
    area_objection,
    further_area,
    identifier,
    new_contract,
    objection,
)
from reportgen.starter.following import next_day

__all__ = [
    "GAUGES",
    "METHODS",
    "OF_EDITION",
    "QUESTIONS",
    "SCHEMAS",
    "FurtherArea",
    "area_objection",
    "asked_with",
    "edition_unknown",
    "further_area",
    "identifier",
    "is_asked",
    "is_needed",
    "is_put",
    "missing",
    "new_contract",
    "next_day",
    "objection",
]
