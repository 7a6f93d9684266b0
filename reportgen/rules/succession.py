"""Inspectors who answer for what another found, as whose successor they were named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.results.codes import follow_up
from reportgen.results.facts import Place
from reportgen.rules.release import effect_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.results import Finding
    from reportgen.rules.nonconformances import Inspected


def successions(day: Inspected, earlier: Sequence[Inspected]) -> list[Finding]:
    """Note each area of which the inspector answers for what another found, as whose successor he was named."""
    return [
        follow_up.SUCCEEDED.found(
            follow_up.Succeeded(
                named.name, named.former, str(before.job.day.report.number), named.named_by, named.evidence
            ),
            Place(area),
        )
        for before in earlier
        if not before.job.may_be_undone_by(day.job.inspector)
        if (named := before.job.taken_over_by(day.job)) is not None
        for area in _concerned(day, before)
    ]  # fmt: skip


def _concerned(day: Inspected, before: Inspected) -> list[str]:
    """Return the areas that a report inspects, or decides on, of which one before it found or raised something."""
    found: set[str | None] = {one.area for one in before.findings if effect_of(one) != "none"}
    number = before.job.day.report.number
    found |= {one.area for one in before.job.day.nonconformances if one.raised_in in (None, number)}
    here = [area.id for area in day.view.areas]
    named = [one.area for one in day.job.day.nonconformances if one.area is not None]
    return [area for area in dict.fromkeys([*here, *named]) if found & {area, None}]
