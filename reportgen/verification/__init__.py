"""Verification of one report in numbered steps, each with its reasons by name. Trusts nothing that the pages say."""

from reportgen.verification.embedded_files import Evidence, Outcome, Recomputed
from reportgen.verification.rendering import beside, render_steps, render_verification
from reportgen.verification.steps import verify_report
from reportgen.verification.trust import read_trusted
from reportgen.verification.verdict import (
    REASONS,
    Changed,
    Notice,
    Reason,
    Signer,
    Step,
    Verification,
    from_plain,
)

__all__ = [
    "REASONS",
    "Changed",
    "Evidence",
    "Notice",
    "Outcome",
    "Reason",
    "Recomputed",
    "Signer",
    "Step",
    "Verification",
    "beside",
    "from_plain",
    "read_trusted",
    "render_steps",
    "render_verification",
    "verify_report",
]
