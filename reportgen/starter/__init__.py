"""Files to start from: a contract folder, and the next shift of one."""

from reportgen.starter.answers import QUESTIONS, Question
from reportgen.starter.contract import SCHEMAS, new_contract, objection
from reportgen.starter.following import NextDay, next_day

__all__ = ["QUESTIONS", "SCHEMAS", "NextDay", "Question", "new_contract", "next_day", "objection"]
