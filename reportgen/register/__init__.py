"""The register of a contract: issued reports, their numbers, and the chain that shows any change of them.

One file of JSON lines, ``register.jsonl`` in the contract folder, readable by anyone. A row is written before a report
gets its name and another after; see ``journal`` for the protocol, ``chain`` for what is refused when reading.
"""

from reportgen.formats import Head, Supersedes
from reportgen.register.chain import REGISTER_NAME, Chain, RegisterAsRead, RegisterError, read_chain
from reportgen.register.check import (
    Problem,
    Witness,
    check_register,
    contradictions,
    copied_of,
    read_register,
)
from reportgen.register.journal import Register
from reportgen.register.numbering import missing_numbers, next_number
from reportgen.register.rebuild import Rebuilt, rebuild_register
from reportgen.register.rows import EMPTY, Entry, Report, Row, utc_text
from reportgen.register.together import Fork, Issue, astray, forks, issues_in, missing, stem, told_apart_by, turned_back

__all__ = [
    "EMPTY",
    "REGISTER_NAME",
    "Chain",
    "Entry",
    "Fork",
    "Head",
    "Issue",
    "Problem",
    "Rebuilt",
    "Register",
    "RegisterAsRead",
    "RegisterError",
    "Report",
    "Row",
    "Supersedes",
    "Witness",
    "astray",
    "check_register",
    "contradictions",
    "copied_of",
    "forks",
    "issues_in",
    "missing",
    "missing_numbers",
    "next_number",
    "read_chain",
    "read_register",
    "rebuild_register",
    "stem",
    "told_apart_by",
    "turned_back",
    "utc_text",
]
