"""The very blasting of an earlier report under another area: mostly that steel by another name, and asked about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.names import spelt_alike
from reportgen.results import Outcome, Place
from reportgen.results.codes.doubts import STEEL_CONFIRMED, STEEL_DOUBTFUL, DoubtedSteel

if TYPE_CHECKING:
    import datetime as dt

    from reportgen.results import Finding
    from reportgen.rules.scene import JobView, SurfaceView


def under_other_areas(view: JobView) -> Outcome[Finding]:
    """Ask about each surface whose apparatus an earlier report has on another area, from the same minute to the same.

    Not where that report has it on both areas; ``blasted`` confirms it.
    """
    blasted: dict[tuple[dt.datetime, dt.datetime], list[SurfaceView]] = {}
    for surface in view.surfaces:
        blasted.setdefault(surface.blasted, []).append(surface)
    found: dict[Finding, None] = {}
    for stood in view.before:
        pairs = ((one, theirs) for theirs in stood.view.surfaces for one in blasted.get(theirs.blasted, ()))
        for one, theirs in pairs:
            mine, other = one.record, theirs.record
            if mine.area != other.area and spelt_alike(mine.apparatus, other.apparatus) and not stood.enters(one):
                start, end = (view.printed(at) for at in one.blasted)
                facts = DoubtedSteel(mine.apparatus, start, end, stood.view.job.day.report.number, other.area)
                code = STEEL_CONFIRMED if mine.blasted.confirmed else STEEL_DOUBTFUL
                found[code.found(facts, Place(mine.area))] = None
    return Outcome((), tuple(found))
