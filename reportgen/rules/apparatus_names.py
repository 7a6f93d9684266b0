"""Names of apparatus that are mostly slips: one that joins several, and one whose steel is another's by its time.

They are asked about, and ``blasted`` with ``confirmed: yes`` says that the name is right as written.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen.job.places import folded
from reportgen.names import spelt_alike
from reportgen.results import Outcome, Place
from reportgen.results.codes.doubts import (
    APPARATUS_CONFIRMED,
    APPARATUS_DOUBTFUL,
    STEEL_CONFIRMED,
    STEEL_DOUBTFUL,
    DoubtedApparatus,
    DoubtedSteel,
)

if TYPE_CHECKING:
    from collections.abc import Collection

    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView

_JOINED: Final = re.compile(r"\s*(?:[,;+&]|\b(?:and|und)\b)\s*", re.IGNORECASE)
_SEVERAL: Final = re.compile(
    r"\b(?:both|two|three|four|several|all|beide|beiden|zwei|drei|vier|mehrere|alle)\b"
    r"|\A[2-9] ?x? [^\W\d]+"
    r"|\s#?[0-9]{1,2} ?(?:[-\u2013]|to|through|bis) ?#?[0-9]{1,2}\Z",
    re.IGNORECASE,
)
"""A number of apparatus, or from which to which: ``both pots``, ``2 nozzles``, ``pots 1-2``."""
_SLASHED: Final = re.compile(r"\s*/\s*")
_NUMBERED: Final = re.compile(r"(?:.*[\s#.])?(?:[0-9]+|[a-z])\Z", re.IGNORECASE)
"""A part that ends in a number or a letter of its own, as apparatus of one kind are told apart: ``pot 2``, ``B``."""


def joins_several(name: str, others: Collection[str] = ()) -> bool:
    """Whether a name of an apparatus looks like the names of several; ``others`` are named elsewhere in the contract.

    A slash also stands within the name of one, such as a size in fractions; there the parts must be names themselves.

    >>> [joins_several(name) for name in ("pot 1, pot 2", "pot 1 and 2", "pot 1/pot 2", "pot 1", "3/4 in pot")]
    [True, True, True, False, False]
    >>> [joins_several(name) for name in ("both pots", "two nozzles", "2 pots", "pots 1-2", "pot 12", "pot P-1-2")]
    [True, True, True, True, False, False]
    >>> joins_several("north pot/south pot"), joins_several("north pot/south pot", ["South pot"])
    (False, True)
    """
    if len([part for part in _JOINED.split(name) if part]) > 1 or _SEVERAL.search(name.strip()):
        return True
    parts = [part for part in _SLASHED.split(name) if part]
    known = {folded(one) for one in others}
    return len(parts) > 1 and (
        any(folded(part) in known for part in parts) or all(_NUMBERED.match(part) for part in parts)
    )


def joined_apparatus(view: JobView) -> Outcome[Finding]:
    """Ask about each name of an apparatus that looks like several, once for each area; ``blasted`` confirms it.

    Locations are counted for each apparatus, and a joined name counts for one.
    """
    days = (view.job, *view.job.earlier)
    named = {one.apparatus for job in days for one in job.day.surfaces}
    named |= {one.apparatus for job in days for one in job.day.air_checks}
    found: dict[Finding, None] = {}
    for surface in (one.record for area in view.areas for one in area.surfaces):
        if joins_several(surface.apparatus, named - {surface.apparatus}):
            code = APPARATUS_CONFIRMED if surface.blasted.confirmed else APPARATUS_DOUBTFUL
            found[code.found(DoubtedApparatus(surface.apparatus), Place(surface.area))] = None
    return Outcome((), tuple(found))


def under_other_areas(view: JobView) -> Outcome[Finding]:
    """Ask about each surface whose apparatus an earlier report has on another area for some of that time.

    It is mostly that steel, by another name. Not where that report has it on both areas; ``blasted`` confirms it.
    """
    both = [
        (one, theirs.record.area, stood.view.job.day.report.number)
        for stood in view.before
        for theirs in stood.view.surfaces
        for one in view.surfaces
        if _is_elsewhere(one, theirs) and not stood.enters(one)
    ]
    found: dict[Finding, None] = {}
    for one, area, report in both:
        start, end = (view.printed(at) for at in one.blasted)
        facts = DoubtedSteel(one.record.apparatus, start, end, report, area)
        code = STEEL_CONFIRMED if one.record.blasted.confirmed else STEEL_DOUBTFUL
        found[code.found(facts, Place(one.record.area))] = None
    return Outcome((), tuple(found))


def _is_elsewhere(one: SurfaceView, other: SurfaceView) -> bool:
    """Whether an apparatus is on another area for some of the time."""
    meanwhile = one.blasted == other.blasted or (
        one.blasted[0] < max(other.blasted) and other.blasted[0] < max(one.blasted)
    )
    elsewhere = meanwhile and one.record.area != other.record.area
    return elsewhere and spelt_alike(one.record.apparatus, other.record.apparatus)
