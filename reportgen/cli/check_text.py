"""A check of a day as a colleague would put it, in one screen.

First what is wrong in the files, then what is out of limits, what is missing before one may leave, what to measure
next, and until when to coat.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from reportgen.cli.sentences import part_of, told
from reportgen.cli.terminal import WIDTH, tinted, verdict_sentence
from reportgen.diagnostics import printable
from reportgen.results import MeasureNext, Task
from reportgen.results.codes.coating import COAT_BY
from reportgen.rules.blasted_again import perhaps_blasted_again
from reportgen.rules.scene import JobView
from reportgen.units import DISPLAY
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from reportgen.pipeline import Checked, Deadline
    from reportgen.results import AreaResult, Evaluation, Finding, NonconformanceState

SHOWN_ENTRIES = 6
SHOWN_AREAS = 10
_DECISION_WORD = {"release": "conforms", "rework": "does not conform", "hold": "inconclusive"}

# beginnings of what is to be measured next that a finding among the missing says already
_SAID_BY = {
    "tape-check-missing": ("unused tape",),
}


def render_check(
    checked: Checked, deadlines: Sequence[Deadline], now: dt.datetime, *, colour: bool = False, everything: bool = False
) -> str:
    """Render a check for a person; long lists are cut, with their number, unless ``everything`` is wanted."""
    evaluation = checked.evaluation
    missed = [missed.area for missed in checked.job.day.not_inspected]
    lines = [
        f"{evaluation.report.number} revision {evaluation.report.revision}, {evaluation.report.date}",
        *_verdict(evaluation, missed, colour=colour),
    ]
    parts: dict[str, list[Finding]] = {}
    for finding in evaluation.findings:
        parts.setdefault(part_of(finding), []).append(finding)
    missing, uncovered = _without_uncovered(parts.get("missing", []))
    sections = [
        ("Wrong in the day file", told(parts.get("wrong", []))),
        ("Out of limits", told(parts.get("out of limits", []))),
        ("Missing before you leave the site", [*told(missing), *uncovered, *_blasted_again(checked)]),
        ("Measure next", [*_to_measure(evaluation, missing), *_to_close(evaluation)]),
        ("Not coated yet", _coat_by(deadlines, now)),
        ("Noted", told(parts.get("noted", []))),
        ("To be filled in before `issue`", _unfilled(checked)),
    ]
    for title, entries in sections:
        lines += _section(title, entries, everything=everything)
    lines += _not_evaluated(evaluation, everything=everything)
    lines += _areas(evaluation.areas, set(missed), colour=colour, everything=everything)
    return "\n".join(lines)


def _unfilled(checked: Checked) -> list[str]:
    """Return where a placeholder stands, and what to write."""
    return [f"{one.spans[0].file}:{one.spans[0].line}: {one.help_text}" for one in checked.job.unfilled]


def _verdict(evaluation: Evaluation, missed: Sequence[str], *, colour: bool) -> list[str]:
    """Return the verdict's sentence; its colour must not reach into the measuring of its width."""
    lines = textwrap.wrap(printable(verdict_sentence(evaluation, missed)), WIDTH)
    return [tinted(line, evaluation.verdict, colour=colour) for line in lines]


def _without_uncovered(missing: list[Finding]) -> tuple[list[Finding], list[str]]:
    """Part from what is missing the nonconformances not raised yet: they are told in one sentence."""
    uncovered = [finding for finding in missing if finding.code == "nonconformance-missing"]
    others = [finding for finding in missing if finding.code != "nonconformance-missing"]
    if not uncovered:
        return others, []
    areas = ", ".join(dict.fromkeys(finding.area for finding in uncovered if finding.area)) or "the report"
    return others, [f"{areas}: raise a nonconformance for what is out of limits [nonconformance-missing]"]


def _blasted_again(checked: Checked) -> list[str]:
    """Return what to write where steel that failed seems to have been blasted again on this shift."""
    perhaps = perhaps_blasted_again(JobView(checked.job), checked.evaluation.findings)
    return [
        f"{area}: if the blasting that began at {began} was of what failed, write `blasted_again: [{apparatus}]` in "
        "its entry [blasted-again]"
        for area, apparatus, began in perhaps
    ]


def _to_measure(evaluation: Evaluation, missing: Sequence[Finding]) -> list[str]:
    """Return what to measure next beyond what the missing say: not to coat, not to close a nonconformance."""
    said = [(finding.area, start) for finding in missing for start in _SAID_BY.get(finding.code, ())]
    answered = {(finding.area or "", finding.code) for finding in missing}
    rest = [step for step in evaluation.measure_next if not _elsewhere(step) and not _said(step, said, answered)]
    words = sentences()
    return [f"{step.area + ': ' if step.area else ''}{words.task(step)} ({words.because(step)})" for step in rest]


def _elsewhere(step: MeasureNext | Task) -> bool:
    return step.code == COAT_BY.name if isinstance(step, Task) else " to close " in step.what


def _said(step: MeasureNext | Task, said: Sequence[tuple[str | None, str]], answered: set[tuple[str, str]]) -> bool:
    if isinstance(step, Task):
        return (step.area, step.answers) in answered
    what = step.what.lstrip("0123456789 ")
    return any(area == step.area and what.startswith(start) for area, start in said)


def _to_close(evaluation: Evaluation) -> list[str]:
    """Return what each open nonconformance needs, without retelling its description."""
    entries = []
    for state in evaluation.nonconformances:
        if state.status == "open":
            before = f", raised in {state.raised_in}" if state.raised_in != evaluation.report.number else ""
            area = f"{state.area}: " if state.area else ""
            entries.append(f"{area}{_need(state)} to close {state.id}{before} [nonconformance-open]")
    return entries


def _need(state: NonconformanceState) -> str:
    return "inspect again" if state.disposition == "rework" else f"bring evidence of `{state.disposition}`"


def _coat_by(deadlines: Sequence[Deadline], now: dt.datetime) -> list[str]:
    return [f"coat {one.area} by {one.coat_by}{_time_left(one, now)}" for one in deadlines]


def _time_left(deadline: Deadline, now: dt.datetime) -> str:
    """Return how long that is, when it is today (or tonight) at the site; nothing for a day long past."""
    minutes = int((deadline.instant - now).total_seconds() // 60)
    today = now.astimezone(deadline.instant.tzinfo).date() == deadline.instant.date()
    if not today and not 0 <= minutes < 24 * 60:
        return ""
    hours, rest = divmod(abs(minutes), 60)
    long = f"{hours} h {rest} min" if hours else f"{rest} min"
    return f", {long} left" if minutes >= 0 else f", {long} ago: prepare the surface again"


def _section(title: str, entries: Sequence[str], *, everything: bool) -> list[str]:
    shown = list(entries) if everything or len(entries) <= SHOWN_ENTRIES + 1 else list(entries[:SHOWN_ENTRIES])
    wrapped: list[str] = []
    for entry in shown:
        wrapped += textwrap.wrap(
            printable(entry), WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False
        )
    if len(shown) < len(entries):
        wrapped.append(f"  and {len(entries) - len(shown)} more; --all lists them")
    return ["", title, *wrapped] if wrapped else []


def _not_evaluated(evaluation: Evaluation, *, everything: bool) -> list[str]:
    """Return what no rule judged: in one line, or all of it."""
    points = [printable(sentences().left_out(point)) for point in evaluation.not_evaluated]
    if everything:
        return _section("Not evaluated", points, everything=True)
    if not points:
        return []
    head, rest = "Not evaluated: ", f" and {len(points) - 1} more (--all)" if len(points) > 1 else ""
    if len(head) + len(points[0]) + len(rest) > WIDTH:
        rest = rest or " (--all)"
        points[0] = textwrap.shorten(points[0], WIDTH - len(head) - len(rest), placeholder=" ...")
    return ["", f"{head}{points[0]}{rest}"]


def _areas(areas: Sequence[AreaResult], missed: set[str], *, colour: bool, everything: bool) -> list[str]:
    """Return a line for each area; of a great many only those that are not released, and the rest by name."""
    if not areas:
        return []
    listed = list(areas)
    if not everything and len(areas) > SHOWN_AREAS:
        listed = [area for area in areas if area.decision != "release"][:SHOWN_AREAS]
    lines = ["", "Areas", *(_area_line(area, area.id in missed, colour=colour) for area in listed)]
    shown = {area.id for area in listed}
    others = [area for area in areas if area.id not in shown]
    if others:
        released = sum(area.decision == "release" for area in others)
        other = f", {len(others) - released} others not" if released < len(others) else ""
        lines.append(f"  {'and ' if listed else ''}{released} to release{other}; --all lists them")
    return lines


def _area_line(area: AreaResult, missed: bool, *, colour: bool) -> str:  # noqa: FBT001 - a fact about the area
    if missed:
        return f"  {printable(area.id):<12} not inspected"
    word = tinted(f"{area.decision:<8}", _DECISION_WORD[area.decision], colour=colour)
    required = f" ({area.required_locations} required)" if area.required_locations is not None else ""
    numbers = f"{area.n_locations} location{'' if area.n_locations == 1 else 's'}{required}"
    for part in area.sampling:
        if part.taken < part.required:
            numbers += f", {printable(part.apparatus)} {part.taken} of {part.required}"
    if area.mean is not None:
        numbers += f", mean {area.mean} {DISPLAY.get(area.unit, area.unit)}"
    if area.expanded_uncertainty is not None:
        numbers += f" ± {area.expanded_uncertainty}"
    return f"  {printable(area.id):<12} {word} {numbers}"
