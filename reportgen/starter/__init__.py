"""Files to start from: a contract folder, and the next shift of one."""

from reportgen.starter.answers import QUESTIONS, Question
from reportgen.starter.contract import (
    SCHEMAS,
    FurtherArea,
    area_objection,
    further_area,
    identifier,
    new_contract,
    objection,
)
from reportgen.starter.following import NextDay, next_day

__all__ = [
    "QUESTIONS",
    "SCHEMAS",
    "FurtherArea",
    "NextDay",
    "Question",
    "area_objection",
    "further_area",
    "identifier",
    "new_contract",
    "next_day",
    "objection",
]
