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
    "profile-below-minimum": ("out of limits", "profile {observed}; {requirement} required"),
    "profile-above-maximum": ("out of limits", "profile {observed}; {requirement} required"),
    "comparator-grade-not-met": ("out of limits", "{observed}; {requirement} required"),
    "profile-in-guard-band": (
        "missing",
        "profile {observed} within the limits, not accepted; measure again: {requirement}",
    ),
    "profile-inconclusive": ("missing", "no verdict on the profile: {observed}; {requirement}"),
    "locations-missing": ("missing", "{observed} measured of {requirement}"),
    "surface-not-measured": ("missing", "{observed}; {requirement} required"),
    "spots-missing": ("missing", "{observed} measured of {requirement}"),
    "second-reading-missing": ("missing", "{observed}"),
    "outside-grade-range": ("missing", "{observed}"),
    "contradictory-readings": ("missing", "{observed}"),
    "spots-disagree": ("missing", "{observed}, {requirement} allowed: take further spots"),
    "outlier": ("noted", "lies far from the others: {observed}"),
    "walk-out-missing": ("missing", "{observed}; {requirement}"),
    "dew-point-margin": ("out of limits", "{observed}; {requirement} required"),
    "humidity-above-maximum": ("out of limits", "{observed}; {requirement} required"),
    "steel-too-cold": ("out of limits", "{observed}; {requirement} required"),
    "steel-too-warm": ("out of limits", "{observed}; {requirement} required"),
    "air-temperature-outside-limits": ("out of limits", "{observed}; {requirement} required"),
    "conditions-interval": ("missing", "air and steel not measured in time: {observed}; {requirement} required"),
    "conditions-missing": ("missing", "air and steel not measured at its place: {observed}"),
    "conditions-unplaced": ("wrong", "{observed}: the reading of the conditions may be of this area or not"),
    "conditions-outside-range": ("missing", "no dew point: {observed}"),
    "gauge-check-missing": ("missing", "{observed}"),
    "gauge-check-failed": ("out of limits", "gauge {observed}"),
    "film-contradicted": ("wrong", "{observed}"),
    "gauge-drift": ("noted", "gauge {observed}; {requirement}"),
    "calibration-overdue": ("out of limits", "calibration overdue, {observed}"),
    "tape-expired": ("out of limits", "tape out of date, {observed}"),
    "tape-check-missing": ("missing", "unused tape of {observed} this shift"),
    "tape-check-outside-range": ("out of limits", "unused tape of wrong thickness, {observed}; {requirement} expected"),
    "certificate-expired": ("out of limits", "certificate out of date, {observed}"),
    "time-to-coat-exceeded": ("out of limits", "primer too late, after {observed}; {requirement} allowed"),
    "coating-overdue": ("missing", "{observed}, {requirement}: prepare the surface again and inspect it"),
    "blasted-again": ("noted", "{observed}"),
    "coated-without-release": ("noted", "{observed}, before it was released"),
    "times-contradictory": ("wrong", "the times contradict each other: {observed}"),
    "measured-before-blasting": ("wrong", "not of the blasted surface: {observed}"),
    "measured-after-primer": ("wrong", "not of bare steel: {observed}"),
    "test-before-blasting": ("noted", "{observed}"),
    "readings-too-fast": ("wrong", "{observed}: nobody reads as fast; {requirement}"),
    "instrument-in-two-places": ("wrong", "{observed}"),
    "entry-doubtful": ("wrong", "{observed}; {requirement}: correct it, or write `confirmed: yes` beside it"),
    "entry-unlikely": (
        "noted",
        "{observed}; {requirement}: correct it or write `confirmed: yes`; nothing depends on it",
    ),
    "entry-confirmed": ("noted", "{observed}; {requirement}"),
    "inspector-in-two-places": ("noted", "{observed}"),
    "air-check-missing": ("missing", "compressed air not checked: {observed}; {requirement} required"),
    "air-not-clean": ("out of limits", "compressed air not clean: {observed}"),
    "abrasive-check-missing": ("missing", "abrasive not checked: {observed}"),
    "abrasive-not-clean": ("out of limits", "abrasive not clean: {observed}; {requirement} required"),
    "nonconformance-missing": ("missing", "{observed}: raise one"),
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
    return [f"{_place(alike)}{sentence} [{code}]" for (sentence, _, code), alike in places.items()]


def _sentence(finding: Finding) -> str:
    said = sentences().told(finding) or SENTENCES[finding.code][1].format(
        observed=finding.observed, requirement=finding.requirement
    )
    said += f" (clause {finding.clause})" if finding.clause else ""
    return said + (f", {finding.nonconformance}" if finding.nonconformance else "")


def _place(alike: list[Finding]) -> str:
    areas = ", ".join(dict.fromkeys(finding.area for finding in alike if finding.area))
    spots = list(dict.fromkeys(finding.location for finding in alike if finding.location))
    where = f"{'location' if len(spots) == 1 else 'locations'} {', '.join(spots)}" if spots else ""
    both = " ".join(part for part in (areas, where) if part)
    pattern = SENTENCES.get(alike[0].code, ("", ""))[1]
    timed = _TIME.match(alike[0].observed) and pattern.startswith("{observed}")
    return f"{both}{', ' if timed else ': '}" if both else ""
