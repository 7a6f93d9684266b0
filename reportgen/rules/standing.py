"""Where a day stands: its evaluation in the order in which a colleague would tell it, each cause once."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from reportgen.measurements import CODES, FINDING_CODES
from reportgen.results import Cause, Deadline, Place, Standing, Task
from reportgen.results.codes.follow_up import MISSING
from reportgen.results.statements import PART
from reportgen.rules.blasted_again import perhaps_blasted_again
from reportgen.rules.scene import JobView

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Mapping

    from reportgen.job import Job
    from reportgen.results import Evaluation, Finding, MeasureNext
    from reportgen.results.statements import Part

_COAT_BY: Final = "coat-by"
"""Task that is told as a deadline."""


def standing(job: Job, evaluation: Evaluation) -> Standing:
    """Return where a day stands, from its evaluation."""
    parts: dict[Part, list[tuple[int, Finding]]] = {}
    for index, finding in enumerate(evaluation.findings):
        parts.setdefault(part_of(finding), []).append((index, finding))
    missing = parts.get("missing", [])
    return Standing(
        causes(parts.get("wrong", [])),
        causes(parts.get("out of limits", [])),
        causes(missing),
        perhaps_blasted_again(JobView(job), evaluation.findings),
        tuple(_next(evaluation.measure_next, [finding for _, finding in missing])),
        coating_deadlines(job, evaluation),
        causes(parts.get("noted", [])),
        evaluation.not_evaluated,
    )


def part_of(finding: Finding) -> Part:
    """Return where a finding belongs; one that is merely observed fails nothing."""
    part = CODES[finding.code].part if finding.code in CODES else _unstated_part(finding.code)
    return "noted" if part == "out of limits" and finding.severity == "observation" else part


def causes(found: Iterable[tuple[int, Finding]]) -> tuple[Cause, ...]:
    """Return findings with their indices by cause, in the order of the first of each.

    Locations of one area stand together; areas of one cause, too, where no location is named. To raise nonconformances
    is one thing to do, whatever they are for.
    """
    alike: dict[Hashable, list[tuple[int, Finding]]] = {}
    for index, one in found:
        facts = None if one.code == MISSING.name else one.facts or (one.observed, one.requirement)
        area = one.area if one.location is not None else None
        key = (one.code, facts, one.clause, one.nonconformance, area, one.place.spot, one.place.time)
        alike.setdefault(key, []).append((index, one))
    return tuple(
        Cause(
            several[0][1], tuple(index for index, _ in several), tuple(dict.fromkeys(_place(one) for _, one in several))
        )
        for several in alike.values()
    )


def _place(finding: Finding) -> Place:
    return Place(finding.area, finding.location, finding.place.spot, finding.place.time)


def _next(steps: Iterable[Task | MeasureNext], missing: Iterable[Finding]) -> Iterable[Task | MeasureNext]:
    """Yield what is to be done and is told neither as a deadline nor among the missing."""
    answered = {(finding.area or "", finding.code) for finding in missing}
    for step in steps:
        if isinstance(step, Task):
            if step.code != _COAT_BY and (step.area, step.answers) not in answered:
                yield step
        elif not _unstated_said(step, answered):
            yield step


def coating_deadlines(job: Job, evaluation: Evaluation) -> tuple[Deadline, ...]:
    """Return the end of the time to coat of every area that is released and not coated yet, the next one first."""
    found = {}
    for time in evaluation.coating_times:
        if time.coat_by is None:
            continue
        dated = time.coat_by[len("2026") :].startswith("-")
        at = dt.datetime.fromisoformat(time.coat_by if dated else f"{job.clock.date} {time.coat_by}")
        instant = job.clock.instant(at if at.tzinfo is not None else at.replace(tzinfo=ZoneInfo(job.clock.zone)))
        found[time.area] = Deadline(time.area, time.coat_by, instant)
    return tuple(sorted(found.values(), key=lambda deadline: deadline.instant))


# What is not stated as facts yet: all below goes with the last of it.

_PARTS: Final[Mapping[Part, tuple[str, ...]]] = {
    "wrong": (
        "conditions-unplaced", "film-contradicted", "times-contradictory", "measured-before-blasting",
        "measured-after-primer", "readings-too-fast", "instrument-in-two-places", "entry-doubtful",
    ),
    "out of limits": (
        "gauge-check-failed", "calibration-overdue", "tape-expired", "tape-check-outside-range", "certificate-expired",
    ),
    "missing": ("tape-check-missing",),
}  # fmt: skip
"""Codes that are told elsewhere than their effect says."""

_SAID_BY: Final = {
    "locations-missing": ("more location",),
    "surface-not-measured": ("more location",),
    "spots-missing": ("more spot",),
    "second-reading-missing": ("a reading on",),
    "outside-grade-range": ("location ", "a reading on"),
    "contradictory-readings": ("location ", "a reading on"),
    "profile-in-guard-band": ("location ",),
    "profile-inconclusive": ("location ",),
    "salts-missing": ("salt test",),
    "cleanliness-missing": ("the grade of cleanliness",),
    "tape-check-missing": ("unused tape",),
    "air-check-missing": ("blotter test",),
    "abrasive-check-missing": ("abrasive:",),
    "walk-out-missing": ("walk-out from",),
    "coating-overdue": ("prepare the surface again",),
}
"""Beginnings of what is to be measured next that a finding among the missing says already."""


def _unstated_part(code: str) -> Part:
    usual = PART[FINDING_CODES[code].effect]
    return next((part for part, codes in _PARTS.items() if code in codes), usual)


def _unstated_said(step: MeasureNext, answered: set[tuple[str, str]]) -> bool:
    what = step.what.lstrip("0123456789 ")
    starts = [start for area, code in answered if area == step.area for start in _SAID_BY.get(code, ())]
    return step.what.startswith("coat by ") or any(map(what.startswith, starts))
