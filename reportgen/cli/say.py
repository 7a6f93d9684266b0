"""What the command line says: failures with their remedy, and a check of a day as a colleague would put it."""

from __future__ import annotations

import json
import os
import sys
import textwrap
from typing import TYPE_CHECKING

from reportgen.diagnostics import as_data, in_file_order, printable, with_caret
from reportgen.errors import InputError
from reportgen.units import DISPLAY

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.errors import ReportgenError
    from reportgen.results import AreaResult, Evaluation, Finding

WIDTH = 80
SHOWN_DIAGNOSTICS = 20
_COLOURS = {"conforms": "32", "does not conform": "31", "inconclusive": "33", "not evaluated": "33"}
_DECISION_WORD = {"release": "conforms", "rework": "does not conform", "hold": "inconclusive"}
_MISSING = ("-missing", "-inconclusive", "contradictory-readings", "outside-grade-range", "conditions-interval")


def render_failure(error: ReportgenError) -> str:
    """Render a failure for a person: diagnostics with carets (the first twenty), or one sentence and its help."""
    if isinstance(error, InputError) and error.diagnostics:
        ordered = in_file_order(error.diagnostics)
        parts = [with_caret(diagnostic) for diagnostic in ordered[:SHOWN_DIAGNOSTICS]]
        if len(ordered) > SHOWN_DIAGNOSTICS:
            parts.append(f"and {len(ordered) - SHOWN_DIAGNOSTICS} more; mend these first and run the command again")
        return "\n\n".join(parts)
    lines = textwrap.wrap(f"error: {printable(error.message)}", WIDTH, break_long_words=False, break_on_hyphens=False)
    if error.help_text:
        lines += textwrap.wrap(
            f" help: {printable(error.help_text)}",
            WIDTH,
            subsequent_indent="       ",
            break_long_words=False,
            break_on_hyphens=False,
        )
    return "\n".join(lines)


def render_failure_json(error: ReportgenError) -> str:
    """Render a failure for a program: ``{"error": ..., "diagnostics": [...]}`` with every diagnostic."""
    diagnostics = in_file_order(error.diagnostics) if isinstance(error, InputError) else []
    data = {"error": error.message, "help": error.help_text, "diagnostics": [as_data(item) for item in diagnostics]}
    return json.dumps(data, ensure_ascii=False, indent=2)


def colours_wanted() -> bool:
    """Return whether the output is a terminal that did not ask for plain text (https://no-color.org)."""
    return sys.stdout.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"


def tinted(text: str, verdict: str, *, colour: bool) -> str:
    """Return ``text`` in the colour of a verdict; the word itself always says it too."""
    return f"\x1b[{_COLOURS[verdict]}m{text}\x1b[0m" if colour else text


def verdict_sentence(evaluation: Evaluation) -> str:
    """Return the verdict of the report in one sentence."""
    counts = dict.fromkeys(_DECISION_WORD, 0)
    for area in evaluation.areas:
        counts[area.decision] += 1
    total = len(evaluation.areas)
    if not total:
        return "Not evaluated: no area was inspected."
    named = [
        f"{count} of {total} areas {phrase}"
        for count, phrase in (
            (counts["rework"], "must be reworked"),
            (counts["hold"], "on hold"),
            (counts["release"], "may be released"),
        )
        if count
    ]
    return f"{evaluation.verdict.capitalize()}: {', '.join(named)}."


def render_check(evaluation: Evaluation, *, colour: bool = False) -> str:
    """Render a check: what is out of limits, what is missing, what to measure next, then each area."""
    report = evaluation.report
    lines = [
        f"{report.number} revision {report.revision}, {report.date}",
        tinted(verdict_sentence(evaluation), evaluation.verdict, colour=colour),
    ]
    missing = [finding for finding in evaluation.findings if _is_missing(finding)]
    failing = [f for f in evaluation.findings if f.severity == "nonconformance" and not _is_missing(f)]
    noted = [f for f in evaluation.findings if f.severity == "observation" and not _is_missing(f)]
    lines += _section("Out of limits", map(_finding_line, failing))
    lines += _section("Missing before you leave the site", map(_finding_line, missing))
    lines += _section(
        "Measure next",
        (f"{step.area + ': ' if step.area else ''}{step.what} ({step.reason})" for step in evaluation.measure_next),
    )
    lines += _section(
        "Coat by", (f"{t.area}: {t.coat_by}" for t in evaluation.coating_times if t.coat_by and t.hours is None)
    )
    lines += _section("Noted", map(_finding_line, noted))
    lines += _section("Not evaluated", evaluation.not_evaluated)
    lines += ["", "Areas"]
    lines += [_area_line(area, colour=colour) for area in evaluation.areas]
    return "\n".join(lines)


def _is_missing(finding: Finding) -> bool:
    return any(mark in finding.code for mark in _MISSING) and finding.code != "nonconformance-missing"


def _section(title: str, entries: Iterable[str]) -> list[str]:
    wrapped: list[str] = []
    for entry in entries:
        wrapped += textwrap.wrap(printable(entry), WIDTH, initial_indent="  ", subsequent_indent="      ")
    return ["", title, *wrapped] if wrapped else []


def _finding_line(finding: Finding) -> str:
    place = " ".join(
        part for part in (finding.area, f"location {finding.location}" if finding.location else None) if part
    )
    clause = f" (clause {finding.clause})" if finding.clause else ""
    covered = f" [{finding.nonconformance}]" if finding.nonconformance else ""
    head = f"{finding.code}{' ' + place if place else ''}"
    return f"{head}: {finding.observed}; required: {finding.requirement}{clause}{covered}"


def _area_line(area: AreaResult, *, colour: bool) -> str:
    word = tinted(f"{area.decision:<8}", _DECISION_WORD[area.decision], colour=colour)
    required = f" ({area.required_locations} required)" if area.required_locations is not None else ""
    numbers = f"{area.n_locations} locations{required}"
    if area.mean is not None:
        numbers += f", mean {area.mean} {DISPLAY.get(area.unit, area.unit)}"
    if area.expanded_uncertainty is not None:
        numbers += f", U {area.expanded_uncertainty}"
    return f"  {area.id:<12} {word} {numbers}"
