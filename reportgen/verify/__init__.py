"""Verification of one report in numbered steps, each with its reasons by name. Trusts nothing that the pages say."""

from reportgen.confinement import Limits
from reportgen.verify.embedded import Evidence, Outcome, Recomputed
from reportgen.verify.isolation import verify_bytes, verify_file
from reportgen.verify.rendering import render_steps, render_verification
from reportgen.verify.steps import verify_report
from reportgen.verify.trust import read_roots
from reportgen.verify.verdict import REASONS, TITLES, Reason, Signer, Step, Verification, from_plain

__all__ = [
    "REASONS",
    "TITLES",
    "Evidence",
    "Limits",
    "Outcome",
    "Reason",
    "Recomputed",
    "Signer",
    "Step",
    "Verification",
    "from_plain",
    "read_roots",
    "render_steps",
    "render_verification",
    "verify_bytes",
    "verify_file",
    "verify_report",
]
