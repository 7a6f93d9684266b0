"""Audit: a folder of files from strangers, each verified by itself, then all of them held against each other.

``index`` keeps what was found in one SQLite file, ``own_folder`` says where and holds the key that
proves it, ``writer`` keeps out a second audit; ``workers`` spreads the files
over processes or a cluster; ``places`` says which files count, and the modules named after what they look for compare
across them; ``questions`` answers later.
"""

from reportgen.audit.asked import Narrowed, Question
from reportgen.audit.audit_result import Audit, FileVerdict, audit_of, plain_audit, spoilt_in, write_tables
from reportgen.audit.examining import Task, Terms, run_task, unread
from reportgen.audit.facts import Usual
from reportgen.audit.index import Index
from reportgen.audit.own_folder import default_index, is_index, make_private, own_key
from reportgen.audit.problems import PROBLEMS, Problem
from reportgen.audit.questions import QUESTIONS, about, ask, offered
from reportgen.audit.screening import unseen_told
from reportgen.audit.workers import finished_here, finished_on_cluster
from reportgen.audit.writer import only_writer

__all__ = [
    "PROBLEMS",
    "QUESTIONS",
    "Audit",
    "FileVerdict",
    "Index",
    "Narrowed",
    "Problem",
    "Question",
    "Task",
    "Terms",
    "Usual",
    "about",
    "ask",
    "audit_of",
    "default_index",
    "finished_here",
    "finished_on_cluster",
    "is_index",
    "make_private",
    "offered",
    "only_writer",
    "own_key",
    "plain_audit",
    "run_task",
    "spoilt_in",
    "unread",
    "unseen_told",
    "write_tables",
]
