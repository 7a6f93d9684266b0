"""Where a day stands, as data: what a colleague would say of it, for a check and for a page of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt

    from reportgen.results.facts import Place
    from reportgen.results.values import AtTime, Finding, LeftOut, Task


@dataclass(frozen=True, slots=True)
class Cause:
    """Findings of one cause, told once: what they say is the same, only their places differ.

    ``finding`` is the first of them, ``indices`` are their places among the findings of the evaluation.
    """

    finding: Finding
    indices: tuple[int, ...]
    places: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class Deadline:
    """Until when an area that is not coated yet may be coated: as printed, and as an instant in the site's zone."""

    area: str
    coat_by: AtTime
    instant: dt.datetime


@dataclass(frozen=True, slots=True)
class Standing:
    """A day in the order in which it is told.

    ``wrong`` in the day file, ``out_of_limits``, ``missing`` before one may leave the site, ``asked``: what to write
    where something may have been done that the day file does not say, ``next``: what to do that nothing among the
    missing says already, ``deadlines`` of what is not coated yet, ``noted`` without consequence, ``left_out``: what no
    rule evaluated.
    """

    wrong: tuple[Cause, ...] = ()
    out_of_limits: tuple[Cause, ...] = ()
    missing: tuple[Cause, ...] = ()
    asked: tuple[Task, ...] = ()
    next: tuple[Task, ...] = ()
    deadlines: tuple[Deadline, ...] = ()
    noted: tuple[Cause, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
