"""Files to start from: a contract folder, and the next shift of one."""

from reportgen.starter.answers import GAUGES, METHODS, QUESTIONS, asked_with, is_asked, missing
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
    "QUESTIONS",
    "SCHEMAS",
    "FurtherArea",
    "area_objection",
    "asked_with",
    "further_area",
    "identifier",
    "is_asked",
    "missing",
    "new_contract",
    "next_day",
    "objection",
]
