"""Signed, self-verifying inspection reports for abrasive-blast-cleaned steel."""

__version__ = "0.1.0"
