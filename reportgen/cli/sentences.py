"""A finding as a colleague would say it: one sentence of the trade, its code in brackets for ``explain``."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen.measurements import CODES
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from reportgen.results import Finding
    from reportgen.results.statements import Part

_TIME: Final = re.compile(r"\d\d:\d\d, ")

SENTENCES: Final[Mapping[str, tuple[Part, str]]] = {
    "gauge-check-missing": ("missing", "{observed}"),
    "gauge-check-failed": ("out of limits", "gauge {observed}"),
    "film-contradicted": ("wrong", "{observed}"),
    "gauge-drift": ("noted", "gauge {observed}; {requirement}"),
    "calibration-overdue": ("out of limits", "calibration overdue, {observed}"),
    "tape-expired": ("out of limits", "tape out of date, {observed}"),
    "tape-check-missing": ("missing", "unused tape of {observed} this shift"),
    "tape-check-outside-range": ("out of limits", "unused tape of wrong thickness, {observed}; {requirement} expected"),
    "certificate-expired": ("out of limits", "certificate out of date, {observed}"),
    "nonconformance-missing": ("missing", "{observed}: raise one"),
    "failed-earlier": ("missing", "failed before, and no nonconformance covers it: {observed}"),
    "nonconformance-open": ("next", "{observed}"),
}
"""Part and sentence of every finding code."""


def part_of(finding: Finding) -> Part:
    """Return where a finding belongs; one that is merely observed fails nothing."""
    part = CODES[finding.code].part if finding.code in CODES else SENTENCES[finding.code][0]
    return "noted" if part == "out of limits" and finding.severity == "observation" else part


def told(findings: Iterable[Finding]) -> list[str]:
    """Return a sentence for each finding; what is the same of several areas or locations is said once."""
    places: dict[tuple[str, str | None, str], list[Finding]] = {}
    for finding in findings:
        # locations of one area stand together; areas of one cause, too, when no location is named
        area = finding.area if finding.location else None
        places.setdefault((_sentence(finding), area, finding.code), []).append(finding)
    return [f"{_place(alike, sentence)}{sentence} [{code}]" for (sentence, _, code), alike in places.items()]


def _sentence(finding: Finding) -> str:
    said = sentences().told(finding) or SENTENCES[finding.code][1].format(
        observed=finding.observed, requirement=finding.requirement
    )
    said += f" (clause {finding.clause})" if finding.clause else ""
    return said + (f", {finding.nonconformance}" if finding.nonconformance else "")


def _place(alike: list[Finding], sentence: str) -> str:
    areas = ", ".join(dict.fromkeys(finding.area for finding in alike if finding.area))
    spots = list(dict.fromkeys(finding.location for finding in alike if finding.location))
    where = f"{'location' if len(spots) == 1 else 'locations'} {', '.join(spots)}" if spots else ""
    both = " ".join(part for part in (areas, where) if part)
    first = alike[0]
    timed = _TIME.match(sentence) if first.facts is None else sentence.startswith(f"{first.place.time}, ")
    return f"{both}{', ' if timed else ': '}" if both else ""
