"""The verbs of the tool, each a short walk down the rooms; the owner of the clock."""

from reportgen.pipeline.checking import Checked, check
from reportgen.pipeline.clock import now, parse_instant
from reportgen.pipeline.countersigning import countersign
from reportgen.pipeline.issuing import Written, draft, issue, issue_demonstration, slip
from reportgen.pipeline.register_care import check_register_of, rebuild_register_of
from reportgen.pipeline.verifying import verify

__all__ = [
    "Checked",
    "Written",
    "check",
    "check_register_of",
    "countersign",
    "draft",
    "issue",
    "issue_demonstration",
    "now",
    "parse_instant",
    "rebuild_register_of",
    "slip",
    "verify",
]
