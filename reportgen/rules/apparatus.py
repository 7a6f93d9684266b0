"""Names of apparatus that join several: locations are counted for each apparatus, and a joined name counts for one."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen.job.places import folded
from reportgen.results import Outcome, Place
from reportgen.results.codes.doubts import APPARATUS_CONFIRMED, APPARATUS_DOUBTFUL, DoubtedApparatus

if TYPE_CHECKING:
    from collections.abc import Collection

    from reportgen.results import Finding
    from reportgen.rules.scene import JobView

_JOINED: Final = re.compile(r"\s*(?:[,;+&]|\b(?:and|und)\b)\s*", re.IGNORECASE)
_SLASHED: Final = re.compile(r"\s*/\s*")
_NUMBERED: Final = re.compile(r"(?:.*[\s#.])?(?:[0-9]+|[a-z])\Z", re.IGNORECASE)
"""A part that ends in a number or a letter of its own, as apparatus of one kind are told apart: ``pot 2``, ``B``."""


def joins_several(name: str, others: Collection[str] = ()) -> bool:
    """Whether a name of an apparatus looks like the names of several; ``others`` are named elsewhere in the contract.

    A slash also stands within the name of one, such as a size in fractions; there the parts must be names themselves.

    >>> [joins_several(name) for name in ("pot 1, pot 2", "pot 1 and 2", "pot 1/pot 2", "pot 1", "3/4 in pot")]
    [True, True, True, False, False]
    >>> joins_several("north pot/south pot"), joins_several("north pot/south pot", ["South pot"])
    (False, True)
    """
    if len([part for part in _JOINED.split(name) if part]) > 1:
        return True
    parts = [part for part in _SLASHED.split(name) if part]
    known = {folded(one) for one in others}
    return len(parts) > 1 and (
        any(folded(part) in known for part in parts) or all(_NUMBERED.match(part) for part in parts)
    )


def joined_apparatus(view: JobView) -> Outcome[Finding]:
    """Ask about each name of an apparatus that looks like several, once for each area; ``blasted`` confirms it."""
    days = (view.job, *view.job.earlier)
    named = {one.apparatus for job in days for one in job.day.surfaces}
    named |= {one.apparatus for job in days for one in job.day.air_checks}
    found: dict[Finding, None] = {}
    for surface in (one.record for area in view.areas for one in area.surfaces):
        if joins_several(surface.apparatus, named - {surface.apparatus}):
            code = APPARATUS_CONFIRMED if surface.blasted.confirmed else APPARATUS_DOUBTFUL
            found[code.found(DoubtedApparatus(surface.apparatus), Place(surface.area))] = None
    return Outcome((), tuple(found))
