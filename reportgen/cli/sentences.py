"""How findings are told whose facts are not data yet; it goes with the last of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results import Finding
    from reportgen.results.statements import Part

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
    "grade-not-met": ("out of limits", "cleaned to {observed}; {requirement} required"),
    "stain-above-limit": ("out of limits", "{observed}; {requirement} required"),
    "cleanliness-missing": ("missing", "cleanliness {observed}; {requirement} required"),
    "salts-above-maximum": ("out of limits", "soluble salts {observed}; {requirement} required"),
    "salts-missing": ("missing", "soluble salts: {observed}; {requirement} required"),
    "time-to-coat-exceeded": ("out of limits", "primer too late, after {observed}; {requirement} allowed"),
    "coating-overdue": ("missing", "{observed}, {requirement}: prepare the surface again and inspect it"),
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
}
"""Part and sentence of every finding code."""


def sentence(finding: Finding) -> str:
    """Return how a finding is told whose facts are not data yet."""
    return SENTENCES[finding.code][1].format(observed=finding.observed, requirement=finding.requirement)
