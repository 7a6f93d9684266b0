"""Submittal: issued reports, verified, with their index, state, statistics and log, in one signed archival file."""

from reportgen.submittal.assembly import Source, refuse_taken, write_submittal, write_unsigned
from reportgen.submittal.contents import AreaTogether, Transmittal, area_now, contradictions, submittal_of

__all__ = [
    "AreaTogether",
    "Source",
    "Transmittal",
    "area_now",
    "contradictions",
    "refuse_taken",
    "submittal_of",
    "write_submittal",
    "write_unsigned",
]
