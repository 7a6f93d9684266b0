"""What is missing of steel that was primed since: nobody measures it there any more."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.measurements import STATEMENTS
from reportgen.results.statements import TaskCode
from reportgen.rules.surfaces_told import surfaces_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.results import AtTime, Finding, Task
    from reportgen.rules.scene import JobView, SurfaceView

_ON_BARE: Final = frozenset(one.name for one in STATEMENTS if isinstance(one, TaskCode) and one.on_bare)


def primed_since(view: JobView, task: Task, about: Sequence[Finding]) -> AtTime | None:
    """Return when all steel was primed on which a task asks to measure, as printed; None where some of it is bare.

    ``about`` are the findings that the task is for. None, too, of what is not measured on bare steel.
    """
    if task.code not in _ON_BARE:
        return None
    times = [one.coated for one in _steel(view, task, about)]
    known = [view.printed(at) for at in times if at is not None]
    return ", ".join(dict.fromkeys(known)) if known and len(known) == len(times) else None


def answered(findings: Iterable[Finding], task: Task) -> list[Finding]:
    """Return the findings that a task is for: of its location, or else of its area."""
    about = [one for one in findings if (one.code, one.area) == (task.answers, task.area)]
    return [one for one in about if one.location == task.place.location] or about


def _steel(view: JobView, task: Task, about: Sequence[Finding]) -> list[SurfaceView]:
    """Return the steel of this report that a task is about: that of its findings, of its apparatus, or of its area."""
    for area in (one for one in view.areas if one.id == task.area):
        told = [surface for one in about for surface in surfaces_of(one, area, view)]
        own = [one for one in area.surfaces if task.apparatus in (None, one.record.apparatus)]
        there = [one for one in own if task.place.location in (None, *one.locations)]
        return told or there or own or list(area.surfaces)
    return []
